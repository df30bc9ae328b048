//! A naive reference evaluator: the kernel written straight from the design, section 4, and the doc comments of
//! `program::flat` and `program::condition`, for one vehicle of which everything is known. Two truth values, no sharing
//! with `evaluate`. Exact sets come from trying every vehicle.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;
use wherefore::internals::model::{Constraint, Exclusion, Fact, Monitor, MonitorSet, TroubleCode, exclusions};
use wherefore::internals::program::block::Allowance;
use wherefore::internals::program::flat::{FlatExcused, FlatRow};
use wherefore::internals::program::{Condition, FactRef, Flat, How, Quantifier, Test, Verdict};

/// The value of a fact.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Val {
    Absent,
    Word(u32),
    Number(i64),
    Text(String),
    Monitors(MonitorSet),
    Codes(BTreeSet<TroubleCode>),
}

/// A vehicle and a program text of which nothing is left open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct World {
    /// Facts of the table.
    pub facts: BTreeMap<Fact, Val>,
    /// Declared facts.
    pub declared: Vec<Val>,
    /// Reading of each question.
    pub readings: Vec<usize>,
    /// The numbers of limit rows that were not read.
    pub numbers: BTreeMap<(usize, usize), i64>,
    /// Groups that hold the codes of their unread part.
    pub unread_in: BTreeSet<usize>,
}

/// How a line stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stand {
    NotCovered,
    NotConcerned,
    Met,
    SetAside,
    Unmet,
}

impl World {
    fn value(&self, fact: &FactRef<usize>) -> &Val {
        match fact {
            FactRef::Known(fact) => &self.facts[fact],
            FactRef::Declared(place) => &self.declared[*place],
        }
    }

    fn state(&self, monitor: Monitor) -> u32 {
        match self.facts.get(&Fact::Monitor(monitor)) {
            Some(Val::Word(place)) => *place,
            _ => 0,
        }
    }

    /// No vehicle shows both sides of an exclusion.
    pub fn can_exist(&self) -> bool {
        let meets = |constraint: Constraint| match (constraint, self.facts.get(&constraint.fact())) {
            (_, None) => false,
            (Constraint::Word(_, words), Some(Val::Word(place))) => words >> place & 1 == 1,
            (Constraint::AtLeast(_, bound), Some(Val::Number(number))) => *number >= bound,
            (Constraint::NotEmpty(_), Some(Val::Monitors(set))) => set.count() > 0,
            (Constraint::NotEmpty(_), Some(Val::Codes(codes))) => !codes.is_empty(),
            _ => false,
        };
        static RULES: LazyLock<Vec<Exclusion>> = LazyLock::new(exclusions);
        !RULES.iter().any(|rule| meets(rule.first) && meets(rule.second))
    }

    /// The verdict.
    pub fn verdict(&self, flat: &Flat) -> Verdict {
        if !flat.in_force.is_yes() || !flat.covers.iter().any(|covers| self.holds(flat, &covers.item)) {
            return Verdict::NotSubject;
        }
        let out: Vec<_> = flat.left_out.iter().filter(|row| self.holds(flat, &row.condition)).collect();
        let ladder = if out.is_empty() {
            let lines = self.lines(flat);
            let unmet = flat.lines.iter().zip(lines).filter(|(_, stand)| *stand == Stand::Unmet);
            unmet.map(|(line, _)| line.outcome).max().unwrap_or(0)
        } else {
            match out.iter().filter_map(|row| row.outcome).max() {
                None => return Verdict::NotSubject,
                Some(place) => place,
            }
        };
        let becomes = flat.becomes.iter().filter(|rule| rule.from == ladder && self.holds(flat, &rule.condition));
        Verdict::Outcome(becomes.map(|rule| rule.to).max().unwrap_or(ladder))
    }

    /// Whether the program covers the vehicle and does not leave it out.
    pub fn is_covered(&self, flat: &Flat) -> bool {
        flat.in_force.is_yes()
            && flat.covers.iter().any(|covers| self.holds(flat, &covers.item))
            && !flat.left_out.iter().any(|row| self.holds(flat, &row.condition))
    }

    /// How each line stands.
    pub fn lines(&self, flat: &Flat) -> Vec<Stand> {
        (0..flat.lines.len()).map(|place| self.line(flat, place)).collect()
    }

    fn line(&self, flat: &Flat, place: usize) -> Stand {
        let line = &flat.lines[place];
        if !self.is_covered(flat) {
            return Stand::NotCovered;
        }
        if !self.holds(flat, &line.concerns) {
            return Stand::NotConcerned;
        }
        if !self.holds(flat, &line.unmet_where) {
            return Stand::Met;
        }
        let aside = line
            .gives_way
            .iter()
            .any(|(to, under)| self.holds(flat, under) && *to != place && self.line(flat, *to) == Stand::Unmet);
        if aside { Stand::SetAside } else { Stand::Unmet }
    }

    /// Whether a condition holds.
    pub fn holds(&self, flat: &Flat, condition: &Condition<usize>) -> bool {
        match condition {
            Condition::All(parts) => parts.iter().all(|part| self.holds(flat, part)),
            Condition::Any(parts) => parts.iter().any(|part| self.holds(flat, part)),
            Condition::Not(inner) => !self.holds(flat, inner),
            Condition::Test(test) => self.test(flat, test),
        }
    }

    fn test(&self, flat: &Flat, test: &Test<usize>) -> bool {
        match test {
            Test::Word { fact, words } => matches!(self.value(fact), Val::Word(place) if words >> place & 1 == 1),
            Test::Number { fact, least, most } => match self.value(fact) {
                Val::Number(number) => {
                    least.is_none_or(|least| *number >= least) && most.is_none_or(|most| *number <= most)
                }
                _ => false,
            },
            Test::Text { fact, among, is } => match &self.facts[fact] {
                Val::Text(text) => among.contains(text) == *is,
                _ => false,
            },
            Test::Dated(none) => match *none {},
            Test::ModelYearIsEven(even) => (self.model_year() % 2 == 0) == *even,
            Test::Present { fact, is } => (self.facts[fact] != Val::Absent) == *is,
            Test::Codes { list, how, among } => self.codes(list, *how, |code| match among {
                None => true,
                Some(place) => self.in_group(flat, *place, code),
            }),
            Test::CodesOfTable { list, how, table } => self.codes(list, *how, |code| {
                self.rows(flat, *table)
                    .any(|row| code.two_bytes().is_some_and(|code| row.codes.iter().any(|range| range.contains(code))))
            }),
            Test::Count { states, least, most } => {
                let number = self.counted(flat).into_iter().filter(|(_, state)| states >> state & 1 == 1).count();
                within(number, *least, *most)
            }
            Test::CountOf { monitors, states, least, most } => {
                let number = monitors.iter().filter(|monitor| states >> self.state(*monitor) & 1 == 1).count();
                within(number, *least, *most)
            }
            Test::Pair { quantifier, earlier, states } => {
                let Val::Monitors(set) = &self.facts[earlier] else { return false };
                let mut now = set.iter().map(|monitor| states >> self.state(monitor) & 1 == 1);
                match quantifier {
                    Quantifier::Any => now.any(|is| is),
                    Quantifier::Every => now.all(|is| is),
                    Quantifier::No => !now.any(|is| is),
                }
            }
            Test::NotMoreIncompleteThanEarlier => match self.facts[&Fact::EarlierIncompleteCount] {
                Val::Number(then) => i64::try_from(self.incomplete(flat).len()).unwrap() <= then,
                _ => false,
            },
            Test::Limit { limit, within } => {
                let rows = flat.limits[*limit].rows.iter().enumerate();
                let mut holding = rows.filter(|(_, row)| self.holds(flat, &row.condition));
                holding.any(|(place, row)| self.allows(flat, (*limit, place), &row.limit) == *within)
            }
            Test::Finding(place) => self.holds(flat, &flat.findings[*place].1),
            Test::Listed(table) => self.rows(flat, *table).next().is_some(),
            Test::Reading { question, reading } => self.readings[*question] == *reading,
        }
    }

    fn model_year(&self) -> i64 {
        match self.facts[&Fact::ModelYear] {
            Val::Number(year) => year,
            _ => panic!("every vehicle has a model year"),
        }
    }

    fn codes(&self, list: &Fact, how: How, is_in: impl Fn(TroubleCode) -> bool) -> bool {
        let Val::Codes(codes) = &self.facts[list] else { return false };
        match how {
            How::Any => codes.iter().any(|code| is_in(*code)),
            How::No => !codes.iter().any(|code| is_in(*code)),
            How::Only => codes.iter().all(|code| is_in(*code)),
        }
    }

    fn in_group(&self, flat: &Flat, place: usize, code: TroubleCode) -> bool {
        let Some(code) = code.two_bytes() else { return false };
        let group = &flat.groups[place].1;
        group.ranges.iter().any(|range| range.contains(code))
            || (self.unread_in.contains(&place) && group.unread.iter().any(|range| range.contains(code)))
    }

    fn rows<'a>(&'a self, flat: &'a Flat, table: usize) -> impl Iterator<Item = &'a FlatRow> {
        flat.tables[table].rows.iter().filter(|row| self.holds(flat, &row.condition))
    }

    /// Counted monitors, each with its state for the count.
    fn counted(&self, flat: &Flat) -> Vec<(Monitor, u32)> {
        let mut counted = Vec::new();
        for monitor in Monitor::all() {
            let rules: Vec<_> = flat
                .counts
                .iter()
                .filter(|rule| rule.monitors.contains(monitor) && self.holds(flat, &rule.condition))
                .collect();
            let excused = flat.excuses.iter().any(|excuse| {
                self.holds(flat, &excuse.condition)
                    && match excuse.which {
                        FlatExcused::Monitors(set) => set.contains(monitor),
                        FlatExcused::EarlierIncomplete => {
                            matches!(&self.facts[&Fact::EarlierIncomplete], Val::Monitors(set) if set.contains(monitor))
                        }
                        FlatExcused::Table(table) => self.rows(flat, table).any(|row| row.excused.contains(monitor)),
                    }
            });
            if rules.is_empty() || excused {
                continue;
            }
            let state = self.state(monitor);
            let as_incomplete = state == 0 && rules.iter().any(|rule| rule.unsupported_as_incomplete);
            counted.push((monitor, if as_incomplete { 2 } else { state }));
        }
        counted
    }

    fn incomplete(&self, flat: &Flat) -> Vec<Monitor> {
        self.counted(flat).into_iter().filter(|(_, state)| *state == 2).map(|(monitor, _)| monitor).collect()
    }

    fn allows(&self, flat: &Flat, at: (usize, usize), limit: &Allowance) -> bool {
        let incomplete = self.incomplete(flat);
        let number = i64::try_from(incomplete.len()).unwrap();
        match limit {
            Allowance::AtMost { count, only } => {
                number <= *count && only.is_none_or(|only| incomplete.iter().all(|monitor| only.contains(*monitor)))
            }
            Allowance::AtLeastComplete(count) => {
                let complete = self.counted(flat).into_iter().filter(|(_, state)| *state == 1).count();
                i64::try_from(complete).unwrap() >= *count
            }
            Allowance::NotRead => number <= self.numbers[&at],
        }
    }
}

fn within(number: usize, least: Option<i64>, most: Option<i64>) -> bool {
    let number = i64::try_from(number).unwrap();
    least.is_none_or(|least| number >= least) && most.is_none_or(|most| number <= most)
}
