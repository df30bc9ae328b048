//! The document under construction: facts at their places, each with where it comes from.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Map, Value, json};

use super::ecu::{EcuId, Reading};
use super::hex;

/// Where a fact comes from.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Origin {
    /// An answer of an ECU.
    Answer { ecu: EcuId, bytes: Vec<u8>, line: usize },
    /// A person.
    Person,
    /// The clock of the log.
    Log { line: usize },
}

impl Origin {
    pub(super) fn of<T>(ecu: EcuId, reading: &Reading<T>) -> Self {
        Self::Answer { ecu, bytes: reading.bytes.clone(), line: reading.line }
    }

    /// The line that it stands on; 0 for a person's word.
    pub(super) fn line(&self) -> usize {
        match self {
            Self::Answer { line, .. } | Self::Log { line } => *line,
            Self::Person => 0,
        }
    }

    fn to_json(&self) -> Value {
        match self {
            Self::Answer { ecu, bytes, line } => {
                json!({"ecu": ecu.to_string(), "bytes": hex::spaced(bytes), "line": line})
            }
            Self::Person => json!({"observer": "person"}),
            Self::Log { line } => json!({"observer": "log", "line": line}),
        }
    }
}

/// Facts by path, for example `lamp.commanded`.
#[derive(Debug, Default)]
pub(super) struct Facts {
    document: Map<String, Value>,
    from: BTreeMap<String, Vec<Value>>,
}

impl Facts {
    /// Sets a fact. A path has one or two words.
    pub(super) fn set(&mut self, path: &str, value: impl Into<Value>, origins: &[Origin]) {
        let value = value.into();
        match path.split_once('.') {
            None => {
                self.document.insert(path.to_owned(), value);
            }
            Some((section, key)) => {
                let section = self.document.entry(section).or_insert_with(|| Value::Object(Map::new()));
                if let Value::Object(section) = section {
                    section.insert(key.to_owned(), value);
                }
            }
        }
        let mut seen: BTreeSet<&Origin> = BTreeSet::new();
        let list: Vec<Value> = origins.iter().filter(|o| seen.insert(o)).map(Origin::to_json).collect();
        self.from.insert(path.to_owned(), list);
    }

    /// Takes a fact away again.
    pub(super) fn unset(&mut self, path: &str) {
        if let Some((section, key)) = path.split_once('.') {
            if let Some(Value::Object(section)) = self.document.get_mut(section) {
                section.remove(key);
            }
        } else {
            self.document.remove(path);
        }
        self.from.remove(path);
    }

    /// The fact at a path of two words.
    pub(super) fn get(&self, section: &str, key: &str) -> Option<&Value> {
        self.document.get(section)?.get(key)
    }

    /// The lines that a fact comes from.
    pub(super) fn lines(&self, path: &str) -> Vec<usize> {
        let lines = self.from.get(path).into_iter().flatten().filter_map(|origin| origin.get("line")?.as_u64());
        lines.filter_map(|line| usize::try_from(line).ok()).collect()
    }

    /// The document with its format and provenance.
    pub(super) fn into_document(mut self) -> Map<String, Value> {
        self.document.retain(|_, value| value.as_object().is_none_or(|o| !o.is_empty()));
        self.document.insert("format".into(), json!("wherefore-snapshot/1"));
        self.document.insert("from".into(), json!(self.from));
        self.document
    }
}
