//! Builds the clause lines: guards folded into what they concern, and *gives way to* resolved to lines.

use super::resolve::Resolver;
use super::standing::Standing;
use crate::program::block::{Clause, GivesWayTo};
use crate::program::flat::Line;
use crate::program::{Condition, Flat, Item, Origin};
use std::collections::BTreeMap;

/// Fills the lines, sorted by clause, reading, and order within the clause.
pub(super) fn fill(flat: &mut Flat, names: &Resolver<'_>, standing: &[Standing<'_>]) {
    let clauses = standing.iter().filter_map(|one| match &one.block.item {
        Item::Clause(clause) => Some((one, clause)),
        _ => None,
    });
    let mut clauses: Vec<(&Standing<'_>, &Clause)> = clauses.collect();
    clauses.sort_by(|(one, a), (other, b)| (&a.id, &one.guard).cmp(&(&b.id, &other.guard)));
    let mut built: Vec<(Line, &[GivesWayTo])> = Vec::new();
    for (one, clause) in clauses {
        for line in &clause.lines {
            let Some(guard) = names.choices.guard(&line.under) else { continue };
            let message = if line.message.is_empty() { &clause.message } else { &line.message };
            let basis = if line.basis.is_empty() { &one.block.basis } else { &line.basis };
            let line = Line {
                clause: clause.id.clone(),
                topic: clause.topic,
                concerns: Condition::every(vec![
                    one.guard.clone(),
                    guard,
                    names.condition(&clause.concerns),
                    names.condition(&line.concerns),
                ]),
                unmet_where: names.condition(&line.unmet_where),
                requires: line.requires,
                outcome: line.outcome,
                message: message.clone(),
                gives_way: Vec::new(),
                basis: basis.clone(),
                origin: Origin { span: line.span, ..one.block.origin.clone() },
            };
            built.push((line, &clause.gives_way));
        }
    }
    let readings = standing.iter().filter_map(|one| match &one.block.item {
        Item::GivesWay { from, to } => Some((from.as_deref(), to, &one.guard)),
        _ => None,
    });
    let readings: Vec<_> = readings.collect();
    let all: Vec<(String, usize)> = built.iter().map(|(line, _)| (line.clause.clone(), line.outcome)).collect();
    for (line, own) in &mut built {
        let mut ways: BTreeMap<usize, Vec<Condition<usize>>> = BTreeMap::new();
        let always = Condition::always();
        let own = own.iter().map(|to| (to, &always));
        let others = readings.iter().filter(|(from, _, _)| from.is_none_or(|from| from == line.clause));
        let others = others.map(|(_, to, guard)| (*to, *guard));
        for (to, guard) in own.chain(others) {
            for (place, (clause, outcome)) in all.iter().enumerate() {
                let meant = match to {
                    GivesWayTo::Clause(id) => id == clause,
                    GivesWayTo::AnyOutcome(wanted) => wanted == outcome,
                };
                if meant && *clause != line.clause {
                    ways.entry(place).or_default().push(guard.clone());
                }
            }
        }
        line.gives_way = ways.into_iter().map(|(place, guards)| (place, joined(guards))).collect();
    }
    flat.lines = built.into_iter().map(|(line, _)| line).collect();
}

fn joined(mut guards: Vec<Condition<usize>>) -> Condition<usize> {
    guards.sort();
    guards.dedup();
    Condition::either(guards)
}
