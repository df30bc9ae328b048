//! What a batch came to: for each record the verdicts that may follow and the lines that decide, as bit planes (a bit a
//! record) that can be counted, joined and turned into columns without looking at each record.

use super::exact::Rules;
use crate::model::facts::Contradiction;
use crate::program::Verdict;
use std::sync::Arc;

/// A yes or no for each record: bit *n* of word *w* is record 64·w + n. Bits after the last record are 0.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Plane(pub Vec<u64>);

/// Why a record cannot be judged.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum RowError {
    /// Which law applies is not known.
    #[error("the test date is not known")]
    NoTestDate,
    /// The test date is no date of the calendar (years 1 to 9999).
    #[error("the test date is outside the years 1 to 9999")]
    TestDateOutOfRange,
    /// A value is outside the range of its fact.
    #[error("{fact} is outside its range")]
    OutOfRange {
        /// Path of the fact in the snapshot document.
        fact: String,
    },
    /// A code has no meaning.
    #[error("{fact} has a code without a meaning")]
    NoMeaning {
        /// Path of the fact in the snapshot document.
        fact: String,
    },
    /// Readings contradict each other.
    #[error(transparent)]
    Contradiction(Contradiction),
    /// No vehicle that can exist agrees with the record.
    #[error("no vehicle that can exist shows all of the record")]
    NoVehicle,
    /// The row was filled for another engine.
    #[error("the row was filled for another engine")]
    OtherEngine,
    /// The exact answer would take too large a diagram.
    #[error("the exact answer outgrows the limit of the diagrams")]
    TooLarge,
}

/// Records that were judged by one flat program.
#[derive(Debug, Clone)]
pub struct Part {
    /// The program.
    pub rules: Arc<Rules>,
    /// Which records.
    pub rows: Plane,
    /// For each line of the flat program: records that it decides, in every case that is still possible.
    pub deciding: Vec<Plane>,
}

/// What a batch came to.
#[derive(Debug, Clone, Default)]
pub struct Judged {
    pub(super) len: usize,
    pub(super) possible: Vec<Plane>,
    pub(super) undecided: Plane,
    pub(super) parts: Vec<Part>,
    /// Records with alternatives, in order when the batch is done.
    pub(super) perhaps: Vec<(usize, Arc<[usize]>)>,
    pub(super) errors: Vec<(usize, RowError)>,
}

/// One record of a batch.
#[derive(Debug, Clone, Copy)]
pub struct Row<'a> {
    judged: &'a Judged,
    row: usize,
    part: &'a Part,
}

impl Plane {
    /// A plane of that many records, all no.
    #[must_use]
    pub fn empty(len: usize) -> Plane {
        Plane(vec![0; len.div_ceil(64)])
    }

    /// Whether the record's bit is set.
    #[must_use]
    pub fn is(&self, row: usize) -> bool {
        self.0.get(row / 64).is_some_and(|word| word >> (row % 64) & 1 == 1)
    }

    /// Sets the record's bit.
    pub fn set(&mut self, row: usize) {
        if let Some(word) = self.0.get_mut(row / 64) {
            *word |= 1 << (row % 64);
        }
    }

    /// Takes the record's bit away.
    pub fn clear(&mut self, row: usize) {
        if let Some(word) = self.0.get_mut(row / 64) {
            *word &= !(1 << (row % 64));
        }
    }

    /// How many records are set.
    #[must_use]
    pub fn count(&self) -> u64 {
        self.0.iter().map(|word| u64::from(word.count_ones())).sum()
    }

    /// The records that are set, in order.
    pub fn rows(&self) -> impl Iterator<Item = usize> + '_ {
        set_bits(self.0.iter().copied())
    }
}

/// The places of the bits that are set in words, in order.
pub(super) fn set_bits(words: impl Iterator<Item = u64>) -> impl Iterator<Item = usize> {
    words.enumerate().flat_map(|(place, word)| {
        let mut left = word;
        std::iter::from_fn(move || {
            let bit = usize::try_from(left.trailing_zeros()).unwrap_or(64);
            left &= left.wrapping_sub(1);
            (bit < 64).then_some(place * 64 + bit)
        })
    })
}

impl Judged {
    /// How many records.
    #[must_use]
    pub fn len(&self) -> usize {
        self.len
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// For each verdict the records of which it is possible: not-subject first, then the ladder from the least grave.
    #[must_use]
    pub fn possible(&self) -> &[Plane] {
        &self.possible
    }

    /// Records of which more than one verdict is possible.
    #[must_use]
    pub fn undecided(&self) -> &Plane {
        &self.undecided
    }

    /// The flat programs that judged records, in the order of their first record.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// Records that could not be judged, in order, with the reason. No verdict is possible of them.
    #[must_use]
    pub fn errors(&self) -> &[(usize, RowError)] {
        &self.errors
    }

    /// One record; `None` where it could not be judged.
    #[must_use]
    pub fn row(&self, row: usize) -> Option<Row<'_>> {
        let part = self.parts.iter().find(|part| part.rows.is(row))?;
        Some(Row { judged: self, row, part })
    }
}

/// The verdict of a place in [`Judged::possible`].
#[must_use]
pub(super) fn verdict_at(place: usize) -> Verdict {
    place.checked_sub(1).map_or(Verdict::NotSubject, Verdict::Outcome)
}

/// The place of a verdict in [`Judged::possible`].
#[must_use]
pub(super) fn place_of(verdict: Verdict) -> usize {
    match verdict {
        Verdict::NotSubject => 0,
        Verdict::Outcome(place) => place + 1,
    }
}

impl<'a> Row<'a> {
    /// The flat program that judged it.
    #[must_use]
    pub fn rules(self) -> &'a Rules {
        &self.part.rules
    }

    /// The verdicts that may follow: the exact set, not-subject first.
    pub fn possible(self) -> impl Iterator<Item = Verdict> + 'a {
        let planes = self.judged.possible.iter().enumerate();
        planes.filter(move |(_, plane)| plane.is(self.row)).map(|(place, _)| verdict_at(place))
    }

    /// The verdict; `None` where more than one is possible.
    #[must_use]
    pub fn verdict(self) -> Option<Verdict> {
        if self.judged.undecided.is(self.row) { None } else { self.possible().next() }
    }

    /// Lines that decide in every case that is still possible: places in the flat program.
    pub fn deciding(self) -> impl Iterator<Item = usize> + 'a {
        let planes = self.part.deciding.iter().enumerate();
        planes.filter(move |(_, plane)| plane.is(self.row)).map(|(line, _)| line)
    }

    /// Lines that decide in some cases and not in others: places in the flat program.
    #[must_use]
    pub fn alternatives(self) -> &'a [usize] {
        let perhaps = &self.judged.perhaps;
        let place = perhaps.binary_search_by_key(&self.row, |(row, _)| *row).ok();
        place.and_then(|place| perhaps.get(place)).map_or(&[], |(_, lines)| lines)
    }
}
