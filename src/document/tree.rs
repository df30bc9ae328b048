//! JSON as a tree that keeps what readers of JSON usually lose: the order of keys, duplicate keys, and whether a number
//! was written as a whole number. Depth and length are limited here, each with its own mark in the tree, so that the
//! rest of the document is still read. The text is parsed by `serde_json`.

use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde::ser::{SerializeMap, SerializeSeq};
use serde::{Deserialize, Serialize, Serializer};
use std::fmt;

/// Greatest nesting of a document.
pub const MAX_DEPTH: usize = 32;
/// Greatest number of entries of one list or object.
pub const MAX_ENTRIES: usize = 10_000;

/// A JSON value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Node {
    /// `null`.
    Null,
    /// `true` or `false`.
    Bool(bool),
    /// A number written without point or exponent, within 64 bits.
    Whole(i128),
    /// Any other number, as a text that stands for it.
    OtherNumber(String),
    /// A text.
    Text(String),
    /// A list.
    List(Vec<Node>),
    /// An object, keys in the order of the text, duplicates kept.
    Map(Vec<(String, Node)>),
    /// A list or object nested deeper than [`MAX_DEPTH`]; not read.
    TooDeep,
    /// A list or object with more entries than [`MAX_ENTRIES`]; only counted.
    TooLong(usize),
}

impl Node {
    /// What kind of value it is, for messages.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Node::Null => "null",
            Node::Bool(_) => "a yes/no value",
            Node::Whole(_) | Node::OtherNumber(_) => "a number",
            Node::Text(_) => "a text",
            Node::List(_) => "a list",
            Node::Map(_) => "an object",
            Node::TooDeep | Node::TooLong(_) => "too much",
        }
    }

    /// The value as short JSON, at most about sixty characters.
    #[must_use]
    pub fn show(&self) -> String {
        let whole = serde_json::to_string(self).unwrap_or_default();
        if whole.chars().count() <= 60 {
            return whole;
        }
        let start: String = whole.chars().take(57).collect();
        format!("{start}…")
    }

    /// The entry of an object; the first where there are several.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Node> {
        match self {
            Node::Map(entries) => entries.iter().find(|(name, _)| name == key).map(|(_, node)| node),
            Node::Null
            | Node::Bool(_)
            | Node::Whole(_)
            | Node::OtherNumber(_)
            | Node::Text(_)
            | Node::List(_)
            | Node::TooDeep
            | Node::TooLong(_) => None,
        }
    }

    /// Compact JSON in this order of keys: what digests are made of.
    #[must_use]
    pub fn to_json(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

impl From<&serde_json::Value> for Node {
    fn from(value: &serde_json::Value) -> Node {
        match value {
            serde_json::Value::Null => Node::Null,
            serde_json::Value::Bool(yes) => Node::Bool(*yes),
            serde_json::Value::Number(number) => {
                let text = number.to_string();
                text.parse().map_or(Node::OtherNumber(text), Node::Whole)
            }
            serde_json::Value::String(text) => Node::Text(text.clone()),
            serde_json::Value::Array(list) => Node::List(list.iter().map(Node::from).collect()),
            serde_json::Value::Object(map) => {
                Node::Map(map.iter().map(|(key, value)| (key.clone(), Node::from(value))).collect())
            }
        }
    }
}

impl Serialize for Node {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Node::Null | Node::TooDeep | Node::TooLong(_) => serializer.serialize_none(),
            Node::Bool(yes) => serializer.serialize_bool(*yes),
            Node::Whole(number) => serializer.serialize_i128(*number),
            // The text of a number that is none of ours: it is written back as the number it stands for.
            Node::OtherNumber(text) => match text.parse::<f64>() {
                Ok(number) => serializer.serialize_f64(number),
                Err(_) => serializer.serialize_str(text),
            },
            Node::Text(text) => serializer.serialize_str(text),
            Node::List(list) => {
                let mut out = serializer.serialize_seq(Some(list.len()))?;
                for node in list {
                    out.serialize_element(node)?;
                }
                out.end()
            }
            Node::Map(entries) => {
                let mut out = serializer.serialize_map(Some(entries.len()))?;
                for (key, node) in entries {
                    out.serialize_entry(key, node)?;
                }
                out.end()
            }
        }
    }
}

impl<'de> Deserialize<'de> for Node {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Node, D::Error> {
        Reader { depth: 0 }.deserialize(deserializer)
    }
}

/// Reads one value at a depth.
#[derive(Clone, Copy)]
struct Reader {
    depth: usize,
}

impl<'de> DeserializeSeed<'de> for Reader {
    type Value = Node;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Node, D::Error> {
        if self.depth > MAX_DEPTH {
            // `serde_json` skips a value without recursion, so that depth costs nothing.
            IgnoredAny::deserialize(deserializer)?;
            return Ok(Node::TooDeep);
        }
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Reader {
    type Value = Node;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Node, E> {
        Ok(Node::Null)
    }

    fn visit_bool<E>(self, yes: bool) -> Result<Node, E> {
        Ok(Node::Bool(yes))
    }

    fn visit_i64<E>(self, number: i64) -> Result<Node, E> {
        Ok(Node::Whole(i128::from(number)))
    }

    fn visit_u64<E>(self, number: u64) -> Result<Node, E> {
        Ok(Node::Whole(i128::from(number)))
    }

    fn visit_f64<E>(self, number: f64) -> Result<Node, E> {
        Ok(Node::OtherNumber(format!("{number:?}")))
    }

    fn visit_str<E>(self, text: &str) -> Result<Node, E> {
        Ok(Node::Text(text.to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Node, A::Error> {
        let mut list = Vec::new();
        while list.len() < MAX_ENTRIES {
            match access.next_element_seed(Reader { depth: self.depth + 1 })? {
                Some(node) => list.push(node),
                None => return Ok(Node::List(list)),
            }
        }
        let mut count = list.len();
        while access.next_element::<IgnoredAny>()?.is_some() {
            count += 1;
        }
        Ok(if count == list.len() { Node::List(list) } else { Node::TooLong(count) })
    }

    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Node, A::Error> {
        let mut entries = Vec::new();
        while entries.len() < MAX_ENTRIES {
            match access.next_key::<String>()? {
                Some(key) => entries.push((key, access.next_value_seed(Reader { depth: self.depth + 1 })?)),
                None => return Ok(Node::Map(entries)),
            }
        }
        let mut count = entries.len();
        while access.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {
            count += 1;
        }
        Ok(if count == entries.len() { Node::Map(entries) } else { Node::TooLong(count) })
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test stops at the first wrong thing")]
mod tests {
    use super::*;

    /// A list or an object holds up to [`MAX_ENTRIES`]; of a longer one the entries are counted.
    #[test]
    fn a_list_and_an_object_hold_as_many_as_is_allowed() {
        for count in [0, 1, MAX_ENTRIES - 1, MAX_ENTRIES, MAX_ENTRIES + 1, MAX_ENTRIES + 7] {
            let joined = |one: &dyn Fn(usize) -> String| (0..count).map(one).collect::<Vec<_>>().join(",");
            let list: Node = serde_json::from_str(&format!("[{}]", joined(&|place| place.to_string()))).unwrap();
            let map: Node =
                serde_json::from_str(&format!("{{{}}}", joined(&|place| format!("\"{place}\":1")))).unwrap();
            if count <= MAX_ENTRIES {
                assert!(matches!(&list, Node::List(all) if all.len() == count), "{count}");
                assert!(matches!(&map, Node::Map(all) if all.len() == count), "{count}");
            } else {
                assert_eq!((list, map), (Node::TooLong(count), Node::TooLong(count)));
            }
        }
    }

    /// A value is shown whole up to 60 characters, its quotes with it, and else by its first 57.
    #[test]
    fn a_long_value_is_shown_by_its_beginning() {
        for length in [0, 57, 58, 59, 60, 500] {
            let text = "ä".repeat(length);
            let whole = format!("\"{text}\"");
            let expected = if length <= 58 { whole } else { format!("\"{}…", "ä".repeat(56)) };
            assert_eq!(Node::Text(text).show(), expected, "{length}");
        }
    }
}
