//! Every key of a snapshot document: those of the table of facts, the same quantities in another unit, and what is
//! passed through without being judged by.

use crate::model::{Fact, FactType, Monitor, Unit, spec, table};
use std::sync::LazyLock;

/// Longest text of a fact, in characters.
pub const MAX_TEXT: usize = 200;
/// Longest name of a declared fact, in characters.
pub const MAX_DECLARED_NAME: usize = 64;

/// Objects and plain keys at the top of a document, in canonical order.
pub(super) const TOP: [&str; 15] = [
    "format",
    "vehicle",
    "visit",
    "connector",
    "communication",
    "link",
    "lamp",
    "codes",
    "monitors",
    "since_clear",
    "since_lamp_on",
    "declared",
    "this_cycle",
    "from",
    "quality",
];

/// What stands at a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Meaning {
    /// A fact of the table.
    Fact(Fact),
    /// A quantity of the table in another unit.
    InUnit(Fact, Unit),
    /// A text, passed through.
    Text,
    /// What a monitor has done in this driving cycle: advice only.
    ThisCycle,
    /// Anything, passed through.
    Anything,
}

/// Words of the monitors of this driving cycle (service $01 PID $41: enabled or not, complete or not).
pub(super) const THIS_CYCLE: [&str; 3] = ["disabled", "complete", "incomplete"];

/// One key.
#[derive(Debug, Clone)]
pub(super) struct Key {
    /// Path in the document.
    pub(super) path: String,
    /// What stands there.
    pub(super) meaning: Meaning,
}

/// Keys that carry no fact.
const PASSED_THROUGH: [(&str, Meaning); 5] = [
    ("link.vin", Meaning::Text),
    ("link.calibration_ids", Meaning::Anything),
    ("link.obd_requirement", Meaning::Anything),
    ("from", Meaning::Anything),
    ("quality", Meaning::Anything),
];

/// The keys of what is passed through and never judged by; the monitors of this driving cycle apart.
pub fn passed_through_keys() -> impl Iterator<Item = &'static str> {
    PASSED_THROUGH.iter().map(|(path, _)| *path)
}

/// The units in which a fact may also be given, each with its key: `vehicle.gross_weight_kg` beside
/// `vehicle.gross_weight_lb`. Conversion is exact; giving both forms is a fault.
#[must_use]
pub fn other_unit_keys(fact: Fact) -> Vec<(String, Unit)> {
    let FactType::Number { unit, .. } = spec(fact).kind else {
        return Vec::new();
    };
    let other = unit.other().map(|other| (spec(fact).key.replacen(unit.word(), other.word(), 1), other));
    other.into_iter().collect()
}

/// Every key but `format` and those of `declared`, in canonical order.
pub(super) static KEYS: LazyLock<Vec<Key>> = LazyLock::new(|| {
    let mut keys = Vec::new();
    for fact in table::all_facts() {
        keys.push(Key { path: table::key_of(fact), meaning: Meaning::Fact(fact) });
        for (path, unit) in other_unit_keys(fact) {
            keys.push(Key { path, meaning: Meaning::InUnit(fact, unit) });
        }
    }
    keys.extend(PASSED_THROUGH.iter().map(|(path, meaning)| Key { path: (*path).to_owned(), meaning: *meaning }));
    keys.extend(Monitor::all().map(|m| Key { path: format!("this_cycle.{}", m.name()), meaning: Meaning::ThisCycle }));
    // A stable sort: within an object the order of the table stays.
    keys.sort_by_key(|key| place_of(top_of(&key.path)));
    keys
});

/// The first part of a path.
pub(super) fn top_of(path: &str) -> &str {
    path.split_once('.').map_or(path, |(top, _)| top)
}

fn place_of(top: &str) -> usize {
    TOP.iter().position(|known| *known == top).unwrap_or(TOP.len())
}

/// The key at a path.
pub(super) fn key_at(path: &str) -> Option<&'static Key> {
    KEYS.iter().find(|key| key.path == path)
}

/// Whether an object stands at this key of the top.
pub(super) fn is_object(top: &str) -> bool {
    KEYS.iter().any(|key| key.path.split_once('.').is_some_and(|(first, _)| first == top))
}

/// The keys of an object, or of the top where `object` is empty.
pub(super) fn keys_of(object: &str) -> Vec<&'static str> {
    if object.is_empty() {
        return TOP.to_vec();
    }
    let parts = KEYS.iter().filter_map(|key| key.path.split_once('.'));
    parts.filter(|(first, _)| *first == object).map(|(_, last)| last).collect()
}
