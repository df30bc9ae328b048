//! Places in a text as editors count them: lines from 0, and on the line code units of UTF-16. A line ends with a line
//! feed, a carriage return, or both.

use crate::source::Span;
use lsp_types::{Position, Range};

/// Where the lines of a text begin.
#[derive(Debug, Clone, Default)]
pub(super) struct Lines {
    starts: Vec<usize>,
}

impl Lines {
    pub(super) fn of(text: &str) -> Lines {
        let bytes = text.as_bytes();
        let ends = bytes.iter().enumerate().filter(|(at, byte)| match byte {
            b'\n' => true,
            b'\r' => bytes.get(at + 1) != Some(&b'\n'),
            _ => false,
        });
        Lines { starts: std::iter::once(0).chain(ends.map(|(at, _)| at + 1)).collect() }
    }

    /// The first byte of a line; of a line after the last, the end of the text.
    pub(super) fn start(&self, text: &str, line: usize) -> usize {
        self.starts.get(line).copied().unwrap_or(text.len())
    }

    /// The words of a line, without what ends it.
    pub(super) fn line<'t>(&self, text: &'t str, line: usize) -> &'t str {
        let range = self.start(text, line)..self.start(text, line.saturating_add(1));
        text.get(range).unwrap_or("").trim_end_matches(['\n', '\r'])
    }

    /// The line that a byte stands on.
    pub(super) fn line_of(&self, byte: usize) -> usize {
        self.starts.partition_point(|start| *start <= byte).saturating_sub(1)
    }

    /// How many lines there are; one at least.
    pub(super) fn count(&self) -> usize {
        self.starts.len()
    }

    /// The place of a byte; of a byte within a character, the character's.
    pub(super) fn position(&self, text: &str, byte: usize) -> Position {
        let byte = floor(text, byte);
        let line = self.line_of(byte);
        let before = text.get(self.start(text, line)..byte).unwrap_or("");
        let column = before.trim_end_matches(['\n', '\r']).encode_utf16().count();
        Position::new(number(line), number(column))
    }

    /// The byte of a place; a place beyond its line is the line's end, one beyond the text the text's.
    pub(super) fn byte(&self, text: &str, position: Position) -> usize {
        let line = usize::try_from(position.line).unwrap_or(usize::MAX);
        if line >= self.count() {
            return text.len();
        }
        let mut left = usize::try_from(position.character).unwrap_or(usize::MAX);
        let start = self.start(text, line);
        let mut at = start;
        for mark in self.line(text, line).chars() {
            if left < mark.len_utf16() {
                break;
            }
            left -= mark.len_utf16();
            at += mark.len_utf8();
        }
        at
    }

    /// The range of a run of bytes.
    pub(super) fn range(&self, text: &str, span: Span) -> Range {
        let (start, end) = bytes(span);
        Range::new(self.position(text, start), self.position(text, end.max(start)))
    }

    /// The range of the whole text.
    pub(super) fn whole(&self, text: &str) -> Range {
        Range::new(Position::new(0, 0), self.position(text, text.len()))
    }
}

/// First byte and the one after the last.
pub(super) fn bytes(span: Span) -> (usize, usize) {
    (usize::try_from(span.start).unwrap_or(usize::MAX), usize::try_from(span.end).unwrap_or(usize::MAX))
}

/// The nearest beginning of a character at or before a byte.
pub(super) fn floor(text: &str, byte: usize) -> usize {
    (0..=byte.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0)
}

/// A count as the protocol has it.
pub(super) fn number(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
