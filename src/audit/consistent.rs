//! Two facts of a record that cannot both be so, which documents refuse too: more monitors counted as incomplete at the
//! earlier test than the list of those that were.

use super::store::Values;
use super::table::{Aside, Lot};
use crate::model::facts::Possible;
use crate::model::table::key_of;
use crate::model::{Fact, MonitorSet};

/// Sets such records aside.
pub(super) fn inconsistent(lot: &mut Lot, bad: &mut [bool]) {
    let pair = (lot.store.values(Fact::EarlierIncompleteCount), lot.store.values(Fact::EarlierIncomplete));
    let (Some(counts), Some(lists)) = pair else { return };
    let mut found = Vec::new();
    for (row, bad) in bad.iter_mut().enumerate().filter(|(_, bad)| !**bad) {
        let (Some(count), Some(list)) = (number(counts, row), list(lists, row)) else { continue };
        if count > i64::from(list.count()) {
            *bad = true;
            let reason = format!(
                "is more than the {} monitors of {}, which names every one that was incomplete",
                list.count(),
                key_of(Fact::EarlierIncomplete)
            );
            let column = key_of(Fact::EarlierIncompleteCount);
            found.push(Aside { row, column, value: count.to_string(), reason });
        }
    }
    lot.aside.extend(found);
}

/// The number of a record; `None` where it is not known, or not on the vehicle.
fn number(values: &Values, row: usize) -> Option<i64> {
    let (value, scale, known) = match values {
        Values::Short(all, scale, known) => (i64::from(*all.all().get(row)?), scale, known),
        Values::Whole(all, scale, known) => (i64::from(*all.all().get(row)?), scale, known),
        Values::Long(all, scale, known) => (*all.all().get(row)?, scale, known),
        coded => {
            return match coded.meaning(row)? {
                Possible::Number(span) if span.least == span.most && !span.may_be_absent => Some(span.least),
                _ => None,
            };
        }
    };
    if known.as_ref().is_some_and(|known| !known.is(row)) { None } else { value.checked_mul(*scale) }
}

/// The list of a record, where it is known.
fn list(values: &Values, row: usize) -> Option<MonitorSet> {
    match values.meaning(row)? {
        Possible::Monitors { surely, perhaps } if surely == perhaps => Some(*surely),
        _ => None,
    }
}
