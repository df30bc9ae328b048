//! The verdicts that may follow and the lines that decide, as planes, by the kernel written at [`crate::program::flat`].

use super::condition::Walk;
use super::facts::Builder;
use super::graph::{Bit, Tri};
use crate::program::Flat;

/// The most ways of reading the open questions that are followed one by one.
const MOST_WAYS: usize = 64;

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

/// The functions of a single record of which everything is known: verdict and lines are put together from them.
#[derive(Debug, Clone)]
pub(super) struct Parts {
    /// The program covers the vehicle, rows that leave it out aside.
    pub(super) covered: Bit,
    /// For each row of vehicles left out: it is one of them.
    pub(super) left_out: Vec<Bit>,
    /// For each line: it is unmet and not set aside.
    pub(super) live: Vec<Bit>,
    /// For each relabelling: its condition holds.
    pub(super) becomes: Vec<Bit>,
    /// It is left open.
    pub(super) open: Bit,
}

/// The parts of a program; facts are settled already. With a question open every record is.
pub(super) fn parts(builder: &mut Builder<'_>) -> Parts {
    let flat = builder.flat;
    let mut walk = Walk::new(builder, &[]);
    let covered = covered(&mut walk);
    let left_out: Vec<Tri> = flat.left_out.iter().map(|row| walk.truth(&row.condition)).collect();
    let live = standing(&mut walk);
    let becomes: Vec<Tri> = flat.becomes.iter().map(|rule| walk.truth(&rule.condition)).collect();
    let mut open = builder.open;
    for tri in [covered].iter().chain(&left_out).chain(&live).chain(&becomes) {
        let unsure = builder.graph.but_not(tri.perhaps, tri.surely);
        open = builder.graph.or(open, unsure);
    }
    let surely = |list: Vec<Tri>| list.into_iter().map(|tri| tri.surely).collect();
    let open = if builder.is_beyond { Bit::ALWAYS } else { open };
    Parts { covered: covered.surely, left_out: surely(left_out), live: surely(live), becomes: surely(becomes), open }
}

/// How each line stands: whether it is unmet and not set aside, on a vehicle that is covered.
type Live = Vec<Tri>;

/// The functions of a program; facts are settled already. With `verdicts_alone`, no line is asked for.
pub(super) fn functions(builder: &mut Builder<'_>, verdicts_alone: bool) -> Functions {
    let flat = builder.flat;
    let mut possible = vec![Bit::NEVER; flat.outcomes.len() + 1];
    for assumed in ways(flat) {
        let mut walk = Walk::new(builder, &assumed);
        of_way(&mut walk, &mut possible);
    }
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
    let mut walk = Walk::new(builder, &[]);
    let covered = dealt_with(&mut walk);
    let live = standing(&mut walk);
    let graph = &mut builder.graph;
    let live: Live = live.into_iter().map(|live| graph.and3(covered, live)).collect();
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

/// A reading for each question, for every way of reading the open ones.
fn ways(flat: &Flat) -> Vec<Vec<Option<usize>>> {
    let open = || flat.questions.iter().filter(|question| question.taken.is_none());
    let ways = open().try_fold(1usize, |ways, question| ways.checked_mul(question.readings.len().max(1)));
    let Some(ways) = ways.filter(|ways| *ways <= MOST_WAYS) else {
        return vec![Vec::new()];
    };
    let one = |way: usize| {
        let mut rest = way;
        let questions = flat.questions.iter().map(|question| {
            if question.taken.is_some() || question.readings.is_empty() {
                return None;
            }
            let reading = rest % question.readings.len();
            rest /= question.readings.len();
            Some(reading)
        });
        questions.collect()
    };
    (0..ways).map(one).collect()
}

/// Whether the program covers the vehicle, rows that leave it out aside.
fn covered(walk: &mut Walk<'_, '_>) -> Tri {
    let flat = walk.flat();
    if !flat.in_force.is_yes() {
        return Tri::FALSE;
    }
    flat.covers.iter().fold(Tri::FALSE, |any, covers| {
        let truth = walk.truth(&covers.item);
        walk.builder.graph.or3(any, truth)
    })
}

/// Whether the clauses deal with the vehicle: covered and not left out.
fn dealt_with(walk: &mut Walk<'_, '_>) -> Tri {
    let mut truth = covered(walk);
    for row in &walk.flat().left_out {
        let out = walk.truth(&row.condition);
        truth = walk.builder.graph.and3(truth, out.not());
    }
    truth
}

fn of_way(walk: &mut Walk<'_, '_>, possible: &mut [Bit]) {
    let flat = walk.flat();
    let covered = covered(walk);
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
        let graph = &mut walk.builder.graph;
        let greater = graph.any(greater);
        let here = graph.and(covered.perhaps, truth.perhaps);
        let here = graph.but_not(here, greater);
        match row.outcome {
            None => add(walk, possible, 0, here),
            Some(place) => relabelled(walk, place, here, possible),
        }
    }
    let out: Vec<Bit> = rows.iter().map(|truth| truth.surely).collect();
    let graph = &mut walk.builder.graph;
    let out = graph.any(out);
    let here = graph.but_not(covered.perhaps, out);
    if here == Bit::NEVER {
        return;
    }
    let live = standing(walk);
    for place in 0..flat.outcomes.len() {
        let lines = || flat.lines.iter().zip(&live);
        let graver: Vec<Bit> = lines().filter(|(line, _)| line.outcome > place).map(|(_, live)| live.surely).collect();
        let own: Vec<Bit> = lines().filter(|(line, _)| line.outcome == place).map(|(_, live)| live.perhaps).collect();
        let graph = &mut walk.builder.graph;
        let graver = graph.any(graver);
        let own = if place == 0 { Bit::ALWAYS } else { graph.any(own) };
        let own = graph.but_not(own, graver);
        let own = graph.and(own, here);
        relabelled(walk, place, own, possible);
    }
}

fn add(walk: &mut Walk<'_, '_>, possible: &mut [Bit], place: usize, here: Bit) {
    if let Some(bit) = possible.get_mut(place) {
        *bit = walk.builder.graph.or(*bit, here);
    }
}

/// Adds what an outcome may become, where it may follow. Of relabellings that hold the gravest stands.
fn relabelled(walk: &mut Walk<'_, '_>, outcome: usize, here: Bit, possible: &mut [Bit]) {
    let flat = walk.flat();
    let rules: Vec<_> = flat.becomes.iter().filter(|rule| rule.from == outcome).collect();
    let truths: Vec<Tri> = rules.iter().map(|rule| walk.truth(&rule.condition)).collect();
    for (rule, truth) in rules.iter().zip(&truths) {
        let graver: Vec<Bit> =
            rules.iter().zip(&truths).filter(|(other, _)| other.to > rule.to).map(|(_, truth)| truth.surely).collect();
        let graph = &mut walk.builder.graph;
        let graver = graph.any(graver);
        let moved = graph.and(here, truth.perhaps);
        let moved = graph.but_not(moved, graver);
        add(walk, possible, rule.to + 1, moved);
    }
    let graph = &mut walk.builder.graph;
    let moved = graph.any(truths.iter().map(|truth| truth.surely).collect::<Vec<_>>());
    let kept = graph.but_not(here, moved);
    add(walk, possible, outcome + 1, kept);
}

/// How each line stands. From *unknown* the lines that give way are settled until nothing more follows.
fn standing(walk: &mut Walk<'_, '_>) -> Live {
    let flat = walk.flat();
    let mut unmet = Vec::with_capacity(flat.lines.len());
    for line in &flat.lines {
        let (concerned, fails) = (walk.truth(&line.concerns), walk.truth(&line.unmet_where));
        unmet.push(walk.builder.graph.and3(concerned, fails));
    }
    let ways: Vec<Vec<(usize, Tri)>> = flat
        .lines
        .iter()
        .map(|line| line.gives_way.iter().map(|(to, condition)| (*to, walk.truth(condition))).collect())
        .collect();
    let graph = &mut walk.builder.graph;
    let first = |(unmet, ways): (&Tri, &Vec<(usize, Tri)>)| {
        if ways.is_empty() { *unmet } else { Tri { surely: Bit::NEVER, perhaps: unmet.perhaps } }
    };
    let mut live: Live = unmet.iter().zip(&ways).map(first).collect();
    for _ in 0..=flat.lines.len() {
        let mut settled_more = false;
        for (place, ways) in ways.iter().enumerate().filter(|(_, ways)| !ways.is_empty()) {
            let mut aside = Tri::FALSE;
            for (to, condition) in ways {
                let other = live.get(*to).copied().unwrap_or(Tri::FALSE);
                let both = graph.and3(other, *condition);
                aside = graph.or3(aside, both);
            }
            let own = unmet.get(place).copied().unwrap_or(Tri::FALSE);
            let now = graph.and3(own, aside.not());
            if let Some(slot) = live.get_mut(place)
                && *slot != now
            {
                *slot = now;
                settled_more = true;
            }
        }
        if !settled_more {
            break;
        }
    }
    live
}
