//! Test vectors: vehicles that together tell a program from every first-order mutant that is not equivalent to it. For
//! each test of each condition the mutants *always* and *never* give a pair in which that test decides; moved bounds give
//! both sides of every threshold. Whether a mutant is equivalent is decided exactly, by equal diagrams.

mod mutants;

pub use mutants::{Mutant, mutants};

use super::allowed::verdicts;
use super::example::example;
use super::forest::{Join, Node};
use super::kernel::{Compiled, anything};
use super::{BUDGET, Error};
use crate::model::Snapshot;
use crate::program::{Flat, Given, Verdict};
use std::collections::BTreeSet;

/// One vehicle with the verdicts it must get.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Vector {
    /// The vehicle.
    pub snapshot: Snapshot,
    /// Its possible verdicts: one, unless an open question or an unread text leaves several.
    pub expected: BTreeSet<Verdict>,
    /// Mutants that it tells from the program: places in the suite's list.
    pub catches: Vec<usize>,
}

/// What became of a mutant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caught {
    /// What was changed.
    pub what: String,
    /// Where.
    pub place: String,
    /// Proven to rule alike on every vehicle that can exist.
    pub equivalent: bool,
    /// Vectors that catch it.
    pub by: Vec<usize>,
}

/// A set of vectors with its score.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suite {
    /// The vectors; none can be left away without losing a mutant.
    pub vectors: Vec<Vector>,
    /// The mutants.
    pub mutants: Vec<Caught>,
}

impl Suite {
    /// Mutants that are not equivalent, and how many of them are caught.
    #[must_use]
    pub fn score(&self) -> (usize, usize) {
        let real = self.mutants.iter().filter(|mutant| !mutant.equivalent);
        (real.clone().count(), real.filter(|mutant| !mutant.by.is_empty()).count())
    }
}

/// Vectors for a program.
///
/// # Errors
/// Where a diagram outgrows its budget.
pub fn cases(flat: &Flat) -> Result<Suite, Error> {
    let given = anything(flat)?;
    let original = Compiled::of(&[(flat, &given)], BUDGET)?;
    let all = mutants(flat);
    let mut caught: Vec<Caught> = Vec::new();
    let mut vectors: Vec<Vector> = Vec::new();
    let mut compiled: Vec<Option<Compiled>> = Vec::new();
    for mutant in &all {
        let mut report =
            Caught { what: mutant.what.clone(), place: mutant.place.clone(), equivalent: false, by: Vec::new() };
        let mut both = Compiled::of(&[(flat, &given), (&mutant.flat, &given)], BUDGET)?;
        let difference = difference(&mut both)?;
        if difference == Node::FALSE {
            report.equivalent = true;
            caught.push(report);
            compiled.push(None);
            continue;
        }
        let alone = Compiled::of(&[(&mutant.flat, &given)], BUDGET)?;
        let known = vectors.iter().any(|vector| {
            Given::of(flat, &vector.snapshot).is_ok_and(|given| catches(&alone, &mutant.flat, &given, &vector.expected))
        });
        if !known {
            let path = both.compiler.forest.example(difference, &both.weights, |value| value == 1);
            let vehicle = example(&both.compiler.space, &[flat], &path.unwrap_or_default());
            if let Ok(given) = Given::of(flat, &vehicle.snapshot) {
                let expected =
                    original.first().map(|nodes| verdicts(&original, nodes, flat, &given)).unwrap_or_default();
                vectors.push(Vector { snapshot: vehicle.snapshot, expected, catches: Vec::new() });
            }
        }
        caught.push(report);
        compiled.push(Some(alone));
    }
    score(flat, &all, &compiled, &mut vectors);
    minimise(&mut vectors);
    for (place, vector) in vectors.iter().enumerate() {
        for mutant in &vector.catches {
            if let Some(report) = caught.get_mut(*mutant) {
                report.by.push(place);
            }
        }
    }
    Ok(Suite { vectors, mutants: caught })
}

/// Vehicles on which two programs of one ladder differ.
fn difference(both: &mut Compiled) -> Result<Node, Error> {
    let roots: Vec<Node> = both.programs.iter().map(|nodes| nodes.ruled).collect();
    let (Some(first), Some(second)) = (roots.first().copied(), roots.get(1).copied()) else {
        return Ok(Node::FALSE);
    };
    if first == second {
        return Ok(Node::FALSE);
    }
    let pairs = both.compiler.forest.join(Join::Pair, first, second)?;
    Ok(both.compiler.forest.where_value(pairs, |value| value / 1024 != value % 1024)?)
}

fn catches(mutant: &Compiled, flat: &Flat, given: &Given, expected: &BTreeSet<Verdict>) -> bool {
    mutant.first().is_some_and(|nodes| verdicts(mutant, nodes, flat, given) != *expected)
}

fn score(flat: &Flat, all: &[Mutant], compiled: &[Option<Compiled>], vectors: &mut [Vector]) {
    for vector in vectors {
        let Ok(given) = Given::of(flat, &vector.snapshot) else {
            continue;
        };
        for (place, (mutant, compiled)) in all.iter().zip(compiled).enumerate() {
            if let Some(compiled) = compiled
                && catches(compiled, &mutant.flat, &given, &vector.expected)
            {
                vector.catches.push(place);
            }
        }
    }
}

/// Leaves away vectors whose mutants the others catch, those that catch the fewest first.
fn minimise(vectors: &mut Vec<Vector>) {
    vectors.sort_by_key(|vector| std::cmp::Reverse(vector.catches.len()));
    let mut at = vectors.len();
    while at > 0 {
        at -= 1;
        let others: BTreeSet<usize> = vectors
            .iter()
            .enumerate()
            .filter(|(place, _)| *place != at)
            .flat_map(|(_, vector)| vector.catches.iter().copied())
            .collect();
        let needed = vectors.get(at).is_some_and(|vector| vector.catches.iter().any(|mutant| !others.contains(mutant)));
        if !needed {
            vectors.remove(at);
        }
    }
}
