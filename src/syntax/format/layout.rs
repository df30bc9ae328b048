//! Pieces to lines: filling, indentation, and the comments and blank lines of the source at their places.

use super::WIDTH;
use super::piece::{Piece, Pieces};
use crate::source::{Source, Span};
use crate::syntax::ast::Word;

/// How much further a line that goes on is indented.
const CONTINUED: usize = 4;

/// A text being laid out.
pub(super) struct Layout<'s> {
    source: &'s Source,
    /// Where the lines of the source end.
    ends: Vec<u32>,
    /// Comments that have not been written.
    comments: &'s [Word],
    /// All comments.
    all: &'s [Word],
    out: String,
    /// The line being filled.
    line: String,
    /// Indentation of the line being filled.
    indent: usize,
    /// Indentation of the lines that go on with it.
    continued: usize,
    /// Whether nothing of what has begun is written.
    is_fresh: bool,
    /// Line of the source that the last words came from.
    last: usize,
    /// Whether a blank line is due before the next line at the margin.
    apart: bool,
}

impl<'s> Layout<'s> {
    pub(super) fn new(source: &'s Source, comments: &'s [Word]) -> Layout<'s> {
        let (out, line) = (String::new(), String::new());
        let ends = source.text().bytes().zip(0..).filter(|(byte, _)| *byte == b'\n').map(|(_, at)| at).collect();
        Layout {
            source,
            ends,
            comments,
            all: comments,
            out,
            line,
            indent: 0,
            continued: 0,
            is_fresh: true,
            last: 0,
            apart: false,
        }
    }

    /// Begins an item; `apart` asks for a blank line before it.
    pub(super) fn begin_item(&mut self, span: Span, apart: bool) {
        self.apart = apart;
        self.comments_before(span.start, 0, true);
        self.begin_line(span.start, 0);
    }

    /// Begins a property or a bullet.
    pub(super) fn begin(&mut self, span: Span, indent: usize) {
        self.comments_before(span.start, indent, false);
        self.begin_line(span.start, indent);
    }

    /// Writes the pieces of what has begun.
    pub(super) fn write(&mut self, pieces: Pieces) {
        let mut line = None;
        let pieces = pieces.finish();
        for (at, piece) in pieces.iter().enumerate() {
            match piece {
                Piece::Words(words, span) => {
                    match (line.take(), *span) {
                        (Some(indent), Some(span)) => self.begin(span, indent),
                        (Some(indent), None) => self.begin_line(0, indent),
                        (None, Some(span)) => self.comments_within(span.start),
                        (None, None) => {}
                    }
                    self.last = span.map_or(self.last, |span| self.line_of(span.end));
                    self.put(words);
                }
                Piece::Line(indent) => line = Some(*indent),
                Piece::Perhaps(indent) => {
                    let rest = pieces.get(at + 1..).unwrap_or(&[]);
                    if !self.takes(rest) {
                        line = Some(*indent);
                    }
                }
            }
        }
    }

    /// Whether so many characters fit on the line that is being written, a space before them included, and no comment
    /// stands before a byte of the source. The line is one that is indented so far: those of bullets below it and those
    /// that go on with it are not.
    pub(super) fn has_room(&self, width: usize, indent: usize, before: u32) -> bool {
        let is_first = self.indent == indent && self.continued == indent + CONTINUED;
        let is_free = self.comments.first().is_none_or(|comment| comment.span.start >= before);
        is_first && is_free && !self.line.is_empty() && self.indent + self.line.chars().count() + width <= WIDTH
    }

    /// Whether parts fit on the line that is being written.
    fn takes(&self, pieces: &[Piece]) -> bool {
        let mut width = 0;
        let mut end = 0;
        for piece in pieces {
            let Piece::Words(words, span) = piece else { return false };
            width += 1 + words.chars().count();
            end = span.map_or(end, |span| end.max(span.end));
        }
        self.has_room(width, self.indent, end)
    }

    /// Says where in the source the words that were written end, so that a comment on that line stays with them.
    pub(super) fn end_of_words(&mut self, start: u32, end: u32) {
        let mut last = start;
        let mut at = start;
        let from = self.all.partition_point(|comment| comment.span.start < start);
        for comment in self.all.iter().skip(from).take_while(|comment| comment.span.start < end) {
            last = self.last_word(at, comment.span.start).unwrap_or(last);
            at = comment.span.end;
        }
        last = self.last_word(at, end).unwrap_or(last);
        self.last = self.line_of(last);
    }

    /// The text.
    pub(super) fn finish(mut self) -> String {
        self.comments_before(u32::MAX, 0, true);
        self.end_line();
        self.out
    }

    /// Line of a byte, from 1.
    fn line_of(&self, byte: u32) -> usize {
        self.ends.partition_point(|end| *end < byte) + 1
    }

    fn is_indented(&self, byte: u32) -> bool {
        let before = self.line_of(byte).checked_sub(2).and_then(|line| self.ends.get(line));
        before.map_or(byte > 0, |end| end + 1 < byte)
    }

    fn last_word(&self, start: u32, end: u32) -> Option<u32> {
        let text = self.source.slice(Span { start, end }).trim_end();
        (!text.is_empty()).then(|| start.saturating_add(u32::try_from(text.len()).unwrap_or(0)).saturating_sub(1))
    }

    fn next_comment(&mut self, before: u32) -> Option<&'s Word> {
        let (first, rest) = self.comments.split_first()?;
        if first.span.start >= before {
            return None;
        }
        self.comments = rest;
        Some(first)
    }

    /// Comments between two things: those on the line of the last words stay there, others get a line of their own.
    fn comments_before(&mut self, before: u32, indent: usize, is_item: bool) {
        while let Some(comment) = self.next_comment(before) {
            let line = self.line_of(comment.span.start);
            if line == self.last {
                self.trail(&comment.node);
                continue;
            }
            let belongs_before = is_item && self.is_indented(comment.span.start) && self.last > 0;
            self.begin_line(comment.span.start, if belongs_before { 2 } else { indent });
            self.line = comment.node.clone();
        }
    }

    /// Comments within a thing.
    fn comments_within(&mut self, before: u32) {
        while let Some(comment) = self.next_comment(before) {
            if self.is_fresh {
                self.line = comment.node.clone();
                self.end_line();
                continue;
            }
            if self.line_of(comment.span.start) == self.last && !self.line.is_empty() {
                self.trail(&comment.node);
            } else {
                self.go_on();
                self.line = comment.node.clone();
            }
            self.go_on();
        }
    }

    fn trail(&mut self, comment: &str) {
        self.line.push_str("  ");
        self.line.push_str(comment);
    }

    /// Ends the line and begins one with the blank line that the source has before it, or that is due.
    fn begin_line(&mut self, start: u32, indent: usize) {
        self.end_line();
        let is_due = self.apart && indent == 0;
        if !self.out.is_empty() && (is_due || self.is_after_blank(start)) {
            self.out.push('\n');
        }
        self.apart &= !is_due;
        (self.indent, self.continued) = (indent, indent + CONTINUED);
        self.is_fresh = true;
    }

    /// Whether the line that begins at the byte, after its indentation, has a blank line before it.
    fn is_after_blank(&self, byte: u32) -> bool {
        let mut lines = self.source.slice(Span { start: 0, end: byte }).rsplit('\n');
        let is_blank = |line: Option<&str>| line.is_some_and(|line| line.trim().is_empty());
        is_blank(lines.next()) && is_blank(lines.next())
    }

    /// Adds words, on a new line where they do not fit.
    fn put(&mut self, words: &str) {
        self.is_fresh = false;
        if self.line.is_empty() {
            self.line.push_str(words);
        } else if self.indent + self.line.chars().count() + 1 + words.chars().count() <= WIDTH {
            self.line.push(' ');
            self.line.push_str(words);
        } else {
            self.go_on();
            self.line.push_str(words);
        }
    }

    /// Ends the line, and indents the next as its continuation.
    fn go_on(&mut self) {
        self.end_line();
        self.indent = self.continued;
    }

    fn end_line(&mut self) {
        if self.line.is_empty() {
            return;
        }
        self.out.extend(std::iter::repeat_n(' ', self.indent));
        self.out.push_str(&self.line);
        self.out.push('\n');
        self.line.clear();
    }
}
