//! One flat program made ready for many records: its diagrams over every vehicle that can exist, in which a record's
//! exact answer is a walk along the classes that agree with it.

use crate::diagram::allowed::allowed;
use crate::diagram::exact::deciding;
use crate::diagram::kernel::{NOBODY, verdict_of};
use crate::diagram::{BUDGET, Compiled, Error, Node, anything};
use crate::program::{Flat, Given, Verdict};
use std::collections::BTreeSet;
use std::sync::OnceLock;

use super::judged::RowError;

/// A flat program made ready. Flat programs of several days that say the same are one; its dates are those of the
/// first day that was asked for.
#[derive(Debug)]
pub struct Rules {
    flat: Flat,
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
}

/// What follows for one record.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Answer {
    /// The verdicts that may follow: the exact set.
    pub possible: BTreeSet<Verdict>,
    /// Lines that decide in every case that is still possible.
    pub deciding: Vec<usize>,
    /// Lines that decide in some cases and not in others.
    pub alternatives: Vec<usize>,
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
        Ok(Whole { compiled, ruled: nodes.ruled, decides })
    }

    fn answer(&self, flat: &Flat, given: &Given) -> Result<Answer, RowError> {
        let allowed = allowed(&self.compiled.compiler.space, flat, given);
        let within = |level: usize, class: usize| allowed.get(level).and_then(|row| row.get(class)) == Some(&true);
        let forest = &self.compiled.compiler.forest;
        let mut answer = Answer {
            possible: forest.reach_within(self.ruled, within).into_iter().filter_map(verdict_of).collect(),
            ..Answer::default()
        };
        if answer.possible.is_empty() {
            return Err(RowError::NoVehicle);
        }
        for (line, node) in self.decides.iter().enumerate() {
            let reached = forest.reach_within(*node, within);
            match (reached.contains(&1), reached.contains(&0)) {
                (true, false) => answer.deciding.push(line),
                (true, true) => answer.alternatives.push(line),
                (false, _) => {}
            }
        }
        Ok(answer)
    }
}

impl Rules {
    /// A flat program made ready; its diagrams are made when the first record asks for them.
    #[must_use]
    pub fn of(flat: Flat) -> Rules {
        Rules { flat, whole: [OnceLock::new(), OnceLock::new()] }
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
}
