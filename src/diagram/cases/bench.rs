//! A program and its mutants over one space of levels: what each means, where it differs, and vehicles that show it.
//! What was not read (limits, parts of code groups) is no fact of a vehicle: a program then means a set of verdicts.

use super::mutants::Mutant;
use super::{Pair, Vector, Vectors};
use crate::diagram::compile::{Compiler, Of};
use crate::diagram::example::example;
use crate::diagram::forest::{Join, Node};
use crate::diagram::kernel::{Nodes, anything, terminal_of, verdict_of};
use crate::diagram::level::Var;
use crate::diagram::space::Space;
use crate::diagram::walk::Weights;
use crate::diagram::{BUDGET, Error};
use crate::program::{Condition, Flat, Given, Test, Verdict};
use std::collections::BTreeSet;

/// Mutants add bounds, so that the classes are finer and the diagrams many.
const NODES: usize = 16 * BUDGET;

pub(super) struct Bench<'a> {
    flat: &'a Flat,
    given: Given,
    compiler: Compiler,
    exist: Node,
    weights: Weights,
    nodes: Nodes,
    /// Levels that no visit can find out.
    hidden: BTreeSet<usize>,
    /// The meaning of the program: its verdicts, or where levels are hidden one diagram for each verdict.
    meaning: Vec<Node>,
}

impl<'a> Bench<'a> {
    pub(super) fn of(flat: &'a Flat, mutants: &[Mutant]) -> Result<Bench<'a>, Error> {
        let given = anything(flat)?;
        let all: Vec<(&Flat, &Given)> =
            std::iter::once(flat).chain(mutants.iter().map(|it| &it.flat)).map(|flat| (flat, &given)).collect();
        let space = Space::of(&all)?;
        let weights = space.weights();
        let hidden = space.levels.iter().enumerate().filter(|(_, level)| is_hidden(&level.var)).map(|(at, _)| at);
        let hidden = hidden.collect();
        let mut compiler = Compiler::new(space, NODES);
        let exist = compiler.existing()?;
        let nodes = compiler.program(flat, &given, exist)?;
        let mut bench = Bench { flat, given, compiler, exist, weights, nodes, hidden, meaning: Vec::new() };
        bench.meaning = bench.meaning(bench.nodes.ruled)?;
        Ok(bench)
    }

    fn meaning(&mut self, ruled: Node) -> Result<Vec<Node>, Error> {
        if self.hidden.is_empty() {
            return Ok(vec![ruled]);
        }
        let mut meaning = Vec::new();
        for verdict in all_verdicts(self.flat) {
            let here = self.compiler.forest.where_value(ruled, |value| value == terminal_of(verdict))?;
            meaning.push(self.visible(here)?);
        }
        Ok(meaning)
    }

    /// Vehicles of which it holds whatever was not read, or in some way of it.
    fn visible(&mut self, node: Node) -> Result<Node, Error> {
        let hidden = &self.hidden;
        Ok(self.compiler.forest.forget(node, |level| hidden.contains(&level))?)
    }

    /// The vehicles on which another program rules otherwise.
    pub(super) fn difference(&mut self, other: &Flat) -> Result<Node, Error> {
        let nodes = self.compiler.program(other, &self.given, self.exist)?;
        let other = self.meaning(nodes.ruled)?;
        let mut differs = Node::FALSE;
        for (one, other) in self.meaning.clone().into_iter().zip(other) {
            if one != other {
                let both = self.compiler.forest.join(Join::Pair, one, other)?;
                let here = self.compiler.forest.where_value(both, |value| value / 1024 != value % 1024)?;
                differs = self.compiler.forest.or(differs, here)?;
            }
        }
        Ok(differs)
    }

    /// Whether a vehicle is in a set.
    pub(super) fn is_in(&self, node: Node, path: &[usize]) -> bool {
        self.compiler.forest.follow(node, path) == 1
    }

    /// The plainest vehicle of a set that can exist.
    pub(super) fn plainest(&self, node: Node) -> Option<Vec<usize>> {
        self.compiler.forest.example(node, &self.weights, |value| value == 1)
    }

    /// The vehicle of a set that differs from another in the fewest facts, the plainest of these.
    fn nearest(&self, node: Node, to: &[usize]) -> Option<Vec<usize>> {
        let near = |(level, costs): (usize, &Vec<u32>)| -> Vec<u32> {
            let own = to.get(level).copied();
            costs.iter().enumerate().map(|(class, cost)| if Some(class) == own { 0 } else { 64 + cost }).collect()
        };
        let costs = self.weights.costs.iter().enumerate().map(near).collect();
        let weights = Weights { costs, ..self.weights.clone() };
        self.compiler.forest.example(node, &weights, |value| value == 1)
    }

    /// Vehicles with the very verdicts that one has.
    fn same_verdicts(&mut self, path: &[usize]) -> Result<Node, Error> {
        let mut same = self.exist;
        for node in self.meaning.clone() {
            let value = self.compiler.forest.follow(node, path);
            let here = self.compiler.forest.where_value(node, |terminal| terminal == value)?;
            same = self.compiler.forest.and(same, here)?;
        }
        Ok(same)
    }

    /// Adds a pair for a condition, of vectors there are where they will do.
    pub(super) fn pair(
        &mut self,
        set: &mut Vectors,
        condition: String,
        facts: Vec<String>,
        test: &Test<usize>,
        differs: Node,
    ) -> Result<(), Error> {
        let (flat, asked) = (self.flat, Condition::Test(test.clone()));
        let node = self.compiler.condition(&mut Of::new(flat, &self.given), &asked)?;
        let opposite = self.compiler.forest.not(node)?;
        let (holds, fails) = (self.visible(node)?, self.visible(opposite)?);
        let differs = self.compiler.forest.and(differs, self.exist)?;
        let holds = self.compiler.forest.and(differs, holds)?;
        let fails = self.compiler.forest.and(differs, fails)?;
        let side = |set: &Vectors, bench: &Self, node: Node| -> Vec<usize> {
            (0..set.vectors.len())
                .filter(|at| set.vectors.get(*at).is_some_and(|it| bench.is_in(node, &it.path)))
                .collect()
        };
        let (ones, others) = (side(set, self, holds), side(set, self, fails));
        let expected = |at: usize| set.vectors.get(at).map(|it| &it.expected);
        let known = ones.iter().flat_map(|one| others.iter().map(move |other| (*one, *other)));
        let known = known.into_iter().find(|(one, other)| expected(*one) != expected(*other));
        let pair = match known {
            Some(pair) => Some(pair),
            None => self.new_pair(set, (holds, fails), (&ones, &others))?,
        };
        let Some((holds, fails)) = pair else {
            set.one_sided.push(condition);
            return Ok(());
        };
        for (at, word) in [(holds, "holds"), (fails, "does not hold")] {
            if let Some(vector) = set.vectors.get_mut(at) {
                vector.shows.push(format!("{condition} {word}"));
            }
        }
        set.pairs.push(Pair { condition, test: test.clone(), facts, holds, fails });
        Ok(())
    }

    fn new_pair(
        &mut self,
        set: &mut Vectors,
        (holds, fails): (Node, Node),
        (ones, others): (&[usize], &[usize]),
    ) -> Result<Option<(usize, usize)>, Error> {
        let path = |set: &Vectors, at: usize| set.vectors.get(at).map(|it| it.path.clone()).unwrap_or_default();
        for one in ones {
            if let Some(other) = self.across(&path(set, *one), fails)? {
                return Ok(Some((*one, self.add(set, other)?)));
            }
        }
        for other in others {
            if let Some(one) = self.across(&path(set, *other), holds)? {
                return Ok(Some((self.add(set, one)?, *other)));
            }
        }
        let mut rest = holds;
        while let Some(one) = self.plainest(rest) {
            if let Some(other) = self.across(&one, fails)? {
                return Ok(Some((self.add(set, one)?, self.add(set, other)?)));
            }
            let same = self.same_verdicts(&one)?;
            rest = self.compiler.forest.but_not(rest, same)?;
        }
        Ok(None)
    }

    /// The nearest vehicle of the other side that has other verdicts.
    fn across(&mut self, from: &[usize], other_side: Node) -> Result<Option<Vec<usize>>, Error> {
        let same = self.same_verdicts(from)?;
        let other = self.compiler.forest.but_not(other_side, same)?;
        Ok(self.nearest(other, from))
    }

    /// Adds a vehicle; its place.
    pub(super) fn add(&mut self, set: &mut Vectors, path: Vec<usize>) -> Result<usize, Error> {
        if let Some(known) = set.vectors.iter().position(|it| it.path == path) {
            return Ok(known);
        }
        let mut shown = example(&self.compiler.space, &[self.flat], &path);
        // What was not read is not assumed: the expected verdicts are all that it leaves.
        shown.limits.clear();
        shown.groups.clear();
        let expected = match self.meaning.as_slice() {
            [ruled] if self.hidden.is_empty() => {
                verdict_of(self.compiler.forest.follow(*ruled, &path)).into_iter().collect()
            }
            each => {
                let reached = |(_, node): &(Verdict, &Node)| self.is_in(**node, &path);
                all_verdicts(self.flat).zip(each).filter(reached).map(|(verdict, _)| verdict).collect()
            }
        };
        set.vectors.push(Vector { example: shown, expected, shows: Vec::new(), path });
        Ok(set.vectors.len() - 1)
    }

    /// Vehicles on which each line that can be set aside is set aside.
    pub(super) fn set_aside(&mut self) -> Result<Vec<(String, Node)>, Error> {
        let mut found = Vec::new();
        let lines = self.flat.lines.iter().zip(self.nodes.unmet.clone()).zip(self.nodes.standing.clone());
        for ((line, unmet), standing) in lines {
            let aside = self.compiler.forest.but_not(unmet, standing)?;
            let aside = self.compiler.forest.and(aside, self.exist)?;
            let aside = self.visible(aside)?;
            if aside != Node::FALSE {
                found.push((format!("clause {} set aside", line.clause), aside));
            }
        }
        Ok(found)
    }

    /// Vehicles of each verdict that is reached.
    pub(super) fn verdicts(&mut self) -> Result<Vec<(Verdict, Node)>, Error> {
        let mut found = Vec::new();
        for verdict in all_verdicts(self.flat) {
            let node = self.compiler.forest.where_value(self.nodes.ruled, |value| value == terminal_of(verdict))?;
            let node = self.visible(node)?;
            if node != Node::FALSE {
                found.push((verdict, node));
            }
        }
        Ok(found)
    }
}

fn is_hidden(var: &Var) -> bool {
    matches!(var, Var::UnreadLimit { .. } | Var::UnreadCodes(_))
}

fn all_verdicts(flat: &Flat) -> impl Iterator<Item = Verdict> + use<> {
    std::iter::once(Verdict::NotSubject).chain((0..flat.outcomes.len()).map(Verdict::Outcome))
}
