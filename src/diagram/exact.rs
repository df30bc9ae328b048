//! Exact answers about one vehicle of which some facts are not known: which verdicts are possible, which lines decide,
//! which unknown facts still matter. Every answer ranges over all vehicles that can exist and agree with what is known.

use super::forest::{Node, TooLarge};
use super::kernel::{Compiled, NOBODY, Nodes, terminal_of, verdict_of};
use super::level::Var;
use super::{BUDGET, Error};
use crate::model::Fact;
use crate::program::{FactRef, Flat, Given, Verdict};
use std::collections::BTreeSet;

/// Whether something holds of every vehicle that is still possible, of some, or of none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sureness {
    /// Of none.
    Never,
    /// Of some.
    Perhaps,
    /// Of every one.
    Surely,
}

/// How a line stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LineState {
    /// Whether it concerns the vehicle.
    pub concerned: Sureness,
    /// Whether it is unmet.
    pub unmet: Sureness,
    /// Whether it is unmet and not set aside.
    pub standing: Sureness,
    /// Whether it decides: it stands and its outcome is the ladder's verdict.
    pub decides: Sureness,
}

/// The exact answers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exact {
    /// Possible verdicts.
    pub possible: BTreeSet<Verdict>,
    /// Whether the program's clauses deal with the vehicle: covered and not left out.
    pub covered: Sureness,
    /// For each left-out row: whether it takes the vehicle out.
    pub left_out: Vec<Sureness>,
    /// For each line, how it stands.
    pub lines: Vec<LineState>,
    /// Unknown facts that the program asks and that still matter: learning some value would leave fewer verdicts
    /// possible. A fact that no test asks is not among them, though it may tell of one that is.
    pub unknown: Vec<FactRef<usize>>,
    /// Open questions on which the possible verdicts depend: places in the program's list.
    pub questions: Vec<usize>,
    /// Limit rows that were not read and on which they depend: limit and row.
    pub unread_limits: Vec<(usize, usize)>,
    /// Groups whose unread codes matter: places in the program's list.
    pub unread_groups: Vec<usize>,
}

impl Exact {
    /// The exact answers for a vehicle, and the diagrams that gave them.
    ///
    /// # Errors
    /// [`Error::TooLarge`] where a diagram outgrows its budget; [`Error::Contradiction`] where no vehicle that can exist
    /// agrees with what is given.
    pub fn of(flat: &Flat, given: &Given) -> Result<(Exact, Compiled), Error> {
        Exact::within(flat, given, BUDGET)
    }

    /// The same within a budget of nodes.
    ///
    /// # Errors
    /// As [`Exact::of`].
    pub fn within(flat: &Flat, given: &Given, budget: usize) -> Result<(Exact, Compiled), Error> {
        let mut compiled = Compiled::of(&[(flat, given)], budget)?;
        let Some(nodes) = compiled.first().cloned() else {
            return Err(Error::Contradiction);
        };
        let possible = verdicts_of(&compiled, &nodes);
        let covered = sureness(&mut compiled, nodes.covered)?;
        let left_out =
            nodes.left_out.iter().map(|node| sureness(&mut compiled, *node)).collect::<Result<_, TooLarge>>()?;
        let mut lines = Vec::new();
        for place in 0..flat.lines.len() {
            lines.push(line_state(&mut compiled, flat, &nodes, place)?);
        }
        let matters = if possible.len() > 1 { matters(&mut compiled, given, &nodes, &possible)? } else { Vec::new() };
        let mut exact = Exact {
            possible,
            covered,
            left_out,
            lines,
            unknown: Vec::new(),
            questions: Vec::new(),
            unread_limits: Vec::new(),
            unread_groups: Vec::new(),
        };
        exact.sort_out(flat, &compiled, matters);
        Ok((exact, compiled))
    }

    /// Lines that decide in every completion.
    #[must_use]
    pub fn deciding(&self) -> Vec<usize> {
        self.lines_that(Sureness::Surely)
    }

    /// Lines that decide in some completions and not in others.
    #[must_use]
    pub fn alternatives(&self) -> Vec<usize> {
        self.lines_that(Sureness::Perhaps)
    }

    fn lines_that(&self, sureness: Sureness) -> Vec<usize> {
        let lines = self.lines.iter().enumerate();
        lines.filter(|(_, line)| line.decides == sureness).map(|(place, _)| place).collect()
    }

    fn sort_out(&mut self, flat: &Flat, compiled: &Compiled, matters: Vec<Owner>) {
        for owner in matters {
            match owner {
                Owner::Fact(fact) => self.unknown.push(FactRef::Known(fact)),
                Owner::Level(level) => match compiled.compiler.space.levels.get(level).map(|level| &level.var) {
                    Some(var @ Var::Declared { .. }) => {
                        let place =
                            (0..flat.facts.len()).find(|place| Var::declared(flat, *place).as_ref() == Some(var));
                        self.unknown.extend(place.map(FactRef::Declared));
                    }
                    Some(Var::Question { id, .. }) => {
                        self.questions.extend(flat.questions.iter().position(|question| question.id == *id));
                    }
                    Some(Var::UnreadCodes(id)) => {
                        self.unread_groups.extend(flat.groups.iter().position(|(known, _)| known == id));
                    }
                    Some(var @ Var::UnreadLimit { .. }) => {
                        for (limit, block) in flat.limits.iter().enumerate() {
                            let rows = block.rows.iter().enumerate();
                            let mine = rows.filter(|(at, row)| Var::unread_limit(&block.id, *at, row) == *var);
                            self.unread_limits.extend(mine.map(|(row, _)| (limit, row)));
                        }
                    }
                    _ => {}
                },
            }
        }
    }
}

/// The verdicts that the diagram of a program reaches.
pub(crate) fn verdicts_of(compiled: &Compiled, nodes: &Nodes) -> BTreeSet<Verdict> {
    compiled.compiler.forest.reach(nodes.ruled).into_iter().filter_map(verdict_of).collect()
}

/// The possible verdicts for what is given, and nothing else.
///
/// # Errors
/// As [`Exact::of`].
pub fn possible(flat: &Flat, given: &Given) -> Result<BTreeSet<Verdict>, Error> {
    let compiled = Compiled::of(&[(flat, given)], BUDGET)?;
    Ok(compiled.first().map(|nodes| verdicts_of(&compiled, nodes)).unwrap_or_default())
}

fn sureness(compiled: &mut Compiled, node: Node) -> Result<Sureness, TooLarge> {
    let exist = compiled.exist;
    let here = compiled.compiler.forest.and(node, exist)?;
    Ok(if here == Node::FALSE {
        Sureness::Never
    } else if here == exist {
        Sureness::Surely
    } else {
        Sureness::Perhaps
    })
}

/// Where a line decides: it stands, and its outcome is the verdict of the ladder.
///
/// # Errors
/// Where the budget is spent.
pub fn deciding(compiled: &mut Compiled, flat: &Flat, nodes: &Nodes, place: usize) -> Result<Node, TooLarge> {
    let (Some(line), Some(standing)) = (flat.lines.get(place), nodes.standing.get(place)) else {
        return Ok(Node::FALSE);
    };
    let wanted = terminal_of(Verdict::Outcome(line.outcome));
    let reached = compiled.compiler.forest.where_value(nodes.ladder, |value| value == wanted)?;
    compiled.compiler.forest.and(*standing, reached)
}

fn line_state(compiled: &mut Compiled, flat: &Flat, nodes: &Nodes, place: usize) -> Result<LineState, TooLarge> {
    let decides = deciding(compiled, flat, nodes, place)?;
    let of = |nodes: &[Node]| nodes.get(place).copied().unwrap_or(Node::FALSE);
    Ok(LineState {
        concerned: sureness(compiled, of(&nodes.concerned))?,
        unmet: sureness(compiled, of(&nodes.unmet))?,
        standing: sureness(compiled, of(&nodes.standing))?,
        decides: sureness(compiled, decides)?,
    })
}

/// What a level belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Owner {
    /// A fact of the table, by one level or several.
    Fact(Fact),
    /// A level of its own.
    Level(usize),
}

/// Facts (and questions, unread rows and groups) of which some value would leave fewer verdicts possible.
fn matters(
    compiled: &mut Compiled,
    given: &Given,
    nodes: &Nodes,
    verdicts: &BTreeSet<Verdict>,
) -> Result<Vec<Owner>, TooLarge> {
    let mut owners: Vec<(Owner, BTreeSet<usize>)> = Vec::new();
    for (place, level) in compiled.compiler.space.levels.iter().enumerate() {
        let facts = match (&level.var, level.var.fact()) {
            // One level for three facts, of which some may be known already.
            (Var::Listed, _) => super::listed::unknown(given).map(Owner::Fact).collect(),
            (_, Some(fact)) => vec![Owner::Fact(fact)],
            (_, None) => vec![Owner::Level(place)],
        };
        for owner in facts {
            match owners.iter_mut().find(|(known, _)| *known == owner) {
                Some((_, levels)) => {
                    levels.insert(place);
                }
                None => owners.push((owner, BTreeSet::from([place]))),
            }
        }
    }
    let support = compiled.compiler.forest.support(nodes.ruled);
    let mut found = Vec::new();
    for (owner, levels) in owners {
        if levels.is_disjoint(&support) {
            continue;
        }
        let listed = matches!(owner, Owner::Fact(Fact::Make | Fact::Model | Fact::Engine));
        let narrows = match (owner, levels.first()) {
            (Owner::Fact(fact), Some(level)) if listed => {
                let masks = super::listed::masks_by_text(&compiled.compiler.space, given, *level, fact);
                masks.iter().any(|mask| narrows_within(compiled, nodes, verdicts, *level, mask))
            }
            (_, Some(level)) if levels.len() == 1 => {
                let width = compiled.compiler.forest.children_width(*level);
                (0..width).any(|class| narrows_within(compiled, nodes, verdicts, *level, &BTreeSet::from([class])))
            }
            _ => narrows_jointly(compiled, nodes, verdicts, &levels)?,
        };
        if narrows {
            found.push(owner);
        }
    }
    Ok(found)
}

/// Whether fewer verdicts are possible once a level is known to be in one of the classes.
fn narrows_within(
    compiled: &Compiled,
    nodes: &Nodes,
    verdicts: &BTreeSet<Verdict>,
    level: usize,
    classes: &BTreeSet<usize>,
) -> bool {
    let allowed = |at: usize, class: usize| at != level || classes.contains(&class);
    let left: BTreeSet<Verdict> =
        compiled.compiler.forest.reach_within(nodes.ruled, allowed).into_iter().filter_map(verdict_of).collect();
    !left.is_empty() && left != *verdicts
}

/// The same for a fact of several levels: some assignment to them excludes some verdict.
fn narrows_jointly(
    compiled: &mut Compiled,
    nodes: &Nodes,
    verdicts: &BTreeSet<Verdict>,
    levels: &BTreeSet<usize>,
) -> Result<bool, TooLarge> {
    let forest = &mut compiled.compiler.forest;
    let feasible = forest.forget(compiled.exist, |level| !levels.contains(&level))?;
    for verdict in verdicts {
        let there = forest.where_value(nodes.ruled, |value| value == terminal_of(*verdict) && value != NOBODY)?;
        let reachable = forest.forget(there, |level| !levels.contains(&level))?;
        if forest.but_not(feasible, reachable)? != Node::FALSE {
            return Ok(true);
        }
    }
    Ok(false)
}
