//! The generated parser. Its `Rule` is the grammar's own vocabulary and never leaves `syntax`: outsiders see the tree.
#![allow(
    missing_docs,
    missing_debug_implementations,
    clippy::iter_over_hash_type,
    reason = "the derive writes this file's items"
)]

use pest_derive::Parser;

#[derive(Parser)]
#[grammar = "grammar/wherefore.pest"]
#[grammar = "grammar/words.pest"]
pub(super) struct Grammar;
