//! The counted monitors of a row: which count, and what is amiss by how many are in which state.

use super::code::{Both, Count, Excused, Words, join, meet};
use super::layout::{ABSENT_NUMBER, UNKNOWN};
use super::run::{both_hold, holds, in_states, value_at, where_it};
use crate::evaluate::States;

impl<const O: usize> Count<O> {
    /// What is amiss by what is counted, and whether a counted monitor is incomplete. `None` where something is not known.
    #[inline]
    pub(super) fn known<const K: usize>(
        &self,
        amiss: &Words<K>,
        values: &[i64],
        states: States,
    ) -> Option<(Words<O>, bool)> {
        let (mut counted, mut flagged) = (0, 0);
        for (when, monitors, is_flagged) in &self.rules {
            let here = where_it(holds(amiss, *when), *monitors);
            counted |= here;
            flagged |= where_it(*is_flagged, here);
        }
        for (when, which) in &self.excuses {
            let monitors = match which {
                Excused::Monitors(monitors) => *monitors,
                Excused::Earlier(place) => u32::try_from(value_at(values, *place)).ok()?,
                Excused::Rows(rows) => rows.iter().fold(0, |all, (row, set)| all | where_it(holds(amiss, *row), *set)),
            };
            counted &= !where_it(holds(amiss, *when), monitors);
        }
        let states = States {
            unsupported: states.unsupported & !flagged,
            complete: states.complete,
            incomplete: states.incomplete | states.unsupported & flagged,
        };
        let mut found = [0; O];
        for (mask, table) in &self.tables {
            let many = (in_states(states, *mask) & counted).count_ones();
            if let Some(more) = usize::try_from(many).ok().and_then(|many| table.get(many)) {
                join(&mut found, more);
            }
        }
        let incomplete = states.incomplete & counted;
        for (only, then) in &self.only {
            then.add(&mut found, incomplete & !only == 0);
        }
        for (place, _, then) in &self.not_more {
            match value_at(values, *place) {
                UNKNOWN => return None,
                ABSENT_NUMBER => then.add(&mut found, false),
                most => then.add(&mut found, i64::from(incomplete.count_ones()) <= most),
            }
        }
        // Where nothing is incomplete a limit allows it, read or not; else the caller looks at both.
        if let Some(then) = &self.not_read {
            then.add(&mut found, true);
        }
        Some((found, incomplete != 0))
    }

    /// What the counted monitors keep from being sure and what they rule out, each monitor by itself; and whether one may be
    /// incomplete.
    pub(super) fn both<const K: usize>(&self, amiss: &Both<K>, values: &[i64], states: States) -> (Both<O>, bool) {
        let (mut surely, mut perhaps, mut sure_flags, mut flags) = (0, 0, 0, 0);
        for (when, monitors, is_flagged) in &self.rules {
            let [sure, may_be] = both_hold(amiss, *when).map(|holds| where_it(holds, *monitors));
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
                    let here = both_hold(amiss, *row).map(|holds| where_it(holds, *set));
                    [sure | here[0], may_be | here[1]]
                }),
            };
            let when = both_hold(amiss, *when);
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
        let mut found = [[0; O]; 2];
        let mut add = |more: &Both<O>| found.iter_mut().zip(more).for_each(|(words, more)| join(words, more));
        for (mask, table) in &self.tables {
            let [least, most] = which(*mask).map(u32::count_ones);
            let (from, many) =
                (usize::try_from(least).unwrap_or(0), usize::try_from(most.abs_diff(least)).unwrap_or(0));
            let mut here = [[0; O], [u64::MAX; O]];
            for one in table.iter().skip(from).take(many + 1) {
                let [keeps, rules_out] = &mut here;
                join(keeps, one);
                meet(rules_out, one);
            }
            add(&here);
        }
        let [sure, may_be] = which(4);
        for (only, then) in &self.only {
            add(&then.both(may_be & !only == 0, sure & !only == 0));
        }
        if let Some(then) = &self.not_read {
            add(&then.both(may_be == 0, true));
        }
        let (least, most) = (i64::from(sure.count_ones()), i64::from(may_be.count_ones()));
        for (place, [from, to], then) in &self.not_more {
            add(&match value_at(values, *place) {
                ABSENT_NUMBER => then.both(false, false),
                UNKNOWN => then.both(most <= *from, least <= *to),
                number => then.both(most <= number, least <= number),
            });
        }
        (found, may_be != 0)
    }
}
