//! Tests of the interpreter: truth tables, what is not well-formed, presumptions, parts of the text that were not read.
//! The kernel as a whole is tested against a reference in `tests/it/kernel`.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests may stop at the first wrong thing")]

use super::*;
use crate::model::{CodeGroup, CodeList, CodeRange, Fact, Monitor, MonitorSet, Snapshot, TroubleCode, Value};
use crate::program::block::{Allowance, Presumed};
use crate::program::examples::{example, line, origin, word};
use crate::program::flat::{
    Based, CountRule, Excuse, FlatExcused, FlatLimitRow, FlatQuestion, FlatRow, FlatTable, LeftOut, Limit, Presumption,
};
use crate::program::{Condition, FactRef, How, InForce, Test, Verdict};
use rstest::rstest;
use std::collections::BTreeSet;

use Truth::{False as F, True as T, Unknown as U};

/// Kleene's strong tables (S. C. Kleene, Introduction to Metamathematics, section 64; from memory).
#[test]
fn truth_tables() {
    let and = [[F, F, F], [F, U, U], [F, U, T]];
    let or = [[F, U, T], [U, U, T], [T, T, T]];
    for (row, left) in Truth::ALL.into_iter().enumerate() {
        for (column, right) in Truth::ALL.into_iter().enumerate() {
            assert_eq!(left.and(right), and[row][column]);
            assert_eq!(left.or(right), or[row][column]);
        }
    }
    assert_eq!(Truth::ALL.map(Truth::negated), [T, U, F]);
}

fn bound(flat: &Flat, snapshot: &Snapshot) -> BTreeSet<Verdict> {
    verdict(flat, &Given::of(flat, snapshot).unwrap()).to_set()
}

fn outcomes<const N: usize>(places: [usize; N]) -> BTreeSet<Verdict> {
    places.into_iter().map(Verdict::Outcome).collect()
}

/// Programs that `check` refuses still end with an answer: circles are unknown, places out of range are too.
#[test]
fn circles_and_wrong_places_end_with_an_answer() {
    let mut flat = example();
    flat.findings = vec![
        ("itself".to_owned(), Condition::Test(Test::Finding(0))),
        ("later".to_owned(), Condition::Test(Test::Finding(2))),
        ("earlier".to_owned(), Condition::Test(Test::Finding(1))),
    ];
    flat.counts = vec![CountRule {
        condition: Condition::Test(Test::Count { states: 4, least: Some(1), most: None }),
        monitors: MonitorSet::ALL,
        unsupported_as_incomplete: false,
        basis: Vec::new(),
    }];
    for test in [
        Test::Finding(0),
        Test::Finding(1),
        Test::Finding(9),
        Test::Limit { limit: 9, within: true },
        Test::Count { states: 4, least: Some(1), most: None },
    ] {
        flat.lines = vec![line("one", 2, Condition::Test(test.clone()))];
        assert_eq!(bound(&flat, &Snapshot::default()), outcomes([0, 2]), "{test:?}");
    }
    let mut first = line("first", 1, Condition::always());
    let mut second = line("second", 2, Condition::always());
    first.gives_way = vec![(1, Condition::always())];
    second.gives_way = vec![(0, Condition::always())];
    flat.lines = vec![first, second];
    assert_eq!(bound(&flat, &Snapshot::default()), outcomes([0, 1, 2]));
}

/// Long chains of named conditions and of lines that give way need no deep recursion.
#[test]
fn long_chains_end() {
    let mut flat = example();
    flat.findings = vec![("first".to_owned(), word(Fact::LampCommanded, "yes"))];
    for place in 0..20_000 {
        flat.findings.push((format!("f{place}"), Condition::Test(Test::Finding(place))));
    }
    flat.lines = vec![line("last", 2, Condition::Test(Test::Finding(20_000)))];
    let mut lit = Snapshot::default();
    lit.set_word(Fact::LampCommanded, "yes");
    assert_eq!(bound(&flat, &lit), outcomes([2]));
    // A chain of 301 lines, each giving way to the next: every second one stands, the last does.
    flat.lines = (0..301).map(|place| line(&format!("l{place}"), 1 + place % 2, Condition::always())).collect();
    for place in 0..300 {
        flat.lines[place].gives_way = vec![(place + 1, Condition::always())];
    }
    let found = interpret(&flat, &Given::of(&flat, &lit).unwrap());
    let unmet = found.lines.iter().filter(|record| record.state == LineState::Unmet).count();
    assert_eq!((unmet, found.possible.to_set()), (151, outcomes([1])));
}

/// Design, section 4, the example question: two texts rank two clauses in opposite ways. Open, both verdicts are
/// possible and nothing else; the set is exact.
#[test]
fn an_open_question_that_ranks_two_clauses() {
    let mut flat = example();
    let readings = vec!["fail-first".to_owned(), "reject-first".to_owned()];
    flat.questions = vec![FlatQuestion { id: "which".to_owned(), text: String::new(), readings, taken: None }];
    let read = |reading| Condition::Test(Test::Reading { question: 0, reading });
    let mut visit = line("first-visit", 1, Condition::always());
    visit.gives_way = vec![(1, read(0))];
    let mut lamp = line("lamp", 2, word(Fact::LampCommanded, "yes"));
    lamp.gives_way = vec![(0, read(1))];
    flat.lines = vec![visit, lamp];
    let mut lit = Snapshot::default();
    lit.set_word(Fact::LampCommanded, "yes");
    let found = interpret(&flat, &Given::of(&flat, &lit).unwrap());
    assert_eq!((found.possible.to_set(), found.exact), (outcomes([1, 2]), true));
    let on = BTreeSet::from([Cause::Question(0)]);
    assert!(found.lines.iter().all(|record| record.state == LineState::Undetermined { on: on.clone() }));
    flat.questions[0].taken = Some(1);
    let found = interpret(&flat, &Given::of(&flat, &lit).unwrap());
    assert_eq!(found.possible.to_set(), outcomes([1]));
    assert_eq!(found.lines[1].state, LineState::SetAside { by: vec![0] });
}

fn limit_row(limit: Allowance) -> Vec<Limit> {
    let row = FlatLimitRow { condition: Condition::always(), limit, basis: Vec::new(), origin: origin() };
    vec![Limit { id: "standard".to_owned(), rows: vec![row] }]
}

fn monitors_at(catalyst: &str, evaporative: &str) -> Snapshot {
    let mut snapshot = Snapshot::default();
    snapshot.set_word(Fact::Monitor(Monitor::Catalyst), catalyst);
    snapshot.set_word(Fact::Monitor(Monitor::Evaporative), evaporative);
    snapshot
}

/// Design, section 4, point 4, and `program::flat::Limit`: a row that was not read allows an unknown number; with none
/// incomplete the vehicle is within it, and otherwise it is the text that is missing, not a fact.
#[rstest]
#[case::none_incomplete("complete", "unsupported", &[0])]
#[case::one_incomplete("complete", "incomplete", &[0, 2])]
fn a_limit_that_was_not_read(#[case] catalyst: &str, #[case] evaporative: &str, #[case] expected: &[usize]) {
    let mut flat = example();
    let monitors: MonitorSet = [Monitor::Catalyst, Monitor::Evaporative].into_iter().collect();
    flat.counts = vec![CountRule {
        condition: Condition::always(),
        monitors,
        unsupported_as_incomplete: false,
        basis: Vec::new(),
    }];
    flat.limits = limit_row(Allowance::NotRead);
    flat.lines = vec![line("readiness", 2, Condition::Test(Test::Limit { limit: 0, within: false }))];
    let given = Given::of(&flat, &monitors_at(catalyst, evaporative)).unwrap();
    let found = interpret(&flat, &given);
    assert_eq!(found.possible.to_set(), expected.iter().copied().map(Verdict::Outcome).collect());
    if expected.len() == 2 {
        let on = BTreeSet::from([Cause::LimitNotRead { limit: 0, row: 0 }]);
        assert_eq!(found.lines[0].state, LineState::Undetermined { on });
    }
}

/// Encodings, section 2, row 5: leaving a monitor out of the count never satisfies a clause that names it.
#[test]
fn an_excused_monitor_still_counts_where_it_is_named() {
    let mut flat = example();
    let catalyst: MonitorSet = [Monitor::Catalyst].into_iter().collect();
    let condition = Condition::always;
    flat.counts = vec![CountRule {
        condition: condition(),
        monitors: catalyst,
        unsupported_as_incomplete: false,
        basis: Vec::new(),
    }];
    let which = FlatExcused::Monitors(catalyst);
    flat.excuses = vec![Excuse { condition: condition(), which, basis: Vec::new(), origin: origin() }];
    let counted = Condition::Test(Test::Count { states: 4, least: Some(1), most: None });
    flat.lines =
        vec![line("count", 2, counted), line("named", 1, word(Fact::Monitor(Monitor::Catalyst), "incomplete"))];
    assert_eq!(bound(&flat, &monitors_at("incomplete", "complete")), outcomes([1]));
}

/// Code groups: surely in, surely out, in a part that was not read (and not surely in besides).
#[rstest]
#[case::surely_in(&["P0420"], &[2])]
#[case::surely_out(&["P0171"], &[0])]
#[case::not_read(&["P0442"], &[0, 2])]
#[case::not_read_and_surely_in(&["P0442", "P0420"], &[2])]
#[case::none(&[], &[0])]
fn a_code_group_read_in_part(#[case] codes: &[&str], #[case] expected: &[usize]) {
    let mut flat = example();
    let range = |first, last| CodeRange { first, last, digits_only: false };
    let group = CodeGroup { ranges: vec![range(0x0420, 0x0439)], unread: vec![range(0x0440, 0x0459)] };
    flat.groups = vec![("group".to_owned(), group)];
    let any = Test::Codes { list: Fact::StoredCodes, how: How::Any, among: Some(0) };
    flat.lines = vec![line("codes", 2, Condition::Test(any))];
    let mut snapshot = Snapshot::default();
    let codes = codes.iter().map(|code| TroubleCode::parse(code).unwrap()).collect();
    snapshot.set(Fact::StoredCodes, Value::Codes(CodeList { codes, may_hold_more: false }));
    let found = interpret(&flat, &Given::of(&flat, &snapshot).unwrap());
    assert_eq!(found.possible.to_set(), expected.iter().copied().map(Verdict::Outcome).collect());
    if expected.len() == 2 {
        let on = BTreeSet::from([Cause::GroupNotRead(0)]);
        assert_eq!(found.lines[0].state, LineState::Undetermined { on });
    }
}

/// Design, section 4, point 11: presumed not listed, a row that is not determined is not the vehicle's; one that surely
/// is stays so.
#[rstest]
#[case::make_not_known(None, false, &[0, 2])]
#[case::make_not_known_and_presumed(None, true, &[0])]
#[case::listed_and_presumed(Some("subaru"), true, &[2])]
#[case::other_make(Some("example"), false, &[0])]
fn a_vehicle_presumed_in_no_table(#[case] make: Option<&str>, #[case] presumed: bool, #[case] expected: &[usize]) {
    let mut flat = example();
    let among = vec!["subaru".to_owned()];
    let condition = Condition::Test(Test::Text { fact: Fact::Make, among, is: true });
    let codes = vec![CodeRange { first: 0x0420, last: 0x0420, digits_only: false }];
    let excused = MonitorSet::EMPTY;
    flat.tables = vec![FlatTable { id: "table".to_owned(), rows: vec![FlatRow { condition, excused, codes }] }];
    if presumed {
        flat.presumptions = vec![Presumption {
            fact: FactRef::Known(Fact::Make),
            value: Presumed::NotListed("table".to_owned()),
            shown: "not listed".to_owned(),
            condition: Condition::always(),
            basis: Vec::new(),
        }];
    }
    let mut snapshot = Snapshot::default();
    let codes = BTreeSet::from([TroubleCode::obd(0x0420)]);
    snapshot.set(Fact::StoredCodes, Value::Codes(CodeList { codes, may_hold_more: false }));
    if let Some(make) = make {
        snapshot.set(Fact::Make, Value::Text(make.to_owned()));
    }
    for test in [Test::Listed(0), Test::CodesOfTable { list: Fact::StoredCodes, how: How::Any, table: 0 }] {
        flat.lines = vec![line("table", 2, Condition::Test(test))];
        assert_eq!(bound(&flat, &snapshot), expected.iter().copied().map(Verdict::Outcome).collect());
    }
}

/// `program::flat::Flat::left_out`: an outcome on the ladder stands before not-subject, and the gravest first.
#[test]
fn of_rows_that_leave_out_the_gravest_stands() {
    let mut flat = example();
    let row =
        |condition, outcome| LeftOut { condition, outcome, why: String::new(), basis: Vec::new(), origin: origin() };
    flat.left_out = vec![row(Condition::always(), None), row(word(Fact::Hybrid, "yes"), Some(1))];
    flat.lines = vec![line("never", 2, Condition::always())];
    let mut hybrid = Snapshot::default();
    assert_eq!(bound(&flat, &hybrid), BTreeSet::from([Verdict::NotSubject, Verdict::Outcome(1)]));
    hybrid.set_word(Fact::Hybrid, "yes");
    assert_eq!(bound(&flat, &hybrid), outcomes([1]));
    hybrid.set_word(Fact::Hybrid, "no");
    assert_eq!(bound(&flat, &hybrid), BTreeSet::from([Verdict::NotSubject]));
}

/// A row that perhaps holds too and leads to the same turns nothing: by the one that surely holds the vehicle is left out.
#[rstest]
#[case::the_same(Some(1), Some(1), Some(1))]
#[case::less_grave(Some(0), Some(1), Some(1))]
#[case::not_subject(None, Some(1), Some(1))]
#[case::graver(Some(2), Some(1), None)]
fn left_out_by_a_row_that_surely_holds(
    #[case] perhaps: Option<usize>,
    #[case] surely: Option<usize>,
    #[case] by: Option<usize>,
) {
    let row =
        |condition, outcome| LeftOut { condition, outcome, why: String::new(), basis: Vec::new(), origin: origin() };
    let left_out = vec![row(word(Fact::Hybrid, "yes"), perhaps), row(Condition::always(), surely)];
    let flat = Flat { left_out, ..example() };
    let coverage = interpret(&flat, &Given::of(&flat, &Snapshot::default()).unwrap()).coverage;
    let hybrid = BTreeSet::from([Cause::Fact(FactRef::Known(Fact::Hybrid))]);
    let expected = match by {
        Some(row) => Coverage::LeftOut { row, because: BTreeSet::new() },
        None => Coverage::Undetermined { on: hybrid },
    };
    assert_eq!(coverage, expected);
}

/// Design, section 4: a date with no version in force gives not-subject whatever the rest says.
#[test]
fn a_program_not_in_force_concerns_nobody() {
    let flat = Flat { in_force: InForce::NotSaid, lines: vec![line("all", 2, Condition::always())], ..example() };
    let found = interpret(&flat, &Given::of(&flat, &Snapshot::default()).unwrap());
    assert_eq!(found.coverage, Coverage::NotInForce);
    assert_eq!(found.possible, Bound::one(Verdict::NotSubject));
    assert_eq!(found.lines[0].state, LineState::NotCovered);
}

/// A bound is a set of verdicts: against the set of the standard library, over every three of five verdicts.
#[test]
fn bounds_are_sets() {
    let all =
        [Verdict::NotSubject, Verdict::Outcome(0), Verdict::Outcome(1), Verdict::Outcome(126), Verdict::Outcome(127)];
    let chosen = |bits: u32| all.into_iter().enumerate().filter(move |(at, _)| bits >> at & 1 == 1).map(|(_, it)| it);
    for one in 0..32 {
        let (bound, set) = (Bound::from_iter(chosen(one)), BTreeSet::from_iter(chosen(one)));
        assert_eq!(bound.to_set(), set);
        assert!(bound.iter().eq(set.iter().copied()));
        assert_eq!(usize::try_from(bound.len()).unwrap(), set.len());
        assert_eq!(bound.is_empty(), set.is_empty());
        assert_eq!(bound.single(), if set.len() == 1 { set.first().copied() } else { None });
        assert!(all.iter().all(|verdict| bound.contains(*verdict) == set.contains(verdict)));
        for other in 0..32 {
            let (second, other) = (Bound::from_iter(chosen(other)), BTreeSet::from_iter(chosen(other)));
            assert_eq!(bound.is_within(second), set.is_subset(&other));
            assert_eq!(bound.meets(second), !set.is_disjoint(&other));
            let mut joined = bound;
            joined.join(second);
            assert_eq!(joined.to_set(), &set | &other);
        }
    }
}

/// A list of which nothing was read, or only a part: whether a code of a group may be among the rest. Of an empty group none
/// can be; of one whose text was not read some may.
#[rstest]
#[case::empty_group(Some((false, false)), F)]
#[case::group_not_read(Some((false, true)), U)]
#[case::group_read(Some((true, false)), U)]
#[case::group_read_in_part(Some((true, true)), U)]
#[case::any_code(None, U)]
fn codes_that_were_not_read(#[case] group: Option<(bool, bool)>, #[case] expected: Truth) {
    let range = CodeRange { first: 0x0420, last: 0x0439, digits_only: false };
    let ranges = |is: bool| if is { vec![range] } else { Vec::new() };
    let groups = group.map(|(read, unread)| CodeGroup { ranges: ranges(read), unread: ranges(unread) });
    let among = groups.is_some().then_some(0);
    let groups = groups.into_iter().map(|group| ("some".to_owned(), group)).collect();
    let flat = Flat { groups, ..example() };
    let truth = |snapshot: &Snapshot, how| {
        let given = Given::of(&flat, snapshot).unwrap();
        Walk::new(&flat, &given, &[]).truth(&Condition::Test(Test::Codes { list: Fact::StoredCodes, how, among }))
    };
    let mut part = Snapshot::default();
    part.set(Fact::StoredCodes, Value::Codes(CodeList { codes: BTreeSet::new(), may_hold_more: true }));
    let mut whole = Snapshot::default();
    whole.set(Fact::StoredCodes, Value::Codes(CodeList::default()));
    assert_eq!([How::Any, How::No].map(|how| truth(&part, how)), [expected, expected.negated()]);
    assert_eq!([How::Any, How::No, How::Only].map(|how| truth(&whole, how)), [F, T, T]);
}

/// Coverage that is open turns on what may still cover the vehicle, or leave it out; not on a covering block that surely does not
/// hold, nor on one that leaves out nobody of this kind.
#[test]
fn coverage_is_open_on_nothing_that_is_known() {
    let mut flat = example();
    let covers = flat.covers[0].clone();
    let all = [word(Fact::Fuel, "diesel"), word(Fact::Hybrid, "yes")];
    flat.covers = all.into_iter().map(|item| Based { item, ..covers.clone() }).collect();
    let left_out = |condition| LeftOut {
        condition,
        outcome: None,
        why: "elsewhere".to_owned(),
        basis: Vec::new(),
        origin: origin(),
    };
    flat.left_out = vec![left_out(word(Fact::Fuel, "electric")), left_out(word(Fact::Visit, "retest"))];
    let mut car = Snapshot::default();
    car.set_word(Fact::Fuel, "gasoline");
    let found = interpret(&flat, &Given::of(&flat, &car).unwrap());
    let on = [Fact::Hybrid, Fact::Visit].map(|fact| Cause::Fact(FactRef::Known(fact)));
    assert_eq!(found.coverage, Coverage::Undetermined { on: on.into_iter().collect() });
}

/// Each limit of a program is told of, in its order: with two monitors incomplete, within one that allows two and over the others.
#[test]
fn every_limit_is_told_of_in_its_order() {
    let mut flat = example();
    let monitors = [Monitor::Catalyst, Monitor::Evaporative].into_iter().collect();
    let condition = Condition::always();
    flat.counts = vec![CountRule { condition, monitors, unsupported_as_incomplete: false, basis: Vec::new() }];
    for allowed in [[0, 1, 2], [2, 0, 1], [1, 2, 0]] {
        let limits = allowed.into_iter().flat_map(|count| limit_row(Allowance::AtMost { count, only: None }));
        flat.limits = limits.collect();
        let found = interpret(&flat, &Given::of(&flat, &monitors_at("incomplete", "incomplete")).unwrap());
        assert_eq!(found.limits, allowed.map(|count| if count >= 2 { (T, F) } else { (F, T) }));
    }
}
