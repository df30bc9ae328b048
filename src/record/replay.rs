//! A stored ruling, verified: the record's own digest, then the same question put again to the program as it stands now,
//! every field compared, and the certificate checked from the texts. What was recorded is never believed: only the
//! question (program, dates, readings taken, snapshot) is taken from the record. A digest without a key finds accidents
//! and careless changes; one who changes the question and makes all digests anew has made another ruling, and nothing
//! here can tell that it is not the one that was given.

use super::{Record, Request, digest, form, names_to_take};
use crate::certificate::{Certificate, program_of, verify};
use crate::document::{self, Document, Node};
use crate::model::Date;
use crate::program::{Class, Program, Selection, Under, select};
use crate::ruling::Follows;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// A stored ruling, read.
#[derive(Debug, Clone, PartialEq)]
pub struct Stored {
    /// Id of the program.
    pub program: String,
    as_of: Date,
    known_on: Option<Date>,
    takes: Vec<Under>,
    document: Document,
    /// Version of the crate that made it, where it is another one.
    other_version: Option<String>,
    value: Value,
}

/// What a ruling by another version of the crate must say as this version does; the rest is wording and may have grown.
const DECIDED: [&str; 10] =
    ["as_of", "class", "deciding", "known_on", "options", "possible", "program", "takes", "test_date", "verdict"];

/// One field that is not as it should be.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Difference {
    /// Path of the field: `trace[3].state`.
    pub field: String,
    /// What is wrong, with both values where there are two.
    pub message: String,
}

/// What replaying tells.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Replayed {
    /// Fields that differ; none: the ruling stands as recorded.
    pub differences: Vec<Difference>,
    /// What a reader should know although nothing differs.
    pub notes: Vec<String>,
}

impl Stored {
    /// Reads a stored ruling: one line of JSON.
    ///
    /// # Errors
    /// With a sentence where it is no ruling of this format, says a key twice, or lacks what the question needs.
    pub fn read(line: &str) -> Result<Stored, String> {
        let value: Value = serde_json::from_str(line).map_err(|error| format!("is no JSON: {error}"))?;
        // Readers differ in which of two values of one key they take, so a record that says one twice says nothing.
        let tree: Node = serde_json::from_str(line).map_err(|error| format!("is no JSON: {error}"))?;
        if let Some(key) = repeated(&tree, "") {
            return Err(format!("has the key {key} twice; which of the two was recorded cannot be told"));
        }
        let text = |key: &str| value.get(key).and_then(Value::as_str);
        match text("format") {
            Some(form::FORMAT) => {}
            Some(document::FORMAT) => {
                return Err(
                    "is a snapshot, not a recorded ruling; `wherefore judge --format json` makes one of it".to_owned()
                );
            }
            Some(other) => return Err(format!("format {other:?} is not {:?}", form::FORMAT)),
            None => return Err(format!("is no ruling: there is no format {:?}", form::FORMAT)),
        }
        let engine = text("engine").ok_or("says no version of the engine")?;
        let other_version = (engine != env!("CARGO_PKG_VERSION")).then(|| engine.to_owned());
        let date = |key: &str| {
            let text = text(key).ok_or_else(|| format!("{key} is missing or no text"))?;
            document::parse_date(text).ok_or_else(|| format!("{key}: \"{text}\" is no date"))
        };
        let known_on = match value.get("known_on") {
            None | Some(Value::Null) => None,
            Some(_) => Some(date("known_on")?),
        };
        let snapshot = value.get("snapshot").ok_or("holds no snapshot")?;
        let document = document::read_tree(&Node::from(snapshot)).map_err(|faults| {
            let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
            format!("its snapshot cannot be read: {}", faults.join("; "))
        })?;
        let mut takes = Vec::new();
        for (name, taken) in value.get("takes").and_then(Value::as_object).into_iter().flatten() {
            let taken = taken.as_str().ok_or_else(|| format!("takes.{name} is no text"))?;
            takes.push(Under { name: name.clone(), value: taken.to_owned() });
        }
        let program = text("program").ok_or("names no program")?.to_owned();
        Ok(Stored { program, as_of: date("as_of")?, known_on, takes, document, other_version, value })
    }

    /// The version that made the record, where it is not this one: it says so, or lacks what this one always writes (an
    /// earlier build under the same number).
    fn made_by(&self, then: &Value, now: &Value) -> Option<String> {
        let is_later = |key: &String| form::LATER_KEYS.contains(&key.as_str()) || key == "certificate";
        let (Value::Object(then), Value::Object(now)) = (then, now) else { return self.other_version.clone() };
        let lacks = now.keys().any(|key| !is_later(key) && !then.contains_key(key));
        let earlier = lacks.then(|| format!("{}, an earlier build of it", env!("CARGO_PKG_VERSION")));
        self.other_version.clone().or(earlier)
    }

    fn at(&self, path: &[&str]) -> Option<&Value> {
        path.iter().try_fold(&self.value, |value, key| value.get(*key))
    }

    fn request(&self, known_on: Option<Date>) -> Request {
        Request {
            as_of: Some(self.as_of),
            known_on,
            takes: self.takes.clone(),
            certificate: self.value.get("certificate").is_some(),
            recorded: self.at(&["recorded", "class"]).and_then(Value::as_str).and_then(class_of),
            brief: false,
        }
    }

    /// Judges again by the program as it stands now, made of these texts, and compares.
    ///
    /// # Errors
    /// With a sentence where the question can no longer be put: a reading that the program does not have any more.
    pub fn replay(&self, program: &Program, texts: &BTreeMap<String, String>) -> Result<Replayed, String> {
        let mut replayed = Replayed::default();
        let mut sealed = self.value.clone();
        let recorded = sealed.get_mut("digest").and_then(Value::as_object_mut).and_then(|it| it.remove("record"));
        if recorded != Some(Value::String(digest::of(sealed.to_string().as_bytes()))) {
            replayed.say("digest.record", "is not the digest of the record: the record was changed after it was made");
        }
        let known = |take: &&Under| !names_to_take(program).any(|name| name == take.name);
        if let Some(take) = self.takes.iter().find(known) {
            return Err(format!("takes.{}: the program has no such question or option", take.name));
        }
        let mut known_on = self.known_on;
        let mut fresh = Record::of(program, texts, &self.document, &self.request(known_on))?;
        let changed = self.changed_files(&fresh);
        if !changed.is_empty() {
            (fresh, known_on) = self.as_published(fresh, program, texts)?;
            let same_law = self.at(&["digest", "law"]).and_then(Value::as_str) == Some(fresh.law.as_str());
            let (what, files) =
                (if same_law { "the law selected is the same" } else { "so has the law selected" }, changed.join(", "));
            replayed.notes.push(format!("the text has changed since ({files}); {what}"));
        }
        let mut now = form::json_value(&fresh);
        let mut then = self.value.clone();
        for value in [&mut now, &mut then] {
            if let Some(digests) = value.get_mut("digest").and_then(Value::as_object_mut) {
                digests.remove("record");
                // Later amendments change texts; what they say as selected is compared by `law`.
                if !changed.is_empty() {
                    digests.remove("files");
                }
            }
        }
        match self.made_by(&then, &now) {
            None => compare("", &then, &now, &mut replayed),
            Some(version) => {
                replayed.notes.push(format!(
                    "made by version {version}: the verdict, what was possible, the deciding clauses and the dates are \
                     compared, and the proof is checked; wording is not"
                ));
                for key in DECIDED {
                    match (then.get(key), now.get(key)) {
                        (Some(then), Some(now)) => compare(key, then, now, &mut replayed),
                        (None, None) => {}
                        (then, _) => replayed.say(key, if then.is_some() { "now not there" } else { "not recorded" }),
                    }
                }
            }
        }
        if self.value.get("certificate").is_none() && fresh.ruling.possible.len() == 1 {
            replayed
                .notes
                .push("the record carries no proof: the vehicle was judged again, and no proof was checked".to_owned());
        }
        let selection = Selection {
            as_of: self.as_of,
            test_date: fresh.ruling.test_date,
            known_on,
            takes: self.takes.clone(),
            drafts: false,
            change: None,
        };
        self.check_certificate(&program.id, texts, &selection, &mut replayed);
        Ok(replayed)
    }

    /// Names of texts that are not the recorded ones.
    fn changed_files(&self, fresh: &Record) -> Vec<String> {
        let then: BTreeMap<String, String> = self
            .at(&["digest", "files"])
            .and_then(Value::as_object)
            .into_iter()
            .flatten()
            .map(|(name, digest)| (name.clone(), digest.as_str().unwrap_or_default().to_owned()))
            .collect();
        let names: BTreeSet<&String> = then.keys().chain(fresh.files.keys()).collect();
        names.into_iter().filter(|name| then.get(*name) != fresh.files.get(*name)).cloned().collect()
    }

    /// Where the record says no known-on date and the law selected is another now: the law as published by the visit,
    /// if that is the one recorded.
    fn as_published(
        &self,
        fresh: Record,
        program: &Program,
        texts: &BTreeMap<String, String>,
    ) -> Result<(Record, Option<Date>), String> {
        let law = self.at(&["digest", "law"]).and_then(Value::as_str);
        if self.known_on.is_some() || law == Some(fresh.law.as_str()) {
            return Ok((fresh, self.known_on));
        }
        let visit = fresh.ruling.test_date.max(fresh.ruling.as_of);
        let mut then = Record::of(program, texts, &self.document, &self.request(Some(visit)))?;
        if law != Some(then.law.as_str()) {
            return Ok((fresh, None));
        }
        then.ruling.known_on = None;
        Ok((then, Some(visit)))
    }

    /// The proof, checked from the texts by the checker that shares nothing with the interpreter.
    fn check_certificate(
        &self,
        id: &str,
        texts: &BTreeMap<String, String>,
        selection: &Selection,
        replayed: &mut Replayed,
    ) {
        let Some(value) = self.value.get("certificate") else { return };
        let certificate: Certificate = match serde_json::from_value(value.clone()) {
            Ok(certificate) => certificate,
            Err(error) => return replayed.say("certificate", &format!("is no proof: {error}")),
        };
        let checked = program_of(id, texts)
            .map_err(|error| error.to_string())
            .and_then(|program| select(&program, selection).map_err(|error| error.to_string()))
            .and_then(|flat| verify(&certificate, &flat, &self.document.snapshot).map_err(|error| error.to_string()));
        if let Err(error) = checked {
            replayed.say("certificate", &error);
        }
    }
}

impl Replayed {
    fn say(&mut self, field: &str, message: &str) {
        self.differences.push(Difference { field: field.to_owned(), message: message.to_owned() });
    }
}

/// The first key that an object of the tree has twice, by its path.
fn repeated(node: &Node, path: &str) -> Option<String> {
    match node {
        Node::Map(entries) => {
            let mut seen = BTreeSet::new();
            entries.iter().find_map(|(key, value)| {
                let at = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
                if seen.insert(key) { repeated(value, &at) } else { Some(at) }
            })
        }
        Node::List(list) => list.iter().enumerate().find_map(|(at, value)| repeated(value, &format!("{path}[{at}]"))),
        Node::Null
        | Node::Bool(_)
        | Node::Whole(_)
        | Node::OtherNumber(_)
        | Node::Text(_)
        | Node::TooDeep
        | Node::TooLong(_) => None,
    }
}

fn compare(path: &str, then: &Value, now: &Value, replayed: &mut Replayed) {
    let shown = |value: &Value| Node::from(value).show();
    match (then, now) {
        (Value::Object(then), Value::Object(now)) => {
            let keys: BTreeSet<&String> = then.keys().chain(now.keys()).collect();
            for key in keys {
                let at = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
                match (then.get(key), now.get(key)) {
                    (Some(then), Some(now)) => compare(&at, then, now, replayed),
                    (Some(then), None) => replayed.say(&at, &format!("recorded {}, now not there", shown(then))),
                    // What earlier versions did not write yet is no difference.
                    (None, Some(_)) if form::LATER_KEYS.contains(&at.as_str()) => {}
                    (None, Some(now)) => replayed.say(&at, &format!("not recorded, now {}", shown(now))),
                    (None, None) => {}
                }
            }
        }
        (Value::Array(one), Value::Array(other)) if one.len() == other.len() => {
            for (place, (then, now)) in one.iter().zip(other).enumerate() {
                compare(&format!("{path}[{place}]"), then, now, replayed);
            }
        }
        _ if then == now => {}
        _ if in_words_of_today(then).is_some_and(|then| now.as_str() == Some(&then)) => {}
        _ => replayed.say(path, &format!("recorded {}, now {}", shown(then), shown(now))),
    }
}

/// What earlier builds of this version wrote of a text that nobody saw: `the limit X was not read`.
fn in_words_of_today(then: &Value) -> Option<String> {
    let what = then.as_str()?.strip_suffix(" was not read")?;
    Some(format!("the text of {what} was not seen"))
}

/// The class that a recorded result was told as.
fn class_of(word: &str) -> Option<Class> {
    Follows::RESULTS.into_iter().find(|class| class.word() == word)
}
