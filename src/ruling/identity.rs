//! The vehicle in a line, as a person would name it, and how it stands to the limit on incomplete monitors.

use crate::evaluate::{self, Evaluation, Walk, explain};
use crate::model::facts::Possible;
use crate::model::{Fact, MonitorState, Reading, Snapshot, Unit, Value};
use crate::program::block::Allowance;
use crate::program::{Test, Verdict};

/// The vehicle as a person would name it, `2011 Example Wagon, gasoline, 4,400 lb`; `None` where nothing is known to name
/// it by.
#[must_use]
pub fn identity(snapshot: &Snapshot) -> Option<String> {
    let known = |fact: Fact| match snapshot.get(fact) {
        Some(Reading::Known(value)) => Some(value),
        _ => None,
    };
    let word = |fact: Fact| match known(fact) {
        Some(Value::Word(place)) => fact.words().get(usize::from(*place)).map(|word| (*word).to_owned()),
        Some(Value::Text(text)) => Some(text.clone()),
        Some(Value::Number(number)) => Some(number.to_string()),
        _ => None,
    };
    let name: Vec<String> = [Fact::ModelYear, Fact::Make, Fact::Model].into_iter().filter_map(word).collect();
    let is_named = known(Fact::Make).is_some() || known(Fact::Model).is_some();
    let class = word(Fact::Class).filter(|_| !is_named).map(|word| class_words(&word));
    let weight = match known(Fact::GrossWeight) {
        Some(Value::Number(weight)) => Some(grouped(&Unit::Pound.telling(*weight).show(*weight))),
        _ => None,
    };
    let name: Vec<String> = name.into_iter().chain(class).collect();
    let name = if name.is_empty() { None } else { Some(name.join(" ")) };
    let parts: Vec<String> = [name, word(Fact::Fuel), weight].into_iter().flatten().collect();
    if parts.is_empty() { None } else { Some(parts.join(", ")) }
}

/// From here on no program's own light classes reach; the federal ones end at 8,500 lb (40 CFR 86.1803-01).
const TOO_HEAVY: i64 = 10_000;

/// The weight and the class of a vehicle that is said to be light and is too heavy for it.
pub(super) fn too_heavy(snapshot: &Snapshot) -> Option<(String, String)> {
    let (Some(Reading::Known(Value::Word(class))), Some(Reading::Known(Value::Number(weight)))) =
        (snapshot.get(Fact::Class), snapshot.get(Fact::GrossWeight))
    else {
        return None;
    };
    let class = *Fact::Class.words().get(usize::from(*class))?;
    let is_light = matches!(class, "light-duty" | "light-truck") && *weight > Unit::Pound.to_base(TOO_HEAVY)?;
    is_light.then(|| (grouped(&Unit::Pound.telling(*weight).show(*weight)), class_words(class)))
}

/// A class as 40 CFR 86.1803-01 calls it, where it has a name there; else its word.
fn class_words(word: &str) -> String {
    match word {
        "light-duty" => "passenger car".to_owned(),
        "light-truck" => "light-duty truck".to_owned(),
        "medium-duty-passenger" => "medium-duty passenger vehicle".to_owned(),
        "heavy-duty" => "heavy-duty vehicle".to_owned(),
        other => other.replace('-', " "),
    }
}

/// How a vehicle stands to the limit on incomplete monitors.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadinessShown {
    /// Monitors that count and are incomplete.
    pub incomplete: Vec<String>,
    /// How many may be.
    pub allowed: i64,
    /// The outcome that more would bring, where they are within the limit.
    pub beyond: Option<String>,
}

/// How a vehicle stands to the one limit on how many counted monitors may be incomplete that surely concerns it; `None`
/// where there is none, or several that differ, or a monitor is not known.
pub(super) fn readiness(walk: &Walk<'_>, evaluation: &Evaluation) -> Option<ReadinessShown> {
    let flat = walk.flat();
    // Of a vehicle that does not answer no monitor was read.
    if walk.given().facts.is_surely(Fact::Communication, "none") {
        return None;
    }
    let bit = MonitorState::Incomplete.bit();
    let range = evaluation.counted.how_many(bit);
    if range.least != range.most {
        return None;
    }
    let mut found: Option<i64> = None;
    for (line, record) in flat.lines.iter().zip(&evaluation.lines) {
        if !record.concerned.is_true() {
            continue;
        }
        for leaf in explain(walk, &line.unmet_where) {
            let Test::Limit { limit, .. } = leaf.test else { continue };
            let rows = flat.limits.get(*limit).map_or(&[][..], |limit| limit.rows.as_slice());
            let mut rows = rows.iter().filter(|row| !walk.truth(&row.condition).is_false());
            let (Some(row), None) = (rows.next(), rows.next()) else { return None };
            let Allowance::AtMost { count, only: None } = &row.limit else { return None };
            if found.is_some_and(|allowed| allowed != *count) {
                return None;
            }
            found = Some(*count);
        }
    }
    let allowed = found?;
    let beyond = if range.least == allowed { with_one_more(walk, evaluation) } else { None };
    Some(ReadinessShown {
        incomplete: evaluation.counted.which(bit).0.iter().map(|monitor| monitor.name().to_owned()).collect(),
        allowed,
        beyond: beyond.map(|verdict| verdict.name(flat).to_owned()),
    })
}

/// The outcome with one monitor more incomplete, whichever of those that count and are complete; `None` where that differs
/// or is not known.
fn with_one_more(walk: &Walk<'_>, evaluation: &Evaluation) -> Option<Verdict> {
    let complete = evaluation.counted.which(MonitorState::Complete.bit()).0;
    let mut found = None;
    for monitor in complete.iter() {
        let mut given = walk.given().clone();
        given.facts.put(Fact::Monitor(monitor), Possible::Words(MonitorState::Incomplete.bit()));
        let verdict = evaluate::verdict(walk.flat(), &given).single()?;
        if found.is_some_and(|known| known != verdict) {
            return None;
        }
        found = Some(verdict);
    }
    found.filter(|verdict| evaluation.possible.single() != Some(*verdict))
}

/// A number with its thousands parted, `4,400 lb`.
fn grouped(shown: &str) -> String {
    let (digits, unit) = shown.split_at(shown.find(|it: char| !it.is_ascii_digit()).unwrap_or(shown.len()));
    let mut out = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place) % 3 == 0 {
            out.push(',');
        }
        out.push(digit);
    }
    out + unit
}
