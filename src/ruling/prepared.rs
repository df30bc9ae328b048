//! A flat program made ready for many rulings: its diagrams over every vehicle are made once, when the first ruling asks
//! for them, not once a ruling. What a ruling says is the same as that of [`super::judge`].

use super::exact::{Calculated, unlisted};
use super::judge::{JudgeError, judge_given};
use super::record::Ruling;
use crate::diagram::{BUDGET, Compiled, anything};
use crate::evaluate::Walk;
use crate::model::Snapshot;
use crate::program::{Flat, Given, Program};
use std::sync::OnceLock;

/// A flat program made ready; shared by threads as it is.
#[derive(Debug)]
pub struct Prepared {
    flat: Flat,
    /// Over every vehicle; `None` where the diagrams are too large.
    plain: OnceLock<Option<Compiled>>,
    /// Over every vehicle that is in no table.
    not_listed: OnceLock<Option<Compiled>>,
}

impl Prepared {
    /// A flat program made ready.
    #[must_use]
    pub fn new(flat: Flat) -> Prepared {
        Prepared { flat, plain: OnceLock::new(), not_listed: OnceLock::new() }
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
        let given = Given::of(&self.flat, snapshot)?;
        Ok(judge_given(&self.flat, program, snapshot, &given, &Calculated::prepared(self, &given)))
    }

    /// The program over every vehicle, as it bears on one; `None` where that one needs diagrams of its own: it is
    /// presumed in no table, and stands in one all the same.
    pub(super) fn whole(&self, given: &Given) -> Option<Option<&Compiled>> {
        if given.not_listed.is_none() {
            let made = || Compiled::of(&[(&self.flat, &anything(&self.flat).ok()?)], BUDGET).ok();
            return Some(self.plain.get_or_init(made).as_ref());
        }
        let walk = Walk::new(&self.flat, given, &[]);
        let mut rows = self.flat.tables.iter().flat_map(|table| &table.rows);
        if rows.any(|row| walk.truth(&row.condition).is_true()) {
            return None;
        }
        let made = || unlisted(&self.flat, &anything(&self.flat).ok()?, |_| true);
        Some(self.not_listed.get_or_init(made).as_ref())
    }
}
