//! What a person types for a fact, read as a reading: words by a unique beginning, numbers with a unit, dates, lists of
//! codes and monitors. Nothing is guessed: what does not fit is told with what may be said. Which question was put, and
//! facts that programs declare, are not known here.

use super::fault::Fault;
use super::tree::Node;
use super::value::{ABSENT, reading};
use crate::model::{CodeList, Fact, FactType, Monitor, MonitorSet, MonitorState, Reading, Unit, Value, alias, spec};

/// The words for *not on this vehicle*.
const NOT_ON_VEHICLE: &str = "not on this vehicle";

/// Reads an answer.
///
/// # Errors
/// With a sentence: what does not fit.
pub fn answer(fact: Fact, text: &str) -> Result<Reading, String> {
    let text = text.trim();
    let spec = spec(fact);
    if spec.may_be_absent && is_absent(text) {
        return Ok(Reading::NotOnVehicle);
    }
    match spec.kind {
        FactType::YesNo { .. } => match alias::word(fact, text) {
            Some(word) => by_word(fact, word),
            None => Ok(place(yes_no(text)?)),
        },
        FactType::Words(_) if fact == Fact::Communication => match yes_no(text) {
            Ok(yes) => Ok(place(yes)),
            Err(_) => by_word(fact, text),
        },
        // The questions of these two are put so that a plain word answers them.
        FactType::Words(_) if fact == Fact::Connector && yes_no(text) == Ok(1) => by_word(fact, "intact"),
        FactType::Words(_) if fact == Fact::Visit && text.eq_ignore_ascii_case("first") => by_word(fact, "initial"),
        FactType::Words(_) => by_word(fact, text),
        FactType::Number { unit, .. } => number(fact, unit, text),
        FactType::Date => of_node(fact, None, Node::Text(iso(text).unwrap_or_else(|| text.to_owned()))),
        FactType::Text => of_node(fact, None, Node::Text(text.trim_matches('"').to_owned())),
        FactType::Monitors => monitors(text).map(|set| Reading::Known(Value::Monitors(set))),
        FactType::Codes => codes(fact, text),
    }
}

/// A date as people of the trade write it, in the form of documents: `11/28/2026` (month first, as papers of the United
/// States have it), `28 Nov 2026`, `November 28, 2026`: a month by its name or at least the first three
/// letters of it, with or without a full stop. Where the first two numbers may be day and month as well, the month comes first
/// only with slashes; with dots it is not read.
#[must_use]
pub fn iso(text: &str) -> Option<String> {
    const MONTHS: [&str; 12] = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ];
    let text = text.trim();
    let whole = |part: &str| part.parse::<u16>().ok().filter(|_| part.chars().all(|it| it.is_ascii_digit()));
    let made = |year: u16, month: u16, day: u16| {
        let date = format!("{year:04}-{month:02}-{day:02}");
        (year >= 1900 && super::parse_date(&date).is_some()).then_some(date)
    };
    let parts: Vec<&str> = text.split('/').collect();
    if let [month, day, year] = parts.as_slice() {
        return made(whole(year)?, whole(month)?, whole(day)?);
    }
    let words: Vec<String> = text.split([' ', ',']).filter(|it| !it.is_empty()).map(str::to_lowercase).collect();
    let [first, second, year] = words.as_slice() else { return None };
    let month = |word: &str| {
        let word = word.strip_suffix('.').unwrap_or(word);
        let begins = |name: &str| word.len() >= 3 && name.starts_with(word);
        MONTHS.iter().position(|name| begins(name)).and_then(|at| u16::try_from(at + 1).ok())
    };
    match (month(first), month(second)) {
        (Some(month), None) => made(whole(year)?, month, whole(second)?),
        (None, Some(month)) => made(whole(year)?, month, whole(first)?),
        _ => None,
    }
}

fn is_absent(text: &str) -> bool {
    let text = text.to_lowercase();
    // "no" and "none" are answers of their own.
    text == ABSENT || (text.len() > 3 && NOT_ON_VEHICLE.starts_with(&text))
}

fn place(place: u8) -> Reading {
    Reading::Known(Value::Word(place))
}

/// Yes is 1, no is 0: the places of the words of a yes/no fact.
///
/// # Errors
/// With what may be said.
pub fn yes_no(text: &str) -> Result<u8, String> {
    match choose(text, &["no", "yes"]) {
        Ok(0) => Ok(0),
        Ok(_) => Ok(1),
        Err(message) => Err(message),
    }
}

/// The place of the one word that a text begins.
///
/// # Errors
/// With a sentence, where none or several do.
pub fn choose(text: &str, words: &[&str]) -> Result<usize, String> {
    let text = text.trim().to_lowercase();
    if let Some(place) = words.iter().position(|word| *word == text) {
        return Ok(place);
    }
    let begun = words.iter().enumerate().filter(|(_, word)| !text.is_empty() && word.starts_with(&text));
    let begun: Vec<(usize, &str)> = begun.map(|(place, word)| (place, *word)).collect();
    match begun.as_slice() {
        [(place, _)] => Ok(*place),
        [] => Err(format!("\"{text}\" is none of the words for it")),
        many => {
            let words: Vec<&str> = many.iter().map(|(_, word)| *word).collect();
            Err(format!("\"{text}\" may be {}; write one letter more", words.join(" or ")))
        }
    }
}

fn by_word(fact: Fact, text: &str) -> Result<Reading, String> {
    let words = match fact {
        Fact::Monitor(_) => &MonitorState::WORDS[..],
        other => other.words(),
    };
    let found = choose(alias::word(fact, text).unwrap_or(text), words)?;
    u8::try_from(found).map(place).map_err(|_| "there are too many words".to_owned())
}

fn number(fact: Fact, own: Unit, text: &str) -> Result<Reading, String> {
    let digits: String = text.chars().take_while(|c| c.is_ascii_digit() || *c == '-').collect();
    let word = text.get(digits.len()..).unwrap_or("").trim();
    let amount: i128 = digits.parse().map_err(|_| format!("\"{text}\" is no whole number"))?;
    let unit = match word {
        "" => own,
        "mi" => Unit::Mile,
        "min" => Unit::Minute,
        "h" => Unit::Hour,
        "lbs" => Unit::Pound,
        word => Unit::named(word).ok_or_else(|| format!("\"{word}\" is no unit of it"))?,
    };
    if !unit.is_comparable(own) || (own == Unit::One && unit != Unit::One) {
        return Err(format!("{} is no unit of it", unit.word()));
    }
    of_node(fact, Some(unit), Node::Whole(amount))
}

fn of_node(fact: Fact, unit: Option<Unit>, node: Node) -> Result<Reading, String> {
    let mut faults: Vec<Fault> = Vec::new();
    match (reading(fact, unit, &node, "", &mut faults), faults.first()) {
        (Some(reading), None) => Ok(reading),
        (_, Some(fault)) => Err(fault.message.clone()),
        (None, None) => Err("that is no value of it".to_owned()),
    }
}

fn parts(text: &str) -> impl Iterator<Item = &str> {
    text.split([',', ';']).map(str::trim).filter(|part| !part.is_empty())
}

/// Monitors by unique beginnings of their names; `none` for the empty set.
fn monitors(text: &str) -> Result<MonitorSet, String> {
    if text.eq_ignore_ascii_case("none") {
        return Ok(MonitorSet::EMPTY);
    }
    let mut set = MonitorSet::EMPTY;
    for part in parts(text) {
        set = set.with(monitor(part)?);
    }
    if set.is_empty() { Err("name the monitors, or say none".to_owned()) } else { Ok(set) }
}

/// The monitor whose name a text begins. The names of J1939 begin with `hd-`, so that they never stand in the way.
///
/// # Errors
/// With a sentence, where none or several do.
pub fn monitor(text: &str) -> Result<Monitor, String> {
    if let Some(monitor) = alias::monitor(text) {
        return Ok(monitor);
    }
    // AIR is the trade's short form of the first, and the beginning of the second.
    if text.trim().eq_ignore_ascii_case("air") {
        return Err("\"air\" may be secondary-air or air-conditioning; write one letter more".to_owned());
    }
    let all: Vec<Monitor> = Monitor::all().collect();
    let names: Vec<&str> = all.iter().map(|monitor| monitor.name()).collect();
    let place = choose(text, &names)?;
    all.get(place).copied().ok_or_else(|| "there is no such monitor".to_owned())
}

fn codes(fact: Fact, text: &str) -> Result<Reading, String> {
    let list = |codes: &str| Node::List(parts(codes).map(|part| Node::Text(part.to_uppercase())).collect());
    let lower = text.to_lowercase();
    if lower == "none" {
        return Ok(Reading::Known(Value::Codes(CodeList::default())));
    }
    let node = match lower.strip_prefix("at least ") {
        Some(codes) => Node::Map(vec![("at_least".to_owned(), list(codes))]),
        None if parts(text).next().is_none() => return Err("name the codes, or say none".to_owned()),
        None => list(text),
    };
    of_node(fact, None, node)
}

/// What may be answered, in words for a person.
#[must_use]
pub fn answers(fact: Fact) -> String {
    let spec = spec(fact);
    let text = match spec.kind {
        FactType::YesNo { .. } => "yes or no".to_owned(),
        FactType::Words(_) if fact == Fact::Communication => "yes, no, or unsupported-protocol".to_owned(),
        FactType::Words(_) if matches!(fact, Fact::Monitor(_)) => {
            "complete, incomplete or unsupported; or several at once: catalyst incomplete, others complete".to_owned()
        }
        FactType::Words(words) => match words.split_last() {
            Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
            None => String::new(),
        },
        FactType::Number { unit, least, most, saturates } => {
            let unit = match unit {
                Unit::One => String::new(),
                Unit::Kilometre => " km (or miles)".to_owned(),
                Unit::Pound => " lb (or kg)".to_owned(),
                other => format!(" {}", other.word()),
            };
            let full = if saturates { format!("; {most} means that or more") } else { String::new() };
            format!("a whole number from {least} through {most}{unit}{full}")
        }
        FactType::Date => "a date such as 2012-03-01 or 3/1/2012".to_owned(),
        FactType::Text => "a name as the papers have it".to_owned(),
        FactType::Monitors => "names of monitors such as catalyst, evaporative; or none".to_owned(),
        FactType::Codes => "codes such as P0420, P0171; none; or at least P0420 where there may be more".to_owned(),
    };
    if spec.may_be_absent { format!("{text}; or {NOT_ON_VEHICLE}") } else { text }
}
