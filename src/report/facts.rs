//! The vocabulary for people and for tools: what `wherefore facts` prints, made from the table of facts.

use crate::document::{allowed, other_unit_keys};
use crate::model::table::FactSpec;
use crate::model::{Constraint, Fact, FactType, Monitor, MonitorState, exclusions, spec, table};
use crate::wording::wrap::{joined, wrapped};
use serde::Serialize;
use std::fmt::Write;

/// The vocabulary as text, eighty columns.
#[must_use]
pub fn text() -> String {
    let mut out = String::from(
        "Facts of a snapshot: the key in the document, the words in program files, the values in snapshots.\n",
    );
    for row in table::FACTS {
        let _ = write!(out, "\n{}\n", row.key);
        out.push_str(&wrapped("  in programs  ", None, &in_programs(row)));
        out.push_str(&wrapped("  in snapshots ", None, &allowed(row.fact)));
        for (key, unit) in other_unit_keys(row.fact) {
            out.push_str(&wrapped("  or           ", None, &format!("{key}, in {}", unit.word())));
        }
        out.push_str(&wrapped("  what         ", None, row.about));
        out.push_str(&wrapped("  told by      ", None, row.observer.word()));
    }
    let monitor = spec(Fact::Monitor(Monitor::Misfire));
    out.push_str("\nmonitors.NAME\n");
    let names: Vec<&str> = Monitor::all().map(Monitor::name).collect();
    out.push_str(&wrapped("  names        ", None, &names.join(", ")));
    out.push_str(&wrapped("  values       ", None, &MonitorState::WORDS.join(", ")));
    out.push_str(&wrapped("  what         ", None, monitor.about));
    out.push_str(&wrapped("  told by      ", None, monitor.observer.word()));
    out.push_str("\nVehicles that cannot exist\n");
    let mut reasons: Vec<&str> = exclusions().iter().map(|rule| rule.why).collect();
    reasons.dedup();
    reasons.sort_unstable();
    reasons.dedup();
    for reason in reasons {
        out.push_str(&wrapped("  - ", None, reason));
    }
    out
}

/// How a program file tests a fact: its words, or a test with its unit.
#[must_use]
pub fn in_programs(row: &FactSpec) -> String {
    let name = row.name;
    match row.kind {
        FactType::YesNo { yes, no } => format!("{yes}; {no}"),
        FactType::Words(words) => {
            let words: Vec<String> = words.iter().map(|word| (*word).to_owned()).collect();
            format!("{name} is {}", joined(&words, "or"))
        }
        FactType::Number { unit, .. } => format!("{name} at least N {}", unit.word()).trim_end().to_owned(),
        FactType::Date => format!("{name} 2006-01-01 or later"),
        FactType::Text => format!("{name} is \"…\""),
        FactType::Monitors => format!("any monitor {} is incomplete", name.replacen("lit", "that lit", 1)),
        FactType::Codes => format!("any {name}; no {name}; any {name} among GROUP"),
    }
}

#[derive(Serialize)]
struct Vocabulary {
    format: &'static str,
    facts: Vec<Row>,
    exclusions: Vec<Rule>,
}

#[derive(Serialize)]
struct Row {
    key: String,
    name: &'static str,
    #[serde(rename = "type")]
    kind: &'static str,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    words: Vec<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    least: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    most: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    saturates: Option<bool>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    other_units: Vec<String>,
    may_be_absent: bool,
    /// Of monitors: the ignitions with which service $01 PID $01 tells of it; none: J1939 alone does.
    #[serde(skip_serializing_if = "Option::is_none")]
    engines: Option<Vec<&'static str>>,
    /// Of monitors: its name as a person would say it.
    #[serde(skip_serializing_if = "Option::is_none")]
    spoken: Option<String>,
    observer: &'static str,
    cost: u32,
    sound: Option<&'static str>,
    allowed: String,
    about: &'static str,
    question: &'static str,
}

#[derive(Serialize)]
struct Rule {
    why: &'static str,
    first: String,
    second: String,
}

/// The vocabulary as JSON (`wherefore-facts/1`).
#[must_use]
pub fn json() -> String {
    let facts = table::all_facts().map(row).collect();
    let rules = exclusions();
    let exclusions = rules
        .iter()
        .map(|rule| Rule { why: rule.why, first: constraint(rule.first), second: constraint(rule.second) })
        .collect();
    let vocabulary = Vocabulary { format: "wherefore-facts/1", facts, exclusions };
    serde_json::to_string_pretty(&vocabulary).unwrap_or_default() + "\n"
}

fn row(fact: Fact) -> Row {
    let spec = spec(fact);
    let (kind, range) = match spec.kind {
        FactType::YesNo { .. } => ("yes-no", None),
        FactType::Words(_) => ("word", None),
        FactType::Number { unit, least, most, saturates } => ("number", Some((unit, least, most, saturates))),
        FactType::Date => ("date", None),
        FactType::Text => ("text", None),
        FactType::Monitors => ("monitors", None),
        FactType::Codes => ("codes", None),
    };
    let words = match spec.kind {
        FactType::YesNo { yes, no } => vec![no, yes],
        FactType::Words(words) => words.to_vec(),
        FactType::Number { .. } | FactType::Date | FactType::Text | FactType::Monitors | FactType::Codes => Vec::new(),
    };
    let monitor = if let Fact::Monitor(monitor) = fact { Some(monitor) } else { None };
    Row {
        key: table::key_of(fact),
        name: spec.name,
        kind,
        words,
        unit: range.map(|(unit, ..)| unit.word()).filter(|word| !word.is_empty()),
        least: range.map(|(_, least, ..)| least),
        most: range.map(|(_, _, most, _)| most),
        saturates: range.map(|(.., saturates)| saturates),
        other_units: other_unit_keys(fact).into_iter().map(|(key, _)| key).collect(),
        may_be_absent: spec.may_be_absent,
        engines: monitor.map(|it| it.engines().to_vec()),
        spoken: monitor.map(Monitor::spoken),
        observer: spec.observer.word(),
        cost: spec.observer.cost(),
        sound: spec.sound,
        allowed: allowed(fact),
        about: spec.about,
        question: spec.question,
    }
}

fn constraint(constraint: Constraint) -> String {
    let key = table::key_of(constraint.fact());
    match constraint {
        Constraint::Word(fact, mask) => {
            let words = fact.words().iter().enumerate().filter(|(place, _)| mask >> place & 1 == 1);
            format!("{key} is {}", words.map(|(_, word)| *word).collect::<Vec<_>>().join(" or "))
        }
        Constraint::AtLeast(_, bound) => format!("{key} at least {bound}"),
        Constraint::NotEmpty(_) => format!("{key} is not empty"),
    }
}
