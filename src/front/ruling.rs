//! A ruling, owned and ready to be shown.

use crate::program::Class;
use crate::record;
use crate::record::Record;
use crate::report::brief::Purpose;
use crate::report::text::{Detail, of_record};
use crate::ruling::{Ground, Law};
use std::fmt;

/// A ruling: advice with its reasons. The official inspection decides. Prints as the short text of the command line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ruling {
    pub(super) record: Record,
}

/// A verdict by name and class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Verdict<'a> {
    name: &'a str,
    class: Class,
}

impl<'a> Verdict<'a> {
    pub(super) fn of(name: &'a str, class: Class) -> Verdict<'a> {
        Verdict { name, class }
    }

    /// Its name in the program, `not-subject` or `undecided`.
    #[must_use]
    pub fn name(self) -> &'a str {
        self.name
    }

    /// Its class, which hosts switch on.
    #[must_use]
    pub fn class(self) -> Class {
        self.class
    }
}

/// One thing that stands against the vehicle, or that takes it out of the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reason<'a> {
    ground: &'a Ground,
}

impl<'a> Reason<'a> {
    /// Id of the clause.
    #[must_use]
    pub fn clause(self) -> &'a str {
        &self.ground.clause
    }

    /// What a person is told.
    #[must_use]
    pub fn message(self) -> &'a str {
        &self.ground.message
    }

    /// Name of the outcome it leads to.
    #[must_use]
    pub fn outcome(self) -> &'a str {
        &self.ground.outcome
    }

    /// The law and the other sources that it rests on, as citations.
    pub fn citations(self) -> impl Iterator<Item = String> + 'a {
        self.ground.law.iter().map(Law::text)
    }
}

impl Ruling {
    /// Id of the program.
    #[must_use]
    pub fn program(&self) -> &str {
        &self.record.ruling.program
    }

    /// The one possible verdict; `undecided` where several are.
    #[must_use]
    pub fn verdict(&self) -> Verdict<'_> {
        Verdict { name: &self.record.ruling.verdict, class: self.record.ruling.class }
    }

    /// Every verdict that some existing vehicle with these facts gets.
    pub fn possible(&self) -> impl Iterator<Item = Verdict<'_>> {
        self.record.ruling.possible.iter().map(|verdict| Verdict { name: &verdict.name, class: verdict.class })
    }

    /// What stands against the vehicle, the gravest first.
    pub fn reasons(&self) -> impl Iterator<Item = Reason<'_>> {
        self.record.ruling.grounds.iter().map(|ground| Reason { ground })
    }

    /// The ruling as one line of JSON (`wherefore-ruling/1`), without its line end.
    #[must_use]
    pub fn to_json(&self) -> String {
        record::json_line(&self.record).trim_end().to_owned()
    }

    /// The ruling as a self-contained page to print (feature `html`).
    ///
    /// # Errors
    /// [`super::Error::Ruling`] where the template cannot be drawn, which tests rule out.
    #[cfg(feature = "html")]
    pub fn to_html(&self) -> Result<String, super::Error> {
        crate::report::page::in_brief(std::slice::from_ref(&self.record), Purpose::Judge)
            .map_err(|error| super::Error::Ruling { reason: error.to_string() })
    }

    /// The text with every clause and why it is met, unmet or gives way.
    #[must_use]
    pub fn to_text_with_trace(&self) -> String {
        of_record(&self.record, Detail::Trace)
    }
}

impl fmt::Display for Ruling {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.record.brief(Purpose::Judge).text())
    }
}

impl serde::Serialize for Ruling {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        record::json_value(&self.record).serialize(serializer)
    }
}
