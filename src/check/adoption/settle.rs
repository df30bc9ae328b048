//! What this file's own items do to adopted ones: `replaces`, and names that both have.

use super::super::context::Context;
use super::super::dates::{intersection, shown, uncovered};
use super::super::names::{item_name, near};
use super::Loaded;
use crate::diagnostic::Diagnostic;
use crate::program::{Block, Item as Said, Origin, Variant, Window, variant_of};
use crate::source::Span;
use crate::syntax::ast::{File, Item};

/// Replaces adopted blocks, and reports names that are in both without `replaces`.
pub(crate) fn settle(cx: &mut Context, file: &File, adoptions: &[Loaded]) {
    let mut replaced: Vec<(Variant<'_>, Window)> = Vec::new();
    for item in &file.items {
        match item.replaces {
            Some(word) => replaced.extend(replace(cx, item, word)),
            None => clash(cx, item),
        }
    }
    cut(cx, &replaced);
    for adopted in adoptions {
        for struck in &adopted.struck {
            in_part(cx, struck.span, &struck.shown, Window::default(), &struck.windows);
        }
    }
    readings_gone(cx);
    sort(cx);
}

/// Lists by name, so that the order of items means nothing.
fn sort(cx: &mut Context) {
    cx.program.facts.sort_by(|a, b| a.name.cmp(&b.name));
    cx.program.questions.sort_by(|a, b| a.id.cmp(&b.id));
    cx.program.options.sort_by(|a, b| a.id.cmp(&b.id));
    cx.program.tables.sort_by(|a, b| a.id.cmp(&b.id));
}

fn replace<'a>(cx: &mut Context, item: &'a Item, word: Span) -> Option<(Variant<'a>, Window)> {
    let Some((kind, name)) = item_name(&item.kind) else {
        let help = "strike the adopted one under `adopts`, and write this one without `replaces`";
        cx.error("check/replaces-nothing", word, "only what has a name is replaced", help);
        return None;
    };
    let own = cx.program.id.clone();
    let adopted = |origin: &Origin| origin.program != own;
    let program = &mut cx.program;
    let known: Vec<String> = match kind {
        "question" => taken_out(&mut program.questions, &name, |one| &one.id, |one| adopted(&one.origin)),
        "option" => taken_out(&mut program.options, &name, |one| &one.id, |one| adopted(&one.origin)),
        "table" => taken_out(&mut program.tables, &name, |one| &one.id, |one| adopted(&one.origin)),
        "fact" => taken_out(&mut program.facts, &name, |one| &one.name, |one| adopted(&one.origin)),
        _ => return replace_block(cx, item, word, kind, &name),
    };
    if !known.contains(&name) {
        nothing(cx, word, kind, &name, &known);
    }
    None
}

/// Takes the adopted thing of that name out of the list; gives back the names of all adopted ones.
fn taken_out<T>(
    list: &mut Vec<T>,
    wanted: &str,
    name: impl Fn(&T) -> &String,
    adopted: impl Fn(&T) -> bool,
) -> Vec<String> {
    let known = list.iter().filter(|one| adopted(one)).map(|one| name(one).clone()).collect();
    list.retain(|one| !adopted(one) || name(one) != wanted);
    known
}

fn replace_block<'a>(
    cx: &mut Context,
    item: &'a Item,
    word: Span,
    kind: &str,
    name: &str,
) -> Option<(Variant<'a>, Window)> {
    let adopted = cx.program.blocks.iter().filter(|block| !cx.is_own(&block.origin));
    let of_kind = adopted.filter(|block| kind_of(&block.item) == Some(kind));
    let of_kind: Vec<(String, Window)> =
        of_kind.filter_map(|block| Some((id_of(&block.item)?.to_owned(), block.window))).collect();
    let windows: Vec<Window> = of_kind.iter().filter(|(id, _)| id == name).map(|(_, window)| *window).collect();
    if windows.is_empty() {
        let known: Vec<String> = of_kind.into_iter().map(|(id, _)| id).collect();
        nothing(cx, word, kind, name, &known);
        return None;
    }
    let own = cx.program.blocks.iter().find(|block| cx.is_own(&block.origin) && block.origin.span == item.span)?;
    if own.draft {
        return None;
    }
    let (window, published) = (own.window, own.published);
    in_part(cx, word, &format!("{kind} {name}"), window, &windows);
    if let Some(day) = published {
        let message = format!("before {day} neither this {kind} nor the adopted one is known");
        let diagnostic = Diagnostic::warning("check/replaces-published", word, message).about(name);
        cx.report(diagnostic.help("leave `published` out, or accept that rulings as known before that day have a gap"));
    }
    Some((variant(&item.kind)?, window))
}

fn nothing(cx: &mut Context, word: Span, kind: &str, name: &str, known: &[String]) {
    let message = format!("no adopted program has {kind} `{name}`");
    let help = near(name, known.iter().map(String::as_str)).unwrap_or_else(|| "leave `replaces` out".to_owned());
    cx.error("check/replaces-nothing", word, message, help);
}

fn variant(kind: &crate::syntax::ast::Kind) -> Option<Variant<'_>> {
    use crate::syntax::ast::Kind;
    Some(match kind {
        Kind::Clause { id, .. } => Variant::Clause(&id.node),
        Kind::Limit { id } => {
            Variant::Limit(id.as_ref().map_or(super::super::names::STANDARD_LIMIT, |id| id.node.as_str()))
        }
        Kind::Finding { id, .. } => Variant::Finding(&id.node),
        Kind::CodeGroup { id, .. } => Variant::CodeGroup(&id.node),
        _ => return None,
    })
}

fn kind_of(item: &Said) -> Option<&'static str> {
    variant_of(item).map(|variant| match variant {
        Variant::Age => "age",
        Variant::Limit(_) => "limit",
        Variant::Clause(_) => "clause",
        Variant::Finding(_) => "finding",
        Variant::CodeGroup(_) => "code group",
    })
}

fn id_of(item: &Said) -> Option<&str> {
    match variant_of(item)? {
        Variant::Limit(id) | Variant::Clause(id) | Variant::Finding(id) | Variant::CodeGroup(id) => Some(id),
        Variant::Age => None,
    }
}

/// Leaves of each replaced block the dates on which nothing replaces it.
fn cut(cx: &mut Context, replaced: &[(Variant<'_>, Window)]) {
    let own = cx.program.id.clone();
    let mut kept: Vec<Block> = Vec::with_capacity(cx.program.blocks.len());
    for block in cx.program.blocks.drain(..) {
        let variant = variant_of(&block.item);
        let by = replaced.iter().filter(|(what, _)| block.origin.program != own && variant == Some(*what));
        let by: Vec<Window> = by.map(|(_, window)| *window).collect();
        if by.is_empty() {
            kept.push(block);
            continue;
        }
        let rest = uncovered(block.window, by);
        kept.extend(rest.into_iter().map(|window| Block { window, ..block.clone() }));
    }
    cx.program.blocks = kept;
}

/// Reports what is struck or replaced on dates on which it is not there.
fn in_part(cx: &mut Context, span: Span, what: &str, when: Window, there: &[Window]) {
    let in_force = cx.program.blocks.iter().filter(|block| matches!(block.item, Said::InForce));
    let wanted: Vec<Window> = in_force.filter_map(|block| intersection(block.window, when)).collect();
    let missing: Vec<Window> = wanted.into_iter().flat_map(|window| uncovered(window, there.iter().copied())).collect();
    if let Some(first) = missing.first() {
        // What begins with `no` or `text` is quoted, so that it reads as the file's words.
        let quoted = if what.contains(" on ") { format!("`{what}`") } else { what.to_owned() };
        let message = format!("the adopted program has no {quoted} {}", shown(*first));
        let diagnostic = Diagnostic::warning("check/strikes-in-part", span, message).about(what);
        cx.report(diagnostic.help("the line has no effect on those dates; look whether that is meant"));
    }
}

fn clash(cx: &mut Context, item: &Item) {
    let Some((kind, name)) = item_name(&item.kind) else { return };
    let own = cx.program.id.clone();
    let program = &cx.program;
    let other = match kind {
        "question" | "option" => {
            let questions = program.questions.iter().map(|one| (&one.id, &one.origin));
            let all = questions.chain(program.options.iter().map(|one| (&one.id, &one.origin)));
            find(all, &name, &own)
        }
        "table" => find(program.tables.iter().map(|one| (&one.id, &one.origin)), &name, &own),
        "fact" => find(program.facts.iter().map(|one| (&one.name, &one.origin)), &name, &own),
        // Blocks may be variants of each other on different dates: `variants` looks at them.
        _ => None,
    };
    if let Some(other) = other {
        cx.names_clash = true;
        let message = format!("program `{other}`, which is adopted, has {kind} `{name}` too");
        let help = "write `replaces` before this one, give it another name, or leave it out";
        cx.error("check/name-twice", item.span, message, help);
    }
}

fn find<'a>(mut all: impl Iterator<Item = (&'a String, &'a Origin)>, name: &str, own: &str) -> Option<String> {
    all.find(|(known, origin)| *known == name && origin.program != own).map(|(_, origin)| origin.program.clone())
}

/// Adopted blocks that stand under a reading or value that a replacing question or option no longer has.
fn readings_gone(cx: &mut Context) {
    if cx.names_clash {
        return;
    }
    let mut gone = Vec::new();
    for block in cx.program.blocks.iter().filter(|block| !cx.is_own(&block.origin)) {
        let lines = match &block.item {
            Said::Clause(clause) => clause.lines.as_slice(),
            _ => &[],
        };
        for under in block.under.iter().chain(lines.iter().flat_map(|line| &line.under)) {
            let known = cx.names.questions.get(&under.name).or_else(|| cx.names.options.get(&under.name));
            if !known.is_some_and(|known| known.contains(&under.value)) {
                gone.push((under.clone(), block.origin.program.clone()));
            }
        }
    }
    gone.sort_by(|a, b| (&a.0, &a.1).cmp(&(&b.0, &b.1)));
    gone.dedup();
    for (under, program) in gone {
        let span = cx.program.adopted.iter().find(|adopted| adopted.program == program);
        let span = span.or_else(|| cx.program.adopted.first()).map_or(Span::default(), |adopted| adopted.span);
        let message = format!(
            "blocks of program `{program}` stand only if `{}` is read as `{}`, which is there no more",
            under.name, under.value
        );
        cx.error("check/reading-gone", span, message, "strike or replace those blocks too, or keep the reading");
    }
}
