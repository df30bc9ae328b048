//! A row through the conjunctions: with one set of bits where all that is asked is known, and else with two, what surely
//! and what perhaps holds.

use super::atoms::OfCodes;
use super::code::{Both, Code, Level, OfMonitors, OfNumber, OfText, OfWords, Place, Words, all_where, join, meet};
use super::codes::{CLASSES, MAY_BE_ABSENT, MAY_BE_PRESENT, MORE, SOME};
use super::layout::{ABSENT_NUMBER, NO_TEXT, UNKNOWN};
use crate::evaluate::{Range, States};

#[inline(always)]
pub(super) fn value_at(values: &[i64], place: usize) -> i64 {
    values.get(place).copied().unwrap_or(UNKNOWN)
}

/// All bits of a mask where it holds, else none.
#[inline(always)]
pub(super) fn where_it(holds: bool, mask: u32) -> u32 {
    0u32.wrapping_sub(u32::from(holds)) & mask
}

/// Monitors in one of the states of a mask.
#[inline(always)]
pub(super) fn in_states(states: States, mask: u64) -> u32 {
    where_it(mask & 1 != 0, states.unsupported)
        | where_it(mask & 2 != 0, states.complete)
        | where_it(mask & 4 != 0, states.incomplete)
}

/// The states of monitors that are in one alone.
fn settled(states: States) -> States {
    let States { unsupported, complete, incomplete } = states;
    States {
        unsupported: unsupported & !(complete | incomplete),
        complete: complete & !(unsupported | incomplete),
        incomplete: incomplete & !(unsupported | complete),
    }
}

/// States as conjunctions ask for them.
#[inline(always)]
fn words_of(states: States) -> [u64; 2] {
    [u64::from(states.incomplete) | u64::from(states.complete) << 32, u64::from(states.unsupported)]
}

/// Whether a conjunction holds.
#[inline(always)]
pub(super) fn holds<const K: usize>(amiss: &Words<K>, place: Place) -> bool {
    match place {
        Place::Fixed(holds) => holds,
        Place::At(word, bit, negated) => {
            let word = amiss.get(word).copied().unwrap_or(0);
            (word.wrapping_shr(bit) & 1 == 0) != negated
        }
    }
}

/// Whether a conjunction surely and whether it perhaps holds.
pub(super) fn both_hold<const K: usize>([surely, perhaps]: &Both<K>, place: Place) -> [bool; 2] {
    match place {
        Place::At(_, _, true) => [holds(perhaps, place), holds(surely, place)],
        _ => [holds(surely, place), holds(perhaps, place)],
    }
}

impl OfCodes {
    /// Whether it surely and whether it perhaps holds of a list.
    #[inline]
    fn of(self, value: i64) -> (bool, bool) {
        let (present, surely) = (value & MAY_BE_PRESENT != 0, value & MAY_BE_ABSENT == 0);
        let (some, more) = (value & SOME != 0, value & MORE != 0);
        let classes = (value & CLASSES).cast_unsigned();
        let (is_so, may_be) = match self {
            OfCodes::Present => (true, true),
            OfCodes::Any(inside, unread) => (classes & inside != 0, classes & (inside | unread) != 0 || more),
            OfCodes::Some => (some, some || more),
            OfCodes::Only(out, unread, is_whole) => {
                (classes & (out | unread) == 0 && !(more && is_whole), classes & out == 0)
            }
        };
        (present && surely && is_so, present && may_be)
    }
}

impl<const K: usize> OfWords<K> {
    /// What one word rules out.
    #[inline(always)]
    fn of(&self, word: u32) -> &Words<K> {
        let [first, ..] = &*self.amiss;
        usize::try_from(word & 63).ok().and_then(|at| self.amiss.get(at)).unwrap_or(first)
    }

    /// What a mask of words keeps from being sure, and what it rules out.
    pub(super) fn of_all(&self, words: u64) -> Both<K> {
        let mut left = words;
        let mut found = [[0; K], [u64::MAX; K]];
        while left != 0 {
            let one = self.of(left.trailing_zeros());
            let [surely, perhaps] = &mut found;
            join(surely, one);
            meet(perhaps, one);
            left &= left.wrapping_sub(1);
        }
        found
    }

    fn both(&self, words: u64) -> Both<K> {
        if words.is_power_of_two() {
            let one = *self.of(words.trailing_zeros());
            return [one, one];
        }
        if words == self.whole { self.unknown } else { self.of_all(words) }
    }
}

impl<const K: usize> OfNumber<K> {
    /// What a known number rules out; `None` where it is not known.
    #[inline(always)]
    fn of(&self, value: i64) -> Option<&Words<K>> {
        let at = usize::try_from(value.wrapping_sub(self.least)).ok();
        match at.and_then(|at| self.table.get(at)) {
            Some(amiss) => Some(amiss),
            None if value == UNKNOWN => None,
            None if value == ABSENT_NUMBER => Some(&self.absent),
            None => {
                let run = self.bounds.iter().filter(|bound| **bound <= value).count();
                self.runs.get(run).map(|[even, odd]| if value & 1 == 0 { even } else { odd })
            }
        }
    }
}

impl<const K: usize> OfText<K> {
    #[inline(always)]
    fn of(&self, value: i64) -> Option<&Words<K>> {
        usize::try_from(value).ok().filter(|_| value > NO_TEXT).and_then(|at| self.amiss.get(at))
    }
}

impl<const K: usize> OfMonitors<K> {
    #[inline(always)]
    fn known(&self, states: [u64; 2], amiss: &mut Words<K>) {
        let wrong = (states[0] ^ self.want[0]) & self.mask[0] | (states[1] ^ self.want[1]) & self.mask[1];
        self.add(wrong, amiss);
    }

    #[inline(always)]
    fn add(&self, wrong: u64, amiss: &mut Words<K>) {
        let mask = all_where(wrong != 0);
        amiss.iter_mut().zip(&self.out).for_each(|(word, out)| *word |= out & mask);
    }

    fn both(&self, [surely, perhaps]: [[u64; 2]; 2], amiss: &mut Both<K>) {
        let wrong = |yes_of: [u64; 2], no_of: [u64; 2]| {
            let of = |(((mask, want), yes), no): (((&u64, &u64), &u64), &u64)| mask & (want & !yes | !want & no);
            self.mask.iter().zip(&self.want).zip(&yes_of).zip(&no_of).map(of).fold(0, |all, one| all | one)
        };
        let [not_sure, out] = amiss;
        self.add(wrong(surely, perhaps), not_sure);
        self.add(wrong(perhaps, surely), out);
    }
}

/// What is amiss of conjunctions of conjunctions.
#[inline(always)]
fn run<const K: usize>(levels: &[Level<K>], amiss: &mut Words<K>) {
    for level in levels {
        let before = *amiss;
        for gate in level {
            let mut wrong = 0;
            for ((amiss, mask), no) in before.iter().zip(&gate.mask).zip(&gate.no) {
                wrong |= (amiss ^ no) & mask;
            }
            let mask = all_where(wrong != 0);
            amiss.iter_mut().zip(&gate.out).for_each(|(word, out)| *word |= out & mask);
        }
    }
}

impl<const K: usize> Code<K> {
    /// Whether each monitor that is asked is known.
    #[inline(always)]
    fn monitors_are_known(&self, states: States) -> bool {
        let States { unsupported, complete, incomplete } = states;
        let open = unsupported & (complete | incomplete) | complete & incomplete;
        open & self.asked.monitors == 0
    }

    /// What is amiss by what the row says; `None`: something that is asked is not known.
    #[inline(always)]
    fn known_inputs(&self, values: &[i64], states: States) -> Option<Words<K>> {
        let mut amiss = self.never;
        let mut is_open = !self.monitors_are_known(states);
        for one in &self.words {
            let value = value_at(values, one.place).cast_unsigned();
            is_open |= !value.is_power_of_two();
            join(&mut amiss, one.of(value.trailing_zeros()));
        }
        for one in &self.numbers {
            match one.of(value_at(values, one.place)) {
                Some(found) => join(&mut amiss, found),
                None => is_open = true,
            }
        }
        for one in &self.texts {
            match one.of(value_at(values, one.place)) {
                Some(found) => join(&mut amiss, found),
                None => is_open = true,
            }
        }
        for (place, asked, then) in &self.codes {
            let (surely, perhaps) = asked.of(value_at(values, *place));
            is_open |= surely != perhaps;
            then.add(&mut amiss, surely);
        }
        for place in &self.asked.counted {
            is_open |= value_at(values, *place) == UNKNOWN;
        }
        for one in &self.counts {
            let many = i64::from((in_states(states, one.states) & one.set).count_ones());
            let [least, most] = one.range;
            one.then.add(&mut amiss, (least..=most).contains(&many));
        }
        for (place, mask, then) in &self.pairs {
            let value = value_at(values, *place);
            is_open |= value == UNKNOWN;
            then.add(&mut amiss, i64::from(in_states(states, *mask)) & value != 0);
        }
        if !self.monitors.is_empty() {
            let words = words_of(states);
            self.monitors.iter().for_each(|one| one.known(words, &mut amiss));
        }
        (!is_open).then_some(amiss)
    }

    /// What is amiss of a row of which all that is asked is known, but for what turns on readings and on limits that were
    /// not read; and whether a counted monitor is incomplete. `None`: something is not known.
    #[inline(always)]
    pub(super) fn known(&self, values: &[i64], states: States) -> Option<(Words<K>, bool)> {
        let mut amiss = self.known_inputs(values, states)?;
        run(&self.before, &mut amiss);
        let Some(count) = &self.count else { return Some((amiss, false)) };
        let (more, is_incomplete) = count.known(&amiss, values, states)?;
        join(&mut amiss, &more);
        run(&self.after, &mut amiss);
        Some((amiss, is_incomplete))
    }

    /// What a row says.
    fn both_inputs(&self, values: &[i64], states: States) -> Both<K> {
        let mut found = [self.never; 2];
        let [not_sure, _] = &mut found;
        join(not_sure, &self.of_readings);
        let mut add = |more: &Both<K>| found.iter_mut().zip(more).for_each(|(words, more)| join(words, more));
        for one in &self.words {
            add(&one.both(value_at(values, one.place).cast_unsigned()));
        }
        for one in &self.numbers {
            add(&one.of(value_at(values, one.place)).map_or(one.unknown, |amiss| [*amiss; 2]));
        }
        for one in &self.texts {
            add(&one.of(value_at(values, one.place)).map_or(one.unknown, |amiss| [*amiss; 2]));
        }
        for (place, asked, then) in &self.codes {
            let (surely, perhaps) = asked.of(value_at(values, *place));
            add(&then.both(surely, perhaps));
        }
        for one in &self.counts {
            let perhaps = in_states(states, one.states);
            let surely = perhaps & !in_states(states, !one.states);
            let range = Range {
                least: i64::from((surely & one.set).count_ones()),
                most: i64::from((perhaps & one.set).count_ones()),
            };
            let [least, most] = one.range;
            add(&one.then.both(least <= range.least && range.most <= most, least <= range.most && range.least <= most));
        }
        for (place, mask, then) in &self.pairs {
            let value = value_at(values, *place);
            let (sure, may_be) = if value == UNKNOWN { (0, i64::from(u32::MAX)) } else { (value, value) };
            let perhaps = in_states(states, *mask);
            let surely = perhaps & !in_states(states, !mask);
            add(&then.both(sure & i64::from(surely) != 0, may_be & i64::from(perhaps) != 0));
        }
        if !self.monitors.is_empty() {
            let words = [words_of(settled(states)), words_of(states)];
            self.monitors.iter().for_each(|one| one.both(words, &mut found));
        }
        found
    }

    /// What surely and what perhaps holds of any row, and whether a counted monitor may be incomplete. Tables that the
    /// vehicle is presumed not to be in are a bit each: of their rows what is not sure is ruled out.
    pub(super) fn both(&self, values: &[i64], states: States, unlisted: u64) -> (Both<K>, bool) {
        let mut rows = [0; K];
        if unlisted != 0 {
            let is_unlisted = |table: usize| u32::try_from(table).is_ok_and(|at| unlisted.wrapping_shr(at) & 1 == 1);
            self.rows.iter().filter(|(table, _)| is_unlisted(*table)).for_each(|(_, bits)| join(&mut rows, bits));
        }
        let mut found = self.both_inputs(values, states);
        rule_out(&mut found, &rows);
        run_both(&self.before, &mut found, &rows);
        let Some(count) = &self.count else { return (found, false) };
        let (more, is_incomplete) = count.both(&found, values, states);
        found.iter_mut().zip(&more).for_each(|(words, more)| join(words, more));
        run_both(&self.after, &mut found, &rows);
        (found, is_incomplete)
    }
}

/// Of some conjunctions what is not sure is ruled out.
fn rule_out<const K: usize>([not_sure, out]: &mut Both<K>, rows: &Words<K>) {
    for ((out, not_sure), row) in out.iter_mut().zip(not_sure).zip(rows) {
        *out |= *not_sure & row;
    }
}

fn run_both<const K: usize>(levels: &[Level<K>], found: &mut Both<K>, rows: &Words<K>) {
    for level in levels {
        let [not_sure, out] = *found;
        for gate in level {
            let (mut keeps, mut rules_out) = (0, 0);
            for (((not_sure, out), mask), no) in not_sure.iter().zip(&out).zip(&gate.mask).zip(&gate.no) {
                let yes = mask & !no;
                keeps |= not_sure & yes | !out & no;
                rules_out |= out & yes | !not_sure & no;
            }
            for (words, wrong) in found.iter_mut().zip([keeps, rules_out]) {
                let mask = all_where(wrong != 0);
                words.iter_mut().zip(&gate.out).for_each(|(word, out)| *word |= out & mask);
            }
        }
        rule_out(found, rows);
    }
}
