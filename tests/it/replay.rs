//! Records of rulings: round trips of every worked case of every built-in program, with its proof; tampering, field by
//! field; amendments made later. What a record must show: design page, section 6; replay after an amendment: encodings,
//! section 7, risks 6 and 10.

use crate::every;
use crate::process;
use rstest::rstest;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::sync::Arc;
use wherefore::internals::catalog::{Catalog, Entry, Files};
use wherefore::internals::certificate::{self, Certificate, verify};
use wherefore::internals::document::Document;
use wherefore::internals::program::block::Case;
use wherefore::internals::program::{Program, Selection, select};
use wherefore::internals::record::replay::{Replayed, Stored};
use wherefore::internals::record::{self, Record, Request, digest};

const DEMO: &str = include_str!("../cli/rules/demo.wherefore");

/// Program texts in memory.
struct Memory(BTreeMap<String, String>);

impl Files for Memory {
    fn names(&self) -> Vec<String> {
        self.0.keys().cloned().collect()
    }

    fn text(&self, name: &str) -> Result<String, String> {
        self.0.get(name).cloned().ok_or_else(|| format!("{name}: no such text"))
    }

    fn beside(&self, _name: &str, _table: &str) -> Option<String> {
        None
    }

    fn tables(&self, _name: &str) -> Vec<String> {
        Vec::new()
    }
}

fn of_text(text: &str) -> (Arc<Program>, BTreeMap<String, String>) {
    let memory = Memory(BTreeMap::from([("demo.wherefore".to_owned(), text.to_owned())]));
    let entry = Catalog::new(vec![&memory as &dyn Files]).find("demo").unwrap();
    let errors: Vec<&str> = entry.diagnostics.iter().map(|it| it.message.as_str()).collect();
    (entry.program.clone().unwrap_or_else(|| panic!("{errors:?}")), (*entry.texts).clone())
}

fn request(case: &Case, known_on: Option<wherefore::internals::model::Date>) -> Request {
    Request {
        as_of: case.facts.test_date(),
        known_on,
        takes: case.takes.clone(),
        certificate: true,
        ..Request::default()
    }
}

/// The record of a worked case, as one line of JSON.
fn recorded(program: &Program, texts: &BTreeMap<String, String>, case: &Case) -> String {
    let document = Document { snapshot: case.facts.clone(), extra: Vec::new() };
    record::json_line(&Record::of(program, texts, &document, &request(case, case.known_on)).unwrap())
}

fn replayed(line: &str, program: &Program, texts: &BTreeMap<String, String>) -> Result<Replayed, String> {
    Stored::read(line)?.replay(program, texts)
}

fn built_in() -> &'static [Arc<Entry>] {
    every::entries()
}

// Encodings, section 7, risk 10: round trip ruling -> replay for every worked case.
#[test]
fn every_worked_case_replays_and_settled_ones_are_proved() {
    let (mut cases, mut settled, mut unproved) = (0, 0, Vec::new());
    for entry in built_in() {
        let Some(program) = &entry.program else { continue };
        for case in &program.cases {
            let line = recorded(program, &entry.texts, case);
            let value: Value = serde_json::from_str(&line).unwrap();
            cases += 1;
            if value["possible"].as_array().unwrap().len() == 1 {
                settled += 1;
                if value.get("certificate").is_none() {
                    unproved.push(format!("{}: {}", program.id, case.title));
                }
            }
            // Parsing and checking the texts anew for every proof is left to the amendment tests below.
            let mut bare = value.clone();
            bare.as_object_mut().unwrap().remove("certificate");
            let result = replayed(&sealed(bare), program, &entry.texts).unwrap();
            assert!(result.differences.is_empty(), "{} {:?}: {:?}", program.id, case.title, result.differences);
            // What is settled and carries no proof any more is told, and nothing else is.
            let is_settled = value["possible"].as_array().unwrap().len() == 1;
            assert_eq!(result.notes.len(), usize::from(is_settled), "{:?}", result.notes);
            assert!(result.notes.iter().all(|note| note.contains("carries no proof")), "{:?}", result.notes);
        }
    }
    assert!(cases > 300, "the programs have worked cases: {cases}");
    assert!(settled * 10 > cases * 8, "most are settled: {settled} of {cases}");
    assert!(unproved.is_empty(), "settled without a proof: {unproved:#?}");
}

// Language anchors, idea 6: the checker is given the texts alone. A proof for another verdict, or with any one part
// changed, is refused.
#[test]
fn the_checker_accepts_proofs_from_the_texts_and_refuses_changed_ones() {
    let (mut proofs, mut parts) = (0, 0);
    for entry in built_in() {
        let Some(program) = &entry.program else { continue };
        let of_texts = certificate::program_of(&entry.id, &entry.texts).unwrap();
        for (place, case) in program.cases.iter().enumerate() {
            let selection = Selection {
                known_on: case.known_on,
                takes: case.takes.clone(),
                ..Selection::on(case.facts.test_date().unwrap())
            };
            let flat = select(&of_texts, &selection).unwrap();
            let Some(proof) = wherefore::internals::ruling::certificate(&flat, &case.facts).unwrap() else { continue };
            proofs += 1;
            assert_eq!(verify(&proof, &flat, &case.facts), Ok(()), "{}: {}", entry.id, case.title);
            for outcome in flat.outcomes.iter().map(|it| it.name.as_str()).chain(["not-subject"]) {
                let other = Certificate { verdict: outcome.to_owned(), ..proof.clone() };
                let accepted = verify(&other, &flat, &case.facts).is_ok();
                assert_eq!(accepted, outcome == proof.verdict, "{}: {}: {outcome}", entry.id, case.title);
            }
            // Every list of tests emptied, one at a time; the first cases of each program suffice.
            if place < 2 {
                let whole = serde_json::to_value(&proof).unwrap();
                for path in paths(&whole).into_iter().filter(|path| path.starts_with("/ways")) {
                    let mut changed = whole.clone();
                    let leaf = changed.pointer_mut(&path).unwrap();
                    *leaf = match leaf {
                        Value::Number(_) => json!(9_999),
                        _ => continue,
                    };
                    parts += 1;
                    let changed: Certificate = serde_json::from_value(changed).unwrap();
                    assert!(verify(&changed, &flat, &case.facts).is_err(), "{}: {}: {path}", entry.id, case.title);
                }
            }
        }
    }
    assert!(proofs > 250 && parts > 1_000, "{proofs} proofs, {parts} parts");
}

fn sealed(mut value: Value) -> String {
    value["digest"].as_object_mut().unwrap().remove("record");
    let seal = digest::of(value.to_string().as_bytes());
    value["digest"]["record"] = json!(seal);
    value.to_string()
}

/// Pointers to every leaf (empty lists and objects are leaves).
fn paths(value: &Value) -> Vec<String> {
    fn walk(value: &Value, at: String, found: &mut Vec<String>) {
        match value {
            Value::Object(map) if !map.is_empty() => {
                map.iter().for_each(|(key, value)| walk(value, format!("{at}/{}", key.replace('/', "~1")), found));
            }
            Value::Array(list) if !list.is_empty() => {
                list.iter().enumerate().for_each(|(place, value)| walk(value, format!("{at}/{place}"), found));
            }
            _ => found.push(at),
        }
    }
    let mut found = Vec::new();
    walk(value, String::new(), &mut found);
    found
}

fn changed(leaf: &Value, path: &str) -> Value {
    match leaf {
        Value::Bool(yes) => json!(!yes),
        Value::Number(number) => json!(number.as_i64().unwrap_or(0) + 1),
        Value::String(text) if text.starts_with("20") && text.len() == 10 => json!("2026-11-24"),
        Value::String(text) if text == "complete" && path.contains("monitors") => json!("incomplete"),
        Value::String(text) => json!(format!("{text}x")),
        Value::Null => json!("2026-11-24"),
        Value::Array(_) => json!(["x"]),
        Value::Object(_) => json!({"x": "y"}),
    }
}

fn case_of<'p>(program: &'p Program, title: &str) -> &'p Case {
    program.cases.iter().find(|case| case.title == title).unwrap()
}

/// Whether replaying tells that a record is not what it should be.
fn is_caught(line: &str, program: &Program, texts: &BTreeMap<String, String>) -> bool {
    replayed(line, program, texts).map_or(true, |result| !result.differences.is_empty())
}

// Issue 3, item 9: tampering with any field is caught, tested field by field: every leaf changed, every key removed, a
// key added to every object.
#[rstest]
#[case::pass("van 7, everything complete", false)]
#[case::reject("van 7, two monitors incomplete", true)]
#[case::fail("van 7, lamp commanded on", false)]
fn any_field_that_is_changed_is_caught(#[case] title: &str, #[case] with_proof: bool) {
    let (program, texts) = of_text(DEMO);
    let line = recorded(&program, &texts, case_of(&program, title));
    assert_eq!(replayed(&line, &program, &texts).unwrap(), Replayed::default());
    let mut whole: Value = serde_json::from_str(&line).unwrap();
    assert!(whole.get("certificate").is_some());
    if !with_proof {
        // The proof is checked from the texts, read anew each time; once is enough for the clock.
        whole.as_object_mut().unwrap().remove("certificate");
        whole = serde_json::from_str(&sealed(whole)).unwrap();
        assert!(!is_caught(&whole.to_string(), &program, &texts), "a record without a proof stands");
    }
    let paths = paths(&whole);
    assert!(paths.len() > 200, "{}", paths.len());
    for path in &paths {
        let mut tampered = whole.clone();
        let leaf = tampered.pointer_mut(path).unwrap();
        *leaf = changed(leaf, path);
        let unsealed = tampered.to_string();
        // Who also makes the record's own digest anew changes nothing that is judged again: only what was asked (law
        // known on which date) and the digests of the files, which later amendments change too, stand unproved.
        if !is_caught(&sealed(tampered), &program, &texts) {
            // A record of another version is compared in what decides, and says so in a note.
            let is_of_the_question =
                ["/known_on", "/engine"].contains(&path.as_str()) || path.starts_with("/digest/files/");
            assert!(is_of_the_question || path == "/digest/record", "changed and sealed: {path}");
            assert!(is_caught(&unsealed, &program, &texts), "changed: {path}");
        }
        let mut tampered = whole.clone();
        let (parent, key) = path.rsplit_once('/').unwrap();
        match tampered.pointer_mut(parent).unwrap() {
            Value::Object(map) => drop(map.remove(&key.replace("~1", "/"))),
            Value::Array(list) => drop(list.remove(key.parse().unwrap())),
            _ => panic!("{parent} holds {key}"),
        }
        assert!(is_caught(&tampered.to_string(), &program, &texts), "removed: {path}");
    }
    for key in ["addition", "certificate2"] {
        let mut tampered = whole.clone();
        tampered[key] = json!("x");
        assert!(is_caught(&sealed(tampered), &program, &texts), "added: {key}");
    }
}

const LATER: &str = "
clause later on other
  fail where catalyst is incomplete
  \"The catalyst monitor must be complete.\"
  from 2026-11-01
  published 2027-01-15
  per r \"(z)\"
";

// Encodings, section 7, risk 6: replay of each ruling after adding a later amendment must not change.
#[rstest]
#[case::known_on_recorded(Some("2026-11-25"), LATER.to_owned(), true)]
#[case::known_on_not_recorded(None, LATER.to_owned(), true)]
#[case::known_after_the_amendment(Some("2027-02-01"), LATER.to_owned(), false)]
#[case::in_force_later(None, LATER.replace("from 2026-11-01\n  published 2027-01-15", "from 2026-11-26"), true)]
#[case::published_at_no_date(None, LATER.replace("  published 2027-01-15\n", ""), false)]
#[case::only_a_comment(None, "\n# Nothing new.\n".to_owned(), true)]
fn a_ruling_replays_after_a_later_amendment(#[case] known_on: Option<&str>, #[case] added: String, #[case] same: bool) {
    let (program, texts) = of_text(DEMO);
    let (amended, new_texts) = of_text(&(DEMO.to_owned() + &added));
    let known_on = known_on.map(|text| text.parse().unwrap());
    for case in &program.cases {
        let document = Document { snapshot: case.facts.clone(), extra: Vec::new() };
        let record = Record::of(&program, &texts, &document, &request(case, known_on)).unwrap();
        let result = replayed(&record::json_line(&record), &amended, &new_texts).unwrap();
        assert_eq!(result.differences.is_empty(), same, "{}: {:?}", case.title, result.differences);
        assert_eq!(result.notes.len(), 1, "{:?}", result.notes);
        if !same {
            assert!(result.differences.iter().any(|it| it.field == "digest.law"), "{:?}", result.differences);
        }
    }
}

#[rstest]
#[case::no_json("{", "is no JSON")]
#[case::no_ruling("{}", "is no ruling")]
#[case::a_snapshot(r#"{"format": "wherefore-snapshot/1"}"#, "is a snapshot, not a recorded ruling")]
#[case::no_version(r#"{"format": "wherefore-ruling/1"}"#, "no version")]
#[case::no_date(r#"{"format": "wherefore-ruling/1", "engine": "99.0.0"}"#, "holds no snapshot")]
#[case::a_key_twice(
    r#"{"verdict": "pass", "format": "wherefore-ruling/1", "verdict": "fail"}"#,
    "has the key verdict twice"
)]
#[case::a_key_twice_within(
    r#"{"format": "wherefore-ruling/1", "digest": {"files": {}, "law": "a", "law": "b"}}"#,
    "has the key digest.law twice"
)]
#[case::a_key_twice_in_a_list(
    r#"{"format": "wherefore-ruling/1", "grounds": [{}, {"clause": "a", "clause": "b"}]}"#,
    "has the key grounds[1].clause twice"
)]
fn what_is_no_ruling_of_this_version_is_refused(#[case] line: &str, #[case] message: &str) {
    let error = Stored::read(line).unwrap_err();
    assert!(error.contains(message), "{error}");
}

/// The record as another version of the crate would have left it: its number, no wording, a field that is no more.
fn by_another_version(line: &str) -> Value {
    let mut value: Value = serde_json::from_str(line).unwrap();
    value["engine"] = json!("0.0.9");
    value["summary"] = json!("said otherwise then");
    value["forgotten"] = json!("a field that is written no more");
    value.as_object_mut().unwrap().remove("weak");
    value
}

#[test]
fn a_ruling_of_another_version_stands_by_what_it_decided() {
    let (program, texts) = of_text(DEMO);
    for case in &program.cases {
        let record = by_another_version(&recorded(&program, &texts, case));
        let result = replayed(&sealed(record.clone()), &program, &texts).unwrap();
        assert_eq!(result.differences, [], "{}", case.title);
        assert!(result.notes.iter().any(|note| note.contains("version 0.0.9")), "{:?}", result.notes);
        assert!(is_caught(&record.to_string(), &program, &texts), "its own digest was not made anew");
        for (key, other) in [("verdict", json!("other")), ("possible", json!(["other"])), ("class", json!("other"))] {
            let mut tampered = record.clone();
            tampered[key] = other;
            assert!(is_caught(&sealed(tampered), &program, &texts), "{}: {key}", case.title);
        }
        if let Some(proof) = record.get("certificate") {
            let mut tampered = record.clone();
            tampered["certificate"]["verdict"] = json!(proof["verdict"].as_str().unwrap().to_owned() + "x");
            assert!(is_caught(&sealed(tampered), &program, &texts), "{}: the proof", case.title);
        }
    }
}

#[test]
fn a_proof_that_was_taken_out_is_told() {
    let (program, texts) = of_text(DEMO);
    let mut record: Value =
        serde_json::from_str(&recorded(&program, &texts, case_of(&program, "van 7, lamp commanded on"))).unwrap();
    record.as_object_mut().unwrap().remove("certificate").unwrap();
    let result = replayed(&sealed(record), &program, &texts).unwrap();
    assert_eq!(result.differences, []);
    assert!(result.notes.iter().any(|note| note.contains("carries no proof")), "{:?}", result.notes);
}

fn told(arguments: &[&str], input: &str) -> (i32, String) {
    let output = process::run_with_input(process::command(arguments), input.as_bytes());
    let text = [output.stdout, output.stderr].concat();
    (output.status.code().unwrap(), String::from_utf8(text).unwrap())
}

// Design page, section 9: replay: 0 same, 1 differs, 2 record or version not available.
#[test]
fn the_command_tells_each_record_and_ends_with_the_worst() {
    const RULES: &str = "tests/cli/rules";
    let car = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/cli/cars/lamp.json")).unwrap();
    let judge = ["judge", "--rules", RULES, "--certificate", "--format", "json", "-"];
    let (exit, line) = told(&judge, &car);
    assert_eq!(exit, 1, "the lamp fails: {line}");
    assert!(line.contains("\"certificate\":{\"verdict\":\"fail\""), "{line}");
    let replay = ["replay", "--rules", RULES, "-"];
    assert_eq!(told(&replay, &line), (0, "record 1, demo: same\n".to_owned()));
    let tampered = line.replacen("\"verdict\":\"fail\"", "\"verdict\":\"pass\"", 1);
    let (exit, text) = told(&replay, &(line.clone() + &tampered));
    assert_eq!(exit, 1, "{text}");
    assert!(
        text.contains("record 1, demo: same") && text.contains("verdict: recorded \"pass\", now \"fail\""),
        "{text}"
    );
    for (from, to, message) in [
        ("\"verdict\":\"fail\"", "\"verdict\":\"pass\",\"verdict\":\"fail\"", "has the key verdict twice"),
        ("\"program\":\"demo\"", "\"program\":\"dema\"", "there is no program `dema`"),
        ("wherefore-ruling/1", "wherefore-ruling/2", "is not \"wherefore-ruling/1\""),
    ] {
        let (exit, text) = told(&replay, &(line.clone() + &line.replacen(from, to, 1)));
        assert_eq!(exit, 2, "{text}");
        assert!(text.contains(message), "{text}");
    }
    let json = ["replay", "--rules", RULES, "--format", "json", "-"];
    let (exit, text) = told(&json, &tampered);
    let value: Value = serde_json::from_str(&text).unwrap();
    assert_eq!((exit, value["state"].as_str()), (1, Some("differs")));
}

/// A record laid out over several lines is one record; a snapshot is told to be one.
#[test]
fn a_document_over_several_lines_is_one_record() {
    let car = "tests/cli/cars/pass.json";
    let line = process::command(&["judge", "--rules", "tests/cli/rules", "--format", "json", car]).output().unwrap();
    let value: Value = serde_json::from_slice(&line.stdout).unwrap();
    let laid_out = serde_json::to_string_pretty(&value).unwrap();
    let replay = process::command(&["replay", "--rules", "tests/cli/rules", "-"]);
    let output = process::run_with_input(replay, laid_out.as_bytes());
    let told = String::from_utf8(output.stdout).unwrap();
    assert_eq!((output.status.code(), told.as_str()), (Some(0), "record 1, demo: same\n"));
    let output = process::command(&["replay", car]).output().unwrap();
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!((output.status.code(), told.lines().count()), (Some(2), 1), "{told}");
    assert!(told.contains("is a snapshot, not a recorded ruling"), "{told}");
}
