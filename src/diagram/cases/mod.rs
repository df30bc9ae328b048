//! Vectors: a small set of fully known vehicles that tells a program from every program that differs from it in one place
//! (`mutants`) and in meaning. Each condition of each line is shown by a pair that differs in it and in the verdict
//! (masking modified condition/decision coverage); each mutant that is not equivalent is told apart by a vehicle of the
//! difference diagram, which puts vehicles on both sides of every threshold that matters; each line that can be set aside
//! is shown set aside. Whether a mutant is equivalent, or a condition without effect, is decided by equal diagrams over
//! the vehicles that can exist. Whether the interpreter tells the same is for others to check.

mod bench;
pub mod mutants;

pub use mutants::{Change, Mutant, Site};

use super::example::Example;
use super::{Error, Node};
use crate::program::{Flat, Verdict};
use bench::Bench;
use std::collections::BTreeSet;

/// A fully known vehicle with what follows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Vector {
    /// The vehicle; open questions as read for it.
    pub example: Example,
    /// Its verdict; several only where a part of the text was not read.
    pub expected: BTreeSet<Verdict>,
    /// What it shows, in words.
    pub shows: Vec<String>,
    path: Vec<usize>,
}

/// A pair of vehicles that shows a condition's effect.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pair {
    /// Which condition, in words.
    pub condition: String,
    /// The condition: one test.
    pub test: crate::program::Test<usize>,
    /// Facts that it asks.
    pub facts: Vec<String>,
    /// Place of the vector on which it holds.
    pub holds: usize,
    /// Place of the vector on which it does not.
    pub fails: usize,
}

/// A set of vectors.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Vectors {
    /// The vehicles.
    pub vectors: Vec<Vector>,
    /// A pair for each condition of each line that has an effect.
    pub pairs: Vec<Pair>,
    /// Conditions of lines proved without effect on any verdict.
    pub without_effect: Vec<String>,
    /// Conditions of lines that have an effect but no pair of the kind: every vehicle on which the verdict turns on them
    /// is on one side.
    pub one_sided: Vec<String>,
    /// Changes that were proved to change no verdict, in words.
    pub equivalent: Vec<String>,
    /// Changes that change a verdict of some vehicle.
    pub effective: Vec<Mutant>,
}

/// The vectors of a flat program.
///
/// # Errors
/// Where the diagrams outgrow their budget.
pub fn vectors(flat: &Flat) -> Result<Vectors, Error> {
    let mutants = mutants::mutants(flat);
    let mut bench = Bench::of(flat, &mutants)?;
    let mut set = Vectors::default();
    let mut wanted: Vec<(String, Node)> = Vec::new();
    for mutant in mutants {
        let differs = bench.difference(&mutant.flat)?;
        let of_a_line = matches!(mutant.site, Site::Concerns(_) | Site::Unmet(_));
        if let (Change::Negated(place, test), true) = (&mutant.change, of_a_line) {
            let condition = format!("{}, condition {}", mutants::name(flat, mutant.site), place + 1);
            if differs == Node::FALSE {
                set.without_effect.push(condition);
            } else {
                let facts = mutants::facts_in_words(flat, test);
                bench.pair(&mut set, condition, facts, test, differs)?;
            }
        }
        if differs == Node::FALSE {
            set.equivalent.push(mutant.what);
        } else {
            wanted.push((mutant.what.clone(), differs));
            set.effective.push(mutant);
        }
    }
    for (what, vehicles) in bench.set_aside()? {
        wanted.push((what, vehicles));
    }
    for (verdict, vehicles) in bench.verdicts()? {
        wanted.push((format!("verdict {}", verdict.name(flat)), vehicles));
    }
    cover(&mut bench, &mut set, &wanted)?;
    Ok(set)
}

/// Adds vehicles until each wanted set is met, the greediest first; then leaves out those that none needs.
fn cover(bench: &mut Bench, set: &mut Vectors, wanted: &[(String, Node)]) -> Result<(), Error> {
    let paired = set.vectors.len();
    let mut candidates: Vec<Vec<usize>> = Vec::new();
    let open: Vec<usize> = (0..wanted.len())
        .filter(|at| {
            wanted.get(*at).is_some_and(|(_, node)| !set.vectors.iter().any(|it| bench.is_in(*node, &it.path)))
        })
        .collect();
    for at in &open {
        let Some((_, node)) = wanted.get(*at) else { continue };
        if !candidates.iter().any(|path| bench.is_in(*node, path)) {
            candidates.extend(bench.plainest(*node));
        }
    }
    let mut open: BTreeSet<usize> = open.into_iter().collect();
    while !open.is_empty() {
        let met = |path: &Vec<usize>| -> Vec<usize> {
            open.iter()
                .copied()
                .filter(|at| wanted.get(*at).is_some_and(|(_, node)| bench.is_in(*node, path)))
                .collect()
        };
        let best = candidates.iter().map(|path| (met(path), path)).max_by_key(|(met, _)| met.len());
        let Some((met, path)) = best.filter(|(met, _)| !met.is_empty()) else { break };
        let path = path.clone();
        met.iter().for_each(|at| {
            open.remove(at);
        });
        bench.add(set, path)?;
    }
    for (what, node) in wanted {
        let first = set.vectors.iter().position(|it| bench.is_in(*node, &it.path));
        if let Some(vector) = first.and_then(|at| set.vectors.get_mut(at)).filter(|_| first >= Some(paired)) {
            vector.shows.push(what.clone());
        }
    }
    Ok(())
}
