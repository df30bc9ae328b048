//! The whole program: every block with its dates, readings and basis. Blocks are a set: their order means nothing.

pub use super::announced::{ChangeKind, Interval, LeftOutBy, Turn};
pub use super::declared::{
    Acknowledgement, Advice, Case, Choice, DeclaredFact, DeclaredType, Question, Table, TableRow,
};
use super::{Areas, Citation, Condition, Outcome, Refer, Source, Topic};
use crate::model::{CodeGroup, Date, Fact, MonitorSet, Snapshot};
use crate::source::Span;
use std::sync::Arc;

/// A checked program, all dates and readings together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Program {
    /// Id, `us-ca`.
    pub id: String,
    /// Title.
    pub title: String,
    /// Authority that made the program.
    pub authority: String,
    /// Standing of the file.
    pub standing: Standing,
    /// Version of the language the file is written in.
    pub language: u32,
    /// When the file was held against what, as it says.
    pub reviewed: Option<Reviewed>,
    /// Whether it is a part that others adopt, and no program by itself.
    pub adopted_only: bool,
    /// The areas it knows: those declared, or the names that its tests compare with.
    pub areas: Arc<Areas>,
    /// Sources, those of adopted programs included.
    pub sources: Vec<Source>,
    /// Outcomes, from the least grave to the gravest; the first is of class pass.
    pub outcomes: Vec<Outcome>,
    /// Declared facts.
    pub facts: Vec<DeclaredFact>,
    /// Questions: doubts of the file's writers.
    pub questions: Vec<Question>,
    /// Options: choices that the law gives an adopter.
    pub options: Vec<Choice>,
    /// Tables of listed vehicles.
    pub tables: Vec<Table>,
    /// Everything else.
    pub blocks: Vec<Block>,
    /// Facts of the file's ordinary vehicle.
    pub ordinary: Snapshot,
    /// Worked cases.
    pub cases: Vec<Case>,
    /// Advice on monitors.
    pub advice: Vec<Advice>,
    /// Warnings that the file says are features of the law.
    pub acknowledged: Vec<Acknowledgement>,
    /// Programs adopted, with how.
    pub adopted: Vec<Adopted>,
}

/// Standing of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Being written; never judged by default.
    Draft,
    /// Held against a digest of its sources, not against the texts themselves.
    DigestChecked,
    /// Held against the texts of its sources themselves.
    Checked,
    /// No longer stood by.
    Withdrawn,
}

impl Standing {
    /// All standings with their words.
    pub const ALL: [(Standing, &'static str); 4] = [
        (Standing::Draft, "draft"),
        (Standing::DigestChecked, "digest-checked"),
        (Standing::Checked, "checked"),
        (Standing::Withdrawn, "withdrawn"),
    ];

    /// The word in program files.
    #[must_use]
    pub fn word(self) -> &'static str {
        Standing::ALL.iter().find(|(standing, _)| *standing == self).map_or("", |(_, word)| word)
    }

    /// Whether the program is judged by where all programs are asked for.
    #[must_use]
    pub fn is_stood_by(self) -> bool {
        matches!(self, Standing::DigestChecked | Standing::Checked)
    }
}

/// When a file was held against what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reviewed {
    /// The day.
    pub on: Date,
    /// Against what, in words.
    pub against: String,
}

/// An adopted program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Adopted {
    /// Its id.
    pub program: String,
    /// The date whose text was adopted; `None` as amended from time to time.
    pub as_it_stood_on: Option<Date>,
    /// Place of the adoption.
    pub span: Span,
}

/// A block with its dates and basis.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Block {
    /// What it says.
    pub item: Item,
    /// Dates between which it is in force.
    pub window: Window,
    /// When it was published; `None`: always known.
    pub published: Option<Date>,
    /// Never in force, only compared.
    pub draft: bool,
    /// The announced change that a draft is part of.
    pub change: Option<String>,
    /// Readings and options it stands under.
    pub under: Vec<Under>,
    /// What it rests on.
    pub basis: Vec<Citation>,
    /// Which file it came from, and where in that file it stands.
    pub origin: Origin,
}

/// Where a block was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Origin {
    /// Program whose file holds it.
    pub program: String,
    /// Place in that file.
    pub span: Span,
}

/// Dates in force, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Window {
    /// First day; `None`: from the beginning.
    pub from: Option<Date>,
    /// Last day; `None`: open.
    pub through: Option<Date>,
}

impl Window {
    /// Whether the day is within the window.
    #[must_use]
    pub fn holds(self, day: Date) -> bool {
        self.from.is_none_or(|from| from <= day) && self.through.is_none_or(|through| day <= through)
    }
}

/// A reading or option value a block stands under.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Under {
    /// Question or option.
    pub name: String,
    /// Reading or value.
    pub value: String,
}

/// What a block says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Item {
    /// The program is in force (during the block's window).
    InForce,
    /// Age is test year less model year, plus this.
    Age {
        /// 0 or 1.
        plus: i64,
    },
    /// Vehicles covered; several blocks: any of them.
    Covers(Condition<String>),
    /// Vehicles left out although covered.
    LeavesOut {
        /// The word that leaves them out: exemptions stand before every other row with an outcome.
        word: LeftOutBy,
        /// Which.
        condition: Condition<String>,
        /// Outcome: place on the ladder (class other-test), or `None` for not-subject.
        outcome: Option<usize>,
        /// Why, in words.
        why: String,
    },
    /// When a vehicle is due; never changes a verdict.
    Due {
        /// Which vehicles.
        condition: Condition<String>,
        /// How long after the previous test; `None`: whenever the condition holds.
        every: Option<Interval>,
        /// In words.
        why: String,
    },
    /// The counted monitors; several blocks in force: any of them.
    Counts {
        /// Which monitors.
        monitors: MonitorSet,
        /// Whether an unsupported one counts as incomplete.
        unsupported_as_incomplete: bool,
    },
    /// Monitors left out of the count.
    Excuses {
        /// Which monitors.
        which: Excused,
        /// For which vehicles.
        condition: Condition<String>,
    },
    /// Limits on incomplete monitors.
    Limit {
        /// Id; `standard` where the file gives none.
        id: String,
        /// Rows.
        rows: Vec<LimitRow<String>>,
    },
    /// A clause.
    Clause(Clause),
    /// A named condition.
    Finding {
        /// Its id, as the file writes it.
        id: String,
        /// Condition.
        condition: Condition<String>,
    },
    /// A code group.
    CodeGroup {
        /// Its id, as the file writes it.
        id: String,
        /// Codes.
        group: CodeGroup,
    },
    /// Read, and the text has no clause on these topics.
    Silent(Vec<Topic>),
    /// The text on these topics exists and was not seen.
    Unread(Vec<Topic>),
    /// One clause gives way to another (in a reading).
    GivesWay {
        /// The clause that is set aside; `None`: every other clause.
        from: Option<String>,
        /// To what.
        to: GivesWayTo,
    },
    /// A relabelling after the ladder.
    Becomes {
        /// Which outcome.
        from: usize,
        /// Into which.
        to: usize,
        /// For which vehicles.
        condition: Condition<String>,
    },
    /// What follows a verdict without changing it.
    Consequence(Consequence<String>),
    /// What the rule needs and the language lacks.
    NotExpressible {
        /// In words.
        text: String,
        /// Whom it concerns.
        concerns: Condition<String>,
        /// Outcomes it could change, by name.
        could_turn: Vec<String>,
        /// Into which.
        into: Vec<String>,
    },
    /// A change that was announced; in force from the day it is announced for, as a warning.
    Change {
        /// Its id, as the file writes it.
        id: String,
        /// How far it has come.
        kind: ChangeKind,
        /// In words.
        text: String,
        /// What it could turn.
        turns: Vec<Turn<String>>,
    },
    /// A value presumed where not known.
    Presumes {
        /// Which fact: of the table, or declared (by name).
        fact: super::FactRef<String>,
        /// The value, as words for people (`not-done`).
        shown: String,
        /// For a fact of words: the mask of the presumed word; for a number: the number.
        value: Presumed,
        /// It is presumed only where this surely holds of what is reported.
        condition: Condition<String>,
    },
}

/// A presumed value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Presumed {
    /// One word, as its bit.
    Word(u64),
    /// A number in base units, or a day number.
    Number(i64),
    /// Text.
    Text(String),
    /// The vehicle is not in the table of this id.
    NotListed(String),
}

/// Monitors left out of a count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Excused {
    /// These.
    Monitors(MonitorSet),
    /// Each monitor incomplete at the earlier test.
    EarlierIncomplete,
    /// Those that a table excuses for this vehicle.
    Table(String),
}

/// A row of a limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LimitRow<R: Refer> {
    /// Which vehicles.
    pub condition: Condition<R>,
    /// The limit.
    pub limit: Allowance,
    /// What the row rests on; empty: what the block rests on.
    pub basis: Vec<Citation>,
    /// Place in the file.
    pub span: Span,
}

/// What a limit allows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Allowance {
    /// At most so many incomplete counted monitors, 0 to 32; and only these, where a list is given.
    AtMost {
        /// How many.
        count: i64,
        /// Which ones may be incomplete.
        only: Option<MonitorSet>,
    },
    /// At least so many counted monitors complete, 1 to 32.
    AtLeastComplete(i64),
    /// The text gives a number, which was not seen.
    NotRead,
}

/// A clause.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clause {
    /// Its id, as the file writes it.
    pub id: String,
    /// The topic it is about.
    pub topic: Topic,
    /// Vehicles it concerns.
    pub concerns: Condition<String>,
    /// Its lines.
    pub lines: Vec<ClauseLine>,
    /// What it gives way to.
    pub gives_way: Vec<GivesWayTo>,
    /// What a person is told.
    pub message: String,
}

/// One line of a clause.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClauseLine {
    /// The line is unmet where this holds (for `requires`: where what is required does not hold).
    pub unmet_where: Condition<String>,
    /// Whether it was written `requires …, or else …`.
    pub requires: bool,
    /// Place on the ladder.
    pub outcome: usize,
    /// Vehicles this line concerns.
    pub concerns: Condition<String>,
    /// Message of this line; empty: the clause's.
    pub message: String,
    /// What the line rests on; empty: what the clause rests on.
    pub basis: Vec<Citation>,
    /// Readings and options the line stands under.
    pub under: Vec<Under>,
    /// Place in the file.
    pub span: Span,
}

/// What a clause gives way to.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum GivesWayTo {
    /// A clause, by id.
    Clause(String),
    /// Any other clause with this outcome: place on the ladder.
    AnyOutcome(usize),
}

/// Kind of consequence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the words in ALL say what each is")]
pub enum ConsequenceKind {
    Extension,
    Waiver,
    FreeRetest,
    FurtherTest,
    Record,
}

impl ConsequenceKind {
    /// All kinds with their words.
    pub const ALL: [(ConsequenceKind, &'static str); 5] = [
        (ConsequenceKind::Extension, "extension"),
        (ConsequenceKind::Waiver, "waiver"),
        (ConsequenceKind::FreeRetest, "free-retest"),
        (ConsequenceKind::FurtherTest, "further-test"),
        (ConsequenceKind::Record, "record"),
    ];

    /// The kind of a word.
    #[must_use]
    pub fn named(word: &str) -> Option<ConsequenceKind> {
        ConsequenceKind::ALL.iter().find(|(_, known)| *known == word).map(|(kind, _)| *kind)
    }

    /// The word as people are told it: what stands in no law is a note.
    #[must_use]
    pub fn spoken(self) -> &'static str {
        if self == ConsequenceKind::Record { "note" } else { self.word() }
    }

    /// The word.
    #[must_use]
    pub fn word(self) -> &'static str {
        ConsequenceKind::ALL.iter().find(|(kind, _)| *kind == self).map_or("", |(_, word)| word)
    }
}

/// What follows a verdict.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Consequence<R: Refer> {
    /// Kind.
    pub kind: ConsequenceKind,
    /// After which outcome: place on the ladder.
    pub after: usize,
    /// Only where this clause is unmet.
    pub by: Option<String>,
    /// Only where no other clause is unmet.
    pub alone: bool,
    /// For which vehicles.
    pub condition: Condition<R>,
    /// In words.
    pub text: String,
}

/// A fact of the table that a presumption may never touch: lamp, codes, monitors, connector.
#[must_use]
pub fn may_not_be_presumed(fact: Fact) -> bool {
    matches!(
        fact,
        Fact::LampCommanded
            | Fact::LampLitKeyOn
            | Fact::LampLitRunning
            | Fact::LampFlashing
            | Fact::StoredCodes
            | Fact::PendingCodes
            | Fact::PermanentCodes
            | Fact::Connector
            | Fact::Monitor(_)
    )
}
