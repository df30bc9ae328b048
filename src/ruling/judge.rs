//! From a snapshot and a flat program to a ruling.

use super::answers::{Answers, Deciding};
use super::exact::Calculated;
use super::identity::{identity, readiness, too_heavy};
use super::record::{Alternative, Provided, Ruling, UnknownShown};
use super::verdict::VerdictShown;
use super::{CAUTIONS, advice, announced, candidates, coverage, due, excused, follow, grounds, lamp, lean, partial};
use super::{questions, show, unread};
use crate::evaluate::{self, Cause, Coverage, Evaluation, Walk, causes_of};
use crate::model::{Fact, Observer, Reading, Snapshot, Value, spec};
use crate::program::flat::Becomes;
use crate::program::given::facts_of;
use crate::program::{Class, FactRef, Flat, Given, GivenError, Program, Verdict};
use std::collections::BTreeSet;

/// Why no ruling can be given.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum JudgeError {
    /// The snapshot cannot be brought to the program: its readings contradict each other (both paths are named), or a
    /// declared value does not fit.
    #[error(transparent)]
    Given(#[from] GivenError),
}

/// Rules on a vehicle; what is not known is answered exactly, by the decision diagrams.
///
/// # Errors
/// Where readings contradict each other or a declared value does not fit the program.
pub fn judge(flat: &Flat, program: &Program, snapshot: &Snapshot) -> Result<Ruling, JudgeError> {
    let given = Given::of(flat, snapshot)?;
    Ok(judge_given(flat, program, snapshot, &given, &Calculated::new(flat, &given)))
}

/// Rules on a vehicle as [`judge`] does, for a table of many programs: the sufficient facts and the unknown ones that
/// matter are not worked out, and stay empty.
///
/// # Errors
/// Where readings contradict each other or a declared value does not fit the program.
pub fn judge_briefly(flat: &Flat, program: &Program, snapshot: &Snapshot) -> Result<Ruling, JudgeError> {
    let given = Given::of(flat, snapshot)?;
    Ok(judge_given(flat, program, snapshot, &given, &Calculated::brief(flat, &given)))
}

/// Rules on a vehicle; `answers` tells what is possible.
///
/// # Errors
/// Where readings contradict each other or a declared value does not fit the program.
pub fn judge_with(
    flat: &Flat,
    program: &Program,
    snapshot: &Snapshot,
    answers: &dyn Answers,
) -> Result<Ruling, JudgeError> {
    let given = Given::of(flat, snapshot)?;
    Ok(judge_given(flat, program, snapshot, &given, answers))
}

pub(super) fn judge_given(
    flat: &Flat,
    program: &Program,
    snapshot: &Snapshot,
    given: &Given,
    answers: &dyn Answers,
) -> Ruling {
    let walk = Walk::new(flat, given, &[]);
    let evaluation = evaluate::evaluation(&walk);
    let outlook = answers.outlook_from(flat, given, (evaluation.possible, evaluation.exact));
    let evaluation = answers.refined(flat, given, evaluation);
    let possible = VerdictShown::each(flat, outlook.possible);
    let single = outlook.possible.single();
    let class = common_class(&possible);
    let covered = coverage::shown(&walk, &evaluation);
    let mut against: Vec<_> = coverage::ground(flat, &evaluation.coverage, &covered).into_iter().collect();
    against.extend(grounds::grounds(&walk, &evaluation));
    let decide = answers.deciding(flat, given, &evaluation);
    // Of the ladder's first outcome nothing is a reason.
    if let Some(Verdict::Outcome(place)) = single
        && place > 0
        && against.is_empty()
    {
        against.extend(grounds::grounds_by_reading(flat, given, &decide.perhaps, place));
    }
    let (deciding, alternatives) = deciding(&walk, &evaluation, &decide, single);
    let sufficient = single.map_or(BTreeSet::new(), |verdict| {
        let known = partial::known(flat, given, snapshot);
        let mut facts = answers.sufficient(flat, given, verdict, &known, &telling(&walk, &evaluation));
        // A presumption with a condition rests on what the condition turns on.
        for presumption in given.presumed.iter().filter_map(|place| flat.presumptions.get(*place)) {
            if facts.contains(&presumption.fact) {
                facts.extend(facts_of(flat, &presumption.condition).into_iter().filter(|fact| known.contains(fact)));
            }
        }
        facts
    });
    let provided = match single {
        Some(_) => None,
        None => answers.provided(flat, given).map(|(verdict, facts)| Provided {
            verdict: VerdictShown::of(flat, verdict),
            facts: facts
                .iter()
                .map(|fact| show::with_value(flat, fact, candidates::sound(given, fact).as_ref(), false))
                .collect(),
        }),
    };
    let left_to_do = !matches!(class, Class::Pass | Class::NotSubject | Class::NoLaw);
    let helped = match left_to_do {
        true => advice::advice(&walk, program, advice::monitors_that_matter(&walk, &evaluation)),
        false => Vec::new(),
    };
    let unknown: Vec<_> =
        answers.unknown(flat, given, &evaluation).iter().map(|fact| unknown_shown(flat, fact)).collect();
    // Where nothing but papers has to be looked up, nobody comes near an engine.
    let at_the_vehicle = |it: &UnknownShown| matches!(it.observer, Observer::Look | Observer::Reader);
    let near = class != Class::Undecided || !helped.is_empty() || unknown.iter().any(at_the_vehicle);
    let lamp = lamp::shown(&walk, &evaluation);
    let standing = CAUTIONS.into_iter().filter(|it| left_to_do && (near || CAUTIONS.last() == Some(it)));
    let cautions = lamp.iter().map(|lamp| lamp.caution).chain(standing).collect();
    let leans = lean::leans(&walk, &evaluation, outlook.possible);
    Ruling {
        program: flat.program.clone(),
        title: flat.title.clone(),
        as_of: flat.as_of,
        test_date: flat.test_date,
        known_on: flat.known_on,
        engine: env!("CARGO_PKG_VERSION"),
        verdict: single.map_or("undecided", |verdict| verdict.name(flat)).to_owned(),
        class,
        exact: outlook.exact,
        provided,
        so_far_as_read: unread::topics(&walk, &evaluation, outlook.possible),
        lamp,
        identity: identity(snapshot),
        readiness: readiness(&walk, &evaluation),
        excused: excused::shown(&walk, given, outlook.possible),
        coverage: covered,
        grounds: against,
        deciding,
        alternatives,
        sufficient: sufficient.iter().map(|fact| show::fact(flat, given, fact)).collect(),
        unknown,
        questions: questions::questions(flat, program, given, snapshot, answers),
        weakest: leans.iter().map(|lean| lean.basis).max_by_key(|basis| basis.rank()),
        weak: leans.into_iter().filter(|lean| lean.basis.is_weak()).collect(),
        changes: announced::changes(&walk, outlook.possible),
        notes: follow::notes(&walk, outlook.possible),
        presumptions: follow::presumptions(&walk, &answers.turning(flat, given, snapshot, outlook.possible)),
        options: flat.options.clone(),
        consequences: follow::consequences(&walk, &evaluation, outlook.possible),
        due: due::due(&walk, &evaluation),
        advice: helped,
        cautions,
        trace: grounds::trace(&walk, &evaluation),
        remarks: remarks(flat, snapshot),
        possible,
        snapshot: snapshot.clone(),
    }
}

fn common_class(possible: &[VerdictShown]) -> Class {
    let first = possible.first().map_or(Class::Undecided, |verdict| verdict.class);
    if possible.iter().all(|verdict| verdict.class == first) { first } else { Class::Undecided }
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

/// The facts that tell most: those the unmet lines turn on.
fn telling(walk: &Walk<'_>, evaluation: &Evaluation) -> BTreeSet<FactRef<usize>> {
    let mut facts = BTreeSet::new();
    for (line, record) in walk.flat().lines.iter().zip(&evaluation.lines) {
        if record.live.is_true() {
            for cause in causes_of(walk, &line.unmet_where) {
                if let Cause::Fact(fact) = cause {
                    facts.insert(fact);
                }
            }
        }
    }
    facts
}

/// The question that asks for a fact, and who can tell.
pub(super) fn asked<'f>(flat: &'f Flat, fact: &FactRef<usize>) -> (&'f str, Observer) {
    match fact {
        FactRef::Known(fact) => {
            let spec = spec(*fact);
            (spec.question, spec.observer)
        }
        FactRef::Declared(place) => {
            flat.facts.get(*place).map_or(("", Observer::Papers), |fact| (&fact.question, fact.observer))
        }
    }
}

/// A fact that is not known, with the question to put and who can tell.
#[must_use]
pub fn unknown_shown(flat: &Flat, fact: &FactRef<usize>) -> UnknownShown {
    let (question, observer) = asked(flat, fact);
    UnknownShown { key: show::key(flat, fact), name: show::name(flat, fact), question: question.to_owned(), observer }
}

/// The words that remarks begin with which say that what was given was not understood or cannot be so.
pub const DOUBTS: [&str; 2] = ["Area ", "Weight "];

fn remarks(flat: &Flat, snapshot: &Snapshot) -> Vec<String> {
    let mut remarks = Vec::new();
    match snapshot.test_date() {
        None => remarks.push(format!(
            "The snapshot gives no date of the visit; {} was taken for it from the request.",
            flat.test_date
        )),
        Some(date) if date != flat.test_date => remarks.push(format!(
            "The snapshot's visit is dated {date}; ages and windows were counted from {}.",
            flat.test_date
        )),
        Some(_) => {}
    }
    if let Some(Reading::Known(Value::Text(name))) = snapshot.get(Fact::Area)
        && let Some(why) = super::areas::not_known(&flat.areas, name)
    {
        remarks.push(format!("Area {why}. The area was taken as not known."));
    }
    if let Some((weight, class)) = too_heavy(snapshot) {
        // 40 CFR 86.1803-01: a light-duty truck is rated at 8,500 lb or less; a passenger car below that in practice.
        remarks.push(format!("Weight {weight} does not fit a {class}: see the door label."));
    }
    if flat.as_of != flat.test_date {
        remarks.push(format!("The law of {} was applied to a visit of {}.", flat.as_of, flat.test_date));
    }
    remarks
}
