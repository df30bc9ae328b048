//! Which question to ask next about a vehicle, and the whole tree of questions. Only questions that can still change the
//! answer are asked; where the ways are few enough the dearest way to the end costs as little as it can, else the
//! cheapest question comes first and the answer says so. Lists of codes and sets of monitors are one question each.
//!
//! What a person answers is not read here, and nothing is drawn.

mod policy;
mod residual;

use crate::diagram::forest::TooLarge;
use crate::diagram::kernel::Compiled;
use crate::diagram::level::Var;
use crate::diagram::{BUDGET, Error};
use crate::model::facts::Possible;
use crate::model::{Fact, Observer, Snapshot, spec};
use crate::program::block::Presumed;
use crate::program::{FactRef, Flat, Given, GivenError, Verdict};
use policy::Policy;
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// Most questions of a tree. Larger trees are cut; the output says so.
pub const MOST_PLACES: usize = 400;

/// What it costs to ask for what is ordinary, besides: more than any other question.
const ASKED_LATE: u32 = 20;

/// A question that may be put: the facts it asks for, and the levels that they are in the diagrams.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Askable {
    facts: Vec<FactRef<usize>>,
    levels: BTreeSet<usize>,
    cost: u32,
}

/// Where an answer leads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// Nothing more that can be asked would change the answer: the verdicts left.
    Done(BTreeSet<Verdict>),
    /// On to the question at this place of the tree.
    Ask(usize),
    /// The tree was cut here: verdicts left.
    Cut(BTreeSet<Verdict>),
}

/// A question of a tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// The facts that it asks for: one, or make, model and engine together.
    pub facts: Vec<FactRef<usize>>,
    /// What it costs to find out.
    pub cost: u32,
    /// Answers in the words of program files, with what follows each.
    pub answers: Vec<(String, Step)>,
    /// How many questions there are at most from here on, this one included.
    pub at_most: usize,
}

/// A tree of questions in which what is alike stands once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tree {
    /// Where it begins.
    pub start: Step,
    /// The questions; a place is the question's place in this list. Earlier ones are asked earlier on some way.
    pub questions: Vec<Question>,
    /// Whether no other tree has a cheaper dearest way.
    pub is_best: bool,
}

impl Tree {
    /// How many questions the longest way has at most.
    #[must_use]
    pub fn depth(&self) -> usize {
        match &self.start {
            Step::Ask(place) => self.questions.get(*place).map_or(0, |question| question.at_most),
            Step::Done(_) | Step::Cut(_) => 0,
        }
    }

    /// How many ways end where the tree was cut.
    #[must_use]
    pub fn cuts(&self) -> usize {
        let steps = self.questions.iter().flat_map(|question| question.answers.iter().map(|(_, step)| step));
        steps.chain(std::iter::once(&self.start)).filter(|step| matches!(step, Step::Cut(_))).count()
    }
}

/// Why there is no next question.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum TurnError {
    /// What is known cannot be brought to the program.
    #[error(transparent)]
    Given(#[from] GivenError),
    /// There is no exact answer.
    #[error(transparent)]
    Inexact(#[from] Error),
}

/// What to ask of a vehicle now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Turn {
    /// The verdicts that are possible.
    pub possible: BTreeSet<Verdict>,
    /// The fact to ask for; `None` where nothing that can be asked would change the answer.
    pub fact: Option<FactRef<usize>>,
    /// How many questions there are at most, this one included, if each is answered.
    pub at_most: usize,
    /// Most questions on any way, unanswered ones included.
    pub at_most_unanswered: usize,
    /// The facts that may still matter, those that others tell included.
    pub open: BTreeSet<FactRef<usize>>,
}

/// The program as questions are put by it: it asks for a fact that it presumes too, until the answer is *not known*.
#[must_use]
pub fn unpresumed(flat: &Flat, given_up: &BTreeSet<FactRef<usize>>) -> Flat {
    let mut flat = flat.clone();
    let unlisted = [Fact::Make, Fact::Model, Fact::Engine].map(FactRef::Known);
    flat.presumptions.retain(|presumption| match presumption.value {
        Presumed::NotListed(_) => unlisted.iter().any(|fact| given_up.contains(fact)),
        _ => given_up.contains(&presumption.fact),
    });
    flat
}

/// The next question about a vehicle. Facts of `given_up` are not asked for again; what the program presumes of them
/// then holds.
///
/// # Errors
/// Where a diagram outgrows its budget, or no vehicle agrees with what is known.
pub fn turn(flat: &Flat, snapshot: &Snapshot, given_up: &BTreeSet<FactRef<usize>>) -> Result<Turn, TurnError> {
    let late = late(flat, snapshot);
    let flat = &unpresumed(flat, given_up);
    let given = &Given::of(flat, snapshot)?;
    Ok(turn_of(flat, given, given_up, &late)?)
}

fn turn_of(
    flat: &Flat,
    given: &Given,
    given_up: &BTreeSet<FactRef<usize>>,
    late: &BTreeSet<FactRef<usize>>,
) -> Result<Turn, Error> {
    let mut compiled = Compiled::of(&[(flat, given)], BUDGET)?;
    let ruled = compiled.first().map(|nodes| nodes.ruled).ok_or(Error::Contradiction)?;
    let askable = askable(flat, given, &compiled, given_up, late);
    let mut policy = Policy::new(&mut compiled, &askable);
    let raw = policy.start(ruled)?;
    let possible = policy.verdicts(raw);
    let at_most_unanswered = policy.facts_of(raw);
    let open = policy.open_facts(raw);
    let node = policy.plain(raw)?;
    let best = policy.best(node)?;
    let fact = best.question.and_then(|place| askable.get(place)?.facts.first().cloned());
    Ok(Turn { possible, fact, at_most: best.depth, at_most_unanswered, open })
}

/// The tree of questions for a vehicle.
///
/// # Errors
/// Where a diagram outgrows its budget, or no vehicle agrees with what is known.
pub fn ask(flat: &Flat, snapshot: &Snapshot) -> Result<Tree, TurnError> {
    let late = late(flat, snapshot);
    let flat = &unpresumed(flat, &BTreeSet::new());
    let given = &Given::of(flat, snapshot)?;
    Ok(tree_of(flat, given, &late)?)
}

/// Facts with an ordinary value, and those that the program presumes: asked last.
fn late(flat: &Flat, snapshot: &Snapshot) -> BTreeSet<FactRef<usize>> {
    let Some((open, presumed)) = super::next::assume::unpresumed(flat, snapshot) else {
        return BTreeSet::new();
    };
    let taken = super::next::assume::taken(flat, &open, &presumed, true);
    taken
        .into_iter()
        .filter(|proviso| proviso.kind >= super::next::Kind::Ordinary)
        .map(|proviso| proviso.fact)
        .collect()
}

fn tree_of(flat: &Flat, given: &Given, late: &BTreeSet<FactRef<usize>>) -> Result<Tree, Error> {
    let mut compiled = Compiled::of(&[(flat, given)], BUDGET)?;
    let ruled = compiled.first().map(|nodes| nodes.ruled).ok_or(Error::Contradiction)?;
    let askable = askable(flat, given, &compiled, &BTreeSet::new(), late);
    let mut policy = Policy::new(&mut compiled, &askable);
    let raw = policy.start(ruled)?;
    let root = policy.plain(raw)?;
    let mut places = BTreeMap::new();
    let mut waiting = VecDeque::new();
    let mut tree = Tree { start: Step::Done(BTreeSet::new()), questions: Vec::new(), is_best: true };
    tree.start = policy.step(root, &mut places, &mut waiting);
    while let Some(node) = waiting.pop_front() {
        let question = policy.question(node, &askable, &mut places, &mut waiting);
        match question {
            Ok(question) => tree.questions.push(question),
            // The budget is spent: the question is told without its answers, as one that was cut.
            Err(TooLarge { .. }) => {
                let cut = Step::Cut(policy.verdicts(node));
                let answers = vec![("any answer".to_owned(), cut)];
                tree.questions.push(Question { facts: Vec::new(), cost: 0, answers, at_most: policy.facts_of(node) });
            }
        }
    }
    tree.is_best = policy.is_best();
    Ok(tree)
}

/// The questions that can be put: what is not known of the vehicle, but nothing about the text, nothing given up.
fn askable(
    flat: &Flat,
    given: &Given,
    compiled: &Compiled,
    given_up: &BTreeSet<FactRef<usize>>,
    late: &BTreeSet<FactRef<usize>>,
) -> Vec<Askable> {
    let mut found: BTreeMap<Vec<FactRef<usize>>, Askable> = BTreeMap::new();
    for (level, one) in compiled.compiler.space.levels.iter().enumerate() {
        let facts: Vec<FactRef<usize>> = match &one.var {
            var if var.is_of_the_text() => Vec::new(),
            Var::Listed => [Fact::Make, Fact::Model, Fact::Engine]
                .into_iter()
                .filter(|fact| compiled.compiler.space.units.iter().flatten().any(|(asked, _, _)| asked == fact))
                .filter(|fact| matches!(given.facts.get(*fact), Possible::Text(None)))
                .map(FactRef::Known)
                .collect(),
            var @ Var::Declared { .. } => {
                let place = (0..flat.facts.len()).find(|place| Var::declared(flat, *place).as_ref() == Some(var));
                place.map(FactRef::Declared).into_iter().collect()
            }
            var => var.fact().map(FactRef::Known).into_iter().collect(),
        };
        let facts: Vec<FactRef<usize>> = facts.into_iter().filter(|fact| !given_up.contains(fact)).collect();
        if facts.is_empty() {
            continue;
        }
        let later = |fact: &FactRef<usize>| if late.contains(fact) { ASKED_LATE } else { 0 };
        let cost = facts.iter().map(|fact| cost(flat, fact) + later(fact)).sum();
        let entry = found.entry(facts.clone()).or_insert(Askable { facts, levels: BTreeSet::new(), cost });
        entry.levels.insert(level);
    }
    let mut list: Vec<Askable> = found.into_values().collect();
    list.sort_by_key(|question| (question.cost, question.facts.clone()));
    list
}

/// What a question costs a person: the papers lie at hand, then one looks, then a reader is plugged in; what an earlier test
/// said concerns few visits. Where no order saves questions, the cheaper is asked first.
#[must_use]
pub fn cost(flat: &Flat, fact: &FactRef<usize>) -> u32 {
    let observer = match fact {
        FactRef::Known(
            Fact::EarlierIncompleteVisits
            | Fact::HoursSincePrevious
            | Fact::DistanceSincePrevious
            | Fact::EarlierFailureCodes
            | Fact::EarlierCodes
            | Fact::EarlierIncomplete
            | Fact::EarlierIncompleteCount
            | Fact::EarlierLampMonitors,
        ) => return 4,
        FactRef::Known(fact) => spec(*fact).observer,
        FactRef::Declared(place) => flat.facts.get(*place).map_or(Observer::Papers, |fact| fact.observer),
    };
    match observer {
        Observer::Papers | Observer::Visit => 1,
        Observer::Look => 2,
        Observer::Reader => 3,
    }
}

/// A description without the name of the fact it is about: beside the question, the name says nothing.
fn short(fact: Option<&FactRef<usize>>, words: &str) -> String {
    let Some(FactRef::Known(fact)) = fact else {
        return words.to_owned();
    };
    let name = match fact {
        Fact::Monitor(monitor) => monitor.name(),
        other => spec(*other).name,
    };
    let plain = words.replace(&format!("{name} not on this vehicle"), "not on this vehicle");
    let cut = plain.strip_prefix(name).and_then(|rest| rest.strip_prefix(' ')).unwrap_or(&plain);
    let cut = cut.strip_prefix("is ").filter(|rest| !rest.starts_with("not ")).unwrap_or(cut);
    if cut.is_empty() { plain } else { cut.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Beside the question the fact's name and *is* say nothing, but *is not* without its *is* would read as another word.
    #[test]
    fn an_answer_is_told_without_the_name_of_its_fact() {
        for (fact, words, expected) in [
            (Fact::Fuel, "fuel is diesel", "diesel"),
            (Fact::Fuel, "fuel is not diesel", "is not diesel"),
            (Fact::ModelYear, "model year 1996 or later", "1996 or later"),
            (Fact::LampLitKeyOn, "hybrid is yes", "hybrid is yes"),
        ] {
            assert_eq!(short(Some(&FactRef::Known(fact)), words), expected);
            assert_eq!(short(None, words), words);
            assert_eq!(short(Some(&FactRef::Declared(0)), words), words);
        }
        let catalyst = FactRef::Known(Fact::Monitor(crate::model::Monitor::Catalyst));
        assert_eq!(short(Some(&catalyst), "catalyst is incomplete"), "incomplete");
        assert_eq!(short(Some(&catalyst), "catalyst is not incomplete"), "is not incomplete");
    }
}
