//! What was probably meant: the nearest of the words that could have stood at a place.

use super::expected::{Say, say};
use super::grammar::Rule;
use super::message::{Stop, first_word};
use super::words::is_name_character;
use crate::diagnostic::{Diagnostic, nearest};
use crate::model::{FactType, Monitor, table};
use crate::program::basis::{Kind, Seen};
use crate::program::outcome::{Class, Topic};
use crate::source::Span;

/// Tests without a fact, which a slip may be near to as well.
const TESTS: &[&str] = &[
    "every vehicle",
    "over the limit",
    "within the limit",
    "listed in",
    "not listed in",
    "no more counted monitors are incomplete than earlier",
    "otherwise ordinary",
];

/// Words that say a unit in a way the language does not.
const UNITS: &[(&str, &str)] = &[
    ("lbs", "lb"),
    ("pound", "lb"),
    ("pounds", "lb"),
    ("kilograms", "kg"),
    ("kilometers", "km"),
    ("kilometres", "km"),
    ("mi", "miles"),
    ("min", "minutes"),
    ("hrs", "hours"),
    ("years", ""),
];

/// A slip in a word of a list: a monitor, a topic, a kind, a keyword.
pub(super) fn word(stop: &Stop<'_>) -> Option<Diagnostic> {
    let found = stop.found();
    if !found.starts_with(|first: char| first.is_ascii_alphabetic()) {
        return None;
    }
    if let Some((_, unit)) = UNITS.iter().find(|(alias, _)| *alias == found && stop.expects(Rule::unit)) {
        let help = match *unit {
            "" => "years have no unit: write the number alone".to_owned(),
            unit => format!("units are `lb`, `kg`, `km`, `miles`, `minutes`, `hours`, `days`: write `{unit}`"),
        };
        return Some(Diagnostic::error("syntax/unit", stop.span(), format!("`{found}` is no unit")).help(help));
    }
    for rule in &stop.expected {
        let (thing, words) = vocabulary(*rule);
        if words.is_empty() || words.contains(&found) {
            continue;
        }
        let code = "syntax/unknown-word";
        if let Some(near) = nearest(found, words.iter().copied()) {
            let message = format!("there is no {thing} `{found}`");
            return Some(Diagnostic::error(code, stop.span(), message).help(format!("did you mean `{near}`?")));
        }
        if stop.expected.len() == 1 {
            let message = format!("there is no {thing} `{found}`");
            return Some(Diagnostic::error(code, stop.span(), message).help(format!("write one of {}", list(&words))));
        }
    }
    keyword(stop)
}

/// A slip in a keyword; for one of several words the first that differs is as good as the whole.
fn keyword(stop: &Stop<'_>) -> Option<Diagnostic> {
    let mut best: Option<(&'static str, usize)> = None;
    for rule in &stop.expected {
        let Say::Word(keyword) = say(*rule) else { continue };
        let length = words_length(stop.after(), keyword.split(' ').count());
        let written = stop.after().get(..length).unwrap_or("");
        let joined = written.split_whitespace().collect::<Vec<_>>().join(" ");
        if joined != keyword && nearest(&joined, [keyword]).is_some() {
            if best.is_some_and(|(other, _)| other != keyword) {
                return None;
            }
            best = Some((keyword, length));
        }
    }
    let (keyword, length) = best?;
    let written = stop.after().get(..length).unwrap_or("");
    Some(
        Diagnostic::error("syntax/unknown-word", stop.span_of(length), format!("`{written}` means nothing here"))
            .help(format!("did you mean `{keyword}`?")),
    )
}

/// A slip in the name of a fact or in a fixed test, found by going back to where the test begins.
pub(super) fn fact(stop: &Stop<'_>) -> Option<Diagnostic> {
    let start = test_start(stop.before());
    let text = stop.piece.get(start..)?;
    let known = names();
    let is_known = |count: usize| known.contains(&joined(text, count).as_str());
    if (1..=7).any(is_known) {
        return None;
    }
    let most = text.split_whitespace().take(7).count();
    let length_to_stop = stop.at.saturating_sub(start);
    for count in (1..=most).rev() {
        let length = words_length(text, count);
        if length < length_to_stop.min(1) || joined(text, count).split(' ').count() != count {
            continue;
        }
        let candidates = known.iter().copied().filter(|name| name.split(' ').count() == count);
        if let Some(near) = nearest(&joined(text, count), candidates) {
            let begin = stop.base + start;
            let span = Span::new(begin, begin + length);
            let message = format!("there is no fact or test `{}`", joined(text, count));
            return Some(
                Diagnostic::error("syntax/unknown-fact", span, message).help(format!("did you mean `{near}`?")),
            );
        }
    }
    None
}

/// All names of facts, the words of yes/no facts, and fixed tests.
fn names() -> Vec<&'static str> {
    let facts = table::FACTS.iter().flat_map(|row| match row.kind {
        FactType::YesNo { yes, no } => vec![row.name, yes, no],
        FactType::Words(_)
        | FactType::Number { .. }
        | FactType::Date
        | FactType::Text
        | FactType::Monitors
        | FactType::Codes => vec![row.name],
    });
    facts.chain(TESTS.iter().copied()).collect()
}

/// Where the test begins that a text ends in: after the last `and`, `where`, colon and the like.
fn test_start(before: &str) -> usize {
    let mut start = 0;
    let mut at = 0;
    while let Some(rest) = before.get(at..).filter(|rest| !rest.is_empty()) {
        let word = first_word(rest);
        let length = word.len().max(rest.chars().next().map_or(1, char::len_utf8));
        let begins = ["and", "where", "concerns", "requires", "facts", "ordinary", "presumes", ":", ";", "-", "\u{1}"];
        if begins.contains(&word) {
            let gap = rest.get(length..).unwrap_or("");
            start = at + length + (gap.len() - gap.trim_start().len());
        }
        at += length;
    }
    start
}

/// Bytes of the first words of a text, as many as are asked for or there are before any other mark.
fn words_length(text: &str, count: usize) -> usize {
    let mut end = 0;
    let mut at = 0;
    for _ in 0..count {
        let rest = text.get(at..).unwrap_or("");
        let blank = rest.len() - rest.trim_start().len();
        let word = rest.trim_start().find(|mark| !is_name_character(mark)).unwrap_or(rest.trim_start().len());
        if word == 0 {
            break;
        }
        at += blank + word;
        end = at;
    }
    end
}

fn joined(text: &str, count: usize) -> String {
    let words = text.get(..words_length(text, count)).unwrap_or("");
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The words that a rule takes, where they come from a table, and what they are.
fn vocabulary(rule: Rule) -> (&'static str, Vec<&'static str>) {
    match rule {
        Rule::monitor | Rule::monitor_list => ("monitor", Monitor::all().map(Monitor::name).collect()),
        Rule::topic | Rule::topic_list => ("topic", Topic::ALL.iter().map(|(_, word)| *word).collect()),
        Rule::source_kind => ("kind of text", Kind::ALL.iter().map(|(_, word)| *word).collect()),
        Rule::seen => ("way of seeing a text", Seen::ALL.iter().map(|(_, words)| *words).collect()),
        Rule::class => ("class of outcomes", Class::ALL.iter().take(5).map(|(_, word)| *word).collect()),
        Rule::consequence_kind => {
            ("kind of consequence", vec!["extension", "waiver", "free-retest", "further-test", "record"])
        }
        Rule::standing_word => ("standing", vec!["draft", "checked", "withdrawn"]),
        Rule::observer => ("observer", vec!["reader", "look", "papers", "visit"]),
        _ => ("", Vec::new()),
    }
}

fn list(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
    match quoted.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => quoted.join(""),
    }
}
