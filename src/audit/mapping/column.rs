//! One column of a mapping file: what it holds and how its fields are read.

use super::read::{Reader, kind};
use super::{Column, DateForm, Holds, List, Reads, Recorded, Target, Thousands};
use crate::diagnostic::nearest;
use crate::model::{DeclaredValue, Fact, FactType, Monitor, Unit, spec};
use crate::program::Class;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

type Entry<'t> = Spanned<DeValue<'t>>;

/// What a column may hold besides a fact.
const HOLDS: [&str; 5] = ["record-id", "program", "recorded-result", "overall-result", "pid-01"];

/// The word that stands for *not known* among the words of a column.
const NOT_KNOWN: &str = "not-known";

/// Reads the entry of a column: the key of a fact, or a table.
pub(super) fn column<'t>(reader: &mut Reader<'t>, name: &str, entry: &Entry<'t>) -> Option<Column> {
    let file = reader.mapping.file.clone();
    let mut column = Column {
        name: name.to_owned(),
        holds: Holds::RecordId,
        not_known: file.not_known,
        not_on_vehicle: file.not_on_vehicle,
        zone: None,
    };
    match entry.get_ref() {
        DeValue::String(key) => {
            let (target, unit) = reader.target(entry.span(), key)?;
            let reads = plain(&target, unit);
            column.holds = Holds::Fact(target, reads);
        }
        DeValue::Table(table) => column.holds = holds(reader, entry, table, &mut column)?,
        other => {
            let message = format!("is {}", kind(other));
            let help = "give the key of a fact, or a table: {fact = \"vehicle.fuel\", words = {G = \"gasoline\"}}";
            reader.fault(entry.span(), message, help);
            return None;
        }
    }
    Some(column)
}

/// What of the record a column gives, each of which may be given once.
pub(super) fn what(column: &Column) -> Vec<String> {
    match &column.holds {
        Holds::Fact(target, _) => vec![target.key()],
        // A fact with a column of its own stands before what these bytes say of it.
        Holds::MonitorStatus => vec!["pid-01".to_owned()],
        Holds::RecordId => vec!["record-id".to_owned()],
        Holds::Program(_) => vec!["program".to_owned()],
        Holds::Recorded(_) => vec!["recorded-result".to_owned()],
        Holds::Overall(_) => vec!["overall-result".to_owned()],
    }
}

/// How a fact is read where nothing is said of it.
fn plain(target: &Target, unit: Option<Unit>) -> Reads {
    let Target::Fact(fact) = target else {
        return Reads::Declared(Vec::new(), false);
    };
    let list = |separator| List { separator, none: Vec::new() };
    match spec(*fact).kind {
        FactType::YesNo { .. } => {
            let words = [("yes", 1), ("no", 0), ("true", 1), ("false", 0)];
            Reads::Words(words.iter().map(|(word, place)| ((*word).to_owned(), Some(*place))).collect())
        }
        FactType::Words(words) => {
            let own = words.iter().zip(0u8..).map(|(word, place)| ((*word).to_owned(), Some(place)));
            let mut all: Vec<(String, Option<u8>)> = own.collect();
            if *fact == Fact::Communication {
                all.extend([("false".to_owned(), Some(0)), ("true".to_owned(), Some(1))]);
            }
            Reads::Words(all)
        }
        FactType::Number { unit: own, .. } => Reads::Number(unit.unwrap_or(own), None),
        FactType::Date => Reads::Date(vec![DateForm::iso()]),
        FactType::Text => Reads::Text(Vec::new(), false),
        FactType::Monitors => Reads::Monitors(list(' '), Vec::new()),
        FactType::Codes => Reads::Codes(list(' '), false),
    }
}

fn holds<'t>(reader: &mut Reader<'t>, entry: &Entry<'t>, table: &DeTable<'t>, column: &mut Column) -> Option<Holds> {
    for (key, list) in [("not-known", &mut column.not_known), ("not-on-vehicle", &mut column.not_on_vehicle)] {
        if let Some(value) = table.get(key) {
            *list = reader.texts(value);
        }
    }
    match (table.get("fact"), table.get("holds")) {
        (Some(fact), None) => {
            let key = reader.text_of(fact, "the key of a fact")?;
            let (target, unit) = reader.target(fact.span(), key)?;
            let reads = reads(reader, table, &target, unit)?;
            if let Some(value) = table.get("zone") {
                column.zone = zone(reader, value);
            }
            Some(Holds::Fact(target, reads))
        }
        (None, Some(what)) => {
            let word = reader.text_of(what, "what the column holds")?;
            other(reader, what, word, table)
        }
        _ => {
            let help = format!("give fact = \"KEY\", or holds = one of {}", HOLDS.join(", "));
            reader.fault(entry.span(), "needs either fact or holds", help);
            None
        }
    }
}

/// A zone at a fixed distance from UTC.
fn zone<'t>(reader: &mut Reader<'t>, value: &Entry<'t>) -> Option<i64> {
    let named = reader.text_of(value, "a zone, as \"-07:00\"")?;
    let ahead = ahead_of_utc(named);
    if ahead.is_none() {
        let help = "write \"UTC\", or how far the zone is ahead of it or behind, as \"-07:00\"";
        reader.fault(value.span(), format!("\"{named}\" is no fixed distance from UTC"), help);
    }
    ahead
}

/// The seconds by which a time zone is ahead of UTC; `None` for one that has rules of its own.
pub(crate) fn ahead_of_utc(named: &str) -> Option<i64> {
    if matches!(named, "UTC" | "Etc/UTC" | "GMT" | "Z" | "utc") {
        return Some(0);
    }
    let (sign, rest) = match named.split_at_checked(1)? {
        ("+", rest) => (1, rest),
        ("-", rest) => (-1, rest),
        _ => return None,
    };
    let digits: String = rest.chars().filter(|c| *c != ':').collect();
    if digits.len() != 4 || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let number: i64 = digits.parse().ok()?;
    (number / 100 <= 14 && number % 100 < 60).then(|| sign * (number / 100 * 3600 + number % 100 * 60))
}

fn other<'t>(reader: &mut Reader<'t>, what: &Entry<'t>, word: &str, table: &DeTable<'t>) -> Option<Holds> {
    let extra: &[&str] = match word {
        "record-id" | "pid-01" => &[],
        "program" => &["words"],
        "recorded-result" | "overall-result" => &["classes", "outcomes"],
        _ => {
            let help = match nearest(word, HOLDS) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("there are: {}; a fact is given as fact = \"KEY\"", HOLDS.join(", ")),
            };
            reader.fault(what.span(), format!("a column cannot hold \"{word}\""), help);
            return None;
        }
    };
    keys(reader, table, &[&["holds"], extra]);
    Some(match word {
        "record-id" => Holds::RecordId,
        "pid-01" => Holds::MonitorStatus,
        "program" => Holds::Program(pairs(reader, table, "words", |_, text| Some(text.to_owned()))),
        "overall-result" => Holds::Overall(recorded(reader, what, table)),
        _ => Holds::Recorded(recorded(reader, what, table)),
    })
}

fn keys<'t>(reader: &mut Reader<'t>, table: &DeTable<'t>, known: &[&[&str]]) {
    let mut all = vec!["not-known", "not-on-vehicle"];
    all.extend(known.iter().flat_map(|some| some.iter().copied()));
    for (key, _) in table {
        if !all.contains(&key.get_ref().as_ref()) {
            reader.unknown(key.span(), key.get_ref(), &all);
        }
    }
}

/// A table of words; `value` reads what each stands for, or says why it cannot and gives `None`.
fn pairs<'t, T>(
    reader: &mut Reader<'t>,
    table: &DeTable<'t>,
    key: &str,
    mut value: impl FnMut(&mut Reader<'t>, &str) -> Option<T>,
) -> Vec<(String, T)> {
    let Some(words) = table.get(key) else {
        return Vec::new();
    };
    let Some(words) = reader.table(words, "a table of words, as {Y = \"yes\", N = \"no\"}") else {
        return Vec::new();
    };
    let mut list = Vec::new();
    for (word, stands_for) in words {
        let text = match stands_for.get_ref() {
            DeValue::Boolean(yes) => if *yes { "yes" } else { "no" }.to_owned(),
            DeValue::String(text) => text.to_string(),
            other => {
                let message = format!("is {}", kind(other));
                reader.fault(stands_for.span(), message, "give a text");
                continue;
            }
        };
        let before = reader.faults_so_far();
        match value(reader, &text) {
            Some(value) => list.push((word.get_ref().trim().to_owned(), value)),
            None => reader.place_since(before, stands_for.span()),
        }
    }
    list
}

fn recorded<'t>(reader: &mut Reader<'t>, what: &Entry<'t>, table: &DeTable<'t>) -> Vec<(String, Recorded)> {
    let classes: Vec<&str> = Class::ALL.iter().map(|class| class.word()).collect();
    let mut list = pairs(reader, table, "classes", |reader, text| {
        let class = Class::ALL.iter().find(|class| class.word() == text).map(|class| Recorded::Class(*class));
        if class.is_none() {
            reader.not_among(text, "no class of outcomes", &classes);
        }
        class
    });
    list.extend(pairs(reader, table, "outcomes", |_, text| Some(Recorded::Outcome(text.to_owned()))));
    if list.is_empty() {
        reader.fault(
            what.span(),
            "the words of the recorded result are not given",
            "give classes = {P = \"pass\", F = \"fail\"}, or outcomes = {D = \"dynamometer\"}",
        );
    }
    list
}

fn reads<'t>(reader: &mut Reader<'t>, table: &DeTable<'t>, target: &Target, unit: Option<Unit>) -> Option<Reads> {
    let own = plain(target, unit);
    let allowed: &[&str] = match own {
        Reads::Words(_) => &["words"],
        Reads::Text(..) | Reads::Declared(..) => &["words", OTHER_WORDS],
        Reads::Number(..) => &["unit", "thousands"],
        Reads::Date(_) => &["date", "zone"],
        Reads::Monitors(..) => &["separator", "none", "words"],
        Reads::Codes(..) => &["separator", "none", "at-least"],
    };
    keys(reader, table, &[&["fact"], allowed]);
    Some(match own {
        Reads::Words(words) if table.get("words").is_none() => Reads::Words(words),
        Reads::Words(_) => {
            let Target::Fact(fact) = *target else { return None };
            Reads::Words(pairs(reader, table, "words", |reader, text| word(reader, fact, text)))
        }
        Reads::Text(..) => {
            let as_written = others(reader, table);
            Reads::Text(pairs(reader, table, "words", |_, text| Some(text.to_owned())), as_written)
        }
        Reads::Declared(..) => declared(reader, table),
        Reads::Number(own, _) => number(reader, table, own, unit),
        Reads::Date(forms) => match table.get("date") {
            None => Reads::Date(forms),
            Some(value) => Reads::Date(date_forms(reader, value)?),
        },
        Reads::Monitors(list, _) => {
            let names: Vec<&str> = Monitor::all().map(Monitor::name).collect();
            let words = pairs(reader, table, "words", |reader, text| {
                let monitor = Monitor::named(text);
                if monitor.is_none() {
                    reader.not_among(text, "no monitor", &names);
                }
                monitor
            });
            Reads::Monitors(list_form(reader, table, list), words)
        }
        Reads::Codes(list, _) => {
            let partial = table.get("at-least").and_then(|value| reader.yes_no(value)).unwrap_or(false);
            Reads::Codes(list_form(reader, table, list), partial)
        }
    })
}

/// A form of a date, or a list of them that are tried in order.
fn date_forms<'t>(reader: &mut Reader<'t>, value: &Entry<'t>) -> Option<Vec<DateForm>> {
    let entries: Vec<&Entry<'t>> = match value.get_ref() {
        DeValue::Array(list) => list.iter().collect(),
        _ => vec![value],
    };
    if entries.is_empty() {
        reader.fault(value.span(), "is an empty list", "give a form, as \"MM/DD/YYYY\"");
        return None;
    }
    let mut forms = Vec::new();
    for entry in entries {
        let text = reader.text_of(entry, "a form, as \"MM/DD/YYYY\", or a list of forms")?;
        match DateForm::read(text) {
            Some(form) => forms.push(form),
            None => {
                let help = "write YYYY, MM (or MMM for names) and DD once each with signs between them, \
                            as \"MM/DD/YYYY\"; ... at the end lets a time follow";
                reader.fault(entry.span(), format!("\"{text}\" is no form of a date"), help);
            }
        }
    }
    Some(forms)
}

/// What a text stands for that is none of the words: nothing, or itself.
const OTHER_WORDS: &str = "other-words";

fn others<'t>(reader: &mut Reader<'t>, table: &DeTable<'t>) -> bool {
    let Some(value) = table.get(OTHER_WORDS) else { return false };
    let is_known = reader.text_of(value, "\"as-written\"") == Some("as-written");
    if !is_known && value.get_ref().as_str().is_some() {
        reader.fault(value.span(), "is no way to read other words", "give \"as-written\", or leave it out");
    }
    is_known
}

fn word(reader: &mut Reader<'_>, fact: Fact, text: &str) -> Option<Option<u8>> {
    if text == NOT_KNOWN {
        return Some(None);
    }
    let place = fact.words().iter().position(|known| *known == text).and_then(|place| u8::try_from(place).ok());
    if place.is_none() {
        let mut words = fact.words().to_vec();
        words.push(NOT_KNOWN);
        reader.not_among(text, &format!("no value of {}", crate::model::table::key_of(fact)), &words);
    }
    place.map(Some)
}

fn list_form<'t>(reader: &mut Reader<'t>, table: &DeTable<'t>, own: List) -> List {
    let separator = table.get("separator").and_then(|value| reader.sign(value)).unwrap_or(own.separator);
    let none = table.get("none").map(|value| reader.texts(value)).unwrap_or_default();
    List { separator, none }
}

fn number<'t>(reader: &mut Reader<'t>, table: &DeTable<'t>, own: Unit, of_key: Option<Unit>) -> Reads {
    let mut unit = own;
    if let Some(value) = table.get("unit") {
        let word = reader.text_of(value, "a unit").unwrap_or("");
        match Unit::named(word) {
            Some(named) if of_key.is_some_and(|of_key| of_key != named) => {
                reader.fault(
                    value.span(),
                    format!("\"{word}\" contradicts the unit of the key"),
                    "leave one of them out",
                );
            }
            Some(named) if named.is_comparable(own) && own != Unit::One => unit = named,
            _ => {
                let units =
                    [Unit::Kilometre, Unit::Mile, Unit::Pound, Unit::Kilogram, Unit::Minute, Unit::Hour, Unit::Day];
                let same: Vec<&str> =
                    units.iter().filter(|it| it.is_comparable(own) && own != Unit::One).map(|it| it.word()).collect();
                let help = if same.is_empty() {
                    "it is a plain number without a unit".to_owned()
                } else {
                    format!("give {}", same.join(" or "))
                };
                reader.fault(value.span(), format!("\"{word}\" is no unit of it"), help);
            }
        }
    }
    let sign = table.get("thousands").and_then(|value| reader.sign(value)).and_then(|sign| u8::try_from(sign).ok());
    if let (Some(value), Some(b'0'..=b'9' | b'.' | b'-' | b'+')) = (table.get("thousands"), sign) {
        reader.fault(value.span(), "cannot part thousands", "give a comma, a blank or another sign");
    }
    Reads::Number(unit, sign.map(Thousands))
}

/// The value of a declared fact.
pub(super) fn declared_value<'t>(reader: &mut Reader<'t>, value: &Entry<'t>) -> Option<DeclaredValue> {
    match value.get_ref() {
        DeValue::Boolean(yes) => Some(DeclaredValue::YesNo(*yes)),
        DeValue::String(word) if !word.trim().is_empty() => Some(DeclaredValue::Word(word.to_string())),
        DeValue::Integer(number) if number.radix() == 10 => number.as_str().parse().ok().map(DeclaredValue::Number),
        other => {
            let message = format!("is {}", kind(other));
            reader.fault(value.span(), message, "give a word, true, false or a whole number");
            None
        }
    }
}

fn declared<'t>(reader: &mut Reader<'t>, table: &DeTable<'t>) -> Reads {
    let as_written = others(reader, table);
    let Some(value) = table.get("words") else {
        return Reads::Declared(Vec::new(), as_written);
    };
    let Some(words) = reader.table(value, "a table of words, as {Y = true, N = false}") else {
        return Reads::Declared(Vec::new(), as_written);
    };
    let mut list = Vec::new();
    for (word, stands_for) in words {
        if let Some(value) = declared_value(reader, stands_for) {
            list.push((word.get_ref().trim().to_owned(), value));
        }
    }
    Reads::Declared(list, as_written)
}
