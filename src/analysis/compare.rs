//! Two programs, or two versions of one: proof that they rule alike on every vehicle that can exist, or the vehicles on
//! which they differ, pair of verdicts by pair of verdicts, described in few words, with counts and examples.

use crate::diagram::count::Count;
use crate::diagram::cubes::{Cover, Describer};
use crate::diagram::example::{Example, example};
use crate::diagram::forest::{Join, Node};
use crate::diagram::kernel::{Compiled, NOBODY, anything, verdict_of};
use crate::diagram::{BUDGET, Error};
use crate::program::block::Allowance;
use crate::program::flat::{FlatLimitRow, Limit};
use crate::program::{Citation, Class, Flat, Verdict};

/// The terminal for vehicles of a file that holds no law for the date; no ladder is as long.
const NO_LAW: u32 = NOBODY - 1;

/// The result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Comparison {
    /// Whether verdicts were compared by outcome; else by class, because the ladders differ.
    pub by_outcome: bool,
    /// How many vehicles there are: combinations of the facts that either program asks.
    pub vehicles: Count,
    /// The differences, most vehicles first; none: proven equal.
    pub changes: Vec<Change>,
}

/// Vehicles with one verdict in the first program and another in the second.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Verdict (or class) in the first program.
    pub from: String,
    /// Verdict (or class) in the second.
    pub to: String,
    /// How many vehicles.
    pub count: Count,
    /// How many millionths of all.
    pub share: u32,
    /// One of them.
    pub example: Example,
    /// Which they are.
    pub cover: Cover,
}

impl Comparison {
    /// Whether the programs rule alike on every vehicle that can exist.
    #[must_use]
    pub fn is_equal(&self) -> bool {
        self.changes.is_empty()
    }
}

/// The second program with its limit rows that were not read at the places of the first's, where they are the same: of one
/// program and limit, for the same vehicles, resting on the same text. Places in two versions of a file tell nothing: a comment
/// moves them, and two rows that differ may come to stand at one. What such a row allows is one unknown number for both; a row
/// without its like has a number of its own.
fn aligned(one: &Flat, other: &Flat) -> Flat {
    let mut aligned = other.clone();
    let mut left: Vec<(&Limit, &FlatLimitRow)> = not_read(one).collect();
    let mut own = u32::MAX;
    for limit in &mut aligned.limits {
        for row in limit.rows.iter_mut().filter(|row| row.limit == Allowance::NotRead) {
            let same = |(its, known): &(&Limit, &FlatLimitRow)| {
                its.id == limit.id
                    && known.origin.program == row.origin.program
                    && known.condition == row.condition
                    && cited(one, &known.basis) == cited(other, &row.basis)
            };
            row.origin.span.start = match left.iter().position(same) {
                Some(place) => left.remove(place).1.origin.span.start,
                None => {
                    own = own.saturating_sub(1);
                    own
                }
            };
        }
    }
    aligned
}

/// The rows of a program that were not read, with their limits.
fn not_read(flat: &Flat) -> impl Iterator<Item = (&Limit, &FlatLimitRow)> {
    let rows = flat.limits.iter().flat_map(|limit| std::iter::repeat(limit).zip(&limit.rows));
    rows.filter(|(_, row)| row.limit == Allowance::NotRead)
}

/// Citations by what they cite.
fn cited<'a>(flat: &'a Flat, basis: &'a [Citation]) -> Vec<(&'a str, &'a str)> {
    let title = |citation: &Citation| flat.sources.get(citation.source).map_or("", |source| source.title.as_str());
    basis.iter().map(|citation| (title(citation), citation.locator.as_str())).collect()
}

/// Compares two flat programs.
///
/// # Errors
/// Where a diagram outgrows its budget.
pub fn compare(one: &Flat, other: &Flat) -> Result<Comparison, Error> {
    let other = &aligned(one, other);
    let (given, with) = (anything(one)?, anything(other)?);
    let programs = [(one, &given), (other, &with)];
    let mut compiled = Compiled::of(&programs, BUDGET)?;
    let ladder = |flat: &Flat| -> Vec<(String, Class)> {
        flat.outcomes.iter().map(|outcome| (outcome.name.clone(), outcome.class)).collect()
    };
    let by_outcome = ladder(one) == ladder(other);
    let mut roots = Vec::new();
    for ((flat, _), nodes) in programs.iter().zip(compiled.programs.clone()) {
        roots.push(if by_outcome && !flat.in_force.is_no_law() {
            nodes.ruled
        } else if by_outcome {
            // That a file holds no law for the date is not that the vehicle is not subject.
            compiled.compiler.forest.relabel(nodes.ruled, |value| if value == 0 { NO_LAW } else { value })?
        } else {
            compiled.compiler.forest.relabel(nodes.ruled, |value| class_code(flat, value))?
        });
    }
    let all = compiled.compiler.forest.count(compiled.exist, &compiled.weights, |value| value == 1);
    let mut comparison = Comparison { by_outcome, vehicles: all.clone(), changes: Vec::new() };
    let (Some(first), Some(second)) = (roots.first().copied(), roots.get(1).copied()) else {
        return Ok(comparison);
    };
    if first == second {
        return Ok(comparison);
    }
    let pairs = compiled.compiler.forest.join(Join::Pair, first, second)?;
    let differing: Vec<u32> =
        compiled.compiler.forest.reach(pairs).into_iter().filter(|value| value / 1024 != value % 1024).collect();
    for value in differing {
        let vehicles: Node = compiled.compiler.forest.where_value(pairs, |terminal| terminal == value)?;
        let count = compiled.compiler.forest.count(vehicles, &compiled.weights, |terminal| terminal == 1);
        let path = compiled.compiler.forest.example(vehicles, &compiled.weights, |terminal| terminal == 1);
        let example = example(&compiled.compiler.space, &[one, other], &path.unwrap_or_default());
        // Each description has the whole budget to itself; where even that is too little, only the count is told.
        let mut own = compiled.clone();
        let cover = match Describer::new(&mut own, &programs) {
            Ok(mut describer) => describer.cover(vehicles),
            Err(_) => Cover { cubes: Vec::new(), rest: count.clone() },
        };
        comparison.changes.push(Change {
            from: name(one, value / 1024, by_outcome),
            to: name(other, value % 1024, by_outcome),
            share: count.millionths_of(&all),
            count,
            example,
            cover,
        });
    }
    comparison.changes.sort_by(|a, b| b.count.cmp(&a.count).then_with(|| (&a.from, &a.to).cmp(&(&b.from, &b.to))));
    Ok(comparison)
}

fn class_code(flat: &Flat, value: u32) -> u32 {
    if value == NOBODY {
        return NOBODY;
    }
    let class = verdict_of(value).map_or(Class::NotSubject, |verdict| verdict.class(flat));
    Class::ALL.iter().position(|known| *known == class).and_then(|at| u32::try_from(at).ok()).unwrap_or(0)
}

fn name(flat: &Flat, value: u32, by_outcome: bool) -> String {
    if by_outcome {
        let value = if value == NO_LAW { 0 } else { value };
        return verdict_of(value).map_or("", |verdict: Verdict| verdict.name(flat)).to_owned();
    }
    let place = usize::try_from(value).unwrap_or(usize::MAX);
    Class::ALL.get(place).map_or("", |class| class.word()).to_string()
}
