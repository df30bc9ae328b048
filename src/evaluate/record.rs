//! The record of a walk: how each line stands and why, coverage, named conditions, limits, the count.

use super::bound::Bound;
use super::counted::Counted;
use super::explain::{Cause, causes_of};
use super::kernel;
use super::meaning::Standing;
use super::truth::Truth;
use super::walk::Walk;
use crate::program::Condition;
use std::collections::BTreeSet;

/// What a walk over a program tells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Evaluation {
    /// The verdicts that may follow: a bound.
    pub possible: Bound,
    /// Whether the bound is exact: a single verdict, or one for each way of reading the open questions.
    pub exact: bool,
    /// Whether the program concerns the vehicle.
    pub coverage: Coverage,
    /// The lines, in the program's order.
    pub lines: Vec<LineRecord>,
    /// The named conditions, in the program's order.
    pub findings: Vec<Truth>,
    /// The limits, in the program's order: whether the vehicle is within it, whether it is over it.
    pub limits: Vec<(Truth, Truth)>,
    /// The counted monitors.
    pub counted: Counted,
}

/// Whether the program concerns the vehicle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Coverage {
    /// No version is in force.
    NotInForce,
    /// It is covered and not left out.
    Covered,
    /// No covering block holds of it.
    NotCovered {
        /// What makes it so.
        because: BTreeSet<Cause>,
    },
    /// It is left out.
    LeftOut {
        /// By which row: its place in the program. Of several the one whose outcome stands.
        row: usize,
        /// What makes it so.
        because: BTreeSet<Cause>,
    },
    /// Not determined by what is known.
    Undetermined {
        /// What it turns on.
        on: BTreeSet<Cause>,
    },
}

/// How a line stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LineRecord {
    /// In a word, with why.
    pub state: LineState,
    /// Whether the line concerns the vehicle, covered or not.
    pub concerned: Truth,
    /// Whether its condition holds, the rest aside.
    pub condition: Truth,
    /// Whether it is unmet, coverage included.
    pub unmet: Truth,
    /// Whether it is unmet and not set aside, coverage included.
    pub live: Truth,
}

/// The state of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LineState {
    /// Covered, concerned, and what it forbids is not so.
    Met,
    /// Unmet and not set aside: it bears on the verdict.
    Unmet,
    /// Unmet, and set aside.
    SetAside {
        /// By these lines: their places in the program.
        by: Vec<usize>,
    },
    /// It does not concern the vehicle.
    NotConcerned {
        /// What makes it so.
        because: BTreeSet<Cause>,
    },
    /// The program does not cover the vehicle, or leaves it out.
    NotCovered,
    /// Not determined by what is known.
    Undetermined {
        /// What it turns on.
        on: BTreeSet<Cause>,
    },
}

/// The record. States of lines leave open questions open; the set of verdicts takes each way of reading them.
pub(super) fn of(walk: &Walk<'_>) -> Evaluation {
    let flat = walk.flat();
    let (possible, exact) = kernel::possible(walk);
    let (is_covered, coverage) = coverage(walk);
    let standing = walk.standing();
    let lines = (0..flat.lines.len()).map(|place| line(walk, place, is_covered, &coverage, &standing)).collect();
    Evaluation {
        possible,
        exact,
        coverage,
        lines,
        findings: (0..flat.findings.len()).map(|place| walk.finding(place)).collect(),
        limits: (0..flat.limits.len()).map(|place| walk.limit(place)).collect(),
        counted: walk.counted(),
    }
}

/// Whether the vehicle is covered and not left out, and the same in words.
fn coverage(walk: &Walk<'_>) -> (Truth, Coverage) {
    let flat = walk.flat();
    if !flat.in_force.is_yes() {
        return (Truth::False, Coverage::NotInForce);
    }
    let covered = walk.covered();
    if covered.is_false() {
        let mut because = BTreeSet::new();
        flat.covers.iter().for_each(|covers| because.extend(causes_of(walk, &covers.item)));
        return (Truth::False, Coverage::NotCovered { because });
    }
    let rows = || flat.left_out.iter().enumerate().map(|(place, row)| (place, row, walk.truth(&row.condition)));
    let surely = rows()
        .filter(|(_, _, truth)| truth.is_true())
        .max_by_key(|(place, row, _)| (row.outcome, std::cmp::Reverse(*place)));
    let mut on = BTreeSet::new();
    if covered.is_unknown() {
        for covers in &flat.covers {
            if walk.truth(&covers.item).is_unknown() {
                on.extend(causes_of(walk, &covers.item));
            }
        }
    }
    if let Some((place, row, _)) = surely {
        // Left out whatever row holds; which one may still turn on more.
        let graver = rows().any(|(_, other, truth)| truth.is_unknown() && other.outcome > row.outcome);
        if covered.is_true() && !graver {
            return (Truth::False, Coverage::LeftOut { row: place, because: causes_of(walk, &row.condition) });
        }
        for (_, other, truth) in rows() {
            if truth.is_unknown() && other.outcome > row.outcome {
                on.extend(causes_of(walk, &other.condition));
            }
        }
        return (Truth::False, Coverage::Undetermined { on });
    }
    for (_, row, truth) in rows() {
        if truth.is_unknown() {
            on.extend(causes_of(walk, &row.condition));
        }
    }
    let left_out = rows().fold(Truth::False, |found, (_, _, truth)| found.or(truth));
    match covered.and(left_out.negated()) {
        Truth::True => (Truth::True, Coverage::Covered),
        truth => (truth, Coverage::Undetermined { on }),
    }
}

fn line(
    walk: &Walk<'_>,
    place: usize,
    is_covered: Truth,
    coverage: &Coverage,
    standing: &Standing<Truth>,
) -> LineRecord {
    let Some(line) = walk.flat().lines.get(place) else {
        let none = Truth::False;
        let state = LineState::NotCovered;
        return LineRecord { state, concerned: none, condition: none, unmet: none, live: none };
    };
    let at = |list: &[Truth]| list.get(place).copied().unwrap_or(Truth::False);
    let (concerned, condition) = (walk.truth(&line.concerns), walk.truth(&line.unmet_where));
    let (unmet, live) = (is_covered.and(at(&standing.unmet)), is_covered.and(at(&standing.live)));
    let state = if is_covered.is_false() {
        LineState::NotCovered
    } else if is_covered.is_true() && concerned.is_false() {
        LineState::NotConcerned { because: causes_of(walk, &line.concerns) }
    } else if is_covered.is_true() && concerned.is_true() && condition.is_false() {
        LineState::Met
    } else if live.is_true() {
        LineState::Unmet
    } else if unmet.is_true() && live.is_false() {
        let by = line.gives_way.iter().filter(|(to, under)| {
            standing.live.get(*to).is_some_and(|truth| truth.is_true()) && walk.truth(under).is_true()
        });
        LineState::SetAside { by: by.map(|(to, _)| *to).collect() }
    } else {
        LineState::Undetermined { on: doubts(walk, place, coverage, standing) }
    };
    LineRecord { state, concerned, condition, unmet, live }
}

/// What an undetermined line turns on: whether the program covers the vehicle, the line's own conditions, and, as long as it
/// is open whether the line stands, those of the lines that it gives way to, and of the lines that those give way to.
fn doubts(walk: &Walk<'_>, place: usize, coverage: &Coverage, standing: &Standing<Truth>) -> BTreeSet<Cause> {
    let mut on = BTreeSet::new();
    if let Coverage::Undetermined { on: covered } = coverage {
        on.extend(covered.iter().cloned());
    }
    let mut ask = |condition: &Condition<usize>| {
        if walk.truth(condition).is_unknown() {
            on.extend(causes_of(walk, condition));
        }
    };
    let (mut asked, mut open) = (BTreeSet::new(), vec![place]);
    while let Some(place) = open.pop() {
        let Some(line) = walk.flat().lines.get(place).filter(|_| asked.insert(place)) else {
            continue;
        };
        ask(&line.concerns);
        ask(&line.unmet_where);
        if !standing.live.get(place).is_some_and(|truth| truth.is_unknown()) {
            continue;
        }
        for (to, under) in &line.gives_way {
            let stands = standing.live.get(*to).is_some_and(|truth| !truth.is_false());
            if stands && !walk.truth(under).is_false() {
                ask(under);
                open.push(*to);
            }
        }
    }
    on
}
