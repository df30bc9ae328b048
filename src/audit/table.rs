//! A lot of records: fields of text with their places, and what they came to as columns; records that are set aside.

use super::mapping::Recorded;
use super::store::Store;

/// The code of a recorded result, or of a program, that is not known.
pub const NONE: u32 = u32::MAX - 1;

/// Why a record is set aside.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Aside {
    /// Place of the record in its lot.
    pub row: usize,
    /// Column, or facts, that the reason is about; may be empty.
    pub column: String,
    /// What stands there.
    pub value: String,
    /// The reason.
    pub reason: String,
}

/// Fields of some records: a text with where each field begins and ends.
#[derive(Debug, Clone, Default)]
pub struct Table {
    /// The texts, one after the other; at least sixteen bytes follow the last field.
    pub bytes: Vec<u8>,
    /// For each record and column, where its field begins and ends.
    pub places: Vec<(u32, u32)>,
    /// How many columns each record has here.
    pub width: usize,
    /// How many records.
    pub len: usize,
}

impl Table {
    /// A field.
    #[must_use]
    pub fn field(&self, row: usize, column: usize) -> &[u8] {
        let (from, to) = self.place(row, column);
        self.bytes.get(from..to).unwrap_or(&[])
    }

    /// Where a field begins and ends.
    #[inline]
    pub(super) fn place(&self, row: usize, column: usize) -> (usize, usize) {
        let (from, to) = self.places.get(row * self.width + column).copied().unwrap_or((0, 0));
        (usize::try_from(from).unwrap_or(0), usize::try_from(to).unwrap_or(0))
    }
}

/// The place of a field that a record does not have: not known, whatever an empty text means.
pub const MISSING: (u32, u32) = (1, 0);

/// The place of a list that is there and empty.
pub const EMPTY_LIST: (u32, u32) = (2, 1);

/// What a lot of records came to.
#[derive(Debug, Default)]
pub struct Lot {
    /// Their facts.
    pub store: Store,
    /// The code of each record's program, if a column says it; names in [`Lot::programs`].
    pub program: Option<Vec<u32>>,
    /// Names of programs.
    pub programs: Vec<String>,
    /// The code of each record's recorded result, if a column says it; results in [`Lot::results`].
    pub recorded: Option<Vec<u32>>,
    /// Recorded results.
    pub results: Vec<Recorded>,
    /// Records that are set aside, in the order of columns.
    pub aside: Vec<Aside>,
}

/// Sets a record aside.
pub fn aside(lot: &mut Lot, row: usize, column: &str, value: &[u8], reason: String) {
    let shown = String::from_utf8_lossy(value);
    let value = shown.chars().filter(|c| !c.is_control()).take(80).collect();
    lot.aside.push(Aside { row, column: column.to_owned(), value, reason });
}
