//! The project's diagrams over the Boolean variables of the oracle, node by node: for each level, which of the oracle's
//! values belong to which of its classes. Every value must belong to exactly one.

use super::world::{Key, Val, World};
use biodivine_lib_bdd::Bdd;
use std::collections::{BTreeMap, BTreeSet};
use wherefore::internals::diagram::level::{Class, Level, Members, Sample, Var};
use wherefore::internals::diagram::{Compiled, Node};
use wherefore::internals::model::Fact;
use wherefore::internals::model::facts::ABSENT;
use wherefore::internals::program::Flat;

/// The diagrams as they are turned.
pub struct Turned<'a> {
    world: &'a World,
    compiled: &'a Compiled,
    /// For each level, where each class is.
    classes: Vec<Vec<Bdd>>,
    keys: BTreeSet<Key>,
    done: BTreeMap<Node, Bdd>,
}

/// Whether a class holds a value; of texts, the rest is what no class of the level names.
fn holds(class: &Class, all: &[Class], value: &Val) -> bool {
    match (&class.members, value) {
        (Members::Words(mask), Val::Word(bit)) => mask & bit != 0,
        (Members::Words(mask), Val::Absent) => mask & ABSENT != 0,
        (Members::Numbers { runs, even, .. }, Val::Number(number)) => {
            runs.iter().any(|(least, most)| (least..=most).contains(&number))
                && even.is_none_or(|even| (number % 2 == 0) == even)
        }
        (Members::Numbers { absent, .. }, Val::Absent) => *absent,
        (Members::Texts { named, others }, Val::Text(text)) => {
            let names = |class: &Class| matches!(&class.members, Members::Texts { named, .. } if named.contains(text));
            named.contains(text) || (*others && !all.iter().any(names))
        }
        (Members::Same, Val::Truth(truth)) => class.sample == Sample::Truth(*truth),
        (Members::Same, Val::Place(place)) => class.sample == Sample::Place(*place),
        _ => false,
    }
}

impl<'a> Turned<'a> {
    /// The levels in terms of the oracle's variables.
    ///
    /// # Errors
    /// Where the classes of a level are no partition of the oracle's values.
    pub fn of(flat: &Flat, world: &'a World, compiled: &'a Compiled) -> Result<Turned<'a>, String> {
        let mut turned = Turned { world, compiled, classes: Vec::new(), keys: BTreeSet::new(), done: BTreeMap::new() };
        for level in &compiled.compiler.space.levels {
            let classes = turned.level(flat, level)?;
            let mut seen = world.truth(false);
            for class in &classes {
                if !seen.and(class).is_false() {
                    return Err(format!("classes of {:?} overlap", level.var));
                }
                seen = seen.or(class);
            }
            if !seen.is_true() {
                return Err(format!("classes of {:?} leave a value out", level.var));
            }
            turned.classes.push(classes);
        }
        Ok(turned)
    }

    fn level(&mut self, flat: &Flat, level: &Level) -> Result<Vec<Bdd>, String> {
        let world = self.world;
        let missing = || format!("no fact of the program is {:?}", level.var);
        let key = match &level.var {
            Var::Known(fact) => Key::Fact(*fact),
            Var::Declared { .. } => {
                let place =
                    (0..flat.facts.len()).find(|place| Var::declared(flat, *place).as_ref() == Some(&level.var));
                Key::Declared(place.ok_or_else(missing)?)
            }
            Var::Question { id, .. } => {
                Key::Question(flat.questions.iter().position(|one| one.id == *id).ok_or_else(missing)?)
            }
            Var::UnreadCodes(id) => Key::Group(flat.groups.iter().position(|(one, _)| one == id).ok_or_else(missing)?),
            Var::UnreadLimit { .. } => {
                let rows = flat.limits.iter().enumerate().flat_map(|(limit, block)| {
                    block
                        .rows
                        .iter()
                        .enumerate()
                        .map(move |(at, row)| (limit, at, Var::unread_limit(&block.id, at, row)))
                });
                let mut mine = rows.filter(|(_, _, var)| *var == level.var);
                let (limit, row, _) = mine.next().ok_or_else(missing)?;
                Key::Row(limit, row)
            }
            Var::Present(fact) => Key::Present(*fact),
            Var::Member(fact, monitor) => Key::Member(*fact, *monitor),
            Var::Holds(fact, atom) => {
                let atoms = &self.compiled.compiler.space.atoms[fact];
                let places: Vec<usize> =
                    (0..world.codes.len()).filter(|place| atoms.place_of(world.codes[*place]) == Some(*atom)).collect();
                self.keys.extend(places.iter().map(|place| Key::Code(*fact, *place)));
                let held = places.iter().fold(world.truth(false), |any, place| {
                    any.or(&world.literal(Key::Code(*fact, *place), |value| *value == Val::Truth(true)))
                });
                let of = |class: &Class| if class.sample == Sample::Truth(true) { held.clone() } else { held.not() };
                return Ok(level.classes.iter().map(of).collect());
            }
            Var::Listed => return Ok(self.listed(level)),
        };
        self.keys.insert(key);
        for value in world.values(key) {
            if level.classes.iter().filter(|class| holds(class, &level.classes, value)).count() != 1 {
                return Err(format!("{value:?} is not in one class of {:?}", level.var));
            }
        }
        Ok(level.classes.iter().map(|class| world.literal(key, |value| holds(class, &level.classes, value))).collect())
    }

    /// Make, model and engine: a class is where exactly its conditions hold.
    fn listed(&mut self, level: &Level) -> Vec<Bdd> {
        let world = self.world;
        self.keys.extend([Fact::Make, Fact::Model, Fact::Engine].map(Key::Fact));
        let units: Vec<Bdd> = self
            .compiled
            .compiler
            .space
            .units
            .iter()
            .map(|unit| {
                unit.iter().fold(world.truth(true), |all, (fact, among, is)| {
                    let test = |value: &Val| matches!(value, Val::Text(text) if among.contains(text) == *is);
                    all.and(&world.literal(Key::Fact(*fact), test))
                })
            })
            .collect();
        let of = |class: &Class| {
            let Members::Units(holding) = &class.members else { return world.truth(false) };
            units.iter().enumerate().fold(world.truth(true), |all, (place, unit)| {
                if holding.contains(&place) { all.and(unit) } else { all.and_not(unit) }
            })
        };
        level.classes.iter().map(of).collect()
    }

    /// The keys that the levels stand for.
    pub fn keys(&self) -> BTreeSet<Key> {
        self.keys.clone()
    }

    /// A diagram of 0 and 1.
    pub fn node(&mut self, node: Node) -> Bdd {
        if let Some(value) = node.value() {
            return self.world.truth(value == 1);
        }
        if let Some(done) = self.done.get(&node) {
            return done.clone();
        }
        let level = self.compiled.compiler.forest.level(node);
        let children = self.compiled.compiler.forest.children(node).to_vec();
        let mut any = self.world.truth(false);
        for (class, child) in children.into_iter().enumerate() {
            let below = self.node(child);
            any = any.or(&self.classes[level][class].and(&below));
        }
        self.done.insert(node, any.clone());
        any
    }
}
