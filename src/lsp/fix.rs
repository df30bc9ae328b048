//! Changes that an editor offers for a message: the nearest word, a source, a worked case, an acknowledgement. What only
//! the writer can know, an outcome or a reason, is left blank, so that the file is not clean before it is filled in.

use super::document::Document;
use super::names::Sort;
use super::place::bytes;
use crate::diagnostic::{Diagnostic, Severity};
use crate::source::{Source, Span};
use crate::syntax;
use lsp_types::{
    CodeAction, CodeActionKind, CodeActionOrCommand, DocumentChanges, OneOf, OptionalVersionedTextDocumentIdentifier,
    Range, TextDocumentEdit, TextEdit, WorkspaceEdit,
};

/// What is offered for a range.
pub(super) fn actions(doc: &Document, range: Range) -> Vec<CodeActionOrCommand> {
    let (first, last) = doc.bytes(range);
    let touches = |diagnostic: &&Diagnostic| {
        diagnostic.labels.first().is_some_and(|label| {
            let (start, end) = bytes(shown(doc, label.span));
            first <= end && start <= last
        })
    };
    let mut found = Vec::new();
    for diagnostic in messages(doc).iter().filter(touches) {
        if let Some(fix) = &diagnostic.fix {
            let title = match (fix.text.trim(), fix.span.start == fix.span.end) {
                ("", _) => format!("Take out `{}`", doc.slice(fix.span).trim()),
                (text, true) => format!("Add `{text}`"),
                (text, false) => format!("Write `{text}`"),
            };
            found.push(action(doc, title, diagnostic, fix.span, &fix.text, true));
        }
        match diagnostic.code {
            "check/unknown-source" | "check/source-ambiguous" => found.extend(add_source(doc, diagnostic)),
            "check/no-case-reaches" => found.push(add_case(doc, diagnostic)),
            _ => {}
        }
        for (title, span, text) in super::remedies::of(doc, diagnostic) {
            found.push(action(doc, title, diagnostic, span, &text, false));
        }
        if diagnostic.severity == Severity::Warning && diagnostic.code != "case/fails" {
            found.push(acknowledge(doc, diagnostic));
        }
    }
    found.extend(upgrade(doc));
    found.into_iter().map(CodeActionOrCommand::CodeAction).collect()
}

/// All messages: the study's, which hold those of the check; else those of the check alone.
pub(super) fn messages(doc: &Document) -> &[Diagnostic] {
    match (&doc.study, &doc.entry) {
        (Some(study), _) => &study.messages,
        (None, Some(entry)) => &entry.diagnostics,
        (None, None) => &[],
    }
}

/// The place of a message: of an item its first line, for the rest would be underlined with it.
pub(super) fn shown(doc: &Document, span: Span) -> Span {
    let (start, _) = bytes(span);
    let first = doc.slice(span).lines().next().map_or(0, |line| line.trim_end().len());
    Span::new(start, start + first)
}

/// A change of one document.
pub(super) fn edit(doc: &Document, edits: Vec<TextEdit>) -> WorkspaceEdit {
    let text_document = OptionalVersionedTextDocumentIdentifier { uri: doc.uri.clone(), version: Some(doc.version) };
    let edits = edits.into_iter().map(OneOf::Left).collect();
    WorkspaceEdit {
        document_changes: Some(DocumentChanges::Edits(vec![TextDocumentEdit { text_document, edits }])),
        ..WorkspaceEdit::default()
    }
}

fn action(doc: &Document, title: String, of: &Diagnostic, span: Span, text: &str, preferred: bool) -> CodeAction {
    CodeAction {
        title,
        kind: Some(CodeActionKind::QUICKFIX),
        diagnostics: Some(super::messages::diagnostics(doc, std::slice::from_ref(of))),
        edit: Some(edit(doc, vec![TextEdit { range: doc.range(span), new_text: text.to_owned() }])),
        is_preferred: Some(preferred),
        ..CodeAction::default()
    }
}

/// The end of the text, and what must stand before a new item there.
pub(super) fn end(doc: &Document) -> (Span, &'static str) {
    let at = doc.text.len();
    let before = if doc.text.ends_with("\n\n") || doc.text.is_empty() {
        ""
    } else if doc.text.ends_with('\n') {
        "\n"
    } else {
        "\n\n"
    };
    (Span::new(at, at), before)
}

fn add_source(doc: &Document, diagnostic: &Diagnostic) -> Option<CodeAction> {
    let id = doc.slice(diagnostic.labels.first()?.span);
    let declared = doc.names.iter().filter(|name| name.declares && [Sort::Source, Sort::Program].contains(&name.sort));
    // Behind the last source, or behind the program's own lines.
    let after = declared.max_by_key(|name| (name.sort == Sort::Source, name.span.start))?;
    let items = doc.entry.as_ref()?.file.items.iter();
    let item = items.filter(|item| item.span.start <= after.span.start).max_by_key(|item| item.span.start)?;
    let (start, _) = bytes(item.span);
    let at = start + doc.slice(item.span).trim_end().len();
    // How it was seen is left out: only the writer knows.
    let text = format!("\nsource {id} \"\" law");
    Some(action(doc, format!("Add source `{id}`"), diagnostic, Span::new(at, at), &text, false))
}

fn add_case(doc: &Document, diagnostic: &Diagnostic) -> CodeAction {
    let clause = diagnostic.subject.as_deref().unwrap_or("");
    let (at, before) = end(doc);
    let text = format!("{before}case \"\" on \n  facts ; otherwise ordinary\n  expect  by {clause} per \n");
    action(doc, format!("Add a case for clause `{clause}`"), diagnostic, at, &text, false)
}

fn acknowledge(doc: &Document, diagnostic: &Diagnostic) -> CodeAction {
    let subject = diagnostic.subject.as_deref().unwrap_or("");
    let is_name = !subject.is_empty() && subject.chars().all(|mark| mark.is_ascii_alphanumeric() || mark == '-');
    let of = match (subject, is_name) {
        ("", _) => String::new(),
        (name, true) => format!(" of {name}"),
        (text, false) => format!(" of \"{}\"", text.replace('\\', "\\\\").replace('"', "\\\"")),
    };
    let (at, before) = end(doc);
    let before = if doc.text.lines().last().is_some_and(|line| line.starts_with("acknowledges ")) && before == "\n" {
        ""
    } else {
        before
    };
    let text = format!("{before}acknowledges {}{of} \"\"\n", diagnostic.code);
    action(
        doc,
        format!("Acknowledge `{}`; the reason is yours to write", diagnostic.code),
        diagnostic,
        at,
        &text,
        false,
    )
}

/// The file in the newest version of the language.
fn upgrade(doc: &Document) -> Option<CodeAction> {
    let source = Source::new(&doc.name, &doc.text);
    let newer = syntax::upgrade(&syntax::parse(&source), &source)?;
    (newer != doc.text).then(|| CodeAction {
        title: "Rewrite in the newest version of the language".to_owned(),
        kind: Some(CodeActionKind::REFACTOR_REWRITE),
        edit: Some(edit(doc, vec![TextEdit { range: doc.lines.whole(&doc.text), new_text: newer }])),
        ..CodeAction::default()
    })
}

/// The changes that bring a text into canonical form; none where it has errors.
pub(super) fn formatting(doc: &Document) -> Option<Vec<TextEdit>> {
    let source = Source::new(&doc.name, &doc.text);
    let canonical = syntax::format(&syntax::parse(&source), &source)?;
    if canonical == doc.text {
        return Some(Vec::new());
    }
    // The lines that are the same at either end stay, so that the cursor and marks keep their places.
    let same = |(old, new): &(&str, &str)| old == new;
    let (old, new): (Vec<&str>, Vec<&str>) =
        (doc.text.split_inclusive('\n').collect(), canonical.split_inclusive('\n').collect());
    let first = old.iter().copied().zip(new.iter().copied()).take_while(same).count();
    let most = old.len().min(new.len()) - first;
    let last = old.iter().rev().copied().zip(new.iter().rev().copied()).take(most).take_while(same).count();
    let length = |lines: &[&str], from: usize, many: usize| {
        lines.iter().skip(from).take(many).map(|line| line.len()).sum::<usize>()
    };
    let start = length(&old, 0, first);
    let end = start + length(&old, first, old.len() - first - last);
    let text: String = new.iter().skip(first).take(new.len() - first - last).copied().collect();
    Some(vec![TextEdit { range: doc.range(Span::new(start, end)), new_text: text }])
}
