//! Records that earlier versions left on disk, kept as they were made with the texts they were made of: they replay for
//! ever. And a false proof that was once accepted.
//!
//! `tests/records/0.1.0`: by the command line as it was on 2026-11-27 (an earlier build under the number 0.1.0), of
//! invented programs and of shipped ones of that day.

use crate::process;
use serde_json::Value;
use std::path::{Path, PathBuf};
use wherefore::internals::certificate::{Certificate, Refusal, verify};
use wherefore::internals::check::check;
use wherefore::internals::document;
use wherefore::internals::program::{Flat, Selection, select};
use wherefore::internals::source::Source;
use wherefore::internals::syntax::parse;

fn records(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/records").join(name)
}

fn replayed(rules: &str, lines: &str) -> (i32, Vec<Value>) {
    let (rules, lines) = (records(rules), records(lines));
    let arguments = ["replay", "--rules", rules.to_str().unwrap(), "--format", "json", lines.to_str().unwrap()];
    let output = process::command(&arguments).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let found = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    (output.status.code().unwrap(), found)
}

#[test]
fn every_record_of_version_0_1_0_replays() {
    let lines = std::fs::read_to_string(records("0.1.0/rulings.jsonl")).unwrap();
    let (exit, found) = replayed("0.1.0/rules", "0.1.0/rulings.jsonl");
    assert_eq!(exit, 0, "{found:#?}");
    assert_eq!(found.len(), lines.lines().count());
    assert!(found.iter().all(|record| record["state"] == "same"), "{found:#?}");
    // Verdicts of several kinds, proved and open, of programs with tables and without.
    let of = |key: &str| -> std::collections::BTreeSet<String> {
        let each = lines.lines().map(|line| serde_json::from_str::<Value>(line).unwrap()[key].to_string());
        each.collect()
    };
    assert!(of("verdict").len() > 3 && of("program").len() > 3, "{:?} {:?}", of("verdict"), of("program"));
    assert!(lines.lines().filter(|line| line.contains("\"certificate\"")).count() > 10);
}

/// A change to what an old record decided is found whatever its digest says, and so is one to its proof.
#[test]
fn a_changed_record_of_version_0_1_0_is_told() {
    let lines = std::fs::read_to_string(records("0.1.0/rulings.jsonl")).unwrap();
    let line = lines.lines().find(|line| line.contains("\"certificate\"")).unwrap();
    let value: Value = serde_json::from_str(line).unwrap();
    for key in ["verdict", "class", "test_date", "certificate"] {
        let mut changed = value.clone();
        match key {
            "certificate" => changed["certificate"]["verdict"] = Value::from("other"),
            _ => changed[key] = Value::from("2020-01-01"),
        }
        let rules = records("0.1.0/rules");
        let command = process::command(&["replay", "--rules", rules.to_str().unwrap(), "-"]);
        let output = process::run_with_input(command, (sealed(changed) + "\n").as_bytes());
        let text = String::from_utf8(output.stdout).unwrap();
        assert_eq!(output.status.code(), Some(1), "{key}: {text}");
        assert!(text.contains(key), "{text}");
    }
}

fn sealed(mut value: Value) -> String {
    value["digest"].as_object_mut().unwrap().remove("record");
    value["digest"]["record"] = Value::from(wherefore::internals::record::digest::of(value.to_string().as_bytes()));
    value.to_string()
}

fn heath() -> Flat {
    let text = std::fs::read_to_string(records("forged/heath.wherefore")).unwrap();
    let program = check(&parse(&Source::new("heath", &text)).file, &()).program.unwrap();
    select(&program, &Selection::on("2026-11-25".parse().unwrap())).unwrap()
}

/// The record's snapshot and proof.
fn forged(name: &str) -> (wherefore::internals::model::Snapshot, Certificate, Value) {
    let value: Value = serde_json::from_str(&std::fs::read_to_string(records(name)).unwrap()).unwrap();
    let snapshot = document::read(value["snapshot"].to_string().as_bytes()).unwrap().snapshot;
    (snapshot, serde_json::from_value(value["certificate"].clone()).unwrap(), value)
}

/// A 1996 vehicle of make and model of a row for model year 1996 is in the table and passes. The proof of a 1997 vehicle
/// that it fails leaves the model year out of what it rests on: to presume that the vehicle is not listed, every fact
/// that the rows test must have been looked at. With the year kept the same proof is refused for what it says.
#[test]
fn a_proof_that_forgets_what_a_row_of_a_table_tests_is_refused() {
    let flat = heath();
    for name in ["forged/year-left-out.json", "forged/year-kept.json"] {
        let (snapshot, proof, value) = forged(name);
        assert_eq!((value["verdict"].as_str(), proof.verdict.as_str()), (Some("pass"), "fail"), "{name}");
        let refusal: Refusal = verify(&proof, &flat, &snapshot).unwrap_err();
        assert!(refusal.to_string().contains("readiness"), "{name}: {refusal}");
        let truth = wherefore::internals::ruling::certificate(&flat, &snapshot).unwrap().unwrap();
        assert_eq!(truth.verdict, "pass");
        assert_eq!(verify(&truth, &flat, &snapshot), Ok(()));
        let (exit, found) = replayed("forged/heath.wherefore", name);
        assert_eq!(exit, 1, "{found:?}");
        let fields: Vec<&str> =
            found[0]["differences"].as_array().unwrap().iter().map(|it| it["field"].as_str().unwrap()).collect();
        assert!(fields.contains(&"certificate"), "{fields:?}");
    }
}

/// Of the same vehicle, as if it were of 1997: the proof is true, the year left out or not. Of a vehicle of which no year
/// was told the presumption stands, and the proof too.
#[test]
fn the_same_proof_of_a_vehicle_that_is_not_listed_is_accepted() {
    let flat = heath();
    let (mut snapshot, proof, _) = forged("forged/year-kept.json");
    snapshot.set(wherefore::internals::model::Fact::ModelYear, wherefore::internals::model::Value::Number(1997));
    assert_eq!(verify(&proof, &flat, &snapshot), Ok(()));
    let truth = wherefore::internals::ruling::certificate(&flat, &snapshot).unwrap().unwrap();
    assert_eq!((truth.verdict.as_str(), verify(&truth, &flat, &snapshot)), ("fail", Ok(())));
}
