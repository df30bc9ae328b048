//! Errors in the reader's words.
use super::grammar::Rule;
use super::parse::View;
use crate::diagnostic::Diagnostic;
use crate::source::Span;

pub(super) fn no_text(at: usize) -> Diagnostic {
    Diagnostic::error("syntax/not-text", Span::new(at, at + 1), "the file is not text")
        .label("a zero byte")
        .help("give a program file: plain text, UTF-8")
}

pub(super) fn not_built(view: &View<'_>) -> Diagnostic {
    let bytes = view.chunk.bytes();
    Diagnostic::error("syntax/item", Span::new(bytes.start, bytes.end), "the item cannot be read")
}

pub(super) fn of(view: &View<'_>, error: &pest::error::Error<Rule>, base: usize) -> Diagnostic {
    let at = match error.location {
        pest::error::InputLocation::Pos(at) | pest::error::InputLocation::Span((at, _)) => base + at,
    };
    let _ = view;
    Diagnostic::error("syntax/unexpected", Span::new(at, at + 1), format!("{:?}", error.variant))
}
