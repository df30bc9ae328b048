//! The one integration binary: every module here tests the crate from outside.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::as_conversions,
    clippy::print_stdout,
    reason = "tests may stop at the first wrong thing"
)]

mod syntax;
mod syntax_any_text;
mod syntax_format;
