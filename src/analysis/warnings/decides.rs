//! How large a part of the covered vehicles that a program tells apart each clause decides.

use super::Study;
use crate::diagram::Error;
use crate::diagram::exact::deciding;
use crate::diagram::forest::{Node, TooLarge};
use crate::program::flat::Line;
use crate::program::{Flat, Test};
use std::collections::BTreeMap;

/// Of each clause of a flat program, how many millionths of the covered vehicles that can be told apart it decides,
/// alone or with others of the same outcome. Rounded down. Empty where the program is not in force.
///
/// # Errors
/// Where a diagram outgrows its budget.
pub fn decides(flat: &Flat) -> Result<BTreeMap<String, u32>, Error> {
    shares(flat, |_, line, decided| Ok(vec![(line.clause.clone(), decided)]))
}

/// Of each source, by its place in [`Flat::sources`], how many millionths of the covered vehicles that can be told apart a
/// line or a row of a limit decides that cites it. Rounded down; sources that come to 0 are left out. Empty where the
/// program is not in force.
///
/// # Errors
/// Where a diagram outgrows its budget.
pub fn decides_by_source(flat: &Flat) -> Result<BTreeMap<usize, u32>, Error> {
    let mut shares = shares(flat, |study, line, decided| {
        let mut cited: Vec<(usize, Node)> = line.basis.iter().map(|citation| (citation.source, decided)).collect();
        let mut limits: Vec<usize> = Vec::new();
        line.unmet_where.each_test(&mut |test| {
            if let Test::Limit { limit, .. } = test {
                limits.push(*limit);
            }
        });
        for row in limits.into_iter().filter_map(|limit| flat.limits.get(limit)).flat_map(|limit| &limit.rows) {
            let under = study.condition(&row.condition)?;
            let under = study.both(under, decided)?;
            cited.extend(row.basis.iter().map(|citation| (citation.source, under)));
        }
        Ok(cited)
    })?;
    shares.retain(|_, share| *share > 0);
    Ok(shares)
}

/// The share of the covered vehicles that lines decide, in millionths, by what `keys` makes of each line and the vehicles
/// that it decides.
fn shares<K: Ord>(
    flat: &Flat,
    mut keys: impl FnMut(&mut Study<'_>, &Line, Node) -> Result<Vec<(K, Node)>, TooLarge>,
) -> Result<BTreeMap<K, u32>, Error> {
    if !flat.in_force.is_yes() {
        return Ok(BTreeMap::new());
    }
    let mut study = Study::of(flat)?;
    let mut found: BTreeMap<K, Node> = BTreeMap::new();
    let nodes = study.nodes.clone();
    for (place, line) in flat.lines.iter().enumerate() {
        let decides = deciding(&mut study.compiled, flat, &nodes, place)?;
        let decided = study.both(decides, study.dealt)?;
        for (key, node) in keys(&mut study, line, decided)? {
            let known = found.get(&key).copied().unwrap_or(Node::FALSE);
            let joined = study.any([known, node])?;
            found.insert(key, joined);
        }
    }
    let all = study.count(study.dealt);
    Ok(found.into_iter().map(|(key, node)| (key, study.count(node).millionths_of(&all))).collect())
}
