//! Selection of flat programs: dates, publication, drafts, readings and options, ages and parities, adoption, and that
//! the order of items means nothing. The programs are those of `tests/check`; what each rests on is said in its file.

use crate::check::{Folder, good_programs, read};
use proptest::prelude::*;
use rstest::rstest;
use wherefore::internals::check::{check, lint};
use wherefore::internals::model::{Date, Fact, Snapshot, Unit, Value};
use wherefore::internals::program::flat::Line;
use wherefore::internals::program::{
    Condition, FactRef, Flat, Given, HORIZON_YEAR, InForce, Item, Program, Selection, SelectionError, Test, Under,
    dump, epochs, select,
};
use wherefore::internals::ruling::advice_for;
use wherefore::internals::source::Source;
use wherefore::internals::syntax;

const HEAD: &str = "program example \"Example\"\n  authority \"A\"\n  standing checked\nsource ex \"x\" memory\n\
     outcomes pass, reject, fail\ncovers where every vehicle\n";

fn program(text: &str) -> Program {
    let (_, checked) = read("example", text, &());
    let messages: Vec<_> = checked.diagnostics.iter().map(|found| found.message.clone()).collect();
    checked.program.unwrap_or_else(|| panic!("{messages:?}"))
}

fn example(body: &str) -> Program {
    program(&format!("{HEAD}in force from 2002-01-01 through 2019-12-31\n{body}"))
}

fn day(text: &str) -> Date {
    text.parse().unwrap()
}

fn on(program: &Program, date: &str) -> Flat {
    select(program, &Selection::on(day(date))).unwrap()
}

fn take(name: &str, value: &str) -> Under {
    Under { name: name.to_owned(), value: value.to_owned() }
}

fn taking(program: &Program, date: &str, takes: &[(&str, &str)]) -> Flat {
    let takes = takes.iter().map(|(name, value)| take(name, value)).collect();
    select(program, &Selection { takes, ..Selection::on(day(date)) }).unwrap()
}

fn unmet(flat: &Flat) -> Vec<(&str, &Condition<usize>)> {
    flat.lines.iter().map(|line| (line.clause.as_str(), &line.unmet_where)).collect()
}

fn model_years(least: Option<i64>, most: Option<i64>) -> Condition<usize> {
    Condition::Test(Test::Number { fact: FactRef::Known(Fact::ModelYear), least, most })
}

const DATED: &str = "clause one on lamp\n  fail where lamp commanded on\n  from 2010-07-01\n  through 2012-06-30\n";

/// Both ends of a window are included (design, section 4, point 8).
#[rstest]
#[case::day_before("2010-06-30", 0)]
#[case::first_day("2010-07-01", 1)]
#[case::last_day("2012-06-30", 1)]
#[case::day_after("2012-07-01", 0)]
fn windows_hold_both_ends(#[case] date: &str, #[case] lines: usize) {
    assert_eq!(on(&example(DATED), date).lines.len(), lines);
}

#[rstest]
#[case::day_before("2001-12-31", false)]
#[case::first_day("2002-01-01", true)]
#[case::last_day("2019-12-31", true)]
#[case::day_after("2020-01-01", false)]
fn in_force_holds_both_ends(#[case] date: &str, #[case] in_force: bool) {
    let flat = on(&example(DATED), date);
    assert_eq!(flat.in_force.is_yes(), in_force);
    assert_eq!(flat.covers.is_empty(), !in_force, "nothing decides where no version is in force");
}

/// Why no version is in force: after a cited last day the program has ended; before the first day, in a hole, and after a
/// last day for which nothing is cited, the file holds no law.
#[rstest]
#[case::before("2001-12-31", InForce::NotYet { first: day("2002-01-01") }, "2002")]
#[case::in_force("2002-01-01", InForce::Yes, "2002")]
#[case::hole("2010-06-01", InForce::Hole { last: day("2009-12-31"), next: day("2011-01-01") }, "2002 2011")]
#[case::last_day("2019-12-31", InForce::Yes, "2011")]
#[case::after("2020-01-01", InForce::Ended { last: day("2019-12-31") }, "2011")]
fn where_no_version_is_in_force_the_file_says_why(
    #[case] date: &str,
    #[case] expected: InForce,
    #[case] locators: &str,
) {
    let text = format!(
        "{HEAD}in force from 2002-01-01 through 2009-12-31\n  per ex \"2002\"\n\
         in force from 2011-01-01 through 2019-12-31\n  per ex \"2011\"\n"
    );
    let flat = on(&program(&text), date);
    assert_eq!(flat.in_force, expected);
    let cited: Vec<&str> = flat.in_force_basis.iter().map(|citation| citation.locator.as_str()).collect();
    assert_eq!(cited.join(" "), locators);
    assert_eq!(flat.in_force.is_no_law(), !matches!(expected, InForce::Yes | InForce::Ended { .. }));
}

#[test]
fn an_end_for_which_nothing_is_cited_is_no_end() {
    assert_eq!(on(&example(DATED), "2020-01-01").in_force, InForce::NotSaid);
}

const PUBLISHED: &str = "clause one on lamp\n  fail where lamp commanded on\n\
     clause one on lamp\n  fail where hybrid\n  published 2015-03-01\n\
     clause one on lamp\n  fail where plug-in\n  published 2017-03-01\n";

/// Of each id the latest that had been published (design, section 4, point 8; encodings, section 2, row 8).
#[rstest]
#[case::nothing_published_yet(Some("2015-02-28"), Fact::LampCommanded)]
#[case::first_known_on_its_day(Some("2015-03-01"), Fact::Hybrid)]
#[case::until_the_next(Some("2017-02-28"), Fact::Hybrid)]
#[case::second_known_on_its_day(Some("2017-03-01"), Fact::PlugIn)]
#[case::everything_known(None, Fact::PlugIn)]
fn the_latest_published_stands(#[case] known_on: Option<&str>, #[case] fact: Fact) {
    let selection = Selection { known_on: known_on.map(day), ..Selection::on(day("2010-01-01")) };
    let flat = select(&example(PUBLISHED), &selection).unwrap();
    assert_eq!(unmet(&flat), [("one", &Condition::Test(Test::Word { fact: FactRef::Known(fact), words: 2 }))]);
}

/// A draft is never in force, only compared; it then stands before what it would change.
#[test]
fn drafts_stand_only_when_asked_for() {
    let program = example(
        "limit\n  - every vehicle: at most 1\nlimit\n  - every vehicle: none\n  draft\n\
         counts supported monitors\nclause one on readiness\n  fail where over the limit\n",
    );
    let rows = |drafts| {
        let flat = select(&program, &Selection { drafts, ..Selection::on(day("2010-01-01")) }).unwrap();
        flat.limits
            .iter()
            .flat_map(|limit| limit.rows.clone())
            .map(|row| format!("{:?}", row.limit))
            .collect::<Vec<_>>()
    };
    assert_eq!(rows(false), ["AtMost { count: 1, only: None }"]);
    assert_eq!(rows(true), ["AtMost { count: 0, only: None }"]);
}

const READINGS: &str = "question doubt \"?\"\n  - reading strict \"s\"\n  - reading lenient \"l\"\n  taken strict \"so\"\n\
     option allowance \"?\": no-allowance, allowance-taken\n  chosen no-allowance\n\
     clause one on lamp\n  fail where hybrid\n  under doubt strict\n\
     clause one on lamp\n  reject where hybrid\n  under doubt lenient\n\
     clause two on other\n  fail where plug-in\n  under allowance allowance-taken\n";

#[rstest]
#[case::as_the_file_says(&[], &[("one", 2, true)])]
#[case::the_other_reading(&[("doubt", "lenient")], &[("one", 1, true)])]
#[case::left_open(&[("doubt", "none")], &[("one", 2, false), ("one", 1, false)])]
#[case::another_value(&[("allowance", "allowance-taken")], &[("one", 2, true), ("two", 2, true)])]
fn readings_and_values(#[case] takes: &[(&str, &str)], #[case] expected: &[(&str, usize, bool)]) {
    let flat = taking(&example(READINGS), "2010-01-01", takes);
    let line = |line: &Line| (line.clause.clone(), line.outcome, line.concerns.is_always());
    let got: Vec<_> = flat.lines.iter().map(line).collect();
    let expected: Vec<_> = expected.iter().map(|(id, outcome, always)| ((*id).to_owned(), *outcome, *always)).collect();
    assert_eq!(got, expected);
}

/// What a block stands under is a set: of two that name the same in another order the one published later stands alone.
#[test]
fn the_order_of_readings_means_nothing() {
    let later = "clause one on lamp\n  fail where plug-in\n  under allowance allowance-taken\n  under doubt strict\n\
                 \x20 published 2015-03-01\n";
    let both = READINGS.replace("  under doubt strict\n", "  under doubt strict\n  under allowance allowance-taken\n");
    let flat = taking(&example(&format!("{both}{later}")), "2010-01-01", &[("allowance", "allowance-taken")]);
    let plug_in = Condition::Test(Test::Word { fact: FactRef::Known(Fact::PlugIn), words: 2 });
    let ones: Vec<_> = unmet(&flat).into_iter().filter(|(clause, _)| *clause == "one").collect();
    assert_eq!(ones, [("one", &plug_in)]);
}

#[test]
fn unknown_takes_are_refused_with_what_there_is() {
    let program = example(READINGS);
    let error = |name, value| {
        select(&program, &Selection { takes: vec![take(name, value)], ..Selection::on(day("2010-01-01")) }).unwrap_err()
    };
    assert_eq!(
        error("dubt", "strict"),
        SelectionError::NoSuchName {
            program: "example".to_owned(),
            name: "dubt".to_owned(),
            known: vec!["doubt".to_owned(), "allowance".to_owned()],
        }
    );
    let SelectionError::NoSuchValue { known, .. } = error("doubt", "stict") else { panic!("another error") };
    assert_eq!(known, ["strict", "lenient", "none"]);
    let SelectionError::NoSuchValue { known, .. } = error("allowance", "none") else { panic!("another error") };
    assert_eq!(known, ["no-allowance", "allowance-taken"], "an option is never open");
}

/// Age is test year less model year, plus what the program adds (encodings, section 2.2; digest states-b.md, section 4).
#[rstest]
#[case::at_most("age is test year less model year", "age at most 3", Some(2007), None)]
#[case::at_least("age is test year less model year", "age at least 4", None, Some(2006))]
#[case::above("age is test year less model year", "age above 25", None, Some(1984))]
#[case::through("age is test year less model year", "age 8 through 11", Some(1999), Some(2002))]
#[case::plus_one("age is test year less model year plus 1", "age at least 4", None, Some(2007))]
fn ages_are_windows_of_model_years(
    #[case] age: &str,
    #[case] test: &str,
    #[case] least: Option<i64>,
    #[case] most: Option<i64>,
) {
    let program = example(&format!("{age}\nclause one on other\n  fail where {test}\n"));
    assert_eq!(unmet(&on(&program, "2010-12-31")), [("one", &model_years(least, most))]);
}

/// With two ways of counting ages left open, both windows stay, each under its reading.
#[test]
fn an_age_under_an_open_question_is_both_windows() {
    let program = example(
        "question count \"?\"\n  - reading plain \"p\"\n  - reading ordinal \"o\"\n  taken none \"not said\"\n\
         age is test year less model year\n  under count plain\n\
         age is test year less model year plus 1\n  under count ordinal\n\
         clause one on other\n  fail where age at most 3\n",
    );
    let reading = |reading| Condition::Test(Test::Reading { question: 0, reading });
    let expected = Condition::Any(vec![
        Condition::All(vec![reading(0), model_years(Some(2007), None)]),
        Condition::All(vec![reading(1), model_years(Some(2008), None)]),
    ]);
    assert_eq!(unmet(&on(&program, "2010-06-01")), [("one", &expected)]);
    let taken = taking(&program, "2010-06-01", &[("count", "ordinal")]);
    assert_eq!(unmet(&taken), [("one", &model_years(Some(2008), None))]);
}

/// The law is that of the date asked for; ages are counted from the visit (design, section 4, point 8).
#[test]
fn windows_follow_the_date_asked_for_and_ages_the_visit() {
    let program = example(
        "age is test year less model year\nclause one on other\n  fail where age at most 3\n  from 2010-01-01\n",
    );
    let selection = Selection { test_date: day("2009-12-31"), ..Selection::on(day("2010-01-01")) };
    assert_eq!(unmet(&select(&program, &selection).unwrap()), [("one", &model_years(Some(2006), None))]);
}

#[rstest]
#[case::same_in_an_even_year("model year and test year have the same parity", "2010-06-01", Some(true))]
#[case::same_in_an_odd_year("model year and test year have the same parity", "2011-06-01", Some(false))]
#[case::different("model year and test year have different parity", "2010-06-01", Some(false))]
#[case::of_the_model_year("model year is odd", "2010-06-01", Some(false))]
fn parities(#[case] test: &str, #[case] date: &str, #[case] even: Option<bool>) {
    let program = example(&format!("clause one on other\n  fail where {test}\n"));
    let expected = Condition::Test(Test::ModelYearIsEven(even.unwrap()));
    assert_eq!(unmet(&on(&program, date)), [("one", &expected)]);
}

#[rstest]
#[case::even_year("test year is even", "2010-06-01", true)]
#[case::odd_year("test year is even", "2011-06-01", false)]
#[case::the_date_itself("test date 2011-06-01 or later", "2011-06-01", true)]
#[case::the_day_before("test date 2011-06-01 or later", "2011-05-31", false)]
fn what_the_test_date_settles(#[case] test: &str, #[case] date: &str, #[case] holds: bool) {
    let flat = on(&example(&format!("clause one on other\n  fail where {test}\n")), date);
    let expected = if holds { Condition::always() } else { Condition::never() };
    assert_eq!(unmet(&flat), [("one", &expected)]);
}

/// Bounds are whole base units: *above* leaves the number out, *at least* takes it in (design, section 3).
#[rstest]
#[case::above("gross weight above 8500 lb", Some(Unit::Pound.scale() * 8500 + 1), None)]
#[case::below("gross weight below 8500 lb", None, Some(Unit::Pound.scale() * 8500 - 1))]
#[case::at_least("gross weight at least 8500 lb", Some(Unit::Pound.scale() * 8500), None)]
#[case::kilograms("gross weight at most 3500 kg", None, Some(350_000_000_000))]
#[case::one_unit_for_both("gross weight 8501 through 9000 lb", Some(Unit::Pound.scale() * 8501), Some(Unit::Pound.scale() * 9000))]
fn bounds_in_base_units(#[case] test: &str, #[case] least: Option<i64>, #[case] most: Option<i64>) {
    let program = example(&format!("clause one on other\n  fail where {test}\n"));
    let expected = Condition::Test(Test::Number { fact: FactRef::Known(Fact::GrossWeight), least, most });
    assert_eq!(unmet(&on(&program, "2010-01-01")), [("one", &expected)]);
}

/// Gives way: to a clause, to any outcome, and only under a reading (design, section 4, points 6 and 10).
#[test]
fn gives_way_is_resolved_to_lines() {
    let program = example(
        "clause a on lamp\n  fail where hybrid\nclause b on other\n  reject where plug-in\n  gives way to any fail\n\
         clause c on readiness\n  reject where hybrid and plug-in\n\
         question order \"?\"\n  - reading first \"f\"\n    c gives way to b\n  - reading second \"s\"\n    b gives way to c\n\
         \x20 taken none \"?\"\n",
    );
    let reading = |reading| Condition::Test(Test::Reading { question: 0, reading });
    let ways = |flat: &Flat| flat.lines.iter().map(|line| line.gives_way.clone()).collect::<Vec<_>>();
    let flat = on(&program, "2010-01-01");
    assert_eq!(ways(&flat), [vec![], vec![(0, Condition::always()), (2, reading(1))], vec![(1, reading(0))]]);
    let taken = taking(&program, "2010-01-01", &[("order", "first")]);
    assert_eq!(ways(&taken), [vec![], vec![(0, Condition::always())], vec![(1, Condition::always())]]);
}

/// Findings stand after those they refer to, limits and counts followed.
#[test]
fn findings_refer_to_earlier_ones() {
    let flat = on(
        &example(
            "finding a where not b\nfinding b where over the limit\nfinding c where hybrid\n\
             limit\n  - c: none\n  - not c: at most 1\ncounts supported monitors\nexcuses catalyst where d\n\
             finding d where plug-in\nclause one on other\n  fail where a\n",
        ),
        "2010-01-01",
    );
    let ids: Vec<_> = flat.findings.iter().map(|(id, _)| id.as_str()).collect();
    assert_eq!(ids, ["c", "d", "b", "a"]);
}

#[rstest]
#[case::no_ages("clause one on other\n  fail where hybrid\n  from 2010-07-01\n", &["2002-01-01", "2010-07-01"], "2019-12-31")]
#[case::a_finding_begins("finding f where hybrid\n  from 2005-01-01\n", &["2002-01-01", "2005-01-01"], "2019-12-31")]
#[case::a_publication_that_changes_nothing("clause one on other\n  fail where hybrid\n  published 2005-01-01\n", &["2002-01-01"], "2019-12-31")]
fn epochs_are_cut_where_something_changes(#[case] body: &str, #[case] starts: &[&str], #[case] end: &str) {
    let runs = epochs(&example(body));
    let got: Vec<String> = runs.iter().map(|run| run.from.to_string()).collect();
    assert_eq!(got, starts);
    assert_eq!(runs.last().unwrap().through, day(end));
}

/// Ages cut at each first of January; an open program is looked at through the horizon.
#[test]
fn epochs_of_an_open_program_with_ages() {
    let program = program(&format!(
        "{HEAD}in force from 2030-05-01\nage is test year less model year\nclause one on other\n  fail where age at most 3\n"
    ));
    let runs = epochs(&program);
    let starts: Vec<String> = runs.iter().map(|run| run.from.to_string()).collect();
    assert_eq!(starts, ["2030-05-01", "2031-01-01", "2032-01-01", "2033-01-01", "2034-01-01", "2035-01-01"]);
    assert_eq!(runs.last().unwrap().through, Date::new(HORIZON_YEAR, 12, 31).unwrap());
    assert!(runs.windows(2).all(|pair| pair[0].through.tomorrow().unwrap() == pair[1].from), "runs leave no day out");
}

fn texts(program: &Program) -> Vec<String> {
    epochs(program).iter().map(|run| dump(&select(program, &Selection::on(run.from)).unwrap())).collect()
}

/// Adopting a program and nothing else gives the same flat program, once or twice over (encodings, section 7, risk 7).
#[test]
fn flattening_twice_is_flattening_once() {
    let folder = Folder::new(&["points", "patterns"]);
    let rest = |text: &String| text.lines().skip(1).map(str::to_owned).collect::<Vec<_>>();
    for (name, text) in good_programs() {
        let original = read(&name, &text, &folder).1.program.unwrap();
        let adopter = format!("program adopter \"Adopter\"\n  authority \"A\"\nadopts {name} as amended\n");
        let once = read("adopter", &adopter, &folder).1.program.unwrap();
        let twice = {
            let first = std::sync::Arc::new(once.clone());
            let again = "program again \"Again\"\n  authority \"A\"\nadopts adopter as amended\n";
            read("again", again, &Only(first)).1.program.unwrap()
        };
        let expected: Vec<_> = texts(&original).iter().map(rest).collect();
        assert!(!expected.is_empty());
        assert_eq!(expected, texts(&once).iter().map(rest).collect::<Vec<_>>(), "{name}");
        assert_eq!(expected, texts(&twice).iter().map(rest).collect::<Vec<_>>(), "{name}");
        assert!(twice.blocks.iter().all(|block| block.origin.program != "again"), "every block keeps its origin");
        assert!(once.cases.is_empty() && once.acknowledged.is_empty(), "cases are not adopted");
    }
}

struct Only(std::sync::Arc<Program>);

impl wherefore::internals::check::Adopt for Only {
    fn program(&self, _: &str) -> wherefore::internals::check::Adoption {
        wherefore::internals::check::Adoption::Found { program: self.0.clone(), depth: 1 }
    }
    fn table(&self, _: &str) -> Option<String> {
        None
    }
}

/// What replaces a clause from a day leaves the adopted one before it.
#[test]
fn replacing_from_a_day_leaves_the_rest() {
    let folder = Folder::new(&["points"]);
    let text = "program example \"E\"\n  authority \"A\"\nsource ex \"x\" memory\noutcomes pass, reject, fail\n\
         in force from 2002-01-01\nadopts point-08-dates as amended\nreplaces clause readiness on readiness\n\
         \x20 fail where over the limit\n  \"Mine.\"\n  from 2015-01-01\n  through 2016-12-31\n";
    let program = read("example", text, &folder).1.program.unwrap();
    let outcome = |date: &str| {
        let flat = on(&program, date);
        let line = flat.lines.iter().find(|line| line.clause == "readiness").unwrap().clone();
        (flat.outcomes[line.outcome].name.clone(), line.origin.program)
    };
    let theirs = ("reject".to_owned(), "point-08-dates".to_owned());
    let mine = ("fail".to_owned(), "example".to_owned());
    assert_eq!(outcome("2014-12-31"), theirs);
    assert_eq!(outcome("2015-01-01"), mine);
    assert_eq!(outcome("2016-12-31"), mine);
    assert_eq!(outcome("2017-01-01"), theirs);
}

/// As it stood: later amendments and later publications do not follow; no adopted window is left.
#[test]
fn as_it_stood_is_frozen() {
    let folder = Folder::new(&["points"]);
    let text = folder.text("point-09b-as-it-stood.wherefore").unwrap();
    let program = read("point-09b-as-it-stood", &text, &folder).1.program.unwrap();
    let adopted: Vec<_> = program.blocks.iter().filter(|block| block.origin.program == "point-08-dates").collect();
    assert!(adopted.iter().all(|block| block.window.from.is_none() && block.window.through.is_none()));
    assert!(adopted.iter().all(|block| block.published.is_none() && !block.draft));
    assert_eq!(adopted.iter().filter(|block| matches!(block.item, Item::Limit { .. })).count(), 1);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// The order of items means nothing (design, section 4; encodings, section 7, risk 7).
    #[test]
    fn the_order_of_items_changes_nothing(
        which in 0usize..37,
        seed in proptest::collection::vec(any::<u32>(), 80),
    ) {
        let folder = Folder::new(&["points", "patterns"]);
        let all = good_programs();
        let (name, text) = &all[which % all.len()];
        let (file, checked) = read(name, text, &folder);
        let mut turned = file.clone();
        let mut keyed: Vec<_> = turned.items.drain(..).zip(seed.iter().cycle()).collect();
        keyed.sort_by_key(|(_, key)| **key);
        turned.items = keyed.into_iter().map(|(item, _)| item).collect();
        let program = checked.program.unwrap();
        let again = check(&turned, &folder).program.unwrap();
        prop_assert_eq!(epochs(&program), epochs(&again));
        prop_assert_eq!(texts(&program), texts(&again), "{}", name);
    }

    /// No text makes the checker, selection or the lints stop: lines of good programs taken out, doubled, mixed.
    #[test]
    fn mangled_programs_are_told_of_and_nothing_stops(
        which in 0usize..37,
        other in 0usize..37,
        cuts in proptest::collection::vec((0usize..120, 0usize..4), 1..12),
    ) {
        let folder = Folder::new(&["points", "patterns"]);
        let all = good_programs();
        let mut lines: Vec<String> = all[which % all.len()].1.lines().map(str::to_owned).collect();
        let strange: Vec<String> = all[other % all.len()].1.lines().map(str::to_owned).collect();
        for (at, how) in cuts {
            let at = at % lines.len();
            match how {
                0 => { lines.remove(at); }
                1 => { let line = lines[at].clone(); lines.insert(at / 2, line); }
                2 => lines[at] = strange[at % strange.len()].clone(),
                _ => lines[at] = lines[at].replace(' ', "  ").replace("from", "through").replace('1', "9"),
            }
        }
        let text = lines.join("\n");
        let parsed = syntax::parse(&Source::new("mangled", &text));
        let checked = check(&parsed.file, &folder);
        prop_assert_eq!(&checked.diagnostics, &check(&parsed.file, &folder).diagnostics, "the same text, the same messages");
        for found in &checked.diagnostics {
            let place = found.labels[0].span;
            prop_assert!(place.start <= place.end && place.end as usize <= text.len(), "{}", found.message);
        }
        if let Some(program) = checked.program {
            prop_assert_eq!(texts(&program), texts(&program));
            let found = lint::silence(&program, lint::lint(&program, &parsed.file), &["check"]);
            prop_assert!(found.iter().all(|one| one.help.is_some()));
        }
    }
}

/// Advice is resolved by the date of the visit like every block (`grammar/language.md`): with ages counted as test year less
/// model year plus 1, a car of 2015 is six in 2020 and five in 2019; 2015 and 2019 are odd.
#[rstest]
#[case::old_enough("age at least 6", "2020-06-01", true)]
#[case::a_year_too_young("age at least 6", "2019-06-01", false)]
#[case::both_years_odd("model year and test year have the same parity", "2019-06-01", true)]
#[case::one_of_them_odd("model year and test year have the same parity", "2020-06-01", false)]
#[case::the_visit_in_an_even_year("test year is even", "2020-06-01", true)]
#[case::the_visit_in_an_odd_year("test year is even", "2019-06-01", false)]
fn advice_goes_by_the_date_of_the_visit(#[case] condition: &str, #[case] date: &str, #[case] is_for_it: bool) {
    let program = program(&format!(
        "{HEAD}in force from 2002-01-01\nage is test year less model year plus 1\nsource pr \"practice\" practice\n\
         advice on catalyst\n  \"steady driving\"\n  where {condition}\n  per pr\n"
    ));
    let mut car = Snapshot::default();
    car.set(Fact::ModelYear, Value::Number(2015));
    let flat = on(&program, date);
    let advice = advice_for(&flat, &Given::of(&flat, &car).unwrap(), &program);
    assert_eq!(advice.len(), usize::from(is_for_it));
    assert!(advice.iter().all(|advice| advice.turns_on.is_empty()), "{advice:?}");
}
