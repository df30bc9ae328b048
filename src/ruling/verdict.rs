//! Verdicts as people read them.

use crate::evaluate::Bound;
use crate::program::{Class, Flat, Verdict};

/// A verdict as people read it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct VerdictShown {
    /// Place on the ladder, or not-subject.
    pub verdict: Verdict,
    /// Name.
    pub name: String,
    /// How the program words it, if otherwise.
    pub label: Option<String>,
    /// Class.
    pub class: Class,
}

impl VerdictShown {
    /// A verdict of a program.
    pub(super) fn of(flat: &Flat, verdict: Verdict) -> VerdictShown {
        let label = match verdict {
            Verdict::NotSubject => None,
            Verdict::Outcome(place) => flat.outcomes.get(place).and_then(|outcome| outcome.label.clone()),
        };
        VerdictShown { verdict, name: verdict.name(flat).to_owned(), label, class: verdict.class(flat) }
    }

    /// Each of those that are possible.
    pub(super) fn each(flat: &Flat, possible: Bound) -> Vec<VerdictShown> {
        possible.iter().map(|verdict| VerdictShown::of(flat, verdict)).collect()
    }
}
