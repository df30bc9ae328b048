//! One test, interpreted directly: holds, does not hold, or not told by what is known (`None`). Written for the checker of
//! proofs and used by nothing else; conditions within tests (tables, limits, the count) are interpreted here too.

use crate::model::facts::{ABSENT, Possible, Span};
use crate::model::{CodeList, Fact, Monitor, MonitorSet, MonitorState, TroubleCode};
use crate::program::block::Allowance;
use crate::program::flat::{FlatExcused, FlatLimitRow, FlatRow};
use crate::program::{Condition, FactRef, Flat, Given, How, Quantifier, Test};

/// A vehicle before a program, with the readings of open questions that are assumed.
pub(super) struct Vehicle<'a> {
    pub(super) flat: &'a Flat,
    pub(super) given: &'a Given,
    pub(super) readings: Vec<Option<usize>>,
}

fn told(surely: bool, perhaps: bool) -> Option<bool> {
    if surely == perhaps { Some(surely) } else { None }
}

pub(super) fn all(parts: impl IntoIterator<Item = Option<bool>>) -> Option<bool> {
    let mut all = Some(true);
    for part in parts {
        match part {
            Some(false) => return Some(false),
            None => all = None,
            Some(true) => {}
        }
    }
    all
}

pub(super) fn any(parts: impl IntoIterator<Item = Option<bool>>) -> Option<bool> {
    not(all(parts.into_iter().map(not)))
}

pub(super) fn not(truth: Option<bool>) -> Option<bool> {
    truth.map(|truth| !truth)
}

impl Vehicle<'_> {
    /// A whole condition, all of its tests looked at.
    pub(super) fn condition(&self, condition: &Condition<usize>) -> Option<bool> {
        match condition {
            Condition::All(parts) => all(parts.iter().map(|part| self.condition(part))),
            Condition::Any(parts) => any(parts.iter().map(|part| self.condition(part))),
            Condition::Not(inner) => not(self.condition(inner)),
            Condition::Test(test) => self.test(test),
        }
    }

    pub(super) fn test(&self, test: &Test<usize>) -> Option<bool> {
        match test {
            Test::Word { fact, words } => self.word(fact, *words),
            Test::Number { fact, least, most } => self.number(fact, |low, high| bounded(low, high, *least, *most)),
            Test::Text { fact, among, is } => match self.given.facts.get(*fact) {
                Possible::Text(Some(text)) => Some(among.contains(text) == *is),
                Possible::Text(None) if among.is_empty() => Some(!is),
                _ => None,
            },
            Test::Dated(none) => match *none {},
            Test::ModelYearIsEven(even) => self.even_year(*even),
            Test::Present { fact, is } => {
                let there = match self.given.facts.get(*fact) {
                    Possible::Words(mask) => told(mask & ABSENT == 0, mask & !ABSENT != 0),
                    Possible::Number(span) => told(!span.may_be_absent, !span.has_no_value()),
                    Possible::Codes { may_be_absent, may_be_present, .. } => told(!may_be_absent, *may_be_present),
                    Possible::Text(_) | Possible::Monitors { .. } => Some(true),
                };
                if *is { there } else { not(there) }
            }
            Test::Codes { list, how, among } => {
                let group = among.and_then(|place| self.flat.groups.get(place)).map(|(_, group)| group);
                let more = match group {
                    None => Some(true),
                    Some(group) if group.ranges.is_empty() && group.unread.is_empty() => Some(false),
                    Some(_) => None,
                };
                self.codes(*list, *how, more, |code| group.map_or(Some(true), |group| group.contains(code)))
            }
            Test::CodesOfTable { list, how, table } => {
                let on_a_list = |holds: &dyn Fn(&FlatRow) -> bool| {
                    any(self.rows(*table).filter(|(_, row)| holds(row)).map(|row| self.row(*table, row)))
                };
                // No code is on the vehicle's list where none of the rows with codes is the vehicle's.
                let more = on_a_list(&|row| !row.codes.is_empty()).filter(|some| !some);
                self.codes(*list, *how, more, |code| {
                    let code = code.two_bytes();
                    on_a_list(&|row| code.is_some_and(|code| row.codes.iter().any(|range| range.contains(code))))
                })
            }
            Test::Count { states, least, most } => {
                let (low, high) = self.count(*states);
                bounded(low, high, *least, *most)
            }
            Test::CountOf { monitors, states, least, most } => {
                let among = |monitor: &Monitor| monitors.contains(*monitor);
                let (low, high) = count(Monitor::all().filter(among).map(|it| within(self.states(it), *states)));
                bounded(low, high, *least, *most)
            }
            Test::Pair { quantifier, earlier, states } => self.pair(*quantifier, *earlier, *states),
            Test::NotMoreIncompleteThanEarlier => {
                let (low, high) = self.count(MonitorState::Incomplete.bit());
                let then = FactRef::Known(Fact::EarlierIncompleteCount);
                self.number(&then, |least, most| told(high <= least, low <= most))
            }
            Test::Limit { limit, within } => {
                let rows = self.flat.limits.get(*limit).map_or(&[][..], |limit| limit.rows.as_slice());
                let allows = |row| if *within { self.allows(row) } else { not(self.allows(row)) };
                any(rows.iter().map(|row| all([self.condition(&row.condition), allows(row)])))
            }
            Test::Finding(place) => self.flat.findings.get(*place).and_then(|(_, it)| self.condition(it)),
            Test::Listed(table) => any(self.rows(*table).map(|row| self.row(*table, row))),
            Test::Reading { question, reading } => {
                let taken = self.flat.questions.get(*question).and_then(|question| question.taken);
                let known = taken.or_else(|| self.readings.get(*question).copied().flatten());
                known.map(|known| known == *reading)
            }
        }
    }

    fn word(&self, fact: &FactRef<usize>, words: u64) -> Option<bool> {
        match self.given.possible(fact) {
            Some(Possible::Words(mask)) => within(*mask, words & !ABSENT),
            _ => Some(false),
        }
    }

    fn number(&self, fact: &FactRef<usize>, test: impl Fn(i64, i64) -> Option<bool>) -> Option<bool> {
        match self.given.possible(fact) {
            Some(Possible::Number(span)) if span.has_no_value() => Some(false),
            Some(Possible::Number(Span { least, most, may_be_absent })) => match test(*least, *most) {
                Some(true) if *may_be_absent => None,
                truth => truth,
            },
            _ => Some(false),
        }
    }

    fn even_year(&self, even: bool) -> Option<bool> {
        self.number(&FactRef::Known(Fact::ModelYear), |low, high| (low == high).then_some((low % 2 == 0) == even))
    }

    /// A list against the codes of which `belongs` holds; `more` is what `belongs` would say of any code that was not read, where
    /// it says the same of all.
    fn codes(
        &self,
        list: Fact,
        how: How,
        more: Option<bool>,
        belongs: impl Fn(TroubleCode) -> Option<bool>,
    ) -> Option<bool> {
        let Possible::Codes { list, may_be_absent, may_be_present: true } = self.given.facts.get(list) else {
            return Some(false);
        };
        let open = list.as_ref().is_none_or(|CodeList { may_hold_more, .. }| *may_hold_more);
        let codes = || list.iter().flat_map(|list| list.codes.iter().map(|code| belongs(*code)));
        // There may be no further codes: where they say what an empty list says they change nothing, else they leave it open.
        let unread = |without: bool| open.then_some(more.filter(|more| *more == without));
        let truth = match how {
            How::Any => any(codes().chain(unread(false))),
            How::No => not(any(codes().chain(unread(false)))),
            How::Only => all(codes().chain(unread(true))),
        };
        if truth == Some(true) && *may_be_absent { None } else { truth }
    }

    fn rows(&self, table: usize) -> impl Iterator<Item = (usize, &FlatRow)> {
        self.flat.tables.get(table).into_iter().flat_map(|table| table.rows.iter().enumerate())
    }

    /// A row of a table; a vehicle presumed not to be in the table is in those only that it surely is in.
    fn row(&self, table: usize, (place, row): (usize, &FlatRow)) -> Option<bool> {
        self.given.row_if_unlisted(table, place).or_else(|| self.condition(&row.condition))
    }

    /// The states a monitor may be in.
    fn states(&self, monitor: Monitor) -> u64 {
        match self.given.facts.get(Fact::Monitor(monitor)) {
            Possible::Words(mask) => *mask,
            _ => 0,
        }
    }

    fn pair(&self, quantifier: Quantifier, earlier: Fact, states: u64) -> Option<bool> {
        let (surely, perhaps) = match self.given.facts.get(earlier) {
            Possible::Monitors { surely, perhaps } => (*surely, *perhaps),
            _ => (MonitorSet::EMPTY, MonitorSet::ALL),
        };
        let was = |monitor: Monitor| told(surely.contains(monitor), perhaps.contains(monitor));
        let both = |states: u64| any(Monitor::all().map(|it| all([was(it), within(self.states(it), states)])));
        match quantifier {
            Quantifier::Any => both(states),
            Quantifier::No => not(both(states)),
            Quantifier::Every => not(both(!states)),
        }
    }

    /// Whether a monitor is counted, and whether an unsupported one counts as incomplete.
    fn counted(&self, monitor: Monitor) -> (Option<bool>, Option<bool>) {
        let rules = || self.flat.counts.iter().filter(|rule| rule.monitors.contains(monitor));
        let excuses = self.flat.excuses.iter().map(|excuse| {
            let named = match excuse.which {
                FlatExcused::Monitors(set) => Some(set.contains(monitor)),
                FlatExcused::EarlierIncomplete => match self.given.facts.get(Fact::EarlierIncomplete) {
                    Possible::Monitors { surely, perhaps } => told(surely.contains(monitor), perhaps.contains(monitor)),
                    _ => None,
                },
                FlatExcused::Table(table) => {
                    let rows = self.rows(table).filter(|(_, row)| row.excused.contains(monitor));
                    any(rows.map(|row| self.row(table, row)))
                }
            };
            if named == Some(false) { named } else { all([named, self.condition(&excuse.condition)]) }
        });
        let counts = any(rules().map(|rule| self.condition(&rule.condition)));
        let flagged = any(rules().filter(|it| it.unsupported_as_incomplete).map(|it| self.condition(&it.condition)));
        (all([counts, not(any(excuses))]), flagged)
    }

    /// Each monitor: whether it is counted and in one of the states, and the same of the monitors of a set only.
    fn counted_in(&self, monitor: Monitor, states: u64) -> Option<bool> {
        let (counted, flagged) = self.counted(monitor);
        let (mask, unsupported) = (self.states(monitor), MonitorState::Unsupported.bit());
        let as_incomplete = mask & !unsupported | MonitorState::Incomplete.bit();
        let seen = match flagged {
            _ if mask & unsupported == 0 => mask,
            Some(false) => mask,
            Some(true) => as_incomplete,
            None => mask | as_incomplete,
        };
        all([counted, within(seen, states)])
    }

    fn count(&self, states: u64) -> (i64, i64) {
        count(Monitor::all().map(|monitor| self.counted_in(monitor, states)))
    }

    fn allows(&self, row: &FlatLimitRow) -> Option<bool> {
        let incomplete = MonitorState::Incomplete.bit();
        match &row.limit {
            Allowance::AtMost { count, only } => {
                let (low, high) = self.count(incomplete);
                let number = bounded(low, high, None, Some(*count));
                let Some(only) = only else { return number };
                let others = Monitor::all().filter(|monitor| !only.contains(*monitor));
                all([number, not(any(others.map(|monitor| self.counted_in(monitor, incomplete))))])
            }
            Allowance::AtLeastComplete(count) => {
                let (low, high) = self.count(MonitorState::Complete.bit());
                bounded(low, high, Some(*count), None)
            }
            Allowance::NotRead => (self.count(incomplete).1 == 0).then_some(true),
        }
    }
}

/// Whether a word of a mask is among those accepted.
fn within(mask: u64, accepted: u64) -> Option<bool> {
    told(mask != 0 && mask & !accepted == 0, mask & accepted != 0)
}

fn bounded(low: i64, high: i64, least: Option<i64>, most: Option<i64>) -> Option<bool> {
    let (least, most) = (least.unwrap_or(i64::MIN), most.unwrap_or(i64::MAX));
    told(least <= low && high <= most, least <= high && low <= most)
}

/// How many hold: surely, perhaps.
fn count(truths: impl Iterator<Item = Option<bool>>) -> (i64, i64) {
    truths.fold((0, 0), |(low, high), truth| match truth {
        Some(true) => (low + 1, high + 1),
        None => (low, high + 1),
        Some(false) => (low, high),
    })
}
