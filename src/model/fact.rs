//! The facts a program may test, and the types they have. The table of names, units, ranges and sources is `table`.

use super::{Monitor, Unit};

/// One fact about a vehicle, its visit or its diagnostic data.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(missing_docs, reason = "every fact is described in the table, which is also its documentation")]
pub enum Fact {
    ModelYear,
    Fuel,
    FuelInUse,
    Ignition,
    Class,
    GrossWeight,
    Hybrid,
    PlugIn,
    Make,
    Model,
    Engine,
    FirstRegistered,
    TestDate,
    Visit,
    Purpose,
    Area,
    Odometer,
    EarlierIncompleteVisits,
    HoursSincePrevious,
    DistanceSincePrevious,
    EarlierFailureCodes,
    EarlierCodes,
    EarlierIncomplete,
    EarlierIncompleteCount,
    EarlierLampMonitors,
    Connector,
    Communication,
    Protocol,
    VinInData,
    VinMatches,
    LampCommanded,
    LampLitKeyOn,
    LampLitRunning,
    LampFlashing,
    StoredCodes,
    PendingCodes,
    PermanentCodes,
    WarmUps,
    DistanceSinceClear,
    MinutesSinceClear,
    DistanceSinceLamp,
    MinutesSinceLamp,
    Monitor(Monitor),
}

/// What kind of value a fact has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FactType {
    /// Yes or no, with the words a program file uses for either.
    YesNo {
        /// Words for yes, `lamp commanded on`.
        yes: &'static str,
        /// Words for no, `lamp not commanded on`.
        no: &'static str,
    },
    /// One of a fixed list of words.
    Words(&'static [&'static str]),
    /// A whole number of a unit, within a range; both in that unit.
    Number {
        /// Unit of the range and of the plain JSON key.
        unit: Unit,
        /// Least value that can be.
        least: i64,
        /// Greatest value that can be.
        most: i64,
        /// Whether the greatest value means "that or more".
        saturates: bool,
    },
    /// A calendar date.
    Date,
    /// Free text, compared whole, without regard to case.
    Text,
    /// A set of monitors.
    Monitors,
    /// A list of trouble codes.
    Codes,
}

impl Fact {
    /// The fact's place in the table: that of its row, monitors after all rows.
    #[must_use]
    pub fn place(self) -> usize {
        match self {
            Fact::ModelYear => 0,
            Fact::Fuel => 1,
            Fact::FuelInUse => 2,
            Fact::Ignition => 3,
            Fact::Class => 4,
            Fact::GrossWeight => 5,
            Fact::Hybrid => 6,
            Fact::PlugIn => 7,
            Fact::Make => 8,
            Fact::Model => 9,
            Fact::Engine => 10,
            Fact::FirstRegistered => 11,
            Fact::TestDate => 12,
            Fact::Visit => 13,
            Fact::Purpose => 14,
            Fact::Area => 15,
            Fact::Odometer => 16,
            Fact::EarlierIncompleteVisits => 17,
            Fact::HoursSincePrevious => 18,
            Fact::DistanceSincePrevious => 19,
            Fact::EarlierFailureCodes => 20,
            Fact::EarlierCodes => 21,
            Fact::EarlierIncomplete => 22,
            Fact::EarlierIncompleteCount => 23,
            Fact::EarlierLampMonitors => 24,
            Fact::Connector => 25,
            Fact::Communication => 26,
            Fact::Protocol => 27,
            Fact::VinInData => 28,
            Fact::VinMatches => 29,
            Fact::LampCommanded => 30,
            Fact::LampLitKeyOn => 31,
            Fact::LampLitRunning => 32,
            Fact::LampFlashing => 33,
            Fact::StoredCodes => 34,
            Fact::PendingCodes => 35,
            Fact::PermanentCodes => 36,
            Fact::WarmUps => 37,
            Fact::DistanceSinceClear => 38,
            Fact::MinutesSinceClear => 39,
            Fact::DistanceSinceLamp => 40,
            Fact::MinutesSinceLamp => 41,
            Fact::Monitor(monitor) => 42 + usize::from(monitor.index()),
        }
    }

    /// The words of a fact of type yes/no or words, in the order of their bits in a mask; `no` is bit 0, `yes` bit 1.
    #[must_use]
    pub fn words(self) -> &'static [&'static str] {
        match super::spec(self).kind {
            FactType::YesNo { .. } => &["no", "yes"],
            FactType::Words(words) => words,
            FactType::Number { .. } | FactType::Date | FactType::Text | FactType::Monitors | FactType::Codes => &[],
        }
    }

    /// The bit of a word of this fact in a mask.
    #[must_use]
    pub fn word_bit(self, word: &str) -> Option<u64> {
        self.words().iter().position(|known| *known == word).and_then(|at| 1u64.checked_shl(u32::try_from(at).ok()?))
    }

    /// The mask of all words of this fact.
    #[must_use]
    pub fn all_words(self) -> u64 {
        u32::try_from(self.words().len()).ok().and_then(|count| 1u64.checked_shl(count)).map_or(0, |bit| bit - 1)
    }
}
