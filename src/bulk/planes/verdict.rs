//! The verdicts that may follow and the lines that decide, as planes, by the kernel written at [`crate::program::flat`].

use super::condition::{Walk, walk};
use super::facts::Builder;
use super::graph::{Bit, Tri};
use crate::evaluate::{Logic, each_way};

/// The functions that a program comes to. Of open records the others say nothing.
#[derive(Debug, Clone)]
pub(super) struct Functions {
    /// Not-subject, then the ladder: where it may follow.
    pub(super) possible: Vec<Bit>,
    /// For each line: where it decides.
    pub(super) deciding: Vec<Bit>,
    /// Records that are left open.
    pub(super) open: Bit,
}

/// The functions of a program; facts are settled already. With `verdicts_alone`, no line is asked for.
pub(super) fn functions(builder: &mut Builder<'_>, verdicts_alone: bool) -> Functions {
    let flat = builder.flat;
    let mut possible = vec![Bit::NEVER; flat.outcomes.len() + 1];
    each_way(flat, |assumed| of_way(&walk(builder, assumed), &mut possible));
    let mut open = builder.open;
    let deciding = if verdicts_alone { Vec::new() } else { deciding(builder, &mut open) };
    let (mut one, mut more) = (Bit::NEVER, Bit::NEVER);
    for bit in &possible {
        let graph = &mut builder.graph;
        let again = graph.and(one, *bit);
        (more, one) = (graph.or(more, again), graph.or(one, *bit));
    }
    open = builder.graph.or(open, more);
    if builder.is_beyond {
        open = Bit::ALWAYS;
    }
    Functions { possible, deciding, open }
}

/// For each line where it decides; where that is not sure, the record is left open.
fn deciding(builder: &mut Builder<'_>, open: &mut Bit) -> Vec<Bit> {
    let flat = builder.flat;
    let walk = walk(builder, &[]);
    let covered = dealt_with(&walk);
    let live = walk.standing().live;
    let graph = &mut builder.graph;
    let live: Vec<Tri> = live.into_iter().map(|live| graph.and3(covered, live)).collect();
    let mut deciding = Vec::with_capacity(live.len());
    for (line, own) in flat.lines.iter().zip(&live) {
        let graver: Vec<Bit> = flat
            .lines
            .iter()
            .zip(&live)
            .filter(|(other, _)| other.outcome > line.outcome)
            .map(|(_, l)| l.surely)
            .collect();
        let graph = &mut builder.graph;
        let graver = graph.any(graver);
        deciding.push(graph.but_not(own.surely, graver));
        let unsure = graph.but_not(own.perhaps, own.surely);
        let unsure = graph.but_not(unsure, graver);
        *open = graph.or(*open, unsure);
    }
    deciding
}

/// Whether the clauses deal with the vehicle: covered and not left out.
fn dealt_with(walk: &Walk<'_, '_, '_>) -> Tri {
    let rows = walk.flat().left_out.iter();
    rows.fold(walk.covered(), |truth, row| walk.logic().and(truth, walk.truth(&row.condition).not()))
}

fn of_way(walk: &Walk<'_, '_, '_>, possible: &mut [Bit]) {
    let flat = walk.flat();
    let covered = walk.covered();
    add(walk, possible, 0, covered.surely.not());
    let rows: Vec<Tri> = flat.left_out.iter().map(|row| walk.truth(&row.condition)).collect();
    for (row, truth) in flat.left_out.iter().zip(&rows) {
        // Where several rows hold, an outcome stands before not-subject, and the gravest first: the greater is the one.
        let greater: Vec<Bit> = flat
            .left_out
            .iter()
            .zip(&rows)
            .filter(|(other, _)| other.outcome > row.outcome)
            .map(|(_, t)| t.surely)
            .collect();
        let here = walk.logic().graph(|graph| {
            let greater = graph.any(greater);
            let here = graph.and(covered.perhaps, truth.perhaps);
            graph.but_not(here, greater)
        });
        match row.outcome {
            None => add(walk, possible, 0, here),
            Some(place) => relabelled(walk, place, here, possible),
        }
    }
    let out: Vec<Bit> = rows.iter().map(|truth| truth.surely).collect();
    let here = walk.logic().graph(|graph| {
        let out = graph.any(out);
        graph.but_not(covered.perhaps, out)
    });
    if here == Bit::NEVER {
        return;
    }
    let live = walk.standing().live;
    for place in 0..flat.outcomes.len() {
        let lines = || flat.lines.iter().zip(&live);
        let graver: Vec<Bit> = lines().filter(|(line, _)| line.outcome > place).map(|(_, live)| live.surely).collect();
        let own: Vec<Bit> = lines().filter(|(line, _)| line.outcome == place).map(|(_, live)| live.perhaps).collect();
        let own = walk.logic().graph(|graph| {
            let graver = graph.any(graver);
            let own = if place == 0 { Bit::ALWAYS } else { graph.any(own) };
            let own = graph.but_not(own, graver);
            graph.and(own, here)
        });
        relabelled(walk, place, own, possible);
    }
}

fn add(walk: &Walk<'_, '_, '_>, possible: &mut [Bit], place: usize, here: Bit) {
    if let Some(bit) = possible.get_mut(place) {
        *bit = walk.logic().graph(|graph| graph.or(*bit, here));
    }
}

/// Adds what an outcome may become, where it may follow. Of relabellings that hold the gravest stands.
fn relabelled(walk: &Walk<'_, '_, '_>, outcome: usize, here: Bit, possible: &mut [Bit]) {
    let flat = walk.flat();
    let rules: Vec<_> = flat.becomes.iter().filter(|rule| rule.from == outcome).collect();
    let truths: Vec<Tri> = rules.iter().map(|rule| walk.truth(&rule.condition)).collect();
    for (rule, truth) in rules.iter().zip(&truths) {
        let graver: Vec<Bit> =
            rules.iter().zip(&truths).filter(|(other, _)| other.to > rule.to).map(|(_, truth)| truth.surely).collect();
        let moved = walk.logic().graph(|graph| {
            let graver = graph.any(graver);
            let moved = graph.and(here, truth.perhaps);
            graph.but_not(moved, graver)
        });
        add(walk, possible, rule.to + 1, moved);
    }
    let kept = walk.logic().graph(|graph| {
        let moved = graph.any(truths.iter().map(|truth| truth.surely).collect::<Vec<_>>());
        graph.but_not(here, moved)
    });
    add(walk, possible, outcome + 1, kept);
}
