//! A worksheet as a quiz in JSON (`wherefore-quiz/1`), for software that asks people questions, and its schema.

use super::{Exercise, Item, Level, SCENE, answer, read_as};
use crate::document::{self, Document, Node};
use crate::ruling::CAUTIONS;
use serde_json::{Map, Value, json};

/// The format that every quiz names.
pub const FORMAT: &str = "wherefore-quiz/1";

/// The quiz as JSON.
#[must_use]
pub fn quiz(exercise: &Exercise<'_>) -> Value {
    let flat = exercise.flat;
    let mut outcomes: Vec<Value> =
        flat.outcomes.iter().map(|it| json!({"name": it.name, "class": it.class.word()})).collect();
    outcomes.push(json!({"name": "not-subject", "class": "not-subject"}));
    let questions: Vec<Value> = exercise.items.iter().enumerate().map(|(at, item)| question(at + 1, item)).collect();
    json!({
        "format": FORMAT,
        "program": exercise.program.id,
        "title": exercise.program.title,
        "as_of": flat.as_of.to_string(),
        "seed": exercise.wanted.seed,
        "level": exercise.wanted.level.map(Level::word),
        "scene": SCENE,
        "cautions": CAUTIONS,
        "outcomes": outcomes,
        "questions": questions,
        "engine": env!("CARGO_PKG_VERSION"),
    })
}

fn question(number: usize, item: &Item) -> Value {
    let document = Document { snapshot: item.snapshot.clone(), extra: Vec::new() };
    let snapshot = serde_json::to_value(document::write(&document)).unwrap_or_default();
    let takes: Map<String, Value> = item.takes.iter().map(|(name, reading)| (name.clone(), json!(reading))).collect();
    let told: Vec<String> = item.told.iter().cloned().chain(item.takes.iter().map(read_as)).collect();
    let answer = answer(&item.ruling);
    let why = |why: &super::Why| json!({"text": why.text, "because": why.because, "law": why.law});
    json!({
        "number": number,
        "unit": item.unit,
        "level": item.level.word(),
        "told": told,
        "snapshot": snapshot,
        "takes": takes,
        "answer": {
            "outcomes": item.ruling.possible.iter().map(|it| it.name.as_str()).collect::<Vec<_>>(),
            "summary": answer.line,
            "why": answer.why.iter().map(why).collect::<Vec<_>>(),
            "ask": answer.settles,
        },
        "mistakes": item.mistakes.iter().map(|it| json!({"text": it.sentence(), "leads_to": it.outcome})).collect::<Vec<_>>(),
    })
}

/// The schema of a quiz (JSON Schema, draft 2020-12).
#[must_use]
pub fn schema() -> Node {
    let text = || json!({"type": "string"});
    let texts = || json!({"type": "array", "items": {"type": "string"}});
    let levels: Vec<&str> = Level::ALL.into_iter().map(Level::word).collect();
    let object = |keys: Value| {
        let required: Vec<String> = keys.as_object().map(|it| it.keys().cloned().collect()).unwrap_or_default();
        json!({"type": "object", "required": required, "properties": keys})
    };
    let list = |of: Value| json!({"type": "array", "items": of});
    let answer = object(json!({
        "outcomes": {"type": "array", "minItems": 1, "items": text(), "description": "several: the facts do not decide it"},
        "summary": text(),
        "why": list(object(json!({"text": text(), "because": text(), "law": texts()}))),
        "ask": {"type": "array", "items": text(), "description": "what would settle it, where it is not decided"},
    }));
    let question = object(json!({
        "number": {"type": "integer", "minimum": 1},
        "unit": text(),
        "level": {"enum": levels},
        "told": {"type": "array", "items": text(), "description": "what a trainee is told, a phrase a fact"},
        "snapshot": {"type": "object", "description": "the same as a snapshot document, for `judge`"},
        "takes": {"type": "object", "additionalProperties": text()},
        "answer": answer,
        "mistakes": {"type": "array", "items": object(json!({"text": text(), "leads_to": text()})),
                     "description": "slips that this vehicle catches, each a sentence, and the outcome they lead to"},
    }));
    let mut form = object(json!({
        "format": {"const": FORMAT},
        "program": text(),
        "title": text(),
        "as_of": {"type": "string", "format": "date"},
        "seed": {"type": "integer", "minimum": 0},
        "level": {"anyOf": [{"type": "null"}, {"enum": levels}]},
        "scene": text(),
        "cautions": texts(),
        "outcomes": list(object(json!({"name": text(), "class": text()}))),
        "questions": list(question),
        "engine": text(),
    }));
    if let Some(form) = form.as_object_mut() {
        form.insert("$schema".to_owned(), json!("https://json-schema.org/draft/2020-12/schema"));
        form.insert("title".to_owned(), json!(format!("A quiz of worked vehicles ({FORMAT})")));
    }
    Node::from(&form)
}
