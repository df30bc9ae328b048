//! A row through the words: with one set of bits where all that is asked is known, and else with two, what surely and what
//! perhaps holds.

use super::atoms::OfCodes;
use super::code::{Code, Gate, Load, OfNumber, Place, Run, Term, WORDS, Words};
use super::codes::{CLASSES, MAY_BE_ABSENT, MAY_BE_PRESENT, MORE, SOME};
use super::layout::{ABSENT_NUMBER, NO_TEXT, UNKNOWN};
use crate::evaluate::{Range, States};

impl Words {
    pub(super) const NONE: Words = Words([0; WORDS]);

    fn of(states: States) -> Words {
        let mut words = Words::NONE;
        words.put_monitors(states);
        words
    }

    #[inline(always)]
    fn put_monitors(&mut self, states: States) {
        self.set(0, u64::from(states.incomplete) | u64::from(states.complete) << 32);
        self.set(1, u64::from(states.unsupported));
    }

    /// The word; the place is taken within what there is, which the compiler of programs has made sure of.
    #[inline(always)]
    pub(super) fn get(&self, word: u8) -> u64 {
        self.0.get(usize::from(word) % WORDS).copied().unwrap_or(0)
    }

    #[inline(always)]
    pub(super) fn set(&mut self, word: u8, bits: u64) {
        if let Some(slot) = self.0.get_mut(usize::from(word) % WORDS) {
            *slot = bits;
        }
    }

    #[inline(always)]
    pub(super) fn holds(&self, place: Place) -> bool {
        match place {
            Place::Fixed(holds) => holds,
            Place::At(word, bit, negated) => (self.get(word).wrapping_shr(bit) & 1 == 1) != negated,
        }
    }
}

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

impl OfNumber {
    /// The bits of a known number; `None` where it is not known.
    #[inline(always)]
    pub(super) fn of(&self, value: i64) -> Option<u64> {
        let at = usize::try_from(value.wrapping_sub(self.least)).ok();
        match at.and_then(|at| self.table.get(at)) {
            Some(bits) => Some(*bits),
            None if value == UNKNOWN => None,
            None if value == ABSENT_NUMBER => Some(0),
            None => {
                let run = self.bounds.iter().filter(|bound| **bound <= value).count();
                let [even, odd] = self.runs.get(run).copied().unwrap_or_default();
                Some(if value & 1 == 0 { even } else { odd })
            }
        }
    }
}

impl Load {
    /// The bits of the word; and whether something is not known.
    #[inline(always)]
    fn known(&self, values: &[i64], states: States) -> (u64, bool) {
        let (mut bits, mut open) = (0, false);
        for one in &self.words {
            let value = value_at(values, one.place).cast_unsigned();
            open |= !value.is_power_of_two();
            bits |=
                usize::try_from(value.trailing_zeros() & 63).ok().and_then(|at| one.bits.get(at)).copied().unwrap_or(0);
        }
        for one in &self.numbers {
            match one.of(value_at(values, one.place)) {
                Some(found) => bits |= found,
                None => open = true,
            }
        }
        for one in &self.texts {
            let value = value_at(values, one.place);
            open |= value <= NO_TEXT;
            bits |= usize::try_from(value).ok().and_then(|at| one.bits.get(at)).copied().unwrap_or(0);
        }
        for (place, asked, bit) in &self.codes {
            let (surely, perhaps) = asked.of(value_at(values, *place));
            open |= surely != perhaps;
            bits |= if surely { *bit } else { 0 };
        }
        for (set, mask, least, most, bit) in &self.counts {
            let many = i64::from((in_states(states, *mask) & set).count_ones());
            bits |= if (*least..=*most).contains(&many) { *bit } else { 0 };
        }
        for (place, mask, bit) in &self.pairs {
            let value = value_at(values, *place);
            open |= value == UNKNOWN;
            bits |= if i64::from(in_states(states, *mask)) & value != 0 { *bit } else { 0 };
        }
        (bits, open)
    }

    /// The bits of what surely and of what perhaps holds.
    fn both(&self, values: &[i64], states: States) -> [u64; 2] {
        let (mut surely, mut perhaps) = (0, 0);
        let mut add = |[sure, may_be]: [u64; 2]| (surely, perhaps) = (surely | sure, perhaps | may_be);
        for one in &self.words {
            let mut left = value_at(values, one.place).cast_unsigned();
            let mut found = if left == 0 { [0, 0] } else { [u64::MAX, 0] };
            while left != 0 {
                let at = usize::try_from(left.trailing_zeros()).ok();
                let bits = at.and_then(|at| one.bits.get(at)).copied().unwrap_or(0);
                found = [found[0] & bits, found[1] | bits];
                left &= left.wrapping_sub(1);
            }
            add(found);
        }
        for one in &self.numbers {
            add(one.of(value_at(values, one.place)).map_or(one.unknown, |bits| [bits, bits]));
        }
        for one in &self.texts {
            let value = value_at(values, one.place);
            let known = usize::try_from(value).ok().filter(|_| value > NO_TEXT).and_then(|at| one.bits.get(at));
            add(known.map_or(one.unknown, |bits| [*bits, *bits]));
        }
        let one =
            |bit: u64, (surely, perhaps): (bool, bool)| [surely, perhaps].map(|holds| if holds { bit } else { 0 });
        for (place, asked, bit) in &self.codes {
            add(one(*bit, asked.of(value_at(values, *place))));
        }
        for (set, mask, least, most, bit) in &self.counts {
            let perhaps = in_states(states, *mask);
            let surely = perhaps & !in_states(states, !mask);
            let range =
                Range { least: i64::from((surely & set).count_ones()), most: i64::from((perhaps & set).count_ones()) };
            add(one(
                *bit,
                (*least <= range.least && range.most <= *most, *least <= range.most && range.least <= *most),
            ));
        }
        for (place, mask, bit) in &self.pairs {
            let value = value_at(values, *place);
            let (sure, may_be) = if value == UNKNOWN { (0, i64::from(u32::MAX)) } else { (value, value) };
            let perhaps = in_states(states, *mask);
            let surely = perhaps & !in_states(states, !mask);
            add(one(*bit, (sure & i64::from(surely) != 0, may_be & i64::from(perhaps) != 0)));
        }
        [surely, perhaps]
    }
}

#[inline(always)]
fn amiss_of(words: &Words, term: &Term) -> u64 {
    (words.get(term.word) ^ term.want) & term.mask
}

fn known_runs(runs: &[Run], words: &mut Words) {
    for run in runs {
        let mut bits = 0u64;
        for gate in &run.gates {
            let mut amiss = amiss_of(words, &gate.first);
            // Most need one word alone, and always the same ones.
            if gate.second.mask != 0 {
                amiss |= amiss_of(words, &gate.second);
            }
            bits |= u64::from(amiss == 0).wrapping_shl(gate.bit);
            words.set(run.out, bits);
        }
    }
}

/// Some conjunctions once more.
fn known_again(runs: &[Run], words: &mut Words) {
    for run in runs {
        let mut bits = words.get(run.out) & !run.mask;
        for gate in &run.gates {
            let amiss = amiss_of(words, &gate.first) | amiss_of(words, &gate.second);
            bits |= u64::from(amiss == 0).wrapping_shl(gate.bit);
            words.set(run.out, bits);
        }
    }
}

/// What surely and what perhaps holds.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pair {
    pub(super) surely: Words,
    pub(super) perhaps: Words,
}

impl Pair {
    fn set(&mut self, word: u8, [surely, perhaps]: [u64; 2]) {
        self.surely.set(word, surely);
        self.perhaps.set(word, perhaps);
    }

    /// What stands against the conjunction being sure, and against its being possible.
    fn amiss(&self, term: &Term) -> [u64; 2] {
        let (surely, perhaps) = (self.surely.get(term.word), self.perhaps.get(term.word));
        let (yes, no) = (term.mask & term.want, term.mask & !term.want);
        [!surely & yes | perhaps & no, !perhaps & yes | surely & no]
    }

    fn gate(&self, gate: &Gate, unlisted: u64) -> [bool; 2] {
        let (first, second) = (self.amiss(&gate.first), self.amiss(&gate.second));
        let surely = first[0] | second[0] == 0;
        let is_of_unlisted = unlisted.checked_shr(u32::from(gate.table)).is_some_and(|bit| bit & 1 == 1);
        [surely, if is_of_unlisted { surely } else { first[1] | second[1] == 0 }]
    }

    fn runs(&mut self, runs: &[Run], unlisted: u64) {
        for run in runs {
            let mut bits = [self.surely.get(run.out), self.perhaps.get(run.out)].map(|bits| bits & !run.mask);
            for gate in &run.gates {
                for (bits, holds) in bits.iter_mut().zip(self.gate(gate, unlisted)) {
                    *bits |= u64::from(holds).wrapping_shl(gate.bit);
                }
                self.set(run.out, bits);
            }
        }
    }

    /// The same where all but readings is known.
    fn known_runs(&mut self, runs: &[Run]) {
        for run in runs {
            let mut bits = [0u64; 2];
            for gate in &run.gates {
                if gate.is_of_readings {
                    for (bits, holds) in bits.iter_mut().zip(self.gate(gate, 0)) {
                        *bits |= u64::from(holds).wrapping_shl(gate.bit);
                    }
                } else {
                    let amiss = amiss_of(&self.surely, &gate.first) | amiss_of(&self.surely, &gate.second);
                    let bit = u64::from(amiss == 0).wrapping_shl(gate.bit);
                    bits = [bits[0] | bit, bits[1] | bit];
                }
                self.set(run.out, bits);
            }
        }
    }

    pub(super) fn holds(&self, place: Place) -> [bool; 2] {
        match place {
            Place::At(_, _, true) => [self.perhaps.holds(place), self.surely.holds(place)],
            _ => [self.surely.holds(place), self.perhaps.holds(place)],
        }
    }
}

impl Code {
    /// Whether each monitor that is asked is known.
    #[inline]
    pub(super) fn monitors_are_known(&self, states: States) -> bool {
        let States { unsupported, complete, incomplete } = states;
        let open = unsupported & (complete | incomplete) | complete & incomplete;
        open & self.monitors == 0
    }

    /// The bits of a row of which all that is asked is known, up to the readings of open questions; `None`: something is not
    /// known.
    #[inline]
    pub(super) fn start_known(&self, words: &mut Words, values: &[i64], states: States) -> Option<()> {
        words.put_monitors(states);
        let mut open = false;
        for load in &self.loads {
            let (bits, is_open) = load.known(values, states);
            words.set(load.out, bits);
            open |= is_open;
        }
        (!open).then_some(())
    }

    /// The rest of the bits, under one way of reading; `None`: something is not known.
    #[inline]
    pub(super) fn end_known(&self, words: &mut Words, values: &[i64], states: States) -> Option<()> {
        known_runs(&self.before, words);
        if let Some(count) = &self.count {
            let bits = count.known(words, values, states)?;
            words.set(count.out, bits);
        }
        known_runs(&self.after, words);
        known_runs(&self.roots, words);
        Some(())
    }

    /// The bits of any row, up to the readings of open questions.
    pub(super) fn start_both(&self, values: &[i64], states: States) -> Pair {
        let perhaps = Words::of(states);
        let States { unsupported, complete, incomplete } = states;
        let surely = Words::of(States {
            unsupported: unsupported & !(complete | incomplete),
            complete: complete & !(unsupported | incomplete),
            incomplete: incomplete & !(unsupported | complete),
        });
        let mut pair = Pair { surely, perhaps };
        for load in &self.loads {
            pair.set(load.out, load.both(values, states));
        }
        pair
    }

    /// What turns on readings once more, where all else is known, under one way of reading; `None`: something is not known.
    pub(super) fn known_again(&self, words: &mut Words, values: &[i64], states: States, way: u64) -> Option<()> {
        words.set(self.readings, way);
        let [before, after, roots] = &self.again;
        known_again(before, words);
        if let Some(count) = self.count.as_ref().filter(|count| count.is_of_readings) {
            let bits = count.known(words, values, states)?;
            words.set(count.out, bits);
        }
        known_again(after, words);
        known_again(roots, words);
        Some(())
    }

    /// What turns on readings once more, of any row, under one way of reading.
    pub(super) fn both_again(&self, pair: &mut Pair, values: &[i64], states: States, way: u64, unlisted: u64) {
        pair.set(self.readings, [way, way]);
        let [before, after, roots] = &self.again;
        pair.runs(before, unlisted);
        if let Some(count) = self.count.as_ref().filter(|count| count.is_of_readings) {
            let bits = count.both(pair, values, states);
            pair.set(count.out, bits);
        }
        pair.runs(after, unlisted);
        pair.runs(roots, unlisted);
    }

    /// The same under every way of reading at once: what holds in all of them and in some. `None`: something is not known.
    pub(super) fn end_open(&self, start: &Words, values: &[i64], states: States) -> Option<Pair> {
        let mut pair = Pair { surely: *start, perhaps: *start };
        pair.set(self.readings, [0, self.all_readings]);
        pair.known_runs(&self.before);
        if let Some(count) = &self.count {
            let bits = match count.is_of_readings {
                false => count.known(&pair.surely, values, states).map(|bits| [bits, bits])?,
                true if count.is_known(values) => count.both(&pair, values, states),
                true => return None,
            };
            if (bits[0] ^ bits[1]) & count.not_read != 0 {
                return None;
            }
            pair.set(count.out, bits);
        }
        pair.known_runs(&self.after);
        pair.known_runs(&self.roots);
        Some(pair)
    }

    /// The rest of the bits, each reading of an open question perhaps so; tables that the vehicle is presumed not to be in
    /// are a bit each.
    pub(super) fn end_both(&self, pair: &mut Pair, values: &[i64], states: States, unlisted: u64) {
        if self.all_readings != 0 {
            pair.set(self.readings, [0, self.all_readings]);
        }
        pair.runs(&self.before, unlisted);
        if let Some(count) = &self.count {
            let bits = count.both(pair, values, states);
            pair.set(count.out, bits);
        }
        pair.runs(&self.after, unlisted);
        pair.runs(&self.roots, unlisted);
    }
}
