//! An item of a file as reading and messages see it.

use super::layout::Chunk;
use crate::source::Span;
use std::cell::Cell;

/// An item's lines with the texts they are in.
#[derive(Clone, Copy)]
pub(super) struct View<'t> {
    /// The text as written.
    pub(super) text: &'t str,
    /// The text as scanned.
    pub(super) clean: &'t str,
    /// The item's lines.
    pub(super) chunk: &'t Chunk,
    /// How many more pieces may be read a second time.
    pub(super) tries: &'t Cell<usize>,
    /// Where the scan has said something already, in order; no second error is told of the same words.
    pub(super) wrong: &'t [Span],
}

impl View<'_> {
    /// Whether the scan has said something about a run of bytes.
    pub(super) fn is_wrong(&self, bytes: &std::ops::Range<usize>) -> bool {
        let span = Span::new(bytes.start, bytes.end);
        let next = self.wrong.partition_point(|place| place.end <= span.start);
        self.wrong.get(next).is_some_and(|place| place.start < span.end)
    }
}
