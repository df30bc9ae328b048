//! Whether the program concerns the vehicle, in words.

use super::basis::{Basis, Law, laws};
use super::grounds::Ground;
use super::show::{self, FactShown};
use crate::evaluate::{Coverage, Evaluation, Walk, causes_of};
use crate::program::{Citation, Class, Flat, InForce, Topic, Verdict};

/// Whether the program concerns the vehicle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CoverageShown {
    /// `covered`, `not-covered`, `left-out`, `ended`, `no-law-in-file` or `undetermined`.
    pub state: &'static str,
    /// In words.
    pub message: String,
    /// What it turns on, in words.
    pub because: Vec<String>,
    /// The facts it turns on.
    pub facts: Vec<FactShown>,
    /// Citations.
    pub law: Vec<Law>,
    /// The weakest of them.
    pub basis: Basis,
}

/// Coverage as people read it.
pub(super) fn shown(walk: &Walk<'_>, evaluation: &Evaluation) -> CoverageShown {
    let (flat, given) = (walk.flat(), walk.given());
    let holding = || flat.covers.iter().filter(|covers| walk.truth(&covers.item).is_true());
    let (state, message, causes, citations): (_, String, _, Vec<Citation>) = match &evaluation.coverage {
        Coverage::NotInForce => {
            let state = if flat.in_force.is_no_law() { Class::NoLaw.word() } else { "ended" };
            (state, no_version(flat), Vec::new(), flat.in_force_basis.clone())
        }
        Coverage::Covered => {
            let causes = holding().next().map(|covers| causes_of(walk, &covers.item)).unwrap_or_default();
            (
                "covered",
                "The program covers the vehicle.".to_owned(),
                causes.into_iter().collect(),
                holding().next().map(|covers| covers.basis.clone()).unwrap_or_default(),
            )
        }
        Coverage::NotCovered { because } => (
            "not-covered",
            "The program does not cover the vehicle.".to_owned(),
            because.iter().cloned().collect(),
            flat.covers.iter().flat_map(|covers| covers.basis.iter().cloned()).collect(),
        ),
        Coverage::LeftOut { row, because } => {
            let row = flat.left_out.get(*row);
            (
                "left-out",
                row.map_or(String::new(), |row| row.why.clone()),
                because.iter().cloned().collect(),
                row.map_or(Vec::new(), |row| row.basis.clone()),
            )
        }
        Coverage::Undetermined { on } => (
            "undetermined",
            "What is known does not settle whether the program covers the vehicle.".to_owned(),
            on.iter().cloned().collect(),
            flat.covers.iter().flat_map(|covers| covers.basis.iter().cloned()).collect(),
        ),
    };
    let law = laws(&flat.sources, &citations);
    CoverageShown {
        state,
        message,
        because: causes.iter().map(|cause| show::cause(flat, given, cause)).collect(),
        facts: show::facts_among(&causes).iter().map(|fact| show::fact(flat, given, fact)).collect(),
        basis: Basis::of(&law),
        law,
    }
}

/// Why no version is in force, in a sentence.
fn no_version(flat: &Flat) -> String {
    let day = flat.as_of;
    match flat.in_force {
        InForce::Yes => String::new(),
        InForce::Ended { last } => format!("The program ended on {last}."),
        InForce::NotYet { first } => format!("This file's law begins on {first}; it holds none for {day}."),
        InForce::Hole { last, next } => {
            format!("This file holds no law for {day}: one version ends on {last}, the next begins on {next}.")
        }
        InForce::NotSaid => format!("This file holds no law for {day}, and does not say why."),
    }
}

/// The ground of a verdict that coverage alone makes.
pub(super) fn ground(flat: &Flat, coverage: &Coverage, shown: &CoverageShown) -> Option<Ground> {
    let outcome = match coverage {
        Coverage::NotInForce | Coverage::NotCovered { .. } => Verdict::NotSubject.name(flat).to_owned(),
        Coverage::LeftOut { row, .. } => {
            let outcome = flat.left_out.get(*row)?.outcome;
            outcome
                .and_then(|place| flat.outcomes.get(place))
                .map_or("not-subject".to_owned(), |outcome| outcome.name.clone())
        }
        Coverage::Covered | Coverage::Undetermined { .. } => return None,
    };
    Some(Ground {
        clause: shown.state.to_owned(),
        topic: Topic::Other,
        outcome,
        message: shown.message.clone(),
        law: shown.law.clone(),
        basis: shown.basis,
        facts: shown.facts.clone(),
        margins: Vec::new(),
        origin: flat.program.clone(),
        under: Vec::new(),
    })
}
