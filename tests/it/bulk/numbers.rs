//! Columns of numbers of every width, whose type may hold less than a test's bound, held against one vehicle at a time; and
//! numbers where the program has words. Invented programs.

use super::{Came, by_engine, by_snapshot, flat_on};
use rstest::rstest;
use wherefore::internals::bulk::{Batch, Column, Dates, Engine, Known, Options, RowError, Whole};
use wherefore::internals::model::{Date, DeclaredValue, Fact, Snapshot, Unit, Value, day_number};
use wherefore::internals::program::{FactRef, Program};
use wherefore::internals::{check, source::Source, syntax};

const DAY: Date = Date::constant(2026, 11, 25);

fn program(condition: &str) -> Program {
    let text = format!(
        "program zz \"Numbers, invented\"\n  authority \"Example authority\"\n  language 2\n  standing checked\n\
         source r1 \"1 EX\" law, read 2026-11-25\nin force from 2020-01-01\n  per r1\noutcomes pass, fail\n\
         covers where every vehicle\n  per r1\ncounts supported monitors that are not continuous\n  per r1\n\
         fact special: yes or no\n  asks \"Is it special?\"\n  observed by papers\n\
         fact waited: 0 through 365 days\n  asks \"How long?\"\n  observed by papers\n\
         clause one on other\n  fail where {condition}\n  per r1\n"
    );
    let parsed = syntax::parse(&Source::new("zz", &text));
    assert!(parsed.diagnostics.is_empty(), "{:#?}", parsed.diagnostics);
    let checked = check::check(&parsed.file, &());
    checked.program.unwrap_or_else(|| panic!("{:#?}", checked.diagnostics))
}

/// Those of some numbers that a type holds, in it and as they are.
fn held<T: TryFrom<i64>>(values: &[i64]) -> (Vec<T>, Vec<i64>) {
    values.iter().filter_map(|value| Some((T::try_from(*value).ok()?, *value))).unzip()
}

/// A column of each width.
fn each_width(values: &[i64], mut judge: impl FnMut(Whole<'_>, &[i64])) {
    let (own, of) = held::<u8>(values);
    judge(Whole::U8(&own), &of);
    let (own, of) = held::<u16>(values);
    judge(Whole::U16(&own), &of);
    let (own, of) = held::<i16>(values);
    judge(Whole::I16(&own), &of);
    let (own, of) = held::<i32>(values);
    judge(Whole::I32(&own), &of);
    judge(Whole::I64(values), values);
}

/// Base units of a kilometre: millimetres.
const KM: i64 = 1_000_000;

/// Bounds within the type, at its ends and beyond them: below all numbers (as many incomplete earlier as there may be), and
/// above them (a distance of more kilometres than two bytes hold).
#[rstest]
#[case::any_number_of_earlier("no more counted monitors are incomplete than earlier", Fact::EarlierIncompleteCount, 1, &[0, 1, 2, 3])]
#[case::within_a_byte("warm-ups since clearing at least 15", Fact::WarmUps, 1, &[0, 14, 15, 127, 128, 255])]
#[case::end_of_a_byte("warm-ups since clearing at most 254", Fact::WarmUps, 1, &[0, 14, 254, 255])]
#[case::one_number("warm-ups since clearing is 128", Fact::WarmUps, 1, &[0, 127, 128, 129, 255])]
#[case::beyond_a_byte("odometer at least 256 km", Fact::Odometer, KM, &[0, 128, 255, 256, 257, 65_535])]
#[case::end_of_two_bytes("odometer at most 65535 km", Fact::Odometer, KM, &[0, 255, 32_767, 65_535, 65_536, 2_000_000])]
#[case::beyond_two_bytes("odometer at least 65536 km", Fact::Odometer, KM, &[0, 255, 32_767, 65_535, 65_536, 2_000_000])]
#[case::between("odometer 32768 through 40000 km", Fact::Odometer, KM, &[0, 127, 32_767, 32_768, 40_000, 40_001])]
#[case::even_years("model year is even", Fact::ModelYear, 1, &[1996, 1997, 2026])]
fn a_bound_beyond_the_type_is_met_by_all_or_none(
    #[case] condition: &str,
    #[case] fact: Fact,
    #[case] scale: i64,
    #[case] values: &[i64],
) {
    let program = program(condition);
    let (engine, flat) = (Engine::new(&program, Options::default()).unwrap(), flat_on(&program, DAY));
    each_width(values, |whole, of| {
        let batch = Batch::new(of.len(), Dates::One(DAY)).unwrap();
        let column = Column::Numbers { values: whole, scale, known: None };
        let judged = engine.judge(&batch.with(FactRef::Known(fact), column).unwrap());
        for (row, value) in of.iter().enumerate() {
            let mut vehicle = Snapshot::default();
            vehicle.set(Fact::TestDate, Value::Date(DAY));
            vehicle.set(fact, Value::Number(value * scale));
            assert_eq!(by_engine(&judged, row), by_snapshot(&flat, &vehicle), "{value} of {whole:?}");
        }
    });
}

/// The same of a number that the program declares, of which a byte holds too few.
#[test]
fn a_bound_on_a_declared_number_beyond_the_type_is_met_by_all_or_none() {
    for condition in
        ["waited at most 300 days", "waited at least 300 days", "waited above 255 days", "waited at least 0 days"]
    {
        let program = program(condition);
        let (engine, flat) = (Engine::new(&program, Options::default()).unwrap(), flat_on(&program, DAY));
        each_width(&[0, 127, 128, 255, 256, 299, 300, 301, 365], |whole, of| {
            let batch = Batch::new(of.len(), Dates::One(DAY)).unwrap();
            let column = Column::Numbers { values: whole, scale: Unit::Day.scale(), known: None };
            let judged = engine.judge(&batch.with(FactRef::Declared("waited".to_owned()), column).unwrap());
            for (row, value) in of.iter().enumerate() {
                let mut vehicle = Snapshot::default();
                vehicle.set(Fact::TestDate, Value::Date(DAY));
                vehicle.declared.insert("waited".to_owned(), DeclaredValue::Number(*value));
                assert_eq!(by_engine(&judged, row), by_snapshot(&flat, &vehicle), "{condition}: {value} of {whole:?}");
            }
        });
    }
}

/// A host that gives numbers for a yes or no of the program: records that have one are set aside, the others judged as if nothing
/// were said; and no plane answers for words that are no words.
#[test]
fn numbers_for_a_yes_or_no_are_set_aside() {
    let program = program("special is yes");
    let (engine, flat) = (Engine::new(&program, Options::default()).unwrap(), flat_on(&program, DAY));
    let (values, known) = ([0u8, 1, 1, 0], [0b0000_0011u8]);
    let column =
        Column::Numbers { values: Whole::U8(&values), scale: 1, known: Some(Known { bits: &known, offset: 0 }) };
    let batch = Batch::new(values.len(), Dates::One(DAY)).unwrap();
    let batch = batch.with(FactRef::Declared("special".to_owned()), column).unwrap();
    assert_eq!(engine.rules(day_number(DAY)).unwrap().size(&batch), None);
    let judged = engine.judge(&batch);
    let mut nothing = Snapshot::default();
    nothing.set(Fact::TestDate, Value::Date(DAY));
    let unknown = by_snapshot(&flat, &nothing);
    assert!(matches!(&unknown, Came::To { possible, .. } if possible.len() == 2), "{unknown:?}");
    for row in [2, 3] {
        assert_eq!(by_engine(&judged, row), unknown);
    }
    let errors: Vec<(usize, bool)> =
        judged.errors().iter().map(|(row, error)| (*row, matches!(error, RowError::OutOfRange { .. }))).collect();
    assert_eq!(errors, [(0, true), (1, true)]);
}
