//! What each ECU answered, as plain data for hosts. No ECU is compared with another here.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use super::codes::CodeList;
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
    /// DM12 or DM1: the lamp command.
    pub lamp_command: Option<Reading<LampCommand>>,
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
        match (&self.monitor_status, &self.heavy_duty) {
            (Some(status), _) => Some(status.value.monitors.beyond_components()),
            (None, Some(dm5)) => Some(dm5.value.is_obd() && dm5.value.monitors.beyond_components()),
            (None, None) => None,
        }
    }

    /// Forgets what a clear request makes stale (service $04). Permanent codes stay: service $04
    /// does not erase them (obd-data.md section 1.6).
    pub(super) fn forget_cleared(&mut self) {
        self.monitor_status = None;
        self.this_cycle = None;
        self.stored = None;
        self.pending = None;
        self.readiness_groups.clear();
        self.quantities.retain(|quantity, _| match quantity {
            Quantity::ObdRequirement | Quantity::FuelInUse | Quantity::Odometer | Quantity::SecondsSinceStart => true,
            Quantity::DistanceLampOn
            | Quantity::WarmUpsSinceClear
            | Quantity::DistanceSinceClear
            | Quantity::MinutesLampOn
            | Quantity::MinutesSinceClear => false,
        });
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
