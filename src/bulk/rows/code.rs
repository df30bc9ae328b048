//! The graph laid out for rows: every conjunction has a bit, and what a value *rules out* is looked up for all of them at
//! once, so that a test costs nothing of its own. Only conjunctions of which parts are conjunctions again take an operation
//! each, level by level; what turns on texts that can be read in several ways comes last ([`super::slices`]).

use super::atoms::OfCodes;
use super::slices::Slices;

/// Bits of conjunctions. In a run through them a bit is set where the conjunction is *amiss*: it does not hold.
pub(super) type Words<const K: usize> = [u64; K];

/// What keeps conjunctions from surely holding, and what rules them out.
pub(super) type Both<const K: usize> = [Words<K>; 2];

/// The conjunctions that are amiss where an input holds, and where it fails.
#[derive(Debug, Clone, Copy)]
pub(super) struct If<const K: usize> {
    pub(super) holds: Words<K>,
    pub(super) fails: Words<K>,
}

/// Where the bit of a conjunction is, and whether its opposite is meant; or always, or never.
#[derive(Debug, Clone, Copy)]
pub(super) enum Place {
    At(usize, u32, bool),
    Fixed(bool),
}

/// What a mask of words rules out, by the place of the word.
#[derive(Debug, Clone)]
pub(super) struct OfWords<const K: usize> {
    pub(super) place: usize,
    pub(super) amiss: Box<[Words<K>; 64]>,
    /// The mask of which nothing is known, and what it rules out.
    pub(super) whole: u64,
    pub(super) unknown: Both<K>,
}

/// What a number rules out: by the number itself, or by the run of numbers and the parity.
#[derive(Debug, Clone)]
pub(super) struct OfNumber<const K: usize> {
    pub(super) place: usize,
    pub(super) least: i64,
    /// By the number less the least.
    pub(super) table: Vec<Words<K>>,
    /// Where each run but the first begins.
    pub(super) bounds: Vec<i64>,
    /// Even and odd numbers of each run.
    pub(super) runs: Vec<[Words<K>; 2]>,
    pub(super) absent: Words<K>,
    pub(super) unknown: Both<K>,
}

/// What a text rules out.
#[derive(Debug, Clone)]
pub(super) struct OfText<const K: usize> {
    pub(super) place: usize,
    pub(super) amiss: Vec<Words<K>>,
    pub(super) unknown: Both<K>,
}

/// What a conjunction asks of single monitors: of incomplete and, above them, complete ones; and of unsupported ones.
#[derive(Debug, Clone, Copy)]
pub(super) struct OfMonitors<const K: usize> {
    pub(super) mask: [u64; 2],
    pub(super) want: [u64; 2],
    pub(super) out: Words<K>,
}

/// How many monitors of a list are in states.
#[derive(Debug, Clone, Copy)]
pub(super) struct OfCount<const K: usize> {
    pub(super) set: u32,
    pub(super) states: u64,
    pub(super) range: [i64; 2],
    pub(super) then: If<K>,
}

/// A conjunction of which parts are conjunctions.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gate<const K: usize> {
    /// The parts.
    pub(super) mask: Words<K>,
    /// Those of them that must not hold.
    pub(super) no: Words<K>,
    /// Its own bit.
    pub(super) out: Words<K>,
}

/// Conjunctions of which none is a part of another.
pub(super) type Level<const K: usize> = Box<[Gate<K>]>;

/// What follows once it is known which monitors count, with as many words of bits as are ruled out by it.
#[derive(Debug, Clone)]
pub(super) struct Count<const O: usize> {
    pub(super) rules: Vec<(Place, u32, bool)>,
    pub(super) excuses: Vec<(Place, Excused)>,
    /// For each mask of states what is amiss where so many are in one of them.
    pub(super) tables: Vec<(u64, Box<[Words<O>; 33]>)>,
    pub(super) only: Vec<(u32, If<O>)>,
    /// A limit that was not read, unless it is looked at with the readings.
    pub(super) not_read: Option<If<O>>,
    /// Place of the earlier number, the range it is in.
    pub(super) not_more: Vec<(usize, [i64; 2], If<O>)>,
}

/// Monitors that an excuse names.
#[derive(Debug, Clone)]
pub(super) enum Excused {
    Monitors(u32),
    Earlier(usize),
    Rows(Vec<(Place, u32)>),
}

/// A flat program laid out in so many words.
#[derive(Debug, Clone)]
pub(super) struct Code<const K: usize> {
    /// Conjunctions that never hold.
    pub(super) never: Words<K>,
    pub(super) words: Vec<OfWords<K>>,
    pub(super) numbers: Vec<OfNumber<K>>,
    pub(super) texts: Vec<OfText<K>>,
    pub(super) codes: Vec<(usize, OfCodes, If<K>)>,
    pub(super) counts: Vec<OfCount<K>>,
    /// Place of the set, states.
    pub(super) pairs: Vec<(usize, u64, If<K>)>,
    pub(super) monitors: Vec<OfMonitors<K>>,
    /// What turns on how open questions are read, where that is not tried way by way.
    pub(super) of_readings: Words<K>,
    /// Rows of tables that a vehicle may be presumed not to be in.
    pub(super) rows: Vec<(usize, Words<K>)>,
    pub(super) before: Vec<Level<K>>,
    /// The count, unless it turns on readings.
    pub(super) count: Option<Count<K>>,
    pub(super) after: Vec<Level<K>>,
    pub(super) slices: Option<Slices>,
    /// Where lines begin, and a bit for each of them.
    pub(super) lines_at: u32,
    pub(super) lines: u128,
    pub(super) asked: Asked,
}

/// What a program asks of rows.
#[derive(Debug, Clone, Default)]
pub(super) struct Asked {
    /// Monitors.
    pub(super) monitors: u32,
    /// Numbers and sets that the count looks at.
    pub(super) counted: Vec<usize>,
    /// Numbers of which only the run is asked: the place, where runs begin, and whether even and odd ones differ.
    pub(super) numbers: Vec<(usize, Vec<i64>, bool)>,
    /// The other values.
    pub(super) raw: Vec<usize>,
    /// Whether readings of open questions are asked for.
    pub(super) readings: bool,
    /// Whether a limit that was not read is asked for.
    pub(super) not_read: bool,
    /// How many conjunctions there are.
    pub(super) conjunctions: usize,
}

/// A flat program laid out in as many words as it takes.
#[derive(Debug, Clone)]
pub(super) enum Coded {
    One(Code<1>),
    Two(Code<2>),
    Many(Box<Code<16>>),
}

impl Coded {
    pub(super) fn asked(&self) -> &Asked {
        match self {
            Coded::One(code) => &code.asked,
            Coded::Two(code) => &code.asked,
            Coded::Many(code) => &code.asked,
        }
    }

    /// How many words.
    pub(super) fn words(&self) -> usize {
        match self {
            Coded::One(_) => 1,
            Coded::Two(_) => 2,
            Coded::Many(_) => 16,
        }
    }
}

/// All bits where it holds, else none.
#[inline(always)]
pub(super) fn all_where(holds: bool) -> u64 {
    0u64.wrapping_sub(u64::from(holds))
}

#[inline(always)]
pub(super) fn join<const K: usize>(words: &mut Words<K>, more: &Words<K>) {
    words.iter_mut().zip(more).for_each(|(word, more)| *word |= more);
}

#[inline(always)]
pub(super) fn meet<const K: usize>(words: &mut Words<K>, other: &Words<K>) {
    words.iter_mut().zip(other).for_each(|(word, other)| *word &= other);
}

/// Adds a bit.
pub(super) fn put<const K: usize>(words: &mut Words<K>, (word, bit): (usize, u32)) {
    if let Some(slot) = words.get_mut(word) {
        *slot |= 1u64.wrapping_shl(bit);
    }
}

impl<const K: usize> If<K> {
    pub(super) const NONE: If<K> = If { holds: [0; K], fails: [0; K] };

    /// What is amiss, where it is known whether the input holds.
    #[inline(always)]
    pub(super) fn add(&self, amiss: &mut Words<K>, holds: bool) {
        let mask = all_where(holds);
        for ((word, holds), fails) in amiss.iter_mut().zip(&self.holds).zip(&self.fails) {
            *word |= holds & mask | fails & !mask;
        }
    }

    /// The same of an input that surely and perhaps holds.
    pub(super) fn both(&self, surely: bool, perhaps: bool) -> Both<K> {
        let of = |is_held: bool, is_failed: bool| {
            let mut amiss = [0; K];
            for ((word, holds), fails) in amiss.iter_mut().zip(&self.holds).zip(&self.fails) {
                *word = holds & all_where(is_held) | fails & all_where(is_failed);
            }
            amiss
        };
        [of(perhaps, !surely), of(surely, !perhaps)]
    }
}
