//! Facts set to values in their normal forms.

use super::condition::amount;
use super::piece::{Pieces, quoted};
use crate::syntax::ast::{Assignment, AssignmentKind};

/// Facts with `;` between.
pub(super) fn assignments(pieces: &mut Pieces, assignments: &[Assignment]) {
    for (at, one) in assignments.iter().enumerate() {
        if at > 0 {
            pieces.mark(";");
        }
        assignment(pieces, one);
    }
}

/// One fact.
pub(super) fn assignment(pieces: &mut Pieces, one: &Assignment) {
    let span = one.span;
    match &one.kind {
        AssignmentKind::OtherwiseOrdinary => pieces.at("otherwise ordinary", span),
        AssignmentKind::SoundCar => pieces.at("sound car", span),
        AssignmentKind::Sound => pieces.at("sound", span),
        AssignmentKind::Phrase(phrase) => pieces.at(phrase, span),
        AssignmentKind::Is { subject, value } => pieces.at(&format!("{} is {}", subject.node, value.node), span),
        AssignmentKind::IsText { subject, value } => {
            pieces.at(&format!("{} is {}", subject.node, quoted(&value.node)), span);
        }
        AssignmentKind::Number { subject, amount: value } => {
            pieces.at(&format!("{} {}", subject.node, amount(&value.node)), span);
        }
        AssignmentKind::Monitors { what, monitors } => {
            pieces.lead(&format!("{}:", what.node));
            if monitors.is_empty() {
                pieces.at("none", span);
            }
            pieces.list(monitors);
        }
        AssignmentKind::Codes { list, codes, at_least: _ } if codes.is_empty() => {
            pieces.at(&format!("no {}", list.node), span);
        }
        AssignmentKind::Codes { list, codes, at_least } => {
            let least = if *at_least { " at least" } else { "" };
            pieces.lead(&format!("{}s{least}", list.node));
            pieces.list(codes);
        }
        AssignmentKind::NotKnown { subject } => pieces.at(&format!("{} not known", subject.node), span),
        AssignmentKind::NotOnVehicle { subject } => pieces.at(&format!("{} not on this vehicle", subject.node), span),
        AssignmentKind::NotListed { table } => pieces.at(&format!("not listed in {}", table.node), span),
    }
}
