//! The files of `policies`, embedded. Made from the folder by `WHEREFORE_BLESS=1 cargo test --test it house`; the same
//! test compares the two.

/// Paths below `policies` with their texts, sorted.
#[rustfmt::skip]
pub(super) const FILES: &[(&str, &str)] = &[
];
