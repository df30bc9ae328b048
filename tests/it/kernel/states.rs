//! Every threshold at -1, 0 and +1 in both units, saturated counters, and every fact in its three states.

use super::programs::{based, empty, line};
use rstest::rstest;
use std::collections::BTreeSet;
use wherefore::internals::evaluate::{self, Truth, Walk};
use wherefore::internals::model::facts::Possible;
use wherefore::internals::model::table::all_facts;
use wherefore::internals::model::{
    CodeList, Fact, FactType, MonitorSet, Reading, Snapshot, TroubleCode, Unit, Value, spec,
};
use wherefore::internals::program::{Condition, FactRef, Flat, Given, How, Test, Verdict};

/// What is read of a number: a value in the fact's unit, nothing, or that the vehicle is without it.
#[derive(Debug, Clone, Copy)]
enum Read {
    Is(i64),
    NotKnown,
    NotOnVehicle,
}

fn snapshot(fact: Fact, read: Read) -> Snapshot {
    let FactType::Number { unit, .. } = spec(fact).kind else { panic!("{fact:?} is a number") };
    let mut snapshot = Snapshot::default();
    match read {
        Read::Is(number) => snapshot.set(fact, Value::Number(unit.to_base(number).unwrap())),
        Read::NotKnown => {}
        Read::NotOnVehicle => {
            snapshot.readings.insert(fact, Reading::NotOnVehicle);
        }
    }
    snapshot
}

/// A program that covers every vehicle and fails those of which the condition holds.
pub fn fails_where(condition: Condition<usize>) -> Flat {
    let mut flat = empty();
    flat.covers.push(based(Condition::always()));
    flat.lines.push(line("only", 3, condition));
    flat
}

fn verdicts(flat: &Flat, snapshot: &Snapshot) -> BTreeSet<usize> {
    let found = evaluate::verdict(flat, &Given::of(flat, snapshot).unwrap());
    found
        .iter()
        .map(|verdict| match verdict {
            Verdict::Outcome(place) => place,
            Verdict::NotSubject => panic!("every vehicle is covered"),
        })
        .collect()
}

const PASS: &[usize] = &[0];
const FAIL: &[usize] = &[3];
const BOTH: &[usize] = &[0, 3];

/// `fail where FACT below LIMIT`. 200 miles is 321.8688 km (design, section 3); 255 warm-ups and 65535 km or minutes
/// mean that or more (digest of vehicle data: PIDs $30, $31, $4E), and the number reported is what is compared. A test
/// of a fact that is not on the vehicle is false.
#[rstest]
#[case::km_320(Fact::DistanceSinceClear, Unit::Mile, 200, Read::Is(320), FAIL)]
#[case::km_321(Fact::DistanceSinceClear, Unit::Mile, 200, Read::Is(321), FAIL)]
#[case::km_322(Fact::DistanceSinceClear, Unit::Mile, 200, Read::Is(322), PASS)]
#[case::km_79(Fact::DistanceSinceClear, Unit::Kilometre, 80, Read::Is(79), FAIL)]
#[case::km_80(Fact::DistanceSinceClear, Unit::Kilometre, 80, Read::Is(80), PASS)]
#[case::km_81(Fact::DistanceSinceClear, Unit::Kilometre, 80, Read::Is(81), PASS)]
#[case::km_65534(Fact::DistanceSinceClear, Unit::Kilometre, 65_535, Read::Is(65_534), FAIL)]
#[case::km_65535(Fact::DistanceSinceClear, Unit::Kilometre, 65_535, Read::Is(65_535), PASS)]
#[case::km_not_known(Fact::DistanceSinceClear, Unit::Mile, 200, Read::NotKnown, BOTH)]
#[case::km_absent(Fact::DistanceSinceClear, Unit::Mile, 200, Read::NotOnVehicle, PASS)]
#[case::warm_ups_14(Fact::WarmUps, Unit::One, 15, Read::Is(14), FAIL)]
#[case::warm_ups_15(Fact::WarmUps, Unit::One, 15, Read::Is(15), PASS)]
#[case::warm_ups_16(Fact::WarmUps, Unit::One, 15, Read::Is(16), PASS)]
#[case::warm_ups_254(Fact::WarmUps, Unit::One, 255, Read::Is(254), FAIL)]
#[case::warm_ups_255(Fact::WarmUps, Unit::One, 255, Read::Is(255), PASS)]
#[case::warm_ups_not_known(Fact::WarmUps, Unit::One, 15, Read::NotKnown, BOTH)]
#[case::warm_ups_absent(Fact::WarmUps, Unit::One, 15, Read::NotOnVehicle, PASS)]
#[case::minutes_119(Fact::MinutesSinceClear, Unit::Hour, 2, Read::Is(119), FAIL)]
#[case::minutes_120(Fact::MinutesSinceClear, Unit::Hour, 2, Read::Is(120), PASS)]
#[case::minutes_121(Fact::MinutesSinceClear, Unit::Hour, 2, Read::Is(121), PASS)]
#[case::minutes_65535(Fact::MinutesSinceClear, Unit::Minute, 65_535, Read::Is(65_535), PASS)]
#[case::pounds_8500(Fact::GrossWeight, Unit::Pound, 8501, Read::Is(8500), FAIL)]
#[case::pounds_8501(Fact::GrossWeight, Unit::Pound, 8501, Read::Is(8501), PASS)]
// 3856 kg lies between 8,501 lb (3855.99 kg) and 8,502 lb (3856.44 kg).
#[case::kilograms_below(Fact::GrossWeight, Unit::Kilogram, 3856, Read::Is(8501), FAIL)]
#[case::kilograms_above(Fact::GrossWeight, Unit::Kilogram, 3856, Read::Is(8502), PASS)]
fn below_a_threshold(
    #[case] fact: Fact,
    #[case] unit: Unit,
    #[case] limit: i64,
    #[case] read: Read,
    #[case] expected: &[usize],
) {
    let most = Some(unit.to_base(limit).unwrap() - 1);
    let below = Condition::Test(Test::Number { fact: FactRef::Known(fact), least: None, most });
    let found = verdicts(&fails_where(below.clone()), &snapshot(fact, read));
    assert_eq!(found, expected.iter().copied().collect());
    // Negation stands outside the test: of a vehicle without the fact `not below` holds, `at least` does not.
    let at_least =
        Condition::Test(Test::Number { fact: FactRef::Known(fact), least: most.map(|most| most + 1), most: None });
    let opposite: BTreeSet<usize> = expected.iter().map(|place| 3 - place).collect();
    assert_eq!(verdicts(&fails_where(below.negated()), &snapshot(fact, read)), opposite);
    if !matches!(read, Read::NotOnVehicle) {
        assert_eq!(verdicts(&fails_where(at_least), &snapshot(fact, read)), opposite);
    } else {
        assert_eq!(verdicts(&fails_where(at_least), &snapshot(fact, read)), BTreeSet::from([0]));
    }
}

/// Tests that between them ask everything of a fact: of a known, present fact exactly one of a pair holds.
pub fn halves(fact: Fact) -> Vec<[Test<usize>; 2]> {
    let at = FactRef::Known(fact);
    match spec(fact).kind {
        FactType::YesNo { .. } | FactType::Words(_) => (0..fact.words().len())
            .map(|place| {
                let words = 1u64 << place;
                [
                    Test::Word { fact: at.clone(), words },
                    Test::Word { fact: at.clone(), words: fact.all_words() & !words },
                ]
            })
            .collect(),
        FactType::Number { .. } | FactType::Date => {
            let cut = if fact == Fact::ModelYear { 2000 } else { 10 };
            vec![[
                Test::Number { fact: at.clone(), least: None, most: Some(cut - 1) },
                Test::Number { fact: at, least: Some(cut), most: None },
            ]]
        }
        FactType::Text => vec![[true, false].map(|is| Test::Text { fact, among: vec!["a".to_owned()], is })],
        FactType::Codes => vec![[How::Any, How::No].map(|how| Test::Codes { list: fact, how, among: None })],
        FactType::Monitors => Vec::new(),
    }
}

/// A value of each fact, and on which side of its first pair of tests it lies.
pub fn one_value(fact: Fact) -> (Value, usize) {
    match spec(fact).kind {
        FactType::YesNo { .. } | FactType::Words(_) => (Value::Word(0), 0),
        FactType::Number { .. } => (Value::Number(0), 0),
        FactType::Date => (Value::Date(wherefore::internals::model::Date::constant(2020, 1, 1)), 1),
        FactType::Text => (Value::Text("B".to_owned()), 1),
        FactType::Codes => {
            let codes = BTreeSet::from([TroubleCode::obd(0x0420)]);
            (Value::Codes(CodeList { codes, may_hold_more: false }), 0)
        }
        FactType::Monitors => (Value::Monitors(MonitorSet::EMPTY), 0),
    }
}

fn truths(snapshot: &Snapshot, pair: &[Test<usize>; 2]) -> [Truth; 2] {
    let flat = empty();
    let given = Given::of(&flat, snapshot).unwrap();
    let walk = Walk::new(&flat, &given, &[]);
    pair.clone().map(|test| walk.truth(&Condition::Test(test)))
}

/// Encodings, section 7, risk 5: known, not known, not on this vehicle; every fact of the table. Not known makes both
/// halves unknown (one may be false where no vehicle shows it), absence makes both false, whichever way they ask.
#[test]
fn every_fact_in_its_three_states() {
    let mut tried = 0;
    for fact in all_facts().filter(|fact| *fact != Fact::TestDate) {
        for (place, pair) in halves(fact).iter().enumerate() {
            let unknown = truths(&Snapshot::default(), pair);
            assert_eq!(unknown, [Truth::Unknown; 2], "{fact:?} not known");
            let mut known = Snapshot::default();
            let (value, side) = one_value(fact);
            known.set(fact, value);
            let found = truths(&known, pair);
            assert!(!found.contains(&Truth::Unknown), "{fact:?} known");
            assert_ne!(found[0], found[1], "{fact:?} known: one of the two");
            if place == 0 {
                assert_eq!(found[side], Truth::True, "{fact:?} known");
            }
            if spec(fact).may_be_absent {
                let mut absent = Snapshot::default();
                absent.readings.insert(fact, Reading::NotOnVehicle);
                assert_eq!(truths(&absent, pair), [Truth::False; 2], "{fact:?} not on this vehicle");
                let present = [true, false].map(|is| Test::Present { fact, is });
                assert_eq!(truths(&absent, &present), [Truth::False, Truth::True]);
                assert_eq!(truths(&known, &present), [Truth::True, Truth::False]);
                assert_eq!(truths(&Snapshot::default(), &present), [Truth::Unknown; 2]);
            }
            tried += 1;
        }
    }
    assert!(tried > 70, "all facts of words, numbers, dates, texts and codes were tried, not {tried}");
}

/// Program files: a code list that may hold more (`stored codes at least P0420`).
#[rstest]
#[case::read_whole(false, [Truth::True, Truth::False])]
#[case::may_hold_more(true, [Truth::True, Truth::False])]
fn a_code_that_was_read_is_there(#[case] may_hold_more: bool, #[case] expected: [Truth; 2]) {
    let codes = BTreeSet::from([TroubleCode::obd(0x0420)]);
    let mut snapshot = Snapshot::default();
    snapshot.set(Fact::StoredCodes, Value::Codes(CodeList { codes, may_hold_more }));
    let pair = [How::Any, How::No].map(|how| Test::Codes { list: Fact::StoredCodes, how, among: None });
    assert_eq!(truths(&snapshot, &pair), expected);
}

/// No code read, and there may be more: nothing is settled. It is never taken for an empty list.
#[test]
fn an_empty_partial_list_settles_nothing() {
    let mut snapshot = Snapshot::default();
    snapshot.set(Fact::StoredCodes, Value::Codes(CodeList { codes: BTreeSet::new(), may_hold_more: true }));
    let pair = [How::Any, How::No].map(|how| Test::Codes { list: Fact::StoredCodes, how, among: None });
    assert_eq!(truths(&snapshot, &pair), [Truth::Unknown; 2]);
    let flat = empty();
    let given = Given::of(&flat, &snapshot).unwrap();
    assert!(matches!(given.facts.get(Fact::StoredCodes), Possible::Codes { list: Some(_), .. }));
}

/// A fact that a program declares has a value on every vehicle, and one of its own: a test that all of them meet holds though
/// nothing is known, for the interpreter and the diagrams, and one that some do not meet is open.
#[rstest]
#[case::yes_or_no(Test::Word { fact: FactRef::Declared(0), words: 0b11 }, FAIL)]
#[case::yes(Test::Word { fact: FactRef::Declared(0), words: 0b10 }, BOTH)]
#[case::any_word(Test::Word { fact: FactRef::Declared(1), words: 0b111 }, FAIL)]
#[case::two_of_three_words(Test::Word { fact: FactRef::Declared(1), words: 0b101 }, BOTH)]
#[case::a_word_that_it_has_not(Test::Word { fact: FactRef::Declared(1), words: 0b1000 }, PASS)]
#[case::any_number(Test::Number { fact: FactRef::Declared(2), least: Some(0), most: Some(3 * 1440) }, FAIL)]
#[case::from_the_least(Test::Number { fact: FactRef::Declared(2), least: Some(0), most: None }, FAIL)]
#[case::above_the_least(Test::Number { fact: FactRef::Declared(2), least: Some(1), most: None }, BOTH)]
#[case::above_the_greatest(Test::Number { fact: FactRef::Declared(2), least: Some(3 * 1440 + 1), most: None }, PASS)]
fn a_declared_fact_has_a_value(#[case] test: Test<usize>, #[case] expected: &[usize]) {
    let flat = fails_where(Condition::Test(test));
    assert_eq!(verdicts(&flat, &Snapshot::default()), expected.iter().copied().collect());
    let given = Given::of(&flat, &Snapshot::default()).unwrap();
    let exact = wherefore::internals::diagram::exact::possible(&flat, &given).unwrap();
    assert_eq!(exact, expected.iter().map(|place| Verdict::Outcome(*place)).collect());
}
