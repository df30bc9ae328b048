//! Worked cases, and the ordinary vehicle that they start from.

use super::context::Context;
use super::limits::CASES;
use crate::diagnostic::Diagnostic;
use crate::model::{Fact, Facts, Snapshot, Value};
use crate::program::block::{Case, ConsequenceKind};
use crate::program::{Class, Under};
use crate::source::Span;
use crate::syntax::ast::{Assignment, AssignmentKind, File, Item, Kind, PropertyKind, Word};
use std::collections::BTreeMap;

pub(super) fn check(cx: &mut Context, file: &File) {
    let ordinary = ordinary(cx, file);
    let mut titles: BTreeMap<&str, Span> = BTreeMap::new();
    let mut count = 0_usize;
    for item in &file.items {
        let Kind::Case { title } = &item.kind else { continue };
        count = count.saturating_add(1);
        if let Some(before) = titles.insert(&title.node, title.span) {
            let message = format!("there are two cases \"{}\"", title.node);
            let diagnostic = Diagnostic::error("check/name-twice", title.span, message);
            cx.report(diagnostic.also(before, "the first one").help("give one of them another title"));
        }
        case(cx, item, title, &ordinary);
    }
    cx.at_most(Span::default(), count, CASES, "worked cases");
    cx.program.ordinary = ordinary.unwrap_or_default();
}

fn ordinary(cx: &mut Context, file: &File) -> Option<Snapshot> {
    let mut found: Option<(Span, Snapshot)> = None;
    for item in &file.items {
        let Kind::Ordinary(list) = &item.kind else { continue };
        cx.properties("`ordinary`", &item.properties, &[]);
        if let Some((before, _)) = &found {
            let diagnostic = Diagnostic::error("check/name-twice", item.span, "a file has one ordinary vehicle");
            let diagnostic = diagnostic.also(*before, "the first one").help("keep one of them");
            cx.report(diagnostic);
            continue;
        }
        let snapshot = cx.snapshot(list, None);
        can_exist(cx, &snapshot, item.span, EITHER);
        found = Some((item.span, snapshot));
    }
    found.map(|(_, snapshot)| snapshot)
}

/// What to do where a vehicle's own facts contradict each other.
const EITHER: &str = "set one of the two otherwise, or as `not known`";

fn can_exist(cx: &mut Context, snapshot: &Snapshot, span: Span, help: &str) {
    if let Err(contradiction) = Facts::of(snapshot) {
        let message = format!("no such vehicle can exist: {contradiction}");
        cx.error("check/cannot-exist", span, message, help);
    }
}

/// What to do where the facts of a case contradict each other: its own, or those that `otherwise ordinary` fills in.
fn instead(cx: &mut Context, list: &[Assignment]) -> &'static str {
    let is_own = |one: &&Assignment| one.kind != AssignmentKind::OtherwiseOrdinary;
    let own: Vec<Assignment> = list.iter().filter(is_own).cloned().collect();
    // What is wrong with them was reported when the case was read.
    let told = cx.diagnostics.len();
    let alone = cx.snapshot(&own, Some(&None));
    cx.diagnostics.truncate(told);
    match own.len() < list.len() && Facts::of(&alone).is_ok() {
        true => {
            "leave out `otherwise ordinary`: the ordinary vehicle has what this one cannot have; say what else it needs"
        }
        false => EITHER,
    }
}

fn case(cx: &mut Context, item: &Item, title: &Word, ordinary: &Option<Snapshot>) {
    let allowed = ["on", "known on", "take", "facts", "expect", "brings", "is due", "per"];
    let (common, properties) = cx.properties("a `case`", &item.properties, &[&allowed]);
    let mut case = Case {
        title: title.node.clone(),
        facts: Snapshot::default(),
        known_on: None,
        takes: Vec::new(),
        expected: Vec::new(),
        by: None,
        brings: Vec::new(),
        is_due: None,
        basis: common.basis,
        span: item.span,
    };
    let (mut date, mut facts, mut expected) = (None, None, false);
    for property in properties {
        match &property.kind {
            PropertyKind::On(word) => date = Some((cx.date(word), property.span)),
            PropertyKind::KnownOn(word) => case.known_on = cx.date(word),
            PropertyKind::Take { name, value } => case.takes.extend(take(cx, name, value)),
            PropertyKind::Facts(list) => {
                case.facts = cx.snapshot(list, Some(ordinary));
                let help = if Facts::of(&case.facts).is_err() { instead(cx, list) } else { EITHER };
                facts = Some((property.span, help));
            }
            PropertyKind::Expect { outcomes, by } => {
                expected = true;
                case.expected = cx.verdicts(outcomes, &[Class::NotSubject, Class::NoLaw]);
                case.by = by.as_ref().and_then(|word| cx.clause(word));
            }
            PropertyKind::Brings { no, kind } => {
                // The grammar lets no other word stand here.
                case.brings.extend(ConsequenceKind::named(&kind.node).map(|kind| (kind, !no)));
            }
            PropertyKind::IsDue { not } => case.is_due = Some(!not),
            _ => {}
        }
    }
    if let Some((Some(date), _)) = date {
        case.facts.set(Fact::TestDate, Value::Date(date));
    }
    let what = format!("case \"{}\"", title.node);
    if date.is_none() && case.facts.test_date().is_none() {
        let message = format!("{what} has no date");
        cx.error("check/case-incomplete", title.span, message, "add `on DATE`: the law of that day applies");
    }
    match facts {
        None => {
            let message = format!("{what} has no facts");
            cx.error("check/case-incomplete", title.span, message, "add `facts …; otherwise ordinary`");
        }
        Some((span, help)) => can_exist(cx, &case.facts, span, help),
    }
    if !expected {
        let message = format!("{what} expects nothing");
        cx.error("check/case-incomplete", title.span, message, "add `expect OUTCOME by CLAUSE`");
    }
    cx.program.cases.push(case);
}

fn take(cx: &mut Context, name: &Word, value: &Word) -> Option<Under> {
    if value.node == "none" && cx.names.questions.contains_key(&name.node) {
        return Some(Under { name: name.node.clone(), value: value.node.clone() });
    }
    cx.under(name, value)
}
