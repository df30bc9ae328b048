//! Sources: texts that lines rest on. Those of adopted programs come along, under the program that wrote them down, and
//! can be cited as they are.

use super::adoption::Loaded;
use super::context::Context;
use crate::diagnostic::Diagnostic;
use crate::program::{Currency, Kind, Seen, Source};
use crate::syntax::ast::{self, File, Word};
use std::collections::BTreeMap;

pub(super) fn check(cx: &mut Context, file: &File, adoptions: &[Loaded]) {
    let mut places: BTreeMap<&str, &Word> = BTreeMap::new();
    let mut sources = Vec::new();
    for item in &file.items {
        let ast::Kind::Source { id, title, kind, seen, on, currency, at } = &item.kind else { continue };
        cx.properties("a `source`", &item.properties, &[]);
        if let Some(before) = places.insert(&id.node, id) {
            let diagnostic =
                Diagnostic::error("check/name-twice", id.span, format!("there are two sources `{}`", id.node));
            cx.report(diagnostic.also(before.span, "the first one").help("give one of them another name"));
            continue;
        }
        if title.node.trim().is_empty() {
            let message = format!("source `{}` has no citation", id.node);
            cx.error(
                "check/part-missing",
                title.span,
                message,
                "say between the quotes which text it is: \"1 EX 2.3\"",
            );
        }
        let kind_of = Kind::ALL.iter().find(|(_, word)| *word == kind.node).map(|(kind, _)| *kind);
        if kind_of.is_none() {
            cx.unknown("check/unknown-word", "kind of text", kind, Kind::ALL.iter().map(|(_, word)| *word));
        }
        let seen_as = match seen {
            Some(word) => cx.seen(word),
            // What has no published text cannot have been read.
            None if matches!(kind_of, Some(Kind::Memory | Kind::Practice) | None) => Some(Seen::FromMemory),
            None => {
                let message = format!("source `{}` does not say how the text was seen", id.node);
                let ways: Vec<&str> = Seen::ALL.iter().map(|(_, words)| *words).collect();
                cx.error("check/seen-missing", kind.span, message, format!("add one of: {}", ways.join(", ")));
                None
            }
        };
        let on = on.as_ref().and_then(|word| cx.date(word));
        let marked =
            currency.as_ref().map(|word| (word, Currency::MARKS.iter().find(|(_, words)| *words == word.node)));
        if let Some((word, None)) = marked {
            let known = Currency::MARKS.iter().map(|(_, words)| *words);
            cx.unknown("check/unknown-word", "mark of how current a text is", word, known);
        }
        sources.push(Source {
            id: id.node.clone(),
            title: title.node.clone(),
            kind: kind_of.unwrap_or(Kind::Memory),
            seen: seen_as.unwrap_or(Seen::FromMemory),
            on,
            currency: marked.and_then(|(_, mark)| mark).map_or(Currency::Current, |(mark, _)| *mark),
            place: at.as_ref().map(|word| word.node.clone()),
            program: cx.program.id.clone(),
        });
    }
    for adopted in adoptions {
        for source in &adopted.program.sources {
            if !sources.iter().any(|known| known.program == source.program && known.id == source.id) {
                sources.push(source.clone());
            }
        }
    }
    // Places in the list follow names, never the order of items.
    sources.sort_by(|a, b| (&a.program, &a.id).cmp(&(&b.program, &b.id)));
    let own = sources.iter().enumerate().filter(|(_, source)| source.program == cx.program.id);
    cx.names.sources = own.map(|(place, source)| (source.id.clone(), place)).collect();
    cx.program.sources = sources;
    if cx.program.language >= 2 {
        adopted(cx, adoptions);
    }
}

/// The sources that adopted programs declare can be cited here; a name that means several texts can not.
fn adopted(cx: &mut Context, adoptions: &[Loaded]) {
    let mut found: BTreeMap<&str, Vec<&Source>> = BTreeMap::new();
    for adopted in adoptions {
        let declared = adopted.program.sources.iter().filter(|source| source.program == adopted.program.id);
        for source in declared.filter(|source| !cx.names.sources.contains_key(&source.id)) {
            found.entry(&source.id).or_default().push(source);
        }
    }
    for (id, all) in found {
        let Some(first) = all.first() else { continue };
        if all.iter().any(|other| !is_same_text(first, other)) {
            let programs = all.iter().map(|source| format!("`{}`", source.program)).collect::<Vec<_>>().join(" and ");
            cx.names.ambiguous_sources.insert(id.to_owned(), programs);
            continue;
        }
        let place = cx.program.sources.iter().position(|known| known.program == first.program && known.id == id);
        cx.names.sources.extend(place.map(|place| (id.to_owned(), place)));
    }
}

/// Whether two sources are one text, seen in the same way on the same day.
pub(super) fn is_same_text(one: &Source, other: &Source) -> bool {
    let said = |source: &Source| Source { id: String::new(), program: String::new(), ..source.clone() };
    said(one) == said(other)
}
