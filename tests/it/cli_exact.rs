//! The commands that answer exactly, from outside: `compare`, the exact part of `check`, pages. Exit codes: design page,
//! section 9 (compare: 0 proven equal, 1 differ, 2 unusable).

use crate::process;
use rstest::rstest;
use std::fs;
use std::path::PathBuf;
use std::process::Output;

const DEMO: &str = "tests/cli/rules/demo.wherefore";
/// The same with one number changed: from model year 2001 none may be incomplete.
const STRICTER: &str = "tests/cli/compare/stricter.wherefore";

fn run(arguments: &[&str]) -> Output {
    process::command(arguments).output().unwrap()
}

fn exit(output: &Output) -> i32 {
    output.status.code().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[rstest]
#[case::equal(&["compare", DEMO, DEMO], 0)]
#[case::differ(&["compare", DEMO, STRICTER], 1)]
#[case::one_day(&["compare", DEMO, STRICTER, "--as-of", "2026-11-25"], 1)]
#[case::before_either(&["compare", DEMO, STRICTER, "--as-of", "1999-01-01"], 0)]
#[case::no_program(&["compare", "us-caa", DEMO], 2)]
#[case::no_file(&["compare", "none.wherefore", DEMO], 2)]
#[case::no_date(&["compare", "us-ca@soon", DEMO], 2)]
#[case::broken(&["compare", DEMO, "tests/cli/broken/broken.wherefore"], 2)]
fn compare_ends_as_documented(#[case] arguments: &[&str], #[case] code: i32) {
    let output = run(arguments);
    let (out, err) = (text(&output.stdout), text(&output.stderr));
    assert_eq!(exit(&output), code, "{out}{err}");
    assert_eq!(code == 2, out.is_empty(), "data only where both programs could be used: {out}");
    for line in out.lines() {
        assert!(line.chars().count() <= 80 || line.split_whitespace().count() == 1, "{line}");
    }
}

// The one change in the fixture: row 2 of the limit, so only vehicles of model year 2001 or later change: from pass to
// reject. Where nothing answers no monitor is incomplete, and the tailpipe test stays.
#[test]
fn compare_names_the_vehicles_that_change() {
    let output = run(&["compare", DEMO, STRICTER, "--as-of", "2026-11-25", "--format", "json"]);
    let found: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let changes = found["runs"][0]["changes"].as_array().unwrap();
    let pairs: Vec<(&str, &str)> =
        changes.iter().map(|it| (it["from"].as_str().unwrap(), it["to"].as_str().unwrap())).collect();
    assert_eq!(pairs, [("pass", "reject")]);
    assert_eq!(found["runs"][0]["by"], "outcome");
    assert!(changes[0]["count"].as_str().unwrap().bytes().all(|digit| digit.is_ascii_digit()));
    assert!(changes[0]["example"]["vehicle"]["model_year"].as_i64().unwrap() >= 2001);
}

#[test]
fn only_what_was_meant_may_change() {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("meant");
    fs::create_dir_all(&folder).unwrap();
    let file = |name: &str| folder.join(name).to_string_lossy().into_owned();
    let (meant, nothing) = (file("meant.json"), file("nothing.json"));
    fs::write(&meant, run(&["compare", DEMO, STRICTER, "--format", "json"]).stdout).unwrap();
    fs::write(&nothing, run(&["compare", DEMO, DEMO, "--format", "json"]).stdout).unwrap();
    assert_eq!(exit(&run(&["compare", DEMO, STRICTER, "--expect-only", &meant])), 0);
    let output = run(&["compare", DEMO, STRICTER, "--expect-only", &nothing]);
    assert_eq!(exit(&output), 1);
    assert!(text(&output.stderr).starts_with("not meant, "), "{}", text(&output.stderr));
    assert_eq!(exit(&run(&["compare", DEMO, STRICTER, "--expect-only", DEMO])), 2);
}

/// Pages load nothing from outside and run nothing.
#[rstest]
#[case::program(&["check", "--format", "html", DEMO])]
#[case::programs(&["programs", "--format", "html"])]
fn pages_are_self_contained(#[case] arguments: &[&str]) {
    let page = text(&run(arguments).stdout).to_lowercase();
    assert!(page.contains("<svg") && page.trim_end().ends_with("</html>"));
    for forbidden in ["<script", "src=", "href=", "@import", "<link", "<img", "onload", "onclick", "http://"] {
        assert!(!page.contains(forbidden), "{forbidden}");
    }
}

/// A topic on which nothing is said is told once, by the lint; the gap that the analysis counts is the same mistake.
#[test]
fn an_open_topic_is_told_once() {
    let said = text(&run(&["check", "tests/check/errors/topic-open.wherefore"]).stdout);
    assert_eq!(said.matches("nothing is said on identity").count(), 1, "{said}");
    assert_eq!(said.matches("on identity some covered vehicles").count(), 0, "{said}");
}
