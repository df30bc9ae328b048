//! What identifies the vehicle and the link: what a person said, the VIN, calibrations, protocol.
//!
//! Where a person and the data disagree, both are said and nothing is guessed away.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::json;

use super::aggregate::Vehicle;
use super::asked::Requests;
use super::ecu::{EcuId, Reading, VinAnswer};
use super::facts::{Facts, Origin};
use super::options::{BulbCheck, Communication, Options, RunningLamp};
use super::quality::Flags;
use super::vin::{CheckDigit, Vin};

/// Sets what a person said.
pub(super) fn said(options: &Options, facts: &mut Facts) {
    let person = &[Origin::Person];
    let numbers = [
        ("vehicle.model_year", options.model_year.map(u32::from)),
        ("vehicle.gross_weight_lb", options.gross_weight_lb),
        ("visit.odometer_km", options.odometer_km),
    ];
    for (path, number) in numbers {
        if let Some(number) = number {
            facts.set(path, number, person);
        }
    }
    let words = [
        ("vehicle.fuel", &options.fuel),
        ("vehicle.class", &options.class),
        ("visit.date", &options.date),
        ("visit.kind", &options.visit_kind),
        ("visit.area", &options.area),
        ("connector", &options.connector),
    ];
    for (path, word) in words {
        if let Some(word) = word {
            facts.set(path, word.as_str(), person);
        }
    }
    if let Some(bulb) = options.lamp_bulb {
        facts.set("lamp.lit_key_on_engine_off", bulb == BulbCheck::Ok, person);
    }
    if let Some(running) = options.lamp_running {
        facts.set("lamp.lit_engine_running", running != RunningLamp::Dark, person);
        facts.set("lamp.flashing", running == RunningLamp::Flashing, person);
    }
}

/// Sets whether the vehicle communicated, and the protocol.
pub(super) fn link(
    vehicle: &Vehicle<'_>,
    options: &Options,
    requests: &Requests,
    facts: &mut Facts,
    flags: &mut Flags,
) {
    let person = &[Origin::Person];
    if vehicle.ecus.is_empty() {
        flags.over_lines(
            "nothing-answered",
            if requests.asked.is_empty() {
                "the input holds no answer of an ECU; nothing is known from it"
            } else {
                "requests were sent and no ECU answered; that may be the reader, the key or the \
                 protocol, so communication stays not known"
            },
            requests.asked.values().copied(),
        );
        match options.communication {
            Some(Communication::Yes) => facts.set("communication", true, person),
            Some(Communication::No) => facts.set("communication", false, person),
            Some(Communication::UnsupportedProtocol) => {
                facts.set("communication", "unsupported-protocol", person);
            }
            None => {}
        }
        return;
    }
    if matches!(options.communication, Some(Communication::No | Communication::UnsupportedProtocol)) {
        flags.over_lines(
            "communication-differs",
            "a person said that there was no communication, but ECUs answered; the answers stand",
            first_answers(vehicle).iter().map(Origin::line),
        );
    }
    facts.set("communication", true, &first_answers(vehicle));
    let mut protocols: BTreeSet<&str> = BTreeSet::new();
    for (id, ecu) in &vehicle.ecus {
        if matches!(id, EcuId::J1939(_)) {
            protocols.insert("j1939");
        }
        if ecu.speaks_classic {
            protocols.insert("classic");
        }
        if ecu.speaks_uds {
            protocols.insert("obd-on-uds");
        }
    }
    let mut only = protocols.iter();
    match (only.next(), only.next()) {
        (Some(protocol), None) => facts.set("link.protocol", *protocol, &first_answers(vehicle)),
        (None, _) => {}
        (Some(_), Some(_)) => flags.over_lines(
            "more-than-one-protocol",
            format!("answers in several protocols ({protocols:?}); the protocol stays not known"),
            first_answers(vehicle).iter().map(Origin::line),
        ),
    }
}

/// One answer of each ECU, as evidence that it answered.
fn first_answers(vehicle: &Vehicle<'_>) -> Vec<Origin> {
    vehicle
        .ecus
        .iter()
        .filter_map(|(id, ecu)| {
            let status = ecu.monitor_status.as_ref().map(|r| Origin::of(*id, r));
            let heavy = ecu.heavy_duty.as_ref().map(|r| Origin::of(*id, r));
            let vin = ecu.vin.as_ref().map(|r| Origin::of(*id, r));
            let number = ecu.quantities.values().next().map(|r| Origin::of(*id, r));
            let codes = [&ecu.stored, &ecu.pending, &ecu.permanent]
                .into_iter()
                .flatten()
                .find_map(|list| list.sources.first())
                .map(|source| Origin::Answer { ecu: *id, bytes: source.bytes.clone(), line: source.line });
            status.or(heavy).or(number).or(vin).or(codes)
        })
        .collect()
}

/// Sets the calibration identifications of all ECUs.
pub(super) fn calibrations(vehicle: &Vehicle<'_>, facts: &mut Facts) {
    let readings: Vec<(EcuId, &Reading<Vec<String>>)> =
        vehicle.ecus.iter().filter_map(|(id, ecu)| ecu.calibration_ids.as_ref().map(|r| (*id, r))).collect();
    if readings.is_empty() {
        return;
    }
    let ids: BTreeSet<&String> = readings.iter().flat_map(|(_, r)| &r.value).collect();
    let origins: Vec<Origin> = readings.iter().map(|(id, r)| Origin::of(*id, r)).collect();
    facts.set("link.calibration_ids", json!(ids), &origins);
}

/// Sets what the data say of the VIN and compares it with what a person read.
pub(super) fn vin(vehicle: &Vehicle<'_>, options: &Options, requests: &Requests, facts: &mut Facts, flags: &mut Flags) {
    let seen = options.vin.as_ref().and_then(|text| typed(text, flags));
    let mut read: BTreeMap<&String, Vec<Origin>> = BTreeMap::new();
    let mut blank: Vec<Origin> = Vec::new();
    let mut malformed = false;
    for (id, ecu) in &vehicle.ecus {
        if let Some(reading) = &ecu.vin {
            let origin = Origin::of(*id, reading);
            match &reading.value {
                VinAnswer::Text(text) => read.entry(text).or_default().push(origin),
                VinAnswer::Blank => {
                    flags.at("vin-blank", format!("{id} gave fill bytes in place of a VIN"), reading.line);
                    blank.push(origin);
                }
                VinAnswer::Malformed(text) => {
                    malformed = true;
                    flags.at(
                        "vin-malformed",
                        format!("{id} gave `{text}`, which is no VIN; it is not used"),
                        reading.line,
                    );
                }
            }
        }
        let engine = !vehicle.status_known || vehicle.engine.contains(id);
        for ((service, code), line) in &ecu.refusals {
            // Codes that say that there is nothing: 11, 12 and 31 (obd-data.md section 1.8).
            if matches!((service, code), (0x09 | 0x22, 0x11 | 0x12 | 0x31)) && engine {
                let asked_vin = requests.asked.contains_key(&(0x09, Some(0x02)));
                if *service == 0x09 && (asked_vin || requests.asked.is_empty()) {
                    let bytes = vec![0x7F, *service, *code];
                    blank.push(Origin::Answer { ecu: *id, bytes, line: *line });
                }
            }
        }
    }
    let mut only = read.iter();
    match (only.next(), only.next()) {
        (None, _) => {
            if !blank.is_empty() && !malformed {
                facts.set("link.vin_in_data", false, &blank);
            } else if let (Some(line), false, true) =
                (requests.asked.get(&(0x09, Some(0x02))), malformed, blank.is_empty())
            {
                flags.at(
                    "silence",
                    "the VIN was asked for and no usable answer came: whether the data hold it is not known",
                    *line,
                );
            }
            if let Some(vin) = seen {
                years(&vin, &[Origin::Person], options, facts, flags);
            }
        }
        (Some((text, origins)), None) => {
            facts.set("link.vin_in_data", true, origins);
            facts.set("link.vin", text.as_str(), origins);
            if let Ok(vin) = Vin::parse(text) {
                judge(&vin, origins, flags);
                years(&vin, origins, options, facts, flags);
            }
            if let Some(seen) = seen {
                let matches = seen.as_str() == text.as_str();
                if !matches {
                    flags.over_lines(
                        "vin-differs",
                        format!("the VIN in the data is {text}, a person read {seen}"),
                        origins.iter().map(Origin::line),
                    );
                }
                let mut both = origins.clone();
                both.push(Origin::Person);
                facts.set("link.vin_matches", matches, &both);
            }
        }
        (Some(_), Some(_)) => {
            let origins: Vec<Origin> = read.values().flatten().cloned().collect();
            facts.set("link.vin_in_data", true, &origins);
            let texts: Vec<&str> = read.keys().map(|text| text.as_str()).collect();
            flags.over_lines(
                "vin-conflict",
                format!(
                    "the ECUs hold different VINs ({}): a controller of another vehicle, or two \
                     vehicles in one capture; the VIN stays not known",
                    texts.join(", ")
                ),
                origins.iter().map(Origin::line),
            );
        }
    }
}

/// A VIN as a person types it; capital letters are made of small ones.
fn typed(text: &str, flags: &mut Flags) -> Option<Vin> {
    match Vin::parse(&text.trim().to_ascii_uppercase()) {
        Ok(vin) => {
            judge(&vin, &[Origin::Person], flags);
            Some(vin)
        }
        Err(error) => {
            flags.note("vin-as-read-malformed", format!("the VIN that a person read is not usable: {error}"));
            None
        }
    }
}

fn judge(vin: &Vin, origins: &[Origin], flags: &mut Flags) {
    if let CheckDigit::Differs { expected } = vin.check_digit() {
        flags.over_lines(
            "vin-check-digit",
            format!(
                "the check digit of {vin} should be {expected}: a character may be misread, or the \
                 vehicle was made for another market"
            ),
            origins.iter().map(Origin::line),
        );
    }
}

/// Compares the model year with the VIN, or takes it from there where the VIN decides it.
fn years(vin: &Vin, origins: &[Origin], options: &Options, facts: &mut Facts, flags: &mut Flags) {
    let lines = || origins.iter().map(Origin::line);
    let years = vin.model_years();
    let Some((early, late)) = years.candidates else {
        if vin.check_digit_required() {
            flags.over_lines("vin-year-code", format!("position 10 of {vin} is no model year code"), lines());
        }
        return;
    };
    let light = match (options.gross_weight_lb, &options.class) {
        (Some(pounds), _) => Some(pounds <= 10_000),
        (None, Some(class)) if class.starts_with("light-duty") => Some(true),
        (None, _) => None,
    };
    // 49 CFR 565.15 binds vehicles for the United States; elsewhere position 10 need be no year.
    let binding = vin.check_digit_required();
    let decided = years.by_position_7.filter(|_| binding && light == Some(true));
    match (options.model_year, decided) {
        (Some(said), Some(decided)) if said != decided => flags.over_lines(
            "model-year-differs-from-vin",
            format!("a person gave model year {said}, the VIN {vin} says {decided}; the person's stands"),
            lines(),
        ),
        (Some(said), None) if binding && said != early && said != late => flags.over_lines(
            "model-year-differs-from-vin",
            format!(
                "a person gave model year {said}, the VIN {vin} allows {early} or {late}; the \
                 person's stands"
            ),
            lines(),
        ),
        (Some(_), _) => {}
        (None, Some(decided)) => {
            facts.set("vehicle.model_year", decided, origins);
            flags.over_lines(
                "model-year-from-vin",
                format!("model year {decided} was taken from the VIN {vin}; the certification label decides"),
                lines(),
            );
        }
        (None, None) => flags.over_lines(
            "model-year-not-decided",
            format!("the VIN {vin} allows model years {early} and {late}; give the model year"),
            lines(),
        ),
    }
}

/// Fuel as a person said it against the table of monitors.
pub(super) fn ignition(options: &Options, facts: &mut Facts, flags: &mut Flags) {
    let ignition = facts.get("vehicle", "ignition").and_then(serde_json::Value::as_str);
    let lines = facts.lines("vehicle.ignition");
    match (options.fuel.as_deref(), ignition) {
        (Some("diesel"), Some("spark")) => {
            // Before model year 2010 a diesel may send B3 = 0 (obd-data.md section 1.2).
            facts.unset("vehicle.ignition");
            flags.over_lines(
                "fuel-and-monitors-differ",
                "a person said diesel, the monitors are those of the spark table. Before model year \
                 2010 a diesel may report so; the ignition type stays not known",
                lines,
            );
        }
        (Some(fuel @ ("gasoline" | "ethanol")), Some("compression")) => {
            flags.over_lines(
                "fuel-and-monitors-differ",
                format!("a person said {fuel}, the monitors are those of a compression-ignition engine; both stand"),
                lines,
            );
        }
        _ => {}
    }
}
