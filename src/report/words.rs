//! A ruling in sentences, shared by text and page: the same words everywhere.

use super::wrap::joined;
use crate::program::Class;
use crate::ruling::{Ground, Law, Margin, Provided, Ruling, VerdictShown};

/// What a verdict of a class means for the person who asks.
#[must_use]
pub fn class_sentence(class: Class) -> &'static str {
    match class {
        Class::Pass => "Passes",
        Class::Conditional => "Passes for now, on conditions",
        Class::OtherTest => "Goes to another test",
        Class::Reject => "Cannot be tested now; come back",
        Class::Fail => "Fails",
        Class::NotSubject => "Not subject to this program",
        Class::Undecided => "Undecided",
    }
}

/// What is said where the possible outcomes are a bound.
pub const BOUND: &str = "The possible outcomes are a bound: the true ones are among them, perhaps not all of them.";

/// A verdict's name, with the program's own words for it.
fn named(verdict: &VerdictShown) -> String {
    match &verdict.label {
        Some(label) => format!("{} (\"{label}\")", verdict.name),
        None => verdict.name.clone(),
    }
}

/// The verdict in one sentence: the first line of every report.
#[must_use]
pub fn summary(ruling: &Ruling) -> String {
    let sentence = class_sentence(ruling.class);
    let names: Vec<String> = ruling.possible.iter().map(named).collect();
    let read = if ruling.so_far_as_read.is_empty() { "" } else { ", so far as read" };
    match ruling.possible.as_slice() {
        [one] if is_plain(one) => format!("{sentence}{read}."),
        [one] => format!("{sentence}{read} ({}).", named(one)),
        _ => format!("{sentence}: {}.", joined(&names, "or")),
    }
}

/// Whether the sentence of the class says all that the verdict's name says.
fn is_plain(verdict: &VerdictShown) -> bool {
    let said = matches!(verdict.class, Class::Pass | Class::Fail | Class::NotSubject);
    said && verdict.name == verdict.class.word() && verdict.label.is_none()
}

/// What the ruling comes to if what is not known is sound.
#[must_use]
pub fn provided(provided: &Provided) -> String {
    let facts: Vec<String> = provided.facts.iter().map(|fact| fact.phrase.clone()).collect();
    let verdict = &provided.verdict;
    let sentence = class_sentence(verdict.class);
    let name = if is_plain(verdict) { String::new() } else { format!(" ({})", named(verdict)) };
    format!("{sentence}{name}, provided: {}.", joined(&facts, "and"))
}

/// A citation with the kind of text and how it was seen.
#[must_use]
pub fn law(law: &Law) -> String {
    format!("{} [{}, {}]", law.text(), law.kind.word(), law.seen.words())
}

/// What stands against a vehicle, by name: a clause with its topic, or that the program does not concern it.
#[must_use]
pub fn clause(ground: &Ground) -> String {
    match ground.clause.as_str() {
        "not-in-force" | "not-covered" | "left-out" => format!("coverage ({})", ground.clause),
        clause => format!("{clause} ({})", ground.topic.word()),
    }
}

/// How far a number is from its limit.
#[must_use]
pub fn margin(margin: &Margin) -> String {
    let Margin { what, value, limit, distance, holds } = margin;
    let side = match (distance.as_str(), holds) {
        ("0", true) => "holds exactly".to_owned(),
        (distance, true) => format!("holds, by {distance}"),
        (distance, false) => format!("does not hold, by {distance}"),
    };
    format!("{what}: {value}; \"{limit}\" {side}")
}

/// What stands at the top beside the title.
#[must_use]
pub fn dates(ruling: &Ruling) -> String {
    let known = ruling.known_on.map_or(String::new(), |date| format!(" as published by {date}"));
    format!("law of {}{known}, visit of {}", ruling.as_of, ruling.test_date)
}

/// What a question of law comes to.
#[must_use]
pub fn question(question: &crate::ruling::QuestionShown) -> String {
    let readings: Vec<String> = question
        .readings
        .iter()
        .map(|reading| {
            let names: Vec<String> = reading.possible.iter().map(|it| it.name.clone()).collect();
            format!("{} gives {}", reading.id, joined(&names, "or"))
        })
        .collect();
    let taken = match &question.taken {
        Some(reading) => format!("taken: {reading}"),
        None => "left open".to_owned(),
    };
    let why = if question.why.is_empty() { String::new() } else { format!(" ({})", question.why) };
    format!("{}: {} {}; {taken}{why}.", question.id, question.text, readings.join("; "))
}

/// Minutes as `5 to 20 minutes`.
#[must_use]
pub fn minutes((least, most): (i64, i64)) -> String {
    if least == most { format!("{least} minutes") } else { format!("{least} to {most} minutes") }
}

/// The weak sources that the ruling leans on. Presumptions are told on their own.
#[must_use]
pub fn weak(ruling: &Ruling) -> Vec<String> {
    let weak = ruling.weak.iter().filter(|weak| !weak.what.starts_with("presumption "));
    weak.map(|weak| format!("{} [{}]", weak.what, weak.basis.words())).collect()
}
