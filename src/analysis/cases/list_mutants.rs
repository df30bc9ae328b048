//! Changes to what a program names in lists, each a slip of a pen: a run of codes that begins or ends at the code before or
//! after, a word of a test too few, a monitor too few or too many in the count, an excuse, a table, a limit or a test.

use super::mutants::{Change, Mutant, Site, add};
use crate::diagram::cuts::counted;
use crate::model::{CodeRange, Fact, Monitor, MonitorSet, MonitorState, code::show_two_bytes};
use crate::program::block::Allowance;
use crate::program::flat::FlatExcused;
use crate::program::{FactRef, Flat, Test};

/// A test with one word or monitor of it changed, for each.
pub(super) fn tests(flat: &Flat, test: &Test<usize>) -> Vec<(Change, String, Test<usize>)> {
    let word = |(words, test)| (Change::WordChanged, words, test);
    let states = |mask: u64| bits_dropped(mask, MonitorState::WORDS.as_slice());
    match test {
        Test::Word { fact, words } => {
            let new = |(said, words)| (said, Test::Word { fact: fact.clone(), words });
            words_of(flat, fact, *words).into_iter().map(new).map(word).collect()
        }
        Test::Text { fact, among, is } if among.len() > 1 => {
            let without = |text: &String| {
                let rest = among.iter().filter(|other| *other != text).cloned().collect();
                (format!("without \"{text}\""), Test::Text { fact: *fact, among: rest, is: *is })
            };
            among.iter().map(without).map(word).collect()
        }
        Test::Count { states: mask, least, most } => {
            let new = |(said, states)| (said, Test::Count { states, least: *least, most: *most });
            states(*mask).into_iter().map(new).map(word).collect()
        }
        Test::Pair { quantifier, earlier, states: mask } => {
            let new = |(said, states)| (said, Test::Pair { quantifier: *quantifier, earlier: *earlier, states });
            states(*mask).into_iter().map(new).map(word).collect()
        }
        Test::CountOf { monitors, states: mask, least, most } => {
            let of = |monitors, states| Test::CountOf { monitors, states, least: *least, most: *most };
            let fewer = states(*mask).into_iter().map(|(said, states)| word((said, of(*monitors, states))));
            let others = changed(*monitors, counted(flat));
            let others = others.into_iter().map(|(said, set)| (Change::MonitorChanged, said, of(set, *mask)));
            fewer.chain(others).collect()
        }
        _ => Vec::new(),
    }
}

/// The words that a test of a fact names, each changed where there are several. `is not a or b` accepts all the others:
/// of the two sides the shorter one is taken for what is written. The states of a monitor are always taken as accepted:
/// *complete wherever supported* names two.
fn words_of(flat: &Flat, fact: &FactRef<usize>, accepted: u64) -> Vec<(String, u64)> {
    let names: Vec<&str> = match fact {
        FactRef::Known(Fact::Monitor(_)) => return bits_dropped(accepted, MonitorState::WORDS.as_slice()),
        FactRef::Known(fact) => fact.words().to_vec(),
        FactRef::Declared(place) => flat.facts.get(*place).map(|fact| fact.kind.words()).unwrap_or_default(),
    };
    let others = bits(names.len()).fold(0, |all, bit| all | bit) & !accepted;
    if others.count_ones() >= accepted.count_ones() {
        return bits_dropped(accepted, &names);
    }
    let back = |(said, rest): (String, u64)| (said, accepted | (others & !rest));
    bits_dropped(others, &names).into_iter().map(back).collect()
}

fn bits(count: usize) -> impl Iterator<Item = u64> {
    (0..count).filter_map(|place| 1u64.checked_shl(u32::try_from(place).ok()?))
}

/// A mask of several words without each of them.
fn bits_dropped(mask: u64, names: &[&str]) -> Vec<(String, u64)> {
    let named = bits(names.len()).zip(names).filter(|(bit, _)| mask & bit != 0);
    let all: Vec<(String, u64)> = named.map(|(bit, name)| (format!("without {name}"), mask & !bit)).collect();
    if all.len() > 1 { all } else { Vec::new() }
}

/// A list of several monitors without each of them, and with each of some others.
fn changed(set: MonitorSet, others: MonitorSet) -> Vec<(String, MonitorSet)> {
    let one = |monitor: Monitor| MonitorSet::EMPTY.with(monitor);
    let dropped = set.iter().filter(|_| set.count() > 1);
    let dropped = dropped.map(|it| (format!("without {}", it.name()), set.without(one(it))));
    let added =
        others.without(set).iter().map(|it| (format!("with {} too", it.name()), set.with(it))).collect::<Vec<_>>();
    dropped.chain(added).collect()
}

/// A limit's list of monitors without each of them.
pub(super) fn only(limit: &Allowance) -> Vec<(String, Allowance)> {
    let Allowance::AtMost { count, only: Some(only) } = limit else { return Vec::new() };
    let new = |(said, only)| (said, Allowance::AtMost { count: *count, only: Some(only) });
    changed(*only, MonitorSet::EMPTY).into_iter().map(new).collect()
}

/// Adds the changes to lists that stand outside conditions.
pub(super) fn lists(flat: &Flat, all: &mut Vec<Mutant>) {
    for (place, (_, group)) in flat.groups.iter().enumerate() {
        for (ranges, unread) in [(&group.ranges, false), (&group.unread, true)] {
            for (said, new) in runs(ranges) {
                let said = if unread { format!("text not seen, {said}") } else { said };
                add(all, flat, Site::Group(place), Change::CodesChanged, &said, |flat| {
                    if let Some((_, group)) = flat.groups.get_mut(place) {
                        *(if unread { &mut group.unread } else { &mut group.ranges }) = new;
                    }
                });
            }
        }
    }
    for (place, table) in flat.tables.iter().enumerate() {
        for (at, row) in table.rows.iter().enumerate() {
            let site = Site::TableRow(place, at);
            for (said, new) in runs(&row.codes) {
                add(all, flat, site, Change::CodesChanged, &said, |flat| {
                    if let Some(row) = flat.tables.get_mut(place).and_then(|table| table.rows.get_mut(at)) {
                        row.codes = new;
                    }
                });
            }
            for (said, new) in changed(row.excused, MonitorSet::EMPTY) {
                add(all, flat, site, Change::MonitorChanged, &said, |flat| {
                    if let Some(row) = flat.tables.get_mut(place).and_then(|table| table.rows.get_mut(at)) {
                        row.excused = new;
                    }
                });
            }
        }
    }
    for (place, rule) in flat.counts.iter().enumerate() {
        for (said, new) in changed(rule.monitors, of_its_kind(rule.monitors)) {
            add(all, flat, Site::Count(place), Change::MonitorChanged, &said, |flat| {
                if let Some(rule) = flat.counts.get_mut(place) {
                    rule.monitors = new;
                }
            });
        }
    }
    for (place, excuse) in flat.excuses.iter().enumerate() {
        let FlatExcused::Monitors(set) = excuse.which else { continue };
        for (said, new) in changed(set, counted(flat)) {
            add(all, flat, Site::Excuse(place), Change::MonitorChanged, &said, |flat| {
                if let Some(excuse) = flat.excuses.get_mut(place) {
                    excuse.which = FlatExcused::Monitors(new);
                }
            });
        }
    }
}

/// Monitors that could have been meant too: those of PID $01, those of J1939, or both, as the list names them.
fn of_its_kind(set: MonitorSet) -> MonitorSet {
    let named = |j1939: bool| set.iter().any(|monitor| monitor.is_j1939() == j1939);
    Monitor::all().filter(|monitor| named(monitor.is_j1939())).collect()
}

/// Runs of codes with each end at the next code before and after. A run that would hold nothing is left out, once.
fn runs(ranges: &[CodeRange]) -> Vec<(String, Vec<CodeRange>)> {
    let mut all = Vec::new();
    for (place, range) in ranges.iter().enumerate() {
        let put = |new: CodeRange| {
            let mut ranges = ranges.to_vec();
            if let Some(slot) = ranges.get_mut(place) {
                *slot = new;
            }
            ranges
        };
        let run = format!("run {} of codes", place + 1);
        let firsts = [code_before(*range, range.first), code_after(*range, range.first)];
        let lasts = [code_before(*range, range.last), code_after(*range, range.last)];
        let is_run = |new: &CodeRange| new.first <= new.last;
        for first in firsts.into_iter().flatten() {
            let new = CodeRange { first, ..*range };
            if is_run(&new) {
                all.push((format!("{run} from {}", show_two_bytes(first)), put(new)));
            } else {
                all.push((format!("{run} left out"), put(new)));
            }
        }
        for last in lasts.into_iter().flatten() {
            let new = CodeRange { last, ..*range };
            if is_run(&new) {
                all.push((format!("{run} through {}", show_two_bytes(last)), put(new)));
            }
        }
    }
    all
}

/// Whether a run of this kind can hold the code.
fn can_hold(range: CodeRange, code: u16) -> bool {
    CodeRange { first: 0, last: u16::MAX, ..range }.contains(code)
}

/// The code before; two bytes of zero are none.
fn code_before(range: CodeRange, code: u16) -> Option<u16> {
    (1..code).rev().find(|code| can_hold(range, *code))
}

fn code_after(range: CodeRange, code: u16) -> Option<u16> {
    (code..=u16::MAX).skip(1).find(|code| can_hold(range, *code))
}
