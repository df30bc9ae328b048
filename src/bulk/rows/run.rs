//! A row through the words: with one set of bits where all that is asked is known, and else with two, what surely and what
//! perhaps holds.

use super::atoms::OfCodes;
use super::code::{Code, Count, Excused, Gate, Load, OfNumber, Place, Run, Term, WORDS, Words};
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
    fn holds(&self, place: Place) -> bool {
        match place {
            Place::Fixed(holds) => holds,
            Place::At(word, bit, negated) => (self.get(word).wrapping_shr(bit) & 1 == 1) != negated,
        }
    }
}

#[inline(always)]
fn value_at(values: &[i64], place: usize) -> i64 {
    values.get(place).copied().unwrap_or(UNKNOWN)
}

/// All bits of a mask where it holds, else none.
#[inline(always)]
fn where_it(holds: bool, mask: u32) -> u32 {
    0u32.wrapping_sub(u32::from(holds)) & mask
}

/// Monitors in one of the states of a mask.
#[inline(always)]
fn in_states(states: States, mask: u64) -> u32 {
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
            let mut bits = [0u64; 2];
            for gate in &run.gates {
                for (bits, holds) in bits.iter_mut().zip(self.gate(gate, unlisted)) {
                    *bits |= u64::from(holds).wrapping_shl(gate.bit);
                }
                self.set(run.out, bits);
            }
        }
    }

    fn holds(&self, place: Place) -> [bool; 2] {
        match place {
            Place::At(_, _, true) => [self.perhaps.holds(place), self.surely.holds(place)],
            _ => [self.surely.holds(place), self.perhaps.holds(place)],
        }
    }
}

impl Count {
    /// The bits of what is counted; `None` where that is not known.
    fn known(&self, words: &Words, values: &[i64], states: States) -> Option<u64> {
        let (mut counted, mut flagged) = (0, 0);
        for (when, monitors, is_flagged) in &self.rules {
            let here = where_it(words.holds(*when), *monitors);
            counted |= here;
            flagged |= where_it(*is_flagged, here);
        }
        for (when, which) in &self.excuses {
            let monitors = match which {
                Excused::Monitors(monitors) => *monitors,
                Excused::Earlier(place) => u32::try_from(value_at(values, *place)).ok()?,
                Excused::Rows(rows) => rows.iter().fold(0, |all, (row, set)| all | where_it(words.holds(*row), *set)),
            };
            counted &= !where_it(words.holds(*when), monitors);
        }
        let states = States {
            unsupported: states.unsupported & !flagged,
            complete: states.complete,
            incomplete: states.incomplete | states.unsupported & flagged,
        };
        let mut bits = 0;
        for (mask, table) in &self.tables {
            let many = (in_states(states, *mask) & counted).count_ones();
            bits |= usize::try_from(many).ok().and_then(|many| table.get(many)).copied().unwrap_or(0);
        }
        let incomplete = states.incomplete & counted;
        for (only, bit) in &self.only {
            bits |= if incomplete & !only == 0 { *bit } else { 0 };
        }
        if self.not_read != 0 {
            if incomplete != 0 {
                return None;
            }
            bits |= self.not_read;
        }
        for (place, _, bit) in &self.not_more {
            match value_at(values, *place) {
                UNKNOWN => return None,
                ABSENT_NUMBER => {}
                then => bits |= if i64::from(incomplete.count_ones()) <= then { *bit } else { 0 },
            }
        }
        Some(bits)
    }

    /// The bits of what surely and of what perhaps holds of the counted monitors, each monitor by itself.
    fn both(&self, pair: &Pair, values: &[i64], states: States) -> [u64; 2] {
        let (mut surely, mut perhaps, mut sure_flags, mut flags) = (0, 0, 0, 0);
        for (when, monitors, is_flagged) in &self.rules {
            let [sure, may_be] = pair.holds(*when).map(|holds| where_it(holds, *monitors));
            (surely, perhaps) = (surely | sure, perhaps | may_be);
            (sure_flags, flags) = (sure_flags | where_it(*is_flagged, sure), flags | where_it(*is_flagged, may_be));
        }
        for (when, which) in &self.excuses {
            let [sure, may_be] = match which {
                Excused::Monitors(monitors) => [*monitors, *monitors],
                Excused::Earlier(place) => match u32::try_from(value_at(values, *place)) {
                    Ok(set) => [set, set],
                    Err(_) => [0, u32::MAX],
                },
                Excused::Rows(rows) => rows.iter().fold([0, 0], |[sure, may_be], (row, set)| {
                    let here = pair.holds(*row).map(|holds| where_it(holds, *set));
                    [sure | here[0], may_be | here[1]]
                }),
            };
            let when = pair.holds(*when);
            perhaps &= !where_it(when[0], sure);
            surely &= !where_it(when[1], may_be);
        }
        let states = States {
            unsupported: states.unsupported & !sure_flags,
            complete: states.complete,
            incomplete: states.incomplete | states.unsupported & flags,
        };
        let which = |mask: u64| {
            let may_be = in_states(states, mask);
            [may_be & !in_states(states, !mask) & surely, may_be & perhaps]
        };
        let (mut sure_bits, mut bits) = (0, 0);
        for (mask, table) in &self.tables {
            let [least, most] = which(*mask).map(u32::count_ones);
            let (from, many) =
                (usize::try_from(least).unwrap_or(0), usize::try_from(most.abs_diff(least)).unwrap_or(0));
            let here = table.iter().skip(from).take(many + 1);
            let found = here.fold([u64::MAX, 0], |[sure, may_be], one| [sure & one, may_be | one]);
            (sure_bits, bits) = (sure_bits | found[0], bits | found[1]);
        }
        let [sure, may_be] = which(4);
        let mut add = |bit: u64, surely: bool, perhaps: bool| {
            sure_bits |= if surely { bit } else { 0 };
            bits |= if perhaps { bit } else { 0 };
        };
        for (only, bit) in &self.only {
            add(*bit, may_be & !only == 0, sure & !only == 0);
        }
        add(self.not_read, may_be == 0, true);
        let (least, most) = (i64::from(sure.count_ones()), i64::from(may_be.count_ones()));
        for (place, [from, to], bit) in &self.not_more {
            match value_at(values, *place) {
                ABSENT_NUMBER => {}
                UNKNOWN => add(*bit, most <= *from, least <= *to),
                then => add(*bit, most <= then, least <= then),
            }
        }
        [sure_bits, bits]
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

    /// The rest of the bits; `readings` are those of one way of reading, surely and perhaps; tables that the vehicle is
    /// presumed not to be in are a bit each.
    pub(super) fn end_both(&self, pair: &mut Pair, values: &[i64], states: States, readings: [u64; 2], unlisted: u64) {
        if self.all_readings != 0 {
            pair.set(self.readings, readings);
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
