//! What goes with a verdict without changing it: consequences, what is not expressible, presumptions used.

use super::basis::{Basis, Law, laws};
use super::judge::asked;
use super::prospect::answered;
use super::show;
use crate::evaluate::{Bound, Evaluation, Truth, Walk};
use crate::model::Observer;
use crate::program::block::{ConsequenceKind, Presumed};
use crate::program::flat::Presumption;
use crate::program::{FactRef, Verdict};
use std::collections::BTreeSet;

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
    /// Path of the fact in the snapshot document.
    pub key: String,
    /// The same as a condition, for a sentence that says *if*: `purpose is renewal`.
    pub provided: String,
    /// Who can tell whether it is so.
    pub observer: Observer,
    /// Whether the possible outcomes rest on it: those marked, and no others, lead to the same ones.
    pub turns: bool,
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
pub(super) fn presumptions(walk: &Walk<'_>, turning: &BTreeSet<usize>) -> Vec<PresumptionShown> {
    let flat = walk.flat();
    let used = walk.given().presumed.iter().filter_map(|place| flat.presumptions.get(*place).map(|it| (*place, it)));
    used.map(|(place, presumption)| {
        let law = laws(&flat.sources, &presumption.basis);
        let provided = match presumption.value {
            Presumed::NotListed(_) => format!("the vehicle is {}", presumption.shown),
            _ => {
                let shown = show::fact(flat, walk.given(), &presumption.fact);
                match presumption.fact {
                    FactRef::Declared(_) => answered(flat, &presumption.fact, &shown),
                    FactRef::Known(_) => shown.phrase,
                }
            }
        };
        PresumptionShown {
            text: presumed(walk, place, presumption),
            key: show::key(flat, &presumption.fact),
            provided,
            observer: asked(flat, &presumption.fact).1,
            turns: turning.contains(&place),
            basis: Basis::of(&law),
            law,
        }
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
