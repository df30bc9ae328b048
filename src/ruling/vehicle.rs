//! A vehicle in plain words: what a finding or a comparison shows as its example. Monitors of one state are told together,
//! the date of the visit is left to the one who tells.

use super::show;
use crate::model::{Fact, FactType, Monitor, MonitorState, Snapshot, spec};
use crate::program::{FactRef, Flat, Given};

/// The facts of a snapshot in words, as phrases: `model year 2012`, `incomplete: catalyst, evaporative`. Facts that the
/// snapshot does not hold are not told, nor monitors that the vehicle does not have where it has others.
#[must_use]
pub fn vehicle(flat: &Flat, snapshot: &Snapshot) -> Vec<String> {
    let Ok(given) = Given::of(flat, snapshot) else {
        return Vec::new();
    };
    let mut phrases = Vec::new();
    let mut states: [Vec<Monitor>; 3] = Default::default();
    let mut no_codes: Vec<&str> = Vec::new();
    for fact in snapshot.readings.keys().filter(|fact| **fact != Fact::TestDate) {
        if let Fact::Monitor(monitor) = fact {
            if let Some(place) = state_of(snapshot, *fact) {
                states.get_mut(place).into_iter().for_each(|list| list.push(*monitor));
            }
            continue;
        }
        let shown = show::with_value(flat, &FactRef::Known(*fact), Some(given.facts.get(*fact)), false);
        if spec(*fact).kind == FactType::Codes && shown.value == "none" {
            no_codes.push(spec(*fact).name);
        } else {
            phrases.push(shown.phrase);
        }
    }
    for place in (0..flat.facts.len())
        .filter(|place| flat.facts.get(*place).is_some_and(|fact| snapshot.declared.contains_key(&fact.name)))
    {
        let declared = FactRef::Declared(place);
        phrases.push(show::with_value(flat, &declared, given.possible(&declared), false).phrase);
    }
    if !no_codes.is_empty() {
        phrases.push(format!("no {}", no_codes.join(", no ")));
    }
    let names = |list: &[Monitor]| list.iter().map(|monitor| monitor.name()).collect::<Vec<_>>().join(", ");
    let [unsupported, complete, incomplete] = &states;
    for (state, list) in [(MonitorState::Incomplete, incomplete), (MonitorState::Complete, complete)] {
        if !list.is_empty() {
            phrases.push(format!("{}: {}", MonitorState::WORDS.get(word_place(state)).unwrap_or(&""), names(list)));
        }
    }
    if !unsupported.is_empty() {
        let others = if complete.is_empty() && incomplete.is_empty() { "no monitor supported" } else { "" };
        phrases.push(if others.is_empty() { "no other monitor supported".to_owned() } else { others.to_owned() });
    }
    phrases
}

fn word_place(state: MonitorState) -> usize {
    usize::try_from(state.bit().trailing_zeros()).unwrap_or(0)
}

fn state_of(snapshot: &Snapshot, fact: Fact) -> Option<usize> {
    match snapshot.get(fact)? {
        crate::model::Reading::Known(crate::model::Value::Word(place)) => Some(usize::from(*place)),
        _ => None,
    }
}
