//! A snapshot: what is known of one vehicle at one visit. Missing is *not known*; a fact the vehicle does not have is
//! *not on this vehicle*. Reading and writing the JSON document is the business of `document`.

use super::exclusion::needs_an_answer;
use super::{CodeList, Date, Fact, MonitorSet};
use std::collections::BTreeMap;

/// The value of a fact.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Value {
    /// The word at this place of [`Fact::words`] (yes/no: 0 no, 1 yes; monitors: state).
    Word(u8),
    /// A number in base units of the fact's unit ([`super::Unit::scale`]).
    Number(i64),
    /// A date.
    Date(Date),
    /// Free text.
    Text(String),
    /// A set of monitors.
    Monitors(MonitorSet),
    /// A list of codes, whole or in part.
    Codes(CodeList),
}

/// What is known of a fact.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reading {
    /// The fact has this value.
    Known(Value),
    /// This vehicle has no such thing.
    NotOnVehicle,
}

/// The value of a fact that a program declares, before the program gives it its type.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum DeclaredValue {
    /// Yes or no.
    YesNo(bool),
    /// A whole number in the declared unit.
    Number(i64),
    /// A word.
    Word(String),
}

/// What is known of one vehicle at one visit. A fact without an entry is *not known*.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Snapshot {
    /// Facts of the table.
    pub readings: BTreeMap<Fact, Reading>,
    /// Facts that programs declare, by name.
    pub declared: BTreeMap<String, DeclaredValue>,
}

impl Snapshot {
    /// The reading of a fact; `None` is *not known*.
    #[must_use]
    pub fn get(&self, fact: Fact) -> Option<&Reading> {
        self.readings.get(&fact)
    }

    /// Sets a fact to a known value.
    pub fn set(&mut self, fact: Fact, value: Value) {
        self.readings.insert(fact, Reading::Known(value));
    }

    /// Sets a fact of type yes/no or words by its word; does nothing for a word the fact does not have.
    pub fn set_word(&mut self, fact: Fact, word: &str) {
        if let Some(place) = fact.words().iter().position(|known| *known == word) {
            self.set(fact, Value::Word(u8::try_from(place).unwrap_or(0)));
        }
    }

    /// Whether the vehicle is known not to answer on its connector.
    #[must_use]
    pub fn is_silent(&self) -> bool {
        let none = Fact::Communication.words().iter().position(|word| *word == "none");
        matches!(self.get(Fact::Communication), Some(Reading::Known(Value::Word(place))) if Some(usize::from(*place)) == none)
    }

    /// Leaves unread, among the facts that `may` admits, what only the answer of a vehicle can tell.
    pub fn leave_unread(&mut self, may: impl Fn(Fact) -> bool) {
        self.readings.retain(|fact, _| needs_an_answer(*fact).is_none() || !may(*fact));
    }

    /// The date of the visit, if known.
    #[must_use]
    pub fn test_date(&self) -> Option<Date> {
        match self.get(Fact::TestDate) {
            Some(Reading::Known(Value::Date(date))) => Some(*date),
            _ => None,
        }
    }
}
