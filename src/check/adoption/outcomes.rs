//! The adopted program's outcomes in terms of the adopter's ladder: by name, or as `their … is our …` says.

use super::super::context::{Context, unknown};
use super::Loaded;
use crate::program::block::GivesWayTo;
use crate::program::{Block, Item};
use crate::syntax::ast::PropertyKind;
use std::collections::{BTreeMap, BTreeSet};

/// Places on the adopted ladder to places on ours.
pub(super) struct Ladder {
    places: Vec<Option<usize>>,
    names: BTreeMap<String, String>,
    /// Outcomes that blocks use and that have no place on ours.
    pub(super) missing: BTreeSet<usize>,
}

impl Ladder {
    pub(super) fn of(cx: &mut Context, adopted: &Loaded) -> Ladder {
        let theirs = &adopted.program.outcomes;
        let mut names: BTreeMap<String, String> = BTreeMap::new();
        for property in &adopted.properties {
            let PropertyKind::TheirIsOur { their, our } = &property.kind else { continue };
            let mine = cx.outcome(our);
            if !theirs.iter().any(|outcome| outcome.name == their.node) {
                let what = format!("outcome of program `{}`:", adopted.program.id);
                let known = theirs.iter().map(|outcome| outcome.name.as_str());
                let diagnostic = unknown("check/unknown-outcome", &what, their, known);
                cx.report(diagnostic);
            } else if names.contains_key(&their.node) {
                let message = format!("`{}` is mapped twice", their.node);
                cx.error("check/listed-twice", their.span, message, "map it once");
            } else if mine.is_some() {
                names.insert(their.node.clone(), our.node.clone());
            }
        }
        for outcome in theirs {
            names.entry(outcome.name.clone()).or_insert_with(|| outcome.name.clone());
        }
        let ours = &cx.program.outcomes;
        let place = |name: &str| ours.iter().position(|outcome| outcome.name == name);
        let places = theirs.iter().map(|outcome| place(names.get(&outcome.name)?)).collect();
        Ladder { places, names, missing: BTreeSet::new() }
    }

    /// Brings a block to our ladder.
    pub(super) fn apply(&mut self, block: &mut Block) {
        match &mut block.item {
            Item::LeavesOut { outcome: Some(place), .. } => self.place(place),
            Item::Becomes { from, to, .. } => {
                self.place(from);
                self.place(to);
            }
            Item::Consequence(consequence) => self.place(&mut consequence.after),
            Item::GivesWay { to: GivesWayTo::AnyOutcome(place), .. } => self.place(place),
            Item::Clause(clause) => {
                clause.lines.iter_mut().for_each(|line| self.place(&mut line.outcome));
                for to in &mut clause.gives_way {
                    if let GivesWayTo::AnyOutcome(place) = to {
                        self.place(place);
                    }
                }
            }
            Item::Change { turns, .. } => {
                for name in turns.iter_mut().flat_map(|turn| turn.could_turn.iter_mut().chain(&mut turn.into)) {
                    if let Some(ours) = self.names.get(name) {
                        name.clone_from(ours);
                    }
                }
            }
            Item::NotExpressible { could_turn, into, .. } => {
                for name in could_turn.iter_mut().chain(into) {
                    if let Some(ours) = self.names.get(name) {
                        name.clone_from(ours);
                    }
                }
            }
            _ => {}
        }
    }

    fn place(&mut self, place: &mut usize) {
        match self.places.get(*place).copied().flatten() {
            Some(ours) => *place = ours,
            None => {
                self.missing.insert(*place);
            }
        }
    }
}
