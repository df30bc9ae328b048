//! The tool on small texts, and on the crate itself.

use crate::copy;
use crate::find::find;
use crate::mutant::Written;
use std::path::Path;

const SMALL: &str = "
/// A comment, which stays.
pub fn most(list: &[u32], least: u32) -> bool {
    if list.is_empty() || least == 3 {
        return false;
    }
    match least {
        0 => note(least),
        _ => note(1),
    };
    list.iter().any(|one| *one < least)
}

const fn fixed() -> u32 { 7 }

#[cfg(test)]
fn of_tests() -> bool { true }
";

fn keys(text: &str) -> Vec<String> {
    find("small", "src/small.rs", text, 1).unwrap().mutants.into_iter().map(|mutant| mutant.key).collect()
}

#[test]
fn every_kind_of_place_is_found_and_no_other() {
    let found = keys(SMALL);
    let changes: Vec<&str> = found.iter().map(|key| key.rsplit_once(" | ").unwrap().1).collect();
    let any = "list.iter().any(|one| *one < least) => all";
    let expected = [
        "most => return true",
        "most => return false",
        "list.is_empty() || least == 3 => false",
        "list.is_empty() || least == 3 => true",
        "list.is_empty() || least == 3 => … && …",
        "list.is_empty() => turned",
        "least == 3 => not ==",
        "3 => 4",
        "false => turned",
        "0 => arm left out",
        "1 => 2",
        any,
        "*one < least => … <= …",
        "*one < least => not <",
    ];
    assert_eq!(changes, expected);
    assert!(found.iter().all(|key| key.starts_with("small::most | ")), "{found:?}");
}

#[test]
fn keys_stay_where_lines_are_added() {
    assert_eq!(keys(SMALL), keys(&SMALL.replace("/// A comment", "/// Another line.\n/// A comment")));
}

#[test]
fn a_switch_is_written_for_each_that_is_alive() {
    let found = find("small", "src/small.rs", SMALL, 1).unwrap();
    let none = Written::new(SMALL, &found.edits, &|_| false);
    assert_eq!(none.text, SMALL);
    for number in 1..=14 {
        let one = Written::new(SMALL, &found.edits, &|other| other == number);
        assert_eq!(one.text.matches(&format!("crate::mutant::on({number})")).count(), 1, "{number}\n{}", one.text);
        let at = one.text.find("crate::mutant::on").unwrap();
        assert_eq!(one.blamed(at, at + 5), [number]);
        assert_eq!(one.of_function(at, at + 5), [number]);
    }
    let comparing = Written::new(SMALL, &found.edits, &|number| number >= 13);
    let written = "list.iter().any(|one| (((if crate::mutant::on(13) { (*one) <= (least) } else { *one < least })) != crate::mutant::on(14)))";
    assert!(comparing.text.contains(written), "{}", comparing.text);
}

#[test]
fn the_crate_with_all_its_switches_can_be_read() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let sources = copy::sources(&root).unwrap();
    assert!(sources.mutants.len() > 10_000, "{}", sources.mutants.len());
    let keys: std::collections::BTreeSet<&str> = sources.mutants.iter().map(|mutant| mutant.key.as_str()).collect();
    assert_eq!(keys.len(), sources.mutants.len(), "keys are told apart");
    for source in &sources.files {
        let written = sources.written(&source.path, &|_| true).unwrap();
        if let Err(error) = syn::parse_file(&written.text) {
            panic!(
                "{}: {error}\n{}",
                source.path,
                written.text.lines().nth(error.span().start().line - 1).unwrap_or("")
            );
        }
    }
}
