//! One walk over the characters before the grammar runs: comments are gathered and blanked, texts and words measured,
//! characters that cannot stand in a program reported. What comes out has the bytes of what went in, place by place.

use super::ast::Word;
use super::limits;
use crate::diagnostic::Diagnostic;
use crate::source::{Span, Spanned};

/// The byte that the dash of a bullet within a bullet becomes; it can stand in no program file.
pub(super) const INNER_DASH: u8 = 1;

/// A text ready for the grammar.
#[derive(Debug)]
pub(super) struct Scanned {
    /// The text with comments and a byte-order mark blanked, as bytes: they stay valid UTF-8, a place in it is a place
    /// in the source.
    pub(super) clean: Vec<u8>,
    /// Where the text begins, after a byte-order mark.
    pub(super) begins: usize,
    /// Comments with their `#`, in order.
    pub(super) comments: Vec<Word>,
    /// What is wrong with characters, texts and words.
    pub(super) diagnostics: Vec<Diagnostic>,
}

/// Scans a text.
pub(super) fn scan(text: &str) -> Scanned {
    let begins = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let scanned = Scanned { clean: text.as_bytes().to_vec(), begins, comments: Vec::new(), diagnostics: Vec::new() };
    let mut scanner = Scanner { text, at: begins, line_is_blank: true, depth: 0, scanned };
    scanner.blank(0, begins);
    while let Some(character) = scanner.peek() {
        scanner.step(character);
    }
    scanner.scanned
}

struct Scanner<'t> {
    text: &'t str,
    at: usize,
    line_is_blank: bool,
    depth: usize,
    scanned: Scanned,
}

impl<'t> Scanner<'t> {
    fn rest(&self) -> &'t str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn step(&mut self, character: char) {
        let start = self.at;
        match character {
            '\n' => {
                (self.line_is_blank, self.depth) = (true, 0);
                self.at += 1;
                return;
            }
            ' ' | '\t' | '\r' => {
                let spaces = self.rest().bytes().take_while(|byte| matches!(byte, b' ' | b'\t' | b'\r'));
                self.at += spaces.count().max(1);
                return;
            }
            '#' => return self.comment(),
            '"' => self.text_in_quotes(),
            '-' if self.is_dash() => {
                self.at += 1;
                if !self.line_is_blank {
                    self.report(
                        Diagnostic::error("syntax/bullet-place", self.since(start), "a bullet begins within a line")
                            .help("begin each bullet on a line of its own"),
                    );
                }
            }
            '(' => {
                self.at += 1;
                self.depth += 1;
                if self.depth == limits::DEPTH + 1 {
                    self.report(limits::too_deep(self.since(start)));
                }
            }
            ')' => {
                self.at += 1;
                self.depth = self.depth.saturating_sub(1);
            }
            word if is_word(word) => self.word(),
            other => {
                self.at += other.len_utf8();
                self.hidden(start, other);
            }
        }
        self.line_is_blank = false;
    }

    fn is_dash(&self) -> bool {
        let before = self.text.get(..self.at).and_then(|text| text.chars().next_back());
        let after = self.rest().chars().nth(1);
        before.is_none_or(char::is_whitespace) && after.is_none_or(char::is_whitespace)
    }

    fn comment(&mut self) {
        let start = self.at;
        let line = self.rest().split('\n').next().unwrap_or("").trim_end();
        if !is_plain(line) {
            for (at, character) in line.char_indices() {
                self.hidden(start + at, character);
            }
        }
        self.at += line.len().max(1);
        self.blank(start, self.at);
        self.scanned.comments.push(Spanned::new(line.to_owned(), self.since(start)));
    }

    fn text_in_quotes(&mut self) {
        let start = self.at;
        // Most texts hold nothing that needs a second look.
        let inner = self.rest().get(1..).and_then(|rest| rest.get(..rest.find(['"', '\\', '\n'])?));
        if let Some(inner) = inner.filter(|it| is_plain(it) && it.len() <= limits::TEXT_CHARACTERS)
            && self.rest().as_bytes().get(inner.len() + 1) == Some(&b'"')
        {
            self.at += inner.len() + 2;
            return;
        }
        let line = self.rest().split('\n').next().unwrap_or("").trim_end();
        let mut characters = line.char_indices().skip(1).peekable();
        let mut count = 0;
        let mut end = None;
        while let Some((at, character)) = characters.next() {
            match character {
                '"' => {
                    end = Some(at + 1);
                    break;
                }
                '\\' => match characters.peek() {
                    Some((_, '"' | '\\')) => {
                        characters.next();
                    }
                    Some(_) | None => self.escape(start + at),
                },
                other => self.hidden(start + at, other),
            }
            count += 1;
        }
        self.at = start + end.unwrap_or(line.len()).max(1);
        let span = self.since(start);
        if end.is_none() {
            self.report(
                Diagnostic::error("syntax/unclosed-text", span, "the text has no closing quote")
                    .label("begins here and goes to the end of the line")
                    .help("close the text with `\"` on the same line; write a quote within it as `\\\"`"),
            );
        } else if count > limits::TEXT_CHARACTERS {
            self.report(limits::text_too_long(span, count));
        }
    }

    fn escape(&mut self, at: usize) {
        let rest = self.text.get(at..).unwrap_or("").chars().take(2);
        let length: usize = rest.take_while(|mark| !mark.is_control()).map(char::len_utf8).sum();
        let span = Span::new(at, at + length);
        self.report(
            Diagnostic::error("syntax/escape", span, "a backslash stands only before a quote or a backslash")
                .help("write `\\\\` for a backslash and `\\\"` for a quote"),
        );
    }

    fn word(&mut self) {
        let start = self.at;
        let length = self.rest().bytes().take_while(|byte| is_word(char::from(*byte))).count();
        let word = self.rest().get(..length).unwrap_or("");
        self.at += length.max(1);
        if word.bytes().all(|byte| byte.is_ascii_digit()) {
            if word.parse::<i64>().is_err() {
                self.report(limits::number_too_great(self.since(start), word));
            }
        } else if length > limits::NAME_CHARACTERS {
            self.report(limits::name_too_long(self.since(start), length));
        }
    }

    /// Reports a character that cannot be seen, or that changes how others are seen.
    fn hidden(&mut self, start: usize, character: char) {
        if !is_hidden(character) {
            return;
        }
        let span = Span::new(start, start + character.len_utf8());
        self.blank(start, start + character.len_utf8());
        self.report(
            Diagnostic::error(
                "syntax/character",
                span,
                format!("the character U+{:04X} cannot stand in a program file", u32::from(character)),
            )
            .help("remove the character; a plain space separates words"),
        );
    }

    fn since(&self, start: usize) -> Span {
        Span::new(start, self.at)
    }

    fn report(&mut self, diagnostic: Diagnostic) {
        self.scanned.diagnostics.push(diagnostic);
    }

    fn blank(&mut self, start: usize, end: usize) {
        if let Some(bytes) = self.scanned.clean.get_mut(start..end) {
            bytes.fill(b' ');
        }
    }
}

/// Whether a text holds nothing but the visible characters of ASCII, spaces and tabs.
fn is_plain(text: &str) -> bool {
    text.bytes().all(|byte| matches!(byte, b' '..=b'~' | b'\t'))
}

/// Control characters, spaces other than the plain one, marks without width, and marks that turn the direction of text.
fn is_hidden(character: char) -> bool {
    let strange_space = character.is_whitespace() && character != ' ' && character != '\t';
    let without_width = matches!(character, '\u{200b}'..='\u{200f}' | '\u{2060}' | '\u{feff}' | '\u{ad}');
    let turning = matches!(character, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    (character.is_control() && character != '\t') || strange_space || without_width || turning
}

fn is_word(character: char) -> bool {
    character.is_ascii_alphanumeric() || character == '-' || character == '_'
}
