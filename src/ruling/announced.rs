//! Announced changes that could turn what a ruling says.

use super::basis::{Basis, Law, laws};
use crate::evaluate::{Bound, Walk};
use crate::model::Date;
use crate::program::block::ChangeKind;

/// A change that was announced and could turn a possible outcome.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChangeShown {
    /// Id.
    pub id: String,
    /// How far it has come.
    pub kind: ChangeKind,
    /// In words.
    pub text: String,
    /// The day it is announced for; `None`: not said.
    pub from: Option<Date>,
    /// Possible outcomes that it could turn.
    pub could_turn: Vec<String>,
    /// Into which.
    pub into: Vec<String>,
    /// Whether what it turns is surely the vehicle's case, or only may be.
    pub surely: bool,
    /// Whether it could lead to a graver outcome.
    pub stricter: bool,
    /// Whether it could lead to a milder outcome.
    pub milder: bool,
    /// Citations.
    pub law: Vec<Law>,
    /// The weakest of them.
    pub basis: Basis,
}

/// The changes announced for the date that could turn a possible outcome of this vehicle.
pub(super) fn changes(walk: &Walk<'_>, possible: Bound) -> Vec<ChangeShown> {
    let flat = walk.flat();
    let names: Vec<&str> = possible.iter().map(|verdict| verdict.name(flat)).collect();
    let rank = |name: &String| flat.outcomes.iter().position(|outcome| outcome.name == *name);
    let mut list = Vec::new();
    for change in &flat.changes {
        let law = laws(&flat.sources, &change.basis);
        let mut shown = ChangeShown {
            id: change.id.clone(),
            kind: change.kind,
            text: change.text.clone(),
            from: change.from,
            could_turn: Vec::new(),
            into: Vec::new(),
            surely: false,
            stricter: false,
            milder: false,
            basis: Basis::of(&law),
            law,
        };
        for turn in &change.turns {
            let truth = walk.truth(&turn.concerns);
            let turned: Vec<&String> = turn.could_turn.iter().filter(|name| names.contains(&name.as_str())).collect();
            if truth.is_false() || turned.is_empty() {
                continue;
            }
            shown.surely |= truth.is_true();
            for into in &turn.into {
                shown.stricter |= turned.iter().any(|name| rank(name) < rank(into));
                shown.milder |= turned.iter().any(|name| rank(name) > rank(into));
            }
            add(&mut shown.could_turn, turned.into_iter());
            add(&mut shown.into, turn.into.iter());
        }
        if !shown.could_turn.is_empty() {
            list.push(shown);
        }
    }
    list
}

fn add<'n>(list: &mut Vec<String>, names: impl Iterator<Item = &'n String>) {
    for name in names {
        if !list.contains(name) {
            list.push(name.clone());
        }
    }
}
