//! Each finding of the exact analysis on a small program with one planted mistake: code, subject, the date from which it
//! holds, how many vehicles, an example in plain words. Which findings there must be: issue 3, point 6, and encodings,
//! section 5. Counts are worked out by hand: a connector has five words, a model year 201 values (1900 through 2100),
//! warm-ups 256 and *not on this vehicle*, a lamp two.

use rstest::rstest;
use wherefore::diagram::analysis::{Finding, analyse};
use wherefore::program::{Flat, Selection, select};
use wherefore::report::finding::example_words;

const HEAD: &str = r#"
program demo "Invented"
  authority "none"
  language 1
  standing checked
source r "Invented rule" law, read 2026-11-25, at "https://example.org/rule"
in force from 2020-01-01
  per r "(1)"
outcomes pass, tailpipe (other-test), reject, fail
"#;
const EVERYONE: &str = "covers where every vehicle\n  per r \"(2)\"\n";
const FROM_1996: &str = "covers where model year 1996 or later\n  per r \"(2)\"\n";
const COUNTS: &str = "counts supported monitors that are not continuous\n  per r \"(5)\"\n";
const QUESTION: &str = r#"question q "Which?"
  - reading one "the one"
    per r "(8)"
  - reading two "the other"
    per r "(8)"
"#;
const TWICE: &str = r#"clause a on other
  - fail where connector is missing
    under q one
  - fail where connector is missing
    under q two
  "Told."
  per r "(a)"
"#;
const TOPICS: [&str; 11] = [
    "connector",
    "communication",
    "identity",
    "bulb-check",
    "lamp",
    "stored-codes",
    "pending-codes",
    "permanent-codes",
    "since-clearing",
    "readiness",
    "readiness-at-retest",
];

fn clause(id: &str, line: &str, more: &str) -> String {
    format!("clause {id} on other\n  {line}\n  \"Told.\"\n{more}  per r \"({id})\"\n")
}

/// A clause that everyone can meet and that bears on nothing else.
fn plain() -> String {
    clause("a", "fail where connector is missing", "")
}

fn limit(rows: &str) -> String {
    format!("{COUNTS}limit\n{rows}  per r \"(6)\"\n{}", clause("a", "fail where over the limit", ""))
}

/// Findings of a program that is silent on every topic but one, and the program.
fn found(body: &str, but: &str) -> (Vec<Finding>, Flat) {
    let silent: Vec<&str> = TOPICS.into_iter().filter(|topic| *topic != but).collect();
    let text = format!("{HEAD}{body}silent on {}\n  per r, by absence\n", silent.join(", "));
    let parsed = wherefore::syntax::parse(&wherefore::source::Source::new("demo", &text));
    assert!(parsed.diagnostics.is_empty(), "{:#?}", parsed.diagnostics);
    let program = wherefore::check::check(&parsed.file, &()).program.unwrap();
    let flat = select(&program, &Selection::on("2026-11-25".parse().unwrap())).unwrap();
    (analyse(&program).unwrap(), flat)
}

#[rstest]
#[case::gap_by_topic(EVERYONE.to_owned() + &plain(), "lamp", "gap", "lamp", "2020-01-01", "5", "connector is intact")]
#[case::concerns_nobody(FROM_1996.to_owned() + &clause("a", "fail where connector is missing", "  concerns model year 1995 or earlier\n"),
    "", "concerns-nobody", "a", "2020-01-01", "0", "")]
#[case::never_unmet(EVERYONE.to_owned() + &clause("a", "fail where model year 2000 or later and model year 1999 or earlier", ""),
    "", "never-unmet", "a", "2020-01-01", "201", "model year")]
#[case::always_set_aside(EVERYONE.to_owned() + &clause("a", "fail where connector is missing", "  gives way to b\n")
    + &clause("b", "reject where connector is missing or tampered", ""),
    "", "always-set-aside", "a", "2020-01-01", "1", "connector is missing")]
#[case::never_decides_from_a_date_on(EVERYONE.to_owned() + &clause("a", "reject where connector is missing", "")
    + &clause("b", "fail where connector is missing or tampered", "  from 2024-01-01\n"),
    "", "never-decides", "a", "2024-01-01", "1", "connector is missing")]
// 96 model years up to 1995, one fuel, five words for the connector.
#[case::rows_contradict(EVERYONE.to_owned() + "leaves out where model year 1995 or earlier: not-subject \"old\"\n  per r \"(3)\"\n"
    + "leaves out where fuel is electric: tailpipe \"electric\"\n  per r \"(4)\"\n" + &plain(),
    "", "left-out-overlap", "electric", "2020-01-01", "480", "fuel is electric")]
#[case::ranked_by_the_ladder_alone(EVERYONE.to_owned() + &clause("a", "reject where connector is missing", "")
    + &clause("b", "fail where lamp commanded on", ""),
    "", "ranked-by-ladder", "a", "2020-01-01", "1", "lamp commanded on")]
// 0 through 14, and not on this vehicle.
#[case::more_warm_ups_are_graver(EVERYONE.to_owned() + &clause("a", "fail where warm-ups since clearing at least 15", ""),
    "", "doing-better-is-graver", "warm-ups since clearing", "2020-01-01", "16", "warm-ups since clearing 14")]
#[case::a_code_gone_is_graver(EVERYONE.to_owned() + &clause("a", "reject where no stored code", ""),
    "", "doing-better-is-graver", "stored code", "2020-01-01", "1", "stored code")]
#[case::the_lamp_off_is_graver(EVERYONE.to_owned() + &clause("a", "fail where lamp not commanded on", ""),
    "", "doing-better-is-graver", "lamp command", "2020-01-01", "1", "lamp commanded on")]
#[case::passes_with_no_communication(EVERYONE.to_owned() + &clause("a", "reject where connector is missing", ""),
    "communication", "passes-without-communication", "demo", "2020-01-01", "4", "connector is intact")]
// Two ignitions and three protocols tie the monitors together: six vehicles without any, for each model year.
#[case::passes_with_no_monitor(EVERYONE.to_owned() + &limit("  - model year 2001 or later: at most 1\n  - model year 2000 or earlier: none\n"),
    "", "passes-unmonitored", "demo", "2020-01-01", "1206", "no monitor supported")]
#[case::limit_always_met(EVERYONE.to_owned() + &limit("  - every vehicle: at most 20\n"),
    "", "limit-always-met", "standard", "2020-01-01", "3195938", "complete: catalyst")]
// 1900 through 1989 and 1996 through 2000 are 95 years.
#[case::limit_hole(EVERYONE.to_owned() + &limit("  - model year 2001 or later: at most 1\n  - model year 1990 through 1995: none\n"),
    "", "limit-hole", "standard", "2020-01-01", "303614110", "model year 2000")]
// 2001 through 2005 are five.
#[case::limit_rows_overlap(EVERYONE.to_owned() + &limit("  - model year 2001 or later: at most 1\n  - model year 2005 or earlier: none\n"),
    "", "limit-overlap", "standard", "2020-01-01", "15979690", "model year 2005")]
#[case::row_reaches_nobody(FROM_1996.to_owned() + &limit("  - model year 1996 or later: at most 1\n  - model year 1995 or earlier: none\n"),
    "", "row-reaches-nobody", "standard", "2020-01-01", "0", "")]
#[case::nobody_passes(EVERYONE.to_owned() + &clause("a", "fail where every vehicle", ""),
    "", "nobody-passes", "demo", "2020-01-01", "1", "")]
#[case::question_taken_changes_nothing(EVERYONE.to_owned() + QUESTION + "  taken one \"plain\"\n" + TWICE,
    "", "question-changes-nothing", "q", "2020-01-01", "0", "")]
#[case::question_open_changes_nothing(EVERYONE.to_owned() + QUESTION + "  taken none \"nobody knows\"\n" + TWICE,
    "", "question-changes-nothing", "q", "2020-01-01", "0", "")]
#[case::hole_between_versions(EVERYONE.to_owned() + &clause("a", "fail where connector is missing", "  through 2023-12-31\n")
    + &clause("a", "fail where connector is missing or tampered", "  from 2025-01-01\n"),
    "", "version-hole", "a", "2024-01-01", "0", "")]
fn each_planted_mistake_is_found(
    #[case] body: String,
    #[case] but: &str,
    #[case] code: &str,
    #[case] subject: &str,
    #[case] from: &str,
    #[case] count: &str,
    #[case] example: &str,
) {
    let (findings, flat) = found(&body, but);
    let code = format!("analysis/{code}");
    let told = || findings.iter().map(|it| (it.code, it.subject.as_str(), it.from.to_string(), it.count.as_str()));
    let finding = findings.iter().find(|it| it.code == code && it.subject == subject);
    let finding = finding.unwrap_or_else(|| panic!("{code} of {subject} among {:?}", told().collect::<Vec<_>>()));
    assert_eq!((finding.from.to_string().as_str(), finding.count.as_str()), (from, count), "{}", finding.message);
    let words = finding.example.as_ref().map(|it| example_words(&flat, it).join("; ")).unwrap_or_default();
    assert_eq!(words.is_empty(), count == "0" || words.is_empty() && example.is_empty(), "{words}");
    assert!(words.contains(example), "{words}");
}

// 40 CFR 85.2207(b), as the digest of federal law transcribes it: commanded on and seen not to be lit is a failure of its
// own. Encodings 1.1, clause `lamp-dark`. A lit lamp that goes dark while it is commanded on is therefore not doing better,
// however grave the outcome; nor is one that stays dark with the key on (85.2222(d)(4)).
#[rstest]
#[case::dark_while_commanded(
    "fail where lamp commanded on and lamp dark with the engine running",
    "reject where lamp commanded on"
)]
#[case::lit_but_not_commanded(
    "fail where lamp not commanded on and lamp lit with the engine running",
    "reject where lamp commanded on"
)]
#[case::dark_with_the_key_on("fail where lamp dark with the key on", "reject where lamp commanded on")]
fn a_lamp_that_goes_dark_is_no_better_by_itself(#[case] one: &str, #[case] other: &str) {
    let (findings, _) = found(&(EVERYONE.to_owned() + &clause("a", one, "") + &clause("b", other, "")), "");
    let graver: Vec<&str> = findings
        .iter()
        .filter(|it| it.code == "analysis/doing-better-is-graver")
        .map(|it| it.message.as_str())
        .collect();
    assert!(graver.is_empty(), "{graver:?}");
}

// Not commanded on and lit: its wiring repaired, it goes dark, and that must not be graver (encodings, section 5: "the
// lamp going off").
#[test]
fn a_lamp_that_is_dark_again_after_a_repair_is_better() {
    let dark = clause("a", "fail where lamp dark with the engine running", "");
    let (findings, _) = found(&(EVERYONE.to_owned() + &dark + &clause("b", "reject where lamp commanded on", "")), "");
    let graver = findings.iter().filter(|it| it.code == "analysis/doing-better-is-graver");
    let subjects: Vec<&str> = graver.map(|it| it.subject.as_str()).collect();
    assert!(subjects.contains(&"lamp with the engine running"), "{subjects:?}");
}

// Encodings, section 5, time: overlaps between versions; 2023-12-31 has two.
#[test]
fn versions_that_overlap_are_an_error() {
    let one = clause("a", "fail where connector is missing", "  through 2023-12-31\n");
    let other = clause("a", "fail where connector is missing or tampered", "  from 2023-12-31\n");
    let text = format!("{HEAD}{EVERYONE}{one}{other}");
    let parsed = wherefore::syntax::parse(&wherefore::source::Source::new("demo", &text));
    let checked = wherefore::check::check(&parsed.file, &());
    let told = checked.diagnostics.iter().find(|it| it.code == "check/variant-twice");
    assert!(told.is_some_and(|it| it.message.contains("2023-12-31")), "{:#?}", checked.diagnostics);
}
