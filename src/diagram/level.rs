//! What a level of a diagram stands for, and its classes: groups of values that every test of the programs treats alike.

use crate::model::{Fact, Monitor};
use crate::program::FactRef;
use crate::program::block::DeclaredType;
use crate::program::{Flat, flat::FlatLimitRow};

/// What a level stands for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Var {
    /// An open question: which reading is meant.
    Question {
        /// Its id, as the file writes it.
        id: String,
        /// Readings.
        readings: Vec<String>,
    },
    /// Make, model and engine together: which conditions on them hold.
    Listed,
    /// A fact of the table: yes/no, words, number, date, text.
    Known(Fact),
    /// A fact that a program declares.
    Declared {
        /// Name.
        name: String,
        /// Its type, spelled, so that two programs share the level only where they mean the same.
        kind: String,
    },
    /// Whether the unread codes of a group belong to it.
    UnreadCodes(String),
    /// Whether the vehicle has this list of codes at all.
    Present(Fact),
    /// Whether a list holds a code of an atom (place in the list's atoms).
    Holds(Fact, usize),
    /// The number that a limit row, which was not read, allows.
    UnreadLimit {
        /// Program that wrote the row.
        program: String,
        /// Where the row begins in that file.
        at: u32,
        /// Limit and row, for rows built without a file.
        row: String,
    },
    /// Whether a monitor is in a set.
    Member(Fact, Monitor),
}

impl Var {
    /// The level of a declared fact.
    #[must_use]
    pub fn declared(flat: &Flat, place: usize) -> Option<Var> {
        let fact = flat.facts.get(place)?;
        let kind = match &fact.kind {
            DeclaredType::YesNo => "yes/no".to_owned(),
            DeclaredType::Words(words) => words.join(", "),
            DeclaredType::Number { unit, least, most } => format!("{least} through {most} {}", unit.word()),
        };
        Some(Var::Declared { name: fact.name.clone(), kind })
    }

    /// The level of a fact of either kind.
    #[must_use]
    pub fn of(flat: &Flat, fact: &FactRef<usize>) -> Option<Var> {
        match fact {
            FactRef::Known(fact) => Some(Var::Known(*fact)),
            FactRef::Declared(place) => Var::declared(flat, *place),
        }
    }

    /// The level of a limit row that was not read.
    #[must_use]
    pub fn unread_limit(limit: &str, place: usize, row: &FlatLimitRow) -> Var {
        Var::UnreadLimit {
            program: row.origin.program.clone(),
            at: row.origin.span.start,
            row: format!("{limit} row {}", place + 1),
        }
    }

    /// The level of a question.
    #[must_use]
    pub fn question(flat: &Flat, place: usize) -> Option<Var> {
        let question = flat.questions.get(place)?;
        Some(Var::Question { id: question.id.clone(), readings: question.readings.clone() })
    }

    /// The fact of the table that the level tells something about.
    #[must_use]
    pub fn fact(&self) -> Option<Fact> {
        match self {
            Var::Known(fact) | Var::Present(fact) | Var::Holds(fact, _) | Var::Member(fact, _) => Some(*fact),
            Var::Question { .. }
            | Var::Listed
            | Var::Declared { .. }
            | Var::UnreadCodes(_)
            | Var::UnreadLimit { .. } => None,
        }
    }

    /// Whether it is no fact of the vehicle but something about the text that nobody at the visit can find out.
    #[must_use]
    pub fn is_of_the_text(&self) -> bool {
        matches!(self, Var::Question { .. } | Var::UnreadCodes(_) | Var::UnreadLimit { .. })
    }

    /// Where the level stands in the order: what is read once on top, monitors below, each beside its earlier state.
    pub(crate) fn rank(&self) -> (u8, u8) {
        match self {
            Var::Question { .. } => (0, 0),
            Var::Listed => (1, 0),
            Var::Known(Fact::Monitor(monitor)) => (6, monitor.index()),
            Var::Known(Fact::EarlierIncompleteCount) => (5, 0),
            Var::Known(_) => (2, 0),
            Var::Declared { .. } => (2, 1),
            Var::UnreadCodes(_) => (3, 0),
            Var::Present(_) | Var::Holds(..) => (3, 1),
            Var::UnreadLimit { .. } => (4, 0),
            Var::Member(_, monitor) => (6, monitor.index()),
        }
    }
}

/// The value that stands for a class in tests and in example vehicles.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sample {
    /// Not on this vehicle.
    Absent,
    /// One word, as its bit.
    Word(u64),
    /// A number in base units, or a day number.
    Number(i64),
    /// A text.
    Text(String),
    /// Make, model and engine.
    Listed([String; 3]),
    /// Yes or no (a code of the atom, a member, present).
    Truth(bool),
    /// A reading, or the number that an unread row allows.
    Place(usize),
}

/// What a class holds.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Members {
    /// Words as a mask, absence ([`crate::model::facts::ABSENT`]) included.
    Words(u64),
    /// Numbers: runs in base units, both ends included; only even or odd ones; and absence.
    Numbers {
        /// Runs.
        runs: Vec<(i64, i64)>,
        /// Only even ones, or only odd ones.
        even: Option<bool>,
        /// Whether the class also holds *not on this vehicle*.
        absent: bool,
    },
    /// Texts: those named, or all but those.
    Texts {
        /// The texts.
        named: Vec<String>,
        /// Whether the class holds every other text too.
        others: bool,
    },
    /// Conditions on make, model and engine that hold, as places in the list of such conditions.
    Units(Vec<usize>),
    /// Just the sample.
    Same,
}

/// One class of a level.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Class {
    /// The value that stands for it.
    pub sample: Sample,
    /// What it holds.
    pub members: Members,
    /// How many values it holds.
    pub size: u64,
    /// How unusual it is: 0 for what an ordinary vehicle shows.
    pub cost: u32,
}

impl Class {
    pub(crate) fn truth(value: bool) -> Class {
        Class { sample: Sample::Truth(value), members: Members::Same, size: 1, cost: u32::from(value) * 2 }
    }

    pub(crate) fn place(place: usize) -> Class {
        let cost = u32::from(place != 0);
        Class { sample: Sample::Place(place), members: Members::Same, size: 1, cost }
    }
}

/// A level with its classes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Level {
    /// What it stands for.
    pub var: Var,
    /// Its classes, at least two.
    pub classes: Vec<Class>,
}
