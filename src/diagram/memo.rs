//! A table from four small numbers to one, for results of diagram operations. Open addressing with a fixed hash: nothing
//! in it depends on the run, and nothing ever iterates over it.

/// Mixes a number into a hash (multiply and fold, constants of the splitmix64 generator).
pub(super) fn mix(hash: u64, value: u64) -> u64 {
    let mut mixed = (hash ^ value).wrapping_add(0x9E37_79B9_7F4A_7C15).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    mixed ^= mixed >> 27;
    mixed.wrapping_mul(0x94D0_49BB_1331_11EB) ^ (mixed >> 31)
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
pub(super) struct Memo {
    cells: Vec<Cell>,
    used: usize,
}

impl Memo {
    /// An empty table.
    pub(super) fn new() -> Memo {
        Memo { cells: vec![FREE; 1024], used: 0 }
    }

    /// How many results it holds.
    pub(super) fn len(&self) -> usize {
        self.used
    }

    /// The result kept for a key.
    pub(super) fn get(&self, key: [u32; 4]) -> Option<u32> {
        let cell = self.cells.get(self.find(key))?;
        (cell.key == key).then_some(cell.value)
    }

    /// Keeps a result.
    pub(super) fn put(&mut self, key: [u32; 4], value: u32) {
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
        let mut place = usize::try_from(hash >> 20).unwrap_or(0) & mask;
        while self.cells.get(place).is_some_and(|cell| cell.key != key && cell.key != FREE.key) {
            place = (place + 1) & mask;
        }
        place
    }
}
