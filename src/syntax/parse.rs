//! From a source to a tree and messages: limits, scan, items, grammar. An item that the grammar refuses is tried again
//! piece by piece, so that each of its errors is told; it is left out of the tree, and every other item stays.

use super::ast::{File, Item};
use super::grammar::{Grammar, Rule};
use super::layout::Chunk;
use super::node::Node;
use super::view::View;
use super::{build, layout, limits, message, recover, scan};
use crate::diagnostic::Diagnostic;
use crate::source::{Source, Span};
use pest::Parser;
use pest::error::Error;
use std::cell::Cell;

/// What a text says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parsed {
    /// The items that could be read, and all comments.
    pub file: File,
    /// What is wrong, in the order of places.
    pub diagnostics: Vec<Diagnostic>,
}

/// Reads a program file. Never fails and never gives up: items with errors are left out of the tree and told of.
#[must_use]
pub fn parse(source: &Source) -> Parsed {
    parse_items(source, &|_| true)
}

/// Reads a program file but for its worked cases and the ordinary vehicle that they begin with: nobody needs them who only
/// rules on vehicles, and they are a good part of a file. For files that were checked whole before: an error in a case is not told.
#[must_use]
pub fn parse_without_cases(source: &Source) -> Parsed {
    parse_items(source, &|item| !["case", "ordinary"].iter().any(|word| super::words::begins_with(item, word)))
}

/// Reads the items whose text, from its first word, is wanted.
fn parse_items(source: &Source, is_wanted: &dyn Fn(&str) -> bool) -> Parsed {
    let text = source.text();
    if text.len() > limits::FILE_BYTES {
        return Parsed { file: File::default(), diagnostics: vec![limits::file_too_long(text.len())] };
    }
    if let Some(at) = text.find('\0') {
        return Parsed { file: File::default(), diagnostics: vec![message::no_text(at)] };
    }
    let mut scanned = scan::scan(text);
    let mut diagnostics = scanned.diagnostics;
    let chunks = layout::split(&mut scanned.clean, scanned.begins, &mut diagnostics);
    // INVARIANT: scan and layout replace whole characters by ASCII, so this is the same text, blanked and marked.
    let clean = String::from_utf8(scanned.clean).unwrap_or_default();
    let wrong = places(&diagnostics);
    let tries = Cell::new(limits::TRIES);
    limit_errors(&mut diagnostics);
    let mut items = Vec::new();
    let mut found = Vec::new();
    let is_read = |chunk: &&Chunk| !chunk.is_refused && is_wanted(clean.get(chunk.bytes()).unwrap_or(""));
    for chunk in chunks.iter().filter(is_read) {
        let view = View { text, clean: &clean, chunk, wrong: &wrong, tries: &tries };
        match item(&view) {
            Ok(item) => items.push(item),
            Err(broken) if found.len() <= limits::ERRORS => found.extend(broken.errors(&view)),
            Err(_) => {}
        }
    }
    build::options(&mut items);
    limit_errors(&mut found);
    diagnostics.extend(found);
    diagnostics.sort_by_key(|diagnostic| diagnostic.labels.first().map(|label| label.span));
    Parsed { file: File { items, comments: scanned.comments }, diagnostics }
}

/// Keeps the first errors, and says where the others begin.
fn limit_errors(errors: &mut Vec<Diagnostic>) {
    if let Some(place) = errors.get(limits::ERRORS).and_then(|error| error.labels.first()).map(|label| label.span) {
        errors.truncate(limits::ERRORS);
        errors.push(limits::too_many_errors(place));
    }
}

/// The main places of messages, in order; overlapping ones as one.
fn places(diagnostics: &[Diagnostic]) -> Vec<Span> {
    let mut places: Vec<Span> =
        diagnostics.iter().filter_map(|one| one.labels.first()).map(|label| label.span).collect();
    places.sort();
    let mut apart: Vec<Span> = Vec::new();
    for place in places {
        match apart.last_mut() {
            Some(last) if place.start < last.end => *last = last.to(place),
            _ => apart.push(place),
        }
    }
    apart
}

/// An item that could not be read.
enum Broken {
    /// The scan has told of it, or it does not stand at the margin.
    Before,
    /// The grammar refused it.
    Refused(Box<Error<Rule>>),
    /// The tree could not be built.
    NotBuilt,
}

impl Broken {
    fn errors(self, view: &View<'_>) -> Vec<Diagnostic> {
        match self {
            Broken::Before => recover::errors(view, None),
            Broken::Refused(error) => recover::errors(view, Some(&error)),
            Broken::NotBuilt => vec![message::not_built(view)],
        }
    }
}

fn item(view: &View<'_>) -> Result<Item, Broken> {
    let bytes = view.chunk.bytes();
    let is_indented = view.chunk.lines.first().is_some_and(|line| line.indent > 0);
    if is_indented || view.is_wrong(&bytes) {
        return Err(Broken::Before);
    }
    let text = view.clean.get(bytes.clone()).unwrap_or("");
    let pairs = Grammar::parse(Rule::item_alone, text).map_err(|error| Broken::Refused(Box::new(error)))?;
    let nodes = pairs.flat_map(|alone| Node::new(alone, bytes.start).children());
    let built = nodes.filter(|node| node.rule() == Rule::item).find_map(|node| build::item(&node, view.chunk));
    built.ok_or(Broken::NotBuilt)
}
