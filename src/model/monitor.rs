//! Monitors, their states, and sets of them. Names follow the trade's English for the items of service $01 PID $01
//! (SAE J1979 as transcribed in the digest of vehicle data, section 1.2) and of J1939-73 DM5 (section 2.3).

/// One readiness monitor. The classic eleven and the compression-ignition five come from PID $01; the sixteen `hd-`
/// names are those of J1939-73 DM5 and are never squeezed into the classic names.
///
/// ```
/// assert_eq!(wherefore::Monitor::named("evaporative"), Some(wherefore::Monitor::Evaporative));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
#[non_exhaustive]
#[expect(missing_docs, reason = "each name is the trade's own; NAMES below spells them")]
pub enum Monitor {
    Misfire,
    FuelSystem,
    Components,
    Catalyst,
    HeatedCatalyst,
    Evaporative,
    SecondaryAir,
    AirConditioning,
    OxygenSensor,
    OxygenSensorHeater,
    EgrVvt,
    NmhcCatalyst,
    NoxAftertreatment,
    BoostPressure,
    ExhaustGasSensor,
    ParticulateFilter,
    HdMisfire,
    HdFuelSystem,
    HdComponents,
    HdCatalyst,
    HdHeatedCatalyst,
    HdEvaporative,
    HdSecondaryAir,
    HdAirConditioning,
    HdExhaustGasSensor,
    HdExhaustGasSensorHeater,
    HdEgrVvt,
    HdColdStartAid,
    HdBoostPressure,
    HdParticulateFilter,
    HdNoxCatalyst,
    HdNmhcCatalyst,
}

use Monitor as M;

/// Every monitor with its name, in the order of the bytes it is read from.
const NAMES: [(Monitor, &str); 32] = [
    (M::Misfire, "misfire"),
    (M::FuelSystem, "fuel-system"),
    (M::Components, "components"),
    (M::Catalyst, "catalyst"),
    (M::HeatedCatalyst, "heated-catalyst"),
    (M::Evaporative, "evaporative"),
    (M::SecondaryAir, "secondary-air"),
    (M::AirConditioning, "air-conditioning"),
    (M::OxygenSensor, "oxygen-sensor"),
    (M::OxygenSensorHeater, "oxygen-sensor-heater"),
    (M::EgrVvt, "egr-vvt"),
    (M::NmhcCatalyst, "nmhc-catalyst"),
    (M::NoxAftertreatment, "nox-aftertreatment"),
    (M::BoostPressure, "boost-pressure"),
    (M::ExhaustGasSensor, "exhaust-gas-sensor"),
    (M::ParticulateFilter, "particulate-filter"),
    (M::HdMisfire, "hd-misfire"),
    (M::HdFuelSystem, "hd-fuel-system"),
    (M::HdComponents, "hd-components"),
    (M::HdCatalyst, "hd-catalyst"),
    (M::HdHeatedCatalyst, "hd-heated-catalyst"),
    (M::HdEvaporative, "hd-evaporative"),
    (M::HdSecondaryAir, "hd-secondary-air"),
    (M::HdAirConditioning, "hd-air-conditioning"),
    (M::HdExhaustGasSensor, "hd-exhaust-gas-sensor"),
    (M::HdExhaustGasSensorHeater, "hd-exhaust-gas-sensor-heater"),
    (M::HdEgrVvt, "hd-egr-vvt"),
    (M::HdColdStartAid, "hd-cold-start-aid"),
    (M::HdBoostPressure, "hd-boost-pressure"),
    (M::HdParticulateFilter, "hd-particulate-filter"),
    (M::HdNoxCatalyst, "hd-nox-catalyst"),
    (M::HdNmhcCatalyst, "hd-nmhc-catalyst"),
];

impl Monitor {
    /// The monitors beside the continuous ones that nearly every light vehicle with a spark-ignition engine has: common
    /// practice of the trade.
    pub(crate) const USUAL_OF_SPARK: [Monitor; 5] =
        [M::OxygenSensorHeater, M::OxygenSensor, M::Catalyst, M::EgrVvt, M::Evaporative];

    /// The same with a compression-ignition engine: common practice of the trade.
    pub(crate) const USUAL_OF_COMPRESSION: [Monitor; 6] =
        [M::EgrVvt, M::BoostPressure, M::ExhaustGasSensor, M::NmhcCatalyst, M::NoxAftertreatment, M::ParticulateFilter];

    /// Every monitor, in table order.
    pub fn all() -> impl Iterator<Item = Monitor> {
        NAMES.iter().map(|(monitor, _)| *monitor)
    }

    /// The monitor's name in program files, snapshots and messages.
    #[must_use]
    pub fn name(self) -> &'static str {
        NAMES.iter().find(|(monitor, _)| *monitor == self).map_or("", |(_, name)| name)
    }

    /// The monitor as a person would say it in a sentence: `oxygen sensor`, `EGR/VVT`, `heavy-duty catalyst`.
    #[must_use]
    pub fn spoken(self) -> String {
        let name = self.name();
        let (duty, name) = name.strip_prefix("hd-").map_or(("", name), |rest| ("heavy-duty ", rest));
        let spoken = match name {
            "egr-vvt" => "EGR/VVT".to_owned(),
            "nmhc-catalyst" => "NMHC catalyst".to_owned(),
            "nox-aftertreatment" => "NOx aftertreatment".to_owned(),
            "nox-catalyst" => "NOx catalyst".to_owned(),
            name => name.replace('-', " "),
        };
        format!("{duty}{spoken}")
    }

    /// The monitor of that name.
    #[must_use]
    pub fn named(name: &str) -> Option<Monitor> {
        NAMES.iter().find(|(_, known)| *known == name).map(|(monitor, _)| *monitor)
    }

    /// The monitor's place in the table, 0 to 31.
    #[must_use]
    #[expect(clippy::as_conversions, reason = "a fieldless repr(u8) enum has no other conversion")]
    pub fn index(self) -> u8 {
        self as u8
    }

    /// Whether the monitor runs continuously (misfire, fuel system, comprehensive components): 40 CFR 86.1806-05(e)(4)
    /// and 86.010-18(k)(4)(i); the place of the component monitor is an inference (federal digest, G5).
    #[must_use]
    pub fn is_continuous(self) -> bool {
        matches!(self, M::Misfire | M::FuelSystem | M::Components | M::HdMisfire | M::HdFuelSystem | M::HdComponents)
    }

    /// Whether the name is one of J1939-73's (heavy-duty), apart from PID $01.
    #[must_use]
    pub fn is_j1939(self) -> bool {
        self.index() >= M::HdMisfire.index()
    }

    /// The kinds of ignition with which service $01 PID $01 tells of the monitor, in the words of the fact; none where J1939
    /// alone does.
    #[must_use]
    pub fn engines(self) -> &'static [&'static str] {
        match (self.is_j1939(), self.is_spark_only(), self.is_compression_only()) {
            (true, ..) => &[],
            (_, true, _) => &["spark"],
            (_, _, true) => &["compression"],
            _ => &["spark", "compression"],
        }
    }

    /// Whether only a spark-ignition engine can carry the monitor (byte C/D table with B3 = 0).
    #[must_use]
    pub fn is_spark_only(self) -> bool {
        (M::Catalyst.index()..=M::OxygenSensorHeater.index()).contains(&self.index())
    }

    /// Whether only a compression-ignition engine can carry the monitor (byte C/D table with B3 = 1).
    #[must_use]
    pub fn is_compression_only(self) -> bool {
        (M::NmhcCatalyst.index()..=M::ParticulateFilter.index()).contains(&self.index())
    }
}

/// What a vehicle says of one monitor.
///
/// ```
/// assert_eq!(wherefore::MonitorState::Incomplete.word(), "incomplete");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MonitorState {
    /// Not fitted or not reported by any controller: never complete, never incomplete.
    Unsupported,
    /// Has run since the codes were cleared. Not the same as "found nothing wrong".
    Complete,
    /// Supported, and has not finished since the codes were cleared.
    Incomplete,
}

impl MonitorState {
    /// The three states, in word order (their index is the bit in a mask of words).
    pub(crate) const WORDS: [&'static str; 3] = ["unsupported", "complete", "incomplete"];

    /// The three states, in the order of [`MonitorState::WORDS`].
    pub(crate) const ALL: [MonitorState; 3] =
        [MonitorState::Unsupported, MonitorState::Complete, MonitorState::Incomplete];

    /// Mask of the states of a monitor that is supported.
    pub(crate) const SUPPORTED: u64 = MonitorState::Complete.bit() | MonitorState::Incomplete.bit();

    /// Mask of all three states.
    pub(crate) const ANY: u64 = MonitorState::Unsupported.bit() | MonitorState::SUPPORTED;

    /// The state's bit in a mask of words.
    #[must_use]
    pub(crate) const fn bit(self) -> u64 {
        1 << self.place()
    }

    /// The state's place in [`MonitorState::WORDS`].
    #[must_use]
    pub(crate) const fn place(self) -> u8 {
        match self {
            MonitorState::Unsupported => 0,
            MonitorState::Complete => 1,
            MonitorState::Incomplete => 2,
        }
    }

    /// The word that snapshot documents and program files use.
    #[must_use]
    pub fn word(self) -> &'static str {
        let [unsupported, complete, incomplete] = MonitorState::WORDS;
        match self {
            MonitorState::Unsupported => unsupported,
            MonitorState::Complete => complete,
            MonitorState::Incomplete => incomplete,
        }
    }
}

/// A set of monitors.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct MonitorSet(u32);

impl MonitorSet {
    /// No monitor.
    pub const EMPTY: MonitorSet = MonitorSet(0);
    /// All thirty-two monitors.
    pub const ALL: MonitorSet = MonitorSet(u32::MAX);

    /// The set with these bits; bit *n* is the monitor of index *n*.
    #[must_use]
    pub fn from_bits(bits: u32) -> MonitorSet {
        MonitorSet(bits)
    }

    /// The set as bits.
    #[must_use]
    pub fn bits(self) -> u32 {
        self.0
    }

    /// Whether the monitor is in the set.
    #[must_use]
    pub fn contains(self, monitor: Monitor) -> bool {
        self.0 >> monitor.index() & 1 == 1
    }

    /// The set with one monitor more.
    #[must_use]
    pub fn with(self, monitor: Monitor) -> MonitorSet {
        MonitorSet(self.0 | 1 << monitor.index())
    }

    /// Monitors of both sets.
    #[must_use]
    pub fn and(self, other: MonitorSet) -> MonitorSet {
        MonitorSet(self.0 & other.0)
    }

    /// Monitors of either set.
    #[must_use]
    pub fn or(self, other: MonitorSet) -> MonitorSet {
        MonitorSet(self.0 | other.0)
    }

    /// Monitors of this set that are not in the other.
    #[must_use]
    pub fn without(self, other: MonitorSet) -> MonitorSet {
        MonitorSet(self.0 & !other.0)
    }

    /// How many monitors the set holds, 0 to 32.
    #[must_use]
    pub fn count(self) -> u32 {
        self.0.count_ones()
    }

    /// Whether the set is empty.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The monitors of the set, in table order.
    pub fn iter(self) -> impl Iterator<Item = Monitor> {
        Monitor::all().filter(move |monitor| self.contains(*monitor))
    }
}

impl FromIterator<Monitor> for MonitorSet {
    fn from_iter<I: IntoIterator<Item = Monitor>>(monitors: I) -> MonitorSet {
        monitors.into_iter().fold(MonitorSet::EMPTY, MonitorSet::with)
    }
}

impl std::fmt::Debug for MonitorSet {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_set().entries(self.iter().map(Monitor::name)).finish()
    }
}
