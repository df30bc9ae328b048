//! Counting tests as diagrams: counted monitors, lists of monitors, limits, and monitors then and now. A count is an
//! array whose place *k* says *at least k of them*.

use super::compile::{Compiler, Of};
use super::cuts::counted;
use super::forest::{Node, TooLarge};
use super::level::{Sample, Var};
use super::space::Slot;
use crate::model::{Fact, Monitor, MonitorState};
use crate::program::Quantifier;
use crate::program::block::Allowance;
use crate::program::flat::FlatExcused;

impl Compiler {
    pub(crate) fn pair(&mut self, quantifier: Quantifier, earlier: Fact, states: u64) -> Result<Node, TooLarge> {
        let mut result = if quantifier == Quantifier::Every { Node::TRUE } else { Node::FALSE };
        let monitors: Vec<Monitor> = Monitor::all().collect();
        for monitor in monitors.into_iter().rev() {
            let member = self.truth(&Var::Member(earlier, monitor))?;
            let state = self.words(&Var::Known(Fact::Monitor(monitor)), states)?;
            result = if quantifier == Quantifier::Every {
                let kept = self.forest.and(state, result)?;
                self.forest.ite(member, kept, result)?
            } else {
                let both = self.forest.and(member, state)?;
                self.forest.or(both, result)?
            };
        }
        if quantifier == Quantifier::No { self.forest.not(result) } else { Ok(result) }
    }

    /// For every counted monitor: where it counts, and where an unsupported one counts as incomplete.
    fn counted(&mut self, of: &mut Of) -> Result<Vec<(Monitor, Node, Node)>, TooLarge> {
        if let Some(counted) = &of.counted {
            return Ok(counted.clone());
        }
        of.counted = Some(Vec::new());
        let flat = of.flat;
        let mut list = Vec::new();
        for monitor in counted(flat).iter() {
            let (mut counts, mut strict) = (Node::FALSE, Node::FALSE);
            for rule in flat.counts.iter().filter(|rule| rule.monitors.contains(monitor)) {
                let applies = self.condition(of, &rule.condition)?;
                counts = self.forest.or(counts, applies)?;
                if rule.unsupported_as_incomplete {
                    strict = self.forest.or(strict, applies)?;
                }
            }
            for excuse in &flat.excuses {
                let applies = self.condition(of, &excuse.condition)?;
                let named = match excuse.which {
                    FlatExcused::Monitors(set) => Node::truth(set.contains(monitor)),
                    FlatExcused::EarlierIncomplete => self.truth(&Var::Member(Fact::EarlierIncomplete, monitor))?,
                    FlatExcused::Table(table) => {
                        let rows = flat.tables.get(table).map_or(&[][..], |table| table.rows.as_slice());
                        let mut any = Node::FALSE;
                        let excusing = rows.iter().enumerate().filter(|(_, row)| row.excused.contains(monitor));
                        for (place, _) in excusing {
                            let listed = self.row(of, table, place)?;
                            any = self.forest.or(any, listed)?;
                        }
                        any
                    }
                };
                let excused = self.forest.and(applies, named)?;
                counts = self.forest.but_not(counts, excused)?;
            }
            list.push((monitor, counts, strict));
        }
        of.counted = Some(list.clone());
        Ok(list)
    }

    /// Where each counted monitor is in one of the states, in table order.
    pub(crate) fn counted_in(&mut self, of: &mut Of, states: u64) -> Result<Vec<(Monitor, Node)>, TooLarge> {
        let unsupported = MonitorState::Unsupported.bit();
        let mut nodes = Vec::new();
        for (monitor, counts, strict) in self.counted(of)? {
            let var = Var::Known(Fact::Monitor(monitor));
            let plain = self.words(&var, states)?;
            let as_incomplete =
                if states & MonitorState::Incomplete.bit() != 0 { states | unsupported } else { states & !unsupported };
            let shifted = self.words(&var, as_incomplete)?;
            let state = self.forest.ite(strict, shifted, plain)?;
            nodes.push((monitor, self.forest.and(counts, state)?));
        }
        Ok(nodes)
    }

    pub(crate) fn count(&mut self, of: &mut Of, states: u64) -> Result<Vec<Node>, TooLarge> {
        if let Some(array) = of.counts.get(&states) {
            return Ok(array.clone());
        }
        let nodes: Vec<Node> = self.counted_in(of, states)?.into_iter().map(|(_, node)| node).collect();
        let array = self.at_least(&nodes)?;
        of.counts.insert(states, array.clone());
        Ok(array)
    }

    /// Place *k* of the result: at least *k* of the nodes hold. Place 0 is true.
    pub(crate) fn at_least(&mut self, nodes: &[Node]) -> Result<Vec<Node>, TooLarge> {
        let mut array = vec![Node::TRUE];
        for node in nodes.iter().rev() {
            let mut next = vec![Node::TRUE];
            for place in 1..=array.len() {
                let more = array.get(place - 1).copied().unwrap_or(Node::FALSE);
                let same = array.get(place).copied().unwrap_or(Node::FALSE);
                next.push(self.forest.ite(*node, more, same)?);
            }
            array = next;
        }
        Ok(array)
    }

    pub(crate) fn between(&mut self, array: &[Node], least: Option<i64>, most: Option<i64>) -> Result<Node, TooLarge> {
        let at_least = |bound: i64| match usize::try_from(bound) {
            Ok(place) => array.get(place).copied().unwrap_or(Node::FALSE),
            Err(_) => Node::TRUE,
        };
        let low = least.map_or(Node::TRUE, at_least);
        let high = most.map_or(Node::FALSE, |most| at_least(most.saturating_add(1)));
        self.forest.but_not(low, high)
    }

    /// The count is at most the number of a level (a fact, or a row that was not read).
    pub(crate) fn at_most_fact(&mut self, array: &[Node], var: &Var) -> Result<Node, TooLarge> {
        let samples: Vec<Sample> = match self.space.slot(var) {
            None => Vec::new(),
            Some(Slot::Fixed(class)) => vec![class.sample.clone()],
            Some(Slot::Level(_, level)) => level.classes.iter().map(|class| class.sample.clone()).collect(),
        };
        let mut result = Node::FALSE;
        for sample in samples {
            let number = match &sample {
                Sample::Number(number) => *number,
                Sample::Place(place) => i64::try_from(*place).unwrap_or(i64::MAX),
                _ => continue,
            };
            let holds = self.between(array, None, Some(number))?;
            let here = self.accept(var, |one| *one == sample)?;
            result = self.forest.ite(here, holds, result)?;
        }
        Ok(result)
    }

    pub(crate) fn limit(&mut self, of: &mut Of, place: usize, within: bool) -> Result<Node, TooLarge> {
        let flat = of.flat;
        let Some(limit) = flat.limits.get(place) else {
            return Ok(Node::FALSE);
        };
        let mut any = Node::FALSE;
        for (at, row) in limit.rows.iter().enumerate() {
            let concerned = self.condition(of, &row.condition)?;
            let allowed = match &row.limit {
                Allowance::AtMost { count, only } => {
                    let array = self.count(of, MonitorState::Incomplete.bit())?;
                    let few = self.between(&array, None, Some(*count))?;
                    let mut others = Node::FALSE;
                    if let Some(only) = only {
                        for (monitor, node) in self.counted_in(of, MonitorState::Incomplete.bit())? {
                            if !only.contains(monitor) {
                                others = self.forest.or(others, node)?;
                            }
                        }
                    }
                    self.forest.but_not(few, others)?
                }
                Allowance::AtLeastComplete(number) => {
                    let array = self.count(of, MonitorState::Complete.bit())?;
                    self.between(&array, Some(*number), None)?
                }
                Allowance::NotRead => {
                    let array = self.count(of, MonitorState::Incomplete.bit())?;
                    self.at_most_fact(&array, &Var::unread_limit(&limit.id, at, row))?
                }
            };
            let holds =
                if within { self.forest.and(concerned, allowed)? } else { self.forest.but_not(concerned, allowed)? };
            any = self.forest.or(any, holds)?;
        }
        Ok(any)
    }
}
