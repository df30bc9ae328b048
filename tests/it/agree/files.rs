//! Audit of random programs from each form of file, against the ruling on one record at a time: the same records as CSV,
//! flat JSON Lines, snapshots in JSON Lines, and Parquet (written and read back by the library `parquet`).

use super::{program, seeds};
use crate::bulk::documents::written;
use crate::bulk::records::{Dice, Records, Vocabulary, in_terms_of};
use crate::bulk::{days, flat_on};
use arrow_array::{ArrayRef, BooleanArray, Date32Array, DictionaryArray, Int64Array, RecordBatch, StringArray};
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use wherefore::internals::audit::header::Header;
use wherefore::internals::audit::json::{Keys, flat, set_aside, snapshots};
use wherefore::internals::audit::mapping::{Mapping, read};
use wherefore::internals::audit::{Fields, Judging, Lot, PADDING, Worker, arrow, cut};
use wherefore::internals::bulk::{Engine, Options};
use wherefore::internals::document;
use wherefore::internals::model::table::{all_facts, key_of};
use wherefore::internals::model::{DeclaredValue, Fact, FactType, Reading, Snapshot, Value as Known, day_number, spec};
use wherefore::internals::program::Program;
use wherefore::internals::program::block::DeclaredType;
use wherefore::internals::ruling::judge;

/// What is said of a record: the verdicts that are possible, and the clauses that decide where it is judged by clauses.
/// `None` where it is set aside.
type Told = Option<(BTreeSet<String>, Vec<String>)>;

fn told(possible: BTreeSet<String>, deciding: &[String]) -> Told {
    let by_clauses = possible.iter().all(|name| name != "not-subject" && name != "no-law-in-file");
    Some((possible, if by_clauses { deciding.to_vec() } else { Vec::new() }))
}

/// A record's leaves by their keys, as the columns of a file have them.
fn leaves(document: &Value, way: &str, found: &mut BTreeMap<String, Value>) {
    match document {
        Value::Object(map) => {
            for (key, value) in map {
                leaves(value, &if way.is_empty() { key.clone() } else { format!("{way}.{key}") }, found);
            }
        }
        Value::Bool(yes) if way == "communication" => {
            found.insert(way.to_owned(), Value::from(if *yes { "established" } else { "none" }));
        }
        Value::Array(list) => {
            let words: Vec<&str> = list.iter().map(|entry| entry.as_str().unwrap()).collect();
            let text = if words.is_empty() { "-".to_owned() } else { words.join(" ") };
            found.insert(way.to_owned(), Value::from(text));
        }
        other => drop(found.insert(way.to_owned(), other.clone())),
    }
}

/// What a file can hold of a record: no list of which more is to come, and yes and no of declared facts as such.
fn plain(program: &Program, snapshot: &Snapshot) -> Snapshot {
    let flat = flat_on(program, snapshot.test_date().unwrap());
    let mut plain = in_terms_of(&flat, snapshot);
    for reading in plain.readings.values_mut() {
        if let Reading::Known(Known::Codes(list)) = reading {
            list.may_hold_more = false;
        }
    }
    for fact in flat.facts.iter().filter(|fact| fact.kind == DeclaredType::YesNo) {
        if let Some(value) = plain.declared.get_mut(&fact.name)
            && let DeclaredValue::Word(word) = &value
        {
            *value = DeclaredValue::YesNo(word == "yes");
        }
    }
    plain
}

/// The records as rows of texts under keys; a fact that stands under several keys (a weight in pounds and one in
/// kilograms) is left out of those that have not the first.
struct Rows {
    keys: Vec<String>,
    rows: Vec<BTreeMap<String, Value>>,
    /// The records as documents, and what is read of each; `None` where it is refused.
    documents: Vec<String>,
    snapshots: Vec<Option<Snapshot>>,
}

impl Rows {
    fn of(snapshots: Vec<Snapshot>) -> Rows {
        let mut rows: Vec<BTreeMap<String, Value>> = Vec::new();
        for snapshot in &snapshots {
            let document: Value = serde_json::from_str(&written(snapshot)).unwrap();
            let mut row = BTreeMap::new();
            leaves(&document, "", &mut row);
            row.remove("format");
            rows.push(row);
        }
        let mut first: BTreeMap<String, String> = BTreeMap::new();
        let stem = |key: &str| {
            let units = ["_lb", "_kg", "_km", "_miles", "_minutes", "_hours", "_days"];
            units.iter().find_map(|unit| key.strip_suffix(unit)).unwrap_or(key).to_owned()
        };
        for key in rows.iter().flat_map(BTreeMap::keys) {
            first.entry(stem(key)).or_insert_with(|| key.clone());
        }
        let keys: Vec<String> = first.values().cloned().collect();
        let is_used = |key: &str| keys.iter().any(|known| known == key);
        rows.iter_mut().for_each(|row| row.retain(|key, _| is_used(key)));
        // What is left of a record is read back, so that both sides know the same.
        let again = |row: &BTreeMap<String, Value>| {
            let mut top = Map::new();
            top.insert("format".to_owned(), Value::from("wherefore-snapshot/1"));
            for (key, value) in row {
                let value = match (key.as_str(), value.as_str()) {
                    ("communication", Some("none")) => Value::from(false),
                    ("communication", Some("established")) => Value::from(true),
                    (key, Some(text)) if is_list(key) && text != "not-on-vehicle" => {
                        Value::from(text.split(' ').filter(|entry| *entry != "-").collect::<Vec<_>>())
                    }
                    _ => value.clone(),
                };
                match key.split_once('.') {
                    None => drop(top.insert(key.clone(), value)),
                    Some((group, last)) => {
                        let group = top.entry(group).or_insert_with(|| Value::Object(Map::new()));
                        group.as_object_mut().unwrap().insert(last.to_owned(), value);
                    }
                }
            }
            Value::Object(top).to_string()
        };
        let documents: Vec<String> = rows.iter().map(again).collect();
        let read = |text: &String| match document::read(text.as_bytes()) {
            Ok(read) => Some(read.snapshot),
            // More monitors counted than listed: the one thing that the dice can say and a document cannot.
            Err(faults) if faults.iter().all(|fault| fault.path == "visit.earlier_incomplete_count") => None,
            Err(faults) => panic!("{faults:?} {text}"),
        };
        Rows { keys, snapshots: documents.iter().map(read).collect(), documents, rows }
    }

    fn mapping(&self) -> Mapping {
        let mut text =
            "format = \"wherefore-mapping/1\"\n[file]\nnot-on-vehicle = [\"not-on-vehicle\"]\n[columns]\n".to_owned();
        for key in &self.keys {
            let none = if is_list(key) { ", none = [\"-\"]" } else { "" };
            text += &format!("\"{key}\" = {{fact = \"{key}\"{none}}}\n");
        }
        read(&text).unwrap_or_else(|faults| panic!("{faults:?}\n{text}"))
    }

    fn text(&self, row: usize, key: &str) -> Option<String> {
        self.rows[row].get(key).map(|value| value.as_str().map_or_else(|| value.to_string(), str::to_owned))
    }

    fn csv(&self) -> Vec<u8> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(&self.keys).unwrap();
        for row in 0..self.rows.len() {
            writer.write_record(self.keys.iter().map(|key| self.text(row, key).unwrap_or_default())).unwrap();
        }
        writer.into_inner().unwrap()
    }

    fn lines(&self) -> Vec<u8> {
        self.rows.iter().map(|row| serde_json::to_string(row).unwrap() + "\n").collect::<String>().into_bytes()
    }

    fn batch(&self) -> RecordBatch {
        let column = |key: &String| -> ArrayRef {
            let values: Vec<Option<&Value>> = self.rows.iter().map(|row| row.get(key)).collect();
            let are = |is: fn(&Value) -> bool| values.iter().flatten().all(|value| is(value));
            let texts: Vec<Option<String>> = (0..self.rows.len()).map(|row| self.text(row, key)).collect();
            let texts = || texts.iter().map(Option::as_deref);
            if are(Value::is_i64) {
                return Arc::new(values.iter().map(|value| value.and_then(Value::as_i64)).collect::<Int64Array>());
            }
            if are(Value::is_boolean) {
                return Arc::new(values.iter().map(|value| value.and_then(Value::as_bool)).collect::<BooleanArray>());
            }
            let day =
                |text: &str| text.parse::<wherefore::internals::model::Date>().ok().map(|day| day_number(day) as i32);
            if values.iter().flatten().all(|value| value.as_str().is_some_and(|text| day(text).is_some())) {
                return Arc::new(texts().map(|text| text.and_then(day)).collect::<Date32Array>());
            }
            if key.len().is_multiple_of(2) {
                return Arc::new(texts().collect::<DictionaryArray<arrow_array::types::Int8Type>>());
            }
            Arc::new(texts().collect::<StringArray>())
        };
        RecordBatch::try_from_iter(self.keys.iter().map(|key| (key, column(key)))).unwrap()
    }
}

fn is_list(key: &str) -> bool {
    let is_of = |fact: Fact| matches!(spec(fact).kind, FactType::Codes | FactType::Monitors) && key_of(fact) == key;
    all_facts().any(is_of)
}

/// The batch as it comes back out of a Parquet file.
fn through_parquet(batch: &RecordBatch) -> Vec<RecordBatch> {
    let path = crate::audit::folder("agree").join("records.parquet");
    let mut writer = ArrowWriter::try_new(std::fs::File::create(&path).unwrap(), batch.schema(), None).unwrap();
    writer.write(batch).unwrap();
    writer.close().unwrap();
    let reader = ParquetRecordBatchReaderBuilder::try_new(std::fs::File::open(&path).unwrap()).unwrap();
    let found = reader.build().unwrap().map(|batch| batch.unwrap()).collect();
    std::fs::remove_dir_all(path.parent().unwrap()).unwrap();
    found
}

fn judged(judging: &[Judging], mut lot: Lot, len: usize) -> Vec<Told> {
    let mut worker = Worker::default();
    let done = worker.work(judging, &mut lot, true);
    assert_eq!(done.adds_up(len), Ok(()));
    let said = |place: &u32| {
        let said = &done.outcomes.get(*place as usize)?.said;
        told(said.possible.iter().map(|(name, _)| name.clone()).collect(), &said.deciding)
    };
    done.places.iter().map(said).collect()
}

#[test]
fn audit_of_random_programs_from_every_form_of_file() {
    let (mut compared, mut judged_ones) = (0, 0);
    for seed in seeds(25) {
        let Ok((program, text)) = program(seed) else { continue };
        let engine = Engine::new(&program, Options::default()).unwrap();
        let judging = [Judging {
            id: program.id.clone(),
            engine,
            open: None,
            against: None,
            unread: None,
            announced: Vec::new(),
        }];
        let mut dice = Dice(seed + 9_000_049);
        for unknown in [0, 10, 40] {
            let dates = days(&program, &mut dice);
            let flats: Vec<_> = dates.iter().map(|date| flat_on(&program, *date)).collect();
            let vocabulary = Vocabulary::of(&flats, dates, &mut dice);
            let records = Records::roll(&vocabulary, 12, unknown, &mut dice);
            let rows = Rows::of(records.snapshots.iter().map(|snapshot| plain(&program, snapshot)).collect());
            let expected: Vec<Told> = rows
                .snapshots
                .iter()
                .map(|snapshot| {
                    let snapshot = snapshot.as_ref()?;
                    // Columns of a vehicle that did not answer are left unread.
                    let mut read = snapshot.clone();
                    if snapshot.is_silent() {
                        read.leave_unread(|_| true);
                    }
                    let ruling = judge(&flat_on(&program, snapshot.test_date()?), &program, &read).ok()?;
                    let possible = ruling.possible.iter().map(|one| one.name.clone()).collect();
                    told(possible, &ruling.deciding)
                })
                .collect();
            let (mapping, len) = (rows.mapping(), rows.rows.len());
            let table = String::from_utf8(rows.csv()).unwrap();
            let same = |form: &str, found: Vec<Told>| {
                for (row, (found, expected)) in found.iter().zip(&expected).enumerate() {
                    let record = &rows.snapshots[row];
                    assert_eq!(found, expected, "{form}, seed {seed}, record {row}: {record:?}\n{text}\n{table}");
                }
                assert_eq!(found.len(), expected.len());
            };
            let bytes = rows.csv();
            let mut header = Header::new(b',');
            let used = header.feed(&bytes);
            assert_eq!(header.fields().unwrap(), rows.keys.as_slice());
            let mut block = bytes[used..].to_vec();
            let filled = block.len();
            block.resize(filled + PADDING, 0);
            let made = cut(block, filled, b',', rows.keys.len());
            let in_order: Vec<usize> = mapping
                .columns
                .iter()
                .map(|column| rows.keys.iter().position(|key| *key == column.name).unwrap())
                .collect();
            same("CSV", judged(&judging, Fields::new(&mapping).read(&made.table, &in_order), len));
            let (keys, places) = Keys::of(&mapping);
            let made = flat(&rows.lines(), &keys);
            let mut lot = Fields::new(&mapping).read(&made.table, &places);
            set_aside(&mut lot, made.faults.clone());
            same("JSON Lines", judged(&judging, lot, len));
            let whole = read("format = \"wherefore-mapping/1\"\n[file]\nlines = \"snapshots\"\n[columns]\n").unwrap();
            let (keys, places) = Keys::of(&whole);
            let documents: String = rows.documents.iter().map(|document| document.clone() + "\n").collect();
            let (_, lot) = snapshots(documents.as_bytes(), &keys, &mut Fields::new(&whole), &places);
            same("snapshots", judged(&judging, lot, len));
            let mut found = Vec::new();
            for batch in through_parquet(&rows.batch()) {
                let lot = arrow::lot(&batch, &in_order, &mut Fields::new(&mapping));
                found.extend(judged(&judging, lot, batch.num_rows()));
            }
            same("Parquet", found);
            compared += 4 * len;
            judged_ones += expected.iter().flatten().count();
        }
    }
    assert!(judged_ones > 200, "{judged_ones} judged");
    println!("{compared} records compared in four forms, {judged_ones} of a form judged");
}
