//! Mutants of what a program names in lists: ends of runs of codes, words of a test, monitors of counts, excuses, limits
//! and tables. Each is made where it can be, and caught by the vectors of its program, judged by the interpreter alone.
//! What must be caught: issue 3, item 8. Programs and results worked out by hand.

use super::diagram::build::{self, flat, incomplete, line, set, word};
use rstest::rstest;
use std::collections::BTreeSet;
use wherefore::internals::analysis::cases::{Change, Vectors, vectors};
use wherefore::internals::model::{CodeGroup, CodeRange, Fact, Monitor, Reading, Value};
use wherefore::internals::program::block::Allowance;
use wherefore::internals::program::flat::{Excuse, FlatExcused, FlatLimitRow, Limit};
use wherefore::internals::program::{Condition, FactRef, Flat, How, Test, Topic};
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
