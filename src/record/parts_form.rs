//! Parts of a ruling's JSON that tell more than the verdict: readiness in a line, the lamp, monitors left out of the count,
//! presumptions, what a station recorded.

use super::form::{LawForm, laws};
use crate::document::Node;
use crate::ruling::{ExcusedShown, FactShown, LampShown, PresumptionShown, ReadinessShown};
use crate::wording::recorded::Recorded;
use serde::Serialize;
use std::collections::BTreeMap;

#[derive(Serialize)]
pub(super) struct ReadinessForm<'a> {
    incomplete: &'a [String],
    allowed: i64,
    one_more_brings: Option<&'a str>,
}

#[derive(Serialize)]
pub(super) struct LampForm {
    caution: &'static str,
    says: Option<&'static str>,
}

#[derive(Serialize)]
pub(super) struct ExcusedForm<'a> {
    monitors: &'a [String],
    carries: bool,
    law: Vec<LawForm<'a>>,
    basis: String,
}

pub(super) fn readiness(shown: &ReadinessShown) -> ReadinessForm<'_> {
    ReadinessForm { incomplete: &shown.incomplete, allowed: shown.allowed, one_more_brings: shown.beyond.as_deref() }
}

pub(super) fn lamp(shown: &LampShown) -> LampForm {
    LampForm { caution: shown.caution, says: shown.says }
}

pub(super) fn excused(shown: &ExcusedShown) -> ExcusedForm<'_> {
    ExcusedForm { monitors: &shown.monitors, carries: shown.carries, law: laws(&shown.law), basis: shown.basis.words() }
}

#[derive(Serialize)]
pub(super) struct PresumptionForm<'a> {
    text: &'a str,
    key: &'a str,
    provided: &'a str,
    observer: &'static str,
    turns: bool,
    law: Vec<LawForm<'a>>,
    basis: String,
}

pub(super) fn presumption(shown: &PresumptionShown) -> PresumptionForm<'_> {
    PresumptionForm {
        text: &shown.text,
        key: &shown.key,
        provided: &shown.provided,
        observer: shown.observer.word(),
        turns: shown.turns,
        law: laws(&shown.law),
        basis: shown.basis.words(),
    }
}

#[derive(Serialize)]
pub(crate) struct RecordedForm {
    class: &'static str,
    follows: &'static str,
    says: String,
    by: Vec<String>,
    ask: Vec<String>,
}

pub(crate) fn recorded(told: Recorded) -> RecordedForm {
    let Recorded { class, follows, says, by, ask } = told;
    RecordedForm { class: class.word(), follows: follows.word(), says, by, ask }
}

/// Facts by path, each as it stands in the snapshot; what does not stand there in words, and `null` where not known.
pub(super) fn values<'a>(facts: &'a [FactShown], snapshot: &Node) -> BTreeMap<&'a str, Node> {
    facts.iter().map(|fact| (fact.key.as_str(), value(fact, snapshot))).collect()
}

fn value(fact: &FactShown, snapshot: &Node) -> Node {
    let found = match fact.key.split_once('.') {
        Some((object, name)) => snapshot.get(object).and_then(|object| object.get(name)),
        None => snapshot.get(&fact.key),
    };
    match found {
        Some(node) => node.clone(),
        None if fact.value == "not known" => Node::Null,
        None => Node::Text(fact.value.clone()),
    }
}
