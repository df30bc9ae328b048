//! What every program must have.

use super::context::Context;
use super::limits;
use crate::program::walk::Reference;
use crate::program::{Item, Variant, variant_of};
use crate::source::Span;
use crate::syntax::ast::{File, Kind};

pub(super) fn check(cx: &mut Context, file: &File) {
    let title = file.items.iter().find_map(|item| match &item.kind {
        Kind::Program { id, .. } => Some(id.span),
        _ => None,
    });
    let place = title.unwrap_or_default();
    let mut has = (false, false, false, false);
    let mut wants = (None, None);
    let mut clauses = 0_usize;
    for block in &cx.program.blocks {
        match &block.item {
            Item::InForce => has.0 |= !block.draft,
            Item::Covers(_) => has.1 = true,
            Item::Counts { .. } => has.2 = true,
            Item::Age { .. } => has.3 = true,
            _ => {}
        }
        if matches!(variant_of(&block.item), Some(Variant::Clause(_))) {
            clauses = clauses.saturating_add(1);
        }
        let span = if cx.is_own(&block.origin) { block.origin.span } else { place };
        block.item.each_reference(&mut |reference| match reference {
            Reference::Counts => drop(wants.0.get_or_insert(span)),
            Reference::Age => drop(wants.1.get_or_insert(span)),
            _ => {}
        });
    }
    let declared = |wanted: fn(&Kind) -> bool| file.items.iter().any(|item| wanted(&item.kind));
    // An item with an error of its own is there, and is not also reported as missing.
    let is_part = cx.program.adopted_only;
    if !has.0 && !is_part && !declared(|kind| matches!(kind, Kind::InForce)) {
        missing(cx, place, "the program does not say when it is in force", "add `in force from DATE`");
    }
    if !has.1 && !is_part && !declared(|kind| matches!(kind, Kind::Covers(_))) {
        let help = "add `covers where …`, or `covers where every vehicle`";
        missing(cx, place, "the program does not say which vehicles it covers", help);
    }
    if let (false, false, Some(span)) = (is_part, has.2, wants.0) {
        let help = "add `counts supported monitors that are not continuous`, or what the text counts";
        missing(cx, span, "monitors are counted here, and the program does not say which count", help);
    }
    if let (false, false, Some(span)) = (is_part, has.3, wants.1) {
        let help = "add `age is test year less model year`, or `… plus 1`";
        missing(cx, span, "an age is tested here, and the program does not say how it counts ages", help);
    }
    cx.at_most(place, clauses, limits::CLAUSES, "clauses");
}

fn missing(cx: &mut Context, span: Span, message: &str, help: &str) {
    // What is missing may be in an adopted program that could not be had.
    if !cx.adoption_failed {
        cx.error("check/part-missing", span, message, help);
    }
}
