//! From a snapshot and a flat program to a ruling.

use super::answers::Answers;
use super::exact::Calculated;
use super::identity::{identity, too_heavy};
use super::reasons::{Reasons, reasons};
use super::record::{Provided, Ruling, UnknownShown};
use super::verdict::VerdictShown;
use super::{CAUTIONS, advice, announced, candidates, due, excused, follow, lamp, lean, partial, questions, show};
use crate::evaluate::{Cause, Evaluation, Walk, causes_of};
use crate::model::{Fact, Observer, Reading, Snapshot, Value, spec};
use crate::program::given::facts_of;
use crate::program::{Class, FactRef, Flat, Given, GivenError, Program};
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
    let reasons = reasons(&walk, answers);
    let Reasons { outlook, single, ref evaluation, .. } = reasons;
    let possible = VerdictShown::each(flat, outlook.possible);
    let class = common_class(&possible);
    let sufficient = single.map_or(BTreeSet::new(), |verdict| {
        let known = partial::known(flat, given, snapshot);
        let mut facts = answers.sufficient(flat, given, verdict, &known, &telling(&walk, evaluation));
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
        true => advice::advice(&walk, program, advice::monitors_that_matter(&walk, evaluation)),
        false => Vec::new(),
    };
    let unknown: Vec<_> =
        answers.unknown(flat, given, evaluation).iter().map(|fact| unknown_shown(flat, fact)).collect();
    // Where nothing but papers has to be looked up, nobody comes near an engine.
    let at_the_vehicle = |it: &UnknownShown| matches!(it.observer, Observer::Look | Observer::Reader);
    let near = class != Class::Undecided || !helped.is_empty() || unknown.iter().any(at_the_vehicle);
    let lamp = lamp::shown(&walk, evaluation);
    let standing = CAUTIONS.into_iter().filter(|it| left_to_do && (near || CAUTIONS.last() == Some(it)));
    let cautions = lamp.iter().map(|lamp| lamp.caution).chain(standing).collect();
    let leans = lean::leans(&walk, evaluation, outlook.possible);
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
        so_far_as_read: reasons.so_far_as_read,
        lamp,
        identity: identity(snapshot),
        readiness: reasons.readiness,
        excused: excused::shown(&walk, given, outlook.possible),
        coverage: reasons.coverage,
        grounds: reasons.grounds,
        deciding: reasons.deciding,
        alternatives: reasons.alternatives,
        sufficient: sufficient.iter().map(|fact| show::fact(flat, given, fact)).collect(),
        unknown,
        questions: questions::questions(flat, program, given, snapshot, outlook.possible, answers),
        weakest: leans.iter().map(|lean| lean.basis).max_by_key(|basis| basis.rank()),
        weak: leans.into_iter().filter(|lean| lean.basis.is_weak()).collect(),
        changes: announced::changes(&walk, outlook.possible),
        notes: follow::notes(&walk, outlook.possible),
        presumptions: follow::presumptions(&walk, &answers.turning(flat, given, snapshot, outlook.possible)),
        options: flat.options.clone(),
        consequences: follow::consequences(&walk, evaluation, outlook.possible),
        due: due::due(&walk, evaluation),
        advice: helped,
        cautions,
        trace: reasons.trace,
        remarks: remarks(flat, snapshot),
        possible,
        snapshot: snapshot.clone(),
    }
}

fn common_class(possible: &[VerdictShown]) -> Class {
    let first = possible.first().map_or(Class::Undecided, |verdict| verdict.class);
    if possible.iter().all(|verdict| verdict.class == first) { first } else { Class::Undecided }
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
