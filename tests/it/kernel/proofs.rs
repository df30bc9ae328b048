//! The checker of proofs against the other engines. Test by test: what it lets a test settle is so of every vehicle that
//! agrees with what is known, and it is all that the interpreter can tell, since proofs are made by that. Whole vehicles:
//! each has a proof of the verdict of the naive evaluator, and no change of a proof is one of another.

use super::programs::{self, based, line};
use super::states::{fails_where, halves, one_value};
use super::vehicles::Partial;
use super::{closed, draws, hidden, hides, partial, vehicle, whole};
use crate::agree::proofs::changed;
use crate::bulk::records::Dice;
use crate::diagram::random;
use proptest::collection::vec;
use proptest::prelude::*;
use rstest::rstest;
use serde_json::Value as Json;
use std::collections::{BTreeMap, BTreeSet};
use wherefore::internals::certificate::{Blocked, By, Certificate, Coverage, Live, Relabelled, Tested, Way, verify};
use wherefore::internals::diagram;
use wherefore::internals::evaluate::{Truth, Walk};
use wherefore::internals::model::table::{all_facts, key_of};
use wherefore::internals::model::{CodeGroup, Fact, Reading, Snapshot, spec};
use wherefore::internals::program::{Condition, Flat, Given, How, InForce, Test, Verdict};
use wherefore::internals::ruling::certificate;

/// The program with nothing left of its rules but one that fails where the test holds.
fn fails_by(flat: &Flat, test: &Test<usize>) -> Flat {
    Flat {
        in_force: InForce::Yes,
        covers: vec![based(Condition::always())],
        left_out: Vec::new(),
        becomes: Vec::new(),
        lines: vec![line("only", 3, Condition::Test(test.clone()))],
        ..flat.clone()
    }
}

fn everything(snapshot: &Snapshot) -> Vec<String> {
    let read = snapshot.readings.keys().filter(|fact| **fact != Fact::TestDate).map(|fact| key_of(*fact));
    read.chain(snapshot.declared.keys().map(|name| format!("declared.{name}"))).collect()
}

/// What the checker takes the one test to come to.
fn checked(flat: &Flat, snapshot: &Snapshot) -> Option<bool> {
    let proof = |holds: bool| {
        let live = Live {
            line: 0,
            clause: "only".to_owned(),
            concerns: Vec::new(),
            unmet: vec![0],
            stands_before: Vec::new(),
        };
        let met = Blocked { line: 0, clause: "only".to_owned(), by: By::Met(vec![0]) };
        let way = Way {
            readings: BTreeMap::new(),
            coverage: Coverage::Covered { block: Tested { place: 0, tests: Vec::new() }, rows: Vec::new() },
            deciding: holds.then_some(live),
            blocked: if holds { Vec::new() } else { vec![met] },
            becomes: Relabelled { rule: None, graver: Vec::new() },
        };
        let verdict = flat.outcomes[if holds { 3 } else { 0 }].name.clone();
        Certificate { verdict, rests_on: everything(snapshot), ways: vec![way] }
    };
    match [true, false].map(|holds| verify(&proof(holds), flat, snapshot).is_ok()) {
        [true, false] => Some(true),
        [false, true] => Some(false),
        [false, false] => None,
        [true, true] => panic!("proved both ways: {flat:?} {snapshot:?}"),
    }
}

/// Holds the checker of one test against the interpreter and the diagrams; whether it is settled, `None` where no vehicle
/// shows what is known.
fn compare(flat: &Flat, test: &Test<usize>, snapshot: &Snapshot) -> Option<bool> {
    let flat = fails_by(flat, test);
    let given = Given::of(&flat, snapshot).ok()?;
    let found = checked(&flat, snapshot);
    let walked = match Walk::new(&flat, &given, &[]).truth(&flat.lines[0].unmet_where) {
        Truth::True => Some(true),
        Truth::False => Some(false),
        Truth::Unknown => None,
    };
    assert_eq!(found, walked, "{test:?} {snapshot:?} {flat:?}");
    if let Some(holds) = found {
        let verdict = Verdict::Outcome(if holds { 3 } else { 0 });
        let exact = diagram::exact::possible(&flat, &given).unwrap();
        assert_eq!(exact, BTreeSet::from([verdict]), "{test:?} {snapshot:?} {flat:?}");
    }
    Some(found.is_some())
}

/// Every test of a program.
fn tests(flat: &Flat) -> Vec<Test<usize>> {
    let mut found = Vec::new();
    let lines = flat.lines.iter().flat_map(|line| [&line.concerns, &line.unmet_where]);
    let rest = flat.findings.iter().map(|(_, condition)| condition).chain(flat.left_out.iter().map(|it| &it.condition));
    let all = lines.chain(rest).chain(flat.becomes.iter().map(|it| &it.condition));
    all.for_each(|condition| condition.each_test(&mut |test| found.push(test.clone())));
    found
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    /// Counts with excuses of every kind, limits of every kind, findings, tables, declared facts, partial lists of codes.
    #[test]
    fn a_test_is_settled_as_by_the_other_engines(
        flat in programs::program(),
        drawn in vec(programs::tests(), 6),
        draws in draws(),
        hides in hides(),
        halved in any::<bool>(),
        declared in any::<bool>(),
    ) {
        let world = vehicle(&draws);
        for test in tests(&flat).into_iter().chain(drawn) {
            let flat = fails_by(&flat, &test);
            let hidden = hidden(&flat, &hides);
            let part: Partial = partial(&world, &hidden, halved, declared, &flat);
            compare(&flat, &test, &part.snapshot());
        }
        // Of a whole vehicle and a text that leaves nothing open every test is settled.
        let flat = closed(flat);
        for test in tests(&flat) {
            prop_assert_eq!(compare(&flat, &test, &whole(&world).snapshot()), Some(true), "{:?}", test);
        }
    }

    /// The same with presumptions, among them that a vehicle is not in a table.
    #[test]
    fn a_test_under_presumptions_is_settled_as_by_the_other_engines(
        flat in random::program(),
        knowledge in random::knowledge(),
    ) {
        let snapshot = random::known(&knowledge);
        for test in tests(&flat) {
            compare(&flat, &test, &snapshot);
        }
    }

    /// A vehicle of which everything is known has a proof of its verdict and of no other, however it is changed.
    #[test]
    fn a_whole_vehicle_has_a_proof_and_only_of_its_verdict(
        flat in programs::program(),
        draws in draws(),
        seed in any::<u64>(),
    ) {
        let flat = closed(flat);
        let mut world = vehicle(&draws);
        world.readings = flat.questions.iter().map(|question| question.taken.unwrap()).collect();
        let snapshot = whole(&world).snapshot();
        let expected = world.verdict(&flat).name(&flat).to_owned();
        let proof = certificate(&flat, &snapshot).unwrap();
        prop_assert!(proof.is_some(), "no proof of {expected}");
        let proof = proof.unwrap();
        prop_assert_eq!(&proof.verdict, &expected);
        prop_assert_eq!(verify(&proof, &flat, &snapshot), Ok(()));
        let names = flat.outcomes.iter().map(|outcome| outcome.name.clone());
        let names: Vec<String> = names.chain(["not-subject".to_owned(), "no-law-in-file".to_owned()]).collect();
        for name in names.iter().filter(|name| **name != expected) {
            let other = Certificate { verdict: name.clone(), ..proof.clone() };
            prop_assert!(verify(&other, &flat, &snapshot).is_err(), "{}", name);
        }
        let (mut dice, value) = (Dice(seed), serde_json::to_value(&proof).unwrap());
        for _ in 0..20 {
            let mut forged: Json = value.clone();
            for _ in 0..=dice.roll(3) {
                changed(&mut forged, std::slice::from_ref(&value), &names, &mut dice);
            }
            let Ok(forged) = serde_json::from_value::<Certificate>(forged) else { continue };
            if verify(&forged, &flat, &snapshot).is_ok() {
                prop_assert_eq!(&forged.verdict, &expected, "{:?}", forged);
            }
        }
    }
}

/// Every fact of the table not known, known, not on the vehicle, and of a vehicle that does not answer, by tests that ask
/// for it and by those that ask whether the vehicle has it.
#[test]
fn every_fact_is_settled_as_by_the_other_engines() {
    let (mut settled, mut open) = (0, 0);
    for fact in all_facts().filter(|fact| *fact != Fact::TestDate) {
        let mut silent = Snapshot::default();
        silent.set_word(Fact::Communication, "none");
        let mut known = Snapshot::default();
        known.set(fact, one_value(fact).0);
        let mut absent = Snapshot::default();
        absent.readings.insert(fact, Reading::NotOnVehicle);
        let presence = [true, false].map(|is| Test::Present { fact, is });
        let may_be_absent = spec(fact).may_be_absent;
        let presence = presence.into_iter().filter(|_| may_be_absent);
        for test in halves(fact).into_iter().flatten().chain(presence) {
            for snapshot in [&Snapshot::default(), &silent, &known, &absent] {
                if snapshot.get(fact) == Some(&Reading::NotOnVehicle) && !may_be_absent {
                    continue;
                }
                match compare(&programs::empty(), &test, snapshot) {
                    Some(true) => settled += 1,
                    Some(false) => open += 1,
                    None => {}
                }
            }
        }
    }
    assert!(settled > 200 && open > 200, "{settled} settled, {open} open");
}

/// A reader tells no code of a vehicle that does not answer, so that its list of permanent codes is empty, if it has one:
/// that no code is on it is not told, since a test of what is not on the vehicle is false (`program::condition`).
#[rstest]
#[case::no_code(How::No, None)]
#[case::any_code(How::Any, Some(false))]
#[case::only_codes_of_a_kind(How::Only, None)]
fn a_list_that_may_not_be_there_proves_nothing(#[case] how: How, #[case] expected: Option<bool>) {
    let mut silent = Snapshot::default();
    silent.set_word(Fact::Communication, "none");
    let test = Condition::Test(Test::Codes { list: Fact::PermanentCodes, how, among: None });
    assert_eq!(checked(&fails_where(test.clone()), &silent), expected);
    // Of stored codes every vehicle has a list.
    let test = Condition::Test(Test::Codes { list: Fact::StoredCodes, how, among: None });
    assert_eq!(checked(&fails_where(test), &silent), Some(how != How::Any));
}

/// No code is of a group that has none, whether or not the codes were read.
#[rstest]
#[case::any(How::Any, Some(false))]
#[case::none(How::No, Some(true))]
#[case::only(How::Only, None)]
fn no_code_is_of_a_group_without_codes(#[case] how: How, #[case] expected: Option<bool>) {
    let test = Test::Codes { list: Fact::StoredCodes, how, among: Some(0) };
    let flat = Flat { groups: vec![("none".to_owned(), CodeGroup::default())], ..programs::empty() };
    assert_eq!(checked(&fails_by(&flat, &test), &Snapshot::default()), expected);
    compare(&flat, &test, &Snapshot::default());
}
