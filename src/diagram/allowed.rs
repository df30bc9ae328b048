//! Which classes of a compiled space agree with what is given: lets one compiled program answer for many vehicles.

use super::codes::Atoms;
use super::forest::Forest;
use super::kernel::{Compiled, Nodes, verdict_of};
use super::level::{Class, Members, Sample, Var};
use super::listed;
use super::space::Space;
use super::walk::Walker;
use crate::model::Fact;
use crate::model::facts::{ABSENT, Possible};
use crate::program::{Flat, Given, Verdict};
use std::collections::BTreeSet;

/// For every level, the classes that agree with what is given. Questions and unread texts stay open.
#[must_use]
pub fn allowed(space: &Space, flat: &Flat, given: &Given) -> Vec<Vec<bool>> {
    let mut rows = Vec::new();
    allow(space, flat, given, &mut rows);
    rows
}

/// The same, in room that was used before.
pub fn allow(space: &Space, flat: &Flat, given: &Given, rows: &mut Vec<Vec<bool>>) {
    let held = Held::of(space, given);
    rows.resize_with(space.levels.len(), Vec::new);
    for (place, (level, row)) in space.levels.iter().zip(rows).enumerate() {
        if level.var == Var::Listed {
            *row = listed::feasible(space, place, &listed::known(given));
            continue;
        }
        // A text that some class names is none of the others.
        let text = match level.var {
            Var::Known(fact) => match given.facts.get(fact) {
                Possible::Text(Some(text)) => Some(text),
                _ => None,
            },
            _ => None,
        };
        let names = |class: &Class| matches!((&class.members, text), (Members::Texts { named, .. }, Some(text)) if named.contains(text));
        let is_named = text.is_some() && level.classes.iter().any(names);
        row.clear();
        row.extend(level.classes.iter().map(|class| match is_named {
            true => names(class),
            false => agrees(flat, given, &held, &level.var, class),
        }));
    }
}

/// For each list of codes that was read, the atoms of its codes.
struct Held(Vec<(Fact, BTreeSet<usize>)>);

impl Held {
    fn of(space: &Space, given: &Given) -> Held {
        let of_list = |(fact, atoms): (&Fact, &Atoms)| match given.facts.get(*fact) {
            Possible::Codes { list: Some(list), .. } => {
                Some((*fact, list.codes.iter().filter_map(|code| atoms.place_of(*code)).collect()))
            }
            _ => None,
        };
        Held(space.atoms.iter().filter_map(of_list).collect())
    }

    fn holds(&self, fact: Fact, atom: usize) -> bool {
        self.0.iter().any(|(list, atoms)| *list == fact && atoms.contains(&atom))
    }
}

fn agrees(flat: &Flat, given: &Given, held: &Held, var: &Var, class: &Class) -> bool {
    match var {
        Var::Known(fact) => fits(given.facts.get(*fact), class),
        Var::Declared { .. } => {
            let place = (0..flat.facts.len()).find(|place| Var::declared(flat, *place).as_ref() == Some(var));
            place.and_then(|place| given.declared.get(place)).is_none_or(|possible| fits(possible, class))
        }
        Var::Present(fact) => match (given.facts.get(*fact), &class.sample) {
            (Possible::Codes { may_be_absent, may_be_present, .. }, Sample::Truth(there)) => {
                if *there {
                    *may_be_present
                } else {
                    *may_be_absent
                }
            }
            _ => true,
        },
        Var::Holds(fact, atom) => match (given.facts.get(*fact), &class.sample) {
            (Possible::Codes { list: Some(list), .. }, Sample::Truth(is)) => {
                held.holds(*fact, *atom) == *is || (*is && list.may_hold_more)
            }
            (Possible::Codes { list: None, may_be_present: false, .. }, sample) => *sample == Sample::Truth(false),
            _ => true,
        },
        Var::Member(fact, monitor) => match (given.facts.get(*fact), &class.sample) {
            (Possible::Monitors { surely, perhaps }, Sample::Truth(member)) => {
                if *member {
                    perhaps.contains(*monitor)
                } else {
                    !surely.contains(*monitor)
                }
            }
            _ => true,
        },
        Var::Listed | Var::Question { .. } | Var::UnreadCodes(_) | Var::UnreadLimit { .. } => true,
    }
}

pub(crate) fn fits(possible: &Possible, class: &Class) -> bool {
    match (possible, &class.members) {
        (Possible::Words(mask), Members::Words(words)) => mask & words != 0,
        (Possible::Number(span), Members::Numbers { runs, even, absent }) => {
            let parity = |number: i64| even.is_none_or(|even| (number.rem_euclid(2) == 0) == even);
            let meets = runs.iter().any(|(least, most)| {
                let (low, high) = ((*least).max(span.least), (*most).min(span.most));
                low < high || (low == high && parity(low))
            });
            meets || (*absent && span.may_be_absent)
        }
        (Possible::Text(Some(text)), Members::Texts { named, others }) => named.contains(text) || *others,
        _ => true,
    }
}

/// The verdicts that are possible for what is given, from a program compiled with less known.
#[must_use]
pub fn verdicts(compiled: &Compiled, nodes: &Nodes, flat: &Flat, given: &Given) -> BTreeSet<Verdict> {
    reached(compiled, nodes, &allowed(&compiled.compiler.space, flat, given))
}

fn reached(compiled: &Compiled, nodes: &Nodes, allowed: &[Vec<bool>]) -> BTreeSet<Verdict> {
    let within = |level: usize, class: usize| allowed.get(level).and_then(|row| row.get(class)) == Some(&true);
    let forest: &Forest = &compiled.compiler.forest;
    forest.reach_within(nodes.ruled, within).into_iter().filter_map(verdict_of).collect()
}

/// The verdicts that are possible for what is given where an open question of the program, by its place, is read in one
/// way; other questions stay open.
#[must_use]
pub fn verdicts_read(
    compiled: &Compiled,
    nodes: &Nodes,
    flat: &Flat,
    given: &Given,
    (question, reading): (usize, usize),
) -> BTreeSet<Verdict> {
    let space = &compiled.compiler.space;
    let mut allowed = allowed(space, flat, given);
    // A question that nothing asks has no level, and no reading of it changes anything.
    let asked = Var::question(flat, question);
    let rows = space.levels.iter().zip(&mut allowed);
    for (level, row) in rows.filter(|(level, _)| Some(&level.var) == asked.as_ref()) {
        for (class, agrees) in level.classes.iter().zip(row) {
            *agrees &= class.sample == Sample::Place(reading);
        }
    }
    reached(compiled, nodes, &allowed)
}

/// Whether one verdict alone is possible for what is given, from a program compiled with less known; `walker` is room for
/// the walk.
#[must_use]
pub fn leads_to(
    compiled: &Compiled,
    nodes: &Nodes,
    flat: &Flat,
    given: &Given,
    verdict: Verdict,
    walker: &mut Walker,
) -> bool {
    let allowed = allowed(&compiled.compiler.space, flat, given);
    let (mut some, mut other) = (false, false);
    walker.terminals(&compiled.compiler.forest, nodes.ruled, &allowed, |terminal| {
        match verdict_of(terminal) {
            Some(found) if found == verdict => some = true,
            Some(_) => other = true,
            None => {}
        }
        !other
    });
    some && !other
}

/// Whether the fact is not on the vehicle, for all that is given.
#[must_use]
pub fn is_absent(given: &Given, fact: Fact) -> bool {
    match given.facts.get(fact) {
        Possible::Words(mask) => *mask == ABSENT,
        Possible::Number(span) => span.has_no_value(),
        Possible::Codes { may_be_present, .. } => !may_be_present,
        Possible::Text(_) | Possible::Monitors { .. } => false,
    }
}
