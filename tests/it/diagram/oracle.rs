//! A second, naive meaning of flat programs for tests: one complete vehicle at a time, written from the comments of
//! `program::flat` and `program::condition` alone. It knows nothing of classes, levels or diagrams.

use std::collections::BTreeMap;
use wherefore::internals::model::{
    Constraint, DeclaredValue, Fact, Monitor, MonitorSet, Reading, Snapshot, TroubleCode, Value, day_number, exclusions,
};
use wherefore::internals::program::block::{Allowance, DeclaredType};
use wherefore::internals::program::flat::FlatExcused;
use wherefore::internals::program::given::Verdict;
use wherefore::internals::program::{Condition, FactRef, Flat, How, Quantifier, Test};

/// A vehicle of which everything is known, and what is assumed of texts that were not read.
#[derive(Debug, Clone, Default)]
pub struct Vehicle {
    pub facts: Snapshot,
    pub readings: BTreeMap<String, usize>,
    pub limits: BTreeMap<(usize, usize), i64>,
    pub groups: BTreeMap<usize, bool>,
}

impl Vehicle {
    fn word(&self, fact: Fact) -> Option<u64> {
        match self.facts.get(fact) {
            Some(Reading::Known(Value::Word(place))) => Some(1 << place),
            _ => None,
        }
    }

    fn number(&self, fact: Fact) -> Option<i64> {
        match self.facts.get(fact) {
            Some(Reading::Known(Value::Number(number))) => Some(*number),
            Some(Reading::Known(Value::Date(date))) => Some(day_number(*date)),
            _ => None,
        }
    }

    fn text(&self, fact: Fact) -> String {
        match self.facts.get(fact) {
            Some(Reading::Known(Value::Text(text))) => text.to_lowercase(),
            _ => String::new(),
        }
    }

    fn set(&self, fact: Fact) -> MonitorSet {
        match self.facts.get(fact) {
            Some(Reading::Known(Value::Monitors(set))) => *set,
            _ => MonitorSet::EMPTY,
        }
    }

    fn codes(&self, fact: Fact) -> Option<Vec<TroubleCode>> {
        match self.facts.get(fact) {
            Some(Reading::Known(Value::Codes(list))) => Some(list.codes.iter().copied().collect()),
            _ => None,
        }
    }

    /// Whether no exclusion rules the vehicle out.
    pub fn can_exist(&self) -> bool {
        let holds = |part: Constraint| match part {
            Constraint::Word(fact, words) => self.word(fact).is_some_and(|bit| bit & words != 0),
            Constraint::AtLeast(fact, bound) => self.number(fact).is_some_and(|number| number >= bound),
            Constraint::NotEmpty(fact) => {
                !self.set(fact).is_empty() || self.codes(fact).is_some_and(|codes| !codes.is_empty())
            }
        };
        exclusions().iter().all(|rule| !(holds(rule.first) && holds(rule.second)))
    }

    fn declared(&self, flat: &Flat, place: usize) -> (Option<u64>, Option<i64>) {
        let fact = &flat.facts[place];
        match (&fact.kind, self.facts.declared.get(&fact.name)) {
            (DeclaredType::YesNo, Some(DeclaredValue::YesNo(yes))) => (Some(if *yes { 2 } else { 1 }), None),
            (DeclaredType::Words(words), Some(DeclaredValue::Word(word))) => {
                (words.iter().position(|known| known == word).map(|place| 1 << place), None)
            }
            (DeclaredType::Number { unit, .. }, Some(DeclaredValue::Number(number))) => (None, unit.to_base(*number)),
            _ => (None, None),
        }
    }

    pub fn holds(&self, flat: &Flat, condition: &Condition<usize>) -> bool {
        match condition {
            Condition::All(parts) => parts.iter().all(|part| self.holds(flat, part)),
            Condition::Any(parts) => parts.iter().any(|part| self.holds(flat, part)),
            Condition::Not(inner) => !self.holds(flat, inner),
            Condition::Test(test) => self.test(flat, test),
        }
    }

    fn test(&self, flat: &Flat, test: &Test<usize>) -> bool {
        let within = |number: Option<i64>, least: &Option<i64>, most: &Option<i64>| {
            number.is_some_and(|n| least.is_none_or(|least| n >= least) && most.is_none_or(|most| n <= most))
        };
        match test {
            Test::Word { fact, words } => {
                let bit = match fact {
                    FactRef::Known(fact) => self.word(*fact),
                    FactRef::Declared(place) => self.declared(flat, *place).0,
                };
                bit.is_some_and(|bit| bit & words != 0)
            }
            Test::Number { fact, least, most } => {
                let number = match fact {
                    FactRef::Known(fact) => self.number(*fact),
                    FactRef::Declared(place) => self.declared(flat, *place).1,
                };
                within(number, least, most)
            }
            Test::Text { fact, among, is } => among.contains(&self.text(*fact)) == *is,
            Test::Dated(none) => match *none {},
            Test::ModelYearIsEven(even) => self.number(Fact::ModelYear).is_some_and(|year| (year % 2 == 0) == *even),
            Test::Present { fact, is } => {
                let there = matches!(self.facts.get(*fact), Some(Reading::Known(_)));
                there == *is
            }
            Test::Codes { list, how, among } => self.codes(*list).is_some_and(|codes| {
                let inside = |code: &TroubleCode| match among {
                    None => true,
                    Some(place) => flat.groups[*place].1.contains(*code).unwrap_or_else(|| self.groups[place]),
                };
                match how {
                    How::Any => codes.iter().any(inside),
                    How::No => !codes.iter().any(inside),
                    How::Only => codes.iter().all(inside),
                }
            }),
            Test::CodesOfTable { list, how, table } => self.codes(*list).is_some_and(|codes| {
                let inside = |code: &TroubleCode| {
                    flat.tables[*table].rows.iter().any(|row| {
                        self.holds(flat, &row.condition)
                            && code.two_bytes().is_some_and(|code| row.codes.iter().any(|range| range.contains(code)))
                    })
                };
                match how {
                    How::Any => codes.iter().any(inside),
                    How::No => !codes.iter().any(inside),
                    How::Only => codes.iter().all(inside),
                }
            }),
            Test::Count { states, least, most } => within(Some(self.count(flat, *states)), least, most),
            Test::CountOf { monitors, states, least, most } => {
                let number = monitors.iter().filter(|m| self.state(*m) & states != 0).count();
                within(Some(number as i64), least, most)
            }
            Test::Pair { quantifier, earlier, states } => {
                let mut pairs = self.set(*earlier).iter().map(|monitor| self.state(monitor) & states != 0);
                match quantifier {
                    Quantifier::Any => pairs.any(|holds| holds),
                    Quantifier::Every => pairs.all(|holds| holds),
                    Quantifier::No => !pairs.any(|holds| holds),
                }
            }
            Test::NotMoreIncompleteThanEarlier => {
                self.number(Fact::EarlierIncompleteCount).is_some_and(|earlier| self.count(flat, 4) <= earlier)
            }
            Test::Limit { limit, within } => flat.limits[*limit].rows.iter().enumerate().any(|(place, row)| {
                let incomplete = self.incomplete(flat);
                let allowed = match &row.limit {
                    Allowance::AtMost { count, only } => {
                        incomplete.count() as i64 <= *count
                            && only.is_none_or(|only| incomplete.without(only).is_empty())
                    }
                    Allowance::AtLeastComplete(number) => self.count(flat, 2) >= *number,
                    Allowance::NotRead => incomplete.count() as i64 <= self.limits[&(*limit, place)],
                };
                self.holds(flat, &row.condition) && allowed == *within
            }),
            Test::Finding(place) => self.holds(flat, &flat.findings[*place].1),
            Test::Listed(table) => flat.tables[*table].rows.iter().any(|row| self.holds(flat, &row.condition)),
            Test::Reading { question, reading } => {
                let question = &flat.questions[*question];
                question.taken.unwrap_or_else(|| self.readings[&question.id]) == *reading
            }
        }
    }

    fn state(&self, monitor: Monitor) -> u64 {
        self.word(Fact::Monitor(monitor)).expect("every monitor known")
    }

    fn counted_state(&self, flat: &Flat, monitor: Monitor) -> Option<u64> {
        let rules = || flat.counts.iter().filter(|r| r.monitors.contains(monitor) && self.holds(flat, &r.condition));
        let excused = flat.excuses.iter().any(|excuse| {
            self.holds(flat, &excuse.condition)
                && match excuse.which {
                    FlatExcused::Monitors(set) => set.contains(monitor),
                    FlatExcused::EarlierIncomplete => self.set(Fact::EarlierIncomplete).contains(monitor),
                    FlatExcused::Table(table) => flat.tables[table]
                        .rows
                        .iter()
                        .any(|row| row.excused.contains(monitor) && self.holds(flat, &row.condition)),
                }
        });
        if excused || rules().next().is_none() {
            return None;
        }
        let state = self.state(monitor);
        Some(if state == 1 && rules().any(|rule| rule.unsupported_as_incomplete) { 4 } else { state })
    }

    fn count(&self, flat: &Flat, states: u64) -> i64 {
        Monitor::all().filter_map(|m| self.counted_state(flat, m)).filter(|state| state & states != 0).count() as i64
    }

    fn incomplete(&self, flat: &Flat) -> MonitorSet {
        Monitor::all().filter(|m| self.counted_state(flat, *m) == Some(4)).collect()
    }

    pub fn is_dealt_with(&self, flat: &Flat) -> bool {
        flat.in_force.is_yes()
            && flat.covers.iter().any(|covers| self.holds(flat, &covers.item))
            && !flat.left_out.iter().any(|row| self.holds(flat, &row.condition))
    }

    pub fn unmet(&self, flat: &Flat, line: usize) -> bool {
        let line = &flat.lines[line];
        self.is_dealt_with(flat) && self.holds(flat, &line.concerns) && self.holds(flat, &line.unmet_where)
    }

    pub fn stands(&self, flat: &Flat, line: usize) -> bool {
        self.unmet(flat, line)
            && !flat.lines[line].gives_way.iter().any(|(other, c)| self.holds(flat, c) && self.stands(flat, *other))
    }

    pub fn deciding(&self, flat: &Flat) -> Vec<usize> {
        let standing = || (0..flat.lines.len()).filter(|line| self.stands(flat, *line));
        let gravest = standing().map(|line| flat.lines[line].outcome).max();
        standing().filter(|line| Some(flat.lines[*line].outcome) == gravest).collect()
    }

    pub fn verdict(&self, flat: &Flat) -> Verdict {
        if !flat.in_force.is_yes() || !flat.covers.iter().any(|covers| self.holds(flat, &covers.item)) {
            return Verdict::NotSubject;
        }
        let sent = flat.left_out.iter().filter(|row| self.holds(flat, &row.condition)).map(|row| row.outcome).max();
        let ladder = match sent {
            Some(None) => return Verdict::NotSubject,
            Some(Some(outcome)) => outcome,
            None => (0..flat.lines.len())
                .filter(|line| self.stands(flat, *line))
                .map(|line| flat.lines[line].outcome)
                .max()
                .unwrap_or(0),
        };
        let moved = flat.becomes.iter().filter(|b| b.from == ladder && self.holds(flat, &b.condition)).map(|b| b.to);
        Verdict::Outcome(moved.max().unwrap_or(ladder))
    }
}
