//! Whole programs: sizes of the known explosions, laws, counts that can be worked out by hand.

use super::build::{flat, incomplete, line, monitor, number, origin, word};
use super::shown;
use crate::kernel::programs::{declared, is};
use rstest::rstest;
use wherefore::internals::analysis::compare;
use wherefore::internals::diagram::count::Count;
use wherefore::internals::diagram::{Compiled, Exact, Node, anything};
use wherefore::internals::model::{Fact, Monitor, Snapshot, Unit};
use wherefore::internals::program::block::{Allowance, DeclaredType};
use wherefore::internals::program::flat::{FlatLimitRow, FlatQuestion, FlatRow, FlatTable, Limit};
use wherefore::internals::program::{Condition, Flat, Given, How, Quantifier, Test, Topic};

// Encodings, section 7, risk 3: twenty independent fail clauses. The unmet diagrams stay one node each, the outcome
// diagram one node a fact.
#[test]
fn twenty_independent_fail_clauses_stay_small() {
    let mut flat = flat();
    for (place, name) in Monitor::all().take(11).enumerate() {
        flat.lines.push(line(&format!("m{place}"), Topic::Other, 2, monitor(name, 4)));
    }
    for (place, bound) in (1..=9).enumerate() {
        let fact = [
            Fact::WarmUps,
            Fact::Odometer,
            Fact::DistanceSinceClear,
            Fact::MinutesSinceClear,
            Fact::GrossWeight,
            Fact::EarlierIncompleteVisits,
            Fact::HoursSincePrevious,
            Fact::DistanceSinceLamp,
            Fact::MinutesSinceLamp,
        ][place];
        flat.lines.push(line(&format!("n{place}"), Topic::Other, 2, number(fact, Some(bound), None)));
    }
    let compiled = Compiled::whole(&flat).unwrap();
    let nodes = compiled.first().unwrap();
    assert_eq!(flat.lines.len(), 20);
    assert!(nodes.unmet.iter().all(|unmet| compiled.compiler.forest.size(*unmet) == 1));
    assert!(compiled.compiler.forest.size(nodes.verdict) <= 20, "{}", compiled.compiler.forest.size(nodes.verdict));
    assert!(compiled.compiler.forest.nodes() < 5_000, "{}", compiled.compiler.forest.nodes());
}

// Encodings, section 2.1: "every monitor that lit the lamp is complete" took 16 nodes interleaved for 8 monitors and 510
// apart; for the eleven of service $01 PID $01 and all other names of the vocabulary it stays at two or three a monitor.
#[test]
fn monitors_then_and_now_stay_adjacent() {
    let mut flat = flat();
    let pair = Test::Pair { quantifier: Quantifier::Every, earlier: Fact::EarlierLampMonitors, states: 3 };
    flat.lines.push(line("same", Topic::Readiness, 2, Condition::Not(Box::new(Condition::Test(pair)))));
    let compiled = Compiled::whole(&flat).unwrap();
    let nodes = compiled.first().unwrap();
    assert_eq!(compiled.compiler.forest.size(nodes.unmet[0]), 64);
}

fn table(rows: usize) -> Flat {
    let mut flat = flat();
    let text = |fact, text: String| Condition::Test(Test::Text { fact, among: vec![text], is: true });
    let rows = (0..rows)
        .map(|row| FlatRow {
            condition: Condition::All(vec![
                text(Fact::Make, format!("make {}", row % 14)),
                text(Fact::Model, format!("model {row}")),
                number(Fact::ModelYear, Some(1996 + row as i64 % 10), Some(2005)),
            ]),
            excused: Monitor::all().filter(|m| m.index() as usize % 5 == row % 5).collect(),
            codes: vec![wherefore::internals::model::CodeRange {
                first: 0x0100 + row as u16,
                last: 0x0104 + row as u16,
                digits_only: false,
            }],
        })
        .collect();
    flat.tables = vec![FlatTable { id: "special".to_owned(), rows }];
    flat.excuses = vec![wherefore::internals::program::flat::Excuse {
        condition: Condition::always(),
        which: wherefore::internals::program::flat::FlatExcused::Table(0),
        basis: Vec::new(),
        origin: origin(),
    }];
    flat.lines.push(line("readiness", Topic::Readiness, 1, incomplete(Some(2), None)));
    let listed = Test::CodesOfTable { list: Fact::StoredCodes, how: How::Any, table: 0 };
    flat.lines.push(line("listed-codes", Topic::StoredCodes, 2, Condition::Test(listed)));
    flat
}

// Encodings, section 7, risk 3: a 200-row table is one derived fact, never a product of rows and codes.
#[test]
fn a_table_of_200_rows_is_one_level() {
    let flat = table(200);
    let compiled = Compiled::whole(&flat).unwrap();
    let listed = compiled
        .compiler
        .space
        .levels
        .iter()
        .find(|level| level.var == wherefore::internals::diagram::level::Var::Listed);
    assert_eq!(listed.unwrap().classes.len(), 201);
    assert!(compiled.compiler.forest.nodes() < 120_000, "{}", compiled.compiler.forest.nodes());
}

// Design, section 8: diagrams have a fixed limit with a message of its own.
#[test]
fn a_spent_budget_is_an_error_of_its_own() {
    let flat = table(200);
    let error = Compiled::of(&[(&flat, &anything(&flat).unwrap())], 500).unwrap_err();
    assert!(error.to_string().contains("500 nodes"), "{error}");
}

// Encodings, section 7, risk 4.
#[rstest]
#[case::words(word(Fact::Fuel, &["diesel"]))]
#[case::number(number(Fact::ModelYear, Some(1996), None))]
#[case::may_be_absent(number(Fact::WarmUps, Some(15), None))]
#[case::count(incomplete(Some(2), None))]
fn x_or_not_x_holds_of_every_vehicle(#[case] x: Condition<usize>) {
    let mut flat = flat();
    let either = Condition::Any(vec![x.clone(), Condition::Not(Box::new(x.clone()))]);
    let both = Condition::All(vec![x.clone(), Condition::Not(Box::new(x))]);
    flat.lines = vec![line("either", Topic::Other, 1, either), line("both", Topic::Other, 2, both)];
    let nodes = Compiled::whole(&flat).unwrap().first().unwrap().clone();
    assert_eq!((nodes.unmet[0], nodes.unmet[1]), (Node::TRUE, Node::FALSE));
}

// Units, model::unit: 8,500 lb is 3,855.535 kg. At most 8,500 lb: 8,501 whole pounds (0 to 8,500) and 3,856 whole
// kilograms (0 to 3,855), zero counted once.
#[test]
fn a_weight_counts_whole_pounds_and_whole_kilograms() {
    let mut flat = flat();
    let most = Unit::Pound.to_base(8500);
    flat.lines.push(line("heavy", Topic::Other, 2, number(Fact::GrossWeight, None, most)));
    let compiled = Compiled::whole(&flat).unwrap();
    let nodes = compiled.first().unwrap();
    let count = compiled.compiler.forest.count(nodes.ruled, &compiled.weights, |value| value == 3);
    assert_eq!(count.to_string(), (8501 + 3856 - 1).to_string());
}

// Catalyst, evaporative and NMHC catalyst incomplete together: model::exclusion, spark and compression monitors exclude
// each other even where no clause asks the ignition.
#[test]
fn monitors_of_both_ignitions_never_meet() {
    let mut flat = flat();
    let both = Condition::All(vec![monitor(Monitor::Catalyst, 4), monitor(Monitor::NmhcCatalyst, 4)]);
    flat.lines.push(line("both", Topic::Other, 2, both));
    let compiled = Compiled::whole(&flat).unwrap();
    let nodes = compiled.first().unwrap();
    assert_eq!(compiled.compiler.forest.reach(nodes.ruled).into_iter().collect::<Vec<_>>(), vec![1, 1023]);
}

/// Fails where an odd number of the declared facts hold: no condition of such a vehicle can be left away.
fn odd(facts: usize) -> Flat {
    let mut odd = Condition::never();
    let mut flat = Flat { counts: Vec::new(), ..flat() };
    for place in 0..facts {
        flat.facts.push(declared(&format!("fact-{place}"), DeclaredType::YesNo));
        let (so, not_so) = (is(place), is(place).negated());
        odd = Condition::Any(vec![Condition::All(vec![odd.clone(), not_so]), Condition::All(vec![odd.negated(), so])]);
    }
    flat.lines.push(line("odd", Topic::Other, 2, odd));
    flat
}

// 32 kinds of vehicles are described one by one; of 64 as many as are told, and how many vehicles are left (`Cover`).
#[rstest]
#[case::all_of_them(6, 32, 0)]
#[case::as_many_as_are_told(7, 48, 16)]
fn so_many_descriptions_are_told(#[case] facts: usize, #[case] told: usize, #[case] left: u64) {
    let odd = odd(facts);
    let none = Flat { lines: Vec::new(), ..odd.clone() };
    let found = compare(&none, &odd).unwrap();
    let [change] = found.changes.as_slice() else { panic!("{:?}", found.changes) };
    assert_eq!((change.cover.cubes.len(), &change.cover.rest), (told, &Count::from(left)));
    assert!(change.cover.cubes.iter().all(|cube| cube.conditions.len() == facts && cube.count == Count::from(1)));
}

// Of what the text leaves open an example shows what is plainest: the first reading, and the least number.
#[test]
fn an_example_is_of_the_first_reading_and_the_least_number() {
    let mut flat = flat();
    let readings = ["strict", "mild", "none"].map(str::to_owned).to_vec();
    flat.questions =
        vec![FlatQuestion { id: "doubt".to_owned(), text: String::new(), readings: readings.clone(), taken: None }];
    for reading in 0..readings.len() {
        let mut lamp = line("lamp", Topic::Lamp, 2, word(Fact::LampCommanded, &["yes"]));
        lamp.concerns = Condition::Test(Test::Reading { question: 0, reading });
        flat.lines.push(lamp);
    }
    let row =
        FlatLimitRow { condition: Condition::always(), limit: Allowance::NotRead, basis: Vec::new(), origin: origin() };
    flat.limits.push(Limit { id: "standard".to_owned(), rows: vec![row] });
    let over = Condition::Test(Test::Limit { limit: 0, within: false });
    flat.lines.push(line("readiness", Topic::Readiness, 1, over));
    let given = Given::of(&flat, &Snapshot::default()).unwrap();
    let (exact, compiled) = Exact::of(&flat, &given).unwrap();
    assert_eq!(exact.possible.len(), 3);
    for (verdict, _, example) in shown(&flat, &exact, &compiled) {
        assert_eq!(example.readings, [("doubt".to_owned(), "strict".to_owned())], "{verdict:?}");
        assert_eq!(example.limits, [("standard row 1".to_owned(), 0)], "{verdict:?}");
    }
}
