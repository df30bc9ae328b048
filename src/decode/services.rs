//! Answers of the classic services $01, $03, $07, $09, $0A, $04 and negative answers (SAE J1979).
//!
//! Reads one message of one ECU into its [`EcuAnswers`]. Layouts: obd-data.md sections 1.1 to 1.8.

use super::asked::{Requests, Topic};
use super::codes::{self, CodeList, CodeSource, Joined};
use super::ecu::{Cleared, EcuAnswers, EcuId, Quantity, Reading};
use super::hex;
use super::monitors::{MonitorStatus, Monitors};
use super::quality::Flags;
use super::{info, uds};

/// How much of a message came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Extent {
    /// All of it.
    Whole,
    /// The beginning, in order and without a gap, out of so many announced bytes.
    Beginning(usize),
    /// Only the service byte can be relied on: the rest was discarded.
    Discarded,
}

/// One message of one ECU.
#[derive(Debug, Clone, Copy)]
pub(super) struct Message<'a> {
    pub ecu: EcuId,
    /// Service byte first.
    pub bytes: &'a [u8],
    pub extent: Extent,
    pub line: usize,
    /// The requests before it, as far as the capture shows them.
    pub requests: &'a Requests,
}

impl Message<'_> {
    pub(super) fn reading<T>(&self, value: T) -> Reading<T> {
        Reading { value, bytes: self.bytes.to_vec(), line: self.line }
    }

    pub(super) fn source(&self) -> CodeSource {
        CodeSource { bytes: self.bytes.to_vec(), line: self.line }
    }

    fn text(&self) -> String {
        hex::spaced(self.bytes)
    }

    /// Takes a reading; the last one stands, and one that says something else than the one before is flagged.
    pub(super) fn put<T: PartialEq>(&self, slot: &mut Option<Reading<T>>, value: T, what: &str, flags: &mut Flags) {
        let reading = self.reading(value);
        if slot.as_ref().is_some_and(|before| before.value != reading.value) {
            self.changed(what, flags);
        }
        *slot = Some(reading);
    }

    /// The flag on an answer that says something else than the one before.
    pub(super) fn changed(&self, what: &str, flags: &mut Flags) {
        flags.at(
            "changed-during-capture",
            format!("{}: {what} changed during the capture; the last answer is used", self.ecu),
            self.line,
        );
    }

    /// The flags on what a further answer does to a list of codes.
    pub(super) fn joined(&self, joined: Joined, topic: Topic, flags: &mut Flags) {
        match joined {
            Joined::Same => {}
            Joined::Changed => self.changed(&topic.to_string(), flags),
            Joined::Kept(line) => flags.over_lines(
                "answer-is-old",
                format!("{}: a later answer on {topic} did not come whole; the earlier one stands", self.ecu),
                [line, self.line],
            ),
        }
    }
}

/// The flag on a clear command that was carried out.
pub(super) fn told_cleared(ecu: EcuId, cleared: Cleared, line: usize, flags: &mut Flags) {
    let message = match cleared {
        Cleared::All => format!(
            "{ecu} cleared its codes during the capture; what was read of it before is not used. Clearing hides faults \
             and makes the monitors incomplete"
        ),
        Cleared::PreviouslyActive => format!(
            "{ecu} cleared its previously active codes during the capture; what it said of readiness and of the time \
             since clearing before is not used"
        ),
    };
    flags.at("cleared-during-capture", message, line);
}

/// Reads a message. Returns whether it was an answer to a diagnostic request at all.
pub(super) fn read(message: Message<'_>, ecu: &mut EcuAnswers, flags: &mut Flags) -> bool {
    let Some((&service, data)) = message.bytes.split_first() else {
        return false;
    };
    let request = service.wrapping_sub(0x40);
    match service {
        0x41 | 0x49 | 0x44 | 0x43 | 0x47 | 0x4A => {
            ecu.speaks_classic = true;
            ecu.services.insert(request);
        }
        0x59 | 0x62 => {
            ecu.services.insert(request);
        }
        0x54 => {
            ecu.speaks_uds = true;
            ecu.services.insert(request);
        }
        0x7F => {}
        // Another service: none of the snapshot's facts comes from it.
        0x40..=0xBF => return true,
        _ => return false,
    }
    if message.extent != Extent::Whole && !matches!(service, 0x43 | 0x47 | 0x4A | 0x59) {
        // The framing has raised its flag; half an answer of these services is no fact.
        return true;
    }
    match service {
        0x41 => current_data(message, data, ecu, flags),
        0x43 => codes(message, data, &mut ecu.stored, Topic::Stored, flags),
        0x47 => codes(message, data, &mut ecu.pending, Topic::Pending, flags),
        0x4A => codes(message, data, &mut ecu.permanent, Topic::Permanent, flags),
        // Service $14 of UDS with any group of codes: which one is in the request alone, so all of it is stale.
        0x44 | 0x54 => {
            ecu.forget_cleared(Cleared::All, message.line);
            told_cleared(message.ecu, Cleared::All, message.line, flags);
        }
        0x49 => info::read(message, data, ecu, flags),
        0x59 | 0x62 => uds::read(message, ecu, flags),
        0x7F => negative(message, data, ecu, flags),
        _ => {}
    }
    true
}

/// Data lengths of the PIDs up to $A6, so that several in one answer can be told apart; `None` where the length is not known or
/// not fixed: fuel trims ($06 to $09, $55 to $58) have a second byte on engines with more than two banks. From memory of
/// SAE J1979, and held against a packet library's definitions by `tests/differential`; those of the PIDs that are read here are
/// in obd-data.md sections 1.2 to 1.5.
pub(super) fn pid_length(pid: u8) -> Option<usize> {
    Some(match pid {
        0x00 | 0x20 | 0x40 | 0x60 | 0x80 | 0xA0 | 0xC0 | 0x01 | 0x41 | 0xA6 => 4,
        0x04 | 0x05 | 0x0A | 0x0B | 0x0D..=0x0F | 0x11..=0x13 | 0x1C..=0x1E | 0x2C..=0x30 | 0x33 => 1,
        0x45..=0x4C | 0x51 | 0x52 | 0x5A..=0x5C | 0x5F | 0x61 | 0x62 => 1,
        0x02 | 0x03 | 0x0C | 0x10 | 0x14..=0x1B | 0x1F | 0x21..=0x23 => 2,
        0x31 | 0x32 | 0x3C..=0x3F | 0x42..=0x44 | 0x4D | 0x4E | 0x53 | 0x54 | 0x59 => 2,
        0x5D | 0x5E | 0x63 => 2,
        0x24..=0x2B | 0x34..=0x3B | 0x4F | 0x50 => 4,
        _ => return None,
    })
}

/// Fuel trims: a byte, and a second one on engines with more than two banks (from memory of SAE J1979).
fn is_fuel_trim(pid: u8) -> bool {
    matches!(pid, 0x06..=0x09 | 0x55..=0x58)
}

/// Service $01: one PID, or up to six in any order (obd-data.md section 1.1).
fn current_data(message: Message<'_>, data: &[u8], ecu: &mut EcuAnswers, flags: &mut Flags) {
    let mut rest = data;
    let mut seen: Vec<u8> = Vec::new();
    while let Some((&pid, after)) = rest.split_first() {
        let further = !seen.is_empty();
        let fill = further && rest.iter().all(|b| b == &pid);
        let asked = message.requests.last_pids.as_ref().is_none_or(|list| list.contains(&pid));
        if further && (fill || !asked || seen.contains(&pid) || seen.len() == 6) {
            flags.at(
                "bytes-behind-answer",
                format!("{}: bytes behind the answer were not used: {}", message.ecu, message.text()),
                message.line,
            );
            return;
        }
        let several = further || message.requests.last_pids.as_ref().is_some_and(|list| list.len() > 1);
        let value = match pid_length(pid) {
            Some(length) => after.split_at_checked(length),
            // One byte and nothing behind it.
            None if is_fuel_trim(pid) && after.len() == 1 => return,
            None if several || (is_fuel_trim(pid) && after.len() > 2) => {
                let what =
                    format!("how long PID {pid:02X} is is not known; it and what stands behind it were not used");
                flags.at("bytes-behind-answer", format!("{}: {what}: {}", message.ecu, message.text()), message.line);
                return;
            }
            // A PID that no fact comes from, with a length that is not needed.
            None => return,
        };
        let Some((value, tail)) = value else {
            let slug = if further { "bytes-behind-answer" } else { "answer-too-short" };
            flags.at(
                slug,
                format!("{}: too few bytes for PID {pid:02X}, not used: {}", message.ecu, message.text()),
                message.line,
            );
            return;
        };
        parameter(message, pid, value, ecu, flags);
        seen.push(pid);
        rest = tail;
    }
}

/// One PID with its data.
pub(super) fn parameter(message: Message<'_>, pid: u8, value: &[u8], ecu: &mut EcuAnswers, flags: &mut Flags) {
    match (pid, value) {
        (0x01, &[a, b, c, d]) => monitor_status(message, [a, b, c, d], ecu, flags),
        (0x41, &[_, b, c, d]) => {
            message.put(&mut ecu.this_cycle, Monitors::from_j1979(b, c, d), "PID 41", flags);
        }
        (_, &[a, b, c, d]) if pid & 0x1F == 0 => {
            let bits = u32::from_be_bytes([a, b, c, d]);
            ecu.supported.insert(pid, message.reading(bits));
        }
        _ => {
            if let Some(quantity) = Quantity::of_pid(pid) {
                let number = value.iter().fold(0u32, |n, b| n << 8 | u32::from(*b));
                put_quantity(message, quantity, number, ecu, flags);
            }
        }
    }
}

/// Takes a number. One since clearing that falls shows that codes were cleared, whoever did it.
pub(super) fn put_quantity(
    message: Message<'_>,
    which: Quantity,
    number: u32,
    ecu: &mut EcuAnswers,
    flags: &mut Flags,
) {
    let before = ecu.quantities.get(&which).map(|reading| reading.value);
    if which.grows_until_cleared() && before.is_some_and(|before| before > number) {
        ecu.forget_cleared(Cleared::All, message.line);
        flags.at(
            "cleared-during-capture",
            format!(
                "{}: a number since clearing fell from {} to {number}, so codes were cleared during the capture; what \
                 was read of it before is not used",
                message.ecu,
                before.unwrap_or_default()
            ),
            message.line,
        );
    } else if matches!(which, Quantity::ObdRequirement | Quantity::FuelInUse) && before.is_some_and(|it| it != number) {
        message.changed(&Topic::Pid(which.pid()).to_string(), flags);
    }
    ecu.quantities.insert(which, message.reading(number));
}

fn monitor_status(message: Message<'_>, bytes: [u8; 4], ecu: &mut EcuAnswers, flags: &mut Flags) {
    message.put(&mut ecu.monitor_status, MonitorStatus::from_bytes(bytes), "the monitor status", flags);
}

/// Services $03, $07 and $0A.
fn codes(message: Message<'_>, data: &[u8], slot: &mut Option<CodeList>, topic: Topic, flags: &mut Flags) {
    let legacy = matches!(message.ecu, EcuId::Legacy(_));
    let mut list = CodeList { codes: Vec::new(), whole: false, sources: vec![message.source()] };
    if legacy {
        // Exactly three two-byte slots, zero-filled, and no count (obd-data.md section 1.6).
        let pairs = data.chunks_exact(2);
        let exact = data.len() == 6;
        for two in pairs {
            match two {
                [high, low] => list.codes.extend(codes::two_bytes(*high, *low)),
                _ => continue,
            }
        }
        if !exact {
            flags.at(
                "code-list-odd",
                format!("{}: a legacy answer has three codes of two bytes: {}", message.ecu, message.text()),
                message.line,
            );
        }
        // A free slot shows that no further message follows.
        list.whole = exact && list.codes.len() < 3;
        let service = message.bytes.first().copied().unwrap_or_default().wrapping_sub(0x40);
        let joined = CodeList::extend(slot, list, message.requests.codes(service));
        message.joined(joined, topic, flags);
        return;
    }
    let none: &[u8] = &[];
    let (count, pairs) = match (message.extent, data) {
        (Extent::Discarded, _) | (_, []) => (None, none),
        (_, [count, pairs @ ..]) => (Some(usize::from(*count)), pairs),
    };
    let announced = count.unwrap_or(0);
    let read = pairs.chunks_exact(2).take(announced);
    let present = read.len();
    for two in read {
        match two {
            [high, low] => list.codes.extend(codes::two_bytes(*high, *low)),
            _ => continue,
        }
    }
    list.whole = message.extent == Extent::Whole && count == Some(present) && list.codes.len() == present;
    if message.extent == Extent::Whole {
        if !list.whole {
            flags.at(
                "code-list-odd",
                format!("{}: the number of codes is not the number announced: {}", message.ecu, message.text()),
                message.line,
            );
        } else if pairs.len() != announced.saturating_mul(2) {
            // Padding that a reader left in; it is no code (obd-data.md section 1.6).
            flags.at(
                "bytes-behind-answer",
                format!("{}: bytes behind the codes were not used: {}", message.ecu, message.text()),
                message.line,
            );
        }
    }
    message.joined(CodeList::update(slot, list, count), topic, flags);
}

/// Plain words for the response codes of obd-data.md section 1.8.
fn response_code(code: u8) -> &'static str {
    match code {
        0x10 => "general reject",
        0x11 => "service not supported",
        0x12 => "sub-function or format not supported",
        0x21 => "busy, repeat the request",
        0x22 => "conditions not correct",
        0x31 => "request out of range",
        0x78 => "answer pending",
        _ => "another response code",
    }
}

/// `7F`, service, response code. Never decoded as data.
fn negative(message: Message<'_>, data: &[u8], ecu: &mut EcuAnswers, flags: &mut Flags) {
    let (service, code) = match (message.ecu, data) {
        // A legacy answer repeats the request between service and code (from memory: SAE J2190).
        (EcuId::Legacy(_), [service, .., code]) | (_, [service, code, ..]) => (*service, *code),
        _ => {
            flags.at(
                "answer-too-short",
                format!("{}: a negative answer has three bytes: {}", message.ecu, message.text()),
                message.line,
            );
            return;
        }
    };
    ecu.refusals.insert((service, code), message.line);
    if code != 0x78 {
        ecu.services.insert(service);
        flags.at(
            "negative-answer",
            format!(
                "{} refused service {service:02X}: {code:02X}, {}; the facts of this service stay not known",
                message.ecu,
                response_code(code)
            ),
            message.line,
        );
    }
}
