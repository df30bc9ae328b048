//! Record batch in, record batch out: the step from a host's columns to rulings and back, for hosts that hold Arrow arrays
//! (notebooks, data frames, engines that hand batches to a function). One row comes back for each that went in, in the same
//! order; a row that cannot be judged says why. No row depends on another, on the batch it came in, or on who judged it.

use super::arrow::{self, Shown};
use super::lot::{Judging, Worker};
use super::mapping::{Holds, Lines, Mapping, Recorded};
use super::{Aside, Done, Fields, Lot};
use crate::bulk::{Engine, Options};
use crate::diagnostic::nearest;
use crate::model::day_number;
use crate::program::unread::unread_alone;
use crate::program::{Program, SelectionError};
use arrow_array::builder::{BooleanBuilder, Date32Builder, StringBuilder};
use arrow_array::types::Int32Type;
use arrow_array::{ArrayRef, DictionaryArray, Int32Array, RecordBatch, StringArray};
use arrow_schema::{DataType, Field, Schema};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Records of a lot: small enough for its columns to stay in the cache.
const LOT: usize = 8192;

/// The most column names that a message lists.
const NAMED: usize = 40;

/// What is said of a record that is judged, in the order of the columns: of the batches that come back, where `set_aside`
/// follows (why a row is not judged; it has nothing else then), and of the files that `wherefore audit --out` writes, where
/// file and row stand before. Lists of names are parted by blanks.
pub const COLUMNS: [&str; 12] = [
    "record",
    "program",
    "test_date",
    "verdict",
    "class",
    "possible",
    "deciding",
    "recorded",
    "difference",
    "leans_on_weak",
    "reason",
    "so_far_as_read",
];

impl Judging {
    /// A program that records are judged by, with its unread topics and nothing beside.
    ///
    /// # Errors
    /// Where the options name a reading or value that the program does not have. Names it does not have are passed over.
    pub fn new(program: &Program, options: &Options) -> Result<Judging, SelectionError> {
        let own = |program: &Program| {
            let questions = program.questions.iter().map(|question| &question.id);
            let names: Vec<&String> = questions.chain(program.options.iter().map(|option| &option.id)).collect();
            let takes = options.takes.iter().filter(|take| names.contains(&&take.name)).cloned().collect();
            Options { known_on: options.known_on, takes, ..Options::default() }
        };
        // Only whether the last outcome is possible is asked of it.
        let alone = |alone: Program| Engine::new(&alone, Options { verdicts_alone: true, ..own(&alone) });
        let unread = unread_alone(program).map(alone).transpose()?;
        let engine = Engine::new(program, own(program))?;
        // What announced changes could turn is counted in summaries alone.
        let announced = Vec::new();
        Ok(Judging { id: program.id.clone(), engine, open: None, against: None, unread, announced })
    }
}

/// Where the columns of a mapping stand among the names of a host's columns.
///
/// # Errors
/// With every column that is not there or there more than once, and the names there are.
pub fn places(mapping: &Mapping, names: &[String]) -> Result<Vec<usize>, Vec<String>> {
    let mut faults = Vec::new();
    let mut places = Vec::new();
    for column in &mapping.columns {
        let mut found = names.iter().enumerate().filter(|(_, name)| **name == column.name);
        match (found.next(), found.next()) {
            (Some((place, _)), None) => places.push(place),
            (Some(_), Some(_)) => faults.push(format!("there are several columns \"{}\"", column.name)),
            (None, _) => {
                let near = nearest(&column.name, names.iter().map(String::as_str));
                let help = near.map_or(String::new(), |near| format!("; did the mapping mean \"{near}\"?"));
                faults.push(format!("there is no column \"{}\"{help}", column.name));
            }
        }
    }
    if faults.is_empty() {
        return Ok(places);
    }
    let shown: Vec<String> = names.iter().take(NAMED).map(|name| format!("\"{}\"", name.escape_debug())).collect();
    let more = names.len().checked_sub(NAMED).filter(|more| *more > 0);
    let more = more.map_or(String::new(), |more| format!(" and {more} more"));
    faults.push(format!("the columns are {}{more}", shown.join(", ")));
    Err(faults)
}

/// What a mapping and programs make of record batches. Shared by threads as it is.
#[derive(Debug)]
pub struct Batches {
    mapping: Mapping,
    programs: Vec<Judging>,
    hands: Mutex<Vec<(Fields, Worker)>>,
}

impl Batches {
    /// For one program, or, where the mapping has a column that says which, for several.
    ///
    /// # Errors
    /// With sentences: no program or several without a column that says which; a mapping for another form of records.
    pub fn new(mapping: Mapping, programs: Vec<Judging>) -> Result<Batches, Vec<String>> {
        let has_column = mapping.columns.iter().any(|column| matches!(column.holds, Holds::Program(_)));
        let mut faults = Vec::new();
        match programs.len() {
            0 => faults.push("which program? give one, or map a column that holds it".to_owned()),
            1 => {}
            _ if !has_column => faults
                .push("several programs need a column that says which; map it with holds = \"program\"".to_owned()),
            _ => {}
        }
        if mapping.file.lines == Lines::Snapshots {
            faults.push("lines = \"snapshots\" is for files of JSON Lines; a batch has columns".to_owned());
        }
        if !mapping.gives_date() {
            faults.push("no column and no constant gives visit.date, and without it no law can be chosen".to_owned());
        }
        if faults.is_empty() { Ok(Batches { mapping, programs, hands: Mutex::default() }) } else { Err(faults) }
    }

    /// Names of the columns that are read.
    pub fn columns(&self) -> impl Iterator<Item = &str> {
        self.mapping.columns.iter().map(|column| column.name.as_str())
    }

    /// Judges a batch.
    ///
    /// # Errors
    /// With sentences: a column that is not there or of a type that the mapping cannot read; a fault of this library.
    pub fn judge(&self, batch: &RecordBatch) -> Result<RecordBatch, Vec<String>> {
        let schema = batch.schema();
        let names: Vec<String> = schema.fields().iter().map(|field| field.name().clone()).collect();
        let places = places(&self.mapping, &names)?;
        let kinds = self.mapping.columns.iter().zip(&places);
        let refused: Vec<String> = kinds
            .filter_map(|(column, place)| arrow::refused(column, schema.fields().get(*place)?.data_type()))
            .collect();
        if !refused.is_empty() {
            return Err(refused);
        }
        let kept = self.hands.lock().unwrap_or_else(PoisonError::into_inner).pop();
        let (mut fields, mut worker) = kept.unwrap_or_else(|| (Fields::new(&self.mapping), Worker::default()));
        let mut out = Out::default();
        for from in (0..batch.num_rows()).step_by(LOT) {
            let part = batch.slice(from, LOT.min(batch.num_rows() - from));
            let mut lot = arrow::lot(&part, &places, &mut fields);
            let ids = self.ids(&part, &places);
            let done = worker.work(&self.programs, &mut lot, true);
            done.adds_up(part.num_rows()).map_err(|fault| vec![fault])?;
            out.take(&self.programs, &lot, &done, ids.as_ref());
        }
        let made = out.finish().map_err(|error| vec![error.to_string()])?;
        self.hands.lock().unwrap_or_else(PoisonError::into_inner).push((fields, worker));
        Ok(made)
    }

    fn ids(&self, part: &RecordBatch, places: &[usize]) -> Option<Shown> {
        let at = self.mapping.columns.iter().position(|column| column.holds == Holds::RecordId)?;
        part.columns().get(*places.get(at)?).map(Shown::of)
    }
}

/// The schema of the batches that come back; texts are dictionaries.
#[must_use]
pub fn schema() -> Schema {
    let word = || DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8));
    let kind = |name: &str| match name {
        "record" => DataType::Utf8,
        "test_date" => DataType::Date32,
        "leans_on_weak" | "so_far_as_read" => DataType::Boolean,
        _ => word(),
    };
    let names = COLUMNS.into_iter().chain(["set_aside"]);
    Schema::new(names.map(|name| Field::new(name, kind(name), true)).collect::<Vec<_>>())
}

/// Texts of a column, each once.
#[derive(Debug, Default)]
struct Words {
    list: Vec<String>,
    place: BTreeMap<String, i32>,
    keys: Vec<Option<i32>>,
}

impl Words {
    fn key(&mut self, text: &str) -> Option<i32> {
        if let Some(place) = self.place.get(text) {
            return Some(*place);
        }
        let place = i32::try_from(self.list.len()).ok()?;
        self.list.push(text.to_owned());
        self.place.insert(text.to_owned(), place);
        Some(place)
    }

    fn finish(self) -> Result<ArrayRef, arrow_schema::ArrowError> {
        let values: StringArray = self.list.iter().map(Some).collect();
        let made = DictionaryArray::<Int32Type>::try_new(Int32Array::from(self.keys), Arc::new(values))?;
        Ok(Arc::new(made))
    }
}

/// Columns of texts of an outcome, in the order of [`Out::words`].
const WORDS: usize = 9;

/// Columns under way.
#[derive(Debug, Default)]
struct Out {
    record: StringBuilder,
    day: Date32Builder,
    /// program, verdict, class, possible, deciding, recorded, difference, reason, `set_aside`
    words: [Words; WORDS],
    leans: BooleanBuilder,
    unread: BooleanBuilder,
}

impl Out {
    fn take(&mut self, programs: &[Judging], lot: &Lot, done: &Done, ids: Option<&Shown>) {
        let outcomes: Vec<([Option<i32>; WORDS], bool)> = done
            .outcomes
            .iter()
            .map(|outcome| {
                let said = &outcome.said;
                let possible: Vec<&str> = said.possible.iter().map(|(name, _)| name.as_str()).collect();
                let texts = [
                    programs.get(outcome.program).map(|judging| judging.id.clone()),
                    Some(said.verdict.clone()),
                    Some(said.class.word().to_owned()),
                    Some(possible.join(" ")),
                    Some(said.deciding.join(" ")),
                    outcome.recorded.as_ref().map(|recorded| Recorded::word(recorded).to_owned()),
                    outcome.standing.differs().then(|| outcome.standing.words()),
                    Some(said.reasons.join(" ")),
                    None,
                ];
                let mut keys = [None; WORDS];
                for ((key, words), text) in keys.iter_mut().zip(&mut self.words).zip(texts) {
                    *key = text.and_then(|text| words.key(&text));
                }
                (keys, said.leans)
            })
            .collect();
        let mut why: BTreeMap<usize, Vec<String>> = BTreeMap::new();
        for aside in &done.aside {
            why.entry(aside.row).or_default().push(told(aside));
        }
        let days = days(lot);
        for row in 0..lot.store.len {
            let place = done.places.get(row).and_then(|place| usize::try_from(*place).ok());
            let found = place.and_then(|place| outcomes.get(place));
            self.record.append_option(ids.map(|ids| ids.text(row)).filter(|id| !id.is_empty()));
            self.day.append_option(days(row));
            let mut keys = found.map_or([None; WORDS], |(keys, _)| *keys);
            if found.is_none() {
                let reasons = why.get(&row).map_or_else(String::new, |reasons| reasons.join("; "));
                if let (Some(key), Some(words)) = (keys.last_mut(), self.words.last_mut()) {
                    *key = words.key(&reasons);
                }
            }
            for (words, key) in self.words.iter_mut().zip(keys) {
                words.keys.push(key);
            }
            self.leans.append_option(found.map(|(_, leans)| *leans));
            self.unread.append_option(found.map(|_| done.unread.get(row) == Some(&true)));
        }
    }

    fn finish(mut self) -> Result<RecordBatch, arrow_schema::ArrowError> {
        let [program, verdict, class, possible, deciding, recorded, difference, reason, aside] = self.words;
        let columns: Vec<ArrayRef> = vec![
            Arc::new(self.record.finish()),
            program.finish()?,
            Arc::new(self.day.finish()),
            verdict.finish()?,
            class.finish()?,
            possible.finish()?,
            deciding.finish()?,
            recorded.finish()?,
            difference.finish()?,
            Arc::new(self.leans.finish()),
            reason.finish()?,
            Arc::new(self.unread.finish()),
            aside.finish()?,
        ];
        RecordBatch::try_new(Arc::new(schema()), columns)
    }
}

/// Why a record is set aside, with column and value.
fn told(aside: &Aside) -> String {
    match (aside.column.as_str(), aside.value.as_str()) {
        ("", "") => aside.reason.clone(),
        (column, "") => format!("{column}: {}", aside.reason),
        (column, value) => format!("{column}: \"{value}\" {}", aside.reason),
    }
}

/// Test dates as day numbers.
fn days(lot: &Lot) -> impl Fn(usize) -> Option<i32> + '_ {
    let fixed = lot.store.day.and_then(|day| i32::try_from(day_number(day)).ok());
    move |row| match &lot.store.days {
        Some((days, known)) => {
            let is_known = known.as_ref().is_none_or(|known| known.is(row));
            days.all().get(row).copied().filter(|_| is_known)
        }
        None => fixed,
    }
}
