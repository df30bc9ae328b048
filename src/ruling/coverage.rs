//! Whether the program concerns the vehicle, in words.

use super::basis::{Basis, Law, laws};
use super::grounds::Ground;
use super::show::{self, FactShown};
use crate::evaluate::{Coverage, Evaluation, Walk, causes_of};
use crate::program::{Citation, Flat, Topic};

/// Whether the program concerns the vehicle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CoverageShown {
    /// `covered`, `not-covered`, `left-out`, `not-in-force` or `undetermined`.
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
        Coverage::NotInForce => (
            "not-in-force",
            format!("No version of this program is in force on {}.", flat.as_of),
            Vec::new(),
            flat.in_force_basis.clone(),
        ),
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

/// The ground of a verdict that coverage alone makes.
pub(super) fn ground(flat: &Flat, coverage: &Coverage, shown: &CoverageShown) -> Option<Ground> {
    let outcome = match coverage {
        Coverage::NotInForce | Coverage::NotCovered { .. } => "not-subject".to_owned(),
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
