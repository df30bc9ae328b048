//! How large a part of the covered vehicles that a program tells apart each clause decides.

use super::Study;
use crate::diagram::Error;
use crate::diagram::exact::deciding;
use crate::diagram::forest::Node;
use crate::program::{Condition, Flat, Test};
use std::collections::BTreeMap;

/// Of each clause of a flat program, how many millionths of the covered vehicles that can be told apart it decides,
/// alone or with others of the same outcome. Rounded down. Empty where the program is not in force.
///
/// # Errors
/// Where a diagram outgrows its budget.
pub fn decides(flat: &Flat) -> Result<BTreeMap<String, u32>, Error> {
    if !flat.in_force.is_yes() {
        return Ok(BTreeMap::new());
    }
    let mut study = Study::of(flat)?;
    let mut clauses: BTreeMap<String, Node> = BTreeMap::new();
    let nodes = study.nodes.clone();
    for (place, line) in flat.lines.iter().enumerate() {
        let decides = deciding(&mut study.compiled, flat, &nodes, place)?;
        let dealt = study.both(decides, study.dealt)?;
        let known = clauses.get(&line.clause).copied().unwrap_or(Node::FALSE);
        let joined = study.any([known, dealt])?;
        clauses.insert(line.clause.clone(), joined);
    }
    let all = study.count(study.dealt);
    Ok(clauses.into_iter().map(|(clause, node)| (clause, study.count(node).millionths_of(&all))).collect())
}

/// Of each source, by its place in [`Flat::sources`], how many millionths of the covered vehicles that can be told apart a
/// line or a row of a limit decides that cites it. Rounded down; sources that decide nothing are left out. Empty where the
/// program is not in force.
///
/// # Errors
/// Where a diagram outgrows its budget.
pub fn decides_by_source(flat: &Flat) -> Result<BTreeMap<usize, u32>, Error> {
    if !flat.in_force.is_yes() {
        return Ok(BTreeMap::new());
    }
    let mut study = Study::of(flat)?;
    let mut sources: BTreeMap<usize, Node> = BTreeMap::new();
    let nodes = study.nodes.clone();
    for (place, line) in flat.lines.iter().enumerate() {
        let decides = deciding(&mut study.compiled, flat, &nodes, place)?;
        let dealt = study.both(decides, study.dealt)?;
        let mut cited: Vec<(usize, Node)> = line.basis.iter().map(|citation| (citation.source, dealt)).collect();
        for row in limits_of(&line.unmet_where).filter_map(|limit| flat.limits.get(limit)).flat_map(|limit| &limit.rows)
        {
            let under = study.condition(&row.condition)?;
            let under = study.both(under, dealt)?;
            cited.extend(row.basis.iter().map(|citation| (citation.source, under)));
        }
        for (source, node) in cited {
            let known = sources.get(&source).copied().unwrap_or(Node::FALSE);
            let joined = study.any([known, node])?;
            sources.insert(source, joined);
        }
    }
    let all = study.count(study.dealt);
    let share = |node: Node| study.count(node).millionths_of(&all);
    Ok(sources
        .into_iter()
        .filter(|(_, node)| *node != Node::FALSE)
        .map(|(source, node)| (source, share(node)))
        .collect())
}

/// The limits that a condition asks.
fn limits_of(condition: &Condition<usize>) -> Box<dyn Iterator<Item = usize> + '_> {
    match condition {
        Condition::All(parts) | Condition::Any(parts) => Box::new(parts.iter().flat_map(limits_of)),
        Condition::Not(inner) => limits_of(inner),
        Condition::Test(Test::Limit { limit, .. }) => Box::new(std::iter::once(*limit)),
        Condition::Test(_) => Box::new(std::iter::empty()),
    }
}
