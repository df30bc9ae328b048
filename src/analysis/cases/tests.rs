//! Tests of what leaves vectors out: of a set in which some are superfluous as few are left as show everything.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests may stop at the first wrong thing")]

use super::bench::Bench;
use super::pairs::{self, Needed};
use super::{Change, Vectors, Wanted, cover, mutants};
use crate::model::Fact;
use crate::program::examples::{example, line, word};
use crate::program::{Condition, FactRef, Flat, Test};
use std::collections::BTreeSet;

/// Fails with the lamp on and few warm-ups; turned away without a connector, or with the lamp dark.
fn flat() -> Flat {
    let few = Test::Number { fact: FactRef::Known(Fact::WarmUps), least: None, most: Some(14) };
    let lamp = Condition::All(vec![word(Fact::LampCommanded, "yes"), Condition::Test(few)]);
    let away = Condition::Any(vec![word(Fact::Connector, "missing"), word(Fact::LampLitKeyOn, "no")]);
    Flat { lines: vec![line("lamp", 2, lamp), line("away", 1, away)], ..example() }
}

/// A set that shows every condition by a pair and reaches every verdict, with what is wanted of it and what its pairs need.
fn set<'f>(flat: &'f Flat) -> (Bench<'f>, Vectors, Vec<Wanted>, Vec<Needed>) {
    let all = mutants::mutants(flat);
    let mut bench = Bench::of(flat, &all).unwrap();
    let (mut set, mut needed) = (Vectors::default(), Vec::new());
    for mutant in all.iter().filter(|mutant| matches!(mutant.change, Change::Negated(..))) {
        let differences = bench.differences(mutant).unwrap();
        needed.extend(pairs::pair(&mut bench, &mut set, mutant, &differences).unwrap().ok());
    }
    let wanted = bench.verdicts(&BTreeSet::new()).unwrap().into_iter();
    let wanted: Vec<Wanted> = wanted
        .map(|(what, vehicles)| Wanted { what, vehicles, day: None, not_known: None, is_of_a_list: false })
        .collect();
    cover::cover(&mut bench, &mut set, &wanted).unwrap();
    (bench, set, wanted, needed)
}

/// Whether everything wanted is met and every pair is one.
fn is_whole(bench: &Bench, set: &Vectors, wanted: &[Wanted], needed: &[Needed]) -> bool {
    let fits = |(pair, need): (&super::Pair, &Needed)| need.fits(bench, set, &pair.answer, pair.holds, pair.fails);
    wanted.iter().all(|want| set.vectors.iter().any(|vector| want.is_met(bench, vector)))
        && set.pairs.iter().zip(needed).all(fits)
}

/// Whether the set without one of its vehicles, with other pairs where there are some, would do as well.
fn can_spare(bench: &Bench, set: &Vectors, wanted: &[Wanted], needed: &[Needed], at: usize) -> bool {
    let mut fewer = set.clone();
    fewer.vectors.remove(at);
    let places = || 0..fewer.vectors.len();
    let has_pair = |(pair, need): (&super::Pair, &Needed)| {
        places().any(|one| places().any(|other| need.fits(bench, &fewer, &pair.answer, one, other)))
    };
    wanted.iter().all(|want| fewer.vectors.iter().any(|vector| want.is_met(bench, vector)))
        && set.pairs.iter().zip(needed).all(has_pair)
}

/// Each vehicle of a least set put in once more, before and after every other: one of the two is left out, and nothing is lost.
#[test]
fn a_vehicle_that_is_in_twice_is_left_out_once() {
    let flat = flat();
    let (bench, mut least, wanted, needed) = set(&flat);
    assert_eq!((least.pairs.len(), wanted.len()), (4, 3));
    cover::minimise(&bench, &mut least, &wanted, &needed);
    assert!(is_whole(&bench, &least, &wanted, &needed));
    let count = least.vectors.len();
    assert!((0..count).all(|at| !can_spare(&bench, &least, &wanted, &needed, at)), "{:#?}", least.vectors);
    for again in 0..count {
        for at in 0..=count {
            let mut twice = least.clone();
            twice.vectors.insert(at, least.vectors[again].clone());
            for pair in &mut twice.pairs {
                pair.holds += usize::from(pair.holds >= at);
                pair.fails += usize::from(pair.fails >= at);
            }
            assert!(is_whole(&bench, &twice, &wanted, &needed));
            cover::minimise(&bench, &mut twice, &wanted, &needed);
            assert_eq!(twice.vectors.len(), count, "{again} once more at {at}");
            assert!(is_whole(&bench, &twice, &wanted, &needed), "{again} once more at {at}");
        }
    }
}
