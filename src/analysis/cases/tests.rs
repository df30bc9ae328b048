//! Tests of what leaves vectors out: of a set in which some are superfluous as few are left as show everything.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests may stop at the first wrong thing")]

use super::bench::Bench;
use super::pairs::{self, Needed};
use super::{Change, Vectors, Wanted, cover, list_mutants, mutants};
use crate::model::{CodeGroup, CodeRange, Fact};
use crate::program::block::{Consequence, ConsequenceKind};
use crate::program::examples::{example, line, origin, word};
use crate::program::flat::Based;
use crate::program::{Condition, FactRef, Flat, Test};
use rstest::rstest;
use std::collections::BTreeSet;

/// Fails with the lamp on and few warm-ups; turned away without a connector, or with the lamp dark.
fn flat() -> Flat {
    let few = Test::Number { fact: FactRef::Known(Fact::WarmUps), least: None, most: Some(14) };
    let lamp = Condition::All(vec![word(Fact::LampCommanded, "yes"), Condition::Test(few)]);
    let away = Condition::Any(vec![word(Fact::Connector, "missing"), word(Fact::LampLitKeyOn, "no")]);
    Flat { lines: vec![line("lamp", 2, lamp), line("away", 1, away)], ..example() }
}

/// A set that shows every condition by a pair and reaches every verdict, with what is wanted of it and what its pairs need.
fn set<'f>(flat: &'f Flat) -> (Bench<'f>, Vectors, Vec<Wanted>, Vec<Needed>) {
    let all = mutants::mutants(flat);
    let mut bench = Bench::of(flat, &all).unwrap();
    let (mut set, mut needed) = (Vectors::default(), Vec::new());
    for mutant in all.iter().filter(|mutant| matches!(mutant.change, Change::Negated(..))) {
        let differences = bench.differences(mutant).unwrap();
        needed.extend(pairs::pair(&mut bench, &mut set, mutant, &differences).unwrap().ok());
    }
    let wanted = bench.verdicts(&BTreeSet::new()).unwrap().into_iter();
    let wanted: Vec<Wanted> = wanted
        .map(|(what, vehicles)| Wanted { what, vehicles, day: None, not_known: None, is_of_a_list: false })
        .collect();
    cover::cover(&mut bench, &mut set, &wanted).unwrap();
    (bench, set, wanted, needed)
}

/// Whether everything wanted is met and every pair is one.
fn is_whole(bench: &Bench, set: &Vectors, wanted: &[Wanted], needed: &[Needed]) -> bool {
    let fits = |(pair, need): (&super::Pair, &Needed)| need.fits(bench, set, &pair.answer, pair.holds, pair.fails);
    wanted.iter().all(|want| set.vectors.iter().any(|vector| want.is_met(bench, vector)))
        && set.pairs.iter().zip(needed).all(fits)
}

/// Whether the set without one of its vehicles, with other pairs where there are some, would do as well.
fn can_spare(bench: &Bench, set: &Vectors, wanted: &[Wanted], needed: &[Needed], at: usize) -> bool {
    let mut fewer = set.clone();
    fewer.vectors.remove(at);
    let places = || 0..fewer.vectors.len();
    let has_pair = |(pair, need): (&super::Pair, &Needed)| {
        places().any(|one| places().any(|other| need.fits(bench, &fewer, &pair.answer, one, other)))
    };
    wanted.iter().all(|want| fewer.vectors.iter().any(|vector| want.is_met(bench, vector)))
        && set.pairs.iter().zip(needed).all(has_pair)
}

/// Each vehicle of a least set put in once more, before and after every other: one of the two is left out, and nothing is lost.
#[test]
fn a_vehicle_that_is_in_twice_is_left_out_once() {
    let flat = flat();
    let (bench, mut least, wanted, needed) = set(&flat);
    assert_eq!((least.pairs.len(), wanted.len()), (4, 3));
    cover::minimise(&bench, &mut least, &wanted, &needed);
    assert!(is_whole(&bench, &least, &wanted, &needed));
    let count = least.vectors.len();
    assert!((0..count).all(|at| !can_spare(&bench, &least, &wanted, &needed, at)), "{:#?}", least.vectors);
    for again in 0..count {
        for at in 0..=count {
            let mut twice = least.clone();
            twice.vectors.insert(at, least.vectors[again].clone());
            for pair in &mut twice.pairs {
                pair.holds += usize::from(pair.holds >= at);
                pair.fails += usize::from(pair.fails >= at);
            }
            assert!(is_whole(&bench, &twice, &wanted, &needed));
            cover::minimise(&bench, &mut twice, &wanted, &needed);
            assert_eq!(twice.vectors.len(), count, "{again} once more at {at}");
            assert!(is_whole(&bench, &twice, &wanted, &needed), "{again} once more at {at}");
        }
    }
}

/// A consequence follows its outcome; one *by* a clause where a line of the clause is unmet, *alone* where none of another is
/// (`program::flat`). Of each vehicle of three lines, two of them of one clause.
#[test]
fn a_consequence_follows_by_the_lines_of_its_clause() {
    let consequence = |text: &str, by: Option<&str>, alone| Based {
        item: Consequence {
            kind: ConsequenceKind::Extension,
            after: 2,
            by: by.map(str::to_owned),
            alone,
            condition: Condition::always(),
            text: text.to_owned(),
        },
        basis: Vec::new(),
        origin: origin(),
    };
    let is = |fact: Fact, word: &str| Test::Word { fact: FactRef::Known(fact), words: fact.word_bit(word).unwrap() };
    let few = Test::Number { fact: FactRef::Known(Fact::WarmUps), least: None, most: Some(14) };
    let tests = [is(Fact::LampCommanded, "yes"), is(Fact::LampLitKeyOn, "no"), few];
    let clauses = ["lamp", "lamp", "cleared"];
    let lines = clauses.iter().zip(&tests).map(|(clause, test)| line(clause, 2, Condition::Test(test.clone())));
    let consequences = vec![
        consequence("any", None, false),
        consequence("by", Some("lamp"), false),
        consequence("alone", Some("lamp"), true),
    ];
    let flat = Flat { lines: lines.collect(), consequences, ..example() };
    let mut bench = Bench::of(&flat, &[]).unwrap();
    for unmet in (0..8u8).map(|bits| [0, 1, 2].map(|place| bits >> place & 1 == 1)) {
        let mut vehicles = bench.exist;
        for (test, unmet) in tests.iter().zip(unmet) {
            let (holds, fails) = bench.sides(test).unwrap();
            vehicles = bench.both(vehicles, if unmet { holds } else { fails }).unwrap();
        }
        let path = bench.plainest(vehicles).unwrap();
        let [one, two, other] = unmet;
        let expected = [("any", one || two || other), ("by", one || two), ("alone", (one || two) && !other)];
        for (text, follows) in expected {
            assert_eq!(bench.answer(text, &path), if follows { 1 } else { 2 }, "{text} {unmet:?}");
        }
    }
}

/// The ends of a run of codes move to the next code of its kind: none is before P0001, and none after the last.
#[rstest]
#[case::in_the_middle(0x0420, 0x0423, false, &["from P041F", "from P0421", "through P0422", "through P0424"])]
#[case::in_digits(0x0420, 0x0429, true, &["from P0419", "from P0421", "through P0428", "through P0430"])]
#[case::after_the_first(0x0002, 0x0004, false, &["from P0001", "from P0003", "through P0003", "through P0005"])]
#[case::from_the_first(0x0001, 0x0003, false, &["from P0002", "through P0002", "through P0004"])]
#[case::to_the_last(0xFFFD, 0xFFFF, false, &["from U3FFC", "from U3FFE", "through U3FFE"])]
#[case::of_one_code(0x0420, 0x0420, false, &["from P041F", "left out", "through P0421"])]
fn the_ends_of_a_run_move_to_the_next_code(
    #[case] first: u16,
    #[case] last: u16,
    #[case] digits_only: bool,
    #[case] expected: &[&str],
) {
    let ranges = vec![CodeRange { first, last, digits_only }];
    let groups = vec![("group".to_owned(), CodeGroup { ranges, unread: Vec::new() })];
    let mut found = Vec::new();
    list_mutants::lists(&Flat { groups, ..example() }, &mut found);
    let told: Vec<&str> = found.iter().map(|mutant| mutant.what.rsplit("run 1 of codes ").next().unwrap()).collect();
    assert_eq!(told, expected);
}

/// A line is shown giving way on the vehicles on which it is unmet, the other stands and the condition of giving way holds: of
/// every such pair of lines for which there are some, once.
#[test]
fn a_line_is_shown_giving_way_where_both_are_unmet() {
    let is = |fact: Fact, word: &str| Test::Word { fact: FactRef::Known(fact), words: fact.word_bit(word).unwrap() };
    let tests = [is(Fact::LampCommanded, "yes"), is(Fact::Hybrid, "yes"), is(Fact::Hybrid, "no")];
    let clauses = ["lamp", "hybrid", "other"];
    let mut lines: Vec<_> =
        clauses.iter().zip(&tests).map(|(clause, test)| line(clause, 2, Condition::Test(test.clone()))).collect();
    // To a line that may be unmet beside it, always and where a further condition holds; and to one that never is.
    lines[0].gives_way = vec![(1, Condition::always()), (2, word(Fact::Visit, "initial"))];
    lines[2].gives_way = vec![(1, Condition::always())];
    let flat = Flat { lines, ..example() };
    let mut bench = Bench::of(&flat, &[]).unwrap();
    let (lamp, _) = bench.sides(&tests[0]).unwrap();
    let (hybrid, other) = bench.sides(&tests[1]).unwrap();
    let (initial, _) = bench.sides(&is(Fact::Visit, "initial")).unwrap();
    let first = bench.both(lamp, hybrid).unwrap();
    let second = bench.both(lamp, other).unwrap();
    let second = bench.both(second, initial).unwrap();
    let expected = [("clause lamp gives way to hybrid", first), ("clause lamp gives way to other", second)]
        .map(|(what, vehicles)| (what.to_owned(), vehicles));
    assert_eq!(bench.set_aside(&BTreeSet::new()).unwrap(), expected);
    let shown = BTreeSet::from([expected[0].0.clone()]);
    assert_eq!(bench.set_aside(&shown).unwrap(), expected[1..]);
}
