//! The verdicts that may follow of one vehicle: coverage, the ladder, relabelling. Three-valued all along, so the set of
//! verdicts is a bound.

use super::bound::Bound;
use super::meaning::each_way;
use super::truth::Truth;
use super::walk::Walk;
use crate::program::Verdict;
use crate::program::flat::LeftOut;

/// The verdicts that may follow, and whether each way of reading the open questions leads to a single one: then the
/// set is exact.
pub(super) fn possible(walk: &Walk<'_>) -> (Bound, bool) {
    let (mut bound, mut exact) = (Bound::EMPTY, true);
    let mut visit = |walk: &Walk<'_>| {
        let one = of_walk(walk);
        exact &= one.len() == 1 && is_settled_way(walk);
        bound.join(one);
    };
    each_way(walk.flat(), |assumed| match assumed.is_empty() {
        true => visit(walk),
        false => visit(&Walk::new(walk.flat(), walk.given(), assumed)),
    });
    (bound, exact || bound.len() == 1)
}

/// Whether the walk assumes a reading for every open question, so that nothing but facts was left to it.
fn is_settled_way(walk: &Walk<'_>) -> bool {
    (0..walk.flat().questions.len()).all(|question| walk.reading(question).is_some())
}

/// The verdicts that may follow under one way of reading.
pub(super) fn of_walk(walk: &Walk<'_>) -> Bound {
    let flat = walk.flat();
    if !flat.in_force.is_yes() {
        return Bound::one(Verdict::NotSubject);
    }
    let covered = walk.covered();
    let mut bound = Bound::EMPTY;
    if !covered.is_true() {
        bound.add(Verdict::NotSubject);
    }
    if covered.is_false() {
        return bound;
    }
    let surely_left_out = left_out(walk, &mut bound);
    if !surely_left_out {
        by_lines(walk, &mut bound);
    }
    bound
}

/// Where several rows hold, an outcome stands before not-subject, and the gravest first: the greater is the one.
fn weight(row: &LeftOut) -> Option<usize> {
    row.outcome
}

/// Adds the verdicts of the rows that may leave the vehicle out; whether one surely does.
fn left_out(walk: &Walk<'_>, bound: &mut Bound) -> bool {
    let rows = || walk.flat().left_out.iter();
    let mut surely: Option<Option<usize>> = None;
    for row in rows() {
        if surely.is_none_or(|found| found < weight(row)) && walk.truth(&row.condition).is_true() {
            surely = Some(weight(row));
        }
    }
    let mut add = |outcome: Option<usize>| match outcome {
        None => bound.add(Verdict::NotSubject),
        Some(place) => relabelled(walk, place, bound),
    };
    if let Some(outcome) = surely {
        add(outcome);
    }
    for row in rows() {
        if surely.is_none_or(|found| found < weight(row)) && walk.truth(&row.condition).is_unknown() {
            add(weight(row));
        }
    }
    surely.is_some()
}

/// Adds the verdicts that the lines may lead to, on a vehicle that is covered and not left out.
fn by_lines(walk: &Walk<'_>, bound: &mut Bound) {
    let lines = &walk.flat().lines;
    let mut least = 0;
    if lines.iter().all(|line| line.gives_way.is_empty()) {
        // Nothing is set aside: a line that cannot raise the verdict need not be looked at.
        let mut perhaps = Bound::EMPTY;
        for line in lines {
            if line.outcome > least {
                match walk.unmet(line) {
                    Truth::True => least = line.outcome,
                    Truth::Unknown => perhaps.add(Verdict::Outcome(line.outcome)),
                    Truth::False => {}
                }
            }
        }
        ladder(walk, least, perhaps, bound);
        return;
    }
    let standing = walk.standing();
    let mut perhaps = Bound::EMPTY;
    for (line, live) in lines.iter().zip(&standing.live) {
        match live {
            Truth::True => least = least.max(line.outcome),
            Truth::Unknown => perhaps.add(Verdict::Outcome(line.outcome)),
            Truth::False => {}
        }
    }
    ladder(walk, least, perhaps, bound);
}

/// Adds the gravest outcome that is sure, and each graver one that may be.
fn ladder(walk: &Walk<'_>, least: usize, perhaps: Bound, bound: &mut Bound) {
    relabelled(walk, least, bound);
    for verdict in perhaps.iter() {
        if let Verdict::Outcome(place) = verdict
            && place > least
        {
            relabelled(walk, place, bound);
        }
    }
}

/// Adds what an outcome may become: of relabellings that hold, the gravest new outcome stands. One step, not a chain.
fn relabelled(walk: &Walk<'_>, outcome: usize, bound: &mut Bound) {
    let rules = || walk.flat().becomes.iter().filter(|rule| rule.from == outcome);
    let mut surely: Option<usize> = None;
    for rule in rules() {
        if surely.is_none_or(|found| found < rule.to) && walk.truth(&rule.condition).is_true() {
            surely = Some(rule.to);
        }
    }
    bound.add(Verdict::Outcome(surely.unwrap_or(outcome)));
    for rule in rules() {
        if surely.is_none_or(|found| found < rule.to) && walk.truth(&rule.condition).is_unknown() {
            bound.add(Verdict::Outcome(rule.to));
        }
    }
}
