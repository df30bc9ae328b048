//! Which blocks stand: in force on the date, known, not a draft, and of several variants the latest published.

use super::Selection;
use super::choices::Choices;
use crate::program::{Block, Citation, Condition, InForce, Item, Program, Under};
use std::collections::BTreeMap;

/// What makes two blocks variants of one thing: at most one of them may stand on a date, under a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "each is the item of that name, with its id")]
pub enum Variant<'a> {
    Age,
    Limit(&'a str),
    Clause(&'a str),
    Finding(&'a str),
    CodeGroup(&'a str),
}

impl Variant<'_> {
    /// What it is called in messages, `clause lamp`.
    #[must_use]
    pub fn shown(&self) -> String {
        match self {
            Variant::Age => "age".to_owned(),
            Variant::Limit("standard") => "the limit without a name".to_owned(),
            Variant::Limit(id) => format!("limit {id}"),
            Variant::Clause(id) => format!("clause {id}"),
            Variant::Finding(id) => format!("finding {id}"),
            Variant::CodeGroup(id) => format!("code group {id}"),
        }
    }
}

/// Of what the block is a variant; `None` where several may stand together (`covers`, `silent on`).
#[must_use]
pub fn variant_of(item: &Item) -> Option<Variant<'_>> {
    match item {
        Item::Age { .. } => Some(Variant::Age),
        Item::Limit { id, .. } => Some(Variant::Limit(id)),
        Item::Clause(clause) => Some(Variant::Clause(&clause.id)),
        Item::Finding { id, .. } => Some(Variant::Finding(id)),
        Item::CodeGroup { id, .. } => Some(Variant::CodeGroup(id)),
        _ => None,
    }
}

/// A block that stands, with the readings under which it does.
pub(super) struct Standing<'a> {
    pub(super) block: &'a Block,
    pub(super) guard: Condition<usize>,
}

/// The blocks that stand.
pub(super) fn standing<'a>(program: &'a Program, selection: &Selection, choices: &Choices<'_>) -> Vec<Standing<'a>> {
    let guarded = |block: &'a Block| Some(Standing { block, guard: choices.guard(&block.under)? });
    live(program, selection).into_iter().filter_map(guarded).collect()
}

/// Why no version is in force on a date on which none is, with what is cited for it: of a program that has ended what
/// ended it, else what says when a version begins.
pub(super) fn absence(program: &Program, selection: &Selection, choices: &Choices<'_>) -> (InForce, Vec<Citation>) {
    let counts = |block: &&Block| {
        block.item == Item::InForce
            && is_known(block, selection)
            && (selection.drafts || !block.draft)
            && choices.guard(&block.under).is_some()
    };
    let versions: Vec<&Block> = program.blocks.iter().filter(counts).collect();
    let last = versions.iter().filter_map(|it| it.window.through).filter(|day| *day < selection.as_of).max();
    let next = versions.iter().filter_map(|it| it.window.from).filter(|day| *day > selection.as_of).min();
    let cited = |is_one: &dyn Fn(&Block) -> bool| {
        let those = versions.iter().filter(|block| is_one(block));
        let mut basis: Vec<Citation> = those.flat_map(|block| block.basis.iter().cloned()).collect();
        basis.sort();
        basis.dedup();
        basis
    };
    match (last, next) {
        (Some(last), Some(next)) => {
            let beside = |block: &Block| block.window.through == Some(last) || block.window.from == Some(next);
            (InForce::Hole { last, next }, cited(&beside))
        }
        (None, Some(first)) => (InForce::NotYet { first }, cited(&|block| block.window.from == Some(first))),
        (Some(last), None) => {
            let basis = cited(&|block| block.window.through == Some(last));
            (if basis.is_empty() { InForce::NotSaid } else { InForce::Ended { last } }, basis)
        }
        (None, None) => (InForce::NotSaid, Vec::new()),
    }
}

fn is_known(block: &Block, selection: &Selection) -> bool {
    match (block.published, selection.known_on) {
        (Some(published), Some(day)) => published <= day,
        _ => true,
    }
}

/// The blocks in force and known, whatever reading they stand under: of several variants under the same readings, the
/// latest published.
#[must_use]
pub fn live<'a>(program: &'a Program, selection: &Selection) -> Vec<&'a Block> {
    let drafted = |block: &Block| {
        !block.draft || selection.drafts || selection.change.is_some() && selection.change == block.change
    };
    let live: Vec<&Block> = program
        .blocks
        .iter()
        .filter(|block| block.window.holds(selection.as_of) && is_known(block, selection) && drafted(block))
        .collect();
    let mut latest = BTreeMap::new();
    for block in &live {
        if let Some(variant) = variant_of(&block.item) {
            let rank = rank(block);
            let slot = latest.entry((variant, sorted(&block.under))).or_insert(rank);
            *slot = rank.max(*slot);
        }
    }
    let current = |block: &Block| match variant_of(&block.item) {
        None => true,
        Some(variant) => latest.get(&(variant, sorted(&block.under))).is_none_or(|best| *best == rank(block)),
    };
    live.into_iter().filter(|block| current(block)).collect()
}

/// A draft stands before what it would change; then the latest published; what was always known comes last.
fn rank(block: &Block) -> (bool, Option<crate::model::Date>) {
    (block.draft, block.published)
}

fn sorted(under: &[Under]) -> Vec<Under> {
    let mut under = under.to_vec();
    under.sort();
    under.dedup();
    under
}
