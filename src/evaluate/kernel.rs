//! The kernel over one walk: coverage, lines unmet and set aside, the verdicts that may follow. Three-valued all along,
//! so the set of verdicts is a bound.

use super::bound::Bound;
use super::truth::Truth;
use super::walk::Walk;
use crate::program::Verdict;
use crate::program::flat::{LeftOut, Line};

/// The most ways of reading the open questions that are walked one by one; beyond, open readings are unknown tests.
const MOST_WAYS: usize = 64;

/// How each line stands, in the program's order, on a vehicle that is covered.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Standing {
    /// Whether the line is unmet.
    pub(super) unmet: Vec<Truth>,
    /// Whether it is unmet and not set aside.
    pub(super) live: Vec<Truth>,
}

/// Calls `visit` with a walk for every way of reading the open questions: with this one, where none is open.
pub(super) fn each_way(walk: &Walk<'_>, visit: &mut impl FnMut(&Walk<'_>)) {
    let flat = walk.flat();
    let open = || flat.questions.iter().filter(|question| question.taken.is_none());
    let ways = open().try_fold(1usize, |ways, question| ways.checked_mul(question.readings.len().max(1)));
    if open().next().is_none() || ways.is_none_or(|ways| ways > MOST_WAYS) {
        visit(walk);
        return;
    }
    let mut assumed = vec![None; flat.questions.len()];
    for way in 0..ways.unwrap_or(1) {
        let mut rest = way;
        for (question, slot) in flat.questions.iter().zip(assumed.iter_mut()) {
            if question.taken.is_none() && !question.readings.is_empty() {
                *slot = Some(rest % question.readings.len());
                rest /= question.readings.len();
            }
        }
        visit(&Walk::new(flat, walk.given(), &assumed));
    }
}

/// The verdicts that may follow, and whether each way of reading the open questions leads to a single one: then the
/// set is exact.
pub(super) fn possible(walk: &Walk<'_>) -> (Bound, bool) {
    let (mut bound, mut exact) = (Bound::EMPTY, true);
    each_way(walk, &mut |walk| {
        let one = of_walk(walk);
        exact &= one.len() == 1 && is_settled_way(walk);
        bound.join(one);
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
    let covered = covered(walk);
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

/// Whether the vehicle is covered, rows that leave it out aside.
pub(super) fn covered(walk: &Walk<'_>) -> Truth {
    let mut truth = Truth::False;
    for covers in &walk.flat().covers {
        truth = truth.or(walk.truth(&covers.item));
        if truth.is_true() {
            break;
        }
    }
    truth
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
                match unmet(walk, line) {
                    Truth::True => least = line.outcome,
                    Truth::Unknown => perhaps.add(Verdict::Outcome(line.outcome)),
                    Truth::False => {}
                }
            }
        }
        ladder(walk, least, perhaps, bound);
        return;
    }
    let standing = standing(walk);
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

/// Whether a line is unmet, on a vehicle that is covered.
fn unmet(walk: &Walk<'_>, line: &Line) -> Truth {
    let concerned = walk.truth(&line.concerns);
    if concerned.is_false() { concerned } else { concerned.and(walk.truth(&line.unmet_where)) }
}

/// How each line stands. From *unknown* the lines that give way are settled until nothing more follows; a circle of
/// them, which `check` refuses unless readings part it, stays unknown.
pub(super) fn standing(walk: &Walk<'_>) -> Standing {
    let lines = &walk.flat().lines;
    let unmet: Vec<Truth> = lines.iter().map(|line| unmet(walk, line)).collect();
    let mut live: Vec<Truth> = lines
        .iter()
        .zip(&unmet)
        .map(|(line, unmet)| if line.gives_way.is_empty() { *unmet } else { unmet.and(Truth::Unknown) })
        .collect();
    loop {
        let mut settled_more = false;
        for (place, line) in lines.iter().enumerate() {
            if line.gives_way.is_empty() || live.get(place).is_none_or(|truth| !truth.is_unknown()) {
                continue;
            }
            let set_aside = line.gives_way.iter().fold(Truth::False, |truth, (to, condition)| {
                let other = live.get(*to).copied().unwrap_or(Truth::False);
                if other.is_false() { truth } else { truth.or(other.and(walk.truth(condition))) }
            });
            let now = unmet.get(place).copied().unwrap_or(Truth::False).and(set_aside.negated());
            if let Some(slot) = live.get_mut(place)
                && *slot != now
            {
                *slot = now;
                settled_more = true;
            }
        }
        if !settled_more {
            return Standing { unmet, live };
        }
    }
}
