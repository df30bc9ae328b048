//! What a program declares beside its blocks: facts, questions, options, tables, cases, advice, acknowledgements.

use super::block::{Origin, Under};
use super::{Citation, Condition};
use crate::model::{CodeRange, Date, MonitorSet, Snapshot, Unit};
use crate::source::Span;

/// Type of a declared fact.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DeclaredType {
    /// `no`, `yes`.
    YesNo,
    /// One of these words; of a result, the first is `not-done`.
    Words(Vec<String>),
    /// A whole number within bounds, both in the unit.
    Number {
        /// Unit.
        unit: Unit,
        /// Least.
        least: i64,
        /// Most.
        most: i64,
    },
}

impl DeclaredType {
    /// The words, in the order of their bits.
    #[must_use]
    pub fn words(&self) -> Vec<&str> {
        match self {
            DeclaredType::YesNo => vec!["no", "yes"],
            DeclaredType::Words(words) => words.iter().map(String::as_str).collect(),
            DeclaredType::Number { .. } => Vec::new(),
        }
    }
}

/// A fact that a program declares.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeclaredFact {
    /// Name.
    pub name: String,
    /// Type.
    pub kind: DeclaredType,
    /// Question to put to a person.
    pub question: String,
    /// Who observes it.
    pub observer: crate::model::Observer,
    /// Whether it is a test result: it then has the word `not-done`.
    pub is_result: bool,
    /// Place in the file of its origin.
    pub origin: Origin,
}

/// A doubt of the file's writers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// Its id, as the file writes it.
    pub id: String,
    /// The question.
    pub text: String,
    /// Readings: id, what it means, basis.
    pub readings: Vec<(String, String, Vec<Citation>)>,
    /// The reading taken: place in the list; `None`: all stay possible.
    pub taken: Option<usize>,
    /// Why it is taken, or why none.
    pub why: String,
    /// Where it was written.
    pub origin: Origin,
}

/// A choice that the law gives an adopter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// Its id, as the file writes it.
    pub id: String,
    /// What is to be chosen.
    pub text: String,
    /// Values.
    pub values: Vec<String>,
    /// The value chosen: place in the list.
    pub chosen: usize,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
    /// Where it was written.
    pub origin: Origin,
}

/// A table of listed vehicles.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// Its id, as the file writes it.
    pub id: String,
    /// Rows.
    pub rows: Vec<TableRow>,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
    /// Where it was written.
    pub origin: Origin,
}

/// A row of a table: which vehicles, and what holds for them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableRow {
    /// Which vehicles.
    pub condition: Condition<String>,
    /// Monitors left out of the count.
    pub excused: MonitorSet,
    /// Codes on the vehicle's list.
    pub codes: Vec<CodeRange>,
}

/// A worked case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Case {
    /// Title.
    pub title: String,
    /// Facts, the ordinary ones filled in where the case says so; the visit date included.
    pub facts: Snapshot,
    /// Law as known on.
    pub known_on: Option<Date>,
    /// Readings and options taken for this case.
    pub takes: Vec<Under>,
    /// Expected outcomes, by name (`not-subject` allowed): one, or the exact possible set.
    pub expected: Vec<String>,
    /// Expected deciding clause.
    pub by: Option<String>,
    /// Kinds of consequence that must follow (`true`), and that must not.
    pub brings: Vec<(super::block::ConsequenceKind, bool)>,
    /// Whether the vehicle must be due, or must not.
    pub is_due: Option<bool>,
    /// What it follows from.
    pub basis: Vec<Citation>,
    /// Place in the file.
    pub span: Span,
}

/// What usually completes a monitor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Advice {
    /// Monitors.
    pub monitors: MonitorSet,
    /// What completes them, in words.
    pub text: String,
    /// Minutes it takes, from and to.
    pub minutes: Option<(i64, i64)>,
    /// What must hold first, in words.
    pub preconditions: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// For which vehicles.
    pub condition: Condition<String>,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
    /// Where it was written.
    pub origin: Origin,
}

/// A finding that the file says is a feature of the law.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Acknowledgement {
    /// Code of the finding, `analysis/never-decides`.
    pub code: String,
    /// What the finding is about; `None`: every finding of the code.
    pub subject: Option<String>,
    /// Reason.
    pub reason: String,
    /// Place in the file.
    pub span: Span,
}
