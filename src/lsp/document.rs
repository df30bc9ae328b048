//! The documents that are open, over the files on the disk; and each with its tree, its names and what was found of it.

use super::names::{self, Name};
use super::place::{Lines, floor};
use super::study::Study;
use crate::catalog::{BuiltIn, Catalog, Entry, Over};
use crate::source::Span;
use crate::syntax::ast::Kind;
use lsp_types::{Range, TextDocumentContentChangeEvent, Uri};
use std::sync::Arc;

/// An open document.
#[derive(Debug)]
pub(super) struct Document {
    pub(super) uri: Uri,
    pub(super) name: String,
    pub(super) version: i32,
    pub(super) text: String,
    pub(super) lines: Lines,
    /// The file, read and checked.
    pub(super) entry: Option<Arc<Entry>>,
    /// Files of the programs that it adopts, near ones first.
    pub(super) adopted: Vec<Arc<Entry>>,
    pub(super) names: Vec<Name>,
    /// What the slow analyses found, if they are done for this text.
    pub(super) study: Option<Study>,
}

impl Document {
    pub(super) fn new(uri: Uri, version: i32, text: String) -> Document {
        let name = super::uri::name(uri.as_str());
        let lines = Lines::of(&text);
        Document { uri, name, version, text, lines, entry: None, adopted: Vec::new(), names: Vec::new(), study: None }
    }

    /// Takes the editor's changes, in their order.
    pub(super) fn change(&mut self, version: i32, changes: Vec<TextDocumentContentChangeEvent>) {
        for change in changes {
            match change.range {
                Some(range) => {
                    let (start, end) = self.bytes(range);
                    self.text.replace_range(start..end.max(start), &change.text);
                }
                None => self.text = change.text,
            }
            self.lines = Lines::of(&self.text);
        }
        self.version = version;
        self.study = None;
    }

    /// Reads and checks the text again.
    pub(super) fn read(&mut self, shelf: &Over<'_>) {
        let catalog = Catalog::new(vec![shelf, &BuiltIn]);
        self.entry = catalog.file(&self.name);
        self.adopted = adopted(&catalog, self.entry.as_deref());
        self.names = self.entry.as_ref().map(|entry| names::of(&entry.file)).unwrap_or_default();
    }

    pub(super) fn bytes(&self, range: Range) -> (usize, usize) {
        (self.lines.byte(&self.text, range.start), self.lines.byte(&self.text, range.end))
    }

    pub(super) fn range(&self, span: Span) -> Range {
        self.lines.range(&self.text, span)
    }

    pub(super) fn slice(&self, span: Span) -> &str {
        let (start, end) = super::place::bytes(span);
        self.text.get(floor(&self.text, start)..floor(&self.text, end)).unwrap_or("")
    }

    /// The name that stands at a byte, the shortest if one stands within another.
    pub(super) fn name_at(&self, byte: usize) -> Option<&Name> {
        let holds = |name: &&Name| {
            let (start, end) = super::place::bytes(name.span);
            start <= byte && byte <= end
        };
        self.names.iter().filter(holds).min_by_key(|name| name.span.end.saturating_sub(name.span.start))
    }

    /// This file and those that it adopts.
    pub(super) fn entries(&self) -> impl Iterator<Item = &Arc<Entry>> {
        self.entry.iter().chain(&self.adopted)
    }
}

/// Files of all programs that a file adopts, directly or by way of another.
fn adopted(catalog: &Catalog<'_>, entry: Option<&Entry>) -> Vec<Arc<Entry>> {
    let mut found: Vec<Arc<Entry>> = Vec::new();
    let mut open: Vec<String> = entry.map(adopts).unwrap_or_default();
    open.reverse();
    while let Some(id) = open.pop() {
        if found.iter().any(|known| known.id == id) || entry.is_some_and(|entry| entry.id == id) {
            continue;
        }
        if let Ok(other) = catalog.find(&id) {
            let mut next = adopts(&other);
            next.reverse();
            open.extend(next);
            found.push(other);
        }
    }
    found
}

/// Ids of the programs that a file says it adopts.
fn adopts(entry: &Entry) -> Vec<String> {
    let program = entry.file.items.iter().filter_map(|item| match &item.kind {
        Kind::Adopts { program, .. } => Some(program.node.clone()),
        _ => None,
    });
    program.collect()
}
