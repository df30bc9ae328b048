//! What came of a lot of records, and whether it adds up.

use super::difference::Standing;
use super::mapping::Recorded;
use super::said::Said;
use super::table::Aside;
use crate::bulk::RowError;
use std::sync::Arc;

/// What came of records: what all of them share.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Place of their program among those judged by.
    pub program: usize,
    /// What is said of them.
    pub said: Arc<Said>,
    /// How the recorded result stands to that.
    pub standing: Arc<Standing>,
    /// What was recorded.
    pub recorded: Option<Recorded>,
}

/// The place of an outcome that a record does not have: it is set aside.
pub const NO_OUTCOME: u32 = u32::MAX;

/// What came of a lot.
#[derive(Debug, Default)]
pub struct Done {
    /// The outcomes that occur in the lot.
    pub outcomes: Vec<Outcome>,
    /// For each record the place of its outcome, or [`NO_OUTCOME`]; empty where that is not wanted.
    pub places: Vec<u32>,
    /// For each record whether its outcome stands so far as texts were read; empty where that is not wanted.
    pub unread: Vec<bool>,
    /// The first records of each kind of difference: the record and its outcome.
    pub examples: Vec<(usize, Outcome)>,
    /// Why records are set aside, in the order of records.
    pub aside: Vec<Aside>,
    /// Records judged.
    pub judged: u64,
    /// Records set aside.
    pub set_aside: u64,
    /// Why nothing could be judged: a mistake of the reader.
    pub(super) fault: Option<String>,
}

impl Done {
    /// Whether every one of so many records is judged or set aside, and none is both.
    ///
    /// # Errors
    /// With what does not add up, which is a mistake of this program.
    pub fn adds_up(&self, records: usize) -> Result<(), String> {
        let found = self.judged + self.set_aside;
        if found == u64::try_from(records).unwrap_or(u64::MAX) && self.fault.is_none() {
            return Ok(());
        }
        let why = self.fault.as_ref().map_or_else(String::new, |fault| format!(": {fault}"));
        Err(format!(
            "{records} records were read, {} judged and {} set aside, which does not add up{why}; this is a mistake of \
             wherefore, and nothing was written",
            self.judged, self.set_aside
        ))
    }
}

/// Why the engine does not judge a record.
pub(super) fn error(row: usize, error: &RowError) -> Aside {
    let (column, reason) = match error {
        RowError::OutOfRange { fact } => (fact.clone(), "is outside its range".to_owned()),
        RowError::NoMeaning { fact } => (fact.clone(), "has no meaning".to_owned()),
        RowError::NoTestDate => ("visit.date".to_owned(), "the test date is not known: which law applies?".to_owned()),
        other => (String::new(), other.to_string()),
    };
    Aside { row, column, value: String::new(), reason }
}
