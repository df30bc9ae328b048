//! What turns on how open questions are read, for every way of reading them at once: a conjunction is a word of bits, a bit
//! a way. Limits that were not read stand with it, since they too leave something open of which all facts are known.

use super::code::{Both, Count, Place, Words, all_where};
use super::run::{both_hold, holds};
use crate::evaluate::States;

/// Ways of reading that are tried one by one, as the interpreter has it.
pub(super) const MOST_WAYS: usize = 64;
/// The most conjunctions that turn on readings.
pub(super) const MOST_SLOTS: usize = 64;
const FEW_SLOTS: usize = 16;

/// A part that turns on readings: its slot, and whether its opposite is meant.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part {
    pub(super) slot: usize,
    pub(super) is_negated: bool,
}

/// A conjunction that turns on readings.
#[derive(Debug, Clone)]
pub(super) struct Slice {
    /// Its parts that do not, as a conjunction.
    pub(super) base: Place,
    pub(super) parts: Box<[Part]>,
}

/// Where a slot is put for one way of reading.
#[derive(Debug, Clone, Copy)]
pub(super) struct Out {
    pub(super) slot: usize,
    pub(super) word: usize,
    pub(super) bit: u32,
}

/// All that turns on readings. Slots are readings, then what is counted or the limit that was not read, then conjunctions.
#[derive(Debug, Clone)]
pub(super) struct Slices {
    /// Every way.
    pub(super) all: u64,
    /// The ways in which each reading is taken.
    pub(super) readings: Vec<u64>,
    /// Whether the slot after readings is a limit that was not read.
    pub(super) has_limit: bool,
    pub(super) before: Vec<Slice>,
    /// The count, where it turns on readings: a bit for each thing asked of it, and what it looks at.
    pub(super) count: Option<(Count<1>, usize, Vec<Out>)>,
    pub(super) after: Vec<Slice>,
    /// The roots.
    pub(super) outs: Vec<Out>,
    pub(super) slots: usize,
}

/// Ways in which something holds.
pub(super) trait Ways: Copy {
    const NONE: Self;
    /// In these ways, and else not.
    fn of(ways: u64) -> Self;
    /// The same in each of these ways, and in others as before.
    fn add(self, holds: [bool; 2], ways: u64) -> Self;
    fn and(self, other: Self) -> Self;
    fn not(self, all: u64) -> Self;
    /// Whether it surely and whether it perhaps holds in a way.
    fn at(self, way: u32) -> [bool; 2];
    /// The ways in which it is as in this one.
    fn like(self, way: u32) -> u64;
}

impl Ways for u64 {
    const NONE: u64 = 0;

    #[inline(always)]
    fn of(ways: u64) -> u64 {
        ways
    }

    #[inline(always)]
    fn add(self, holds: [bool; 2], ways: u64) -> u64 {
        self & !ways | ways & all_where(holds[0])
    }

    #[inline(always)]
    fn and(self, other: u64) -> u64 {
        self & other
    }

    #[inline(always)]
    fn not(self, all: u64) -> u64 {
        all & !self
    }

    #[inline(always)]
    fn at(self, way: u32) -> [bool; 2] {
        [self.wrapping_shr(way) & 1 == 1; 2]
    }

    #[inline(always)]
    fn like(self, way: u32) -> u64 {
        self ^ (self.wrapping_shr(way) & 1).wrapping_sub(1)
    }
}

/// Surely, and perhaps.
impl Ways for [u64; 2] {
    const NONE: [u64; 2] = [0; 2];

    #[inline(always)]
    fn of(ways: u64) -> [u64; 2] {
        [ways; 2]
    }

    #[inline(always)]
    fn add(self, holds: [bool; 2], ways: u64) -> [u64; 2] {
        [self[0].add([holds[0]; 2], ways), self[1].add([holds[1]; 2], ways)]
    }

    #[inline(always)]
    fn and(self, other: [u64; 2]) -> [u64; 2] {
        [self[0] & other[0], self[1] & other[1]]
    }

    #[inline(always)]
    fn not(self, all: u64) -> [u64; 2] {
        [all & !self[1], all & !self[0]]
    }

    #[inline(always)]
    fn at(self, way: u32) -> [bool; 2] {
        self.map(|ways| ways.wrapping_shr(way) & 1 == 1)
    }

    #[inline(always)]
    fn like(self, way: u32) -> u64 {
        self[0].like(way) & self[1].like(way)
    }
}

/// What is known of the conjunctions that do not turn on readings.
pub(super) trait State: Copy {
    type Ways: Ways;
    fn holds(&self, place: Place, all: u64) -> Self::Ways;
    fn put(&mut self, word: usize, bit: u32, holds: [bool; 2]);
    /// What is amiss of what is asked of the count; `None`: a limit that was not read may or may not allow it.
    fn count(&self, count: &Count<1>, values: &[i64], states: States) -> Option<Both<1>>;
}

fn put_bit<const K: usize>(amiss: &mut Words<K>, word: usize, bit: u32, holds: bool) {
    if let Some(slot) = amiss.get_mut(word) {
        *slot = *slot & !1u64.wrapping_shl(bit) | u64::from(!holds).wrapping_shl(bit);
    }
}

impl<const K: usize> State for Words<K> {
    type Ways = u64;

    #[inline(always)]
    fn holds(&self, place: Place, all: u64) -> u64 {
        if holds(self, place) { all } else { 0 }
    }

    #[inline(always)]
    fn put(&mut self, word: usize, bit: u32, holds: [bool; 2]) {
        put_bit(self, word, bit, holds[0]);
    }

    fn count(&self, count: &Count<1>, values: &[i64], states: States) -> Option<Both<1>> {
        let (amiss, is_incomplete) = count.known(self, values, states)?;
        (count.not_read.is_none() || !is_incomplete).then_some([amiss; 2])
    }
}

impl<const K: usize> State for Both<K> {
    type Ways = [u64; 2];

    #[inline(always)]
    fn holds(&self, place: Place, all: u64) -> [u64; 2] {
        both_hold(self, place).map(|holds| if holds { all } else { 0 })
    }

    #[inline(always)]
    fn put(&mut self, word: usize, bit: u32, holds: [bool; 2]) {
        self.iter_mut().zip(holds).for_each(|(amiss, holds)| put_bit(amiss, word, bit, holds));
    }

    fn count(&self, count: &Count<1>, values: &[i64], states: States) -> Option<Both<1>> {
        Some(count.both(self, values, states).0)
    }
}

/// The slots of a row, as many as a program needs or some more.
struct Slots<W, const N: usize>([W; N]);

impl<W: Ways, const N: usize> Slots<W, N> {
    #[inline(always)]
    fn get(&self, slot: usize) -> W {
        self.0.get(slot % N).copied().unwrap_or(W::NONE)
    }

    #[inline(always)]
    fn set(&mut self, slot: usize, ways: W) {
        if let Some(place) = self.0.get_mut(slot % N) {
            *place = ways;
        }
    }

    #[inline(always)]
    fn run<S: State<Ways = W>>(&mut self, slices: &[Slice], first: usize, state: &S, all: u64) {
        for (at, slice) in slices.iter().enumerate() {
            let mut ways = state.holds(slice.base, all);
            for part in &slice.parts {
                let part_ways = self.get(part.slot);
                ways = ways.and(if part.is_negated { part_ways.not(all) } else { part_ways });
            }
            self.set(first + at, ways);
        }
    }

    /// Of these ways those in which the slots come to what they come to in one of them.
    #[inline(always)]
    fn alike(&self, outs: &[Out], way: u32, ways: u64) -> u64 {
        outs.iter().fold(ways, |alike, out| alike & self.get(out.slot).like(way))
    }

    /// The conjunctions as they are in one way.
    #[inline(always)]
    fn put<S: State<Ways = W>>(&self, outs: &[Out], way: u32, state: &S) -> S {
        let mut one = *state;
        outs.iter().for_each(|out| one.put(out.word, out.bit, self.get(out.slot).at(way)));
        one
    }
}

impl Slices {
    /// Whether coverage, the first of the roots, turns on readings.
    #[inline]
    pub(super) fn turns_on_coverage(&self) -> bool {
        self.outs.first().is_some_and(|out| out.word == 0 && out.bit == 0)
    }

    /// Each different way in which the row comes out: the conjunctions with the roots as they are then. `limit`: whether a
    /// limit that was not read surely and whether it perhaps allows the monitors. `None`: only with two bits.
    #[inline(always)]
    pub(super) fn each<S: State>(
        &self,
        state: &S,
        limit: [bool; 2],
        (values, states): (&[i64], States),
        each: impl FnMut(&S),
    ) -> Option<()> {
        if self.slots <= FEW_SLOTS {
            self.each_in(state, limit, (values, states), each, Slots::<S::Ways, FEW_SLOTS>([S::Ways::NONE; FEW_SLOTS]))
        } else {
            self.each_in(
                state,
                limit,
                (values, states),
                each,
                Slots::<S::Ways, MOST_SLOTS>([S::Ways::NONE; MOST_SLOTS]),
            )
        }
    }

    #[inline(always)]
    fn each_in<S: State, const N: usize>(
        &self,
        state: &S,
        limit: [bool; 2],
        (values, states): (&[i64], States),
        mut each: impl FnMut(&S),
        mut slots: Slots<S::Ways, N>,
    ) -> Option<()> {
        let all = self.all;
        for (slot, ways) in self.readings.iter().enumerate() {
            slots.set(slot, S::Ways::of(*ways));
        }
        let mut first = self.readings.len();
        if self.has_limit {
            slots.set(first, S::Ways::NONE.add(limit, all));
            first += 1;
        }
        if let Some((_, bits, _)) = &self.count {
            first += bits;
        }
        slots.run(&self.before, first, state, all);
        if let Some((count, bits, outs)) = &self.count {
            let mut left = all;
            while left != 0 {
                let way = left.trailing_zeros();
                let alike = slots.alike(outs, way, left);
                let amiss = slots.put(outs, way, state).count(count, values, states)?;
                for (bit, slot) in (0u32..).zip(self.readings.len()..self.readings.len() + bits) {
                    let held = amiss.map(|[amiss]| amiss.wrapping_shr(bit) & 1 == 0);
                    slots.set(slot, slots.get(slot).add(held, alike));
                }
                left &= !alike;
            }
        }
        slots.run(&self.after, first + self.before.len(), state, all);
        let mut left = all;
        while left != 0 {
            let way = left.trailing_zeros();
            each(&slots.put(&self.outs, way, state));
            left &= !slots.alike(&self.outs, way, left);
        }
        Some(())
    }
}
