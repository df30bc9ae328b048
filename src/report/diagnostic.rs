//! Messages about program files for tools: JSON with places in lines and columns and in bytes. Drawing them for people
//! is the front end's work.

use crate::diagnostic::{Diagnostic, Severity};
use crate::source::{Source, Span};
use serde::Serialize;

/// A message as JSON (`wherefore check --format json`).
#[derive(Debug, Clone, Serialize)]
pub struct Message {
    code: &'static str,
    severity: &'static str,
    message: String,
    file: String,
    places: Vec<Place>,
    #[serde(skip_serializing_if = "Option::is_none")]
    help: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    notes: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    subject: Option<String>,
}

/// A place in a file: lines and columns from 1, columns in characters; bytes from 0, the end excluded.
#[derive(Debug, Clone, Serialize)]
struct Place {
    line: u32,
    column: u32,
    end_line: u32,
    end_column: u32,
    start: u32,
    end: u32,
    text: String,
}

impl Message {
    /// The message of a diagnostic in its source.
    #[must_use]
    pub fn of(diagnostic: &Diagnostic, source: &Source) -> Message {
        Message {
            code: diagnostic.code,
            severity: severity(diagnostic.severity),
            message: diagnostic.message.clone(),
            file: source.name().to_owned(),
            places: diagnostic.labels.iter().map(|label| place(source, label.span, &label.text)).collect(),
            help: diagnostic.help.clone(),
            notes: diagnostic.notes.clone(),
            subject: diagnostic.subject.clone(),
        }
    }
}

/// The word of a severity.
#[must_use]
pub fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    }
}

fn place(source: &Source, span: Span, text: &str) -> Place {
    let ((line, column), (end_line, end_column)) = (source.place(span.start), source.place(span.end));
    Place { line, column, end_line, end_column, start: span.start, end: span.end, text: text.to_owned() }
}
