//! A set of vehicles described in few plain conditions: an irredundant cover by prime descriptions. A description joins
//! conditions on single facts and on how many counted monitors are incomplete; none of its conditions can be left away.

use super::compile::Of;
use super::count::Count;
use super::example::{Example, example};
use super::forest::{Node, TooLarge};
use super::kernel::Compiled;
use super::level::{Members, Var};
use super::words::{counted_monitors_are, describe};
use crate::model::{Fact, MonitorState};
use crate::program::{Flat, Given};
use std::collections::BTreeSet;

/// The most descriptions of one set of vehicles.
const MOST: usize = 48;

/// One description.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cube {
    /// Conditions that hold together, in the words of program files.
    pub conditions: Vec<String>,
    /// How many vehicles it describes; descriptions may overlap.
    pub count: Count,
    /// A vehicle that it describes.
    pub example: Example,
}

/// Descriptions of a set of vehicles, and how many vehicles they leave undescribed (where there are too many).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cover {
    /// The descriptions.
    pub cubes: Vec<Cube>,
    /// Vehicles that none of them describes.
    pub rest: Count,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Literal {
    Level(usize, BTreeSet<usize>),
    Count { array: usize, least: usize, most: usize },
}

/// What describes vehicles of a compiled space.
pub(crate) struct Describer<'a> {
    compiled: &'a mut Compiled,
    flats: Vec<&'a Flat>,
    arrays: Vec<(&'static str, Vec<Node>)>,
}

impl<'a> Describer<'a> {
    /// A describer for some programs; where they count monitors differently, it says which one counts a number. Programs
    /// go by their place: two versions of one have the same id.
    pub(crate) fn new(compiled: &'a mut Compiled, programs: &[(&'a Flat, &Given)]) -> Result<Describer<'a>, TooLarge> {
        let mut arrays: Vec<(&'static str, Vec<Node>)> = Vec::new();
        for ((flat, given), name) in programs.iter().zip(["the first", "the second"]) {
            let monitors = super::cuts::counted(flat);
            let known = monitors.iter().all(|m| compiled.compiler.space.cuts.uses(Fact::Monitor(m)));
            if flat.counts.is_empty() || !known {
                continue;
            }
            let mut of = Of::new(flat, given);
            let array = compiled.compiler.count(&mut of, MonitorState::Incomplete.bit())?;
            if !arrays.iter().any(|(_, same)| *same == array) {
                arrays.push((name, array));
            }
        }
        Ok(Describer { compiled, flats: programs.iter().map(|(flat, _)| *flat).collect(), arrays })
    }

    /// Describes the vehicles where a diagram is true.
    pub(crate) fn cover(&mut self, vehicles: Node) -> Cover {
        let mut found: Vec<(Vec<Literal>, Node)> = Vec::new();
        let mut rest = vehicles;
        while rest != Node::FALSE && found.len() < MOST {
            let Some(path) = self.compiled.compiler.forest.example(rest, &self.compiled.weights, |value| value == 1)
            else {
                break;
            };
            // Where the budget is spent, what is left stays undescribed, and is counted.
            let Ok(Some((literals, node, left))) = self.next_cube(vehicles, rest, &path) else {
                break;
            };
            rest = left;
            found.push((literals, node));
        }
        // A description too many does no harm.
        let _ = self.drop_covered(&mut found, vehicles);
        let mut cubes = Vec::new();
        for (literals, node) in found {
            cubes.push(self.cube(&literals, node));
        }
        let rest = self.count(rest);
        Cover { cubes, rest }
    }

    /// A description of the vehicle on the path, its vehicles, and which are then left.
    fn next_cube(
        &mut self,
        vehicles: Node,
        rest: Node,
        path: &[usize],
    ) -> Result<Option<(Vec<Literal>, Node, Node)>, TooLarge> {
        let literals = self.prime(vehicles, path)?;
        let node = self.node(&literals)?;
        if node == Node::FALSE {
            return Ok(None);
        }
        let left = self.compiled.compiler.forest.but_not(rest, node)?;
        Ok(Some((literals, node, left)))
    }

    fn count(&self, node: Node) -> Count {
        self.compiled.compiler.forest.count(node, &self.compiled.weights, |value| value == 1)
    }

    /// A description of the vehicle on the path that only vehicles of the set meet, and that cannot be shortened.
    fn prime(&mut self, vehicles: Node, path: &[usize]) -> Result<Vec<Literal>, TooLarge> {
        let support = self.compiled.compiler.forest.support(vehicles);
        let mut levels: Vec<usize> = support.into_iter().collect();
        levels.sort_by_key(|level| self.keep_rank(*level));
        let mut literals: Vec<Literal> = levels
            .into_iter()
            .map(|level| Literal::Level(level, BTreeSet::from([path.get(level).copied().unwrap_or(0)])))
            .collect();
        for array in 0..self.arrays.len() {
            let count = self.count_on(array, path);
            literals.push(Literal::Count { array, least: count, most: count });
        }
        let mut at = 0;
        while at < literals.len() {
            let mut fewer = literals.clone();
            fewer.remove(at);
            if self.within(&fewer, vehicles)? {
                literals = fewer;
            } else {
                at += 1;
            }
        }
        for at in 0..literals.len() {
            self.widen(&mut literals, at, vehicles)?;
        }
        Ok(literals)
    }

    /// Facts that are left away first come first: single monitors, codes, then the rest, papers last.
    fn keep_rank(&self, level: usize) -> (u8, usize) {
        let rank = match self.compiled.compiler.space.levels.get(level).map(|level| &level.var) {
            Some(Var::Known(Fact::Monitor(_)) | Var::Member(..)) => 0,
            Some(Var::Holds(..) | Var::Present(_)) => 1,
            Some(Var::Known(Fact::Ignition | Fact::Protocol)) => 2,
            _ => 3,
        };
        (rank, usize::MAX - level)
    }

    fn count_on(&self, array: usize, path: &[usize]) -> usize {
        let nodes = self.arrays.get(array).map_or(&[][..], |(_, nodes)| nodes.as_slice());
        let holding = nodes.iter().filter(|node| self.compiled.compiler.forest.follow(**node, path) == 1).count();
        holding.saturating_sub(1)
    }

    fn widen(&mut self, literals: &mut Vec<Literal>, at: usize, vehicles: Node) -> Result<(), TooLarge> {
        let mut trials = Vec::new();
        match literals.get(at) {
            Some(Literal::Level(level, classes)) => {
                let width = self.compiled.compiler.forest.children_width(*level);
                let (level, classes) = (*level, classes.clone());
                for class in (0..width).filter(|class| !classes.contains(class)) {
                    if self.adds_words_only(literals, at, level, class)? {
                        continue;
                    }
                    let level = &level;
                    trials.push(Literal::Level(*level, BTreeSet::from([class])));
                }
            }
            Some(Literal::Count { array, least, most }) => {
                let top = self.arrays.get(*array).map_or(0, |(_, nodes)| nodes.len().saturating_sub(1));
                trials.extend((0..*least).rev().map(|least| Literal::Count { array: *array, least, most: *most }));
                trials.extend((most + 1..=top).map(|most| Literal::Count { array: *array, least: *least, most }));
            }
            None => {}
        }
        for trial in trials {
            let mut wider = literals.clone();
            if let Some(slot) = wider.get_mut(at) {
                *slot = match (&*slot, trial) {
                    (Literal::Level(level, classes), Literal::Level(_, more)) => {
                        Literal::Level(*level, classes.union(&more).copied().collect())
                    }
                    (Literal::Count { array, least, most }, Literal::Count { least: low, most: high, .. }) => {
                        Literal::Count { array: *array, least: low.min(*least), most: high.max(*most) }
                    }
                    (same, _) => same.clone(),
                };
            }
            if self.within(&wider, vehicles)? {
                *literals = wider;
            }
        }
        Ok(())
    }

    /// Whether a word beside those of a description would describe no further vehicle: it would only be one to read.
    /// Numbers are exempt: with a gap filled, two runs are one.
    fn adds_words_only(
        &mut self,
        literals: &[Literal],
        at: usize,
        level: usize,
        class: usize,
    ) -> Result<bool, TooLarge> {
        let one = self.compiled.compiler.space.levels.get(level).and_then(|level| level.classes.get(class));
        if one.is_none_or(|class| matches!(class.members, Members::Numbers { .. })) {
            return Ok(false);
        }
        let mut alone = literals.to_vec();
        if let Some(slot) = alone.get_mut(at) {
            *slot = Literal::Level(level, BTreeSet::from([class]));
        }
        Ok(self.node(&alone)? == Node::FALSE)
    }

    fn node(&mut self, literals: &[Literal]) -> Result<Node, TooLarge> {
        let mut all = self.compiled.exist;
        for literal in literals {
            let node = match literal {
                Literal::Level(level, classes) => {
                    self.compiled.compiler.forest.literal(*level, |class| classes.contains(&class))?
                }
                Literal::Count { array, least, most } => {
                    let nodes = self.arrays.get(*array).map_or(&[][..], |(_, nodes)| nodes.as_slice());
                    let (low, high) = (nodes.get(*least).copied(), nodes.get(most + 1).copied());
                    let (low, high) = (low.unwrap_or(Node::FALSE), high.unwrap_or(Node::FALSE));
                    self.compiled.compiler.forest.but_not(low, high)?
                }
            };
            all = self.compiled.compiler.forest.and(all, node)?;
        }
        Ok(all)
    }

    fn within(&mut self, literals: &[Literal], vehicles: Node) -> Result<bool, TooLarge> {
        let node = self.node(literals)?;
        Ok(self.compiled.compiler.forest.but_not(node, vehicles)? == Node::FALSE)
    }

    /// Removes descriptions whose vehicles the others describe too, the last found first.
    fn drop_covered(&mut self, found: &mut Vec<(Vec<Literal>, Node)>, vehicles: Node) -> Result<(), TooLarge> {
        let mut at = 0;
        let mut described = Node::FALSE;
        for (_, node) in found.iter() {
            described = self.compiled.compiler.forest.or(described, *node)?;
        }
        let described = self.compiled.compiler.forest.and(described, vehicles)?;
        while at < found.len() {
            let mut others = Node::FALSE;
            for (place, (_, node)) in found.iter().enumerate() {
                if place != at {
                    others = self.compiled.compiler.forest.or(others, *node)?;
                }
            }
            if self.compiled.compiler.forest.but_not(described, others)? == Node::FALSE {
                found.remove(at);
            } else {
                at += 1;
            }
        }
        Ok(())
    }

    fn cube(&self, literals: &[Literal], node: Node) -> Cube {
        let mut sorted: Vec<&Literal> = literals.iter().collect();
        sorted.sort_by_key(|literal| match literal {
            Literal::Level(level, _) => (usize::from(self.keep_rank(*level).0 == 0) * 2, *level),
            Literal::Count { array, .. } => (1, *array),
        });
        let conditions = sorted.into_iter().map(|literal| self.words(literal)).collect();
        let path = self.compiled.compiler.forest.example(node, &self.compiled.weights, |value| value == 1);
        Cube {
            conditions,
            count: self.count(node),
            example: example(&self.compiled.compiler.space, &self.flats, &path.unwrap_or_default()),
        }
    }

    fn words(&self, literal: &Literal) -> String {
        match literal {
            Literal::Level(level, classes) => describe(&self.compiled.compiler.space, *level, classes),
            Literal::Count { array, least, most } => {
                let top = self.arrays.get(*array).map_or(0, |(_, nodes)| nodes.len().saturating_sub(1));
                let number = counted_monitors_are(*least, *most, top);
                match self.arrays.get(*array) {
                    Some((name, _)) if self.arrays.len() > 1 => format!("{number} incomplete as {name} counts"),
                    _ => format!("{number} incomplete"),
                }
            }
        }
    }
}
