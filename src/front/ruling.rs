//! A ruling, owned and ready to be shown.

use crate::program::Class;
use crate::record;
use crate::record::Record;
use crate::report::brief::Purpose;
use crate::report::text::{Detail, of_record};
use crate::ruling::{Ground, Law};
use std::fmt;

/// A ruling: advice with its reasons. The official inspection decides. Prints as the short text of the command line.
///
/// ```
/// use wherefore::{Class, Programs, Snapshot};
/// let snapshot = Snapshot::from_json(br#"{"format": "wherefore-snapshot/1", "visit": {"date": "2026-11-28"}}"#)?;
/// let ruling = Programs::built_in().get("us-il")?.judge(&snapshot)?;
/// // Next to nothing is known of the vehicle: several verdicts are possible.
/// assert_eq!(ruling.verdict().class(), Class::Undecided);
/// assert!(ruling.to_json().starts_with(r#"{"format":"wherefore-ruling/1""#));
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ruling {
    pub(super) record: Record,
}

/// A verdict by name and class.
///
/// ```
/// use wherefore::{Class, Programs, Snapshot};
/// let snapshot = Snapshot::from_json(br#"{"format": "wherefore-snapshot/1", "visit": {"date": "2026-11-28"}}"#)?;
/// let ruling = Programs::built_in().get("us-il")?.judge(&snapshot)?;
/// let reject = ruling.possible().find(|verdict| verdict.class() == Class::Reject);
/// assert_eq!(reject.map(|verdict| verdict.name()), Some("reject"));
/// # Ok::<(), wherefore::Error>(())
/// ```
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
///
/// ```
/// use wherefore::{Communication, Connector, Date, Fuel, Ignition, Programs, Snapshot, VehicleClass};
/// let snapshot = Snapshot::builder()
///     .visit_date(Date::constant(2026, 11, 28))
///     .model_year(2016)
///     .fuel(Fuel::Gasoline)
///     .ignition(Ignition::Spark)
///     .class(VehicleClass::LightDuty)
///     .gross_weight_lb(4000)
///     .connector(Connector::Missing)
///     .communication(Communication::None)
///     .build();
/// let ruling = Programs::built_in().get("us-model")?.judge(&snapshot)?;
/// let reason = ruling.reasons().next().expect("a missing connector stands against it");
/// assert!(!reason.message().is_empty());
/// assert!(reason.citations().count() > 0);
/// # Ok::<(), wherefore::Error>(())
/// ```
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
