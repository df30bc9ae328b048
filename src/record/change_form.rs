//! The form of announced changes in the JSON of a ruling.

use super::form::{LawForm, laws};
use crate::ruling::ChangeShown;
use serde::Serialize;

/// An announced change.
#[derive(Serialize)]
pub(super) struct ChangeForm<'a> {
    change: &'a str,
    kind: &'static str,
    text: &'a str,
    from: Option<String>,
    could_turn: &'a [String],
    into: &'a [String],
    concerns: &'static str,
    law: Vec<LawForm<'a>>,
    basis: String,
}

/// The form of a change.
pub(super) fn change_form(change: &ChangeShown) -> ChangeForm<'_> {
    ChangeForm {
        change: &change.id,
        kind: change.kind.word(),
        text: &change.text,
        from: change.from.map(|day| day.to_string()),
        could_turn: &change.could_turn,
        into: &change.into,
        concerns: if change.surely { "surely" } else { "perhaps" },
        law: laws(&change.law),
        basis: change.basis.words(),
    }
}
