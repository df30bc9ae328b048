//! OBDonUDS (SAE J1979-2): data identifiers of service $22 and trouble codes of service $19.
//!
//! As far as obd-data.md section 2.1 gives the layout. What it does not give is refused by name:
//! the readiness data `F501` (bit layout not public) and the names of readiness groups. The
//! equivalence of `F4xx` and PID xx is marked secondary there.

use super::asked::Topic;
use super::codes::{self, CodeList};
use super::ecu::{EcuAnswers, Quantity, ReadinessGroup};
use super::hex;
use super::info;
use super::quality::Flags;
use super::services::{Extent, Message, parameter, pid_length};

/// Functional group of the emission-related system (obd-data.md section 2.1).
const EMISSIONS: u8 = 0x33;
/// DTC format identifier of SAE J2012-DA: two code bytes and a failure type.
const J2012_DA: u8 = 0x04;
/// Status bit 2, pending, and bit 3, confirmed (ISO 14229-1, obd-data.md section 2.1).
const PENDING: u8 = 1 << 2;
const CONFIRMED: u8 = 1 << 3;

/// Reads an answer that starts with `62` or `59`.
pub(super) fn read(message: Message<'_>, ecu: &mut EcuAnswers, flags: &mut Flags) {
    match message.bytes {
        [0x62, high, low, value @ ..] => identifier(message, [*high, *low], value, ecu, flags),
        [0x59, 0x42, group, _, _, format, records @ ..] => {
            ecu.speaks_uds = true;
            if usable(message, *group, *format, flags) {
                by_mask(message, records, ecu, flags);
            }
        }
        [0x59, 0x55, group, _, format, records @ ..] => {
            ecu.speaks_uds = true;
            if usable(message, *group, *format, flags) {
                let list = list(message, records, 4, flags, |record| match record {
                    [a, b, c, _] => codes::three_bytes(*a, *b, *c),
                    _ => None,
                });
                message.joined(CodeList::update(&mut ecu.permanent, list, None), Topic::Permanent, flags);
            }
        }
        [0x59, 0x56, group, _, format, readiness, records @ ..] => {
            ecu.speaks_uds = true;
            if usable(message, *group, *format, flags) {
                readiness_group(message, *readiness, records, ecu, flags);
            }
        }
        [0x59, 0x42 | 0x55 | 0x56, ..] if message.extent == Extent::Whole => {
            too_short(message, flags);
        }
        // The framing has raised its flag; what is left is that there was an answer.
        [0x59, 0x42, ..] => {
            message.joined(CodeList::update(&mut ecu.stored, unread(message), None), Topic::Stored, flags);
            message.joined(CodeList::update(&mut ecu.pending, unread(message), None), Topic::Pending, flags);
        }
        [0x59, 0x55, ..] => {
            message.joined(CodeList::update(&mut ecu.permanent, unread(message), None), Topic::Permanent, flags);
        }
        // Other reports of service $19 are not part of the emission test.
        _ => {}
    }
}

fn too_short(message: Message<'_>, flags: &mut Flags) {
    flags.at(
        "answer-too-short",
        format!("{}: too few bytes, not used: {}", message.ecu, hex::spaced(message.bytes)),
        message.line,
    );
}

/// A list whose content is not known: the ECU gave one.
fn unread(message: Message<'_>) -> CodeList {
    CodeList { codes: Vec::new(), whole: false, sources: vec![message.source()] }
}

fn usable(message: Message<'_>, group: u8, format: u8, flags: &mut Flags) -> bool {
    if group != EMISSIONS {
        return false;
    }
    if format != J2012_DA {
        flags.at(
            "code-format-not-read",
            format!("{}: trouble codes in format {format:02X} are not read, only format 04", message.ecu),
            message.line,
        );
        return false;
    }
    true
}

/// The codes of records of `size` bytes; whole if the message is and no bytes are left over.
fn list(
    message: Message<'_>,
    records: &[u8],
    size: usize,
    flags: &mut Flags,
    code: impl Fn(&[u8]) -> Option<String>,
) -> CodeList {
    let records = records.chunks_exact(size);
    let even = records.remainder().is_empty();
    if !even && message.extent == Extent::Whole {
        flags.at(
            "code-list-odd",
            format!("{}: bytes left over behind the last code: {}", message.ecu, hex::spaced(message.bytes)),
            message.line,
        );
    }
    CodeList {
        codes: records.filter_map(code).collect(),
        whole: even && message.extent == Extent::Whole,
        sources: vec![message.source()],
    }
}

/// `59 42`: severity, code (3), status. The request's mask says which list this is; where it is
/// not in the capture, the status bits of each code say what they can.
fn by_mask(message: Message<'_>, records: &[u8], ecu: &mut EcuAnswers, flags: &mut Flags) {
    let lists = [(CONFIRMED, &mut ecu.stored, Topic::Stored), (PENDING, &mut ecu.pending, Topic::Pending)];
    for (bit, slot, topic) in lists {
        let mut found = list(message, records, 5, flags, |record| match record {
            [_, a, b, c, status] if status & bit != 0 => codes::three_bytes(*a, *b, *c),
            _ => None,
        });
        let asked = message.requests.mask.is_some_and(|mask| mask & bit != 0);
        if asked || !found.codes.is_empty() {
            found.whole &= asked;
            message.joined(CodeList::update(slot, found, None), topic, flags);
        }
    }
    if message.requests.mask.is_none() {
        flags.at(
            "code-mask-not-known",
            format!(
                "{}: the request with its status mask is not in the input, so the code list may be partial",
                message.ecu
            ),
            message.line,
        );
    }
}

fn readiness_group(message: Message<'_>, group: u8, records: &[u8], ecu: &mut EcuAnswers, flags: &mut Flags) {
    let codes = records
        .chunks_exact(4)
        .filter_map(|record| match record {
            [a, b, c, status] => codes::three_bytes(*a, *b, *c).map(|code| (code, *status)),
            _ => None,
        })
        .collect();
    let value = ReadinessGroup { group, codes };
    ecu.readiness_groups.insert(group, message.reading(value));
    flags.at(
        "readiness-group-not-named",
        format!(
            "{}: readiness group {group:02X} was read, but the names of the groups (SAE J1979-2) \
             are not known here; monitors stay not known",
            message.ecu
        ),
        message.line,
    );
}

fn identifier(message: Message<'_>, id: [u8; 2], value: &[u8], ecu: &mut EcuAnswers, flags: &mut Flags) {
    match (id, value) {
        ([0xF8, 0x10], [protocol, ..]) => ecu.speaks_uds |= *protocol == 1,
        ([0xF8, 0x02], vin) => {
            message.put(&mut ecu.vin, info::vin_answer(vin), "the VIN", flags);
        }
        ([0xF5, 0x01], _) => flags.at(
            "readiness-f501-not-read",
            format!(
                "{}: readiness data F501 of SAE J1979-2 is not read: its bit layout is not public; \
                 monitors stay not known",
                message.ecu
            ),
            message.line,
        ),
        ([0xF4, 0x01 | 0x41], _) => flags.at(
            "readiness-f401-not-read",
            format!("{}: monitor status under F4 is not defined as PID 01 or 41 is; it is not read", message.ecu),
            message.line,
        ),
        ([0xF4, pid], value) if Quantity::of_pid(pid).is_some() && pid_length(pid) == Some(value.len()) => {
            ecu.speaks_uds = true;
            parameter(message, pid, value, ecu, flags);
        }
        // Another identifier: a manufacturer's, or none that a fact comes from.
        _ => {}
    }
}
