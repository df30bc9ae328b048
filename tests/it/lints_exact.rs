//! Each finding of the exact analysis on a small program with one planted mistake: code, subject, the date from which it
//! holds, how many vehicles, an example in plain words. Which findings there must be: issue 3, point 6, and encodings,
//! section 5. Counts are worked out by hand: a connector has five words, a model year 201 values (1900 through 2100),
//! warm-ups 256 and *not on this vehicle*, a lamp two.

use rstest::rstest;
use wherefore::internals::analysis::warnings::{Warning, analyse};
use wherefore::internals::program::{Flat, Selection, select};
use wherefore::internals::report::warning::{diagnostics, example_words};

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
const THREE: &str = r#"question q "Which?"
  - reading one "the one"
    per r "(8)"
  - reading two "another"
    per r "(8)"
  - reading three "the third"
    per r "(8)"
  taken none "nobody knows"
clause a on other
  - fail where connector is missing
    under q one
  - fail where connector is missing
    under q two
  - fail where connector is missing
    under q three
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
fn found(body: &str, but: &str) -> (Vec<Warning>, Flat) {
    let silent: Vec<&str> = TOPICS.into_iter().filter(|topic| *topic != but).collect();
    let text = format!("{HEAD}{body}silent on {}\n  per r, by absence\n", silent.join(", "));
    let parsed = wherefore::internals::syntax::parse(&wherefore::internals::source::Source::new("demo", &text));
    assert!(parsed.diagnostics.is_empty(), "{:#?}", parsed.diagnostics);
    let program = wherefore::internals::check::check(&parsed.file, &()).program.unwrap();
    let flat = select(&program, &Selection::on("2026-11-25".parse().unwrap())).unwrap();
    (analyse(&program).unwrap(), flat)
}

#[rstest]
#[case::gap_by_topic(EVERYONE.to_owned() + &plain(), "lamp", "gap", "lamp", "2020-01-01", "5", "connector is intact")]
// The nearest: 96 model years up to 1995, five words for the connector.
#[case::concerns_nobody(FROM_1996.to_owned() + &clause("a", "fail where connector is missing", "  concerns model year 1995 or earlier\n"),
    "", "concerns-nobody", "a", "2020-01-01", "480", "model year 1995")]
// The condition contradicts itself: model years 2000 through 2100 meet all of it but the last part.
#[case::never_unmet(EVERYONE.to_owned() + &clause("a", "fail where model year 2000 or later and model year 1999 or earlier", ""),
    "", "never-unmet", "a", "2020-01-01", "101", "model year")]
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
// 0 through 14; a vehicle without the counter, alike otherwise, cannot have more.
#[case::more_warm_ups_are_graver(EVERYONE.to_owned() + &clause("a", "fail where warm-ups since clearing at least 15", ""),
    "", "doing-better-is-graver", "warm-ups since clearing", "2020-01-01", "15", "warm-ups since clearing 14")]
// 0 through 9 can come to be 10 through 19; of 20 through 255, treated alike, none can.
#[case::more_warm_ups_are_graver_for_a_while(EVERYONE.to_owned() + &clause("a", "fail where warm-ups since clearing 10 through 19", ""),
    "", "doing-better-is-graver", "warm-ups since clearing", "2020-01-01", "10", "warm-ups since clearing 9")]
// Incomplete and unsupported are treated alike; only what is incomplete can be completed.
#[case::completing_is_graver(EVERYONE.to_owned() + &clause("a", "fail where catalyst is supported and complete", ""),
    "", "doing-better-is-graver", "catalyst", "2020-01-01", "1", "incomplete: catalyst")]
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
// 96 model years up to 1995, each with the 3195938 ways of the monitors (`limit_always_met`).
#[case::row_reaches_nobody(FROM_1996.to_owned() + &limit("  - model year 1996 or later: at most 1\n  - model year 1995 or earlier: none\n"),
    "", "row-reaches-nobody", "standard", "2020-01-01", "306810048", "model year 1995")]
// Exemptions, excuses and rules of when a test is due that reach nobody: issue 11, item 16. 91 model years up to 1990, and
// five words for the connector where the clause asks it.
#[case::leaves_out_nobody(FROM_1996.to_owned() + "leaves out where model year 1990 or earlier: not-subject \"old\"\n  per r \"(3)\"\n" + &plain(),
    "", "leaves-out-nobody", "old", "2020-01-01", "455", "model year 1990")]
// Of the monitors, 3195938 ways for each model year (`limit_always_met`).
#[case::excuses_nobody(FROM_1996.to_owned() + "excuses catalyst, evaporative where model year 1990 or earlier\n  per r \"(3)\"\n"
    + &limit("  - every vehicle: at most 1\n"),
    "", "excuses-nobody", "catalyst, evaporative", "2020-01-01", "290830358", "model year 1990")]
#[case::due_for_nobody(FROM_1996.to_owned() + "due where model year 1990 or earlier\n  per r \"(3)\"\n" + &plain(),
    "", "due-for-nobody", "due", "2020-01-01", "455", "model year 1990")]
// What alone makes a test due, and nothing of the verdict, is a difference between vehicles here; a visit has two words.
#[case::due_for_nobody_that_is_left_out(EVERYONE.to_owned()
    + "leaves out where model year 1995 or earlier: not-subject \"old\"\n  per r \"(3)\"\n"
    + "due where model year 1995 or earlier and hybrid\n  per r \"(3)\"\n" + &plain(),
    "", "due-for-nobody", "due", "2020-01-01", "480", "hybrid")]
#[case::nobody_passes(EVERYONE.to_owned() + &clause("a", "fail where every vehicle", ""),
    "", "nobody-passes", "demo", "2020-01-01", "1", "")]
#[case::question_taken_changes_nothing(EVERYONE.to_owned() + QUESTION + "  taken one \"plain\"\n" + TWICE,
    "", "question-changes-nothing", "q", "2020-01-01", "1", "connector is missing")]
#[case::question_open_changes_nothing(EVERYONE.to_owned() + QUESTION + "  taken none \"nobody knows\"\n" + TWICE,
    "", "question-changes-nothing", "q", "2020-01-01", "1", "connector is missing")]
// However many readings there are, a vehicle is counted once.
#[case::question_of_three_readings_changes_nothing(EVERYONE.to_owned() + THREE,
    "", "question-changes-nothing", "q", "2020-01-01", "1", "connector is missing")]
// From the first day on, though another clause came to be later.
#[case::question_taken_never_changed_anything(EVERYONE.to_owned() + QUESTION + "  taken one \"plain\"\n" + TWICE
    + &clause("b", "fail where connector is tampered", "  from 2024-01-01\n"),
    "", "question-changes-nothing", "q", "2020-01-01", "1", "connector is missing")]
#[case::hole_between_versions(EVERYONE.to_owned() + &clause("a", "fail where connector is missing", "  through 2023-12-31\n")
    + &clause("a", "fail where connector is missing or tampered", "  from 2025-01-01\n"),
    "", "version-hole", "a", "2024-01-01", "1", "connector is missing")]
#[case::question_that_nothing_asks(EVERYONE.to_owned() + QUESTION + "  taken one \"plain\"\n" + &plain(),
    "", "question-changes-nothing", "q", "2020-01-01", "0", "")]
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

const TWO_YEARS: &str = "model year 2000 or later and model year 1999 or earlier";

fn clause_with_a_hole(after: &str) -> String {
    let before = clause("a", "fail where connector is missing", "  through 2023-12-31\n");
    EVERYONE.to_owned() + &before + &clause("a", after, "  from 2025-01-01\n")
}

/// A row that reaches somebody is no finding: sent on to another test it is due all the same, and the last year left out or
/// excused is one that is covered.
#[rstest]
#[case::sent_on(EVERYONE.to_owned() + "leaves out where model year 1995 or earlier: tailpipe \"old\"\n  per r \"(3)\"\n"
    + "due where model year 1995 or earlier and hybrid\n  per r \"(3)\"\n" + &plain())]
#[case::one_year(FROM_1996.to_owned() + "leaves out where model year 1996 or earlier: not-subject \"old\"\n  per r \"(3)\"\n"
    + "due where model year 1997 or earlier\n  per r \"(3)\"\n"
    + "excuses catalyst where model year 1997 or earlier\n  per r \"(3)\"\n" + &limit("  - every vehicle: at most 1\n"))]
// Of the vehicles of ages up to ten none is of 2015 or earlier from 2026 on; the row did reach some.
#[case::once("age is test year less model year\n  per r \"(1)\"\ncovers where age at most 10\n  per r \"(2)\"\n".to_owned()
    + "leaves out where model year 2015 or earlier: not-subject \"old\"\n  per r \"(3)\"\n" + &plain())]
#[case::always(EVERYONE.to_owned() + "due where every vehicle\n  per r \"(3)\"\n" + &plain())]
fn a_row_that_reaches_somebody_is_no_finding(#[case] body: String) {
    let (findings, _) = found(&body, "");
    let nobody = findings.iter().filter(|it| it.code.ends_with("-nobody")).map(|it| &it.message);
    assert_eq!(nobody.collect::<Vec<_>>(), Vec::<&String>::new());
}

/// Rows about vehicles that are not covered: the message says that they are not subject, and what to widen. Of a row that no
/// vehicle can meet it says neither.
#[rstest]
#[case::sent(
    "leaves out where model year 1990 or earlier: tailpipe \"old\"\n  per r \"(3)\"\n",
    "by this file they are not subject, and are not sent to `tailpipe`",
    "widen `covers` to them"
)]
#[case::exempt(
    "leaves out where model year 1990 or earlier: not-subject \"old\"\n  per r \"(3)\"\n",
    "`covers` does not name these vehicles",
    "with this row or without it"
)]
#[case::contradiction(
    "leaves out where fuel is electric and hybrid: tailpipe \"old\"\n  per r \"(3)\"\n",
    "no covered vehicle is left out by \"old\"",
    "check what the row tests"
)]
fn rows_about_vehicles_that_are_not_covered(#[case] row: &str, #[case] message: &str, #[case] help: &str) {
    let (findings, _) = found(&(FROM_1996.to_owned() + row + &plain()), "");
    let finding = findings.iter().find(|it| it.code == "analysis/leaves-out-nobody").unwrap();
    assert!(finding.message.ends_with(message) && finding.help.contains(help), "{}\n{}", finding.message, finding.help);
}

// Why nothing is reached, and which vehicles come nearest: issue 3, point 6. Counts by hand as above.
#[rstest]
#[case::not_covered(FROM_1996.to_owned() + &clause("a", "fail where connector is missing", "  concerns model year 1995 or earlier\n"),
    "concerns-nobody", "480", "its condition holds for", &["480 of them are not covered"])]
#[case::left_out(EVERYONE.to_owned() + "leaves out where model year 1995 or earlier: not-subject \"old\"\n  per r \"(3)\"\n"
    + &clause("a", "fail where connector is missing", "  concerns model year 1995 or earlier\n"),
    "concerns-nobody", "480", "its condition holds for", &["480 of them are left out: \"old\""])]
// 1996 through 1999 of 1999 and earlier are left out, 96 years are not covered; five words for the connector.
#[case::both(FROM_1996.to_owned() + "leaves out where model year 1999 or earlier: not-subject \"old\"\n  per r \"(3)\"\n"
    + &clause("a", "fail where connector is missing", "  concerns model year 1999 or earlier\n"),
    "concerns-nobody", "500", "its condition holds for",
    &["480 of them are not covered", "20 of them are left out: \"old\""])]
// 2000 through 2100 are 101 model years.
#[case::contradiction(EVERYONE.to_owned() + &clause("a", "fail where connector is missing", &format!("  concerns {TWO_YEARS} and lamp commanded on\n")),
    "concerns-nobody", "1010", "but for the part \"model year at most 1999\" its condition holds for",
    &["its condition contradicts itself: no vehicle that can exist meets all of: model year 2000 or more; model year at most 1999"])]
// The line turns on nothing else, so that the model year stands alone, with the monitors.
#[case::row_of_which_nothing_is_asked(EVERYONE.to_owned() + COUNTS
    + "limit\n  - model year 1996 or later: at most 1\n  - model year 1995 or earlier: none\n  per r \"(6)\"\n"
    + &clause("a", "fail where over the limit", "  concerns model year 1996 or later\n"),
    "row-reaches-nobody", "306810048", "its condition holds for", &["no clause that asks it concerns them"])]
#[case::question_taken(EVERYONE.to_owned() + QUESTION + "  taken one \"plain\"\n" + TWICE,
    "question-changes-nothing", "1", "some line turns on it for",
    &["each of them is ruled the same however it is read, by the law of 2020-01-01"])]
#[case::question_open(EVERYONE.to_owned() + QUESTION + "  taken none \"nobody knows\"\n" + TWICE,
    "question-changes-nothing", "1", "some line turns on it for", &["each of them is ruled the same however it is read"])]
#[case::question_that_nothing_asks(EVERYONE.to_owned() + QUESTION + "  taken none \"nobody knows\"\n" + &plain(),
    "question-changes-nothing", "0", "some line turns on it for", &["nothing that the program asks of a vehicle turns on it"])]
#[case::clause_gone_and_the_same_again(clause_with_a_hole("fail where connector is missing"),
    "version-hole", "1", "ruled otherwise in the hole than on 2023-12-31:",
    &["the example: fail on 2023-12-31, pass on a visit of 2024-01-01, fail on 2025-01-01"])]
#[case::clause_gone_and_milder_after(clause_with_a_hole("reject where connector is missing"),
    "version-hole", "1", "ruled otherwise in the hole than on 2023-12-31:",
    &["the example: fail on 2023-12-31, pass on a visit of 2024-01-01, reject on 2025-01-01",
      "1 of them are ruled otherwise after the hole than before it"])]
#[case::clause_gone_without_effect(clause_with_a_hole("fail where connector is tampered") + &clause("b", "fail where connector is missing", ""),
    "version-hole", "1", "ruled the same in the hole, though the clause is unmet on 2023-12-31:",
    &["the example: fail on 2023-12-31, fail on a visit of 2024-01-01, fail on 2025-01-01"])]
// Not every vehicle can exist: with spark the first monitor has three states and the second none, with compression the
// other way round.
#[case::clause_that_contradicts_itself(EVERYONE.to_owned()
    + &clause("a", "fail where lamp commanded on and lamp not commanded on", "")
    + &clause("b", "fail where catalyst is incomplete", "")
    + &clause("c", "fail where nmhc-catalyst is incomplete", ""),
    "never-unmet", "6", "but for the part \"lamp not commanded on\" its condition holds for",
    &["its condition contradicts itself: no vehicle that can exist meets all of: lamp commanded on; lamp not commanded on"])]
fn what_reaches_nobody_is_told_with_the_nearest_vehicles(
    #[case] body: String,
    #[case] code: &str,
    #[case] count: &str,
    #[case] counted: &str,
    #[case] notes: &[&str],
) {
    let (findings, _) = found(&body, "");
    let finding = findings.iter().find(|it| it.code == format!("analysis/{code}")).unwrap();
    assert_eq!((finding.count.as_str(), finding.counted.as_str()), (count, counted), "{:?}", finding.notes);
    assert_eq!(finding.notes, notes);
    assert_eq!(finding.example.is_none(), count == "0");
}

// Nothing in force in 2024: five words for the connector, all had an outcome before; the law after is milder for one.
#[test]
fn a_hole_of_the_whole_program_shows_who_is_ruled_on_before_and_after() {
    let windows = "in force from 2020-01-01\n  through 2023-12-31\n  per r \"(1)\"\nin force from 2025-01-01\n";
    let head = HEAD.replace("in force from 2020-01-01\n", windows);
    let before = clause("a", "fail where connector is missing", "  through 2023-12-31\n");
    let after = clause("a", "reject where connector is missing", "  from 2025-01-01\n");
    let text = format!("{head}{EVERYONE}{before}{after}silent on {}\n  per r, by absence\n", TOPICS.join(", "));
    let parsed = wherefore::internals::syntax::parse(&wherefore::internals::source::Source::new("demo", &text));
    assert!(parsed.diagnostics.is_empty(), "{:#?}", parsed.diagnostics);
    let program = wherefore::internals::check::check(&parsed.file, &()).program.unwrap();
    let findings = analyse(&program).unwrap();
    let holes: Vec<&Warning> = findings.iter().filter(|it| it.code == "analysis/version-hole").collect();
    let [hole] = holes.as_slice() else { panic!("{holes:#?}") };
    assert_eq!((hole.subject.as_str(), hole.count.as_str(), hole.share), ("demo", "5", 1_000_000));
    assert_eq!(hole.counted, "with an outcome on 2023-12-31:");
    let told = "the example: pass on 2023-12-31, no-law-in-file on a visit of 2024-01-01, pass on 2025-01-01";
    assert_eq!(hole.notes, [told, "1 of them are ruled otherwise after the hole than before it"]);
    let day = hole.example.as_ref().and_then(|it| it.snapshot.test_date());
    assert_eq!(day, Some("2024-01-01".parse().unwrap()));
}

// Drawn as people see it: the count with its words, the example, the reason.
#[test]
fn the_nearest_vehicles_are_in_the_message() {
    let body = FROM_1996.to_owned()
        + &clause("a", "fail where connector is missing", "  concerns model year 1995 or earlier\n");
    let text = format!("{HEAD}{body}silent on {}\n  per r, by absence\n", TOPICS.join(", "));
    let parsed = wherefore::internals::syntax::parse(&wherefore::internals::source::Source::new("demo", &text));
    let program = wherefore::internals::check::check(&parsed.file, &()).program.unwrap();
    let messages = diagnostics(&program, &parsed.file, &analyse(&program).unwrap());
    let message = messages.iter().find(|it| it.code == "analysis/concerns-nobody").unwrap();
    // 480 of 201 times 5.
    let expected = [
        "from 2020-01-01",
        "its condition holds for 480 vehicles, 47.7 percent of all that can be told apart",
        "example vehicle: model year 1995; connector is intact",
        "480 of them are not covered",
    ];
    assert_eq!(message.notes, expected);
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
    let parsed = wherefore::internals::syntax::parse(&wherefore::internals::source::Source::new("demo", &text));
    let checked = wherefore::internals::check::check(&parsed.file, &());
    let told = checked.diagnostics.iter().find(|it| it.code == "check/variant-twice");
    assert!(told.is_some_and(|it| it.message.contains("2023-12-31")), "{:#?}", checked.diagnostics);
    assert_eq!(told.unwrap().notes, ["a visit on 2023-12-31 would have both; they overlap on 1 day"]);
}
