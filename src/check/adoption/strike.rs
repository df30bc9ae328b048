//! `strikes …`: what an adopter does not take over.

use super::super::context::Context;
use super::super::names::{STANDARD_LIMIT, near};
use super::{Loaded, Struck};
use crate::program::{Block, Item, Topic, Variant, variant_of};
use crate::source::Spanned;
use crate::syntax::ast::{PropertyKind, Word};
use std::collections::BTreeSet;

/// What strikes topics on which the adopted program applies no rule.
const NO_RULE: &str = "no rule applied on";

/// Takes out of every adopted program what is struck from it.
pub(crate) fn strike(cx: &mut Context, adoptions: &mut [Loaded]) {
    for adopted in adoptions {
        let strikes: Vec<_> = adopted
            .properties
            .iter()
            .filter_map(|property| match &property.kind {
                PropertyKind::Strikes { what, id } => Some((property.span, what.clone(), id.clone())),
                _ => None,
            })
            .collect();
        for (span, what, id) in strikes {
            strike_one(cx, adopted, Spanned::new(what, span), id.as_ref());
        }
    }
}

fn strike_one(cx: &mut Context, adopted: &mut Loaded, strikes: Spanned<Word>, id: Option<&Word>) {
    let Spanned { node: what, span } = strikes;
    let kind = what.node.as_str();
    let name = id.map_or("", |id| id.node.as_str());
    let shown = format!("{kind} {name}").trim_end().to_owned();
    if matches!(kind, "text silent on" | NO_RULE) {
        return strike_topic(cx, adopted, &what, id, Struck { span, shown, windows: Vec::new() });
    }
    if kind == "question" {
        return strike_question(cx, adopted, id, &shown);
    }
    let Some(fits) = matcher(kind, name) else {
        let known = [
            "clause",
            "limit",
            "finding",
            "code group",
            "question",
            "text silent on",
            NO_RULE,
            "covers",
            "leaves out",
            "exempts",
            "sends",
            "due",
            "counts",
            "excuses",
            "consequences",
            "not expressible",
        ];
        cx.unknown("check/unknown-word", "kind of thing to strike:", &what, known);
        return;
    };
    let fits =
        if adopted.blocks.iter().any(|block| fits(&block.item)) { fits } else { otherwise(kind).unwrap_or(fits) };
    let (gone, kept): (Vec<Block>, Vec<Block>) = adopted.blocks.drain(..).partition(|block| fits(&block.item));
    adopted.blocks = kept;
    if gone.is_empty() {
        let place = id.unwrap_or(&what).span;
        let message = format!("program `{}` has no {shown} to strike", adopted.program.id);
        let known = adopted.blocks.iter().filter_map(|block| name_of(kind, &block.item));
        let help = near(name, known).unwrap_or_else(|| "leave the line out".to_owned());
        cx.error("check/strikes-nothing", place, message, help);
        return;
    }
    let windows = gone.iter().map(|block| block.window).collect();
    adopted.struck.push(Struck { span, shown, windows });
}

type Matcher<'a> = Box<dyn Fn(&Item) -> bool + 'a>;

fn matcher<'a>(kind: &str, name: &'a str) -> Option<Matcher<'a>> {
    let limit = if name.is_empty() { STANDARD_LIMIT } else { name };
    Some(match kind {
        "clause" => Box::new(move |item| variant_of(item) == Some(Variant::Clause(name))),
        "limit" => Box::new(move |item| variant_of(item) == Some(Variant::Limit(limit))),
        "finding" => Box::new(move |item| variant_of(item) == Some(Variant::Finding(name))),
        "code group" => Box::new(move |item| variant_of(item) == Some(Variant::CodeGroup(name))),
        "covers" => Box::new(|item| matches!(item, Item::Covers(_))),
        "leaves out" | "exempts" | "sends" => {
            let wanted = kind.to_owned();
            Box::new(move |item| matches!(item, Item::LeavesOut { word, .. } if word.words() == wanted))
        }
        "due" => Box::new(|item| matches!(item, Item::Due { .. })),
        "counts" => Box::new(|item| matches!(item, Item::Counts { .. })),
        "excuses" => Box::new(|item| matches!(item, Item::Excuses { .. })),
        "consequences" => Box::new(|item| matches!(item, Item::Consequence(_))),
        "not expressible" => Box::new(|item| matches!(item, Item::NotExpressible { .. })),
        _ => return None,
    })
}

/// What is struck where nothing has the very word: of the older `leaves out` what says today `exempts` or `sends to`, and
/// the other way round, so that a file goes on to mean what it meant when the other is rewritten.
fn otherwise<'a>(kind: &str) -> Option<Matcher<'a>> {
    Some(match kind {
        "leaves out" => Box::new(|item| matches!(item, Item::LeavesOut { .. })),
        "exempts" => Box::new(|item| matches!(item, Item::LeavesOut { outcome: None, .. })),
        "sends" => Box::new(|item| matches!(item, Item::LeavesOut { outcome: Some(_), .. })),
        _ => return None,
    })
}

fn name_of<'a>(kind: &str, item: &'a Item) -> Option<&'a str> {
    match (kind, variant_of(item)?) {
        ("clause", Variant::Clause(id))
        | ("limit", Variant::Limit(id))
        | ("finding", Variant::Finding(id))
        | ("code group", Variant::CodeGroup(id)) => Some(id),
        _ => None,
    }
}

fn strike_question(cx: &mut Context, adopted: &mut Loaded, id: Option<&Word>, shown: &str) {
    let Some(id) = id else { return };
    if !adopted.program.questions.iter().any(|question| question.id == id.node) {
        let message = format!("program `{}` has no {shown} to strike", adopted.program.id);
        let known = adopted.program.questions.iter().map(|question| question.id.as_str());
        let help = near(&id.node, known).unwrap_or_else(|| "leave the line out".to_owned());
        cx.error("check/strikes-nothing", id.span, message, help);
        return;
    }
    // What stands only under a reading of the question goes with it.
    adopted.blocks.retain(|block| !block.under.iter().any(|under| under.name == id.node));
    for block in &mut adopted.blocks {
        if let Item::Clause(clause) = &mut block.item {
            clause.lines.retain(|line| !line.under.iter().any(|under| under.name == id.node));
        }
    }
    adopted.blocks.retain(|block| !matches!(&block.item, Item::Clause(clause) if clause.lines.is_empty()));
    adopted.struck_questions.insert(id.node.clone());
}

fn strike_topic(cx: &mut Context, adopted: &mut Loaded, what: &Word, id: Option<&Word>, mut struck: Struck) {
    let Some(topic) = id.and_then(|word| cx.topic(word)) else { return };
    let unread = what.node == NO_RULE;
    for block in &mut adopted.blocks {
        let topics = match &mut block.item {
            Item::Silent(topics) if !unread => topics,
            Item::Unread(topics) if unread => topics,
            _ => continue,
        };
        if topics.contains(&topic) {
            topics.retain(|known| *known != topic);
            struck.windows.push(block.window);
        }
    }
    adopted
        .blocks
        .retain(|block| !matches!(&block.item, Item::Silent(topics) | Item::Unread(topics) if topics.is_empty()));
    if struck.windows.is_empty() {
        let message = format!("program `{}` has no `{}` to strike", adopted.program.id, struck.shown);
        let there: BTreeSet<&str> = adopted.blocks.iter().flat_map(|block| topics_of(&block.item, unread)).collect();
        let there: Vec<&str> = there.into_iter().collect();
        let help = if there.is_empty() {
            "leave the line out".to_owned()
        } else {
            format!("it has `{}` {}", what.node, there.join(", "))
        };
        cx.error("check/strikes-nothing", struck.span, message, help);
        return;
    }
    adopted.struck.push(struck);
}

fn topics_of(item: &Item, unread: bool) -> Vec<&'static str> {
    match item {
        Item::Silent(topics) if !unread => topics.iter().map(|topic| Topic::word(*topic)).collect(),
        Item::Unread(topics) if unread => topics.iter().map(|topic| Topic::word(*topic)).collect(),
        _ => Vec::new(),
    }
}
