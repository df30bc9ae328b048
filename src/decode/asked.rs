//! The requests that a capture shows: what was asked, of whom, on which line.
//!
//! Tells an answer that is missing (silence) and one that a controller stopped giving. Who is addressed: ISO 15765-4,
//! obd-data.md section 3.1; requests of SAE J1939: parameter group 59904, three bytes, the group asked for.

use std::collections::BTreeMap;
use std::fmt;

use super::ecu::EcuId;
use super::j1939;

/// What can be asked for and answered again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Topic {
    /// A PID of service $01, or its identifier F4xx of service $22.
    Pid(u8),
    /// An InfoType of service $09, or its identifier F8xx of service $22.
    Info(u8),
    /// Confirmed codes: service $03, or `19 42` with that bit in its mask.
    Stored,
    /// Pending codes: service $07, or `19 42` with that bit in its mask.
    Pending,
    /// Permanent codes: service $0A, or `19 55`.
    Permanent,
    /// A parameter group of SAE J1939.
    Group(u32),
}

impl fmt::Display for Topic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Pid(pid) => write!(f, "PID {pid:02X}"),
            Self::Info(kind) => write!(f, "InfoType {kind:02X}"),
            Self::Stored => f.write_str("the stored codes"),
            Self::Pending => f.write_str("the pending codes"),
            Self::Permanent => f.write_str("the permanent codes"),
            Self::Group(number) => f.write_str(j1939::name(*number).unwrap_or("the message")),
        }
    }
}

/// Who is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Target {
    /// Everybody on the bus.
    Everybody,
    /// The controller that answers with this id.
    One(EcuId),
}

/// What the requests of the capture were.
#[derive(Debug, Default)]
pub(super) struct Requests {
    /// Services asked for, with the InfoType or PID where there is one, and the line of the last.
    pub asked: BTreeMap<(u8, Option<u8>), usize>,
    /// PIDs of the last request of service $01.
    pub last_pids: Option<Vec<u8>>,
    /// The last service asked for, with its InfoType or PID.
    pub last: Option<(u8, Option<u8>)>,
    /// The status mask of the last `19 42`.
    pub mask: Option<u8>,
    topics: BTreeMap<(Topic, Target), usize>,
    /// Commands to clear, by service or parameter group, with the line of the last.
    pub clears: BTreeMap<(u32, Target), usize>,
    /// Who answered a command to clear, and on which line last.
    answers: BTreeMap<EcuId, usize>,
}

/// Bits of a status mask (ISO 14229-1, obd-data.md section 2.1).
const PENDING: u8 = 1 << 2;
const CONFIRMED: u8 = 1 << 3;

impl Requests {
    /// Takes a request, service byte first.
    pub(super) fn take(&mut self, target: Target, bytes: &[u8], line: usize) {
        let Some((&service, rest)) = bytes.split_first() else {
            return;
        };
        let detail = match service {
            0x01 | 0x09 => rest.first().copied(),
            _ => None,
        };
        if service == 0x01 {
            self.last_pids = Some(rest.to_vec());
        }
        if let [0x19, 0x42, _, mask, ..] = bytes {
            self.mask = Some(*mask);
        }
        for pid in rest.iter().filter(|_| service == 0x01) {
            self.asked.insert((service, Some(*pid)), line);
        }
        self.asked.insert((service, detail), line);
        self.last = Some((service, detail));
        match bytes {
            [0x01, pids @ ..] => pids.iter().for_each(|pid| self.topic(Topic::Pid(*pid), target, line)),
            [0x09, kind, ..] | [0x22, 0xF8, kind] => self.topic(Topic::Info(*kind), target, line),
            [0x22, 0xF4, pid] => self.topic(Topic::Pid(*pid), target, line),
            [0x03] => self.topic(Topic::Stored, target, line),
            [0x07] => self.topic(Topic::Pending, target, line),
            [0x0A] | [0x19, 0x55, ..] => self.topic(Topic::Permanent, target, line),
            [0x19, 0x42, _, mask, ..] => {
                for (bit, topic) in [(CONFIRMED, Topic::Stored), (PENDING, Topic::Pending)] {
                    if mask & bit != 0 {
                        self.topic(topic, target, line);
                    }
                }
            }
            [0x04] | [0x14, ..] => {
                self.clears.insert((u32::from(service), target), line);
            }
            _ => {}
        }
    }

    /// Takes a request for a parameter group of SAE J1939.
    pub(super) fn group(&mut self, target: Target, number: u32, line: usize) {
        if matches!(number, j1939::pgn::DM3 | j1939::pgn::DM11) {
            self.clears.insert((number, target), line);
        } else if j1939::name(number).is_some() {
            self.topic(Topic::Group(number), target, line);
        }
    }

    fn topic(&mut self, topic: Topic, target: Target, line: usize) {
        self.topics.insert((topic, target), line);
    }

    /// The line on which a controller was last asked for something, alone or with all others.
    pub(super) fn last_for(&self, topic: Topic, ecu: EcuId) -> Option<usize> {
        let targets = [Target::Everybody, Target::One(ecu)].into_iter();
        targets.filter_map(|target| self.topics.get(&(topic, target)).copied()).max()
    }

    /// Keeps that a controller answered a command to clear, with yes or no.
    pub(super) fn clear_answered(&mut self, ecu: EcuId, line: usize) {
        self.answers.insert(ecu, line);
    }

    /// Whether a controller answered a command to clear after that line.
    pub(super) fn has_answered_clear(&self, ecu: EcuId, after: usize) -> bool {
        self.answers.get(&ecu).is_some_and(|line| *line > after)
    }

    /// Whether any controller answered a command to clear after that line.
    pub(super) fn any_answered_clear(&self, after: usize) -> bool {
        self.answers.values().any(|line| *line > after)
    }

    /// The line of the last request for stored, pending or permanent codes; a legacy answer of several messages ends
    /// with the next request.
    pub(super) fn codes(&self, service: u8) -> Option<usize> {
        self.asked.get(&(service, None)).copied()
    }
}
