//! A true ruling with its proof, edited as the input says. The first byte picks the ruling, the second whether the proof
//! alone is put to the checker, or the record to replaying, with or without its digest made anew; then four bytes an edit.
//! A proof that is accepted states the true verdict; a record that replays says of the same question what the true one says.

use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};
use wherefore::internals::catalog::{BuiltIn, Catalog};
use wherefore::internals::certificate::{Certificate, verify};
use wherefore::internals::document::{self, Document};
use wherefore::internals::program::{Flat, Program};
use wherefore::internals::record::replay::Stored;
use wherefore::internals::record::{self, Record, Request, digest};

struct Ruled {
    program: Arc<Program>,
    texts: BTreeMap<String, String>,
    flat: Flat,
    document: Document,
    value: Value,
}

static RULED: LazyLock<Vec<Ruled>> = LazyLock::new(|| {
    let catalog = Catalog::new(vec![&BuiltIn]);
    let cars = [
        include_str!("../../examples/larkspur/van-7.json"),
        include_str!("../../examples/larkspur/wagon-3.json"),
        include_str!("../../examples/larkspur/pickup-9.json"),
    ];
    let mut all = Vec::new();
    for id in ["us-model", "us-md"] {
        let entry = catalog.find(id).expect("a built-in program");
        let program = entry.program.clone().expect("it has no error");
        for car in cars {
            let document = document::read(car.as_bytes()).expect("a snapshot");
            let request = Request { certificate: true, ..Request::default() };
            let made = Record::of(&program, &entry.texts, &document, &request).expect("a ruling");
            let flat = record::flat(&program, &document, &request).expect("a flat program");
            let value = serde_json::from_str(&record::json_line(&made)).expect("JSON");
            all.push(Ruled { program: Arc::clone(&program), texts: (*entry.texts).clone(), flat, document, value });
        }
    }
    all
});

fn size(value: &Value) -> usize {
    1 + match value {
        Value::Object(map) => map.values().map(size).sum::<usize>(),
        Value::Array(list) => list.iter().map(size).sum(),
        _ => 0,
    }
}

/// The part of a value at a place, counted from the top.
fn part<'v>(value: &'v mut Value, place: &mut usize) -> Option<&'v mut Value> {
    if *place == 0 {
        return Some(value);
    }
    *place -= 1;
    match value {
        Value::Object(map) => map.values_mut().find_map(|value| part(value, place)),
        Value::Array(list) => list.iter_mut().find_map(|value| part(value, place)),
        _ => None,
    }
}

const NAMES: [&str; 7] = ["pass", "fail", "reject", "not-subject", "covered", "not-covered", "lamp"];

fn edit(value: &mut Value, how: u8, with: u8) {
    let with = usize::from(with);
    match value {
        Value::Object(map) => {
            let key = map.keys().nth(with % map.len().max(1)).cloned();
            match (how % 2, key) {
                (0, Some(key)) => drop(map.remove(&key)),
                _ => drop(map.insert("more".to_owned(), Value::from(with))),
            }
        }
        Value::Array(list) => match how % 5 {
            0 if !list.is_empty() => drop(list.remove(with % list.len())),
            1 if !list.is_empty() => list.push(list[with % list.len()].clone()),
            2 => list.reverse(),
            3 => list.push(Value::from(with)),
            _ => list.clear(),
        },
        Value::Number(number) => {
            let by = if how.is_multiple_of(2) { 1 } else { with as i64 };
            *value = Value::from(number.as_i64().unwrap_or(0).wrapping_add(by));
        }
        Value::String(text) => match how % 3 {
            0 => text.push('x'),
            1 => drop(text.pop()),
            _ => NAMES[with % NAMES.len()].clone_into(text),
        },
        Value::Bool(yes) => *yes = !*yes,
        Value::Null => *value = Value::from(with),
    }
}

fn edited(value: &Value, edits: &[u8], most: usize) -> Value {
    let mut value = value.clone();
    for bytes in edits.chunks_exact(4).take(most) {
        let mut place = (usize::from(bytes[0]) << 8 | usize::from(bytes[1])) % size(&value);
        if let Some(part) = part(&mut value, &mut place) {
            edit(part, bytes[2], bytes[3]);
        }
    }
    value
}

/// Puts one edited ruling to the test.
pub fn one(data: &[u8]) {
    let [pick, mode, edits @ ..] = data else { return };
    let ruled = &RULED[usize::from(*pick) % RULED.len()];
    if mode % 2 == 0 {
        let Some(proof) = ruled.value.get("certificate") else { return };
        let Ok(proof) = serde_json::from_value::<Certificate>(edited(proof, edits, 12)) else { return };
        if verify(&proof, &ruled.flat, &ruled.document.snapshot).is_ok() {
            assert_eq!(ruled.value["possible"], Value::from(vec![proof.verdict.clone()]), "a false proof: {proof:?}");
        }
        return;
    }
    let mut value = edited(&ruled.value, edits, 4);
    if mode & 2 != 0 {
        if let Some(digests) = value.get_mut("digest").and_then(Value::as_object_mut) {
            digests.remove("record");
        }
        let made = digest::of(value.to_string().as_bytes());
        if let Some(digests) = value.get_mut("digest").and_then(Value::as_object_mut) {
            digests.insert("record".to_owned(), Value::String(made));
        }
    }
    let Ok(stored) = Stored::read(&value.to_string()) else { return };
    if stored.program != ruled.program.id {
        return;
    }
    let Ok(replayed) = stored.replay(&ruled.program, &ruled.texts) else { return };
    let question = ["snapshot", "as_of", "known_on", "takes", "program"];
    let is_same_question = question.iter().all(|key| value.get(*key) == ruled.value.get(*key));
    if replayed.differences.is_empty() && is_same_question {
        for key in ["verdict", "class", "possible", "deciding", "test_date"] {
            assert_eq!(value.get(key), ruled.value.get(key), "another {key} replays");
        }
    }
}
