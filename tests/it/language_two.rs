//! Version 2 of the language: what is written once rules as its long form does, announced changes and times between tests
//! are told, and a file of version 1 is the same program when it is rewritten.

use crate::check;
use proptest::prelude::*;
use rstest::rstest;
use std::path::Path;
use wherefore::internals::analysis;
use wherefore::internals::model::{Date, Fact, Snapshot, Unit, Value};
use wherefore::internals::program::{Flat, Program, Selection, dump, epochs, select};
use wherefore::internals::record::{Record, json_value};
use wherefore::internals::report::overview::Row;
use wherefore::internals::ruling::{Due, Ruling, judge};
use wherefore::internals::source::Source;
use wherefore::internals::syntax;

const HEAD: &str = "program example \"Example\"\n  authority \"A\"\n  language 2\nsource ex \"x\" law, read 2026-11-25\n\
     in force from 2002-01-01 through 2019-12-31\n  per ex\n\
     outcomes pass, conditional, idle (other-test), tailpipe (other-test), reject, fail\ncovers where every vehicle\n  per ex\n\
     counts supported monitors that are not continuous\n  per ex\n";

fn program(body: &str) -> Program {
    check::program("example", &format!("{HEAD}{body}"))
}

fn day(text: &str) -> Date {
    text.parse().unwrap()
}

fn on(program: &Program, date: &str) -> Flat {
    select(program, &Selection::on(day(date))).unwrap()
}

/// On every run of dates of either program, every vehicle that can exist gets the same verdict.
fn ruled_alike(one: &str, other: &str) {
    let (first, second) = (program(one), program(other));
    let days = epochs(&first).into_iter().chain(epochs(&second)).map(|epoch| epoch.from);
    for day in days {
        let flat = |program: &Program| select(program, &Selection::on(day)).unwrap();
        let compared = analysis::compare(&flat(&first), &flat(&second)).unwrap();
        assert!(compared.changes.is_empty(), "{day}\n{one}\n{other}");
    }
}

/// On every run of dates the same in every word that can change a ruling.
fn said_alike(one: &str, other: &str) {
    let (first, second) = (program(one), program(other));
    assert_eq!(epochs(&first), epochs(&second));
    for epoch in epochs(&first) {
        let flat = |program: &Program| dump(&select(program, &Selection::on(epoch.from)).unwrap());
        assert_eq!(flat(&first), flat(&second));
    }
}

/// Conditions of few facts, so that they meet.
fn conditions() -> impl Strategy<Value = String> {
    let tests = prop::sample::select(vec![
        "fuel is gasoline",
        "fuel is diesel or propane",
        "fuel is not electric",
        "model year 2000 or earlier",
        "model year 1996 through 2010",
        "gross weight above 8500 lb",
        "gross weight at most 14000 lb",
        "hybrid",
        "not plug-in",
        "class is motorcycle",
        "catalyst is incomplete",
        "lamp commanded on",
    ]);
    prop::collection::vec(tests, 1..=3).prop_map(|tests| tests.join(" and "))
}

fn rows(word: &str, conditions: &[String], dates: &[&str]) -> String {
    let dates = dates.iter().cycle();
    conditions
        .iter()
        .zip(dates)
        .map(|(which, date)| format!("{word} where {which} \"why\"\n{date}  per ex\n"))
        .collect()
}

const DATES: [&str; 3] = ["", "  from 2010-07-01\n", "  through 2012-06-30\n"];

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Exemptions before other tests, written out: each row with an outcome leaves out what a finding of all exemptions
    /// holds of.
    #[test]
    fn exemptions_rule_as_the_list_that_is_written_twice(
        exempt in prop::collection::vec(conditions(), 1..=3),
        sent in prop::collection::vec((prop::sample::select(vec!["idle", "tailpipe"]), conditions()), 1..=3),
        fails in conditions(),
    ) {
        let clause = format!("clause one on other\n  fail where {fails}\n  \"Not so.\"\n  per ex\n");
        let sends = |(outcome, which): &(&str, String)| format!("sends to {outcome} where {which} \"why\"\n  per ex\n");
        let short: String = rows("exempts", &exempt, &[""]) + &sent.iter().map(sends).collect::<String>() + &clause;
        let bullets: String = exempt.iter().map(|which| format!("  - {which}\n")).collect();
        let leaves = |which: &String| format!("leaves out where {which}: not-subject \"why\"\n  per ex\n");
        let others = |(outcome, which): &(&str, String)| {
            format!("leaves out where not excepted and {which}: {outcome} \"why\"\n  per ex\n")
        };
        let long = format!(
            "finding excepted\n  any of\n{bullets}{}{}{clause}",
            exempt.iter().map(leaves).collect::<String>(),
            sent.iter().map(others).collect::<String>(),
        );
        ruled_alike(&short, &long);
    }

    /// A negated *both* turned round by hand.
    #[test]
    fn not_all_of_is_any_of_the_negations(parts in prop::collection::vec(conditions(), 2..=3)) {
        let bullets: String = parts.iter().map(|part| format!("    - {part}\n")).collect();
        let short = format!("clause one on other\n  fail where not all of\n{bullets}  \"Not so.\"\n  per ex\n");
        let findings: String = parts.iter().enumerate().map(|(at, part)| format!("finding f{at} where {part}\n")).collect();
        let turned: String = (0..parts.len()).map(|at| format!("    - not f{at}\n")).collect();
        let long = format!("{findings}clause one on other\n  fail where any of\n{turned}  \"Not so.\"\n  per ex\n");
        ruled_alike(&short, &long);
    }

    /// Outcomes by case: what holds for the whole clause stands in each line.
    #[test]
    fn where_of_a_clause_is_part_of_each_line(whole in conditions(), cases in prop::collection::vec(conditions(), 1..=3)) {
        let outcomes = ["fail", "reject", "conditional"];
        let lines = |before: &str| -> String {
            let line = |(which, outcome): (&String, &str)| format!("  - {outcome} where {before}{which}\n");
            cases.iter().zip(outcomes).map(line).collect()
        };
        let short = format!("clause one on other\n  where {whole}\n  \"Not so.\"\n  per ex\n{}", lines(""));
        let long = format!("clause one on other\n  \"Not so.\"\n  per ex\n{}", lines(&format!("{whole} and ")));
        ruled_alike(&short, &long);
    }

    /// A period is its dates.
    #[test]
    fn a_period_is_its_dates(places in prop::collection::vec(0_usize..3, 1..=4)) {
        let clauses = |dates: &dyn Fn(usize) -> String| -> String {
            let one = |(at, place): (usize, &usize)| {
                format!("clause c{at} on other\n  fail where hybrid\n  \"Not so.\"\n  per ex\n{}", dates(*place))
            };
            places.iter().enumerate().map(one).collect()
        };
        let periods = "period p1 from 2010-07-01\nperiod p2 through 2012-06-30\n";
        let short = clauses(&|place| if place == 0 { String::new() } else { format!("  in p{place}\n") });
        said_alike(&format!("{periods}{short}"), &clauses(&|place| DATES[place].to_owned()));
    }
}

const CLAUSES: &str = "clause one on other\n  reject where hybrid\n  \"Not so.\"\n  per ex\n\
     clause two on other\n  fail where plug-in\n  \"Not so.\"\n  per ex\n\
     clause three on other\n  conditional where lamp commanded on\n  \"Not so.\"\n  per ex\n";

#[test]
fn every_other_clause_gives_way_as_each_written_out() {
    let question = |ways: &str| {
        format!(
            "{CLAUSES}question doubt \"Which?\"\n  - reading first \"so\"\n{ways}  - reading otherwise \"not\"\n  taken none \"open\"\n  per ex\n"
        )
    };
    let long = question("    one gives way to three\n    two gives way to three\n");
    said_alike(&question("    every other clause gives way to three\n"), &long);
    assert!(on(&program(&long), "2010-01-01").lines.iter().any(|line| !line.gives_way.is_empty()));
}

/// The citation of the day, on a line whose rule does not change.
#[rstest]
#[case("2012-06-30", &["(3)", "(4)"])]
#[case("2012-07-01", &["(4)", "(5)"])]
#[case("2014-01-01", &["(4)", "(6)"])]
fn citations_have_dates_of_their_own(#[case] date: &str, #[case] expected: &[&str]) {
    let program = program(
        "period later from 2014-01-01\nclause one on other\n  fail where hybrid\n  \"Not so.\"\n  per ex \"(4)\"\n  \
         per ex \"(3)\" through 2012-06-30\n  per ex \"(5)\", inferred from 2012-07-01 through 2013-12-31\n  per ex \"(6)\" in later\n",
    );
    let flat = on(&program, date);
    let mut found: Vec<_> = flat.lines[0].basis.iter().map(|citation| citation.locator.as_str()).collect();
    found.sort_unstable();
    assert_eq!(found, expected);
    assert_eq!(epochs(&program).len(), 3, "each change of what is cited begins a run of dates");
}

fn ruling(program: &Program, date: &str, facts: &[(Fact, &str)]) -> Ruling {
    let mut snapshot = Snapshot::default();
    for (fact, word) in facts {
        snapshot.set_word(*fact, word);
    }
    ruled(program, date, snapshot)
}

fn ruled(program: &Program, date: &str, snapshot: Snapshot) -> Ruling {
    judge(&on(program, date), program, &snapshot).unwrap()
}

const ANNOUNCED: &str = "change stricter adopted \"All must be complete.\"\n  from 2010-10-01\n  \
     could turn pass into fail where fuel is gasoline\n  could turn conditional into reject\n  per ex \"notice\"\n\
     clause one on other\n  fail where fuel is diesel\n  \"Not so.\"\n  per ex\n\
     clause later on other\n  fail where fuel is propane\n  \"Not so.\"\n  draft of stricter\n  from 2010-10-01\n  per ex\n\
     clause never on other\n  fail where fuel is methanol\n  \"Not so.\"\n  draft\n  per ex\n";

/// A change is told from its day, of vehicles whose outcome it could turn.
#[rstest]
#[case::before("2010-09-30", "gasoline", "pass", 0)]
#[case::first_day("2010-10-01", "gasoline", "pass", 1)]
#[case::not_concerned("2010-10-01", "propane", "pass", 0)]
#[case::already_failed("2010-10-01", "diesel", "fail", 0)]
fn a_change_is_told_from_its_day(#[case] date: &str, #[case] fuel: &str, #[case] verdict: &str, #[case] told: usize) {
    let ruling = ruling(&program(ANNOUNCED), date, &[(Fact::Fuel, fuel)]);
    assert_eq!((ruling.verdict.as_str(), ruling.changes.len()), (verdict, told));
    let text = wherefore::internals::report::text::text(&ruling, Default::default());
    let headline = "A change adopted for 2010-10-01 may make this stricter; see below.";
    let told_below = "A change adopted for 2010-10-01 may make this stricter: All must be complete. It";
    assert_eq!(text.contains(headline), told == 1, "{text}");
    let in_one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(in_one_line.contains(told_below), told == 1, "{text}");
    let record = Record {
        ruling,
        document: Default::default(),
        files: Default::default(),
        law: String::new(),
        takes: Vec::new(),
        certificate: None,
        prospect: None,
        recorded: None,
    };
    let json = json_value(&record);
    assert_eq!(json["may_turn"], told == 1);
    assert_eq!(json["changes"].as_array().unwrap().len(), told);
    let page = wherefore::internals::report::page::page(&[record]).unwrap();
    assert_eq!(page.contains(headline) && page.contains("It could turn pass into fail"), told == 1);
}

/// A vehicle of which the fuel is not known may be concerned.
#[test]
fn a_change_is_told_where_it_may_concern_the_vehicle() {
    let ruling = ruling(&program(ANNOUNCED), "2011-01-01", &[]);
    assert_eq!(
        ruling.changes.iter().map(|change| (change.surely, change.stricter)).collect::<Vec<_>>(),
        [(false, true)]
    );
}

/// Drafts of one change count where that change is asked for, and no others.
#[test]
fn drafts_of_a_change_stand_with_it_alone() {
    let program = program(ANNOUNCED);
    let clauses = |change: Option<&str>| -> Vec<String> {
        let selection = Selection { change: change.map(str::to_owned), ..Selection::on(day("2011-01-01")) };
        select(&program, &selection).unwrap().lines.into_iter().map(|line| line.clause).collect()
    };
    assert_eq!(clauses(None), ["one"]);
    assert_eq!(clauses(Some("stricter")), ["later", "one"]);
    assert_eq!(clauses(Some("other")), ["one"]);
    let row = Row::of(&program, "example");
    assert_eq!(row.changes.len(), 1);
    assert!(row.changes[0].drafts);
    assert_eq!(row.changes[0].could_turn, ["pass into fail", "conditional into reject"]);
    let listed = wherefore::internals::report::overview::text(&[row]);
    assert!(listed.contains("stricter, adopted for 2010-10-01"), "{listed}");
}

/// What the programs made for many records tell is what rulings tell: of each vehicle, whether the change could turn it.
#[rstest]
#[case::no_rule_on_what_becomes("")]
#[case::an_outcome_becomes_what_could_be_turned("outcome fail becomes pass where hybrid\n  per ex\n")]
fn the_program_of_a_change_tells_whom_it_touches(#[case] becomes: &str) {
    let announced = format!("{ANNOUNCED}{becomes}");
    let program = program(&announced);
    let alone = wherefore::internals::program::announced_alone(&program);
    assert_eq!(alone.iter().map(|(id, _)| id.as_str()).collect::<Vec<_>>(), ["stricter"]);
    for date in ["2010-09-30", "2010-10-01"] {
        for fuel in ["gasoline", "diesel", "propane"] {
            for hybrid in ["yes", "no"] {
                let facts = [(Fact::Fuel, fuel), (Fact::Hybrid, hybrid)];
                let told = !ruling(&program, date, &facts).changes.is_empty();
                let found = ruling(&alone[0].1, date, &facts);
                assert_eq!(found.verdict == "change stricter", told, "{date} {fuel} {hybrid}: {}", found.verdict);
            }
        }
    }
}

/// By hand: 731 days before 1 March 2010 is 29 February 2008, 730 days 1 March, 729 days 2 March; two years after 29
/// February 2008 is 28 February 2010.
#[rstest]
#[case::over(Some(731 * 24), "initial", Due::Yes, Some("2010-02-28"))]
#[case::the_very_day(Some(730 * 24), "initial", Due::Yes, Some("2010-03-01"))]
#[case::the_day_before(Some(729 * 24), "initial", Due::No, Some("2010-03-02"))]
#[case::not_known(None, "initial", Due::NotKnown, None)]
#[case::counted_from_no_failed_test(Some(731 * 24), "retest", Due::NotKnown, None)]
fn due_counts_from_the_previous_test(
    #[case] hours: Option<i64>,
    #[case] visit: &str,
    #[case] due: Due,
    #[case] next: Option<&str>,
) {
    let program = program("due every 2 years \"every second year\"\n  per ex\n");
    let mut snapshot = Snapshot::default();
    snapshot.set_word(Fact::Visit, visit);
    if let Some(hours) = hours {
        snapshot.set(Fact::HoursSincePrevious, Value::Number(Unit::Hour.to_base(hours).unwrap()));
    }
    let ruling = ruled(&program, "2010-03-01", snapshot);
    assert_eq!((ruling.due.due, ruling.due.next), (due, next.map(day)), "{:?}", ruling.due.why);
    let not_known = ruling.due.why[0].contains("the start not known");
    assert_eq!(not_known, next.is_none());
}

/// Nothing is due of a vehicle that is exempted, or that an interval does not concern.
#[test]
fn nothing_is_due_of_whom_the_program_does_not_concern() {
    let program =
        program("exempts where hybrid \"hybrids are exempt\"\n  per ex\ndue every 1 year where plug-in\n  per ex\n");
    let exempted = ruling(&program, "2010-03-01", &[(Fact::Hybrid, "yes")]);
    assert_eq!((exempted.verdict.as_str(), exempted.due.due), ("not-subject", Due::NotSaid));
    let other = ruling(&program, "2010-03-01", &[(Fact::Hybrid, "no"), (Fact::PlugIn, "no")]);
    assert_eq!(other.due.due, Due::No);
}

/// A line that rests on a proposal decides, and is named among the weak.
#[rstest]
#[case("", false)]
#[case(", older text", true)]
#[case(", proposed text", true)]
#[case(", superseded", true)]
fn a_text_that_may_not_be_in_force_is_weak(#[case] mark: &str, #[case] weak: bool) {
    let program = program(&format!(
        "source old \"older\" law, read 2026-11-25{mark}\nclause one on other\n  fail where hybrid\n  \"Not so.\"\n  per old \"(a)\"\n"
    ));
    let ruling = ruling(&program, "2010-01-01", &[(Fact::Hybrid, "yes")]);
    assert_eq!(ruling.verdict, "fail");
    assert_eq!(
        ruling.weak.iter().any(|weak| weak.law.iter().any(|law| law.title == "older")),
        weak,
        "{:?}",
        ruling.weak
    );
    let text = wherefore::internals::report::text::text(&ruling, Default::default());
    assert!(text.contains(&format!("[law, read{mark}]")), "{text}");
}

fn shipped() -> Vec<std::path::PathBuf> {
    let mut folders = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("policies")];
    let mut files = Vec::new();
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "wherefore") {
                files.push(path);
            }
        }
    }
    files.sort();
    files
}

/// A text as version 1 would have it: the number, and the words of the head.
fn upgraded(text: &str) -> String {
    let source = Source::new("file", text);
    let parsed = syntax::parse(&source);
    assert_eq!(parsed.diagnostics, []);
    let newer = Source::new("file", &syntax::upgrade(&parsed, &source).unwrap());
    let parsed = syntax::parse(&newer);
    assert_eq!(parsed.diagnostics, []);
    syntax::format(&parsed, &newer).unwrap()
}

/// Two files of version 1, kept as they were: rewritten they say the same on every date, and say when they were held
/// against what; rewriting again changes nothing.
#[rstest]
#[case("us-model")]
#[case("us-wa")]
fn a_file_of_version_1_is_the_same_program_when_rewritten(#[case] name: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/check/version-1/{name}.wherefore"));
    let text = std::fs::read_to_string(path).unwrap();
    let newer = upgraded(&text);
    let of = |text: &str| check::program(name, text);
    let (one, other) = (of(&text), of(&newer));
    assert_eq!((one.language, other.language), (1, 2));
    assert_eq!(epochs(&one), epochs(&other));
    for epoch in epochs(&one) {
        let flat = |program: &Program| dump(&select(program, &Selection::on(epoch.from)).unwrap());
        assert_eq!(flat(&one), flat(&other));
    }
    let reviewed = other.reviewed.unwrap();
    assert_eq!((reviewed.on, reviewed.against.as_str()), (day("2026-11-25"), "the project's digest of the texts"));
    assert_eq!(other.standing.word(), "digest-checked");
    assert_eq!(upgraded(&newer), newer);
}

/// Every shipped file is in version 2, and rewriting it changes nothing.
#[test]
fn shipped_files_are_in_version_2() {
    for path in shipped() {
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(text.contains("\n  language 2\n") || path.ends_with("advice.wherefore"), "{path:?}");
        assert_eq!(upgraded(&text), text, "{path:?}");
    }
}

/// A row that was not read allows a number that nobody knows: the same in both versions where the row is the same, however the
/// file around it moved; its own where the row is another, even at the same place of the file.
#[rstest]
#[case::a_comment_moves_it("# One line more.\n", "model year 1996 or later", "\"1\"", true)]
#[case::another_text("", "model year 1996 or later", "\"2\"", false)]
#[case::other_vehicles("", "model year 1997 or later", "\"1\"", false)]
fn a_number_that_was_not_read_is_one_number_of_two_versions(
    #[case] comment: &str,
    #[case] which: &str,
    #[case] place: &str,
    #[case] equal: bool,
) {
    let version = |comment: &str, which: &str, place: &str| {
        program(&format!(
            "{comment}limit\n  - {which}: not read\n  - model year 1995 or earlier: none\n  per ex {place}\n\
             clause readiness on readiness\n  reject where over the limit\n  \"Too many.\"\n  per ex\n"
        ))
    };
    let first = version("", "model year 1996 or later", "\"1\"");
    let second = version(comment, which, place);
    let compared = analysis::compare(&on(&first, "2010-01-01"), &on(&second, "2010-01-01")).unwrap();
    assert_eq!(compared.is_equal(), equal);
}
