//! The JSON Schema (draft 2020-12) of the snapshot document, made from the table of facts. What a schema cannot say
//! (duplicate keys, the count of earlier monitors against their list) is left to `read`.

use super::FORMAT;
use super::allowed::{allowed, monitor_names, whole_bounds};
use super::key::{KEYS, MAX_DECLARED_NAME, MAX_TEXT, Meaning, THIS_CYCLE, TOP, other_unit_keys};
use super::tree::{MAX_ENTRIES, Node};
use super::value::ABSENT;
use crate::model::{Fact, FactType, Unit, spec};
use serde_json::{Map, Value, json};

/// The schema.
#[must_use]
pub fn schema() -> Node {
    let mut properties = Vec::new();
    for top in TOP {
        let part = match top {
            "format" => json!({"const": FORMAT}),
            "declared" => json!({
                "description": "facts that programs declare, by name",
                "type": ["object", "null"],
                "propertyNames": {"pattern": "^[a-z]([a-z0-9-]*[a-z0-9])?$", "maxLength": MAX_DECLARED_NAME},
                "additionalProperties": {"anyOf": [
                    {"type": ["boolean", "null"]},
                    {"type": "integer", "minimum": i64::MIN, "maximum": i64::MAX},
                    {"$ref": "#/$defs/text"},
                ]},
                "maxProperties": MAX_ENTRIES,
            }),
            other => at_top(other),
        };
        properties.push((top.to_owned(), Node::from(&part)));
    }
    Node::Map(vec![
        ("$schema".to_owned(), Node::Text("https://json-schema.org/draft/2020-12/schema".to_owned())),
        ("title".to_owned(), Node::Text(format!("Snapshot of a vehicle at a visit ({FORMAT})"))),
        (
            "description".to_owned(),
            Node::Text("Every key is optional but format; null or a missing key is not known.".to_owned()),
        ),
        ("type".to_owned(), Node::Text("object".to_owned())),
        ("required".to_owned(), Node::from(&json!(["format"]))),
        ("additionalProperties".to_owned(), Node::Bool(false)),
        ("properties".to_owned(), Node::Map(properties)),
        ("$defs".to_owned(), Node::from(&definitions())),
    ])
}

fn definitions() -> Value {
    json!({
        "code": {
            "description": "a trouble code of SAE J2012, with its failure type if given, or of J1939-73",
            "type": "string",
            "pattern": "^([PCBUpcbu][0-3][0-9A-Fa-f]{3}(-[0-9A-Fa-f]{2})?|SPN [0-9]{1,6} FMI [0-9]{1,2})$",
        },
        "code-list": {"type": "array", "items": {"$ref": "#/$defs/code"}, "maxItems": MAX_ENTRIES},
        "codes": {"anyOf": [
            {"$ref": "#/$defs/code-list"},
            {
                "description": "these codes, and perhaps more",
                "type": "object",
                "required": ["at_least"],
                "additionalProperties": false,
                "properties": {"at_least": {"$ref": "#/$defs/code-list"}},
            },
        ]},
        "monitor": {"enum": monitor_names()},
        "monitors": {"type": "array", "items": {"$ref": "#/$defs/monitor"}, "maxItems": MAX_ENTRIES},
        "text": {"type": "string", "minLength": 1, "maxLength": MAX_TEXT, "pattern": "\\S"},
        "date": {"type": "string", "pattern": "^(19|20|21)[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$"},
    })
}

fn at_top(top: &str) -> Value {
    let mut properties = Map::new();
    let mut pairs = Vec::new();
    for key in KEYS.iter() {
        match key.path.split_once('.') {
            None if key.path == top => return of_key(key.meaning),
            Some((first, last)) if first == top => {
                properties.insert(last.to_owned(), of_key(key.meaning));
                if let Meaning::Fact(fact) = key.meaning {
                    pairs.extend(other_unit_keys(fact).into_iter().map(|(other, _)| not_both(last, &other)));
                }
            }
            _ => {}
        }
    }
    let mut object = json!({"type": ["object", "null"], "additionalProperties": false, "properties": properties});
    if let (Some(object), false) = (object.as_object_mut(), pairs.is_empty()) {
        object.insert("allOf".to_owned(), Value::Array(pairs));
    }
    object
}

/// Not both of a quantity's keys with a value.
fn not_both(one: &str, other_path: &str) -> Value {
    let other = other_path.rsplit('.').next().unwrap_or(other_path);
    let known = json!({"not": {"type": "null"}});
    json!({"not": {"type": "object", "required": [one, other], "properties": {one: known, other: known}}})
}

fn of_key(meaning: Meaning) -> Value {
    match meaning {
        Meaning::Fact(fact) => {
            let spec = spec(fact);
            let mut forms = vec![json!({"type": "null"}), of_fact(fact)];
            if spec.may_be_absent {
                forms.push(json!({"const": ABSENT}));
            }
            json!({"description": format!("{}: {}", spec.about, allowed(fact)), "anyOf": forms})
        }
        Meaning::InUnit(fact, unit) => in_unit(fact, unit),
        Meaning::Text => json!({"anyOf": [{"type": "null"}, {"$ref": "#/$defs/text"}]}),
        Meaning::ThisCycle => {
            let mut words: Vec<Value> = THIS_CYCLE.iter().map(|word| json!(word)).collect();
            words.push(Value::Null);
            json!({"description": "what the monitor did in this driving cycle; never judged by", "enum": words})
        }
        Meaning::Anything => json!({"description": "passed through, never judged by"}),
    }
}

fn of_fact(fact: Fact) -> Value {
    match spec(fact).kind {
        FactType::YesNo { .. } => json!({"type": "boolean"}),
        FactType::Words(_) if fact == Fact::Communication => json!({"enum": [true, false, "unsupported-protocol"]}),
        FactType::Words(words) => json!({"enum": words}),
        FactType::Number { least, most, .. } => json!({"type": "integer", "minimum": least, "maximum": most}),
        FactType::Date => json!({"$ref": "#/$defs/date"}),
        FactType::Text => json!({"$ref": "#/$defs/text", "not": {"const": ABSENT}}),
        FactType::Monitors => json!({"$ref": "#/$defs/monitors"}),
        FactType::Codes => json!({"$ref": "#/$defs/codes"}),
    }
}

fn in_unit(fact: Fact, unit: Unit) -> Value {
    let FactType::Number { unit: own, least, most, .. } = spec(fact).kind else {
        return Value::Bool(false);
    };
    let bounds = (own.to_base(least).unwrap_or(0), own.to_base(most).unwrap_or(i64::MAX));
    let (least, most) = whole_bounds(unit, bounds.0, bounds.1);
    let own_key = spec(fact).key;
    json!({
        "description": format!("the same as {own_key}, in {}; give one of the two", unit.word()),
        "anyOf": [{"type": "null"}, {"type": "integer", "minimum": least, "maximum": most}],
    })
}
