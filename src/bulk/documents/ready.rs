//! A flat program ready for places: what a document says, as a row.

use super::keys::{EMPTY, Keys, NO_LIST, SOME};
use super::place_of;
use super::read::Places;
use crate::bulk::exact::{Answer, Rules};
use crate::bulk::judged::RowError;
use crate::bulk::rows::{Row, RowEngine, RowResult};
use crate::model::{Fact, FactType, MonitorSet, spec};
use crate::program::FactRef;
use std::sync::Arc;

/// A flat program and how places become rows.
#[derive(Debug)]
pub(super) struct Ready {
    rules: Arc<Rules>,
    /// `None` where the program is not taken.
    rows: Option<RowEngine>,
    /// Facts by what is at their place.
    taken: Vec<Option<Taken>>,
    /// The place of the list of monitors incomplete earlier, and of their number.
    earlier: Option<(usize, usize)>,
}

/// How the value at a place is taken over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Taken {
    /// As it is, to this place of the row.
    Same(usize),
    Text(Fact),
    Codes(Fact),
    Monitors(Fact),
}

impl Ready {
    pub(super) fn of(rules: &Arc<Rules>, keys: &Keys) -> Ready {
        let rows = RowEngine::of(rules).ok();
        let take = |fact: &FactRef<String>| match fact {
            FactRef::Known(fact) => match spec(*fact).kind {
                FactType::Text => Some(Taken::Text(*fact)),
                FactType::Codes => Some(Taken::Codes(*fact)),
                FactType::Monitors => Some(Taken::Monitors(*fact)),
                _ => Some(Taken::Same(fact.place())),
            },
            FactRef::Declared(name) => rows.as_ref()?.place_of_own(name).map(Taken::Same),
        };
        let taken = keys.facts.iter().map(take).collect();
        let earlier = place_of(keys, &FactRef::Known(Fact::EarlierIncomplete))
            .zip(place_of(keys, &FactRef::Known(Fact::EarlierIncompleteCount)));
        Ready { rules: Arc::clone(rules), rows, taken, earlier }
    }

    pub(super) fn rules(&self) -> &Rules {
        &self.rules
    }

    /// A row to be filled again and again.
    pub(super) fn row(&self) -> Option<Row> {
        self.rows.as_ref().map(RowEngine::row)
    }

    /// The verdict and every reason, or the exact verdicts where something that the program asks is not known; `None`: the
    /// other reader must look.
    pub(super) fn judge(&self, places: &Places, row: &mut Row) -> Option<Judged> {
        let rows = self.rows.as_ref()?;
        let value = |place: usize| places.values.get(place).copied();
        // A list with nothing in it, and a number of them above nought: a fault that the other reader tells.
        if let Some((list, count)) = self.earlier
            && value(list) == Some(EMPTY)
            && value(count).is_some_and(|count| count > 0)
        {
            return None;
        }
        row.clear();
        row.set_monitors(places.monitors);
        for place in &places.told {
            let told = value(*place)?;
            match self.taken.get(*place).copied().flatten() {
                Some(Taken::Same(at)) => row.put(at, told),
                Some(Taken::Codes(fact)) => match told {
                    EMPTY => row.set_codes(fact, [], false).ok()?,
                    SOME => row.set_codes(fact, places.codes(*place), false).ok()?,
                    NO_LIST => row.set_absent(fact).ok()?,
                    _ => {}
                },
                Some(Taken::Monitors(fact)) if told == EMPTY => row.set_earlier(fact, MonitorSet::EMPTY).ok()?,
                Some(Taken::Text(_) | Taken::Monitors(_)) | None => {}
            }
        }
        for (place, text) in places.texts() {
            if let Some(Taken::Text(fact)) = self.taken.get(place).copied().flatten() {
                row.set_text(fact, text).ok()?;
            }
        }
        // Contradictions are told by the other reader, with what contradicts what.
        let found = rows.judge(row).ok()?;
        if let Some(deciding) = rows.deciding(found) {
            return Some(Judged::Settled(found, deciding));
        }
        match rows.exact(row) {
            Ok(answer) => Some(Judged::Exact(answer)),
            Err(error) => Some(Judged::Failed(error)),
        }
    }
}

/// How a row was judged.
#[derive(Debug)]
pub(super) enum Judged {
    Settled(RowResult, u128),
    Exact(Arc<Answer>),
    Failed(RowError),
}
