//! Answers of service $09, vehicle information: VIN, calibrations, counters, ECU name.
//!
//! CAN and legacy layouts: obd-data.md section 1.7. Legacy answers come in several messages and
//! are put together by [`finish`] at the end of the input.

use std::collections::BTreeMap;

use super::ecu::{EcuAnswers, EcuId, Reading, VinAnswer};
use super::hex;
use super::quality::Flags;
use super::services::Message;
use super::vin::{Vin, VinError};

const VIN: u8 = 0x02;
const CALIBRATION_IDS: u8 = 0x04;
const CALIBRATION_NUMBERS: u8 = 0x06;
const PERFORMANCE_SPARK: u8 = 0x08;
const ECU_NAME: u8 = 0x0A;
const PERFORMANCE_COMPRESSION: u8 = 0x0B;

/// Reads one message; `data` follows the service byte.
pub(super) fn read(message: Message<'_>, data: &[u8], ecu: &mut EcuAnswers, flags: &mut Flags) {
    let [kind, number, items @ ..] = data else {
        too_short(message, flags);
        return;
    };
    if matches!(message.ecu, EcuId::Legacy(_)) {
        match items {
            &[a, b, c, d] => {
                let parts = ecu.parts.entry(*kind).or_default();
                parts.insert(*number, ([a, b, c, d], message.line));
            }
            // Odd InfoTypes carry a message count of one byte, which is not needed.
            _ if kind % 2 == 1 => {}
            _ => too_short(message, flags),
        }
        return;
    }
    let size = match *kind {
        VIN => 17,
        CALIBRATION_IDS => 16,
        CALIBRATION_NUMBERS => 4,
        PERFORMANCE_SPARK | PERFORMANCE_COMPRESSION => 2,
        ECU_NAME => 20,
        _ => return,
    };
    if items.len() != usize::from(*number).saturating_mul(size) {
        flags.at(
            "information-odd",
            format!(
                "{}: InfoType {kind:02X} has not {number} items of {size} bytes, not used: {}",
                message.ecu,
                hex::spaced(message.bytes)
            ),
            message.line,
        );
        // Even so it is no silence: for the VIN it counts as an answer that is no VIN.
        if *kind == VIN {
            message.put(&mut ecu.vin, vin_answer(items), "the VIN", flags);
        }
        return;
    }
    store(message.ecu, *kind, items, ecu, (message.bytes.to_vec(), message.line), flags);
}

fn too_short(message: Message<'_>, flags: &mut Flags) {
    flags.at(
        "answer-too-short",
        format!("{}: too few bytes, not used: {}", message.ecu, hex::spaced(message.bytes)),
        message.line,
    );
}

fn store(id: EcuId, kind: u8, items: &[u8], ecu: &mut EcuAnswers, (bytes, line): (Vec<u8>, usize), flags: &mut Flags) {
    let mut told = |changed: bool, what: &str| {
        if changed {
            let message = format!("{id}: {what} changed during the capture; the last answer is used");
            flags.at("changed-during-capture", message, line);
        }
    };
    match kind {
        VIN => {
            let value = vin_answer(items);
            told(ecu.vin.as_ref().is_some_and(|before| before.value != value), "the VIN");
            ecu.vin = Some(Reading { value, bytes, line });
        }
        CALIBRATION_IDS => {
            let value = items.chunks_exact(16).map(text).filter(|t| !t.is_empty()).collect();
            told(
                ecu.calibration_ids.as_ref().is_some_and(|before| before.value != value),
                "the calibration identifications",
            );
            ecu.calibration_ids = Some(Reading { value, bytes, line });
        }
        CALIBRATION_NUMBERS => {
            let value =
                items.chunks_exact(4).map(|four| four.iter().fold(0u32, |n, b| n << 8 | u32::from(*b))).collect();
            ecu.calibration_numbers = Some(Reading { value, bytes, line });
        }
        PERFORMANCE_SPARK | PERFORMANCE_COMPRESSION => {
            let value = items.chunks_exact(2).map(|two| two.iter().fold(0u16, |n, b| n << 8 | u16::from(*b))).collect();
            ecu.performance = Some(Reading { value, bytes, line });
        }
        ECU_NAME => ecu.name = Some(Reading { value: text(items), bytes, line }),
        _ => {}
    }
}

/// ASCII with the fill at both ends taken off; other bytes become `?`.
fn text(bytes: &[u8]) -> String {
    let text: String = bytes
        .iter()
        .map(|b| match b {
            0x20..=0x7E => char::from(*b),
            0x00 => ' ',
            _ => '?',
        })
        .collect();
    text.trim().to_owned()
}

/// Judges the bytes of a VIN: a VIN, fill, or neither. Fill is `00`, `FF`, spaces, or one
/// character throughout (obd-data.md section 4).
pub(super) fn vin_answer(bytes: &[u8]) -> VinAnswer {
    let fill = |b: &u8| matches!(b, 0x00 | 0x20 | 0xFF);
    if bytes.iter().all(fill) {
        return VinAnswer::Blank;
    }
    let start = bytes.iter().take_while(|b| fill(b)).count();
    let end = bytes.iter().rev().take_while(|b| fill(b)).count();
    let core = bytes.get(start..bytes.len().saturating_sub(end)).unwrap_or_default();
    let characters = text(core);
    match Vin::parse(&characters) {
        Ok(vin) => VinAnswer::Text(vin.as_str().to_owned()),
        Err(VinError::AllSame(_)) => VinAnswer::Blank,
        Err(VinError::Length(_) | VinError::Character { .. }) => VinAnswer::Malformed(characters),
    }
}

/// Puts the legacy answers together that came in several messages.
pub(super) fn finish(id: EcuId, ecu: &mut EcuAnswers, flags: &mut Flags) {
    for (kind, parts) in std::mem::take(&mut ecu.parts) {
        let Some((_, (_, line))) = parts.first_key_value() else {
            continue;
        };
        let line = *line;
        let numbered = (1u8..).zip(parts.keys()).all(|(expected, found)| expected == *found);
        let unit = match kind {
            VIN | ECU_NAME => 5,
            CALIBRATION_IDS => 4,
            CALIBRATION_NUMBERS | PERFORMANCE_SPARK | PERFORMANCE_COMPRESSION => 1,
            _ => continue,
        };
        if !numbered || parts.len() % unit != 0 {
            flags.at(
                "truncated-answer",
                format!("{id}: parts of the answer on InfoType {kind:02X} are missing; it is not used"),
                line,
            );
            continue;
        }
        let items: Vec<u8> = parts.values().flat_map(|(bytes, _)| *bytes).collect();
        store(id, kind, &items, ecu, (payload(kind, &parts), line), flags);
    }
}

fn payload(kind: u8, parts: &BTreeMap<u8, ([u8; 4], usize)>) -> Vec<u8> {
    parts.iter().flat_map(|(number, (bytes, _))| [0x49, kind, *number].into_iter().chain(*bytes)).collect()
}
