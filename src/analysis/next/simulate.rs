//! The forward simulator: a snapshot before and after a plan, one value a fact, so that the vehicle can be judged again.

use super::actions::Action;
use crate::model::facts::Possible;
use crate::model::{Fact, FactType, Reading, Snapshot, Value, spec, table::all_facts};
use crate::program::Given;

/// The snapshot after the steps of a plan. Facts that no step touches stay as they were read.
#[must_use]
pub fn simulate(snapshot: &Snapshot, given: &Given, steps: &[Action]) -> Snapshot {
    let after = steps.iter().fold(given.clone(), |state, step| step.after(&state));
    let mut result = snapshot.clone();
    for fact in all_facts() {
        if after.facts.get(fact) == given.facts.get(fact) {
            continue;
        }
        if let Some(reading) = reading(fact, after.facts.get(fact)) {
            result.readings.insert(fact, reading);
        }
    }
    result
}

/// One reading of what is possible: the least number, the one word, the list.
fn reading(fact: Fact, possible: &Possible) -> Option<Reading> {
    let value = match possible {
        Possible::Words(mask) if mask.count_ones() == 1 => Value::Word(u8::try_from(mask.trailing_zeros()).ok()?),
        Possible::Number(span) if !span.has_no_value() && spec(fact).kind != FactType::Date => {
            Value::Number(span.least)
        }
        Possible::Codes { list: Some(list), .. } => Value::Codes(list.clone()),
        _ => return None,
    };
    Some(Reading::Known(value))
}
