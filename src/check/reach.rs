//! What a block refers to must stand wherever the block does: on every date in force, under every reading and option.

use super::context::Context;
use super::dates::intersection;
use crate::diagnostic::Diagnostic;
use crate::model::Date;
use crate::program::walk::{Reference, references};
use crate::program::{Block, Condition, Item, Under, Variant, Window, variant_of};
use crate::source::Span;
use std::collections::BTreeSet;

/// More combinations of readings than this are not looked at one by one.
const COMBINATIONS: usize = 512;

/// The first day looked at where a window has no beginning.
const FIRST_DAY: Date = Date::constant(1900, 1, 1);

pub(super) fn check(cx: &mut Context) {
    if cx.names_clash {
        return;
    }
    let mut found = Vec::new();
    let blocks: Vec<&Block> = cx.program.blocks.iter().filter(|block| !block.draft).collect();
    let in_force: Vec<Window> = blocks.iter().filter(|b| matches!(b.item, Item::InForce)).map(|b| b.window).collect();
    for block in &blocks {
        let mut seen = BTreeSet::new();
        for (under, reference, span) in uses(block) {
            if !seen.insert((under.clone(), reference)) {
                continue;
            }
            let Some(what) = shown(reference) else { continue };
            let variants: Vec<&Block> = blocks.iter().copied().filter(|other| declares(other, reference)).collect();
            if variants.is_empty() {
                found.extend(struck(cx, block, &what, reference));
                continue;
            }
            if let Some((day, readings)) = hole(cx, block.window, &under, &variants, &in_force) {
                let message = format!("{what} does not stand on {day}{readings}, and this does");
                let own = cx.is_own(&block.origin);
                let main = if own { span } else { adopting(cx, block) };
                let mut diagnostic = Diagnostic::error("check/not-there-then", main, message);
                for other in variants.iter().filter(|other| own && cx.is_own(&other.origin)) {
                    diagnostic = diagnostic.also(other.origin.span, "stands on other dates or readings");
                }
                found.push(diagnostic.help("give both the same dates and readings, or add a variant for the rest"));
            }
        }
    }
    for diagnostic in found {
        cx.report(diagnostic);
    }
}

fn adopting(cx: &Context, block: &Block) -> Span {
    let adopted = &cx.program.adopted;
    let by = adopted.iter().find(|one| one.program == block.origin.program).or_else(|| adopted.first());
    by.map_or(Span::default(), |one| one.span)
}

/// What was struck although something adopted still refers to it.
fn struck(cx: &Context, block: &Block, what: &str, reference: Reference<'_>) -> Option<Diagnostic> {
    let named = matches!(reference, Reference::Finding(_) | Reference::Limit(_) | Reference::CodeGroup(_));
    if cx.is_own(&block.origin) || !named {
        return None;
    }
    let by = variant_of(&block.item).map_or("a block".to_owned(), |variant| variant.shown());
    let message = format!("{what} is struck, and {by} of program `{}` refers to it", block.origin.program);
    let help = format!("strike or replace {by} too, or write one of that name here");
    Some(Diagnostic::error("check/struck-but-used", adopting(cx, block), message).help(help))
}

/// What the block refers to, with everything it then stands under.
fn uses(block: &Block) -> Vec<(Vec<Under>, Reference<'_>, Span)> {
    let mut uses = Vec::new();
    let Item::Clause(clause) = &block.item else {
        block.item.each_reference(&mut |reference| uses.push((block.under.clone(), reference, block.origin.span)));
        return uses;
    };
    collect(&clause.concerns, &block.under, block.origin.span, &mut uses);
    for line in &clause.lines {
        let under: Vec<Under> = block.under.iter().chain(&line.under).cloned().collect();
        let span = if line.span == Span::default() { block.origin.span } else { line.span };
        collect(&line.concerns, &under, span, &mut uses);
        collect(&line.unmet_where, &under, span, &mut uses);
    }
    uses
}

fn collect<'a>(
    condition: &'a Condition<String>,
    under: &[Under],
    span: Span,
    uses: &mut Vec<(Vec<Under>, Reference<'a>, Span)>,
) {
    condition.each_test(&mut |test| references(test, &mut |reference| uses.push((under.to_vec(), reference, span))));
}

fn shown(reference: Reference<'_>) -> Option<String> {
    Some(match reference {
        Reference::Finding(id) => Variant::Finding(id).shown(),
        Reference::Limit(id) => Variant::Limit(id).shown(),
        Reference::CodeGroup(id) => Variant::CodeGroup(id).shown(),
        Reference::Counts => "`counts`".to_owned(),
        Reference::Age => "`age`".to_owned(),
        Reference::Table(_) | Reference::Fact(_) => return None,
    })
}

fn declares(block: &Block, reference: Reference<'_>) -> bool {
    match (reference, variant_of(&block.item)) {
        (Reference::Counts, _) => matches!(block.item, Item::Counts { .. }),
        (Reference::Finding(id), Some(Variant::Finding(known)))
        | (Reference::Limit(id), Some(Variant::Limit(known)))
        | (Reference::CodeGroup(id), Some(Variant::CodeGroup(known))) => id == known,
        (Reference::Age, Some(Variant::Age)) => true,
        _ => false,
    }
}

/// A day in force, and the readings, on which none of the variants stands.
fn hole(
    cx: &Context,
    window: Window,
    under: &[Under],
    variants: &[&Block],
    in_force: &[Window],
) -> Option<(Date, String)> {
    for all in in_force.iter().filter_map(|dates| intersection(*dates, window)) {
        let after = |day: Date| day.tomorrow().ok();
        let cuts = variants.iter().flat_map(|other| [other.window.from, other.window.through.and_then(after)]);
        let mut days: BTreeSet<Date> = cuts.flatten().filter(|day| all.holds(*day)).collect();
        days.insert(all.from.unwrap_or(FIRST_DAY));
        for day in days {
            let there: Vec<&[Under]> =
                variants.iter().filter(|other| other.window.holds(day)).map(|other| other.under.as_slice()).collect();
            if let Some(readings) = uncovered(cx, under, &there) {
                return Some((day, readings));
            }
        }
    }
    None
}

/// Readings under which none of these stands; empty text where none stands under any.
fn uncovered(cx: &Context, under: &[Under], there: &[&[Under]]) -> Option<String> {
    if there.iter().any(|guards| guards.iter().all(|guard| under.contains(guard))) {
        return None;
    }
    if there.is_empty() {
        return Some(String::new());
    }
    let open = there.iter().copied().flatten().filter(|guard| !under.iter().any(|one| one.name == guard.name));
    let names: BTreeSet<&str> = open.map(|guard| guard.name.as_str()).collect();
    let mut choices: Vec<Vec<Under>> = vec![under.to_vec()];
    for name in names {
        let values = cx.names.questions.get(name).or_else(|| cx.names.options.get(name))?;
        if choices.len().saturating_mul(values.len()) > COMBINATIONS {
            return None;
        }
        let with = |value: &String, choice: &Vec<Under>| {
            let one = Under { name: name.to_owned(), value: value.clone() };
            choice.iter().cloned().chain([one]).collect::<Vec<Under>>()
        };
        choices = choices.iter().flat_map(|choice| values.iter().map(move |value| with(value, choice))).collect();
    }
    let stands = |choice: &[Under]| there.iter().any(|guards| guards.iter().all(|guard| choice.contains(guard)));
    let hole = choices.iter().find(|choice| !stands(choice))?;
    let named: Vec<String> = hole.iter().map(|under| format!("{} is {}", under.name, under.value)).collect();
    Some(if named.is_empty() { String::new() } else { format!(" if {}", named.join(" and ")) })
}
