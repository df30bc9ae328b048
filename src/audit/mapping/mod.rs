//! The mapping file: what the columns of a file of records mean in the vocabulary of facts. Its form is described in
//! `grammar/mapping.md`. Here are its parts as data; `read` makes them of a text, `value` reads one field by them, `draft`
//! proposes a first text. Nothing here opens a file.

mod column;
mod draft;
mod form;
mod hints;
mod read;
mod value;

pub(crate) use column::ahead_of_utc;
pub use draft::{Sample, draft};
pub use form::{DateForm, Thousands};
pub use read::read;
pub use value::{Field, Wrong, status_facts};
pub(crate) use value::{range_of, status_bytes, trimmed};

use crate::model::{Fact, Monitor, Reading, Unit};
use crate::program::Class;

/// The format that every mapping file names.
pub const FORMAT: &str = "wherefore-mapping/1";

/// Largest mapping file, in bytes.
pub const MAX_MAPPING_BYTES: u64 = 1 << 20;

/// A mapping file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Mapping {
    /// How the file is written.
    pub file: FileForm,
    /// Columns, in the order of the mapping file. One column may stand more than once.
    pub columns: Vec<Column>,
    /// Facts that no column has and that are the same for every record.
    pub constants: Vec<(Target, Given)>,
}

impl Mapping {
    /// Whether a record can have a test date: from a column, a constant, or a snapshot of its own.
    #[must_use]
    pub fn gives_date(&self) -> bool {
        let is_date = |target: &Target| *target == Target::Fact(Fact::TestDate);
        self.file.lines == Lines::Snapshots
            || self.columns.iter().any(|column| matches!(&column.holds, Holds::Fact(target, _) if is_date(target)))
            || self.constants.iter().any(|(target, _)| is_date(target))
    }
}

/// How a file of records is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileForm {
    /// What parts the fields of a CSV file; one byte.
    pub delimiter: u8,
    /// Whether the first line of a CSV file names the columns; otherwise they are called `1`, `2`, `3` …
    pub header: bool,
    /// What a line of JSON holds.
    pub lines: Lines,
    /// Texts that mean *not known* in every column.
    pub not_known: Vec<String>,
    /// Texts that mean *not on this vehicle* in every column of a fact that a vehicle may lack.
    pub not_on_vehicle: Vec<String>,
}

impl Default for FileForm {
    fn default() -> FileForm {
        FileForm {
            delimiter: b',',
            header: true,
            lines: Lines::Flat,
            not_known: vec![String::new()],
            not_on_vehicle: Vec::new(),
        }
    }
}

/// What a line of JSON holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lines {
    /// An object whose keys are columns.
    Flat,
    /// A snapshot document, to whose top the columns of the mapping are added.
    Snapshots,
}

/// One column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its name in the records.
    pub name: String,
    /// What it holds.
    pub holds: Holds,
    /// Texts that mean *not known*.
    pub not_known: Vec<String>,
    /// Texts that mean *not on this vehicle*.
    pub not_on_vehicle: Vec<String>,
    /// Of a column of moments, the seconds by which the place of the tests is ahead of UTC.
    pub zone: Option<i64>,
}

/// What a column holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Holds {
    /// A fact.
    Fact(Target, Reads),
    /// The four bytes of service $01 PID $01: the lamp command, the kind of ignition, every monitor of its table.
    MonitorStatus,
    /// The record's own id.
    RecordId,
    /// The id of the program, by its text or through these words.
    Program(Vec<(String, String)>),
    /// The result of the on-board check that was recorded.
    Recorded(Vec<(String, Recorded)>),
    /// The result of the whole inspection that was recorded, of which the on-board check is a part.
    Overall(Vec<(String, Recorded)>),
}

/// A fact of the table, or one that a program declares.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Target {
    /// Of the table.
    Fact(Fact),
    /// Declared by a program.
    Declared(String),
}

impl Target {
    /// The path in a snapshot document.
    #[must_use]
    pub fn key(&self) -> String {
        match self {
            Target::Fact(fact) => crate::model::table::key_of(*fact),
            Target::Declared(name) => format!("declared.{name}"),
        }
    }
}

/// What is known of a fact.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Given {
    /// A fact of the table.
    Reading(Reading),
    /// A declared fact.
    Declared(crate::model::DeclaredValue),
}

/// How the fields of a column are read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reads {
    /// By a list of words, each with the place of the fact's own word, or none for *not known*.
    Words(Vec<(String, Option<u8>)>),
    /// A number of this unit.
    Number(Unit, Option<Thousands>),
    /// A date, of the first of these forms that fits; where two fit and give different days, the date is not usable.
    Date(Vec<DateForm>),
    /// Text through these words; what is none of them stands as it is written where there are none, or where `true`.
    Text(Vec<(String, String)>, bool),
    /// Names of monitors.
    Monitors(List, Vec<(String, Monitor)>),
    /// Trouble codes; `true` where there may be more than the list says.
    Codes(List, bool),
    /// The value of a declared fact through these words; what is none of them as it stands where there are none, or where
    /// `true`.
    Declared(Vec<(String, crate::model::DeclaredValue)>, bool),
}

/// How a list stands in a field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct List {
    /// What parts the entries; blanks around them do not count.
    pub separator: char,
    /// Texts that mean: read, and there is none.
    pub none: Vec<String>,
}

/// A result that was recorded.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Recorded {
    /// A class of outcomes.
    Class(Class),
    /// An outcome of the program, or `not-subject`.
    Outcome(String),
}

impl Recorded {
    /// The word for it.
    #[must_use]
    pub fn word(&self) -> &str {
        match self {
            Recorded::Class(class) => class.word(),
            Recorded::Outcome(name) => name,
        }
    }
}

/// A mistake in a mapping file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub message: String,
    /// What to do about it; may be empty.
    pub help: String,
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "line {}, column {}: {}", self.line, self.column, self.message)?;
        if self.help.is_empty() { Ok(()) } else { write!(f, "; {}", self.help) }
    }
}

#[cfg(test)]
mod tests;
