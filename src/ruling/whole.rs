//! What is made once of flat programs for many rulings: their diagrams over every vehicle. Days on which a program says the
//! same share them.

use super::questions::under;
use crate::diagram::allowed::verdicts;
use crate::diagram::{Compiled, Prepared, exact};
use crate::program::{Flat, Given, Program, Verdict};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError, Weak};

/// So many questions are answered by a diagram of the one vehicle before those over every vehicle are made, which take
/// some times as long; vehicles that are listed in one way or another count together.
const WORTH: usize = 6;

/// A flat program over every vehicle that can exist, made once it is worth it.
#[derive(Debug, Default)]
pub(super) struct Whole {
    diagrams: Prepared<Option<Compiled>>,
    asked: AtomicUsize,
}

impl Whole {
    /// The possible verdicts of a vehicle; `None` where the diagrams are too large, its own and those over every vehicle.
    pub(super) fn possible(&self, flat: &Flat, given: &Given) -> Option<BTreeSet<Verdict>> {
        let alone = || exact::possible(flat, given).ok();
        let by_all = || self.by_all(flat, given);
        // Both are tried in either order, so that what is told does not hang on what was asked before.
        if self.asked.fetch_add(1, Ordering::Relaxed) < WORTH && !self.diagrams.is_made(flat, given) {
            alone().or_else(by_all)
        } else {
            by_all().or_else(alone)
        }
    }

    /// The same by the diagrams over every vehicle alone.
    pub(super) fn by_all(&self, flat: &Flat, given: &Given) -> Option<BTreeSet<Verdict>> {
        let walked = |whole: &Compiled| whole.first().map(|nodes| verdicts(whole, nodes, flat, given));
        self.with(flat, given, walked).flatten()
    }

    /// Hands over the diagrams that serve a vehicle; `None` where they are too large.
    pub(super) fn with<R>(&self, flat: &Flat, given: &Given, then: impl FnOnce(&Compiled) -> R) -> Option<R> {
        self.diagrams.with_diagrams(flat, given, then)
    }
}

/// Diagrams of flat programs, for those that say the same but for their dates; for as long as one of them is held.
#[derive(Debug, Default)]
pub struct Shared {
    made: Mutex<Vec<(Flat, Weak<Whole>)>>,
}

impl Shared {
    fn of(&self, flat: &Flat) -> Arc<Whole> {
        let mut made = self.made.lock().unwrap_or_else(PoisonError::into_inner);
        made.retain(|(_, whole)| whole.strong_count() > 0);
        let same = made.iter().find(|(known, _)| known.says_the_same(flat));
        if let Some(whole) = same.and_then(|(_, whole)| whole.upgrade()) {
            return whole;
        }
        let whole = Arc::default();
        made.push((flat.clone(), Arc::downgrade(&whole)));
        whole
    }
}

/// A flat program under another reading, with its diagrams; `None` where there is none such.
type Other = Option<Arc<(Flat, Arc<Whole>)>>;

/// What is made of a flat program, and of what it is where a question that is taken is taken in another way.
#[derive(Debug, Default)]
pub(super) struct Made {
    pub(super) whole: Arc<Whole>,
    shared: Arc<Shared>,
    others: Mutex<BTreeMap<(usize, usize), Other>>,
}

impl Made {
    pub(super) fn of(flat: &Flat, shared: &Arc<Shared>) -> Made {
        Made { whole: shared.of(flat), shared: Arc::clone(shared), others: Mutex::default() }
    }

    /// The program where a question, by its place, is taken in another way.
    pub(super) fn other(&self, flat: &Flat, program: &Program, other: (usize, usize)) -> Other {
        let mut others = self.others.lock().unwrap_or_else(PoisonError::into_inner);
        let make = || {
            let read = under(flat, program, other)?;
            let whole = self.shared.of(&read);
            Some(Arc::new((read, whole)))
        };
        others.entry(other).or_insert_with(make).clone()
    }
}
