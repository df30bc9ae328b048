//! The walk over what is known of one vehicle: truths are [`Truth`]s, monitors are counted in sets of bits.

use super::counted::{Counted, Range, States};
use super::meaning::{Logic, Meaning, Seen};
use super::test;
use super::truth::Truth;
use crate::model::facts::Possible;
use crate::model::{Fact, MonitorSet, MonitorState};
use crate::program::block::Allowance;
use crate::program::flat::FlatLimitRow;
use crate::program::{FactRef, Flat, Given, Test};
use std::cell::Cell;

/// What is known of a vehicle, and what was counted of it.
#[derive(Debug)]
pub struct Known<'a> {
    given: &'a Given,
    states: States,
    counted: Cell<Seen<Counted>>,
}

/// A walk over what is known of one vehicle.
pub type Walk<'a> = Meaning<'a, Known<'a>>;

/// The same where the program and what is known live apart.
pub(super) type OneWalk<'f, 'k> = Meaning<'f, Known<'k>>;

impl Logic for Known<'_> {
    type Truth = Truth;
    const FALSE: Truth = Truth::False;
    const UNKNOWN: Truth = Truth::Unknown;
    const TRUE: Truth = Truth::True;

    fn not(truth: Truth) -> Truth {
        truth.negated()
    }

    fn and(&self, one: Truth, other: Truth) -> Truth {
        one.and(other)
    }

    fn or(&self, one: Truth, other: Truth) -> Truth {
        one.or(other)
    }

    fn test(walk: &Meaning<'_, Self>, asked: &Test<usize>) -> Truth {
        test::truth(walk, asked)
    }

    fn allows(walk: &Meaning<'_, Self>, row: &FlatLimitRow) -> Truth {
        let counted = walk.counted();
        let incomplete = counted.how_many(MonitorState::Incomplete.bit());
        match &row.limit {
            Allowance::AtMost { count, only } => {
                let number = incomplete.is_within(None, Some(*count));
                let Some(only) = only else {
                    return number;
                };
                let (surely, perhaps) = counted.which(MonitorState::Incomplete.bit());
                number.and(Truth::between(perhaps.without(*only).is_empty(), surely.without(*only).is_empty()))
            }
            Allowance::AtLeastComplete(count) => {
                counted.how_many(MonitorState::Complete.bit()).is_within(Some(*count), None)
            }
            Allowance::NotRead => Truth::between(incomplete.most == 0, true),
        }
    }

    fn row(walk: &Meaning<'_, Self>, table: usize, place: usize) -> Truth {
        match walk.given().row_if_unlisted(table, place) {
            Some(is_listed) => Truth::of(is_listed),
            None => {
                let row = walk.flat().tables.get(table).and_then(|table| table.rows.get(place));
                row.map_or(Truth::False, |row| walk.truth(&row.condition))
            }
        }
    }
}

impl<'a> Meaning<'a, Known<'a>> {
    /// A walk; `assumed` holds a reading for each question in the program's order (shorter: the rest are left open).
    #[must_use]
    pub fn new(flat: &'a Flat, given: &'a Given, assumed: &'a [Option<usize>]) -> Walk<'a> {
        Meaning::over(flat, assumed, Known { given, states: States::of(&given.facts), counted: Cell::new(Seen::Not) })
    }
}

impl<'k> Meaning<'_, Known<'k>> {
    /// What is known of the vehicle.
    #[must_use]
    pub fn given(&self) -> &'k Given {
        self.logic().given
    }

    /// How each monitor can stand.
    #[must_use]
    pub fn states(&self) -> States {
        self.logic().states
    }

    /// What a fact can be.
    #[must_use]
    pub fn possible(&self, fact: &FactRef<usize>) -> &'k Possible {
        static NOTHING: Possible = Possible::Words(0);
        self.given().possible(fact).unwrap_or(&NOTHING)
    }

    /// The counted monitors.
    #[must_use]
    pub fn counted(&self) -> Counted {
        let memo = &self.logic().counted;
        match memo.get() {
            Seen::Done(counted) => counted,
            Seen::Entered => Counted::unknown(self),
            Seen::Not => {
                memo.set(Seen::Entered);
                let counted = Counted::of(self);
                memo.set(Seen::Done(counted));
                counted
            }
        }
    }

    /// Whether a row of a limit allows the monitors as they stand, its condition aside.
    #[must_use]
    pub fn allows(&self, row: &FlatLimitRow) -> Truth {
        Known::allows(self, row)
    }

    /// Monitors of an earlier set: surely, perhaps.
    #[must_use]
    pub fn earlier(&self, fact: Fact) -> (MonitorSet, MonitorSet) {
        match self.given().facts.get(fact) {
            Possible::Monitors { surely, perhaps } => (*surely, *perhaps),
            _ => (MonitorSet::EMPTY, MonitorSet::ALL),
        }
    }

    /// The numbers a fact may have; `None` where the vehicle surely is without it.
    pub(super) fn numbers(&self, fact: &FactRef<usize>) -> Option<(Range, bool)> {
        match self.possible(fact) {
            Possible::Number(span) if !span.has_no_value() => {
                Some((Range { least: span.least, most: span.most }, span.may_be_absent))
            }
            _ => None,
        }
    }
}
