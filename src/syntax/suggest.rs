//! What was probably meant: the nearest of the words that could have stood at a place.

use super::expected::{Say, say};
use super::grammar::Rule;
use super::stop::{Stop, first_word};
use super::words::{self, is_name_character};
use crate::diagnostic::{Diagnostic, nearest};
use crate::model::{FactType, Monitor, table};
use crate::source::Span;

/// Tests without a fact, which a slip may be near to as well.
const TESTS: &[&str] = &[
    "every vehicle",
    "too many monitors are incomplete",
    "not too many monitors are incomplete",
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
    let written = joined(stop.after(), keyword.split(' ').count());
    Some(
        Diagnostic::error("syntax/unknown-word", stop.span_of(length), format!("`{written}` means nothing here"))
            .help(format!("did you mean `{keyword}`?")),
    )
}

/// A slip in the name of a fact or in a fixed test, found by going back to where the test begins.
pub(super) fn fact(stop: &Stop<'_>) -> Option<Diagnostic> {
    if !stop.expected.iter().any(|rule| is_of_a_test(*rule)) {
        return None;
    }
    let begins = test_start(stop.before());
    let text = stop.piece.get(begins..)?.trim_start();
    let start = stop.piece.len() - text.len();
    let known = names();
    for count in (1..=7).rev() {
        let length = words_length(text, count);
        let words = joined(text, count);
        let reaches = text.get(length..).is_some_and(|rest| start + text.len() - rest.trim_start().len() >= stop.at);
        if words.split(' ').count() != count || !reaches {
            continue;
        }
        if known.contains(&words.as_str()) {
            return None;
        }
        let candidates = known.iter().copied().filter(|name| name.split(' ').count() == count);
        if let Some(near) = nearest(&words, candidates) {
            let span = stop.span_at(start, length);
            let error = Diagnostic::error("syntax/unknown-fact", span, format!("there is no fact or test `{words}`"));
            return Some(error.help(format!("did you mean `{near}`?")));
        }
    }
    None
}

/// Whether a rule is expected only where a test or a fact stands.
fn is_of_a_test(rule: Rule) -> bool {
    let of_a_test = [Rule::kw_is, Rule::kw_and, Rule::test, Rule::condition, Rule::bounds, Rule::assignment];
    of_a_test.contains(&rule) || [say(Rule::test), say(Rule::bounds), say(Rule::assignment)].contains(&say(rule))
}

/// The place of an `or` after which a test was begun: `fuel is gasoline or lamp flashing`.
pub(super) fn or_before_a_test(stop: &Stop<'_>) -> Option<Span> {
    let before = stop.before().strip_suffix(stop.previous())?.trim_end();
    let at = before.strip_suffix("or").filter(|rest| !rest.ends_with(is_name_character))?.len();
    let begun = format!("{} {}", stop.previous(), stop.found());
    let is_test = names().iter().any(|name| name.starts_with(&begun));
    let follows = ["is", "at", "above", "below", "not"].contains(&stop.found());
    (is_test || follows && stop.expects(Rule::kw_and)).then(|| Span::new(stop.base + at, stop.base + at + 2))
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
            start = at + length;
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
        Rule::topic | Rule::topic_list => ("topic", words::TOPICS.to_vec()),
        Rule::source_kind => ("kind of text", words::SOURCE_KINDS.to_vec()),
        Rule::currency => ("mark of how current a text is", words::CURRENCIES.to_vec()),
        Rule::change_kind => ("kind of announced change", words::CHANGES.to_vec()),
        Rule::seen => ("way of seeing a text", words::SEEN.to_vec()),
        Rule::class => ("class of outcomes", words::CLASSES.to_vec()),
        Rule::consequence_kind => ("kind of consequence", words::CONSEQUENCE_KINDS.to_vec()),
        Rule::standing_word => ("standing", words::STANDINGS.to_vec()),
        Rule::observer => ("observer", words::OBSERVERS.to_vec()),
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
