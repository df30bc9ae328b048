//! Vehicles that can exist: a fixed list of combinations that no vehicle shows. Evaluation, diagrams, counts and
//! example vehicles all range over the vehicles that none of these rules out.

use super::{Fact, Monitor, MonitorState};
use std::sync::LazyLock;

/// One part of an impossible combination.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Constraint {
    /// A fact of type yes/no or words has one of the words of the mask.
    Word(Fact, u64),
    /// A number is at least this many base units.
    AtLeast(Fact, i64),
    /// A list of codes or a set of monitors is not empty.
    NotEmpty(Fact),
}

impl Constraint {
    /// The fact the constraint is about.
    #[must_use]
    pub fn fact(self) -> Fact {
        match self {
            Constraint::Word(fact, _) | Constraint::AtLeast(fact, _) | Constraint::NotEmpty(fact) => fact,
        }
    }
}

/// Two constraints that no vehicle meets together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Exclusion {
    /// Why no such vehicle exists.
    pub why: &'static str,
    /// First part.
    pub first: Constraint,
    /// Second part.
    pub second: Constraint,
}

fn word(fact: Fact, words: &[&str]) -> Constraint {
    Constraint::Word(fact, words.iter().filter_map(|word| fact.word_bit(word)).fold(0, |mask, bit| mask | bit))
}

/// Monitors of J1939-73 that 13 CCR 1971.1 demands of diesel engines in (e), and that its (f) for gasoline engines has not
/// (from memory). Engines on gas are left alone: some are held to (e).
const DIESEL_OF_J1939: [Monitor; 4] =
    [Monitor::HdNoxCatalyst, Monitor::HdNmhcCatalyst, Monitor::HdParticulateFilter, Monitor::HdBoostPressure];

fn supported(monitor: Monitor) -> Constraint {
    Constraint::Word(Fact::Monitor(monitor), MonitorState::SUPPORTED)
}

/// What cannot be read from a vehicle that does not answer on its connector. Fuel in use, ignition and protocol are
/// left alone: papers and the eye tell them too.
#[must_use]
pub fn needs_an_answer(fact: Fact) -> Option<Constraint> {
    match fact {
        Fact::Monitor(monitor) => Some(supported(monitor)),
        Fact::LampCommanded | Fact::VinInData | Fact::VinMatches => Some(word(fact, &["yes"])),
        Fact::StoredCodes | Fact::PendingCodes | Fact::PermanentCodes => Some(Constraint::NotEmpty(fact)),
        Fact::WarmUps
        | Fact::DistanceSinceClear
        | Fact::MinutesSinceClear
        | Fact::DistanceSinceLamp
        | Fact::MinutesSinceLamp => Some(Constraint::AtLeast(fact, 0)),
        _ => None,
    }
}

/// Every exclusion.
#[must_use]
pub fn exclusions() -> &'static [Exclusion] {
    static ALL: LazyLock<Vec<Exclusion>> = LazyLock::new(listed);
    &ALL
}

fn listed() -> Vec<Exclusion> {
    let mut list = Vec::new();
    let mut add = |why, first, second| list.push(Exclusion { why, first, second });
    // 40 CFR 86.1806-05(h): J1939 is an alternative for heavy-duty vehicles alone (from memory; the digest has no text).
    let light = word(Fact::Class, &["light-duty", "light-truck"]);
    add("a passenger car or light truck is not on J1939", light, word(Fact::Protocol, &["j1939"]));
    for monitor in Monitor::all() {
        if monitor.is_spark_only() {
            let why = "a compression-ignition engine has no monitor of the spark table";
            add(why, word(Fact::Ignition, &["compression"]), supported(monitor));
        }
        if monitor.is_compression_only() {
            let why = "a spark-ignition engine has no monitor of the compression table";
            add(why, word(Fact::Ignition, &["spark"]), supported(monitor));
        }
        add("an electric vehicle has no emission monitors", word(Fact::Fuel, &["electric"]), supported(monitor));
        if monitor.is_j1939() {
            let why = "monitors of J1939-73 are reported on that protocol only";
            add(why, word(Fact::Protocol, &["classic", "obd-on-uds"]), supported(monitor));
            let why = "a passenger car or light truck has no monitors of J1939-73";
            add(why, light, supported(monitor));
            if DIESEL_OF_J1939.contains(&monitor) {
                let why = "a gasoline engine has no monitors of the diesel's exhaust treatment and boost";
                add(why, word(Fact::Fuel, &["gasoline"]), supported(monitor));
            }
        } else {
            let why = "monitors of service $01 PID $01 are reported on the classic protocol only";
            add(why, word(Fact::Protocol, &["j1939", "obd-on-uds"]), supported(monitor));
        }
    }
    add(
        "a gasoline engine is not reported as compression ignition",
        word(Fact::Fuel, &["gasoline"]),
        word(Fact::Ignition, &["compression"]),
    );
    add("an electric vehicle is not a hybrid", word(Fact::Fuel, &["electric"]), word(Fact::Hybrid, &["yes"]));
    let initial = word(Fact::Visit, &["initial"]);
    let none_before = "a first test has no earlier test of its cycle";
    add(none_before, initial, Constraint::AtLeast(Fact::EarlierIncompleteVisits, 1));
    add(none_before, initial, Constraint::NotEmpty(Fact::EarlierFailureCodes));
    add(none_before, initial, Constraint::NotEmpty(Fact::EarlierIncomplete));
    add(none_before, initial, Constraint::NotEmpty(Fact::EarlierLampMonitors));
    add(none_before, initial, Constraint::AtLeast(Fact::EarlierIncompleteCount, 1));
    add("a lamp that flashes is seen lit", word(Fact::LampFlashing, &["yes"]), word(Fact::LampLitRunning, &["no"]));
    add("data that holds no VIN cannot match one", word(Fact::VinInData, &["no"]), word(Fact::VinMatches, &["yes"]));
    // Services $01 to $0A (SAE J1979) and DM messages (J1939-73) are answers of the vehicle; common practice.
    let silent = word(Fact::Communication, &["none"]);
    let why = "a vehicle that does not answer gives no reader a reading";
    for part in super::table::all_facts().filter_map(needs_an_answer) {
        add(why, silent, part);
    }
    list
}
