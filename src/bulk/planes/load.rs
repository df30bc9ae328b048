//! From columns to planes, a block at a time: bits of codes, comparisons of numbers, the bytes of PID $01 turned on their
//! side. Finds the records that planes cannot read: codes without a meaning, numbers outside their range. Loops over
//! plain arrays, written so that the compiler can use wide registers.

use super::plan::Plan;
use super::shape::{Leaf, Shown, answers, range_of};
use super::words::{BLOCK, WORDS, Words};
use crate::bulk::batch::{Batch, Codes, Column, Known, Whole, is_known};
use crate::bulk::record::fits;
use crate::model::facts::Possible;
use crate::program::{FactRef, Flat, Given};
use wide::u8x16;

const BITS: usize = 8;

/// One column, ready.
#[derive(Debug)]
struct Ready<'a> {
    column: Column<'a>,
    /// For a column of many codes: for each eight questions a byte of answers a code.
    tables: Vec<Vec<u8>>,
    /// Codes whose meaning the fact of this program cannot have.
    unfit: Vec<bool>,
    /// What a number may be, in the column's unit.
    range: Option<(i64, i64)>,
    /// The answers (or codes, of a column of few that are wider than a byte) of this block, where made.
    bytes: Vec<Option<Box<[u8; BLOCK]>>>,
}

/// Reads the columns of a batch.
#[derive(Debug)]
pub(super) struct Loader<'a, 'b> {
    plan: &'b Plan,
    len: usize,
    columns: Vec<Ready<'a>>,
    monitor_bytes: Option<(&'a [u32], Option<Known<'a>>)>,
    block: usize,
    turned: Box<[[u32; BLOCK / 32]; 32]>,
    is_turned: bool,
}

impl<'a, 'b> Loader<'a, 'b> {
    pub(super) fn new(plan: &'b Plan, flat: &Flat, bare: &Given, batch: &Batch<'a>) -> Loader<'a, 'b> {
        let columns = batch.columns().zip(&plan.looks).zip(&plan.shape.columns);
        let columns = columns.enumerate().map(|(place, (((fact, column), looks), shown))| {
            let tables = |meaning: &[Possible]| match looks.is_empty() {
                true => Vec::new(),
                false => plan.tables(place, meaning, |one| answers(flat, bare, looks, one)),
            };
            ready(flat, fact, column, shown, tables)
        });
        Loader {
            plan,
            len: batch.len(),
            columns: columns.collect(),
            monitor_bytes: batch.monitor_bytes(),
            block: 0,
            turned: Box::new([[0; BLOCK / 32]; 32]),
            is_turned: false,
        }
    }

    fn start(&self) -> usize {
        self.block * BLOCK
    }

    /// Turns to a block; the records of it that planes cannot read.
    pub(super) fn block(&mut self, block: usize) -> Words {
        self.block = block;
        self.is_turned = false;
        let (start, end) = (self.start(), (self.start() + BLOCK).min(self.len));
        let mut odd = [0; WORDS];
        for ready in &mut self.columns {
            ready.bytes.iter_mut().for_each(|bytes| *bytes = None);
            if ready.is_odd(start) {
                for row in (start..end).filter(|row| ready.is_odd_row(*row)) {
                    let at = row - start;
                    if let Some(word) = odd.get_mut(at / 64) {
                        *word |= 1 << (at % 64);
                    }
                }
            }
        }
        odd
    }

    /// Reads a leaf of the block.
    pub(super) fn load(&mut self, leaf: usize, to: &mut Words) {
        let Some(leaf) = self.plan.leaves.get(leaf) else {
            return;
        };
        let start = self.start();
        match *leaf {
            Leaf::MonitorBit(bit) => self.monitor_bit(bit, to),
            Leaf::MonitorKnown => known_words(self.monitor_bytes.and_then(|(_, known)| known), start, to),
            Leaf::Known(column) => match self.columns.get(column).map(|ready| ready.column) {
                Some(Column::Coded { known, .. } | Column::Numbers { known, .. }) => known_words(known, start, to),
                None => *to = [0; WORDS],
            },
            Leaf::CodeBit(column, bit) => {
                if let Some(ready) = self.columns.get_mut(column) {
                    ready.code_bit(start, bit, to);
                }
            }
            Leaf::Look(column, place) => {
                if let Some(ready) = self.columns.get_mut(column) {
                    ready.look(start, place, to);
                }
            }
            Leaf::AtLeast(column, bound) => {
                if let Some(Column::Numbers { values, .. }) = self.columns.get(column).map(|ready| ready.column) {
                    at_least(values, start, bound, to);
                }
            }
            Leaf::Odd(column) => {
                if let Some(Column::Numbers { values, .. }) = self.columns.get(column).map(|ready| ready.column) {
                    odd(values, start, to);
                }
            } // A leaf of single records only.
        }
    }

    fn monitor_bit(&mut self, bit: u32, to: &mut Words) {
        if !self.is_turned {
            let bytes = self.monitor_bytes.map_or(&[][..], |(bytes, _)| from(bytes, self.start()));
            turn(bytes, &mut self.turned);
            self.is_turned = true;
        }
        let Some(plane) = usize::try_from(bit).ok().and_then(|bit| self.turned.get(bit)) else {
            return;
        };
        let (pairs, _) = plane.as_chunks::<2>();
        for (word, [low, high]) in to.iter_mut().zip(pairs) {
            *word = u64::from(*low) | u64::from(*high) << 32;
        }
    }
}

fn ready<'a>(
    flat: &Flat,
    fact: &FactRef<String>,
    column: Column<'a>,
    shown: &Shown,
    tables: impl FnOnce(&[Possible]) -> Vec<Vec<u8>>,
) -> Ready<'a> {
    let kind = match fact {
        FactRef::Declared(name) => flat.facts.iter().find(|declared| declared.name == *name),
        FactRef::Known(_) => None,
    };
    let mut ready =
        Ready { column, tables: Vec::new(), unfit: Vec::new(), range: range_of(flat, shown), bytes: vec![] };
    if let Column::Coded { meaning, .. } = column {
        if let Some(declared) = kind
            && meaning.iter().any(|one| !fits(&declared.kind, one))
        {
            ready.unfit = meaning.iter().map(|one| !fits(&declared.kind, one)).collect();
        }
        ready.tables = tables(meaning);
    }
    ready.bytes = (0..ready.tables.len().max(1)).map(|_| None).collect();
    ready
}

impl Ready<'_> {
    /// Whether some record of the block may be one that planes cannot read.
    fn is_odd(&self, start: usize) -> bool {
        match self.column {
            Column::Coded { codes, meaning, .. } => {
                let (least, greatest) = match codes {
                    Codes::U8(all) => ends(from(all, start), 0),
                    Codes::U16(all) => ends(from(all, start), 0),
                    Codes::U32(all) => ends(from(all, start), 0),
                    Codes::I32(all) => ends(from(all, start), 0),
                };
                let is_beyond = usize::try_from(greatest).is_ok_and(|greatest| greatest >= meaning.len());
                !self.unfit.is_empty() || least < 0 || is_beyond
            }
            Column::Numbers { values, .. } => {
                let Some((low, high)) = self.range else {
                    return false;
                };
                let (least, greatest) = match values {
                    Whole::U8(all) => from(all, start).first().map(|first| ends(from(all, start), *first)),
                    Whole::U16(all) => from(all, start).first().map(|first| ends(from(all, start), *first)),
                    Whole::I16(all) => from(all, start).first().map(|first| ends(from(all, start), *first)),
                    Whole::I32(all) => from(all, start).first().map(|first| ends(from(all, start), *first)),
                    Whole::I64(all) => from(all, start).first().map(|first| ends(from(all, start), *first)),
                }
                .unwrap_or((low, low));
                least < low || greatest > high
            }
        }
    }

    fn is_odd_row(&self, row: usize) -> bool {
        match self.column {
            Column::Coded { known, .. } | Column::Numbers { known, .. } if !is_known(known, row) => false,
            Column::Coded { codes, meaning, .. } => codes
                .get(row)
                .is_none_or(|code| code >= meaning.len() || self.unfit.get(code).copied().unwrap_or(false)),
            Column::Numbers { values, .. } => {
                values.get(row).is_none_or(|value| self.range.is_some_and(|(low, high)| value < low || value > high))
            }
        }
    }

    /// A bit of the code, for codes of a byte's width at most.
    fn code_bit(&mut self, start: usize, bit: u32, to: &mut Words) {
        let Column::Coded { codes, .. } = self.column else {
            return;
        };
        if let Codes::U8(all) = codes {
            bits(from(all, start), bit, to);
            return;
        }
        let Some(slot) = self.bytes.first_mut() else {
            return;
        };
        let bytes = slot.get_or_insert_with(|| {
            let mut bytes = Box::new([0; BLOCK]);
            narrow(codes, start, &mut bytes, |code| code.to_le_bytes()[0]);
            bytes
        });
        bits(bytes.as_slice(), bit, to);
    }

    /// The answer to a question, looked up by the code.
    fn look(&mut self, start: usize, place: usize, to: &mut Words) {
        let Column::Coded { codes, .. } = self.column else {
            return;
        };
        let (Some(slot), Some(table)) = (self.bytes.get_mut(place / BITS), self.tables.get(place / BITS)) else {
            return;
        };
        let bytes = slot.get_or_insert_with(|| {
            let mut bytes = Box::new([0; BLOCK]);
            let look_up = |code: u32| usize::try_from(code).ok().and_then(|code| table.get(code)).copied().unwrap_or(0);
            narrow(codes, start, &mut bytes, look_up);
            bytes
        });
        bits(bytes.as_slice(), u32::try_from(place % BITS).unwrap_or(0), to);
    }
}

/// The values of a block.
fn from<T>(all: &[T], start: usize) -> &[T] {
    let rest = all.get(start..).unwrap_or(&[]);
    rest.get(..BLOCK).unwrap_or(rest)
}

/// The least and the greatest, the first of them given.
fn ends<T: Copy + Ord + Into<i64>>(all: &[T], first: T) -> (i64, i64) {
    let least = all.iter().fold(first, |least, one| least.min(*one));
    let greatest = all.iter().fold(first, |greatest, one| greatest.max(*one));
    (least.into(), greatest.into())
}

fn narrow(codes: Codes<'_>, start: usize, to: &mut [u8; BLOCK], look_up: impl Fn(u32) -> u8) {
    match codes {
        Codes::U8(all) => to.iter_mut().zip(from(all, start)).for_each(|(to, code)| *to = look_up(u32::from(*code))),
        Codes::U16(all) => to.iter_mut().zip(from(all, start)).for_each(|(to, code)| *to = look_up(u32::from(*code))),
        Codes::U32(all) => to.iter_mut().zip(from(all, start)).for_each(|(to, code)| *to = look_up(*code)),
        Codes::I32(all) => {
            to.iter_mut().zip(from(all, start)).for_each(|(to, code)| *to = look_up(code.cast_unsigned()))
        }
    }
}

/// One bit of each byte.
fn bits(all: &[u8], bit: u32, to: &mut Words) {
    let bit = 1u8.checked_shl(bit).unwrap_or(0);
    by_word(all, to, |chunk| together(chunk, bit));
}

/// A bit of each of 64 bytes, brought together in their order.
#[inline]
fn together(bytes: &[u8; 64], bit: u8) -> u64 {
    let wanted = u8x16::splat(bit);
    let (sixteens, _) = bytes.as_chunks::<16>();
    let mask = |sixteen: &[u8; 16]| (u8x16::from(*sixteen) & wanted).simd_eq(wanted).to_bitmask();
    sixteens.iter().rev().fold(0, |word, sixteen| word << 16 | u64::from(mask(sixteen)))
}

/// A word of each 64 values; the last ones are filled up with the type's own nought.
fn by_word<T: Copy + Default>(all: &[T], to: &mut Words, word_of: impl Fn(&[T; 64]) -> u64) {
    let (whole, rest) = all.as_chunks::<64>();
    let mut words = to.iter_mut();
    for (word, chunk) in words.by_ref().zip(whole) {
        *word = word_of(chunk);
    }
    // `zip` takes a word before it finds that no chunk is left, so that what is left is counted anew.
    if let (false, Some(word)) = (rest.is_empty(), to.get_mut(whole.len())) {
        let mut padded = [T::default(); 64];
        padded.iter_mut().zip(rest).for_each(|(to, value)| *to = *value);
        *word = word_of(&padded);
    }
    let used = whole.len() + usize::from(!rest.is_empty());
    to.iter_mut().skip(used).for_each(|word| *word = 0);
}

/// Where something holds of a value.
fn flags<T: Copy + Default>(all: &[T], to: &mut Words, holds: impl Fn(T) -> bool) {
    by_word(all, to, |chunk| {
        let mut flags = [0u8; 64];
        flags.iter_mut().zip(chunk).for_each(|(flag, value)| *flag = u8::from(holds(*value)));
        together(&flags, 1)
    });
}

fn compare<T: Copy + Default + Ord + TryFrom<i64> + Into<i64>>(all: &[T], bound: i64, to: &mut Words) {
    match T::try_from(bound) {
        Ok(bound) => flags(all, to, |value| value >= bound),
        // Beyond what the type holds: all or none, as any of its values tells.
        Err(_) => *to = [if bound < T::default().into() { u64::MAX } else { 0 }; WORDS],
    }
}

fn at_least(values: Whole<'_>, start: usize, bound: i64, to: &mut Words) {
    match values {
        Whole::U8(all) => compare(from(all, start), bound, to),
        Whole::U16(all) => compare(from(all, start), bound, to),
        Whole::I16(all) => compare(from(all, start), bound, to),
        Whole::I32(all) => compare(from(all, start), bound, to),
        Whole::I64(all) => flags(from(all, start), to, |value| value >= bound),
    }
}

fn odd(values: Whole<'_>, start: usize, to: &mut Words) {
    match values {
        Whole::U8(all) => flags(from(all, start), to, |value| value & 1 == 1),
        Whole::U16(all) => flags(from(all, start), to, |value| value & 1 == 1),
        Whole::I16(all) => flags(from(all, start), to, |value| value & 1 == 1),
        Whole::I32(all) => flags(from(all, start), to, |value| value & 1 == 1),
        Whole::I64(all) => flags(from(all, start), to, |value| value & 1 == 1),
    }
}

/// The bits of which records are known.
fn known_words(known: Option<Known<'_>>, start: usize, to: &mut Words) {
    let Some(known) = known else {
        *to = [u64::MAX; WORDS];
        return;
    };
    let first = known.offset.saturating_add(start);
    let bytes = known.bits.get(first / 8..).unwrap_or(&[]);
    let shift = u32::try_from(first % 8).unwrap_or(0);
    for (place, word) in to.iter_mut().enumerate() {
        let rest = bytes.get(place * 8..).unwrap_or(&[]);
        let mut eight = [0; 8];
        eight.iter_mut().zip(rest).for_each(|(to, byte)| *to = *byte);
        let low = u64::from_le_bytes(eight);
        *word = match (shift, rest.get(8)) {
            (0, _) => low,
            (_, next) => low >> shift | u64::from(next.copied().unwrap_or(0)) << (64 - shift),
        };
    }
}

/// Turns the bytes of 1024 records on their side: bit *r* of `to[b][g]` is bit *b* of record 32·g + r. By halves, as
/// a square of bits is turned; all groups at once.
fn turn(bytes: &[u32], to: &mut [[u32; BLOCK / 32]; 32]) {
    let (groups, rest) = bytes.as_chunks::<32>();
    // Read in the order of memory, written across: what is written stays in the nearest cache.
    for (place, group) in groups.iter().enumerate() {
        for (row, record) in to.iter_mut().zip(group) {
            row.iter_mut().skip(place).take(1).for_each(|slot| *slot = *record);
        }
    }
    for (at, row) in to.iter_mut().enumerate() {
        if let Some(slots) = row.get_mut(groups.len()..) {
            slots.fill(0);
            slots.iter_mut().take(1).for_each(|slot| *slot = rest.get(at).copied().unwrap_or(0));
        }
    }
    for (step, mask) in [(16, 0x0000_FFFF), (8, 0x00FF_00FF), (4, 0x0F0F_0F0F), (2, 0x3333_3333), (1, 0x5555_5555u32)] {
        for pair in to.chunks_mut(2 * step) {
            let (upper, lower) = pair.split_at_mut(step.min(pair.len()));
            for (one, other) in upper.iter_mut().zip(lower) {
                for (one, other) in one.iter_mut().zip(other) {
                    let swap = ((*one >> step) ^ *other) & mask;
                    *other ^= swap;
                    *one ^= swap << step;
                }
            }
        }
    }
}
