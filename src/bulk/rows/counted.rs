//! The counted monitors of a row: which count, and what follows from how many are in which state.

use super::code::{Count, Excused, Words};
use super::layout::{ABSENT_NUMBER, UNKNOWN};
use super::run::{Pair, in_states, value_at, where_it};
use crate::evaluate::States;

impl Count {
    /// The bits of what is counted; `None` where that is not known.
    pub(super) fn known(&self, words: &Words, values: &[i64], states: States) -> Option<u64> {
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

    /// Whether the values that it looks at are known.
    pub(super) fn is_known(&self, values: &[i64]) -> bool {
        let is_known = |place: usize| value_at(values, place) != UNKNOWN;
        let excuses = self.excuses.iter().all(|(_, which)| match which {
            Excused::Earlier(place) => is_known(*place),
            Excused::Monitors(_) | Excused::Rows(_) => true,
        });
        excuses && self.not_more.iter().all(|(place, ..)| is_known(*place))
    }

    /// The bits of what surely and of what perhaps holds of the counted monitors, each monitor by itself.
    pub(super) fn both(&self, pair: &Pair, values: &[i64], states: States) -> [u64; 2] {
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
