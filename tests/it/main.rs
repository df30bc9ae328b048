//! One integration binary: linked once, its modules run in parallel.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    reason = "a test that cannot go on should stop, with the place"
)]

mod document;
