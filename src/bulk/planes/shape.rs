//! What the columns of a batch are, apart from what they hold: the same for all batches of a file, so that what is made
//! for one batch serves the next. A column of few codes is read by the bits of the code, one of many codes by looking up
//! an answer for each question put to it.

use crate::bulk::batch::{Batch, Column, Known};
use crate::bulk::record::bounds;
use crate::model::facts::{Possible, meets, without};
use crate::model::{CodeRange, Constraint, Fact, FactType, Monitor, spec};
use crate::program::block::Presumed;
use crate::program::given::{presumed, whole};
use crate::program::{Condition, FactRef, Flat, Given, Test};

/// A column with at most so many codes is read by the bits of the code.
pub(super) const FEW: usize = 16;

/// The most questions that one column of many codes answers: of a set of monitors, whether each is in it, surely and
/// perhaps, before and after something was ruled out.
pub(super) const MOST_LOOKS: usize = 256;

/// A column, apart from what it holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Kind {
    /// Few codes, each with its meaning.
    Few(Vec<Possible>),
    /// Many codes.
    Many,
    /// Numbers, with their scale.
    Numbers(i64),
}

/// A column: which fact, of what kind, and whether it may be not known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Shown {
    pub(super) fact: FactRef<String>,
    pub(super) kind: Kind,
    pub(super) may_be_unknown: bool,
}

/// The columns of a batch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Shape {
    pub(super) columns: Vec<Shown>,
    /// Whether there are monitor bytes, and whether they may be not known.
    pub(super) monitor_bytes: Option<bool>,
}

/// A plane that is read from the batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Leaf {
    /// A bit of the bytes of PID $01 as a number.
    MonitorBit(u32),
    /// Whether those bytes are known.
    MonitorKnown,
    /// Whether the column's fact is known.
    Known(usize),
    /// A bit of the code.
    CodeBit(usize, u32),
    /// The answer to one of the questions put to a column of many codes.
    Look(usize, usize),
    /// The number is at least this, in the column's own unit.
    AtLeast(usize, i64),
    /// The number is odd.
    Odd(usize),
}

/// A question to what a code leaves possible of a fact.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Ask {
    /// It may be one of these words.
    MayBe(u64),
    /// The test surely holds.
    Surely(Test<usize>),
    /// The test perhaps holds.
    Perhaps(Test<usize>),
    /// It perhaps is not empty.
    MayHold(Fact),
    /// It surely is not empty.
    Holds(Fact),
    /// The presumption (its place in the program) applies.
    Presumable(usize),
    /// The text is not known.
    NoText,
    /// The monitor surely is in the set.
    Member(Monitor),
    /// The monitor perhaps is in the set.
    MayBeMember(Monitor),
    /// The list surely holds one of these codes.
    HoldsCode(Vec<CodeRange>),
    /// The list may hold codes that were not read.
    MayHoldMore,
    /// The vehicle may have the list.
    MayBePresent,
    /// The vehicle may be without the list.
    MayBeAbsent,
}

/// A question, and what was ruled out of the fact before.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Look {
    pub(super) ask: Ask,
    pub(super) ruled_out: bool,
}

/// Whether a column is read by the bits of its codes. Texts, sets and lists of codes are not, however few were met so far:
/// their meanings grow with the file, and each growth would be another shape, with a plan and answers of its own.
fn is_few(fact: &FactRef<String>, meaning: &[Possible]) -> bool {
    let grows = match fact {
        FactRef::Known(fact) => matches!(spec(*fact).kind, FactType::Text | FactType::Codes | FactType::Monitors),
        FactRef::Declared(_) => false,
    };
    !grows && meaning.len() <= FEW
}

impl Shape {
    /// The shape of a batch.
    pub(crate) fn of(batch: &Batch<'_>) -> Shape {
        let shown = |(fact, column): (&FactRef<String>, Column<'_>)| {
            let (kind, known) = match column {
                Column::Coded { meaning, known, .. } if is_few(fact, meaning) => (Kind::Few(meaning.to_vec()), known),
                Column::Coded { known, .. } => (Kind::Many, known),
                Column::Numbers { scale, known, .. } => (Kind::Numbers(scale), known),
            };
            Shown { fact: fact.clone(), kind, may_be_unknown: known.is_some() }
        };
        Shape {
            columns: batch.columns().map(shown).collect(),
            monitor_bytes: batch.monitor_bytes().map(|(_, known)| known.is_some()),
        }
    }

    /// Whether it is the shape of a batch, without copying meanings.
    pub(crate) fn is_of(&self, batch: &Batch<'_>) -> bool {
        let bytes = batch.monitor_bytes().map(|(_, known)| known.is_some());
        let is = |known: Option<Known<'_>>, shown: &Shown| known.is_some() == shown.may_be_unknown;
        let same = |((fact, column), shown): ((&FactRef<String>, Column<'_>), &Shown)| {
            shown.fact == *fact
                && match (column, &shown.kind) {
                    (Column::Coded { meaning, known, .. }, Kind::Few(expected)) => {
                        meaning == expected.as_slice() && is(known, shown)
                    }
                    (Column::Coded { meaning, known, .. }, Kind::Many) => !is_few(fact, meaning) && is(known, shown),
                    (Column::Numbers { scale, known, .. }, Kind::Numbers(expected)) => {
                        scale == *expected && is(known, shown)
                    }
                    _ => false,
                }
        };
        bytes == self.monitor_bytes
            && batch.columns().count() == self.columns.len()
            && batch.columns().zip(&self.columns).all(same)
    }

    /// The column of a fact of a flat program.
    pub(super) fn column_of(&self, flat: &Flat, fact: &FactRef<usize>) -> Option<usize> {
        self.columns.iter().position(|shown| match (&shown.fact, fact) {
            (FactRef::Known(known), FactRef::Known(fact)) => known == fact,
            (FactRef::Declared(name), FactRef::Declared(place)) => {
                flat.facts.get(*place).is_some_and(|declared| declared.name == *name)
            }
            _ => false,
        })
    }
}

/// Everything a fact can be of which nothing is known.
pub(super) fn anything_of(flat: &Flat, fact: &FactRef<usize>) -> Possible {
    match fact {
        FactRef::Known(fact) => crate::model::facts::whole(*fact).clone(),
        FactRef::Declared(place) => flat.facts.get(*place).map_or(Possible::Words(0), |fact| whole(&fact.kind)),
    }
}

/// The constraint of the exclusions on a fact that is no fact of words; each such fact has one.
pub(super) fn constraint_of(fact: &FactRef<usize>) -> Option<Constraint> {
    let FactRef::Known(fact) = fact else {
        return None;
    };
    let rules = crate::model::exclusions();
    let mut constraints = rules.iter().flat_map(|rule| [rule.first, rule.second]);
    constraints.find(|one| one.fact() == *fact && !matches!(one, Constraint::Word(..)))
}

/// The answer to a question by what is possible of a fact.
pub(super) fn answer(flat: &Flat, bare: &Given, fact: &FactRef<usize>, look: &Look, possible: &Possible) -> bool {
    // A name of an area as the program knows it; one that was told is not presumed, known or not.
    let placed = match (fact, possible) {
        (FactRef::Known(Fact::Area), Possible::Text(Some(name))) => Some(Possible::Text(flat.areas.seen(name))),
        _ => None,
    };
    let is_told = placed.is_some();
    let possible = placed.as_ref().unwrap_or(possible);
    let narrowed = match constraint_of(fact).filter(|_| look.ruled_out) {
        Some(constraint) => without(constraint, possible),
        None => possible.clone(),
    };
    let truth = |test: &Test<usize>| {
        let mut given = bare.clone();
        given.put(fact, narrowed.clone());
        crate::evaluate::Walk::new(flat, &given, &[]).truth(&Condition::Test(test.clone()))
    };
    match &look.ask {
        Ask::MayBe(words) => matches!(narrowed, Possible::Words(mask) if mask & words != 0),
        Ask::Surely(test) => truth(test).is_true(),
        Ask::Perhaps(test) => !truth(test).is_false(),
        Ask::MayHold(fact) => meets(Constraint::NotEmpty(*fact), &narrowed).0,
        Ask::Holds(fact) => meets(Constraint::NotEmpty(*fact), &narrowed).1,
        Ask::Presumable(place) => match flat.presumptions.get(*place).map(|presumption| &presumption.value) {
            None | Some(Presumed::NotListed(_)) => false,
            Some(_) if is_told => false,
            Some(value) => presumed(&narrowed, value).is_some(),
        },
        Ask::NoText => narrowed == Possible::Text(None),
        Ask::Member(monitor) => matches!(narrowed, Possible::Monitors { surely, .. } if surely.contains(*monitor)),
        Ask::MayBeMember(monitor) => {
            matches!(narrowed, Possible::Monitors { perhaps, .. } if perhaps.contains(*monitor))
        }
        Ask::HoldsCode(ranges) => match &narrowed {
            Possible::Codes { list: Some(list), .. } => {
                let codes = list.codes.iter().filter_map(|code| code.two_bytes());
                codes.into_iter().any(|code| ranges.iter().any(|range| range.contains(code)))
            }
            _ => false,
        },
        Ask::MayHoldMore => match &narrowed {
            Possible::Codes { list, .. } => list.as_ref().is_none_or(|list| list.may_hold_more),
            _ => false,
        },
        Ask::MayBePresent => matches!(narrowed, Possible::Codes { may_be_present: true, .. }),
        Ask::MayBeAbsent => matches!(narrowed, Possible::Codes { may_be_absent: true, .. }),
    }
}

/// The answers to the questions about a column where it means this: a byte for each eight.
pub(super) fn answers(flat: &Flat, bare: &Given, looks: &[(FactRef<usize>, Look)], one: &Possible) -> Vec<u8> {
    let byte = |eight: &[(FactRef<usize>, Look)]| {
        let bits = eight.iter().enumerate();
        bits.fold(0, |byte, (place, (fact, look))| byte | u8::from(answer(flat, bare, fact, look, one)) << place)
    };
    looks.chunks(8).map(byte).collect()
}

/// The range of the column's own numbers that a fact may have; `None` for a fact that the program does not have.
pub(super) fn range_of(flat: &Flat, shown: &Shown) -> Option<(i64, i64)> {
    let Kind::Numbers(scale) = shown.kind else {
        return None;
    };
    let span = match &shown.fact {
        FactRef::Known(fact) => bounds(*fact),
        FactRef::Declared(name) => match whole(&flat.facts.iter().find(|fact| fact.name == *name)?.kind) {
            Possible::Number(span) => Some(span),
            _ => None,
        },
    };
    match span {
        Some(span) if scale > 0 => Some((first_at_least(span.least, scale), span.most.div_euclid(scale))),
        // No number is one of its values.
        _ => Some((1, 0)),
    }
}

/// The least number of a unit that is at least so many base units.
pub(super) fn first_at_least(base: i64, scale: i64) -> i64 {
    base.div_euclid(scale).saturating_add(i64::from(base.rem_euclid(scale) != 0))
}
