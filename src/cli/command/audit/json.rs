//! A block of JSON Lines to fields, or to facts where the lines are snapshots. A line that is not an object, or in which a
//! mapped key holds an object, is set aside.

use crate::audit::mapping::{Holds, Mapping, Reads, Target};
use crate::audit::{EMPTY_LIST, Fields, Held, Lot, MISSING, Table, Values, aside, possible};
use crate::document::{self, Node};
use crate::model::facts::Possible;
use crate::model::{DeclaredValue, Fact, Reading, Snapshot, Value, day_number};
use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::sync::Arc;

/// Keys that are columns, with their places and what joins the entries of a list.
#[derive(Debug)]
pub(super) struct Keys {
    places: BTreeMap<String, usize>,
    joins: Vec<char>,
}

impl Keys {
    /// The keys of a mapping, and for each of its columns the place in the table.
    pub(super) fn of(mapping: &Mapping) -> (Keys, Vec<usize>) {
        let mut keys = Keys { places: BTreeMap::new(), joins: Vec::new() };
        let mut places = Vec::new();
        for column in &mapping.columns {
            let next = keys.joins.len();
            let place = *keys.places.entry(column.name.clone()).or_insert(next);
            if place == next {
                keys.joins.push(match &column.holds {
                    Holds::Fact(_, Reads::Codes(list, _) | Reads::Monitors(list, _)) => list.separator,
                    _ => ' ',
                });
            }
            places.push(place);
        }
        (keys, places)
    }
}

/// The lines of a block that are not empty.
pub(super) fn lines(block: &[u8]) -> impl Iterator<Item = &[u8]> {
    block.split(|byte| *byte == b'\n').map(<[u8]>::trim_ascii).filter(|line| !line.is_empty())
}

/// Reads flat objects to a table; what could not be read is given by row.
pub(super) fn flat(block: &[u8], keys: &Keys) -> (Table, Vec<(usize, String)>) {
    let width = keys.joins.len();
    let mut table = Table { width, ..Table::default() };
    let mut faults = Vec::new();
    for line in lines(block) {
        let begun = table.places.len();
        table.places.resize(begun + width, MISSING);
        let mut reader = serde_json::Deserializer::from_slice(line);
        let row = Row { keys, table: &mut table, begun };
        if let Err(error) = row.deserialize(&mut reader).and_then(|()| reader.end()) {
            let reason = document::json_reason(&error);
            faults.push((table.len, format!("is not a flat JSON object at column {}: {reason}", error.column())));
        }
        table.len += 1;
    }
    table.pad();
    (table, faults)
}

struct Row<'t> {
    keys: &'t Keys,
    table: &'t mut Table,
    begun: usize,
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
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        while let Some(key) = map.next_key_seed(Key(self.keys))? {
            let Some(place) = key else {
                map.next_value::<IgnoredAny>()?;
                continue;
            };
            let join = self.keys.joins.get(place).copied().unwrap_or(' ');
            let from = self.table.bytes.len();
            let found = map.next_value_seed(Cell { bytes: &mut self.table.bytes, join, in_list: false })?;
            let to = self.table.bytes.len();
            let number = |place: usize| u32::try_from(place).unwrap_or(u32::MAX);
            if let Some(slot) = self.table.places.get_mut(self.begun + place) {
                *slot = match found {
                    Found::Text => (number(from), number(to)),
                    Found::Nothing => MISSING,
                    Found::EmptyList => EMPTY_LIST,
                };
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
}

struct Cell<'t> {
    bytes: &'t mut Vec<u8>,
    join: char,
    in_list: bool,
}

impl Cell<'_> {
    fn text(self, text: &str) -> Found {
        self.bytes.extend_from_slice(text.as_bytes());
        Found::Text
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
        Ok(self.text(&number.to_string()))
    }
    fn visit_i64<E>(self, number: i64) -> Result<Found, E> {
        Ok(self.text(&number.to_string()))
    }
    fn visit_f64<E>(self, number: f64) -> Result<Found, E> {
        Ok(self.text(&number.to_string()))
    }
    fn visit_unit<E>(self) -> Result<Found, E> {
        Ok(Found::Nothing)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Found, A::Error> {
        if self.in_list {
            return Err(serde::de::Error::custom("a list within a list"));
        }
        let mut found = Found::EmptyList;
        loop {
            let before = self.bytes.len();
            if found == Found::Text {
                let mut sign = [0; 4];
                self.bytes.extend_from_slice(self.join.encode_utf8(&mut sign).as_bytes());
            }
            let cell = Cell { bytes: &mut *self.bytes, join: self.join, in_list: true };
            if list.next_element_seed(cell)?.is_none() {
                self.bytes.truncate(before);
                return Ok(found);
            }
            found = Found::Text;
        }
    }
}

/// Reads snapshot documents: the columns of the mapping stand at their top, everything else is the snapshot.
pub(super) fn snapshots(block: &[u8], keys: &Keys, fields: &mut Fields, places: &[usize]) -> (Table, Lot) {
    let mut table = Table { width: keys.joins.len(), ..Table::default() };
    let mut found: Vec<Snapshot> = Vec::new();
    let mut faults: Vec<(usize, String, String)> = Vec::new();
    for line in lines(block) {
        let begun = table.places.len();
        table.places.resize(begun + table.width, MISSING);
        let row = table.len;
        table.len += 1;
        let mut snapshot = Snapshot::default();
        match serde_json::from_slice::<Node>(line) {
            Ok(Node::Map(entries)) => {
                let (own, rest): (Vec<_>, Vec<_>) =
                    entries.into_iter().partition(|(key, _)| keys.places.contains_key(key));
                for (key, node) in own {
                    let from = table.bytes.len();
                    match &node {
                        Node::Null => continue,
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
                        faults.extend(found.into_iter().map(|fault| (row, fault.path.clone(), fault.to_string())))
                    }
                }
            }
            Ok(_) => faults.push((row, String::new(), "is not a JSON object".to_owned())),
            Err(error) => faults.push((row, String::new(), format!("is not JSON: {error}"))),
        }
        found.push(snapshot);
    }
    table.pad();
    let mut lot = fields.read(&table, places);
    facts_of(&found, &mut lot);
    for (row, path, reason) in faults {
        aside(&mut lot, row, &path, b"", reason);
    }
    (table, lot)
}

/// The place of the record's id in a table.
pub(super) fn id_place(mapping: &Mapping, places: &[usize]) -> Option<usize> {
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
    lot.store.days = Some((Held::Own(days), Some(crate::audit::Bits { bytes: Held::Own(bits), offset: 0 })));
}
