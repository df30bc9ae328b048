//! Why a condition holds, does not hold, or is not determined: the tests that suffice for it, and what they turn on.

use super::truth::Truth;
use super::walk::Walk;
use crate::model::facts::Possible;
use crate::model::{Fact, MonitorSet, MonitorState};
use crate::program::block::Allowance;
use crate::program::flat::{FlatExcused, FlatRow};
use crate::program::{Condition, FactRef, How, Test};
use std::collections::BTreeSet;

/// How deep named conditions are followed into each other before they stand for themselves.
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
    let mut causes = BTreeSet::new();
    condition_causes(walk, condition, &mut causes, 0);
    causes
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

/// Whether nothing more can be learned of a fact.
pub(super) fn is_settled(walk: &Walk<'_>, fact: &FactRef<usize>) -> bool {
    match fact {
        FactRef::Known(fact) => walk.given().facts.is_settled(*fact),
        FactRef::Declared(_) => match walk.possible(fact) {
            Possible::Words(mask) => mask.count_ones() <= 1,
            Possible::Number(span) => span.least == span.most && !span.may_be_absent,
            _ => true,
        },
    }
}

/// What a leaf turns on. Of an unknown test only what is not settled.
fn collect(walk: &Walk<'_>, leaf: Leaf<'_>, causes: &mut BTreeSet<Cause>, depth: u32) {
    if depth > DEEPEST {
        return;
    }
    let unknown = leaf.truth.is_unknown();
    let mut add = |cause: Cause| {
        let bears = match &cause {
            Cause::Fact(fact) => !unknown || !is_settled(walk, fact),
            _ => true,
        };
        if bears {
            causes.insert(cause);
        }
    };
    match leaf.test {
        Test::Word { fact, .. } | Test::Number { fact, .. } => add(Cause::Fact(fact.clone())),
        Test::Text { fact: asked, .. } | Test::Present { fact: asked, .. } => add(fact(*asked)),
        Test::Dated(none) => match *none {},
        Test::ModelYearIsEven(_) => add(fact(Fact::ModelYear)),
        Test::Codes { list, among, .. } => {
            add(fact(*list));
            if let Some(place) = among
                && unknown
                && touches_unread(walk, *list, *place)
            {
                add(Cause::GroupNotRead(*place));
            }
        }
        Test::CodesOfTable { list, how, table } => {
            add(fact(*list));
            // No code is on it where the rows that hold the codes are not the vehicle's.
            let truth = if *how == How::No { leaf.truth.negated() } else { leaf.truth };
            for (place, row) in walk.rows(*table) {
                if walk.row_holds(*table, place) == truth && bears(walk, *list, row, truth) {
                    condition_causes(walk, &row.condition, causes, depth + 1);
                }
            }
        }
        Test::Count { states, .. } => counted_causes(walk, *states, leaf.truth, causes, depth),
        Test::CountOf { monitors, states, .. } => {
            monitor_causes(walk, *monitors, *states, leaf.truth, causes);
        }
        Test::Pair { earlier, states, .. } => {
            add(fact(*earlier));
            let (_, perhaps) = walk.earlier(*earlier);
            monitor_causes(walk, perhaps, *states, leaf.truth, causes);
        }
        Test::NotMoreIncompleteThanEarlier => {
            add(fact(Fact::EarlierIncompleteCount));
            counted_causes(walk, MonitorState::Incomplete.bit(), leaf.truth, causes, depth);
        }
        Test::Limit { limit, .. } => limit_causes(walk, *limit, leaf.truth, causes, depth),
        // Followed by who asks.
        Test::Finding(_) => {}
        Test::Listed(table) => table_causes(walk, *table, leaf.truth, causes, depth),
        Test::Reading { question, .. } => add(Cause::Question(*question)),
    }
}

fn condition_causes(walk: &Walk<'_>, condition: &Condition<usize>, causes: &mut BTreeSet<Cause>, depth: u32) {
    let (mut followed, mut conditions) = (BTreeSet::new(), vec![condition]);
    while let Some(condition) = conditions.pop() {
        for leaf in explain(walk, condition) {
            match leaf.test {
                // A chain of named conditions that was too long to be followed at once.
                Test::Finding(place) if followed.insert(*place) => {
                    conditions.extend(walk.flat().findings.get(*place).map(|(_, condition)| condition));
                }
                _ => collect(walk, leaf, causes, depth),
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

/// Whether a row of a table bears on a test of the list: it holds a code that was read, or perhaps one that was not.
fn bears(walk: &Walk<'_>, list: Fact, row: &FlatRow, truth: Truth) -> bool {
    let Possible::Codes { list: Some(list), .. } = walk.given().facts.get(list) else {
        return !row.codes.is_empty();
    };
    let mut codes = list.codes.iter().filter_map(|code| code.two_bytes());
    codes.any(|code| row.codes.iter().any(|range| range.contains(code)))
        || (list.may_hold_more && !truth.is_true() && !row.codes.is_empty())
}

/// The monitors of a set that bear on a test: those not settled for an unknown test, else those in the state asked
/// for, or all that are supported where none is.
fn monitor_causes(walk: &Walk<'_>, among: MonitorSet, states: u64, truth: Truth, causes: &mut BTreeSet<Cause>) {
    let now = walk.states();
    let bearing = if truth.is_unknown() {
        now.unsettled()
    } else {
        let in_state = now.surely(states).and(among);
        if in_state.is_empty() { now.perhaps(MonitorState::SUPPORTED) } else { in_state }
    };
    causes.extend(bearing.and(among).iter().map(|monitor| fact(Fact::Monitor(monitor))));
}

fn counted_causes(walk: &Walk<'_>, states: u64, truth: Truth, causes: &mut BTreeSet<Cause>, depth: u32) {
    let counted = walk.counted();
    monitor_causes(walk, counted.perhaps, states, truth, causes);
    for rule in &walk.flat().counts {
        if walk.truth(&rule.condition) == truth && !rule.condition.is_always() {
            condition_causes(walk, &rule.condition, causes, depth + 1);
        }
    }
    for excuse in &walk.flat().excuses {
        let holds = walk.truth(&excuse.condition);
        if holds.is_false() {
            continue;
        }
        if !truth.is_unknown() || holds.is_unknown() {
            condition_causes(walk, &excuse.condition, causes, depth + 1);
        }
        match excuse.which {
            FlatExcused::Monitors(_) => {}
            FlatExcused::EarlierIncomplete => {
                if !truth.is_unknown() || !walk.given().facts.is_settled(Fact::EarlierIncomplete) {
                    causes.insert(fact(Fact::EarlierIncomplete));
                }
            }
            FlatExcused::Table(table) => table_causes(walk, table, truth, causes, depth),
        }
    }
}

fn limit_causes(walk: &Walk<'_>, limit: usize, truth: Truth, causes: &mut BTreeSet<Cause>, depth: u32) {
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
            condition_causes(walk, &at.condition, causes, depth + 1);
        }
        if truth.is_unknown() && at.limit == Allowance::NotRead && walk.allows(at).is_unknown() {
            causes.insert(Cause::LimitNotRead { limit, row });
        }
    }
    if states == 0 {
        for at in &limit_at.rows {
            condition_causes(walk, &at.condition, causes, depth + 1);
        }
    } else {
        counted_causes(walk, states, truth, causes, depth);
    }
}

fn table_causes(walk: &Walk<'_>, table: usize, truth: Truth, causes: &mut BTreeSet<Cause>, depth: u32) {
    for (place, row) in walk.rows(table) {
        let holds = walk.row_holds(table, place);
        if holds == truth {
            condition_causes(walk, &row.condition, causes, depth + 1);
            if holds.is_true() {
                return;
            }
        }
    }
}
