//! What a name means, told where the pointer rests on it: a clause with its law and its versions, a fact with its unit,
//! range and question, and so on.

use super::document::Document;
use super::names::{Name, Sort};
use crate::catalog::Entry;
use crate::model::{Fact, FactType, Monitor, spec, table};
use crate::report::warning::percent;
use crate::source::Span;
use crate::syntax::ast::{BulletKind, Citation, FactKind, Item, Kind, Property, PropertyKind};
use crate::syntax::words;

/// A declaration: the file that holds it, its name there, and its item.
pub(super) struct Declared<'d> {
    pub(super) entry: &'d Entry,
    pub(super) span: Span,
    pub(super) item: &'d Item,
}

/// Every place where the thing that a name names is declared: in the document, else in the files that it adopts.
pub(super) fn declarations<'d>(doc: &'d Document, name: &Name) -> Vec<Declared<'d>> {
    for entry in doc.entries() {
        let is_own = doc.entry.as_ref().is_some_and(|own| std::sync::Arc::ptr_eq(own, entry));
        if name.sort == Sort::Theirs && is_own {
            continue;
        }
        let wanted = match name.sort {
            Sort::Theirs => Name { sort: Sort::Outcome, ..name.clone() },
            _ => name.clone(),
        };
        let found: Vec<Declared<'d>> = super::names::of(&entry.file)
            .into_iter()
            .filter(|known| known.declares && known.is_same(&wanted))
            .filter_map(|known| {
                let holds = |item: &&Item| item.span.start <= known.span.start && known.span.end <= item.span.end;
                entry.file.items.iter().find(holds).map(|item| Declared { entry, span: known.span, item })
            })
            .collect();
        if !found.is_empty() {
            return found;
        }
    }
    Vec::new()
}

/// What is told of the words at a byte, as Markdown, with the words; `None` where nothing is known of them.
pub(super) fn hover(doc: &Document, byte: usize) -> Option<(Span, String)> {
    if let Some(name) = doc.name_at(byte)
        && let Some(text) = of_name(doc, name)
    {
        return Some((name.span, text));
    }
    keyword(doc, byte)
}

fn of_name(doc: &Document, name: &Name) -> Option<String> {
    match name.sort {
        Sort::Monitor => Monitor::named(&name.name).map(monitor),
        Sort::Topic => Some(format!("**topic {}**", name.name)),
        Sort::Fact => known_fact(&name.name).or_else(|| declared(doc, name)),
        _ => declared(doc, name),
    }
}

/// A fact of the vocabulary, by its name or by the words of a test of it.
pub(super) fn known_fact(words: &str) -> Option<String> {
    if words == "age" {
        return Some("**age**: test year less model year, as the file's `age` says".to_owned());
    }
    let row = table::FACTS.iter().find(|row| {
        row.name == words || matches!(row.kind, FactType::YesNo { yes, no } if yes == words || no == words)
    })?;
    Some(fact(row.fact))
}

fn fact(fact: Fact) -> String {
    let row = spec(fact);
    let mut lines = vec![format!("**{}** (fact): {}", row.name, row.about)];
    match row.kind {
        FactType::YesNo { yes, no } => lines.push(format!("tested by `{yes}` or `{no}`")),
        FactType::Words(all) => lines.push(format!("one of {}", all.join(", "))),
        FactType::Number { unit, least, most, saturates } => {
            let unit =
                Some(unit.word()).filter(|word| !word.is_empty()).map_or(String::new(), |word| format!(" {word}"));
            let more = if saturates { "; the greatest means that or more" } else { "" };
            lines.push(format!("a number from {least} through {most}{unit}{more}"));
        }
        FactType::Date => lines.push("a date".to_owned()),
        FactType::Text => lines.push("a text, in double quotes".to_owned()),
        FactType::Monitors => lines.push("a set of monitors".to_owned()),
        FactType::Codes => lines.push("a list of codes".to_owned()),
    }
    lines.push(format!("told by: {}", row.observer.word()));
    lines.push(format!("question: {}", row.question));
    lines.push(format!("in snapshots: `{}`", row.key));
    if row.may_be_absent {
        lines.push("a vehicle may be without it".to_owned());
    }
    lines.join("  \n")
}

fn monitor(monitor: Monitor) -> String {
    let row = spec(Fact::Monitor(monitor));
    let kind = if monitor.is_continuous() { "continuous" } else { "not continuous" };
    let engines = match (monitor.is_spark_only(), monitor.is_compression_only()) {
        (true, _) => "; of spark ignition engines",
        (_, true) => "; of compression ignition engines",
        _ => "",
    };
    let link = if monitor.is_j1939() { "; on J1939" } else { "" };
    format!(
        "**{}** (monitor): {kind}{engines}{link}  \n{}  \ntold by: {}",
        monitor.name(),
        row.about,
        row.observer.word()
    )
}

fn declared(doc: &Document, name: &Name) -> Option<String> {
    let all = declarations(doc, name);
    let first = all.first()?;
    let mut lines = vec![head(name, first)];
    let is_own = doc.entry.as_ref().is_some_and(|own| own.id == first.entry.id);
    if !is_own {
        lines.push(format!("adopted from `{}`", first.entry.id));
    }
    match &first.item.kind {
        Kind::Source { title, kind, seen, on, currency, at, .. } => {
            lines.push(title.node.clone());
            let seen = [seen.as_ref(), on.as_ref()].into_iter().flatten().map(|word| word.node.clone());
            let marks: Vec<String> =
                std::iter::once(kind.node.clone()).chain([seen.collect::<Vec<_>>().join(" ")]).collect();
            let marks = marks.into_iter().chain(currency.iter().map(|word| word.node.clone()));
            lines.push(marks.filter(|mark| !mark.is_empty()).collect::<Vec<_>>().join(", "));
            lines.extend(at.iter().map(|at| format!("<{}>", at.node)));
        }
        Kind::Outcomes(list) => {
            if let Some(one) = list.iter().find(|one| one.name.node == name.name) {
                let class = one.class.as_ref().map_or(name.name.as_str(), |class| class.node.as_str());
                lines.push(format!("class {class}"));
                lines.extend(one.label.iter().map(|label| format!("called \"{}\"", label.node)));
            }
        }
        Kind::Question { text, .. } | Kind::Option { text, .. } => {
            lines.push(text.node.clone());
            lines.extend(readings(first.item, &name.of, &name.name));
        }
        Kind::Fact { kind, .. } => {
            lines.push(match kind {
                FactKind::YesNo => "yes or no".to_owned(),
                FactKind::Words(all) => format!("one of {}", joined(all.iter().map(|word| word.node.as_str()))),
                FactKind::Number { least, most, unit } => {
                    let unit = unit.as_ref().map_or(String::new(), |unit| format!(" {}", unit.node));
                    format!("a number from {} through {}{unit}", least.node, most.node)
                }
            });
            for property in &first.item.properties {
                match &property.kind {
                    PropertyKind::ObservedBy(word) => lines.push(format!("told by: {}", word.node)),
                    PropertyKind::Asks(text) => lines.push(format!("question: {}", text.node)),
                    _ => {}
                }
            }
        }
        Kind::Result { words, .. } => {
            let all = words.iter().map(|word| word.node.as_str()).chain(["not-done"]);
            lines.push(format!("a result of a further test: {}", joined(all)));
        }
        Kind::Change { kind, text, .. } => lines.push(format!("{}: {}", kind.node, text.node)),
        _ => {}
    }
    if matches!(name.sort, Sort::Clause | Sort::Limit | Sort::Finding | Sort::CodeGroup | Sort::Period | Sort::Anything)
    {
        lines.extend(all.iter().flat_map(|one| version(doc, one, all.len() > 1)));
    }
    if let (Sort::Clause, Some(study)) = (name.sort, &doc.study) {
        lines.extend(
            study
                .decides
                .get(&name.name)
                .map(|share| format!("decides {} of the covered vehicles that can be told apart", percent(*share))),
        );
        let cases = study.decided.get(&name.name).map_or(0, Vec::len);
        lines.push(format!("worked cases that it decides: {cases}"));
    }
    Some(lines.join("  \n"))
}

fn head(name: &Name, first: &Declared<'_>) -> String {
    let sort = match (&first.item.kind, name.sort) {
        (Kind::Option { .. }, Sort::Choice) => "option",
        (Kind::Option { .. }, Sort::Reading) => "value",
        (_, Sort::Anything) => "",
        (_, sort) => sort.word(),
    };
    let on = match &first.item.kind {
        Kind::Clause { topic, .. } => format!(" on {}", topic.node),
        _ => String::new(),
    };
    format!("**{}**{on}", format!("{sort} {}", name.name).trim())
}

/// The readings of a question; of one that is asked for, what it means.
fn readings(item: &Item, of: &str, name: &str) -> Vec<String> {
    let bullets = item.properties.iter().filter_map(|property| match &property.kind {
        PropertyKind::Bullet(bullet) => Some(&bullet.kind),
        _ => None,
    });
    let told = bullets.filter_map(|kind| match kind {
        BulletKind::Reading { id, text } if of.is_empty() || id.node == name => {
            let text = text.as_ref().map_or(String::new(), |text| format!(": {}", text.node));
            Some(format!("- `{}`{text}", id.node))
        }
        _ => None,
    });
    told.collect()
}

/// The dates of one version and the law that it rests on.
fn version(doc: &Document, one: &Declared<'_>, tells_dates: bool) -> Vec<String> {
    let mut properties: Vec<&Property> = one.item.properties.iter().collect();
    let dates = dates(&properties);
    let mut lines = Vec::new();
    if tells_dates || !dates.is_empty() {
        lines.push(format!("version: {}", if dates.is_empty() { "at all times" } else { &dates }));
    }
    let mut at = 0;
    while let Some(property) = properties.get(at).copied() {
        match &property.kind {
            PropertyKind::Per(citation) => {
                let told = format!("per {}", cited(doc, one.entry, citation));
                if !lines.contains(&told) {
                    lines.push(told);
                }
            }
            PropertyKind::Bullet(bullet) => properties.extend(&bullet.properties),
            _ => {}
        }
        at += 1;
    }
    lines
}

fn dates(properties: &[&Property]) -> String {
    let told = properties.iter().filter_map(|property| match &property.kind {
        PropertyKind::From(day) => Some(format!("in force from {}", day.node)),
        PropertyKind::Through(day) => Some(format!("in force through {}", day.node)),
        PropertyKind::InPeriod(period) => Some(format!("in force during {}", period.node)),
        PropertyKind::Draft { .. } => Some("draft".to_owned()),
        _ => None,
    });
    told.collect::<Vec<_>>().join(" ")
}

/// A citation with the title of its source, which an adopted file may declare, and how the text was seen.
fn cited(doc: &Document, entry: &Entry, citation: &Citation) -> String {
    let others = doc.entries().flat_map(|entry| &entry.file.items);
    let source = entry.file.items.iter().chain(others).find_map(|item| match &item.kind {
        Kind::Source { id, title, kind, seen, .. } if id.node == citation.source.node => Some((title, kind, seen)),
        _ => None,
    });
    let locator = citation.locator.as_ref().map_or(String::new(), |text| format!(", {}", text.node));
    match source {
        Some((title, kind, seen)) => {
            let seen =
                citation.seen.as_ref().or(seen.as_ref()).map_or(String::new(), |word| format!(", {}", word.node));
            format!("{}{locator} [{}{seen}]", title.node, kind.node)
        }
        None => format!("{}{locator}", citation.source.node),
    }
}

fn joined<'w>(words: impl Iterator<Item = &'w str>) -> String {
    words.collect::<Vec<_>>().join(", ")
}

/// A keyword, with an example of its use: the first words of a line.
fn keyword(doc: &Document, byte: usize) -> Option<(Span, String)> {
    let line = doc.lines.line_of(byte);
    let start = doc.lines.start(&doc.text, line);
    let whole = doc.lines.line(&doc.text, line);
    let text = whole.trim_start();
    let from = start + whole.len() - text.len();
    let all = if from == start { words::ITEMS } else { words::PROPERTIES };
    let is_first = |word: &str| {
        text.strip_prefix(word)
            .is_some_and(|rest| !rest.starts_with(|mark: char| mark.is_alphanumeric() || mark == '-'))
    };
    let longest = |word: &&str| word.len();
    let known = all.iter().map(|keyword| keyword.word).filter(|word| is_first(word)).max_by_key(longest);
    let older = words::OLDER.iter().map(|(older, _)| *older).filter(|word| is_first(word)).max_by_key(longest);
    let written = known.into_iter().chain(older).max_by_key(longest)?;
    // What an older word is called today, and shown as.
    let today = words::OLDER.iter().find(|(older, _)| *older == written).map_or(written, |(_, today)| *today);
    let keyword = words::ITEMS.iter().chain(words::PROPERTIES).find(|keyword| keyword.word == today)?;
    let older = if today == written { String::new() } else { format!(" (`{written}` is an older word for it)") };
    let span = Span::new(from, from + written.len());
    let (first, end) = super::place::bytes(span);
    (first <= byte && byte <= end)
        .then(|| (span, format!("**{}**{older}\n```wherefore\n{}\n```", keyword.word, keyword.example)))
}
