//! Monitors: how each can stand, which are counted, and how many are in a state. A count under unknown monitors is a
//! range; it is a bound, because it takes the monitors one by one and not together.

use super::truth::Truth;
use super::walk::OneWalk;
use crate::model::facts::Possible;
use crate::model::{Fact, Facts, Monitor, MonitorSet, MonitorState};
use crate::program::flat::FlatExcused;

/// How each monitor can stand: bit *n* is the monitor of index *n*.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct States {
    /// May be unsupported.
    pub unsupported: u32,
    /// May be complete.
    pub complete: u32,
    /// May be incomplete.
    pub incomplete: u32,
}

/// The least and the greatest number that may be, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Range {
    /// Least.
    pub least: i64,
    /// Greatest.
    pub most: i64,
}

/// The counted monitors.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counted {
    /// Surely counted.
    pub surely: MonitorSet,
    /// Perhaps counted (holds `surely`).
    pub perhaps: MonitorSet,
    /// How each stands for the count: an unsupported one may count as incomplete.
    pub states: States,
}

impl States {
    /// How the monitors of a vehicle can stand.
    #[must_use]
    pub fn of(facts: &Facts) -> States {
        let mut states = States::default();
        for monitor in Monitor::all() {
            if let Possible::Words(mask) = facts.get(Fact::Monitor(monitor)) {
                let bit = 1u32 << monitor.index();
                let when = |state: MonitorState| if mask & state.bit() == 0 { 0 } else { bit };
                states.unsupported |= when(MonitorState::Unsupported);
                states.complete |= when(MonitorState::Complete);
                states.incomplete |= when(MonitorState::Incomplete);
            }
        }
        states
    }

    /// Monitors that may be in one of the states of the mask.
    #[must_use]
    pub fn perhaps(self, mask: u64) -> MonitorSet {
        let when = |state: MonitorState, bits: u32| if mask & state.bit() == 0 { 0 } else { bits };
        MonitorSet::from_bits(
            when(MonitorState::Unsupported, self.unsupported)
                | when(MonitorState::Complete, self.complete)
                | when(MonitorState::Incomplete, self.incomplete),
        )
    }

    /// Monitors that are surely in one of the states of the mask.
    #[must_use]
    pub fn surely(self, mask: u64) -> MonitorSet {
        self.perhaps(mask).without(self.perhaps(!mask))
    }

    /// Monitors whose state is not known.
    #[must_use]
    pub fn unsettled(self) -> MonitorSet {
        let (u, c, i) = (self.unsupported, self.complete, self.incomplete);
        MonitorSet::from_bits(u & c | u & i | c & i)
    }

    /// How many of the set are in one of the states of the mask.
    #[must_use]
    pub fn how_many(self, among: MonitorSet, mask: u64) -> Range {
        Range {
            least: i64::from(self.surely(mask).and(among).count()),
            most: i64::from(self.perhaps(mask).and(among).count()),
        }
    }
}

impl Range {
    /// Whether the number is within the bounds.
    #[must_use]
    pub fn is_within(self, least: Option<i64>, most: Option<i64>) -> Truth {
        let (low, high) = (least.unwrap_or(i64::MIN), most.unwrap_or(i64::MAX));
        Truth::between(low <= self.least && self.most <= high, low <= self.most && self.least <= high)
    }
}

impl Counted {
    /// The counted monitors as a walk sees them.
    pub(super) fn of(walk: &OneWalk<'_, '_>) -> Counted {
        let (mut surely, mut perhaps) = (MonitorSet::EMPTY, MonitorSet::EMPTY);
        let (mut surely_flagged, mut perhaps_flagged) = (MonitorSet::EMPTY, MonitorSet::EMPTY);
        for rule in &walk.flat().counts {
            let truth = walk.truth(&rule.condition);
            if !truth.is_false() {
                perhaps = perhaps.or(rule.monitors);
                if rule.unsupported_as_incomplete {
                    perhaps_flagged = perhaps_flagged.or(rule.monitors);
                }
            }
            if truth.is_true() {
                surely = surely.or(rule.monitors);
                if rule.unsupported_as_incomplete {
                    surely_flagged = surely_flagged.or(rule.monitors);
                }
            }
        }
        for excuse in &walk.flat().excuses {
            let truth = walk.truth(&excuse.condition);
            if truth.is_false() {
                continue;
            }
            let (sure, maybe) = excused(walk, excuse.which);
            if truth.is_true() {
                perhaps = perhaps.without(sure);
            }
            surely = surely.without(maybe);
        }
        let real = walk.states();
        let (sure, maybe) = (surely_flagged.bits(), perhaps_flagged.bits());
        let states = States {
            unsupported: real.unsupported & !sure,
            complete: real.complete,
            incomplete: real.incomplete | real.unsupported & maybe,
        };
        Counted { surely, perhaps, states }
    }

    /// Where the rules of the count go round in a circle: nothing is known of it.
    pub(super) fn unknown(walk: &OneWalk<'_, '_>) -> Counted {
        let real = walk.states();
        let states = States { incomplete: real.incomplete | real.unsupported, ..real };
        Counted { surely: MonitorSet::EMPTY, perhaps: MonitorSet::ALL, states }
    }

    /// How many counted monitors are in one of the states of the mask.
    #[must_use]
    pub fn how_many(self, mask: u64) -> Range {
        Range {
            least: i64::from(self.states.surely(mask).and(self.surely).count()),
            most: i64::from(self.states.perhaps(mask).and(self.perhaps).count()),
        }
    }

    /// Counted monitors in one of the states of the mask: surely, perhaps.
    #[must_use]
    pub fn which(self, mask: u64) -> (MonitorSet, MonitorSet) {
        (self.states.surely(mask).and(self.surely), self.states.perhaps(mask).and(self.perhaps))
    }
}

/// Monitors that an excuse names: surely, perhaps.
fn excused(walk: &OneWalk<'_, '_>, which: FlatExcused) -> (MonitorSet, MonitorSet) {
    match which {
        FlatExcused::Monitors(set) => (set, set),
        FlatExcused::EarlierIncomplete => walk.earlier(Fact::EarlierIncomplete),
        FlatExcused::Table(place) => {
            let (mut sure, mut maybe) = (MonitorSet::EMPTY, MonitorSet::EMPTY);
            for (at, row) in walk.rows(place) {
                if row.excused.is_empty() {
                    continue;
                }
                match walk.row_holds(place, at) {
                    Truth::True => (sure, maybe) = (sure.or(row.excused), maybe.or(row.excused)),
                    Truth::Unknown => maybe = maybe.or(row.excused),
                    Truth::False => {}
                }
            }
            (sure, maybe)
        }
    }
}
