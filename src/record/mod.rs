//! A record: a ruling with what it was made of. Judges a document under a program, writes the record as JSON with its digests,
//! and judges a stored one again. Front ends and reports take records from here.

mod change_form;
pub mod digest;
mod form;
mod parts_form;
pub mod plan_form;
mod ready;
pub mod replay;
mod request;
pub mod schema;

pub use form::{FORMAT, json_line, json_value};
pub(crate) use parts_form::recorded as recorded_form;
pub use ready::Ready;
pub use request::{Request, flat, names_to_take, takes};

use crate::certificate::Certificate;
use crate::document::Document;
use crate::program::{Class, Flat, Program, Under};
use crate::ruling::{Prospect, Ruling, prospect};
use crate::wording::headline::Provisos;
use crate::wording::plan::Told;
use crate::wording::recorded::{self, Recorded};
use std::collections::BTreeMap;

/// A ruling with what it was made of: everything a report needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Record {
    /// The ruling.
    pub ruling: Ruling,
    /// The snapshot document, what is passed through included.
    pub document: Document,
    /// Digest of each file that the program was made of, by name: the program, what it adopts, tables.
    pub files: BTreeMap<String, String>,
    /// Digest of the law as selected: the flat program as [`crate::program::dump()`] writes it. Unlike the digests of the
    /// files it stays the same under amendments that do not concern the dates asked for.
    pub law: String,
    /// Readings and options that the request took.
    pub takes: Vec<Under>,
    /// The proof, where one was asked for and there is one.
    pub certificate: Option<Certificate>,
    /// What the vehicle has before it: headline and plan; `None` where the diagrams are too large.
    pub prospect: Option<Prospect>,
    /// The result that a station recorded, where one was told.
    pub recorded: Option<Class>,
}

impl Record {
    /// Headline and plan with the ruling, to be told.
    #[must_use]
    pub fn told(&self, provisos: Provisos) -> Option<Told<'_>> {
        self.prospect.as_ref().map(|prospect| Told { ruling: &self.ruling, prospect, provisos })
    }

    /// What leads to a goal, taken out of the record where it was told with that, else looked for.
    ///
    /// # Errors
    /// With a sentence: the diagrams are too large.
    pub fn take_prospect(&mut self, flat: &Flat, program: &Program, goal: Class) -> Result<Prospect, String> {
        match self.prospect.take() {
            Some(found) if found.goal == goal => Ok(found),
            _ => prospect(flat, program, &self.document.snapshot, &self.ruling, goal)
                .map_err(|error| error.to_string())?
                .ok_or_else(|| "the program's diagrams are too large to look for a plan".to_owned()),
        }
    }

    /// What the result that a station recorded comes to, where one was told.
    #[must_use]
    pub fn recorded(&self) -> Option<Recorded> {
        self.recorded.map(|class| recorded::recorded(&self.ruling, class))
    }
}
