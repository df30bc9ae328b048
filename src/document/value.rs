//! One value of a document to a reading of a fact.

use super::allowed::{allowed, allowed_in, monitor_names, monitor_states};
use super::fault::{Fault, FaultKind};
use super::key::MAX_TEXT;
use super::tree::{MAX_DEPTH, MAX_ENTRIES, Node};
use crate::diagnostic::nearest;
use crate::model::{
    CodeList, Date, Fact, FactType, Monitor, MonitorSet, Reading, TroubleCode, Unit, Value, alias, spec,
};

/// The word for a fact that this vehicle does not have.
pub(super) const ABSENT: &str = "not-on-vehicle";

/// Reads a value; `None` with no fault is *not known*.
pub(super) fn reading(
    fact: Fact,
    unit: Option<Unit>,
    node: &Node,
    path: &str,
    faults: &mut Vec<Fault>,
) -> Option<Reading> {
    if let Some(fault) = too_much(node, path) {
        faults.push(fault);
        return None;
    }
    match node {
        Node::Null => return None,
        Node::Text(text) if text == ABSENT => {
            if spec(fact).may_be_absent {
                return Some(Reading::NotOnVehicle);
            }
            let message =
                format!("\"{ABSENT}\" is said of facts that a vehicle may lack, and every vehicle has this one");
            faults.push(Fault::new(FaultKind::NeverAbsent, path, message).help(format!("give {}", allowed(fact))));
            return None;
        }
        _ => {}
    }
    let value = match spec(fact).kind {
        FactType::YesNo { .. } => yes_no(fact, node, path, faults),
        FactType::Words(_) if fact == Fact::Communication => communication(node, path, faults),
        FactType::Words(words) => word(fact, words, node, path, faults),
        FactType::Number { unit: own, least, most, .. } => number(fact, own, (least, most), unit, node, path, faults),
        FactType::Date => date(fact, node, path, faults),
        FactType::Text => text(node, path, faults).map(Value::Text),
        FactType::Monitors => monitors(node, path, faults).map(Value::Monitors),
        FactType::Codes => codes(fact, node, path, faults).map(Value::Codes),
    };
    value.map(Reading::Known)
}

/// The fault of a value that was not read because of its size.
pub(super) fn too_much(node: &Node, path: &str) -> Option<Fault> {
    let message = match node {
        Node::TooDeep => format!("nested deeper than {MAX_DEPTH} levels"),
        Node::TooLong(count) => format!("{count} entries; a list or object may have {MAX_ENTRIES}"),
        _ => return None,
    };
    Some(Fault::new(FaultKind::TooMuch, path, message))
}

fn wrong_type(fact: Fact, node: &Node, path: &str) -> Fault {
    let message = format!("{} is {}", node.show(), node.kind());
    Fault::new(FaultKind::WrongType, path, message).help(format!("give {}", allowed(fact)))
}

fn yes_no(fact: Fact, node: &Node, path: &str, faults: &mut Vec<Fault>) -> Option<Value> {
    if let Node::Bool(yes) = node {
        return Some(Value::Word(u8::from(*yes)));
    }
    faults.push(wrong_type(fact, node, path));
    None
}

fn communication(node: &Node, path: &str, faults: &mut Vec<Fault>) -> Option<Value> {
    let word = match node {
        Node::Bool(false) => "none",
        Node::Bool(true) => "established",
        Node::Text(text) if text == "unsupported-protocol" => "unsupported-protocol",
        Node::Text(text) => {
            let message = format!("\"{text}\" is no value of communication");
            let help = format!("give {}", allowed(Fact::Communication));
            faults.push(Fault::new(FaultKind::UnknownWord, path, message).help(help));
            return None;
        }
        _ => {
            faults.push(wrong_type(Fact::Communication, node, path));
            return None;
        }
    };
    place_of(Fact::Communication.words(), word).map(Value::Word)
}

fn place_of(words: &[&str], word: &str) -> Option<u8> {
    words.iter().position(|known| *known == word).and_then(|place| u8::try_from(place).ok())
}

fn word(fact: Fact, words: &'static [&'static str], node: &Node, path: &str, faults: &mut Vec<Fault>) -> Option<Value> {
    let Node::Text(text) = node else {
        faults.push(wrong_type(fact, node, path));
        return None;
    };
    let place = place_of(words, text);
    if place.is_none() {
        let allowed = if let Fact::Monitor(_) = fact { monitor_states() } else { allowed(fact) };
        faults.push(unknown_word(path, text, words, &allowed, alias::word(fact, text)));
    }
    place.map(Value::Word)
}

fn unknown_word(path: &str, text: &str, words: &[&str], allowed: &str, short: Option<&str>) -> Fault {
    let meant = short.or_else(|| nearest(text, words.iter().copied()));
    let short = Node::Text(text.to_owned()).show();
    let help = match meant {
        Some(word) => format!("did you mean \"{word}\"? allowed: {allowed}"),
        None => format!("allowed: {allowed}"),
    };
    Fault::new(FaultKind::UnknownWord, path, format!("{short} is none of the words for it")).help(help)
}

fn number(
    fact: Fact,
    own: Unit,
    (least, most): (i64, i64),
    unit: Option<Unit>,
    node: &Node,
    path: &str,
    faults: &mut Vec<Fault>,
) -> Option<Value> {
    let unit = unit.unwrap_or(own);
    let (least_base, most_base) = (own.to_base(least)?, own.to_base(most)?);
    let range = if unit == own { allowed(fact) } else { allowed_in(unit, least_base, most_base) };
    let (kind, message) = match node {
        Node::Whole(number) => {
            let base = i64::try_from(*number).ok().and_then(|number| unit.to_base(number));
            match base.filter(|base| (least_base..=most_base).contains(base)) {
                Some(base) => return Some(Value::Number(base)),
                None => (FaultKind::OutOfRange, format!("{number} is out of range")),
            }
        }
        // Nothing else than a great number has an exponent that is not negative here.
        Node::OtherNumber(text) if text.contains('e') && !text.contains("e-") => {
            (FaultKind::OutOfRange, format!("{text} is out of range"))
        }
        Node::OtherNumber(text) => (FaultKind::WrongType, format!("{text} is not written as a whole number")),
        _ => (FaultKind::WrongType, format!("{} is {}", node.show(), node.kind())),
    };
    faults.push(Fault::new(kind, path, message).help(format!("give {range}")));
    None
}

fn date(fact: Fact, node: &Node, path: &str, faults: &mut Vec<Fault>) -> Option<Value> {
    let Node::Text(text) = node else {
        faults.push(wrong_type(fact, node, path));
        return None;
    };
    let Some(date) = parse_date(text) else {
        let message = format!("{} is no date", node.show());
        faults.push(Fault::new(FaultKind::OutOfRange, path, message).help("write year, month and day: \"2026-11-25\""));
        return None;
    };
    if !(1900..=2199).contains(&date.year()) {
        let message = format!("{date} is out of range");
        faults.push(Fault::new(FaultKind::OutOfRange, path, message).help(format!("give {}", allowed(fact))));
        return None;
    }
    Some(Value::Date(date))
}

/// Reads `2026-11-25` and nothing else (a time of day, a week or an ordinal date would be guessed at).
#[must_use]
pub fn parse_date(text: &str) -> Option<Date> {
    let number = |part: &str, digits: usize| {
        let is_plain = part.len() == digits && part.bytes().all(|byte| byte.is_ascii_digit());
        if is_plain { part.parse::<i16>().ok() } else { None }
    };
    let mut parts = text.split('-');
    let (year, month, day) = (number(parts.next()?, 4)?, number(parts.next()?, 2)?, number(parts.next()?, 2)?);
    if parts.next().is_some() {
        return None;
    }
    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}

/// Reads a text of a sensible length.
pub(super) fn text(node: &Node, path: &str, faults: &mut Vec<Fault>) -> Option<String> {
    let Node::Text(text) = node else {
        let message = format!("{} is {}", node.show(), node.kind());
        faults.push(Fault::new(FaultKind::WrongType, path, message).help("give a text in double quotes"));
        return None;
    };
    let count = text.chars().count();
    if text.trim().is_empty() {
        let help = "leave the key out, or write null, where it is not known";
        faults.push(Fault::new(FaultKind::OutOfRange, path, "the text is empty").help(help));
        return None;
    }
    if count > MAX_TEXT {
        let message = format!("the text has {count} characters");
        faults.push(Fault::new(FaultKind::TooMuch, path, message).help(format!("{MAX_TEXT} are allowed")));
        return None;
    }
    Some(text.clone())
}

fn monitors(node: &Node, path: &str, faults: &mut Vec<Fault>) -> Option<MonitorSet> {
    let Node::List(list) = node else {
        let message = format!("{} is {}", node.show(), node.kind());
        let help = "give a list of names of monitors; an empty one where there was none";
        faults.push(Fault::new(FaultKind::WrongType, path, message).help(help));
        return None;
    };
    let before = faults.len();
    let mut set = MonitorSet::EMPTY;
    for (at, entry) in list.iter().enumerate() {
        let path = format!("{path}[{at}]");
        match entry {
            Node::Text(name) => match Monitor::named(name) {
                Some(monitor) => set = set.with(monitor),
                None => {
                    let names = monitor_names();
                    let classic: Vec<&str> = names.iter().copied().filter(|name| !name.starts_with("hd-")).collect();
                    let allowed = format!("{}, and the hd- names of J1939", classic.join(", "));
                    faults.push(unknown_word(&path, name, &names, &allowed, alias::monitor(name).map(Monitor::name)));
                }
            },
            other => {
                let message = format!("{} is {}", other.show(), other.kind());
                faults.push(Fault::new(FaultKind::WrongType, &path, message).help("give the name of a monitor"));
            }
        }
    }
    (faults.len() == before).then_some(set)
}

fn codes(fact: Fact, node: &Node, path: &str, faults: &mut Vec<Fault>) -> Option<CodeList> {
    match node {
        Node::List(list) => code_list(list, false, path, faults),
        Node::Map(entries) => {
            let [(key, inner)] = entries.as_slice() else {
                let help = "write {\"at_least\": [...]} with nothing else";
                faults.push(Fault::new(FaultKind::WrongType, path, "the object needs one key").help(help));
                return None;
            };
            if key != "at_least" {
                let key = Node::Text(key.clone()).show();
                let fault = Fault::new(FaultKind::UnknownKey, path, format!("unknown key {key}"));
                faults.push(fault.help("did you mean \"at_least\"?"));
                return None;
            }
            let path = format!("{path}.at_least");
            match inner {
                Node::List(list) => code_list(list, true, &path, faults),
                other => {
                    let message = format!("{} is {}", other.show(), other.kind());
                    let fault = too_much(other, &path).unwrap_or(Fault::new(FaultKind::WrongType, &path, message));
                    faults.push(fault.help("give a list of trouble codes"));
                    None
                }
            }
        }
        _ => {
            faults.push(wrong_type(fact, node, path));
            None
        }
    }
}

fn code_list(list: &[Node], may_hold_more: bool, path: &str, faults: &mut Vec<Fault>) -> Option<CodeList> {
    let before = faults.len();
    let mut read = CodeList { may_hold_more, ..CodeList::default() };
    for (at, entry) in list.iter().enumerate() {
        let code = if let Node::Text(text) = entry { TroubleCode::parse(text) } else { None };
        match code {
            Some(code) => {
                read.codes.insert(code);
            }
            None => {
                let message = format!("{} is no trouble code", entry.show());
                let help = "write \"P0420\", with a failure type \"P0420-11\", or of J1939 \"SPN 1076 FMI 5\"";
                faults.push(Fault::new(FaultKind::UnknownWord, &format!("{path}[{at}]"), message).help(help));
            }
        }
    }
    (faults.len() == before).then_some(read)
}
