//! The numbers of several ECUs joined: counters since clearing and with the lamp on, what the
//! vehicle was certified to, the fuel in use, the odometer.
//!
//! Rules: obd-data.md sections 1.5 and 1.9. Only engine controllers count; a saturated value stays
//! as it is; a disagreement is flagged.

use std::collections::BTreeSet;

use serde_json::json;

use super::aggregate::Vehicle;
use super::ecu::{EcuId, Quantity, Reading};
use super::facts::{Facts, Origin};
use super::quality::Flags;

/// Which of several engine controllers' values stands.
#[derive(Clone, Copy)]
enum Choice {
    /// The smallest: the most recent clear.
    Smallest,
    /// The largest: the lamp has been on that long for the driver. Our choice; the digest gives a
    /// rule for the values since clearing only.
    Largest,
}

const COUNTERS: [(Quantity, &str, Choice); 5] = [
    (Quantity::WarmUpsSinceClear, "since_clear.warm_ups", Choice::Smallest),
    (Quantity::DistanceSinceClear, "since_clear.distance_km", Choice::Smallest),
    (Quantity::MinutesSinceClear, "since_clear.minutes", Choice::Smallest),
    (Quantity::DistanceLampOn, "since_lamp_on.distance_km", Choice::Largest),
    (Quantity::MinutesLampOn, "since_lamp_on.minutes", Choice::Largest),
];

type Readings<'a> = Vec<(EcuId, &'a Reading<u32>)>;

fn readings<'a>(vehicle: &Vehicle<'a>, quantity: Quantity) -> Readings<'a> {
    vehicle.ecus.iter().filter_map(|(id, ecu)| ecu.quantities.get(&quantity).map(|r| (*id, r))).collect()
}

fn origins(readings: &Readings<'_>) -> Vec<Origin> {
    readings.iter().map(|(id, r)| Origin::of(*id, r)).collect()
}

fn lines(readings: &Readings<'_>) -> Vec<usize> {
    readings.iter().map(|(_, r)| r.line).collect()
}

fn listed(readings: &Readings<'_>) -> String {
    let parts: Vec<String> = readings.iter().map(|(id, r)| format!("{id} {}", r.value)).collect();
    parts.join(", ")
}

fn differ(readings: &Readings<'_>) -> bool {
    readings.iter().map(|(_, r)| r.value).collect::<BTreeSet<u32>>().len() > 1
}

/// Sets the counters since clearing and with the lamp on.
pub(super) fn counters(vehicle: &Vehicle<'_>, facts: &mut Facts, flags: &mut Flags) {
    for (quantity, path, choice) in COUNTERS {
        let all = readings(vehicle, quantity);
        let engine: Readings<'_> = all.iter().filter(|(id, _)| vehicle.engine.contains(id)).copied().collect();
        let used = if vehicle.status_known { &engine } else { &all };
        if used.is_empty() {
            if !all.is_empty() {
                flags.over_lines(
                    "counter-not-from-engine",
                    format!("{path}: no engine controller gave it ({}); it stays not known", listed(&all)),
                    lines(&all),
                );
            } else if not_on_vehicle(vehicle, quantity) {
                facts.set(path, "not-on-vehicle", &bitmap_origins(vehicle));
            }
            continue;
        }
        if !vehicle.status_known {
            if differ(used) {
                flags.over_lines(
                    "engine-controller-not-identified",
                    format!(
                        "{path}: the ECUs differ ({}) and none gave its monitor status, so it is \
                         not known which is the engine controller; the number stays not known",
                        listed(used)
                    ),
                    lines(used),
                );
                continue;
            }
            flags.over_lines(
                "engine-controller-not-identified",
                "no ECU gave its monitor status, so the engine controller is not identified; \
                 numbers on which all agree are used",
                lines(used),
            );
        } else if differ(&all) {
            let rule = match choice {
                Choice::Smallest => "smallest",
                Choice::Largest => "largest",
            };
            flags.over_lines(
                "counters-differ",
                format!("{path}: the ECUs differ ({}); the {rule} of the engine controllers is used", listed(&all)),
                lines(&all),
            );
        }
        let value = match choice {
            Choice::Smallest => used.iter().map(|(_, r)| r.value).min(),
            Choice::Largest => used.iter().map(|(_, r)| r.value).max(),
        };
        let Some(value) = value else {
            continue;
        };
        if used.iter().any(|(id, r)| r.value == value && tops_out(*id, quantity, value)) {
            flags.over_lines(
                "saturated",
                format!("{path}: {value} is the largest number of SAE J1939 and means that or more"),
                lines(used),
            );
        }
        facts.set(path, value, &origins(used));
    }
}

/// J1939 numbers end below the J1979 ones: 250 and 64255 (obd-data.md section 2.3).
fn tops_out(id: EcuId, quantity: Quantity, value: u32) -> bool {
    let top = if quantity == Quantity::WarmUpsSinceClear { 0xFA } else { 0xFAFF };
    matches!(id, EcuId::J1939(_)) && value == top
}

/// Whether every engine controller says by its bitmaps that it does not have the number.
fn not_on_vehicle(vehicle: &Vehicle<'_>, quantity: Quantity) -> bool {
    !vehicle.engine.is_empty()
        && vehicle
            .engine
            .iter()
            .all(|id| vehicle.ecus.get(id).and_then(|ecu| ecu.supports(quantity.pid())) == Some(false))
}

fn bitmap_origins(vehicle: &Vehicle<'_>) -> Vec<Origin> {
    vehicle
        .engine
        .iter()
        .filter_map(|id| vehicle.ecus.get(id).map(|ecu| (id, ecu)))
        .flat_map(|(id, ecu)| ecu.supported.values().map(|r| Origin::of(*id, r)))
        .collect()
}

/// Sets what the vehicle was certified to, raw numbers (obd-data.md sections 1.5 and 1.9).
pub(super) fn requirement(vehicle: &Vehicle<'_>, facts: &mut Facts, flags: &mut Flags) {
    let all = readings(vehicle, Quantity::ObdRequirement);
    let engine: Readings<'_> = all.iter().filter(|(id, _)| vehicle.engine.contains(id)).copied().collect();
    let used = if engine.is_empty() && !vehicle.status_known { &all } else { &engine };
    if used.is_empty() {
        return;
    }
    let numbers: BTreeSet<u32> = used.iter().map(|(_, r)| r.value).collect();
    for number in &numbers {
        // The numbers of the table in obd-data.md section 1.5: 1 to 21 and 23 to 59.
        if !matches!(number, 1..=21 | 23..=59) {
            flags.over_lines(
                "requirement-not-known",
                format!("PID 1C is {number}, which has no meaning here; that is not \"no OBD\""),
                lines(used),
            );
        }
    }
    facts.set("link.obd_requirement", json!(numbers), &origins(used));
}

/// The word for a number of PID $51 (obd-data.md section 1.5), where the facts have one. LPG and
/// propane are one word; a hybrid or bi-fuel vehicle gives the fuel that it runs on.
fn fuel_word(number: u32) -> Option<&'static str> {
    Some(match number {
        1 | 9 | 17 => "gasoline",
        3 | 11 | 18 => "ethanol",
        4 | 19 | 23 => "diesel",
        5 | 7 | 12 | 14 => "propane",
        6 | 13 | 26 => "natural-gas",
        8 | 15 | 20 => "electric",
        _ => return None,
    })
}

/// Sets the fuel in use now. It can change while driving, so it is never the vehicle's fuel.
pub(super) fn fuel_in_use(vehicle: &Vehicle<'_>, facts: &mut Facts, flags: &mut Flags) {
    let used: Readings<'_> = readings(vehicle, Quantity::FuelInUse)
        .into_iter()
        .filter(|(id, r)| (!vehicle.status_known || vehicle.engine.contains(id)) && r.value != 0)
        .collect();
    let Some((_, first)) = used.first() else {
        return;
    };
    if differ(&used) {
        flags.over_lines(
            "fuel-in-use-differs",
            format!("the ECUs differ on the fuel in use ({}); it stays not known", listed(&used)),
            lines(&used),
        );
        return;
    }
    match fuel_word(first.value) {
        Some(word) => facts.set("vehicle.fuel_in_use", word, &origins(&used)),
        None => flags.over_lines(
            "fuel-in-use-not-named",
            format!("PID 51 is {}, for which the facts have no word; it stays not known", first.value),
            lines(&used),
        ),
    }
}

/// Sets the odometer where no person gave it; tenths of a kilometre are cut off.
pub(super) fn odometer(vehicle: &Vehicle<'_>, facts: &mut Facts, flags: &mut Flags) {
    let all = readings(vehicle, Quantity::Odometer);
    let Some(largest) = all.iter().map(|(_, r)| r.value).max() else {
        return;
    };
    let kilometres = largest / 10;
    let said = facts.get("visit", "odometer_km").and_then(serde_json::Value::as_u64);
    match said {
        Some(said) if said != u64::from(kilometres) => flags.over_lines(
            "odometer-differs",
            format!("a person read {said} km, PID A6 says {kilometres} km; the person's stands"),
            lines(&all),
        ),
        Some(_) => {}
        None if differ(&all) => flags.over_lines(
            "odometer-differs",
            format!("the ECUs differ on the odometer in tenths of a km ({}); it stays not known", listed(&all)),
            lines(&all),
        ),
        None => facts.set("visit.odometer_km", kilometres, &origins(&all)),
    }
}
