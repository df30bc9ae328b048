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
use crate::syntax::ast::{Amount, CodePattern, File, Item, Kind, Word};
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
