//! One flat program: what a date, a known-on date, readings and options select. The kernel of the language's meaning:
//!
//! A vehicle is first covered or left out. A line is *unmet* on a vehicle if the vehicle is covered, the line concerns
//! it, and its condition says so. A line is *set aside* if a line it gives way to is unmet and not itself set aside
//! (the relation is acyclic, which `check` has made sure of). The verdict is the gravest outcome, by the ladder, of the
//! unmet lines not set aside; with none, the ladder's first outcome. After that, outcomes may *become* others; it is the
//! outcome that is relabelled, so that of a vehicle left out with an outcome on the ladder is too.

use super::block::{Allowance, ChangeKind, Consequence, DeclaredFact, Excused, Interval, Origin, Presumed, Turn};
use super::{Areas, Citation, Condition, Dated, FactRef, Outcome, Source, Topic};
use crate::model::{CodeGroup, CodeRange, Date, MonitorSet, TroubleCode};
use std::sync::Arc;

/// A flat program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flat {
    /// Id of the program.
    pub program: String,
    /// Title of the program.
    pub title: String,
    /// The date whose law applies.
    pub as_of: Date,
    /// The date of the visit: ages and windows are counted from it.
    pub test_date: Date,
    /// Law as it had been published by this date.
    pub known_on: Option<Date>,
    /// Whether a version is in force. With none no vehicle is subject: the program has ended, or the file holds no law
    /// for the date.
    pub in_force: InForce,
    /// Basis of the dates in force; where none is, of the dates that say so.
    pub in_force_basis: Vec<Citation>,
    /// Sources that citations point into.
    pub sources: Vec<Source>,
    /// The ladder.
    pub outcomes: Vec<Outcome>,
    /// Declared facts.
    pub facts: Vec<DeclaredFact>,
    /// The areas that the program knows.
    pub areas: Arc<Areas>,
    /// Questions: [`super::Test::Reading`] points here.
    pub questions: Vec<FlatQuestion>,
    /// Code groups.
    pub groups: Vec<(String, CodeGroup)>,
    /// Named conditions; a condition refers only to those before it in this list.
    pub findings: Vec<(String, Condition<usize>)>,
    /// Tables.
    pub tables: Vec<FlatTable>,
    /// Counted monitors: a monitor counts if any rule whose condition holds names it and no excuse does.
    pub counts: Vec<CountRule>,
    /// Monitors left out of the count.
    pub excuses: Vec<Excuse>,
    /// Limits.
    pub limits: Vec<Limit>,
    /// Vehicles covered: any of these.
    pub covers: Vec<Based<Condition<usize>>>,
    /// Vehicles left out although covered. Where several hold, an outcome on the ladder stands before not-subject, and
    /// the gravest first.
    pub left_out: Vec<LeftOut>,
    /// When due: any of these; empty: the program does not say.
    pub due: Vec<DueRule>,
    /// Clause lines.
    pub lines: Vec<Line>,
    /// Topics on which the text is silent or was not read.
    pub silences: Vec<Silence>,
    /// Relabellings after the ladder and of outcomes of left-out rows; where several hold, the gravest new one stands.
    pub becomes: Vec<Becomes>,
    /// What follows verdicts.
    pub consequences: Vec<Based<Consequence<usize>>>,
    /// What is not expressible.
    pub notes: Vec<Note>,
    /// Announced changes that concern the date.
    pub changes: Vec<Change>,
    /// Presumptions.
    pub presumptions: Vec<Presumption>,
    /// How ages are counted, by reading: the years added to test year less model year. Advice alone still asks.
    pub ages: Vec<(Condition<usize>, i64)>,
    /// Options with the value they stand at, for the ruling.
    pub options: Vec<(String, String)>,
}

impl Flat {
    /// What a test that the date of the visit settles comes to in this program.
    #[must_use]
    pub fn settled(&self, dated: Dated) -> Condition<usize> {
        super::select::settled(dated, self.test_date, &self.ages)
    }

    /// Whether two flat programs differ in nothing but their dates. What the date decides was decided by selection, so that
    /// they then mean the same.
    #[must_use]
    pub fn says_the_same(&self, other: &Flat) -> bool {
        let dated = Flat { as_of: other.as_of, test_date: other.test_date, ..self.clone() };
        dated == *other
    }

    /// A program without any rule, in force on a day that is the visit's too.
    #[must_use]
    pub fn bare(program: &str, title: &str, day: Date) -> Flat {
        Flat {
            program: program.to_owned(),
            title: title.to_owned(),
            as_of: day,
            test_date: day,
            known_on: None,
            in_force: InForce::Yes,
            in_force_basis: Vec::new(),
            sources: Vec::new(),
            outcomes: Vec::new(),
            facts: Vec::new(),
            areas: Arc::default(),
            questions: Vec::new(),
            groups: Vec::new(),
            findings: Vec::new(),
            tables: Vec::new(),
            counts: Vec::new(),
            excuses: Vec::new(),
            limits: Vec::new(),
            covers: Vec::new(),
            left_out: Vec::new(),
            due: Vec::new(),
            lines: Vec::new(),
            silences: Vec::new(),
            becomes: Vec::new(),
            consequences: Vec::new(),
            notes: Vec::new(),
            changes: Vec::new(),
            presumptions: Vec::new(),
            ages: Vec::new(),
            options: Vec::new(),
        }
    }
}

/// Whether a version of the program is in force on the date whose law applies, and if none is, what the file says of it.
/// A program that has ended asks nothing of anybody; where the file merely holds no law for the date, nothing is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum InForce {
    /// A version is in force.
    Yes,
    /// The program has ended; a text is cited for it.
    Ended {
        /// Its last day.
        last: Date,
    },
    /// The first version of the file begins later.
    NotYet {
        /// Its first day.
        first: Date,
    },
    /// One version has ended and the next begins later.
    Hole {
        /// Last day of the one.
        last: Date,
        /// First day of the next.
        next: Date,
    },
    /// The file does not say: it has no version at all, or cites nothing for the end of its last one.
    NotSaid,
}

impl InForce {
    /// Whether a version is in force.
    #[must_use]
    pub fn is_yes(self) -> bool {
        self == InForce::Yes
    }

    /// Whether the file holds no law for the date, so that it cannot even say that a vehicle is not subject.
    #[must_use]
    pub fn is_no_law(self) -> bool {
        !matches!(self, InForce::Yes | InForce::Ended { .. })
    }
}

/// A thing with what it rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Based<T> {
    /// The thing.
    pub item: T,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
    /// Where it was written.
    pub origin: Origin,
}

/// A question in a flat program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FlatQuestion {
    /// Its id, as the file writes it.
    pub id: String,
    /// The question.
    pub text: String,
    /// Readings.
    pub readings: Vec<String>,
    /// The reading taken; `None`: open, all stay possible.
    pub taken: Option<usize>,
}

/// A table in a flat program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FlatTable {
    /// Its id, as the file writes it.
    pub id: String,
    /// Rows.
    pub rows: Vec<FlatRow>,
}

/// A row of a flat table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FlatRow {
    /// Which vehicles.
    pub condition: Condition<usize>,
    /// Monitors left out of the count.
    pub excused: MonitorSet,
    /// Codes on the vehicle's list.
    pub codes: Vec<CodeRange>,
}

impl FlatRow {
    /// Whether the code is on the list of the row; a code of other than two bytes is on none.
    #[must_use]
    pub fn has_code(&self, code: TroubleCode) -> bool {
        code.two_bytes().is_some_and(|code| self.codes.iter().any(|range| range.contains(code)))
    }
}

/// A rule of the count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountRule {
    /// When it applies (a reading that is open).
    pub condition: Condition<usize>,
    /// Which monitors.
    pub monitors: MonitorSet,
    /// Whether an unsupported one counts as incomplete.
    pub unsupported_as_incomplete: bool,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
}

/// Monitors left out of the count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Excuse {
    /// For which vehicles.
    pub condition: Condition<usize>,
    /// Which monitors; a table by its place.
    pub which: FlatExcused,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
    /// Where it was written.
    pub origin: Origin,
}

/// Which monitors an excuse names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FlatExcused {
    /// These.
    Monitors(MonitorSet),
    /// Each monitor incomplete at the earlier test.
    EarlierIncomplete,
    /// Those a table excuses for the vehicle.
    Table(usize),
}

impl FlatExcused {
    /// The flat form, tables resolved by `place`.
    pub fn of(excused: &Excused, place: impl Fn(&str) -> Option<usize>) -> Option<FlatExcused> {
        match excused {
            Excused::Monitors(set) => Some(FlatExcused::Monitors(*set)),
            Excused::EarlierIncomplete => Some(FlatExcused::EarlierIncomplete),
            Excused::Table(id) => place(id).map(FlatExcused::Table),
        }
    }
}

/// A limit. A vehicle is *within* it if a row's condition holds and the row allows it; *over* it if a row's condition
/// holds and the row does not. Of a vehicle that no row concerns both are false (`check` reports the hole). A row that
/// was not read allows an unknown number, 0 to all; with none incomplete the vehicle is within it whatever it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limit {
    /// Its id, as the file writes it.
    pub id: String,
    /// Rows.
    pub rows: Vec<FlatLimitRow>,
}

/// A row of a flat limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FlatLimitRow {
    /// Which vehicles.
    pub condition: Condition<usize>,
    /// The limit.
    pub limit: Allowance,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
    /// Where it was written.
    pub origin: Origin,
}

/// Vehicles left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// Which.
    pub condition: Condition<usize>,
    /// Place on the ladder, or `None` for not-subject.
    pub outcome: Option<usize>,
    /// The reason, in words.
    pub why: String,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
    /// Where it was written.
    pub origin: Origin,
}

/// One line of a clause.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Id of the clause; several lines may share it.
    pub clause: String,
    /// The topic it is about.
    pub topic: Topic,
    /// Vehicles it concerns (readings it stands under included).
    pub concerns: Condition<usize>,
    /// It is unmet where this holds.
    pub unmet_where: Condition<usize>,
    /// Whether it was written `requires …, or else …`.
    pub requires: bool,
    /// Place on the ladder.
    pub outcome: usize,
    /// What a person is told.
    pub message: String,
    /// Lines it gives way to, with the reading under which it does.
    pub gives_way: Vec<(usize, Condition<usize>)>,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
    /// Where it was written.
    pub origin: Origin,
}

/// A topic without a clause.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Silence {
    /// The topic it is about.
    pub topic: Topic,
    /// The text exists and was not seen: a pass is then marked *so far as read*.
    pub unread: bool,
    /// When (a reading that is open).
    pub condition: Condition<usize>,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
}

/// A relabelling.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Becomes {
    /// Which outcome.
    pub from: usize,
    /// Into which.
    pub to: usize,
    /// For which vehicles.
    pub condition: Condition<usize>,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
}

/// What is not expressible.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// In words.
    pub text: String,
    /// Whom it concerns.
    pub concerns: Condition<usize>,
    /// Outcomes it could change, by name.
    pub could_turn: Vec<String>,
    /// Into which.
    pub into: Vec<String>,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
}

/// When a vehicle is due.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueRule {
    /// Which vehicles.
    pub condition: Condition<usize>,
    /// How long after the previous test; `None`: whenever the condition holds.
    pub every: Option<Interval>,
    /// In words.
    pub why: String,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
    /// Where it was written.
    pub origin: Origin,
}

/// A change that was announced.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Its id, as the file writes it.
    pub id: String,
    /// How far it has come.
    pub kind: ChangeKind,
    /// In words.
    pub text: String,
    /// The day it is announced for; `None`: not said.
    pub from: Option<Date>,
    /// What it could turn; empty: the file does not say.
    pub turns: Vec<Turn<usize>>,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
    /// Where it was written.
    pub origin: Origin,
}

/// A presumption.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Presumption {
    /// Which fact.
    pub fact: FactRef<usize>,
    /// Value.
    pub value: Presumed,
    /// Value for people.
    pub shown: String,
    /// It is presumed only where this surely holds of what is reported, tests of single facts, judged each by itself; what
    /// other presumptions fill in is not looked at, so that their order means nothing.
    pub condition: Condition<usize>,
    /// The citations it rests on.
    pub basis: Vec<Citation>,
}
