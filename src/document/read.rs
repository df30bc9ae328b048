//! JSON text to documents: one, or several as JSON Lines. Every fault is reported with its path.

use super::fault::{Fault, FaultKind};
use super::key::{self, KEYS, MAX_DECLARED_NAME, Meaning, THIS_CYCLE, TOP, key_at, keys_of};
use super::tree::Node;
use super::value::{reading, text, too_much};
use super::{Document, FORMAT};
use crate::diagnostic::nearest;
use crate::model::{DeclaredValue, Fact, Monitor, Reading, Unit, Value, alias};
use std::collections::BTreeSet;

/// Greatest size of one text, in bytes (16 MiB): far above any visit's data with its provenance.
pub const MAX_DOCUMENT_BYTES: usize = 16 << 20;

/// Reads one document.
///
/// # Errors
/// With every fault of it.
pub fn read(bytes: &[u8]) -> Result<Document, Vec<Fault>> {
    let text = text_of(bytes).map_err(|fault| vec![fault])?;
    let node = parse(text).map_err(|fault| vec![fault])?;
    read_tree(&node)
}

/// Reads one document, or several of which each stands on a line of its own (JSON Lines).
///
/// # Errors
/// With every fault of all of them.
pub fn read_all(bytes: &[u8]) -> Result<Vec<Document>, Vec<Fault>> {
    let text = text_of(bytes).map_err(|fault| vec![fault])?;
    let lines: Vec<(usize, &str)> =
        text.lines().enumerate().map(|(at, line)| (at + 1, line.trim())).filter(|(_, line)| !line.is_empty()).collect();
    let each_is_whole =
        lines.len() > 1 && lines.iter().filter(|(_, line)| line.starts_with('{')).count() == lines.len();
    if !each_is_whole {
        let node = parse(text).map_err(|fault| vec![fault])?;
        return read_tree(&node).map(|document| vec![document]);
    }
    let mut documents = Vec::new();
    let mut faults = Vec::new();
    for (number, line) in lines {
        match parse(line).map_err(|fault| vec![fault]).and_then(|node| read_tree(&node)) {
            Ok(document) => documents.push(document),
            Err(found) => faults.extend(found.into_iter().map(|fault| Fault { line: Some(number), ..fault })),
        }
    }
    if faults.is_empty() { Ok(documents) } else { Err(faults) }
}

fn text_of(bytes: &[u8]) -> Result<&str, Fault> {
    let fault = |kind, message: String, help: &str| Err(Fault::new(kind, "", message).help(help));
    if bytes.len() > MAX_DOCUMENT_BYTES {
        let message = format!("the snapshot has {} bytes", bytes.len());
        return fault(FaultKind::TooMuch, message, &format!("{MAX_DOCUMENT_BYTES} are allowed"));
    }
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        return fault(FaultKind::NotJson, "the snapshot is UTF-16 text".to_owned(), "save it as UTF-8");
    }
    // A byte-order mark says nothing in UTF-8; RFC 8259 (section 8.1) lets a reader pass over it.
    let bytes = bytes.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(bytes);
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let message = format!("the snapshot is not UTF-8 text (byte {})", error.valid_up_to());
            return fault(FaultKind::NotJson, message, "give a JSON document; `decode` makes one from messages");
        }
    };
    if text.trim().is_empty() {
        return fault(FaultKind::NotJson, "the snapshot is empty".to_owned(), "give a JSON document");
    }
    Ok(text)
}

/// Why a text is no JSON, without the place.
#[must_use]
pub fn json_reason(error: &serde_json::Error) -> String {
    let whole = error.to_string();
    let reason = whole.rsplit_once(" at line ").map_or(whole.as_str(), |(reason, _)| reason);
    reason.replace("EOF while parsing", "the text ends within")
}

fn parse(text: &str) -> Result<Node, Fault> {
    serde_json::from_str(text).map_err(|error| {
        let (line, column) = (error.line(), error.column());
        let place =
            if text.contains('\n') { format!("line {line}, column {column}") } else { format!("column {column}") };
        let fault = Fault::new(FaultKind::NotJson, "", format!("not JSON at {place}: {}", json_reason(&error)));
        if text.trim_start().starts_with('{') {
            fault
        } else {
            fault.help("a snapshot is a JSON object; `decode` makes one from messages")
        }
    })
}

/// Reads a document from a tree.
///
/// # Errors
/// With every fault of it.
pub fn read_tree(node: &Node) -> Result<Document, Vec<Fault>> {
    let Node::Map(entries) = node else {
        let message = format!("{} is {}", node.show(), node.kind());
        let fault = too_much(node, "").unwrap_or(Fault::new(FaultKind::WrongType, "", message));
        return Err(vec![fault.help("a snapshot is a JSON object")]);
    };
    let mut reader = Reader::default();
    reader.top(entries);
    reader.compare();
    if reader.faults.is_empty() {
        let place = |path: &str| KEYS.iter().position(|key| key.path == path);
        reader.document.extra.sort_by_key(|(path, _)| place(path));
        Ok(reader.document)
    } else {
        Err(reader.faults)
    }
}

#[derive(Default)]
struct Reader {
    document: Document,
    faults: Vec<Fault>,
    /// Facts that had a value, with the key it stood at.
    given: Vec<(Fact, String)>,
}

impl Reader {
    fn top(&mut self, entries: &[(String, Node)]) {
        self.format(entries);
        let mut seen = BTreeSet::new();
        for (name, node) in entries {
            if !self.is_new(&mut seen, "", name) || name == "format" {
                continue;
            }
            if name == "declared" {
                self.declared(node);
            } else if key::is_object(name) {
                self.object(name, node);
            } else if let Some(key) = key_at(name) {
                self.key(&key.path, key.meaning, node);
            } else {
                self.unknown("", name);
            }
        }
    }

    fn format(&mut self, entries: &[(String, Node)]) {
        let found = entries.iter().find(|(name, _)| name == "format").map(|(_, node)| node);
        let fault = match found {
            Some(Node::Text(text)) if text == FORMAT => return,
            Some(other) => Fault::new(FaultKind::Format, "format", format!("{} is another format", other.show())),
            None => Fault::new(FaultKind::Format, "format", "missing"),
        };
        self.faults.push(fault.help(format!("give \"format\": \"{FORMAT}\"")));
    }

    fn is_new<'a>(&mut self, seen: &mut BTreeSet<&'a str>, object: &str, name: &'a str) -> bool {
        let is_new = seen.insert(name);
        if !is_new {
            let fault = Fault::new(FaultKind::Duplicate, &joined(object, name), "the key stands there more than once");
            self.faults.push(fault.help("keep one; which of the two is right cannot be told from here"));
        }
        is_new
    }

    fn object(&mut self, object: &str, node: &Node) {
        let entries = match node {
            Node::Null => return,
            Node::Map(entries) => entries,
            other => {
                let message = format!("{} is {}", other.show(), other.kind());
                let fault = too_much(other, object).unwrap_or(Fault::new(FaultKind::WrongType, object, message));
                self.faults.push(fault.help("give an object, or null where nothing of it is known"));
                return;
            }
        };
        let mut seen = BTreeSet::new();
        for (name, node) in entries {
            if !self.is_new(&mut seen, object, name) {
                continue;
            }
            match key_at(&joined(object, name)) {
                Some(key) => self.key(&key.path, key.meaning, node),
                None => self.unknown(object, name),
            }
        }
    }

    fn unknown(&mut self, object: &str, name: &str) {
        let shown = Node::Text(name.to_owned()).show();
        let fault = Fault::new(FaultKind::UnknownKey, object, format!("unknown key {shown}"));
        let known = keys_of(object);
        let elsewhere = || {
            let last = name.rsplit('.').next().unwrap_or(name);
            KEYS.iter().map(|key| key.path.as_str()).find(|path| path.rsplit('.').next() == Some(last))
        };
        let all = || if object.is_empty() { TOP.join(", ") } else { known.join(", ") };
        // A short form of the trade, or a key that has the name as one of its words.
        let short = || match object {
            "monitors" => alias::monitor(name).map(Monitor::name),
            _ => {
                let mut those = known.iter().copied().filter(|key| key.split('_').any(|word| word == name));
                those.next().filter(|_| those.next().is_none())
            }
        };
        let help = match (short().or_else(|| nearest(name, known.iter().copied())), elsewhere()) {
            (Some(near), _) => format!("did you mean \"{near}\"?"),
            (None, Some(path)) => format!("its place is {path}"),
            (None, None) => format!("known keys: {}", all()),
        };
        self.faults.push(fault.help(help));
    }

    fn key(&mut self, path: &str, meaning: Meaning, node: &Node) {
        match meaning {
            Meaning::Fact(fact) => self.fact(fact, None, node, path),
            Meaning::InUnit(fact, unit) => self.fact(fact, Some(unit), node, path),
            Meaning::Text | Meaning::ThisCycle | Meaning::Anything => {
                self.passed_through(path, meaning, node);
            }
        }
    }

    fn fact(&mut self, fact: Fact, unit: Option<Unit>, node: &Node, path: &str) {
        if *node != Node::Null {
            if let Some((_, earlier)) = self.given.iter().find(|(known, _)| *known == fact) {
                let message = format!("given a second time: {earlier} says the same thing in another unit");
                self.faults.push(Fault::new(FaultKind::Duplicate, path, message).help("keep the one that was read"));
                return;
            }
            self.given.push((fact, path.to_owned()));
        }
        if let Some(reading) = reading(fact, unit, node, path, &mut self.faults) {
            self.document.snapshot.readings.insert(fact, reading);
        }
    }

    fn passed_through(&mut self, path: &str, meaning: Meaning, node: &Node) {
        if *node == Node::Null {
            return;
        }
        let before = self.faults.len();
        self.limits(path, node);
        let wrong = |help: &str| {
            let message = format!("{} is {}", node.show(), node.kind());
            Fault::new(FaultKind::WrongType, path, message).help(help)
        };
        match (meaning, node) {
            (Meaning::Text, node) => {
                text(node, path, &mut self.faults);
            }
            (Meaning::ThisCycle, Node::Text(word)) if THIS_CYCLE.contains(&word.as_str()) => {}
            (Meaning::ThisCycle, _) => {
                self.faults.push(wrong(&format!("give {}", super::allowed::one_of(&THIS_CYCLE))));
            }
            (Meaning::Anything | Meaning::Fact(_) | Meaning::InUnit(..), _) => {}
        }
        if self.faults.len() == before {
            self.document.extra.push((path.to_owned(), node.clone()));
        }
    }

    /// Reports what of a passed-through value was not read, and duplicate keys in it.
    fn limits(&mut self, path: &str, node: &Node) {
        self.faults.extend(too_much(node, path));
        match node {
            Node::List(list) => {
                for (at, entry) in list.iter().enumerate() {
                    self.limits(&format!("{path}[{at}]"), entry);
                }
            }
            Node::Map(entries) => {
                let mut seen = BTreeSet::new();
                for (name, entry) in entries {
                    if self.is_new(&mut seen, path, name) {
                        self.limits(&joined(path, name), entry);
                    }
                }
            }
            _ => {}
        }
    }

    fn declared(&mut self, node: &Node) {
        let entries = match node {
            Node::Null => return,
            Node::Map(entries) => entries,
            other => {
                let message = format!("{} is {}", other.show(), other.kind());
                let fault =
                    too_much(other, "declared").unwrap_or(Fault::new(FaultKind::WrongType, "declared", message));
                self.faults.push(fault.help("give an object of the facts that programs declare"));
                return;
            }
        };
        let mut seen = BTreeSet::new();
        for (name, node) in entries {
            if !self.is_new(&mut seen, "declared", name) {
                continue;
            }
            if !is_name(name) {
                let shown = Node::Text(name.clone()).show();
                let fault = Fault::new(FaultKind::UnknownKey, "declared", format!("{shown} is no name of a fact"));
                self.faults.push(fault.help("names are lower-case words joined by hyphens"));
                continue;
            }
            let path = joined("declared", name);
            let value = match node {
                Node::Null => continue,
                Node::Bool(yes) => DeclaredValue::YesNo(*yes),
                Node::Whole(number) => match i64::try_from(*number) {
                    Ok(number) => DeclaredValue::Number(number),
                    Err(_) => {
                        let message = format!("{number} is out of range");
                        self.faults.push(Fault::new(FaultKind::OutOfRange, &path, message));
                        continue;
                    }
                },
                Node::Text(_) => match text(node, &path, &mut self.faults) {
                    Some(word) => DeclaredValue::Word(word),
                    None => continue,
                },
                other => {
                    let message = format!("{} is {}", other.show(), other.kind());
                    let fault = too_much(other, &path).unwrap_or(Fault::new(FaultKind::WrongType, &path, message));
                    self.faults.push(fault.help("give true, false, a whole number or a word in quotes"));
                    continue;
                }
            };
            self.document.snapshot.declared.insert(name.clone(), value);
        }
    }

    /// The number of monitors incomplete earlier against the list of them: the number counts some of the list.
    fn compare(&mut self) {
        let known = |fact| match self.document.snapshot.get(fact) {
            Some(Reading::Known(value)) => Some(value),
            Some(Reading::NotOnVehicle) | None => None,
        };
        let pair = (known(Fact::EarlierIncompleteCount), known(Fact::EarlierIncomplete));
        let (Some(Value::Number(count)), Some(Value::Monitors(list))) = pair else {
            return;
        };
        if *count > i64::from(list.count()) {
            let message = format!("{count} is more than the {} monitors of visit.earlier_incomplete", list.count());
            let fault = Fault::new(FaultKind::Inconsistent, "visit.earlier_incomplete_count", message);
            self.faults
                .push(fault.help("the list names every monitor that was incomplete; leave out what was not read"));
        }
    }
}

/// A name as program files write it.
fn is_name(name: &str) -> bool {
    let plain = name.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-');
    plain
        && name.len() <= MAX_DECLARED_NAME
        && name.starts_with(|c: char| c.is_ascii_lowercase())
        && !name.ends_with('-')
}

fn joined(object: &str, name: &str) -> String {
    let name: String =
        if name.chars().count() > 64 { name.chars().take(63).chain(['…']).collect() } else { name.into() };
    if object.is_empty() { name } else { format!("{object}.{name}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A path names a key as it stands, up to 64 characters; a longer one is told by its first 63.
    #[test]
    fn a_long_key_is_told_by_its_beginning() {
        for letter in ["k", "ü"] {
            for length in [1, 63, 64, 65, 66, 1000] {
                let name = letter.repeat(length);
                let expected = if length <= 64 { name.clone() } else { format!("{}…", letter.repeat(63)) };
                assert_eq!(joined("", &name), expected);
                assert_eq!(joined("lamp", &name), format!("lamp.{expected}"));
            }
        }
    }

    /// What is no JSON object from its first character on is something else; one that is broken needs no such help.
    #[test]
    fn what_does_not_begin_as_an_object_is_told_what_a_snapshot_is() {
        for (text, helps) in
            [("", true), ("7E8 06 41", true), ("[1", true), ("x{}", true), ("{", false), (" \n\t{\"a\"", false)]
        {
            let helped = parse(text).err().map(|fault| fault.help.is_some());
            assert_eq!(helped, Some(helps), "{text}");
        }
    }
}
