//! Tests of what is opened for a search, and of when a proviso is met: each value of a small fact.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests may stop at the first wrong thing")]

use super::actions::Action;
use super::assume::{Kind, Proviso};
use super::case::Case;
use super::search::Search;
use super::{branch, opened};
use crate::diagram::level::{Members, Var};
use crate::diagram::{BUDGET, Compiled};
use crate::model::facts::{Possible, Span};
use crate::model::{CodeList, Fact, Monitor, Snapshot, TroubleCode};
use crate::program::examples::{example, line, word};
use crate::program::{Class, Condition, FactRef, Flat, Given, Test};
use rstest::rstest;
use std::collections::BTreeSet;

const MONITOR: Monitor = Monitor::EgrVvt;

fn given(lamp: &str, states: u64) -> Given {
    let mut vehicle = Snapshot::default();
    vehicle.set_word(Fact::LampCommanded, lamp);
    let mut given = Given::of(&example(), &vehicle).unwrap();
    given.facts.put(Fact::Monitor(MONITOR), Possible::Words(states));
    given
}

fn states(given: &Given) -> u64 {
    match given.facts.get(Fact::Monitor(MONITOR)) {
        Possible::Words(mask) => *mask,
        _ => 0,
    }
}

/// Every state of a monitor that some actions lead to is opened, so that one diagram serves the whole search, and no other: what
/// is opened beyond that makes the diagram larger.
#[test]
fn a_monitor_is_opened_for_what_actions_lead_to() {
    let actions = [Action::RepairFault, Action::DriveUntilComplete(MONITOR)];
    for lamp in ["yes", "no"] {
        for mask in 1..=0b111 {
            let start = given(lamp, mask);
            let mut reached = vec![start.clone()];
            for _ in 0..3 {
                let after = |state: &Given| {
                    let open = actions.into_iter().filter(|action| action.is_open(state));
                    open.map(|action| action.after(state)).collect::<Vec<_>>()
                };
                let next: Vec<Given> = reached.iter().flat_map(after).collect();
                reached.extend(next);
            }
            let all = reached.iter().fold(0, |all, given| all | states(given));
            assert_eq!(states(&opened(&start)), all, "lamp {lamp}, states {mask:03b}");
        }
    }
}

/// A vehicle meets a proviso on words where no other word is possible any more.
#[test]
fn a_proviso_on_words_holds_where_no_other_word_is_possible() {
    for wanted in 1..=0b111u64 {
        let fact = FactRef::Known(Fact::Monitor(MONITOR));
        let proviso = Proviso { fact, possible: Possible::Words(wanted), kind: Kind::Sound };
        for mask in 1..=0b111u64 {
            let others = (0..3).filter(|bit| mask >> bit & 1 == 1).any(|bit| wanted >> bit & 1 == 0);
            assert_eq!(proviso.holds(&given("no", mask)), !others, "{wanted:03b} of {mask:03b}");
        }
    }
}

fn span(least: i64, most: i64) -> Possible {
    Possible::Number(Span { least, most, may_be_absent: false })
}

fn codes(code: Option<u16>, may_hold_more: bool) -> Possible {
    let list = CodeList { codes: code.map(TroubleCode::obd).into_iter().collect(), may_hold_more };
    Possible::Codes { list: Some(list), may_be_absent: false, may_be_present: true }
}

fn text(text: &str) -> Possible {
    Possible::Text(Some(text.to_owned()))
}

#[rstest]
#[case::within(Fact::GrossWeight, span(2, 5), span(1, 5), true)]
#[case::below(Fact::GrossWeight, span(0, 5), span(1, 5), false)]
#[case::above(Fact::GrossWeight, span(1, 6), span(1, 5), false)]
#[case::the_text(Fact::Area, text("larkspur"), text("larkspur"), true)]
#[case::another_text(Fact::Area, text("aster"), text("larkspur"), false)]
#[case::no_text(Fact::Area, Possible::Text(None), text("larkspur"), false)]
#[case::no_code(Fact::StoredCodes, codes(None, false), codes(None, false), true)]
#[case::a_code(Fact::StoredCodes, codes(Some(0x0420), false), codes(None, false), false)]
#[case::perhaps_a_code(Fact::StoredCodes, codes(None, true), codes(None, false), false)]
fn a_proviso_holds(#[case] fact: Fact, #[case] known: Possible, #[case] wanted: Possible, #[case] expected: bool) {
    let mut given = given("no", 1);
    given.facts.put(fact, known);
    let proviso = Proviso { fact: FactRef::Known(fact), possible: wanted, kind: Kind::Ordinary };
    assert_eq!(proviso.holds(&given), expected);
}

/// Six names are told one by one, more by the first two and the last (`branch::in_words`); whether the vehicle is in one of the
/// areas or in none.
#[test]
fn few_areas_are_named_one_by_one() {
    let all = ["ash", "birch", "cedar", "elm", "fir", "hazel", "larch", "maple"].map(str::to_owned);
    for count in 1..=all.len() {
        let names = &all[..count];
        let asked = Test::Text { fact: Fact::Area, among: names.to_vec(), is: true };
        let flat = Flat { lines: vec![line("area", 2, Condition::Test(asked))], ..example() };
        let compiled = Compiled::whole(&flat).unwrap();
        let nodes = compiled.first().unwrap();
        let search = Search { flat: &flat, compiled: &compiled, nodes, goal: Class::Pass, advice: &|_| None };
        let space = &compiled.compiler.space;
        let level = space.level(&Var::Known(Fact::Area)).unwrap();
        let (before, last) = names.split_at(count - 1);
        let listed = if count == 1 { last[0].clone() } else { format!("{} or {}", before.join(", "), last[0]) };
        for (class, it) in space.levels[level].classes.iter().enumerate() {
            let others = matches!(&it.members, Members::Texts { others: true, .. });
            let expected = match (others, count > 6) {
                (false, false) => format!("area is {listed}"),
                (false, true) => format!("area is one of {count} (ash, birch, … {})", last[0]),
                (true, false) => format!("area is not {listed}"),
                (true, true) => format!("area is none of the {count} that the program names"),
            };
            assert_eq!(branch::in_words(&search, level, &BTreeSet::from([class])), expected);
        }
    }
}

/// Of two monitors that are incomplete the goal asks for either: the least for any vehicle is to drive for the one that costs
/// less, whichever stands above the other in the diagram. Where both are asked for, both are driven for.
#[rstest]
#[case::the_first((10, 20), (10, 60), false, &[Monitor::Catalyst])]
#[case::the_second((10, 60), (10, 20), false, &[Monitor::Evaporative])]
#[case::both((10, 60), (10, 20), true, &[Monitor::Catalyst, Monitor::Evaporative])]
fn the_least_for_any_vehicle_is_the_cheapest_drive(
    #[case] first: (i64, i64),
    #[case] second: (i64, i64),
    #[case] both: bool,
    #[case] expected: &[Monitor],
) {
    let monitors = [Monitor::Catalyst, Monitor::Evaporative];
    let parts = monitors.map(|monitor| word(Fact::Monitor(monitor), "incomplete")).to_vec();
    let asked = if both { Condition::Any(parts) } else { Condition::All(parts) };
    let flat = Flat { lines: vec![line("ready", 1, asked)], ..example() };
    let mut vehicle = Snapshot::default();
    monitors.into_iter().for_each(|monitor| vehicle.set_word(Fact::Monitor(monitor), "incomplete"));
    let given = Given::of(&flat, &vehicle).unwrap();
    let compiled = Compiled::of(&[(&flat, &opened(&given))], BUDGET).unwrap();
    let advice = |monitor| Some(if monitor == Monitor::Catalyst { first } else { second });
    let nodes = compiled.first().unwrap();
    let search = Search { flat: &flat, compiled: &compiled, nodes, goal: Class::Pass, advice: &advice };
    let plan = search.least_for_any(&Case::new(given)).unwrap().unwrap();
    let driven: BTreeSet<Action> = plan.steps.into_iter().collect();
    assert_eq!(driven, expected.iter().map(|monitor| Action::DriveUntilComplete(*monitor)).collect());
}
