//! How hard a vehicle of a worksheet is, and whether a trainee could meet it.

use crate::model::{self, Fact, Monitor, Reading, Snapshot, Unit};
use crate::ruling::Ruling;

/// What a trainee must have understood to rule on a vehicle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// One rule decides, or none stands against the vehicle.
    OneRule,
    /// A number is held against a limit: incomplete monitors, counters, years.
    Limits,
    /// Earlier visits, exemptions, excuses, rules that give way to others.
    History,
    /// Something that would decide is not known.
    Unknowns,
}

impl Level {
    /// All, from the easiest.
    pub const ALL: [Level; 4] = [Level::OneRule, Level::Limits, Level::History, Level::Unknowns];

    /// In a word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Level::OneRule => "one-rule",
            Level::Limits => "limits",
            Level::History => "history",
            Level::Unknowns => "unknowns",
        }
    }

    /// What it is about, for the head of a worksheet.
    #[must_use]
    pub fn about(self) -> &'static str {
        match self {
            Level::OneRule => "one rule decides",
            Level::Limits => "limits and counts",
            Level::History => "history and exceptions",
            Level::Unknowns => "something is not known",
        }
    }
}

/// The level of a vehicle of which everything that is asked is known.
pub(super) fn level(snapshot: &Snapshot, ruling: &Ruling) -> Level {
    let word = |fact: Fact| word(snapshot, fact);
    let is_again = word(Fact::Visit) == Some("retest");
    let sets_aside = ruling.trace.iter().any(|line| line.state == "set-aside");
    let is_excused = ruling.excused.is_some();
    if ruling.coverage.state != "covered" || is_again || sets_aside || is_excused || ruling.grounds.len() > 1 {
        return Level::History;
    }
    let is_incomplete = Monitor::all().any(|monitor| word(Fact::Monitor(monitor)) == Some("incomplete"));
    let has_number = ruling.grounds.iter().any(|ground| !ground.margins.is_empty());
    if is_incomplete || has_number { Level::Limits } else { Level::OneRule }
}

/// The first model year of vehicles that speak SAE J1979-2 alone: 13 CCR 1968.2(h) as amended for 2023 (from memory).
const FIRST_ON_UDS: i64 = 2023;

fn known(snapshot: &Snapshot, fact: Fact) -> Option<&model::Value> {
    match snapshot.get(fact) {
        Some(Reading::Known(value)) => Some(value),
        _ => None,
    }
}

fn word(snapshot: &Snapshot, fact: Fact) -> Option<&'static str> {
    match known(snapshot, fact) {
        Some(model::Value::Word(place)) => fact.words().get(usize::from(*place)).copied(),
        _ => None,
    }
}

/// Whether a trainee could meet the vehicle: J1939 and its monitors only on engines that are not gasoline's, J1979-2 only
/// on vehicles new enough, no answer through a connector that is missing or out of reach, a weight in whole units. A vector may be odder than that
/// and still be one that can exist.
#[must_use]
pub fn is_ordinary(snapshot: &Snapshot) -> bool {
    let word = |fact: Fact| word(snapshot, fact);
    let is_supported = |monitor: &Monitor| word(Fact::Monitor(*monitor)).is_some_and(|state| state != "unsupported");
    let is_heavy = word(Fact::Protocol) == Some("j1939")
        || Monitor::all().filter(|monitor| monitor.is_j1939()).any(|monitor| is_supported(&monitor));
    let is_of_a_truck = match word(Fact::Fuel) {
        Some(fuel) => !["gasoline", "electric"].contains(&fuel),
        None => word(Fact::Ignition) == Some("compression"),
    };
    let is_new = matches!(known(snapshot, Fact::ModelYear), Some(model::Value::Number(year)) if *year >= FIRST_ON_UDS);
    let is_out_of_reach = matches!(word(Fact::Connector), Some("missing" | "inaccessible" | "inoperable"));
    let answers = word(Fact::Communication) == Some("established");
    // A weight is on the plate in whole pounds or kilograms.
    let is_weight = match known(snapshot, Fact::GrossWeight) {
        Some(model::Value::Number(weight)) => {
            [Unit::Pound, Unit::Kilogram].iter().any(|unit| weight % unit.scale() == 0)
        }
        _ => true,
    };
    (!is_heavy || is_of_a_truck)
        && is_weight
        && (word(Fact::Protocol) != Some("obd-on-uds") || is_new)
        && !(is_out_of_reach && answers)
}
