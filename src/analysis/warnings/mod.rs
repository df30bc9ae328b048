//! Exact analysis of a whole program: gaps, clauses that never bite, pairs ranked by the ladder alone, outcomes that grow
//! graver as a vehicle does better, and the like. Warnings are data with an example vehicle and an exact count; `check`
//! draws them. Nothing here reads text, and nothing is estimated.

mod clauses;
mod decides;
mod holes;
mod limits;
mod monotonicity;
mod over_time;
mod passes;
mod questions;
mod reach;
#[cfg(test)]
mod tests;
mod unreachable;

pub use decides::{decides, decides_by_source};
pub use over_time::analyse;

use crate::diagram::count::Count;
use crate::diagram::example::{Example, example};
use crate::diagram::forest::{Forest, Node, TooLarge};
use crate::diagram::kernel::{Compiled, Nodes, anything};
use crate::diagram::level::Sample;
use crate::diagram::space::Space;
use crate::diagram::walk::Weights;
use crate::diagram::{BUDGET, Error};
use crate::model::Date;
use crate::program::{Flat, Given};

/// One thing that an analysis found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// Stable slug, `analysis/gap`; `acknowledges` names warnings by it.
    pub code: &'static str,
    /// What it is about: a clause, a topic, a limit, a fact, a question.
    pub subject: String,
    /// First and last day of the dates on which it holds.
    pub from: Date,
    /// Last day.
    pub through: Date,
    /// What is wrong, in words: lower case, no full stop.
    pub message: String,
    /// What to do about it.
    pub help: &'static str,
    /// A vehicle that shows it, or comes nearest to it.
    pub example: Option<Example>,
    /// Of what vehicles the count is, in words that a number of vehicles follows: `holds for`.
    pub counted: String,
    /// How many these are (combinations of the facts that the program asks), in decimal.
    pub count: String,
    /// How many millionths of all vehicles that are.
    pub share: u32,
    /// What else is told: why no vehicle is reached, how the example is ruled on other days.
    pub notes: Vec<String>,
    /// Where it was written: line or row it points at, if any.
    pub origin: Option<crate::program::Origin>,
}

/// A compiled program and what the analyses share.
#[derive(Debug)]
pub struct Study<'a> {
    pub(super) flat: &'a Flat,
    pub(super) given: Given,
    pub(super) compiled: Compiled,
    pub(super) nodes: Nodes,
    /// Vehicles that clauses deal with and that can exist.
    pub(super) dealt: Node,
    pub(super) all: Count,
    pub(super) warnings: Vec<Warning>,
}

/// What to say of a warning.
pub(super) struct Say {
    pub(super) code: &'static str,
    pub(super) subject: String,
    pub(super) message: String,
    pub(super) help: &'static str,
    pub(super) origin: Option<crate::program::Origin>,
}

/// Vehicles that come nearest to what is found of no vehicle, and why they do not do. None: there are no such vehicles.
pub(super) struct Near {
    pub(super) vehicles: Node,
    pub(super) counted: String,
    pub(super) notes: Vec<String>,
}

/// The space in which vehicles are seen, and the program in whose words one of them is shown.
pub(super) struct Seen<'s> {
    pub(super) forest: &'s Forest,
    pub(super) space: &'s Space,
    pub(super) weights: &'s Weights,
    /// How many vehicles there are in all.
    pub(super) all: &'s Count,
    pub(super) flat: &'s Flat,
}

/// The vehicles of one class of a level that a warning is about, where it is not about all of them.
pub(super) struct Part {
    pub(super) level: usize,
    pub(super) class: usize,
    pub(super) size: u64,
    pub(super) sample: Sample,
}

const HOLDS: &str = "holds for";

/// One analysis: it adds what it finds to the study.
pub type Analysis = fn(&mut Study<'_>) -> Result<(), TooLarge>;

/// The analyses of one flat program, with what each looks for, in the order in which they are made.
pub const ANALYSES: [(&str, Analysis); 9] = [
    ("gaps by topic", |study| study.gaps()),
    ("clauses that never bite or decide", |study| study.lines_that_never()),
    ("pairs ranked by the ladder alone", |study| study.ranked_by_the_ladder()),
    ("rows left out twice", |study| study.left_out_twice()),
    ("exemptions and excuses for nobody", |study| study.rows_for_nobody()),
    ("limits", |study| study.limits()),
    ("doing better", |study| study.doing_better()),
    ("passes that lean on nothing", |study| study.passes()),
    ("questions that change nothing", |study| study.open_questions()),
];

impl<'a> Study<'a> {
    /// The diagrams of a flat program that is in force.
    ///
    /// # Errors
    /// Where a diagram outgrows its budget.
    pub fn of(flat: &'a Flat) -> Result<Study<'a>, Error> {
        let given = anything(flat)?;
        let mut compiled = Compiled::of(&[(flat, &given)], BUDGET)?;
        let nodes = compiled.first().cloned().ok_or(Error::Contradiction)?;
        let dealt = compiled.compiler.forest.and(nodes.covered, compiled.exist)?;
        let all = compiled.compiler.forest.count(compiled.exist, &compiled.weights, |value| value == 1);
        Ok(Study { flat, given, compiled, nodes, dealt, all, warnings: Vec::new() })
    }

    /// How many nodes the diagrams have so far.
    #[must_use]
    pub fn nodes(&self) -> usize {
        self.compiled.compiler.forest.nodes()
    }

    /// How many nodes the diagram of the verdict has.
    #[must_use]
    pub fn verdict_size(&self) -> usize {
        self.compiled.compiler.forest.size(self.nodes.ruled)
    }

    pub(super) fn both(&mut self, left: Node, right: Node) -> Result<Node, TooLarge> {
        self.compiled.compiler.forest.and(left, right)
    }

    pub(super) fn but_not(&mut self, left: Node, right: Node) -> Result<Node, TooLarge> {
        self.compiled.compiler.forest.but_not(left, right)
    }

    pub(super) fn any(&mut self, nodes: impl IntoIterator<Item = Node>) -> Result<Node, TooLarge> {
        nodes.into_iter().try_fold(Node::FALSE, |any, node| self.compiled.compiler.forest.or(any, node))
    }

    /// A condition over vehicles that can exist.
    pub(super) fn condition(&mut self, condition: &crate::program::Condition<usize>) -> Result<Node, TooLarge> {
        self.compiled.condition(self.flat, &self.given, condition)
    }

    /// Vehicles whose verdict has one of some classes.
    pub(super) fn verdict_is(&mut self, wanted: impl Fn(crate::program::Class) -> bool) -> Result<Node, TooLarge> {
        let classes: Vec<_> = self.flat.outcomes.iter().map(|outcome| outcome.class).collect();
        self.compiled.compiler.forest.where_value(self.nodes.ruled, |value| {
            match crate::diagram::kernel::verdict_of(value) {
                Some(crate::program::Verdict::Outcome(place)) => classes.get(place).is_some_and(|class| wanted(*class)),
                _ => false,
            }
        })
    }

    /// How many vehicles a diagram holds.
    pub(super) fn count(&self, vehicles: Node) -> Count {
        self.compiled.compiler.forest.count(vehicles, &self.compiled.weights, |value| value == 1)
    }

    /// Records a warning that holds for the vehicles of a diagram; none, where there are no such vehicles.
    pub(super) fn found(&mut self, vehicles: Node, say: Say) {
        if vehicles != Node::FALSE {
            self.found_near(Near { vehicles, counted: HOLDS.to_owned(), notes: Vec::new() }, say);
        }
    }

    /// Records a warning about what no vehicle does, with those that come nearest to it.
    pub(super) fn found_near(&mut self, near: Near, say: Say) {
        let (space, weights) = (&self.compiled.compiler.space, &self.compiled.weights);
        let warning = self.warning(say, near, space, weights);
        self.warnings.push(warning);
    }

    /// Records a warning that holds for the vehicles of a diagram, of one class only for a part.
    pub(super) fn found_in_part(&mut self, vehicles: Node, part: Part, say: Say) {
        let mut weights = self.compiled.weights.clone();
        if let Some(size) = weights.sizes.get_mut(part.level).and_then(|sizes| sizes.get_mut(part.class)) {
            *size = part.size;
        }
        let mut space = self.compiled.compiler.space.clone();
        if let Some(class) = space.levels.get_mut(part.level).and_then(|level| level.classes.get_mut(part.class)) {
            class.sample = part.sample;
        }
        let near = Near { vehicles, counted: HOLDS.to_owned(), notes: Vec::new() };
        let warning = self.warning(say, near, &space, &weights);
        self.warnings.push(warning);
    }

    fn warning(&self, say: Say, near: Near, space: &Space, weights: &Weights) -> Warning {
        let seen = Seen { forest: &self.compiled.compiler.forest, space, weights, all: &self.all, flat: self.flat };
        Warning::of(say, (self.flat.as_of, self.flat.as_of), near, Some(seen))
    }
}

impl Warning {
    /// About vehicles of a space; `None`: nothing was seen of which there could be any.
    fn of(say: Say, (from, through): (Date, Date), near: Near, seen: Option<Seen<'_>>) -> Warning {
        let shown = seen.map(|Seen { forest, space, weights, all, flat }| {
            let count = forest.count(near.vehicles, weights, |value| value == 1);
            let path = forest.example(near.vehicles, weights, |value| value == 1);
            (path.map(|path| example(space, &[flat], &path)), count.millionths_of(all), count)
        });
        let (example, share, count) = shown.unwrap_or_else(|| (None, 0, Count::zero()));
        Warning {
            code: say.code,
            subject: say.subject,
            from,
            through,
            message: say.message,
            help: say.help,
            example,
            counted: near.counted,
            count: count.to_string(),
            share,
            notes: near.notes,
            origin: say.origin,
        }
    }
}

/// Everything that can be said of one flat program by itself.
///
/// # Errors
/// Where a diagram outgrows its budget.
pub fn analyse_flat(flat: &Flat) -> Result<Vec<Warning>, Error> {
    if !flat.in_force.is_yes() {
        return Ok(Vec::new());
    }
    let mut study = Study::of(flat)?;
    for (_, analysis) in ANALYSES {
        analysis(&mut study)?;
    }
    let mut warnings = study.warnings;
    warnings.extend(reach::due(flat)?);
    Ok(warnings)
}
