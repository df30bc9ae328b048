//! Exemptions, excuses and rules of when a test is due that apply to no vehicle: the program does not cover the vehicles that
//! they name, leaves them out, or no such vehicle can exist. A law may print such a row; a slip in a model year looks the same.

use super::{Say, Study};
use crate::diagram::Error;
use crate::diagram::forest::{Node, TooLarge};
use crate::diagram::kernel::verdict_of;
use crate::program::flat::{FlatExcused, Silence};
use crate::program::{Condition, Flat, Origin, Topic, Verdict};

const LEAVES_OUT: &str = "analysis/leaves-out-nobody";
const EXCUSES: &str = "analysis/excuses-nobody";
const DUE: &str = "analysis/due-for-nobody";

/// The warnings of this module.
pub(super) const CODES: [&str; 3] = [LEAVES_OUT, EXCUSES, DUE];

/// Where the rows stand that such a warning can be about.
pub(super) fn rows<'f>(flat: &'f Flat, code: &str) -> Box<dyn Iterator<Item = &'f Origin> + 'f> {
    match code {
        LEAVES_OUT => Box::new(flat.left_out.iter().map(|row| &row.origin)),
        EXCUSES => Box::new(flat.excuses.iter().map(|row| &row.origin)),
        _ => Box::new(flat.due.iter().map(|row| &row.origin)),
    }
}

const HELP: &str =
    "check what the row tests against what is covered; if the law prints it all the same, acknowledge this";

/// What to do about a row that would send vehicles elsewhere which are not covered.
const NOT_COVERED: &str = "if the law sends these vehicles to that test, widen `covers` to them, or the file says that no test is \
                           asked of them; acknowledge this only if the law prints a row that reaches nobody";

/// What to do about a row that takes out vehicles which are not covered.
const NOT_NAMED: &str = "nothing is asked of them, with this row or without it: if the law covers them but for this row, widen \
                         `covers`; if it prints the row all the same, acknowledge this";

impl Study<'_> {
    /// Rows of left-out vehicles, and excuses, that reach no vehicle.
    pub(super) fn rows_for_nobody(&mut self) -> Result<(), TooLarge> {
        let flat = self.flat;
        for (row, taken) in flat.left_out.iter().zip(self.nodes.left_out.clone()) {
            if self.both(taken, self.compiled.exist)? == Node::FALSE {
                // Of a row that no vehicle can meet, more is told below its example.
                let are_there = self.condition(&row.condition)? != Node::FALSE;
                let outcome = row.outcome.and_then(|place| flat.outcomes.get(place));
                let (what, help) = match (are_there, outcome) {
                    (false, _) => (String::new(), HELP),
                    (true, None) => (": `covers` does not name these vehicles".to_owned(), NOT_NAMED),
                    (true, Some(outcome)) => (
                        format!(
                            ": `covers` does not name these vehicles, so by this file they are not subject, and are not sent to \
                             `{}`",
                            outcome.name
                        ),
                        NOT_COVERED,
                    ),
                };
                let message = format!("no covered vehicle is left out by \"{}\"{what}", row.why);
                self.reaches_nobody(&row.condition, LEAVES_OUT, &row.why, message, (&row.origin, help))?;
            }
        }
        for excuse in &flat.excuses {
            let meeting = self.condition(&excuse.condition)?;
            if self.both(meeting, self.dealt)? == Node::FALSE {
                let which = match excuse.which {
                    FlatExcused::Monitors(set) => {
                        let names: Vec<&str> = set.iter().map(crate::model::Monitor::name).collect();
                        names.join(", ")
                    }
                    FlatExcused::EarlierIncomplete => "each monitor incomplete earlier".to_owned(),
                    FlatExcused::Table(place) => {
                        let id = flat.tables.get(place).map_or("", |table| &table.id);
                        format!("monitors excused by {id}")
                    }
                };
                let message = format!("no vehicle that the program deals with is excused {which} by this row");
                self.reaches_nobody(&excuse.condition, EXCUSES, &which, message, (&excuse.origin, HELP))?;
            }
        }
        Ok(())
    }

    /// Rules of when a test is due that reach no vehicle of which a test is asked.
    fn due_for_nobody(&mut self) -> Result<(), TooLarge> {
        let flat = self.flat;
        let asked_nothing = self
            .compiled
            .compiler
            .forest
            .where_value(self.nodes.ruled, |value| matches!(verdict_of(value), None | Some(Verdict::NotSubject)))?;
        for rule in &flat.due {
            let meeting = self.condition(&rule.condition)?;
            if self.but_not(meeting, asked_nothing)? == Node::FALSE {
                let message = "no vehicle of which a test is asked is due by this row".to_owned();
                self.reaches_nobody(&rule.condition, DUE, "due", message, (&rule.origin, HELP))?;
            }
        }
        Ok(())
    }

    fn reaches_nobody(
        &mut self,
        condition: &Condition<usize>,
        code: &'static str,
        subject: &str,
        message: String,
        (origin, help): (&Origin, &'static str),
    ) -> Result<(), TooLarge> {
        let near = self.nearest_of(condition)?;
        self.found_near(near, Say { code, subject: subject.to_owned(), message, help, origin: Some(origin.clone()) });
        Ok(())
    }
}

/// Warnings on when a test is due. Verdicts turn on nothing that stands there, so that the facts it tests are vehicles' own
/// differences only in a space of its own.
///
/// # Errors
/// Where a diagram outgrows its budget.
pub(super) fn due(flat: &Flat) -> Result<Vec<super::Warning>, Error> {
    if flat.due.iter().all(|rule| rule.condition.is_always()) {
        return Ok(Vec::new());
    }
    let mut wide = flat.clone();
    wide.silences.extend(flat.due.iter().map(|rule| Silence {
        topic: Topic::Other,
        unread: false,
        condition: rule.condition.clone(),
        basis: Vec::new(),
    }));
    let mut study = Study::of(&wide)?;
    study.due_for_nobody()?;
    Ok(study.warnings)
}
