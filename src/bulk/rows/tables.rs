//! Which bits a value sets, for every value that it can have.

use super::atoms::{Asked, span_of};
use super::code::{Both, Load, OfNumber, OfText, OfWords};
use super::layout::{FIRST_TEXT, Layout};
use super::presume::possible_at;
use crate::model::facts::{ABSENT, Possible, Span};

/// Numbers whose bits are looked up by the number itself, at most.
const LOOKED_UP: i64 = 1024;

/// Adds a value to what fills a word: bits, each with what is asked.
pub(super) fn load_value(load: &mut Load, layout: &Layout, place: usize, asked: &[(u64, &Asked)]) {
    let possible = possible_at(layout, place);
    match (&possible, span_of(&possible)) {
        (_, Some(span)) => load.numbers.push(numbers(place, span, asked)),
        (Possible::Text(_), _) => load.texts.push(texts(layout, place, asked)),
        _ => load.words.push(words(place, asked)),
    }
}

/// The bits of what holds.
fn bits(asked: &[(u64, &Asked)], holds: impl Fn(&Asked) -> bool) -> u64 {
    asked.iter().fold(0, |all, (bit, asked)| if holds(asked) { all | bit } else { all })
}

/// The bits of what surely and of what perhaps holds.
fn both(asked: &[(u64, &Asked)], holds: impl Fn(&Asked) -> (bool, bool)) -> Both {
    [bits(asked, |asked| holds(asked).0), bits(asked, |asked| holds(asked).1)]
}

fn words(place: usize, asked: &[(u64, &Asked)]) -> OfWords {
    let mut table = Box::new([0; 64]);
    for (at, slot) in (0u32..).zip(table.iter_mut()) {
        *slot = bits(asked, |asked| asked.of_word(1u64.wrapping_shl(at)));
    }
    debug_assert!(table.last() == Some(&bits(asked, |asked| asked.of_word(ABSENT))));
    OfWords { place, bits: table }
}

fn numbers(place: usize, span: Span, asked: &[(u64, &Asked)]) -> OfNumber {
    let of = |number: i64| bits(asked, |asked| asked.of_number(number));
    let is_small = span.most.checked_sub(span.least).is_some_and(|size| size < LOOKED_UP);
    let mut bounds: Vec<i64> = Vec::new();
    for (_, asked) in asked {
        if let Asked::Number(least, most) = asked {
            bounds.extend(least);
            bounds.extend(most.and_then(|most| most.checked_add(1)));
        }
    }
    bounds.sort_unstable();
    bounds.dedup();
    bounds.retain(|bound| (span.least + 1..=span.most).contains(bound));
    // An even and an odd number that lie in the run, or stand for those that do.
    let run = |start: i64| {
        let at = |number: i64| {
            bits(asked, |asked| match asked {
                Asked::Even | Asked::Odd => asked.of_number(number),
                _ => asked.of_number(start),
            })
        };
        [at(0), at(1)]
    };
    OfNumber {
        place,
        least: span.least,
        table: if is_small { (span.least..=span.most).map(of).collect() } else { Vec::new() },
        runs: std::iter::once(span.least).chain(bounds.iter().copied()).map(run).collect(),
        bounds,
        unknown: both(asked, |asked| asked.of_span(span)),
    }
}

fn texts(layout: &Layout, place: usize, asked: &[(u64, &Asked)]) -> OfText {
    let named = layout.texts.get(&place);
    let count = usize::try_from(FIRST_TEXT).unwrap_or(2) + named.map_or(0, std::collections::BTreeMap::len);
    // Nothing is said of the place that stands for *not known*.
    let mut table = vec![bits(asked, |asked| asked.of_text(None)); count];
    for (text, code) in named.into_iter().flatten() {
        if let Some(slot) = usize::try_from(*code).ok().and_then(|code| table.get_mut(code)) {
            *slot = bits(asked, |asked| asked.of_text(Some(text)));
        }
    }
    OfText { place, bits: table, unknown: both(asked, Asked::of_no_text) }
}

#[cfg(test)]
mod tests {
    use super::super::layout::{ABSENT_NUMBER, UNKNOWN};
    use super::*;
    use rstest::rstest;

    /// By the definition, number by number: a number sets the bits of what holds of it, whether it is looked up by itself or
    /// stands for its run. Nothing holds of one that is not on the vehicle, and one that is not known sets none.
    #[rstest]
    #[case::looked_up(1900, 2100)]
    #[case::about_as_many_as_are_looked_up(-512, 512)]
    #[case::by_runs(-2500, 2500)]
    fn a_number_sets_the_bits_of_what_holds_of_it(#[case] least: i64, #[case] most: i64) {
        let some = least + 100;
        let all = [
            Asked::Number(Some(some), None),
            Asked::Number(None, Some(some + 3)),
            Asked::Number(Some(some - 2), Some(some - 2)),
            Asked::Number(Some(least - 5), Some(most + 5)),
            Asked::Number(None, Some(most - 1)),
            Asked::Even,
            Asked::Odd,
            Asked::Present,
        ];
        let asked: Vec<(u64, &Asked)> = (0u32..).zip(&all).map(|(bit, asked)| (1 << bit, asked)).collect();
        let found = numbers(3, Span { least, most, may_be_absent: true }, &asked);
        for number in least..=most {
            let holds = [
                number >= some,
                number <= some + 3,
                number == some - 2,
                true,
                number < most,
                number.rem_euclid(2) == 0,
                number.rem_euclid(2) == 1,
                true,
            ];
            let expected = (0u32..).zip(holds).fold(0, |all, (bit, holds)| all | u64::from(holds) << bit);
            assert_eq!(found.of(number), Some(expected), "{number}");
        }
        assert_eq!((found.of(ABSENT_NUMBER), found.of(UNKNOWN)), (Some(0), None));
    }
}
