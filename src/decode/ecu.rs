//! What each ECU answered, as plain data for hosts. No ECU is compared with another here.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use super::asked::Topic;
use super::codes::CodeList;
use super::j1939::pgn;
use super::monitors::{MonitorStatus, Monitors};

/// Who answered. Identified by the header of the answer, never by the order of arrival.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum EcuId {
    /// 11-bit CAN id of the answers, for example 7E8.
    Standard(u16),
    /// 29-bit CAN id of the answers, for example 18DAF110.
    Extended(u32),
    /// Source address on J1850, ISO 9141-2 or ISO 14230.
    Legacy(u8),
    /// Source address on SAE J1939.
    J1939(u8),
}

impl EcuId {
    /// Whether on-board-diagnostic answers come from this id: 7E8 to 7EF and 18DAF1xx
    /// (ISO 15765-4, obd-data.md section 3.1), and every address of the other buses.
    #[must_use]
    pub fn is_obd(self) -> bool {
        match self {
            Self::Standard(id) => (0x7E8..=0x7EF).contains(&id),
            Self::Extended(id) => id & 0x1FFF_FF00 == 0x18DA_F100,
            Self::Legacy(_) | Self::J1939(_) => true,
        }
    }
}

impl fmt::Display for EcuId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Standard(id) => write!(f, "{id:03X}"),
            Self::Extended(id) => write!(f, "{id:08X}"),
            Self::Legacy(address) => write!(f, "{address:02X}"),
            Self::J1939(address) => write!(f, "SA {address:02X}"),
        }
    }
}

/// A value with the bytes it was read from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading<T> {
    /// The value.
    pub value: T,
    /// The payload, service byte first.
    pub bytes: Vec<u8>,
    /// The line on which the message began, from 1.
    pub line: usize,
}

/// A number that an ECU reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Quantity {
    /// PID $1C: the requirement that the vehicle was certified to, raw number.
    ObdRequirement,
    /// PID $1F, DM26: seconds since the engine started; 65535 means that or more.
    SecondsSinceStart,
    /// PID $21, DM21: kilometres with the lamp on; 65535 means that or more.
    DistanceLampOn,
    /// PID $30, DM26: warm-ups since codes were cleared; 255 means that or more (J1939: 250).
    WarmUpsSinceClear,
    /// PID $31, DM21: kilometres since codes were cleared; 65535 means that or more.
    DistanceSinceClear,
    /// PID $4D, DM21: minutes of running with the lamp on; 65535 means that or more.
    MinutesLampOn,
    /// PID $4E, DM21: minutes of running since codes were cleared; 65535 means that or more.
    MinutesSinceClear,
    /// PID $51: the fuel now in use, raw number.
    FuelInUse,
    /// PID $A6: odometer in tenths of a kilometre.
    Odometer,
}

impl Quantity {
    /// The PID of SAE J1979 that carries the quantity.
    #[must_use]
    pub fn pid(self) -> u8 {
        match self {
            Self::ObdRequirement => 0x1C,
            Self::SecondsSinceStart => 0x1F,
            Self::DistanceLampOn => 0x21,
            Self::WarmUpsSinceClear => 0x30,
            Self::DistanceSinceClear => 0x31,
            Self::MinutesLampOn => 0x4D,
            Self::MinutesSinceClear => 0x4E,
            Self::FuelInUse => 0x51,
            Self::Odometer => 0xA6,
        }
    }

    /// Whether it counts from the last clearing, or from when the lamp came on after it.
    pub(super) fn is_cleared(self) -> bool {
        match self {
            Self::ObdRequirement | Self::FuelInUse | Self::Odometer | Self::SecondsSinceStart => false,
            Self::DistanceLampOn
            | Self::WarmUpsSinceClear
            | Self::DistanceSinceClear
            | Self::MinutesLampOn
            | Self::MinutesSinceClear => true,
        }
    }

    /// Whether DM21 carries it on SAE J1939.
    fn is_of_dm21(self) -> bool {
        self.is_cleared() && self != Self::WarmUpsSinceClear
    }

    /// Whether it can only grow until codes are cleared.
    pub(super) fn grows_until_cleared(self) -> bool {
        matches!(self, Self::WarmUpsSinceClear | Self::DistanceSinceClear | Self::MinutesSinceClear)
    }

    /// The quantity of a PID.
    pub(super) fn of_pid(pid: u8) -> Option<Self> {
        Some(match pid {
            0x1C => Self::ObdRequirement,
            0x1F => Self::SecondsSinceStart,
            0x21 => Self::DistanceLampOn,
            0x30 => Self::WarmUpsSinceClear,
            0x31 => Self::DistanceSinceClear,
            0x4D => Self::MinutesLampOn,
            0x4E => Self::MinutesSinceClear,
            0x51 => Self::FuelInUse,
            0xA6 => Self::Odometer,
            _ => return None,
        })
    }
}

/// What an ECU said when asked for the VIN.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum VinAnswer {
    /// Seventeen characters.
    Text(String),
    /// Fill bytes: nothing was ever written.
    Blank,
    /// Bytes that are no VIN.
    Malformed(String),
}

/// The lamp command of a J1939 message (two bits).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LampCommand {
    /// 00.
    Off,
    /// 01.
    On,
    /// 10.
    Error,
    /// 11.
    NotAvailable,
}

/// DM5 of one J1939 controller.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HeavyDutyReadiness {
    /// Byte 1: how many active codes it announces, 0 to 250; `None` where it says error or *not available*.
    pub active_codes: Option<u8>,
    /// Byte 3, OBD compliance, in the numbering of SAE J1939 (not that of PID $1C).
    pub compliance: u8,
    /// The monitors since the codes were cleared.
    pub monitors: Monitors,
}

impl HeavyDutyReadiness {
    /// Whether the controller takes part in OBD: compliance $13, $14, $22 or $23
    /// (obd-data.md section 2.3).
    #[must_use]
    pub fn is_obd(self) -> bool {
        matches!(self.compliance, 0x13 | 0x14 | 0x22 | 0x23)
    }
}

/// A readiness group of an OBDonUDS answer (`59 56`), whose number has no public name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadinessGroup {
    /// The group identifier, raw.
    pub group: u8,
    /// Each code of the group with its raw status byte.
    pub codes: Vec<(String, u8)>,
}

/// What came after a list of stored codes (DM12) and says that it may be another one now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Doubt {
    /// In words: what the controller did since.
    pub what: &'static str,
    /// The line that shows it.
    pub line: usize,
}

/// Which command cleared what an ECU keeps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cleared {
    /// Service $04, service $14 of UDS, DM11: codes, lamp, readiness and everything since clearing.
    All,
    /// DM3: previously active codes, of which no fact is told. Whoever carries it out may have reset readiness and the
    /// numbers since clearing with them; active codes and the lamp stay as they are.
    PreviouslyActive,
}

/// Everything that one ECU answered. The latest whole answer stands.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
#[non_exhaustive]
pub struct EcuAnswers {
    /// PID $01.
    pub monitor_status: Option<Reading<MonitorStatus>>,
    /// PID $41 or DM26: this driving cycle; for advice only.
    pub this_cycle: Option<Reading<Monitors>>,
    /// DM5.
    pub heavy_duty: Option<Reading<HeavyDutyReadiness>>,
    /// DM1 or DM12, whichever came last: the lamp command.
    pub lamp_command: Option<Reading<LampCommand>>,
    /// DM1: all active codes, also those that no emission regulation is about. What is told as stored is DM12; this list
    /// shows whether that one is still true.
    pub active: Option<CodeList>,
    /// What was seen after the last DM12 and may have changed its list.
    pub(super) doubt: Option<Doubt>,
    /// The numbers that it reported.
    pub quantities: BTreeMap<Quantity, Reading<u32>>,
    /// PIDs $00, $20, $40, $60, ...: bitmaps of supported PIDs, by first number of the block.
    pub supported: BTreeMap<u8, Reading<u32>>,
    /// Service $03 or DM12: confirmed codes.
    pub stored: Option<CodeList>,
    /// Service $07 or DM6.
    pub pending: Option<CodeList>,
    /// Service $0A or DM28.
    pub permanent: Option<CodeList>,
    /// The answer to the request for the VIN.
    pub vin: Option<Reading<VinAnswer>>,
    /// Calibration identifications (service $09, InfoType $04).
    pub calibration_ids: Option<Reading<Vec<String>>>,
    /// Calibration verification numbers (service $09, InfoType $06).
    pub calibration_numbers: Option<Reading<Vec<u32>>>,
    /// In-use performance counters (service $09, InfoType $08 or $0B), for advice only.
    pub performance: Option<Reading<Vec<u16>>>,
    /// ECU name (service $09, InfoType $0A).
    pub name: Option<Reading<String>>,
    /// Readiness groups of OBDonUDS (`59 56`).
    pub readiness_groups: BTreeMap<u8, Reading<ReadinessGroup>>,
    /// Messages of SAE J1939-73 that it sent and that are not read here, by name.
    pub unread_messages: BTreeSet<&'static str>,
    /// Negative answers: service and response code, with the line of the last one.
    pub refusals: BTreeMap<(u8, u8), usize>,
    /// Services that it answered positively or negatively, as requested.
    pub services: BTreeSet<u8>,
    /// Whether it said that it speaks OBDonUDS (`62 F8 10 01`) or answered a service of it.
    pub speaks_uds: bool,
    /// Whether it answered a classic service.
    pub speaks_classic: bool,
    /// Parts of legacy answers that come in several messages: InfoType, number, bytes and line.
    pub(super) parts: BTreeMap<u8, BTreeMap<u8, ([u8; 4], usize)>>,
}

impl EcuAnswers {
    /// Whether it supports a PID by its bitmaps; `None` if the bitmaps that tell were not read.
    #[must_use]
    pub fn supports(&self, pid: u8) -> Option<bool> {
        let index = pid.checked_sub(1)?;
        let base = index & !0x1F;
        if let Some(block) = self.supported.get(&base) {
            return Some(block.value >> (31 - (index & 0x1F)) & 1 == 1);
        }
        // The last bit of a block says whether the next block exists.
        let (&last, block) = self.supported.range(..base).next_back()?;
        (block.value & 1 == 0 && last < base).then_some(false)
    }

    /// The engine controller by the rule of obd-data.md section 1.9: it supports a monitor
    /// besides comprehensive components. `None` while it has not given its monitor status.
    #[must_use]
    pub fn is_engine(&self) -> Option<bool> {
        let monitors = match (&self.monitor_status, &self.heavy_duty) {
            (Some(status), _) => status.value.monitors,
            (None, Some(dm5)) if !dm5.value.is_obd() => return Some(false),
            (None, Some(dm5)) => dm5.value.monitors,
            (None, None) => return None,
        };
        match (monitors.beyond_components(), monitors.not_available().next()) {
            (false, Some(_)) => None,
            (beyond, _) => Some(beyond),
        }
    }

    /// Forgets what a clear command makes stale: what was read before that line. Permanent codes stay: no command
    /// erases them (obd-data.md section 1.6).
    pub(super) fn forget_cleared(&mut self, cleared: Cleared, before: usize) {
        fn old<T>(slot: &mut Option<Reading<T>>, before: usize) {
            slot.take_if(|reading| reading.line < before);
        }
        old(&mut self.monitor_status, before);
        old(&mut self.this_cycle, before);
        old(&mut self.heavy_duty, before);
        self.readiness_groups.retain(|_, reading| reading.line >= before);
        self.quantities.retain(|quantity, reading| !quantity.is_cleared() || reading.line >= before);
        if cleared == Cleared::All {
            old(&mut self.lamp_command, before);
            for list in [&mut self.stored, &mut self.pending, &mut self.active] {
                list.take_if(|list| list.line() < before);
            }
            self.doubt.take_if(|doubt| doubt.line < before);
        }
    }

    /// What it answered that a fact can come from, as it would be asked for, with the line of the answer that is kept.
    pub(super) fn topics(&self, id: EcuId) -> Vec<(Topic, usize)> {
        fn of<T>(topic: Topic, slot: &Option<Reading<T>>) -> Option<(Topic, usize)> {
            slot.as_ref().map(|reading| (topic, reading.line))
        }
        let is_heavy = matches!(id, EcuId::J1939(_));
        let either = |classic, group| if is_heavy { Topic::Group(group) } else { classic };
        let readings = [
            of(Topic::Pid(0x01), &self.monitor_status),
            of(either(Topic::Pid(0x41), pgn::DM26), &self.this_cycle),
            of(Topic::Group(pgn::DM5), &self.heavy_duty),
            of(either(Topic::Info(0x02), pgn::VIN), &self.vin),
            of(Topic::Info(0x04), &self.calibration_ids),
        ];
        let lists = [
            (either(Topic::Stored, pgn::DM12), &self.stored),
            (either(Topic::Pending, pgn::DM6), &self.pending),
            (either(Topic::Permanent, pgn::DM28), &self.permanent),
            (Topic::Group(pgn::DM1), &self.active),
        ];
        let lists = lists.into_iter().filter_map(|(topic, list)| list.as_ref().map(|list| (topic, list.line())));
        let numbers = self.quantities.iter().filter(|(which, _)| !is_heavy || which.is_of_dm21());
        let numbers = numbers.map(|(which, it)| (either(Topic::Pid(which.pid()), pgn::DM21), it.line));
        let found: BTreeSet<(Topic, usize)> = readings.into_iter().flatten().chain(lists).chain(numbers).collect();
        found.into_iter().collect()
    }

    /// The line of the first answer that is still kept; 0 where none is.
    pub(super) fn line(&self) -> usize {
        fn of<T>(slot: &Option<Reading<T>>) -> Option<usize> {
            slot.as_ref().map(|reading| reading.line)
        }
        let lists = [&self.stored, &self.pending, &self.permanent, &self.active];
        let readings = [of(&self.monitor_status), of(&self.heavy_duty), of(&self.this_cycle), of(&self.lamp_command)];
        let information = [of(&self.vin), of(&self.calibration_ids), of(&self.name)];
        let lines = lists.into_iter().flatten().map(CodeList::line).chain(readings.into_iter().flatten());
        let lines = lines.chain(information.into_iter().flatten()).chain(self.refusals.values().copied());
        lines.chain(self.quantities.values().chain(self.supported.values()).map(|it| it.line)).min().unwrap_or(0)
    }
}

/// A responder outside the ids that on-board diagnostics use: listed, never joined.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OtherResponder {
    /// Its CAN id.
    pub id: EcuId,
    /// The first answer seen.
    pub bytes: Vec<u8>,
    /// The line of the first answer.
    pub line: usize,
}
