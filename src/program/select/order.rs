//! Sorts findings so that each refers only to earlier ones, limits, counts and tables followed.

use super::standing::Standing;
use crate::program::{Condition, Item, Test};
use std::collections::{BTreeMap, BTreeSet};

/// Ids of the findings that stand, in order; any that lead back to themselves are left out.
pub(super) fn findings(standing: &[Standing<'_>]) -> Vec<String> {
    let mut waiting: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for one in standing {
        if let Item::Finding { id, condition } = &one.block.item {
            let mut needs = Needs { standing, findings: BTreeSet::new(), limits: BTreeSet::new(), counts: false };
            needs.add(condition);
            waiting.entry(id).or_default().extend(needs.findings);
        }
    }
    let mut order: Vec<String> = Vec::with_capacity(waiting.len());
    let known: BTreeSet<&str> = waiting.keys().copied().collect();
    loop {
        let placed = |id: &&str| order.iter().any(|done| done == id);
        let ready = |needs: &BTreeSet<&str>| needs.iter().all(|id| placed(id) || !known.contains(id));
        let Some(next) = waiting.iter().find(|(_, needs)| ready(needs)).map(|(id, _)| *id) else {
            return order;
        };
        waiting.remove(next);
        order.push(next.to_owned());
    }
}

struct Needs<'a> {
    standing: &'a [Standing<'a>],
    findings: BTreeSet<&'a str>,
    limits: BTreeSet<&'a str>,
    counts: bool,
}

impl<'a> Needs<'a> {
    fn add(&mut self, condition: &'a Condition<String>) {
        let mut tests = Vec::new();
        condition.each_test(&mut |test| tests.push(test));
        for test in tests {
            match test {
                Test::Finding(id) => {
                    self.findings.insert(id);
                }
                Test::Limit { limit, .. } => {
                    self.add_counts();
                    self.add_limit(limit);
                }
                Test::Count { .. } | Test::NotMoreIncompleteThanEarlier => self.add_counts(),
                _ => {}
            }
        }
    }

    fn add_limit(&mut self, limit: &'a str) {
        if !self.limits.insert(limit) {
            return;
        }
        for one in self.standing {
            if let Item::Limit { id, rows } = &one.block.item
                && id == limit
            {
                rows.iter().for_each(|row| self.add(&row.condition));
            }
        }
    }

    fn add_counts(&mut self) {
        if std::mem::replace(&mut self.counts, true) {
            return;
        }
        for one in self.standing {
            if let Item::Excuses { condition, .. } = &one.block.item {
                self.add(condition);
            }
        }
    }
}
