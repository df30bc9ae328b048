//! Selection: a date, a known-on date, readings and options pick one flat program out of a [`Program`].

use super::{Flat, Program, Under};
use crate::model::Date;

/// What to select by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Selection {
    /// The date whose law applies.
    pub as_of: Date,
    /// The date of the visit.
    pub test_date: Date,
    /// Only what had been published by this date.
    pub known_on: Option<Date>,
    /// Readings and options to take instead of the file's own.
    pub takes: Vec<Under>,
    /// Whether drafts count as in force (for comparing only).
    pub drafts: bool,
}

/// Why a selection cannot be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SelectionError {
    /// No question or option of that name.
    #[error("program `{program}` has no question or option `{name}`")]
    NoSuchName {
        /// Program.
        program: String,
        /// Name asked for.
        name: String,
        /// Names there are.
        known: Vec<String>,
    },
    /// No such reading or value.
    #[error("`{name}` of program `{program}` cannot be `{value}`")]
    NoSuchValue {
        /// Program.
        program: String,
        /// Question or option.
        name: String,
        /// Value asked for.
        value: String,
        /// Values there are.
        known: Vec<String>,
    },
}

/// Selects a flat program.
///
/// # Errors
/// Where `takes` names a question, option, reading or value that the program does not have.
pub fn select(_program: &Program, _selection: &Selection) -> Result<Flat, SelectionError> {
    Err(SelectionError::NoSuchName { program: String::new(), name: String::new(), known: Vec::new() })
}
