//! A ruling in sentences, shared by text and page: the same words everywhere.

use super::wrap::joined;
use crate::model::{Monitor, Observer};
use crate::program::{Class, Kind, Topic};
use crate::ruling::{
    Basis, ChangeShown, ExcusedShown, Ground, Law, Margin, Part, PresumptionShown, Provided, ReadinessShown, Ruling,
    VerdictShown,
};

/// What a verdict of a class means for the person who asks.
#[must_use]
pub fn class_sentence(class: Class) -> &'static str {
    match class {
        Class::Pass => "Passes",
        Class::Conditional => "Passes for now, on conditions",
        Class::OtherTest => "Goes to another test",
        Class::Reject => "Turned away",
        Class::Fail => "Fails",
        Class::NotSubject => "Not subject to this program",
        Class::NoLaw => "No law in this file for the date",
        Class::Undecided => "Undecided",
    }
}

/// The most presumptions that are named in one line.
const MOST_PRESUMED: usize = 3;

/// What is said where the possible outcomes are a bound.
/// What is said where a text was not seen that could make the answer worse.
pub const BY_RULES_SEEN: &str = ", by the rules seen so far";

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
    let read = if ruling.so_far_as_read.is_empty() { "" } else { BY_RULES_SEEN };
    let supposed: Vec<String> = ruling.supposed().into_iter().map(str::to_owned).collect();
    let supposed = if supposed.is_empty() { String::new() } else { format!(", if {}", joined(&supposed, "and")) };
    match ruling.possible.as_slice() {
        [one] if one.class == Class::NoLaw => format!("No law in this file for {}.", ruling.as_of),
        [_] if ruling.coverage.state == "ended" => format!("{sentence}. {}", ruling.coverage.message),
        [one] if is_plain(one) => format!("{sentence}{read}{supposed}."),
        [one] => format!("{sentence}{read}{supposed}: {}.", one.label.as_ref().unwrap_or(&one.name)),
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
    let name = match &verdict.label {
        _ if is_plain(verdict) => String::new(),
        Some(label) => format!(" ({label})"),
        None => format!(" ({})", verdict.name),
    };
    format!("{sentence}{name}, if so: {}.", joined(&facts, "and"))
}

/// A citation with the kind of text and how it was seen.
#[must_use]
pub fn law(law: &Law) -> String {
    let currency = law.currency.words().map(|words| format!(", {words}")).unwrap_or_default();
    format!("{} [{}, {}{currency}]", law.text(), law.kind.word(), law.seen.words())
}

/// A citation of a text that exists and was not seen: how the source as a whole was seen is not said of it.
#[must_use]
pub fn law_not_seen(law: &Law) -> String {
    format!("{} [{}, not seen]", law.text(), law.kind.word())
}

/// What a citation is called: law where it is one, else a source.
#[must_use]
pub fn law_label(law: Option<&Law>) -> &'static str {
    if law.is_some_and(|law| law.kind == Kind::Law) { "law" } else { "source" }
}

/// A part of a program that a ruling leans on.
#[must_use]
pub fn part(part: &Part) -> String {
    match part {
        Part::DatesInForce => "the dates in force".to_owned(),
        Part::Covers => "the vehicles covered".to_owned(),
        Part::LeftOut(why) => format!("left out: {why}"),
        Part::Clause(id) => format!("clause {id}"),
        Part::LimitRow(id) if id == "standard" => "a row of the limit".to_owned(),
        Part::LimitRow(id) => format!("a row of limit {id}"),
        Part::Count => "the counted monitors".to_owned(),
        Part::Excuse => "excused monitors".to_owned(),
        Part::Relabelling => "a relabelling of outcomes".to_owned(),
        Part::Silence(topic) => format!("no rule found on {}", topic.spoken()),
        Part::Presumption(text) => text.clone(),
    }
}

/// A part as a word for programs.
#[must_use]
pub fn part_word(part: &Part) -> &'static str {
    match part {
        Part::DatesInForce => "dates-in-force",
        Part::Covers => "covers",
        Part::LeftOut(_) => "leaves-out",
        Part::Clause(_) => "clause",
        Part::LimitRow(_) => "limit-row",
        Part::Count => "counts",
        Part::Excuse => "excuses",
        Part::Relabelling => "becomes",
        Part::Silence(_) => "silence",
        Part::Presumption(_) => "presumption",
    }
}

/// The weakest source that the outcome leans on, where it is weak: said beside the verdict.
#[must_use]
pub fn weakest(ruling: &Ruling) -> Option<String> {
    let weakest = ruling.weakest.filter(|basis| basis.is_weak())?;
    let those: Vec<String> =
        ruling.weak.iter().filter(|lean| lean.basis == weakest).map(|lean| part(&lean.part)).collect();
    let (first, others) = those.split_first()?;
    let more = match others.len() {
        0 => String::new(),
        1 => "; 1 more point is as weak".to_owned(),
        many => format!("; {many} more points are as weak"),
    };
    Some(format!("Weakest point: {first} [{}]{more}.", weakest.spoken()))
}

/// That something the file cannot express could turn the outcome: said beside the verdict, told in full further down.
#[must_use]
pub fn could_turn(ruling: &Ruling) -> Option<String> {
    let turning: Vec<_> = ruling.notes.iter().filter(|note| !note.into.is_empty()).collect();
    let mut into: Vec<String> = Vec::new();
    for name in turning.iter().flat_map(|note| &note.into) {
        if !into.contains(name) {
            into.push(name.clone());
        }
    }
    let one = ruling.possible.len() == 1 && !into.is_empty();
    one.then(|| format!("What this file cannot express could turn it into {}.", joined(&into, "or")))
}

/// A monitor by its name, as a person would say it.
fn monitor(name: &str) -> String {
    Monitor::named(name).map_or_else(|| name.to_owned(), Monitor::spoken)
}

/// What a vehicle comes to by the name of an outcome: `is turned away`.
fn becomes(outcome: &str) -> String {
    match outcome {
        "pass" => "passes".to_owned(),
        "reject" => "is turned away (rejected)".to_owned(),
        "fail" => "fails".to_owned(),
        "not-subject" => "is asked for no test".to_owned(),
        other => format!("comes to {other}"),
    }
}

/// An outcome by its name, as a thing that may come of it: `a pass`.
#[must_use]
pub fn outcome(name: &str) -> String {
    let class = Class::ALL.iter().find(|class| class.word() == name);
    class.map_or_else(|| name.to_owned(), |class| result(*class).to_owned())
}

/// An outcome by its class, as a thing that may come of it.
#[must_use]
pub fn result(class: Class) -> &'static str {
    match class {
        Class::Pass => "a pass",
        Class::Conditional => "a pass for now, on conditions",
        Class::OtherTest => "another test",
        Class::Reject => "being turned away (rejected)",
        Class::Fail => "a fail",
        Class::NotSubject => "no test here",
        Class::NoLaw | Class::Undecided => "no result",
    }
}

/// How a vehicle stands to the limit on incomplete monitors.
#[must_use]
pub fn readiness(shown: &ReadinessShown) -> String {
    let ReadinessShown { incomplete, allowed, beyond } = shown;
    let many = i64::try_from(incomplete.len()).unwrap_or(i64::MAX);
    let names: Vec<String> = incomplete.iter().map(|name| monitor(name)).collect();
    let which = if names.is_empty() { String::new() } else { format!(" ({})", names.join(", ")) };
    let rest = match (many.saturating_sub(*allowed), beyond) {
        (over @ 1.., _) => format!("; {over} too many"),
        (_, Some(outcome)) => format!("; with one more it {}", becomes(outcome)),
        (_, None) => String::new(),
    };
    let noun = if many == 1 { "monitor" } else { "monitors" };
    format!("Readiness: {many} {noun} incomplete{which}, {allowed} allowed{rest}.")
}

/// The readiness of a vehicle, where what stands against it does not tell it already.
#[must_use]
pub fn readiness_line(ruling: &Ruling) -> Option<String> {
    let is_told = ruling.grounds.iter().flat_map(|ground| &ground.margins).any(|margin| margin.allowed.is_some());
    ruling.readiness.as_ref().filter(|_| !is_told).map(readiness)
}

/// Monitors left out of the count that matter.
#[must_use]
pub fn excused(shown: &ExcusedShown) -> String {
    let carries = if shown.carries { " Counted, they would lead to another outcome." } else { "" };
    format!(
        "Left out of the count, complete or not: {} [{}].{carries}",
        joined(&shown.monitors, "and"),
        shown.basis.words()
    )
}

/// Presumptions in a line, each with who can tell, the weakest text that they rest on, and what follows if they are wrong.
#[must_use]
pub fn presumptions(those: &[&PresumptionShown], then: &str) -> Option<String> {
    let basis = those.iter().map(|it| it.basis).max_by_key(|basis| basis.rank())?;
    let told = those.iter().take(MOST_PRESUMED).collect::<Vec<_>>();
    let of_one = told.chunk_by(|one, next| one.observer == next.observer).filter_map(|some| {
        let names: Vec<String> = some.iter().map(|it| it.provided.clone()).collect();
        let who = match some.first()?.observer {
            Observer::Visit => "known at the visit".to_owned(),
            other => format!("{} first", other.spoken()),
        };
        Some(format!("{} ({who})", joined(&names, "and")))
    });
    let mut names: Vec<String> = of_one.collect();
    if those.len() > MOST_PRESUMED {
        names.push(format!("{} more", those.len() - MOST_PRESUMED));
    }
    Some(format!("Presumed: {} [{}]{then}.", joined(&names, "and"), basis.spoken()))
}

/// What is said of topics whose text was not seen.
#[must_use]
pub fn unread(topics: &[Topic]) -> Option<String> {
    unread_topics(topics, "")
}

/// The same of topics that bear only once a plan has changed the vehicle.
#[must_use]
pub fn unread_later(topics: &[Topic]) -> Option<String> {
    unread_topics(topics, " at a later visit")
}

fn unread_topics(topics: &[Topic], when: &str) -> Option<String> {
    if topics.is_empty() {
        return None;
    }
    let one = topics.len() == 1;
    let (rule, was, it) = if one { ("The rule", "was", "it may") } else { ("The rules", "were", "one of them may") };
    let topics = joined(&topics.iter().map(|topic| topic.spoken().to_owned()).collect::<Vec<_>>(), "and");
    Some(format!("{rule} on {topics} {was} not seen; {it} still stand in the way{when}."))
}

/// What stands against a vehicle, by name: a clause with its topic, or that the program does not concern it.
#[must_use]
pub fn clause(ground: &Ground) -> String {
    match ground.clause.as_str() {
        "ended" | "no-law-in-file" | "not-covered" | "left-out" => format!("coverage ({})", ground.clause),
        clause => format!("{clause} ({})", ground.topic.word()),
    }
}

/// How far a number is from its limit.
#[must_use]
pub fn margin(margin: &Margin) -> String {
    let Margin { what, value, limit, distance, holds, allowed } = margin;
    if let Some(allowed) = allowed {
        let (many, which) = value.split_once(' ').unwrap_or((value, ""));
        let which = if which.is_empty() { String::new() } else { format!(" {which}") };
        let over = if *holds { String::new() } else { format!("; {distance} too many") };
        return format!("{many} incomplete{which}; {allowed} allowed{over}");
    }
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

/// The reading of a question that is taken, and what it gives.
#[must_use]
pub fn taken(question: &crate::ruling::QuestionShown) -> String {
    let Some(taken) = &question.taken else { return String::new() };
    let found = question.readings.iter().find(|reading| reading.id == *taken);
    let told = |it: &VerdictShown| it.label.clone().unwrap_or_else(|| outcome(&it.name));
    let names: Vec<String> = found.map(|reading| reading.possible.iter().map(told).collect()).unwrap_or_default();
    let gives = if names.is_empty() { String::new() } else { format!(", which gives {}", joined(&names, "or")) };
    format!(" Taken here: {taken}{gives}.")
}

/// What the malfunction lamp is called on the street, told where it is first named.
pub fn gloss_lamp<'t>(mut texts: impl Iterator<Item = &'t mut String>) {
    const LAMP: &str = "malfunction lamp";
    if let Some(text) = texts.find(|text| text.contains(LAMP))
        && !text.contains("check-engine light")
        && !text.contains("(MIL)")
    {
        *text = text.replacen(LAMP, "malfunction lamp (check-engine light)", 1);
    }
}

/// Announced changes that could turn the ruling, each for a line below the headline.
#[must_use]
pub fn announced(ruling: &Ruling) -> Vec<String> {
    ruling.changes.iter().map(|change| format!("{}; see below.", change_begins(change))).collect()
}

/// An announced change as a sentence.
#[must_use]
pub fn change(change: &ChangeShown) -> String {
    let (turned, into) = (joined(&change.could_turn, "or"), joined(&change.into, "or"));
    let perhaps = if change.surely { "" } else { ", depending on what is not known" };
    let text = change.text.trim_end_matches('.');
    let begins = change_begins(change);
    format!("{begins}: {text}. It could turn {turned} into {into}{perhaps} [{}].", change.basis.words())
}

/// The same up to the end of its text's first sentence.
#[must_use]
pub fn change_in_brief(change: &ChangeShown) -> String {
    let text = change.text.split(". ").next().unwrap_or_default().trim_end_matches('.');
    format!("{}: {text} [{}].", change_begins(change), change.basis.words())
}

fn change_begins(change: &ChangeShown) -> String {
    let kind = change.kind.word();
    let whence = match change.from {
        Some(day) => format!("A change {kind} for {day}"),
        None => format!("A change {kind}, no day said,"),
    };
    let how = match (change.stricter, change.milder) {
        (true, false) => "may make this stricter",
        (false, true) => "may make this milder",
        _ => "may turn this",
    };
    format!("{whence} {how}")
}

/// Minutes as `5 to 20 minutes`.
#[must_use]
pub fn minutes((least, most): (i64, i64)) -> String {
    if least == most { format!("{least} minutes") } else { format!("{least} to {most} minutes") }
}

/// The weak sources that the ruling leans on, each part once with its weakest. Presumptions are told on their own.
#[must_use]
pub fn weak(ruling: &Ruling) -> Vec<String> {
    let mut found: Vec<(String, Basis)> = Vec::new();
    for weak in ruling.weak.iter().filter(|weak| !matches!(weak.part, Part::Presumption(_))) {
        let name = part(&weak.part);
        match found.iter_mut().find(|(known, _)| *known == name) {
            // Lines of one clause that rest on different texts: the weakest counts.
            Some((_, basis)) if basis.rank() < weak.basis.rank() => *basis = weak.basis,
            Some(_) => {}
            None => found.push((name, weak.basis)),
        }
    }
    found.into_iter().map(|(name, basis)| format!("{name} [{}]", basis.spoken())).collect()
}
