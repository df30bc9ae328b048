//! The one table of facts: grammar words, JSON keys, types, units, ranges, who can observe them, what observing costs.
//! Documentation, completions, the JSON Schema and messages all come from it.

use super::{Fact, FactType, Monitor, MonitorState, Unit};

/// Who or what can tell a fact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Observer {
    /// The diagnostic connector, with a reader.
    Reader,
    /// A look at the vehicle.
    Look,
    /// The papers: registration, plate, the earlier report.
    Papers,
    /// No observer: the visit itself fixes it.
    Visit,
}

impl Observer {
    /// What it costs to find out, in steps: reader 1, a look 2, papers 3. Design figure, not a standard's.
    #[must_use]
    pub fn cost(self) -> u32 {
        match self {
            Observer::Reader | Observer::Visit => 1,
            Observer::Look => 2,
            Observer::Papers => 3,
        }
    }

    /// The observer in a word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Observer::Reader => "reader",
            Observer::Look => "look",
            Observer::Papers => "papers",
            Observer::Visit => "visit",
        }
    }

    /// How it is found out, as a person would say it in a sentence.
    #[must_use]
    pub fn spoken(self) -> &'static str {
        match self {
            Observer::Reader => "with a scan tool",
            Observer::Look => "look",
            Observer::Papers => "see papers",
            Observer::Visit => "at the visit",
        }
    }

    /// What a person does to find out that something is so, up to *that*.
    #[must_use]
    pub fn step(self) -> &'static str {
        match self {
            Observer::Reader => "make sure by a scan",
            Observer::Look => "make sure by a look",
            Observer::Papers => "make sure in the papers",
            Observer::Visit => "make sure",
        }
    }
}

/// One row of the table.
#[derive(Debug, Clone, Copy)]
pub struct FactSpec {
    /// Which fact.
    pub fact: Fact,
    /// Name in program files (for yes/no facts the words of the type are used instead) and in messages.
    pub name: &'static str,
    /// Path in the snapshot document.
    pub key: &'static str,
    /// Type, unit and range.
    pub kind: FactType,
    /// Whether a vehicle may be without it (`"not-on-vehicle"`).
    pub may_be_absent: bool,
    /// Who can tell.
    pub observer: Observer,
    /// The value that a vehicle in good order shows, as a word; monitors, codes and the lamp command have none.
    pub sound: Option<&'static str>,
    /// What it is, and where it is read from.
    pub about: &'static str,
    /// The question to put to a person.
    pub question: &'static str,
}

const fn row(fact: Fact, name: &'static str, key: &'static str, kind: FactType, observer: Observer) -> FactSpec {
    FactSpec { fact, name, key, kind, may_be_absent: false, observer, sound: None, about: "", question: "" }
}

impl FactSpec {
    const fn about(mut self, about: &'static str, question: &'static str) -> FactSpec {
        self.about = about;
        self.question = question;
        self
    }
    const fn absent(mut self) -> FactSpec {
        self.may_be_absent = true;
        self
    }
    const fn sound(mut self, word: &'static str) -> FactSpec {
        self.sound = Some(word);
        self
    }
}

const fn number(unit: Unit, least: i64, most: i64, saturates: bool) -> FactType {
    FactType::Number { unit, least, most, saturates }
}
const fn yes_no(yes: &'static str, no: &'static str) -> FactType {
    FactType::YesNo { yes, no }
}

/// Fuels, of registration and in use.
pub const FUELS: &[&str] =
    &["gasoline", "diesel", "natural-gas", "propane", "ethanol", "methanol", "hydrogen", "electric", "other-fuel"];
/// Vehicle classes; the federal terms of 40 CFR 86 in plain words, and the ones states except by name.
pub const CLASSES: &[&str] = &[
    "light-duty",
    "light-truck",
    "medium-duty-passenger",
    "heavy-duty",
    "motorcycle",
    "bus",
    "motor-home",
    "farm",
    "historic",
    "military",
    "emergency",
    "other-class",
];

use Fact as F;
use Observer as O;
use Unit as U;

/// Every fact but the monitors, which share one row each made by [`spec`].
pub const FACTS: &[FactSpec] = &[
    row(F::ModelYear, "model year", "vehicle.model_year", number(U::One, 1900, 2100, false), O::Papers)
        .about("model year on the emission label (under the hood) or title", "What is the model year?"),
    row(F::Fuel, "fuel", "vehicle.fuel", FactType::Words(FUELS), O::Papers)
        .about("fuel the vehicle is registered for", "What fuel does it run on?"),
    row(F::FuelInUse, "fuel in use", "vehicle.fuel_in_use", FactType::Words(FUELS), O::Reader)
        .about("fuel it is running on at the visit; service $01 PID $51", "Which fuel is it running on now?"),
    row(F::Ignition, "ignition", "vehicle.ignition", FactType::Words(&["spark", "compression"]), O::Reader)
        .about("service $01 PID $01 byte B bit 3 of the engine controller", "Is it spark or compression ignition?"),
    row(F::Class, "class", "vehicle.class", FactType::Words(CLASSES), O::Papers)
        .about("class of the vehicle", "What class of vehicle is it?"),
    row(F::GrossWeight, "gross weight", "vehicle.gross_weight_lb", number(U::Pound, 0, 200_000, false), O::Papers)
        .about("gross vehicle weight rating on the door label", "What is the gross weight rating on the door label?"),
    row(F::Hybrid, "hybrid", "vehicle.hybrid", yes_no("hybrid", "not hybrid"), O::Papers)
        .about("combustion engine and electric drive together", "Is it a hybrid?"),
    row(F::PlugIn, "plug-in", "vehicle.plug_in", yes_no("plug-in", "not plug-in"), O::Papers)
        .about("can be charged from outside", "Can it be plugged in to charge?"),
    row(F::Make, "make", "vehicle.make", FactType::Text, O::Papers).about("make", "What make is it?"),
    row(F::Model, "model", "vehicle.model", FactType::Text, O::Papers).about("model", "What model is it?"),
    row(F::Engine, "engine", "vehicle.engine", FactType::Text, O::Papers).about(
        "engine or engine family on the emission label",
        "Which engine does the emission label under the hood name?",
    ),
    row(F::FirstRegistered, "first registered", "vehicle.first_registered", FactType::Date, O::Papers)
        .about("date of first registration", "When was it first registered?"),
    row(F::TestDate, "test date", "visit.date", FactType::Date, O::Visit)
        .about("date of the visit; ages and windows are counted from it", "On what date is the test?"),
    row(F::Visit, "visit", "visit.kind", FactType::Words(&["initial", "retest"]), O::Visit).about(
        "first test of its cycle, or a test after a failed or rejected one",
        "Is this a first test or a retest?",
    ),
    row(F::Purpose, "purpose", "visit.purpose", FactType::Words(&["renewal", "sale", "first-registration"]), O::Visit)
        .about("what the certificate is for", "What is the test for?"),
    row(F::Area, "area", "visit.area", FactType::Text, O::Papers)
        .about("county or district of registration", "In which county is it registered?"),
    row(F::Odometer, "odometer", "visit.odometer_km", number(U::Kilometre, 0, 4_294_967, false), O::Look)
        .about("odometer at the visit", "What does the odometer show?"),
    row(
        F::EarlierIncompleteVisits,
        "earlier incomplete visits",
        "visit.earlier_readiness_rejections",
        number(U::One, 0, 99, false),
        O::Papers,
    )
    .about(
        "incomplete-readiness visits of this cycle before this one, whatever the program calls them",
        "How many times in this cycle was it turned away or failed for incomplete monitors?",
    ),
    row(
        F::HoursSincePrevious,
        "time since the previous test",
        "visit.hours_since_previous",
        number(U::Hour, 0, 87_600, false),
        O::Papers,
    )
    .about("hours between the earlier test of this cycle and this one", "How many hours ago was the previous test?"),
    row(
        F::DistanceSincePrevious,
        "distance since the previous test",
        "visit.distance_km_since_previous",
        number(U::Kilometre, 0, 1_000_000, false),
        O::Papers,
    )
    .about(
        "distance driven between the earlier test of this cycle and this one",
        "How far has it been driven since the previous test?",
    ),
    row(F::EarlierFailureCodes, "earlier failure code", "visit.earlier_failure_codes", FactType::Codes, O::Papers)
        .about("codes of the failing test that this visit follows", "Which codes did the failing test report?"),
    row(F::EarlierCodes, "earlier code", "visit.earlier_codes", FactType::Codes, O::Papers).about(
        "codes reported at the previous inspection, failed or not",
        "Which codes did the previous inspection report?",
    ),
    row(F::EarlierIncomplete, "incomplete earlier", "visit.earlier_incomplete", FactType::Monitors, O::Papers).about(
        "monitors incomplete at the earlier test of this cycle",
        "Which monitors were incomplete at the earlier test?",
    ),
    row(
        F::EarlierIncompleteCount,
        "number incomplete earlier",
        "visit.earlier_incomplete_count",
        number(U::One, 0, 32, false),
        O::Papers,
    )
    .about(
        "how many counted monitors were incomplete at the earlier test",
        "How many monitors were incomplete at the earlier test?",
    ),
    row(F::EarlierLampMonitors, "lit the lamp earlier", "visit.earlier_lamp_monitors", FactType::Monitors, O::Papers)
        .about(
            "monitors that commanded the lamp at the failing test; observed, never derived from codes",
            "Which monitors lit the lamp at the failing test?",
        ),
    row(
        F::Connector,
        "connector",
        "connector",
        FactType::Words(&["intact", "missing", "tampered", "inoperable", "inaccessible"]),
        O::Look,
    )
    .sound("intact")
    .about("state of the diagnostic connector (SAE J1962)", "Is the diagnostic connector intact?"),
    row(
        F::Communication,
        "communication",
        "communication",
        FactType::Words(&["none", "established", "unsupported-protocol"]),
        O::Reader,
    )
    .sound("established")
    .about(
        "whether the vehicle answers on a protocol the program's equipment knows",
        "Does the vehicle answer on its connector?",
    ),
    row(F::Protocol, "protocol", "link.protocol", FactType::Words(&["classic", "j1939", "obd-on-uds"]), O::Reader)
        .about("SAE J1979 classic services, J1939-73, or J1979-2 (OBDonUDS)", "Which diagnostic protocol does it use?"),
    row(
        F::VinInData,
        "VIN in the data",
        "link.vin_in_data",
        yes_no("VIN in the data", "VIN not in the data"),
        O::Reader,
    )
    .sound("yes")
    .about("service $09 InfoType $02 gives a VIN", "Does the data hold a VIN?"),
    row(F::VinMatches, "VIN match", "link.vin_matches", yes_no("VIN matches", "VIN does not match"), O::Reader)
        .sound("yes")
        .about("the VIN in the data is the vehicle's", "Is the VIN in the data the one on the vehicle?"),
    row(
        F::LampCommanded,
        "lamp command",
        "lamp.commanded",
        yes_no("lamp commanded on", "lamp not commanded on"),
        O::Reader,
    )
    .about(
        "service $01 PID $01 byte A bit 7 of any controller: the command, not the lamp",
        "Does the data say the malfunction lamp is commanded on?",
    ),
    row(
        F::LampLitKeyOn,
        "lamp with the key on",
        "lamp.lit_key_on_engine_off",
        yes_no("lamp lit with the key on", "lamp dark with the key on"),
        O::Look,
    )
    .sound("yes")
    .absent()
    .about(
        "the malfunction lamp lights with the key on and the engine off, before cranking",
        "With the key on and the engine off, does the malfunction lamp light?",
    ),
    row(
        F::LampLitRunning,
        "lamp with the engine running",
        "lamp.lit_engine_running",
        yes_no("lamp lit with the engine running", "lamp dark with the engine running"),
        O::Look,
    )
    .sound("no")
    .absent()
    .about(
        "the malfunction lamp is lit with the engine running",
        "With the engine running, is the malfunction lamp lit?",
    ),
    row(F::LampFlashing, "lamp flashing", "lamp.flashing", yes_no("lamp flashing", "lamp not flashing"), O::Look)
        .sound("no")
        .absent()
        .about(
            "the malfunction lamp flashes with the engine running",
            "With the engine running, does the malfunction lamp flash?",
        ),
    row(F::StoredCodes, "stored code", "codes.stored", FactType::Codes, O::Reader)
        .about("confirmed codes, service $03", "Which stored (confirmed) codes are there?"),
    row(F::PendingCodes, "pending code", "codes.pending", FactType::Codes, O::Reader)
        .absent()
        .about("pending codes, service $07", "Which pending codes are there?"),
    row(F::PermanentCodes, "permanent code", "codes.permanent", FactType::Codes, O::Reader).absent().about(
        "permanent codes, service $0A; fitted from model year 2010 (conformance source) with a phase-in (memory)",
        "Which permanent codes are there?",
    ),
    row(F::WarmUps, "warm-ups since clearing", "since_clear.warm_ups", number(U::One, 0, 255, true), O::Reader)
        .absent()
        .about("service $01 PID $30; 255 means 255 or more", "How many warm-ups since the codes were cleared?"),
    row(
        F::DistanceSinceClear,
        "distance since clearing",
        "since_clear.distance_km",
        number(U::Kilometre, 0, 65_535, true),
        O::Reader,
    )
    .absent()
    .about(
        "service $01 PID $31; 65535 km means that or more",
        "How far has it been driven since the codes were cleared?",
    ),
    row(
        F::MinutesSinceClear,
        "engine time since clearing",
        "since_clear.minutes",
        number(U::Minute, 0, 65_535, true),
        O::Reader,
    )
    .absent()
    .about(
        "service $01 PID $4E; 65535 min means that or more",
        "How long has the engine run since the codes were cleared?",
    ),
    row(
        F::DistanceSinceLamp,
        "distance with the lamp on",
        "since_lamp_on.distance_km",
        number(U::Kilometre, 0, 65_535, true),
        O::Reader,
    )
    .absent()
    .about("service $01 PID $21; 65535 km means that or more", "How far has it been driven with the lamp on?"),
    row(
        F::MinutesSinceLamp,
        "engine time with the lamp on",
        "since_lamp_on.minutes",
        number(U::Minute, 0, 65_535, true),
        O::Reader,
    )
    .absent()
    .about("service $01 PID $4D; 65535 min means that or more", "How long has the engine run with the lamp on?"),
];

/// The row of a fact.
#[must_use]
pub fn spec(fact: Fact) -> FactSpec {
    if let Fact::Monitor(monitor) = fact {
        return row(fact, monitor.name(), "monitors", FactType::Words(&MonitorState::WORDS), Observer::Reader).about(
            "readiness since the codes were cleared; service $01 PID $01 or J1939 DM5",
            "Is the monitor complete, incomplete or unsupported?",
        );
    }
    FACTS.get(fact.place()).copied().unwrap_or(row(fact, "", "", FactType::Text, Observer::Visit))
}

/// Every fact, monitors included, in table order.
pub fn all_facts() -> impl Iterator<Item = Fact> {
    FACTS.iter().map(|row| row.fact).chain(Monitor::all().map(Fact::Monitor))
}

/// The path of a fact in the snapshot document, `monitors.catalyst` for a monitor.
#[must_use]
pub fn key_of(fact: Fact) -> String {
    match fact {
        Fact::Monitor(monitor) => format!("monitors.{}", monitor.name()),
        other => spec(other).key.to_owned(),
    }
}

/// The unit in which a fact's numbers are told; plain for a fact that is no number.
#[must_use]
pub fn unit_of(fact: Fact) -> Unit {
    match spec(fact).kind {
        FactType::Number { unit, .. } => unit,
        _ => Unit::One,
    }
}
