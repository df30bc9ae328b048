//! Brings adopted blocks to this program's outcomes, sources and dates, and adds them to its own.

use super::super::context::Context;
use super::super::dates::intersection;
use super::super::properties::{Common, DECIDING};
use super::Loaded;
use super::outcomes::Ladder;
use crate::diagnostic::nearest;
use crate::program::block::{Adopted, Choice};
use crate::program::{Block, Citation, Item};
use crate::syntax::ast::{File, Kind, PropertyKind};

/// Adds every adopted program.
pub(crate) fn merge(cx: &mut Context, file: &File, adoptions: &[Loaded]) {
    let own_dates = file.items.iter().any(|item| matches!(item.kind, Kind::InForce));
    let own_age = file.items.iter().any(|item| matches!(item.kind, Kind::Age { .. }));
    for adopted in adoptions {
        let allowed: [&[&str]; 2] = [DECIDING, &["with", "strikes", "their"]];
        let (common, _) = cx.properties("`adopts`", &adopted.properties, &allowed);
        let mut ladder = Ladder::of(cx, adopted);
        let sources = sources(cx, adopted);
        for block in &adopted.blocks {
            // A part has no days of its own: it stands while its adopter does.
            let no_dates = own_dates || adopted.program.adopted_only;
            if matches!(block.item, Item::InForce) && no_dates || matches!(block.item, Item::Age { .. }) && own_age {
                continue;
            }
            let Some(mut block) = narrowed(block, &common) else { continue };
            ladder.apply(&mut block);
            cite(&mut block, &sources);
            if matches!(block.item, Item::Becomes { from, to, .. } if from == to) || cx.program.blocks.contains(&block)
            {
                continue;
            }
            cx.program.blocks.push(block);
        }
        unmapped(cx, adopted, &ladder);
        lists(cx, adopted, &sources);
        cx.program.adopted.push(Adopted {
            program: adopted.program.id.clone(),
            as_it_stood_on: adopted.as_it_stood_on,
            span: adopted.span,
        });
    }
}

/// Where the adopted program's sources stand in ours.
fn sources(cx: &Context, adopted: &Loaded) -> Vec<usize> {
    let place = |source: &crate::program::Source| {
        cx.program.sources.iter().position(|known| known.program == source.program && known.id == source.id)
    };
    adopted.program.sources.iter().map(|source| place(source).unwrap_or(usize::MAX)).collect()
}

/// The block between the dates and under the readings of its adoption.
fn narrowed(block: &Block, common: &Common) -> Option<Block> {
    let mut block = block.clone();
    block.window = intersection(block.window, common.window)?;
    block.published = block.published.max(common.published);
    block.draft |= common.draft;
    block.change = block.change.or_else(|| common.change.clone());
    block.under.extend(common.under.iter().cloned());
    Some(block)
}

fn cite(block: &mut Block, sources: &[usize]) {
    recite(&mut block.basis, sources);
    match &mut block.item {
        Item::Clause(clause) => clause.lines.iter_mut().for_each(|line| recite(&mut line.basis, sources)),
        Item::Limit { rows, .. } => rows.iter_mut().for_each(|row| recite(&mut row.basis, sources)),
        _ => {}
    }
}

fn recite(basis: &mut [Citation], sources: &[usize]) {
    for citation in basis {
        citation.source = sources.get(citation.source).copied().unwrap_or(usize::MAX);
    }
}

fn unmapped(cx: &mut Context, adopted: &Loaded, ladder: &Ladder) {
    if cx.program.outcomes.is_empty() {
        return;
    }
    for place in &ladder.missing {
        let name = adopted.program.outcomes.get(*place).map_or("", |outcome| outcome.name.as_str());
        let message = format!("outcome `{name}` of program `{}` is not on this program's ladder", adopted.program.id);
        let ours = cx.program.outcomes.iter().map(|outcome| outcome.name.as_str()).collect::<Vec<_>>();
        let near = nearest(name, ours.iter().copied()).unwrap_or("OUTCOME");
        let help = format!("add it to `outcomes`, or say under `adopts`: `their {name} is our {near}`");
        cx.error("check/outcome-not-mapped", adopted.span, message, help);
    }
}

/// Facts, questions, options, tables and advice.
fn lists(cx: &mut Context, adopted: &Loaded, sources: &[usize]) {
    let program = &adopted.program;
    for fact in &program.facts {
        if !cx.program.facts.contains(fact) {
            cx.program.facts.push(fact.clone());
        }
    }
    for question in program.questions.iter().filter(|one| !adopted.struck_questions.contains(&one.id)) {
        let mut question = question.clone();
        question.readings.iter_mut().for_each(|(_, _, basis)| recite(basis, sources));
        if !cx.program.questions.contains(&question) {
            cx.program.questions.push(question);
        }
    }
    let mut options: Vec<Choice> = program.options.clone();
    for option in &mut options {
        recite(&mut option.basis, sources);
    }
    choose(cx, adopted, &mut options);
    for option in options {
        if !cx.program.options.contains(&option) {
            cx.program.options.push(option);
        }
    }
    for table in &program.tables {
        let mut table = table.clone();
        recite(&mut table.basis, sources);
        if !cx.program.tables.contains(&table) {
            cx.program.tables.push(table);
        }
    }
    for advice in &program.advice {
        let mut advice = advice.clone();
        recite(&mut advice.basis, sources);
        if !cx.program.advice.contains(&advice) {
            cx.program.advice.push(advice);
        }
    }
}

/// `with OPTION VALUE`
fn choose(cx: &mut Context, adopted: &Loaded, options: &mut [Choice]) {
    for property in &adopted.properties {
        let PropertyKind::With { name, value } = &property.kind else { continue };
        let Some(option) = options.iter_mut().find(|option| option.id == name.node) else {
            let known: Vec<String> = options.iter().map(|option| option.id.clone()).collect();
            let what = format!("option of program `{}`:", adopted.program.id);
            cx.unknown("check/unknown-question", &what, name, known.iter().map(String::as_str));
            continue;
        };
        match option.values.iter().position(|known| *known == value.node) {
            Some(place) => option.chosen = place,
            None => {
                let what = format!("value of option `{}`:", name.node);
                let known = option.values.clone();
                cx.unknown("check/unknown-value", &what, value, known.iter().map(String::as_str));
            }
        }
    }
}
