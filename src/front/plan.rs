//! What has to be done before the inspection, owned and ready to be shown.

use super::{Error, Program, Request, Snapshot};
use crate::model::{Date, Fact, Value};
use crate::program::Class;
use crate::record::{self, plan_form};
use crate::report::brief::{self, Purpose};
use crate::report::schedule::{self, Days};
use crate::ruling::{Prospect, Ruling};
use crate::wording::headline::Provisos;
use crate::wording::plan::Told;
use std::fmt;

/// The least that leads to a class of outcome. Prints as the text of the command `next`.
///
/// ```
/// use wherefore::{Class, Programs, Request};
/// # use wherefore::Snapshot;
/// # let snapshot = Snapshot::from_json(br#"{"format": "wherefore-snapshot/1", "visit": {"date": "2026-11-28"}}"#)?;
/// let plan = Programs::built_in().get("us-il")?.next(&snapshot, &Request::new(), Class::Pass)?;
/// assert_eq!(plan.state(), "plans");
/// println!("{plan}");
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    pub(super) ruling: Ruling,
    prospect: Prospect,
    by: Option<By>,
}

/// A visit to plan backwards from, and the day on which the vehicle was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct By {
    visit: Date,
    read_on: Option<Date>,
}

impl Program {
    /// The least that leads to a class of outcome: [`Class::Pass`], [`Class::Conditional`] or [`Class::OtherTest`].
    ///
    /// ```
    /// use wherefore::{Class, Programs, Request, Snapshot};
    /// let program = Programs::built_in().get("us-il")?;
    /// let snapshot = Snapshot::from_json(br#"{"format": "wherefore-snapshot/1", "visit": {"date": "2026-11-28"}}"#)?;
    /// assert_eq!(program.next(&snapshot, &Request::new(), Class::Pass)?.state(), "plans");
    /// # Ok::<(), wherefore::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`Error::Ruling`] as for a ruling, and where the program's diagrams are too large to look for a plan.
    pub fn next(&self, snapshot: &Snapshot, request: &Request, goal: Class) -> Result<Plan, Error> {
        self.plan(snapshot, request, goal, None)
    }

    /// The same for a visit on another day than the snapshot's, by the law of that day and with the days backwards from it:
    /// when to begin and when to look again.
    ///
    /// # Errors
    /// As [`Program::next`], and where the visit is before the day of the snapshot.
    pub fn next_by(&self, snapshot: &Snapshot, request: &Request, goal: Class, visit: Date) -> Result<Plan, Error> {
        let mut then = snapshot.clone();
        let by = By { visit, read_on: then.document.snapshot.test_date() };
        if let Some(reason) = schedule::too_early(visit, by.read_on) {
            return Err(Error::Ruling { reason });
        }
        then.document.snapshot.set(Fact::TestDate, Value::Date(visit));
        self.plan(&then, request, goal, Some(by))
    }

    fn plan(&self, snapshot: &Snapshot, request: &Request, goal: Class, by: Option<By>) -> Result<Plan, Error> {
        let refuse = |reason: String| Error::Ruling { reason };
        let flat = record::flat(self.program(), &snapshot.document, &request.inner).map_err(refuse)?;
        let mut record = self.judge_with(snapshot, request)?.record;
        let prospect = record.take_prospect(&flat, self.program(), goal).map_err(refuse)?;
        Ok(Plan { ruling: record.ruling, prospect, by })
    }
}

impl Plan {
    pub(super) fn told(&self) -> Told<'_> {
        Told { ruling: &self.ruling, prospect: &self.prospect, provisos: Provisos::Weightiest }
    }

    /// What the answer comes to in a word: `passes-already`, `plans`, `none`, `other-test`, `not-asked`, `by-case` or
    /// `facts-missing`.
    #[must_use]
    pub fn state(&self) -> &'static str {
        plan_form::state(&self.prospect)
    }

    /// As one line of JSON (`wherefore-plans/2`), without its line end.
    #[must_use]
    pub fn to_json(&self) -> String {
        let told = self.told();
        self.by.map_or_else(|| plan_form::json(&told), |by| schedule::answer(&told, by.visit)).to_string()
    }

    /// The days backwards from the visit in sentences, where they were asked for.
    pub(super) fn days(&self) -> Option<Days> {
        let told = self.told();
        self.by.map(|by| schedule::in_words(&told, by.visit, by.read_on))
    }
}

impl fmt::Display for Plan {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&brief::brief(&self.ruling, Some(&self.told()), Purpose::Next).text())?;
        self.days().map_or(Ok(()), |days| write!(f, "\n{}", days.text()))
    }
}
