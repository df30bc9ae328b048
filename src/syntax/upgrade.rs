//! A file of version 1 of the language as one of version 2, as far as that is mechanical: the number, and the comment at
//! the head that says when every line was held against what, which version 2 has a property for.

use super::ast::{File, Item, Kind, PropertyKind, Word};
use super::parse::Parsed;
use crate::source::{Source, Span};

/// What begins the head comment that becomes `reviewed`: a day stands before it.
const HELD: &str = ": every line held against ";
/// How such a comment ends where it was a digest that the lines were held against.
const NOT_THE_TEXTS: &str = ", not against the texts themselves";

/// The text in version 2, not laid out anew; `None` where the file has errors. A file that is in version 2 already, or
/// has no `program`, comes back as it is.
#[must_use]
pub fn upgrade(parsed: &Parsed, source: &Source) -> Option<String> {
    if !parsed.diagnostics.is_empty() {
        return None;
    }
    let mut edits = edits(&parsed.file, source.text());
    edits.sort();
    let text = source.text();
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    for (span, new) in edits {
        out.push_str(text.get(at..byte(span.start))?);
        out.push_str(&new);
        at = byte(span.end);
    }
    out.push_str(text.get(at..)?);
    Some(out)
}

fn edits(file: &File, text: &str) -> Vec<(Span, String)> {
    let program = file.items.iter().find(|item| matches!(item.kind, Kind::Program { .. }));
    let Some(program) = program else { return Vec::new() };
    let language = program.properties.iter().find_map(|property| match &property.kind {
        PropertyKind::Language(version) => Some(version),
        _ => None,
    });
    let mut edits = Vec::new();
    match language {
        Some(version) if version.node == 1 => edits.push((version.span, "2".to_owned())),
        Some(_) => return Vec::new(),
        None => edits.push((end_of_line(text, program.span), "\n  language 2".to_owned())),
    }
    let has_reviewed = program.properties.iter().any(|it| matches!(it.kind, PropertyKind::Reviewed { .. }));
    let held = file.comments.iter().filter(|comment| comment.span.start < program.span.start).find_map(held);
    if let Some((comment, day, against)) = held.filter(|_| !has_reviewed) {
        edits.push((comment, String::new()));
        edits.push((end_of_line(text, program.span), format!("\n  reviewed {day} against \"{against}\"")));
        edits.extend(
            standing(program)
                .into_iter()
                .filter(|_| against_a_digest(file, comment))
                .map(|span| (span, "digest-checked".to_owned())),
        );
    }
    edits
}

fn byte(place: u32) -> usize {
    usize::try_from(place).unwrap_or(usize::MAX)
}

/// The end of the line on which something ends, after a comment on it.
fn end_of_line(text: &str, span: Span) -> Span {
    let end = byte(span.end);
    let rest = text.get(end..).unwrap_or("");
    let end = end + rest.find(['\r', '\n']).unwrap_or(rest.len());
    Span::new(end, end)
}

/// The place of the comment, the day, and what every line was held against.
fn held(comment: &Word) -> Option<(Span, String, String)> {
    let (before, after) = comment.node.split_once(HELD)?;
    let day = before.rsplit(' ').next()?;
    let is_day = day.len() == 10
        && day.bytes().enumerate().all(|(at, byte)| match at {
            4 | 7 => byte == b'-',
            _ => byte.is_ascii_digit(),
        });
    let against = after.split(NOT_THE_TEXTS).next()?.trim().trim_end_matches('.');
    let plain = !against.is_empty() && !against.contains(['"', '\\']);
    (is_day && plain).then(|| (comment.span, day.to_owned(), against.to_owned()))
}

fn against_a_digest(file: &File, comment: Span) -> bool {
    file.comments.iter().any(|one| one.span == comment && one.node.contains(NOT_THE_TEXTS))
}

/// The place of the word of `standing checked`.
fn standing(program: &Item) -> Option<Span> {
    program.properties.iter().find_map(|property| match &property.kind {
        PropertyKind::Standing(word) if word.node == "checked" => Some(word.span),
        _ => None,
    })
}
