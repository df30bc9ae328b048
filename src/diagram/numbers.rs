//! Numbers and dates in classes: values that every bound and parity test treats alike, however many runs they form. Only
//! values that can be reported exist: whole kilometres *or* whole miles, whole hours *or* whole minutes, whole pounds *or*
//! whole kilograms.

use super::cuts::Asked;
use super::level::{Class, Members, Sample};
use crate::model::facts::Span;
use crate::model::{Fact, FactType, Unit, spec};
use std::collections::{BTreeMap, BTreeSet};

/// Which base-unit numbers can be reported: multiples of a step, and of a second step where there is one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Lattice {
    step: i64,
    second: Option<i64>,
    range: Option<(i64, i64)>,
}

impl Lattice {
    /// The reports of a fact of the table.
    pub(crate) fn of(fact: Fact) -> Lattice {
        match spec(fact).kind {
            FactType::Number { unit, least, most, .. } => Lattice {
                second: unit.other().map(Unit::scale),
                range: unit.to_base(least).zip(unit.to_base(most)),
                ..Lattice::in_unit(unit)
            },
            _ => Lattice::in_unit(Unit::One),
        }
    }

    /// The reports of a declared number.
    pub(crate) fn in_unit(unit: Unit) -> Lattice {
        Lattice { step: unit.scale().max(1), second: None, range: None }
    }

    /// The whole range of a fact of the table, in base units.
    pub(crate) fn range(self) -> Option<(i64, i64)> {
        self.range
    }

    fn multiples(step: i64, least: i64, most: i64) -> i64 {
        if most < least { 0 } else { most.div_euclid(step) - (least - 1).div_euclid(step) }
    }

    /// How many reports lie between two numbers, both included.
    pub(crate) fn count(self, least: i64, most: i64) -> i64 {
        let first = Lattice::multiples(self.step, least, most);
        let Some(second) = self.second else {
            return first;
        };
        // What both units report as whole, counted once: multiples of the least common multiple.
        let both = (self.step / common_divisor(self.step, second))
            .checked_mul(second)
            .map_or_else(|| i64::from(least <= 0 && 0 <= most), |common| Lattice::multiples(common, least, most));
        first + Lattice::multiples(second, least, most) - both
    }

    /// The report at or above a number.
    pub(crate) fn at_or_above(self, number: i64) -> i64 {
        let up = |step: i64| number.checked_add(step - 1).map_or(i64::MAX, |sum| sum.div_euclid(step) * step);
        self.second.map_or_else(|| up(self.step), |second| up(self.step).min(up(second)))
    }

    /// The report at or below a number.
    pub(crate) fn at_or_below(self, number: i64) -> i64 {
        let down = |step: i64| number.div_euclid(step) * step;
        self.second.map_or_else(|| down(self.step), |second| down(self.step).max(down(second)))
    }
}

/// The greatest common divisor of two numbers above 0 (Euclid).
fn common_divisor(one: i64, other: i64) -> i64 {
    if other == 0 { one.max(1) } else { common_divisor(other, one.rem_euclid(other)) }
}

/// Whether a number is within bounds.
pub(crate) fn within(number: i64, least: Option<i64>, most: Option<i64>) -> bool {
    least.is_none_or(|least| least <= number) && most.is_none_or(|most| number <= most)
}

/// What an ordinary vehicle shows, in base units; where it stands at all.
pub(crate) fn usual(fact: Fact) -> i64 {
    match fact {
        Fact::ModelYear => 2010,
        Fact::GrossWeight => 4500 * Unit::Pound.scale(),
        Fact::FirstRegistered => 14_761,
        Fact::Odometer => 100_000 * Unit::Kilometre.scale(),
        Fact::HoursSincePrevious => 48 * 60,
        Fact::DistanceSincePrevious => 500 * Unit::Kilometre.scale(),
        Fact::WarmUps => 60,
        Fact::DistanceSinceClear => 2_000 * Unit::Kilometre.scale(),
        Fact::MinutesSinceClear => 2_000,
        _ => 0,
    }
}

#[derive(Default)]
struct Group {
    runs: Vec<(i64, i64)>,
    size: i64,
}

/// The classes of a number of which `span` is still possible.
pub(crate) fn classes(asked: &Asked, span: Span, lattice: Lattice, usual: i64) -> Vec<Class> {
    let mut groups: BTreeMap<(Vec<bool>, Option<bool>), Group> = BTreeMap::new();
    let signature =
        |number: i64| -> Vec<bool> { asked.bounds.iter().map(|(least, most)| within(number, *least, *most)).collect() };
    for (least, most) in runs(asked, span) {
        let parities: &[Option<bool>] = if asked.parity { &[Some(true), Some(false)] } else { &[None] };
        for even in parities {
            let size = if span.least == span.most {
                i64::from(even.is_none_or(|even| (least.rem_euclid(2) == 0) == even))
            } else {
                match even {
                    None => lattice.count(least, most),
                    Some(true) => Lattice::multiples(2, least, most),
                    Some(false) => (most - least + 1) - Lattice::multiples(2, least, most),
                }
            };
            if size > 0 {
                let group = groups.entry((signature(least), *even)).or_default();
                group.runs.push((least, most));
                group.size += size;
            }
        }
    }
    let mut classes: Vec<Class> = Vec::new();
    let absent_alike = !asked.presence;
    let mut absent_done = !span.may_be_absent;
    for ((accepts, even), group) in groups {
        let sample = nearest(&group.runs, even, lattice, usual, span);
        let absent = !absent_done && absent_alike && accepts.iter().all(|accept| !accept) && even.is_none();
        absent_done |= absent;
        classes.push(Class {
            sample: Sample::Number(sample),
            size: u64::try_from(group.size).unwrap_or(0) + u64::from(absent),
            cost: u32::from(!group.runs.iter().any(|run| within(usual, Some(run.0), Some(run.1)))),
            members: Members::Numbers { runs: joined(group.runs), even, absent },
        });
    }
    if !absent_done {
        let members = Members::Numbers { runs: Vec::new(), even: None, absent: true };
        classes.push(Class { sample: Sample::Absent, members, size: 1, cost: 3 });
    }
    classes.sort_by_key(|class| match &class.sample {
        Sample::Number(_) => match &class.members {
            Members::Numbers { runs, .. } => runs.first().map_or(i64::MAX, |run| run.0),
            _ => i64::MAX,
        },
        _ => i64::MAX,
    });
    classes
}

/// The possible range cut at every bound.
fn runs(asked: &Asked, span: Span) -> Vec<(i64, i64)> {
    if span.has_no_value() {
        return Vec::new();
    }
    let mut starts: BTreeSet<i64> = BTreeSet::from([span.least]);
    for (least, most) in &asked.bounds {
        starts.extend(*least);
        starts.extend(most.and_then(|most| most.checked_add(1)));
    }
    let starts: Vec<i64> = starts.into_iter().filter(|start| (span.least..=span.most).contains(start)).collect();
    let ends = starts.iter().skip(1).map(|next| next - 1).chain(std::iter::once(span.most));
    starts.iter().copied().zip(ends).collect()
}

fn joined(mut runs: Vec<(i64, i64)>) -> Vec<(i64, i64)> {
    runs.sort_unstable();
    let mut joined: Vec<(i64, i64)> = Vec::new();
    for (least, most) in runs {
        match joined.last_mut() {
            Some(last) if last.1.checked_add(1) == Some(least) => last.1 = most,
            _ => joined.push((least, most)),
        }
    }
    joined
}

/// The report of the class that is nearest to what is usual.
fn nearest(runs: &[(i64, i64)], even: Option<bool>, lattice: Lattice, usual: i64, span: Span) -> i64 {
    let mut best: Option<i64> = None;
    for (least, most) in runs {
        if span.least == span.most {
            return *least;
        }
        let wish = usual.clamp(*least, *most);
        let mut candidates = vec![lattice.at_or_above(wish), lattice.at_or_below(wish)];
        candidates.extend([wish.saturating_sub(1), wish.saturating_add(1)].into_iter().filter(|_| even.is_some()));
        for candidate in candidates {
            let fits =
                (*least..=*most).contains(&candidate) && even.is_none_or(|even| (candidate.rem_euclid(2) == 0) == even);
            let nearer = best.is_none_or(|known| candidate.abs_diff(usual) < known.abs_diff(usual));
            if fits && nearer {
                best = Some(candidate);
            }
        }
    }
    best.unwrap_or(usual)
}
