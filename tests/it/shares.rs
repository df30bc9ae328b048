//! What the worked cases of a program rest on: shares undecided because something was not read, and shares by basis. Small
//! programs whose shares are worked out by hand. What must be told: design, section 7; issue 3, point 6.

use rstest::rstest;
use serde_json::{Value, json};
use wherefore::internals::report::warning::percent;

/// Two sources, one firm and one weak; a clause on each; a clause on a limit.
const HEAD: &str = r#"
program demo "Invented"
  authority "Larkspur Rural Mail"
  language 1
  standing checked
source r "Rule of the motor pool" law, read 2026-11-25, at "https://example.org/rule"
source m "recollection" memory
in force from 2020-01-01
  per r "(1)"
outcomes pass, reject, fail
covers where every vehicle
  per r "(2)"
counts supported monitors among catalyst, evaporative
  per r "(3)"
clause lamp on lamp
  fail where lamp commanded on
  "The lamp is commanded on."
  per r "(4)"
clause connector on connector
  fail where connector is missing
  "The connector is missing."
  per m
clause readiness on readiness
  reject where over the limit
  "Too many monitors are incomplete."
  per r "(5)"
ordinary sound; connector is intact; lamp not commanded on; complete: catalyst, evaporative
"#;
const UNREAD: &str = "limit\n  - every vehicle: not read\n  per r \"(6)\"\n";
const ONE: &str = "limit\n  - every vehicle: at most 1\n  per r \"(6)\"\n";
const ONE_FROM_MEMORY: &str = "limit\n  - every vehicle: at most 1\n  per m\n";
const UNREAD_TOPIC: &str = "unread on since-clearing\n  per r \"(7)\"\n";

/// A case: its facts, and what it is expected to come to.
type Case = (&'static str, &'static str);
const SOUND: Case = ("otherwise ordinary", "pass");
const LIT: Case = ("lamp commanded on; otherwise ordinary", "fail");
const MISSING: Case = ("connector is missing; otherwise ordinary", "fail");
const ONE_INCOMPLETE: Case = ("incomplete: catalyst; otherwise ordinary", "pass or reject");
const OTHER_INCOMPLETE: Case = ("incomplete: evaporative; otherwise ordinary", "pass or reject");
const ALLOWED: Case = ("incomplete: catalyst; otherwise ordinary", "pass");
const LAMP_NOT_KNOWN: Case = ("connector is intact; complete: catalyst, evaporative", "pass or fail");

fn told(limit: &str, more: &str, cases: &[Case], name: &str) -> Value {
    let mut text = format!("{HEAD}{limit}{more}");
    for (place, (facts, expected)) in cases.iter().enumerate() {
        text.push_str(&format!(
            "case \"{place}\"\n  on 2026-11-25\n  facts {facts}\n  expect {expected}\n  follows from r \"(8)\"\n"
        ));
    }
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("shares-{name}"));
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("demo.wherefore");
    std::fs::write(&file, text).unwrap();
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_wherefore"));
    let output = command.args(["check", "--format", "json"]).arg(&file).env_clear().output().unwrap();
    let form: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!((&form["summary"]["errors"], &form["summary"]["failed"]), (&json!(0), &json!(0)), "{form:#}");
    form
}

const NONE: &str = "no clause stands against it";
const LAW: &str = "law, read";
const MEMORY: &str = "memory, from memory";

// One case each: nothing against it; failed by law; failed from memory; one incomplete monitor, which is within a limit
// of 1 or more and over a limit of 0, and the number was not read. One of four is undecided: no more than a quarter.
#[rstest]
#[case::a_quarter_unread("quarter", UNREAD, "", &[SOUND, LIT, MISSING, ONE_INCOMPLETE],
    json!({"cases": 4, "undecided": 1, "undecided_unread": 1, "by_basis": {NONE: 1, LAW: 1, MEMORY: 1}, "weak": 1, "so_far_as_read": 0}),
    None)]
// Two of five are more than a quarter.
#[case::two_fifths_unread("fifths", UNREAD, "", &[SOUND, LIT, MISSING, ONE_INCOMPLETE, OTHER_INCOMPLETE],
    json!({"cases": 5, "undecided": 2, "undecided_unread": 2, "by_basis": {NONE: 1, LAW: 1, MEMORY: 1}, "weak": 1, "so_far_as_read": 0}),
    Some("2 of 5 worked cases are undecided because a text was not seen"))]
// Undecided because the lamp is not known: nothing unread has to do with it.
#[case::undecided_by_a_fact("fact", ONE, "", &[SOUND, LAMP_NOT_KNOWN],
    json!({"cases": 2, "undecided": 1, "undecided_unread": 0, "by_basis": {NONE: 1}, "weak": 0, "so_far_as_read": 0}),
    None)]
// A pass that one incomplete monitor leaves rests on the limit's row; read, it is firm and no clause stands against it,
// from memory it is weak.
#[case::a_pass_by_a_firm_limit("firm", ONE, "", &[ALLOWED, LIT],
    json!({"cases": 2, "undecided": 0, "undecided_unread": 0, "by_basis": {NONE: 1, LAW: 1}, "weak": 0, "so_far_as_read": 0}),
    None)]
#[case::a_pass_by_a_weak_limit("weak", ONE_FROM_MEMORY, "", &[ALLOWED, LIT],
    json!({"cases": 2, "undecided": 0, "undecided_unread": 0, "by_basis": {MEMORY: 1, LAW: 1}, "weak": 1, "so_far_as_read": 0}),
    None)]
// The text on since-clearing was not seen, and no count makes it moot: it could turn the pass, and not the two fails, which
// are the gravest outcome.
#[case::a_pass_so_far_as_read("so-far", ONE, UNREAD_TOPIC, &[SOUND, LIT, MISSING],
    json!({"cases": 3, "undecided": 0, "undecided_unread": 0, "by_basis": {NONE: 1, LAW: 1, MEMORY: 1}, "weak": 1, "so_far_as_read": 1}),
    None)]
fn shares_come_out_as_worked_out(
    #[case] name: &str,
    #[case] limit: &str,
    #[case] more: &str,
    #[case] cases: &[Case],
    #[case] shares: Value,
    #[case] finding: Option<&str>,
) {
    let form = told(limit, more, cases, name);
    assert_eq!(form["shares"]["demo"], shares, "{form:#}");
    let messages = form["messages"].as_array().unwrap();
    let found = messages.iter().find(|message| message["code"] == "check/cases-unread");
    assert_eq!(found.map(|message| message["message"].as_str().unwrap()), finding);
}

// Millionths as percent, rounded down to tenths: 1 of 8 is 125,000 millionths; 2 of 3 is 666,666.
#[rstest]
#[case::all(1_000_000, "100 percent")]
#[case::almost_all(999_999, "99.9 percent")]
#[case::two_of_three(666_666, "66.6 percent")]
#[case::one_of_eight(125_000, "12.5 percent")]
#[case::one_of_a_thousand(1_000, "0.1 percent")]
#[case::less(999, "less than 0.1 percent")]
fn a_share_in_percent_is_rounded_down(#[case] millionths: u32, #[case] words: &str) {
    assert_eq!(percent(millionths), words);
}

/// What should be read again comes by how many vehicles it decides: one of two words of the lamp command each for two
/// sources, of which one is cited by two clauses; the third decides nobody, and recollection has no text to read.
#[test]
fn what_decides_most_is_read_again_first() {
    let text = r#"
program again "Invented"
  authority "Larkspur Rural Mail"
  language 2
  standing digest-checked
source rare "Order on connectors" law, read 2026-11-25
source often "Rule of the motor pool" law, read 2026-11-25
source nobody "Preface" law, read 2026-11-25
source m "recollection" memory
in force from 2020-01-01
  per nobody "(1)"
outcomes pass, reject, fail
covers where every vehicle
  per nobody "(2)"
clause lamp on lamp
  fail where lamp commanded on
  "The lamp is commanded on."
  per rare "(4)"
clause dark on lamp
  reject where lamp not commanded on
  "The lamp is not commanded on."
  per often "(4)"
clause dark-too on other
  reject where lamp not commanded on and vin-known is yes
  "The lamp is not commanded on, and the VIN is known."
  per often "(5)"
fact vin-known: yes or no
  asks "Is the VIN known?"
  observed by papers
"#;
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("read-again");
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("again.wherefore"), text).unwrap();
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_wherefore"));
    let read = command.args(["programs", "--read-before", "2026-12-01", "--format", "json", "--rules"]).arg(&folder);
    let output = read.env_clear().output().unwrap();
    let lines = String::from_utf8(output.stdout).unwrap();
    let all: Vec<Value> = lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert!(all.is_sorted_by_key(|it| std::cmp::Reverse(it["decides_millionths"].as_u64())), "{lines}");
    let own: Vec<(&str, u64)> = all
        .iter()
        .filter(|it| it["program"] == "again")
        .map(|it| (it["source"].as_str().unwrap(), it["decides_millionths"].as_u64().unwrap()))
        .collect();
    assert_eq!(own, [("often", 500_000), ("rare", 500_000), ("nobody", 0)], "{lines}");
}
