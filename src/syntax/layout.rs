//! Lines and items of a scanned text, and the depth of bullets. An item is a line at the left margin and the lines
//! after it that are indented or empty.

use super::limits;
use crate::diagnostic::Diagnostic;
use crate::source::Span;

/// A line that holds words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Line {
    /// First byte of the line.
    pub(super) start: usize,
    /// First byte of its words.
    pub(super) words: usize,
    /// Byte after its last word.
    pub(super) end: usize,
    /// Characters before its words; a tab counts as one.
    pub(super) indent: usize,
    /// Whether it begins with a dash.
    pub(super) is_bullet: bool,
}

/// The lines of an item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Chunk {
    /// Lines that hold words; never empty.
    pub(super) lines: Vec<Line>,
    /// Whether it is too large or too deep to be parsed.
    pub(super) is_refused: bool,
}

impl Chunk {
    /// The bytes from its first word to its last.
    pub(super) fn bytes(&self) -> std::ops::Range<usize> {
        self.lines.first().map_or(0, |line| line.words)..self.lines.last().map_or(0, |line| line.end)
    }

    /// The line that holds a byte.
    pub(super) fn line_of(&self, byte: usize) -> Option<&Line> {
        let after = self.lines.partition_point(|line| line.start <= byte);
        after.checked_sub(1).and_then(|at| self.lines.get(at))
    }
}

/// Splits a scanned text into items, and marks the dashes of bullets that stand within bullets.
/// `begins` is where the text begins, after a byte-order mark.
pub(super) fn split(clean: &mut [u8], begins: usize, diagnostics: &mut Vec<Diagnostic>) -> Vec<Chunk> {
    let lines = lines(clean, begins);
    let mut chunks: Vec<Chunk> = Vec::new();
    for line in lines {
        let count = chunks.len();
        match chunks.last_mut() {
            Some(chunk) if line.indent > 0 => chunk.lines.push(line),
            _ if count == limits::ITEMS => {
                diagnostics.push(limits::too_many_items(Span::new(line.words, line.end)));
                break;
            }
            _ => chunks.push(Chunk { lines: vec![line], is_refused: false }),
        }
    }
    for chunk in &mut chunks {
        if let Some(diagnostic) = mark_bullets(chunk, clean) {
            chunk.is_refused = true;
            diagnostics.push(diagnostic);
        }
    }
    chunks
}

fn lines(clean: &[u8], begins: usize) -> Vec<Line> {
    let mut start = begins;
    let mut lines = Vec::new();
    for bytes in clean.get(begins..).unwrap_or(&[]).split_inclusive(|byte| *byte == b'\n') {
        let blank = bytes.iter().take_while(|byte| byte.is_ascii_whitespace()).count();
        let length = bytes.len() - bytes.iter().rev().take_while(|byte| byte.is_ascii_whitespace()).count();
        if blank < length {
            let is_bullet =
                bytes.get(blank) == Some(&b'-') && bytes.get(blank + 1).is_none_or(|byte| byte.is_ascii_whitespace());
            lines.push(Line { start, words: start + blank, end: start + length, indent: blank, is_bullet });
        }
        start += bytes.len();
    }
    lines
}

/// Marks dashes of bullets within bullets; the diagnostic where there are too many bullets, or too deep.
fn mark_bullets(chunk: &Chunk, clean: &mut [u8]) -> Option<Diagnostic> {
    let mut open: Vec<usize> = Vec::new();
    let mut count = 0;
    for line in &chunk.lines {
        while open.last().is_some_and(|indent| *indent >= line.indent) {
            open.pop();
        }
        if !line.is_bullet {
            continue;
        }
        let dash = Span::new(line.words, line.words + 1);
        count += 1;
        if count > limits::BULLETS {
            return Some(limits::too_many_bullets(dash));
        }
        if open.len() >= limits::DEPTH {
            return Some(limits::too_deep(dash));
        }
        if let Some(byte) = clean.get_mut(line.words).filter(|_| !open.is_empty()) {
            *byte = super::scan::INNER_DASH;
        }
        open.push(line.indent);
    }
    None
}
