//! The decision diagram of a program as a picture: whole where it is small, else of an ordinary vehicle in everything but
//! its monitors, else only a sentence that says how large it is. Drawing it is `draw`'s work.

use super::draw::Picture;
use crate::diagram::kernel::{NOBODY, verdict_of};
use crate::diagram::level::{Level, Var};
use crate::diagram::{Compiled, Error, Node, words};
use crate::model::{Fact, spec};
use crate::program::Flat;
use std::collections::{BTreeMap, BTreeSet};

/// The most nodes that a person can follow in a picture.
const MOST: usize = 48;

/// A picture, or none, with a sentence on what it shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// The picture.
    pub picture: Option<Picture>,
    /// What it shows, and how large the whole diagram is.
    pub says: String,
}

/// The picture of a flat program.
///
/// # Errors
/// Where the diagram outgrows its budget.
pub fn picture(flat: &Flat) -> Result<Shown, Error> {
    let mut compiled = Compiled::whole(flat)?;
    let Some(root) = compiled.first().map(|nodes| nodes.ruled) else {
        return Err(Error::Contradiction);
    };
    let size = compiled.compiler.forest.size(root);
    let whole = format!("The whole diagram has {size} nodes over {} facts.", compiled.compiler.space.levels.len());
    if size <= MOST {
        return Ok(Shown { picture: Some(of(&compiled, flat, root)), says: whole });
    }
    let ordinary = compiled.compiler.forest.example(root, &compiled.weights, |value| value == 1);
    let fixed: BTreeMap<usize, usize> = ordinary
        .unwrap_or_default()
        .into_iter()
        .enumerate()
        .filter(|(level, _)| !is_monitor(compiled.compiler.space.levels.get(*level)))
        .collect();
    let readiness = compiled.compiler.forest.fix(root, &fixed)?;
    // What only tells vehicles from what cannot exist is left away: the picture is about vehicles.
    let readiness = compiled.compiler.forest.without(readiness, NOBODY)?;
    let small = compiled.compiler.forest.size(readiness);
    let kept: BTreeSet<usize> = compiled.compiler.forest.support(root);
    let held: Vec<String> = fixed
        .iter()
        .filter(|(level, _)| kept.contains(level))
        .map(|(level, class)| words::describe(&compiled.compiler.space, *level, &BTreeSet::from([*class])))
        .collect();
    let held = held.join("; ");
    if (1..=MOST).contains(&small) {
        let says = format!(
            "{whole} Drawn is its part for a vehicle of which all but the monitors is ordinary, without monitors that \
             such a vehicle cannot have: {held}."
        );
        return Ok(Shown { picture: Some(of(&compiled, flat, readiness)), says });
    }
    let says = format!(
        "{whole} Even for a vehicle that is ordinary in all but its monitors it has {small}: too many to draw."
    );
    Ok(Shown { picture: None, says })
}

fn is_monitor(level: Option<&Level>) -> bool {
    matches!(level.map(|level| &level.var), Some(Var::Known(Fact::Monitor(_))))
}

/// The nodes below a root, level by level.
fn of(compiled: &Compiled, flat: &Flat, root: Node) -> Picture {
    let forest = &compiled.compiler.forest;
    let mut found: BTreeSet<(usize, Node)> = BTreeSet::new();
    let mut waiting = vec![root];
    let mut terminals: BTreeSet<u32> = BTreeSet::new();
    while let Some(node) = waiting.pop() {
        match node.value() {
            Some(value) => {
                terminals.insert(value);
            }
            None => {
                if found.insert((forest.level(node), node)) {
                    waiting.extend(forest.children(node));
                }
            }
        }
    }
    let levels: Vec<usize> = found.iter().map(|(level, _)| *level).collect::<BTreeSet<_>>().into_iter().collect();
    let nodes: Vec<Node> = found.iter().map(|(_, node)| *node).collect();
    let terminals: Vec<u32> = terminals.into_iter().collect();
    let place = |node: Node| match node.value() {
        Some(value) => terminals.iter().position(|known| *known == value).map(|at| nodes.len() + at),
        None => nodes.iter().position(|known| *known == node),
    };
    let mut picture = Picture {
        levels: levels.iter().map(|level| legend(compiled, *level)).collect(),
        nodes: found.iter().filter_map(|(level, _)| levels.iter().position(|known| known == level)).collect(),
        outcomes: terminals
            .iter()
            .map(|value| verdict_of(*value).map_or("cannot exist".to_owned(), |it| it.name(flat).to_owned()))
            .collect(),
        edges: Vec::new(),
    };
    for (from, node) in nodes.iter().enumerate() {
        let mut below: BTreeMap<usize, String> = BTreeMap::new();
        for (class, child) in forest.children(*node).iter().enumerate() {
            if let Some(to) = place(*child) {
                below.entry(to).or_default().push_str(&letter(class));
            }
        }
        picture.edges.extend(below.into_iter().map(|(to, letters)| (from, to, letters)));
    }
    picture
}

/// What a level asks, with a letter for each of its classes: `catalyst: a complete, b incomplete`.
fn legend(compiled: &Compiled, place: usize) -> String {
    let Some(level) = compiled.compiler.space.levels.get(place) else {
        return String::new();
    };
    let name = match &level.var {
        Var::Known(Fact::Monitor(monitor)) => monitor.name().to_owned(),
        Var::Known(fact) => spec(*fact).name.to_owned(),
        _ => String::new(),
    };
    let strip = |words: String| words.strip_prefix(&format!("{name} ")).map_or(words.clone(), str::to_owned);
    let classes: Vec<String> = (0..level.classes.len())
        .map(|class| {
            let words = words::describe(&compiled.compiler.space, place, &BTreeSet::from([class]));
            format!("{} {}", letter(class), strip(words))
        })
        .collect();
    if name.is_empty() { classes.join(", ") } else { format!("{name}: {}", classes.join(", ")) }
}

fn letter(class: usize) -> String {
    u32::try_from(class).ok().and_then(|class| char::from_digit(10 + class, 36)).map_or("+".to_owned(), String::from)
}
