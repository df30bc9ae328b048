//! A document back to JSON: keys in canonical order, every number in the unit in which it is whole. What is not known
//! is left out.

use super::key::{KEYS, Meaning, TOP};
use super::tree::Node;
use super::value::ABSENT;
use super::{Document, FORMAT};
use crate::model::{CodeList, DeclaredValue, Fact, FactType, MonitorSet, Reading, Unit, Value, spec};

/// Writes a document.
#[must_use]
pub fn write(document: &Document) -> Node {
    let mut top = Vec::new();
    for name in TOP {
        let node = match name {
            "format" => Some(Node::Text(FORMAT.to_owned())),
            "declared" => declared(document),
            other => at_top(document, other),
        };
        top.extend(node.map(|node| (name.to_owned(), node)));
    }
    Node::Map(top)
}

fn at_top(document: &Document, top: &str) -> Option<Node> {
    let mut entries = Vec::new();
    for key in KEYS.iter() {
        match key.path.split_once('.') {
            None if key.path == top => return at_key(document, &key.path, key.meaning),
            Some((first, last)) if first == top => {
                entries.extend(at_key(document, &key.path, key.meaning).map(|node| (last.to_owned(), node)));
            }
            _ => {}
        }
    }
    (!entries.is_empty()).then_some(Node::Map(entries))
}

fn at_key(document: &Document, path: &str, meaning: Meaning) -> Option<Node> {
    let (fact, unit) = match meaning {
        Meaning::Fact(fact) => (fact, None),
        Meaning::InUnit(fact, unit) => (fact, Some(unit)),
        Meaning::Text | Meaning::ThisCycle | Meaning::Anything => {
            return document.extra.iter().find(|(known, _)| known == path).map(|(_, node)| node.clone());
        }
    };
    match document.snapshot.get(fact)? {
        Reading::NotOnVehicle => unit.is_none().then(|| Node::Text(ABSENT.to_owned())),
        Reading::Known(Value::Number(base)) => number(fact, unit, *base),
        Reading::Known(value) => unit.is_none().then(|| write_value(fact, value)),
    }
}

/// A number under the one key whose unit it is whole in; the fact's own unit goes first.
fn number(fact: Fact, asked: Option<Unit>, base: i64) -> Option<Node> {
    let FactType::Number { unit: own, .. } = spec(fact).kind else {
        return None;
    };
    let is_whole = |unit: Unit| base.rem_euclid(unit.scale()) == 0;
    let unit = asked.unwrap_or(own);
    let stands_here = if asked.is_none() { is_whole(own) } else { is_whole(unit) && !is_whole(own) };
    stands_here.then(|| Node::Whole(i128::from(base.div_euclid(unit.scale()))))
}

/// One value as it stands in a document; a number that is not whole in the fact's own unit becomes text with its unit.
#[must_use]
pub fn write_value(fact: Fact, value: &Value) -> Node {
    match value {
        Value::Word(place) => word(fact, *place),
        Value::Number(base) => {
            let own = match spec(fact).kind {
                FactType::Number { unit, .. } => unit,
                FactType::YesNo { .. }
                | FactType::Words(_)
                | FactType::Date
                | FactType::Text
                | FactType::Monitors
                | FactType::Codes => Unit::One,
            };
            number(fact, None, *base).unwrap_or_else(|| Node::Text(own.show(*base)))
        }
        Value::Date(date) => Node::Text(date.to_string()),
        Value::Text(text) => Node::Text(text.clone()),
        Value::Monitors(set) => monitors(*set),
        Value::Codes(list) => codes(list),
    }
}

fn word(fact: Fact, place: u8) -> Node {
    let word = fact.words().get(usize::from(place)).copied().unwrap_or("");
    match (spec(fact).kind, word) {
        (FactType::YesNo { .. }, word) => Node::Bool(word == "yes"),
        (_, "none") if fact == Fact::Communication => Node::Bool(false),
        (_, "established") if fact == Fact::Communication => Node::Bool(true),
        (_, word) => Node::Text(word.to_owned()),
    }
}

fn monitors(set: MonitorSet) -> Node {
    Node::List(set.iter().map(|monitor| Node::Text(monitor.name().to_owned())).collect())
}

fn codes(list: &CodeList) -> Node {
    let codes = Node::List(list.codes.iter().map(|code| Node::Text(code.to_string())).collect());
    if list.may_hold_more { Node::Map(vec![("at_least".to_owned(), codes)]) } else { codes }
}

fn declared(document: &Document) -> Option<Node> {
    let entries: Vec<(String, Node)> = document
        .snapshot
        .declared
        .iter()
        .map(|(name, value)| {
            let node = match value {
                DeclaredValue::YesNo(yes) => Node::Bool(*yes),
                DeclaredValue::Number(number) => Node::Whole(i128::from(*number)),
                DeclaredValue::Word(word) => Node::Text(word.clone()),
            };
            (name.clone(), node)
        })
        .collect();
    (!entries.is_empty()).then_some(Node::Map(entries))
}
