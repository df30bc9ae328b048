//! The search for cheapest plans: exact, over sets of vehicles. A frame fixes the repairs and the numbers to drive to;
//! within it the monitors to drive for are chosen along the diagram, all vehicles at once: what is left of the diagram at
//! a level is a set of nodes, the choice at the level is one for all of them, and sets met before cost nothing.

use super::actions::{RISING, completed};
use super::case::Case;
use super::{Action, Plan};
use crate::diagram::forest::{Forest, Node};
use crate::diagram::kernel::{Compiled, NOBODY, Nodes, verdict_of};
use crate::diagram::level::{Members, Var};
use crate::diagram::numbers::Lattice;
use crate::model::facts::Possible;
use crate::model::{Fact, Monitor};
use crate::program::{Class, Flat, Given, Verdict};
use std::collections::BTreeMap;

/// What the cheapest sets of drives cost, and the sets.
type Driven = (u64, Vec<Vec<Action>>);

/// The most sets of nodes that one frame may meet.
const MOST_SETS: usize = 60_000;
/// The most plans of one cost that are told apart.
const MOST_PLANS: usize = 24;
/// The most frames that are looked at.
const MOST_FRAMES: usize = 4_000;

/// What a plan has to bring every vehicle to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Accept {
    /// The goal, or no test at all.
    Goal,
    /// The goal, another test, or no test at all.
    OrElsewhere,
}

/// The search stopped at its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stopped;

pub(super) struct Search<'a> {
    pub(super) flat: &'a Flat,
    pub(super) compiled: &'a Compiled,
    pub(super) nodes: &'a Nodes,
    pub(super) goal: Class,
    pub(super) advice: &'a dyn Fn(Monitor) -> Option<(i64, i64)>,
}

/// Repairs, and numbers to drive to, with the vehicles after them.
struct Frame {
    before: Vec<Action>,
    after: Vec<Action>,
    case: Case,
    cost: u64,
    drives: bool,
}

impl Search<'_> {
    pub(super) fn is_fine(&self, verdict: Verdict) -> bool {
        verdict.class(self.flat) <= self.goal
    }

    pub(super) fn is_accepted(&self, verdict: Verdict, accept: Accept) -> bool {
        let class = verdict.class(self.flat);
        class <= self.goal
            || verdict == Verdict::NotSubject
            || (accept == Accept::OrElsewhere && class == Class::OtherTest)
    }

    /// The verdicts that vehicles get.
    pub(super) fn verdicts(&self, case: &Case) -> Vec<Verdict> {
        case.reach(self.compiled, self.flat, self.nodes).into_iter().filter_map(verdict_of).collect()
    }

    /// Whether every vehicle gets an accepted verdict.
    pub(super) fn reached(&self, case: &Case, accept: Accept) -> bool {
        let verdicts = self.verdicts(case);
        !verdicts.is_empty() && verdicts.iter().all(|verdict| self.is_accepted(*verdict, accept))
    }

    /// The drives for monitors that some vehicle may need, the quickest first.
    pub(super) fn drives(&self, given: &Given) -> Vec<Action> {
        let uses = |fact: Fact| self.compiled.compiler.space.level(&Var::Known(fact)).is_some();
        let all = Monitor::all().filter(|monitor| uses(Fact::Monitor(*monitor))).map(Action::DriveUntilComplete);
        let mut drives: Vec<Action> = all.filter(|drive| drive.is_open(given)).collect();
        drives.sort_by_key(|drive| drive.cost(given, self.advice));
        drives
    }

    /// Every set of repairs that is open, in the order of the table.
    fn repairs(&self, case: &Case) -> Vec<(Vec<Action>, Case, u64)> {
        let mut sets = vec![(Vec::new(), case.clone(), 0u64)];
        for repair in Action::REPAIRS {
            for place in 0..sets.len() {
                let Some((steps, state, cost)) = sets.get(place).cloned() else { continue };
                if repair.is_open(&state.given) {
                    let with = [steps, vec![repair]].concat();
                    let cost = cost.saturating_add(repair.cost(&state.given, self.advice));
                    sets.push((with, state.after(&[repair]), cost));
                }
            }
        }
        sets
    }

    /// Numbers that a program asks of what rises in driving.
    fn thresholds(&self, fact: Fact) -> Vec<i64> {
        let space = &self.compiled.compiler.space;
        let Some(level) = space.level(&Var::Known(fact)).and_then(|level| space.levels.get(level)) else {
            return Vec::new();
        };
        let lattice = Lattice::of(fact);
        let runs = level.classes.iter().flat_map(|class| match &class.members {
            Members::Numbers { runs, .. } => runs.clone(),
            _ => Vec::new(),
        });
        let mut numbers: Vec<i64> = runs.map(|(least, _)| lattice.at_or_above(least)).collect();
        numbers.sort_unstable();
        numbers.dedup();
        numbers
    }

    /// Every frame, the cheapest first.
    fn frames(&self, case: &Case) -> Result<Vec<Frame>, Stopped> {
        let mut frames = Vec::new();
        for (before, state, cost) in self.repairs(case) {
            let mut driven = vec![(Vec::new(), state.clone(), cost)];
            for fact in RISING {
                for place in 0..driven.len() {
                    let Some((after, state, cost)) = driven.get(place).cloned() else { continue };
                    for number in self.thresholds(fact) {
                        let drive = Action::DriveUntil(fact, number);
                        if drive.is_open(&state.given) {
                            let cost = cost.saturating_add(drive.cost(&state.given, self.advice));
                            driven.push(([after.clone(), vec![drive]].concat(), state.after(&[drive]), cost));
                        }
                    }
                }
                if driven.len() + frames.len() > MOST_FRAMES {
                    return Err(Stopped);
                }
            }
            frames.push(Frame { before: before.clone(), after: Vec::new(), case: state, cost, drives: false });
            for (after, state, cost) in driven {
                let state = if after.is_empty() { rolled(&state) } else { state };
                frames.push(Frame { before: before.clone(), after, case: state, cost, drives: true });
            }
        }
        frames.sort_by_key(|frame| (frame.cost, frame.drives, frame.before.len()));
        Ok(frames)
    }

    /// Every cheapest plan that brings every vehicle to what is accepted; none where there is no such plan.
    pub(super) fn cheapest(&self, case: &Case, accept: Accept) -> Result<Vec<Plan>, Stopped> {
        let mut best: Option<u64> = None;
        let mut plans: Vec<Plan> = Vec::new();
        for frame in self.frames(case)? {
            if best.is_some_and(|best| frame.cost > best) {
                break;
            }
            let found = match frame.drives {
                false if self.reached(&frame.case, accept) => Some((0, vec![Vec::new()])),
                false => None,
                true => self.driven(&frame, accept)?,
            };
            let Some((cost, sets)) = found else { continue };
            let cost = cost.saturating_add(frame.cost);
            if best.is_none_or(|best| cost < best) {
                best = Some(cost);
                plans.clear();
            }
            if best != Some(cost) {
                continue;
            }
            for drives in sets {
                let steps = [frame.before.clone(), drives, frame.after.clone()].concat();
                if plans.len() < MOST_PLANS && !plans.iter().any(|plan| plan.steps == steps) {
                    plans.push(Plan { steps, cost, choice: Vec::new() });
                }
            }
        }
        plans.sort_by(|a, b| a.steps.len().cmp(&b.steps.len()).then_with(|| a.steps.cmp(&b.steps)));
        Ok(plans)
    }

    /// The cheapest sets of drives within a frame.
    fn driven(&self, frame: &Frame, accept: Accept) -> Result<Option<Driven>, Stopped> {
        let mut choice = Choice::new(self, &frame.case, accept);
        let start = choice.normal(vec![self.nodes.ruled]);
        let Some(start) = start else { return Ok(None) };
        let Some(cost) = choice.least(&start)? else { return Ok(None) };
        let mut sets = Vec::new();
        choice.sets(&start, &mut Vec::new(), &mut sets);
        // Only a number to drive to, or a drive, makes a frame of driving.
        sets.retain(|set: &Vec<Action>| !set.is_empty() || !frame.after.is_empty());
        let order = self.drives(&frame.case.given);
        for set in &mut sets {
            set.sort_by_key(|drive| order.iter().position(|other| other == drive));
        }
        Ok((!sets.is_empty()).then_some((cost, sets)))
    }

    /// The least that leads any one vehicle to the goal: no plan for the others, but what none of them can do without
    /// costs at least as much.
    pub(super) fn least_for_any(&self, case: &Case) -> Result<Option<Plan>, Stopped> {
        let mut best: Option<Plan> = None;
        for frame in self.frames(case)? {
            if best.as_ref().is_some_and(|best| frame.cost >= best.cost) {
                break;
            }
            let mut choice = Choice::new(self, &frame.case, Accept::Goal);
            if !frame.drives {
                choice.drives.clear();
            }
            let Some((cost, mut drives)) = choice.shortest() else { continue };
            let cost = cost.saturating_add(frame.cost);
            if best.as_ref().is_none_or(|best| cost < best.cost) {
                let order = self.drives(&frame.case.given);
                drives.sort_by_key(|drive| order.iter().position(|other| other == drive));
                let steps = [frame.before, drives, frame.after].concat();
                best = Some(Plan { steps, cost, choice: Vec::new() });
            }
        }
        Ok(best)
    }
}

/// The vehicles once they were driven, however far: every number since clearing may have risen.
fn rolled(case: &Case) -> Case {
    let mut rolled = case.clone();
    super::actions::rolled(&mut rolled.given);
    rolled
}

/// The classes of a level that are left once a monitor was driven for.
#[derive(Debug, Clone)]
struct Drive {
    action: Action,
    cost: u64,
    left: Vec<bool>,
}

/// Choosing drives along a diagram.
struct Choice<'a> {
    search: &'a Search<'a>,
    forest: &'a Forest,
    accept: Accept,
    allowed: Vec<Vec<bool>>,
    drives: BTreeMap<usize, Drive>,
    known: BTreeMap<Vec<Node>, Option<u64>>,
}

impl<'a> Choice<'a> {
    fn new(search: &'a Search<'a>, case: &Case, accept: Accept) -> Choice<'a> {
        let space = &search.compiled.compiler.space;
        let mut drives = BTreeMap::new();
        for action in search.drives(&case.given) {
            let Action::DriveUntilComplete(monitor) = action else { continue };
            let fact = Fact::Monitor(monitor);
            let (Some(level), Possible::Words(mask)) = (space.level(&Var::Known(fact)), case.given.facts.get(fact))
            else {
                continue;
            };
            let classes = space.levels.get(level).map_or(&[][..], |level| level.classes.as_slice());
            let after = completed(*mask);
            let left = classes.iter().map(|class| matches!(class.members, Members::Words(words) if words & after != 0));
            let cost = action.cost(&case.given, search.advice);
            drives.insert(level, Drive { action, cost, left: left.collect() });
        }
        let allowed = case.allowed(search.compiled, search.flat);
        Choice { search, forest: &search.compiled.compiler.forest, accept, allowed, drives, known: BTreeMap::new() }
    }

    /// A set of nodes without those that are done; `None` where a verdict is not accepted.
    fn normal(&self, mut nodes: Vec<Node>) -> Option<Vec<Node>> {
        nodes.sort_unstable();
        nodes.dedup();
        let mut open = Vec::with_capacity(nodes.len());
        for node in nodes {
            match node.value() {
                None => open.push(node),
                Some(NOBODY) => {}
                Some(value) => {
                    let verdict = verdict_of(value)?;
                    if !self.search.is_accepted(verdict, self.accept) {
                        return None;
                    }
                }
            }
        }
        Some(open)
    }

    /// The set after the uppermost level, with some classes of it left; `None` where a verdict is not accepted.
    fn below(&self, nodes: &[Node], level: usize, left: &[bool]) -> Option<Vec<Node>> {
        let mut next = Vec::with_capacity(nodes.len() * 2);
        for node in nodes {
            if self.forest.level(*node) == level {
                let children = self.forest.children(*node).iter().zip(left);
                next.extend(children.filter(|(_, left)| **left).map(|(child, _)| *child));
            } else {
                next.push(*node);
            }
        }
        self.normal(next)
    }

    fn top(&self, nodes: &[Node]) -> Option<usize> {
        nodes.iter().map(|node| self.forest.level(*node)).min()
    }

    /// The choices at the uppermost level of a set: what each costs, where it leads.
    fn choices(&self, nodes: &[Node]) -> Vec<(Option<&Drive>, Vec<Node>)> {
        let Some(level) = self.top(nodes) else { return Vec::new() };
        let stay = self.allowed.get(level).and_then(|left| self.below(nodes, level, left));
        let drive = self.drives.get(&level);
        let driven = drive.and_then(|drive| Some((Some(drive), self.below(nodes, level, &drive.left)?)));
        stay.map(|nodes| (None, nodes)).into_iter().chain(driven).collect()
    }

    /// The least that drives cost from a set of nodes on; `None` where no drives do.
    fn least(&mut self, nodes: &[Node]) -> Result<Option<u64>, Stopped> {
        if nodes.is_empty() {
            return Ok(Some(0));
        }
        if let Some(known) = self.known.get(nodes) {
            return Ok(*known);
        }
        if self.known.len() > MOST_SETS {
            return Err(Stopped);
        }
        let choices: Vec<(u64, Vec<Node>)> =
            self.choices(nodes).into_iter().map(|(drive, next)| (drive.map_or(0, |it| it.cost), next)).collect();
        let mut best: Option<u64> = None;
        for (cost, next) in choices {
            if let Some(below) = self.least(&next)? {
                let whole = below.saturating_add(cost);
                best = Some(best.map_or(whole, |best| best.min(whole)));
            }
        }
        self.known.insert(nodes.to_vec(), best);
        Ok(best)
    }

    /// Every set of drives of the least cost, up to a number.
    fn sets(&self, nodes: &[Node], chosen: &mut Vec<Action>, found: &mut Vec<Vec<Action>>) {
        if found.len() >= MOST_PLANS {
            return;
        }
        if nodes.is_empty() {
            found.push(chosen.clone());
            return;
        }
        let Some(Some(cost)) = self.known.get(nodes).copied() else { return };
        for (drive, next) in self.choices(nodes) {
            let below = if next.is_empty() { Some(0) } else { self.known.get(&next).copied().flatten() };
            if below.map(|below| below.saturating_add(drive.map_or(0, |it| it.cost))) != Some(cost) {
                continue;
            }
            chosen.extend(drive.map(|drive| drive.action));
            self.sets(&next, chosen, found);
            if drive.is_some() {
                chosen.pop();
            }
        }
    }

    /// The cheapest way along the diagram to the goal, for whichever vehicle has it.
    fn shortest(&self) -> Option<(u64, Vec<Action>)> {
        let mut known: BTreeMap<Node, Option<(u64, Vec<Action>)>> = BTreeMap::new();
        self.shortest_from(self.search.nodes.ruled, &mut known)
    }

    fn shortest_from(
        &self,
        node: Node,
        known: &mut BTreeMap<Node, Option<(u64, Vec<Action>)>>,
    ) -> Option<(u64, Vec<Action>)> {
        if let Some(value) = node.value() {
            let fine = verdict_of(value).is_some_and(|verdict| self.search.is_fine(verdict));
            return fine.then(|| (0, Vec::new()));
        }
        if let Some(found) = known.get(&node) {
            return found.clone();
        }
        let level = self.forest.level(node);
        let mut best: Option<(u64, Vec<Action>)> = None;
        let drive = self.drives.get(&level);
        let ways = [(None, self.allowed.get(level)), (drive, drive.map(|drive| &drive.left))];
        for (drive, left) in ways {
            let Some(left) = left else { continue };
            for (child, _) in self.forest.children(node).iter().zip(left).filter(|(_, left)| **left) {
                let Some((below, mut steps)) = self.shortest_from(*child, known) else { continue };
                let cost = below.saturating_add(drive.map_or(0, |it| it.cost));
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    steps.extend(drive.map(|it| it.action));
                    best = Some((cost, steps));
                }
            }
        }
        known.insert(node, best.clone());
        best
    }
}
