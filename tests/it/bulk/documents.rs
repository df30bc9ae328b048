//! Snapshot documents from their text: the same answers as those of one vehicle at a time, and the same faults as those of
//! the reader of documents.

use super::records::{Dice, Records, Vocabulary, in_terms_of};
use super::{Came, by_snapshot, days, flat_on};
use rstest::rstest;
use wherefore::internals::bulk::{DocumentError, Documents, Engine, Options, Room, RowError, Ruled};
use wherefore::internals::document::{self, Document};
use wherefore::internals::model::{Date, Fact, FactType, Monitor, Snapshot, spec, table};
use wherefore::internals::program::{Flat, Program};

pub fn came(documents: &Documents, text: &str, room: &mut Room, settled: &mut usize) -> Came {
    match documents.judge(text, room) {
        Ok(told) => match told.ruled() {
            Ruled::Settled(found, decide) => {
                *settled += 1;
                let deciding = (0..128).filter(|line| decide >> line & 1 == 1).collect();
                Came::To { possible: found.possible.to_set(), deciding, alternatives: Vec::new() }
            }
            Ruled::Exact(answer) => Came::To {
                possible: answer.possible.clone(),
                deciding: answer.deciding.clone(),
                alternatives: answer.alternatives.to_vec(),
            },
        },
        Err(DocumentError::Row(RowError::Contradiction(_))) => Came::Contradiction,
        Err(other) => Came::Nothing(other.to_string()),
    }
}

pub fn written(snapshot: &Snapshot) -> String {
    document::write(&Document { snapshot: snapshot.clone(), extra: Vec::new() }).to_json()
}

fn program(id: &str) -> Program {
    let programs = crate::diagram::shipped::programs();
    programs.into_iter().find(|program| program.id == id).map(|program| (*program).clone()).unwrap()
}

// Issue "audit at the speed of reading", item 2: a path for hosts with one record at a time, equal to the interpreter.
#[test]
fn documents_are_judged_as_one_vehicle_at_a_time() {
    let (mut settled, mut all) = (0, 0);
    for (place, program) in crate::diagram::shipped::programs().iter().enumerate() {
        let mut dice = Dice(0xD0C + place as u64);
        // The last days of the list are those on which most programs are in force.
        let dates: Vec<Date> = days(program, &mut dice).into_iter().rev().take(2).collect();
        let flats: Vec<Flat> = dates.iter().map(|date| flat_on(program, *date)).collect();
        let documents = Documents::new(Engine::new(program, Options::default()).unwrap());
        let mut room = Room::default();
        // Those of which something is not known take diagrams, which take time: of every fifth program.
        for (unknown, len) in [(0, 10), (6, if place % 5 == 0 { 4 } else { 0 })] {
            let vocabulary = Vocabulary::of(&flats, dates.clone(), &mut dice);
            let records = Records::roll(&vocabulary, len, unknown, &mut dice);
            for snapshot in &records.snapshots {
                let flat = flat_on(program, snapshot.test_date().unwrap());
                let snapshot = in_terms_of(&flat, snapshot);
                let text = written(&snapshot);
                // What a document cannot say (a number that is whole in no unit) is not written: as it is read, it counts.
                let Ok(read) = document::read(text.as_bytes()) else { continue };
                let expected = by_snapshot(&flat, &read.snapshot);
                let found = came(&documents, &text, &mut room, &mut settled);
                assert_eq!(found, expected, "{} {text}", program.id);
                all += 1;
            }
        }
    }
    assert!(all > 400, "{all}");
    assert!(settled > 5, "{settled} of {all} were settled at once");
}

/// The motor pool's vehicles.
#[rstest]
#[case::van(include_str!("../../../examples/larkspur/van-7.json"), "pass")]
#[case::wagon(include_str!("../../../examples/larkspur/wagon-3.json"), "reject")]
#[case::pickup(include_str!("../../../examples/larkspur/pickup-9.json"), "undecided")]
fn the_motor_pool(#[case] text: &str, #[case] verdict: &str) {
    let documents = Documents::new(Engine::new(&program("us-model"), Options::default()).unwrap());
    let mut room = Room::default();
    // Twice: the second time the order of the keys is known.
    for _ in 0..2 {
        let told = documents.judge(text, &mut room).unwrap();
        let name = told.verdict().map_or("undecided", |verdict| verdict.name(told.rules().flat()));
        assert_eq!(name, verdict);
    }
}

/// A document that is wrong in some way says the same as the reader of documents, whatever was read before it.
#[rstest]
#[case::no_json("{", "not JSON")]
#[case::no_object("[1]", "a snapshot is a JSON object")]
#[case::no_format(r#"{"visit": {"date": "2026-11-25"}}"#, "format")]
#[case::other_format(r#"{"format": "x", "visit": {"date": "2026-11-25"}}"#, "another format")]
#[case::unknown_key(r#"{"format": "wherefore-snapshot/1", "visit": {"date": "2026-11-25", "dat": 1}}"#, "unknown key")]
#[case::twice(r#"{"format": "wherefore-snapshot/1", "connector": "intact", "connector": "missing"}"#, "more than once")]
#[case::two_units(
    r#"{"format": "wherefore-snapshot/1", "vehicle": {"gross_weight_lb": 1, "gross_weight_kg": 1}}"#,
    "a second time"
)]
#[case::unknown_word(r#"{"format": "wherefore-snapshot/1", "connector": "there"}"#, "none of the words")]
#[case::wrong_type(r#"{"format": "wherefore-snapshot/1", "connector": true}"#, "a yes/no value")]
#[case::out_of_range(r#"{"format": "wherefore-snapshot/1", "vehicle": {"model_year": 20120}}"#, "out of range")]
#[case::fraction(r#"{"format": "wherefore-snapshot/1", "vehicle": {"model_year": 2012.5}}"#, "whole number")]
#[case::bad_code(r#"{"format": "wherefore-snapshot/1", "codes": {"stored": ["P04"]}}"#, "no trouble code")]
#[case::bad_list(r#"{"format": "wherefore-snapshot/1", "codes": {"stored": {"some": []}}}"#, "at_least")]
#[case::more_than_listed(
    r#"{"format": "wherefore-snapshot/1", "visit": {"date": "2026-11-25", "kind": "retest", "earlier_incomplete": [], "earlier_incomplete_count": 1}}"#,
    "more than the 0 monitors"
)]
#[case::no_date(r#"{"format": "wherefore-snapshot/1", "connector": "intact"}"#, "the test date is not known")]
fn a_fault_is_told_in_full(#[case] text: &str, #[case] words: &str) {
    let documents = Documents::new(Engine::new(&program("us-model"), Options::default()).unwrap());
    let mut room = Room::default();
    let before = include_str!("../../../examples/larkspur/van-7.json");
    documents.judge(before, &mut room).unwrap();
    let error = documents.judge(text, &mut room).unwrap_err();
    assert!(error.to_string().contains(words), "{error}");
    if let Err(faults) = document::read(text.as_bytes()) {
        assert_eq!(error, DocumentError::Faults(faults));
    }
    documents.judge(before, &mut room).unwrap();
}

/// Readings that contradict each other are found also where the program asks neither of them.
#[rstest]
#[case::vin(r#""link": {"vin_in_data": false, "vin_matches": true}"#)]
#[case::flashing(r#""lamp": {"flashing": true, "lit_engine_running": false}"#)]
#[case::ignition(r#""vehicle": {"fuel": "gasoline", "ignition": "compression"}"#)]
#[case::tables(r#""monitors": {"catalyst": "complete", "nmhc-catalyst": "complete"}"#)]
#[case::fuel_and_table(
    r#""vehicle": {"fuel": "gasoline"}, "monitors": {"nmhc-catalyst": "complete", "catalyst": "unsupported"}"#
)]
fn contradictions_are_found(#[case] what: &str) {
    for id in ["us-model", "us-ny", "gb", "jp"] {
        let program = program(id);
        let documents = Documents::new(Engine::new(&program, Options::default()).unwrap());
        let text = format!(r#"{{"format": "wherefore-snapshot/1", "visit": {{"date": "2026-11-25"}}, {what}}}"#);
        let read = document::read(text.as_bytes()).unwrap().snapshot;
        let flat = flat_on(&program, read.test_date().unwrap());
        let expected = by_snapshot(&flat, &read);
        assert_eq!(expected, Came::Contradiction, "{id} {text}");
        assert_eq!(came(&documents, &text, &mut Room::default(), &mut 0), expected, "{id} {text}");
    }
}

/// What documents write of a fact: each word, yes and no, a number, a date, a text, a list; and that the vehicle lacks it, save for
/// a number, which the other reader reads.
fn written_values(fact: Fact) -> Vec<String> {
    let quoted = |word: &&str| format!("\"{word}\"");
    let absent = spec(fact).may_be_absent.then(|| "\"not-on-vehicle\"".to_owned());
    let values: Vec<String> = match spec(fact).kind {
        _ if fact == Fact::Communication => ["true", "false", "\"unsupported-protocol\""].map(str::to_owned).to_vec(),
        FactType::YesNo { .. } => ["true", "false"].map(str::to_owned).into_iter().chain(absent).collect(),
        FactType::Words(words) => words.iter().map(quoted).chain(absent).collect(),
        FactType::Number { least, most, .. } => vec![least.to_string(), most.to_string()],
        FactType::Date => vec!["\"2014-03-05\"".to_owned()],
        FactType::Text => vec!["\"volta\"".to_owned()],
        FactType::Monitors => vec!["[]".to_owned()],
        FactType::Codes => {
            ["[]", "[\"P0420\"]", "[\"P0420\", \"P0171\"]"].map(str::to_owned).into_iter().chain(absent).collect()
        }
    };
    values.into_iter().chain(["null".to_owned()]).collect()
}

/// A document with some keys, each of an object where it has a point.
fn document_of(values: &[(String, String)]) -> String {
    let mut objects: Vec<(&str, Vec<String>)> = Vec::new();
    for (key, value) in values {
        let (object, name) = key.split_once('.').unwrap_or(("", key));
        let entry = format!("\"{name}\": {value}");
        match objects.iter_mut().find(|(known, _)| *known == object) {
            Some((_, entries)) => entries.push(entry),
            None => objects.push((object, vec![entry])),
        }
    }
    let parts = objects.iter().map(|(object, entries)| match *object {
        "" => entries.join(", "),
        object => format!("\"{object}\": {{{}}}", entries.join(", ")),
    });
    let parts: Vec<String> = std::iter::once("\"format\": \"wherefore-snapshot/1\"".to_owned()).chain(parts).collect();
    format!("{{{}}}", parts.join(", "))
}

/// Whatever a document plainly says is read in one pass, each value of each fact, and all facts together: no key is taken for
/// another that was met before. What stands twice, or is no value of its fact, is not.
#[test]
fn plain_documents_are_read_in_one_pass() {
    let documents = Documents::new(Engine::new(&program("us-model"), Options::default()).unwrap());
    let mut room = Room::default();
    let mut read = |values: &[(String, String)]| documents.read(&document_of(values), &mut room);
    let facts: Vec<Fact> = table::all_facts().collect();
    let mut tried = 0;
    for fact in &facts {
        for value in written_values(*fact) {
            let one = [(table::key_of(*fact), value)];
            assert!(read(&one), "{one:?}");
            assert!(!read(&[one.clone(), one].concat()), "twice is once too often");
            tried += 1;
        }
        assert!(!read(&[(table::key_of(*fact), "{\"no\": \"value\"}".to_owned())]), "{fact:?}");
    }
    assert!(tried > 180, "{tried}");
    for place in 0..3 {
        let value = |fact: &Fact| {
            let values = written_values(*fact);
            (table::key_of(*fact), values[place % values.len()].clone())
        };
        let mut all: Vec<(String, String)> = facts.iter().map(value).collect();
        all.extend(Monitor::all().map(|monitor| (format!("this_cycle.{}", monitor.name()), "\"complete\"".to_owned())));
        assert!(read(&all), "{}", document_of(&all));
        all.reverse();
        assert!(read(&all), "{}", document_of(&all));
        all.pop();
        assert!(read(&all), "{}", document_of(&all));
    }
}
