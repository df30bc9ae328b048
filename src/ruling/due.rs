//! Whether a vehicle is due for a test. It never changes a verdict.

use super::basis::{Law, laws};
use crate::evaluate::{Coverage, Evaluation, Truth, Walk};
use crate::model::facts::Possible;
use crate::model::{Date, Fact, Unit};
use crate::program::flat::DueRule;
use crate::program::{Citation, FactRef, Verdict};

/// Whether the vehicle is due for a test.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Due {
    /// It is.
    Yes,
    /// It is not.
    No,
    /// Not determined by what is known.
    NotKnown,
    /// The program does not say, or does not concern the vehicle.
    NotSaid,
}

impl Due {
    /// In words.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Due::Yes => "yes",
            Due::No => "no",
            Due::NotKnown => "not known",
            Due::NotSaid => "not said",
        }
    }
}

/// Whether the vehicle is due, and by which rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueShown {
    /// Whether it is.
    pub due: Due,
    /// The rules that hold or may, in words; where none holds, all rules.
    pub why: Vec<String>,
    /// The first day on which it is due by a time since the previous test, where that test is known.
    pub next: Option<Date>,
    /// Citations of these.
    pub law: Vec<Law>,
}

/// What a rule says of the vehicle.
struct Said<'f> {
    rule: &'f DueRule,
    truth: Truth,
    why: String,
    next: Option<Date>,
}

/// Whether the vehicle is due. Of one that no test is asked of nothing is said.
pub(super) fn due(walk: &Walk<'_>, evaluation: &Evaluation) -> DueShown {
    let flat = walk.flat();
    let is_asked = match &evaluation.coverage {
        Coverage::NotInForce | Coverage::NotCovered { .. } => false,
        // A vehicle that is sent to another test is due for that.
        Coverage::LeftOut { row, .. } => flat.left_out.get(*row).is_some_and(|row| row.outcome.is_some()),
        Coverage::Covered | Coverage::Undetermined { .. } => evaluation.possible.single() != Some(Verdict::NotSubject),
    };
    if !is_asked {
        return not_said();
    }
    let mut shown = due_if_asked(walk);
    let perhaps_not = matches!(evaluation.coverage, Coverage::Undetermined { .. })
        && evaluation.possible.contains(Verdict::NotSubject);
    if shown.due == Due::Yes && perhaps_not {
        shown.due = Due::NotKnown;
    }
    shown
}

fn not_said() -> DueShown {
    DueShown { due: Due::NotSaid, why: Vec::new(), next: None, law: Vec::new() }
}

/// What is told of a rule that counts from a test which is not known.
pub const NO_START: &str = "the start not known";

/// Whether the rules on what is due hold of the vehicle, whether or not the program concerns it.
pub(super) fn due_if_asked(walk: &Walk<'_>) -> DueShown {
    let flat = walk.flat();
    if flat.due.is_empty() || !flat.in_force.is_yes() {
        return not_said();
    }
    let said: Vec<Said<'_>> = flat.due.iter().map(|rule| of_rule(walk, rule)).collect();
    let truth = said.iter().fold(Truth::False, |found, said| found.or(said.truth));
    let bearing = || said.iter().filter(|said| said.truth == truth);
    let citations: Vec<Citation> = bearing().flat_map(|said| said.rule.basis.iter().cloned()).collect();
    let due = match truth {
        Truth::True => Due::Yes,
        Truth::False => Due::No,
        Truth::Unknown => Due::NotKnown,
    };
    let why = bearing().map(|said| said.why.clone()).filter(|why| !why.is_empty()).collect();
    let next = bearing().filter_map(|said| said.next).min();
    DueShown { due, why, next, law: laws(&flat.sources, &citations) }
}

fn of_rule<'f>(walk: &Walk<'f>, rule: &'f DueRule) -> Said<'f> {
    let holds = walk.truth(&rule.condition);
    let Some(every) = rule.every else {
        return Said { rule, truth: holds, why: rule.why.clone(), next: None };
    };
    let told = |words: String| if rule.why.is_empty() { words } else { format!("{words}: {}", rule.why) };
    let next = previous(walk).and_then(|day| day.checked_add(jiff::Span::new().months(i64::from(every.months))).ok());
    let (truth, words) = match next {
        _ if holds.is_false() => (Truth::False, every.every()),
        Some(day) if day <= walk.flat().test_date => (holds, format!("{}, so from {day}", every.every())),
        Some(day) => (Truth::False, format!("{}, so not before {day}", every.every())),
        None => (Truth::Unknown, format!("{}, {NO_START}", every.every())),
    };
    Said { rule, truth, why: told(words), next: next.filter(|_| !holds.is_false()) }
}

/// The day of the previous test, counted in whole days back from the visit. At a retest the fact tells of the test that
/// failed, from which no program counts.
fn previous(walk: &Walk<'_>) -> Option<Date> {
    let retest = Fact::Visit.word_bit("retest")?;
    if let Possible::Words(words) = walk.possible(&FactRef::Known(Fact::Visit))
        && words & retest != 0
    {
        return None;
    }
    let Possible::Number(span) = walk.possible(&FactRef::Known(Fact::HoursSincePrevious)) else { return None };
    if span.least != span.most || span.may_be_absent {
        return None;
    }
    let day = Unit::Day.to_base(1)?;
    let days = span.least.checked_div(day)?;
    walk.flat().test_date.checked_sub(jiff::Span::new().try_days(days).ok()?).ok()
}
