//! One walk over a flat program: the truth of any condition of it, given what is known of a vehicle and which readings
//! of open questions are assumed. It allocates two small lists and nothing more; it writes no record.

use super::counted::{Counted, Range, States};
use super::test;
use super::truth::Truth;
use crate::model::facts::Possible;
use crate::model::{Fact, MonitorSet, MonitorState};
use crate::program::block::Allowance;
use crate::program::flat::{FlatLimitRow, FlatRow};
use crate::program::{Condition, FactRef, Flat, Given};
use std::cell::Cell;

/// What the walk remembers of a part of the program.
#[derive(Debug, Clone, Copy)]
enum Seen<T> {
    Not,
    Entered,
    Done(T),
}

/// A walk.
#[derive(Debug)]
pub struct Walk<'a> {
    flat: &'a Flat,
    given: &'a Given,
    assumed: &'a [Option<usize>],
    states: States,
    counted: Cell<Seen<Counted>>,
    findings: Vec<Cell<Seen<Truth>>>,
    limits: Vec<Cell<Seen<(Truth, Truth)>>>,
}

impl<'a> Walk<'a> {
    /// A walk; `assumed` holds a reading for each question in the program's order (shorter: the rest are left open).
    #[must_use]
    pub fn new(flat: &'a Flat, given: &'a Given, assumed: &'a [Option<usize>]) -> Walk<'a> {
        let walk = Walk {
            flat,
            given,
            assumed,
            states: States::of(&given.facts),
            counted: Cell::new(Seen::Not),
            findings: vec![Cell::new(Seen::Not); flat.findings.len()],
            limits: vec![Cell::new(Seen::Not); flat.limits.len()],
        };
        // Findings refer to earlier ones only: taken in order, a long chain of them needs no deep recursion.
        if flat.findings.len() > 64 {
            (0..flat.findings.len()).for_each(|place| {
                let _ = walk.finding(place);
            });
        }
        walk
    }

    /// The program.
    #[must_use]
    pub fn flat(&self) -> &'a Flat {
        self.flat
    }

    /// What is known of the vehicle.
    #[must_use]
    pub fn given(&self) -> &'a Given {
        self.given
    }

    /// How each monitor can stand.
    #[must_use]
    pub fn states(&self) -> States {
        self.states
    }

    /// What a fact can be.
    #[must_use]
    pub fn possible(&self, fact: &FactRef<usize>) -> &'a Possible {
        static NOTHING: Possible = Possible::Words(0);
        self.given.possible(fact).unwrap_or(&NOTHING)
    }

    /// Whether the condition holds.
    #[must_use]
    pub fn truth(&self, condition: &Condition<usize>) -> Truth {
        match condition {
            Condition::All(parts) => {
                let mut truth = Truth::True;
                for part in parts {
                    truth = truth.and(self.truth(part));
                    if truth.is_false() {
                        break;
                    }
                }
                truth
            }
            Condition::Any(parts) => {
                let mut truth = Truth::False;
                for part in parts {
                    truth = truth.or(self.truth(part));
                    if truth.is_true() {
                        break;
                    }
                }
                truth
            }
            Condition::Not(inner) => self.truth(inner).negated(),
            Condition::Test(asked) => test::truth(self, asked),
        }
    }

    /// The reading of a question that is taken or assumed.
    #[must_use]
    pub fn reading(&self, question: usize) -> Option<usize> {
        let taken = self.flat.questions.get(question)?.taken;
        taken.or_else(|| self.assumed.get(question).copied().flatten())
    }

    /// Whether a named condition holds. One that goes round in a circle, which `check` refuses, is unknown.
    #[must_use]
    pub fn finding(&self, place: usize) -> Truth {
        let (Some(memo), Some((_, condition))) = (self.findings.get(place), self.flat.findings.get(place)) else {
            return Truth::Unknown;
        };
        match memo.get() {
            Seen::Done(truth) => truth,
            Seen::Entered => Truth::Unknown,
            Seen::Not => {
                memo.set(Seen::Entered);
                let truth = self.truth(condition);
                memo.set(Seen::Done(truth));
                truth
            }
        }
    }

    /// The counted monitors.
    #[must_use]
    pub fn counted(&self) -> Counted {
        match self.counted.get() {
            Seen::Done(counted) => counted,
            Seen::Entered => Counted::unknown(self),
            Seen::Not => {
                self.counted.set(Seen::Entered);
                let counted = Counted::of(self);
                self.counted.set(Seen::Done(counted));
                counted
            }
        }
    }

    /// Whether the vehicle is within a limit, and whether it is over it.
    #[must_use]
    pub fn limit(&self, place: usize) -> (Truth, Truth) {
        let (Some(memo), Some(limit)) = (self.limits.get(place), self.flat.limits.get(place)) else {
            return (Truth::Unknown, Truth::Unknown);
        };
        match memo.get() {
            Seen::Done(truths) => truths,
            Seen::Entered => (Truth::Unknown, Truth::Unknown),
            Seen::Not => {
                memo.set(Seen::Entered);
                let (mut within, mut over) = (Truth::False, Truth::False);
                for row in &limit.rows {
                    let holds = self.truth(&row.condition);
                    if !holds.is_false() {
                        let allows = self.allows(row);
                        within = within.or(holds.and(allows));
                        over = over.or(holds.and(allows.negated()));
                    }
                }
                memo.set(Seen::Done((within, over)));
                (within, over)
            }
        }
    }

    /// Whether a row of a limit allows the monitors as they stand, its condition aside.
    #[must_use]
    pub fn allows(&self, row: &FlatLimitRow) -> Truth {
        let counted = self.counted();
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

    /// Rows of a table with their places.
    pub(super) fn rows(&self, table: usize) -> impl Iterator<Item = (usize, &'a FlatRow)> {
        self.flat.tables.get(table).into_iter().flat_map(|table| table.rows.iter().enumerate())
    }

    /// Whether a row of a table is the vehicle's. Where it is presumed not to be in the table, only a row that surely is.
    #[must_use]
    pub fn row_holds(&self, table: usize, place: usize) -> Truth {
        match self.given.row_if_unlisted(table, place) {
            Some(is_listed) => Truth::of(is_listed),
            None => {
                let row = self.flat.tables.get(table).and_then(|table| table.rows.get(place));
                row.map_or(Truth::False, |row| self.truth(&row.condition))
            }
        }
    }

    /// Monitors of an earlier set: surely, perhaps.
    #[must_use]
    pub fn earlier(&self, fact: Fact) -> (MonitorSet, MonitorSet) {
        match self.given.facts.get(fact) {
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
