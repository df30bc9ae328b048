//! Texts that return, with the code each got the first time: the quick way from a field to its meaning.

use std::collections::BTreeMap;

/// The longest text that is packed into one key, in bytes.
const PACKED: usize = 15;

/// Texts and their codes.
#[derive(Debug, Clone)]
pub(super) struct Memo {
    /// Packed texts; 0 is an empty place (a packed text always has its length plus one in the last byte).
    keys: Vec<u128>,
    codes: Vec<u32>,
    used: usize,
    long: BTreeMap<Vec<u8>, u32>,
}

/// For each length, the bits that a text of it fills, and what tells the length.
const BITS: [(u128, u128); PACKED + 1] = {
    let mut bits = [(0, 1 << 120); PACKED + 1];
    let (mut filled, mut tag) = (0u128, 1u128 << 120);
    let mut rest: &mut [(u128, u128)] = &mut bits;
    while let [first, others @ ..] = rest {
        *first = (filled, tag);
        filled = filled << 8 | 0xFF;
        tag += 1 << 120;
        rest = others;
    }
    bits
};

/// A text of at most fifteen bytes with its length, as one number; `None` for a longer one. With sixteen bytes at hand from
/// its first one on, one load takes the text.
#[inline]
pub(super) fn packed(bytes: &[u8], from: usize, to: usize) -> Option<u128> {
    let (filled, tag) = BITS.get(to.checked_sub(from)?)?;
    let loaded = match bytes.get(from..).and_then(|rest| rest.first_chunk::<16>()) {
        Some(chunk) => u128::from_le_bytes(*chunk),
        None => {
            let mut chunk = [0u8; 16];
            for (slot, byte) in chunk.iter_mut().zip(bytes.get(from..to)?) {
                *slot = *byte;
            }
            u128::from_le_bytes(chunk)
        }
    };
    Some(loaded & filled | tag)
}

impl Memo {
    pub(super) fn new() -> Memo {
        Memo { keys: vec![0; 64], codes: vec![0; 64], used: 0, long: BTreeMap::new() }
    }

    /// How many texts it holds.
    pub(super) fn len(&self) -> usize {
        self.used + self.long.len()
    }

    fn place(&self, key: u128) -> usize {
        let low = u64::try_from(key & u128::from(u64::MAX)).unwrap_or(0);
        let high = u64::try_from(key >> 64).unwrap_or(0);
        let mixed = (low ^ high.rotate_left(29)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let mask = self.keys.len() - 1;
        usize::try_from(mixed >> 32).unwrap_or(0) & mask
    }

    /// The code of a packed text; `None` the first time.
    pub(super) fn find(&self, key: u128) -> Option<u32> {
        let mut place = self.place(key);
        loop {
            match self.keys.get(place) {
                Some(known) if *known == key => return self.codes.get(place).copied(),
                Some(0) | None => return None,
                Some(_) => place = (place + 1) & (self.keys.len() - 1),
            }
        }
    }

    /// The code of a text that is too long to be packed; `None` the first time.
    pub(super) fn find_long(&self, text: &[u8]) -> Option<u32> {
        self.long.get(text).copied()
    }

    /// Keeps the code of a packed text that is new.
    pub(super) fn keep(&mut self, key: u128, code: u32) {
        if (self.used + 1) * 2 > self.keys.len() {
            let old: Vec<(u128, u32)> =
                self.keys.iter().copied().zip(self.codes.iter().copied()).filter(|(key, _)| *key != 0).collect();
            let size = self.keys.len() * 2;
            self.keys = vec![0; size];
            self.codes = vec![0; size];
            for (key, code) in old {
                self.put(key, code);
            }
        }
        self.put(key, code);
        self.used += 1;
    }

    /// Keeps the code of a long text.
    pub(super) fn keep_long(&mut self, text: &[u8], code: u32) {
        self.long.insert(text.to_vec(), code);
    }

    fn put(&mut self, key: u128, code: u32) {
        let mut place = self.place(key);
        while self.keys.get(place).is_some_and(|known| *known != 0) {
            place = (place + 1) & (self.keys.len() - 1);
        }
        if let (Some(slot), Some(value)) = (self.keys.get_mut(place), self.codes.get_mut(place)) {
            *slot = key;
            *value = code;
        }
    }
}

#[cfg(test)]
#[expect(clippy::indexing_slicing, reason = "a test stops at the first wrong thing")]
mod tests {
    use super::*;

    /// Numbers, with as many noughts behind them as make texts of one to fifteen bytes, and some longer ones.
    fn texts() -> impl Iterator<Item = String> {
        (1..2_000u32).map(|number| format!("{number}{}", "0".repeat(usize::try_from(number % 12).unwrap_or(0))))
    }

    /// What was kept is found with its code, and nothing else is, however far the table grew; as with a table of texts.
    #[test]
    fn what_was_kept_is_found() {
        let (mut memo, mut known) = (Memo::new(), BTreeMap::<String, u32>::new());
        for (text, code) in texts().zip(0..) {
            let Some(key) = packed(text.as_bytes(), 0, text.len()) else { continue };
            assert_eq!(memo.find(key), known.get(&text).copied(), "{text}");
            if memo.find(key).is_none() {
                memo.keep(key, code);
                known.insert(text, code);
            }
            assert_eq!(memo.len(), known.len());
        }
        assert!(known.len() > 1_000, "{}", known.len());
        for (text, code) in &known {
            assert_eq!(packed(text.as_bytes(), 0, text.len()).and_then(|key| memo.find(key)), Some(*code), "{text}");
        }
        let long = b"a text of more than fifteen bytes";
        assert_eq!((packed(long, 0, long.len()), memo.find_long(long)), (None, None));
        memo.keep_long(long, 7);
        assert_eq!((memo.find_long(long), memo.len()), (Some(7), known.len() + 1));
    }

    /// A text has one key wherever it stands and whatever follows it, and no other text has it: one that is longer by a byte
    /// of nothing neither.
    #[test]
    fn a_key_is_of_one_text() {
        let around = b"P0420 P0171,none;0123456789abcdef";
        for (from, to) in [(0, 5), (0, 0), (6, 11), (12, 16), (17, 32), (25, 33), (33, 33)] {
            let alone = &around[from..to];
            let key = packed(alone, 0, alone.len());
            assert!(key.is_some_and(|key| key != 0), "{from} to {to}");
            assert_eq!(packed(around, from, to), key, "{from} to {to}");
            let longer = [alone, b"\0"].concat();
            assert_ne!(packed(&longer, 0, longer.len()), key, "{from} to {to}");
        }
        assert_eq!(packed(around, 0, 16), None);
        assert_eq!(packed(around, 30, 40), None);
        assert_eq!(packed(around, 5, 4), None);
    }
}
