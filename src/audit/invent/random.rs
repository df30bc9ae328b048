//! Random numbers that are the same on every machine and in every version: SplitMix64 (Steele, Lea and Flood, 2014). One
//! stream a record, so that a record depends on the seed and its own number only.

/// A stream of random numbers.
#[derive(Debug, Clone)]
pub(super) struct Random {
    state: u64,
}

const STEP: u64 = 0x9E37_79B9_7F4A_7C15;

impl Random {
    /// The stream of one record.
    pub(super) fn of(seed: u64, record: u64) -> Random {
        let mut mixer = Random { state: seed ^ 0x5851_F42D_4C95_7F2D };
        let mixed = mixer.next();
        Random { state: mixed ^ record.wrapping_mul(STEP) }
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(STEP);
        let mut mixed = self.state;
        mixed = (mixed ^ mixed >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ mixed >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ mixed >> 31
    }

    /// A whole number below `below`; 0 where `below` is 0. The bias of so short a range is below one in 2^32.
    pub(super) fn below(&mut self, below: u32) -> u32 {
        let high = self.next() >> 32;
        u32::try_from((high * u64::from(below)) >> 32).unwrap_or(0)
    }

    /// A whole number from one through another.
    pub(super) fn between(&mut self, least: u32, most: u32) -> u32 {
        least + self.below(most.saturating_sub(least).saturating_add(1))
    }

    /// Whether something happens that does so in so many of a thousand cases.
    pub(super) fn in_thousand(&mut self, times: u32) -> bool {
        self.below(1000) < times
    }

    /// One of a list with weights; the last where they do not cover the draw.
    pub(super) fn pick<'l, T>(&mut self, list: &'l [(u32, T)]) -> Option<&'l T> {
        let total = list.iter().map(|(weight, _)| *weight).sum();
        let mut drawn = self.below(total);
        for (weight, item) in list {
            match drawn.checked_sub(*weight) {
                Some(rest) => drawn = rest,
                None => return Some(item),
            }
        }
        list.last().map(|(_, item)| item)
    }
}
