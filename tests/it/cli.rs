//! The command-line program from outside: standard output, standard error and exit code of every command, with bad input
//! of every kind. Names, options and exit codes: design page, section 9; bad input: section 8. Goldens lie in
//! `tests/cli/golden`.

use crate::process::{self, ROOT, command};
use boon::{Compiler, Schemas};
use rstest::rstest;
use std::fs::{self, File};
use std::path::PathBuf;
use std::process::Output;

fn run(arguments: &[&str]) -> Output {
    command(arguments).output().unwrap()
}

fn run_with_input(arguments: &[&str], input: &[u8]) -> Output {
    process::run_with_input(command(arguments), input)
}

fn text(bytes: &[u8]) -> String {
    let mut text = String::from_utf8(bytes.to_vec()).unwrap().replace(env!("CARGO_PKG_VERSION"), "VERSION");
    // The digest of a record covers the version: it is not for a golden.
    const KEY: &str = "\"record\":\"sha256:";
    let places: Vec<usize> = text.match_indices(KEY).map(|(at, _)| at + KEY.len()).collect();
    for at in places.into_iter().rev() {
        text.replace_range(at..at + 64, "DIGEST");
    }
    text
}

fn exit(output: &Output) -> i32 {
    output.status.code().unwrap()
}

/// The whole of what a person gets.
fn shown(arguments: &[&str], output: &Output) -> String {
    let (out, err) = (text(&output.stdout), text(&output.stderr));
    format!("$ wherefore {}\nexit {}\n--- stdout\n{out}--- stderr\n{err}", arguments.join(" "), exit(output))
}

fn golden(name: &str, arguments: &[&str], output: &Output) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../cli/golden");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(name, shown(arguments, output)));
}

const RULES: &str = "tests/cli/rules";

/// Every command and format once, and what each refuses.
#[rstest]
#[case::judge_pass("judge-pass", &["judge", "--rules", RULES, "tests/cli/cars/pass.json"], 0)]
#[case::judge_reject("judge-reject", &["judge", "--rules", RULES, "tests/cli/cars/incomplete.json"], 1)]
#[case::judge_fail("judge-fail", &["judge", "--rules", RULES, "tests/cli/cars/lamp.json"], 1)]
#[case::judge_undecided("judge-undecided", &["judge", "--rules", RULES, "tests/cli/cars/unseen.json"], 3)]
#[case::judge_trace("judge-trace", &["judge", "--rules", RULES, "--trace", "tests/cli/cars/lamp.json"], 1)]
#[case::judge_json("judge-json", &["judge", "--rules", RULES, "--format", "json", "tests/cli/cars/lamp.json"], 1)]
#[case::judge_html("judge-html", &["judge", "--rules", RULES, "--format", "html", "tests/cli/cars/unseen.json"], 3)]
#[case::judge_several("judge-several", &["judge", "--rules", RULES, "tests/cli/cars/fleet.jsonl"], 1)]
#[case::judge_flagged("judge-flagged", &["judge", "--rules", RULES, "tests/cli/cars/flagged.json"], 1)]
#[case::judge_before("judge-not-in-force", &["judge", "--rules", RULES, "--as-of", "2001-12-31", "tests/cli/cars/pass.json"], 3)]
#[case::judge_reading("judge-reading", &["judge", "--rules", RULES, "--take", "no-code=code-needed", "tests/cli/cars/lamp.json"], 1)]
#[case::judge_open("judge-open-question", &["judge", "--rules", RULES, "--take", "no-code=none", "--as-of", "2014-12-31", "tests/cli/cars/lamp.json"], 3)]
#[case::judge_take_unknown("judge-take-unknown", &["judge", "--rules", RULES, "--take", "no-cod=none", "tests/cli/cars/lamp.json"], 2)]
#[case::judge_take_value("judge-take-value", &["judge", "--rules", RULES, "--take", "no-code=perhaps", "tests/cli/cars/lamp.json"], 2)]
#[case::judge_take_form("judge-take-form", &["judge", "--rules", RULES, "--take", "no-code", "tests/cli/cars/lamp.json"], 2)]
#[case::judge_no_date("judge-no-date", &["judge", "--rules", RULES, "tests/cli/cars/undated.json"], 2)]
#[case::judge_date_given("judge-date-given", &["judge", "--rules", RULES, "--as-of", "2026-01-02", "tests/cli/cars/undated.json"], 3)]
#[case::judge_bad_date("judge-bad-date", &["judge", "--rules", RULES, "--as-of", "2026-02-30", "--known-on", "soon", "tests/cli/cars/pass.json"], 2)]
#[case::judge_declared("judge-declared", &["judge", "--rules", RULES, "tests/cli/cars/declared.json"], 2)]
#[case::judge_contradiction("judge-contradiction", &["judge", "--rules", RULES, "tests/cli/cars/contradiction.json"], 2)]
#[case::judge_faulty("judge-faulty", &["judge", "--rules", RULES, "tests/cli/cars/faulty.json"], 2)]
#[case::judge_missing_program("judge-missing-program", &["judge", "--rules", RULES, "--program", "dema", "tests/cli/cars/pass.json"], 2)]
#[case::judge_missing_file("judge-missing-file", &["judge", "--rules", RULES, "tests/cli/cars/none.json"], 2)]
#[case::judge_folder("judge-folder", &["judge", "--rules", RULES, "tests/cli/cars"], 2)]
#[case::judge_missing_rules("judge-missing-rules", &["judge", "--rules", "tests/cli/none", "tests/cli/cars/pass.json"], 2)]
#[case::judge_no_rules("judge-no-rules", &["judge", "--rules", "tests/cli/cars", "tests/cli/cars/pass.json"], 2)]
#[case::judge_broken_program("judge-broken-program", &["judge", "--rules", "tests/cli/broken", "tests/cli/cars/pass.json"], 2)]
#[case::judge_html_hostile("judge-html-hostile", &["judge", "--rules", "tests/cli/hostile", "--format", "html", "tests/cli/cars/hostile.json"], 1)]
#[case::check_clean("check-clean", &["check", "tests/cli/rules"], 0)]
#[case::check_errors("check-errors", &["check", "tests/cli/broken"], 2)]
#[case::check_errors_json("check-errors-json", &["check", "--format", "json", "tests/cli/broken"], 2)]
#[case::check_failing("check-failing", &["check", "tests/cli/failing/failing.wherefore"], 1)]
#[case::check_missing("check-missing", &["check", "tests/cli/none.wherefore"], 2)]
#[case::fmt_check("fmt-check", &["fmt", "--check", "tests/cli/rules", "tests/cli/hostile"], 1)]
#[case::fmt_errors("fmt-errors", &["fmt", "--check", "tests/cli/broken"], 2)]
#[case::decode("decode", &["decode", "tests/cli/captures/answers.txt", "--model-year", "2018", "--fuel", "gasoline", "--lamp-bulb", "ok", "--lamp-running", "dark", "--connector", "intact", "--date", "2026-11-25", "--visit", "initial", "--area", "Larkspur", "--weight-lb", "5200", "--odometer-km", "90123", "--class", "light-duty"], 0)]
#[case::decode_words("decode-words", &["decode", "tests/cli/captures/answers.txt", "--fuel", "petrol", "--date", "25.11.2026"], 2)]
#[case::decode_no_messages("decode-no-messages", &["decode", "tests/cli/cars/pass.json"], 2)]
#[case::facts("facts", &["facts"], 0)]
#[case::help("help", &["--help"], 0)]
#[case::help_judge("help-judge", &["judge", "--help"], 0)]
#[case::no_command("no-command", &[], 2)]
#[case::unknown_command("unknown-command", &["juge"], 2)]
#[case::unknown_option("unknown-option", &["judge", "--as-off", "2026-01-01", "tests/cli/cars/pass.json"], 2)]
fn golden_of(#[case] name: &str, #[case] arguments: &[&str], #[case] code: i32) {
    let output = run(arguments);
    golden(name, arguments, &output);
    assert_eq!(exit(&output), code);
}

/// The name of a state, or one that is near to it, leads to its program; what is near to nothing is only told.
#[rstest]
#[case::slip("texass", "did you mean `us-tx`?")]
#[case::of_the_union("us-texas", "did you mean `us-tx`?")]
#[case::several("utahh", "did you mean `utah`?")]
#[case::no_program("us-fl", "none of Florida is here, which does not say that no test is asked there")]
#[case::no_program_by_name("florida", "none of Florida is here")]
#[case::nothing("atlantis", "`wherefore programs` lists them")]
fn programs_that_are_not_there(#[case] name: &str, #[case] told: &str) {
    let output = run(&["judge", "--program", name, "tests/cli/cars/pass.json"]);
    let error = String::from_utf8(output.stderr).unwrap();
    assert!(error.contains(&format!("there is no program `{name}`")) && error.contains(told), "{error}");
}

/// Data on standard output, everything else on standard error: nothing that could not be used leaves data behind.
#[rstest]
#[case::faulty(&["judge", "--rules", RULES, "tests/cli/cars/faulty.json"])]
#[case::undated(&["judge", "--rules", RULES, "tests/cli/cars/undated.json"])]
#[case::which(&["judge", "tests/cli/cars/pass.json"])]
#[case::capture(&["decode", "tests/cli/cars/pass.json"])]
fn refusals_leave_standard_output_empty(#[case] arguments: &[&str]) {
    let output = run(arguments);
    assert_eq!((exit(&output), text(&output.stdout)), (2, String::new()));
    assert!(text(&output.stderr).starts_with("error: "), "{}", text(&output.stderr));
}

#[test]
fn without_a_program_the_list_is_given() {
    let output = run(&["judge", "tests/cli/cars/pass.json"]);
    let message = text(&output.stderr);
    for id in ["us-model", "us-ca", "us-ny"] {
        assert!(message.split_whitespace().any(|word| word == id), "{message}");
    }
}

/// `all`: a table with one line a program, eighty columns, drafts and withdrawn programs left out.
#[test]
fn all_programs_make_a_table() {
    let output = run(&["judge", "--rules", RULES, "--program", "all", "tests/cli/cars/lamp.json"]);
    let table = text(&output.stdout);
    assert_eq!(text(&output.stderr), "");
    // A cell that is too long for its column goes on below: no word is cut.
    let listed: Vec<&str> =
        table.lines().skip(1).take_while(|line| !line.starts_with('*')).filter(|line| !line.starts_with(' ')).collect();
    assert!(!table.contains('…'), "{table}");
    let programs = run(&["programs", "--rules", RULES, "--format", "json"]);
    let rows: Vec<serde_json::Value> =
        text(&programs.stdout).lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let stood_by = |row: &&serde_json::Value| row["standing"] == "checked" || row["standing"] == "digest-checked";
    // A part is adopted by others and never judged on its own.
    let judged = |row: &&serde_json::Value| row["adopted_only"] == false;
    let checked: Vec<&str> =
        rows.iter().filter(stood_by).filter(judged).map(|row| row["id"].as_str().unwrap()).collect();
    let first: Vec<&str> = listed.iter().map(|line| line.split_whitespace().next().unwrap()).collect();
    assert_eq!(first, checked);
    assert!(table.lines().all(|line| line.chars().count() <= 80), "{table}");
    let demo = listed.iter().find(|line| line.starts_with("demo ")).unwrap();
    assert!(demo.contains(" not yet ") && demo.contains(" repair, 4 monitors"), "{demo}");
}

/// Rules beside the built-in programs stand before them, also under the same id.
#[test]
fn rules_stand_before_the_built_in_programs() {
    let folder = scratch("before");
    let own = fs::read_to_string(format!("{ROOT}/tests/cli/rules/demo.wherefore")).unwrap();
    fs::write(folder.join("mine.wherefore"), own.replacen("program demo", "program us-ca", 1)).unwrap();
    let rules = folder.to_string_lossy().into_owned();
    let output = run(&["judge", "--full", "--rules", &rules, "--program", "us-ca", "tests/cli/cars/pass.json"]);
    assert!(text(&output.stdout).contains("Larkspur County inspection (invented)"), "{}", text(&output.stdout));
}

fn schema_of(option: &str) -> serde_json::Value {
    serde_json::from_slice(&run(&["facts", "--format", option]).stdout).unwrap()
}

fn meets(schema: &serde_json::Value, document: &serde_json::Value) -> Result<(), String> {
    let (mut schemas, mut compiler) = (Schemas::new(), Compiler::new());
    compiler.add_resource("schema.json", schema.clone()).unwrap();
    let place = compiler.compile("schema.json", &mut schemas).unwrap();
    schemas.validate(document, place).map_err(|error| error.to_string())
}

/// Rulings of every built-in program and the demonstration meet the schema, hold the keys of section 9 in its order, and
/// name no key that the schema does not.
#[rstest]
#[case::pass("pass")]
#[case::incomplete("incomplete")]
#[case::unseen("unseen")]
#[case::lamp("lamp")]
fn rulings_meet_their_schema(#[case] car: &str) {
    let (schema, snapshot_schema) = (schema_of("ruling-schema"), schema_of("schema"));
    let car = format!("tests/cli/cars/{car}.json");
    let output = run(&["judge", "--rules", RULES, "--program", "all", "--format", "json", &car]);
    // What golden output hides of a digest is given back its form.
    let lines = text(&output.stdout).replace("sha256:DIGEST", &format!("sha256:{}", "0".repeat(64)));
    assert!(lines.lines().count() > 1);
    for line in lines.lines() {
        let ruling: serde_json::Value = serde_json::from_str(line).unwrap();
        meets(&schema, &ruling).unwrap_or_else(|error| panic!("{error}\n{line}"));
        for key in ruling.as_object().unwrap().keys() {
            assert!(schema["properties"].get(key).is_some(), "{key}");
        }
        // Keys of objects come in the order of the text; each of the fixed ones stands after the one before it.
        let mut rest = line;
        for key in wherefore::internals::record::schema::FIXED_KEYS {
            let key = format!("\"{key}\":");
            rest = rest.split_once(&key).unwrap_or_else(|| panic!("{key} is missing or out of order: {line}")).1;
        }
        let snapshot = &ruling["snapshot"];
        meets(&snapshot_schema, snapshot).unwrap_or_else(|error| panic!("{error}\n{snapshot}"));
    }
}

/// The committed schema of the ruling; `WHEREFORE_BLESS=1` writes it anew.
#[test]
fn the_committed_schema_of_the_ruling_is_up_to_date() {
    let made = text(&run(&["facts", "--format", "ruling-schema"]).stdout);
    let path = format!("{ROOT}/grammar/schema/wherefore-ruling-1.json");
    if std::env::var_os("WHEREFORE_BLESS").is_some() {
        fs::write(&path, &made).unwrap();
    }
    assert!(fs::read_to_string(&path).unwrap_or_default() == made, "run this test with WHEREFORE_BLESS=1");
}

/// The committed schema of what `next` answers; `WHEREFORE_BLESS=1` writes it anew. What it answers meets it.
#[test]
fn the_committed_schema_of_plans_is_up_to_date() {
    let made = text(&run(&["facts", "--format", "plans-schema"]).stdout);
    let path = format!("{ROOT}/grammar/schema/wherefore-plans-2.json");
    if std::env::var_os("WHEREFORE_BLESS").is_some() {
        fs::write(&path, &made).unwrap();
    }
    assert!(fs::read_to_string(&path).unwrap_or_default() == made, "run this test with WHEREFORE_BLESS=1");
    let schema: serde_json::Value = serde_json::from_str(&made).unwrap();
    for (program, car) in [("us-il", "pass"), ("us-il", "lamp"), ("us-ca", "incomplete"), ("us-co", "unseen")] {
        let car = format!("tests/cli/cars/{car}.json");
        let answer = text(&run(&["next", "--program", program, "--format", "json", &car]).stdout);
        let answer: serde_json::Value = serde_json::from_str(&answer).unwrap();
        meets(&schema, &answer).unwrap_or_else(|error| panic!("{error}\n{answer}"));
    }
    let car = "tests/cli/cars/incomplete.json";
    let by = ["next", "--program", "us-ca", "--format", "json", "--by", "2027-03-01", car];
    let answer: serde_json::Value = serde_json::from_str(&text(&run(&by).stdout)).unwrap();
    assert_eq!(answer["schedule"]["visit"], "2027-03-01");
    meets(&schema, &answer).unwrap_or_else(|error| panic!("{error}\n{answer}"));
    let mut wrong = answer;
    wrong["schedule"]["begin"] = "soon".into();
    assert!(meets(&schema, &wrong).is_err(), "the schedule is held to the schema");
}

/// Several ids in one word are taken apart by the person who wrote them.
#[test]
fn several_programs_in_one_word_are_told_how_to_be_given() {
    let output = run(&["judge", "--program", "us-ca,us-ny", "tests/cli/cars/pass.json"]);
    assert_eq!(exit(&output), 2);
    assert!(text(&output.stderr).contains("--program ID --program ID"), "{}", text(&output.stderr));
}

/// A reader that has gone away is no fault.
#[test]
fn a_closed_pipe_is_quiet() {
    let mut child = command(&["facts", "--format", "json"]).spawn().unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!((exit(&output), text(&output.stderr)), (0, String::new()));
}

/// The page loads nothing from outside and runs nothing.
#[test]
fn the_page_is_self_contained() {
    let output = run(&["judge", "--rules", RULES, "--format", "html", "tests/cli/cars/lamp.json"]);
    let page = text(&output.stdout).to_lowercase();
    for forbidden in ["<script", "src=", "href=", "url(", "@import", "<link", "<img", "onload", "onclick"] {
        assert!(!page.contains(forbidden), "{forbidden}");
    }
    assert!(page.contains("fails."));
}

/// Text keeps to eighty columns, whatever the program.
#[test]
fn texts_keep_to_eighty_columns() {
    for car in ["pass", "incomplete", "unseen", "lamp"] {
        let car = format!("tests/cli/cars/{car}.json");
        let output =
            run(&["judge", "--trace", "--program", "us-ca", "--program", "us-ny", "--program", "us-model", &car]);
        for line in text(&output.stdout).lines() {
            let words = line.split_whitespace().count();
            assert!(line.chars().count() <= 80 || words == 1, "{line}");
        }
    }
}

fn scratch(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

const CAR: &str =
    "{\"format\": \"wherefore-snapshot/1\", \"visit\": {\"date\": \"2026-11-25\"}, \"connector\": \"missing\"}\n";

/// Bad input through standard input: what is said, and that it ends with 2.
#[rstest]
#[case::empty(b"", "is empty")]
#[case::blank(b"\r\n \r\n", "is empty")]
#[case::binary(b"\x7fELF\x02\x01\x01\x00\xfe\xff", "not UTF-8")]
#[case::utf16(b"\xff\xfe{\0}\0", "UTF-16")]
#[case::cut_off(b"{\"format\": \"wherefore-snap", "not JSON at column 26")]
#[case::messages(b"7E8 41 01 00 07 E5 00\n", "not JSON")]
#[case::list(b"[]", "is a list")]
fn bad_snapshots_are_refused(#[case] input: &[u8], #[case] said: &str) {
    let output = run_with_input(&["judge", "--rules", RULES, "-"], input);
    assert_eq!((exit(&output), text(&output.stdout)), (2, String::new()));
    let message = text(&output.stderr);
    assert!(message.starts_with("error: standard input: ") && message.contains(said), "{message}");
}

/// A byte-order mark and lines that end in carriage return and line feed say nothing, and change nothing.
#[rstest]
#[case::mark(format!("\u{FEFF}{CAR}"))]
#[case::lines(CAR.replace(", ", ",\r\n"))]
#[case::json_lines(format!("{}\r\n{}", CAR.trim_end(), CAR))]
fn harmless_forms_are_read(#[case] input: String) {
    let output = run_with_input(&["judge", "--rules", RULES, "--format", "json", "-"], input.as_bytes());
    assert_eq!((exit(&output), text(&output.stderr)), (3, String::new()));
    assert!(text(&output.stdout).contains("\"clause\":\"connector\""));
}

#[rstest]
#[case::judge(&["judge", "--rules", RULES])]
#[case::check(&["check"])]
#[case::fmt(&["fmt", "--check"])]
fn a_hundred_megabytes_are_refused_by_size(#[case] arguments: &[&str]) {
    let folder = scratch(&format!("large-{}", arguments[0]));
    let path = folder.join("large.wherefore");
    // The file has holes: nothing of it lies on the disk.
    File::create(&path).unwrap().set_len(100 << 20).unwrap();
    let path = path.to_string_lossy().into_owned();
    let output = run(&[arguments, &[path.as_str()]].concat());
    assert_eq!(exit(&output), 2);
    assert!(text(&output.stderr).contains("larger than the"), "{}", text(&output.stderr));
}

#[rstest]
#[case::empty(b"")]
#[case::binary(b"\x7fELF\x02\x01\x01\x00\xfe\xff")]
#[case::utf16(b"\xff\xfep\0r\0")]
#[case::zero(b"program a\0")]
#[case::deep(b"clause a on lamp\n  fail where (((((((((((((((((((((((((((((((((")]
#[case::cut_off(b"program cut \"off")]
fn bad_program_files_are_refused(#[case] bytes: &[u8]) {
    let folder =
        scratch(&format!("bad-{:x}", bytes.iter().fold(7u32, |sum, byte| sum.wrapping_mul(31) + u32::from(*byte))));
    let path = folder.join("bad.wherefore");
    fs::write(&path, bytes).unwrap();
    let path = path.to_string_lossy().into_owned();
    for arguments in [vec!["check", &path], vec!["judge", "--rules", &path, "tests/cli/cars/pass.json"]] {
        let output = run(&arguments);
        assert_eq!(exit(&output), 2, "{}", shown(&arguments, &output));
        let said = text(&output.stdout) + &text(&output.stderr);
        assert!(said.contains("bad.wherefore") || said.contains("error: "), "{said}");
    }
}

/// Files of two line ends and with a byte-order mark mean the same.
#[test]
fn program_files_may_end_lines_in_carriage_return_and_line_feed() {
    let folder = scratch("line-ends");
    let own = fs::read_to_string(format!("{ROOT}/tests/cli/rules/demo.wherefore")).unwrap();
    fs::write(folder.join("demo.wherefore"), format!("\u{FEFF}{}", own.replace('\n', "\r\n"))).unwrap();
    let rules = folder.to_string_lossy().into_owned();
    let (theirs, ours) = (
        run(&["judge", "--rules", &rules, "tests/cli/cars/lamp.json"]),
        run(&["judge", "--rules", RULES, "tests/cli/cars/lamp.json"]),
    );
    assert_eq!(text(&theirs.stdout), text(&ours.stdout));
    assert_eq!(exit(&theirs), exit(&ours));
}

/// Messages through a pipe to a ruling: the main job of the issue.
#[test]
fn decode_and_judge_work_through_a_pipe() {
    let answers = fs::read(format!("{ROOT}/tests/cli/captures/answers.txt")).unwrap();
    let decoded = run_with_input(
        &["decode", "-", "--model-year", "2018", "--fuel", "gasoline", "--date", "2026-11-25"],
        &answers,
    );
    assert_eq!(exit(&decoded), 0, "{}", text(&decoded.stderr));
    let judged = run_with_input(&["judge", "--rules", RULES, "-"], &decoded.stdout);
    assert!(text(&judged.stdout).lines().nth(1).unwrap().contains("(demo)"), "{}", text(&judged.stdout));
    assert_eq!(exit(&judged), 3);
}

#[test]
fn fmt_writes_in_place_once_and_then_finds_nothing_to_do() {
    let folder = scratch("fmt");
    let path = folder.join("demo.wherefore");
    let own = fs::read_to_string(format!("{ROOT}/tests/cli/rules/demo.wherefore")).unwrap();
    fs::write(&path, own.replace("covers where fuel", "covers   where\n   fuel")).unwrap();
    let name = path.to_string_lossy().into_owned();
    assert_eq!(exit(&run(&["fmt", &name])), 0);
    assert_eq!(exit(&run(&["fmt", "--check", &name])), 0);
    let written = fs::read_to_string(&path).unwrap();
    let piped = run_with_input(&["fmt", "-"], own.as_bytes());
    assert_eq!(text(&piped.stdout), written.replace(env!("CARGO_PKG_VERSION"), "VERSION"));
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1, "nothing is left beside the file");
}

#[test]
fn facts_as_json_hold_every_fact() {
    let facts: serde_json::Value = serde_json::from_slice(&run(&["facts", "--format", "json"]).stdout).unwrap();
    let rows = facts["facts"].as_array().unwrap();
    assert_eq!(rows.len(), wherefore::internals::model::table::all_facts().count());
    assert!(rows.iter().all(|row| row["about"].as_str().is_some_and(|about| !about.is_empty())));
    assert!(rows.iter().all(|row| row["question"].as_str().is_some_and(|question| question.ends_with('?'))));
}
