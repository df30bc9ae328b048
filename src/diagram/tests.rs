//! Tests of the diagrams.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests may stop at the first wrong thing")]

use super::codes::Atoms;
use super::cuts::Asked;
use super::level::{Members, Sample};
use super::numbers::{Lattice, classes, within};
use crate::model::facts::Span;
use crate::model::{CodeGroup, CodeRange, Fact, TroubleCode, Unit};
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
