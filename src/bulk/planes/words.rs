//! A block: as many records as are worked on at once, a bit each.

/// Words of a plane in a block.
pub(crate) const WORDS: usize = 16;

/// Records in a block.
pub(crate) const BLOCK: usize = WORDS * 64;

/// A plane of a block.
pub(super) type Words = [u64; WORDS];
