//! What was not read, and what stands in place of a text that says nothing: topics that could still make the outcome
//! graver.

use crate::evaluate::{Bound, Coverage, Evaluation, Walk};
use crate::program::flat::Silence;
use crate::program::unread::moot;
use crate::program::{Class, Topic, Verdict};
use std::collections::BTreeSet;

/// Whether a rule that the file does not have could make an outcome that is possible graver: clauses deal with the vehicle,
/// and the outcome is neither the gravest nor a failure.
fn could_be_graver(walk: &Walk<'_>, evaluation: &Evaluation, possible: Bound) -> bool {
    let flat = walk.flat();
    let subject = matches!(evaluation.coverage, Coverage::Covered | Coverage::Undetermined { .. });
    let open = |verdict: Verdict| match verdict {
        Verdict::NotSubject => false,
        Verdict::Outcome(place) => place + 1 < flat.outcomes.len() && verdict.class(flat) != Class::Fail,
    };
    subject && possible.iter().any(open)
}

/// Topics without a clause that could still make the outcome graver: the vehicle's readings do not make them moot.
pub(super) fn bearing<'w>(
    walk: &Walk<'w>,
    evaluation: &Evaluation,
    possible: Bound,
) -> impl Iterator<Item = &'w Silence> {
    let could = could_be_graver(walk, evaluation, possible);
    let bears = move |silence: &&Silence| {
        could && !walk.truth(&silence.condition).is_false() && !walk.truth(&moot(silence.topic)).is_true()
    };
    let list: Vec<&Silence> = walk.flat().silences.iter().filter(bears).collect();
    list.into_iter()
}

/// Topics that exist, were not read, and could still make the outcome graver.
pub(super) fn topics(walk: &Walk<'_>, evaluation: &Evaluation, possible: Bound) -> Vec<Topic> {
    let unread = bearing(walk, evaluation, possible).filter(|silence| silence.unread);
    let topics: BTreeSet<Topic> = unread.map(|silence| silence.topic).collect();
    topics.into_iter().collect()
}
