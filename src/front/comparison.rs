//! Two programs compared: proven equal, or which vehicles they treat otherwise.

use super::{Error, Program};
use crate::model::Date;
use crate::report::compare::{self as report, Compared, FORMAT, Side};
use std::fmt;
use std::sync::Arc;

/// A comparison of two programs. Prints as the text of the command `compare`.
///
/// ```
/// use wherefore::{Date, Programs};
/// let program = Programs::built_in().get("us-model")?;
/// let day = Some(Date::constant(2026, 11, 28));
/// assert!(program.compare(&program, day)?.is_equal());
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Comparison {
    compared: Compared,
}

impl Program {
    /// Compares with another program on every run of days, or on one.
    ///
    /// # Errors
    /// [`Error::Ruling`] where a diagram outgrows its budget.
    pub fn compare(&self, other: &Program, on: Option<Date>) -> Result<Comparison, Error> {
        let side = |program: &Program| Side {
            program: Arc::clone(program.program()),
            law_of: None,
            drafts: false,
            with: None,
        };
        let runs = report::runs(&side(self), &side(other), on).map_err(|reason| Error::Ruling { reason })?;
        let equal = runs.iter().all(|run| run.changes.is_empty());
        let (first, second) = (self.id().to_owned(), other.id().to_owned());
        Ok(Comparison { compared: Compared { format: FORMAT.to_owned(), first, second, equal, runs } })
    }
}

impl Comparison {
    /// Whether the two are proven to rule alike on every day looked at.
    #[must_use]
    pub fn is_equal(&self) -> bool {
        self.compared.equal
    }

    /// As JSON (`wherefore-compare/1`), without a line end.
    #[must_use]
    pub fn to_json(&self) -> String {
        report::json(&self.compared).trim_end().to_owned()
    }
}

impl fmt::Display for Comparison {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&report::text(&self.compared))
    }
}
