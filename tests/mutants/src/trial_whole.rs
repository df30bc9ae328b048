//! The whole of it on a crate of a few lines: what a test notices is caught, what none notices survives, what no test calls is not
//! touched, what does not compile is left out, what does not end is ended; and the fixed sample fails where its tests are lost.

use crate::build::{Place, build};
use crate::copy::{self, MODULES};
use crate::hunt::{Fate, Hunt};
use crate::{fixed, lists, tests};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

const MANIFEST: &str =
    "[package]\nname = \"small\"\nversion = \"0.0.0\"\nedition = \"2024\"\n\n[lints.rust]\nmissing_docs = \"deny\"\n";

const CODE: &str = "//! A module.
/// Looked at on both sides of the boundary.
pub fn is_old(year: u32) -> bool {
    year < 1996
}
/// Not looked at on the boundary.
pub fn is_long(years: u32) -> bool {
    years > 10
}
/// Called by no test.
pub fn lonely(one: u32, other: u32) -> bool {
    one == other
}
/// Ends only where it counts.
pub fn counted(limit: u32) -> u32 {
    let mut list = Vec::new();
    while list.len() < limit as usize {
        list.push(());
    }
    limit
}
/// A text of which nothing can be taken away.
pub fn joined(one: &str) -> String {
    one.to_owned() + \"x\"
}
";

const TESTS: &str = "//! Tests.
use small::evaluate::*;
#[test]
fn a_boundary() {
    assert!(is_old(1995) && !is_old(1996));
}
#[test]
fn no_boundary() {
    assert!(is_long(20) && !is_long(5));
}
#[test]
fn counting_ends() {
    assert_eq!(counted(3), 3);
}
#[test]
fn texts_are_joined() {
    assert_eq!(joined(\"a\"), \"ax\");
}
#[test]
fn one_that_fails() {
    assert!(is_old(2000));
}
";

fn put(root: &Path, name: &str, text: &str) {
    let path = root.join(name);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, text).unwrap();
}

fn small_crate(root: &Path) {
    let _ = fs::remove_dir_all(root);
    put(root, "Cargo.toml", MANIFEST);
    put(root, "Cargo.lock", "version = 4\n\n[[package]]\nname = \"small\"\nversion = \"0.0.0\"\n");
    let modules: String = MODULES.iter().map(|module| format!("pub mod {module};\n")).collect();
    put(root, "src/lib.rs", &format!("//! A crate.\n{modules}"));
    for module in MODULES {
        let code = if module == "evaluate" { CODE } else { "//! Empty.\n" };
        put(root, &format!("src/{module}/mod.rs"), code);
    }
    put(root, "tests/it/main.rs", TESTS);
    put(root, "tests/mutants/sample.txt", "");
    assert!(Command::new("git").args(["init", "--quiet"]).current_dir(root).status().unwrap().success());
}

#[test]
fn what_tests_notice_is_told_from_what_they_do_not() {
    let folder = std::env::temp_dir().join(format!("mutants-of-a-small-crate-{}", std::process::id()));
    let place = Place { root: folder.join("small"), work: folder.join("work"), least: Duration::from_secs(1) };
    small_crate(&place.root);
    fs::create_dir_all(&place.work).unwrap();
    let sources = copy::sources(&place.root).unwrap();
    let all: BTreeSet<u32> = (1..).zip(&sources.mutants).map(|(number, _)| number).collect();
    let (viable, binaries) = build(&place, &sources, &all).unwrap();
    let key = |number: u32| sources.mutants[number as usize - 1].key.as_str();
    let lost: Vec<&str> = all.difference(&viable).map(|number| key(*number)).collect();
    let expected = "evaluate/mod::joined | one.to_owned() + \"x\" | one.to_owned() + \"x\" => … - …";
    assert_eq!(lost, [expected], "what does not compile");

    let recorded = tests::record(&place, &binaries, "all", Duration::from_secs(20), None, 2).unwrap();
    let unused: Vec<&str> =
        recorded.iter().filter(|test| test.left_out.is_some()).map(|test| test.name.as_str()).collect();
    assert_eq!(unused, ["one_that_fails"]);
    let hunt = Hunt::new(&place, &binaries, &recorded, Duration::MAX);
    let mut results = BTreeMap::new();
    for number in &viable {
        let result = hunt.one(*number, "kin").unwrap();
        results.insert(key(*number).to_owned(), (result.fate, result.by));
    }
    let of = |part: &str| -> Vec<&Fate> {
        results.iter().filter(|(key, _)| key.contains(part)).map(|(_, (fate, _))| fate).collect()
    };
    assert!(of("::is_old").len() >= 5 && of("::is_old").iter().all(|fate| **fate == Fate::Caught), "{results:#?}");
    assert_eq!(of("years > 10 => … >= …"), [&Fate::Survived]);
    assert_eq!(of("years > 10 => not >"), [&Fate::Caught]);
    assert_eq!(of("| 10 => 11"), [&Fate::Survived]);
    assert!(of("::lonely").len() >= 3 && of("::lonely").iter().all(|fate| **fate == Fate::Untouched), "{results:#?}");
    assert_eq!(of("list.push(()); => left out"), [&Fate::TooLong]);
    let table =
        lists::table(&sources, &viable, &viable.iter().copied().collect::<Vec<_>>(), &results, &BTreeSet::new());
    let row = table.lines().find(|line| line.starts_with("| `evaluate`")).unwrap();
    assert!(row.starts_with(&format!("| `evaluate` | {} | {} | {} |", all.len(), viable.len(), viable.len())), "{row}");

    assert!(fixed::run(&place, &sources, &BTreeSet::new(), 2, None).is_err(), "an empty sample shows nothing");
    // The fixed sample holds, and no more once a test has lost what it looked at.
    let drawn = lists::drawn(&sources, &viable, 1, usize::MAX, None);
    assert_eq!(drawn.len(), viable.len());
    fixed::draw(&place, &sources, &drawn, &results, usize::MAX).unwrap();
    let caught = results.values().filter(|(fate, _)| *fate == Fate::Caught).count();
    let sample = lists::fixed(&place.root.join("tests/mutants/sample.txt")).unwrap();
    assert_eq!(sample.len(), caught);
    assert_eq!(fixed::run(&place, &sources, &BTreeSet::new(), 2, None), Ok(true));
    put(&place.root, "tests/it/main.rs", &TESTS.replace(" && !is_old(1996)", ""));
    assert_eq!(fixed::run(&place, &sources, &BTreeSet::new(), 2, None), Ok(false));
    let left: BTreeSet<String> = sample.keys().filter(|key| key.contains("::is_old")).cloned().collect();
    assert_eq!(fixed::run(&place, &sources, &left, 2, None), Ok(true), "those that are listed do not count");
    fs::remove_dir_all(&folder).unwrap();
}
