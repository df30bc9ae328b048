//! Monitors that are left out of the count and are, or may be, incomplete, and whether the outcome rests on that.

use super::basis::{Basis, Law, laws};
use crate::evaluate::{self, Bound, Truth, Walk};
use crate::model::{Fact, MonitorSet, MonitorState};
use crate::program::flat::{Excuse, FlatExcused};
use crate::program::{Citation, Flat, Given};

/// Monitors left out of the count that are, or may be, incomplete.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExcusedShown {
    /// Their names.
    pub monitors: Vec<String>,
    /// Whether the outcome would be another one if they counted.
    pub carries: bool,
    /// Citations.
    pub law: Vec<Law>,
    /// The weakest of them.
    pub basis: Basis,
}

/// Monitors that an excuse may take out of the count.
fn named(walk: &Walk<'_>, excuse: &Excuse) -> MonitorSet {
    match excuse.which {
        FlatExcused::Monitors(set) => set,
        FlatExcused::EarlierIncomplete => walk.earlier(Fact::EarlierIncomplete).1,
        FlatExcused::Table(table) => {
            let rows = walk.flat().tables.get(table).into_iter().flat_map(|table| table.rows.iter().enumerate());
            let bearing = rows.filter(|(place, _)| !walk.row_holds(table, *place).is_false());
            bearing.fold(MonitorSet::EMPTY, |all, (_, row)| all.or(row.excused))
        }
    }
}

/// Excuses that take a monitor out of the count which is, or may be, in one of the states of a mask, with these monitors.
pub(super) fn bearing<'w>(walk: &Walk<'w>, states: u64) -> Vec<(&'w Excuse, MonitorSet)> {
    let flat = walk.flat();
    let counted = flat.counts.iter().filter(|rule| !walk.truth(&rule.condition).is_false());
    let counted = counted.fold(MonitorSet::EMPTY, |all, rule| all.or(rule.monitors));
    let counted = walk.states().perhaps(states).and(counted);
    let excuses = flat.excuses.iter().filter(|excuse| walk.truth(&excuse.condition) != Truth::False);
    excuses
        .map(|excuse| (excuse, named(walk, excuse).and(counted)))
        .filter(|(_, monitors)| !monitors.is_empty())
        .collect()
}

/// The monitors left out of the count that matter; `None` where there are none.
pub(super) fn shown(walk: &Walk<'_>, given: &Given, possible: Bound) -> Option<ExcusedShown> {
    let flat = walk.flat();
    let excuses = bearing(walk, MonitorState::Incomplete.bit());
    if excuses.is_empty() {
        return None;
    }
    let monitors = excuses.iter().fold(MonitorSet::EMPTY, |all, (_, monitors)| all.or(*monitors));
    let citations: Vec<Citation> = excuses.iter().flat_map(|(excuse, _)| excuse.basis.iter().cloned()).collect();
    let law = laws(&flat.sources, &citations);
    let without = Flat { excuses: Vec::new(), ..flat.clone() };
    Some(ExcusedShown {
        monitors: monitors.iter().map(|monitor| monitor.name().to_owned()).collect(),
        carries: evaluate::verdict(&without, given) != possible,
        basis: Basis::of(&law),
        law,
    })
}
