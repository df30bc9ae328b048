//! The vehicles of the random tests as the naive evaluator rules on them (`diagram::oracle`: the kernel written from the doc
//! comments alone, for one vehicle of which everything is known). Exact sets come from trying every vehicle.

use crate::diagram::oracle::Vehicle;
use std::collections::{BTreeMap, BTreeSet};
use wherefore::internals::model::{Constraint, Fact, Monitor, MonitorSet, Reading, TroubleCode, Value, exclusions};
use wherefore::internals::program::flat::Line;
use wherefore::internals::program::{Condition, Flat, Verdict};

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
        !exclusions().iter().any(|rule| meets(rule.first) && meets(rule.second))
    }

    /// The vehicle for the naive evaluator; monitors that are not drawn are unsupported.
    fn vehicle(&self, flat: &Flat) -> Vehicle {
        let mut facts = super::whole(self).snapshot();
        for monitor in Monitor::all() {
            facts.readings.entry(Fact::Monitor(monitor)).or_insert(Reading::Known(Value::Word(0)));
        }
        Vehicle {
            facts,
            readings: flat.questions.iter().map(|it| it.id.clone()).zip(self.readings.iter().copied()).collect(),
            limits: self.numbers.clone(),
            groups: (0..flat.groups.len()).map(|place| (place, self.unread_in.contains(&place))).collect(),
        }
    }

    /// The verdict.
    pub fn verdict(&self, flat: &Flat) -> Verdict {
        self.vehicle(flat).verdict(flat)
    }

    /// The lines that decide.
    pub fn deciding(&self, flat: &Flat) -> Vec<usize> {
        self.vehicle(flat).deciding(flat)
    }

    /// How each line stands.
    pub fn lines(&self, flat: &Flat) -> Vec<Stand> {
        let vehicle = self.vehicle(flat);
        let is_covered = vehicle.is_dealt_with(flat);
        let stand = |(place, line): (usize, &Line)| match is_covered {
            false => Stand::NotCovered,
            true if !vehicle.holds(flat, &line.concerns) => Stand::NotConcerned,
            true if !vehicle.holds(flat, &line.unmet_where) => Stand::Met,
            true if !vehicle.stands(flat, place) => Stand::SetAside,
            true => Stand::Unmet,
        };
        flat.lines.iter().enumerate().map(stand).collect()
    }

    /// Whether a condition holds.
    pub fn holds(&self, flat: &Flat, condition: &Condition<usize>) -> bool {
        self.vehicle(flat).holds(flat, condition)
    }
}
