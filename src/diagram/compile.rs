//! Conditions as diagrams. Each test follows the meaning written at [`crate::program::Test`]; counting tests become
//! arrays of *at least k*. Named conditions, limits and counts are compiled once.

use super::cuts::{Unit, unit_of, unit_part};
use super::forest::{Forest, Node, TooLarge};
use super::level::{Class, Sample, Var};
use super::numbers::within;
use super::space::{Slot, Space};
use crate::model::facts::Possible;
use crate::model::{CodeGroup, Constraint, Fact, Monitor, MonitorSet, MonitorState, exclusions};
use crate::program::{Condition, FactRef, Flat, Given, How, Test};
use std::collections::BTreeMap;

/// A compiler of conditions over a space.
#[derive(Debug, Clone)]
pub struct Compiler {
    /// The nodes.
    pub forest: Forest,
    /// The levels.
    pub space: Space,
}

/// The part of a compiler that belongs to one program.
pub(crate) struct Of<'a> {
    pub(crate) flat: &'a Flat,
    pub(crate) given: &'a Given,
    findings: BTreeMap<usize, Node>,
    pub(crate) counts: BTreeMap<u64, Vec<Node>>,
    pub(crate) counted: Option<Vec<(Monitor, Node, Node)>>,
}

impl<'a> Of<'a> {
    pub(crate) fn new(flat: &'a Flat, given: &'a Given) -> Of<'a> {
        Of { flat, given, findings: BTreeMap::new(), counts: BTreeMap::new(), counted: None }
    }
}

impl Compiler {
    /// A compiler over a space, with a node budget.
    #[must_use]
    pub fn new(space: Space, budget: usize) -> Compiler {
        Compiler { forest: Forest::new(space.widths(), budget), space }
    }

    /// True for the classes of a fact whose sample the test accepts; false where no class is possible.
    pub(crate) fn accept(&mut self, var: &Var, test: impl Fn(&Sample) -> bool) -> Result<Node, TooLarge> {
        let accepted = |class: &Class| test(&class.sample);
        match self.space.slot(var) {
            None => Ok(Node::FALSE),
            Some(Slot::Fixed(class)) => Ok(Node::truth(accepted(class))),
            Some(Slot::Level(place, level)) => {
                let accepts: Vec<bool> = level.classes.iter().map(accepted).collect();
                self.forest.literal(place, |class| accepts.get(class) == Some(&true))
            }
        }
    }

    pub(crate) fn words(&mut self, var: &Var, words: u64) -> Result<Node, TooLarge> {
        self.accept(var, |sample| matches!(sample, Sample::Word(bit) if words & bit != 0))
    }

    pub(crate) fn truth(&mut self, var: &Var) -> Result<Node, TooLarge> {
        self.accept(var, |sample| *sample == Sample::Truth(true))
    }

    /// Vehicles that can exist.
    pub(crate) fn existing(&mut self) -> Result<Node, TooLarge> {
        let mut exist = Node::truth(!self.space.impossible);
        let lists: Vec<Fact> = self.space.atoms.keys().copied().collect();
        for list in lists {
            let (present, held) = (self.truth(&Var::Present(list))?, self.holds_any(list)?);
            let ghost = self.forest.but_not(held, present)?;
            exist = self.forest.but_not(exist, ghost)?;
        }
        let used = |space: &Space, fact: Fact| space.cuts.uses(fact);
        // What one part rules out is joined before it is taken away: one walk for each such part, not one for each rule.
        let mut ruled_out: Vec<(Constraint, Node)> = Vec::new();
        for rule in exclusions().iter().rev() {
            if used(&self.space, rule.first.fact()) && used(&self.space, rule.second.fact()) {
                let second = self.constraint(rule.second)?;
                match ruled_out.iter_mut().find(|(first, _)| *first == rule.first) {
                    Some((_, any)) => *any = self.forest.or(second, *any)?,
                    None => ruled_out.push((rule.first, second)),
                }
            }
        }
        for (first, any) in ruled_out {
            let first = self.constraint(first)?;
            let both = self.forest.and(first, any)?;
            exist = self.forest.but_not(exist, both)?;
        }
        Ok(exist)
    }

    fn constraint(&mut self, constraint: Constraint) -> Result<Node, TooLarge> {
        match constraint {
            Constraint::Word(fact, words) => self.words(&Var::Known(fact), words),
            Constraint::AtLeast(fact, bound) => {
                self.accept(&Var::Known(fact), |sample| matches!(sample, Sample::Number(number) if *number >= bound))
            }
            Constraint::NotEmpty(fact) => {
                let members = self.space.cuts.members.get(&fact).copied().unwrap_or(MonitorSet::EMPTY);
                let mut any = self.holds_any(fact)?;
                for monitor in members.iter() {
                    let member = self.truth(&Var::Member(fact, monitor))?;
                    any = self.forest.or(any, member)?;
                }
                Ok(any)
            }
        }
    }

    fn holds_any(&mut self, list: Fact) -> Result<Node, TooLarge> {
        let atoms = self.space.atoms.get(&list).map_or(0, |atoms| atoms.atoms.len());
        self.holds(list, (0..atoms).collect())
    }

    fn holds(&mut self, list: Fact, atoms: Vec<usize>) -> Result<Node, TooLarge> {
        let mut any = Node::FALSE;
        for place in atoms.into_iter().rev() {
            let held = self.truth(&Var::Holds(list, place))?;
            any = self.forest.or(held, any)?;
        }
        Ok(any)
    }

    /// A condition of a program.
    pub(crate) fn condition(&mut self, of: &mut Of, condition: &Condition<usize>) -> Result<Node, TooLarge> {
        match condition {
            Condition::All(parts) => {
                let mut all = match unit_of(parts) {
                    Some(unit) => self.unit(&unit)?,
                    None => Node::TRUE,
                };
                for part in parts.iter().filter(|part| unit_part(part).is_none()) {
                    let node = self.condition(of, part)?;
                    all = self.forest.and(all, node)?;
                }
                Ok(all)
            }
            Condition::Any(parts) => {
                let mut any = Node::FALSE;
                for part in parts {
                    let node = self.condition(of, part)?;
                    any = self.forest.or(any, node)?;
                }
                Ok(any)
            }
            Condition::Not(inner) => {
                let node = self.condition(of, inner)?;
                self.forest.not(node)
            }
            Condition::Test(test) => match unit_part(condition) {
                Some(part) => self.unit(&vec![part]),
                None => self.test(of, test),
            },
        }
    }

    fn unit(&mut self, unit: &Unit) -> Result<Node, TooLarge> {
        let place = self.space.units.iter().position(|known| known == unit);
        let holding = |class: &Class| matches!((&class.members, place), (super::level::Members::Units(units), Some(place)) if units.contains(&place));
        match self.space.slot(&Var::Listed) {
            None => Ok(Node::FALSE),
            Some(Slot::Fixed(class)) => Ok(Node::truth(holding(class))),
            Some(Slot::Level(at, level)) => {
                let accepts: Vec<bool> = level.classes.iter().map(holding).collect();
                self.forest.literal(at, |class| accepts.get(class) == Some(&true))
            }
        }
    }

    fn test(&mut self, of: &mut Of, test: &Test<usize>) -> Result<Node, TooLarge> {
        match test {
            Test::Word { fact, words } => match Var::of(of.flat, fact) {
                Some(var) => self.words(&var, *words),
                None => Ok(Node::FALSE),
            },
            Test::Number { fact, least, most } => self.number(of, fact, *least, *most),
            Test::Text { fact, among, is } => {
                let among: Vec<String> = among.iter().map(|text| text.to_lowercase()).collect();
                self.accept(&Var::Known(*fact), |sample| match sample {
                    Sample::Text(text) => among.contains(text) == *is,
                    _ => false,
                })
            }
            Test::Dated(none) => match *none {},
            Test::ModelYearIsEven(even) => self.model_year_is_even(*even),
            Test::Present { fact, is } => self.present(*fact, *is),
            Test::Codes { list, how, among } => self.codes(of, *list, *how, *among),
            Test::CodesOfTable { list, how, table } => self.codes_of_table(of, *list, *how, *table),
            Test::Count { states, least, most } => {
                let array = self.count(of, *states)?;
                self.between(&array, *least, *most)
            }
            Test::CountOf { monitors, states, least, most } => {
                let mut nodes = Vec::new();
                for monitor in monitors.iter() {
                    nodes.push(self.words(&Var::Known(Fact::Monitor(monitor)), *states)?);
                }
                let array = self.at_least(&nodes)?;
                self.between(&array, *least, *most)
            }
            Test::Pair { quantifier, earlier, states } => self.pair(*quantifier, *earlier, *states),
            Test::NotMoreIncompleteThanEarlier => {
                let array = self.count(of, MonitorState::Incomplete.bit())?;
                self.at_most_fact(&array, &Var::Known(Fact::EarlierIncompleteCount))
            }
            Test::Limit { limit, within } => self.limit(of, *limit, *within),
            Test::Finding(place) => self.finding(of, *place),
            Test::Listed(table) => {
                let rows = of.flat.tables.get(*table).map_or(&[][..], |table| table.rows.as_slice());
                let mut any = Node::FALSE;
                for place in 0..rows.len() {
                    let node = self.row(of, *table, place)?;
                    any = self.forest.or(any, node)?;
                }
                Ok(any)
            }
            Test::Reading { question, reading } => {
                match of.flat.questions.get(*question).and_then(|question| question.taken) {
                    Some(taken) => Ok(Node::truth(taken == *reading)),
                    None => match Var::question(of.flat, *question) {
                        Some(var) => self.accept(&var, |sample| *sample == Sample::Place(*reading)),
                        None => Ok(Node::FALSE),
                    },
                }
            }
        }
    }

    /// A row of a table. A vehicle that is presumed not to be in the table is only in rows that surely are its own.
    pub(crate) fn row(&mut self, of: &mut Of, table: usize, place: usize) -> Result<Node, TooLarge> {
        match of.given.row_if_unlisted(table, place) {
            Some(is_listed) => Ok(Node::truth(is_listed)),
            None => match of.flat.tables.get(table).and_then(|table| table.rows.get(place)) {
                Some(row) => self.condition(of, &row.condition),
                None => Ok(Node::FALSE),
            },
        }
    }

    fn number(
        &mut self,
        of: &Of,
        fact: &FactRef<usize>,
        least: Option<i64>,
        most: Option<i64>,
    ) -> Result<Node, TooLarge> {
        if *fact == FactRef::Known(Fact::TestDate) {
            return Ok(Node::truth(within(test_day(of), least, most)));
        }
        match Var::of(of.flat, fact) {
            Some(var) => {
                self.accept(&var, |sample| matches!(sample, Sample::Number(number) if within(*number, least, most)))
            }
            None => Ok(Node::FALSE),
        }
    }

    fn model_year_is_even(&mut self, even: bool) -> Result<Node, TooLarge> {
        self.accept(
            &Var::Known(Fact::ModelYear),
            |sample| matches!(sample, Sample::Number(year) if (year.rem_euclid(2) == 0) == even),
        )
    }

    fn present(&mut self, fact: Fact, is: bool) -> Result<Node, TooLarge> {
        let there = if self.space.atoms.contains_key(&fact) {
            self.truth(&Var::Present(fact))?
        } else {
            self.accept(&Var::Known(fact), |sample| *sample != Sample::Absent)?
        };
        if is { Ok(there) } else { self.forest.not(there) }
    }

    fn codes(&mut self, of: &Of, list: Fact, how: How, among: Option<usize>) -> Result<Node, TooLarge> {
        let present = self.truth(&Var::Present(list))?;
        let group = match among {
            None => None,
            Some(place) => match of.flat.groups.get(place) {
                Some(group) => Some(group),
                None => return Ok(Node::FALSE),
            },
        };
        let (inside, outside) = match group {
            None => (self.holds_any(list)?, Node::FALSE),
            Some((id, group)) => {
                let (surely, never, unread) = self.bands(list, group);
                let belongs = self.truth(&Var::UnreadCodes(id.clone()))?;
                let doubtful = self.holds(list, unread)?;
                let (in_group, out_of_group) = (self.holds(list, surely)?, self.holds(list, never)?);
                let inside = self.forest.and(belongs, doubtful)?;
                let outside = self.forest.but_not(doubtful, belongs)?;
                (self.forest.or(in_group, inside)?, self.forest.or(out_of_group, outside)?)
            }
        };
        match how {
            How::Any => self.forest.and(present, inside),
            How::No => self.forest.but_not(present, inside),
            How::Only => self.forest.but_not(present, outside),
        }
    }

    fn bands(&self, list: Fact, group: &CodeGroup) -> (Vec<usize>, Vec<usize>, Vec<usize>) {
        let Some(atoms) = self.space.atoms.get(&list) else {
            return (Vec::new(), Vec::new(), Vec::new());
        };
        match atoms.group(group) {
            Some(place) => {
                (atoms.with_band(place, Some(true)), atoms.with_band(place, Some(false)), atoms.with_band(place, None))
            }
            None => (Vec::new(), (0..atoms.atoms.len()).collect(), Vec::new()),
        }
    }

    fn codes_of_table(&mut self, of: &mut Of, list: Fact, how: How, table: usize) -> Result<Node, TooLarge> {
        let flat = of.flat;
        let present = self.truth(&Var::Present(list))?;
        let rows = flat.tables.get(table).map_or(&[][..], |table| table.rows.as_slice());
        let atoms = self.space.atoms.get(&list).map_or(0, |atoms| atoms.atoms.len());
        let mut on_list = vec![Node::FALSE; atoms];
        let mut inside = Node::FALSE;
        for (place, row) in rows.iter().enumerate() {
            let listed = self.row(of, table, place)?;
            let group = CodeGroup { ranges: row.codes.clone(), unread: Vec::new() };
            let (members, _, _) = self.bands(list, &group);
            if how == How::Only {
                for place in members {
                    if let Some(node) = on_list.get_mut(place) {
                        *node = self.forest.or(*node, listed)?;
                    }
                }
            } else {
                let held = self.holds(list, members)?;
                let both = self.forest.and(listed, held)?;
                inside = self.forest.or(inside, both)?;
            }
        }
        match how {
            How::Any => self.forest.and(present, inside),
            How::No => self.forest.but_not(present, inside),
            How::Only => {
                let mut only = present;
                for (place, node) in on_list.into_iter().enumerate() {
                    let held = self.truth(&Var::Holds(list, place))?;
                    let stray = self.forest.but_not(held, node)?;
                    only = self.forest.but_not(only, stray)?;
                }
                Ok(only)
            }
        }
    }

    fn finding(&mut self, of: &mut Of, place: usize) -> Result<Node, TooLarge> {
        if let Some(node) = of.findings.get(&place) {
            return Ok(*node);
        }
        of.findings.insert(place, Node::FALSE);
        let flat = of.flat;
        let Some((_, condition)) = flat.findings.get(place) else {
            return Ok(Node::FALSE);
        };
        let node = self.condition(of, condition)?;
        of.findings.insert(place, node);
        Ok(node)
    }
}

fn test_day(of: &Of) -> i64 {
    match of.given.facts.get(Fact::TestDate) {
        Possible::Number(span) if span.least == span.most => span.least,
        _ => crate::model::day_number(of.flat.test_date),
    }
}
