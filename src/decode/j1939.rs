//! Diagnostic messages of SAE J1939-73, and the transport protocol that carries the long ones.
//!
//! Layouts: obd-data.md section 2.3. The digest names the transport protocol without its layout;
//! its control bytes here are those that public implementations agree on (secondary). Messages
//! whose layout is not given there (DM19, DM20, DM23, DM27, DM29, DM2) are refused by name.

use std::collections::BTreeMap;

use super::asked::Topic;
use super::codes::{self, CodeList, SpnCode};
use super::ecu::{Cleared, Doubt, EcuAnswers, EcuId, HeavyDutyReadiness, LampCommand, Quantity};
use super::hex;
use super::info;
use super::line::CanId;
use super::monitors::Monitors;
use super::quality::Flags;
use super::services::{Extent, Message, put_quantity};

/// Parameter group numbers (obd-data.md section 2.3).
pub(super) mod pgn {
    pub(crate) const DM1: u32 = 65226;
    pub(crate) const DM2: u32 = 65227;
    pub(crate) const DM3: u32 = 65228;
    pub(crate) const DM11: u32 = 65235;
    pub(crate) const DM5: u32 = 65230;
    pub(crate) const DM6: u32 = 65231;
    pub(crate) const DM12: u32 = 65236;
    pub(crate) const DM19: u32 = 54016;
    pub(crate) const DM20: u32 = 49664;
    pub(crate) const DM21: u32 = 49408;
    pub(crate) const DM23: u32 = 64949;
    pub(crate) const DM26: u32 = 64952;
    pub(crate) const DM27: u32 = 64898;
    pub(crate) const DM28: u32 = 64896;
    pub(crate) const DM29: u32 = 40448;
    pub(crate) const VIN: u32 = 65260;
    /// Transport protocol, connection management and data.
    pub(crate) const TP_CM: u32 = 60416;
    pub(crate) const TP_DT: u32 = 60160;
}

/// Parameter group and source address of a 29-bit id, if the group is one that is known here.
pub(super) fn group(id: CanId) -> Option<(u32, u8)> {
    if !id.extended {
        return None;
    }
    let [high, format, specific, source] = id.value.to_be_bytes();
    let page = u32::from(high & 0x03) << 16;
    let low = if format >= 0xF0 { u32::from(specific) } else { 0 };
    let number = page | u32::from(format) << 8 | low;
    name(number)
        .is_some()
        .then_some((number, source))
        .or_else(|| matches!(number, pgn::TP_CM | pgn::TP_DT).then_some((number, source)))
}

/// What the command of a parameter group clears, if it is one: DM3 and DM11. Numbers and effect from memory of
/// SAE J1939-73; the conformance test of SAE J1939-84 wants DM3 refused by every controller that takes part in OBD
/// (steps 6.4.13 and 6.7.16 of its published source).
pub(super) fn clears(number: u32) -> Option<Cleared> {
    match number {
        pgn::DM11 => Some(Cleared::All),
        pgn::DM3 => Some(Cleared::PreviouslyActive),
        _ => None,
    }
}

/// The name of a message, if it is one of SAE J1939-73 that matters here.
pub(super) fn name(number: u32) -> Option<&'static str> {
    Some(match number {
        pgn::DM1 => "DM1",
        pgn::DM2 => "DM2",
        pgn::DM5 => "DM5",
        pgn::DM6 => "DM6",
        pgn::DM12 => "DM12",
        pgn::DM19 => "DM19",
        pgn::DM20 => "DM20",
        pgn::DM21 => "DM21",
        pgn::DM23 => "DM23",
        pgn::DM26 => "DM26",
        pgn::DM27 => "DM27",
        pgn::DM28 => "DM28",
        pgn::DM29 => "DM29",
        pgn::VIN => "vehicle identification",
        _ => return None,
    })
}

/// Reads one whole or begun message of a parameter group.
pub(super) fn read(number: u32, message: Message<'_>, ecu: &mut EcuAnswers, flags: &mut Flags) {
    let whole = message.extent == Extent::Whole;
    match (number, message.bytes) {
        (pgn::DM5, &[active, _, compliance, b4, b5, b6, b7, b8]) => {
            let monitors = Monitors::from_j1939([b4, b5, b6, b7, b8]);
            not_available(message, monitors, flags);
            let active_codes = (active <= LARGEST).then_some(active);
            let value = HeavyDutyReadiness { active_codes, compliance, monitors };
            let before = ecu.heavy_duty.as_ref().map(|reading| reading.value.active_codes);
            if before.is_some_and(|before| before != active_codes) {
                doubt(message, ecu, "DM5 announced another number of active codes");
            }
            message.put(&mut ecu.heavy_duty, value, "DM5", flags);
        }
        (pgn::DM26, &[s_low, s_high, warm_ups, b4, b5, b6, b7, b8]) => {
            let monitors = Monitors::from_j1939([b4, b5, b6, b7, b8]);
            not_available(message, monitors, flags);
            message.put(&mut ecu.this_cycle, monitors, "DM26", flags);
            let seconds = u16::from_le_bytes([s_low, s_high]);
            quantity(message, Quantity::SecondsSinceStart, seconds, ecu, flags);
            if warm_ups <= LARGEST {
                put_quantity(message, Quantity::WarmUpsSinceClear, u32::from(warm_ups), ecu, flags);
            } else {
                no_value(message, Quantity::WarmUpsSinceClear, ecu, flags);
            }
        }
        (pgn::DM21, &[a, b, c, d, e, f, g, h]) => {
            let words = [
                (Quantity::DistanceLampOn, [a, b]),
                (Quantity::DistanceSinceClear, [c, d]),
                (Quantity::MinutesLampOn, [e, f]),
                (Quantity::MinutesSinceClear, [g, h]),
            ];
            for (which, word) in words {
                quantity(message, which, u16::from_le_bytes(word), ecu, flags);
            }
        }
        (pgn::DM1 | pgn::DM12 | pgn::DM6 | pgn::DM28, bytes) if whole && silent(bytes) => {
            flags.at(
                "value-not-available",
                format!("{}: every byte of {} says *not available*; it is not used", message.ecu, title(number)),
                message.line,
            );
            if matches!(number, pgn::DM1 | pgn::DM12) {
                message.put(&mut ecu.lamp_command, LampCommand::NotAvailable, "the lamp command", flags);
            }
            if let Some((slot, topic)) = slot(number, ecu) {
                let unread = CodeList { codes: Vec::new(), whole: false, sources: vec![message.source()] };
                message.joined(CodeList::update(slot, unread, None), topic, flags);
            }
        }
        (pgn::DM12 | pgn::DM6 | pgn::DM28, &[lamps, _, ref records @ ..]) => {
            if number == pgn::DM12 && message.extent != Extent::Discarded {
                message.put(&mut ecu.lamp_command, lamp(lamps), "the lamp command", flags);
            }
            let list = list(message, records, flags);
            if number == pgn::DM12 && list.whole {
                ecu.doubt = None;
            }
            if let Some((slot, topic)) = slot(number, ecu) {
                message.joined(CodeList::update(slot, list, None), topic, flags);
            }
        }
        (pgn::DM1, &[lamps, _, ref records @ ..]) if message.extent != Extent::Discarded => {
            active(message, lamp(lamps), list(message, records, flags), ecu, flags);
        }
        (pgn::VIN, bytes) if whole => {
            let end = bytes.iter().position(|b| *b == b'*').unwrap_or(bytes.len());
            let text = bytes.get(..end).unwrap_or_default();
            message.put(&mut ecu.vin, info::vin_answer(text), "the VIN", flags);
        }
        (pgn::DM2 | pgn::DM19 | pgn::DM20 | pgn::DM23 | pgn::DM27 | pgn::DM29, _) => {
            ecu.unread_messages.insert(title(number));
            flags.at(
                "message-not-read",
                format!("{}: {} is not read here; no fact comes from it", message.ecu, title(number)),
                message.line,
            );
        }
        _ if whole => flags.at(
            "answer-too-short",
            format!(
                "{}: {} has another length than its layout, not used: {}",
                message.ecu,
                title(number),
                hex::spaced(message.bytes)
            ),
            message.line,
        ),
        _ => {}
    }
}

/// The largest one-byte number; FB to FD are reserved, FE is an error, FF not available (obd-data.md 2.3).
const LARGEST: u8 = 0xFA;

/// The list that a message fills.
fn slot(number: u32, ecu: &mut EcuAnswers) -> Option<(&mut Option<CodeList>, Topic)> {
    Some(match number {
        pgn::DM12 => (&mut ecu.stored, Topic::Stored),
        pgn::DM6 => (&mut ecu.pending, Topic::Pending),
        pgn::DM28 => (&mut ecu.permanent, Topic::Permanent),
        _ => return None,
    })
}

/// Whether a message of lamps and codes says *not available* throughout. Codes of FF under lamps that say something
/// mean that there is none (obd-data.md 2.3).
fn silent(bytes: &[u8]) -> bool {
    bytes.iter().all(|byte| *byte == 0xFF)
}

fn not_available(message: Message<'_>, monitors: Monitors, flags: &mut Flags) {
    let names: Vec<&str> = monitors.not_available().collect();
    if !names.is_empty() {
        flags.at(
            "value-not-available",
            format!("{}: monitors marked as not available stay not known: {}", message.ecu, names.join(", ")),
            message.line,
        );
    }
}

/// DM1: the lamp, and all active codes. DM12 is a part of them (SAE J1939-84, step 6.6.4 of its published source), so a
/// later DM1 shows whether what DM12 said is still true.
fn active(message: Message<'_>, lamp: LampCommand, list: CodeList, ecu: &mut EcuAnswers, flags: &mut Flags) {
    let before = ecu.lamp_command.as_ref().map(|reading| reading.value);
    if before.is_some_and(|before| before != lamp) {
        doubt(message, ecu, "the lamp command changed");
    }
    message.put(&mut ecu.lamp_command, lamp, "the lamp command", flags);
    let holds = |code: &String| list.codes.contains(code);
    if list.whole && ecu.stored.as_ref().is_some_and(|stored| !stored.codes.iter().all(holds)) {
        doubt(message, ecu, "a stored code is not among the active ones of DM1 any more");
    }
    let grown = |known: &CodeList| known.whole && !list.codes.iter().all(|code| known.codes.contains(code));
    if ecu.active.as_ref().is_some_and(grown) {
        doubt(message, ecu, "DM1 named a further active code");
    }
    // The list as it is now, whatever it was before: DM1 comes every second.
    if list.whole || ecu.active.is_none() {
        ecu.active = Some(list);
    }
}

/// Keeps that the list of stored codes may be another one now; only what came after it can say so.
fn doubt(message: Message<'_>, ecu: &mut EcuAnswers, what: &'static str) {
    if ecu.stored.as_ref().is_some_and(|list| list.line() < message.line) {
        ecu.doubt.get_or_insert(Doubt { what, line: message.line });
    }
}

fn title(number: u32) -> &'static str {
    name(number).unwrap_or("the message")
}

/// A two-byte value: FE xx is an error, FF xx not available, FAFF the largest (obd-data.md 2.3).
fn quantity(message: Message<'_>, which: Quantity, value: u16, ecu: &mut EcuAnswers, flags: &mut Flags) {
    if value <= 0xFAFF {
        put_quantity(message, which, u32::from(value), ecu, flags);
    } else {
        no_value(message, which, ecu, flags);
    }
}

fn no_value(message: Message<'_>, which: Quantity, ecu: &mut EcuAnswers, flags: &mut Flags) {
    ecu.quantities.remove(&which);
    flags.at(
        "value-not-available",
        format!("{}: a number is marked as error or not available; it stays not known", message.ecu),
        message.line,
    );
}

fn lamp(byte: u8) -> LampCommand {
    match byte >> 6 {
        0 => LampCommand::Off,
        1 => LampCommand::On,
        2 => LampCommand::Error,
        _ => LampCommand::NotAvailable,
    }
}

fn list(message: Message<'_>, records: &[u8], flags: &mut Flags) -> CodeList {
    let mut codes = Vec::new();
    let mut whole = message.extent == Extent::Whole;
    for record in records.chunks_exact(4) {
        let code = match record {
            &[a, b, c, d] => codes::spn([a, b, c, d]),
            _ => SpnCode::None,
        };
        match code {
            SpnCode::None => {}
            SpnCode::Code(code) => codes.push(code),
            SpnCode::OtherLayout => {
                whole = false;
                flags.at(
                    "code-format-not-read",
                    format!("{}: a code in an older SPN layout is not read", message.ecu),
                    message.line,
                );
            }
        }
    }
    CodeList { codes, whole, sources: vec![message.source()] }
}

#[derive(Debug)]
struct Session {
    number: u32,
    length: usize,
    bytes: Vec<u8>,
    next: u8,
    line: usize,
}

/// What a frame of the transport protocol leads to.
#[derive(Debug)]
pub(super) struct Carried {
    pub number: u32,
    pub bytes: Vec<u8>,
    pub extent: Extent,
    pub line: usize,
}

/// Reassembles long messages: broadcast (BAM) and to one address (RTS), by source and target.
#[derive(Debug, Default)]
pub(super) struct Transport {
    sessions: BTreeMap<(u8, u8), Session>,
}

impl Transport {
    /// Takes a frame of connection management or data; returns a message that ends with it.
    pub(super) fn frame(
        &mut self,
        id: CanId,
        number: u32,
        data: &[u8],
        line: usize,
        flags: &mut Flags,
    ) -> Option<(EcuId, Carried)> {
        let [_, _, target, source] = id.value.to_be_bytes();
        let ecu = EcuId::J1939(source);
        let key = (source, target);
        match (number, data) {
            // 16: request to send; 32: broadcast announce. Size little-endian, PGN at the end.
            (pgn::TP_CM, &[16 | 32, size_low, size_high, _, _, low, middle, high]) => {
                let ended = self.sessions.remove(&key).map(|s| broken(ecu, s, flags));
                let length = usize::from(u16::from_le_bytes([size_low, size_high]));
                let number = u32::from_le_bytes([low, middle, high, 0]);
                if name(number).is_some() && length > 8 && length <= 1785 {
                    let session = Session { number, length, bytes: Vec::new(), next: 1, line };
                    self.sessions.insert(key, session);
                }
                ended.map(|carried| (ecu, carried))
            }
            // 255: abort, by either side.
            (pgn::TP_CM, [255, ..]) => {
                let session = self.sessions.remove(&key)?;
                Some((ecu, broken(ecu, session, flags)))
            }
            (pgn::TP_CM, _) => None,
            (_, [sequence, rest @ ..]) => {
                let mut session = self.sessions.remove(&key)?;
                let wanted = session.length.saturating_sub(session.bytes.len()).min(7);
                let Some(bytes) = rest.get(..wanted).filter(|_| *sequence == session.next) else {
                    flags.at(
                        "wrong-sequence",
                        format!(
                            "{ecu}: a packet of {} is missing or out of order; it is discarded",
                            title(session.number)
                        ),
                        line,
                    );
                    let carried = Carried {
                        number: session.number,
                        bytes: vec![0xFF, 0xFF],
                        extent: Extent::Discarded,
                        line: session.line,
                    };
                    return Some((ecu, carried));
                };
                session.bytes.extend_from_slice(bytes);
                session.next = session.next.wrapping_add(1);
                if session.bytes.len() == session.length {
                    let Session { number, bytes, line, .. } = session;
                    return Some((ecu, Carried { number, bytes, extent: Extent::Whole, line }));
                }
                self.sessions.insert(key, session);
                None
            }
            (_, []) => None,
        }
    }

    /// Takes what is left at the end of the input.
    pub(super) fn finish(&mut self, flags: &mut Flags) -> Vec<(EcuId, Carried)> {
        std::mem::take(&mut self.sessions)
            .into_iter()
            .map(|((source, _), session)| {
                let ecu = EcuId::J1939(source);
                (ecu, broken(ecu, session, flags))
            })
            .collect()
    }
}

fn broken(ecu: EcuId, session: Session, flags: &mut Flags) -> Carried {
    flags.at(
        "truncated-answer",
        format!("{ecu}: {} ends after {} of {} bytes", title(session.number), session.bytes.len(), session.length),
        session.line,
    );
    let extent = Extent::Beginning(session.length);
    Carried { number: session.number, bytes: session.bytes, extent, line: session.line }
}
