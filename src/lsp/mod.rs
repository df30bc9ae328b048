//! The language server: program files as an editor sees them. It speaks the Language Server Protocol as data, a message in
//! and messages out; the command line gives it its input and output. Reads no file by itself: those on the disk come
//! through `Files`, and open documents stand before them.
//!
//! A document is read and checked with every change. What takes longer (lints, worked cases, exact analyses) is a [`Job`],
//! to be run beside and handed back with [`Server::studied`].

mod complete;
mod document;
mod fix;
mod hover;
mod messages;
mod names;
mod place;
mod remedies;
mod rename;
mod server;
mod signature;
mod study;
mod symbols;
mod tokens;
mod uri;
mod vocabulary;

pub use server::{Server, capabilities};
pub use study::{Job, Study};

/// The path of the file that an address leads to.
#[must_use]
pub fn path_of(address: &str) -> String {
    uri::name(address)
}
