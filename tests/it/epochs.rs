//! Epochs and the folding of what a date settles. An epoch is a run of days with one flat program: none is left out, none is in
//! two, and the day after one another program stands (`program::select::epochs`). Expected starts are worked out by hand.

use crate::check::{self, Folder, good_programs, read};
use proptest::prelude::*;
use rstest::rstest;
use wherefore::internals::model::{Date, Fact};
use wherefore::internals::program::{
    Condition, FactRef, HORIZON_YEAR, Item, Program, Selection, Test, dump, epochs, select,
};

const HEAD: &str = "program example \"Example\"\n  authority \"A\"\n  standing checked\nsource ex \"x\" memory\n\
     outcomes pass, reject, fail\ncovers where every vehicle\nage is test year less model year\n";

fn program(text: &str) -> Program {
    check::program("example", &format!("{HEAD}{text}"))
}

fn text_on(program: &Program, date: Date) -> String {
    dump(&select(program, &Selection::on(date)).unwrap())
}

/// First and last day of each epoch.
fn runs(program: &Program) -> Vec<(String, String)> {
    epochs(program).iter().map(|run| (run.from.to_string(), run.through.to_string())).collect()
}

#[rstest]
#[case::one_day("in force from 2010-07-01 through 2010-07-01\n", &[("2010-07-01", "2010-07-01")])]
#[case::two_days("in force from 2010-07-01 through 2010-07-02\n", &[("2010-07-01", "2010-07-02")])]
#[case::a_clause_of_the_last_day(
    "in force from 2010-07-01 through 2010-07-31\nclause one on lamp\n  fail where lamp commanded on\n  from 2010-07-31\n",
    &[("2010-07-01", "2010-07-30"), ("2010-07-31", "2010-07-31")]
)]
#[case::a_clause_of_the_first_day(
    "in force from 2010-07-01 through 2010-07-31\nclause one on lamp\n  fail where lamp commanded on\n  through 2010-07-01\n",
    &[("2010-07-01", "2010-07-01"), ("2010-07-02", "2010-07-31")]
)]
#[case::two_versions_with_a_hole(
    "in force from 2002-01-01 through 2002-12-31\nin force from 2004-01-01 through 2004-12-31\n",
    &[("2002-01-01", "2002-12-31"), ("2003-01-01", "2003-12-31"), ("2004-01-01", "2004-12-31")]
)]
#[case::new_years_day_alone(
    "in force from 2010-01-01 through 2010-01-01\nclause one on lamp\n  fail where age at most 3\n",
    &[("2010-01-01", "2010-01-01")]
)]
#[case::over_a_new_year(
    "in force from 2010-12-31 through 2011-01-01\nclause one on lamp\n  fail where age at most 3\n",
    &[("2010-12-31", "2010-12-31"), ("2011-01-01", "2011-01-01")]
)]
// From 2 January 2011 on the clause can never hold, so that the new year changes nothing.
#[case::what_cannot_hold_makes_no_difference(
    "in force from 2010-01-01 through 2012-12-31\nclause one on lamp\n  fail where age at most 3 and test date 2011-01-01 or earlier\n",
    &[("2010-01-01", "2010-12-31"), ("2011-01-01", "2011-01-01"), ("2011-01-02", "2012-12-31")]
)]
#[case::what_always_holds_makes_none_either(
    "in force from 2010-01-01 through 2012-12-31\nclause one on lamp\n  fail where any of\n  - age at most 3\n  - test date 2011-01-01 or later\n",
    &[("2010-01-01", "2010-12-31"), ("2011-01-01", "2012-12-31")]
)]
fn epochs_of(#[case] text: &str, #[case] expected: &[(&str, &str)]) {
    let expected: Vec<_> = expected.iter().map(|(from, through)| ((*from).to_owned(), (*through).to_owned())).collect();
    assert_eq!(runs(&program(text)), expected);
}

/// Of every good program: from the first day in force to the last (or the end of the horizon) each day is in one epoch; on
/// its first and last day the same stands, and on the next day something else.
#[test]
fn epochs_are_whole_and_no_longer_than_the_same_stands() {
    let folder = Folder::new(&["points", "patterns"]);
    let mut tried = 0;
    for (name, text) in good_programs() {
        let program = read(&name, &text, &folder).1.program.unwrap();
        let found = epochs(&program);
        let in_force: Vec<_> =
            program.blocks.iter().filter(|it| matches!(it.item, Item::InForce) && !it.draft).collect();
        let (Some(first), Some(last)) = (found.first(), found.last()) else {
            assert!(in_force.is_empty(), "{name}");
            continue;
        };
        assert_eq!(Some(first.from), in_force.iter().filter_map(|it| it.window.from).min(), "{name}");
        match in_force.iter().map(|it| it.window.through).collect::<Option<Vec<Date>>>() {
            Some(ends) => assert_eq!(Some(last.through), ends.into_iter().max(), "{name}"),
            None => assert!(last.through >= Date::constant(HORIZON_YEAR, 12, 31), "{name}"),
        }
        for run in &found {
            assert!(run.from <= run.through, "{name}: {run:?}");
            assert_eq!(text_on(&program, run.from), text_on(&program, run.through), "{name}: {run:?}");
        }
        for pair in found.windows(2) {
            assert_eq!(pair[0].through.tomorrow().unwrap(), pair[1].from, "{name}");
            assert_ne!(text_on(&program, pair[0].through), text_on(&program, pair[1].from), "{name}: {pair:?}");
        }
        tried += found.len();
    }
    assert!(tried > 50, "{tried} epochs");
}

fn holds(condition: &Condition<usize>, vehicle: u8) -> bool {
    match condition {
        Condition::All(parts) => parts.iter().all(|part| holds(part, vehicle)),
        Condition::Any(parts) => parts.iter().any(|part| holds(part, vehicle)),
        Condition::Not(inner) => !holds(inner, vehicle),
        Condition::Test(Test::Word { words, .. }) => u64::from(vehicle) & words != 0,
        Condition::Test(other) => panic!("{other:?} is not drawn"),
    }
}

/// Whether a constant stands within.
fn has_constant_within(condition: &Condition<usize>) -> bool {
    let is_constant = |part: &Condition<usize>| part.is_always() || part.is_never();
    match condition {
        Condition::All(parts) | Condition::Any(parts) => {
            parts.iter().any(|part| is_constant(part) || has_constant_within(part))
        }
        Condition::Not(inner) => is_constant(inner) || has_constant_within(inner),
        Condition::Test(_) => false,
    }
}

fn condition() -> impl Strategy<Value = Condition<usize>> {
    let test = (0usize..3)
        .prop_map(|place| Condition::Test(Test::Word { fact: FactRef::Known(Fact::Hybrid), words: 1 << place }));
    let leaf = prop_oneof![2 => test, 1 => Just(Condition::always()), 1 => Just(Condition::never())];
    leaf.prop_recursive(3, 12, 3, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Condition::every),
            prop::collection::vec(inner.clone(), 0..4).prop_map(Condition::either),
            inner.clone().prop_map(Condition::negated),
            (inner.clone(), inner).prop_map(|(one, other)| one.and(other)),
        ]
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, failure_persistence: None, ..ProptestConfig::default() })]

    /// Joining says what the parts say of every vehicle, and what is settled is folded away: with a part that never holds, *all of*
    /// never holds.
    #[test]
    fn joined_conditions_say_what_their_parts_say(
        parts in prop::collection::vec(condition(), 0..4),
        one in condition(),
        other in condition(),
    ) {
        let every = Condition::every(parts.clone());
        let either = Condition::either(parts.clone());
        let (not, both) = (one.clone().negated(), one.clone().and(other.clone()));
        for vehicle in 0..8 {
            prop_assert_eq!(holds(&every, vehicle), parts.iter().all(|part| holds(part, vehicle)));
            prop_assert_eq!(holds(&either, vehicle), parts.iter().any(|part| holds(part, vehicle)));
            prop_assert_eq!(holds(&not, vehicle), !holds(&one, vehicle));
            prop_assert_eq!(holds(&both, vehicle), holds(&one, vehicle) && holds(&other, vehicle));
        }
        prop_assert_eq!(every.is_never(), parts.iter().any(Condition::is_never));
        prop_assert_eq!(every.is_always(), parts.iter().all(Condition::is_always));
        prop_assert_eq!(either.is_always(), parts.iter().any(Condition::is_always));
        prop_assert_eq!(either.is_never(), parts.iter().all(Condition::is_never));
        prop_assert_eq!((not.is_always(), not.is_never()), (one.is_never(), one.is_always()));
        let folded = |list: &[Condition<usize>]| !list.iter().any(has_constant_within);
        if folded(&parts) {
            prop_assert!(!has_constant_within(&every), "{every:?}");
            prop_assert!(!has_constant_within(&either), "{either:?}");
        }
        if let [only] = parts.as_slice() {
            prop_assert_eq!((&every, &either), (only, only));
        }
    }
}
