//! A place where the grammar stopped, and the words around it.

use super::grammar::Rule;
use super::view::View;
use super::words::is_name_character;
use crate::source::Span;
use pest::error::{Error, ErrorVariant, InputLocation};
use std::ops::Range;

/// A place where the grammar stopped.
pub(super) struct Stop<'t> {
    /// The text as scanned, from the beginning of the piece to its end.
    pub(super) piece: &'t str,
    /// First byte of the piece in the file.
    pub(super) base: usize,
    /// Where it stopped, in the piece: at the first character of a word, or at the end.
    pub(super) at: usize,
    /// What it would have taken.
    pub(super) expected: Vec<Rule>,
    /// The first line of the item that the piece belongs to.
    pub(super) head: &'t str,
}

impl<'t> Stop<'t> {
    pub(super) fn new(view: &View<'t>, bytes: &Range<usize>, error: &Error<Rule>) -> Stop<'t> {
        let piece = view.clean.get(bytes.clone()).unwrap_or("");
        let at = match error.location {
            InputLocation::Pos(at) | InputLocation::Span((at, _)) => at,
        };
        let rest = piece.get(at..).unwrap_or("");
        let at = at + (rest.len() - rest.trim_start_matches([' ', '\t', '\r', '\n']).len());
        let expected = match &error.variant {
            ErrorVariant::ParsingError { positives, .. } => positives.clone(),
            ErrorVariant::CustomError { .. } => Vec::new(),
        };
        let item = view.clean.get(view.chunk.bytes()).unwrap_or("");
        let head = item.lines().next().unwrap_or("").trim_end();
        Stop { piece, base: bytes.start, at, expected, head }
    }

    pub(super) fn before(&self) -> &'t str {
        self.piece.get(..self.at).unwrap_or("").trim_end()
    }

    pub(super) fn after(&self) -> &'t str {
        self.piece.get(self.at..).unwrap_or("")
    }

    /// The word, text or character at the place; empty at the end.
    pub(super) fn found(&self) -> &'t str {
        first_word(self.after())
    }

    /// The last word, text or character before the place.
    pub(super) fn previous(&self) -> &'t str {
        last_word(self.before())
    }

    pub(super) fn expects(&self, rule: Rule) -> bool {
        self.expected.contains(&rule)
    }

    /// The place of what was found; at the end, of the last word.
    pub(super) fn span(&self) -> Span {
        if self.found().is_empty() { self.previous_span() } else { self.span_of(self.found().len()) }
    }

    /// The place of the last word before.
    pub(super) fn previous_span(&self) -> Span {
        let end = self.base + self.before().len();
        Span::new(end.saturating_sub(self.previous().len()), end)
    }

    /// So many bytes from the place, at most to the end of the line.
    pub(super) fn span_of(&self, length: usize) -> Span {
        self.span_at(self.at, length)
    }

    /// So many bytes from a place in the piece, at most to the end of the line.
    pub(super) fn span_at(&self, start: usize, length: usize) -> Span {
        let words = self.piece.get(start..start + length).unwrap_or("");
        let length = words.lines().next().map_or(0, |line| line.trim_end().len());
        Span::new(self.base + start, self.base + start + length)
    }

    /// Whether what was found begins a line.
    pub(super) fn begins_line(&self) -> bool {
        let between = self.piece.get(self.before().len()..self.at).unwrap_or("");
        self.found().is_empty() || between.contains('\n')
    }
}

/// The first word, text or character; empty where there is none.
pub(super) fn first_word(text: &str) -> &str {
    let length = match text.chars().next() {
        None => 0,
        Some('"') => closing_quote(text).unwrap_or(text.find('\n').unwrap_or(text.len())),
        Some(first) if is_name_character(first) => text.find(|mark| !is_name_character(mark)).unwrap_or(text.len()),
        Some(first) => first.len_utf8(),
    };
    text.get(..length).unwrap_or("")
}

pub(super) fn second_word(text: &str) -> &str {
    first_word(text.get(first_word(text).len()..).unwrap_or("").trim_start())
}

pub(super) fn last_word(text: &str) -> &str {
    let last = text.chars().next_back().map_or(0, char::len_utf8);
    let name = text.chars().rev().take_while(|mark| is_name_character(*mark)).count();
    text.get(text.len() - last.max(name)..).unwrap_or("")
}

fn closing_quote(text: &str) -> Option<usize> {
    let mut escaped = false;
    for (at, mark) in text.char_indices().skip(1) {
        match mark {
            '"' if !escaped => return Some(at + 1),
            '\\' => escaped = !escaped,
            _ => escaped = false,
        }
    }
    None
}
