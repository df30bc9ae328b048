//! The least that leads to a pass: every cheapest plan over the fixed table of [`actions`], found by exact search in the
//! order of cost. Another date, place or visit is never a plan, and where nothing in the table helps the answer says so.

pub mod actions;
mod simulate;

pub use actions::Action;
pub use simulate::simulate;

use super::allowed::verdicts;
use super::exact::Exact;
use super::kernel::{Compiled, Nodes};
use super::level::{Members, Var};
use super::{BUDGET, Error};
use crate::model::{Fact, Facts, Monitor};
use crate::program::{Class, FactRef, Flat, Given};
use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap};

/// The most plans that are looked at.
const MOST_TRIALS: usize = 200_000;

/// The most plans for which it is looked at which other monitors would do, and the most monitors to choose from.
const MOST_CHOICES: usize = 8;
const MOST_TO_CHOOSE_FROM: usize = 10;

/// One plan: repairs first, then drives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// What to do, in order.
    pub steps: Vec<Action>,
    /// What it costs, in minutes that only rank plans.
    pub cost: u64,
    /// Where any as many of these monitors would do as the plan completes: all of them, the quickest first. Else empty.
    pub choice: Vec<Monitor>,
}

/// What leads to a pass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Next {
    /// The vehicle has that class already.
    Already,
    /// Some facts must be known first: they decide the verdict now.
    FactsMissing,
    /// Every cheapest plan.
    Plans(Vec<Plan>),
    /// The verdict is settled now, but whether anything leads there turns on facts that are not known: these first.
    FactsFirst(Vec<FactRef<usize>>),
    /// Nothing that the table holds leads there, whatever is not known.
    NoPlan,
    /// The search stopped at its limit without an answer.
    TooMany,
}

/// The cheapest plans to a class, or to one less grave.
///
/// # Errors
/// Where a diagram outgrows its budget, or no vehicle agrees with what is given.
pub fn next(
    flat: &Flat,
    given: &Given,
    goal: Class,
    advice: &dyn Fn(Monitor) -> Option<(i64, i64)>,
) -> Result<Next, Error> {
    let open = opened(given);
    let compiled = Compiled::of(&[(flat, &open)], BUDGET)?;
    let Some(nodes) = compiled.first().cloned() else {
        return Err(Error::Contradiction);
    };
    let search = Search { flat, compiled: &compiled, nodes: &nodes, goal };
    let now = verdicts(&compiled, &nodes, flat, given);
    if now.is_empty() {
        return Err(Error::Contradiction);
    }
    if search.reached(given) {
        return Ok(Next::Already);
    }
    let classes: BTreeSet<Class> = now.iter().map(|verdict| verdict.class(flat)).collect();
    if classes.len() > 1 {
        return Ok(Next::FactsMissing);
    }
    match search.cheapest(given, advice) {
        Next::NoPlan => search.facts_first(given),
        found => Ok(found),
    }
}

/// What is given with every fact that an action can change opened, so that one compiled program serves all states.
fn opened(given: &Given) -> Given {
    let whole = Facts::unknown();
    let mut open = given.clone();
    let words = [
        Fact::Connector,
        Fact::Communication,
        Fact::LampCommanded,
        Fact::LampLitKeyOn,
        Fact::LampLitRunning,
        Fact::LampFlashing,
    ];
    let lists = [Fact::StoredCodes, Fact::PendingCodes];
    let numbers = actions::RISING.into_iter().chain([Fact::DistanceSinceLamp, Fact::MinutesSinceLamp]);
    let monitors = Monitor::all().map(Fact::Monitor);
    for fact in words.into_iter().chain(lists).chain(numbers).chain(monitors) {
        let unsupported = crate::model::facts::Possible::Words(crate::model::MonitorState::Unsupported.bit());
        let fixed = matches!(fact, Fact::Monitor(_)) && *given.facts.get(fact) == unsupported;
        if !fixed {
            open.facts.put(fact, whole.get(fact).clone());
        }
    }
    open
}

struct Search<'a> {
    flat: &'a Flat,
    compiled: &'a Compiled,
    nodes: &'a Nodes,
    goal: Class,
}

impl Search<'_> {
    fn reached(&self, given: &Given) -> bool {
        let verdicts = verdicts(self.compiled, self.nodes, self.flat, given);
        !verdicts.is_empty() && verdicts.iter().all(|verdict| verdict.class(self.flat) <= self.goal)
    }

    /// Every action of the table that could matter to this program: repairs first, then drives, the quickest first.
    fn table(&self, given: &Given, advice: &dyn Fn(Monitor) -> Option<(i64, i64)>) -> Vec<Action> {
        let mut table = vec![
            Action::RepairFault,
            Action::RepairConnector,
            Action::RepairCommunication,
            Action::RepairLamp,
            Action::RepairLampWiring,
        ];
        let uses = |fact: Fact| self.compiled.compiler.space.cuts.uses(fact);
        let mut drives: Vec<Action> =
            Monitor::all().filter(|m| uses(Fact::Monitor(*m))).map(Action::DriveUntilComplete).collect();
        drives.sort_by_key(|drive| drive.cost(given, advice));
        table.extend(drives);
        for level in &self.compiled.compiler.space.levels {
            let Var::Known(fact) = level.var else { continue };
            if !actions::RISING.contains(&fact) {
                continue;
            }
            for class in &level.classes {
                if let Members::Numbers { runs, .. } = &class.members {
                    let lattice = super::numbers::Lattice::of(fact);
                    table.extend(runs.iter().map(|(least, _)| Action::DriveUntil(fact, lattice.at_or_above(*least))));
                }
            }
        }
        table
    }

    /// No plan is sure. Where some vehicle that agrees with what is known would reach the goal once everything was done
    /// that can be done, the facts that tell it from the others are missing, not a plan.
    fn facts_first(&self, given: &Given) -> Result<Next, Error> {
        let mut done = given.clone();
        for action in self.table(given, &|_| None) {
            if action.is_open(&done) {
                done = action.after(&done);
            }
        }
        let after = verdicts(self.compiled, self.nodes, self.flat, &done);
        if !after.iter().any(|verdict| verdict.class(self.flat) <= self.goal) {
            return Ok(Next::NoPlan);
        }
        let (exact, _) = Exact::glance(self.flat, &done)?;
        let first: Vec<FactRef<usize>> =
            exact.unknown.into_iter().filter(|fact| given.possible(fact) == done.possible(fact)).collect();
        Ok(if first.is_empty() { Next::NoPlan } else { Next::FactsFirst(first) })
    }

    /// Sets of actions in the order of their cost; an action is added only after those before it in the table, so that
    /// each set is looked at once.
    fn cheapest(&self, given: &Given, advice: &dyn Fn(Monitor) -> Option<(i64, i64)>) -> Next {
        let table = self.table(given, advice);
        let mut waiting: BinaryHeap<Reverse<(u64, Vec<usize>)>> = BinaryHeap::from([Reverse((0, Vec::new()))]);
        let mut plans: Vec<Plan> = Vec::new();
        let mut trials = 0;
        while let Some(Reverse((cost, places))) = waiting.pop() {
            if plans.first().is_some_and(|plan| plan.cost < cost) {
                break;
            }
            trials += 1;
            if trials > MOST_TRIALS {
                return if plans.is_empty() { Next::TooMany } else { Next::Plans(plans) };
            }
            let steps: Vec<Action> = places.iter().filter_map(|place| table.get(*place).copied()).collect();
            let state = steps.iter().fold(given.clone(), |state, step| step.after(&state));
            if self.reached(&state) {
                let choice = if plans.len() < MOST_CHOICES { self.choice(given, &steps, &table) } else { Vec::new() };
                plans.push(Plan { steps, cost, choice });
                continue;
            }
            let from = places.last().map_or(0, |last| last + 1);
            for (place, action) in table.iter().enumerate().skip(from) {
                let twice = matches!((action, steps.last()),
                    (Action::DriveUntil(fact, _), Some(Action::DriveUntil(known, _))) if fact == known);
                if action.is_open(&state) && !twice {
                    let mut more = places.clone();
                    more.push(place);
                    waiting.push(Reverse((cost.saturating_add(action.cost(&state, advice)), more)));
                }
            }
        }
        if plans.is_empty() { Next::NoPlan } else { Next::Plans(plans) }
    }

    /// The monitors of which any as many do as well as the plan completes; none where the plan's own are the only ones.
    fn choice(&self, given: &Given, steps: &[Action], table: &[Action]) -> Vec<Monitor> {
        let before: Vec<Action> = steps.iter().copied().filter(|step| step.is_repair()).collect();
        let after: Vec<Action> = steps.iter().copied().filter(|step| matches!(step, Action::DriveUntil(..))).collect();
        let driven: Vec<Action> =
            steps.iter().copied().filter(|step| matches!(step, Action::DriveUntilComplete(_))).collect();
        let repaired = before.iter().fold(given.clone(), |state, step| step.after(&state));
        let does = |drives: &[Action]| {
            let state = drives.iter().chain(&after).fold(repaired.clone(), |state, step| step.after(&state));
            self.reached(&state)
        };
        let stands_in = |other: &Action| {
            (0..driven.len()).all(|place| {
                let mut swapped = driven.clone();
                if let Some(slot) = swapped.get_mut(place) {
                    *slot = *other;
                }
                does(&swapped)
            })
        };
        let is_drive = |action: &&Action| matches!(action, Action::DriveUntilComplete(_)) && action.is_open(&repaired);
        let all: Vec<Action> =
            table.iter().filter(is_drive).copied().filter(|it| driven.contains(it) || stands_in(it)).collect();
        let holds = all.len() > driven.len()
            && !driven.is_empty()
            && all.len() <= MOST_TO_CHOOSE_FROM
            && subsets(&all, driven.len()).iter().all(|some| does(some));
        let monitor = |action: &Action| match action {
            Action::DriveUntilComplete(monitor) => Some(*monitor),
            _ => None,
        };
        if holds { all.iter().filter_map(monitor).collect() } else { Vec::new() }
    }
}

/// Every choice of so many of some actions, in their order.
fn subsets(all: &[Action], size: usize) -> Vec<Vec<Action>> {
    let Some((first, rest)) = all.split_first().filter(|_| size > 0) else {
        return if size == 0 { vec![Vec::new()] } else { Vec::new() };
    };
    let with = subsets(rest, size - 1).into_iter().map(|some| std::iter::once(*first).chain(some).collect());
    with.chain(subsets(rest, size)).collect()
}
