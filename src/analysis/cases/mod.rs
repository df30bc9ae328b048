//! Vectors: a small set of vehicles that tells a program from every program that differs from it in one place (`mutants`)
//! and in an answer: the verdict, whether a vehicle is due, what follows. Each condition is shown by a pair that differs
//! in it and in the answer (masking modified condition/decision coverage); each mutant that is not equivalent is told
//! apart by a vehicle of the difference diagram, which puts vehicles on both sides of every threshold that matters; each
//! line that is set aside by another is shown so. Whether a mutant is equivalent, or a condition without effect, is
//! decided by equal diagrams over the vehicles that can exist. `suite` does this for all epochs of a program.
//! Whether the interpreter tells the same is for others to check.

mod bench;
mod cover;
mod list_mutants;
pub mod mutants;
mod pairs;
mod pattern;
mod suite;

pub use mutants::{Change, Mutant, Site};
pub use suite::{Part, Suite, slips, suite, vectors_on};

#[cfg(test)]
mod tests;

use crate::diagram::example::Example;
use crate::diagram::{Compiled, Error, Node};
use crate::model::Date;
use crate::program::{Flat, Verdict};
use bench::Bench;
use pairs::Needed;
use std::collections::{BTreeMap, BTreeSet};

/// A vehicle with what follows. Everything that is asked of it is known, but for a fact that is presumed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Vector {
    /// The vehicle; open questions as read for it.
    pub example: Example,
    /// Its verdict; several only where a part of the text was not read.
    pub expected: BTreeSet<Verdict>,
    /// Whether it is due (`due`), and whether each consequence follows (its words); both only where a part of the text
    /// was not read.
    pub follows: BTreeMap<String, BTreeSet<bool>>,
    /// What it shows, in words.
    pub shows: Vec<String>,
    /// The day of its test.
    pub day: Date,
    /// The presumption, by its place, whose fact is not known of it.
    pub not_known: Option<usize>,
    path: Vec<usize>,
}

/// A pair of vehicles that shows a condition's effect.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pair {
    /// Which condition, in words.
    pub condition: String,
    /// In which answer they differ: `verdict`, `due`, or the words of a consequence.
    pub answer: String,
    /// The condition: one test; `None` for a presumption, which is used on the one and not on the other.
    pub test: Option<crate::program::Test<usize>>,
    /// Facts that it asks.
    pub facts: Vec<String>,
    /// Place of the vector on which it holds.
    pub holds: usize,
    /// Place of the vector on which it does not.
    pub fails: usize,
}

/// A condition without a pair.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Unpaired {
    /// Which condition, in words.
    pub condition: String,
    /// Whether it has an effect at all: the answer on some vehicle turns on it.
    pub has_effect: bool,
    /// Why there is none.
    pub why: String,
}

/// A set of vectors.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Vectors {
    /// The vehicles.
    pub vectors: Vec<Vector>,
    /// A pair for each condition, where two such vehicles can exist.
    pub pairs: Vec<Pair>,
    /// Conditions for which there is none, proved.
    pub unpaired: Vec<Unpaired>,
    /// Changes that were proved to change no answer, in words.
    pub equivalent: Vec<String>,
    /// Changes that change an answer on some vehicle.
    pub effective: Vec<Mutant>,
    /// For each of them what names it in every epoch: the place of the text, and the change ([`slips`]).
    pub keys: Vec<String>,
}

/// What has been shown already, by key: a place of the program's text with its change.
#[derive(Debug, Default)]
struct Known {
    caught: BTreeSet<String>,
    shown: BTreeSet<String>,
    paired: BTreeSet<String>,
    equivalent: BTreeMap<String, String>,
    unpaired: BTreeMap<String, Unpaired>,
}

/// Vehicles of which one must be in the set.
struct Wanted {
    what: String,
    vehicles: Node,
    /// On this day only; `None`: any day of the epoch.
    day: Option<Date>,
    /// Not known of it is the fact of this presumption.
    not_known: Option<usize>,
    /// Whether a change to a list wants it, of which there are many.
    is_of_a_list: bool,
}

impl Wanted {
    fn is_met(&self, bench: &Bench, vector: &Vector) -> bool {
        self.day.is_none_or(|day| day == vector.day)
            && self.not_known == vector.not_known
            && bench.is_in(self.vehicles, &vector.path)
    }
}

/// The vectors of a flat program by itself.
///
/// # Errors
/// Where the diagrams outgrow their budget.
pub fn vectors(flat: &Flat) -> Result<Vectors, Error> {
    within_budget(flat)?;
    let mutants = suite::keyed(flat, &suite::Places::default(), mutants::mutants(flat));
    let mut known = Known::default();
    let mut set = add(flat, mutants, &mut known)?;
    set.equivalent = known.equivalent.into_values().collect();
    set.unpaired = known.unpaired.into_values().collect();
    Ok(set)
}

/// A program that is too large by itself is refused as everywhere, before anything is made of its mutants, which are many.
fn within_budget(flat: &Flat) -> Result<(), Error> {
    Compiled::whole(flat).map(|_| ())
}

/// The vectors that are still wanted of one epoch, given what other epochs have shown.
fn add(flat: &Flat, mutants: Vec<(String, Mutant)>, known: &mut Known) -> Result<Vectors, Error> {
    let is_condition = |mutant: &Mutant| matches!(mutant.change, Change::Negated(..) | Change::PresumptionDropped);
    let open = |(key, mutant): &(String, Mutant)| {
        !known.caught.contains(key) || (is_condition(mutant) && !known.paired.contains(key))
    };
    let (keys, mutants): (Vec<String>, Vec<Mutant>) = mutants.into_iter().filter(open).unzip();
    let mut bench = Bench::of(flat, &mutants)?;
    let mut set = Vectors::default();
    let (mut wanted, mut needed): (Vec<Wanted>, Vec<Needed>) = (Vec::new(), Vec::new());
    for (key, mutant) in keys.into_iter().zip(mutants) {
        let differences = bench.differences(&mutant)?;
        let mut vehicles = Node::FALSE;
        for node in differences.values() {
            vehicles = bench.either(vehicles, *node)?;
        }
        if is_condition(&mutant) && !known.paired.contains(&key) {
            match pairs::pair(&mut bench, &mut set, &mutant, &differences)? {
                Ok(need) => {
                    known.paired.insert(key.clone());
                    known.unpaired.remove(&key);
                    needed.push(need);
                }
                Err(unpaired) => {
                    let slot = known.unpaired.entry(key.clone()).or_insert_with(|| unpaired.clone());
                    if unpaired.has_effect && !slot.has_effect {
                        *slot = unpaired;
                    }
                }
            }
        }
        if vehicles == Node::FALSE {
            if !known.caught.contains(&key) {
                known.equivalent.insert(key, mutant.what);
            }
        } else if known.caught.insert(key.clone()) {
            known.equivalent.remove(&key);
            let not_known = match (mutant.site, &mutant.change) {
                (Site::Presumption(place), Change::PresumptionDropped) => Some(place),
                _ => None,
            };
            let (what, day) = (mutant.what.clone(), mutant.change.day());
            wanted.push(Wanted { what, vehicles, day, not_known, is_of_a_list: mutant.change.is_of_a_list() });
            set.effective.push(mutant);
            set.keys.push(key);
        }
    }
    let aside = bench.set_aside(&known.shown)?;
    let verdicts = bench.verdicts(&known.shown)?;
    for (what, vehicles) in aside.into_iter().chain(verdicts) {
        if known.shown.insert(what.clone()) {
            wanted.push(Wanted { what, vehicles, day: None, not_known: None, is_of_a_list: false });
        }
    }
    cover::cover(&mut bench, &mut set, &wanted)?;
    cover::minimise(&bench, &mut set, &wanted, &needed);
    cover::say(&bench, &mut set, &wanted);
    Ok(set)
}
