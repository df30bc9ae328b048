//! A block of JSON Lines to fields, or to facts where the lines are snapshots. A line that is not an object, or in which a
//! mapped key holds an object, is set aside.

use super::fields::Fields;
use super::mapping::{Holds, Mapping, Reads, Target};
use super::store::{Bits, Held, Values, possible};
use super::table::{EMPTY_LIST, Lot, MISSING, Table, aside};
use crate::document::{self, Node};
use crate::model::facts::Possible;
use crate::model::{DeclaredValue, Fact, Reading, Snapshot, Value, day_number};
use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::sync::Arc;

/// Keys that are columns, with their places and what may stand there.
#[derive(Debug)]
pub struct Keys {
    places: BTreeMap<String, usize>,
    takes: Vec<Takes>,
}

/// What may stand at a key.
#[derive(Debug, Clone, Copy, Default)]
struct Takes {
    /// What joins the entries of a list; `None`: no list may stand here.
    join: Option<char>,
    /// Whether these are the bytes of PID $01, of which a bare number is either the value or the digits.
    is_status: bool,
}

/// Why a line, or a value in it, cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Place of the record in the block.
    pub row: usize,
    /// The key; empty where it is the line.
    pub column: String,
    /// What stands there.
    pub value: String,
    /// The reason.
    pub reason: String,
}

/// Sets the records of faults aside; of a line that is no object nothing else is said.
pub fn set_aside(lot: &mut Lot, faults: Vec<Fault>) {
    for fault in faults {
        if fault.column.is_empty() {
            lot.aside.retain(|aside| aside.row != fault.row);
        }
        aside(lot, fault.row, &fault.column, fault.value.as_bytes(), fault.reason);
    }
}

const TWICE: &str = "is a key that the object has twice";
const BARE: &str = "is a bare number: it can be the value of the four bytes or their hexadecimal digits; write the digits \
                    as a text";
const NO_LIST: &str = "is a list; only trouble codes and names of monitors stand in lists";
const NULL_ENTRY: &str = "is a list with an entry that is null";
const INEXACT: &str = "is a number too long to be read exactly; write it as a text";

impl Keys {
    /// The keys of a mapping, and for each of its columns the place in the table.
    #[must_use]
    pub fn of(mapping: &Mapping) -> (Keys, Vec<usize>) {
        let mut keys = Keys { places: BTreeMap::new(), takes: Vec::new() };
        let mut places = Vec::new();
        for column in &mapping.columns {
            let next = keys.takes.len();
            let place = *keys.places.entry(column.name.clone()).or_insert(next);
            if place == next {
                keys.takes.push(Takes::default());
            }
            if let Some(takes) = keys.takes.get_mut(place) {
                match &column.holds {
                    Holds::Fact(_, Reads::Codes(list, _) | Reads::Monitors(list, _)) => {
                        takes.join.get_or_insert(list.separator);
                    }
                    Holds::MonitorStatus => takes.is_status = true,
                    _ => {}
                }
            }
            places.push(place);
        }
        (keys, places)
    }

    fn takes(&self, place: usize) -> Takes {
        self.takes.get(place).copied().unwrap_or_default()
    }
}

/// The lines of a block that are not empty, with the place of the first byte of each.
fn lines(block: &[u8]) -> impl Iterator<Item = (usize, &[u8])> {
    let mut next = 0;
    let all = block.split(|byte| *byte == b'\n').map(move |line| {
        let start = next;
        next += line.len() + 1;
        (start, line.trim_ascii())
    });
    all.filter(|(_, line)| !line.is_empty())
}

/// Flat objects as fields.
#[derive(Debug, Default)]
pub struct Flat {
    /// The fields.
    pub table: Table,
    /// What could not be read.
    pub faults: Vec<Fault>,
    /// Where in the block each record begins.
    pub starts: Vec<u32>,
}

/// Reads flat objects to a table.
#[must_use]
pub fn flat(block: &[u8], keys: &Keys) -> Flat {
    let width = keys.takes.len();
    let mut made = Flat { table: Table { width, ..Table::default() }, ..Flat::default() };
    let mut seen = vec![false; width];
    for (start, line) in lines(block) {
        let table = &mut made.table;
        let begun = table.places.len();
        table.places.resize(begun + width, MISSING);
        seen.fill(false);
        let row = Row { keys, table, begun, seen: &mut seen, faults: &mut made.faults };
        // The whole line: a value that no column takes is passed over without a look at its bytes.
        let read = std::str::from_utf8(line).map_err(|error| (error.valid_up_to() + 1, "not UTF-8".to_owned()));
        let read = read.and_then(|line| {
            let mut reader = serde_json::Deserializer::from_str(line);
            let end = row.deserialize(&mut reader).and_then(|()| reader.end());
            end.map_err(|error| (error.column(), document::json_reason(&error)))
        });
        if let Err((column, reason)) = read {
            let reason = format!("is not a flat JSON object at column {column}: {reason}");
            made.faults.push(Fault { row: made.table.len, column: String::new(), value: String::new(), reason });
        }
        made.starts.push(u32::try_from(start).unwrap_or(u32::MAX));
        made.table.len += 1;
    }
    made.table.pad();
    made
}

struct Row<'t> {
    keys: &'t Keys,
    table: &'t mut Table,
    begun: usize,
    /// Keys that the object has had.
    seen: &'t mut [bool],
    faults: &'t mut Vec<Fault>,
}

impl Row<'_> {
    fn fault(&mut self, place: usize, value: &str, reason: &str) {
        let key = self.keys.places.iter().find(|(_, at)| **at == place);
        let column = key.map_or_else(String::new, |(key, _)| key.clone());
        self.faults.push(Fault { row: self.table.len, column, value: value.to_owned(), reason: reason.to_owned() });
    }
}

impl<'de> DeserializeSeed<'de> for Row<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_map(self)
    }
}

struct Key<'t>(&'t Keys);

impl<'de> DeserializeSeed<'de> for Key<'_> {
    type Value = Option<usize>;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Option<usize>, D::Error> {
        deserializer.deserialize_str(self)
    }
}

impl Visitor<'_> for Key<'_> {
    type Value = Option<usize>;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a key")
    }
    fn visit_str<E>(self, key: &str) -> Result<Option<usize>, E> {
        Ok(self.0.places.get(key).copied())
    }
}

impl<'de> Visitor<'de> for Row<'_> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object")
    }
    fn visit_map<A: MapAccess<'de>>(mut self, mut map: A) -> Result<(), A::Error> {
        while let Some(key) = map.next_key_seed(Key(self.keys))? {
            let Some(place) = key else {
                map.next_value::<IgnoredAny>()?;
                continue;
            };
            let takes = self.keys.takes(place);
            let from = self.table.bytes.len();
            let found = map.next_value_seed(Cell { bytes: &mut self.table.bytes, takes, in_list: false })?;
            let mut field = match found {
                Found::Text => self.table.place_since(from),
                Found::Nothing => MISSING,
                Found::EmptyList => EMPTY_LIST,
                Found::Unusable(reason) => {
                    let text = self.table.bytes.get(from..).unwrap_or(&[]);
                    let value = String::from_utf8_lossy(text).into_owned();
                    self.fault(place, &value, reason);
                    MISSING
                }
            };
            match self.seen.get_mut(place) {
                Some(seen) if *seen => {
                    self.fault(place, "", TWICE);
                    field = MISSING;
                }
                Some(seen) => *seen = true,
                None => {}
            }
            if let Some(slot) = self.table.places.get_mut(self.begun + place) {
                *slot = field;
            }
        }
        Ok(())
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Found {
    Text,
    Nothing,
    EmptyList,
    /// It stands in the texts, and cannot be used for a reason.
    Unusable(&'static str),
}

struct Cell<'t> {
    bytes: &'t mut Vec<u8>,
    takes: Takes,
    in_list: bool,
}

impl Cell<'_> {
    fn text(self, text: &str) -> Found {
        self.bytes.extend_from_slice(text.as_bytes());
        Found::Text
    }

    fn number(self, text: &str) -> Found {
        let is_status = self.takes.is_status;
        match self.text(text) {
            Found::Text if is_status => Found::Unusable(BARE),
            found => found,
        }
    }
}

impl<'de> DeserializeSeed<'de> for Cell<'_> {
    type Value = Found;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Found, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Cell<'_> {
    type Value = Found;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(if self.in_list {
            "a text or a number"
        } else {
            "a text, a number, true, false, null or a list of them"
        })
    }
    fn visit_str<E>(self, text: &str) -> Result<Found, E> {
        Ok(self.text(text))
    }
    fn visit_bool<E>(self, yes: bool) -> Result<Found, E> {
        Ok(self.text(if yes { "true" } else { "false" }))
    }
    fn visit_u64<E>(self, number: u64) -> Result<Found, E> {
        Ok(self.number(&number.to_string()))
    }
    fn visit_i64<E>(self, number: i64) -> Result<Found, E> {
        Ok(self.number(&number.to_string()))
    }
    fn visit_f64<E>(self, number: f64) -> Result<Found, E> {
        let text = number.to_string();
        // Beyond sixteen digits a number that is not within 64 bits was rounded when it was read.
        let digits = text.bytes().filter(u8::is_ascii_digit).count();
        Ok(match self.number(&text) {
            Found::Text if digits > 15 => Found::Unusable(INEXACT),
            found => found,
        })
    }
    fn visit_unit<E>(self) -> Result<Found, E> {
        Ok(Found::Nothing)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Found, A::Error> {
        if self.in_list {
            return Err(serde::de::Error::custom("a list within a list"));
        }
        let mut found = if self.takes.join.is_some() { Found::EmptyList } else { Found::Unusable(NO_LIST) };
        let mut is_first = true;
        loop {
            let before = self.bytes.len();
            if !is_first {
                let mut sign = [0; 4];
                let join = self.takes.join.unwrap_or(' ');
                self.bytes.extend_from_slice(join.encode_utf8(&mut sign).as_bytes());
            }
            let cell = Cell { bytes: &mut *self.bytes, takes: self.takes, in_list: true };
            found = match (found, list.next_element_seed(cell)?) {
                (_, None) => {
                    self.bytes.truncate(before);
                    return Ok(found);
                }
                (Found::Unusable(reason), _) | (_, Some(Found::Unusable(reason))) => Found::Unusable(reason),
                (_, Some(Found::Nothing)) => Found::Unusable(NULL_ENTRY),
                _ => Found::Text,
            };
            is_first = false;
        }
    }
}

/// Reads snapshot documents: the columns of the mapping stand at their top, everything else is the snapshot.
#[must_use]
pub fn snapshots(block: &[u8], keys: &Keys, fields: &mut Fields, places: &[usize]) -> (Flat, Lot) {
    let mut table = Table { width: keys.takes.len(), ..Table::default() };
    let mut found: Vec<Snapshot> = Vec::new();
    let mut faults: Vec<Fault> = Vec::new();
    let mut starts = Vec::new();
    for (start, line) in lines(block) {
        starts.push(u32::try_from(start).unwrap_or(u32::MAX));
        let mut fault = |row: usize, column: &str, value: String, reason: String| {
            faults.push(Fault { row, column: column.to_owned(), value, reason });
        };
        let begun = table.places.len();
        table.places.resize(begun + table.width, MISSING);
        let row = table.len;
        table.len += 1;
        let mut snapshot = Snapshot::default();
        match serde_json::from_slice::<Node>(line) {
            Ok(Node::Map(entries)) => {
                let (own, rest): (Vec<_>, Vec<_>) =
                    entries.into_iter().partition(|(key, _)| keys.places.contains_key(key));
                let mut seen: BTreeSet<String> = BTreeSet::new();
                for (key, node) in own {
                    if !seen.insert(key.clone()) {
                        fault(row, &key, String::new(), TWICE.to_owned());
                        continue;
                    }
                    let takes = keys.places.get(&key).map(|place| keys.takes(*place)).unwrap_or_default();
                    let from = table.bytes.len();
                    match &node {
                        Node::Null => continue,
                        Node::Whole(_) | Node::OtherNumber(_) if takes.is_status => {
                            fault(row, &key, node.show(), BARE.to_owned());
                            continue;
                        }
                        Node::List(entries) if takes.join.is_some() => {
                            let texts: Option<Vec<&str>> = entries.iter().map(text_of).collect();
                            let slot = keys.places.get(&key).and_then(|place| table.places.get_mut(begun + place));
                            let Some(texts) = texts else {
                                fault(row, &key, node.show(), "is a list of something else than texts".to_owned());
                                continue;
                            };
                            if let (Some(slot), true) = (slot, texts.is_empty()) {
                                *slot = EMPTY_LIST;
                                continue;
                            }
                            let mut sign = [0; 4];
                            let join = takes.join.unwrap_or(' ').encode_utf8(&mut sign);
                            table.bytes.extend_from_slice(texts.join(join).as_bytes());
                        }
                        Node::List(_) | Node::Map(_) => {
                            fault(row, &key, node.show(), "is no single value".to_owned());
                            continue;
                        }
                        Node::Text(text) => table.bytes.extend_from_slice(text.as_bytes()),
                        other => table.bytes.extend_from_slice(other.show().as_bytes()),
                    }
                    let ended = table.place_since(from);
                    let slot = keys.places.get(&key).and_then(|place| table.places.get_mut(begun + place));
                    if let Some(slot) = slot {
                        *slot = ended;
                    }
                }
                match document::read_tree(&Node::Map(rest)) {
                    Ok(document) => snapshot = document.snapshot,
                    Err(found) => {
                        found.iter().for_each(|it| fault(row, &it.path, String::new(), it.to_string()));
                    }
                }
            }
            Ok(_) => fault(row, "", String::new(), "is not a JSON object".to_owned()),
            Err(error) => fault(row, "", String::new(), format!("is not JSON: {error}")),
        }
        found.push(snapshot);
    }
    table.pad();
    let mut lot = fields.read(&table, places);
    facts_of(&found, &mut lot);
    set_aside(&mut lot, faults.clone());
    (Flat { table, faults, starts }, lot)
}

fn text_of(node: &Node) -> Option<&str> {
    match node {
        Node::Text(text) => Some(text),
        _ => None,
    }
}

/// The place of the record's id in a table.
#[must_use]
pub fn id_place(mapping: &Mapping, places: &[usize]) -> Option<usize> {
    let column = mapping.columns.iter().position(|column| column.holds == Holds::RecordId)?;
    places.get(column).copied()
}

/// Columns of all the facts that any of the snapshots has, but for those that the mapping gives.
fn facts_of(snapshots: &[Snapshot], lot: &mut Lot) {
    let taken: BTreeSet<String> = lot.store.facts.iter().map(|(target, _)| target.key()).collect();
    let all: BTreeSet<Fact> = snapshots.iter().flat_map(|it| it.readings.keys().copied()).collect();
    for fact in all {
        if fact == Fact::TestDate {
            if lot.store.days.is_none() {
                days(snapshots, lot);
            }
            continue;
        }
        let target = Target::Fact(fact);
        if taken.contains(&target.key()) {
            continue;
        }
        let mut meaning: Vec<Possible> = Vec::new();
        let mut known: BTreeMap<Option<&Reading>, u32> = BTreeMap::new();
        let codes = snapshots
            .iter()
            .map(|snapshot| {
                *known.entry(snapshot.get(fact)).or_insert_with_key(|reading| {
                    meaning.push(possible(fact, *reading));
                    u32::try_from(meaning.len() - 1).unwrap_or(0)
                })
            })
            .collect();
        lot.store.facts.push((target, Values::Coded(Held::Own(codes), Arc::new(meaning))));
    }
    let declared: BTreeSet<&String> = snapshots.iter().flat_map(|it| it.declared.keys()).collect();
    for name in declared {
        let mut values: Vec<Option<DeclaredValue>> = Vec::new();
        let codes = snapshots
            .iter()
            .map(|snapshot| {
                let value = snapshot.declared.get(name).cloned();
                let place = values.iter().position(|known| *known == value).unwrap_or_else(|| {
                    values.push(value);
                    values.len() - 1
                });
                u32::try_from(place).unwrap_or(0)
            })
            .collect();
        lot.store.facts.push((Target::Declared(name.clone()), Values::Declared(Held::Own(codes), values)));
    }
}

fn days(snapshots: &[Snapshot], lot: &mut Lot) {
    let mut bits = vec![0u8; snapshots.len().div_ceil(8)];
    let days = snapshots
        .iter()
        .enumerate()
        .map(|(row, snapshot)| match snapshot.get(Fact::TestDate) {
            Some(Reading::Known(Value::Date(date))) => {
                if let Some(byte) = bits.get_mut(row / 8) {
                    *byte |= 1 << (row % 8);
                }
                i32::try_from(day_number(*date)).unwrap_or(0)
            }
            _ => 0,
        })
        .collect();
    lot.store.days = Some((Held::Own(days), Some(Bits { bytes: Held::Own(bits), offset: 0 })));
}
