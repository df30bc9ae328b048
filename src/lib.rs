//! Vehicle emissions inspection programs as data.
#![forbid(unsafe_code)]

// The derive of pest without its `std` (which would measure the stack at every rule) names `alloc` from the root.
extern crate alloc;

#[cfg(feature = "audit")]
pub mod audit;
pub mod bulk;
pub mod catalog;
pub mod certificate;
pub mod check;
#[cfg(feature = "cli")]
#[doc(hidden)]
pub mod cli;
pub mod decode;
pub mod diagnostic;
pub mod diagram;
pub mod document;
pub mod evaluate;
pub mod model;
pub mod program;
pub mod report;
pub mod ruling;
pub mod source;
pub mod syntax;
