//! What takes longer than a keystroke: lints, worked cases, the exact analyses. A job holds all it needs, so that it can
//! run beside the editor's requests; its study is handed back when it is done.

use crate::analysis::warnings;
use crate::catalog::Entry;
use crate::desk;
use crate::diagnostic::Diagnostic;
use crate::report::overview::shown_flat;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A document to be studied, as it stood.
#[derive(Debug, Clone)]
pub struct Job {
    pub(super) name: String,
    pub(super) version: i32,
    pub(super) entry: Arc<Entry>,
}

/// What was found of a document as it stood.
#[derive(Debug, Clone)]
pub struct Study {
    pub(super) name: String,
    pub(super) version: i32,
    /// Every message, those of the check among them.
    pub(super) messages: Vec<Diagnostic>,
    /// Titles of the worked cases that each clause decides, with whether they hold.
    pub(super) decided: BTreeMap<String, Vec<(String, bool)>>,
    /// Millionths of the covered vehicles that can be told apart, by the clause that decides them.
    pub(super) decides: BTreeMap<String, u32>,
}

impl Job {
    /// Whether the other job is about the same document.
    #[must_use]
    pub fn replaces(&self, other: &Job) -> bool {
        self.name == other.name
    }

    /// Does it; takes from milliseconds to seconds.
    #[must_use]
    pub fn run(&self) -> Study {
        let told = desk::told(&self.entry, None);
        let program = self.entry.program.as_deref().filter(|program| !self.entry.is_advice && !program.adopted_only);
        // A program too large for it has no shares; the study says so by a message of its own.
        let decides = program.and_then(shown_flat).and_then(|flat| warnings::decides(&flat).ok()).unwrap_or_default();
        Study {
            name: self.name.clone(),
            version: self.version,
            messages: told.messages,
            decided: told.decided,
            decides,
        }
    }
}
