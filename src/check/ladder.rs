//! The ladder of outcomes, from the least grave to the gravest; an adopter's own stands in place of the adopted one.

use super::adoption::Loaded;
use super::context::Context;
use super::limits::OUTCOMES;
use crate::diagnostic::Diagnostic;
use crate::program::outcome::on_a_ladder;
use crate::program::{Class, Outcome};
use crate::source::Span;
use crate::syntax::ast::{File, Item, Kind, OutcomeDeclaration};

pub(super) fn check(cx: &mut Context, file: &File, adoptions: &[Loaded]) {
    let mut own = file.items.iter().filter_map(|item| match &item.kind {
        Kind::Outcomes(outcomes) => Some((item, outcomes)),
        _ => None,
    });
    let Some((item, outcomes)) = own.next() else {
        inherit(cx, adoptions);
        return;
    };
    for (another, _) in own {
        let diagnostic = Diagnostic::error("check/name-twice", another.span, "a program has one ladder of outcomes");
        cx.report(diagnostic.also(item.span, "the first one").help("keep one `outcomes`"));
    }
    declare(cx, item, outcomes);
}

fn inherit(cx: &mut Context, adoptions: &[Loaded]) {
    // A part says what it does in outcomes of its own, which an adopter has or maps; it gives no ladder beside a program.
    let has_program = adoptions.iter().any(|adopted| !adopted.program.adopted_only);
    let of_programs = adoptions.iter().filter(|adopted| !(has_program && adopted.program.adopted_only));
    let mut ladders = of_programs.map(|adopted| &adopted.program.outcomes);
    let Some(first) = ladders.next() else {
        if adoptions.is_empty() && !cx.adoption_failed {
            let help = "write `outcomes pass, …, fail`, from the least grave to the gravest";
            cx.error("check/part-missing", Span::default(), "the program has no outcomes", help);
        }
        return;
    };
    if ladders.any(|other| other != first) {
        let span = adoptions.last().map_or(Span::default(), |adopted| adopted.span);
        let message = "the adopted programs have different outcomes";
        cx.error("check/part-missing", span, message, "write `outcomes …` here, which then stands for all of them");
    }
    cx.program.outcomes.clone_from(first);
}

fn declare(cx: &mut Context, item: &Item, outcomes: &[OutcomeDeclaration]) {
    cx.properties("`outcomes`", &item.properties, &[]);
    cx.at_most(item.span, outcomes.len(), OUTCOMES, "outcomes");
    let mut ladder: Vec<Outcome> = Vec::new();
    for outcome in outcomes {
        let name = &outcome.name;
        if matches!(name.node.as_str(), "not-subject" | "no-law-in-file" | "undecided") {
            let message = format!("`{}` is reserved, and never on a ladder", name.node);
            cx.error("check/outcome-reserved", name.span, message, "leave it out: it is always there");
            continue;
        }
        if ladder.iter().any(|known| known.name == name.node) {
            let message = format!("outcome `{}` is listed twice", name.node);
            cx.error("check/listed-twice", name.span, message, "list it once");
            continue;
        }
        let class = match &outcome.class {
            Some(word) => {
                let class = on_a_ladder(&word.node);
                if class.is_none() {
                    let known = Class::ALL.iter().take(5).map(|class| class.word());
                    cx.unknown("check/unknown-word", "class of outcomes", word, known);
                }
                class
            }
            None => {
                let class = on_a_ladder(&name.node);
                if class.is_none() {
                    let message = format!("outcome `{}` has no class", name.node);
                    let help = "add one in parentheses: pass, conditional, other-test, reject or fail";
                    cx.error("check/class-missing", name.span, message, help);
                }
                class
            }
        };
        let label = outcome.label.as_ref().map(|word| word.node.clone());
        ladder.push(Outcome { name: name.node.clone(), class: class.unwrap_or(Class::Fail), label });
    }
    if let (Some(first), Some(word)) = (ladder.first(), outcomes.first())
        && first.class != Class::Pass
    {
        let message = format!("the first outcome is `{}`, which is not of class pass", first.name);
        let help = "list outcomes from the least grave: what a vehicle gets when no line is unmet comes first";
        cx.error("check/first-not-pass", word.name.span, message, help);
    }
    cx.program.outcomes = ladder;
}
