//! Narrowing by the exclusions, as planes: what no vehicle shows together is ruled out of what each fact can be, as
//! [`crate::model::Facts::narrow`] has it. A record on which it takes more rounds than are unrolled here is left open.

use super::facts::Builder;
use super::graph::{Bit, Tri};
use super::shape::Ask;
use crate::model::{Constraint, Exclusion, Fact, Monitor, MonitorSet, MonitorState, exclusions};
use crate::program::{FactRef, Test};

/// Rounds of narrowing that are unrolled.
const ROUNDS: usize = 3;

/// The constraint that a monitor is supported.
fn supported(monitor: Monitor) -> Constraint {
    Constraint::Word(Fact::Monitor(monitor), MonitorState::SUPPORTED)
}

/// The exclusions; those whose second part is that a monitor is supported, and that differ in it alone, together with
/// the set of these monitors. Of the others the set is empty.
fn grouped() -> Vec<(Exclusion, MonitorSet)> {
    let mut groups: Vec<(Exclusion, MonitorSet)> = Vec::new();
    for rule in exclusions() {
        match rule.second {
            Constraint::Word(Fact::Monitor(monitor), MonitorState::SUPPORTED) => {
                let same = |group: &&mut (Exclusion, MonitorSet)| !group.1.is_empty() && group.0.first == rule.first;
                match groups.iter_mut().find(same) {
                    Some((_, set)) => *set = set.with(monitor),
                    None => groups.push((*rule, MonitorSet::EMPTY.with(monitor))),
                }
            }
            _ => groups.push((*rule, MonitorSet::EMPTY)),
        }
    }
    groups
}

impl Builder<'_> {
    pub(super) fn narrow(&mut self) {
        let rules = grouped();
        for round in 0..=ROUNDS {
            let mut changed = Bit::NEVER;
            for (rule, set) in &rules {
                let here = if set.is_empty() { self.apply(rule) } else { self.apply_to_set(rule, *set) };
                changed = self.graph.or(changed, here);
            }
            if changed == Bit::NEVER {
                return;
            }
            if round == ROUNDS {
                self.open = self.graph.or(self.open, changed);
            }
        }
    }

    /// Applies the exclusions that differ in the monitor alone; where anything was taken away.
    fn apply_to_set(&mut self, rule: &Exclusion, set: MonitorSet) -> Bit {
        if !set.iter().all(|monitor| self.is_settled(&FactRef::Known(Fact::Monitor(monitor)))) {
            return set.iter().fold(Bit::NEVER, |changed, monitor| {
                let one = Exclusion { second: supported(monitor), ..*rule };
                let here = self.apply(&one);
                self.graph.or(changed, here)
            });
        }
        // The bytes of PID $01 name the ignition and the monitors of its table together.
        let is_of_bytes = self.is_ignition_of_bytes() && set.iter().all(|monitor| self.is_of_bytes(monitor));
        if is_of_bytes && rule.first.fact() == Fact::Ignition {
            return Bit::NEVER;
        }
        let any = self.any_supported(set);
        let first = self.meets(rule.first);
        let both = self.graph.and(first.surely, any);
        self.open = self.graph.or(self.open, both);
        self.rule_out(rule.first, first, Tri { surely: any, perhaps: any })
    }

    fn is_of_bytes(&self, monitor: Monitor) -> bool {
        self.shape.column_of(self.flat, &FactRef::Known(Fact::Monitor(monitor))).is_none()
    }

    /// Where some monitor of a set is supported, all of them being told.
    fn any_supported(&mut self, set: MonitorSet) -> Bit {
        let each: Vec<Bit> = set
            .iter()
            .map(|monitor| self.word(&FactRef::Known(Fact::Monitor(monitor)), MonitorState::SUPPORTED).perhaps)
            .collect();
        self.graph.any(each)
    }

    /// Applies one exclusion; where it took anything away.
    fn apply(&mut self, rule: &Exclusion) -> Bit {
        let (first, second) = (self.meets(rule.first), self.meets(rule.second));
        let both = self.graph.and(first.surely, second.surely);
        self.open = self.graph.or(self.open, both);
        let (one, other) = (self.rule_out(rule.second, second, first), self.rule_out(rule.first, first, second));
        self.graph.or(one, other)
    }

    fn meets(&mut self, constraint: Constraint) -> Tri {
        let fact = FactRef::Known(constraint.fact());
        match constraint {
            Constraint::Word(_, words) => self.word(&fact, words),
            Constraint::AtLeast(_, bound) => {
                self.test(&fact, &Test::Number { fact: fact.clone(), least: Some(bound), most: None })
            }
            Constraint::NotEmpty(of) => {
                Tri { surely: self.ask(&fact, Ask::Holds(of)), perhaps: self.ask(&fact, Ask::MayHold(of)) }
            }
        }
    }

    /// Takes a constraint away where its other half surely holds and it only perhaps; where anything was taken.
    fn rule_out(&mut self, constraint: Constraint, here: Tri, other: Tri) -> Bit {
        let sure = self.graph.but_not(other.surely, here.surely);
        let taken = self.graph.and(sure, here.perhaps);
        if taken == Bit::NEVER {
            return taken;
        }
        let fact = FactRef::Known(constraint.fact());
        match constraint {
            Constraint::Word(_, words) => {
                let left: Vec<(u64, Bit)> = self
                    .words_of(&fact)
                    .into_iter()
                    .map(|(bit, may)| (bit, if bit & words == 0 { may } else { self.graph.but_not(may, sure) }))
                    .collect();
                self.words.insert(fact, left);
            }
            Constraint::AtLeast(..) | Constraint::NotEmpty(_) => {
                let mut now = self.other(&fact);
                now.ruled_out = self.graph.or(now.ruled_out, taken);
                self.others.insert(fact, now);
            }
        }
        taken
    }
}
