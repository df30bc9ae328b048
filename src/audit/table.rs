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
    /// The texts, one after the other; at least [`PADDING`] bytes follow the last field.
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

    /// Ends a field that begins at a byte and takes the rest of the texts so far.
    pub fn end_field(&mut self, from: usize) {
        let place = self.place_since(from);
        self.places.push(place);
    }

    /// The place of what the texts hold from a byte on.
    #[must_use]
    pub fn place_since(&self, from: usize) -> (u32, u32) {
        let number = |place: usize| u32::try_from(place).unwrap_or(u32::MAX);
        (number(from), number(self.bytes.len()))
    }

    /// Adds the bytes that follow the last field, when all are there.
    pub fn pad(&mut self) {
        self.bytes.resize(self.bytes.len() + PADDING, 0);
    }

    /// Where a field begins and ends.
    fn place(&self, row: usize, column: usize) -> (usize, usize) {
        wide(self.places.get(row * self.width + column).copied().unwrap_or((0, 0)))
    }

    /// Where the fields of a column begin and end, record by record.
    pub(super) fn column(&self, column: usize) -> impl Iterator<Item = (usize, usize)> {
        self.places.get(column..).unwrap_or(&[]).iter().step_by(self.width.max(1)).map(|place| wide(*place))
    }
}

#[inline]
fn wide((from, to): (u32, u32)) -> (usize, usize) {
    (usize::try_from(from).unwrap_or(0), usize::try_from(to).unwrap_or(0))
}

/// Bytes after the text of a table: what reads the fields loads sixteen at once.
pub const PADDING: usize = 16;

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
    /// The code of each record's result of the whole inspection; results in [`Lot::overall_results`].
    pub overall: Option<Vec<u32>>,
    /// Results of whole inspections.
    pub overall_results: Vec<Recorded>,
    /// For each record, whether readings of a vehicle that did not answer were left unread; empty where none were.
    pub left_unread: Vec<bool>,
    /// Records that are set aside, in the order of columns.
    pub aside: Vec<Aside>,
}

/// Sets a record aside.
pub fn aside(lot: &mut Lot, row: usize, column: &str, value: &[u8], reason: String) {
    let shown = String::from_utf8_lossy(value);
    let value = shown.chars().filter(|c| !c.is_control()).take(80).collect();
    lot.aside.push(Aside { row, column: column.to_owned(), value, reason });
}
