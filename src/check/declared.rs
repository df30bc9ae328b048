//! Everything that has a name: collected before any condition is read, so that the order of items means nothing.

use super::adoption::Loaded;
use super::context::Context;
use super::limits;
use super::names::STANDARD_LIMIT;
use crate::diagnostic::Diagnostic;
use crate::model::{Observer, Unit};
use crate::program::block::{DeclaredFact, DeclaredType};
use crate::program::{Variant, variant_of};
use crate::source::Span;
use crate::syntax::ast::{BulletKind, FactKind, File, Item, Kind, PropertyKind, Word};
use std::collections::BTreeMap;

/// The word that every result has.
const NOT_DONE: &str = "not-done";

/// Words that a fact may not be called: tests begin with them.
const TAKEN_WORDS: [&str; 12] =
    ["age", "any", "every", "no", "not", "only", "over", "within", "listed", "none", "ordinary", "sound"];

pub(super) fn check(cx: &mut Context, file: &File, adoptions: &mut [Loaded]) {
    super::adoption::strike(cx, adoptions);
    let mut once: BTreeMap<(&str, &str), Span> = BTreeMap::new();
    for item in &file.items {
        let (kind, word) = match &item.kind {
            Kind::Finding { id, .. } => {
                cx.names.findings.insert(id.node.clone());
                continue;
            }
            Kind::Limit { id } => {
                let id = id.as_ref().map_or(STANDARD_LIMIT, |id| id.node.as_str());
                cx.names.limits.insert(id.to_owned());
                continue;
            }
            Kind::CodeGroup { id, .. } => {
                cx.names.groups.insert(id.node.clone());
                continue;
            }
            Kind::Clause { id, .. } => {
                cx.names.clauses.insert(id.node.clone());
                continue;
            }
            Kind::Table { id } => ("table", id),
            Kind::Question { id, .. } => ("question or option", id),
            Kind::Option { id, .. } => ("question or option", id),
            Kind::Fact { name, .. } | Kind::Result { name, .. } => ("fact", name),
            _ => continue,
        };
        if let Some(before) = once.insert((kind, word.node.as_str()), word.span) {
            let message = format!("there are two {}s `{}`", kind.replace(" or ", "s or "), word.node);
            let diagnostic = Diagnostic::error("check/name-twice", word.span, message);
            cx.report(diagnostic.also(before, "the first one").help("give one of them another name"));
            continue;
        }
        declare(cx, item, word);
    }
    for adopted in adoptions.iter() {
        adopt(cx, adopted);
    }
    cx.at_most(Span::default(), cx.names.questions.len(), limits::QUESTIONS, "questions");
    cx.at_most(Span::default(), cx.names.options.len(), limits::OPTIONS, "options");
    cx.at_most(Span::default(), cx.names.findings.len(), limits::FINDINGS, "findings");
    cx.at_most(Span::default(), cx.names.facts.len(), limits::FACTS, "declared facts");
}

fn declare(cx: &mut Context, item: &Item, word: &Word) {
    match &item.kind {
        Kind::Table { .. } => {
            cx.names.tables.insert(word.node.clone());
        }
        Kind::Question { .. } => {
            let readings = item.properties.iter().filter_map(|property| match &property.kind {
                PropertyKind::Bullet(bullet) => match &bullet.kind {
                    BulletKind::Reading { id, .. } => Some(id.node.clone()),
                    _ => None,
                },
                _ => None,
            });
            cx.names.questions.insert(word.node.clone(), readings.collect());
        }
        Kind::Option { values, .. } => {
            let values = values.iter().map(|value| value.node.clone()).collect();
            cx.names.options.insert(word.node.clone(), values);
        }
        Kind::Fact { kind, .. } => {
            let kind = fact_type(cx, kind, item.span);
            fact(cx, item, word, kind, false);
        }
        Kind::Result { words, .. } => {
            let mut all = vec![Word::new(NOT_DONE.to_owned(), word.span)];
            all.extend(words.iter().filter(|word| word.node != NOT_DONE).cloned());
            let kind = words_type(cx, &all, item.span);
            fact(cx, item, word, kind, true);
        }
        _ => {}
    }
}

fn fact_type(cx: &mut Context, kind: &FactKind, span: Span) -> DeclaredType {
    match kind {
        FactKind::YesNo => DeclaredType::YesNo,
        FactKind::Words(words) => words_type(cx, words, span),
        FactKind::Number { least, most, unit } => {
            if most.node < least.node {
                let message = "the greatest value is below the least";
                cx.error("check/bounds-reversed", most.span, message, "write the lower one first");
            }
            let unit = match unit {
                None => Unit::One,
                Some(word) => Unit::named(&word.node).unwrap_or_else(|| {
                    let known = ["km", "miles", "lb", "kg", "minutes", "hours", "days"];
                    cx.unknown("check/unknown-unit", "unit", word, known);
                    Unit::One
                }),
            };
            if unit.to_base(most.node).is_none() || unit.to_base(least.node).is_none() {
                let help = "give the greatest value that can really be read";
                cx.error("check/out-of-range", most.span, "the number is too large to be kept exactly", help);
            }
            DeclaredType::Number { unit, least: least.node, most: most.node }
        }
    }
}

fn words_type(cx: &mut Context, words: &[Word], span: Span) -> DeclaredType {
    cx.at_most(span, words.len(), limits::WORDS, "words of one fact");
    if words.len() < 2 {
        let help = "list the words it can have: at least two";
        cx.error("check/nothing-listed", span, "a fact of one word tells nothing", help);
    }
    let mut kept: Vec<String> = Vec::new();
    for word in words {
        if kept.contains(&word.node) {
            cx.error("check/listed-twice", word.span, format!("`{}` is listed twice", word.node), "list it once");
        } else {
            kept.push(word.node.clone());
        }
    }
    DeclaredType::Words(kept)
}

fn fact(cx: &mut Context, item: &Item, word: &Word, kind: DeclaredType, is_result: bool) {
    let (_, properties) = cx.properties("a declared fact", &item.properties, &[&["asks", "observed by"]]);
    if super::names::fact_named(&word.node).is_some()
        || crate::model::Monitor::named(&word.node).is_some()
        || TAKEN_WORDS.contains(&word.node.as_str())
    {
        let message = format!("`{}` already means something in the language", word.node);
        cx.error("check/name-taken", word.span, message, "give the fact another name");
    }
    let mut question = None;
    let mut observer = if is_result { Observer::Papers } else { Observer::Look };
    for property in properties {
        match &property.kind {
            PropertyKind::Asks(text) => question = Some(text.node.clone()),
            PropertyKind::ObservedBy(word) => {
                let all = [Observer::Reader, Observer::Look, Observer::Papers, Observer::Visit];
                match all.iter().find(|known| known.word() == word.node) {
                    Some(known) => observer = *known,
                    None => cx.unknown("check/unknown-word", "observer", word, all.iter().map(|one| one.word())),
                }
            }
            _ => {}
        }
    }
    let question = question.unwrap_or_else(|| format!("What is {}?", word.node.replace('-', " ")));
    cx.names.facts.insert(word.node.clone(), kind.clone());
    let origin = cx.origin(item.span);
    let name = word.node.clone();
    cx.program.facts.push(DeclaredFact { name, kind, question, observer, is_result, origin });
}

fn adopt(cx: &mut Context, adopted: &Loaded) {
    for block in &adopted.blocks {
        match variant_of(&block.item) {
            Some(Variant::Limit(id)) => cx.names.limits.insert(id.to_owned()),
            Some(Variant::Clause(id)) => cx.names.clauses.insert(id.to_owned()),
            Some(Variant::Finding(id)) => cx.names.findings.insert(id.to_owned()),
            Some(Variant::CodeGroup(id)) => cx.names.groups.insert(id.to_owned()),
            Some(Variant::Age) | None => false,
        };
    }
    cx.names.tables.extend(adopted.program.tables.iter().map(|table| table.id.clone()));
    for question in adopted.program.questions.iter().filter(|question| !adopted.struck_questions.contains(&question.id))
    {
        let readings = question.readings.iter().map(|(id, _, _)| id.clone()).collect();
        cx.names.questions.entry(question.id.clone()).or_insert(readings);
    }
    for option in &adopted.program.options {
        cx.names.options.entry(option.id.clone()).or_insert_with(|| option.values.clone());
    }
    for fact in &adopted.program.facts {
        cx.names.facts.entry(fact.name.clone()).or_insert_with(|| fact.kind.clone());
    }
}
