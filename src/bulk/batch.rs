//! A batch: records as columns that are lent, not copied. Says what each code of a column means, and checks that the
//! columns fit each other; what the records say is not looked at here.

use crate::model::facts::{ABSENT, Possible};
use crate::model::{Date, Fact, FactType, spec, table::key_of};
use crate::program::FactRef;

/// Which records are known: a bit a record, from the lowest bit of the first byte on; 1 is known. This is the validity
/// bitmap of an Arrow array.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Known<'a> {
    /// The bytes.
    pub bits: &'a [u8],
    /// How many bits come before the first record.
    pub offset: usize,
}

/// Whole numbers of several widths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is named for the numbers it lends")]
pub enum Whole<'a> {
    U8(&'a [u8]),
    U16(&'a [u16]),
    I16(&'a [i16]),
    I32(&'a [i32]),
    I64(&'a [i64]),
}

/// Places in a list of meanings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is named for the numbers it lends")]
pub enum Codes<'a> {
    U8(&'a [u8]),
    U16(&'a [u16]),
    U32(&'a [u32]),
    I32(&'a [i32]),
}

/// What the records say of one fact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Column<'a> {
    /// Codes with a meaning each: words, yes and no, text, lists of codes, sets of monitors, numbers of few values.
    Coded {
        /// A place in `meaning` for each record.
        codes: Codes<'a>,
        /// What each code leaves possible, before any narrowing: one word, several, all of them, [`ABSENT`]. Numbers
        /// are in base units, text is in lower case.
        meaning: &'a [Possible],
        /// Records of which the fact is known; `None`: all.
        known: Option<Known<'a>>,
    },
    /// A number, or a date as a day number (days since 1970-01-01, scale 1).
    Numbers {
        /// The numbers.
        values: Whole<'a>,
        /// Base units in one, at least 1: [`crate::model::Unit::scale`] of the unit they are in.
        scale: i64,
        /// Records of which the fact is known; `None`: all.
        known: Option<Known<'a>>,
    },
}

/// When each record was tested.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dates<'a> {
    /// All on one day.
    One(Date),
    /// Each on its own: days since 1970-01-01, as Arrow's `Date32` has it.
    Each {
        /// Day numbers.
        days: &'a [i32],
        /// Records of which it is known; `None`: all.
        known: Option<Known<'a>>,
    },
}

/// Columns that do not fit each other.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum BatchError {
    /// A column has more or fewer records than the batch.
    #[error("the column of {fact} has {found} records, the batch has {expected}")]
    Length {
        /// Which fact.
        fact: String,
        /// Records of the column.
        found: usize,
        /// Records of the batch.
        expected: usize,
    },
    /// A fact has two columns.
    #[error("{0} has two columns")]
    Twice(String),
    /// A column is not of the fact's type.
    #[error("{0} cannot be given by a column of this kind")]
    Kind(String),
    /// A meaning is not of the fact's type, or leaves nothing possible.
    #[error("code {code} of {fact} has a meaning that the fact cannot have")]
    Meaning {
        /// Which fact.
        fact: String,
        /// Which code.
        code: usize,
    },
    /// The test date is told by [`Dates`], not by a column.
    #[error("the test date is not a column; it is given as the dates of the batch")]
    TestDate,
}

/// Records as columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Batch<'a> {
    len: usize,
    dates: Dates<'a>,
    columns: Vec<(FactRef<String>, Column<'a>)>,
    monitor_bytes: Option<(&'a [u32], Option<Known<'a>>)>,
}

/// The name of a fact in messages: its path in the snapshot document.
pub(super) fn name_of(fact: &FactRef<String>) -> String {
    match fact {
        FactRef::Known(fact) => key_of(*fact),
        FactRef::Declared(name) => format!("declared.{name}"),
    }
}

impl<'a> Known<'a> {
    /// Whether the record is known.
    #[must_use]
    pub fn is(self, row: usize) -> bool {
        let bit = self.offset.saturating_add(row);
        self.bits.get(bit / 8).is_some_and(|byte| byte >> (bit % 8) & 1 == 1)
    }

    fn skip(self, rows: usize) -> Known<'a> {
        Known { offset: self.offset.saturating_add(rows), ..self }
    }
}

/// Whether a record is known, where `None` says that all are.
pub(super) fn is_known(known: Option<Known<'_>>, row: usize) -> bool {
    known.is_none_or(|known| known.is(row))
}

fn part<T>(all: &[T], from: usize, len: usize) -> &[T] {
    all.get(from..).map_or(&[], |rest| rest.get(..len).unwrap_or(rest))
}

impl<'a> Whole<'a> {
    /// How many.
    #[must_use]
    #[expect(clippy::len_without_is_empty, reason = "a column is asked whether it is as long as the batch")]
    pub fn len(self) -> usize {
        match self {
            Whole::U8(all) => all.len(),
            Whole::U16(all) => all.len(),
            Whole::I16(all) => all.len(),
            Whole::I32(all) => all.len(),
            Whole::I64(all) => all.len(),
        }
    }

    /// The number of a record.
    #[must_use]
    pub fn get(self, row: usize) -> Option<i64> {
        match self {
            Whole::U8(all) => all.get(row).map(|one| i64::from(*one)),
            Whole::U16(all) => all.get(row).map(|one| i64::from(*one)),
            Whole::I16(all) => all.get(row).map(|one| i64::from(*one)),
            Whole::I32(all) => all.get(row).map(|one| i64::from(*one)),
            Whole::I64(all) => all.get(row).copied(),
        }
    }

    fn slice(self, from: usize, len: usize) -> Whole<'a> {
        match self {
            Whole::U8(all) => Whole::U8(part(all, from, len)),
            Whole::U16(all) => Whole::U16(part(all, from, len)),
            Whole::I16(all) => Whole::I16(part(all, from, len)),
            Whole::I32(all) => Whole::I32(part(all, from, len)),
            Whole::I64(all) => Whole::I64(part(all, from, len)),
        }
    }
}

impl<'a> Codes<'a> {
    /// How many.
    #[must_use]
    #[expect(clippy::len_without_is_empty, reason = "a column is asked whether it is as long as the batch")]
    pub fn len(self) -> usize {
        match self {
            Codes::U8(all) => all.len(),
            Codes::U16(all) => all.len(),
            Codes::U32(all) => all.len(),
            Codes::I32(all) => all.len(),
        }
    }

    /// The code of a record; `None` also for a negative one.
    #[must_use]
    pub fn get(self, row: usize) -> Option<usize> {
        match self {
            Codes::U8(all) => all.get(row).map(|one| usize::from(*one)),
            Codes::U16(all) => all.get(row).map(|one| usize::from(*one)),
            Codes::U32(all) => all.get(row).and_then(|one| usize::try_from(*one).ok()),
            Codes::I32(all) => all.get(row).and_then(|one| usize::try_from(*one).ok()),
        }
    }

    fn slice(self, from: usize, len: usize) -> Codes<'a> {
        match self {
            Codes::U8(all) => Codes::U8(part(all, from, len)),
            Codes::U16(all) => Codes::U16(part(all, from, len)),
            Codes::U32(all) => Codes::U32(part(all, from, len)),
            Codes::I32(all) => Codes::I32(part(all, from, len)),
        }
    }
}

impl<'a> Column<'a> {
    fn len(self) -> usize {
        match self {
            Column::Coded { codes, .. } => codes.len(),
            Column::Numbers { values, .. } => values.len(),
        }
    }

    fn slice(self, from: usize, len: usize) -> Column<'a> {
        let known_from = |known: Option<Known<'a>>| known.map(|known| known.skip(from));
        match self {
            Column::Coded { codes, meaning, known } => {
                Column::Coded { codes: codes.slice(from, len), meaning, known: known_from(known) }
            }
            Column::Numbers { values, scale, known } => {
                Column::Numbers { values: values.slice(from, len), scale, known: known_from(known) }
            }
        }
    }
}

impl<'a> Batch<'a> {
    /// A batch of so many records of which only the test dates are known.
    ///
    /// # Errors
    /// Where there are more or fewer dates than records.
    pub fn new(len: usize, dates: Dates<'a>) -> Result<Batch<'a>, BatchError> {
        match dates {
            Dates::Each { days, .. } if days.len() != len => {
                Err(BatchError::Length { fact: key_of(Fact::TestDate), found: days.len(), expected: len })
            }
            _ => Ok(Batch { len, dates, columns: Vec::new(), monitor_bytes: None }),
        }
    }

    /// Adds what the records say of a fact. A declared fact that the program does not declare is not looked at.
    ///
    /// # Errors
    /// Where the column does not fit the batch or the fact.
    pub fn with(mut self, fact: FactRef<String>, column: Column<'a>) -> Result<Batch<'a>, BatchError> {
        let name = || name_of(&fact);
        if fact == FactRef::Known(Fact::TestDate) {
            return Err(BatchError::TestDate);
        }
        if column.len() != self.len {
            return Err(BatchError::Length { fact: name(), found: column.len(), expected: self.len });
        }
        if self.columns.iter().any(|(other, _)| *other == fact) {
            return Err(BatchError::Twice(name()));
        }
        match column {
            Column::Numbers { scale, .. } => {
                let is_number = match fact {
                    FactRef::Known(fact) => matches!(spec(fact).kind, FactType::Number { .. } | FactType::Date),
                    FactRef::Declared(_) => true,
                };
                if !is_number || scale < 1 {
                    return Err(BatchError::Kind(name()));
                }
            }
            Column::Coded { meaning, .. } => {
                if let Some(code) = meaning.iter().position(|possible| !may_mean(&fact, possible)) {
                    return Err(BatchError::Meaning { fact: name(), code });
                }
            }
        }
        self.columns.push((fact, column));
        Ok(self)
    }

    /// Adds the four data bytes A B C D of service $01 PID $01 of the engine controller as numbers, A the highest byte.
    /// They tell the lamp command, the ignition and the monitors of its table, as [`crate::decode`] reads them where one
    /// controller answers: one that supports nothing besides comprehensive components is no engine controller, and then
    /// only a lamp that is commanded on is known. A fact that has a column of its own is not taken from here.
    ///
    /// # Errors
    /// Where there are more or fewer than records, or they were added before.
    pub fn with_monitor_bytes(mut self, bytes: &'a [u32], known: Option<Known<'a>>) -> Result<Batch<'a>, BatchError> {
        let name = || "monitors".to_owned();
        if bytes.len() != self.len {
            return Err(BatchError::Length { fact: name(), found: bytes.len(), expected: self.len });
        }
        if self.monitor_bytes.is_some() {
            return Err(BatchError::Twice(name()));
        }
        self.monitor_bytes = Some((bytes, known));
        Ok(self)
    }

    /// How many records.
    #[must_use]
    pub fn len(&self) -> usize {
        self.len
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// The test dates.
    #[must_use]
    pub fn dates(&self) -> Dates<'a> {
        self.dates
    }

    /// The columns, in the order they were added; the bytes of PID $01 apart.
    pub fn columns(&self) -> impl Iterator<Item = (&FactRef<String>, Column<'a>)> {
        self.columns.iter().map(|(fact, column)| (fact, *column))
    }

    /// The column of a fact.
    #[must_use]
    pub fn column(&self, fact: &FactRef<String>) -> Option<Column<'a>> {
        self.columns.iter().find(|(known, _)| known == fact).map(|(_, column)| *column)
    }

    /// The data bytes of PID $01.
    #[must_use]
    pub fn monitor_bytes(&self) -> Option<(&'a [u32], Option<Known<'a>>)> {
        self.monitor_bytes
    }

    /// The records from a place on, at most so many, lent as the batch lends them: for threads that share a batch.
    #[must_use]
    pub fn slice(&self, from: usize, len: usize) -> Batch<'a> {
        let from = from.min(self.len);
        let len = len.min(self.len - from);
        let known_from = |known: Option<Known<'a>>| known.map(|known| known.skip(from));
        Batch {
            len,
            dates: match self.dates {
                Dates::One(date) => Dates::One(date),
                Dates::Each { days, known } => Dates::Each { days: part(days, from, len), known: known_from(known) },
            },
            columns: self.columns.iter().map(|(fact, column)| (fact.clone(), column.slice(from, len))).collect(),
            monitor_bytes: self.monitor_bytes.map(|(bytes, known)| (part(bytes, from, len), known_from(known))),
        }
    }

    /// The day number of a record's test; `None` where it is not known.
    pub(super) fn day(&self, row: usize) -> Option<i64> {
        match self.dates {
            Dates::One(date) => Some(crate::model::day_number(date)),
            Dates::Each { days, known } if is_known(known, row) => days.get(row).map(|day| i64::from(*day)),
            Dates::Each { .. } => None,
        }
    }
}

/// Whether a fact can mean this; of a declared fact only what every declared fact can be is asked here.
pub(super) fn may_mean(fact: &FactRef<String>, possible: &Possible) -> bool {
    let FactRef::Known(fact) = fact else {
        return matches!(possible, Possible::Words(mask) if *mask != 0) || matches!(possible, Possible::Number(_));
    };
    let spec = spec(*fact);
    match (spec.kind, possible) {
        (FactType::YesNo { .. } | FactType::Words(_), Possible::Words(mask)) => {
            let absent = if spec.may_be_absent { ABSENT } else { 0 };
            *mask != 0 && mask & !(fact.all_words() | absent) == 0
        }
        (FactType::Number { .. } | FactType::Date, Possible::Number(span)) => {
            (!span.has_no_value() || span.may_be_absent) && (spec.may_be_absent || !span.may_be_absent)
        }
        (FactType::Text, Possible::Text(_)) => true,
        (FactType::Monitors, Possible::Monitors { surely, perhaps }) => surely.without(*perhaps).is_empty(),
        (FactType::Codes, Possible::Codes { may_be_absent, may_be_present, .. }) => {
            (*may_be_present || *may_be_absent) && (spec.may_be_absent || !may_be_absent)
        }
        _ => false,
    }
}
