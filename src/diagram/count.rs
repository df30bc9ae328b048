//! Counts of vehicles: whole numbers of any size, exact, shown in decimal. Only what counting needs: adding, multiplying
//! by a class size, comparing, and a share in parts per million. Not a general arithmetic.

use std::cmp::Ordering;

const BASE: u128 = 1_000_000_000_000_000_000;

/// A whole number of any size. Limbs of 18 decimal digits, least first, none of them zero at the top.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub struct Count {
    limbs: Vec<u64>,
}

fn low(value: u128) -> u64 {
    u64::try_from(value % BASE).unwrap_or(0)
}

impl Count {
    /// Nothing.
    #[must_use]
    pub fn zero() -> Count {
        Count { limbs: Vec::new() }
    }

    /// Whether it is zero.
    #[must_use]
    pub fn is_zero(&self) -> bool {
        self.limbs.is_empty()
    }

    /// The sum.
    #[must_use]
    pub fn plus(&self, other: &Count) -> Count {
        let mut limbs = Vec::with_capacity(self.limbs.len().max(other.limbs.len()) + 1);
        let mut carry = 0u128;
        for place in 0..self.limbs.len().max(other.limbs.len()) {
            let sum = carry + u128::from(self.limb(place)) + u128::from(other.limb(place));
            limbs.push(low(sum));
            carry = sum / BASE;
        }
        if carry > 0 {
            limbs.push(low(carry));
        }
        Count { limbs }
    }

    /// The product with a class size.
    #[must_use]
    pub fn times(&self, factor: u64) -> Count {
        if factor == 1 || self.is_zero() {
            return self.clone();
        }
        if factor == 0 {
            return Count::zero();
        }
        let mut limbs = Vec::with_capacity(self.limbs.len() + 2);
        let mut carry = 0u128;
        for limb in &self.limbs {
            let product = carry + u128::from(*limb) * u128::from(factor);
            limbs.push(low(product));
            carry = product / BASE;
        }
        while carry > 0 {
            limbs.push(low(carry));
            carry /= BASE;
        }
        Count { limbs }
    }

    /// How many millionths of `whole` this is, rounded down; 0 where `whole` is zero.
    #[must_use]
    pub fn millionths_of(&self, whole: &Count) -> u32 {
        if whole.is_zero() {
            return 0;
        }
        let scaled = self.times(1_000_000);
        let (mut least, mut most) = (0u32, 1_000_000u32);
        while least < most {
            let middle = least + (most - least).div_ceil(2);
            if whole.times(u64::from(middle)) <= scaled {
                least = middle;
            } else {
                most = middle - 1;
            }
        }
        least
    }

    fn limb(&self, place: usize) -> u64 {
        self.limbs.get(place).copied().unwrap_or(0)
    }
}

impl From<u64> for Count {
    fn from(value: u64) -> Count {
        let mut rest = u128::from(value);
        let mut limbs = Vec::new();
        while rest > 0 {
            limbs.push(low(rest));
            rest /= BASE;
        }
        Count { limbs }
    }
}

impl Ord for Count {
    fn cmp(&self, other: &Count) -> Ordering {
        self.limbs.len().cmp(&other.limbs.len()).then_with(|| self.limbs.iter().rev().cmp(other.limbs.iter().rev()))
    }
}

impl PartialOrd for Count {
    fn partial_cmp(&self, other: &Count) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl std::fmt::Display for Count {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let mut limbs = self.limbs.iter().rev();
        let Some(first) = limbs.next() else {
            return f.write_str("0");
        };
        write!(f, "{first}")?;
        limbs.try_for_each(|limb| write!(f, "{limb:018}"))
    }
}
