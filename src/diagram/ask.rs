//! The next best question, and the whole tree of questions: exact dynamic programming over residual diagrams, so that the
//! dearest way through costs as little as it can. Where there are too many residuals the tree is still right, every
//! answer leads to exact verdicts, but it may ask more than it must; it then says so.

use super::forest::{Node, TooLarge};
use super::kernel::{Compiled, NOBODY, Nodes, verdict_of};
use super::level::Var;
use super::words::describe;
use super::{BUDGET, Error};
use crate::model::spec;
use crate::program::{FactRef, Flat, Given, Verdict};
use std::collections::{BTreeMap, BTreeSet};

/// The most residual diagrams that are looked at for the best question.
const MOST_RESIDUALS: usize = 600;
/// The most places of a tree.
const MOST_PLACES: usize = 4_000;

/// What to ask next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// The fact.
    pub fact: FactRef<usize>,
    /// What it costs to find out.
    pub cost: u32,
    /// Answers, in the words of program files, with what follows each.
    pub answers: Vec<(String, Step)>,
    /// What asking on costs at most, this question included.
    pub at_most: u32,
}

/// A place in the tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// Nothing more that can be asked would change the answer: the verdicts left.
    Done(BTreeSet<Verdict>),
    /// Ask.
    Ask(Box<Question>),
    /// The tree was cut here: verdicts left.
    Cut(BTreeSet<Verdict>),
}

/// A tree of questions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tree {
    /// Where it begins.
    pub root: Step,
    /// Whether no other tree has a smaller greatest cost.
    pub is_best: bool,
}

/// The tree of questions for a vehicle.
///
/// # Errors
/// Where a diagram outgrows its budget, or no vehicle agrees with what is given.
pub fn ask(flat: &Flat, given: &Given) -> Result<Tree, Error> {
    let mut compiled = Compiled::of(&[(flat, given)], BUDGET)?;
    let Some(Nodes { ruled, .. }) = compiled.first().cloned() else {
        return Err(Error::Contradiction);
    };
    let mut asking =
        Asking { flat, given, compiled: &mut compiled, best: BTreeMap::new(), looked_at: 0, places: 0, cut: false };
    let root = asking.step(ruled)?;
    let is_best = !asking.cut;
    Ok(Tree { root, is_best })
}

fn at_most(step: &Step) -> u32 {
    match step {
        Step::Ask(question) => question.at_most,
        Step::Done(_) | Step::Cut(_) => 0,
    }
}

struct Asking<'a> {
    flat: &'a Flat,
    given: &'a Given,
    compiled: &'a mut Compiled,
    /// For a residual: the least greatest cost, and the level to ask.
    best: BTreeMap<Node, (u32, Option<usize>)>,
    looked_at: usize,
    places: usize,
    cut: bool,
}

impl Asking<'_> {
    fn step(&mut self, node: Node) -> Result<Step, TooLarge> {
        self.places += 1;
        let (_, level) = self.least(node)?;
        let verdicts = self.verdicts(node);
        let Some(level) = level else {
            return Ok(Step::Done(verdicts));
        };
        if self.places > MOST_PLACES {
            self.cut = true;
            return Ok(Step::Cut(verdicts));
        }
        let mut answers: Vec<(BTreeSet<usize>, Node)> = Vec::new();
        for (class, below) in self.answers(node, level)? {
            match answers.iter_mut().find(|(_, same)| *same == below) {
                Some((classes, _)) => {
                    classes.insert(class);
                }
                None => answers.push((BTreeSet::from([class]), below)),
            }
        }
        let mut told = Vec::new();
        for (classes, below) in answers {
            let words = describe(&self.compiled.compiler.space, level, &classes);
            told.push((words, self.step(below)?));
        }
        let Some(fact) = self.fact(level) else {
            return Ok(Step::Done(verdicts));
        };
        let cost = self.cost(level);
        let dearest = told.iter().map(|(_, step)| at_most(step)).max().unwrap_or(0);
        Ok(Step::Ask(Box::new(Question { fact, cost, answers: told, at_most: cost.saturating_add(dearest) })))
    }

    fn verdicts(&self, node: Node) -> BTreeSet<Verdict> {
        self.compiled.compiler.forest.reach(node).into_iter().filter_map(verdict_of).collect()
    }

    /// Answers that some vehicle can give, with what is left after each.
    fn answers(&mut self, node: Node, level: usize) -> Result<Vec<(usize, Node)>, TooLarge> {
        let mut answers = Vec::new();
        for class in 0..self.compiled.compiler.forest.children_width(level) {
            let below = self.compiled.compiler.forest.fix(node, &BTreeMap::from([(level, class)]))?;
            if below != Node::terminal(NOBODY) {
                answers.push((class, below));
            }
        }
        Ok(answers)
    }

    /// The least that the dearest way to the end costs, and the level to ask first.
    fn least(&mut self, node: Node) -> Result<(u32, Option<usize>), TooLarge> {
        if let Some(known) = self.best.get(&node) {
            return Ok(*known);
        }
        let levels = if self.verdicts(node).len() > 1 { self.open(node) } else { Vec::new() };
        if levels.is_empty() {
            self.best.insert(node, (0, None));
            return Ok((0, None));
        }
        self.looked_at += 1;
        if self.looked_at > MOST_RESIDUALS {
            self.cut = true;
            return self.quick(node, &levels);
        }
        let mut best = (u32::MAX, None);
        for level in levels {
            let own = self.cost(level);
            let mut dearest = 0;
            for (_, below) in self.answers(node, level)? {
                let limit = best.0.saturating_sub(own);
                if dearest >= limit {
                    break;
                }
                dearest = dearest.max(self.least(below)?.0);
            }
            let whole = own.saturating_add(dearest);
            if whole < best.0 {
                best = (whole, Some(level));
            }
        }
        self.best.insert(node, best);
        Ok(best)
    }

    /// A good level where there is no room for the best: the one whose answers leave the fewest verdicts and nodes.
    fn quick(&mut self, node: Node, levels: &[usize]) -> Result<(u32, Option<usize>), TooLarge> {
        let mut best: Option<((usize, u32, usize), usize)> = None;
        for level in levels {
            let (mut verdicts, mut size) = (0, 0);
            for (_, below) in self.answers(node, *level)? {
                verdicts += self.verdicts(below).len().saturating_sub(1);
                size += self.compiled.compiler.forest.size(below);
            }
            let rank = (verdicts, self.cost(*level), size);
            if best.is_none_or(|(known, _)| rank < known) {
                best = Some((rank, *level));
            }
        }
        let level = best.map(|(_, level)| level);
        let result = (level.map_or(0, |level| self.cost(level)), level);
        self.best.insert(node, result);
        Ok(result)
    }

    /// Levels on which the residual still depends and that somebody can find out.
    fn open(&self, node: Node) -> Vec<usize> {
        let mut levels: Vec<usize> = self.compiled.compiler.forest.support(node).into_iter().collect();
        levels.retain(|level| {
            self.compiled.compiler.space.levels.get(*level).is_some_and(|level| !level.var.is_of_the_text())
        });
        levels.sort_by_key(|level| (self.cost(*level), *level));
        levels
    }

    fn fact(&self, level: usize) -> Option<FactRef<usize>> {
        let var = &self.compiled.compiler.space.levels.get(level)?.var;
        match var {
            Var::Listed => super::listed::unknown(self.given).next().map(FactRef::Known),
            Var::Declared { .. } => (0..self.flat.facts.len())
                .find(|place| Var::declared(self.flat, *place).as_ref() == Some(var))
                .map(FactRef::Declared),
            _ => var.fact().map(FactRef::Known),
        }
    }

    fn cost(&self, level: usize) -> u32 {
        match self.fact(level) {
            Some(FactRef::Known(fact)) => spec(fact).observer.cost(),
            Some(FactRef::Declared(place)) => self.flat.facts.get(place).map_or(1, |fact| fact.observer.cost()),
            None => 1,
        }
    }
}

impl Tree {
    /// How many questions the longest way has.
    #[must_use]
    pub fn depth(&self) -> usize {
        fn of(step: &Step) -> usize {
            match step {
                Step::Done(_) | Step::Cut(_) => 0,
                Step::Ask(question) => 1 + question.answers.iter().map(|(_, step)| of(step)).max().unwrap_or(0),
            }
        }
        of(&self.root)
    }
}
