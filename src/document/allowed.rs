//! What a fact may be, in words: for messages, for `wherefore facts`, and for the descriptions of the JSON Schema.

use super::key::MAX_TEXT;
use crate::model::{Fact, FactType, Monitor, MonitorState, Unit, spec};

/// The values a fact may have in a document, in words, in its own unit.
#[must_use]
pub fn allowed(fact: Fact) -> String {
    let text = match spec(fact).kind {
        FactType::YesNo { .. } => "true or false".to_owned(),
        FactType::Words(_) if fact == Fact::Communication => "true, false or \"unsupported-protocol\"".to_owned(),
        FactType::Words(words) => one_of(words),
        FactType::Number { unit, least, most, saturates } => {
            let range = number_range(unit, least, most);
            if saturates { format!("{range} ({most} means that or more)") } else { range }
        }
        FactType::Date => "a date from \"1900-01-01\" through \"2199-12-31\"".to_owned(),
        FactType::Text => format!("a text of 1 to {MAX_TEXT} characters"),
        FactType::Monitors => "a list of names of monitors".to_owned(),
        FactType::Codes => {
            "a list of trouble codes such as [\"P0420\"], or {\"at_least\": [...]} where there may be more".to_owned()
        }
    };
    if spec(fact).may_be_absent { format!("{text}, or \"not-on-vehicle\"") } else { text }
}

/// A range of a fact in another unit than its own, in words.
pub(super) fn allowed_in(unit: Unit, least_base: i64, most_base: i64) -> String {
    let (least, most) = whole_bounds(unit, least_base, most_base);
    number_range(unit, least, most)
}

/// The whole numbers of a unit that lie within bounds in base units: the lower one rounded up, the upper one down.
pub(super) fn whole_bounds(unit: Unit, least_base: i64, most_base: i64) -> (i64, i64) {
    let scale = unit.scale();
    let least = least_base.div_euclid(scale) + i64::from(least_base.rem_euclid(scale) != 0);
    (least, most_base.div_euclid(scale))
}

fn number_range(unit: Unit, least: i64, most: i64) -> String {
    match unit.word() {
        "" => format!("a whole number from {least} through {most}"),
        word => format!("a whole number of {word} from {least} through {most}"),
    }
}

/// `"a", "b" or "c"`.
pub(super) fn one_of(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
    match quoted.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        Some((last, _)) => last.clone(),
        None => String::new(),
    }
}

/// The names of monitors that a message lists: all of one table's kind, not all thirty-two.
pub(super) fn monitor_names() -> Vec<&'static str> {
    Monitor::all().map(Monitor::name).collect()
}

/// The states of a monitor, in words.
pub(super) fn monitor_states() -> String {
    one_of(&MonitorState::WORDS)
}
