//! As few vectors as a greedy choice finds that meet everything wanted; then those are left out that nothing needs, a
//! pair taking others in their place where it can.

use super::bench::Bench;
use super::pairs::Needed;
use super::{Vector, Vectors, Wanted};
use crate::diagram::{Error, Node};
use std::collections::BTreeSet;

/// Adds vehicles until everything wanted is met, the one that meets most first.
pub(super) fn cover(bench: &mut Bench, set: &mut Vectors, wanted: &[Wanted]) -> Result<(), Error> {
    let mut candidates: Vec<Vector> = Vec::new();
    let open = |want: &&Wanted| !set.vectors.iter().any(|vector| want.is_met(bench, vector));
    let mut open: Vec<&Wanted> = wanted.iter().filter(open).collect();
    for (place, want) in open.iter().enumerate() {
        let is_met = |want: &Wanted| candidates.iter().any(|vector| want.is_met(bench, vector));
        if is_met(want) {
            continue;
        }
        // Changes to lists are many and alike: one vehicle shows all that can be shown together. None of them is bound to a
        // day, or to a fact that is not known.
        let alike = |other: &&&Wanted| want.is_of_a_list && other.is_of_a_list;
        let others: Vec<&&Wanted> = open.iter().skip(place + 1).filter(alike).filter(|other| !is_met(other)).collect();
        let mut vehicles = want.vehicles;
        for other in others {
            let both = bench.both(vehicles, other.vehicles)?;
            vehicles = if both == Node::FALSE { vehicles } else { both };
        }
        if let Some(path) = bench.plainest(vehicles) {
            candidates.push(bench.vector(path, want.day.unwrap_or(bench.flat.as_of), want.not_known));
        }
    }
    while !open.is_empty() {
        let met = |vector| open.iter().filter(|want| want.is_met(bench, vector)).count();
        let Some((most, best)) = candidates.iter().map(|vector| (met(vector), vector)).max_by_key(|(met, _)| *met)
        else {
            break;
        };
        if most == 0 {
            break;
        }
        open.retain(|want| !want.is_met(bench, best));
        set.vectors.push(best.clone());
    }
    Ok(())
}

/// Leaves out vectors, the last first, as long as everything stays met and every pair stays.
pub(super) fn minimise(bench: &Bench, set: &mut Vectors, wanted: &[Wanted], needed: &[Needed]) {
    let met: Vec<Vec<usize>> = wanted
        .iter()
        .map(|want| {
            (0..set.vectors.len()).filter(|at| set.vectors.get(*at).is_some_and(|it| want.is_met(bench, it))).collect()
        })
        .collect();
    let mut kept: BTreeSet<usize> = (0..set.vectors.len()).collect();
    for at in (0..set.vectors.len()).rev() {
        let is_needed = |met: &Vec<usize>| met.contains(&at) && !met.iter().any(|it| *it != at && kept.contains(it));
        if met.iter().any(is_needed) {
            continue;
        }
        kept.remove(&at);
        let mut moved = Vec::new();
        for (place, (pair, need)) in set.pairs.iter().zip(needed).enumerate() {
            if pair.holds != at && pair.fails != at {
                continue;
            }
            let both = kept.iter().flat_map(|one| kept.iter().map(move |other| (*one, *other)));
            moved
                .push((place, both.into_iter().find(|(one, other)| need.fits(bench, set, &pair.answer, *one, *other))));
        }
        if moved.iter().any(|(_, pair)| pair.is_none()) {
            kept.insert(at);
            continue;
        }
        for (place, pair) in moved {
            if let (Some(slot), Some((one, other))) = (set.pairs.get_mut(place), pair) {
                (slot.holds, slot.fails) = (one, other);
            }
        }
    }
    let new_place = |old: usize| kept.range(..old).count();
    for pair in &mut set.pairs {
        (pair.holds, pair.fails) = (new_place(pair.holds), new_place(pair.fails));
    }
    let mut place = 0;
    set.vectors.retain(|_| {
        place += 1;
        kept.contains(&(place - 1))
    });
}

/// Writes beside each vector what it shows: its side of pairs; else everything for which it is the first.
pub(super) fn say(bench: &Bench, set: &mut Vectors, wanted: &[Wanted]) {
    for pair in &set.pairs {
        let words = if pair.test.is_some() { ["holds", "does not hold"] } else { ["is used", "is not needed"] };
        for (at, word) in [pair.holds, pair.fails].into_iter().zip(words) {
            if let Some(vector) = set.vectors.get_mut(at) {
                vector.shows.push(format!("{} {word}", pair.condition));
            }
        }
    }
    let paired: BTreeSet<usize> = set.pairs.iter().flat_map(|pair| [pair.holds, pair.fails]).collect();
    for want in wanted {
        let first = set.vectors.iter().position(|vector| want.is_met(bench, vector));
        if let Some(at) = first.filter(|at| !paired.contains(at) || want.day.is_some())
            && let Some(vector) = set.vectors.get_mut(at)
        {
            vector.shows.push(want.what.clone());
        }
    }
}
