//! Where a thing is named, in the document and in files that adopt it or that it adopts; and giving it another name, which
//! is done only where nothing is broken by it.

use super::document::Document;
use super::names::{self, Name, Sort};
use super::place::{Lines, bytes};
use super::uri::address;
use crate::catalog::{BuiltIn, Catalog, Files, Over};
use crate::diagnostic::Severity;
use crate::source::Source;
use crate::syntax::ast::{File, Kind};
use crate::syntax::parse;
use lsp_types::{
    DocumentChanges, Location, OneOf, OptionalVersionedTextDocumentIdentifier, TextDocumentEdit, TextEdit, Uri,
    WorkspaceEdit,
};
use std::collections::{BTreeMap, BTreeSet};

/// A file in which a thing is named.
struct Holder {
    uri: Uri,
    version: Option<i32>,
    text: String,
    names: Vec<Name>,
}

/// Every place where a thing is named.
pub(super) fn references(
    docs: &BTreeMap<String, Document>,
    shelf: &Over<'_>,
    doc: &Document,
    name: &Name,
    declared: bool,
) -> Vec<Location> {
    let mut found = Vec::new();
    for holder in holders(docs, shelf, doc, name) {
        let lines = Lines::of(&holder.text);
        let places = holder.names.iter().filter(|one| one.is_same(name) && (declared || !one.declares));
        found.extend(places.map(|one| Location::new(holder.uri.clone(), lines.range(&holder.text, one.span))));
    }
    found
}

/// The edit that gives the thing at a byte another name.
///
/// # Errors
/// With a sentence: nothing there has a name, it is declared elsewhere, or the new name does not do.
pub(super) fn rename(
    docs: &BTreeMap<String, Document>,
    shelf: &Over<'_>,
    doc: &Document,
    byte: usize,
    to: &str,
) -> Result<WorkspaceEdit, String> {
    let name = renamed(doc, byte)?.clone();
    is_a_name(to)?;
    let taken =
        doc.names.iter().find(|one| one.declares && one.name == to && one.of == name.of && one.sort == name.sort);
    if taken.is_some() {
        return Err(format!("there is a {} `{to}` already", name.sort.word()));
    }
    let mut changed: BTreeMap<String, String> = BTreeMap::new();
    let mut edits = Vec::new();
    for holder in holders(docs, shelf, doc, &name) {
        let lines = Lines::of(&holder.text);
        let places: Vec<&Name> = holder.names.iter().filter(|one| one.is_same(&name) && one.is_written).collect();
        if places.is_empty() {
            continue;
        }
        let mut text = holder.text.clone();
        for one in places.iter().rev() {
            let (start, end) = bytes(one.span);
            if text.get(start..end).is_some() {
                text.replace_range(start..end, to);
            }
        }
        changed.insert(super::uri::name(holder.uri.as_str()), text);
        let edit =
            |one: &&Name| OneOf::Left(TextEdit { range: lines.range(&holder.text, one.span), new_text: to.to_owned() });
        let text_document =
            OptionalVersionedTextDocumentIdentifier { uri: holder.uri.clone(), version: holder.version };
        edits.push(TextDocumentEdit { text_document, edits: places.iter().map(edit).collect() });
    }
    is_sound(shelf, &changed, to)?;
    Ok(WorkspaceEdit { document_changes: Some(DocumentChanges::Edits(edits)), ..WorkspaceEdit::default() })
}

/// The name at a byte, if it can be renamed.
///
/// # Errors
/// With a sentence that says why not.
pub(super) fn renamed(doc: &Document, byte: usize) -> Result<&Name, String> {
    let name = doc.name_at(byte).filter(|name| name.is_written).ok_or("nothing here has a name of its own")?;
    match name.sort {
        Sort::Monitor | Sort::Topic => {
            return Err(format!("`{}` is a {} of the language", name.name, name.sort.word()));
        }
        Sort::Program => return Err("a program is named by its file; rename both by hand".to_owned()),
        Sort::Theirs => return Err(format!("`{}` is an outcome of an adopted program; rename it there", name.name)),
        _ => {}
    }
    if doc.names.iter().any(|one| one.declares && one.is_written && one.is_same(name)) {
        return Ok(name);
    }
    let other =
        doc.adopted.iter().find(|entry| names::of(&entry.file).iter().any(|one| one.declares && one.is_same(name)));
    match other {
        Some(other) => Err(format!("`{}` is declared in `{}`; rename it there", name.name, other.id)),
        None if name.sort == Sort::Fact => Err(format!("`{}` is a fact of the language", name.name)),
        None => Err(format!("`{}` is not declared", name.name)),
    }
}

fn is_a_name(to: &str) -> Result<(), String> {
    let starts = to.starts_with(|mark: char| mark.is_ascii_lowercase());
    let rest = to.chars().all(|mark| mark.is_ascii_lowercase() || mark.is_ascii_digit() || mark == '-');
    if starts && rest { Ok(()) } else { Err(format!("`{to}` is no name: write lower-case words joined by hyphens")) }
}

/// Whether the changed files have no error that they had not before.
fn is_sound(shelf: &Over<'_>, changed: &BTreeMap<String, String>, to: &str) -> Result<(), String> {
    let mut open = shelf.texts.clone();
    open.extend(changed.iter().map(|(name, text)| (name.as_str(), text.as_str())));
    let after = Over { under: shelf.under, texts: open };
    let (before, after) = (Catalog::new(vec![shelf, &BuiltIn]), Catalog::new(vec![&after, &BuiltIn]));
    for name in changed.keys() {
        let errors = |catalog: &Catalog<'_>| {
            let entry = catalog.file(name);
            let all =
                entry.iter().flat_map(|entry| entry.diagnostics.clone()).filter(|one| one.severity == Severity::Error);
            all.map(|one| one.message).collect::<Vec<String>>()
        };
        let (old, new) = (errors(&before), errors(&after));
        if new.len() > old.len() {
            let told = new.iter().find(|message| !old.contains(message)).map_or("", String::as_str);
            return Err(format!("`{to}` does not do here: {told}"));
        }
    }
    Ok(())
}

/// The files in which the thing may be named: the document, and those of the workspace that adopt it or that it adopts.
fn holders(docs: &BTreeMap<String, Document>, shelf: &Over<'_>, doc: &Document, name: &Name) -> Vec<Holder> {
    let own =
        Holder { uri: doc.uri.clone(), version: Some(doc.version), text: doc.text.clone(), names: doc.names.clone() };
    let mut found = vec![own];
    // Outcomes, periods and the like are a file's own.
    if [Sort::Outcome, Sort::Theirs, Sort::Period, Sort::Change].contains(&name.sort) {
        return found;
    }
    let others: Vec<(String, String, File)> = shelf
        .names()
        .into_iter()
        .filter(|other| *other != doc.name)
        .filter_map(|other| {
            let text = shelf.text(&other).ok()?;
            // Most files adopt nothing and are adopted by nobody here: only those that might be are read whole.
            let related = text.contains("adopts ") || doc.adopted.iter().any(|entry| *entry.source.name() == other);
            let file = related.then(|| parse(&Source::new(&other, &text)).file)?;
            Some((other, text, file))
        })
        .collect();
    let mut family: BTreeSet<String> = doc.entry.iter().map(|entry| entry.id.clone()).collect();
    let mut size = 0;
    while size != family.len() {
        size = family.len();
        for (_, _, file) in &others {
            let (id, adopts) = adoption(file);
            if adopts.iter().any(|one| family.contains(one)) {
                family.insert(id);
            }
        }
    }
    let is_own = doc.names.iter().any(|one| one.declares && one.is_same(name));
    let adopted: BTreeSet<&str> = doc.adopted.iter().map(|entry| entry.source.name()).collect();
    for (other, text, file) in others {
        let (id, _) = adoption(&file);
        if !(family.contains(&id) || adopted.contains(other.as_str())) {
            continue;
        }
        let open = docs.values().find(|open| open.name == other);
        let uri = open.map(|open| open.uri.clone()).or_else(|| address(&other));
        let names = names::of(&file);
        // A file that declares a source of this name itself means its own.
        if name.sort == Sort::Source && is_own && names.iter().any(|one| one.declares && one.is_same(name)) {
            continue;
        }
        if let Some(uri) = uri {
            found.push(Holder { uri, version: open.map(|open| open.version), text, names });
        }
    }
    found
}

/// The id of a file's program, and those that it adopts.
fn adoption(file: &File) -> (String, Vec<String>) {
    let mut id = String::new();
    let mut adopts = Vec::new();
    for item in &file.items {
        match &item.kind {
            Kind::Program { id: own, .. } => id.clone_from(&own.node),
            Kind::Adopts { program, .. } => adopts.push(program.node.clone()),
            _ => {}
        }
    }
    (id, adopts)
}
