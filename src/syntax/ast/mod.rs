//! The syntax tree: what a program file says, with the place of everything, and nothing resolved. Comments are kept in
//! a list of their own, by place.

mod condition;
mod kind;

pub use condition::*;
pub use kind::*;

use crate::source::{Span, Spanned};

/// A word of the file: a name, a fact, a value.
pub type Word = Spanned<String>;

/// A program file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct File {
    /// Items, in order. Items with errors are left out.
    pub items: Vec<Item>,
    /// Comments, in order, with their `#`.
    pub comments: Vec<Word>,
}

/// A top-level item with its properties.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// The whole item.
    pub span: Span,
    /// Whether it is written `replaces …`.
    pub replaces: Option<Span>,
    /// What it is.
    pub kind: Kind,
    /// Properties, in order. Which belong where is for `check` to say.
    pub properties: Vec<Property>,
}

/// A property of an item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Property {
    /// Its place in the text.
    pub span: Span,
    /// What.
    pub kind: PropertyKind,
}

/// What a property says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PropertyKind {
    /// `authority "…"`
    Authority(Word),
    /// `language 1`
    Language(Spanned<i64>),
    /// `standing checked`
    Standing(Word),
    /// `adopted only`
    AdoptedOnly,
    /// `in force from 2012-07-01`; `from` alone of a period or a change
    From(Word),
    /// `in force through 2019-12-31`
    Through(Word),
    /// `published 2011-08-10`
    Published(Word),
    /// `draft`, `draft of CHANGE`
    Draft {
        /// The announced change that it is part of.
        of: Option<Word>,
    },
    /// `in force during PERIOD`
    InPeriod(Word),
    /// `reviewed 2026-11-25 against "…"`
    Reviewed {
        /// When.
        on: Word,
        /// Against what.
        against: Word,
    },
    /// `could turn A, B into C [where CONDITION]`, of a change
    CouldTurn {
        /// Outcomes it could change.
        could_turn: Vec<Word>,
        /// Into which.
        into: Vec<Word>,
        /// Whom it concerns.
        condition: Option<Condition>,
    },
    /// `every other clause gives way to CLAUSE`, in a reading
    EveryOtherGivesWay(Word),
    /// `only if QUESTION is read as READING`, `only if OPTION is chosen as VALUE`
    OnlyIf {
        /// Question or option.
        name: Word,
        /// Reading or value.
        value: Word,
        /// Whether it is said of an option.
        chosen: bool,
    },
    /// `per SOURCE "locator", secondary` (also `follows from`, the older word in a case)
    Per(Citation),
    /// `concerns CONDITION`
    Concerns(Condition),
    /// `where CONDITION` standing alone
    Where(Condition),
    /// A message, or other free text of the item, without its quotes.
    Message(Word),
    /// `gives way to CLAUSE` or `gives way to any OUTCOME`
    GivesWay(GivesWayTo),
    /// `CLAUSE gives way to …`, in a reading
    OtherGivesWay {
        /// The clause that is set aside.
        from: Word,
        /// To what.
        to: GivesWayTo,
    },
    /// `taken READING`, or `left open`, with a reason
    Taken {
        /// Reading; `none` where it is left open.
        reading: Word,
        /// The reason, in words.
        why: Option<Word>,
    },
    /// `chosen VALUE`
    Chosen(Word),
    /// `with OPTION VALUE`
    With {
        /// Option.
        name: Word,
        /// Value.
        value: Word,
    },
    /// `strikes clause ID` and its like
    Strikes {
        /// `clause`, `limit`, `finding`, `code group`, `question`, `text silent on`, `no rule applied on`, `covers`, `leaves out`, …
        what: Word,
        /// Id or topic, where the kind has one.
        id: Option<Word>,
    },
    /// `their OUTCOME is our OUTCOME`
    TheirIsOur {
        /// The adopted program's outcome.
        their: Word,
        /// Ours.
        our: Word,
    },
    /// `rows from "file.csv"`
    RowsFrom(Word),
    /// `observed by look`
    ObservedBy(Word),
    /// `asks "…"`
    Asks(Word),
    /// `takes 5 through 20 minutes`
    Takes {
        /// From.
        least: Spanned<i64>,
        /// To.
        most: Spanned<i64>,
    },
    /// `first "…"`
    First(Word),
    /// `caution "…"`
    Caution(Word),
    /// `on DATE`, in a case
    On(Word),
    /// `known on DATE`, in a case
    KnownOn(Word),
    /// `take QUESTION READING`, in a case
    Take {
        /// Question or option.
        name: Word,
        /// Reading or value.
        value: Word,
    },
    /// `facts …`, in a case
    Facts(Vec<Assignment>),
    /// `expect OUTCOME [or OUTCOME …] [by CLAUSE]`
    Expect {
        /// Outcomes.
        outcomes: Vec<Word>,
        /// Clause.
        by: Option<Word>,
    },
    /// `brings [no] KIND`, in a case
    Brings {
        /// Whether it does not.
        no: bool,
        /// Kind of consequence.
        kind: Word,
    },
    /// `is [not] due`, in a case
    IsDue {
        /// Whether it is not; the place is that of the property.
        not: bool,
    },
    /// `OUTCOME where CONDITION` or `requires CONDITION, or else OUTCOME`, of a clause with one line
    Line(Line),
    /// `- …`: a bullet with the properties that follow it
    Bullet(Bullet),
}

/// A line of a clause.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Outcome.
    pub outcome: Word,
    /// Condition: what is unmet, or with `requires` what is required.
    pub condition: Condition,
    /// Whether it is written `requires …, or else …`.
    pub requires: bool,
}

/// A bullet of an item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bullet {
    /// What it says.
    pub kind: BulletKind,
    /// Properties that belong to it.
    pub properties: Vec<Property>,
}

/// What a bullet says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BulletKind {
    /// A line of a clause with several.
    Line(Line),
    /// A row of a limit: `model year 1996 through 2000: at most 2 incomplete, only evaporative`
    LimitRow {
        /// Which vehicles.
        condition: Condition,
        /// The allowance.
        allowance: Allowance,
    },
    /// Areas: `"Area A" also "Phoenix area" overlaps "Maricopa"`, or several names
    Areas {
        /// The names, each an area.
        names: Vec<Word>,
        /// Other names of the one area.
        also: Vec<Word>,
        /// Names that lie in part in it.
        partly: Vec<Word>,
    },
    /// `reading ID "…"`
    Reading {
        /// Its id, as the file writes it.
        id: Word,
        /// What it means.
        text: Option<Word>,
    },
    /// A row of a table: `make is "X" and model year 1996: excuses catalyst`
    TableRow {
        /// Which vehicles.
        condition: Condition,
        /// Monitors excused.
        excuses: Vec<Word>,
        /// Codes on the list.
        codes: Vec<CodePattern>,
    },
}

/// The allowance of a limit row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Allowance {
    /// `none incomplete`
    Nothing,
    /// `at most N incomplete`, `at most N incomplete, only M, M`
    AtMost {
        /// How many.
        count: Spanned<i64>,
        /// Which ones.
        only: Option<Vec<Word>>,
    },
    /// `at least N complete`
    AtLeastComplete(Spanned<i64>),
    /// `number not seen`
    NotRead,
}

/// A citation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Citation {
    /// Source.
    pub source: Word,
    /// Locator.
    pub locator: Option<Word>,
    /// How seen, where the line says so.
    pub seen: Option<Word>,
    /// First day on which it is cited.
    pub from: Option<Word>,
    /// Last day on which it is cited.
    pub through: Option<Word>,
    /// The period in which it is cited.
    pub period: Option<Word>,
}

/// What a clause gives way to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum GivesWayTo {
    /// A clause.
    Clause(Word),
    /// Any clause with the outcome.
    AnyOutcome(Word),
}
