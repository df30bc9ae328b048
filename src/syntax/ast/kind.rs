//! What the items of a file are.

use super::{Assignment, Condition, Word};
use crate::source::{Span, Spanned};

/// The kind of consequence that files call a note.
pub const NOTE: &str = "record";

/// What an item is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// `program ID "title"`
    Program {
        /// Its id, as the file writes it.
        id: Word,
        /// Title.
        title: Word,
    },
    /// `source ID "title" law, read 2026-11-25, at "…"`
    Source {
        /// Its id, as the file writes it.
        id: Word,
        /// Title.
        title: Word,
        /// Kind of text.
        kind: Word,
        /// How seen.
        seen: Option<Word>,
        /// When seen.
        on: Option<Word>,
        /// How current it is.
        currency: Option<Word>,
        /// Address.
        at: Option<Word>,
    },
    /// `in force from D through D`: the dates are properties
    InForce,
    /// `outcomes pass, tailpipe (other-test) "…", fail`
    Outcomes(Vec<OutcomeDeclaration>),
    /// `age is test year less model year [plus N]`
    Age {
        /// What is added.
        plus: Option<Spanned<i64>>,
    },
    /// `areas [of "STATE"]`: the areas are bullets
    Areas {
        /// The state whose list of counties applies.
        state: Option<Word>,
    },
    /// `covers where CONDITION`
    Covers(Condition),
    /// `leaves out where CONDITION: OUTCOME "why"`
    LeavesOut {
        /// Which.
        condition: Condition,
        /// Outcome, or `not-subject`.
        outcome: Word,
        /// The reason, in words.
        why: Option<Word>,
    },
    /// `exempts where CONDITION "why"`
    Exempts {
        /// Which.
        condition: Condition,
        /// The reason, in words.
        why: Option<Word>,
    },
    /// `sends to OUTCOME where CONDITION "why"`
    Sends {
        /// To which test.
        outcome: Word,
        /// Which.
        condition: Condition,
        /// The reason, in words.
        why: Option<Word>,
    },
    /// `due where CONDITION "why"` or `due every 2 years [where CONDITION] "why"`
    Due {
        /// How long after the previous test.
        every: Option<Interval>,
        /// Which; all where an interval stands alone.
        condition: Option<Condition>,
        /// The reason, in words.
        why: Option<Word>,
    },
    /// `period ID`: the dates are properties
    Period {
        /// Its id, as the file writes it.
        id: Word,
    },
    /// `change ID adopted, not in this file "text"`
    Change {
        /// Its id, as the file writes it.
        id: Word,
        /// How far it has come.
        kind: Word,
        /// In words.
        text: Word,
    },
    /// `counts …`
    Counts(Counted),
    /// `excuses … [where CONDITION]`
    Excuses {
        /// Which monitors.
        which: Excused,
        /// For which vehicles.
        condition: Option<Condition>,
    },
    /// `limit [ID]`: the rows are bullets
    Limit {
        /// Id; `standard` where none is given.
        id: Option<Word>,
    },
    /// `clause ID on TOPIC`: lines are properties
    Clause {
        /// Its id, as the file writes it.
        id: Word,
        /// The topic it is about.
        topic: Word,
    },
    /// `finding ID where CONDITION` or `finding ID any of …`
    Finding {
        /// Its id, as the file writes it.
        id: Word,
        /// Condition.
        condition: Condition,
    },
    /// `code group ID: …`
    CodeGroup {
        /// Its id, as the file writes it.
        id: Word,
        /// Surely in.
        codes: Vec<CodePattern>,
        /// In a text that was not seen.
        unread: Vec<CodePattern>,
        /// `text not seen` alone: the whole list was not seen.
        all_unread: bool,
    },
    /// `text silent on TOPIC, …`
    Silent(Vec<Word>),
    /// `no rule applied on TOPIC, …, text not seen`
    Unread(Vec<Word>),
    /// `adopts P as amended` or `adopts P as it stood on D`
    Adopts {
        /// Program.
        program: Word,
        /// Date.
        as_it_stood_on: Option<Word>,
    },
    /// `question ID "…"`: readings are bullets
    Question {
        /// Its id, as the file writes it.
        id: Word,
        /// The question.
        text: Word,
    },
    /// `option ID "…": V, V`
    Option {
        /// Its id, as the file writes it.
        id: Word,
        /// What is to be chosen.
        text: Word,
        /// Values.
        values: Vec<Word>,
    },
    /// `table ID`: rows are bullets
    Table {
        /// Its id, as the file writes it.
        id: Word,
    },
    /// `presumes FACT is V where not known [and CONDITION]`
    Presumes {
        /// What is presumed.
        assignment: Assignment,
        /// Where alone it is presumed.
        condition: Option<Condition>,
    },
    /// `fact ID: …`
    Fact {
        /// Name.
        name: Word,
        /// Type.
        kind: FactKind,
    },
    /// `result ID: WORD, …`
    Result {
        /// Name.
        name: Word,
        /// Words besides `not-done`.
        words: Vec<Word>,
    },
    /// `outcome X becomes Y where CONDITION`
    Becomes {
        /// Which.
        from: Word,
        /// Into which.
        to: Word,
        /// For which vehicles.
        condition: Option<Condition>,
    },
    /// `note after OUTCOME …`, or `consequence KIND after OUTCOME [by CLAUSE [alone]] [where CONDITION] "text"`
    Consequence {
        /// Kind.
        kind: Word,
        /// Outcome.
        after: Word,
        /// Clause.
        by: Option<Word>,
        /// Whether alone.
        alone: Option<Span>,
        /// For which vehicles.
        condition: Option<Condition>,
        /// In words.
        text: Word,
    },
    /// `not expressible here "text" could turn A, B into C [where CONDITION]`
    NotExpressible {
        /// In words.
        text: Word,
        /// Outcomes it could change.
        could_turn: Vec<Word>,
        /// Into which.
        into: Vec<Word>,
        /// Whom it concerns.
        condition: Option<Condition>,
    },
    /// `advice on M, M`
    Advice {
        /// Monitors.
        monitors: Vec<Word>,
    },
    /// `ordinary …`
    Ordinary(Vec<Assignment>),
    /// `case "title"`
    Case {
        /// Title.
        title: Word,
    },
    /// `acknowledges CODE [of SUBJECT] "reason"`
    Acknowledges {
        /// Code of the finding.
        code: Word,
        /// Subject.
        subject: Option<Word>,
        /// Reason.
        reason: Word,
    },
}

/// `every 2 years`
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Interval {
    /// How many.
    pub count: Spanned<i64>,
    /// `years` or `months`, in the plural.
    pub unit: Word,
}

/// An outcome of the ladder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutcomeDeclaration {
    /// Name.
    pub name: Word,
    /// Class in parentheses.
    pub class: Option<Word>,
    /// How the program words it.
    pub label: Option<Word>,
}

/// Counted monitors.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Counted {
    /// `supported monitors`
    Supported,
    /// `supported monitors that are not continuous`
    SupportedNotContinuous,
    /// `monitors that are not continuous, unsupported as incomplete`
    NotContinuousUnsupportedIncomplete,
    /// `supported monitors among M, M`
    Among(Vec<Word>),
}

/// Excused monitors.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Excused {
    /// `M, M`
    Monitors(Vec<Word>),
    /// `each monitor incomplete earlier`
    EarlierIncomplete,
    /// `monitors excused by TABLE`
    Table(Word),
}

/// Type of a declared fact.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FactKind {
    /// `yes or no`
    YesNo,
    /// `WORD, WORD`
    Words(Vec<Word>),
    /// `N through M [UNIT]`
    Number {
        /// Least.
        least: Spanned<i64>,
        /// Most.
        most: Spanned<i64>,
        /// Unit.
        unit: Option<Word>,
    },
}

/// Codes: `P0420`, `P03xx`, `P0420 through P0439 digits only`
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CodePattern {
    /// Its place in the text.
    pub span: Span,
    /// First code, or the pattern.
    pub first: Word,
    /// Last code.
    pub last: Option<Word>,
    /// `digits only` (true) or `with letters` (false).
    pub digits_only: Option<bool>,
}
