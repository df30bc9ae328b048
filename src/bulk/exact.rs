//! One flat program made ready for many records: plans for the shapes of batches, and its diagrams over every vehicle
//! that can exist, in which a record's exact answer is a walk along the classes that agree with it.

use super::batch::Batch;
use super::judged::RowError;
use super::planes::{Plan, Shape};
use crate::diagram::allowed::allow;
use crate::diagram::exact::deciding;
use crate::diagram::kernel::{Nodes, terminal_of};
use crate::diagram::walk::Walker;
use crate::diagram::{BUDGET, Compiled, Error, Exact, Join, Node, Prepared, TooLarge, anything};
use crate::program::{Flat, Given, Verdict};
use std::collections::BTreeSet;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// A flat program made ready. Flat programs of several days that say the same are one; its dates are then those of one
/// of these days.
#[derive(Debug)]
pub struct Rules {
    flat: Flat,
    /// Whether lines that decide are not asked for.
    verdicts_alone: bool,
    /// What is given of a vehicle of which nothing is known.
    bare: Option<Given>,
    plans: Mutex<Vec<Arc<Plan>>>,
    whole: Prepared<Result<Whole, Error>>,
}

/// The diagrams that answer.
#[derive(Debug)]
struct Whole {
    compiled: Compiled,
    /// What is asked, in as few diagrams as the bits of a terminal allow: one walk answers for all that is in one.
    joint: Vec<Joint>,
    /// Room for walks, one for each thread that answers.
    rooms: Mutex<Vec<Room>>,
}

/// Room for a walk, used again.
#[derive(Debug, Default)]
struct Room {
    walker: Walker,
    allowed: Vec<Vec<bool>>,
}

/// A diagram whose terminals are sets of bits: [`EXISTS`], and one for each thing that holds of the vehicle.
#[derive(Debug)]
struct Joint {
    node: Node,
    asked: Vec<Asked>,
}

/// What a bit stands for.
#[derive(Debug, Clone, Copy)]
enum Asked {
    /// This verdict follows.
    Verdict(Verdict),
    /// The line at this place decides.
    Line(usize),
}

/// Some vehicle is here.
const EXISTS: u32 = 1;

/// The most nodes that the diagrams of one record alone may have, where those over all vehicles outgrow their budget: a
/// sixteenth of that, some hundredths of a second, since every record that says something new is tried.
const MOST_ALONE: usize = 25_000;

/// Things that a diagram is asked for, at most: with [`EXISTS`] they fit a terminal.
const MOST_ASKED: usize = 24;

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

impl Joint {
    fn of(flat: &Flat, compiled: &mut Compiled, nodes: &Nodes, asked: &[Asked]) -> Result<Joint, TooLarge> {
        let exist = compiled.exist;
        let mut node = exist;
        for (bit, asked) in (1u32..).zip(asked) {
            let here = match asked {
                Asked::Verdict(verdict) => {
                    let wanted = terminal_of(*verdict);
                    compiled.compiler.forest.where_value(nodes.ruled, |terminal| terminal == wanted)?
                }
                Asked::Line(place) => deciding(compiled, flat, nodes, *place)?,
            };
            let forest = &mut compiled.compiler.forest;
            let here = forest.and(exist, here)?;
            let here = forest.relabel(here, |holds| holds << bit)?;
            node = forest.join(Join::Bits, node, here)?;
        }
        Ok(Joint { node, asked: asked.to_vec() })
    }
}

impl Whole {
    fn of(flat: &Flat, nothing: &Given, verdicts_alone: bool) -> Result<Whole, Error> {
        let mut compiled = Compiled::of(&[(flat, nothing)], BUDGET)?;
        let nodes = compiled.first().cloned().ok_or(Error::Contradiction)?;
        let verdicts = std::iter::once(Verdict::NotSubject).chain((0..flat.outcomes.len()).map(Verdict::Outcome));
        let lines = if verdicts_alone { 0 } else { flat.lines.len() };
        let asked: Vec<Asked> = verdicts.map(Asked::Verdict).chain((0..lines).map(Asked::Line)).collect();
        let joint = asked.chunks(MOST_ASKED).map(|asked| Joint::of(flat, &mut compiled, &nodes, asked));
        let joint = joint.collect::<Result<_, _>>()?;
        Ok(Whole { compiled, joint, rooms: Mutex::default() })
    }

    fn answer(&self, flat: &Flat, given: &Given) -> Result<Answer, RowError> {
        let mut room = self.rooms().pop().unwrap_or_default();
        allow(&self.compiled.compiler.space, flat, given, &mut room.allowed);
        let answer = self.walk(&mut room);
        self.rooms().push(room);
        answer
    }

    fn rooms(&self) -> MutexGuard<'_, Vec<Room>> {
        self.rooms.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn walk(&self, Room { walker, allowed }: &mut Room) -> Result<Answer, RowError> {
        let forest = &self.compiled.compiler.forest;
        let mut possible = BTreeSet::new();
        let (mut deciding, mut alternatives) = (Vec::new(), Vec::new());
        for joint in &self.joint {
            let (mut some, mut every) = (0, u32::MAX);
            walker.terminals(forest, joint.node, allowed, |bits| {
                if bits & EXISTS != 0 {
                    some |= bits;
                    every &= bits;
                }
                true
            });
            if some == 0 {
                return Err(RowError::NoVehicle);
            }
            for (bit, asked) in (1u32..).zip(&joint.asked) {
                match (asked, some >> bit & 1 == 1, every >> bit & 1 == 1) {
                    (_, false, _) => {}
                    (Asked::Verdict(verdict), true, _) => {
                        possible.insert(*verdict);
                    }
                    (Asked::Line(place), true, true) => deciding.push(*place),
                    (Asked::Line(place), true, false) => alternatives.push(*place),
                }
            }
        }
        Ok(Answer { possible, deciding, alternatives: alternatives.into() })
    }
}

impl Rules {
    /// A flat program made ready; plans and diagrams are made when the first record asks for them. With `verdicts_alone`,
    /// which lines decide is not worked out.
    #[must_use]
    pub fn of(flat: Flat, verdicts_alone: bool) -> Rules {
        let bare = anything(&flat).ok();
        Rules { flat, verdicts_alone, bare, plans: Mutex::default(), whole: Prepared::default() }
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
        let make = |nothing: &Given| Whole::of(&self.flat, nothing, self.verdicts_alone);
        let answer = |whole: &Result<Whole, Error>| match whole {
            Ok(whole) => whole.answer(&self.flat, given),
            Err(Error::TooLarge(_)) => self.alone(given),
            Err(Error::Contradiction) => Err(RowError::NoVehicle),
        };
        self.whole.with(&self.flat, given, make, answer).unwrap_or(Err(RowError::NoVehicle))
    }

    /// The answer by the diagrams of this vehicle alone, where those over all vehicles outgrow their budget: slower, and
    /// what is known makes them small.
    fn alone(&self, given: &Given) -> Result<Answer, RowError> {
        match Exact::within(&self.flat, given, MOST_ALONE) {
            Ok((exact, _)) if self.verdicts_alone => Ok(Answer { possible: exact.possible, ..Answer::default() }),
            Ok((exact, _)) => Ok(Answer {
                deciding: exact.deciding(),
                alternatives: exact.alternatives().into(),
                possible: exact.possible,
            }),
            Err(Error::TooLarge(_)) => Err(RowError::TooLarge),
            Err(Error::Contradiction) => Err(RowError::NoVehicle),
        }
    }

    /// The plan for batches like this one, and what is given of a vehicle of which nothing is known.
    pub(super) fn plan(&self, batch: &Batch<'_>) -> Option<(Arc<Plan>, &Given)> {
        let bare = self.bare.as_ref()?;
        let mut plans = self.plans.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(plan) = plans.iter().find(|plan| plan.fits(batch)) {
            return Some((Arc::clone(plan), bare));
        }
        let plan = Arc::new(Plan::of(&self.flat, bare, Shape::of(batch), self.verdicts_alone));
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
