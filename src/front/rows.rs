//! Records of facts that a host holds in variables or in structures of its own: whole numbers in, verdicts and the clauses
//! that decide out. For one record or many; hosts with Arrow arrays have [`super::Programs::batches`].

use super::{Error, Program, Request, Verdict};
use crate::bulk::{Batch, Codes, Column, Dates, Engine, Judged, Known, Options, Whole};
use crate::document::other_unit_keys;
use crate::model::facts::Possible;
use crate::model::table::{all_facts, key_of};
use crate::model::{Fact, FactType, Facts, spec};
use crate::program::{Class, FactRef};
use serde_json::{Value, json};

/// The key of a column that holds the four data bytes of service $01 PID $01, the first one highest.
const MONITOR_BYTES: &str = "pid-01";

/// What a column holds.
#[derive(Debug)]
enum Held {
    /// The date of the visit.
    Day,
    /// The bytes of PID $01.
    MonitorBytes,
    /// A number with its scale, or a date.
    Number(Fact, i64),
    /// A place in a list of meanings, the last of which is *not known*.
    Coded(Fact, Vec<Possible>),
}

/// One program for records in columns of whole numbers. Threads may share it.
///
/// ```
/// use wherefore::{Programs, Request, Rows};
/// let program = Programs::built_in().get("us-il")?;
/// let rows = program.rows(&["visit.date", "vehicle.model_year", "lamp.commanded"], &Request::new())?;
/// // Two records: days since 1970-01-01, years, no and yes.
/// let judged = rows.judge(&[&[20785, 20785], &[2016, Rows::NOT_KNOWN], &[0, 1]])?;
/// assert_eq!(judged.len(), 2);
/// assert!(judged.possible(0).count() > 1);
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug)]
pub struct Rows {
    engine: Engine,
    columns: Vec<(String, Held)>,
}

/// What came of records, by their places.
///
/// ```
/// use wherefore::{Programs, Request, Rows};
/// let rows = Programs::built_in().get("us-il")?.rows(&["visit.date", "vehicle.model_year"], &Request::new())?;
/// let judged = rows.judge(&[&[20785], &[2300]])?;
/// // No vehicle is of that year: the record is set aside, with why.
/// assert!(judged.set_aside(0).is_some());
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug)]
pub struct RowsJudged {
    judged: Judged,
    names: Vec<String>,
}

fn refuse(reason: String) -> Error {
    Error::Ruling { reason }
}

impl Program {
    /// This program for records with these columns, each by the key of its fact in a snapshot document; what no column
    /// holds is not known. `visit.date` has to be one. A column holds, by the type of its fact:
    ///
    /// * yes or no: 1 or 0; a word: its place in [`Rows::words`];
    /// * a number: itself, in the unit of the key (`vehicle.gross_weight_kg` is a key too);
    /// * a date: days since 1970-01-01;
    /// * `pid-01`: the four data bytes of service $01 PID $01 as a number, the first one highest;
    /// * for a key with values after it, as in `codes.stored=[[],["P0420"]]`: the place in that list of JSON values,
    ///   which are those of a snapshot document. So are texts and lists given.
    ///
    /// # Errors
    /// [`Error::Ruling`] for a key that there is not or that is there twice, values that the fact cannot have, no column of
    /// dates, a reading that the program does not have, or `as_of`: records go by the law of their own dates.
    pub fn rows(&self, keys: &[&str], request: &Request) -> Result<Rows, Error> {
        if request.inner.as_of.is_some() {
            return Err(refuse("records are judged by the law of their own dates: as_of is not taken".to_owned()));
        }
        let program = &**self.program();
        let names: Vec<&String> =
            program.questions.iter().map(|it| &it.id).chain(program.options.iter().map(|it| &it.id)).collect();
        let takes = request.inner.takes.iter().filter(|take| names.contains(&&take.name)).cloned().collect();
        let options = Options { known_on: request.inner.known_on, takes, ..Options::default() };
        let engine = Engine::new(program, options).map_err(|error| refuse(error.to_string()))?;
        let mut columns: Vec<(String, Held)> = Vec::new();
        for key in keys {
            let (name, values) = key.split_once('=').map_or((*key, None), |(name, values)| (name.trim(), Some(values)));
            if columns.iter().any(|(other, _)| other == name) {
                return Err(refuse(format!("there are two columns \"{name}\"")));
            }
            columns.push((name.to_owned(), held(name, values)?));
        }
        if !columns.iter().any(|(_, held)| matches!(held, Held::Day)) {
            return Err(refuse("no column gives visit.date, and without it no law can be chosen".to_owned()));
        }
        Ok(Rows { engine, columns })
    }
}

fn held(name: &str, values: Option<&str>) -> Result<Held, Error> {
    if name == MONITOR_BYTES {
        return Ok(Held::MonitorBytes);
    }
    let here = |fact: &Fact| key_of(*fact) == name || other_unit_keys(*fact).iter().any(|(key, _)| key == name);
    let fact = all_facts().find(here).ok_or_else(|| refuse(format!("there is no fact \"{name}\"")))?;
    if fact == Fact::TestDate {
        return Ok(Held::Day);
    }
    let all = Facts::unknown().get(fact).clone();
    if let Some(values) = values {
        let list: Vec<Value> = serde_json::from_str(values)
            .map_err(|error| refuse(format!("values of {name}: {error}: a JSON list is expected")))?;
        let mut meaning =
            list.iter().map(|value| meant(name, fact, value)).collect::<Result<Vec<Possible>, Error>>()?;
        meaning.push(all);
        return Ok(Held::Coded(fact, meaning));
    }
    match spec(fact).kind {
        FactType::YesNo { .. } | FactType::Words(_) => {
            let words = words_of(fact).iter().map(|word| Possible::Words(fact.word_bit(word).unwrap_or(0)));
            Ok(Held::Coded(fact, words.chain([all]).collect()))
        }
        FactType::Number { unit, .. } => {
            let other = other_unit_keys(fact).into_iter().find(|(key, _)| key == name);
            Ok(Held::Number(fact, other.map_or(unit, |(_, unit)| unit).scale()))
        }
        FactType::Date => Ok(Held::Number(fact, 1)),
        _ => Err(refuse(format!("{name} is a text or a list: give its values, as in {name}=[...]"))),
    }
}

/// The words of a fact in the order of their places in a row.
fn words_of(fact: Fact) -> &'static [&'static str] {
    match spec(fact).kind {
        FactType::YesNo { .. } => &["no", "yes"],
        FactType::Words(list) => list,
        _ => &[],
    }
}

/// What a value of a snapshot document leaves possible of a fact.
fn meant(name: &str, fact: Fact, value: &Value) -> Result<Possible, Error> {
    let mut whole = value.clone();
    for part in name.rsplit('.') {
        whole = json!({ part: whole });
    }
    if let Some(object) = whole.as_object_mut() {
        object.insert("format".to_owned(), json!("wherefore-snapshot/1"));
    }
    let read = super::Snapshot::from_json(whole.to_string().as_bytes())?;
    let mut facts = Facts::unknown();
    if let Some(reading) = read.document.snapshot.get(fact) {
        facts.learn(fact, reading);
    }
    Ok(facts.get(fact).clone())
}

/// A column as the engine takes it, owned.
enum Made<'a> {
    Days(Vec<i32>, Option<Vec<u8>>),
    Bytes(Vec<u32>, Option<Vec<u8>>),
    Numbers(Fact, &'a [i64], i64, Option<Vec<u8>>),
    Coded(Fact, Vec<u32>, &'a [Possible]),
}

/// A bit for each record that is known; `None` where all are.
fn known(values: &[i64]) -> Option<Vec<u8>> {
    if !values.contains(&Rows::NOT_KNOWN) {
        return None;
    }
    let bits = values.chunks(8).map(|eight| {
        (0u8..).zip(eight).fold(0u8, |bits, (at, value)| bits | u8::from(*value != Rows::NOT_KNOWN) << at)
    });
    Some(bits.collect())
}

fn bits(known: &Option<Vec<u8>>) -> Option<Known<'_>> {
    known.as_ref().map(|bits| Known { bits, offset: 0 })
}

fn made<'a>(held: &'a Held, values: &'a [i64]) -> Made<'a> {
    match held {
        // A day that is out of reach of four bytes is out of range anyway.
        Held::Day => {
            Made::Days(values.iter().map(|day| i32::try_from(*day).unwrap_or(i32::MAX)).collect(), known(values))
        }
        Held::MonitorBytes => {
            Made::Bytes(values.iter().map(|bytes| u32::try_from(*bytes).unwrap_or(0)).collect(), known(values))
        }
        Held::Number(fact, scale) => Made::Numbers(*fact, values, *scale, known(values)),
        Held::Coded(fact, meaning) => {
            let last = u32::try_from(meaning.len() - 1).unwrap_or(u32::MAX);
            let code = |value: &i64| match *value {
                Rows::NOT_KNOWN => last,
                value => u32::try_from(value).ok().filter(|code| *code < last).unwrap_or(u32::MAX),
            };
            Made::Coded(*fact, values.iter().map(code).collect(), meaning)
        }
    }
}

impl Rows {
    /// What a column holds for a record of which it is not known.
    pub const NOT_KNOWN: i64 = i64::MIN;

    /// The words of a column by their places; empty for a column that holds none.
    #[must_use]
    pub fn words(&self, column: usize) -> &'static [&'static str] {
        match self.columns.get(column) {
            Some((_, Held::Coded(fact, _))) => words_of(*fact),
            _ => &[],
        }
    }

    /// Judges records: of each column its values, one a record, in the order of the keys.
    ///
    /// # Errors
    /// [`Error::Ruling`] for columns that are too few, too many or of different lengths. A record that cannot be judged is
    /// no error: [`RowsJudged::set_aside`] says why.
    pub fn judge(&self, columns: &[&[i64]]) -> Result<RowsJudged, Error> {
        let len = columns.first().map_or(0, |values| values.len());
        if columns.len() != self.columns.len() || columns.iter().any(|values| values.len() != len) {
            return Err(refuse(format!("{} columns of one length are expected", self.columns.len())));
        }
        for ((name, held), values) in self.columns.iter().zip(columns) {
            let is_wide = |value: &&i64| **value != Rows::NOT_KNOWN && u32::try_from(**value).is_err();
            if matches!(held, Held::MonitorBytes)
                && let Some(wide) = values.iter().find(is_wide)
            {
                return Err(refuse(format!("{wide} is no number of four bytes, as {name} is")));
            }
        }
        let made: Vec<Made<'_>> =
            self.columns.iter().zip(columns).map(|((_, held), values)| made(held, values)).collect();
        let mut dates = Dates::Each { days: &[], known: None };
        for column in &made {
            if let Made::Days(days, known) = column {
                dates = Dates::Each { days, known: bits(known) };
            }
        }
        let wrong = |error: crate::bulk::BatchError| refuse(error.to_string());
        let mut batch = Batch::new(len, dates).map_err(wrong)?;
        for column in &made {
            batch = match column {
                Made::Days(..) => Ok(batch),
                Made::Bytes(bytes, known) => batch.with_monitor_bytes(bytes, bits(known)),
                Made::Numbers(fact, values, scale, known) => batch.with(
                    FactRef::Known(*fact),
                    Column::Numbers { values: Whole::I64(values), scale: *scale, known: bits(known) },
                ),
                Made::Coded(fact, codes, meaning) => {
                    batch.with(FactRef::Known(*fact), Column::Coded { codes: Codes::U32(codes), meaning, known: None })
                }
            }
            .map_err(wrong)?;
        }
        let judged = self.engine.judge(&batch);
        let outcomes = self.engine.program().outcomes.iter().map(|outcome| outcome.name.clone());
        Ok(RowsJudged { judged, names: outcomes.collect() })
    }
}

impl RowsJudged {
    /// How many records.
    #[must_use]
    pub fn len(&self) -> usize {
        self.judged.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.judged.is_empty()
    }

    /// The verdicts that may follow, the exact set; none of a record that is set aside.
    pub fn possible(&self, record: usize) -> impl Iterator<Item = Verdict<'_>> {
        let row = self.judged.row(record);
        row.into_iter().flat_map(move |row| {
            row.possible().map(move |verdict| {
                let flat = row.rules().flat();
                let name = match verdict {
                    crate::program::Verdict::Outcome(place) => self.names.get(place).map_or("", String::as_str),
                    crate::program::Verdict::NotSubject => verdict.class(flat).word(),
                };
                Verdict::of(name, verdict.class(flat))
            })
        })
    }

    /// The verdict; `undecided` where more than one is possible. `None`: the record is set aside.
    #[must_use]
    pub fn verdict(&self, record: usize) -> Option<Verdict<'_>> {
        let mut possible = self.possible(record);
        let first = possible.next()?;
        Some(if possible.next().is_none() { first } else { Verdict::of(Class::Undecided.word(), Class::Undecided) })
    }

    /// Ids of the clauses that decide in every case that is still possible.
    pub fn deciding(&self, record: usize) -> impl Iterator<Item = &str> {
        let row = self.judged.row(record);
        row.into_iter().flat_map(|row| {
            let lines = &row.rules().flat().lines;
            row.deciding().filter_map(|line| lines.get(line)).map(|line| line.clause.as_str())
        })
    }

    /// Why a record could not be judged.
    #[must_use]
    pub fn set_aside(&self, record: usize) -> Option<String> {
        let errors = self.judged.errors();
        let place = errors.binary_search_by_key(&record, |(row, _)| *row).ok()?;
        errors.get(place).map(|(_, error)| error.to_string())
    }
}
