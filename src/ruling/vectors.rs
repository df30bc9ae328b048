//! Vectors judged by the interpreter: what it says of each vehicle, and which mutants the set catches. The diagrams chose
//! the vehicles; here nothing of them is believed. Vehicles in plain words, for exercises.

use super::due::{self, Due};
use super::follow::{self, Standing};
use super::show;
use crate::analysis::cases::{Mutant, Vector, Vectors};
use crate::diagram::example::Example;
use crate::evaluate::{Bound, Walk, interpret, verdict};
use crate::model::{Date, Fact, Monitor, MonitorState, Reading, Snapshot, Value};
use crate::program::{FactRef, Flat, Given, GivenError, Verdict};
use std::collections::{BTreeMap, BTreeSet};

/// How good a set of vectors is.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Score {
    /// Changes of one place that change a verdict of some vehicle.
    pub effective: usize,
    /// Those that no vector shows, in words; empty: all are caught.
    pub missed: Vec<String>,
    /// Changes proved to change no verdict.
    pub equivalent: usize,
    /// Vectors of which the interpreter says otherwise than the diagrams: their places.
    pub disputed: Vec<usize>,
}

/// The program with open questions read as in an example.
#[must_use]
pub fn as_read(flat: &Flat, readings: &[(String, String)]) -> Flat {
    let mut flat = flat.clone();
    for (id, reading) in readings {
        if let Some(question) = flat.questions.iter_mut().find(|question| question.id == *id) {
            question.taken = question.readings.iter().position(|known| known == reading);
        }
    }
    flat
}

/// What the interpreter answers of a vehicle: the verdicts that may follow, whether it is due, what follows.
type Answers = (Bound, BTreeMap<String, BTreeSet<bool>>);

fn answers(flat: &Flat, given: &Given) -> Answers {
    let mut follows: BTreeMap<String, BTreeSet<bool>> = BTreeMap::new();
    if flat.consequences.is_empty() && flat.due.is_empty() {
        return (verdict(flat, given), follows);
    }
    let evaluation = interpret(flat, given);
    let walk = Walk::new(flat, given, &[]);
    match due::due_if_asked(&walk).due {
        Due::NotSaid => {}
        Due::Yes => drop(follows.insert("due".to_owned(), BTreeSet::from([true]))),
        Due::No => drop(follows.insert("due".to_owned(), BTreeSet::from([false]))),
        Due::NotKnown => drop(follows.insert("due".to_owned(), BTreeSet::from([false, true]))),
    }
    for rule in &flat.consequences {
        follows.entry(rule.item.text.clone()).or_default();
    }
    for shown in follow::consequences(&walk, &evaluation, evaluation.possible) {
        follows.entry(shown.text).or_default().extend(match shown.state {
            Standing::Open => vec![true],
            Standing::Closed => vec![false],
            Standing::NotKnown => vec![true, false],
        });
    }
    // Of those that cannot follow the verdict nothing is told: they do not.
    for rule in &flat.consequences {
        if !evaluation.possible.contains(Verdict::Outcome(rule.item.after))
            && let Some(truths) = follows.get_mut(&rule.item.text)
        {
            truths.insert(false);
        }
    }
    (evaluation.possible, follows)
}

/// Whether the interpreter says what is expected. Of what follows it tells a bound, not always the least.
fn agrees(found: &Answers, vector: &Vector) -> bool {
    found.0.iter().collect::<BTreeSet<Verdict>>() == vector.expected
        && found.1.keys().eq(vector.follows.keys())
        && vector.follows.iter().all(|(name, truths)| found.1.get(name).is_some_and(|found| truths.is_subset(found)))
}

/// Scores a set by the interpreter alone.
///
/// # Errors
/// Where a vehicle of the set cannot be: its readings contradict each other.
pub fn score(flat: &Flat, set: &Vectors) -> Result<Score, GivenError> {
    let mut score = Score { effective: set.effective.len(), equivalent: set.equivalent.len(), ..Score::default() };
    let ways: BTreeSet<&Vec<(String, String)>> = set.vectors.iter().map(|it| &it.example.readings).collect();
    let mut left: Vec<&Mutant> = set.effective.iter().collect();
    for way in ways {
        let read = as_read(flat, way);
        let mut judged: Vec<(&Vector, Given, Answers)> = Vec::new();
        for (place, vector) in set.vectors.iter().enumerate().filter(|(_, it)| it.example.readings == *way) {
            let given = Given::of(&read, &vector.example.snapshot)?;
            let found = answers(&read, &given);
            if !agrees(&found, vector) {
                score.disputed.push(place);
            }
            judged.push((vector, given, found));
        }
        left.retain(|mutant| {
            let changed = as_read(&mutant.flat, way);
            let presumes = changed.presumptions != read.presumptions;
            !judged.iter().filter(|(it, ..)| mutant.change.day().is_none_or(|day| day == it.day)).any(
                |(vector, given, found)| {
                    let own = presumes.then(|| Given::of(&changed, &vector.example.snapshot).ok()).flatten();
                    answers(&changed, own.as_ref().unwrap_or(given)) != *found
                },
            )
        });
    }
    score.missed = left.into_iter().map(|mutant| mutant.what.clone()).collect();
    score.disputed.sort_unstable();
    Ok(score)
}

/// Which of some changes a vehicle catches, by their places: those with which the interpreter answers otherwise. None where
/// no such vehicle can be.
#[must_use]
pub fn caught(flat: &Flat, way: &[(String, String)], day: Date, vehicle: &Snapshot, changes: &[&Mutant]) -> Vec<usize> {
    let read = as_read(flat, way);
    let Ok(given) = Given::of(&read, vehicle) else { return Vec::new() };
    let found = answers(&read, &given);
    let catches = |mutant: &&Mutant| {
        let changed = as_read(&mutant.flat, way);
        let presumes = changed.presumptions != read.presumptions;
        let own = presumes.then(|| Given::of(&changed, vehicle).ok()).flatten();
        mutant.change.day().is_none_or(|asked| asked == day)
            && answers(&changed, own.as_ref().unwrap_or(&given)) != found
    };
    changes.iter().enumerate().filter(|(_, mutant)| catches(mutant)).map(|(at, _)| at).collect()
}

/// Names of the verdicts that the interpreter says may follow of a vehicle, with questions read in a way; none where no such
/// vehicle can be.
#[must_use]
pub fn outcomes(flat: &Flat, way: &[(String, String)], vehicle: &Snapshot) -> Vec<String> {
    let read = as_read(flat, way);
    let Ok(given) = Given::of(&read, vehicle) else { return Vec::new() };
    super::VerdictShown::each(&read, verdict(&read, &given)).into_iter().map(|shown| shown.name).collect()
}

/// From so many unsupported monitors on, a person is told that there are no others, not their names.
const MANY: usize = 4;

/// A fully known vehicle in plain words: a phrase a fact, the monitors by state.
#[must_use]
pub fn in_words(flat: &Flat, example: &Example) -> Vec<String> {
    let snapshot = &example.snapshot;
    let Ok(given) = Given::of(flat, snapshot) else {
        return Vec::new();
    };
    let known = snapshot.readings.keys().filter(|fact| !matches!(fact, Fact::Monitor(_) | Fact::TestDate));
    let declared = flat.facts.iter().enumerate().filter(|(_, fact)| snapshot.declared.contains_key(&fact.name));
    let facts = known.map(|fact| FactRef::Known(*fact)).chain(declared.map(|(place, _)| FactRef::Declared(place)));
    let mut words: Vec<String> = facts.map(|fact| show::fact(flat, &given, &fact).phrase).collect();
    for (state, word) in [
        (MonitorState::Complete, "complete"),
        (MonitorState::Incomplete, "incomplete"),
        (MonitorState::Unsupported, "unsupported"),
    ] {
        let is = |monitor: &Monitor| match snapshot.get(Fact::Monitor(*monitor)) {
            Some(Reading::Known(Value::Word(place))) => 1u64.checked_shl(u32::from(*place)) == Some(state.bit()),
            _ => false,
        };
        let names: Vec<&str> = Monitor::all().filter(is).map(Monitor::name).collect();
        match (state, names.len()) {
            (_, 0) => {}
            (MonitorState::Unsupported, MANY..) => words.push("all other monitors unsupported".to_owned()),
            _ => words.push(format!("monitors {word}: {}", names.join(", "))),
        }
    }
    words
}
