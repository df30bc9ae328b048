//! A flat program made ready for many rulings: its diagrams over every vehicle are made once, when they are worth it, and
//! may be shared by programs that say the same. What a ruling says is the same as that of [`super::judge`].

use super::exact::Calculated;
use super::judge::{JudgeError, judge_given};
use super::record::Ruling;
use super::whole::{Made, Shared};
use crate::model::Snapshot;
use crate::program::{Flat, Given, Program};
use std::sync::Arc;

/// A flat program made ready; shared by threads as it is.
#[derive(Debug)]
pub struct Prepared {
    flat: Flat,
    made: Made,
}

impl Prepared {
    /// A flat program made ready.
    #[must_use]
    pub fn new(flat: Flat) -> Prepared {
        Prepared::beside(flat, &Arc::default())
    }

    /// The same, sharing with others what is made of programs that say the same.
    #[must_use]
    pub fn beside(flat: Flat, shared: &Arc<Shared>) -> Prepared {
        let made = Made::of(&flat, shared);
        Prepared { flat, made }
    }

    /// The flat program.
    #[must_use]
    pub fn flat(&self) -> &Flat {
        &self.flat
    }

    /// Rules on a vehicle as [`super::judge`] does.
    ///
    /// # Errors
    /// Where readings contradict each other or a declared value does not fit the program.
    pub fn judge(&self, program: &Program, snapshot: &Snapshot) -> Result<Ruling, JudgeError> {
        self.ruled(program, snapshot, false)
    }

    /// Rules on a vehicle as [`super::judge_briefly`] does.
    ///
    /// # Errors
    /// Where readings contradict each other or a declared value does not fit the program.
    pub fn judge_briefly(&self, program: &Program, snapshot: &Snapshot) -> Result<Ruling, JudgeError> {
        self.ruled(program, snapshot, true)
    }

    fn ruled(&self, program: &Program, snapshot: &Snapshot, is_brief: bool) -> Result<Ruling, JudgeError> {
        let given = Given::of(&self.flat, snapshot)?;
        let answers = Calculated::prepared(&self.flat, &self.made, &given, is_brief);
        Ok(judge_given(&self.flat, program, snapshot, &given, &answers))
    }
}
