//! Exactly one variant of an id for each date, known-on date, reading and option.

use super::context::Context;
use super::dates::{intersection, overlap, shown};
use crate::diagnostic::Diagnostic;
use crate::model::day_number;
use crate::program::{Block, Under, variant_of};
use crate::source::Span;

pub(super) fn check(cx: &mut Context) {
    let mut found = Vec::new();
    let blocks: Vec<&Block> = cx.program.blocks.iter().filter(|block| variant_of(&block.item).is_some()).collect();
    for (place, block) in blocks.iter().enumerate() {
        for other in blocks.iter().skip(place.saturating_add(1)) {
            if clash(block, other) {
                found.push(message(cx, other, block));
            }
        }
    }
    for diagnostic in found {
        cx.report(diagnostic);
    }
}

fn clash(a: &Block, b: &Block) -> bool {
    variant_of(&a.item) == variant_of(&b.item)
        && a.draft == b.draft
        && overlap(a.window, b.window)
        && compatible(&a.under, &b.under)
        && !(a.published != b.published && same(&a.under, &b.under))
}

/// Whether both may stand under one choice of readings and values.
pub(super) fn compatible(a: &[Under], b: &[Under]) -> bool {
    !a.iter().any(|one| b.iter().any(|other| one.name == other.name && one.value != other.value))
}

fn same(a: &[Under], b: &[Under]) -> bool {
    a.iter().all(|one| b.contains(one)) && b.iter().all(|one| a.contains(one))
}

fn message(cx: &Context, later: &Block, earlier: &Block) -> Diagnostic {
    let what = variant_of(&later.item).map(|variant| variant.shown()).unwrap_or_default();
    let both = intersection(later.window, earlier.window).unwrap_or_default();
    let message = format!("two variants of {what} stand {}", shown(both));
    let place = |block: &Block| cx.is_own(&block.origin).then_some(block.origin.span);
    // Of two adopted ones, where one of them is adopted; what an adopted program adopted itself stands under none here.
    let by = |block: &Block| cx.program.adopted.iter().find(|adopted| adopted.program == block.origin.program);
    let adopted = by(later).or_else(|| by(earlier)).or(cx.program.adopted.first());
    let adopted = adopted.map_or(Span::default(), |adopted| adopted.span);
    let help = match (place(later), place(earlier)) {
        (Some(_), Some(_)) => {
            "part them by `in force from` and `in force through`, by `only if`, or by the date `published`"
        }
        (None, None) => "strike one of them under `adopts`",
        _ => "write `replaces` before this one, or strike the adopted one",
    };
    let main = place(later).or_else(|| place(earlier)).unwrap_or(adopted);
    let mut diagnostic = Diagnostic::error("check/variant-twice", main, message).help(help);
    if let (Some(_), Some(other)) = (place(later), place(earlier)) {
        diagnostic = diagnostic.also(other, "the other one");
    }
    if let (Some(from), Some(through)) = (both.from, both.through) {
        let days = day_number(through) - day_number(from) + 1;
        let days = if days == 1 { "1 day".to_owned() } else { format!("{days} days") };
        diagnostic = diagnostic.note(format!("a visit on {from} would have both; they overlap on {days}"));
    }
    for block in [earlier, later].into_iter().filter(|block| place(block).is_none()) {
        diagnostic = diagnostic.note(format!("one is of program `{}`, which is adopted", block.origin.program));
    }
    diagnostic
}
