//! After the visit: whether a result that a station recorded follows from the facts.

use super::Ruling;
use crate::program::Class;

/// How a recorded result stands to a ruling.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Follows {
    /// Every possible outcome is of that class.
    Surely,
    /// Some are.
    Perhaps,
    /// None is.
    No,
}

impl Follows {
    /// All of them, with their words.
    pub const ALL: [(Follows, &'static str); 3] =
        [(Follows::Surely, "surely"), (Follows::Perhaps, "perhaps"), (Follows::No, "no")];

    /// The classes that a station can record.
    pub const RESULTS: [Class; 6] =
        [Class::Pass, Class::Conditional, Class::OtherTest, Class::Reject, Class::Fail, Class::NotSubject];

    /// How a result of a class stands to a ruling.
    #[must_use]
    pub fn of(ruling: &Ruling, recorded: Class) -> Follows {
        let hits = ruling.possible.iter().filter(|verdict| verdict.class == recorded).count();
        match hits {
            0 => Follows::No,
            all if all == ruling.possible.len() => Follows::Surely,
            _ => Follows::Perhaps,
        }
    }

    /// In a word.
    #[must_use]
    pub fn word(self) -> &'static str {
        Follows::ALL.iter().find(|(follows, _)| *follows == self).map_or("", |(_, word)| word)
    }
}
