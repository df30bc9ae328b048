//! Text and places in it. Knows nothing of the language written in the text.

use std::sync::Arc;

/// A run of bytes in a text, end excluded.
///
/// ```
/// let span = wherefore::Span { start: 8, end: 13 };
/// assert_eq!(&"program us-zz"[8..13], "us-zz");
/// assert_eq!(span.end - span.start, 5);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span {
    /// First byte, counted from 0 at the start of the text.
    pub start: u32,
    /// Byte after the last.
    pub end: u32,
}

impl Span {
    /// The span from `start` to `end`, in bytes; offsets over 4 GiB are cut off (texts are far smaller).
    #[must_use]
    pub(crate) fn new(start: usize, end: usize) -> Span {
        Span { start: u32::try_from(start).unwrap_or(u32::MAX), end: u32::try_from(end).unwrap_or(u32::MAX) }
    }

    /// The smallest span that holds both.
    #[must_use]
    pub(crate) fn to(self, other: Span) -> Span {
        Span { start: self.start.min(other.start), end: self.end.max(other.end) }
    }
}

/// A node of the tree with its place in the text.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spanned<T> {
    /// The node itself.
    pub node: T,
    /// Where it stands.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// A thing at a place.
    pub fn new(node: T, span: Span) -> Spanned<T> {
        Spanned { node, span }
    }
}

/// A named text with its line starts.
#[derive(Debug, Clone)]
pub struct Source {
    name: Arc<str>,
    text: Arc<str>,
    lines: Arc<[u32]>,
}

impl Source {
    /// A text under the name that messages show.
    #[must_use]
    pub fn new(name: &str, text: &str) -> Source {
        let starts = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at + 1);
        let lines = std::iter::once(0).chain(starts).map(|at| u32::try_from(at).unwrap_or(u32::MAX)).collect();
        Source { name: name.into(), text: text.into(), lines }
    }

    /// The name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The text of a span; empty where the span is not within the text or cuts a character.
    #[must_use]
    pub fn slice(&self, span: Span) -> &str {
        let range = usize::try_from(span.start).unwrap_or(usize::MAX)..usize::try_from(span.end).unwrap_or(usize::MAX);
        self.text.get(range).unwrap_or("")
    }

    /// Line and column of a byte, both from 1; the column counts characters.
    #[must_use]
    pub fn place(&self, byte: u32) -> (u32, u32) {
        let line = self.lines.partition_point(|start| *start <= byte).max(1);
        let start = self.lines.get(line - 1).copied().unwrap_or(0);
        let before = self.slice(Span { start, end: byte });
        let column = u32::try_from(before.chars().count()).unwrap_or(u32::MAX);
        (u32::try_from(line).unwrap_or(u32::MAX), column.saturating_add(1))
    }
}
