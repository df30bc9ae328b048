//! Selection: a date, a known-on date, readings and options pick one flat program out of a [`Program`]. The order in
//! which blocks were written plays no part. Selection does not check: what `check` let through is taken as it is.
//!
//! The passes, in order: `choices` settles questions and options; `standing` keeps the blocks that are in force,
//! known and not superseded; `order` sorts findings so that each refers only to earlier ones; `resolve` turns
//! names into places and resolves what the test date settles; `blocks` and `lines` build the lists.

mod blocks;
mod choices;
mod cited;
mod epochs;
mod lines;
mod order;
mod resolve;
mod standing;

pub(super) use resolve::settled;

pub use epochs::{Epoch, HORIZON_YEAR, days_of_change, epochs};
pub use standing::{Variant, live, variant_of};

use super::{Flat, InForce, Program, Under};
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
    /// Readings and options to take instead of the file's own; a question with the value `none` is open.
    pub takes: Vec<Under>,
    /// Whether drafts count as in force (for comparing only); a draft then stands before what it would change.
    pub drafts: bool,
    /// Drafts of this announced change count as in force, and no others.
    pub change: Option<String>,
}

impl Selection {
    /// The file's own readings and options on a date that is also the date of the visit, everything known.
    #[must_use]
    pub fn on(date: Date) -> Selection {
        Selection { as_of: date, test_date: date, known_on: None, takes: Vec::new(), drafts: false, change: None }
    }
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

/// Selects a flat program. Where no version is in force, the result says so and holds nothing that decides.
///
/// # Errors
/// Where `takes` names a question, option, reading or value that the program does not have.
pub fn select(program: &Program, selection: &Selection) -> Result<Flat, SelectionError> {
    let choices = choices::Choices::of(program, selection)?;
    let standing = standing::standing(program, selection, &choices);
    let in_force = blocks::in_force(&standing);
    let mut flat = blocks::empty(program, selection, &choices);
    let Some((basis, guard)) = in_force else {
        (flat.in_force, flat.in_force_basis) = standing::absence(program, selection, &choices);
        cited::on(&mut flat, selection.as_of);
        return Ok(flat);
    };
    flat.in_force = InForce::Yes;
    flat.in_force_basis = basis;
    let resolver = resolve::Resolver::of(program, selection, &choices, &standing);
    flat.tables = blocks::tables(program, &resolver);
    blocks::fill(&mut flat, &resolver, &standing, &guard);
    lines::fill(&mut flat, &resolver, &standing);
    flat.ages = resolver.ages;
    cited::on(&mut flat, selection.as_of);
    Ok(flat)
}
