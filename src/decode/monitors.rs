//! Monitor status bytes: PID $01 and PID $41 of SAE J1979, DM5 and DM26 of SAE J1939-73.
//!
//! Bit tables and their traps: obd-data.md sections 1.2, 1.3 and 2.3. Tells what one ECU says;
//! `aggregate` joins several.

use crate::model::MonitorState;

/// Which table of monitors the bits follow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MonitorTable {
    /// Spark ignition, SAE J1979.
    Spark,
    /// Compression ignition, SAE J1979.
    Compression,
    /// Heavy duty, SAE J1939-73: names of its own.
    HeavyDuty,
}

/// Bits 0 to 2: the monitors that run continuously (byte B).
const CONTINUOUS: [&str; 3] = ["misfire", "fuel-system", "components"];

/// Bits 0 to 7 of bytes C and D with B3 = 0 (obd-data.md 1.2). Bit 4 is the air-conditioning
/// refrigerant monitor in the editions read; later editions may mean the gasoline particulate
/// filter (from memory there), so `decode` flags the bit where it is set.
const SPARK: [Option<&str>; 8] = [
    Some("catalyst"),
    Some("heated-catalyst"),
    Some("evaporative"),
    Some("secondary-air"),
    Some("air-conditioning"),
    Some("oxygen-sensor"),
    Some("oxygen-sensor-heater"),
    Some("egr-vvt"),
];

/// Bits 0 to 7 of bytes C and D with B3 = 1 (obd-data.md 1.2); bits 2 and 4 are reserved.
const COMPRESSION: [Option<&str>; 8] = [
    Some("nmhc-catalyst"),
    Some("nox-aftertreatment"),
    None,
    Some("boost-pressure"),
    None,
    Some("exhaust-gas-sensor"),
    Some("particulate-filter"),
    Some("egr-vvt"),
];

const HD_CONTINUOUS: [&str; 3] = ["hd-misfire", "hd-fuel-system", "hd-components"];

/// Bytes 5 and 7, then bytes 6 and 8 of DM5 (obd-data.md 2.3).
const HEAVY_DUTY: [Option<&str>; 16] = [
    Some("hd-catalyst"),
    Some("hd-heated-catalyst"),
    Some("hd-evaporative"),
    Some("hd-secondary-air"),
    Some("hd-air-conditioning"),
    Some("hd-exhaust-gas-sensor"),
    Some("hd-exhaust-gas-sensor-heater"),
    Some("hd-egr-vvt"),
    Some("hd-cold-start-aid"),
    Some("hd-boost-pressure"),
    Some("hd-particulate-filter"),
    Some("hd-nox-catalyst"),
    Some("hd-nmhc-catalyst"),
    None,
    None,
    None,
];

impl MonitorTable {
    /// The monitors of the table: bit place and name, reserved places left out.
    fn places(self) -> impl Iterator<Item = (u32, &'static str)> {
        let (continuous, other): (&'static [&'static str], &'static [Option<&'static str>]) = match self {
            Self::Spark => (&CONTINUOUS, &SPARK),
            Self::Compression => (&CONTINUOUS, &COMPRESSION),
            Self::HeavyDuty => (&HD_CONTINUOUS, &HEAVY_DUTY),
        };
        (0u32..)
            .zip(continuous.iter().copied())
            .chain((8u32..).zip(other).filter_map(|(bit, name)| name.map(|n| (bit, n))))
    }

    /// The names of the monitors, continuous ones first, then in the order of the bits.
    pub fn names(self) -> impl Iterator<Item = &'static str> {
        self.places().map(|(_, name)| name)
    }
}

/// The monitors of one ECU: what it supports and what it reports as not complete.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Monitors {
    /// The table that the bits follow.
    pub table: MonitorTable,
    /// Support bits: places 0 to 2 continuous, from 8 on the others.
    supported: u32,
    /// Not-complete bits in the same places.
    incomplete: u32,
    /// Places of which the controller says *not available* (SAE J1939); never so in SAE J1979.
    not_known: u32,
}

/// A byte of SAE J1939 that says *not available* (J1939-71; obd-data.md 2.3).
const NOT_AVAILABLE: u8 = 0xFF;

/// Bit place of the comprehensive component monitor.
const COMPONENTS: u32 = 1 << 2;

impl Monitors {
    /// From bytes B, C and D of PID $01 or $41. B3 chooses the table.
    #[must_use]
    pub fn from_j1979(b: u8, c: u8, d: u8) -> Self {
        let table = if b & 0x08 == 0 { MonitorTable::Spark } else { MonitorTable::Compression };
        Self {
            table,
            supported: u32::from(b & 0x07) | u32::from(c) << 8,
            incomplete: u32::from(b >> 4 & 0x07) | u32::from(d) << 8,
            not_known: 0,
        }
    }

    /// From bytes 4 to 8 of DM5 or DM26. A byte of FF says *not available*: the monitors that it speaks of are not
    /// known. (FF in byte 5 or 7 could also mean all eight; that is not told apart, and not known is never wrong.)
    #[must_use]
    pub fn from_j1939(bytes: [u8; 5]) -> Self {
        let [continuous, support_low, support_high, status_low, status_high] = bytes;
        let gone = |bytes: &[u8], places: u32| if bytes.contains(&NOT_AVAILABLE) { places } else { 0 };
        Self {
            table: MonitorTable::HeavyDuty,
            not_known: gone(&[continuous], 0x07)
                | gone(&[support_low, status_low], 0xFF << 8)
                | gone(&[support_high, status_high], 0xFF << 16),
            supported: u32::from(continuous & 0x07) | u32::from(support_low) << 8 | u32::from(support_high) << 16,
            incomplete: u32::from(continuous >> 4 & 0x07) | u32::from(status_low) << 8 | u32::from(status_high) << 16,
        }
    }

    /// Every monitor of the table with its state; reserved places and those that are not available are left out.
    pub fn states(self) -> impl Iterator<Item = (&'static str, MonitorState)> {
        self.table.places().filter(move |(bit, _)| self.not_known & 1 << bit == 0).map(move |(bit, name)| {
            let at = 1u32 << bit;
            let state = match (self.supported & at != 0, self.incomplete & at != 0) {
                (false, _) => MonitorState::Unsupported,
                (true, false) => MonitorState::Complete,
                (true, true) => MonitorState::Incomplete,
            };
            (name, state)
        })
    }

    /// Monitors of the table of which the controller says *not available*.
    pub fn not_available(self) -> impl Iterator<Item = &'static str> {
        self.table.places().filter(move |(bit, _)| self.not_known & 1 << bit != 0).map(|(_, name)| name)
    }

    /// The state of one monitor; `None` if the table has no such name or the controller says *not available*.
    #[must_use]
    pub fn state(self, name: &str) -> Option<MonitorState> {
        self.states().find(|(n, _)| *n == name).map(|(_, state)| state)
    }

    /// Monitors reported as not complete although they are not supported: a contradiction in
    /// PID $01 and DM5 (obd-data.md 1.2), and what *disabled* looks like in PID $41.
    pub fn incomplete_unsupported(self) -> impl Iterator<Item = &'static str> {
        let odd = self.incomplete & !self.supported & !self.not_known;
        self.table.places().filter(move |(bit, _)| odd & 1 << bit != 0).map(|(_, name)| name)
    }

    /// Whether a reserved place is set in the support or status bits.
    #[must_use]
    pub fn reserved_set(self) -> bool {
        let named = self.table.places().fold(0u32, |all, (bit, _)| all | 1 << bit);
        (self.supported | self.incomplete) & !named & !self.not_known != 0
    }

    /// Whether the ECU supports anything besides comprehensive components: in practice the
    /// engine controller (obd-data.md 1.9).
    #[must_use]
    pub fn beyond_components(self) -> bool {
        self.supported & !self.not_known & !COMPONENTS != 0
    }
}

/// PID $01 of one ECU.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MonitorStatus {
    /// Whether the ECU commands the malfunction indicator lamp on (A7). The command, not the lamp.
    pub lamp: bool,
    /// How many confirmed codes the ECU announces for service $03, 0 to 127 (A6 to A0).
    pub code_count: u8,
    /// The monitors since the codes were cleared.
    pub monitors: Monitors,
    /// Bit B7, which is reserved and should be 0.
    pub reserved_b7: bool,
}

impl MonitorStatus {
    /// From the four data bytes of PID $01.
    #[must_use]
    pub fn from_bytes([a, b, c, d]: [u8; 4]) -> Self {
        Self {
            lamp: a & 0x80 != 0,
            code_count: a & 0x7F,
            monitors: Monitors::from_j1979(b, c, d),
            reserved_b7: b & 0x80 != 0,
        }
    }
}
