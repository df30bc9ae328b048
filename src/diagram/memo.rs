//! Tables of results: from four small numbers to one for diagram operations, and from nodes to anything for one walk.
//! Open addressing with a fixed hash: nothing in them depends on the run, and nothing ever iterates over them.

use super::forest::Node;

/// Mixes a number into a hash (multiply and fold, constants of the splitmix64 generator).
pub(crate) fn mix(hash: u64, value: u64) -> u64 {
    let mut mixed = (hash ^ value).wrapping_add(0x9E37_79B9_7F4A_7C15).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    mixed ^= mixed >> 27;
    mixed.wrapping_mul(0x94D0_49BB_1331_11EB) ^ (mixed >> 31)
}

/// The place that a hash begins at in a table of `mask + 1` places, a power of two. Thirty-two bits of the hash are taken,
/// so that places are spread alike where a place has no more.
pub(super) fn place_of(hash: u64, mask: usize) -> usize {
    let bits = u32::try_from(hash >> 20 & u64::from(u32::MAX)).unwrap_or(0);
    usize::try_from(bits).unwrap_or(0) & mask
}

#[derive(Debug, Clone, Copy)]
struct Cell {
    key: [u32; 4],
    value: u32,
}

/// A cell whose first number is `u32::MAX` is free: no operation has that code.
const FREE: Cell = Cell { key: [u32::MAX; 4], value: 0 };

/// The table.
#[derive(Debug, Clone)]
pub(crate) struct Memo {
    cells: Vec<Cell>,
    used: usize,
}

impl Memo {
    /// An empty table.
    pub(crate) fn new() -> Memo {
        Memo { cells: vec![FREE; 1024], used: 0 }
    }

    /// How many results it holds.
    pub(crate) fn len(&self) -> usize {
        self.used
    }

    /// The result kept for a key.
    pub(crate) fn get(&self, key: [u32; 4]) -> Option<u32> {
        let cell = self.cells.get(self.find(key))?;
        (cell.key == key).then_some(cell.value)
    }

    /// Keeps a result.
    pub(crate) fn put(&mut self, key: [u32; 4], value: u32) {
        if self.used * 2 >= self.cells.len() {
            let wider = vec![FREE; self.cells.len() * 4];
            let old = std::mem::replace(&mut self.cells, wider);
            for cell in old.iter().filter(|cell| cell.key != FREE.key) {
                let place = self.find(cell.key);
                if let Some(slot) = self.cells.get_mut(place) {
                    *slot = *cell;
                }
            }
        }
        let place = self.find(key);
        if let Some(slot) = self.cells.get_mut(place) {
            if slot.key == FREE.key {
                self.used += 1;
            }
            *slot = Cell { key, value };
        }
    }

    /// The place of the key, or the free place where it belongs.
    fn find(&self, key: [u32; 4]) -> usize {
        let hash = key.iter().fold(0, |hash, part| mix(hash, u64::from(*part)));
        let mask = self.cells.len() - 1;
        let mut place = place_of(hash, mask);
        while self.cells.get(place).is_some_and(|cell| cell.key != key && cell.key != FREE.key) {
            place = (place + 1) & mask;
        }
        place
    }
}

/// Results for the nodes of one walk. It grows with the diagram that is walked, not with the forest.
#[derive(Debug, Clone)]
pub(crate) struct ByNode<T> {
    cells: Vec<Option<(Node, T)>>,
    used: usize,
}

impl<T: Clone> ByNode<T> {
    /// An empty table.
    pub(crate) fn new() -> ByNode<T> {
        ByNode { cells: vec![None; 64], used: 0 }
    }

    /// The result kept for a node.
    pub(crate) fn get(&self, node: Node) -> Option<&T> {
        self.cells.get(self.find(node))?.as_ref().map(|(_, value)| value)
    }

    /// Keeps a result; whether the node had none before.
    pub(crate) fn put(&mut self, node: Node, value: T) -> bool {
        if self.used * 2 >= self.cells.len() {
            let wider = vec![None; self.cells.len() * 4];
            for cell in std::mem::replace(&mut self.cells, wider).into_iter().flatten() {
                let place = self.find(cell.0);
                if let Some(slot) = self.cells.get_mut(place) {
                    *slot = Some(cell);
                }
            }
        }
        let place = self.find(node);
        let Some(slot) = self.cells.get_mut(place) else {
            return false;
        };
        let is_new = slot.is_none();
        self.used += usize::from(is_new);
        *slot = Some((node, value));
        is_new
    }

    /// The place of the node, or the free place where it belongs.
    fn find(&self, node: Node) -> usize {
        let mask = self.cells.len() - 1;
        let mut place = place_of(mix(0, node.number()), mask);
        while self.cells.get(place).is_some_and(|cell| cell.as_ref().is_some_and(|(known, _)| *known != node)) {
            place = (place + 1) & mask;
        }
        place
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    /// Numbers of nodes, as tables see them, on places of 32 bits: as many different places as chance gives (63 of a
    /// hundred for as many keys as places), where shifting into 32 bits gave one.
    #[test]
    fn places_of_thirty_two_bits_are_spread() {
        let keys = 1u64 << 14;
        let mask = (1u32 << 14) - 1;
        let narrow = |hash: u64| u32::try_from(hash >> 20 & u64::from(u32::MAX)).map(|bits| bits & mask);
        let places: BTreeSet<u32> = (0..keys).filter_map(|key| narrow(mix(0, key)).ok()).collect();
        assert!(places.len() > 10_000, "{}", places.len());
        for key in 0..keys {
            let place = place_of(mix(0, key), usize::try_from(mask).unwrap_or(0));
            assert_eq!(u32::try_from(place).ok(), narrow(mix(0, key)).ok());
        }
    }
    /// Every result is found again with the last value put for its key, and each key counts once, however far the table grew.
    #[test]
    fn a_table_holds_each_key_once() {
        let mut memo = Memo::new();
        let key = |number: u32| [number % 7, number, number / 3, 0];
        for round in 0..2 {
            for number in 0..3_000 {
                memo.put(key(number), number + round);
                assert_eq!(memo.len(), if round == 0 { usize::try_from(number).unwrap_or(0) + 1 } else { 3_000 });
            }
            assert!((0..3_000).all(|number| memo.get(key(number)) == Some(number + round)));
            assert_eq!(memo.get(key(3_000)), None);
        }
    }
}
