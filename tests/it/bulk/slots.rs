//! Records in slots, one at a time: the same answers as those of one vehicle at a time, at once where all is known.

use super::records::{Field, Vocabulary};
use wherefore::internals::bulk::Slot;
use wherefore::internals::evaluate::States;
use wherefore::internals::model::facts::{ABSENT, Possible};
use wherefore::internals::model::{
    DeclaredValue, Fact, FactType, Facts, Monitor, Reading, Snapshot, Value, day_number, spec,
};
use wherefore::internals::program::FactRef;

/// A slot for each fact of the records, monitors apart.
pub fn slots(vocabulary: &Vocabulary) -> Vec<Slot> {
    let fields = vocabulary.fields.iter().filter(|field| !is_monitor(field));
    let mut slots: Vec<Slot> = fields
        .map(|field| match (&field.fact, field.values.first()) {
            (_, Some((Possible::Words(_), _))) => Slot::Words(field.fact.clone()),
            (_, Some((Possible::Number(_), _))) => Slot::Number(field.fact.clone(), 1),
            _ => Slot::Coded(field.fact.clone(), field.values.iter().map(|(possible, _)| possible.clone()).collect()),
        })
        .collect();
    if vocabulary.has_bytes {
        for fact in [Fact::LampCommanded, Fact::Ignition].map(FactRef::Known) {
            if slots.iter().all(|slot| *slot.fact() != fact) {
                slots.push(Slot::Words(fact));
            }
        }
    }
    slots
}

fn is_monitor(field: &Field) -> bool {
    matches!(field.fact, FactRef::Known(Fact::Monitor(_)))
}

/// What the slots hold for a vehicle; `None` where a number is not on the vehicle, which a slot of a number cannot say.
pub fn values(slots: &[Slot], snapshot: &Snapshot) -> Option<(States, Vec<i64>)> {
    let mut states = States::default();
    for monitor in Monitor::all() {
        let bit = 1u32 << monitor.index();
        let place = match snapshot.get(Fact::Monitor(monitor)) {
            Some(Reading::Known(Value::Word(place))) => Some(*place),
            _ => None,
        };
        states.unsupported |= if place.is_none_or(|place| place == 0) { bit } else { 0 };
        states.complete |= if place.is_none_or(|place| place == 1) { bit } else { 0 };
        states.incomplete |= if place.is_none_or(|place| place == 2) { bit } else { 0 };
    }
    let mut values = Vec::new();
    for slot in slots {
        let value = match slot.fact() {
            FactRef::Declared(name) => match (slot, snapshot.declared.get(name)) {
                (Slot::Words(_), Some(DeclaredValue::Word(place))) => {
                    1 << place.trim_start_matches('#').parse::<u32>().unwrap()
                }
                (Slot::Words(_), _) => return None,
                (_, Some(DeclaredValue::Number(base))) => *base,
                _ => Slot::NOT_KNOWN,
            },
            FactRef::Known(fact) => match (slot, snapshot.get(*fact)) {
                (Slot::Words(_), None) => match Facts::unknown().get(*fact) {
                    Possible::Words(all) => all.cast_signed(),
                    other => panic!("{other:?}"),
                },
                (Slot::Words(_), Some(Reading::NotOnVehicle)) => ABSENT.cast_signed(),
                (Slot::Words(_), Some(Reading::Known(Value::Word(place)))) => 1 << place,
                (Slot::Number(..), Some(Reading::NotOnVehicle)) => return None,
                (_, None) => Slot::NOT_KNOWN,
                (Slot::Number(..), Some(Reading::Known(Value::Number(base)))) => *base,
                (Slot::Number(..), Some(Reading::Known(Value::Date(date)))) => day_number(*date),
                (Slot::Coded(_, meaning), Some(reading)) => {
                    let mut facts = Facts::unknown();
                    facts.learn(*fact, reading);
                    let found = meaning.iter().position(|one| one == facts.get(*fact));
                    i64::try_from(found.unwrap()).unwrap()
                }
                (slot, reading) => panic!("{slot:?} {reading:?}"),
            },
        };
        values.push(value);
    }
    Some((states, values))
}

/// Every fact that is none of monitors and dates of the visit can be held in a slot of its kind.
#[test]
fn every_fact_has_a_slot_of_its_kind() {
    let programs = crate::diagram::shipped::programs();
    let engine =
        wherefore::internals::bulk::Engine::new(&programs[0], wherefore::internals::bulk::Options::default()).unwrap();
    let rules = engine.rules(20_000).unwrap();
    for fact in wherefore::internals::model::table::all_facts() {
        let reference = FactRef::Known(fact);
        let can = |slot: Slot| wherefore::internals::bulk::Single::of(&rules, vec![slot]).is_ok();
        let is_visit = matches!(fact, Fact::TestDate | Fact::Monitor(_));
        let is_word = matches!(spec(fact).kind, FactType::YesNo { .. } | FactType::Words(_));
        let is_number = matches!(spec(fact).kind, FactType::Number { .. } | FactType::Date);
        assert_eq!(can(Slot::Words(reference.clone())), is_word && !is_visit, "{fact:?}");
        assert_eq!(can(Slot::Number(reference.clone(), 1)), is_number && !is_visit, "{fact:?}");
        assert!(!can(Slot::Number(reference.clone(), 0)), "{fact:?}");
        let whole = Facts::unknown().get(fact).clone();
        assert_eq!(can(Slot::Coded(reference, vec![whole])), !is_visit, "{fact:?}");
    }
}
