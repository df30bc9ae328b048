//! Pairs: for a condition two vehicles on which the answer turns on it, one on which it holds and one on which it does
//! not, with different answers. Vehicles of the set are used where they will do; where no two such vehicles can exist,
//! the reason is told.

use super::bench::{Bench, VERDICT};
use super::mutants::{self, Change, Mutant, Site};
use super::{Pair, Unpaired, Vectors};
use crate::diagram::{Error, Node};
use crate::program::Flat;
use std::collections::BTreeMap;

/// What the vehicles of a pair must be, so that others can take their place.
pub(super) struct Needed {
    pub(super) holds: Node,
    pub(super) fails: Node,
    /// The presumption that is used on the first.
    pub(super) presumption: Option<usize>,
}

impl Needed {
    /// Whether two vectors show the condition.
    pub(super) fn fits(&self, bench: &Bench, set: &Vectors, answer: &str, holds: usize, fails: usize) -> bool {
        let (Some(one), Some(other)) = (set.vectors.get(holds), set.vectors.get(fails)) else { return false };
        one.not_known == self.presumption
            && other.not_known.is_none()
            && bench.is_in(self.holds, &one.path)
            && bench.is_in(self.fails, &other.path)
            && bench.answer(answer, &one.path) != bench.answer(answer, &other.path)
    }
}

/// Adds a pair for a condition, or tells why there is none.
pub(super) fn pair(
    bench: &mut Bench,
    set: &mut Vectors,
    mutant: &Mutant,
    differences: &BTreeMap<String, Node>,
) -> Result<Result<Needed, Unpaired>, Error> {
    let flat = bench.flat;
    let presumption = match (mutant.site, &mutant.change) {
        (Site::Presumption(place), Change::PresumptionDropped) => Some(place),
        _ => None,
    };
    let (condition, test) = match &mutant.change {
        Change::Negated(place, test) => {
            (format!("{}, condition {}", mutants::name(flat, mutant.site), place + 1), Some(test.clone()))
        }
        _ => (mutants::name(flat, mutant.site), None),
    };
    let (holds, fails) = match &test {
        Some(test) => bench.sides(test)?,
        None => (bench.exist, bench.exist),
    };
    // The verdict first; a condition that turns no verdict may still turn what follows.
    let turned = differences.get_key_value(VERDICT).or_else(|| differences.iter().next());
    let Some((answer, differs)) = turned else {
        let why = without_effect(flat, mutant, (holds, fails)).to_owned();
        return Ok(Err(Unpaired { condition, has_effect: false, why }));
    };
    let holds = bench.both(holds, *differs)?;
    // A vehicle of which the presumed fact is known needs not turn on anything.
    let fails = if test.is_some() { bench.both(fails, *differs)? } else { bench.exist };
    let need = Needed { holds, fails, presumption };
    let found = match known(bench, set, &need, answer) {
        Some(found) => Some(found),
        None => new(bench, set, &need, answer)?,
    };
    let Some((one, other)) = found else {
        let what = if answer == VERDICT { "verdict" } else { "answer" };
        let why = match (need.holds == Node::FALSE, need.fails == Node::FALSE) {
            (true, _) => format!("it fails on every vehicle whose {what} turns on it"),
            (_, true) => format!("it holds on every vehicle whose {what} turns on it"),
            _ => format!("all vehicles whose {what} turns on it have the same {what}, whether it holds or not"),
        };
        return Ok(Err(Unpaired { condition, has_effect: true, why }));
    };
    let facts = match (&test, presumption.and_then(|place| flat.presumptions.get(place))) {
        (Some(test), _) => mutants::facts_in_words(flat, test),
        (None, Some(it)) => mutants::in_words(flat, [it.fact.clone()]),
        (None, None) => Vec::new(),
    };
    set.pairs.push(Pair { condition, answer: answer.clone(), test, facts, holds: one, fails: other });
    Ok(Ok(need))
}

fn without_effect(flat: &Flat, mutant: &Mutant, (holds, fails): (Node, Node)) -> &'static str {
    let outcome = match mutant.site {
        Site::Unmet(place) | Site::Concerns(place) => flat.lines.get(place).map(|line| line.outcome),
        _ => None,
    };
    if matches!(mutant.site, Site::Presumption(_)) {
        "no verdict turns on the fact where it has the presumed value"
    } else if holds == Node::FALSE {
        "no vehicle that can exist meets it"
    } else if fails == Node::FALSE {
        "every vehicle that can exist meets it"
    } else if outcome == Some(0) {
        "its line leads to the first outcome of the ladder, which stands without it"
    } else {
        "wherever it is asked, other conditions settle the answer"
    }
}

/// Two vectors of the set that will do.
fn known(bench: &Bench, set: &Vectors, need: &Needed, answer: &str) -> Option<(usize, usize)> {
    let places = || 0..set.vectors.len();
    places()
        .flat_map(|one| places().map(move |other| (one, other)))
        .find(|(one, other)| need.fits(bench, set, answer, *one, *other))
}

fn new(bench: &mut Bench, set: &mut Vectors, need: &Needed, answer: &str) -> Result<Option<(usize, usize)>, Error> {
    for (node, first) in [(need.holds, true), (need.fails, false)] {
        if need.presumption.is_some() {
            break;
        }
        for at in 0..set.vectors.len() {
            let path = set.vectors.get(at).filter(|it| it.not_known.is_none() && bench.is_in(node, &it.path));
            let Some(path) = path.map(|it| it.path.clone()) else { continue };
            if let Some(other) = across(bench, answer, &path, if first { need.fails } else { need.holds })? {
                let other = put(bench, set, other, None);
                return Ok(Some(if first { (at, other) } else { (other, at) }));
            }
        }
    }
    let mut rest = need.holds;
    while let Some(one) = bench.plainest(rest) {
        if let Some(other) = across(bench, answer, &one, need.fails)? {
            return Ok(Some((put(bench, set, one, need.presumption), put(bench, set, other, None))));
        }
        let same = bench.same_answer(answer, &one)?;
        rest = bench.but_not(rest, same)?;
    }
    Ok(None)
}

/// The nearest vehicle of the other side that has another answer.
fn across(bench: &mut Bench, answer: &str, from: &[usize], other_side: Node) -> Result<Option<Vec<usize>>, Error> {
    let same = bench.same_answer(answer, from)?;
    let other = bench.but_not(other_side, same)?;
    Ok(bench.nearest(other, from))
}

/// Adds a vehicle on the first day of the epoch; its place.
fn put(bench: &Bench, set: &mut Vectors, path: Vec<usize>, not_known: Option<usize>) -> usize {
    let known = set.vectors.iter().position(|it| it.path == path && it.not_known == not_known);
    known.unwrap_or_else(|| {
        set.vectors.push(bench.vector(path, bench.flat.as_of, not_known));
        set.vectors.len() - 1
    })
}
