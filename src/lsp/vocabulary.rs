//! The words that a place asks for: those of the language, of the vocabulary of facts, and the names of the file and of
//! the programs that it adopts.

use super::complete::{Cursor, Offers, begins, plain};
use super::document::Document;
use super::names::{self, Sort};
use crate::model::county::State;
use crate::model::{FactType, Monitor, spec, table};
use crate::syntax::ast::{FactKind, Kind};
use crate::syntax::words;
use lsp_types::CompletionItemKind;
use std::collections::BTreeSet;

/// Items that may follow `replaces`.
pub(super) const IS_REPLACED: [&str; 5] = ["clause", "limit", "finding", "code group", "age"];

pub(super) const STATES: [&str; 5] =
    ["incomplete", "supported and complete", "complete wherever supported", "supported", "unsupported"];
const NO_RULE: &str = "no rule applied on";
const DATES: [&str; 6] = ["per", "in force from", "in force through", "in force during", "published", "draft"];

/// Words that begin the properties of an item.
pub(super) fn properties_of(item: &str) -> Vec<&'static str> {
    let own: &[&str] = match item {
        "program" => &["authority", "language", "standing", "reviewed", "adopted only"],
        "clause" => &["concerns", "where", "requires", "gives way to", "only if"],
        "limit"
        | "finding"
        | "table"
        | "covers"
        | "leaves out"
        | "exempts"
        | "sends to"
        | "due"
        | "counts"
        | "excuses"
        | "consequence"
        | "note"
        | "not expressible here"
        | "code group"
        | "text silent on"
        | NO_RULE
        | "presumes"
        | "outcome" => &["only if", "rows from"],
        "question" => &["taken", "left open"],
        "option" => &["chosen"],
        "fact" | "result" => &["asks", "observed by"],
        "adopts" => &["with", "strikes", "their"],
        "advice on" => &["takes", "first", "caution", "where"],
        "in force" | "period" => return vec!["per", "from", "through", "published", "draft"],
        "change" => return vec!["could turn", "per", "from", "through"],
        "case" => return vec!["on", "known on", "take", "facts", "expect", "brings", "is due", "per"],
        "source" | "outcomes" | "ordinary" | "acknowledges" => return Vec::new(),
        _ => &[],
    };
    own.iter().copied().chain(DATES).filter(|word| item == "table" || *word != "rows from").collect()
}

/// Names of a sort that the file and what it adopts declare.
pub(super) fn declared(doc: &Document, sort: Sort) -> Offers {
    let mut seen = BTreeSet::new();
    let mut offers = Offers::new();
    for entry in doc.entries() {
        // Periods of an adopted file cannot be named; outcomes are the file's own.
        let is_own = doc.entry.as_ref().is_some_and(|own| own.id == entry.id);
        if !is_own && [Sort::Period, Sort::Outcome, Sort::Change].contains(&sort) {
            continue;
        }
        for name in names::of(&entry.file).into_iter().filter(|name| name.declares && name.sort == sort) {
            if seen.insert(name.name.clone()) {
                let from = if is_own { String::new() } else { format!(" of {}", entry.id) };
                let detail = match title(doc, &name.name).filter(|_| sort == Sort::Source) {
                    Some(title) => title,
                    None => format!("{}{from}", sort.word()),
                };
                offers.push((name.name, detail, CompletionItemKind::REFERENCE));
            }
        }
    }
    offers
}

fn title(doc: &Document, source: &str) -> Option<String> {
    doc.entries().flat_map(|entry| &entry.file.items).find_map(|item| match &item.kind {
        Kind::Source { id, title, .. } if id.node == source => Some(title.node.clone()),
        _ => None,
    })
}

fn readings(doc: &Document, of: &str) -> Offers {
    let all = doc.entries().flat_map(|entry| names::of(&entry.file));
    let mut found: Vec<String> =
        all.filter(|name| name.declares && name.sort == Sort::Reading && name.of == of).map(|name| name.name).collect();
    found.dedup();
    found.iter().map(|name| plain(name, &format!("of {of}"))).collect()
}

fn all(list: &[&str], detail: &str) -> Offers {
    list.iter().map(|word| plain(word, detail)).collect()
}

fn monitors() -> Offers {
    Monitor::all().map(|monitor| plain(monitor.name(), "monitor")).collect()
}

fn outcomes(doc: &Document) -> Offers {
    declared(doc, Sort::Outcome)
}

/// What stands behind the words before the cursor; `None` where they ask for nothing by themselves.
pub(super) fn behind(cursor: &Cursor<'_>) -> Option<Offers> {
    let (doc, stem) = (cursor.doc, cursor.stem.as_str());
    let last = |words: &str| stem == words || stem.ends_with(&format!(" {words}"));
    let item = cursor.item();
    if last("per") || last("follows from") {
        return Some(declared(doc, Sort::Source));
    }
    if last("gives way to") {
        let mut offers = declared(doc, Sort::Clause);
        offers.push(plain("any", "any clause with an outcome"));
        return Some(offers);
    }
    if last("gives way to any")
        || ["sends to", "outcome", "becomes", "after", "could turn", "into", "is our"].iter().any(|word| last(word))
    {
        return Some(outcomes(doc));
    }
    if begins(stem, "expect") && (last("expect") || last("or")) || item == "leaves out" && stem.ends_with(':') {
        let mut offers = outcomes(doc);
        offers.push(plain("not-subject", "not subject to the program"));
        return Some(offers);
    }
    if last("by") && (begins(stem, "expect") || item == "consequence") {
        return Some(declared(doc, Sort::Clause));
    }
    named(cursor, &last).or_else(|| listed(cursor, &last)).or_else(|| value(cursor))
}

/// Names of the file's things.
fn named(cursor: &Cursor<'_>, last: &dyn Fn(&str) -> bool) -> Option<Offers> {
    let (doc, stem) = (cursor.doc, cursor.stem.as_str());
    let item = cursor.item();
    if let Some(rest) = stem.strip_prefix("only if") {
        // Behind the name stands `is read as` or `is chosen as`, and then the reading or the value.
        let name = rest.split_whitespace().next();
        return Some(match name {
            None => declared(doc, Sort::Choice),
            Some(name) if rest.ends_with(" as") => readings(doc, name),
            Some(_) => all(&["is read as", "is chosen as"], "of a question, or of an option"),
        });
    }
    for word in ["under", "take", "with"] {
        if let Some(rest) = stem.strip_prefix(word).filter(|_| begins(stem, word)) {
            return Some(if rest.is_empty() { declared(doc, Sort::Choice) } else { readings(doc, rest.trim()) });
        }
    }
    if stem == "taken" || stem == "chosen" {
        let asked = cursor.head.split_whitespace().nth(1).unwrap_or("");
        return Some(readings(doc, asked));
    }
    let sorts = [
        ("listed in", Sort::Table),
        ("on the list of", Sort::Table),
        ("monitors excused by", Sort::Table),
        ("by limit", Sort::Limit),
        ("the limit", Sort::Limit),
        ("draft of", Sort::Change),
        ("strikes clause", Sort::Clause),
        ("strikes limit", Sort::Limit),
        ("strikes finding", Sort::Finding),
        ("strikes code group", Sort::CodeGroup),
        ("strikes question", Sort::Choice),
    ];
    if let Some((_, sort)) = sorts.iter().find(|(words, _)| last(words)) {
        return Some(declared(doc, *sort));
    }
    if last("in force during")
        || stem == "in" && item != "in force"
        || stem.starts_with("per ") && (last("in") || last("during"))
    {
        return Some(declared(doc, Sort::Period));
    }
    if last("among") {
        return Some(if stem.contains(" code") { declared(doc, Sort::CodeGroup) } else { monitors() });
    }
    if stem == "adopts" {
        let ids =
            crate::catalog::BuiltIn::paths().filter_map(|path| path.rsplit('/').next()?.strip_suffix(".wherefore"));
        return Some(ids.map(|id| plain(id, "program")).collect());
    }
    if item == "acknowledges" && stem == "acknowledges" {
        let messages = doc.study.iter().flat_map(|study| &study.messages);
        let codes: BTreeSet<&str> = messages.map(|message| message.code).collect();
        return Some(codes.into_iter().map(|code| plain(code, "warning of this file")).collect());
    }
    if item == "acknowledges" && last("of") {
        let messages = doc.study.iter().flat_map(|study| &study.messages);
        let subjects: BTreeSet<String> = messages
            .filter(|message| stem.contains(message.code))
            .filter_map(|message| message.subject.clone())
            .collect();
        return Some(subjects.iter().map(|subject| plain(subject, "what the warning is about")).collect());
    }
    None
}

/// Words of the language's lists.
fn listed(cursor: &Cursor<'_>, last: &dyn Fn(&str) -> bool) -> Option<Offers> {
    let stem = cursor.stem.as_str();
    let item = cursor.item();
    let is_head = cursor.head.trim_end().starts_with(stem) && !stem.is_empty();
    let lists_topics = ["text silent on", NO_RULE].contains(&item) && is_head;
    if lists_topics || item == "clause" && last("on") && is_head {
        let mut offers = all(words::TOPICS, "topic");
        // Behind the last topic stands why.
        if item == NO_RULE && stem.ends_with(',') {
            offers.push(plain("text not seen", "why no rule is applied"));
        }
        return Some(offers);
    }
    if item == "source" && is_head {
        let behind = stem.rsplit('"').next().unwrap_or("").trim();
        let has_title = stem.matches('"').count() >= 2;
        return has_title.then(|| match (behind.is_empty(), behind.ends_with(',')) {
            (true, _) => all(words::SOURCE_KINDS, "kind of text"),
            (_, true) => {
                let mut offers = all(words::SEEN, "how the text was seen");
                offers.extend(all(words::CURRENCIES, "how current the text is"));
                offers.push(plain("at", "where it stands"));
                offers
            }
            _ => Vec::new(),
        });
    }
    let lists: [(&str, &[&str], &str); 7] = [
        ("standing", words::STANDINGS, "standing of the file"),
        ("observed by", words::OBSERVERS, "who can tell"),
        ("consequence", words::CONSEQUENCE_KINDS, "kind of consequence"),
        ("brings", words::CONSEQUENCE_KINDS, "kind of consequence"),
        ("brings no", words::CONSEQUENCE_KINDS, "kind of consequence"),
        ("language", &["2", "1"], "version of the language"),
        (
            "strikes",
            &["clause", "limit", "finding", "code group", "question", "text silent on", NO_RULE, "covers"],
            "kind",
        ),
    ];
    if let Some((_, list, detail)) = lists.iter().find(|(words, _, _)| stem == *words) {
        return Some(all(list, detail));
    }
    if item == "change" && is_head && stem.split(' ').count() == 2 {
        return Some(all(words::CHANGES, "how far it has come"));
    }
    if stem == "counts" {
        return Some(all(
            &[
                "supported monitors that are not continuous",
                "supported monitors",
                "supported monitors among",
                "monitors that are not continuous, unsupported as incomplete",
            ],
            "which monitors count",
        ));
    }
    if stem == "excuses" && item == "excuses" {
        let mut offers = all(&["each monitor incomplete earlier", "monitors excused by"], "which monitors");
        offers.extend(monitors());
        return Some(offers);
    }
    let sets = ["complete:", "incomplete:", "unsupported:", "incomplete earlier:", "lit the lamp earlier:"];
    let part = stem.rsplit(';').next().unwrap_or("").trim();
    let of_monitors = sets.iter().any(|word| part.starts_with(word) || part.ends_with(word));
    if of_monitors || last("advice on") || item == "advice on" && is_head || last("excuses") || last(", only") {
        return Some(monitors());
    }
    if item == "limit" && stem.ends_with(':') {
        return Some(all(&["none incomplete", "at most", "at least", "number not seen"], "what is allowed"));
    }
    if item == "table" && stem.ends_with(':') {
        return Some(all(&["excuses", "codes"], "what the row says"));
    }
    if ["fact", "option"].contains(&item) && stem.ends_with(':') {
        return Some(all(&["yes or no"], "type of the fact"));
    }
    None
}

/// The values that a fact can have, behind its `is`; units behind a number.
fn value(cursor: &Cursor<'_>) -> Option<Offers> {
    let stem = cursor.stem.as_str();
    let (before, rest) = match stem.rsplit_once(" is ") {
        Some((before, rest)) => (before, rest.strip_prefix("not").unwrap_or(rest).trim()),
        None => (stem.strip_suffix(" is")?, ""),
    };
    let (before, rest) = match stem.strip_suffix(" is") {
        Some(before) => (before, ""),
        None => (before, rest),
    };
    // The list goes on only behind a comma or an `or`.
    if !(rest.is_empty() || rest.ends_with(',') || rest.ends_with("or")) || rest.contains(';') || rest.contains(" and ")
    {
        return None;
    }
    let subject = |name: &str| before == name || before.ends_with(&format!(" {name}"));
    if Monitor::all().any(|monitor| subject(monitor.name())) {
        return Some(all(&STATES, "state of a monitor"));
    }
    let row = table::FACTS.iter().filter(|row| subject(row.name)).max_by_key(|row| row.name.len());
    if let Some(row) = row {
        return match row.kind {
            FactType::Words(list) => Some(all(list, row.name)),
            _ => None,
        };
    }
    for entry in cursor.doc.entries() {
        for item in &entry.file.items {
            let (name, list): (_, Vec<&str>) = match &item.kind {
                Kind::Fact { name, kind: FactKind::Words(list) } => {
                    (name, list.iter().map(|word| word.node.as_str()).collect())
                }
                Kind::Fact { name, kind: FactKind::YesNo } => (name, vec!["yes", "no"]),
                Kind::Result { name, words } => {
                    (name, words.iter().map(|word| word.node.as_str()).chain(["not-done"]).collect())
                }
                _ => continue,
            };
            if subject(&name.node) {
                return Some(all(&list, &name.node));
            }
        }
    }
    None
}

/// Tests that a condition may begin with.
pub(super) fn tests(doc: &Document) -> Offers {
    let mut offers = Offers::new();
    for row in table::FACTS {
        let about = |word: String| (word, row.about.to_owned(), CompletionItemKind::FIELD);
        match row.kind {
            FactType::YesNo { yes, no } => offers.extend([about(yes.to_owned()), about(no.to_owned())]),
            FactType::Codes => offers.extend(
                ["any", "no", "only"]
                    .map(|how| about(format!("{how} {}{}", row.name, if how == "only" { "s among" } else { "" }))),
            ),
            FactType::Monitors => {}
            FactType::Words(_) | FactType::Text => offers.push(about(format!("{} is", row.name))),
            FactType::Number { .. } | FactType::Date => offers.push(about(row.name.to_owned())),
        }
    }
    offers.extend(
        Monitor::all()
            .map(|monitor| plain(&format!("{} is", monitor.name()), spec(crate::model::Fact::Monitor(monitor)).about)),
    );
    offers.extend(all(
        &[
            "age at least",
            "area is one of the areas",
            "too many monitors are incomplete",
            "not too many monitors are incomplete",
            "every vehicle",
            "no counted monitor is incomplete",
            "at most 1 counted monitor is incomplete",
            "every counted monitor is complete wherever supported",
            "every one of",
            "any one of",
            "listed in",
            "not listed in",
            "model year and test year have the same parity",
            "test year is even",
        ],
        "test",
    ));
    offers.extend(declared(doc, Sort::Finding));
    let facts = declared(doc, Sort::Fact);
    offers.extend(facts.into_iter().map(|(name, detail, kind)| (format!("{name} is"), detail, kind)));
    offers
}

/// What a worked case may say of its vehicle.
pub(super) fn assignments(doc: &Document) -> Offers {
    let mut offers = all(&["otherwise ordinary", "sound car", "sound"], "facts of the ordinary vehicle");
    offers.extend(all(
        &["complete:", "incomplete:", "unsupported:", "incomplete earlier:", "lit the lamp earlier:"],
        "monitors",
    ));
    for row in table::FACTS {
        let about = |word: String| (word, row.about.to_owned(), CompletionItemKind::FIELD);
        match row.kind {
            FactType::YesNo { yes, no } => offers.extend([about(yes.to_owned()), about(no.to_owned())]),
            FactType::Codes => offers.extend([about(format!("{}s", row.name)), about(format!("no {}", row.name))]),
            FactType::Monitors => {}
            FactType::Words(_) | FactType::Text => offers.push(about(format!("{} is", row.name))),
            FactType::Number { .. } | FactType::Date => offers.push(about(row.name.to_owned())),
        }
    }
    let facts = declared(doc, Sort::Fact);
    offers.extend(facts.into_iter().map(|(name, detail, kind)| (format!("{name} is"), detail, kind)));
    offers
}

/// Names of areas and counties, within a text behind `area is` or in a bullet of `areas`.
pub(super) fn places_of(doc: &Document, before: &str) -> Offers {
    let text = before.trim_start();
    let of_areas = text.starts_with('-') || text.contains("area is") || text.contains("area \"");
    if text.starts_with("areas of") {
        return State::all().iter().map(|state| plain(state.name, "state")).collect();
    }
    if !of_areas {
        return Vec::new();
    }
    let mut offers = Offers::new();
    let mut seen = BTreeSet::new();
    let program = doc.entry.as_ref().and_then(|entry| entry.program.as_deref());
    let declared = program.into_iter().flat_map(|program| program.areas.all().iter().map(|area| area.name.clone()));
    for name in declared {
        if seen.insert(name.clone()) {
            offers.push(plain(&name, "declared area"));
        }
    }
    if text.contains("area is") && !offers.is_empty() {
        return offers;
    }
    // The item itself is half typed and stands in no tree.
    let named = doc.text.lines().filter_map(|line| line.strip_prefix("areas of \"")?.split('"').next());
    let states = named.filter_map(State::named);
    for state in states {
        for county in &state.counties {
            if seen.insert(county.name.to_owned()) {
                offers.push(plain(county.name, &format!("county of {}", state.name)));
            }
        }
    }
    offers
}
