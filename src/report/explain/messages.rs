//! Messages of `check` by their code, each at length, most with an example before and after. The texts lie in
//! `messages/*.txt`: `= code`, sentences, then an example as a difference of lines: `- ` before, `+ ` after, two blanks both.
//! An example is part of a file; the tests read it in place of the items of the same head of `messages/base.wherefore`.

use super::{Explained, Kind, Known};

pub(super) const KIND: Kind = Kind { word: "message", names, explain };

const TEXTS: [&str; 5] = [
    include_str!("messages/syntax.txt"),
    include_str!("messages/names.txt"),
    include_str!("messages/parts.txt"),
    include_str!("messages/tests.txt"),
    include_str!("messages/exact.txt"),
];

/// The entries: code, and the lines behind it.
fn entries() -> impl Iterator<Item = (&'static str, &'static str)> {
    let entries = TEXTS.into_iter().flat_map(|text| text.split("\n= ").map(|entry| entry.trim_start_matches("= ")));
    entries.filter_map(|entry| entry.split_once('\n'))
}

fn names() -> Vec<String> {
    entries().map(|(code, _)| code.to_owned()).collect()
}

/// The lines of an example that begin with a mark, or stand in both.
fn lines(rest: &str, mark: &str) -> Option<String> {
    let here = rest.lines().filter_map(|line| line.strip_prefix(mark).or_else(|| line.strip_prefix("  ")));
    let text: String = here.map(|line| format!("{line}\n")).collect();
    (!text.is_empty()).then_some(text)
}

fn explain(name: &str, _: Known<'_>) -> Option<Explained> {
    let is_named = |code: &str| code == name || code.split_once('/').is_some_and(|(_, slug)| slug == name);
    let (code, rest) = entries().find(|(code, _)| is_named(code))?;
    let is_example = |line: &str| ["- ", "+ ", "  "].iter().any(|mark| line.starts_with(mark));
    let what: Vec<&str> = rest.lines().filter(|line| !is_example(line) && !line.is_empty()).collect();
    Some(Explained {
        name: code.to_owned(),
        kind: KIND.word,
        what: what.join(" "),
        more: Vec::new(),
        before: lines(rest, "- "),
        after: lines(rest, "+ "),
        practice: false,
    })
}
