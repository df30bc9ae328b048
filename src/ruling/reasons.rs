//! What is possible for a vehicle and why: the part of a ruling that stands by itself, for one vehicle as it is and for
//! the same vehicle with what is sound and ordinary.

use super::answers::{Answers, Deciding, Outlook};
use super::coverage::{self, CoverageShown};
use super::grounds::{self, Ground, TraceLine};
use super::identity::{ReadinessShown, readiness};
use super::record::Alternative;
use super::unread;
use crate::evaluate::{self, Coverage, Evaluation, Walk};
use crate::program::flat::Becomes;
use crate::program::{Flat, Topic, Verdict};

/// What is possible, and why.
#[derive(Debug)]
pub(super) struct Reasons {
    /// The possible verdicts.
    pub(super) outlook: Outlook,
    /// The one that is possible, where there is one.
    pub(super) single: Option<Verdict>,
    /// The record of every line.
    pub(super) evaluation: Evaluation,
    /// Whether the program concerns the vehicle.
    pub(super) coverage: CoverageShown,
    /// What stands against it.
    pub(super) grounds: Vec<Ground>,
    /// Clauses that surely decide.
    pub(super) deciding: Vec<String>,
    /// Clauses that may bring each outcome besides.
    pub(super) alternatives: Vec<Alternative>,
    /// How it stands to the limit on incomplete monitors.
    pub(super) readiness: Option<ReadinessShown>,
    /// Topics not read that could make the outcome graver.
    pub(super) so_far_as_read: Vec<Topic>,
    /// Every line with its state and why.
    pub(super) trace: Vec<TraceLine>,
}

/// What is possible for a vehicle, and why; `answers` tells what is possible.
pub(super) fn reasons(walk: &Walk<'_>, answers: &dyn Answers) -> Reasons {
    let (flat, given) = (walk.flat(), walk.given());
    let evaluation = evaluate::evaluation(walk);
    let outlook = answers.outlook_from(flat, given, (evaluation.possible, evaluation.exact));
    let evaluation = answers.refined(flat, given, evaluation);
    let single = outlook.possible.single();
    let coverage = coverage::shown(walk, &evaluation);
    let mut grounds: Vec<_> = coverage::ground(flat, &evaluation.coverage, &coverage).into_iter().collect();
    grounds.extend(grounds::grounds(walk, &evaluation));
    let decide = answers.deciding(flat, given, &evaluation);
    // Of the ladder's first outcome nothing is a reason.
    if let Some(Verdict::Outcome(place)) = single
        && place > 0
        && grounds.is_empty()
    {
        grounds.extend(grounds::grounds_by_reading(flat, given, &decide.perhaps, place));
    }
    let (deciding, alternatives) = deciding(walk, &evaluation, &decide, single);
    Reasons {
        readiness: readiness(walk, &evaluation),
        so_far_as_read: unread::topics(walk, &evaluation, outlook.possible),
        trace: grounds::trace(walk, &evaluation),
        outlook,
        single,
        evaluation,
        coverage,
        grounds,
        deciding,
        alternatives,
    }
}

/// Clauses that surely decide, and for each outcome the clauses that may.
fn deciding(
    walk: &Walk<'_>,
    evaluation: &Evaluation,
    found: &Deciding,
    single: Option<Verdict>,
) -> (Vec<String>, Vec<Alternative>) {
    let flat = walk.flat();
    let mut surely: Vec<String> = Vec::new();
    if let Coverage::NotInForce | Coverage::NotCovered { .. } | Coverage::LeftOut { .. } = evaluation.coverage {
        return (surely, Vec::new());
    }
    for line in found.surely.iter().filter_map(|place| flat.lines.get(*place)) {
        if !surely.contains(&line.clause) {
            surely.push(line.clause.clone());
        }
    }
    if surely.is_empty()
        && let Some(clause) = single.and_then(|verdict| only_clause(walk, evaluation, &found.perhaps, verdict))
    {
        return (vec![clause], Vec::new());
    }
    let mut alternatives = Vec::new();
    for (place, outcome) in flat.outcomes.iter().enumerate().rev() {
        let lines = found.perhaps.iter().filter_map(|line| flat.lines.get(*line));
        let mut clauses: Vec<String> = Vec::new();
        for line in lines.filter(|line| line.outcome == place) {
            if !clauses.contains(&line.clause) {
                clauses.push(line.clause.clone());
            }
        }
        if !clauses.is_empty() {
            alternatives.push(Alternative { outcome: outcome.name.clone(), clauses });
        }
    }
    (surely, alternatives)
}

/// The one clause that can bring the single verdict there is.
fn only_clause(walk: &Walk<'_>, evaluation: &Evaluation, perhaps: &[usize], verdict: Verdict) -> Option<String> {
    let flat = walk.flat();
    let Verdict::Outcome(place) = verdict else { return None };
    let is_covered = matches!(evaluation.coverage, Coverage::Covered);
    let may = |other: Otherwise<'_>| match other {
        Otherwise::Relabelled(rule) => !walk.truth(&rule.condition).is_false(),
        Otherwise::LeftOut => !is_covered,
    };
    let lines = one_clause(flat, perhaps.iter().copied(), place, may);
    lines.first().and_then(|line| flat.lines.get(*line)).map(|line| line.clause.clone())
}

/// A way in which an outcome comes about without a line that brings it.
#[derive(Debug, Clone, Copy)]
pub enum Otherwise<'a> {
    /// It is what a relabelling makes of another.
    Relabelled(&'a Becomes),
    /// The vehicle is left out with it.
    LeftOut,
}

/// Of lines that may decide those that bring an outcome, if they are all of one clause: by one of its lines or by another,
/// as an open question is read, that clause decides in every case. None where the outcome is the ladder's first, or may
/// come about otherwise; `may` tells it of each way in which this program could bring it.
#[must_use]
pub fn one_clause(
    flat: &Flat,
    lines: impl Iterator<Item = usize>,
    outcome: usize,
    may: impl Fn(Otherwise<'_>) -> bool,
) -> Vec<usize> {
    let relabelled =
        || flat.becomes.iter().filter(|rule| rule.to == outcome).any(|rule| may(Otherwise::Relabelled(rule)));
    let left_out = || flat.left_out.iter().any(|row| row.outcome == Some(outcome)) && may(Otherwise::LeftOut);
    if outcome == 0 || relabelled() || left_out() {
        return Vec::new();
    }
    let lines: Vec<usize> =
        lines.filter(|line| flat.lines.get(*line).is_some_and(|line| line.outcome == outcome)).collect();
    let mut clauses = lines.iter().filter_map(|line| flat.lines.get(*line)).map(|line| line.clause.as_str());
    let first = clauses.next();
    if clauses.all(|clause| Some(clause) == first) { lines } else { Vec::new() }
}
