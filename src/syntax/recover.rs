//! Second try.
use super::grammar::Rule;
use super::message;
use super::parse::View;
use crate::diagnostic::Diagnostic;

pub(super) fn errors(view: &View<'_>, error: Option<pest::error::Error<Rule>>) -> Vec<Diagnostic> {
    error.map(|error| message::of(view, &error, view.chunk.bytes().start)).into_iter().collect()
}
