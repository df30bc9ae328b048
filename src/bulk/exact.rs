//! One flat program made ready for many records: plans for the shapes of batches, and its diagrams over every vehicle
//! that can exist, in which a record's exact answer is a walk along the classes that agree with it.

use super::batch::Batch;
use super::judged::RowError;
use super::planes::{Plan, Shape};
use crate::diagram::allowed::allowed;
use crate::diagram::exact::deciding;
use crate::diagram::kernel::{NOBODY, verdict_of};
use crate::diagram::walk::Walker;
use crate::diagram::{BUDGET, Compiled, Error, Node, anything};
use crate::program::{Flat, Given, Verdict};
use std::collections::BTreeSet;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

/// A flat program made ready. Flat programs of several days that say the same are one; its dates are then those of one
/// of these days.
#[derive(Debug)]
pub struct Rules {
    flat: Flat,
    /// What is given of a vehicle of which nothing is known.
    bare: Option<Given>,
    plans: Mutex<Vec<Arc<Plan>>>,
    /// Without and with the presumption that the vehicle is in no table.
    whole: [OnceLock<Result<Whole, Error>>; 2],
}

/// The diagrams that answer.
#[derive(Debug)]
struct Whole {
    compiled: Compiled,
    ruled: Node,
    /// For each line: 1 where it decides, 0 where not, [`NOBODY`] where no vehicle is.
    decides: Vec<Node>,
    /// Room for walks, one for each thread that answers.
    walkers: Mutex<Vec<Walker>>,
}

/// What follows for one record.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Answer {
    /// The verdicts that may follow: the exact set.
    pub possible: BTreeSet<Verdict>,
    /// Lines that decide in every case that is still possible: places in the flat program.
    pub deciding: Vec<usize>,
    /// Lines that decide in some cases and not in others: places in the flat program.
    pub alternatives: Arc<[usize]>,
}

impl Whole {
    fn of(flat: &Flat, not_listed: Option<usize>) -> Result<Whole, Error> {
        let mut nothing = anything(flat)?;
        nothing.not_listed = not_listed;
        let mut compiled = Compiled::of(&[(flat, &nothing)], BUDGET)?;
        let nodes = compiled.first().cloned().ok_or(Error::Contradiction)?;
        let mut decides = Vec::with_capacity(flat.lines.len());
        for place in 0..flat.lines.len() {
            let here = deciding(&mut compiled, flat, &nodes, place)?;
            let exist = compiled.exist;
            decides.push(compiled.compiler.forest.ite(exist, here, Node::terminal(NOBODY))?);
        }
        Ok(Whole { compiled, ruled: nodes.ruled, decides, walkers: Mutex::default() })
    }

    fn answer(&self, flat: &Flat, given: &Given) -> Result<Answer, RowError> {
        let allowed = allowed(&self.compiled.compiler.space, flat, given);
        let mut walker = self.room().pop().unwrap_or_default();
        let answer = self.walk(flat, &allowed, &mut walker);
        self.room().push(walker);
        answer
    }

    fn room(&self) -> MutexGuard<'_, Vec<Walker>> {
        self.walkers.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn walk(&self, flat: &Flat, allowed: &[Vec<bool>], walker: &mut Walker) -> Result<Answer, RowError> {
        let forest = &self.compiled.compiler.forest;
        let mut answer = Answer::default();
        walker.terminals(forest, self.ruled, allowed, |terminal| {
            answer.possible.extend(verdict_of(terminal));
            true
        });
        if answer.possible.is_empty() {
            return Err(RowError::NoVehicle);
        }
        let is_reached = |outcome: usize| {
            let from = flat.becomes.iter().filter(|rule| rule.from == outcome).map(|rule| rule.to);
            std::iter::once(outcome).chain(from).any(|place| answer.possible.contains(&Verdict::Outcome(place)))
        };
        let (mut deciding, mut alternatives) = (Vec::new(), Vec::new());
        for (place, (line, node)) in flat.lines.iter().zip(&self.decides).enumerate() {
            // A line decides nothing where its outcome, or what it becomes, is not reached.
            if !is_reached(line.outcome) {
                continue;
            }
            let (mut yes, mut no) = (false, false);
            walker.terminals(forest, *node, allowed, |terminal| {
                yes |= terminal == 1;
                no |= terminal == 0;
                !(yes && no)
            });
            match (yes, no) {
                (true, false) => deciding.push(place),
                (true, true) => alternatives.push(place),
                (false, _) => {}
            }
        }
        answer.deciding = deciding;
        answer.alternatives = alternatives.into();
        Ok(answer)
    }
}

impl Rules {
    /// A flat program made ready; plans and diagrams are made when the first record asks for them.
    #[must_use]
    pub fn of(flat: Flat) -> Rules {
        let bare = anything(&flat).ok();
        Rules { flat, bare, plans: Mutex::default(), whole: [OnceLock::new(), OnceLock::new()] }
    }

    /// The flat program.
    #[must_use]
    pub fn flat(&self) -> &Flat {
        &self.flat
    }

    /// The exact answer for one record.
    ///
    /// # Errors
    /// Where no vehicle agrees with what is given, or the diagrams outgrow their budget.
    pub fn answer(&self, given: &Given) -> Result<Answer, RowError> {
        let [plain, not_listed] = &self.whole;
        let whole = if given.not_listed.is_some() { not_listed } else { plain };
        match whole.get_or_init(|| Whole::of(&self.flat, given.not_listed)) {
            Ok(whole) => whole.answer(&self.flat, given),
            Err(Error::TooLarge(_)) => Err(RowError::TooLarge),
            Err(Error::Contradiction) => Err(RowError::NoVehicle),
        }
    }

    /// What is given of a vehicle of which nothing is known.
    pub(super) fn bare(&self) -> Option<&Given> {
        self.bare.as_ref()
    }

    /// The plan for batches like this one, and what is given of a vehicle of which nothing is known.
    pub(super) fn plan(&self, batch: &Batch<'_>) -> Option<(Arc<Plan>, &Given)> {
        let bare = self.bare.as_ref()?;
        let mut plans = self.plans.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(plan) = plans.iter().find(|plan| plan.fits(batch)) {
            return Some((Arc::clone(plan), bare));
        }
        let plan = Arc::new(Plan::of(&self.flat, bare, Shape::of(batch)));
        if plans.len() >= MOST_PLANS {
            plans.remove(0);
        }
        plans.push(Arc::clone(&plan));
        Some((plan, bare))
    }

    /// How many word operations and how many planes read a block of records takes, for the columns of a batch; `None`
    /// where records are answered one by one. For people who measure.
    #[must_use]
    pub fn size(&self, batch: &Batch<'_>) -> Option<(usize, usize)> {
        let (plan, _) = self.plan(batch)?;
        plan.size()
    }
}

/// Plans kept: a file has one shape, or a few while its lists of codes are short.
const MOST_PLANS: usize = 16;
