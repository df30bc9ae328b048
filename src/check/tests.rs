//! Tests of the checker's parts on trees made by hand: what the grammar tells first, windows of dates, patterns of codes,
//! limits.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests may stop at the first wrong thing")]

use super::amounts::Scale;
use super::context::Context;
use super::dates::{difference, intersection, uncovered};
use super::limits;
use super::*;
use crate::model::{CodeRange, Date, FactType, Unit};
use crate::program::Window;
use crate::source::{Span, Spanned};
use crate::syntax::ast::{Amount, Bounds, CodePattern, File, Item, Kind, Word};
use rstest::rstest;

fn word(text: &str) -> Word {
    Spanned::new(text.to_owned(), Span::new(3, 7))
}

fn only(cx: &Context) -> (&'static str, String, String) {
    assert_eq!(cx.diagnostics.len(), 1, "{:?}", cx.diagnostics);
    let found = &cx.diagnostics[0];
    assert_eq!(found.labels[0].span, Span::new(3, 7), "the place is that of the word");
    (found.code, found.message.clone(), found.help.clone().unwrap_or_default())
}

#[rstest]
#[case::a_slip_of_the_pen("gross wieght", "check/unknown-fact", "did you mean `gross weight`?")]
#[case::a_monitor("catalyst", "check/monitor-misplaced", "a monitor is tested by its state: `catalyst is incomplete`")]
#[case::a_monitor_nearly("catalist", "check/unknown-fact", "did you mean `catalyst`?")]
fn subjects_that_are_no_facts(#[case] name: &str, #[case] code: &str, #[case] help: &str) {
    let mut cx = Context::new();
    assert_eq!(cx.subject(&word(name)), None);
    let found = only(&cx);
    assert_eq!((found.0, found.2.as_str()), (code, help));
}

#[test]
fn topics_have_a_suggestion() {
    let mut cx = Context::new();
    assert_eq!(cx.topic(&word("lampp")), None);
    assert_eq!(
        only(&cx),
        ("check/unknown-topic", "there is no topic `lampp`".to_owned(), "did you mean `lamp`?".to_owned())
    );
}

#[test]
fn units_have_a_suggestion() {
    let mut cx = Context::new();
    let amount = Spanned::new(Amount::Number { number: 5, unit: Some(word("mils")) }, Span::new(1, 9));
    let scale = Scale::of(&FactType::Number { unit: Unit::Kilometre, least: 0, most: 9, saturates: false }).unwrap();
    assert_eq!(cx.amount(&word("odometer"), &amount, scale), None);
    assert_eq!(only(&cx).0, "check/unknown-unit");
    assert_eq!(only(&cx).2, "did you mean `miles`?");
}

fn window(from: Option<&str>, through: Option<&str>) -> Window {
    let day = |text: Option<&str>| text.map(|text| text.parse::<Date>().unwrap());
    Window { from: day(from), through: day(through) }
}

/// Both ends are included, so windows that share one day overlap.
#[test]
fn windows() {
    let early = window(None, Some("2012-07-01"));
    let late = window(Some("2012-07-01"), None);
    assert_eq!(intersection(early, late), Some(window(Some("2012-07-01"), Some("2012-07-01"))));
    assert_eq!(intersection(early, window(Some("2012-07-02"), None)), None);
    let always = window(None, None);
    let middle = window(Some("2010-01-01"), Some("2010-12-31"));
    assert_eq!(difference(always, middle), [window(None, Some("2009-12-31")), window(Some("2011-01-01"), None)]);
    assert_eq!(uncovered(always, [early, late]), []);
    assert_eq!(uncovered(middle, [always]), []);
    assert_eq!(uncovered(middle, [late]), [middle]);
}

fn pattern(first: &str, last: Option<&str>, digits_only: Option<bool>) -> CodePattern {
    CodePattern { span: Span::new(3, 7), first: word(first), last: last.map(word), digits_only }
}

/// Places of a code: SAE J2012 as in the digest obd-data.md, section 1.6. Whether a range means codes with letters must be
/// said only where it matters: P0420 through P0439 is 20 codes or 32 (digest states-b.md, section 2).
#[rstest]
#[case::one("P0420", None, None, Some((0x0420, 0x0420, 1)))]
#[case::lower_case("p0420", None, None, Some((0x0420, 0x0420, 1)))]
#[case::any_digits("P03xx", None, None, Some((0x0300, 0x03FF, 256)))]
#[case::any_decimal_digits("P03xx", None, Some(true), Some((0x0300, 0x03FF, 100)))]
#[case::with_a_letter("P04Fx", None, None, Some((0x04F0, 0x04FF, 16)))]
#[case::chassis("C0035", None, None, Some((0x4035, 0x4035, 1)))]
#[case::digits("P0420", Some("P0439"), Some(true), Some((0x0420, 0x0439, 20)))]
#[case::letters("P0420", Some("P0439"), Some(false), Some((0x0420, 0x0439, 26)))]
#[case::must_be_said("P0420", Some("P0439"), None, None)]
#[case::need_not_be_said("P0420", Some("P0429"), None, Some((0x0420, 0x0429, 10)))]
#[case::reversed("P0439", Some("P0420"), Some(true), None)]
#[case::hole_in_the_middle("P0x20", None, None, None)]
#[case::first_digit_too_great("P4420", None, None, None)]
#[case::too_short("P042", None, None, None)]
#[case::all_unknown("Pxxxx", None, None, None)]
fn patterns_of_codes(
    #[case] first: &str,
    #[case] last: Option<&str>,
    #[case] digits: Option<bool>,
    #[case] expected: Option<(u16, u16, usize)>,
) {
    let mut cx = Context::new();
    let ranges = cx.patterns(&[pattern(first, last, digits)], Span::default());
    let counted = |range: &CodeRange| {
        let count = (0..=u16::MAX).filter(|code| range.contains(*code)).count();
        (range.first, range.last, count)
    };
    assert_eq!(ranges.first().map(counted), expected);
    assert_eq!(cx.diagnostics.is_empty(), expected.is_some());
}

/// Each limit has its own message (design, section 8).
#[test]
fn every_limit_is_told() {
    let item = |place: usize| Item {
        span: Span::default(),
        replaces: None,
        kind: Kind::Finding {
            id: word(&format!("f{place}")),
            condition: ast::Condition { span: Span::default(), tests: Vec::new(), group: None },
        },
        properties: Vec::new(),
    };
    let file = File { items: (0..=limits::ITEMS).map(item).collect(), comments: Vec::new() };
    let checked = check(&file, &());
    let messages: Vec<&str> =
        checked.diagnostics.iter().filter(|one| one.code == "check/too-many").map(|one| one.message.as_str()).collect();
    assert_eq!(messages, ["2001 findings: at most 500 are allowed", "2001 items: at most 2000 are allowed"]);
    assert!(checked.program.is_none());
}

fn amount(number: i64) -> Spanned<Amount> {
    Spanned::new(Amount::Number { number, unit: None }, Span::new(3, 7))
}

fn date(day: &str) -> Spanned<Amount> {
    Spanned::new(Amount::Date(day.to_owned()), Span::new(3, 7))
}

/// Of a number from 0 through 9, and of a date within the calendar, nothing is above the greatest or below the least: such a bound
/// is a slip. Where the greatest reading means that or more, nothing but *at least* can be said of it.
#[rstest]
#[case::above_the_last_but_one(Bounds::Above(amount(8)), false, None)]
#[case::above_the_greatest(Bounds::Above(amount(9)), false, Some("check/out-of-range"))]
#[case::below_the_second(Bounds::Below(amount(1)), false, None)]
#[case::below_the_least(Bounds::Below(amount(0)), false, Some("check/out-of-range"))]
#[case::at_least_the_greatest(Bounds::AtLeast(amount(9)), false, None)]
#[case::at_most_the_least(Bounds::AtMost(amount(0)), false, None)]
#[case::beyond(Bounds::AtLeast(amount(10)), false, Some("check/out-of-range"))]
#[case::above_the_last_day(Bounds::Above(date("2199-12-31")), false, Some("check/out-of-range"))]
#[case::above_the_day_before(Bounds::Above(date("2199-12-30")), false, None)]
#[case::below_the_first_day(Bounds::Below(date("1900-01-01")), false, Some("check/out-of-range"))]
#[case::below_the_day_after(Bounds::Below(date("1900-01-02")), false, None)]
#[case::at_least_the_greatest_reading(Bounds::AtLeast(amount(9)), true, None)]
#[case::above_the_last_but_one_reading(Bounds::Above(amount(8)), true, None)]
#[case::above_the_greatest_reading(Bounds::Above(amount(9)), true, Some("check/saturated"))]
#[case::at_most_the_greatest_reading(Bounds::AtMost(amount(9)), true, Some("check/saturated"))]
#[case::below_the_greatest_reading(Bounds::Below(amount(9)), true, None)]
fn bounds_at_the_ends_of_a_range(#[case] bounds: Bounds, #[case] saturates: bool, #[case] code: Option<&str>) {
    let number = FactType::Number { unit: Unit::One, least: 0, most: 9, saturates };
    let is_date =
        matches!(&bounds, Bounds::Above(amount) | Bounds::Below(amount) if matches!(amount.node, Amount::Date(_)));
    let scale = Scale::of(if is_date { &FactType::Date } else { &number }).unwrap();
    let mut cx = Context::new();
    let found = cx.bounds(&word("subject"), &bounds, scale);
    assert_eq!(found.is_none(), code.is_some(), "{found:?}");
    assert_eq!((!cx.diagnostics.is_empty()).then(|| only(&cx).0), code);
}
