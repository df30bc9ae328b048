//! What lines are made of: words that stay together, and places where a new line is due.

use crate::source::Span;
use crate::syntax::ast::Word;

/// A part of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Piece {
    /// Words that stay on one line, and where they come from, if that is known.
    Words(String, Option<Span>),
    /// A new line, indented so far.
    Line(usize),
    /// A new line, indented so far, unless all that follows fits on this one.
    Perhaps(usize),
}

/// Parts of a line under construction.
#[derive(Debug, Default)]
pub(super) struct Pieces {
    pieces: Vec<Piece>,
    /// Words that stay with the next ones.
    pending: String,
}

impl Pieces {
    /// Words of no known place.
    pub(super) fn words(&mut self, text: &str) {
        self.push(text, None);
    }

    /// Words of a place.
    pub(super) fn at(&mut self, text: &str, span: Span) {
        self.push(text, Some(span));
    }

    /// A word of the tree.
    pub(super) fn word(&mut self, word: &Word) {
        self.at(&word.node, word.span);
    }

    /// A text, with its quotes.
    pub(super) fn text(&mut self, text: &Word) {
        self.at(&quoted(&text.node), text.span);
    }

    /// Words that stay with the ones that follow.
    pub(super) fn lead(&mut self, text: &str) {
        if !self.pending.is_empty() {
            self.pending.push(' ');
        }
        self.pending.push_str(text);
    }

    /// A mark after the last words.
    pub(super) fn mark(&mut self, mark: &str) {
        if let Some(Piece::Words(text, _)) = self.pieces.last_mut() {
            text.push_str(mark);
        }
    }

    /// A new line.
    pub(super) fn line(&mut self, indent: usize) {
        self.pieces.push(Piece::Line(indent));
    }

    /// Words with commas between.
    pub(super) fn list(&mut self, words: &[Word]) {
        self.joined(words, None);
    }

    /// Words with commas between, and another word before the last.
    pub(super) fn joined(&mut self, words: &[Word], last: Option<&str>) {
        for (at, word) in words.iter().enumerate() {
            match last {
                Some(last) if at > 0 && at + 1 == words.len() => self.lead(last),
                _ if at > 0 => self.mark(","),
                _ => {}
            }
            self.word(word);
        }
    }

    /// The parts.
    pub(super) fn finish(self) -> Vec<Piece> {
        self.pieces
    }

    /// How many characters the parts take on one line; `None` where they are of several.
    pub(super) fn width(&self) -> Option<usize> {
        let width = |piece: &Piece| match piece {
            Piece::Words(words, _) => Some(words.chars().count()),
            Piece::Line(_) | Piece::Perhaps(_) => None,
        };
        let words = self.pieces.iter().map(width).sum::<Option<usize>>()?;
        Some(words + self.pieces.len().saturating_sub(1))
    }

    /// The words, one space between them.
    pub(super) fn on_one_line(&self) -> String {
        let words = self.pieces.iter().filter_map(|piece| match piece {
            Piece::Words(words, _) => Some(words.as_str()),
            Piece::Line(_) | Piece::Perhaps(_) => None,
        });
        words.collect::<Vec<_>>().join(" ")
    }

    /// A new line, unless all that follows fits on this one.
    pub(super) fn perhaps_line(&mut self, indent: usize) {
        self.pieces.push(Piece::Perhaps(indent));
    }

    /// Whether the last part is of a group of bullets, so that what follows begins a line.
    pub(super) fn has_lines(&self) -> bool {
        self.pieces.iter().any(|piece| matches!(piece, Piece::Line(_)))
    }

    fn push(&mut self, text: &str, span: Option<Span>) {
        let mut whole = std::mem::take(&mut self.pending);
        if !whole.is_empty() {
            whole.push(' ');
        }
        whole.push_str(text);
        self.pieces.push(Piece::Words(whole, span));
    }
}

/// A text between quotes.
pub(super) fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}
