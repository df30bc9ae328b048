//! Vehicle emissions inspection programs as data.
#![forbid(unsafe_code)]
pub mod diagnostic;
pub mod model;
pub mod program;
pub mod source;
pub mod syntax;
