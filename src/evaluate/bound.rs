//! A set of possible verdicts. It is a bound: it holds every verdict of a vehicle that agrees with what is known, and
//! may hold others. Exact sets are the business of the decision diagrams.

use crate::program::Verdict;
use std::collections::BTreeSet;

/// Verdicts that may be reached; at most 128 outcomes, far above what any ladder has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Bound {
    not_subject: bool,
    outcomes: u128,
}

impl Bound {
    /// No verdict.
    pub const EMPTY: Bound = Bound { not_subject: false, outcomes: 0 };

    /// One verdict.
    #[must_use]
    pub fn one(verdict: Verdict) -> Bound {
        let mut bound = Bound::EMPTY;
        bound.add(verdict);
        bound
    }

    /// Adds a verdict. Places from 127 on count as one: a ladder that long is refused by `check`.
    pub fn add(&mut self, verdict: Verdict) {
        match verdict {
            Verdict::NotSubject => self.not_subject = true,
            Verdict::Outcome(place) => self.outcomes |= 1u128 << place.min(127),
        }
    }

    /// Adds every verdict of another bound.
    pub fn join(&mut self, other: Bound) {
        self.not_subject |= other.not_subject;
        self.outcomes |= other.outcomes;
    }

    /// Whether it holds the verdict.
    #[must_use]
    pub fn contains(self, verdict: Verdict) -> bool {
        match verdict {
            Verdict::NotSubject => self.not_subject,
            Verdict::Outcome(place) => self.outcomes >> place.min(127) & 1 == 1,
        }
    }

    /// How many verdicts it holds.
    #[must_use]
    pub fn len(self) -> u32 {
        self.outcomes.count_ones() + u32::from(self.not_subject)
    }

    /// Whether it holds none; the bound of a snapshot never does.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.len() == 0
    }

    /// The verdict, where there is only one.
    #[must_use]
    pub fn single(self) -> Option<Verdict> {
        match (self.len(), self.not_subject) {
            (1, true) => Some(Verdict::NotSubject),
            (1, false) => usize::try_from(self.outcomes.trailing_zeros()).ok().map(Verdict::Outcome),
            _ => None,
        }
    }

    /// Whether both hold a verdict.
    #[must_use]
    pub fn meets(self, other: Bound) -> bool {
        self.outcomes & other.outcomes != 0 || self.not_subject && other.not_subject
    }

    /// The verdicts, not-subject first, then from the least grave.
    pub fn iter(self) -> impl Iterator<Item = Verdict> {
        let outcomes = self.outcomes;
        let first = self.not_subject.then_some(Verdict::NotSubject);
        first.into_iter().chain((0..128).filter(move |place| outcomes >> place & 1 == 1).map(Verdict::Outcome))
    }

    /// Whether every verdict of this bound is in the other.
    #[must_use]
    pub fn is_within(self, other: Bound) -> bool {
        self.outcomes & !other.outcomes == 0 && (!self.not_subject || other.not_subject)
    }

    /// The verdicts as a set.
    #[must_use]
    pub fn to_set(self) -> BTreeSet<Verdict> {
        self.iter().collect()
    }
}

impl FromIterator<Verdict> for Bound {
    fn from_iter<I: IntoIterator<Item = Verdict>>(verdicts: I) -> Bound {
        let mut bound = Bound::EMPTY;
        verdicts.into_iter().for_each(|verdict| bound.add(verdict));
        bound
    }
}
