//! Carries a plan out over a batch, a block of records at a time. Results of open records are not set.

use super::load::Loader;
use super::plan::{Op, Out, Plan};
use super::words::{BLOCK, WORDS, Words};
use crate::bulk::batch::Batch;
use crate::program::{Flat, Given};

/// What a block came to. Bits of records that are not to be judged, and of records beyond the batch, are 0.
#[derive(Debug)]
pub(crate) struct Outcome<'a> {
    /// Not-subject, then the ladder: where it follows.
    pub(crate) possible: &'a [Words],
    /// For each line: where it decides.
    pub(crate) deciding: &'a [Words],
    /// Records that are left open, those that planes cannot read apart.
    pub(crate) open: Words,
    /// Records that planes cannot read.
    pub(crate) odd: Words,
}

/// Runs the plan over the blocks of a batch. `wanted` tells for a block (its place) which records are to be judged: a
/// block of which none is is left out.
pub(crate) fn run(
    plan: &Plan,
    flat: &Flat,
    bare: &Given,
    batch: &Batch<'_>,
    wanted: impl Fn(usize) -> Words,
    mut done: impl FnMut(usize, &Outcome<'_>),
) {
    let mut loader = Loader::new(plan, flat, bare, batch);
    let mut places: Vec<Words> = vec![[0; WORDS]; plan.places];
    let mut possible: Vec<Words> = vec![[0; WORDS]; plan.possible.len()];
    let mut deciding: Vec<Words> = vec![[0; WORDS]; plan.deciding.len()];
    let is_all_open = plan.is_all_open();
    for block in 0..batch.len().div_ceil(BLOCK) {
        let wanted = wanted(block);
        if wanted.iter().all(|word| *word == 0) {
            continue;
        }
        let mut open = wanted;
        let mut odd = loader.block(block);
        if !is_all_open {
            for op in &plan.ops {
                carry_out(op, &mut loader, &mut places);
            }
            open = result(plan.open, &places);
        }
        let mut told = wanted;
        for (((told, open), odd), wanted) in told.iter_mut().zip(&mut open).zip(&mut odd).zip(wanted) {
            *odd &= wanted;
            *open &= wanted & !*odd;
            *told &= !(*open | *odd);
        }
        let set = |outs: &[Out], planes: &mut [Words]| {
            for (out, plane) in outs.iter().zip(planes) {
                let found = result(*out, &places);
                for ((slot, found), told) in plane.iter_mut().zip(found).zip(told) {
                    *slot = found & told;
                }
            }
        };
        set(&plan.possible, &mut possible);
        set(&plan.deciding, &mut deciding);
        done(block, &Outcome { possible: &possible, deciding: &deciding, open, odd });
    }
}

fn result(out: Out, places: &[Words]) -> Words {
    match out {
        Out::Constant(holds) => [if holds { u64::MAX } else { 0 }; WORDS],
        Out::Place(place, negated) => {
            let found = places.get(usize::from(place)).copied().unwrap_or([0; WORDS]);
            if negated { found.map(|word| !word) } else { found }
        }
    }
}

fn carry_out(op: &Op, loader: &mut Loader<'_, '_>, places: &mut [Words]) {
    match *op {
        Op::And(a, b, to) => both(places, a, b, to, |a, b| a & b),
        Op::ButNot(a, b, to) => both(places, a, b, to, |a, b| a & !b),
        Op::Neither(a, b, to) => both(places, a, b, to, |a, b| !(a | b)),
        Op::Xor(a, b, to) => both(places, a, b, to, |a, b| a ^ b),
        Op::Load(leaf, to) => {
            if let Some(slot) = places.get_mut(usize::from(to)) {
                loader.load(usize::from(leaf), slot);
            }
        }
    }
}

#[inline]
fn both(places: &mut [Words], a: u16, b: u16, to: u16, apply: impl Fn(u64, u64) -> u64) {
    let (Some(one), Some(other)) = (places.get(usize::from(a)), places.get(usize::from(b))) else {
        return;
    };
    let mut found = [0; WORDS];
    for ((slot, one), other) in found.iter_mut().zip(one).zip(other) {
        *slot = apply(*one, *other);
    }
    if let Some(slot) = places.get_mut(usize::from(to)) {
        *slot = found;
    }
}
