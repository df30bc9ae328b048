//! Remedies that a message's code alone tells: what to take out, what to add with its blanks, which of two words to choose.
//! A title, a place and what is written there; a law, a date or a reason is never filled in.

use super::document::Document;
use super::place::bytes;
use super::vocabulary::STATES;
use crate::diagnostic::Diagnostic;
use crate::source::Span;
use crate::syntax::ast::{Item, Kind, Property, PropertyKind};
use crate::syntax::words;

/// A remedy: its title, the place, what is written there.
pub(super) type Remedy = (String, Span, String);

/// What is offered for a message besides the change that it gives itself.
pub(super) fn of(doc: &Document, diagnostic: &Diagnostic) -> Vec<Remedy> {
    let Some(place) = diagnostic.labels.first().map(|label| label.span) else { return Vec::new() };
    let subject = diagnostic.subject.as_deref().unwrap_or("");
    let said = doc.slice(place).to_owned();
    let write = |text: String| (format!("Write `{text}`"), place, text);
    match diagnostic.code {
        "check/unused-code-group"
        | "check/unused-fact"
        | "check/unused-finding"
        | "check/unused-limit"
        | "check/unused-option"
        | "check/unused-period"
        | "check/unused-question"
        | "check/unused-source"
        | "check/unused-table"
        | "check/acknowledges-nothing"
        | "check/becomes-itself" => item_at(doc, place).map(|item| take_out(doc, item.span)).into_iter().collect(),
        // The date and the law of a thing are never taken out because they stand in the wrong place.
        "check/property-misplaced" => property_at(doc, place)
            .filter(|property| !is_law(&property.kind))
            .map(|property| take_out(doc, property.span))
            .into_iter()
            .collect(),
        "check/property-repeated" | "check/strikes-nothing" | "check/gives-way-to-itself" => {
            property_at(doc, place).map(|property| take_out(doc, property.span)).into_iter().collect()
        }
        "check/listed-twice" | "check/set-twice" => listed(doc, place).into_iter().collect(),
        "check/replaces-nothing" => {
            let item = item_at(doc, place).map(|item| bytes(item.span).0);
            let is_replaced = |start: &usize| doc.text.get(*start..).is_some_and(|text| text.starts_with("replaces "));
            let word = item.filter(is_replaced).map(|start| Span::new(start, start + "replaces ".len()));
            word.map(|span| ("Take out `replaces`".to_owned(), span, String::new())).into_iter().collect()
        }
        "check/uncited" => law(doc, place).into_iter().collect(),
        "check/topic-open" => {
            [("text silent on", "", "per , by absence"), ("no rule applied on", ", text not seen", "per ")]
                .map(|(word, why, per)| new_item(doc, &format!("{word} {subject}{why}"), &format!("\n  {per}")))
                .to_vec()
        }
        "check/bare-complete" => {
            ["supported and complete", "complete wherever supported"].map(|words| write(words.to_owned())).to_vec()
        }
        "check/letters-not-said" => {
            let plain = said.trim_end_matches(" digits only").trim_end_matches(" with letters");
            ["digits only", "with letters"].map(|words| write(format!("{plain} {words}"))).to_vec()
        }
        "check/codes-reversed" => turned(&said).map(write).into_iter().collect(),
        "check/bounds-reversed" => bounds(doc, place).into_iter().collect(),
        "check/seen-missing" => {
            let ways = words::SEEN.iter();
            let end = Span { start: place.end, end: place.end };
            ways.map(|way| (format!("Add `{way}`"), end, format!(", {way}"))).collect()
        }
        "check/case-incomplete" => case(doc, place, diagnostic).into_iter().collect(),
        "check/ordinary-missing" if diagnostic.help.as_deref() == Some("leave it out") => {
            listed(doc, place).into_iter().collect()
        }
        "check/ordinary-missing" => vec![new_item(doc, "ordinary sound car", "")],
        "check/no-areas" | "check/areas-not-declared" => vec![new_item(doc, "areas of \"\"", "\n  - \"\"\n  per ")],
        "check/taken-missing" => end_of_item(doc, place, "Add `left open`, with the reason", "\n  left open \"\""),
        "check/chosen-missing" => end_of_item(doc, place, "Add `chosen`", "\n  chosen "),
        "check/clause-without-line" => end_of_item(doc, place, "Add a line", "\n  fail where "),
        // A name that a fact has, or the state of a monitor, is no finding that was left out.
        "check/unknown-finding" if diagnostic.fix.is_some() || is_taken(diagnostic) => Vec::new(),
        "check/unknown-finding" => vec![new_item(doc, &format!("finding {said}"), " where ")],
        "check/unknown-table" => vec![new_item(doc, &format!("table {said}"), "\n  - ")],
        "check/unknown-code-group" => vec![new_item(doc, &format!("code group {said}:"), " ")],
        "check/unknown-period" => vec![new_item(doc, &format!("period {said}"), " from ")],
        "check/unknown-change" => vec![new_item(doc, &format!("change {said} adopted, not in this file"), " \"\"")],
        "check/unknown-limit" => {
            // A test without a name is of the limit without one.
            let name = if said.contains(' ') { "" } else { said.as_str() };
            vec![new_item(doc, format!("limit {name}").trim_end(), "\n  - every vehicle: at most  incomplete")]
        }
        "check/unknown-fact" if !said.contains(' ') => vec![new_item(doc, &format!("fact {said}:"), " ")],
        "check/class-missing" => {
            let end = Span { start: place.end, end: place.end };
            words::CLASSES.iter().map(|class| (format!("Add `({class})`"), end, format!(" ({class})"))).collect()
        }
        "check/language" => vec![write("2".to_owned())],
        "check/needs-language-2" => language(doc).into_iter().collect(),
        "check/outcome-not-mapped" => {
            let theirs = diagnostic.message.split('`').nth(1).unwrap_or("");
            end_of_item(doc, place, "Say what it is here", &format!("\n  their {theirs} is our "))
        }
        "check/nothing-listed" => end_of_item(doc, place, "Add a bullet", "\n  - "),
        "check/too-few-readings" => end_of_item(doc, place, "Add a reading", "\n  - reading "),
        "syntax/state" => states(doc, place),
        "syntax/character" => vec![("Take out the character".to_owned(), place, String::new())],
        "syntax/missing-colon" => {
            let before = doc.text.get(..bytes(place).0).unwrap_or("").trim_end().len();
            vec![("Add `:`".to_owned(), Span::new(before, before), ":".to_owned())]
        }
        "syntax/margin" => {
            vec![("Indent the line".to_owned(), Span { start: place.start, end: place.start }, "  ".to_owned())]
        }
        "syntax/unclosed-text" => {
            let start = bytes(place).0;
            let line = doc.text.get(start..).and_then(|rest| rest.lines().next()).unwrap_or("").trim_end().len();
            vec![("Close the text".to_owned(), Span::new(start + line, start + line), "\"".to_owned())]
        }
        "syntax/quotes" => {
            let start = doc.text.get(..bytes(place).0).map_or(0, |before| before.rfind('\n').map_or(0, |at| at + 1));
            let line = doc.text.get(start..).and_then(|rest| rest.lines().next()).unwrap_or("");
            let straight = line.replace(['“', '”', '„', '«', '»'], "\"");
            vec![("Write straight quotes".to_owned(), Span::new(start, start + line.len()), straight)]
        }
        "check/part-missing" => part(doc, place, diagnostic).into_iter().collect(),
        _ => Vec::new(),
    }
}

fn item_at(doc: &Document, place: Span) -> Option<&Item> {
    let items = doc.entry.as_ref()?.file.items.iter();
    items
        .filter(|item| item.span.start <= place.start && place.start < item.span.end)
        .max_by_key(|item| item.span.start)
}

/// Whether a property says when something is law, or what it rests on.
fn is_law(kind: &PropertyKind) -> bool {
    matches!(
        kind,
        PropertyKind::From(_)
            | PropertyKind::Through(_)
            | PropertyKind::InPeriod(_)
            | PropertyKind::Published(_)
            | PropertyKind::Per(_)
    )
}

/// Whether the name of a test is that of a fact, or of the state of a monitor.
fn is_taken(diagnostic: &Diagnostic) -> bool {
    ["is a fact", "is a state"].iter().any(|what| diagnostic.message.contains(what))
}

/// The states that a monitor can be in, in place of what was written, all of it: `not complete`, `ready`.
fn states(doc: &Document, place: Span) -> Vec<Remedy> {
    let (start, end) = bytes(place);
    let rest = doc.text.get(end..).and_then(|rest| rest.lines().next()).unwrap_or("");
    let next = rest.trim_start().split(|mark: char| !mark.is_alphanumeric()).next().unwrap_or("");
    let is_negated = doc.slice(place) == "not" && !next.is_empty();
    let all: &[&str] = match (is_negated, next) {
        (true, "complete" | "ready") => &["incomplete"],
        (true, "incomplete") => &["supported and complete", "complete wherever supported"],
        (true, "supported") => &["unsupported"],
        (true, "unsupported") => &["supported"],
        _ => &STATES,
    };
    let behind = rest.len() - rest.trim_start().len() + next.len();
    let span = Span::new(start, if is_negated { end + behind } else { end });
    all.iter().map(|state| (format!("Write `{state}`"), span, (*state).to_owned())).collect()
}

/// The innermost property that holds a place.
fn property_at(doc: &Document, place: Span) -> Option<&Property> {
    let mut open: Vec<&Property> = item_at(doc, place)?.properties.iter().collect();
    let mut found: Option<&Property> = None;
    while let Some(property) = open.pop() {
        if property.span.start <= place.start && place.start < property.span.end {
            found = Some(property);
        }
        if let PropertyKind::Bullet(bullet) = &property.kind {
            open.extend(&bullet.properties);
        }
    }
    found
}

/// Takes a thing out, with its lines where nothing else stands on them.
fn take_out(doc: &Document, span: Span) -> Remedy {
    let (start, _) = bytes(span);
    let end = start + doc.slice(span).trim_end().len();
    let end = end.min(doc.text.len()).max(start);
    let shown = doc.slice(span).lines().next().unwrap_or("").trim_end().to_owned();
    let line = doc.text.get(..start).map_or(0, |before| before.rfind('\n').map_or(0, |at| at + 1));
    let rest = doc.text.get(end..).unwrap_or("");
    let alone = doc.text.get(line..start).is_some_and(|before| before.trim().is_empty());
    let (start, end) = match (alone, rest.find('\n')) {
        (true, Some(at)) if rest.get(..at).is_some_and(|rest| rest.trim().is_empty()) => (line, end + at + 1),
        _ => (start, end),
    };
    let lines = doc.slice(Span::new(start, end)).trim_end().lines().filter(|line| !line.trim().is_empty()).count();
    let all = if lines > 1 { format!(", all of its {lines} lines") } else { String::new() };
    (format!("Take out `{shown}`{all}"), Span::new(start, end), String::new())
}

/// Takes one thing out of a list, with the mark between it and its neighbour.
fn listed(doc: &Document, place: Span) -> Option<Remedy> {
    let (start, end) = bytes(place);
    let (before, after) = (doc.text.get(..start)?, doc.text.get(end..)?);
    let mut span = (start, end);
    let mut text = String::new();
    let marks = [',', ';'];
    if let Some(rest) = after.strip_prefix(marks) {
        span.1 += 1 + rest.len() - rest.trim_start().len();
    } else if before.trim_end().ends_with(marks) {
        span.0 = before.trim_end().len() - 1;
    } else {
        let list = before.strip_suffix(" or ")?;
        span.0 = list.len();
        // Of more than two, the one before becomes the last.
        if let Some(comma) = list.rfind(", ").filter(|comma| list.rfind(" is ").is_none_or(|is| is < *comma)) {
            text = format!(" or {}", list.get(comma + 2..)?);
            span.0 = comma;
        }
    }
    Some((format!("Take out `{}`", doc.slice(place)), Span::new(span.0, span.1), text))
}

/// The two numbers of a range in the other order, where the second is marked.
fn bounds(doc: &Document, place: Span) -> Option<Remedy> {
    let is_number = |text: &str| !text.is_empty() && text.chars().all(|mark| mark.is_ascii_digit());
    let (start, _) = bytes(place);
    let last = doc.slice(place).split(' ').next().filter(|last| is_number(last))?;
    let before = doc.text.get(..start)?.strip_suffix(" through ")?;
    let first = before.rsplit(' ').next().filter(|first| is_number(first))?;
    let text = format!("{last} through {first}");
    Some((format!("Write `{text}`"), Span::new(before.len() - first.len(), start + last.len()), text))
}

/// The law that a thing rests on, left blank, behind what the place marks.
fn law(doc: &Document, place: Span) -> Option<Remedy> {
    let (start, _) = bytes(place);
    let end = start + doc.slice(place).trim_end().len();
    let line = doc.text.get(..start)?.rfind('\n').map_or(0, |at| at + 1);
    let indent = doc.text.get(line..start)?.chars().take_while(|mark| *mark == ' ').count();
    let is_bullet = doc.text.get(line..start)?.contains('-') || doc.slice(place).starts_with('-');
    // A line of a clause that is no bullet stands beside its properties.
    let indent = if indent > 0 && !is_bullet { indent } else { indent + 2 };
    Some((
        "Add `per`, with the law it rests on".to_owned(),
        Span::new(end, end),
        format!("\n{}per ", " ".repeat(indent)),
    ))
}

/// A new item before the worked cases' end: behind everything.
fn new_item(doc: &Document, head: &str, rest: &str) -> Remedy {
    let (at, before) = super::fix::end(doc);
    (format!("Add `{head}`"), at, format!("{before}{head}{rest}\n"))
}

fn end_of_item(doc: &Document, place: Span, title: &str, text: &str) -> Vec<Remedy> {
    let end = |item: &Item| bytes(item.span).0 + doc.slice(item.span).trim_end().len();
    let at = item_at(doc, place).map(end);
    at.map(|at| (title.to_owned(), Span::new(at, at), text.to_owned())).into_iter().collect()
}

/// The ends of a range in the other order.
fn turned(said: &str) -> Option<String> {
    let (first, last) = said.split_once(" through ")?;
    let (before, first) = first.rsplit_once(' ').map_or(("", first), |(before, first)| (before, first));
    let (last, after) = last.split_once(' ').map_or((last, ""), |(last, after)| (last, after));
    Some(format!("{before} {last} through {first} {after}").trim().to_owned())
}

/// `language 2` in the place of what the file says.
fn language(doc: &Document) -> Option<Remedy> {
    let items = doc.entry.as_ref()?.file.items.iter();
    let program = items.filter(|item| matches!(item.kind, Kind::Program { .. })).min_by_key(|item| item.span.start)?;
    let said = program.properties.iter().find(|property| matches!(property.kind, PropertyKind::Language(_)));
    let title = "Write `language 2`".to_owned();
    if let Some(said) = said {
        return Some((title, said.span, "language 2".to_owned()));
    }
    let start = bytes(program.span).0;
    let end = start + doc.slice(program.span).lines().next().unwrap_or("").trim_end().len();
    Some((title, Span::new(end, end), "\n  language 2".to_owned()))
}

/// The line that a case lacks.
fn case(doc: &Document, place: Span, diagnostic: &Diagnostic) -> Option<Remedy> {
    let help = diagnostic.help.as_deref()?;
    let (word, text) = [("`on ", " on "), ("`facts ", "\n  facts ; otherwise ordinary"), ("`expect ", "\n  expect ")]
        .into_iter()
        .find(|(word, _)| help.contains(word))?;
    let title = format!("Add {}`", word.trim_end());
    if word == "`on " {
        let (_, end) = bytes(place);
        return Some((title, Span::new(end, end), text.to_owned()));
    }
    let (_, at, text) = end_of_item(doc, place, "", text).pop()?;
    Some((title, at, text))
}

/// A part that the file lacks, where the message names the line that it wants.
fn part(doc: &Document, place: Span, diagnostic: &Diagnostic) -> Option<Remedy> {
    let help = diagnostic.help.as_deref()?;
    let wanted = help.split('`').nth(1)?;
    if wanted.starts_with("authority") {
        return end_of_item(doc, place, "Add `authority`", "\n  authority \"\"").pop();
    }
    let first = words::ITEMS.iter().filter(|keyword| super::complete::begins(wanted, keyword.word));
    let keyword = first.max_by_key(|keyword| keyword.word.len())?;
    Some(new_item(doc, keyword.word, " "))
}
