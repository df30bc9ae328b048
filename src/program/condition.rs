//! Conditions: tests of facts, joined. `R` is what names refer by ([`Refer`]): a name in a [`super::Program`], a place in a
//! list in a [`super::Flat`] program.
//!
//! A test of a fact that is *not on this vehicle* is false, whatever it asks; [`Test::Present`] alone tells absence.

use crate::model::{Fact, MonitorSet};
use std::convert::Infallible;
use std::fmt::Debug;

/// How a condition refers to what a program declares; with it goes whether the condition can still hold what the date of the
/// visit settles.
pub trait Refer {
    /// [`Dated`] tests as they are written; none in a flat program.
    type Dated: Debug + Clone + Ord;
}

/// By name, as a file writes it.
impl Refer for String {
    type Dated = Dated;
}

/// By place in a list of a flat program. Selection has resolved every dated test, and none can be written.
impl Refer for usize {
    type Dated = Infallible;
}

/// A test that selection resolves: the date of the visit settles it, or makes a test of the model year of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Dated {
    /// The vehicle's age, as the program counts it, is within the bounds.
    Age {
        /// Lower bound in years.
        least: Option<i64>,
        /// Upper bound in years.
        most: Option<i64>,
    },
    /// Test year and model year are both even or both odd (true), or not.
    SameParity(bool),
    /// The test year is even, or odd.
    TestYearIsEven(bool),
}

/// Tests joined.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Condition<R: Refer> {
    /// All hold; true when empty.
    All(Vec<Condition<R>>),
    /// Any holds; false when empty.
    Any(Vec<Condition<R>>),
    /// It does not hold.
    Not(Box<Condition<R>>),
    /// One test.
    Test(Test<R>),
}

/// A fact of the table, or one the program declares.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum FactRef<R> {
    /// A fact of the table.
    Known(Fact),
    /// A declared fact.
    Declared(R),
}

/// How a list of codes is tested.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum How {
    /// It holds a code of the group.
    Any,
    /// It holds no code of the group.
    No,
    /// It holds no code but of the group.
    Only,
}

/// Over which of the monitors of a set something holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Quantifier {
    /// At least one.
    Any,
    /// All of them; true of an empty set.
    Every,
    /// None of them.
    No,
}

/// One test.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Test<R: Refer> {
    /// The fact's word is in the mask ([`Fact::words`]; declared facts: their list of words).
    Word {
        /// Yes/no fact, fact of words, or monitor state.
        fact: FactRef<R>,
        /// Accepted words.
        words: u64,
    },
    /// The number (or day number) is within the bounds, both included, in base units.
    Number {
        /// Fact of type number or date.
        fact: FactRef<R>,
        /// Lower bound.
        least: Option<i64>,
        /// Upper bound.
        most: Option<i64>,
    },
    /// The text is one of these (lower case), or with `is` false none of them.
    Text {
        /// Fact of type text.
        fact: Fact,
        /// The texts, folded to lower case.
        among: Vec<String>,
        /// Whether it must be one of them, or must not.
        is: bool,
    },
    /// What the date of the visit settles. A flat program holds none.
    Dated(R::Dated),
    /// The model year is even, or odd.
    ModelYearIsEven(bool),
    /// The fact is on this vehicle (`is` true), or is not.
    Present {
        /// A fact that may be absent.
        fact: Fact,
        /// Which.
        is: bool,
    },
    /// A list of codes against a group (any code at all where there is none).
    Codes {
        /// A list of codes.
        list: Fact,
        /// How.
        how: How,
        /// Code group.
        among: Option<R>,
    },
    /// A list of codes against the codes that a table lists for this vehicle.
    CodesOfTable {
        /// A list of codes.
        list: Fact,
        /// Any or no.
        how: How,
        /// Table.
        table: R,
    },
    /// How many counted monitors are in one of the states is within the bounds.
    Count {
        /// Mask of monitor states.
        states: u64,
        /// Lower bound.
        least: Option<i64>,
        /// Upper bound.
        most: Option<i64>,
    },
    /// How many monitors of a fixed list are in one of the states is within the bounds.
    CountOf {
        /// The list.
        monitors: MonitorSet,
        /// Mask of monitor states.
        states: u64,
        /// Lower bound.
        least: Option<i64>,
        /// Upper bound.
        most: Option<i64>,
    },
    /// Monitors that stood in an earlier set, and how they stand now.
    Pair {
        /// Which of them.
        quantifier: Quantifier,
        /// [`Fact::EarlierIncomplete`] or [`Fact::EarlierLampMonitors`].
        earlier: Fact,
        /// Mask of states they must be in now.
        states: u64,
    },
    /// Counted monitors incomplete now are at most as many as [`Fact::EarlierIncompleteCount`].
    NotMoreIncompleteThanEarlier,
    /// Incomplete counted monitors are within the limit, or over it.
    Limit {
        /// Limit.
        limit: R,
        /// Which.
        within: bool,
    },
    /// A named condition holds.
    Finding(R),
    /// The vehicle is listed in a table.
    Listed(R),
    /// A question is read in this way. Stays in a flat program only while the question is open.
    Reading {
        /// Question.
        question: R,
        /// Reading: its place in the question's list.
        reading: usize,
    },
}

impl<R: Refer> Condition<R> {
    /// Always true.
    #[must_use]
    pub fn always() -> Condition<R> {
        Condition::All(Vec::new())
    }

    /// Never true.
    #[must_use]
    pub fn never() -> Condition<R> {
        Condition::Any(Vec::new())
    }

    /// The opposite.
    #[must_use]
    pub fn negated(self) -> Condition<R> {
        match self {
            Condition::Not(inner) => *inner,
            Condition::All(parts) if parts.is_empty() => Condition::never(),
            Condition::Any(parts) if parts.is_empty() => Condition::always(),
            other => Condition::Not(Box::new(other)),
        }
    }

    /// All of the parts, constants folded away.
    #[must_use]
    pub fn every(parts: Vec<Condition<R>>) -> Condition<R> {
        if parts.iter().any(Condition::is_never) {
            return Condition::never();
        }
        let mut parts: Vec<_> = parts.into_iter().filter(|part| !part.is_always()).collect();
        match (parts.len(), parts.pop()) {
            (1, Some(only)) => only,
            (_, Some(last)) => {
                parts.push(last);
                Condition::All(parts)
            }
            (_, None) => Condition::always(),
        }
    }

    /// Any of the parts, constants folded away.
    #[must_use]
    pub fn either(parts: Vec<Condition<R>>) -> Condition<R> {
        if parts.iter().any(Condition::is_always) {
            return Condition::always();
        }
        let mut parts: Vec<_> = parts.into_iter().filter(|part| !part.is_never()).collect();
        match (parts.len(), parts.pop()) {
            (1, Some(only)) => only,
            (_, Some(last)) => {
                parts.push(last);
                Condition::Any(parts)
            }
            (_, None) => Condition::never(),
        }
    }

    /// Both.
    #[must_use]
    pub fn and(self, other: Condition<R>) -> Condition<R> {
        match (self, other) {
            (Condition::All(parts), other) if parts.is_empty() => other,
            (this, Condition::All(parts)) if parts.is_empty() => this,
            (Condition::All(mut parts), other) => {
                parts.push(other);
                Condition::All(parts)
            }
            (this, other) => Condition::All(vec![this, other]),
        }
    }

    /// Whether it is [`Condition::always`].
    #[must_use]
    pub fn is_always(&self) -> bool {
        matches!(self, Condition::All(parts) if parts.is_empty())
    }

    /// Whether it is [`Condition::never`].
    #[must_use]
    pub fn is_never(&self) -> bool {
        matches!(self, Condition::Any(parts) if parts.is_empty())
    }

    /// Calls `visit` on every test, in order.
    pub fn each_test<'a>(&'a self, visit: &mut impl FnMut(&'a Test<R>)) {
        match self {
            Condition::All(parts) | Condition::Any(parts) => parts.iter().for_each(|part| part.each_test(visit)),
            Condition::Not(inner) => inner.each_test(visit),
            Condition::Test(test) => visit(test),
        }
    }
}
