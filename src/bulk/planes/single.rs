//! A flat program for one record at a time: which bits to make of its slots, and the functions of them as cubes.

use super::cubes::{Cube, Writer};
use super::facts::Builder;
use super::graph::Bit;
use super::shape::{FEW, Kind, Leaf, Shape, Shown, answer, range_of};
use super::verdict::parts;
use crate::model::facts::{ABSENT, Possible};
use crate::program::{FactRef, Flat, Given};

/// What a slot holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Input {
    /// A mask of words.
    Words,
    /// A number in this scale.
    Number(i64),
    /// A place in a list of meanings.
    Coded(Vec<Possible>),
}

/// How 64 of the bits are made; places are those within the 64.
#[derive(Debug, Clone, Default)]
pub(crate) struct Half {
    /// Slot, bits to keep, place of the lowest.
    pub(crate) words: Vec<(usize, u64, u32)>,
    /// Slot of a fact that may be absent, place of the bit that says so.
    pub(crate) absent: Vec<(usize, u32)>,
    /// Slot, number from which the bit is set, place.
    pub(crate) numbers: Vec<(usize, i64, u32)>,
    /// Slot, place of the bit that says that the number is odd.
    pub(crate) odd: Vec<(usize, u32)>,
    /// Slot, bits for each code.
    pub(crate) coded: Vec<(usize, Vec<u64>)>,
    /// State (its place), bits to keep, place of the lowest.
    pub(crate) monitors: Vec<(usize, u32, u32)>,
    /// Monitors of each state, number from which the bit is set, place.
    pub(crate) counted: Vec<([u32; 3], u32, u32)>,
}

/// How the bits are made, and the functions of them.
#[derive(Debug, Clone, Default)]
pub(crate) struct Sources {
    /// The lower and the higher 64 bits.
    pub(crate) halves: [Half; 2],
    /// For each slot of a number, its range.
    pub(crate) ranges: Vec<(usize, i64, i64)>,
    /// Slots of words that are asked.
    pub(crate) masks: Vec<usize>,
    /// Coverage, whether the record is open, rows left out, lines, relabellings: the cubes of each.
    pub(crate) functions: Vec<Vec<Cube>>,
}

impl Sources {
    /// The half that a place of all bits is in, and the place within.
    fn half(&mut self, place: u32) -> (&mut Half, u32) {
        let [lower, higher] = &mut self.halves;
        if place < 64 { (lower, place) } else { (higher, place - 64) }
    }
}

/// The bits and functions of a flat program for slots; `None` where it needs too many, or is open on every record.
pub(crate) fn compile(flat: &Flat, bare: &Given, slots: &[(FactRef<String>, Input)]) -> Option<Sources> {
    let shown = |(fact, input): &(FactRef<String>, Input)| Shown {
        fact: fact.clone(),
        kind: match input {
            Input::Words => Kind::Mask,
            Input::Number(scale) => Kind::Numbers(*scale),
            Input::Coded(meaning) if meaning.len() <= FEW => Kind::Few(meaning.clone()),
            Input::Coded(_) => Kind::Many,
        },
        may_be_unknown: false,
    };
    let shape = Shape { columns: slots.iter().map(shown).collect(), monitor_bytes: None, monitor_states: true };
    let mut builder = Builder::new(flat, bare, &shape);
    builder.settle();
    let parts = parts(&mut builder);
    if parts.open == Bit::ALWAYS || builder.is_beyond {
        return None;
    }
    let mut sources = Sources::default();
    let (places, groups) = lay_out(&builder, &shape, slots, &mut sources)?;
    let mut writer = Writer::new(&builder.graph, &places, &groups);
    let first = [parts.covered, parts.open].into_iter();
    for function in first.chain(parts.left_out).chain(parts.live).chain(parts.becomes) {
        sources.functions.push(writer.cubes(function)?);
    }
    Some(sources)
}

/// Gives each leaf a bit; and the bits of which one at most is set.
fn lay_out(
    builder: &Builder<'_>,
    shape: &Shape,
    slots: &[(FactRef<String>, Input)],
    sources: &mut Sources,
) -> Option<(Vec<Option<u32>>, Vec<u128>)> {
    let mut places: Vec<Option<u32>> = vec![None; builder.leaves.len()];
    let mut groups = Vec::new();
    let mut next = 0u32;
    let mut take = |count: u32| {
        // Bits that are set together lie in one half.
        if next % 64 + count > 64 {
            next = next.next_multiple_of(64);
        }
        let first = next;
        next += count;
        (next <= 128).then_some(first)
    };
    let put = |places: &mut Vec<Option<u32>>, wanted: &Leaf, place: u32| {
        for (leaf, slot) in builder.leaves.iter().zip(places.iter_mut()) {
            if leaf == wanted {
                *slot = Some(place);
            }
        }
    };
    for state in 0..3usize {
        let first = u32::try_from(32 * state).ok()?;
        let used: Vec<u32> = builder
            .leaves
            .iter()
            .filter_map(|leaf| match leaf {
                Leaf::MonitorBit(bit) if (first..first + 32).contains(bit) => Some(bit - first),
                _ => None,
            })
            .collect();
        let Some(top) = used.iter().max() else { continue };
        let lowest = take(top + 1)?;
        let (half, place) = sources.half(lowest);
        half.monitors.push((state, used.iter().fold(0, |mask, bit| mask | 1 << bit), place));
        used.iter().for_each(|bit| put(&mut places, &Leaf::MonitorBit(first + bit), lowest + bit));
    }
    for (slot, (shown, (_, input))) in shape.columns.iter().zip(slots).enumerate() {
        match input {
            Input::Words => {
                let used: Vec<u32> =
                    (0..64).filter(|bit| builder.leaves.contains(&Leaf::CodeBit(slot, *bit))).collect();
                if !used.is_empty() {
                    sources.masks.push(slot);
                }
                let absent = ABSENT.trailing_zeros();
                let mut group = 0u128;
                if let Some(top) = used.iter().filter(|bit| **bit != absent).max() {
                    let lowest = take(top + 1)?;
                    let keep = used.iter().filter(|bit| **bit != absent).fold(0, |mask, bit| mask | 1u64 << bit);
                    let (half, place) = sources.half(lowest);
                    half.words.push((slot, keep, place));
                    group |= u128::from(keep) << lowest;
                    for bit in used.iter().filter(|bit| **bit != absent) {
                        put(&mut places, &Leaf::CodeBit(slot, *bit), lowest + bit);
                    }
                }
                if used.contains(&absent) {
                    let place = take(1)?;
                    let (half, within) = sources.half(place);
                    half.absent.push((slot, within));
                    group |= 1u128 << place;
                    put(&mut places, &Leaf::CodeBit(slot, absent), place);
                }
                groups.push(group);
            }
            Input::Number(_) => {
                let (least, most) = range_of(builder.flat, shown).unwrap_or((i64::MIN + 1, i64::MAX));
                sources.ranges.push((slot, least, most));
                for leaf in &builder.leaves {
                    match leaf {
                        Leaf::AtLeast(column, bound) if *column == slot => {
                            let place = take(1)?;
                            let (half, within) = sources.half(place);
                            half.numbers.push((slot, *bound, within));
                            put(&mut places, leaf, place);
                        }
                        Leaf::Odd(column) if *column == slot => {
                            let place = take(1)?;
                            let (half, within) = sources.half(place);
                            half.odd.push((slot, within));
                            put(&mut places, leaf, place);
                        }
                        _ => {}
                    }
                }
            }
            Input::Coded(meaning) if meaning.len() <= FEW => {
                let used: Vec<u32> = (0..8).filter(|bit| builder.leaves.contains(&Leaf::CodeBit(slot, *bit))).collect();
                let Some(top) = used.iter().max() else { continue };
                let lowest = take(top + 1)?;
                let (half, first) = sources.half(lowest);
                let mask = used.iter().fold(0u64, |mask, bit| mask | 1 << bit);
                half.coded.push((slot, (0u64..).take(meaning.len()).map(|code| (code & mask) << first).collect()));
                used.iter().for_each(|bit| put(&mut places, &Leaf::CodeBit(slot, *bit), lowest + bit));
            }
            Input::Coded(meaning) => {
                let looks = builder.looks.get(slot).filter(|looks| looks.len() <= 64)?;
                let lowest = take(u32::try_from(looks.len()).ok()?)?;
                let (half, first) = sources.half(lowest);
                let bits = meaning.iter().map(|one| {
                    (first..).zip(looks).fold(0u64, |bits, (place, (fact, look))| {
                        bits | u64::from(answer(builder.flat, builder.bare, fact, look, one)) << place
                    })
                });
                half.coded.push((slot, bits.collect()));
                for place in 0..looks.len() {
                    put(&mut places, &Leaf::Look(slot, place), lowest + u32::try_from(place).ok()?);
                }
            }
        }
    }
    for leaf in &builder.leaves {
        if let Leaf::Counted(set, bound) = leaf {
            let place = take(1)?;
            let (half, within) = sources.half(place);
            half.counted.push((*builder.sets.get(*set)?, u32::try_from(*bound).ok()?, within));
            put(&mut places, leaf, place);
        }
    }
    Some((places, groups))
}
