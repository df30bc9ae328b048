//! Parts of blocks: announced changes and what they could turn, times between tests, words that leave vehicles out.

use super::{Condition, Refer};

/// The word that leaves vehicles out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LeftOutBy {
    /// `leaves out where …: OUTCOME`
    LeavesOut,
    /// `exempts where …`
    Exempts,
    /// `sends to OUTCOME where …`
    Sends,
}

impl LeftOutBy {
    /// The words that begin the item.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            LeftOutBy::LeavesOut => "leaves out",
            LeftOutBy::Exempts => "exempts",
            LeftOutBy::Sends => "sends",
        }
    }
}

/// A time between tests.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Interval {
    /// Months, 1 to 120.
    pub months: u16,
}

impl Interval {
    /// In words, `2 years`.
    #[must_use]
    pub fn words(self) -> String {
        let (count, unit) =
            if self.months.is_multiple_of(12) { (self.months / 12, "year") } else { (self.months, "month") };
        if count == 1 { format!("1 {unit}") } else { format!("{count} {unit}s") }
    }

    /// How often, `every year`, `every 2 years`.
    #[must_use]
    pub fn every(self) -> String {
        format!("every {}", self.words().strip_prefix("1 ").map_or_else(|| self.words(), str::to_owned))
    }
}

/// How far an announced change has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ChangeKind {
    /// Made by the authority, its text not seen or not yet in force.
    Adopted,
    /// From a secondary text.
    Reported,
    /// Proposed, not made.
    Proposed,
}

impl ChangeKind {
    /// All kinds with their words.
    pub const ALL: [(ChangeKind, &'static str); 3] =
        [(ChangeKind::Adopted, "adopted"), (ChangeKind::Reported, "reported"), (ChangeKind::Proposed, "proposed")];

    /// The word in program files.
    #[must_use]
    pub fn word(self) -> &'static str {
        ChangeKind::ALL.iter().find(|(kind, _)| *kind == self).map_or("", |(_, word)| word)
    }
}

/// Outcomes that an announced change could turn.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Turn<R: Refer> {
    /// Outcomes it could change, by name.
    pub could_turn: Vec<String>,
    /// Into which.
    pub into: Vec<String>,
    /// Of which vehicles.
    pub concerns: Condition<R>,
}
