//! A vehicle as a program file writes it: the facts of a worked case.

use crate::model::DeclaredValue;
use crate::model::{CodeList, Fact, FactType, Monitor, MonitorSet, MonitorState, Reading, Snapshot, Value, spec};
use crate::program::Program;
use crate::program::block::DeclaredType;

/// The facts of a vehicle in the words of a worked case, but for those that it shares with another, the ordinary one;
/// the date of the visit is left out. `None` where a value cannot be written, such as a number that is whole in no unit.
#[must_use]
pub fn facts(program: &Program, snapshot: &Snapshot, but: &Snapshot) -> Option<Vec<String>> {
    let mut words = Vec::new();
    let mut monitors: [Vec<&str>; 3] = Default::default();
    for (fact, reading) in &snapshot.readings {
        if *fact == Fact::TestDate || but.get(*fact) == Some(reading) {
            continue;
        }
        match (fact, reading) {
            (Fact::Monitor(monitor), Reading::Known(Value::Word(place))) => {
                monitors.get_mut(usize::from(*place))?.push(monitor.name());
            }
            (fact, Reading::NotOnVehicle) => words.push(format!("{} not on this vehicle", spec(*fact).name)),
            (fact, Reading::Known(value)) => words.push(known(*fact, value)?),
        }
    }
    for (name, value) in snapshot.declared.iter().filter(|(name, value)| but.declared.get(*name) != Some(value)) {
        let unit = program.facts.iter().find(|fact| fact.name == *name).and_then(|fact| match fact.kind {
            DeclaredType::Number { unit, .. } => Some(unit),
            _ => None,
        });
        words.push(match value {
            DeclaredValue::YesNo(yes) => format!("{name} is {}", if *yes { "yes" } else { "no" }),
            DeclaredValue::Word(word) => format!("{name} is {word}"),
            DeclaredValue::Number(number) => format!("{name} {number} {}", unit?.word()).trim_end().to_owned(),
        });
    }
    for (place, list) in monitors.iter().enumerate().filter(|(_, list)| !list.is_empty()) {
        words.push(format!("{}: {}", MonitorState::WORDS.get(place)?, list.join(", ")));
    }
    // What the ordinary vehicle says and this one does not know must be said, or it would be filled in.
    let unknown = but.readings.keys().filter(|fact| **fact != Fact::TestDate && snapshot.get(**fact).is_none());
    words.extend(unknown.map(|fact| format!("{} not known", spec(*fact).name)));
    words.extend(
        but.declared
            .keys()
            .filter(|name| !snapshot.declared.contains_key(*name))
            .map(|name| format!("{name} not known")),
    );
    Some(words)
}

fn known(fact: Fact, value: &Value) -> Option<String> {
    let row = spec(fact);
    Some(match (row.kind, value) {
        (FactType::YesNo { no, .. }, Value::Word(0)) => no.to_owned(),
        (FactType::YesNo { yes, .. }, Value::Word(_)) => yes.to_owned(),
        (FactType::Words(list), Value::Word(place)) => format!("{} is {}", row.name, list.get(usize::from(*place))?),
        (FactType::Number { unit, .. }, Value::Number(base)) => {
            let shown = unit.telling(*base).show(*base);
            if shown.contains('.') || shown.starts_with('-') {
                return None;
            }
            format!("{} {shown}", row.name)
        }
        (FactType::Date, Value::Date(day)) => format!("{} {day}", row.name),
        (FactType::Text, Value::Text(text)) => {
            format!("{} is \"{}\"", row.name, text.replace('\\', "\\\\").replace('"', "\\\""))
        }
        (FactType::Monitors, Value::Monitors(set)) => format!("{}: {}", row.name, names(*set)),
        (FactType::Codes, Value::Codes(list)) => codes(row.name, list),
        _ => return None,
    })
}

fn names(set: MonitorSet) -> String {
    if set.is_empty() {
        return "none".to_owned();
    }
    set.iter().map(Monitor::name).collect::<Vec<_>>().join(", ")
}

fn codes(name: &str, list: &CodeList) -> String {
    let all = list.codes.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
    match (list.codes.is_empty(), list.may_hold_more) {
        (true, false) => format!("no {name}"),
        (true, true) => format!("{name} not known"),
        (false, false) => format!("{name}s {all}"),
        (false, true) => format!("{name}s at least {all}"),
    }
}
