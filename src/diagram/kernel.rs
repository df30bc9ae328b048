//! Flat programs as diagrams: one with verdicts as terminals, one *unmet* and one *standing* diagram a line, and the
//! coverage. The meaning is the kernel written at [`crate::program::flat`]. Nothing here looks at one vehicle.

use super::Error;
use super::compile::{Compiler, Of};
use super::forest::{Join, Node, TooLarge};
use super::space::Space;
use super::walk::Weights;
use crate::model::Snapshot;
use crate::program::{Flat, Given, Verdict};

/// The terminal for combinations that no vehicle shows.
pub const NOBODY: u32 = 1023;

/// The terminal of a verdict: 0 not-subject, then the ladder.
#[must_use]
pub fn terminal_of(verdict: Verdict) -> u32 {
    match verdict {
        Verdict::NotSubject => 0,
        Verdict::Outcome(place) => u32::try_from(place).unwrap_or(NOBODY - 2).min(NOBODY - 2) + 1,
    }
}

/// The verdict of a terminal; `None` for [`NOBODY`].
#[must_use]
pub fn verdict_of(terminal: u32) -> Option<Verdict> {
    match terminal {
        0 => Some(Verdict::NotSubject),
        NOBODY => None,
        place => usize::try_from(place - 1).ok().map(Verdict::Outcome),
    }
}

/// The diagrams of one program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Nodes {
    /// Vehicles that clauses deal with: covered and not left out.
    pub covered: Node,
    /// For each row of left-out vehicles: covered vehicles that it takes out.
    pub left_out: Vec<Node>,
    /// For each line: vehicles it concerns (covered or not).
    pub concerned: Vec<Node>,
    /// For each line: vehicles on which it is unmet.
    pub unmet: Vec<Node>,
    /// For each line: unmet and not set aside.
    pub standing: Vec<Node>,
    /// Verdict before any relabelling, as terminals.
    pub ladder: Node,
    /// Verdict, as terminals; combinations that cannot exist included.
    pub verdict: Node,
    /// Verdict where the vehicle can exist, else [`NOBODY`].
    pub ruled: Node,
}

/// Programs compiled over one space.
#[derive(Debug, Clone)]
pub struct Compiled {
    /// Nodes, levels and the compiler for further conditions.
    pub compiler: Compiler,
    /// Vehicles that can exist (and agree with what is given).
    pub exist: Node,
    /// The programs, in the order given.
    pub programs: Vec<Nodes>,
    /// Sizes and costs of classes.
    pub weights: Weights,
}

/// What is given of a vehicle of which nothing is known; presumptions are not used.
///
/// # Errors
/// Never for a program that `check` passed.
pub fn anything(flat: &Flat) -> Result<Given, Error> {
    let mut bare = flat.clone();
    bare.presumptions.clear();
    Given::of(&bare, &Snapshot::default()).map_err(|_| Error::Contradiction)
}

impl Compiled {
    /// Compiles programs together, each with what it is given.
    ///
    /// # Errors
    /// [`Error::TooLarge`] where the budget is spent, [`Error::Contradiction`] where no vehicle agrees.
    pub fn of(programs: &[(&Flat, &Given)], budget: usize) -> Result<Compiled, Error> {
        let space = Space::of(programs)?;
        let weights = space.weights();
        let mut compiler = Compiler::new(space, budget);
        let exist = compiler.existing()?;
        if exist == Node::FALSE {
            return Err(Error::Contradiction);
        }
        let mut nodes = Vec::new();
        for (flat, given) in programs {
            nodes.push(compiler.program(flat, given, exist)?);
        }
        Ok(Compiled { compiler, exist, programs: nodes, weights })
    }

    /// One program over every vehicle that can exist.
    ///
    /// # Errors
    /// [`Error::TooLarge`] where the budget is spent.
    pub fn whole(flat: &Flat) -> Result<Compiled, Error> {
        Compiled::of(&[(flat, &anything(flat)?)], super::BUDGET)
    }

    /// The diagrams of the first program.
    #[must_use]
    pub fn first(&self) -> Option<&Nodes> {
        self.programs.first()
    }

    /// A further condition of one of the programs, over vehicles that can exist.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn condition(
        &mut self,
        flat: &Flat,
        given: &Given,
        condition: &crate::program::Condition<usize>,
    ) -> Result<Node, TooLarge> {
        let node = self.compiler.condition(&mut Of::new(flat, given), condition)?;
        self.compiler.forest.and(node, self.exist)
    }
}

impl Compiler {
    pub(crate) fn program(&mut self, flat: &Flat, given: &Given, exist: Node) -> Result<Nodes, TooLarge> {
        let mut of = Of::new(flat, given);
        let mut named = Node::FALSE;
        for covers in flat.covers.iter().filter(|_| flat.in_force.is_yes()) {
            let node = self.condition(&mut of, &covers.item)?;
            named = self.forest.or(named, node)?;
        }
        let mut covered = named;
        let mut left_out = Vec::new();
        // Where several rows hold, an outcome stands before not-subject (terminal 0) and the gravest first: the greatest.
        let mut sent = Node::terminal(0);
        for row in &flat.left_out {
            let node = self.condition(&mut of, &row.condition)?;
            let taken = self.forest.and(named, node)?;
            covered = self.forest.but_not(covered, taken)?;
            left_out.push(taken);
            let outcome = Node::terminal(terminal_of(row.outcome.map_or(Verdict::NotSubject, Verdict::Outcome)));
            let here = self.forest.ite(taken, outcome, Node::terminal(0))?;
            sent = self.forest.join(Join::Max, sent, here)?;
        }
        let (mut concerned, mut unmet) = (Vec::new(), Vec::new());
        for line in &flat.lines {
            let concerns = self.condition(&mut of, &line.concerns)?;
            let fails = self.condition(&mut of, &line.unmet_where)?;
            let both = self.forest.and(concerns, fails)?;
            concerned.push(concerns);
            unmet.push(self.forest.and(covered, both)?);
        }
        let mut standing = vec![None; flat.lines.len()];
        for place in 0..flat.lines.len() {
            self.standing(&mut of, &unmet, place, &mut standing, 0)?;
        }
        let standing: Vec<Node> = standing.into_iter().map(|node| node.unwrap_or(Node::FALSE)).collect();
        let mut ladder = self.forest.ite(covered, Node::terminal(1), sent)?;
        for (line, node) in flat.lines.iter().zip(&standing) {
            let outcome = Node::terminal(terminal_of(Verdict::Outcome(line.outcome)));
            let here = self.forest.ite(*node, outcome, Node::terminal(0))?;
            ladder = self.forest.join(Join::Max, ladder, here)?;
        }
        let verdict = self.becomes(&mut of, ladder)?;
        let ruled = self.forest.ite(exist, verdict, Node::terminal(NOBODY))?;
        Ok(Nodes { covered, left_out, concerned, unmet, standing, ladder, verdict, ruled })
    }

    fn standing(
        &mut self,
        of: &mut Of,
        unmet: &[Node],
        place: usize,
        done: &mut [Option<Node>],
        depth: usize,
    ) -> Result<Node, TooLarge> {
        if let Some(Some(node)) = done.get(place) {
            return Ok(*node);
        }
        let flat = of.flat;
        let (Some(line), Some(own)) = (flat.lines.get(place), unmet.get(place)) else {
            return Ok(Node::FALSE);
        };
        if depth > flat.lines.len() {
            return Ok(*own);
        }
        let mut node = *own;
        for (other, condition) in &line.gives_way {
            let applies = self.condition(of, condition)?;
            let stands = self.standing(of, unmet, *other, done, depth + 1)?;
            let aside = self.forest.and(applies, stands)?;
            node = self.forest.but_not(node, aside)?;
        }
        if let Some(slot) = done.get_mut(place) {
            *slot = Some(node);
        }
        Ok(node)
    }

    /// Relabelling after the ladder; where several hold, the gravest new outcome stands. A vehicle that clauses do not
    /// deal with but that was sent on with an outcome is relabelled too: the outcome is what is relabelled.
    fn becomes(&mut self, of: &mut Of, ladder: Node) -> Result<Node, TooLarge> {
        let flat = of.flat;
        let mut verdict = ladder;
        for from in 0..flat.outcomes.len() {
            let mut new = Node::terminal(0);
            for becomes in flat.becomes.iter().filter(|becomes| becomes.from == from) {
                let condition = self.condition(of, &becomes.condition)?;
                let to = Node::terminal(terminal_of(Verdict::Outcome(becomes.to)));
                let here = self.forest.ite(condition, to, Node::terminal(0))?;
                new = self.forest.join(Join::Max, new, here)?;
            }
            if new == Node::terminal(0) {
                continue;
            }
            let relabelled = self.forest.where_value(new, |value| value != 0)?;
            let this = self.forest.equal(ladder, terminal_of(Verdict::Outcome(from)))?;
            let moves = self.forest.and(this, relabelled)?;
            verdict = self.forest.ite(moves, new, verdict)?;
        }
        Ok(verdict)
    }
}
