//! Functions of bits as alternatives of which each fixes some bits (cubes): how a single record is tested without a
//! branch a test. Functions that need too many of them are not written so.

use super::graph::{Bit, Graph, Node};
use std::collections::BTreeMap;

/// The most cubes that one function may need.
const MOST: usize = 96;

/// Some bits, and what they must be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Cube {
    pub(crate) mask: u128,
    pub(crate) want: u128,
}

impl Cube {
    /// Nothing fixed: always.
    const ALWAYS: Cube = Cube { mask: 0, want: 0 };

    /// Whether the bits are as they must be.
    pub(crate) fn holds(self, bits: u128) -> bool {
        (bits ^ self.want) & self.mask == 0
    }

    /// Both; `None` where that cannot be.
    fn and(self, other: Cube, groups: &[u128]) -> Option<Cube> {
        if (self.want ^ other.want) & self.mask & other.mask != 0 {
            return None;
        }
        let both = Cube { mask: self.mask | other.mask, want: self.want | other.want };
        groups.iter().all(|group| (both.want & group).count_ones() <= 1).then_some(both)
    }

    /// Whether it holds wherever the other does.
    fn covers(self, other: Cube) -> bool {
        self.mask & !other.mask == 0 && (self.want ^ other.want) & self.mask == 0
    }
}

/// Writes functions as cubes. `place_of` gives the bit of a leaf, `groups` are bits of which one at most is set.
pub(super) struct Writer<'a> {
    graph: &'a Graph,
    places: &'a [Option<u32>],
    groups: &'a [u128],
    known: BTreeMap<Bit, Option<Vec<Cube>>>,
}

impl<'a> Writer<'a> {
    pub(super) fn new(graph: &'a Graph, places: &'a [Option<u32>], groups: &'a [u128]) -> Writer<'a> {
        Writer { graph, places, groups, known: BTreeMap::new() }
    }

    /// The cubes of a function; `None` where there are too many.
    pub(super) fn cubes(&mut self, bit: Bit) -> Option<Vec<Cube>> {
        if let Some(known) = self.known.get(&bit) {
            return known.clone();
        }
        let found = self.find(bit);
        self.known.insert(bit, found.clone());
        found
    }

    fn find(&mut self, bit: Bit) -> Option<Vec<Cube>> {
        let (place, negated) = bit.parts();
        match *self.graph.nodes().get(usize::try_from(place).ok()?)? {
            Node::Never => Some(if negated { vec![Cube::ALWAYS] } else { Vec::new() }),
            Node::Leaf(leaf) => {
                let at = (*self.places.get(usize::try_from(leaf).ok()?)?)?;
                let mask = 1u128.checked_shl(at)?;
                Some(vec![Cube { mask, want: if negated { 0 } else { mask } }])
            }
            Node::And(one, other) if !negated => self.both(one, other),
            Node::And(one, other) => self.either(one.not(), other.not()),
            Node::Xor(one, other) => {
                let other = if negated { other.not() } else { other };
                let (first, second) = (self.both(one, other.not())?, self.both(one.not(), other)?);
                smallest(first.into_iter().chain(second).collect())
            }
        }
    }

    fn both(&mut self, one: Bit, other: Bit) -> Option<Vec<Cube>> {
        let (one, other) = (self.cubes(one)?, self.cubes(other)?);
        if one.len() * other.len() > 16 * MOST {
            return None;
        }
        let groups = self.groups;
        smallest(one.iter().flat_map(|a| other.iter().filter_map(move |b| a.and(*b, groups))).collect())
    }

    fn either(&mut self, one: Bit, other: Bit) -> Option<Vec<Cube>> {
        let (one, other) = (self.cubes(one)?, self.cubes(other)?);
        smallest(one.into_iter().chain(other).collect())
    }
}

/// Without cubes that others cover.
fn smallest(mut cubes: Vec<Cube>) -> Option<Vec<Cube>> {
    cubes.sort_by_key(|cube| (cube.mask.count_ones(), *cube));
    let mut kept: Vec<Cube> = Vec::new();
    for cube in cubes {
        if !kept.iter().any(|known| known.covers(cube)) {
            kept.push(cube);
        }
    }
    (kept.len() <= MOST).then_some(kept)
}
