//! The car that most files describe as their ordinary vehicle, in two words: `sound car`.

use super::table::all_facts;
use super::{CodeList, Fact, Monitor, Snapshot, Value, spec};

/// Facts of a sound car that are told in words.
pub const WORDS: [(Fact, &str); 7] = [
    (Fact::Fuel, "gasoline"),
    (Fact::Ignition, "spark"),
    (Fact::Class, "light-duty"),
    (Fact::Hybrid, "no"),
    (Fact::PlugIn, "no"),
    (Fact::Visit, "initial"),
    (Fact::LampCommanded, "no"),
];

/// Its monitors that are complete.
pub const COMPLETE: [Monitor; 8] = [
    Monitor::Misfire,
    Monitor::FuelSystem,
    Monitor::Components,
    Monitor::Catalyst,
    Monitor::Evaporative,
    Monitor::OxygenSensor,
    Monitor::OxygenSensorHeater,
    Monitor::EgrVvt,
];

/// Its monitors that it does not have.
pub const UNSUPPORTED: [Monitor; 3] = [Monitor::HeatedCatalyst, Monitor::SecondaryAir, Monitor::AirConditioning];

/// Its lists of codes, all empty.
pub const WITHOUT: [Fact; 3] = [Fact::StoredCodes, Fact::PendingCodes, Fact::PermanentCodes];

/// Gives every fact that has a sound value that value.
pub fn sound(snapshot: &mut Snapshot) {
    for fact in all_facts() {
        if let Some(word) = spec(fact).sound {
            snapshot.set_word(fact, word);
        }
    }
}

/// Gives the facts of a sound car: what is sound, and a light car that burns gasoline, at the first visit of its cycle,
/// with the lamp off, no code and every monitor that it has complete. Its age, weight and area are its own.
pub fn sound_car(snapshot: &mut Snapshot) {
    sound(snapshot);
    for (fact, word) in WORDS {
        snapshot.set_word(fact, word);
    }
    snapshot.set(Fact::EarlierIncompleteVisits, Value::Number(0));
    for fact in WITHOUT {
        snapshot.set(fact, Value::Codes(CodeList::default()));
    }
    for (monitors, state) in [(COMPLETE.as_slice(), "complete"), (UNSUPPORTED.as_slice(), "unsupported")] {
        for monitor in monitors {
            snapshot.set_word(Fact::Monitor(*monitor), state);
        }
    }
}
