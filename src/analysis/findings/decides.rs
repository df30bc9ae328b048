//! How large a part of the covered vehicles that a program tells apart each clause decides.

use super::Study;
use crate::diagram::Error;
use crate::diagram::exact::deciding;
use crate::diagram::forest::Node;
use crate::program::Flat;
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
