//! A program as a document to sign, as a page and as Markdown, and two versions side by side. What they must hold is taken
//! from the program itself, through other functions than those that draw it.

use crate::check::read;
use rstest::rstest;
use std::path::PathBuf;
use std::process::Command;
use wherefore::internals::analysis;
use wherefore::internals::catalog::{BuiltIn, Catalog};
use wherefore::internals::model::Date;
use wherefore::internals::program::dump::dump;
use wherefore::internals::program::{Item, Program, Selection, epochs, select};
use wherefore::internals::report::changed;

const HEATH: &str = include_str!("../../examples/exact/heath.wherefore");

fn told(arguments: &[&str]) -> (i32, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wherefore"));
    let output = command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).env_clear().output().unwrap();
    (output.status.code().unwrap(), String::from_utf8([output.stdout, output.stderr].concat()).unwrap())
}

fn program(id: &str) -> std::sync::Arc<Program> {
    Catalog::new(vec![&BuiltIn]).find(id).unwrap().program.clone().unwrap()
}

/// Words without the marks of a page or of Markdown.
fn plain(text: &str) -> String {
    let marks = [
        ("&quot;", "\""),
        ("&#x27;", "'"),
        ("&#x2f;", "/"),
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&amp;", "&"),
        ("\\|", "|"),
        ("*", ""),
    ];
    let text = marks.iter().fold(text.to_owned(), |text, (mark, letter)| text.replace(mark, letter));
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every clause in force, source, question with its readings, case, topic without a clause and announced change stands in
/// both forms of the document.
#[rstest]
#[case::illinois("us-il", "policies/us/us-il.wherefore")]
#[case::washington("us-wa", "policies/us/us-wa.wherefore")]
#[case::germany("de", "policies/de/de.wherefore")]
fn the_document_holds_everything(#[case] id: &str, #[case] file: &str) {
    let program = program(id);
    let flat = wherefore::internals::report::overview::shown_flat(&program).unwrap();
    for format in ["html", "markdown"] {
        let (exit, text) = told(&["check", file, "--format", format]);
        assert_eq!(exit, 0, "{text}");
        let text = plain(&text);
        let holds = |words: &str| assert!(text.contains(&plain(words)), "{id} {format}: {words}");
        holds(&program.title);
        flat.lines.iter().for_each(|line| holds(&line.clause));
        program.sources.iter().for_each(|source| holds(&source.title));
        program.cases.iter().for_each(|case| holds(&case.title));
        flat.silences.iter().for_each(|silence| holds(silence.topic.word()));
        for question in &program.questions {
            holds(&question.text);
            question.readings.iter().for_each(|(reading, means, _)| {
                holds(reading);
                holds(means);
            });
            changed::readings(&program, question, flat.as_of).iter().for_each(|says| holds(says));
        }
        for block in &program.blocks {
            if let Item::Change { text, .. } = &block.item {
                holds(text);
            }
        }
        for version in changed::versions(&program) {
            holds(&format!("From {}", version.from));
            version.says.iter().for_each(|says| holds(says));
        }
        holds(&format!("Signed{}", if format == "html" { " for" } else { ":" }));
    }
}

/// What is told of a border between versions is what `compare` calculates of the days on both sides: the outcomes that
/// change, and nothing where none does.
#[test]
fn versions_are_told_as_compare_finds_them() {
    let mut changes = 0;
    for id in ["us-wa", "us-il", "us-md"] {
        let program = program(id);
        let told = changed::versions(&program);
        let all = epochs(&program);
        assert!(told.len() < all.len().max(1), "{id}");
        for version in &told {
            let before =
                all.iter().find(|epoch| epoch.through.tomorrow().is_ok_and(|day| day == version.from)).unwrap();
            let visit = Selection::on(version.from);
            let old = select(&program, &Selection { as_of: before.through, ..visit.clone() }).unwrap();
            let comparison = analysis::compare(&old, &select(&program, &visit).unwrap()).unwrap();
            // Where only the year turns, and with it ages, no law changes, and nothing is told.
            let (law_before, law_after) = (dump(&old), dump(&select(&program, &visit).unwrap()));
            assert_ne!(law_before, law_after, "{id} {}", version.from);
            if comparison.is_equal() {
                assert_eq!(version.says, ["The text changes, and no outcome does."], "{id} {}", version.from);
                continue;
            }
            assert_eq!(version.says.len(), comparison.changes.len(), "{id} {}", version.from);
            for (says, change) in version.says.iter().zip(&comparison.changes) {
                assert!(says.contains(&format!("*{}* becomes *{}*", change.from, change.to)), "{id}: {says}");
                changes += 1;
            }
        }
    }
    assert!(changes > 3, "{changes}");
}

/// A file with a window of ages has another flat program each 1 January, and one law: the document names no such day, but
/// the one on which the law changes, even where that is a 1 January.
#[test]
fn a_turn_of_the_year_is_no_change_of_the_law() {
    let aged = format!(
        "{HEATH}\nage is test year less model year\n  per text\nexempts where age at most 3 \"new\"\n  per text\n"
    );
    let told = |text: &str| {
        let (_, checked) = read("heath", text, &());
        let program = checked.program.unwrap();
        let days: Vec<String> = changed::versions(&program).iter().map(|it| it.from.to_string()).collect();
        (days, epochs(&program).len())
    };
    let (plain, before) = told(&HEATH.replace("language 1", "language 2"));
    let (days, after) = told(&aged.replace("language 1", "language 2"));
    assert!(after > before + 5, "{before} {after}");
    assert_eq!(days, plain);
    let changed = aged.replace("language 1", "language 2")
        + "clause late on other\n  fail where hybrid\n  from 2030-01-01\n  \"No.\"\n  per text\n";
    let (days, _) = told(&changed);
    assert!(days.contains(&"2030-01-01".to_owned()) && days.len() == plain.len() + 1, "{days:?}");
}

fn written(name: &str, text: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("wherefore-beside-{}-{name}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("heath.wherefore");
    std::fs::write(&path, text).unwrap();
    path
}

/// A file beside itself is the same throughout; where one clause and one limit differ, these and nothing else do.
#[test]
fn two_versions_stand_side_by_side() {
    let (first, same) = (written("first", HEATH), written("same", HEATH));
    let new = HEATH.replace("at most 1", "at most 2");
    assert_ne!(new, HEATH, "the file has a limit of one");
    let second = written("second", &new);
    let run = |other: &PathBuf, format: &str| {
        told(&["compare", first.to_str().unwrap(), other.to_str().unwrap(), "--side-by-side", "--format", format])
    };
    let (exit, text) = run(&same, "text");
    assert_eq!(exit, 0, "{text}");
    assert!(text.contains("Proven equal") && !text.contains("(changed)") && !text.contains(" alone)"), "{text}");
    let (exit, text) = run(&second, "text");
    assert_eq!(exit, 1, "{text}");
    let marked: Vec<&str> =
        text.lines().filter(|line| line.ends_with("(changed)") || line.ends_with(" alone)")).collect();
    assert_eq!(marked, ["Limits on incomplete monitors (changed)"], "{text}");
    assert!(text.contains("becomes *pass*") && text.lines().all(|line| line.chars().count() <= 80), "{text}");
    let (_, page) = run(&second, "html");
    assert!(page.contains("at most 1") && page.contains("at most 2") && page.contains("becomes pass"), "{page}");
}

/// Two days of one program.
#[test]
fn two_days_stand_side_by_side() {
    let program = program("us-wa");
    let day: Date = changed::versions(&program).last().unwrap().from;
    let (old, new) = (format!("us-wa@{}", day.yesterday().unwrap()), format!("us-wa@{day}"));
    let (exit, text) = told(&["compare", &old, &new, "--side-by-side"]);
    assert!((0..=1).contains(&exit), "{text}");
    assert!(text.contains(&format!("law of {day}")) || text.contains(&day.to_string()), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
}
