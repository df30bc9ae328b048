//! Holes between versions: days on which nothing is in force although something is before and after, and clauses that are
//! gone for a while. With the vehicles that are ruled otherwise for it, and how one of them is ruled before, in the hole
//! and after.

use super::{Near, Say, Seen, Warning};
use crate::diagram::count::Count;
use crate::diagram::forest::{Join, Node, TooLarge};
use crate::diagram::kernel::{Compiled, Nodes, anything, verdict_of};
use crate::diagram::{BUDGET, Error};
use crate::model::{Date, Fact, Value};
use crate::program::select::Epoch;
use crate::program::{Flat, Verdict};
use std::collections::BTreeSet;

/// Programs over one space of levels, every vehicle that can exist.
pub(super) fn together(flats: &[&Flat]) -> Result<Compiled, Error> {
    let given = flats.iter().map(|flat| anything(flat)).collect::<Result<Vec<_>, Error>>()?;
    Compiled::of(&flats.iter().copied().zip(&given).collect::<Vec<_>>(), BUDGET)
}

/// A warning about several days, with an example in the words of a program and the space in which it was seen.
pub(super) fn warning(say: Say, dates: (Date, Date), near: Near, seen: Option<(&Compiled, &Flat)>) -> Warning {
    let seen = seen.map(|(compiled, flat)| (compiled, flat, count(compiled, compiled.exist)));
    let seen = seen.as_ref().map(|(compiled, flat, all)| {
        let (forest, space) = (&compiled.compiler.forest, &compiled.compiler.space);
        Seen { forest, space, weights: &compiled.weights, all, flat }
    });
    Warning::of(say, dates, near, seen)
}

fn count(compiled: &Compiled, vehicles: Node) -> Count {
    compiled.compiler.forest.count(vehicles, &compiled.weights, |value| value == 1)
}

/// Adds the holes of a program.
pub(super) fn holes(flats: &[(Epoch, Flat)], warnings: &mut Vec<Warning>) -> Result<(), Error> {
    for (before, after) in gaps(flats, &|flat| flat.in_force.is_yes()) {
        let dates = between(flats, before, after);
        let Some((from, through)) = dates else { continue };
        let message = format!("no version is in force from {from} through {through}");
        let program = flats.get(before).map_or("", |(_, flat)| flat.program.as_str());
        warnings.extend(hole(flats, (before, after), say(program, message), None)?);
    }
    let clauses: BTreeSet<&str> =
        flats.iter().flat_map(|(_, flat)| &flat.lines).map(|line| line.clause.as_str()).collect();
    for clause in clauses {
        let has = |flat: &Flat| flat.lines.iter().any(|line| line.clause == clause);
        for (before, after) in gaps(flats, &has) {
            let missing = flats.get(before + 1..after).unwrap_or_default();
            if !missing.iter().any(|(_, flat)| flat.in_force.is_yes()) {
                continue;
            }
            let Some((from, through)) = between(flats, before, after) else { continue };
            let message = format!("clause `{clause}` has no version from {from} through {through}");
            warnings.extend(hole(flats, (before, after), say(clause, message), Some(clause))?);
        }
    }
    Ok(())
}

fn say(subject: &str, message: String) -> Say {
    let help = "check the dates on both sides: both ends are included";
    Say { code: "analysis/version-hole", subject: subject.to_owned(), message, help, origin: None }
}

/// Places of epochs of which something holds, with others in between of which it does not.
fn gaps(flats: &[(Epoch, Flat)], has: &dyn Fn(&Flat) -> bool) -> Vec<(usize, usize)> {
    let places: Vec<usize> =
        flats.iter().enumerate().filter(|(_, (_, flat))| has(flat)).map(|(place, _)| place).collect();
    let pairs = places.iter().copied().zip(places.iter().copied().skip(1));
    pairs.filter(|(before, after)| before + 1 < *after).collect()
}

fn between(flats: &[(Epoch, Flat)], before: usize, after: usize) -> Option<(Date, Date)> {
    let missing = flats.get(before + 1..after)?;
    Some((missing.first()?.0.from, missing.last()?.0.through))
}

/// What is said of one hole: of the program where no clause is named.
fn hole(
    flats: &[(Epoch, Flat)],
    (before, after): (usize, usize),
    say: Say,
    clause: Option<&str>,
) -> Result<Option<Warning>, Error> {
    let Some((from, through)) = between(flats, before, after) else { return Ok(None) };
    let [Some((old, one)), Some((_, inside)), Some((new, other))] =
        [before, before + 1, after].map(|place| flats.get(place).map(|(epoch, flat)| (epoch, flat)))
    else {
        return Ok(None);
    };
    let mut compiled = together(&[one, inside, other])?;
    let nodes = compiled.programs.clone();
    let [then, gone, again] = nodes.as_slice() else { return Ok(None) };
    let (vehicles, what) = match clause {
        None => (ruled(&mut compiled, then)?, "with an outcome on"),
        Some(clause) => {
            let unmet = unmet(&mut compiled, one, then, clause)?;
            let otherwise = differ(&mut compiled, then, gone)?;
            let turned = compiled.compiler.forest.and(unmet, otherwise)?;
            if turned == Node::FALSE {
                (unmet, "ruled the same in the hole, though the clause is unmet on")
            } else {
                (turned, "ruled otherwise in the hole than on")
            }
        }
    };
    let counted = format!("{what} {}:", old.through);
    let mut notes = Vec::new();
    if let Some(path) = compiled.compiler.forest.example(vehicles, &compiled.weights, |value| value == 1) {
        let says = |flat: &Flat, nodes: &Nodes| {
            let verdict = verdict_of(compiled.compiler.forest.follow(nodes.ruled, &path));
            verdict.map(|verdict| verdict.name(flat).to_owned()).unwrap_or_default()
        };
        let (first, hole, last) = (says(one, then), says(inside, gone), says(other, again));
        notes.push(format!(
            "the example: {first} on {}, {hole} on a visit of {from}, {last} on {}",
            old.through, new.from
        ));
    } else {
        let nobody = clause.map_or("no vehicle has an outcome", |_| "the clause is unmet by no vehicle");
        notes.push(format!("{nobody} on {}", old.through));
    }
    let changed = differ(&mut compiled, then, again)?;
    let changed = compiled.compiler.forest.and(vehicles, changed)?;
    if changed != Node::FALSE {
        let count = count(&compiled, changed);
        notes.push(format!("{count} of them are ruled otherwise after the hole than before it"));
    }
    let near = Near { vehicles, counted, notes };
    let mut warning = warning(say, (from, through), near, Some((&compiled, one)));
    if let Some(example) = &mut warning.example {
        example.snapshot.set(Fact::TestDate, Value::Date(from));
    }
    Ok(Some(warning))
}

/// Vehicles that get an outcome.
fn ruled(compiled: &mut Compiled, nodes: &Nodes) -> Result<Node, TooLarge> {
    compiled.compiler.forest.where_value(nodes.ruled, |value| matches!(verdict_of(value), Some(Verdict::Outcome(_))))
}

fn differ(compiled: &mut Compiled, one: &Nodes, other: &Nodes) -> Result<Node, TooLarge> {
    compiled.compiler.forest.join(Join::Differ, one.ruled, other.ruled)
}

/// Vehicles that can exist and on which a clause is unmet.
fn unmet(compiled: &mut Compiled, flat: &Flat, nodes: &Nodes, clause: &str) -> Result<Node, TooLarge> {
    let mut any = Node::FALSE;
    for (_, node) in flat.lines.iter().zip(&nodes.unmet).filter(|(line, _)| line.clause == clause) {
        any = compiled.compiler.forest.or(any, *node)?;
    }
    compiled.compiler.forest.and(any, compiled.exist)
}
