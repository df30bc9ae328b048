//! Why a condition holds, does not hold, or is open: what is named is what it turns on, and all of it.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests may stop at the first wrong thing")]

use super::*;
use crate::model::{
    CodeGroup, CodeList, CodeRange, Fact, Monitor, MonitorSet, MonitorState, Snapshot, TroubleCode, Value,
};
use crate::program::block::Allowance;
use crate::program::examples::{example, line, origin, word};
use crate::program::flat::{CountRule, Excuse, FlatExcused, FlatLimitRow, FlatRow, FlatTable, Limit};
use crate::program::{Condition, FactRef, How, Test};
use rstest::rstest;
use std::collections::BTreeSet;

use Truth::{False as F, True as T, Unknown as U};

fn of_facts<const N: usize>(facts: [Fact; N]) -> BTreeSet<Cause> {
    facts.into_iter().map(|fact| Cause::Fact(FactRef::Known(fact))).collect()
}

fn counting(monitors: MonitorSet) -> CountRule {
    CountRule { condition: Condition::always(), monitors, unsupported_as_incomplete: false, basis: Vec::new() }
}

fn excusing(which: FlatExcused) -> Excuse {
    Excuse { condition: Condition::always(), which, basis: Vec::new(), origin: origin() }
}

fn why(flat: &Flat, snapshot: &Snapshot, condition: &Condition<usize>) -> (Truth, BTreeSet<Cause>) {
    let given = Given::of(flat, snapshot).unwrap();
    let walk = Walk::new(flat, &given, &[]);
    (walk.truth(condition), causes_of(&walk, condition))
}

fn open_on(flat: &Flat, snapshot: &Snapshot, place: usize) -> Option<BTreeSet<Cause>> {
    match &interpret(flat, &Given::of(flat, snapshot).unwrap()).lines[place].state {
        LineState::Undetermined { on } => Some(on.clone()),
        _ => None,
    }
}

/// A line gives way to a second, which gives way to a third: what the third turns on is what the first turns on.
#[test]
fn what_a_line_turns_on_is_followed_from_line_to_line() {
    let mut flat = example();
    flat.lines = vec![
        line("first", 1, Condition::always()),
        line("second", 1, Condition::always()),
        line("third", 2, word(Fact::Hybrid, "yes")),
    ];
    flat.lines[0].gives_way = vec![(1, Condition::always())];
    flat.lines[1].gives_way = vec![(2, Condition::always())];
    let hybrid = Some(BTreeSet::from([Cause::Fact(FactRef::Known(Fact::Hybrid))]));
    assert_eq!(
        [0, 1, 2].map(|place| open_on(&flat, &Snapshot::default(), place)),
        [hybrid.clone(), hybrid.clone(), hybrid]
    );
    let mut known = Snapshot::default();
    known.set_word(Fact::Hybrid, "no");
    assert_eq!([0, 1, 2].map(|place| open_on(&flat, &known, place)), [None, None, None]);
}

/// It does not turn on a line that it gives way to only where it surely does not.
#[rstest]
#[case::surely_not("no", &[Fact::LampCommanded])]
#[case::surely("yes", &[Fact::LampCommanded, Fact::PlugIn])]
fn a_line_that_it_does_not_give_way_to_is_not_looked_at(#[case] hybrid: &str, #[case] expected: &[Fact]) {
    let mut flat = example();
    flat.lines = vec![line("first", 1, word(Fact::LampCommanded, "yes")), line("second", 2, word(Fact::PlugIn, "yes"))];
    flat.lines[0].gives_way = vec![(1, word(Fact::Hybrid, "yes"))];
    let mut snapshot = Snapshot::default();
    snapshot.set_word(Fact::Hybrid, hybrid);
    let expected = expected.iter().map(|fact| Cause::Fact(FactRef::Known(*fact))).collect();
    assert_eq!(open_on(&flat, &snapshot, 0), Some(expected));
}

/// A vehicle without the list has no code on any: the rows have no part in it.
#[test]
fn a_list_that_is_not_there_is_reason_enough() {
    let rows = vec![FlatRow {
        condition: word(Fact::Hybrid, "yes"),
        codes: vec![CodeRange { first: 0x0420, last: 0x0420, digits_only: false }],
        excused: MonitorSet::EMPTY,
    }];
    let flat = Flat { tables: vec![FlatTable { id: "listed".to_owned(), rows }], ..example() };
    let mut snapshot = Snapshot::default();
    snapshot.set_word(Fact::Hybrid, "no");
    snapshot.readings.insert(Fact::PermanentCodes, crate::model::Reading::NotOnVehicle);
    for how in [How::Any, How::No, How::Only] {
        let condition = Condition::Test(Test::CodesOfTable { list: Fact::PermanentCodes, how, table: 0 });
        assert_eq!(why(&flat, &snapshot, &condition), (F, of_facts([Fact::PermanentCodes])), "{how:?}");
    }
}

/// Limits whose rows ask for limits: however many, each is looked at once, and what the first turns on is what the last does.
#[test]
fn limits_of_limits_are_looked_at_once() {
    let asks = |place: usize| Condition::Test(Test::Finding(place));
    let row = |condition, count| FlatLimitRow {
        condition,
        limit: Allowance::AtMost { count, only: None },
        basis: Vec::new(),
        origin: origin(),
    };
    let mut flat = example();
    flat.findings = vec![("f0".to_owned(), word(Fact::Hybrid, "yes"))];
    for place in 0..200 {
        let not = Condition::Not(Box::new(asks(place)));
        flat.limits.push(Limit { id: format!("l{place}"), rows: vec![row(asks(place), 1), row(not, 0)] });
        flat.findings.push((format!("f{}", place + 1), Condition::Test(Test::Limit { limit: place, within: true })));
    }
    let monitors = MonitorSet::EMPTY.with(Monitor::Catalyst);
    flat.counts.push(counting(monitors));
    let mut snapshot = Snapshot::default();
    snapshot.set_word(Fact::Monitor(Monitor::Catalyst), "incomplete");
    assert_eq!(why(&flat, &snapshot, &asks(200)), (U, of_facts([Fact::Hybrid])));
}

/// A row of a table that excuses no monitor has no part in a count.
#[test]
fn a_row_that_excuses_nothing_is_no_part_of_a_count() {
    let row = |fact, excused, codes| FlatRow { condition: word(fact, "yes"), excused, codes };
    let catalyst = MonitorSet::EMPTY.with(Monitor::Catalyst);
    let codes = vec![CodeRange { first: 0x0420, last: 0x0420, digits_only: false }];
    let mut flat = example();
    let rows = vec![row(Fact::PlugIn, MonitorSet::EMPTY, codes), row(Fact::Hybrid, catalyst, Vec::new())];
    flat.tables = vec![FlatTable { id: "listed".to_owned(), rows }];
    flat.counts.push(counting(catalyst));
    flat.excuses.push(excusing(FlatExcused::Table(0)));
    let mut snapshot = Snapshot::default();
    snapshot.set_word(Fact::Monitor(Monitor::Catalyst), "incomplete");
    let condition = Condition::Test(Test::Count { states: MonitorState::Incomplete.bit(), least: Some(1), most: None });
    assert_eq!(why(&flat, &snapshot, &condition), (U, of_facts([Fact::Hybrid])));
}

/// A code is on no list where the row that holds it is of other vehicles; a row without it has no part in that.
#[test]
fn why_no_code_is_on_a_list() {
    let row = |condition, code| FlatRow {
        condition,
        codes: vec![CodeRange { first: code, last: code, digits_only: false }],
        excused: MonitorSet::EMPTY,
    };
    let mut flat = example();
    flat.tables = vec![FlatTable {
        id: "listed".to_owned(),
        rows: vec![row(word(Fact::Hybrid, "yes"), 0x0420), row(word(Fact::PlugIn, "yes"), 0x0171)],
    }];
    let mut snapshot = Snapshot::default();
    snapshot.set_word(Fact::Hybrid, "no");
    snapshot.set_word(Fact::PlugIn, "yes");
    let codes = BTreeSet::from([TroubleCode::obd(0x0420)]);
    snapshot.set(Fact::StoredCodes, Value::Codes(CodeList { codes, may_hold_more: false }));
    let given = Given::of(&flat, &snapshot).unwrap();
    let walk = Walk::new(&flat, &given, &[]);
    let both = [Fact::StoredCodes, Fact::Hybrid].map(|fact| Cause::Fact(FactRef::Known(fact)));
    for (how, truth) in [(How::Any, F), (How::No, T), (How::Only, F)] {
        let condition = Condition::Test(Test::CodesOfTable { list: Fact::StoredCodes, how, table: 0 });
        assert_eq!(walk.truth(&condition), truth);
        assert_eq!(causes_of(&walk, &condition), BTreeSet::from(both.clone()), "{how:?}");
    }
}

/// Of a vehicle that does not answer no list was read: whether it has one is still to be learned.
#[test]
fn a_list_that_may_be_missing_is_not_settled() {
    let mut silent = Snapshot::default();
    silent.set_word(Fact::Communication, "none");
    let given = Given::of(&example(), &silent).unwrap();
    assert!(!given.facts.is_settled(Fact::PermanentCodes), "{:?}", given.facts.get(Fact::PermanentCodes));
    let mut flat = example();
    flat.lines = vec![line("absent", 1, Condition::Test(Test::Present { fact: Fact::PermanentCodes, is: false }))];
    let codes = BTreeSet::from([Cause::Fact(FactRef::Known(Fact::PermanentCodes))]);
    assert_eq!(open_on(&flat, &silent, 0), Some(codes));
}

/// However long a chain of named conditions is, it turns on what its first one asks.
#[rstest]
#[case::none(0)]
#[case::as_long_as_is_followed_at_once(31)]
#[case::one_more(32)]
#[case::two_more(33)]
#[case::twice(64)]
#[case::beyond_it(65)]
#[case::long(2_000)]
fn chains_of_named_conditions_are_followed(#[case] long: usize) {
    let mut flat = example();
    flat.findings = vec![("first".to_owned(), word(Fact::Hybrid, "yes"))];
    flat.findings.extend((0..long).map(|place| (format!("f{place}"), Condition::Test(Test::Finding(place)))));
    let last = Condition::Test(Test::Finding(long));
    assert_eq!(why(&flat, &Snapshot::default(), &last), (U, of_facts([Fact::Hybrid])));
    let given = Given::of(&flat, &Snapshot::default()).unwrap();
    let leaves = explain(&Walk::new(&flat, &given, &[]), &last);
    assert_eq!(leaves.len(), 1, "{leaves:?}");
    // Conditions are followed thirty-two deep before one stands for itself.
    let expected = if long < 32 {
        &Test::Word { fact: FactRef::Known(Fact::Hybrid), words: 2 }
    } else {
        &Test::Finding(long - 32)
    };
    assert_eq!(leaves[0].test, expected);
}

/// Where no row of a limit is the vehicle's, it is neither within it nor over it, since each row is of others.
#[test]
fn a_limit_without_a_row_for_the_vehicle() {
    let row = |fact| FlatLimitRow {
        condition: word(fact, "yes"),
        limit: Allowance::AtMost { count: 0, only: None },
        basis: Vec::new(),
        origin: origin(),
    };
    let flat = Flat {
        limits: vec![Limit { id: "standard".to_owned(), rows: vec![row(Fact::Hybrid), row(Fact::PlugIn)] }],
        ..example()
    };
    let mut snapshot = Snapshot::default();
    snapshot.set_word(Fact::Hybrid, "no");
    snapshot.set_word(Fact::PlugIn, "no");
    for within in [true, false] {
        let condition = Condition::Test(Test::Limit { limit: 0, within });
        assert_eq!(why(&flat, &snapshot, &condition), (F, of_facts([Fact::Hybrid, Fact::PlugIn])));
    }
}

/// A part of a group that was not read is open only where a code that was read may be of it; of a list that was not read, the
/// list is what is open.
#[rstest]
#[case::in_the_part(Some(0x0442), true, false)]
#[case::in_neither(Some(0x0171), false, false)]
#[case::list_not_read(None, false, true)]
fn a_group_read_in_part_is_open_where_a_code_may_be_of_it(
    #[case] code: Option<u16>,
    #[case] is_group: bool,
    #[case] is_list: bool,
) {
    let range = |first, last| vec![CodeRange { first, last, digits_only: false }];
    let group = CodeGroup { ranges: range(0x0420, 0x0439), unread: range(0x0440, 0x0459) };
    let flat = Flat { groups: vec![("some".to_owned(), group)], ..example() };
    let mut snapshot = Snapshot::default();
    if let Some(code) = code {
        let codes = BTreeSet::from([TroubleCode::obd(code)]);
        snapshot.set(Fact::StoredCodes, Value::Codes(CodeList { codes, may_hold_more: false }));
    }
    let condition = Condition::Test(Test::Codes { list: Fact::StoredCodes, how: How::Any, among: Some(0) });
    let (truth, causes) = why(&flat, &snapshot, &condition);
    assert_eq!(truth, if is_group || is_list { U } else { F });
    assert_eq!(causes.contains(&Cause::GroupNotRead(0)), is_group);
    assert_eq!(causes.is_superset(&of_facts([Fact::StoredCodes])), is_list || !is_group);
}

/// Monitors that were incomplete earlier are left out: as long as which those are is not known, it bears; once it is, no more.
#[rstest]
#[case::not_known(None, true)]
#[case::known(Some(MonitorSet::EMPTY.with(Monitor::Evaporative)), false)]
fn which_were_incomplete_earlier_bears_where_it_is_not_known(#[case] earlier: Option<MonitorSet>, #[case] bears: bool) {
    let monitors = MonitorSet::EMPTY.with(Monitor::Catalyst).with(Monitor::Evaporative);
    let mut flat = example();
    flat.counts.push(counting(monitors));
    flat.excuses.push(excusing(FlatExcused::EarlierIncomplete));
    let mut snapshot = Snapshot::default();
    snapshot.set_word(Fact::Monitor(Monitor::Evaporative), "incomplete");
    if let Some(earlier) = earlier {
        snapshot.set(Fact::EarlierIncomplete, Value::Monitors(earlier));
    }
    let condition = Condition::Test(Test::Count { states: MonitorState::Incomplete.bit(), least: Some(1), most: None });
    let (truth, causes) = why(&flat, &snapshot, &condition);
    assert_eq!(truth, U);
    let mut expected = of_facts([Fact::Monitor(Monitor::Catalyst)]);
    if bears {
        expected.extend(of_facts([Fact::EarlierIncomplete]));
    }
    assert_eq!(causes, expected);
}

/// A count turns on the condition of a rule of the count where that decides as the count does, beside the monitors: Kleene's truth
/// of *the rule applies and its monitor is incomplete*.
#[rstest]
#[case::applies_and_is_incomplete(Some("yes"), "incomplete", T, &[Fact::Hybrid, CATALYST])]
#[case::applies_and_is_complete(Some("yes"), "complete", F, &[CATALYST])]
#[case::does_not_apply(Some("no"), "incomplete", F, &[Fact::Hybrid])]
#[case::may_apply(None, "incomplete", U, &[Fact::Hybrid])]
fn a_count_turns_on_whether_its_rule_applies(
    #[case] hybrid: Option<&str>,
    #[case] catalyst: &str,
    #[case] truth: Truth,
    #[case] on: &[Fact],
) {
    let mut flat = example();
    let monitors = [Monitor::Catalyst].into_iter().collect();
    flat.counts = vec![CountRule { condition: word(Fact::Hybrid, "yes"), ..counting(monitors) }];
    let mut snapshot = Snapshot::default();
    snapshot.set_word(CATALYST, catalyst);
    hybrid.into_iter().for_each(|hybrid| snapshot.set_word(Fact::Hybrid, hybrid));
    let states = MonitorState::Incomplete.bit();
    let condition = Condition::Test(Test::Count { states, least: Some(1), most: None });
    let expected = on.iter().map(|fact| Cause::Fact(FactRef::Known(*fact))).collect();
    assert_eq!(why(&flat, &snapshot, &condition), (truth, expected));
}

const CATALYST: Fact = Fact::Monitor(Monitor::Catalyst);
