//! Example vehicles: an assignment of classes written out as a snapshot that any reader, and the interpreter, can take.

use super::level::{Class, Sample, Var};
use super::space::Space;
use crate::model::{CodeList, DeclaredValue, Fact, Monitor, MonitorSet, Reading, Snapshot, Value, date_of, spec};
use crate::program::Flat;
use crate::program::block::DeclaredType;
use std::collections::BTreeMap;

/// A vehicle that shows an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Example {
    /// Its facts; only those that a program asks.
    pub snapshot: Snapshot,
    /// Open questions as read for the example: question, reading.
    pub readings: Vec<(String, String)>,
    /// Numbers assumed for limit rows that were not read: row, number.
    pub limits: Vec<(String, usize)>,
    /// Groups whose unread codes are assumed to belong to them, or not.
    pub groups: Vec<(String, bool)>,
}

/// Writes an assignment (a class for every level) as a vehicle.
#[must_use]
pub fn example(space: &Space, flats: &[&Flat], path: &[usize]) -> Example {
    let levels =
        space.levels.iter().zip(path).filter_map(|(level, class)| Some((&level.var, level.classes.get(*class)?)));
    let chosen: Vec<(&Var, &Class)> = space.constants().chain(levels).collect();
    let mut example =
        Example { snapshot: Snapshot::default(), readings: Vec::new(), limits: Vec::new(), groups: Vec::new() };
    let mut members: BTreeMap<Fact, MonitorSet> = BTreeMap::new();
    let mut codes: BTreeMap<Fact, CodeList> = BTreeMap::new();
    let mut absent: Vec<Fact> = Vec::new();
    for (var, class) in chosen {
        match (var, &class.sample) {
            (Var::Known(fact), sample) => {
                if let Some(reading) = reading(*fact, sample) {
                    example.snapshot.readings.insert(*fact, reading);
                }
            }
            (Var::Declared { name, .. }, sample) => {
                if let Some(value) = declared(flats, name, sample) {
                    example.snapshot.declared.insert(name.clone(), value);
                }
            }
            (Var::Listed, Sample::Listed([make, model, engine])) => {
                for (fact, text) in [(Fact::Make, make), (Fact::Model, model), (Fact::Engine, engine)] {
                    example.snapshot.set(fact, Value::Text(text.clone()));
                }
            }
            (Var::Member(fact, monitor), Sample::Truth(is)) => {
                let set = members.entry(*fact).or_default();
                *set = if *is { set.with(*monitor) } else { *set };
            }
            (Var::Present(fact), Sample::Truth(is)) => {
                codes.entry(*fact).or_default();
                if !is {
                    absent.push(*fact);
                }
            }
            (Var::Holds(fact, place), Sample::Truth(true)) => {
                let atom = space.atoms.get(fact).and_then(|atoms| atoms.atoms.get(*place));
                codes.entry(*fact).or_default().codes.extend(atom.map(|atom| atom.sample));
            }
            (Var::Question { id, readings }, Sample::Place(place)) => {
                example.readings.push((id.clone(), readings.get(*place).cloned().unwrap_or_default()));
            }
            (Var::UnreadLimit { row, .. }, Sample::Place(place)) => example.limits.push((row.clone(), *place)),
            (Var::UnreadCodes(id), Sample::Truth(is)) => example.groups.push((id.clone(), *is)),
            _ => {}
        }
    }
    for (fact, set) in members {
        example.snapshot.set(fact, Value::Monitors(set));
    }
    for (fact, list) in codes {
        example.snapshot.set(fact, Value::Codes(list));
    }
    for fact in absent {
        example.snapshot.readings.insert(fact, Reading::NotOnVehicle);
    }
    agree(&mut example.snapshot);
    if let Some(flat) = flats.first() {
        example.snapshot.set(Fact::TestDate, Value::Date(flat.test_date));
    }
    example
}

/// Adds the ignition that goes with the monitors shown, so that the example is a vehicle a person can picture.
fn agree(snapshot: &mut Snapshot) {
    if snapshot.get(Fact::Ignition).is_some() {
        return;
    }
    let supported = |pick: fn(Monitor) -> bool| {
        Monitor::all().filter(|monitor| pick(*monitor)).any(|monitor| {
            matches!(snapshot.get(Fact::Monitor(monitor)), Some(Reading::Known(Value::Word(place))) if *place > 0)
        })
    };
    if supported(Monitor::is_compression_only) {
        snapshot.set_word(Fact::Ignition, "compression");
    } else if supported(Monitor::is_spark_only) {
        snapshot.set_word(Fact::Ignition, "spark");
    }
}

/// A sample of a fact as a reading.
#[must_use]
pub fn reading(fact: Fact, sample: &Sample) -> Option<Reading> {
    let value = match sample {
        Sample::Absent => return Some(Reading::NotOnVehicle),
        Sample::Word(bit) => Value::Word(u8::try_from(bit.trailing_zeros()).ok()?),
        Sample::Number(number) if spec(fact).kind == crate::model::FactType::Date => Value::Date(date_of(*number)?),
        Sample::Number(number) => Value::Number(*number),
        Sample::Text(text) => Value::Text(text.clone()),
        Sample::Listed(_) | Sample::Truth(_) | Sample::Place(_) => return None,
    };
    Some(Reading::Known(value))
}

fn declared(flats: &[&Flat], name: &str, sample: &Sample) -> Option<DeclaredValue> {
    let fact = flats.iter().flat_map(|flat| &flat.facts).find(|fact| fact.name == name)?;
    match (&fact.kind, sample) {
        (DeclaredType::YesNo, Sample::Word(bit)) => Some(DeclaredValue::YesNo(*bit == 0b10)),
        (DeclaredType::Words(words), Sample::Word(bit)) => {
            let place = usize::try_from(bit.trailing_zeros()).ok()?;
            words.get(place).cloned().map(DeclaredValue::Word)
        }
        (DeclaredType::Number { unit, .. }, Sample::Number(number)) => {
            Some(DeclaredValue::Number(number / unit.scale().max(1)))
        }
        _ => None,
    }
}
