//! The ruling as pure data.

use super::{
    AdviceShown, Basis, ChangeShown, ConsequenceShown, CoverageShown, DueShown, ExcusedShown, FactShown, Ground,
    LampShown, Lean, NoteShown, PresumptionShown, QuestionShown, ReadinessShown, TraceLine, VerdictShown,
};
use crate::model::{Date, Observer, Snapshot};
use crate::program::{Class, Topic};

/// A ruling: advice. The official inspection decides.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ruling {
    /// Id of the program.
    pub program: String,
    /// Title of the program.
    pub title: String,
    /// The date whose law applies.
    pub as_of: Date,
    /// The date of the visit.
    pub test_date: Date,
    /// Law as it had been published by this date.
    pub known_on: Option<Date>,
    /// Version of this crate.
    pub engine: &'static str,
    /// Name of the one possible verdict, `not-subject`, or `undecided`.
    pub verdict: String,
    /// The common class of the possible verdicts, else undecided.
    pub class: Class,
    /// The possible verdicts, not-subject first, then from the least grave.
    pub possible: Vec<VerdictShown>,
    /// Whether `possible` is the exact set. Otherwise it is a bound: it may hold verdicts that no vehicle gets.
    pub exact: bool,
    /// The single outcome if every unknown fact with a sound value has it.
    pub provided: Option<Provided>,
    /// Topics whose text exists, was not seen, and could still make the outcome graver: it is then one *so far as read*.
    /// Topics that the vehicle's readings make moot are left out.
    pub so_far_as_read: Vec<Topic>,
    /// The malfunction lamp, if it is on.
    pub lamp: Option<LampShown>,
    /// The vehicle in a line, if anything names it.
    pub identity: Option<String>,
    /// How it stands to the limit on incomplete monitors, where one number is the limit.
    pub readiness: Option<ReadinessShown>,
    /// Monitors left out of the count that are or may be incomplete.
    pub excused: Option<ExcusedShown>,
    /// Whether the program concerns the vehicle, and why.
    pub coverage: CoverageShown,
    /// What stands against the vehicle: unmet clause lines not set aside, the gravest first; of a vehicle that the
    /// program does not concern or leaves out, that.
    pub grounds: Vec<Ground>,
    /// Clauses that decide in every case that is still possible; of a bound, those that surely do.
    pub deciding: Vec<String>,
    /// For each outcome that is possible besides, the clauses that may bring it.
    pub alternatives: Vec<Alternative>,
    /// Known facts that alone lead to the verdict; none of them can be dropped.
    pub sufficient: Vec<FactShown>,
    /// Facts not known that still matter.
    pub unknown: Vec<UnknownShown>,
    /// Questions whose reading matters.
    pub questions: Vec<QuestionShown>,
    /// Parts that the ruling leans on and that rest on weak texts.
    pub weak: Vec<Lean>,
    /// The weakest text that the ruling leans on, weak or not; `None` where it leans on no part of the program.
    pub weakest: Option<Basis>,
    /// What is not expressible and touches this vehicle.
    pub notes: Vec<NoteShown>,
    /// Announced changes that could turn a possible outcome.
    pub changes: Vec<ChangeShown>,
    /// Presumptions used.
    pub presumptions: Vec<PresumptionShown>,
    /// Options with the values they stand at.
    pub options: Vec<(String, String)>,
    /// What follows the verdict.
    pub consequences: Vec<ConsequenceShown>,
    /// Whether the vehicle is due.
    pub due: DueShown,
    /// What usually completes the monitors that matter.
    pub advice: Vec<AdviceShown>,
    /// Cautions; given whenever there is something left to do.
    pub cautions: Vec<&'static str>,
    /// Every clause line with its state and why.
    pub trace: Vec<TraceLine>,
    /// What was assumed of the request itself.
    pub remarks: Vec<String>,
    /// The snapshot ruled on.
    pub snapshot: Snapshot,
}

impl Ruling {
    /// The presumptions that the possible outcomes rest on, each as a condition: `purpose is renewal`.
    #[must_use]
    pub fn supposed(&self) -> Vec<&str> {
        self.presumptions.iter().filter(|one| one.turns).map(|one| one.provided.as_str()).collect()
    }
}

/// The single outcome, if facts that are not known are sound.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Provided {
    /// The outcome.
    pub verdict: VerdictShown,
    /// The facts with the sound values they must have; none of them can be dropped.
    pub facts: Vec<FactShown>,
}

/// Clauses that may bring an outcome.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alternative {
    /// The outcome, before any relabelling.
    pub outcome: String,
    /// The clauses.
    pub clauses: Vec<String>,
}

/// A fact that is not known and matters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnknownShown {
    /// Path in the snapshot document.
    pub key: String,
    /// Name in words.
    pub name: String,
    /// The question to put to a person.
    pub question: String,
    /// Who can tell.
    pub observer: Observer,
}
