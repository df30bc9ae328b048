//! What is made once of a flat program over every vehicle that can exist, and then serves many vehicles: the answer for
//! one is a walk along the classes that agree with it. What a program presumes of its tables makes it another program for
//! some vehicles, so there is one for each way in which tables are presumed.

use super::kernel::anything;
use super::{BUDGET, Compiled, Error};
use crate::model::{CodeRange, MonitorSet};
use crate::program::{Flat, Given};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// The most ways of being listed that are kept; for another one everything is made anew each time.
const MOST: usize = 64;

/// What a table that a vehicle is presumed not to be in holds for it all the same, by rows that surely are its own.
type Held = (usize, bool, MonitorSet, BTreeSet<CodeRange>);

/// What was made, for vehicles that are presumed in no table and for the others.
#[derive(Debug)]
pub struct Prepared<T> {
    plain: OnceLock<T>,
    unlisted: Mutex<BTreeMap<Vec<Held>, Arc<OnceLock<T>>>>,
}

impl<T> Default for Prepared<T> {
    fn default() -> Prepared<T> {
        Prepared { plain: OnceLock::new(), unlisted: Mutex::default() }
    }
}

impl<T> Prepared<T> {
    /// Hands over what serves a vehicle of a flat program, the same program at each call; `make` makes it of what is given
    /// of a vehicle of which nothing is known but how it is listed.
    ///
    /// # Errors
    /// Where no vehicle can exist.
    pub fn with<R>(
        &self,
        flat: &Flat,
        given: &Given,
        make: impl FnOnce(&Given) -> T,
        then: impl FnOnce(&T) -> R,
    ) -> Result<R, Error> {
        let of_listed;
        let made = if given.unlisted.is_empty() {
            &self.plain
        } else {
            let mut kept = self.unlisted.lock().unwrap_or_else(PoisonError::into_inner);
            let held = held(flat, given);
            let is_full = kept.len() >= MOST && !kept.contains_key(&held);
            of_listed = if is_full { Arc::default() } else { Arc::clone(kept.entry(held).or_default()) };
            &*of_listed
        };
        if made.get().is_none() {
            let nothing = Given { unlisted: given.unlisted.clone(), ..anything(flat)? };
            made.get_or_init(|| make(&nothing));
        }
        made.get().map(then).ok_or(Error::Contradiction)
    }

    /// Whether what serves a vehicle was made already.
    #[must_use]
    pub fn is_made(&self, flat: &Flat, given: &Given) -> bool {
        if given.unlisted.is_empty() {
            return self.plain.get().is_some();
        }
        let kept = self.unlisted.lock().unwrap_or_else(PoisonError::into_inner);
        kept.get(&held(flat, given)).is_some_and(|made| made.get().is_some())
    }
}

impl Prepared<Option<Compiled>> {
    /// Hands over the diagrams that serve a vehicle; `None` where they are too large.
    pub fn with_diagrams<R>(&self, flat: &Flat, given: &Given, then: impl FnOnce(&Compiled) -> R) -> Option<R> {
        let make = |nothing: &Given| Compiled::of(&[(flat, nothing)], BUDGET).ok();
        self.with(flat, given, make, |whole| whole.as_ref().map(then)).ok().flatten()
    }
}

fn held(flat: &Flat, given: &Given) -> Vec<Held> {
    let of_table = |one: &crate::program::given::Unlisted| {
        let rows = flat.tables.get(one.table).into_iter().flat_map(|table| table.rows.iter().enumerate());
        let (mut excused, mut codes) = (MonitorSet::EMPTY, BTreeSet::new());
        for (_, row) in rows.filter(|(place, _)| one.rows.contains(place)) {
            excused = excused.or(row.excused);
            codes.extend(row.codes.iter().copied());
        }
        (one.table, !one.rows.is_empty(), excused, codes)
    };
    given.unlisted.iter().map(of_table).collect()
}
