//! Announced changes, times between tests, and periods.

use super::context::Context;
use super::limits::TURNS;
use super::properties::{Common, DECIDING};
use crate::diagnostic::Diagnostic;
use crate::program::block::{ChangeKind, Interval, Turn};
use crate::program::{Class, Item};
use crate::source::Span;
use crate::syntax::ast::{self, File, Kind, PropertyKind, Word};
use std::collections::BTreeMap;

/// The longest time between tests, in months.
const LONGEST: i64 = 120;

/// Periods of the file with their dates, and the names of its announced changes.
pub(super) fn declare(cx: &mut Context, file: &File) {
    let mut places: BTreeMap<(&str, &str), Span> = BTreeMap::new();
    for item in &file.items {
        let (kind, id) = match &item.kind {
            Kind::Period { id } => ("period", id),
            Kind::Change { id, .. } => ("announced change", id),
            _ => continue,
        };
        if let Some(before) = places.insert((kind, id.node.as_str()), id.span) {
            let diagnostic =
                Diagnostic::error("check/name-twice", id.span, format!("there are two {kind}s `{}`", id.node));
            cx.report(diagnostic.also(before, "the first one").help("give one of them another name"));
            continue;
        }
        if kind == "period" {
            period(cx, item, id);
        } else {
            cx.names.changes.insert(id.node.clone());
        }
    }
}

fn period(cx: &mut Context, item: &ast::Item, id: &Word) {
    let (Common { window, .. }, _) = cx.properties("a `period`", &item.properties, &[&["from", "through"]]);
    if item.properties.is_empty() {
        let message = format!("period `{}` has no dates", id.node);
        cx.error("check/part-missing", id.span, message, "add `from DATE`, `through DATE`, or both");
    }
    cx.names.periods.insert(id.node.clone(), window);
}

impl Context {
    /// A time between tests.
    pub(super) fn interval(&mut self, every: &ast::Interval) -> Option<Interval> {
        let months =
            if every.unit.node.starts_with("year") { every.count.node.checked_mul(12)? } else { every.count.node };
        let whole = (1..=LONGEST).contains(&months).then_some(months).and_then(|months| u16::try_from(months).ok());
        if whole.is_none() {
            let help = "a time between tests is 1 month through 10 years";
            self.error("check/out-of-range", every.count.span, "no program has such a time between tests", help);
        }
        whole.map(|months| Interval { months })
    }

    /// An announced change.
    pub(super) fn change_item(&mut self, item: &ast::Item, id: &Word, kind: &Word, text: &Word) {
        let (common, properties) = self.properties("a `change`", &item.properties, &[DECIDING, &["could turn"]]);
        if common.draft {
            let help = "leave `draft` out here, and write `draft of` it on the items that are part of the change";
            self.error("check/property-misplaced", id.span, "an announced change is no draft itself", help);
        }
        let turns: Vec<Turn<String>> = properties
            .iter()
            .filter_map(|property| match &property.kind {
                PropertyKind::CouldTurn { could_turn, into, condition } => Some(Turn {
                    could_turn: self.verdicts(could_turn, &[Class::NotSubject]),
                    into: self.verdicts(into, &[Class::NotSubject]),
                    concerns: self.condition_or_always(condition.as_ref()),
                }),
                _ => None,
            })
            .collect();
        if turns.is_empty() {
            let message = format!("change `{}` does not say what it could turn", id.node);
            let help = "add `could turn OUTCOME into OUTCOME`, with `where …` if not every vehicle is concerned";
            self.error("check/part-missing", id.span, message, help);
        }
        self.at_most(item.span, turns.len(), TURNS, "turns of one change");
        let known = ChangeKind::ALL.iter().find(|(_, word)| *word == kind.node).map(|(kind, _)| *kind);
        let Some(kind) = known else {
            let words = ChangeKind::ALL.iter().map(|(_, word)| *word);
            return self.unknown("check/unknown-word", "kind of announced change", kind, words);
        };
        let (id, text) = (id.node.clone(), text.node.clone());
        self.push(Item::Change { id, kind, text, turns }, common, item.span);
    }
}
