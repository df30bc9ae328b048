//! What leads to a pass from whatever is known: for all vehicles that agree with it the cheapest actions of a fixed table
//! ([`actions`]) after which every one of them has the goal or is asked for no test, provided what is told as provisos;
//! where different vehicles need different plans, a short list of cases. Another date, place or visit is never a plan.
//!
//! The definitions stand in `docs/plan.md`. Every answer is exact: nothing here samples or guesses.

pub mod actions;
pub mod assume;
mod branch;
mod case;
mod search;
mod simulate;
#[cfg(test)]
mod tests;

pub use actions::Action;
pub use assume::{Kind, Proviso};
pub use branch::Split;
pub use simulate::simulate;

use crate::diagram::kernel::Compiled;
use crate::diagram::{BUDGET, Error};
use crate::model::facts::{Possible, Span, whole};
use crate::model::{Fact, Monitor, MonitorState};
use crate::program::{Class, FactRef, Flat, Given, Verdict};
use case::Case;
use search::{Accept, Search, Stopped};
use std::collections::BTreeSet;

/// The most monitors to choose from.
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

impl Plan {
    /// The monitors that its drives complete, in order.
    #[must_use]
    pub fn driven(&self) -> Vec<Monitor> {
        let monitor = |step: &Action| match step {
            Action::DriveUntilComplete(monitor) => Some(*monitor),
            _ => None,
        };
        self.steps.iter().filter_map(monitor).collect()
    }
}

/// What holds of every vehicle of a branch that meets its provisos.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum End {
    /// It has the goal already, or no test is asked of it.
    Already,
    /// Each of these, all of the least cost, leads it to the goal, or no test is asked of it.
    Plans(Vec<Plan>),
    /// No test is asked of it.
    NotAsked,
    /// It goes to another test, which decides, and no action changes that.
    OtherTest,
    /// No action of the table leads any of these vehicles to the goal.
    Nothing,
    /// None of these holds of all: what to find out, what settles most first, and the least that leads any one of these
    /// vehicles to the goal.
    FindOut {
        /// Facts that turn it.
        facts: Vec<FactRef<usize>>,
        /// Open questions of the text that turn it: places in the program's list.
        questions: Vec<usize>,
        /// The least that leads some vehicle to the goal; none of those that meet the provisos gets there for less. `None`
        /// where one has it as it stands.
        least: Option<Plan>,
    },
    /// The search stopped at its limit.
    TooMany,
}

/// Vehicles with one answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Branch {
    /// What tells these vehicles from those of other branches; empty where there is one branch.
    pub when: Vec<Split>,
    /// What the answer is provided on; none of them can be left away.
    pub provisos: Vec<Proviso>,
    /// The answer.
    pub end: End,
    /// Verdicts of its vehicles as they stand.
    pub now: BTreeSet<Verdict>,
    /// Verdicts once the first plan is done (as they stand where there is none): the goal, or no test, or another one.
    pub then: BTreeSet<Verdict>,
    /// The fewest provisos under which no vehicle of the branch has the goal as it stands; `None` where some has it even
    /// if all that is sound and ordinary is so.
    pub not_now: Option<Vec<Proviso>>,
    /// Whether a vehicle that meets the provisos may go to another test although that is not the goal.
    pub goes_elsewhere: bool,
    /// Whether no vehicle that meets the provisos has the goal once the first plan is done: the plan leads to another test.
    pub never_the_goal: bool,
    /// What is given of its vehicles, provisos included; splits by questions or texts are not in it.
    pub given: Given,
    /// The same with all that is sound and ordinary, needed or not.
    pub ordinary: Given,
}

/// What leads to the goal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Next {
    /// Verdicts of all vehicles that agree with what is known, as they stand.
    pub now: BTreeSet<Verdict>,
    /// The branches, at least one and at most four.
    pub branches: Vec<Branch>,
    /// Steps that every branch begins with, where there are several.
    pub common: Vec<Action>,
}

impl Next {
    /// The branch, where there is one for all.
    #[must_use]
    pub fn only(&self) -> Option<&Branch> {
        match self.branches.as_slice() {
            [only] => Some(only),
            _ => None,
        }
    }
}

/// The cheapest plans to a class, or to one less grave; `presumed` holds what is told as a proviso though nothing given
/// says so ([`assume::unpresumed`]).
///
/// # Errors
/// Where a diagram outgrows its budget, or no vehicle agrees with what is given.
pub fn next(
    flat: &Flat,
    given: &Given,
    presumed: &[Proviso],
    goal: Class,
    advice: &dyn Fn(Monitor) -> Option<(i64, i64)>,
) -> Result<Next, Error> {
    let open = opened(given);
    let compiled = Compiled::of(&[(flat, &open)], BUDGET)?;
    let Some(nodes) = compiled.first() else {
        return Err(Error::Contradiction);
    };
    let search = Search { flat, compiled: &compiled, nodes, goal, advice };
    let all = Case::new(given.clone());
    let now: BTreeSet<Verdict> = search.verdicts(&all).into_iter().collect();
    if now.is_empty() {
        return Err(Error::Contradiction);
    }
    let branches = branch::branches(&search, &all, presumed);
    let common = branch::common(&branches);
    Ok(Next { now, branches, common })
}

/// What is given with every fact opened that an action can change, as far as one can, so that one compiled program serves
/// all states.
fn opened(given: &Given) -> Given {
    let given = &actions::if_it_answered(given);
    let mut open = given.clone();
    let lamp = matches!(given.facts.get(Fact::LampCommanded), Possible::Words(mask) if mask & 0b10 != 0);
    let repair = lamp || Action::RepairFault.is_open(given);
    let words = [
        Fact::Connector,
        Fact::Communication,
        Fact::LampCommanded,
        Fact::LampLitKeyOn,
        Fact::LampLitRunning,
        Fact::LampFlashing,
    ];
    for fact in words {
        let (Possible::Words(mask), Some(bit)) = (given.facts.get(fact), fact.word_bit(sound_word(fact))) else {
            continue;
        };
        open.facts.put(fact, Possible::Words(mask | bit));
    }
    for fact in [Fact::StoredCodes, Fact::PendingCodes].into_iter().filter(|_| repair) {
        if let Possible::Codes { may_be_absent, may_be_present: true, .. } = *given.facts.get(fact) {
            open.facts.put(fact, Possible::Codes { list: None, may_be_absent, may_be_present: true });
        }
    }
    for fact in actions::RISING.into_iter().chain([Fact::DistanceSinceLamp, Fact::MinutesSinceLamp]) {
        if let (Possible::Number(now), Possible::Number(all)) = (given.facts.get(fact), whole(fact))
            && !now.has_no_value()
        {
            let least = if repair { all.least } else { now.least };
            open.facts.put(fact, Possible::Number(Span { least, most: all.most.max(now.most), ..*now }));
        }
    }
    for monitor in Monitor::all() {
        let fact = Fact::Monitor(monitor);
        let Possible::Words(mask) = *given.facts.get(fact) else { continue };
        let mut left = mask;
        if repair && mask & (MonitorState::Complete.bit() | MonitorState::Incomplete.bit()) != 0 {
            left |= MonitorState::Incomplete.bit();
        }
        open.facts.put(fact, Possible::Words(left | actions::completed(left)));
    }
    open
}

/// The word that a repair leads to.
fn sound_word(fact: Fact) -> &'static str {
    match fact {
        Fact::Connector => "intact",
        Fact::Communication => "established",
        Fact::LampLitKeyOn => "yes",
        _ => "no",
    }
}

/// The monitors of which any as many do as well as the plan completes; none where the plan's own are the only ones.
fn choice(search: &Search<'_>, case: &Case, steps: &[Action], accept: Accept) -> Vec<Monitor> {
    let before: Vec<Action> = steps.iter().copied().filter(|step| step.is_repair()).collect();
    let after: Vec<Action> = steps.iter().copied().filter(|step| matches!(step, Action::DriveUntil(..))).collect();
    let is_drive = |action: &Action| matches!(action, Action::DriveUntilComplete(_));
    let driven: Vec<Action> = steps.iter().copied().filter(is_drive).collect();
    if driven.is_empty() {
        return Vec::new();
    }
    let repaired = case.after(&before);
    let does = |drives: &[Action]| search.reached(&repaired.after(drives.iter().chain(&after)), accept);
    let stands_in = |other: &Action| {
        (0..driven.len()).all(|place| {
            let mut swapped = driven.clone();
            if let Some(slot) = swapped.get_mut(place) {
                *slot = *other;
            }
            does(&swapped)
        })
    };
    let known_incomplete = |action: &Action| match action {
        Action::DriveUntilComplete(monitor) => {
            *repaired.given.facts.get(Fact::Monitor(*monitor)) == Possible::Words(MonitorState::Incomplete.bit())
        }
        _ => false,
    };
    let drives = search.drives(&repaired.given);
    let all: Vec<Action> =
        drives.into_iter().filter(|it| driven.contains(it) || (known_incomplete(it) && stands_in(it))).collect();
    let holds = all.len() > driven.len()
        && all.len() <= MOST_TO_CHOOSE_FROM
        && subsets(&all, driven.len()).iter().all(|some| does(some));
    let monitor = |action: &Action| match action {
        Action::DriveUntilComplete(monitor) => Some(*monitor),
        _ => None,
    };
    if holds { all.iter().filter_map(monitor).collect() } else { Vec::new() }
}

/// Every choice of so many of some actions, in their order.
fn subsets(all: &[Action], size: usize) -> Vec<Vec<Action>> {
    let Some((first, rest)) = all.split_first().filter(|_| size > 0) else {
        return if size == 0 { vec![Vec::new()] } else { Vec::new() };
    };
    let with = subsets(rest, size - 1).into_iter().map(|some| std::iter::once(*first).chain(some).collect());
    with.chain(subsets(rest, size)).collect()
}
