//! What a flat program asks of a row, each as one input that holds, does not hold, or is not known.

use crate::model::facts::{ABSENT, Possible, Span};

/// One question that a row answers by itself.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Atom {
    /// A monitor is in a state: its place among the states, and the monitor's index.
    Monitor(usize, u8),
    /// A question that one value answers: the place of the value.
    Value(usize, Asked),
    /// A list of codes.
    Codes(usize, OfCodes),
    /// How many monitors of a list are in a state.
    CountOf(u32, u64, Option<i64>, Option<i64>),
    /// Some monitor of an earlier set (a place) is in a state.
    Pair(usize, u64),
    /// A question that is open is read in this way.
    Reading(usize, usize),
    /// How many counted monitors are in a state.
    Count(u64, Option<i64>, Option<i64>),
    /// Of the counted monitors none but these is incomplete.
    Only(u32),
    /// A limit that was not read allows the monitors.
    NotRead,
    /// No more counted monitors are incomplete than the number at a place.
    NotMore(usize),
}

/// What is asked of one value.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Asked {
    /// Its word is among these.
    Word(u64),
    /// The number is within these bounds.
    Number(Option<i64>, Option<i64>),
    /// The number is even.
    Even,
    /// The number is odd.
    Odd,
    /// The text is one of these, or none of them.
    Text(Vec<String>, bool),
    /// It is on the vehicle.
    Present,
}

/// What is asked of a list of codes; masks are of classes of codes ([`super::codes`]).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum OfCodes {
    /// The vehicle has the list.
    Present,
    /// It holds a code of these classes; perhaps one of those.
    Any(u64, u64),
    /// It holds any code at all.
    Some,
    /// It holds none of the first classes, and surely none of the second; with a group, the list must be whole.
    Only(u64, u64, bool),
}

impl Atom {
    /// Whether it is known only once the counted monitors are.
    pub(super) fn is_counted(&self) -> bool {
        matches!(self, Atom::Count(..) | Atom::Only(_) | Atom::NotRead | Atom::NotMore(_))
    }
}

impl Asked {
    /// Whether it holds of one word, the highest: not on the vehicle.
    pub(super) fn of_word(&self, word: u64) -> bool {
        match self {
            Asked::Word(words) => word & words & !ABSENT != 0,
            Asked::Present => word != ABSENT,
            _ => false,
        }
    }

    /// Whether it holds of a number.
    pub(super) fn of_number(&self, number: i64) -> bool {
        match self {
            Asked::Number(least, most) => {
                least.is_none_or(|least| number >= least) && most.is_none_or(|most| number <= most)
            }
            Asked::Even => number & 1 == 0,
            Asked::Odd => number & 1 == 1,
            Asked::Present => true,
            _ => false,
        }
    }

    /// Whether it surely and whether it perhaps holds of a number that is not known.
    pub(super) fn of_span(&self, span: Span) -> (bool, bool) {
        let (surely, perhaps) = match self {
            Asked::Number(least, most) => (
                least.is_none_or(|least| span.least >= least) && most.is_none_or(|most| span.most <= most),
                least.is_none_or(|least| span.most >= least) && most.is_none_or(|most| span.least <= most),
            ),
            Asked::Even | Asked::Odd if span.least == span.most => {
                let holds = self.of_number(span.least);
                (holds, holds)
            }
            Asked::Even | Asked::Odd => (false, true),
            Asked::Present => (true, true),
            _ => (false, false),
        };
        (surely && !span.may_be_absent, perhaps && !span.has_no_value())
    }

    /// Whether it holds of a text (`None`: one that the program does not name), and of one that is not known.
    pub(super) fn of_text(&self, text: Option<&str>) -> bool {
        match self {
            Asked::Text(among, is) => text.is_some_and(|text| among.iter().any(|one| one == text)) == *is,
            _ => false,
        }
    }

    /// Whether it surely and whether it perhaps holds of a text that is not known.
    pub(super) fn of_no_text(&self) -> (bool, bool) {
        match self {
            Asked::Text(among, is) if among.is_empty() => (!is, !is),
            _ => (false, true),
        }
    }
}

/// What a value that is not known can be, as numbers go.
pub(super) fn span_of(possible: &Possible) -> Option<Span> {
    match possible {
        Possible::Number(span) => Some(*span),
        _ => None,
    }
}
