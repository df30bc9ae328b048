//! Records as columns that are owned or lent by a reader, in the form that the engine is given. What the codes mean is
//! said once a column, not once a record.

use super::mapping::Target;
use crate::bulk::{Batch, BatchError, Codes, Column, Dates, Known, Whole};
use crate::model::facts::{ABSENT, Possible};
use crate::model::{DeclaredValue, Fact, Reading, Value, day_number, spec};
use crate::program::FactRef;
use crate::program::block::{DeclaredFact, DeclaredType};
use crate::program::given;
use std::fmt;
use std::sync::Arc;

/// Values that are owned, or lent by their owner.
pub enum Held<T: 'static> {
    /// Owned.
    Own(Vec<T>),
    /// Lent.
    Lent(Box<dyn AsRef<[T]> + Send + Sync>),
}

impl<T> Held<T> {
    /// The values.
    #[must_use]
    pub fn all(&self) -> &[T] {
        match self {
            Held::Own(all) => all,
            Held::Lent(all) => (**all).as_ref(),
        }
    }
}

impl<T> fmt::Debug for Held<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Held({} values)", self.all().len())
    }
}

/// Which records are known, a bit a record from the lowest bit of the first byte on.
#[derive(Debug)]
pub struct Bits {
    /// The bytes.
    pub bytes: Held<u8>,
    /// Bits before the first record.
    pub offset: usize,
}

impl Bits {
    /// Whether a record is known.
    #[must_use]
    pub fn is(&self, row: usize) -> bool {
        let bit = self.offset + row;
        self.bytes.all().get(bit / 8).is_some_and(|byte| byte >> (bit % 8) & 1 == 1)
    }

    fn known(&self) -> Known<'_> {
        Known { bits: self.bytes.all(), offset: self.offset }
    }
}

/// Which records have something: a bit a record, from the lowest bit of the first byte on.
#[derive(Debug, Default)]
pub(super) struct Filled {
    bytes: Vec<u8>,
    any_missing: bool,
}

impl Filled {
    /// So many records, all of which have something.
    pub(super) fn of(len: usize) -> Filled {
        Filled { bytes: vec![0xFF; len.div_ceil(8)], any_missing: false }
    }

    /// The record at a place has nothing.
    pub(super) fn miss(&mut self, row: usize) {
        self.any_missing = true;
        if let Some(byte) = self.bytes.get_mut(row / 8) {
            *byte &= !(1 << (row % 8));
        }
    }

    /// The bits so far.
    pub(super) fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The bits, where some record has nothing.
    pub(super) fn bits(self) -> Option<Bits> {
        self.any_missing.then_some(Bits { bytes: Held::Own(self.bytes), offset: 0 })
    }
}

/// The values of a column.
#[derive(Debug)]
pub enum Values {
    /// One byte a record, a place in `meaning`.
    Bytes(Held<u8>, Vec<Possible>),
    /// Four bytes a record, a place in `meaning`.
    Coded(Held<u32>, Arc<Vec<Possible>>),
    /// Four bytes a record, a place in a list of values of a declared fact; `None` is *not known*.
    Declared(Held<u32>, Vec<Option<DeclaredValue>>),
    /// Numbers of two bytes with their scale.
    Short(Held<u16>, i64, Option<Bits>),
    /// Numbers of four bytes with their scale.
    Whole(Held<i32>, i64, Option<Bits>),
    /// Numbers of eight bytes with their scale.
    Long(Held<i64>, i64, Option<Bits>),
}

/// The columns of some records.
#[derive(Debug, Default)]
pub struct Store {
    /// How many records.
    pub len: usize,
    /// Test dates: days since 1970-01-01.
    pub days: Option<(Held<i32>, Option<Bits>)>,
    /// The test date of every record, where a constant says it.
    pub day: Option<crate::model::Date>,
    /// Facts.
    pub facts: Vec<(Target, Values)>,
    /// The four data bytes of PID $01.
    pub monitor_bytes: Option<(Held<u32>, Option<Bits>)>,
}

/// A value of a declared fact that a program cannot take.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misfit {
    /// Name of the fact.
    pub name: String,
    /// The value.
    pub value: String,
    /// The codes of it in the column.
    pub codes: Vec<u32>,
    /// Place of the column in [`Store::facts`].
    pub column: usize,
    /// What the program expects.
    pub expected: String,
}

/// The meanings of a fact's own words as codes: its words in their order, then *not known*, then *not on this vehicle*.
#[must_use]
pub fn meanings(fact: Fact) -> Vec<Possible> {
    let absent = if spec(fact).may_be_absent { ABSENT } else { 0 };
    let all = fact.all_words() | absent;
    let words = (0..u32::try_from(fact.words().len()).unwrap_or(0)).map(|at| 1u64.checked_shl(at).unwrap_or(0));
    words.chain([all, if absent == 0 { all } else { ABSENT }]).map(Possible::Words).collect()
}

/// What a reading leaves possible of a fact; `None` is *not known*.
#[must_use]
pub fn possible(fact: Fact, reading: Option<&Reading>) -> Possible {
    let mut facts = crate::model::Facts::unknown();
    if let Some(reading) = reading {
        facts.learn(fact, reading);
    }
    facts.get(fact).clone()
}

/// What a value of a declared fact leaves possible; `None` where it does not fit. A column says yes or no by its mapping,
/// so a word is refused there.
fn declared_possible(kind: &DeclaredType, value: Option<&DeclaredValue>) -> Option<Possible> {
    match (kind, value) {
        (_, None) => Some(given::whole(kind)),
        (DeclaredType::YesNo, Some(DeclaredValue::Word(_))) => None,
        (_, Some(value)) => given::fit(kind, value),
    }
}

impl Store {
    /// The column of a fact.
    pub(super) fn values(&self, fact: Fact) -> Option<&Values> {
        self.facts.iter().find(|(target, _)| *target == Target::Fact(fact)).map(|(_, values)| values)
    }

    /// The values that a program's declared facts cannot have.
    #[must_use]
    pub fn misfits(&self, declared: &[DeclaredFact]) -> Vec<Misfit> {
        let mut found = Vec::new();
        for (column, (target, values)) in self.facts.iter().enumerate() {
            let (Target::Declared(name), Values::Declared(_, list)) = (target, values) else { continue };
            let Some(fact) = declared.iter().find(|fact| fact.name == *name) else { continue };
            for (code, value) in (0u32..).zip(list) {
                if declared_possible(&fact.kind, value.as_ref()).is_none() {
                    found.push(Misfit {
                        name: name.clone(),
                        value: value.as_ref().map(shown).unwrap_or_default(),
                        codes: vec![code],
                        column,
                        expected: given::expected(&fact.kind),
                    });
                }
            }
        }
        found
    }

    /// The meanings of the declared facts' codes under a program: what [`Store::batch`] lends.
    #[must_use]
    pub fn declared_meanings(&self, declared: &[DeclaredFact]) -> Vec<Option<Vec<Possible>>> {
        self.facts
            .iter()
            .map(|(target, values)| {
                let (Target::Declared(name), Values::Declared(_, list)) = (target, values) else { return None };
                let fact = declared.iter().find(|fact| fact.name == *name)?;
                let meaning = |value: &Option<DeclaredValue>| {
                    // A value that does not fit is of a record that is set aside.
                    declared_possible(&fact.kind, value.as_ref()).or_else(|| declared_possible(&fact.kind, None))
                };
                list.iter().map(meaning).collect()
            })
            .collect()
    }

    /// The records as the engine takes them.
    ///
    /// # Errors
    /// Where the columns do not fit each other, which is a mistake of the reader.
    pub fn batch<'a>(&'a self, declared: &'a [Option<Vec<Possible>>]) -> Result<Batch<'a>, BatchError> {
        let dates = match (&self.days, self.day) {
            (Some((days, known)), _) => Dates::Each { days: days.all(), known: known.as_ref().map(Bits::known) },
            (None, Some(day)) => Dates::One(day),
            (None, None) => Dates::Each { days: &[], known: None },
        };
        let mut batch = Batch::new(self.len, dates)?;
        for ((target, values), declared) in self.facts.iter().zip(declared) {
            let fact = match target {
                Target::Fact(fact) => FactRef::Known(*fact),
                Target::Declared(name) => FactRef::Declared(name.clone()),
            };
            if let Some(column) = values.column(declared.as_deref()) {
                batch = batch.with(fact, column)?;
            }
        }
        match &self.monitor_bytes {
            Some((bytes, known)) => batch.with_monitor_bytes(bytes.all(), known.as_ref().map(Bits::known)),
            None => Ok(batch),
        }
    }
}

impl Values {
    /// What a coded column says of a record; `None` where it holds numbers, values of a declared fact, or no such record.
    pub(super) fn meaning(&self, row: usize) -> Option<&Possible> {
        match self {
            Values::Bytes(codes, meaning) => meaning.get(usize::from(*codes.all().get(row)?)),
            Values::Coded(codes, meaning) => meaning.get(usize::try_from(*codes.all().get(row)?).ok()?),
            Values::Declared(..) | Values::Short(..) | Values::Whole(..) | Values::Long(..) => None,
        }
    }

    fn column<'a>(&'a self, declared: Option<&'a [Possible]>) -> Option<Column<'a>> {
        let bits = |known: &'a Option<Bits>| known.as_ref().map(Bits::known);
        Some(match self {
            Values::Bytes(codes, meaning) => Column::Coded { codes: Codes::U8(codes.all()), meaning, known: None },
            Values::Coded(codes, meaning) => Column::Coded { codes: Codes::U32(codes.all()), meaning, known: None },
            Values::Declared(codes, _) => {
                Column::Coded { codes: Codes::U32(codes.all()), meaning: declared?, known: None }
            }
            Values::Short(values, scale, known) => {
                Column::Numbers { values: Whole::U16(values.all()), scale: *scale, known: bits(known) }
            }
            Values::Whole(values, scale, known) => {
                Column::Numbers { values: Whole::I32(values.all()), scale: *scale, known: bits(known) }
            }
            Values::Long(values, scale, known) => {
                Column::Numbers { values: Whole::I64(values.all()), scale: *scale, known: bits(known) }
            }
        })
    }
}

fn shown(value: &DeclaredValue) -> String {
    match value {
        DeclaredValue::YesNo(yes) => if *yes { "true" } else { "false" }.to_owned(),
        DeclaredValue::Number(number) => number.to_string(),
        DeclaredValue::Word(word) => word.clone(),
    }
}

/// A value of a fact in base units, for a number or a date.
#[must_use]
pub fn base(value: &Value) -> Option<i64> {
    match value {
        Value::Number(number) => Some(*number),
        Value::Date(date) => Some(day_number(*date)),
        Value::Word(_) | Value::Text(_) | Value::Monitors(_) | Value::Codes(_) => None,
    }
}
