//! `explain` of messages: every code that the sources can give has its words, and every example does what it says. The codes
//! are found in the sources; examples are read as files within a small clean one.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use wherefore::internals::catalog::{BuiltIn, Catalog, Files};
use wherefore::internals::desk;
use wherefore::internals::diagnostic::Severity;
use wherefore::internals::report::explain::{KINDS, Known, explain, explained, grouped};
use wherefore::internals::report::facts::text;

const BASE: &str = include_str!("../../src/report/explain/messages/base.wherefore");

/// Messages whose example would fill pages, or needs a second file that is wrong, or that no text can give, as it is not read
/// so far (a topic, a unit, a bare monitor), or that `fmt --upgrade` gives and no check of a text.
const WITHOUT_EXAMPLE: [&str; 19] = [
    "analysis/too-large",
    "check/adopted-faulty",
    "check/cases-unread",
    "check/monitor-misplaced",
    "check/reading-gone",
    "check/source-ambiguous",
    "check/strikes-in-part",
    "check/too-many",
    "check/unknown-topic",
    "check/unknown-unit",
    "limit/bullets",
    "limit/depth",
    "limit/errors",
    "limit/file",
    "limit/items",
    "limit/text",
    "syntax/item",
    "syntax/not-text",
    "syntax/older-words",
];

struct Example(String);

impl Files for Example {
    fn names(&self) -> Vec<String> {
        vec!["example.wherefore".to_owned()]
    }
    fn text(&self, _: &str) -> Result<String, String> {
        Ok(self.0.clone())
    }
    fn beside(&self, _: &str, table: &str) -> Option<String> {
        let tables = BTreeMap::from([
            ("right.csv", "make,model,excuses\nExample,Wagon,catalyst\n"),
            ("wrong.csv", "make,modle,excuses\nExample,Wagon,catalyst\n"),
        ]);
        tables.get(table).map(|text| (*text).to_owned())
    }
    fn tables(&self, _: &str) -> Vec<String> {
        vec!["right.csv".to_owned(), "wrong.csv".to_owned()]
    }
}

/// The items of a text: lines from one at the margin to the next.
fn items(text: &str) -> Vec<String> {
    let mut items: Vec<String> = Vec::new();
    for line in text.lines().filter(|line| !line.is_empty()) {
        match items.last_mut() {
            Some(item) if line.starts_with(' ') => item.push_str(&format!("{line}\n")),
            _ => items.push(format!("{line}\n")),
        }
    }
    items
}

/// What makes two items stand for the same thing: the keyword, with the name where there are several of a kind.
fn head(item: &str) -> String {
    let several = ["clause", "source", "case", "text"];
    let mut words = item.split_whitespace();
    let first = words.next().unwrap_or("");
    if several.contains(&first) { format!("{first} {}", words.next().unwrap_or("")) } else { first.to_owned() }
}

/// An example within the small file: its items take the place of those of the same head, and come first. What an adopted
/// program brings is left out.
pub fn within(example: &str) -> String {
    let own = items(example);
    let mut heads: BTreeSet<String> = own.iter().map(|item| head(item)).collect();
    if heads.contains("adopts") {
        heads.extend(["covers", "counts", "age", "clause lamp", "text silent", "case \"the"].map(str::to_owned));
    }
    let (mut text, mut rest) = (String::new(), String::new());
    for item in items(BASE).iter().filter(|item| !heads.contains(&head(item))) {
        if item.starts_with("program") { text.push_str(item) } else { rest.push_str(item) }
    }
    let is_program = |item: &&String| item.starts_with("program");
    text.extend(own.iter().filter(is_program).map(String::as_str));
    text.extend(own.iter().filter(|item| !is_program(item)).map(String::as_str));
    text + &rest
}

/// The messages of a file: code, whether it is an error, words.
fn told(text: &str) -> Vec<(String, bool, String)> {
    let files = Example(text.to_owned());
    let catalog = Catalog::new(vec![&files, &BuiltIn]);
    let entry = catalog.file("example.wherefore").unwrap();
    let messages = desk::told(&entry, None).messages;
    messages.into_iter().map(|it| (it.code.to_owned(), it.severity == Severity::Error, it.message)).collect()
}

/// Codes of messages that the sources write down.
fn codes(folder: &Path, into: &mut BTreeSet<String>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path: PathBuf = entry.unwrap().path();
        if path.is_dir() {
            codes(&path, into);
            continue;
        }
        // What is open is told by the beginnings of codes.
        if path.extension().is_none_or(|ending| ending != "rs") || path.ends_with("desk/todo.rs") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let is_code = |word: &&str| {
            word.split_once('/').is_some_and(|(area, slug)| {
                ["syntax", "limit", "check", "analysis", "case"].contains(&area)
                    && !slug.is_empty()
                    && slug.chars().all(|it| it.is_ascii_lowercase() || it.is_ascii_digit() || it == '-')
            })
        };
        into.extend(text.split('"').filter(is_code).map(str::to_owned));
    }
}

pub fn names() -> BTreeSet<String> {
    KINDS.iter().filter(|kind| kind.word == "message").flat_map(|kind| (kind.names)()).collect()
}

#[test]
fn every_message_is_explained_and_nothing_else() {
    let mut written = BTreeSet::new();
    codes(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut written);
    assert!(written.len() > 150, "{}", written.len());
    let names = names();
    assert_eq!(written.difference(&names).collect::<Vec<_>>(), Vec::<&String>::new(), "not explained");
    assert_eq!(names.difference(&written).collect::<Vec<_>>(), Vec::<&String>::new(), "explained, and never given");
}

#[test]
fn the_small_file_of_examples_is_clean() {
    assert_eq!(told(BASE), Vec::new());
}

#[test]
fn before_gives_the_message_and_after_does_not() {
    let mut faults = String::new();
    let mut without = Vec::new();
    for code in names() {
        let explained = explain(&code, Known::default()).unwrap();
        assert!(explained.what.ends_with('.') && explained.what.len() > 30, "{code}: {}", explained.what);
        let (Some(before), Some(after)) = (&explained.before, &explained.after) else {
            without.push(code);
            continue;
        };
        let found = told(&within(before));
        if !found.iter().any(|(found, _, _)| *found == code) {
            faults.push_str(&format!("{code} is not given before: {found:?}\n"));
        }
        let found = told(&within(after));
        if let Some(found) = found.iter().find(|(found, is_error, _)| *is_error || *found == code) {
            faults.push_str(&format!("{code} after: {found:?}\n"));
        }
    }
    assert_eq!(without, WITHOUT_EXAMPLE);
    assert!(faults.is_empty(), "{faults}");
}

/// By the whole code, by its slug alone, by a near one; a trouble code is refused.
#[test]
fn messages_are_found_by_name() {
    let found = |name: &str| explain(name, Known::default()).map(|it| it.name).map_err(|it| it.to_string());
    assert_eq!(found("check/bare-complete").unwrap(), "check/bare-complete");
    assert_eq!(found("bare-complete").unwrap(), "check/bare-complete");
    assert!(found("check/bare-compleet").unwrap_err().contains("did you mean `check/bare-complete`?"));
    assert!(found("bare-compleet").unwrap_err().contains("did you mean `bare-complete`?"));
    assert!(found("P0420").unwrap_err().contains("is a trouble code"));
}

/// A name that several kinds have is told of all of them; a name of several words is one name, and what nothing is called is
/// told once.
#[test]
fn names_of_several_kinds_and_words() {
    let kinds = |name: &str| -> Vec<(String, &str)> {
        explained(name, Known::default()).unwrap().into_iter().map(|it| (it.name, it.kind)).collect()
    };
    let owned = |all: &[(&str, &'static str)]| -> Vec<(String, &'static str)> {
        all.iter().map(|(name, kind)| ((*name).to_owned(), *kind)).collect()
    };
    assert_eq!(kinds("fuel"), owned(&[("vehicle.fuel", "fact"), ("fuel-system", "monitor")]));
    assert_eq!(kinds("communication"), owned(&[("communication", "topic"), ("communication", "fact")]));
    assert_eq!(kinds("evap"), owned(&[("evaporative", "monitor")]));
    let groups = |words: &str| {
        let words: Vec<String> = words.split(' ').map(str::to_owned).collect();
        grouped(&words, Known::default())
    };
    assert_eq!(groups("earlier failure code"), ["earlier failure code"]);
    assert_eq!(groups("fuel communication model year"), ["fuel", "communication", "model year"]);
    assert_eq!(groups("fuel nothing of this sort P0420 P0430"), ["fuel", "nothing of this sort", "P0420", "P0430"]);
    assert_eq!(kinds("earlier failure code"), owned(&[("visit.earlier_failure_codes", "fact")]));
    let near = explained("earlier failur code", Known::default()).unwrap_err().to_string();
    assert!(near.contains("did you mean `earlier failure code`?"), "{near}");
}

/// The words of a program stand beside those of a snapshot, and what a writer has to know of them.
#[test]
fn the_words_of_facts_are_told() {
    let more = |name: &str, lead: &str| {
        let found = explain(name, Known::default()).unwrap();
        found.more.into_iter().find(|(known, _)| *known == lead).map(|(_, text)| text).unwrap_or_default()
    };
    assert_eq!(more("visit.kind", "in programs"), "visit is initial or retest");
    assert_eq!(more("vehicle.gross_weight_lb", "in programs"), "gross weight at least N lb");
    let communication = &explained("communication", Known::default()).unwrap()[1];
    let told: Vec<&str> = communication.more.iter().map(|(_, text)| text.as_str()).collect();
    assert!(told.contains(&"communication is none, established or unsupported-protocol"), "{told:?}");
    assert!(told.iter().any(|text| text.contains("`communication is none or unsupported-protocol`")), "{told:?}");
    assert!(more("particulate-filter", "in programs").contains("`hd-particulate-filter`"));
    assert!(more("catalyst", "in programs").contains("`nmhc-catalyst`"));
    let facts = text();
    assert!(facts.contains("  in programs  communication is none, established or unsupported-protocol\n"), "{facts}");
}
