//! The interpreter: walks a flat program over what is known of a vehicle and tells the verdicts that may follow, with a
//! record of every line.
//!
//! It is total and pure: every program ends on every vehicle with an answer, without input, output, clock or floating
//! point. Unknown facts make tests unknown, in Kleene's three values, so **the set of possible verdicts is a bound**: it
//! holds the verdict of every vehicle that can exist and agrees with what is known, and may hold verdicts of none. Where
//! it holds one verdict, that is the verdict. Exact sets come from the decision diagrams, which this module never
//! imports, nor they it: the two are written apart and must agree.

mod bound;
mod counted;
mod explain;
mod kernel;
mod meaning;
mod record;
mod test;
mod truth;
mod walk;

pub use bound::Bound;
pub use counted::{Counted, Range, States};
pub use explain::{Cause, Leaf, causes_of, explain};
pub use meaning::{Logic, Meaning, Standing, each_way};
pub use record::{Coverage, Evaluation, LineRecord, LineState};
pub use truth::Truth;
pub use walk::{Known, Walk};

use crate::program::{Flat, Given};

#[cfg(test)]
mod explain_tests;
#[cfg(test)]
mod tests;

/// The verdicts that may follow, without a record: the quick way.
#[must_use]
pub fn verdict(flat: &Flat, given: &Given) -> Bound {
    kernel::possible(&Walk::new(flat, given, &[])).0
}

/// The verdicts that may follow, with the record of every line.
#[must_use]
pub fn interpret(flat: &Flat, given: &Given) -> Evaluation {
    record::of(&Walk::new(flat, given, &[]))
}

/// The same of a walk that goes on to be asked: what it remembers is not worked out twice.
#[must_use]
pub fn evaluation(walk: &Walk<'_>) -> Evaluation {
    record::of(walk)
}

/// The verdicts that may follow, and whether the set is exact: a single verdict, or one for each way of reading the
/// open questions.
#[must_use]
pub fn outlook(flat: &Flat, given: &Given) -> (Bound, bool) {
    kernel::possible(&Walk::new(flat, given, &[]))
}
