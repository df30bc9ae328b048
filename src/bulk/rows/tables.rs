//! What a value rules out, for every value that it can have.

use super::atoms::{Asked, span_of};
use super::code::{Both, Code, If, OfNumber, OfText, OfWords, Words, join};
use super::layout::{FIRST_TEXT, Layout};
use super::presume::possible_at;
use crate::model::facts::{ABSENT, Possible, Span};

/// Numbers that are looked up by the number itself, at most.
const LOOKED_UP: i64 = 1024;

/// What is asked of one value, each with what is amiss where it holds and where not.
type Of<'a, const K: usize> = [(&'a Asked, If<K>)];

/// Adds what a value rules out.
pub(super) fn load_value<const K: usize>(code: &mut Code<K>, layout: &Layout, place: usize, asked: &Of<'_, K>) {
    let possible = possible_at(layout, place);
    match (&possible, span_of(&possible)) {
        (_, Some(span)) => {
            let number = numbers(place, span, asked);
            let by_parity = asked.iter().any(|(asked, _)| matches!(asked, Asked::Even | Asked::Odd));
            code.asked.numbers.push((place, number.bounds.clone(), by_parity));
            code.numbers.push(number);
        }
        (Possible::Text(_), _) => code.texts.push(texts(layout, place, asked)),
        (Possible::Words(whole), _) => code.words.push(words(place, *whole, asked)),
        // Lists and sets are no values of these kinds.
        _ => {}
    }
}

fn amiss<const K: usize>(asked: &Of<'_, K>, holds: impl Fn(&Asked) -> bool) -> Words<K> {
    let mut words = [0; K];
    asked.iter().for_each(|(asked, then)| then.add(&mut words, holds(asked)));
    words
}

fn both<const K: usize>(asked: &Of<'_, K>, holds: impl Fn(&Asked) -> (bool, bool)) -> Both<K> {
    let mut found = [[0; K]; 2];
    for (asked, then) in asked {
        let (surely, perhaps) = holds(asked);
        found.iter_mut().zip(then.both(surely, perhaps)).for_each(|(words, more)| join(words, &more));
    }
    found
}

fn words<const K: usize>(place: usize, whole: u64, asked: &Of<'_, K>) -> OfWords<K> {
    let mut table = Box::new([[0; K]; 64]);
    for (at, slot) in (0u32..).zip(table.iter_mut()) {
        *slot = amiss(asked, |asked| asked.of_word(1u64.wrapping_shl(at)));
    }
    debug_assert!(table.last() == Some(&amiss(asked, |asked| asked.of_word(ABSENT))));
    let mut words = OfWords { place, amiss: table, whole, unknown: [[0; K]; 2] };
    words.unknown = words.of_all(whole);
    words
}

fn numbers<const K: usize>(place: usize, span: Span, asked: &Of<'_, K>) -> OfNumber<K> {
    let of = |number: i64| amiss(asked, |asked| asked.of_number(number));
    let is_small = span.most.checked_sub(span.least).is_some_and(|size| size < LOOKED_UP);
    let mut bounds: Vec<i64> = Vec::new();
    for (asked, _) in asked {
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
        [0, 1].map(|number| {
            amiss(asked, |asked| match asked {
                Asked::Even | Asked::Odd => asked.of_number(number),
                _ => asked.of_number(start),
            })
        })
    };
    OfNumber {
        place,
        least: span.least,
        table: if is_small { (span.least..=span.most).map(of).collect() } else { Vec::new() },
        runs: std::iter::once(span.least).chain(bounds.iter().copied()).map(run).collect(),
        bounds,
        absent: amiss(asked, |_| false),
        unknown: both(asked, |asked| asked.of_span(span)),
    }
}

fn texts<const K: usize>(layout: &Layout, place: usize, asked: &Of<'_, K>) -> OfText<K> {
    let named = layout.texts.get(&place);
    let count = usize::try_from(FIRST_TEXT).unwrap_or(2) + named.map_or(0, std::collections::BTreeMap::len);
    // Nothing is said of the place that stands for *not known*.
    let mut table = vec![amiss(asked, |asked| asked.of_text(None)); count];
    for (text, code) in named.into_iter().flatten() {
        if let Some(slot) = usize::try_from(*code).ok().and_then(|code| table.get_mut(code)) {
            *slot = amiss(asked, |asked| asked.of_text(Some(text)));
        }
    }
    OfText { place, amiss: table, unknown: both(asked, Asked::of_no_text) }
}
