//! Messages of the check as an editor takes them.

use super::document::Document;
use super::fix;
use crate::diagnostic::{Diagnostic, Severity};
use lsp_types as lsp;
use lsp_types::{DiagnosticRelatedInformation, DiagnosticSeverity, Location, NumberOrString};

/// Messages about a document.
pub(super) fn diagnostics(doc: &Document, messages: &[Diagnostic]) -> Vec<lsp::Diagnostic> {
    messages.iter().map(|message| diagnostic(doc, message)).collect()
}

fn diagnostic(doc: &Document, message: &Diagnostic) -> lsp::Diagnostic {
    let place = |label: &crate::diagnostic::Label| doc.range(fix::shown(doc, label.span));
    let related = message.labels.iter().skip(1).map(|label| DiagnosticRelatedInformation {
        location: Location::new(doc.uri.clone(), place(label)),
        message: label.text.clone(),
    });
    let related: Vec<_> = related.collect();
    let mut text = message.message.clone();
    for line in message.help.iter().chain(&message.notes) {
        text.push('\n');
        text.push_str(line);
    }
    lsp::Diagnostic {
        range: message.labels.first().map(place).unwrap_or_default(),
        severity: Some(match message.severity {
            Severity::Error => DiagnosticSeverity::ERROR,
            Severity::Warning => DiagnosticSeverity::WARNING,
        }),
        code: Some(NumberOrString::String(message.code.to_owned())),
        source: Some("wherefore".to_owned()),
        message: text,
        related_information: Some(related).filter(|list| !list.is_empty()),
        ..lsp::Diagnostic::default()
    }
}
