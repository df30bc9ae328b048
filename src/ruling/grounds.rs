//! Grounds (unmet lines) and the trace (every line with its state and why).

use super::basis::{Basis, Law, laws};
use super::margin::{self, Margin};
use super::show::{self, FactShown};
use crate::evaluate::{Cause, Evaluation, LineState, Walk, causes_of, explain};
use crate::program::flat::Line;
use crate::program::{Condition, Flat, Given, Test, Topic};
use std::collections::BTreeSet;

/// What stands against a vehicle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ground {
    /// Id of the clause; where coverage decides `ended`, `no-law-in-file`, `not-covered` or `left-out`.
    pub clause: String,
    /// Topic.
    pub topic: Topic,
    /// Name of the outcome, before any relabelling.
    pub outcome: String,
    /// What a person is told.
    pub message: String,
    /// Citations.
    pub law: Vec<Law>,
    /// The weakest of them.
    pub basis: Basis,
    /// The facts used.
    pub facts: Vec<FactShown>,
    /// How far each number was from its limit.
    pub margins: Vec<Margin>,
    /// Program whose file holds the clause.
    pub origin: String,
    /// Readings of open questions under which it stands, `QUESTION read as READING`; empty where it stands under all.
    pub under: Vec<String>,
}

/// A line with its state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TraceLine {
    /// Id of the clause.
    pub clause: String,
    /// Topic.
    pub topic: Topic,
    /// Name of the outcome where it is unmet.
    pub outcome: String,
    /// `met`, `unmet`, `set-aside`, `not-concerned`, `not-covered` or `undetermined`.
    pub state: &'static str,
    /// Why, in words.
    pub why: Vec<String>,
    /// The facts used.
    pub facts: Vec<FactShown>,
    /// How far each number was from its limit.
    pub margins: Vec<Margin>,
    /// Message of the line.
    pub message: String,
    /// Citations.
    pub law: Vec<Law>,
    /// The weakest of them.
    pub basis: Basis,
    /// Program whose file holds the clause.
    pub origin: String,
}

/// The unmet lines that are not set aside, the gravest first.
pub(super) fn grounds(walk: &Walk<'_>, evaluation: &Evaluation) -> Vec<Ground> {
    let flat = walk.flat();
    let mut unmet: Vec<&Line> = flat
        .lines
        .iter()
        .zip(&evaluation.lines)
        .filter(|(_, record)| record.state == LineState::Unmet)
        .map(|(line, _)| line)
        .collect();
    unmet.sort_by_key(|line| std::cmp::Reverse(line.outcome));
    unmet.into_iter().map(|line| ground(walk, line)).collect()
}

/// Lines that stand against the vehicle under one reading of an open question, each with its reading. Where the outcome
/// is the same under all readings they are why, though none of them stands under all.
pub(super) fn grounds_by_reading(flat: &Flat, given: &Given, lines: &[usize], outcome: usize) -> Vec<Ground> {
    let lines = lines.iter().filter_map(|place| flat.lines.get(*place)).filter(|line| line.outcome == outcome);
    let mut found = Vec::new();
    for line in lines {
        let mut assumed = vec![None; flat.questions.len()];
        let mut under = Vec::new();
        for (question, reading) in readings_of(&line.concerns) {
            let Some(asked) = flat.questions.get(question).filter(|it| it.taken.is_none()) else { continue };
            if let Some(slot) = assumed.get_mut(question) {
                *slot = Some(reading);
            }
            let word = asked.readings.get(reading).map_or("", String::as_str);
            under.push(format!("{} read as {word}", asked.id));
        }
        let walk = Walk::new(flat, given, &assumed);
        if !under.is_empty() && walk.truth(&line.concerns).and(walk.truth(&line.unmet_where)).is_true() {
            found.push(Ground { under, ..ground(&walk, line) });
        }
    }
    found
}

/// The readings that a condition demands, where it demands them beside all else.
fn readings_of(condition: &Condition<usize>) -> Vec<(usize, usize)> {
    match condition {
        Condition::Test(Test::Reading { question, reading }) => vec![(*question, *reading)],
        Condition::All(parts) => parts.iter().flat_map(readings_of).collect(),
        Condition::Any(_) | Condition::Not(_) | Condition::Test(_) => Vec::new(),
    }
}

fn ground(walk: &Walk<'_>, line: &Line) -> Ground {
    let law = laws(&walk.flat().sources, &line.basis);
    Ground {
        clause: line.clause.clone(),
        topic: line.topic,
        outcome: outcome_name(walk, line.outcome),
        message: line.message.clone(),
        basis: Basis::of(&law),
        law,
        facts: facts_of(walk, &line.unmet_where),
        margins: margins_of(walk, &line.unmet_where),
        origin: line.origin.program.clone(),
        under: Vec::new(),
    }
}

pub(super) fn outcome_name(walk: &Walk<'_>, place: usize) -> String {
    walk.flat().outcomes.get(place).map_or(String::new(), |outcome| outcome.name.clone())
}

fn facts_of(walk: &Walk<'_>, condition: &Condition<usize>) -> Vec<FactShown> {
    let causes = causes_of(walk, condition);
    show::facts_among(&causes).iter().map(|fact| show::fact(walk.flat(), walk.given(), fact)).collect()
}

fn margins_of(walk: &Walk<'_>, condition: &Condition<usize>) -> Vec<Margin> {
    let mut margins = Vec::new();
    for leaf in explain(walk, condition) {
        for margin in margin::of_leaf(walk, leaf) {
            if !margins.contains(&margin) {
                margins.push(margin);
            }
        }
    }
    margins
}

/// Every line with its state.
pub(super) fn trace(walk: &Walk<'_>, evaluation: &Evaluation) -> Vec<TraceLine> {
    let lines = walk.flat().lines.iter().zip(&evaluation.lines);
    lines.map(|(line, record)| trace_line(walk, line, &record.state)).collect()
}

fn trace_line(walk: &Walk<'_>, line: &Line, state: &LineState) -> TraceLine {
    let (flat, given) = (walk.flat(), walk.given());
    let in_words = |causes: &BTreeSet<Cause>| causes.iter().map(|cause| show::cause(flat, given, cause)).collect();
    let shown =
        |causes: &BTreeSet<Cause>| show::facts_among(causes).iter().map(|fact| show::fact(flat, given, fact)).collect();
    let (state, why, facts, margins) = match state {
        LineState::Met | LineState::Unmet => {
            let word = if *state == LineState::Met { "met" } else { "unmet" };
            let causes = causes_of(walk, &line.unmet_where);
            (word, in_words(&causes), shown(&causes), margins_of(walk, &line.unmet_where))
        }
        LineState::SetAside { by } => {
            let mut clauses: Vec<String> = Vec::new();
            for clause in by.iter().filter_map(|place| flat.lines.get(*place)).map(|other| &other.clause) {
                if !clauses.contains(clause) {
                    clauses.push(clause.clone());
                }
            }
            let causes = causes_of(walk, &line.unmet_where);
            ("set-aside", clauses, shown(&causes), margins_of(walk, &line.unmet_where))
        }
        LineState::NotConcerned { because } => ("not-concerned", in_words(because), shown(because), Vec::new()),
        LineState::NotCovered => ("not-covered", Vec::new(), Vec::new(), Vec::new()),
        LineState::Undetermined { on } => ("undetermined", in_words(on), shown(on), Vec::new()),
    };
    let law = laws(&flat.sources, &line.basis);
    TraceLine {
        clause: line.clause.clone(),
        topic: line.topic,
        outcome: outcome_name(walk, line.outcome),
        state,
        why,
        facts,
        margins,
        message: line.message.clone(),
        basis: Basis::of(&law),
        law,
        origin: line.origin.program.clone(),
    }
}
