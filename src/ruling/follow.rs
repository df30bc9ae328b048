//! What goes with a verdict without changing it: consequences, whether the vehicle is due, what is not expressible,
//! presumptions used.

use super::basis::{Basis, Law, laws};
use super::show;
use crate::evaluate::{Bound, Coverage, Evaluation, Truth, Walk};
use crate::program::block::ConsequenceKind;
use crate::program::flat::Presumption;
use crate::program::{Citation, Verdict};

/// Whether something follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// It follows.
    Open,
    /// It does not.
    Closed,
    /// Not determined by what is known.
    NotKnown,
}

impl Standing {
    /// In a word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Standing::Open => "open",
            Standing::Closed => "closed",
            Standing::NotKnown => "not known",
        }
    }

    fn of(truth: Truth) -> Standing {
        match truth {
            Truth::True => Standing::Open,
            Truth::Unknown => Standing::NotKnown,
            Truth::False => Standing::Closed,
        }
    }
}

/// What follows a verdict.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConsequenceShown {
    /// Kind.
    pub kind: ConsequenceKind,
    /// After which outcome.
    pub after: String,
    /// In words.
    pub text: String,
    /// Whether it follows.
    pub state: Standing,
    /// Citations.
    pub law: Vec<Law>,
    /// The weakest of them.
    pub basis: Basis,
}

/// Whether the vehicle is due for a test.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Due {
    /// It is.
    Yes,
    /// It is not.
    No,
    /// Not determined by what is known.
    NotKnown,
    /// The program does not say.
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
    /// Citations of these.
    pub law: Vec<Law>,
}

/// What is not expressible and touches the vehicle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoteShown {
    /// In words.
    pub text: String,
    /// Whether it surely concerns the vehicle, or only may.
    pub surely: bool,
    /// Outcomes it could change.
    pub could_turn: Vec<String>,
    /// Into which.
    pub into: Vec<String>,
    /// Citations.
    pub law: Vec<Law>,
}

/// A presumption that was used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PresumptionShown {
    /// What was presumed, in words.
    pub text: String,
    /// Citations.
    pub law: Vec<Law>,
    /// The weakest of them.
    pub basis: Basis,
}

/// What follows the verdict: everything whose outcome is possible.
pub(super) fn consequences(walk: &Walk<'_>, evaluation: &Evaluation, possible: Bound) -> Vec<ConsequenceShown> {
    let flat = walk.flat();
    let mut list = Vec::new();
    for rule in &flat.consequences {
        let after = Verdict::Outcome(rule.item.after);
        if !possible.contains(after) {
            continue;
        }
        let mut truth = Truth::between(possible.single() == Some(after), true);
        let unmet_of = |wanted: &dyn Fn(&str) -> bool| {
            let lines = flat.lines.iter().zip(&evaluation.lines).filter(|(line, _)| wanted(&line.clause));
            lines.fold(Truth::False, |found, (_, record)| found.or(record.unmet))
        };
        if let Some(by) = &rule.item.by {
            truth = truth.and(unmet_of(&|clause| clause == by));
            if rule.item.alone {
                truth = truth.and(unmet_of(&|clause| clause != by).negated());
            }
        }
        truth = truth.and(walk.truth(&rule.item.condition));
        let law = laws(&flat.sources, &rule.basis);
        list.push(ConsequenceShown {
            kind: rule.item.kind,
            after: after.name(flat).to_owned(),
            text: rule.item.text.clone(),
            state: Standing::of(truth),
            basis: Basis::of(&law),
            law,
        });
    }
    list
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
        return DueShown { due: Due::NotSaid, why: Vec::new(), law: Vec::new() };
    }
    let mut shown = due_if_asked(walk);
    let perhaps_not = matches!(evaluation.coverage, Coverage::Undetermined { .. })
        && evaluation.possible.contains(Verdict::NotSubject);
    if shown.due == Due::Yes && perhaps_not {
        shown.due = Due::NotKnown;
    }
    shown
}

/// Whether the rules on what is due hold of the vehicle, whether or not the program concerns it.
pub(super) fn due_if_asked(walk: &Walk<'_>) -> DueShown {
    let flat = walk.flat();
    if flat.due.is_empty() || !flat.in_force.is_yes() {
        return DueShown { due: Due::NotSaid, why: Vec::new(), law: Vec::new() };
    }
    let truth = flat.due.iter().fold(Truth::False, |found, (rule, _)| found.or(walk.truth(&rule.item)));
    let bearing = || flat.due.iter().filter(|(rule, _)| walk.truth(&rule.item) == truth);
    let citations: Vec<Citation> = bearing().flat_map(|(rule, _)| rule.basis.iter().cloned()).collect();
    let due = match truth {
        Truth::True => Due::Yes,
        Truth::False => Due::No,
        Truth::Unknown => Due::NotKnown,
    };
    DueShown {
        due,
        why: bearing().map(|(_, why)| why.clone()).filter(|why| !why.is_empty()).collect(),
        law: laws(&flat.sources, &citations),
    }
}

/// What is not expressible, concerns the vehicle or may, and could change a possible verdict.
pub(super) fn notes(walk: &Walk<'_>, possible: Bound) -> Vec<NoteShown> {
    let flat = walk.flat();
    let names: Vec<&str> = possible.iter().map(|verdict| verdict.name(flat)).collect();
    let mut list = Vec::new();
    for note in &flat.notes {
        let concerned = walk.truth(&note.concerns);
        let could = note.could_turn.is_empty() || note.could_turn.iter().any(|name| names.contains(&name.as_str()));
        if flat.in_force.is_yes() && could && !concerned.is_false() {
            list.push(NoteShown {
                text: note.text.clone(),
                surely: concerned.is_true(),
                could_turn: note.could_turn.clone(),
                into: note.into.clone(),
                law: laws(&flat.sources, &note.basis),
            });
        }
    }
    list
}

/// Presumptions that were used.
pub(super) fn presumptions(walk: &Walk<'_>) -> Vec<PresumptionShown> {
    let flat = walk.flat();
    let used = walk.given().presumed.iter().filter_map(|place| flat.presumptions.get(*place).map(|it| (*place, it)));
    used.map(|(place, presumption)| {
        let law = laws(&flat.sources, &presumption.basis);
        PresumptionShown { text: presumed(walk, place, presumption), basis: Basis::of(&law), law }
    })
    .collect()
}

/// A presumption in words, `hybrid is presumed no`.
pub(super) fn presumed(walk: &Walk<'_>, place: usize, presumption: &Presumption) -> String {
    if walk.given().is_unlisted_by(place) {
        format!("the vehicle is presumed {}", presumption.shown)
    } else {
        format!("{} is presumed {}", show::name(walk.flat(), &presumption.fact), presumption.shown)
    }
}
