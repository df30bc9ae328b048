//! Tests of the diagrams.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests may stop at the first wrong thing"
)]

use super::allowed::verdicts;
use super::codes::Atoms;
use super::count::Count;
use super::cubes::Describer;
use super::cuts::Asked;
use super::exact;
use super::example::reading;
use super::kernel::{Compiled, anything, terminal_of};
use super::level::{Members, Sample};
use super::numbers::{Lattice, classes, within};
use crate::model::facts::Span;
use crate::model::{
    CodeGroup, CodeRange, Date, Fact, Monitor, MonitorSet, MonitorState, Reading, Snapshot, TroubleCode, Unit, Value,
};
use crate::program::examples::{example, line, word};
use crate::program::flat::{CountRule, FlatRow, FlatTable};
use crate::program::{Condition, Flat, Given, How, Test, Verdict};
use rstest::rstest;
use std::collections::{BTreeMap, BTreeSet};

const SPAN: Span = Span { least: 0, most: 30, may_be_absent: false };

/// By the definition, number by number: a class holds what every bound and the parity treat alike, counts it, is ordinary
/// where one of its runs holds the usual number, and is shown by its number nearest to that.
#[rstest]
#[case::no_bound(&[], false)]
#[case::one_bound(&[(Some(15), None)], false)]
#[case::both_ends(&[(Some(10), Some(20))], false)]
#[case::a_single_number(&[(Some(7), Some(7))], false)]
#[case::two_tests(&[(Some(10), Some(20)), (None, Some(12))], false)]
#[case::beyond_the_range(&[(Some(-5), Some(90))], false)]
#[case::even_and_odd(&[], true)]
#[case::both_ends_even_and_odd(&[(Some(10), Some(20))], true)]
fn numbers_that_are_treated_alike_are_one_class(#[case] bounds: &[(Option<i64>, Option<i64>)], #[case] parity: bool) {
    let asked = Asked { bounds: bounds.iter().copied().collect(), parity, ..Asked::default() };
    let alike = |number: i64| {
        let bounds: Vec<bool> = bounds.iter().map(|(least, most)| within(number, *least, *most)).collect();
        (bounds, parity.then_some(number % 2 == 0))
    };
    for usual in SPAN.least..=SPAN.most {
        let found = classes(&asked, SPAN, Lattice::in_unit(Unit::One), usual);
        let mut all = Vec::new();
        for class in &found {
            let (Sample::Number(sample), Members::Numbers { runs, even, absent: false }) =
                (&class.sample, &class.members)
            else {
                panic!("{class:?}")
            };
            let in_run = |number: i64| runs.iter().any(|(least, most)| (*least..=*most).contains(&number));
            let held: Vec<i64> = (SPAN.least..=SPAN.most)
                .filter(|number| in_run(*number) && even.is_none_or(|even| (number % 2 == 0) == even))
                .collect();
            let expected: Vec<i64> = (SPAN.least..=SPAN.most).filter(|it| alike(*it) == alike(*sample)).collect();
            assert_eq!(held, expected, "usual {usual}");
            assert_eq!(usize::try_from(class.size).unwrap(), held.len(), "usual {usual}");
            assert_eq!(class.cost == 0, in_run(usual), "usual {usual}: {class:?}");
            let nearest = held.iter().map(|number| number.abs_diff(usual)).min();
            assert_eq!(Some(sample.abs_diff(usual)), nearest, "usual {usual}: {class:?}");
            all.extend(held);
        }
        all.sort_unstable();
        assert_eq!(all, (SPAN.least..=SPAN.most).collect::<Vec<_>>());
    }
}

/// Every multiple of either unit can be reported, and one of both is one report: counted one by one, from and to each side of
/// what both report as whole.
#[rstest]
#[case::distance(Fact::DistanceSinceClear, Unit::Kilometre, Unit::Mile)]
#[case::time(Fact::HoursSincePrevious, Unit::Hour, Unit::Minute)]
#[case::weight(Fact::GrossWeight, Unit::Pound, Unit::Kilogram)]
#[case::a_number(Fact::WarmUps, Unit::One, Unit::One)]
fn what_two_units_report_as_whole_is_counted_once(#[case] fact: Fact, #[case] unit: Unit, #[case] other: Unit) {
    let lattice = Lattice::of(fact);
    // Far enough for kilometres and miles to meet, which they do at 25,146 km.
    let most = unit.scale().max(other.scale()) * 60_000;
    let multiples = |unit: Unit| (0..=most / unit.scale()).map(move |number| number * unit.scale());
    let all: BTreeSet<i64> = multiples(unit).chain(multiples(other)).collect();
    let both = multiples(unit).find(|base| *base > 0 && base % other.scale() == 0);
    assert_eq!(both.is_none(), fact == Fact::GrossWeight, "no rating is whole in pounds and kilograms");
    let bounds: Vec<i64> = [0, 1, most / 2, most]
        .into_iter()
        .chain(both.into_iter().flat_map(|base| [base - 1, base, base + 1]))
        .collect();
    for least in &bounds {
        for last in bounds.iter().filter(|last| least <= *last) {
            let expected = all.range(least..=last).count();
            assert_eq!(usize::try_from(lattice.count(*least, *last)), Ok(expected), "{least} through {last}");
        }
    }
}

/// By the definition, code by code: atoms part the 65,536 codes, codes of one are treated alike by every group, and each is
/// shown by a code of its own. The ends are drawn near each other and near digits that are not decimal.
#[test]
fn codes_that_groups_treat_alike_are_one_atom() {
    let mut seed = 1_u64;
    let mut drawn = |below: u64| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) % below
    };
    for round in 0..60 {
        let mut range = |digits_only: bool| {
            let ends = [0, 1].map(|_| match drawn(3) {
                0 => u16::try_from(drawn(0x1_0000)).unwrap(),
                1 => u16::try_from(0x0420 + drawn(0x40)).unwrap(),
                _ => u16::try_from(drawn(16) << 12 | 0x0FFF & drawn(0x1_0000)).unwrap() | 0x0909,
            });
            CodeRange { first: ends[0].min(ends[1]), last: ends[0].max(ends[1]), digits_only }
        };
        let mut groups = vec![CodeGroup { ranges: vec![range(round % 2 == 0)], unread: vec![] }];
        if round % 3 > 0 {
            groups.push(CodeGroup { ranges: vec![range(false), range(true)], unread: vec![range(round % 5 == 0)] });
        }
        if round % 7 == 0 {
            let every = CodeRange { first: 0, last: 0xFFFF, digits_only: round % 2 == 0 };
            groups.first_mut().unwrap().ranges = vec![every];
        }
        let mut expected: BTreeMap<Vec<Option<bool>>, u32> = BTreeMap::new();
        let bands = |code: TroubleCode| groups.iter().map(|group| group.contains(code)).collect::<Vec<_>>();
        for code in 0..=0xFFFF {
            *expected.entry(bands(TroubleCode::obd(code))).or_default() += 1;
        }
        expected.entry(vec![Some(false); groups.len()]).or_default();
        let atoms = Atoms::of(&groups);
        let found: BTreeMap<_, _> = atoms.atoms.iter().map(|atom| (atom.bands.clone(), atom.size)).collect();
        assert_eq!(found, expected, "{groups:?}");
        assert_eq!(atoms.atoms.len(), found.len(), "{groups:?}");
        for atom in &atoms.atoms {
            assert_eq!(bands(atom.sample), atom.bands, "{groups:?}");
        }
    }
}

/// By whole numbers that fit: a share is rounded down to a millionth, and of nothing it is nothing.
#[test]
fn a_share_in_millionths_is_the_quotient_rounded_down() {
    let wholes = [0, 1, 2, 3, 7, 1_000, 999_999, 1_000_000, 1_000_001, 123_456_789, u64::MAX];
    for whole in wholes {
        let near = [1, 2, 3, 7, 1_000_000].into_iter().flat_map(|by| [whole / by, (whole / by).saturating_sub(1)]);
        for part in near.chain([0, 1, 2, 5]).filter(|part| *part <= whole) {
            let expected = (u128::from(part) * 1_000_000).checked_div(u128::from(whole)).unwrap_or(0);
            let found = Count::from(part).millionths_of(&Count::from(whole));
            assert_eq!(u128::from(found), expected, "{part} of {whole}");
        }
    }
}

/// A sample is a reading of the fact's own kind: 14,761 days after 1970-01-01 is 2010-06-01 (`date -d @$((14761 * 86400))`).
#[test]
fn a_sample_of_a_day_is_a_day() {
    let number = Sample::Number(14_761);
    let known = |value| Some(Reading::Known(value));
    assert_eq!(reading(Fact::FirstRegistered, &number), known(Value::Date(Date::constant(2010, 6, 1))));
    assert_eq!(reading(Fact::Odometer, &number), known(Value::Number(14_761)));
    assert_eq!(reading(Fact::FirstRegistered, &Sample::Absent), Some(Reading::NotOnVehicle));
}

/// One program compiled for all vehicles answers for each as one compiled for it alone: whether a vehicle is in a table goes by
/// its make and model.
#[test]
fn a_vehicle_is_in_a_table_by_what_is_known_of_it() {
    let text = |fact, of: &str| Condition::Test(Test::Text { fact, among: vec![of.to_owned()], is: true });
    let row = |make, model| FlatRow {
        condition: Condition::All(vec![text(Fact::Make, make), text(Fact::Model, model)]),
        excused: MonitorSet::EMPTY,
        codes: Vec::new(),
    };
    let rows = vec![row("aster", "one"), row("larkspur", "two")];
    let flat = Flat {
        tables: vec![FlatTable { id: "listed".to_owned(), rows }],
        lines: vec![line("listed", 2, Condition::Test(Test::Listed(0)))],
        ..example()
    };
    let whole = Compiled::whole(&flat).unwrap();
    let names = [None, Some("aster"), Some("larkspur"), Some("other")];
    let mut sizes = BTreeSet::new();
    for make in names {
        for model in [None, Some("one"), Some("two"), Some("other")] {
            let mut car = Snapshot::default();
            for (fact, name) in [(Fact::Make, make), (Fact::Model, model)] {
                name.into_iter().for_each(|name| car.set(fact, Value::Text(name.to_owned())));
            }
            let given = Given::of(&flat, &car).unwrap();
            let found = verdicts(&whole, whole.first().unwrap(), &flat, &given);
            assert_eq!(found, exact::possible(&flat, &given).unwrap(), "{make:?} {model:?}");
            sizes.insert(found.len());
        }
    }
    assert_eq!(sizes, BTreeSet::from([1, 2]), "some are settled and some are open");
}

/// A description tells what kind of vehicle it is first, then how many counted monitors are incomplete, and single monitors last
/// (`cubes`: the order in which a person reads it).
#[test]
fn a_description_tells_single_monitors_last() {
    let monitors: MonitorSet = [Monitor::Catalyst, Monitor::Evaporative, Monitor::EgrVvt].into_iter().collect();
    let codes = Test::Codes { list: Fact::PermanentCodes, how: How::Any, among: None };
    let count = Test::Count { states: MonitorState::Incomplete.bit(), least: Some(2), most: None };
    let parts = vec![
        word(Fact::Monitor(Monitor::Catalyst), "incomplete"),
        Condition::Test(count),
        Condition::Test(codes),
        word(Fact::Hybrid, "yes"),
    ];
    let rule =
        CountRule { condition: Condition::always(), monitors, unsupported_as_incomplete: false, basis: Vec::new() };
    let flat = Flat { counts: vec![rule], lines: vec![line("all", 2, Condition::All(parts))], ..example() };
    let given = anything(&flat).unwrap();
    let mut compiled = Compiled::whole(&flat).unwrap();
    let ruled = compiled.first().unwrap().ruled;
    let fail = terminal_of(Verdict::Outcome(2));
    let vehicles = compiled.compiler.forest.where_value(ruled, |value| value == fail).unwrap();
    let cover = Describer::new(&mut compiled, &[(&flat, &given)]).unwrap().cover(vehicles);
    assert_eq!(cover.cubes.len(), 1, "{cover:#?}");
    let told = &cover.cubes[0].conditions;
    let place = |of: &str| told.iter().position(|one| one.contains(of)).unwrap_or_else(|| panic!("{of}: {told:?}"));
    let places = ["hybrid", "permanent", "counted monitors", "catalyst is"].map(place);
    assert!(places[0] < places[2] && places[1] < places[2] && places[2] < places[3], "{told:?}");
}
