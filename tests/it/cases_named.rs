//! Mutants of what a program names in lists: ends of runs of codes, words of a test, monitors of counts, excuses, limits
//! and tables. Each is made where it can be, and caught by the vectors of its program, judged by the interpreter alone.
//! What must be caught: issue 3, item 8. Programs and results worked out by hand.

use super::diagram::build::{self, flat, incomplete, line, set, word};
use super::kernel::programs::declared;
use rstest::rstest;
use std::collections::BTreeSet;
use wherefore::internals::analysis::cases::mutants::{facts_in_words, mutants};
use wherefore::internals::analysis::cases::{Change, Vectors, vectors};
use wherefore::internals::model::{CodeGroup, CodeRange, Fact, Monitor, Reading, Value};
use wherefore::internals::program::block::{Allowance, DeclaredType, Presumed};
use wherefore::internals::program::flat::{Excuse, FlatExcused, FlatLimitRow, FlatRow, FlatTable, Limit, Presumption};
use wherefore::internals::program::{Condition, FactRef, Flat, How, Quantifier, Test, Topic};
use wherefore::internals::ruling::vectors::score;

const UNSUPPORTED: u64 = 1;
const COMPLETE: u64 = 2;

/// The changes of a kind that tell, in words; all of them must be caught.
fn caught(flat: &Flat, kind: &Change) -> (BTreeSet<String>, Vectors) {
    let vectors = vectors(flat).unwrap();
    let score = score(flat, &vectors).unwrap();
    assert!(score.missed.is_empty() && score.disputed.is_empty(), "{score:#?}");
    let own = vectors.effective.iter().filter(|mutant| mutant.change == *kind).map(|mutant| mutant.what.clone());
    (own.collect(), vectors)
}

fn texts(all: &[&str]) -> BTreeSet<String> {
    all.iter().map(|one| (*one).to_owned()).collect()
}

fn with_codes(ranges: Vec<CodeRange>) -> Flat {
    let mut flat = flat();
    flat.groups.push(("some".to_owned(), CodeGroup { ranges, unread: Vec::new() }));
    let condition = Condition::Test(Test::Codes { list: Fact::StoredCodes, how: How::Any, among: Some(0) });
    flat.lines.push(line("codes", Topic::StoredCodes, 2, condition));
    flat
}

fn run(first: u16, last: u16, digits_only: bool) -> CodeRange {
    CodeRange { first, last, digits_only }
}

// The next code after P0439 is P043A where letters count, P0440 where they do not; the one before P0420 is P041F or P0419.
// A run of one code is left out once. Before P0001 there is no code: two bytes of zero are none.
#[rstest]
#[case::digits(vec![run(0x0420, 0x0439, true)], &["from P0419", "from P0421", "through P0438", "through P0440"])]
#[case::letters(vec![run(0x0420, 0x0439, false)], &["from P041F", "from P0421", "through P0438", "through P043A"])]
#[case::one_code(vec![run(0x0420, 0x0420, true)], &["from P0419", "left out", "through P0421"])]
#[case::first_code(vec![run(0x0001, 0x0003, true)], &["from P0002", "through P0002", "through P0004"])]
// What touches another run of the group changes nothing at that end.
#[case::touching(vec![run(0x0420, 0x0429, true), run(0x0430, 0x0439, true)],
    &["from P0419", "from P0421", "2 of codes from P0431", "through P0428", "2 of codes through P0438", "2 of codes through P0440"])]
fn ends_of_runs_of_codes_are_caught(#[case] ranges: Vec<CodeRange>, #[case] expected: &[&str]) {
    let (found, _) = caught(&with_codes(ranges), &Change::CodesChanged);
    let name = |end: &&str| match end.strip_prefix("2 of codes ") {
        Some(end) => format!("code group some: run 2 of codes {end}"),
        None => format!("code group some: run 1 of codes {end}"),
    };
    assert_eq!(found, expected.iter().map(name).collect());
}

// Both sides of both ends are among the vehicles: a code within at the end, and the next without.
#[test]
fn vectors_hold_the_codes_at_the_ends() {
    let (_, vectors) = caught(&with_codes(vec![run(0x0420, 0x0439, true)]), &Change::CodesChanged);
    let codes: BTreeSet<String> = vectors
        .vectors
        .iter()
        .filter_map(|it| match it.example.snapshot.get(Fact::StoredCodes) {
            Some(Reading::Known(Value::Codes(list))) => Some(list.codes.iter().map(ToString::to_string)),
            _ => None,
        })
        .flatten()
        .collect();
    assert!(texts(&["P0419", "P0420", "P0439", "P0440"]).is_subset(&codes), "{codes:?}");
}

// `fuel is gasoline or diesel` names two words; `fuel is not gasoline or diesel` the same two; `is` with one word none.
// *Complete wherever supported* is complete or unsupported.
#[rstest]
#[case::several(word(Fact::Fuel, &["gasoline", "diesel"]), &["without gasoline", "without diesel"])]
#[case::all_others(others_than(&["gasoline", "diesel"]), &["without gasoline", "without diesel"])]
#[case::one(word(Fact::Fuel, &["diesel"]), &[])]
#[case::all_but_one(others_than(&["diesel"]), &[])]
#[case::states_of_a_monitor(build::monitor(Monitor::Catalyst, COMPLETE | UNSUPPORTED), &["without complete", "without unsupported"])]
#[case::states_of_a_count(Condition::Test(Test::Count { states: COMPLETE | UNSUPPORTED, least: Some(11), most: None }), &["without complete", "without unsupported"])]
#[case::texts(Condition::Test(Test::Text { fact: Fact::Make, among: vec!["a".to_owned(), "b".to_owned()], is: true }), &["without \"a\"", "without \"b\""])]
fn words_left_out_of_a_test_are_caught(#[case] condition: Condition<usize>, #[case] expected: &[&str]) {
    let mut flat = flat();
    flat.lines.push(line("some", Topic::Other, 2, condition));
    let (found, _) = caught(&flat, &Change::WordChanged);
    assert_eq!(found, expected.iter().map(|said| format!("clause some, line 1: test 1, {said}")).collect());
}

fn others_than(words: &[&str]) -> Condition<usize> {
    let these: u64 = words.iter().map(|word| Fact::Fuel.word_bit(word).unwrap()).sum();
    Condition::Test(Test::Word { fact: FactRef::Known(Fact::Fuel), words: Fact::Fuel.all_words() & !these })
}

/// Two counted monitors, none of which may be incomplete.
fn two_counted() -> Flat {
    let mut flat = flat();
    flat.counts[0].monitors = set(&[Monitor::Catalyst, Monitor::Evaporative]);
    flat.lines.push(line("readiness", Topic::Readiness, 1, incomplete(Some(1), None)));
    flat
}

// Each of the two left out, and each of the other fourteen of PID $01 counted too.
#[test]
fn monitors_of_a_count_are_caught() {
    let (found, _) = caught(&two_counted(), &Change::MonitorChanged);
    let left_out = found.iter().filter(|what| what.contains("without")).cloned().collect::<BTreeSet<_>>();
    assert_eq!(left_out, texts(&["rule 1 of the count: without catalyst", "rule 1 of the count: without evaporative"]));
    assert_eq!(found.len() - left_out.len(), 14, "{found:#?}");
    assert!(found.contains("rule 1 of the count: with misfire too"), "{found:#?}");
}

// Excused where the visit is a retest: catalyst and evaporative of three counted. Each left out, and the third excused too.
#[test]
fn monitors_of_an_excuse_are_caught() {
    let mut flat = two_counted();
    flat.counts[0].monitors = set(&[Monitor::Catalyst, Monitor::Evaporative, Monitor::SecondaryAir]);
    flat.excuses.push(Excuse {
        condition: word(Fact::Visit, &["retest"]),
        which: FlatExcused::Monitors(set(&[Monitor::Catalyst, Monitor::Evaporative])),
        basis: Vec::new(),
        origin: build::origin(),
    });
    let (found, _) = caught(&flat, &Change::MonitorChanged);
    let of_excuse = found.into_iter().filter(|what| what.starts_with("excuse")).collect::<BTreeSet<_>>();
    let expected = ["excuse 1: with secondary-air too", "excuse 1: without catalyst", "excuse 1: without evaporative"];
    assert_eq!(of_excuse, texts(&expected));
}

// At most one incomplete, only catalyst or evaporative: the list without each of them is another limit.
#[test]
fn monitors_of_a_limit_and_of_a_test_are_caught() {
    let mut flat = two_counted();
    flat.lines.clear();
    let only = set(&[Monitor::Catalyst, Monitor::Evaporative]);
    let row = FlatLimitRow {
        condition: Condition::always(),
        limit: Allowance::AtMost { count: 1, only: Some(only) },
        basis: Vec::new(),
        origin: build::origin(),
    };
    flat.limits.push(Limit { id: "standard".to_owned(), rows: vec![row] });
    flat.lines.push(line("over", Topic::Readiness, 1, Condition::Test(Test::Limit { limit: 0, within: false })));
    let vectors = vectors(&flat).unwrap();
    assert!(score(&flat, &vectors).unwrap().missed.is_empty());
    let changed = vectors.effective.iter().map(|mutant| mutant.what.as_str());
    let of_limit: BTreeSet<&str> =
        changed.filter(|what| what.starts_with("limit") && what.contains("without")).collect();
    assert_eq!(
        of_limit,
        ["limit standard, row 1: without catalyst", "limit standard, row 1: without evaporative"].into()
    );
    flat.lines[0].unmet_where =
        Condition::Test(Test::CountOf { monitors: only, states: COMPLETE, least: Some(1), most: None });
    flat.lines[0].clause = "named".to_owned();
    let (found, _) = caught(&flat, &Change::MonitorChanged);
    let of_test: BTreeSet<String> = found.into_iter().filter(|what| what.starts_with("clause")).collect();
    let expected =
        ["clause named, line 1: test 1, without catalyst", "clause named, line 1: test 1, without evaporative"];
    assert_eq!(of_test, texts(&expected));
}

/// A limit of one row.
fn limited(limit: Allowance) -> Flat {
    let mut flat = two_counted();
    let row = FlatLimitRow { condition: Condition::always(), limit, basis: Vec::new(), origin: build::origin() };
    flat.limits.push(Limit { id: "standard".to_owned(), rows: vec![row] });
    flat
}

// One more and one fewer, none below nothing; and where a list goes with it, the list left out and each of its monitors.
#[rstest]
#[case::one(Allowance::AtMost { count: 1, only: None }, &["allows 0", "allows 2"])]
#[case::none(Allowance::AtMost { count: 0, only: None }, &["allows 1"])]
#[case::only(Allowance::AtMost { count: 0, only: Some(set(&[Monitor::Catalyst, Monitor::EgrVvt])) },
    &["allows 1", "allows any monitor", "without catalyst", "without egr-vvt"])]
#[case::one_complete(Allowance::AtLeastComplete(1), &["asks for 0", "asks for 2"])]
#[case::none_complete(Allowance::AtLeastComplete(0), &["asks for 1"])]
#[case::number_not_seen(Allowance::NotRead, &[])]
fn a_limit_is_moved_by_one_either_way(#[case] limit: Allowance, #[case] expected: &[&str]) {
    let all = mutants(&limited(limit));
    let of_limit = all.iter().filter(|mutant| mutant.change == Change::LimitChanged).map(|mutant| mutant.what.clone());
    let expected = expected.iter().map(|said| format!("limit standard, row 1: {said}"));
    assert_eq!(of_limit.collect::<BTreeSet<_>>(), expected.collect());
}

// By the keys of the snapshot document; several monitors are told as monitors, which is what a person looks up.
#[rstest]
#[case::one_monitor(build::monitor(Monitor::Catalyst, COMPLETE), &["monitors.catalyst"])]
#[case::several(Condition::Test(Test::CountOf { monitors: set(&[Monitor::Catalyst, Monitor::Misfire]), states: COMPLETE, least: Some(1), most: None }),
    &["monitors"])]
#[case::count(incomplete(Some(1), None), &["monitors"])]
#[case::earlier(Condition::Test(Test::Pair { quantifier: Quantifier::Any, earlier: Fact::EarlierIncomplete, states: COMPLETE }),
    &["visit.earlier_incomplete", "monitors"])]
#[case::word(word(Fact::LampCommanded, &["yes"]), &["lamp.commanded"])]
#[case::number(build::number(Fact::ModelYear, Some(2000), None), &["vehicle.model_year"])]
#[case::declared(Condition::Test(Test::Word { fact: FactRef::Declared(0), words: 2 }), &["declared.special"])]
fn the_facts_of_a_test_are_told_by_their_keys(#[case] condition: Condition<usize>, #[case] expected: &[&str]) {
    let mut flat = two_counted();
    flat.facts.push(declared("special", DeclaredType::YesNo));
    let Condition::Test(test) = condition else { panic!("a test") };
    assert_eq!(facts_in_words(&flat, &test), expected);
}

/// Fails what is in a table of one make; where the make is not known, a vehicle is presumed not to be in it.
fn presumed_not_listed() -> Flat {
    let mut flat = flat();
    let condition = Condition::Test(Test::Text { fact: Fact::Make, among: vec!["volta".to_owned()], is: true });
    let row = FlatRow { condition, excused: set(&[]), codes: Vec::new() };
    flat.tables.push(FlatTable { id: "special".to_owned(), rows: vec![row] });
    flat.lines.push(line("listed", Topic::Other, 2, Condition::Test(Test::Listed(0))));
    flat.presumptions.push(Presumption {
        fact: FactRef::Known(Fact::Make),
        value: Presumed::NotListed("special".to_owned()),
        shown: "not listed in special".to_owned(),
        condition: Condition::always(),
        basis: Vec::new(),
    });
    flat
}

// Worked by hand: of a vehicle whose make is not known nothing but the presumption says that it passes, so that leaving it out
// is a change that a vehicle without a make tells.
#[test]
fn a_vehicle_presumed_not_listed_shows_the_presumption() {
    let (found, vectors) = caught(&presumed_not_listed(), &Change::PresumptionDropped);
    assert_eq!(found, texts(&["presumption 1: vehicle.make not listed in special: left out"]));
    let pair = vectors.pairs.iter().find(|pair| pair.test.is_none()).expect("a pair that shows it");
    assert_eq!((pair.facts.as_slice(), pair.answer.as_str()), (&["vehicle.make".to_owned()][..], "verdict"));
    let [used, not] = [pair.holds, pair.fails].map(|at| &vectors.vectors[at]);
    assert_eq!((used.not_known, not.not_known), (Some(0), None));
    assert_eq!((used.example.snapshot.get(Fact::Make), used.expected.len()), (None, 1));
    assert_ne!(used.expected, not.expected);
}
