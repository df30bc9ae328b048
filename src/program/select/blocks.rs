//! Builds every list of the flat program but the clause lines. Each list is sorted by what it says, never by where it
//! was written.

use super::Selection;
use super::choices::Choices;
use super::resolve::Resolver;
use super::standing::Standing;
use crate::program::block::{Consequence, LeftOutBy, Presumed, Turn};
use crate::program::flat::{
    Based, Becomes, Change, CountRule, DueRule, Excuse, FlatExcused, FlatLimitRow, FlatQuestion, FlatRow, FlatTable,
    LeftOut, Limit, Note, Presumption, Silence,
};
use crate::program::{Citation, Condition, Flat, InForce, Item, Program};

/// The flat program before any block: not in force.
pub(super) fn empty(program: &Program, selection: &Selection, choices: &Choices<'_>) -> Flat {
    let questions = program.questions.iter().zip(&choices.readings).map(|(question, taken)| FlatQuestion {
        id: question.id.clone(),
        text: question.text.clone(),
        readings: question.readings.iter().map(|(id, _, _)| id.clone()).collect(),
        taken: *taken,
    });
    let options = program
        .options
        .iter()
        .zip(&choices.values)
        .map(|(option, value)| (option.id.clone(), option.values.get(*value).cloned().unwrap_or_default()));
    Flat {
        test_date: selection.test_date,
        known_on: selection.known_on,
        in_force: InForce::NotSaid,
        sources: program.sources.clone(),
        outcomes: program.outcomes.clone(),
        facts: program.facts.clone(),
        areas: std::sync::Arc::clone(&program.areas),
        questions: questions.collect(),
        options: options.collect(),
        ..Flat::bare(&program.id, &program.title, selection.as_of)
    }
}

/// Whether a version is in force: the basis, and the readings under which it is.
pub(super) fn in_force(standing: &[Standing<'_>]) -> Option<(Vec<Citation>, Condition<usize>)> {
    let versions = standing.iter().filter(|one| matches!(one.block.item, Item::InForce));
    let mut basis = Vec::new();
    let mut guards = Vec::new();
    for one in versions {
        basis.extend(one.block.basis.iter().cloned());
        guards.push(one.guard.clone());
    }
    if guards.is_empty() {
        return None;
    }
    basis.sort();
    basis.dedup();
    guards.sort();
    Some((basis, Condition::either(guards)))
}

/// Fills every list but the lines. `in_force` narrows what is covered where the dates themselves turn on a reading.
pub(super) fn fill(flat: &mut Flat, names: &Resolver<'_>, standing: &[Standing<'_>], in_force: &Condition<usize>) {
    flat.groups = names.groups.iter().map(|(id, _, group)| ((*id).to_owned(), (*group).clone())).collect();
    flat.findings = names.findings.iter().map(|id| (id.clone(), finding(names, standing, id))).collect();
    flat.limits = names.limits.iter().map(|id| limit(names, standing, id)).collect();
    for one in standing {
        add(flat, names, one);
    }
    exempt_first(flat, names, standing);
    for cover in &mut flat.covers {
        cover.item = Condition::every(vec![in_force.clone(), cover.item.clone()]);
    }
    sort(flat);
}

/// Fills the tables of the program.
pub(super) fn tables(program: &Program, names: &Resolver<'_>) -> Vec<FlatTable> {
    let row = |row: &crate::program::block::TableRow| FlatRow {
        condition: names.condition(&row.condition),
        excused: row.excused,
        codes: row.codes.clone(),
    };
    let table = |table: &crate::program::block::Table| FlatTable {
        id: table.id.clone(),
        rows: table.rows.iter().map(row).collect(),
    };
    program.tables.iter().map(table).collect()
}

fn guarded(names: &Resolver<'_>, one: &Standing<'_>, condition: &Condition<String>) -> Condition<usize> {
    Condition::every(vec![one.guard.clone(), names.condition(condition)])
}

fn finding(names: &Resolver<'_>, standing: &[Standing<'_>], wanted: &str) -> Condition<usize> {
    let variants = standing.iter().filter_map(|one| match &one.block.item {
        Item::Finding { id, condition } if id == wanted => Some(guarded(names, one, condition)),
        _ => None,
    });
    let mut variants: Vec<_> = variants.collect();
    variants.sort();
    Condition::either(variants)
}

fn limit(names: &Resolver<'_>, standing: &[Standing<'_>], wanted: &str) -> Limit {
    let variants = standing.iter().filter_map(|one| match &one.block.item {
        Item::Limit { id, rows } if id == wanted => Some((one, rows)),
        _ => None,
    });
    let mut variants: Vec<_> = variants.collect();
    variants.sort_by(|(a, _), (b, _)| a.guard.cmp(&b.guard));
    let mut limit = Limit { id: wanted.to_owned(), rows: Vec::new() };
    for (one, rows) in variants {
        for row in rows {
            let condition = guarded(names, one, &row.condition);
            let basis = if row.basis.is_empty() { one.block.basis.clone() } else { row.basis.clone() };
            let origin = crate::program::Origin { span: row.span, ..one.block.origin.clone() };
            limit.rows.push(FlatLimitRow { condition, limit: row.limit.clone(), basis, origin });
        }
    }
    limit
}

/// What is exempted is sent nowhere: every row with an outcome leaves the exempted vehicles alone.
fn exempt_first(flat: &mut Flat, names: &Resolver<'_>, standing: &[Standing<'_>]) {
    let exempts = standing.iter().filter_map(|one| match &one.block.item {
        Item::LeavesOut { word: LeftOutBy::Exempts, condition, .. } => Some(guarded(names, one, condition)),
        _ => None,
    });
    let mut exempts: Vec<Condition<usize>> = exempts.collect();
    if exempts.is_empty() {
        return;
    }
    exempts.sort();
    let others = Condition::either(exempts).negated();
    for row in flat.left_out.iter_mut().filter(|row| row.outcome.is_some()) {
        let condition = std::mem::replace(&mut row.condition, Condition::never());
        row.condition = Condition::every(vec![condition, others.clone()]);
    }
}

fn add(flat: &mut Flat, names: &Resolver<'_>, one: &Standing<'_>) {
    let basis = one.block.basis.clone();
    let origin = one.block.origin.clone();
    match &one.block.item {
        Item::Covers(condition) => {
            flat.covers.push(Based { item: guarded(names, one, condition), basis, origin });
        }
        Item::LeavesOut { condition, outcome, why, .. } => {
            let condition = guarded(names, one, condition);
            flat.left_out.push(LeftOut { condition, outcome: *outcome, why: why.clone(), basis, origin });
        }
        Item::Due { condition, every, why } => {
            let condition = guarded(names, one, condition);
            flat.due.push(DueRule { condition, every: *every, why: why.clone(), basis, origin });
        }
        Item::Counts { monitors, unsupported_as_incomplete } => flat.counts.push(CountRule {
            condition: one.guard.clone(),
            monitors: *monitors,
            unsupported_as_incomplete: *unsupported_as_incomplete,
            basis,
        }),
        Item::Excuses { which, condition } => {
            if let Some(which) = FlatExcused::of(which, |id| names.table(id)) {
                flat.excuses.push(Excuse { condition: guarded(names, one, condition), which, basis, origin });
            }
        }
        Item::Silent(topics) | Item::Unread(topics) => {
            let unread = matches!(one.block.item, Item::Unread(_));
            flat.silences.extend(topics.iter().map(|topic| Silence {
                topic: *topic,
                unread,
                condition: one.guard.clone(),
                basis: basis.clone(),
            }));
        }
        Item::Becomes { from, to, condition } => {
            flat.becomes.push(Becomes { from: *from, to: *to, condition: guarded(names, one, condition), basis });
        }
        Item::Consequence(consequence) => {
            let item = Consequence {
                kind: consequence.kind,
                after: consequence.after,
                by: consequence.by.clone(),
                alone: consequence.alone,
                condition: guarded(names, one, &consequence.condition),
                text: consequence.text.clone(),
            };
            flat.consequences.push(Based { item, basis, origin });
        }
        Item::NotExpressible { text, concerns, could_turn, into } => flat.notes.push(Note {
            text: text.clone(),
            concerns: guarded(names, one, concerns),
            could_turn: could_turn.clone(),
            into: into.clone(),
            basis,
        }),
        Item::Change { id, kind, text, turns } => {
            let turn = |turn: &Turn<String>| Turn {
                could_turn: turn.could_turn.clone(),
                into: turn.into.clone(),
                concerns: guarded(names, one, &turn.concerns),
            };
            flat.changes.push(Change {
                id: id.clone(),
                kind: *kind,
                text: text.clone(),
                from: one.block.window.from,
                turns: turns.iter().map(turn).collect(),
                basis,
                origin,
            });
        }
        Item::Presumes { fact, shown, value, condition } => {
            // A presumption cannot stand under an open question (`check` says so): nothing could be presumed for sure.
            if let Some(fact) = names.fact(fact)
                && one.guard.is_always()
            {
                let condition = names.condition(condition);
                flat.presumptions.push(Presumption {
                    fact,
                    value: value.clone(),
                    shown: shown.clone(),
                    condition,
                    basis,
                });
            }
        }
        Item::InForce
        | Item::Age { .. }
        | Item::Limit { .. }
        | Item::Clause(_)
        | Item::Finding { .. }
        | Item::CodeGroup { .. }
        | Item::GivesWay { .. } => {}
    }
}

fn sort(flat: &mut Flat) {
    flat.covers.sort_by(|a, b| (&a.item, &a.basis).cmp(&(&b.item, &b.basis)));
    flat.left_out
        .sort_by(|a, b| (&a.condition, a.outcome, &a.why, &a.basis).cmp(&(&b.condition, b.outcome, &b.why, &b.basis)));
    flat.due.sort_by(|a, b| (&a.condition, a.every, &a.why, &a.basis).cmp(&(&b.condition, b.every, &b.why, &b.basis)));
    flat.changes.sort_by(|a, b| (&a.id, a.from, &a.text).cmp(&(&b.id, b.from, &b.text)));
    flat.counts.sort_by(|a, b| (&a.condition, a.monitors, &a.basis).cmp(&(&b.condition, b.monitors, &b.basis)));
    flat.excuses.sort_by(|a, b| (&a.condition, rank(a.which), &a.basis).cmp(&(&b.condition, rank(b.which), &b.basis)));
    flat.silences
        .sort_by(|a, b| (a.topic, a.unread, &a.condition, &a.basis).cmp(&(b.topic, b.unread, &b.condition, &b.basis)));
    flat.becomes.sort_by(|a, b| (a.from, a.to, &a.condition, &a.basis).cmp(&(b.from, b.to, &b.condition, &b.basis)));
    flat.consequences.sort_by(|a, b| {
        let key = |c: &Consequence<usize>| (c.kind, c.after, c.by.clone(), c.alone, c.text.clone());
        (key(&a.item), &a.item.condition, &a.basis).cmp(&(key(&b.item), &b.item.condition, &b.basis))
    });
    flat.notes.sort_by(|a, b| (&a.text, &a.concerns, &a.basis).cmp(&(&b.text, &b.concerns, &b.basis)));
    flat.presumptions.sort_by(|a, b| {
        let listed = |p: &Presumption| matches!(p.value, Presumed::NotListed(_));
        let key =
            |p: &'_ Presumption| (p.fact.clone(), listed(p), p.shown.clone(), p.condition.clone(), p.basis.clone());
        key(a).cmp(&key(b))
    });
}

fn rank(which: FlatExcused) -> (u8, u32, usize) {
    match which {
        FlatExcused::Monitors(set) => (0, set.bits(), 0),
        FlatExcused::EarlierIncomplete => (1, 0, 0),
        FlatExcused::Table(place) => (2, 0, place),
    }
}
