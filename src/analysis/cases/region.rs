//! Where a program and one like it can answer differently at all: so that a mutant is looked at there and nowhere else.

use crate::diagram::compile::{Compiler, Of};
use crate::diagram::forest::{Forest, Join, Node, TooLarge};
use crate::program::{Condition, Flat, Given};

/// The conditions that answers are made of, in the order of a program.
pub(super) struct Parts {
    /// Of coverage, left-out rows, relabellings, and what follows; first those of rows and relabellings.
    whole: Vec<Node>,
    /// The outcomes of the first of these.
    outcomes: Vec<Option<usize>>,
    /// Whom each line concerns and is unmet by, then the conditions of giving way.
    lines: Vec<Node>,
    line_outcomes: Vec<Option<usize>>,
}

impl Parts {
    pub(super) fn of(compiler: &mut Compiler, flat: &Flat, given: &Given) -> Result<Parts, TooLarge> {
        let mut of = Of::new(flat, given);
        let (mut whole, mut lines) = (Vec::new(), Vec::new());
        let rows = flat.left_out.iter().map(|row| (&row.condition, row.outcome));
        let relabelled = flat.becomes.iter().map(|rule| (&rule.condition, Some(rule.to)));
        let (first, outcomes): (Vec<&Condition<usize>>, _) = rows.chain(relabelled).unzip();
        let covers = flat.covers.iter().map(|covers| &covers.item);
        let due = flat.due.iter().filter(|rule| rule.every.is_none()).map(|rule| &rule.condition);
        let follows = flat.consequences.iter().map(|rule| &rule.item.condition);
        for condition in first.into_iter().chain(covers).chain(due).chain(follows) {
            whole.push(compiler.condition(&mut of, condition)?);
        }
        for line in &flat.lines {
            let concerns = compiler.condition(&mut of, &line.concerns)?;
            let unmet = compiler.condition(&mut of, &line.unmet_where)?;
            lines.push(compiler.forest.and(concerns, unmet)?);
        }
        for (_, condition) in flat.lines.iter().flat_map(|line| &line.gives_way) {
            lines.push(compiler.condition(&mut of, condition)?);
        }
        let line_outcomes = flat.lines.iter().map(|line| Some(line.outcome)).collect();
        Ok(Parts { whole, outcomes, lines, line_outcomes })
    }

    /// The vehicles of which some condition comes out otherwise, or that a row or line with another outcome is about;
    /// `covered`: the vehicles that clauses of the one program deal with.
    pub(super) fn differ(&self, other: &Parts, forest: &mut Forest, covered: Node) -> Result<Node, TooLarge> {
        let (mut any, mut lines) = (Node::FALSE, Node::FALSE);
        for (own, other) in self.whole.iter().zip(&other.whole) {
            let differ = forest.join(Join::Differ, *own, *other)?;
            any = forest.or(any, differ)?;
        }
        for (own, other) in self.lines.iter().zip(&other.lines) {
            let differ = forest.join(Join::Differ, *own, *other)?;
            lines = forest.or(lines, differ)?;
        }
        let moved = |own: &Vec<Option<usize>>, other: &Vec<Option<usize>>| -> Vec<usize> {
            own.iter().zip(other).enumerate().filter(|(_, (own, other))| own != other).map(|(at, _)| at).collect()
        };
        for at in moved(&self.outcomes, &other.outcomes) {
            any = forest.or(any, other.whole.get(at).copied().unwrap_or(Node::TRUE))?;
        }
        for at in moved(&self.line_outcomes, &other.line_outcomes) {
            lines = forest.or(lines, other.lines.get(at).copied().unwrap_or(Node::TRUE))?;
        }
        // Lines say nothing of vehicles that are not covered; where coverage differs is among the rest.
        let lines = forest.and(lines, covered)?;
        forest.or(any, lines)
    }
}

/// Whether two programs differ in nothing but conditions and outcomes, so that these can be held against each other place by
/// place.
pub(super) fn is_alike(one: &Flat, other: &Flat) -> bool {
    let lines = one.lines.iter().zip(&other.lines).all(|(one, other)| {
        one.clause == other.clause
            && one.gives_way.len() == other.gives_way.len()
            && one.gives_way.iter().zip(&other.gives_way).all(|(one, other)| one.0 == other.0)
    });
    let follows = one.consequences.iter().zip(&other.consequences).all(|(one, other)| {
        let (one, other) = (&one.item, &other.item);
        (&one.text, &one.by, one.after, one.alone) == (&other.text, &other.by, other.after, other.alone)
    });
    let becomes = one.becomes.iter().zip(&other.becomes).all(|(one, other)| one.from == other.from);
    let due = one.due.iter().zip(&other.due).all(|(one, other)| one.every.is_none() == other.every.is_none());
    let size = |flat: &Flat| {
        let last = (flat.becomes.len(), flat.due.len(), flat.consequences.len(), flat.outcomes.len());
        (flat.covers.len(), flat.left_out.len(), flat.lines.len(), last)
    };
    one.in_force == other.in_force && size(one) == size(other) && lines && follows && becomes && due
}
