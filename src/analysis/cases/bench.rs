//! A program and its mutants over one space of levels: what each answers, where the answers differ, and vehicles that
//! show it. An answer is the verdict, whether a vehicle is due, or whether one of the consequences follows. What was not
//! read (limits, parts of code groups) is no fact of a vehicle: a program then answers with a set.

use super::Vector;
use super::mutants::{Change, Mutant, Site};
use crate::diagram::compile::{Compiler, Of};
use crate::diagram::cuts::is_listed_text;
use crate::diagram::example::example;
use crate::diagram::forest::{Join, Node, TooLarge};
use crate::diagram::kernel::{Nodes, anything, terminal_of};
use crate::diagram::level::{Class, Members, Var};
use crate::diagram::space::Space;
use crate::diagram::walk::Weights;
use crate::diagram::{BUDGET, Error};
use crate::model::{Date, Fact, Value};
use crate::program::block::{Consequence, Presumed};
use crate::program::flat::Based;
use crate::program::{Condition, FactRef, Flat, Given, Test, Verdict};
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// Mutants add bounds, so that the classes are finer and the diagrams many: two limits under an open question, with
/// excuses by what was incomplete earlier, have over four hundred of them.
const NODES: usize = 48 * BUDGET;

/// The most results of operations that are kept from one mutant to the next: some 80 MB.
const RESULTS: usize = 2_000_000;

/// The name of the answer that is the verdict; others are `due` and the words of a consequence.
pub(super) const VERDICT: &str = "verdict";
const DUE: &str = "due";

/// Bits of an answer that is yes or no: it holds, it does not.
const YES: u32 = 1;
const NO: u32 = 2;

pub(super) struct Bench<'a> {
    pub(super) flat: &'a Flat,
    given: Rc<Given>,
    compiler: Compiler,
    pub(super) exist: Node,
    weights: Weights,
    nodes: Nodes,
    /// Levels that no visit can find out.
    hidden: BTreeSet<usize>,
    /// Results that many mutants share: bits with the hidden levels forgotten; where a verdict is reached.
    gathered: BTreeMap<Node, Node>,
    reached: BTreeMap<(Node, u32), Node>,
    /// What the program answers, each a set of bits at the terminals; 0 where no vehicle can exist.
    answers: BTreeMap<String, Node>,
}

impl<'a> Bench<'a> {
    pub(super) fn of(flat: &'a Flat, mutants: &[Mutant]) -> Result<Bench<'a>, Error> {
        let given = Rc::new(anything(flat)?);
        let all: Vec<Flat> = std::iter::once(flat).chain(mutants.iter().map(|it| &it.flat)).map(asking).collect();
        let all: Vec<(&Flat, &Given)> = all.iter().map(|flat| (flat, &*given)).collect();
        let space = Space::of(&all)?;
        let weights = space.weights();
        let hidden = space.levels.iter().enumerate().filter(|(_, level)| is_hidden(&level.var)).map(|(at, _)| at);
        let hidden = hidden.collect();
        let mut compiler = Compiler::new(space, NODES);
        let exist = compiler.existing()?;
        let nodes = compiler.program(flat, &given, exist)?;
        let (gathered, reached, answers) = (BTreeMap::new(), BTreeMap::new(), BTreeMap::new());
        let mut bench = Bench { flat, given, compiler, exist, weights, nodes, hidden, gathered, reached, answers };
        let nodes = bench.nodes.clone();
        bench.answers = bench.answers_of(flat, &nodes, true)?;
        Ok(bench)
    }

    /// What a program answers; of the verdict nothing, where it is the very same diagram.
    fn answers_of(&mut self, flat: &Flat, nodes: &Nodes, verdict_too: bool) -> Result<BTreeMap<String, Node>, Error> {
        let mut answers = BTreeMap::new();
        if verdict_too {
            // A ladder of more steps than there are bits cannot be answered.
            if flat.outcomes.len() > 28 {
                return Err(TooLarge { nodes: NODES }.into());
            }
            let bits = self.compiler.forest.join(Join::Bit, nodes.ruled, Node::FALSE)?;
            answers.insert(VERDICT.to_owned(), self.seen(bits)?);
        }
        let given = Rc::clone(&self.given);
        let mut of = Of::new(flat, &given);
        if flat.in_force.is_yes() && !flat.due.is_empty() {
            let mut due = Node::FALSE;
            // What is due by a time since the previous test is worked out from the date, not from facts alone.
            for rule in flat.due.iter().filter(|rule| rule.every.is_none()) {
                let node = self.compiler.condition(&mut of, &rule.condition)?;
                due = self.compiler.forest.or(due, node)?;
            }
            answers.insert(DUE.to_owned(), self.yes_or_no(due)?);
        }
        for rule in &flat.consequences {
            let condition = self.compiler.condition(&mut of, &rule.item.condition)?;
            let follows = self.follows(flat, nodes, rule, condition)?;
            let follows = self.yes_or_no(follows)?;
            // Several of one text are one answer: whether any of them follows, in some way of reading.
            let known = answers.get(&rule.item.text).copied().unwrap_or(Node::FALSE);
            let both = self.compiler.forest.join(Join::Bits, known, follows)?;
            answers.insert(rule.item.text.clone(), both);
        }
        Ok(answers)
    }

    fn follows(
        &mut self,
        flat: &Flat,
        nodes: &Nodes,
        rule: &Based<Consequence<usize>>,
        condition: Node,
    ) -> Result<Node, Error> {
        let forest = &mut self.compiler.forest;
        let after = terminal_of(Verdict::Outcome(rule.item.after));
        let mut follows = match self.reached.get(&(nodes.ruled, after)) {
            Some(node) => *node,
            None => forest.equal(nodes.ruled, after)?,
        };
        self.reached.insert((nodes.ruled, after), follows);
        follows = forest.and(follows, condition)?;
        let Some(by) = &rule.item.by else { return Ok(follows) };
        let (mut own, mut others) = (Node::FALSE, Node::FALSE);
        for (line, unmet) in flat.lines.iter().zip(&nodes.unmet) {
            let side = if line.clause == *by { &mut own } else { &mut others };
            *side = forest.or(*side, *unmet)?;
        }
        follows = forest.and(follows, own)?;
        Ok(if rule.item.alone { forest.but_not(follows, others)? } else { follows })
    }

    fn yes_or_no(&mut self, node: Node) -> Result<Node, Error> {
        let bits = self.compiler.forest.ite(node, Node::terminal(YES), Node::terminal(NO))?;
        let bits = self.compiler.forest.ite(self.exist, bits, Node::FALSE)?;
        self.seen(bits)
    }

    /// Bits with the hidden levels forgotten: every answer that some way of reading gives.
    fn seen(&mut self, bits: Node) -> Result<Node, Error> {
        if self.hidden.is_empty() {
            return Ok(bits);
        }
        if let Some(node) = self.gathered.get(&bits) {
            return Ok(*node);
        }
        let hidden = &self.hidden;
        let node = self.compiler.forest.gather(bits, |level| hidden.contains(&level))?;
        self.gathered.insert(bits, node);
        Ok(node)
    }

    /// Vehicles of which it holds whatever was not read, or in some way of it.
    fn visible(&mut self, node: Node) -> Result<Node, Error> {
        let hidden = &self.hidden;
        Ok(self.compiler.forest.forget(node, |level| hidden.contains(&level))?)
    }

    /// For each answer that a mutant changes, the vehicles on which it does.
    pub(super) fn differences(&mut self, mutant: &Mutant) -> Result<BTreeMap<String, Node>, Error> {
        if let (Change::PresumptionDropped, Site::Presumption(place)) = (&mutant.change, mutant.site) {
            let vehicles = self.presumed(place)?;
            let named = (vehicles != Node::FALSE).then(|| (VERDICT.to_owned(), vehicles));
            return Ok(named.into_iter().collect());
        }
        self.compiler.forest.drop_results_over(RESULTS);
        let nodes = self.compiler.program(&mutant.flat, &self.given, self.exist)?;
        let others = self.answers_of(&mutant.flat, &nodes, nodes.ruled != self.nodes.ruled)?;
        let mut differ = BTreeMap::new();
        let names: BTreeSet<&String> = self.answers.keys().chain(others.keys()).collect();
        for name in names {
            let same_verdict = name == VERDICT && nodes.ruled == self.nodes.ruled;
            // What a program does not say does not follow.
            let never = self.compiler.forest.ite(self.exist, Node::terminal(NO), Node::FALSE)?;
            let one = self.answers.get(name).copied().unwrap_or(never);
            let other = others.get(name).copied().unwrap_or(never);
            if same_verdict || one == other {
                continue;
            }
            let here = self.compiler.forest.join(Join::Differ, one, other)?;
            differ.insert(name.clone(), here);
        }
        Ok(differ)
    }

    /// Vehicles with the presumed value whose verdict would be another with another value: not known, the presumption
    /// settles them.
    fn presumed(&mut self, place: usize) -> Result<Node, Error> {
        let Some((level, own)) = self.presumed_class(place) else { return Ok(Node::FALSE) };
        let verdict = self.answers.get(VERDICT).copied().unwrap_or(Node::FALSE);
        let here = self.compiler.forest.literal(level, |class| class == own)?;
        let flat = self.flat;
        let wheres = flat.presumptions.get(place).map_or(Condition::always(), |it| it.condition.clone());
        let wheres = self.compiler.condition(&mut Of::new(flat, &self.given), &wheres)?;
        let here = self.compiler.forest.and(here, wheres)?;
        if let Some(Presumed::NotListed(table)) = self.flat.presumptions.get(place).map(|it| &it.value) {
            let settled = self.not_listed(table, level, own, verdict)?;
            return self.both(settled, here);
        }
        let mut found = Node::FALSE;
        for other in 0..self.compiler.forest.children_width(level) {
            let moved = self.compiler.forest.moved(verdict, level, |class| if class == own { other } else { class })?;
            let can_be = self.compiler.forest.where_value(moved, |bits| bits != 0)?;
            let differs = self.compiler.forest.join(Join::Differ, verdict, moved)?;
            let differs = self.compiler.forest.and(differs, can_be)?;
            found = self.compiler.forest.or(found, differs)?;
        }
        let found = self.compiler.forest.and(found, here)?;
        Ok(self.compiler.forest.and(found, self.exist)?)
    }

    /// Vehicles of which make, model and engine are not known and that are settled by not being in a table; not those whose
    /// verdict turns on one of these by itself too. Without its rows the table holds nobody.
    fn not_listed(&mut self, table: &str, level: usize, own: usize, verdict: Node) -> Result<Node, Error> {
        let mut bare = self.flat.clone();
        let tables = bare.tables.iter_mut().filter(|one| one.id == table);
        for row in tables.flat_map(|table| &mut table.rows) {
            let mut named = false;
            row.condition.each_test(&mut |test| {
                named |= matches!(test, Test::Text { fact, .. } if is_listed_text(*fact));
            });
            if named {
                row.condition = Condition::never();
            }
        }
        let nodes = self.compiler.program(&bare, &Rc::clone(&self.given), self.exist)?;
        let bits = self.compiler.forest.join(Join::Bit, nodes.ruled, Node::FALSE)?;
        let bits = self.seen(bits)?;
        let forest = &mut self.compiler.forest;
        let presumed = forest.gather(bits, |at| at == level)?;
        let open = forest.gather(verdict, |at| at == level)?;
        let unlisted = forest.moved(verdict, level, |_| own)?;
        let settles = forest.join(Join::Differ, presumed, open)?;
        let turns = forest.join(Join::Differ, presumed, unlisted)?;
        let settled = forest.but_not(settles, turns)?;
        self.both(settled, self.exist)
    }

    /// The level that a presumption is about, and the class that holds the presumed value.
    fn presumed_class(&self, place: usize) -> Option<(usize, usize)> {
        let presumption = self.flat.presumptions.get(place)?;
        let var = match presumption.value {
            Presumed::NotListed(_) => Var::Listed,
            _ => Var::of(self.flat, &presumption.fact)?,
        };
        let level = self.compiler.space.level(&var)?;
        let holds = |class: &Class| match (&class.members, &presumption.value) {
            (Members::Words(mask), Presumed::Word(bit)) => mask & bit != 0,
            (Members::Numbers { runs, even, .. }, Presumed::Number(number)) => {
                let in_runs = runs.iter().any(|(least, most)| (least..=most).contains(&number));
                in_runs && even.is_none_or(|even| (number % 2 == 0) == even)
            }
            (Members::Texts { named, .. }, Presumed::Text(text)) => named.contains(&text.to_lowercase()),
            (Members::Units(units), Presumed::NotListed(_)) => units.is_empty(),
            _ => false,
        };
        let others = |class: &Class| {
            matches!((&class.members, &presumption.value), (Members::Texts { others: true, .. }, Presumed::Text(_)))
        };
        let classes = &self.compiler.space.levels.get(level)?.classes;
        let class = classes.iter().position(holds).or_else(|| classes.iter().position(others))?;
        Some((level, class))
    }

    /// Vehicles of which a condition holds, and of which it does not, in some way of reading what was not read.
    pub(super) fn sides(&mut self, test: &Test<usize>) -> Result<(Node, Node), Error> {
        let asked = Condition::Test(test.clone());
        let node = self.compiler.condition(&mut Of::new(self.flat, &self.given), &asked)?;
        let opposite = self.compiler.forest.not(node)?;
        let (holds, fails) = (self.both(node, self.exist)?, self.both(opposite, self.exist)?);
        Ok((self.visible(holds)?, self.visible(fails)?))
    }

    pub(super) fn both(&mut self, one: Node, other: Node) -> Result<Node, Error> {
        Ok(self.compiler.forest.and(one, other)?)
    }

    pub(super) fn but_not(&mut self, one: Node, other: Node) -> Result<Node, Error> {
        Ok(self.compiler.forest.but_not(one, other)?)
    }

    pub(super) fn either(&mut self, one: Node, other: Node) -> Result<Node, Error> {
        Ok(self.compiler.forest.or(one, other)?)
    }

    /// Whether a vehicle is in a set.
    pub(super) fn is_in(&self, node: Node, path: &[usize]) -> bool {
        self.compiler.forest.follow(node, path) == 1
    }

    /// The bits of an answer about a vehicle.
    pub(super) fn answer(&self, name: &str, path: &[usize]) -> u32 {
        self.answers.get(name).map_or(0, |node| self.compiler.forest.follow(*node, path))
    }

    /// The plainest vehicle of a set that can exist.
    pub(super) fn plainest(&self, node: Node) -> Option<Vec<usize>> {
        self.compiler.forest.example(node, &self.weights, |value| value == 1)
    }

    /// The vehicle of a set that differs from another in the fewest facts, the plainest of these.
    pub(super) fn nearest(&self, node: Node, to: &[usize]) -> Option<Vec<usize>> {
        let near = |(level, costs): (usize, &Vec<u32>)| -> Vec<u32> {
            let own = to.get(level).copied();
            costs.iter().enumerate().map(|(class, cost)| if Some(class) == own { 0 } else { 64 + cost }).collect()
        };
        let costs = self.weights.costs.iter().enumerate().map(near).collect();
        let weights = Weights { costs, ..self.weights.clone() };
        self.compiler.forest.example(node, &weights, |value| value == 1)
    }

    /// Vehicles with the very answer that one has.
    pub(super) fn same_answer(&mut self, name: &str, path: &[usize]) -> Result<Node, Error> {
        let Some(node) = self.answers.get(name).copied() else { return Ok(self.exist) };
        let own = self.compiler.forest.follow(node, path);
        Ok(self.compiler.forest.where_value(node, |bits| bits == own)?)
    }

    /// A vehicle with everything that is asked of it and what is answered, on a day of the epoch.
    pub(super) fn vector(&self, path: Vec<usize>, day: Date, not_known: Option<usize>) -> Vector {
        let mut shown = example(&self.compiler.space, &[self.flat], &path);
        // What was not read is not assumed: the expected answers are all that it leaves.
        shown.limits.clear();
        shown.groups.clear();
        shown.snapshot.set(Fact::TestDate, Value::Date(day));
        if let Some(presumption) = not_known.and_then(|place| self.flat.presumptions.get(place)) {
            match (&presumption.value, &presumption.fact) {
                (Presumed::NotListed(_), _) => {
                    [Fact::Make, Fact::Model, Fact::Engine].iter().for_each(|fact| {
                        shown.snapshot.readings.remove(fact);
                    });
                }
                (_, FactRef::Known(fact)) => drop(shown.snapshot.readings.remove(fact)),
                (_, FactRef::Declared(at)) => {
                    if let Some(fact) = self.flat.facts.get(*at) {
                        shown.snapshot.declared.remove(&fact.name);
                    }
                }
            }
        }
        let bits = self.answer(VERDICT, &path);
        let reached = |verdict: &Verdict| bits & (1 << terminal_of(*verdict)) != 0;
        let expected = all_verdicts(self.flat).filter(reached).collect();
        let others = self.answers.keys().filter(|name| *name != VERDICT);
        let truths = |bits: u32| [(YES, true), (NO, false)].into_iter().filter(move |(bit, _)| bits & bit != 0);
        let follows = others
            .map(|name| (name.clone(), truths(self.answer(name, &path)).map(|(_, truth)| truth).collect()))
            .collect();
        Vector { example: shown, expected, follows, shows: Vec::new(), day, not_known, path }
    }

    /// Vehicles on which each line gives way, by the line that it gives way to; those not shown yet.
    pub(super) fn set_aside(&mut self, shown: &BTreeSet<String>) -> Result<Vec<(String, Node)>, Error> {
        let mut found = Vec::new();
        for (place, line) in self.flat.lines.iter().enumerate() {
            for (other, under) in &line.gives_way {
                let by = self.flat.lines.get(*other).map_or("", |line| line.clause.as_str());
                let what = format!("clause {} gives way to {by}", line.clause);
                if shown.contains(&what) {
                    continue;
                }
                let own = |nodes: &[Node], place: usize| nodes.get(place).copied().unwrap_or(Node::FALSE);
                let (unmet, stands) = (own(&self.nodes.unmet, place), own(&self.nodes.standing, *other));
                let under = self.compiler.condition(&mut Of::new(self.flat, &self.given), under)?;
                let aside = self.both(unmet, stands)?;
                let aside = self.both(aside, under)?;
                let aside = self.both(aside, self.exist)?;
                let aside = self.visible(aside)?;
                if aside != Node::FALSE {
                    found.push((what, aside));
                }
            }
        }
        Ok(found)
    }

    /// Vehicles of each verdict that is reached; those not shown yet.
    pub(super) fn verdicts(&mut self, shown: &BTreeSet<String>) -> Result<Vec<(String, Node)>, Error> {
        let mut found = Vec::new();
        let answer = self.answers.get(VERDICT).copied().unwrap_or(Node::FALSE);
        for verdict in all_verdicts(self.flat) {
            let what = format!("verdict {}", verdict.name(self.flat));
            if shown.contains(&what) {
                continue;
            }
            let node = self.compiler.forest.where_value(answer, |bits| bits & (1 << terminal_of(verdict)) != 0)?;
            if node != Node::FALSE {
                found.push((what, node));
            }
        }
        Ok(found)
    }
}

/// A program that also asks, as covering blocks, what only matters to what follows a verdict.
fn asking(flat: &Flat) -> Flat {
    let mut asking = flat.clone();
    asking.covers.extend(flat.due.iter().map(|rule| Based {
        item: rule.condition.clone(),
        basis: Vec::new(),
        origin: rule.origin.clone(),
    }));
    let of_consequence = |rule: &Based<Consequence<usize>>| Based {
        item: rule.item.condition.clone(),
        basis: Vec::new(),
        origin: rule.origin.clone(),
    };
    asking.covers.extend(flat.consequences.iter().map(of_consequence));
    asking
}

fn is_hidden(var: &Var) -> bool {
    matches!(var, Var::UnreadLimit { .. } | Var::UnreadCodes(_))
}

fn all_verdicts(flat: &Flat) -> impl Iterator<Item = Verdict> + use<> {
    std::iter::once(Verdict::NotSubject).chain((0..flat.outcomes.len()).map(Verdict::Outcome))
}
