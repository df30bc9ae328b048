//! The graph laid out in words of 64 bits: which bits a value sets, and for each conjunction up to two masked comparisons.
//! Words are filled in order, so that a conjunction finds its parts done.

use super::atoms::OfCodes;

/// How many words there are.
pub(super) const WORDS: usize = 32;

/// The bits of a row: the first word is monitors that are incomplete and, above them, complete; the second those that are
/// unsupported.
#[derive(Debug, Clone, Copy)]
pub(super) struct Words(pub(super) [u64; WORDS]);

/// Some bits of a word, and what they must be.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Term {
    pub(super) word: u8,
    pub(super) mask: u64,
    pub(super) want: u64,
}

/// A conjunction: the bit is set where both terms hold.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gate {
    pub(super) first: Term,
    pub(super) second: Term,
    pub(super) bit: u32,
    /// The table of which it is a row, or [`NO_TABLE`].
    pub(super) table: u8,
    /// Whether it turns on how an open question is read.
    pub(super) is_of_readings: bool,
}

pub(super) const NO_TABLE: u8 = u8::MAX;

/// Conjunctions whose bits are in one word.
#[derive(Debug, Clone, Default)]
pub(super) struct Run {
    pub(super) out: u8,
    /// Their bits.
    pub(super) mask: u64,
    pub(super) gates: Vec<Gate>,
}

impl Run {
    pub(super) fn of(out: u8, gates: Vec<Gate>) -> Run {
        let mask = gates.iter().fold(0, |mask, gate| mask | 1u64.wrapping_shl(gate.bit));
        Run { out, mask, gates }
    }
}

/// Where a bit is, and whether its opposite is meant; `None`: always, or never.
#[derive(Debug, Clone, Copy)]
pub(super) enum Place {
    At(u8, u32, bool),
    Fixed(bool),
}

/// What an unknown value sets: surely, perhaps.
pub(super) type Both = [u64; 2];

/// Bits that a mask of words sets, by the place of the word.
#[derive(Debug, Clone)]
pub(super) struct OfWords {
    pub(super) place: usize,
    pub(super) bits: Box<[u64; 64]>,
}

/// Bits that a number sets: by the number itself, or by the run of numbers and the parity.
#[derive(Debug, Clone)]
pub(super) struct OfNumber {
    pub(super) place: usize,
    pub(super) least: i64,
    /// By the number less the least.
    pub(super) table: Vec<u64>,
    /// Where each run but the first begins.
    pub(super) bounds: Vec<i64>,
    /// Even and odd numbers of each run.
    pub(super) runs: Vec<[u64; 2]>,
    pub(super) unknown: Both,
}

/// Bits that a text sets.
#[derive(Debug, Clone)]
pub(super) struct OfText {
    pub(super) place: usize,
    pub(super) bits: Vec<u64>,
    pub(super) unknown: Both,
}

/// What fills a word.
#[derive(Debug, Clone, Default)]
pub(super) struct Load {
    pub(super) out: u8,
    pub(super) words: Vec<OfWords>,
    pub(super) numbers: Vec<OfNumber>,
    pub(super) texts: Vec<OfText>,
    pub(super) codes: Vec<(usize, OfCodes, u64)>,
    /// Monitors, states, least, most, bit.
    pub(super) counts: Vec<(u32, u64, i64, i64, u64)>,
    /// Place of the set, states, bit.
    pub(super) pairs: Vec<(usize, u64, u64)>,
}

/// What follows once it is known which monitors count.
#[derive(Debug, Clone)]
pub(super) struct Count {
    pub(super) out: u8,
    pub(super) rules: Vec<(Place, u32, bool)>,
    pub(super) excuses: Vec<(Place, Excused)>,
    /// For each mask of states the bits of how many are in one of them.
    pub(super) tables: Vec<(u64, [u64; 33])>,
    pub(super) only: Vec<(u32, u64)>,
    pub(super) not_read: u64,
    /// Place of the earlier number, the range it is in, bit.
    pub(super) not_more: Vec<(usize, [i64; 2], u64)>,
    /// Whether it turns on how an open question is read.
    pub(super) is_of_readings: bool,
}

/// Monitors that an excuse names.
#[derive(Debug, Clone)]
pub(super) enum Excused {
    Monitors(u32),
    Earlier(usize),
    Rows(Vec<(Place, u32)>),
}

/// The words of a flat program.
#[derive(Debug, Clone, Default)]
pub(super) struct Code {
    pub(super) loads: Vec<Load>,
    pub(super) before: Vec<Run>,
    pub(super) count: Option<Count>,
    pub(super) after: Vec<Run>,
    pub(super) roots: Vec<Run>,
    /// The conjunctions of these that turn on readings: before the count, after it, and the roots.
    pub(super) again: [Vec<Run>; 3],
    /// Word of readings, and for each open question the bits of each way of reading it; none: there is no question, or
    /// there are too many ways, and each reading is perhaps so.
    pub(super) readings: u8,
    pub(super) questions: Vec<Vec<u64>>,
    /// The bits of all readings of open questions.
    pub(super) all_readings: u64,
    /// What the roots turn on: for each bit of their words, coverage and what is not of lines first, the questions.
    pub(super) turns_on: [Vec<u64>; 3],
    /// Monitors that are asked.
    pub(super) monitors: u32,
    /// Words of the roots: coverage and what is not of lines, and lines.
    pub(super) root: u8,
    pub(super) lines: [u8; 2],
    /// Values that are asked, numbers apart of which nothing but their run is asked.
    pub(super) raw_places: Vec<usize>,
}
