//! One field of a record to what it says of a fact. Slow and plain; the readers keep what it said of texts that return.

use super::form::number;
use super::{Column, DateForm, Given, Holds, List, Reads, Recorded, Target};
use crate::decode::{MonitorStatus, MonitorTable};
use crate::document::MAX_TEXT;
use crate::model::{
    CodeList, Date, DeclaredValue, Fact, FactType, Monitor, MonitorSet, Reading, TroubleCode, Unit, Value, spec,
};

/// What a field says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Field {
    /// Nothing: it is not known.
    NotKnown,
    /// Of a fact.
    Given(Given),
    /// Of several facts at once.
    Several(Vec<(Fact, Reading)>),
    /// A text: the record's id or the id of its program.
    Text(String),
    /// The recorded result.
    Recorded(Recorded),
}

/// Why a field cannot be used.
pub type Wrong = String;

/// Blanks around a field say nothing.
pub(crate) fn trimmed(field: &[u8]) -> &[u8] {
    field.trim_ascii()
}

impl Column {
    /// What a field of this column says.
    ///
    /// # Errors
    /// With the reason, in words, where it cannot be used.
    pub fn field(&self, field: &[u8]) -> Result<Field, Wrong> {
        let bytes = trimmed(field);
        let Ok(text) = std::str::from_utf8(bytes) else {
            return Err("is not UTF-8 text".to_owned());
        };
        let is_of = |list: &[String]| list.iter().any(|known| known == text);
        if let Some(given) = self.listed(text) {
            return Ok(given);
        }
        if is_of(&self.not_known) {
            return Ok(Field::NotKnown);
        }
        if is_of(&self.not_on_vehicle) {
            return match &self.holds {
                Holds::Fact(Target::Fact(fact), _) if spec(*fact).may_be_absent => {
                    Ok(Field::Given(Given::Reading(Reading::NotOnVehicle)))
                }
                _ => Err("means not on this vehicle, and every vehicle has this one".to_owned()),
            };
        }
        match &self.holds {
            Holds::Fact(target, reads) => fact(target, reads, text),
            Holds::MonitorStatus => status(text),
            Holds::RecordId => Ok(Field::Text(short(text)?)),
            Holds::Program(words) if words.is_empty() => Ok(Field::Text(short(text)?)),
            Holds::Program(words) => Err(none_of(words.iter().map(|(word, _)| word))),
            Holds::Recorded(words) | Holds::Overall(words) => Err(none_of(words.iter().map(|(word, _)| word))),
        }
    }

    /// Whether a text stands for *not known* or *not on this vehicle*, whatever else it could be read as.
    #[must_use]
    pub(crate) fn is_mark(&self, text: &[u8]) -> bool {
        self.has_mark(|mark| mark == text)
    }

    /// Whether some text that stands for *not known* or *not on this vehicle* is like this.
    pub(crate) fn has_mark(&self, is: impl Fn(&[u8]) -> bool) -> bool {
        self.not_known.iter().chain(&self.not_on_vehicle).any(|mark| is(mark.as_bytes()))
    }

    /// What the column's own words say of a text: they stand before *not known*, so that an empty field can be a word.
    fn listed(&self, text: &str) -> Option<Field> {
        match &self.holds {
            Holds::Fact(_, Reads::Words(words)) => find(words, text).map(|place| match place {
                Some(place) => known(Value::Word(*place)),
                None => Field::NotKnown,
            }),
            Holds::Fact(_, Reads::Text(words, _)) => find(words, text).map(|word| known(Value::Text(word.clone()))),
            Holds::Fact(_, Reads::Declared(words, _)) => {
                find(words, text).map(|value| Field::Given(Given::Declared(value.clone())))
            }
            Holds::Fact(_, Reads::Monitors(list, _)) if list.none.iter().any(|none| none == text) => {
                Some(known(Value::Monitors(MonitorSet::EMPTY)))
            }
            Holds::Fact(_, Reads::Codes(list, partial)) if list.none.iter().any(|none| none == text) => {
                Some(known(Value::Codes(CodeList { may_hold_more: *partial, ..CodeList::default() })))
            }
            Holds::Program(words) => find(words, text).map(|id| Field::Text(id.clone())),
            Holds::Recorded(words) | Holds::Overall(words) => {
                find(words, text).map(|recorded| Field::Recorded(recorded.clone()))
            }
            Holds::Fact(..) | Holds::MonitorStatus | Holds::RecordId => None,
        }
    }
}

fn find<'w, T>(words: &'w [(String, T)], text: &str) -> Option<&'w T> {
    words.iter().find(|(word, _)| word == text).map(|(_, value)| value)
}

fn known(value: Value) -> Field {
    Field::Given(Given::Reading(Reading::Known(value)))
}

fn none_of<'w>(words: impl Iterator<Item = &'w String>) -> Wrong {
    let words: Vec<String> = words.take(12).map(|word| format!("\"{word}\"")).collect();
    format!("is none of the words of the mapping: {}", words.join(", "))
}

fn short(text: &str) -> Result<String, Wrong> {
    if text.contains(char::is_control) {
        return Err("holds characters that cannot be seen".to_owned());
    }
    if text.chars().count() <= MAX_TEXT {
        Ok(text.to_owned())
    } else {
        Err(format!("is longer than {MAX_TEXT} characters"))
    }
}

fn fact(target: &Target, reads: &Reads, text: &str) -> Result<Field, Wrong> {
    let value = match reads {
        Reads::Words(words) => return Err(none_of(words.iter().map(|(word, _)| word))),
        Reads::Number(unit, thousands) => {
            let base = number(text.as_bytes(), *unit, *thousands);
            let base = base.ok_or_else(|| format!("is no whole number{}", of(*unit)))?;
            Value::Number(in_range(target, *unit, base)?)
        }
        Reads::Date(forms) => Value::Date(date(forms, text)?),
        Reads::Text(words, as_written) if *as_written || words.is_empty() => Value::Text(short(text)?),
        Reads::Text(words, _) => return Err(none_of(words.iter().map(|(word, _)| word))),
        Reads::Monitors(list, words) => Value::Monitors(monitors(list, words, text)?),
        Reads::Codes(list, partial) => Value::Codes(codes(list, *partial, text)?),
        Reads::Declared(words, as_written) if *as_written || words.is_empty() => {
            return Ok(Field::Given(Given::Declared(declared(text)?)));
        }
        Reads::Declared(words, _) => return Err(none_of(words.iter().map(|(word, _)| word))),
    };
    Ok(known(value))
}

/// A date of the first form that fits. A text that two forms read as different days is no date that can be used: which is
/// meant would be a guess.
fn date(forms: &[DateForm], text: &str) -> Result<Date, Wrong> {
    let mut found = forms.iter().filter_map(|form| Some((form, form.date(text.as_bytes())?)));
    let names = || forms.iter().map(DateForm::text).collect::<Vec<_>>().join(" or ");
    let Some((form, date)) = found.next() else {
        let timed = forms.iter().any(|form| form.opened().date(text.as_bytes()).is_some());
        let hint = if timed { "; a time follows: write ... behind the form" } else { "" };
        return Err(format!("is no date of the form {} from 1900 through 2199{hint}", names()));
    };
    match found.find(|(_, other)| *other != date) {
        None => Ok(date),
        Some((second, other)) => Err(format!(
            "can be two dates: {date} by {} and {other} by {}, and which is meant is not guessed",
            form.text(),
            second.text()
        )),
    }
}

fn of(unit: Unit) -> String {
    if unit == Unit::One { String::new() } else { format!(" of {}", unit.word()) }
}

/// A number within the range of its fact.
pub(crate) fn in_range(target: &Target, unit: Unit, base: i64) -> Result<i64, Wrong> {
    let Target::Fact(fact) = target else {
        return Ok(base);
    };
    let Some((least, most)) = range_of(*fact) else {
        return Ok(base);
    };
    if (least..=most).contains(&base) {
        return Ok(base);
    }
    Err(format!("is out of range: it can be {} through {}", unit.show(least), unit.show(most)))
}

/// The range of a number in base units.
pub(crate) fn range_of(fact: Fact) -> Option<(i64, i64)> {
    match spec(fact).kind {
        FactType::Number { unit, least, most, .. } => Some((unit.to_base(least)?, unit.to_base(most)?)),
        FactType::YesNo { .. }
        | FactType::Words(_)
        | FactType::Date
        | FactType::Text
        | FactType::Monitors
        | FactType::Codes => None,
    }
}

fn entries<'t>(list: &List, text: &'t str) -> impl Iterator<Item = &'t str> {
    text.split(list.separator).map(str::trim).filter(|entry| !entry.is_empty())
}

fn monitors(list: &List, words: &[(String, Monitor)], text: &str) -> Result<MonitorSet, Wrong> {
    let mut set = MonitorSet::EMPTY;
    for entry in entries(list, text) {
        let monitor = find(words, entry).copied().or_else(|| Monitor::named(entry));
        set = set.with(monitor.ok_or_else(|| format!("names no monitor: \"{entry}\""))?);
    }
    Ok(set)
}

fn codes(list: &List, partial: bool, text: &str) -> Result<CodeList, Wrong> {
    let mut found = CodeList { may_hold_more: partial, ..CodeList::default() };
    for entry in entries(list, text) {
        let code = TroubleCode::parse(entry);
        found.codes.insert(code.ok_or_else(|| format!("holds no trouble code: \"{entry}\"; they are written P0420"))?);
    }
    Ok(found)
}

fn declared(text: &str) -> Result<DeclaredValue, Wrong> {
    Ok(match text {
        "yes" | "true" => DeclaredValue::YesNo(true),
        "no" | "false" => DeclaredValue::YesNo(false),
        _ => match text.parse() {
            Ok(number) => DeclaredValue::Number(number),
            Err(_) => DeclaredValue::Word(short(text)?),
        },
    })
}

fn status(text: &str) -> Result<Field, Wrong> {
    let bytes = status_bytes(text.as_bytes()).ok_or("is not the four bytes of PID $01 in hexadecimal, as 81076504")?;
    Ok(Field::Several(status_facts(bytes)))
}

/// The four data bytes of PID $01 from hexadecimal digits: blanks between bytes, and the `41 01` of the response before
/// them, do not count.
#[must_use]
pub(crate) fn status_bytes(text: &[u8]) -> Option<[u8; 4]> {
    let text = text.strip_prefix(b"0x").or_else(|| text.strip_prefix(b"0X")).unwrap_or(text);
    let mut all = [0u8; 6];
    let mut digits = 0usize;
    for byte in text.iter().filter(|byte| **byte != b' ') {
        let digit = match byte {
            b'0'..=b'9' => byte - b'0',
            b'a'..=b'f' => byte - b'a' + 10,
            b'A'..=b'F' => byte - b'A' + 10,
            _ => return None,
        };
        let slot = all.get_mut(digits / 2)?;
        *slot = *slot << 4 | digit;
        digits += 1;
    }
    match (digits, all) {
        (8, [a, b, c, d, _, _]) | (12, [0x41, 0x01, a, b, c, d]) => Some([a, b, c, d]),
        _ => None,
    }
}

/// What the four data bytes say, as [`crate::decode`] takes those of one controller: the lamp command, the kind of ignition
/// and every monitor of its table. A controller that has none besides comprehensive components is not the engine's: it
/// tells nothing but a lamp that is commanded on.
#[must_use]
pub fn status_facts(bytes: [u8; 4]) -> Vec<(Fact, Reading)> {
    let status = MonitorStatus::from_bytes(bytes);
    let word = |place: u8| Reading::Known(Value::Word(place));
    let mut facts = Vec::new();
    let is_engine = status.monitors.beyond_components();
    if status.lamp || is_engine {
        facts.push((Fact::LampCommanded, word(u8::from(status.lamp))));
    }
    if !is_engine {
        return facts;
    }
    facts.push((Fact::Ignition, word(u8::from(status.monitors.table == MonitorTable::Compression))));
    for (name, state) in status.monitors.states() {
        facts.extend(Monitor::named(name).map(|monitor| (Fact::Monitor(monitor), word(state.place()))));
    }
    facts
}
