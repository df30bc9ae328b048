//! Why a condition holds, does not hold, or is not determined: the tests that suffice for it, and what they turn on.

use super::truth::Truth;
use super::walk::Walk;
use crate::model::facts::Possible;
use crate::model::{Fact, MonitorSet, MonitorState};
use crate::program::block::Allowance;
use crate::program::flat::{FlatExcused, FlatRow};
use crate::program::{Condition, FactRef, How, Test};
use std::collections::BTreeSet;

/// How deep named conditions are followed into each other before they stand for themselves. What they turn on is followed to
/// its end ([`causes_of`]).
const DEEPEST: u32 = 32;

/// What a test turns on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// A fact.
    Fact(FactRef<usize>),
    /// How a question is read: its place in the program.
    Question(usize),
    /// A row of a limit that was not read.
    LimitNotRead {
        /// Limit: its place in the program.
        limit: usize,
        /// Row: its place in the limit.
        row: usize,
    },
    /// A code group of which a part was not read: its place in the program.
    GroupNotRead(usize),
}

/// A test that a condition's truth rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Leaf<'a> {
    /// The test.
    pub test: &'a Test<usize>,
    /// Its truth.
    pub truth: Truth,
    /// The named condition it stands in, if in one: its place in the program.
    pub finding: Option<usize>,
}

/// The tests that suffice for the condition's truth: of *all of* that fails one that fails, of *any of* that holds one
/// that holds, else all that bear on it. Named conditions are followed, each once.
#[must_use]
pub fn explain<'a, 'f: 'a>(walk: &Walk<'f>, condition: &'a Condition<usize>) -> Vec<Leaf<'a>> {
    let mut explainer = Explainer { walk, leaves: Vec::new(), followed: BTreeSet::new() };
    explainer.condition(condition, None, 0);
    explainer.leaves
}

/// What the condition's truth turns on: known facts that make it so, or what keeps it from being determined.
#[must_use]
pub fn causes_of(walk: &Walk<'_>, condition: &Condition<usize>) -> BTreeSet<Cause> {
    let mut causes = Causes { walk, found: BTreeSet::new(), seen: BTreeSet::new(), open: Vec::new() };
    causes.follow(condition);
    while let Some(condition) = causes.open.pop() {
        for leaf in explain(walk, condition) {
            causes.leaf(leaf);
        }
    }
    causes.found
}

#[derive(Debug)]
struct Explainer<'w, 'f, 'a> {
    walk: &'w Walk<'f>,
    leaves: Vec<Leaf<'a>>,
    followed: BTreeSet<usize>,
}

impl<'a, 'f: 'a> Explainer<'_, 'f, 'a> {
    fn condition(&mut self, condition: &'a Condition<usize>, finding: Option<usize>, depth: u32) {
        let truth = self.walk.truth(condition);
        match condition {
            Condition::All(parts) => self.join(parts, truth, Truth::False, finding, depth),
            Condition::Any(parts) => self.join(parts, truth, Truth::True, finding, depth),
            Condition::Not(inner) => self.condition(inner, finding, depth),
            Condition::Test(Test::Finding(place)) if depth < DEEPEST => {
                if self.followed.insert(*place)
                    && let Some((_, condition)) = self.walk.flat().findings.get(*place)
                {
                    self.condition(condition, Some(*place), depth + 1);
                }
            }
            Condition::Test(test) => {
                let leaf = Leaf { test, truth, finding };
                if !self.leaves.contains(&leaf) {
                    self.leaves.push(leaf);
                }
            }
        }
    }

    /// Of joined parts those that make the whole's truth; one of them where one is enough.
    fn join(
        &mut self,
        parts: &'a [Condition<usize>],
        truth: Truth,
        one_is_enough: Truth,
        finding: Option<usize>,
        depth: u32,
    ) {
        for part in parts {
            if self.walk.truth(part) == truth {
                self.condition(part, finding, depth);
                if truth == one_is_enough {
                    return;
                }
            }
        }
    }
}

fn fact(fact: Fact) -> Cause {
    Cause::Fact(FactRef::Known(fact))
}

/// What is found, condition by condition. Each is looked at once: limits, tables and counts ask for the same ones over and over.
struct Causes<'w, 'f, 'c> {
    walk: &'w Walk<'f>,
    found: BTreeSet<Cause>,
    /// By where it stands in memory: a condition is never moved while it is walked, and the order is never looked at.
    seen: BTreeSet<*const Condition<usize>>,
    open: Vec<&'c Condition<usize>>,
}

impl<'f: 'c, 'c> Causes<'_, 'f, 'c> {
    fn follow(&mut self, condition: &'c Condition<usize>) {
        if self.seen.insert(std::ptr::from_ref(condition)) {
            self.open.push(condition);
        }
    }

    /// What a leaf turns on. Of an unknown test only what is not settled.
    fn leaf(&mut self, leaf: Leaf<'_>) {
        let (walk, unknown) = (self.walk, leaf.truth.is_unknown());
        let mut add = |fact: FactRef<usize>| {
            if !unknown || !walk.given().is_settled(&fact) {
                self.found.insert(Cause::Fact(fact));
            }
        };
        match leaf.test {
            Test::Word { fact, .. } | Test::Number { fact, .. } => add(fact.clone()),
            Test::Text { fact, .. } | Test::Present { fact, .. } => add(FactRef::Known(*fact)),
            Test::Dated(none) => match *none {},
            Test::ModelYearIsEven(_) => add(FactRef::Known(Fact::ModelYear)),
            Test::Codes { list, among, .. } => {
                add(FactRef::Known(*list));
                if let Some(place) = among
                    && unknown
                    && touches_unread(walk, *list, *place)
                {
                    self.found.insert(Cause::GroupNotRead(*place));
                }
            }
            Test::CodesOfTable { list, how, table } => {
                add(FactRef::Known(*list));
                // No code is on it where the rows that hold the codes are not the vehicle's.
                let truth = if *how == How::No { leaf.truth.negated() } else { leaf.truth };
                for (place, row) in walk.rows(*table) {
                    if walk.row_holds(*table, place) == truth && bears(walk, *list, *how, row, truth) {
                        self.follow(&row.condition);
                    }
                }
            }
            Test::Count { states, .. } => self.counted(*states, leaf.truth),
            Test::CountOf { monitors, states, .. } => self.monitors(*monitors, *states, leaf.truth),
            Test::Pair { earlier, states, .. } => {
                add(FactRef::Known(*earlier));
                let (_, perhaps) = walk.earlier(*earlier);
                self.monitors(perhaps, *states, leaf.truth);
            }
            Test::NotMoreIncompleteThanEarlier => {
                add(FactRef::Known(Fact::EarlierIncompleteCount));
                self.counted(MonitorState::Incomplete.bit(), leaf.truth);
            }
            Test::Limit { limit, .. } => self.limit(*limit, leaf.truth),
            Test::Finding(place) => {
                if let Some((_, condition)) = walk.flat().findings.get(*place) {
                    self.follow(condition);
                }
            }
            Test::Listed(table) => self.table(*table, leaf.truth, |_| true),
            Test::Reading { question, .. } => _ = self.found.insert(Cause::Question(*question)),
        }
    }

    /// The monitors of a set that bear on a test: those not settled for an unknown test, else those in the state asked
    /// for, or all that are supported where none is.
    fn monitors(&mut self, among: MonitorSet, states: u64, truth: Truth) {
        let now = self.walk.states();
        let bearing = if truth.is_unknown() {
            now.unsettled()
        } else {
            let in_state = now.surely(states).and(among);
            if in_state.is_empty() { now.perhaps(MonitorState::SUPPORTED) } else { in_state }
        };
        self.found.extend(bearing.and(among).iter().map(|monitor| fact(Fact::Monitor(monitor))));
    }

    fn counted(&mut self, states: u64, truth: Truth) {
        let walk = self.walk;
        self.monitors(walk.counted().perhaps, states, truth);
        for rule in &walk.flat().counts {
            if walk.truth(&rule.condition) == truth && !rule.condition.is_always() {
                self.follow(&rule.condition);
            }
        }
        for excuse in &walk.flat().excuses {
            let holds = walk.truth(&excuse.condition);
            if holds.is_false() {
                continue;
            }
            if !truth.is_unknown() || holds.is_unknown() {
                self.follow(&excuse.condition);
            }
            match excuse.which {
                FlatExcused::Monitors(_) => {}
                FlatExcused::EarlierIncomplete => {
                    if !truth.is_unknown() || !walk.given().facts.is_settled(Fact::EarlierIncomplete) {
                        self.found.insert(fact(Fact::EarlierIncomplete));
                    }
                }
                FlatExcused::Table(table) => self.table(table, truth, |row| !row.excused.is_empty()),
            }
        }
    }

    fn limit(&mut self, limit: usize, truth: Truth) {
        let walk = self.walk;
        let Some(limit_at) = walk.flat().limits.get(limit) else {
            return;
        };
        let mut states = 0;
        for (row, at) in limit_at.rows.iter().enumerate() {
            let holds = walk.truth(&at.condition);
            if holds.is_false() {
                continue;
            }
            states |= if matches!(at.limit, Allowance::AtLeastComplete(_)) {
                MonitorState::Complete.bit()
            } else {
                MonitorState::Incomplete.bit()
            };
            if !truth.is_unknown() || holds.is_unknown() {
                self.follow(&at.condition);
            }
            if truth.is_unknown() && at.limit == Allowance::NotRead && walk.allows(at).is_unknown() {
                self.found.insert(Cause::LimitNotRead { limit, row });
            }
        }
        if states == 0 {
            limit_at.rows.iter().for_each(|at| self.follow(&at.condition));
        } else {
            self.counted(states, truth);
        }
    }

    /// The rows of a table that a test turns on, of those that bear on it: one that surely is the vehicle's is enough.
    fn table(&mut self, table: usize, truth: Truth, bears: impl Fn(&FlatRow) -> bool) {
        let walk = self.walk;
        for (place, row) in walk.rows(table).filter(|(_, row)| bears(row)) {
            let holds = walk.row_holds(table, place);
            if holds == truth {
                self.follow(&row.condition);
                if holds.is_true() {
                    return;
                }
            }
        }
    }
}

/// Whether a code that may be in the list is in the unread part of the group.
fn touches_unread(walk: &Walk<'_>, list: Fact, group: usize) -> bool {
    let Some((_, group)) = walk.flat().groups.get(group) else {
        return false;
    };
    match walk.given().facts.get(list) {
        Possible::Codes { list: Some(list), .. } => list.codes.iter().any(|code| group.contains(*code).is_none()),
        _ => false,
    }
}

/// Whether a row of a table bears on a test of the list: it holds a code that was read, or perhaps one that was not. That a code
/// that was read is on no row, or that one is, is settled whatever else there may be.
fn bears(walk: &Walk<'_>, list: Fact, how: How, row: &FlatRow, truth: Truth) -> bool {
    let list = match walk.given().facts.get(list) {
        Possible::Codes { may_be_present: false, .. } => return false,
        Possible::Codes { list: Some(list), .. } => list,
        _ => return !row.codes.is_empty(),
    };
    let is_settled_by_one = if how == How::Only { !truth.is_unknown() } else { truth.is_true() };
    let may_be_unread = list.may_hold_more && !row.codes.is_empty() && !is_settled_by_one;
    may_be_unread || list.codes.iter().any(|code| row.has_code(*code))
}
