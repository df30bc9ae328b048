//! A file of an older version, or in older words, as one of today. What is mechanical is done by itself; who is taken out of
//! a program is said by what becomes of them (`exempts`, `sends to`) where that is proven to change no verdict.

use crate::analysis::compare;
use crate::catalog::{BuiltIn, Catalog, Files, Over};
use crate::diagnostic::Diagnostic;
use crate::model::Date;
use crate::program::{Flat, Item, Program, Selection, Under, dump, epochs, select};
use crate::source::{Source, Span};
use crate::syntax::{self, Otherwise};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Most ways to choose the options of a program that are tried; beyond them a row stays as it is.
const MOST_CHOICES: usize = 64;

/// A file rewritten.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Upgraded {
    /// Its text, not laid out anew.
    pub text: String,
    /// What was left as it is, with the reason; places are those of the text.
    pub left: Vec<Diagnostic>,
}

/// Rewrites the file of a name; `files` are those among which it finds what it adopts. `None` where it cannot be read.
#[must_use]
pub fn upgraded(name: &str, text: &str, files: &dyn Files) -> Option<Upgraded> {
    let source = Source::new(name, text);
    let text = syntax::upgrade(&syntax::parse(&source), &source)?;
    let source = Source::new(name, &text);
    let rows = syntax::otherwise(&syntax::parse(&source).file, &text);
    let Some(first) = rows.first() else { return Some(Upgraded { text, left: Vec::new() }) };
    let Some(before) = program(name, &text, files) else {
        let message = format!("{} is left as it is: the file has errors", first.said);
        return Some(Upgraded { left: vec![told(first, message)], text });
    };
    let is_alike = |edits: &[Edit]| {
        let after = syntax::edited(&text, edits).and_then(|text| program(name, &text, files));
        after.is_some_and(|after| alike(&before, &after))
    };
    // All at once, by the first way of each; else one by one, so that those stay which cannot be.
    let mut kept: Vec<Edit> = rows.iter().filter_map(|row| row.ways.first()).flatten().cloned().collect();
    let mut left = Vec::new();
    if !is_alike(&kept) {
        kept.clear();
        for row in &rows {
            let with = |way: &Vec<Edit>| kept.iter().chain(way).cloned().collect::<Vec<_>>();
            match row.ways.iter().map(with).find(|edits| is_alike(edits)) {
                Some(edits) => kept = edits,
                None => left.push(row),
            }
        }
    }
    let left = left.into_iter().map(|row| moved(told(row, reason(row)), &kept)).collect();
    Some(Upgraded { text: syntax::edited(&text, &kept)?, left })
}

type Edit = (Span, String);

fn reason(row: &Otherwise) -> String {
    format!("{} is left as it is: in other words it is not proven to rule alike", row.said)
}

fn told(row: &Otherwise, message: String) -> Diagnostic {
    Diagnostic::warning("syntax/older-words", row.span, message)
        .help("`exempts` comes before every other test, so that it takes out vehicles that are sent to one here")
}

/// A message at its place in the text once edits are made.
fn moved(mut message: Diagnostic, edits: &[Edit]) -> Diagnostic {
    for label in &mut message.labels {
        let before = edits.iter().filter(|(span, _)| span.end <= label.span.start);
        let longer =
            before.map(|(span, new)| i64::try_from(new.len()).unwrap_or(0) - i64::from(span.end.abs_diff(span.start)));
        let shift: i64 = longer.sum();
        let at = |place: u32| u32::try_from(i64::from(place) + shift).unwrap_or(place);
        label.span = Span { start: at(label.span.start), end: at(label.span.end) };
    }
    message
}

fn program(name: &str, text: &str, files: &dyn Files) -> Option<Arc<Program>> {
    let over = Over { under: files, texts: BTreeMap::from([(name, text)]) };
    Catalog::new(vec![&over, &BuiltIn]).file(name)?.program.clone()
}

/// Whether two programs rule alike on every day, whatever readings and options are taken, drafts are made and was published.
fn alike(one: &Program, other: &Program) -> bool {
    let days: BTreeSet<Date> = epochs(one).into_iter().chain(epochs(other)).map(|epoch| epoch.from).collect();
    let Some(choices) = choices(one) else { return false };
    if days.is_empty() {
        // A part has no days of its own: alike it is where nobody is sent anywhere, so that no row comes before another.
        return !sends(one) && !sends(other) && one.blocks.len() == other.blocks.len();
    }
    let published = one.blocks.iter().filter_map(|block| block.published);
    let known: BTreeSet<Option<Date>> = published.map(|date| date.yesterday().ok()).chain([None]).collect();
    let drafts: &[bool] = if one.blocks.iter().any(|block| block.draft) { &[false, true] } else { &[false] };
    let mut selections = Vec::new();
    for (day, known_on) in days.iter().flat_map(|day| known.iter().map(move |known_on| (*day, *known_on))) {
        for (takes, drafts) in choices.iter().flat_map(|takes| drafts.iter().map(move |drafts| (takes, *drafts))) {
            selections.push(Selection { known_on, takes: takes.clone(), drafts, ..Selection::on(day) });
        }
    }
    // What is the same law twice is proven once.
    let mut proven = BTreeSet::new();
    selections.iter().all(|selection| match (select(one, selection), select(other, selection)) {
        (Ok(one), Ok(other)) => rules_alike(&one, &other, &mut proven),
        (one, other) => one.is_err() && other.is_err(),
    })
}

fn rules_alike(one: &Flat, other: &Flat, proven: &mut BTreeSet<[String; 2]>) -> bool {
    let laws = [dump(one), dump(other)];
    let is_same = laws.first() == laws.last() || proven.contains(&laws);
    is_same || compare(one, other).is_ok_and(|compared| compared.is_equal()) && proven.insert(laws)
}

fn sends(program: &Program) -> bool {
    program.blocks.iter().any(|block| matches!(block.item, Item::LeavesOut { outcome: Some(_), .. }))
}

/// Every way to choose the options, all questions open; `None` where there are too many.
fn choices(program: &Program) -> Option<Vec<Vec<Under>>> {
    let open = |name: &String| Under { name: name.clone(), value: "none".to_owned() };
    let mut all = vec![program.questions.iter().map(|question| open(&question.id)).collect::<Vec<_>>()];
    for option in &program.options {
        let value = |value: &String| Under { name: option.id.clone(), value: value.clone() };
        let with = |so_far: &Vec<Under>| {
            let each = option.values.iter().map(|one| so_far.iter().cloned().chain([value(one)]).collect());
            each.collect::<Vec<Vec<Under>>>()
        };
        all = all.iter().flat_map(with).collect();
        if all.len() > MOST_CHOICES {
            return None;
        }
    }
    Some(all)
}
