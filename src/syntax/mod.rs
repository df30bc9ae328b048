//! Text to tree. Parsing never gives up: a tree of what could be read, and every error with its place.

pub mod ast;
