//! Older files in the words of today.
//!
//! A file of version 1 of the language as one of version 2, as far as that is mechanical: the number, and the comment at
//! the head that says when every line was held against what, which version 2 has a property for. In a file of either
//! version what has a shorter form gets it: all the declared areas in one test, and the facts of a sound car.

use super::ast::{Assignment, BulletKind, Condition, File, Item, Kind, Property, PropertyKind, Test, Word};
use super::format::told;
use super::parse::Parsed;
use crate::model::{Fact, FactType, Monitor, ordinary, spec};
use crate::source::{Source, Span};

/// What begins the head comment that becomes `reviewed`: a day stands before it.
const HELD: &str = ": every line held against ";
/// How such a comment ends where it was a digest that the lines were held against.
const NOT_THE_TEXTS: &str = ", not against the texts themselves";

/// The text in version 2, not laid out anew; `None` where the file has errors. A file without a `program` comes back as
/// it is, and so does one of version 2 that has nothing to shorten.
#[must_use]
pub fn upgrade(parsed: &Parsed, source: &Source) -> Option<String> {
    if !parsed.diagnostics.is_empty() {
        return None;
    }
    edited(source.text(), &edits(&parsed.file, source.text()))
}

/// A text with edits made, in the order of their places; `None` where they overlap.
#[must_use]
pub fn edited(text: &str, edits: &[(Span, String)]) -> Option<String> {
    let mut edits: Vec<&(Span, String)> = edits.iter().collect();
    edits.sort();
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    for (span, new) in edits {
        out.push_str(text.get(at..byte(span.start))?);
        out.push_str(new);
        at = byte(span.end);
    }
    out.push_str(text.get(at..)?);
    Some(out)
}

/// What may be said in other words where that changes no verdict.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Otherwise {
    /// Its place.
    pub span: Span,
    /// How it is said, for a message.
    pub said: &'static str,
    /// Ways to say it, each as edits of the text.
    pub ways: Vec<Vec<(Span, String)>>,
}

/// Rows that leave out as not subject, which `exempts` says where no row sends anybody elsewhere whom they leave out; and
/// `strikes leaves out`, which strikes what may be said by `exempts` or `sends to` today.
#[must_use]
pub fn otherwise(file: &File, text: &str) -> Vec<Otherwise> {
    let mut found = Vec::new();
    for item in &file.items {
        if let Kind::LeavesOut { condition, outcome, .. } = &item.kind
            && outcome.node == "not-subject"
        {
            let ways = left_out(file, item.span, condition, outcome, "exempts", text).into_iter().collect();
            found.push(Otherwise { span: item.span, said: "`leaves out … : not-subject`", ways });
        }
        for property in &item.properties {
            if let PropertyKind::Strikes { what, .. } = &property.kind
                && what.node == "leaves out"
            {
                let ways = ["exempts", "sends", "exempts\n  strikes sends"];
                let ways = ways.map(|word| vec![(what.span, word.to_owned())]).to_vec();
                found.push(Otherwise { span: property.span, said: "`strikes leaves out`", ways });
            }
        }
    }
    found
}

/// A row that leaves out, with other words before its condition and no outcome behind it; none where a comment stands there.
fn left_out(
    file: &File,
    item: Span,
    condition: &Condition,
    outcome: &Word,
    words: &str,
    text: &str,
) -> Option<Vec<(Span, String)>> {
    let (head, tail) = (
        Span { start: item.start, end: condition.span.start },
        Span { start: condition.span.end, end: outcome.span.end },
    );
    let is_plain = text.get(byte(head.start)..byte(head.end))?.starts_with("leaves");
    let edits = vec![(head, format!("{words} where ")), (tail, String::new())];
    (is_plain && is_free(file, head) && is_free(file, tail)).then_some(edits)
}

fn edits(file: &File, text: &str) -> Vec<(Span, String)> {
    let program = file.items.iter().find(|item| matches!(item.kind, Kind::Program { .. }));
    let Some(program) = program else { return Vec::new() };
    let language = program.properties.iter().find_map(|property| match &property.kind {
        PropertyKind::Language(version) => Some(version),
        _ => None,
    });
    let mut edits = shorter(file, text);
    match language {
        Some(version) if version.node == 1 => edits.push((version.span, "2".to_owned())),
        Some(_) => return edits,
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

/// What has a shorter form in version 2.
fn shorter(file: &File, text: &str) -> Vec<(Span, String)> {
    let mut edits = Vec::new();
    let areas = areas(file);
    let mut conditions: Vec<&Condition> = Vec::new();
    for item in &file.items {
        match &item.kind {
            Kind::Ordinary(list) => edits.extend(car(file, text, list)),
            // The same word by word.
            Kind::LeavesOut { condition, outcome, .. } if outcome.node != "not-subject" => {
                let words = format!("sends to {}", outcome.node);
                edits.extend(left_out(file, item.span, condition, outcome, &words, text).into_iter().flatten());
            }
            _ => {}
        }
        conditions.extend(of_item(&item.kind));
        let mut properties: Vec<&Property> = item.properties.iter().collect();
        while let Some(property) = properties.pop() {
            conditions.extend(of_property(&property.kind));
            if let PropertyKind::Bullet(bullet) = &property.kind {
                properties.extend(&bullet.properties);
            }
        }
    }
    let grouped =
        |condition: &Condition| condition.group.iter().flat_map(|group| group.bullets.concat()).collect::<Vec<_>>();
    for test in conditions.into_iter().flat_map(|one| one.tests.iter().cloned().chain(grouped(one))) {
        let Test::IsText { subject, not, values } = &test.node else { continue };
        let mut names: Vec<String> = values.iter().map(|value| value.node.to_lowercase()).collect();
        names.sort();
        names.dedup();
        if subject.node == "area" && names.len() > 1 && names == areas && is_free(file, test.span) {
            let is = if *not { "is not" } else { "is" };
            edits.push((test.span, format!("area {is} one of the areas")));
        }
    }
    edits
}

fn of_item(kind: &Kind) -> Option<&Condition> {
    match kind {
        Kind::Covers(condition)
        | Kind::LeavesOut { condition, .. }
        | Kind::Exempts { condition, .. }
        | Kind::Sends { condition, .. }
        | Kind::Finding { condition, .. } => Some(condition),
        Kind::Due { condition, .. }
        | Kind::Excuses { condition, .. }
        | Kind::Presumes { condition, .. }
        | Kind::Becomes { condition, .. }
        | Kind::Consequence { condition, .. }
        | Kind::NotExpressible { condition, .. } => condition.as_ref(),
        _ => None,
    }
}

fn of_property(kind: &PropertyKind) -> Option<&Condition> {
    match kind {
        PropertyKind::Concerns(condition) | PropertyKind::Where(condition) => Some(condition),
        PropertyKind::CouldTurn { condition, .. } => condition.as_ref(),
        PropertyKind::Line(line) => Some(&line.condition),
        PropertyKind::Bullet(bullet) => match &bullet.kind {
            BulletKind::Line(line) => Some(&line.condition),
            BulletKind::LimitRow { condition, .. } | BulletKind::TableRow { condition, .. } => Some(condition),
            BulletKind::Areas { .. } | BulletKind::Reading { .. } => None,
        },
        _ => None,
    }
}

/// Whether no comment stands within a place.
fn is_free(file: &File, span: Span) -> bool {
    !file.comments.iter().any(|comment| span.start <= comment.span.start && comment.span.end <= span.end)
}

/// The names of the areas that the file declares, as tests compare them.
fn areas(file: &File) -> Vec<String> {
    let of_areas = file.items.iter().filter(|item| matches!(item.kind, Kind::Areas { .. }));
    let names = of_areas.flat_map(|item| &item.properties).flat_map(|property| match &property.kind {
        PropertyKind::Bullet(bullet) => match &bullet.kind {
            BulletKind::Areas { names, .. } => names.as_slice(),
            _ => &[],
        },
        _ => &[],
    });
    let mut names: Vec<String> = names.map(|name| name.node.to_lowercase()).collect();
    names.sort();
    names.dedup();
    names
}

/// `sound car` for the facts that it stands for, where all of them are said.
fn car(file: &File, text: &str, list: &[Assignment]) -> Option<(Span, String)> {
    let facts = sound_car();
    let is_fact = |one: &Assignment| facts.contains(&told(one));
    let span = list.first()?.span.to(list.last()?.span);
    let said = list.iter().map(told).collect::<Vec<_>>();
    if !facts.iter().all(|fact| said.contains(fact)) || !is_free(file, span) {
        return None;
    }
    let others = list.iter().filter(|one| !is_fact(one));
    let others = others.filter_map(|one| text.get(byte(one.span.start)..byte(one.span.end)));
    Some((span, std::iter::once("sound car").chain(others).collect::<Vec<_>>().join("; ")))
}

/// The facts of a sound car as the formatter writes them.
fn sound_car() -> Vec<String> {
    let word = |(fact, word): &(Fact, &str)| match spec(*fact).kind {
        FactType::YesNo { no, .. } => no.to_owned(),
        _ => format!("{} is {word}", spec(*fact).name),
    };
    let visits = format!("{} 0", spec(Fact::EarlierIncompleteVisits).name);
    let monitors = |state: &str, all: &[Monitor]| {
        let names: Vec<&str> = all.iter().map(|monitor| monitor.name()).collect();
        format!("{state}: {}", names.join(", "))
    };
    ["sound".to_owned(), visits]
        .into_iter()
        .chain(ordinary::WORDS.iter().map(word))
        .chain([monitors("complete", &ordinary::COMPLETE), monitors("unsupported", &ordinary::UNSUPPORTED)])
        .chain(ordinary::WITHOUT.map(|fact| format!("no {}", spec(fact).name)))
        .collect()
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
