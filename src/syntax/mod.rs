//! Text to tree, and tree to text. Parsing never gives up: a tree of what could be read, and every error with its
//! place. Names are not resolved here, and nothing is judged but the shape; that is `check`'s work.

pub mod ast;
mod build;
mod decode;
mod expected;
mod format;
mod grammar;
mod layout;
pub mod limits;
mod message;
mod node;
mod parse;
mod recover;
mod said;
mod scan;
mod slips;
mod stop;
mod suggest;
mod upgrade;
mod view;
pub mod words;

pub use decode::{NotText, decode_text};
pub use format::{WIDTH, format};
pub use parse::{Parsed, parse, parse_without_cases};
pub use upgrade::{Otherwise, edited, otherwise, upgrade};

#[cfg(test)]
mod tests;
