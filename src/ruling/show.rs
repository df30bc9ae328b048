//! Facts and their values as people read them.

use crate::evaluate::Cause;
use crate::model::facts::{ABSENT, Possible};
use crate::model::table::key_of;
use crate::model::{CodeList, Fact, FactType, MonitorSet, Unit, date_of, spec};
use crate::program::block::DeclaredType;
use crate::program::{FactRef, Flat, Given};

/// A fact with its value.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct FactShown {
    /// Path in the snapshot document, `since_clear.warm_ups`; of a declared fact `declared.NAME`.
    pub key: String,
    /// Name in words.
    pub name: String,
    /// Value in words: `12`, `incomplete`, `not known`, `not on this vehicle`.
    pub value: String,
    /// Fact and value in one phrase, `lamp commanded on`, `catalyst is incomplete`.
    pub phrase: String,
    /// Whether the value is presumed by the program and not read.
    pub presumed: bool,
}

/// What is said of a fact that is not known.
pub(super) const NOT_KNOWN: &str = "not known";
const NOT_ON_VEHICLE: &str = "not on this vehicle";

/// Path in the snapshot document.
pub(super) fn key(flat: &Flat, fact: &FactRef<usize>) -> String {
    match fact {
        FactRef::Known(fact) => key_of(*fact),
        FactRef::Declared(place) => {
            format!("declared.{}", flat.facts.get(*place).map_or("", |fact| fact.name.as_str()))
        }
    }
}

/// Name in words.
pub(super) fn name(flat: &Flat, fact: &FactRef<usize>) -> String {
    match fact {
        FactRef::Known(fact) => spec(*fact).name.to_owned(),
        FactRef::Declared(place) => flat.facts.get(*place).map_or(String::new(), |fact| fact.name.clone()),
    }
}

/// The unit of a number; `One` for anything else.
pub(super) fn unit(flat: &Flat, fact: &FactRef<usize>) -> Unit {
    match fact {
        FactRef::Known(fact) => match spec(*fact).kind {
            FactType::Number { unit, .. } => unit,
            _ => Unit::One,
        },
        FactRef::Declared(place) => match flat.facts.get(*place).map(|fact| &fact.kind) {
            Some(DeclaredType::Number { unit, .. }) => *unit,
            _ => Unit::One,
        },
    }
}

/// Whether the fact is a date.
pub(super) fn is_date(fact: &FactRef<usize>) -> bool {
    matches!(fact, FactRef::Known(fact) if spec(*fact).kind == FactType::Date)
}

/// A fact with what is known of it.
pub(super) fn fact(flat: &Flat, given: &Given, asked: &FactRef<usize>) -> FactShown {
    let presumed = given
        .presumed
        .iter()
        .any(|place| flat.presumptions.get(*place).is_some_and(|presumption| presumption.fact == *asked));
    with_value(flat, asked, given.possible(asked), presumed)
}

/// A fact with a value.
pub(super) fn with_value(
    flat: &Flat,
    asked: &FactRef<usize>,
    possible: Option<&Possible>,
    presumed: bool,
) -> FactShown {
    let name = name(flat, asked);
    let value = possible.map_or(NOT_KNOWN.to_owned(), |possible| value(flat, asked, possible));
    let phrase = phrase(asked, &name, &value);
    FactShown { key: key(flat, asked), name, value, phrase, presumed }
}

fn phrase(asked: &FactRef<usize>, name: &str, value: &str) -> String {
    if value == NOT_KNOWN || value == NOT_ON_VEHICLE {
        return format!("{name} {value}");
    }
    let FactRef::Known(fact) = asked else {
        return format!("{name} is {value}");
    };
    match (spec(*fact).kind, value) {
        (FactType::YesNo { yes, .. }, "yes") => yes.to_owned(),
        (FactType::YesNo { no, .. }, "no") => no.to_owned(),
        (FactType::Codes, "none") => format!("no {name}"),
        (FactType::Codes, _) => format!("{name}s {value}"),
        (FactType::Monitors, _) => format!("{name}: {value}"),
        (FactType::Text, _) => format!("{name} is {value:?}"),
        (FactType::Number { .. } | FactType::Date, _) => format!("{name} {value}"),
        (FactType::YesNo { .. } | FactType::Words(_), _) => format!("{name} is {value}"),
    }
}

/// What is known of a value, in words.
pub(super) fn value(flat: &Flat, asked: &FactRef<usize>, possible: &Possible) -> String {
    match possible {
        Possible::Words(mask) => words(flat, asked, *mask),
        Possible::Number(span) if span.has_no_value() => NOT_ON_VEHICLE.to_owned(),
        Possible::Number(span) if span.least == span.most && !span.may_be_absent => number(flat, asked, span.least),
        Possible::Number(_) | Possible::Text(None) => NOT_KNOWN.to_owned(),
        Possible::Text(Some(text)) if *asked == FactRef::Known(Fact::Area) => flat.areas.shown(text).to_owned(),
        Possible::Text(Some(text)) => text.clone(),
        Possible::Monitors { surely, perhaps } if surely == perhaps => monitors(*surely),
        Possible::Monitors { .. } => NOT_KNOWN.to_owned(),
        Possible::Codes { may_be_present: false, .. } => NOT_ON_VEHICLE.to_owned(),
        Possible::Codes { list: None, .. } => NOT_KNOWN.to_owned(),
        Possible::Codes { list: Some(list), .. } => codes(list),
    }
}

/// A number or a day in words.
pub(super) fn number(flat: &Flat, asked: &FactRef<usize>, base: i64) -> String {
    if is_date(asked) {
        return date_of(base).map_or(String::new(), |date| date.to_string());
    }
    unit(flat, asked).show(base)
}

fn words(flat: &Flat, asked: &FactRef<usize>, mask: u64) -> String {
    let (known, all): (Vec<&str>, u64) = match asked {
        FactRef::Known(fact) => {
            let absent = if spec(*fact).may_be_absent { ABSENT } else { 0 };
            (fact.words().to_vec(), fact.all_words() | absent)
        }
        FactRef::Declared(place) => {
            let words = flat.facts.get(*place).map_or(Vec::new(), |fact| fact.kind.words());
            let count = u32::try_from(words.len()).unwrap_or(62).min(62);
            (words, (1u64 << count) - 1)
        }
    };
    if mask == all && all.count_ones() != 1 {
        return NOT_KNOWN.to_owned();
    }
    let mut list: Vec<&str> =
        known.iter().enumerate().filter(|(place, _)| mask >> place & 1 == 1).map(|(_, word)| *word).collect();
    if mask & ABSENT != 0 {
        list.push(NOT_ON_VEHICLE);
    }
    list.join(" or ")
}

/// Names of monitors.
pub(super) fn monitors(set: MonitorSet) -> String {
    if set.is_empty() {
        return "none".to_owned();
    }
    set.iter().map(|monitor| monitor.name()).collect::<Vec<_>>().join(", ")
}

fn codes(list: &CodeList) -> String {
    let read = list.codes.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
    match (list.codes.is_empty(), list.may_hold_more) {
        (true, false) => "none".to_owned(),
        (false, false) => read,
        (true, true) => "none read, perhaps others".to_owned(),
        (false, true) => format!("{read}, perhaps others"),
    }
}

/// What a line turns on, in words.
pub(super) fn cause(flat: &Flat, given: &Given, cause: &Cause) -> String {
    match cause {
        Cause::Fact(asked) => fact(flat, given, asked).phrase,
        Cause::Question(place) => {
            format!("open question `{}`", flat.questions.get(*place).map_or("", |question| question.id.as_str()))
        }
        Cause::LimitNotRead { limit, .. } => {
            let id = flat.limits.get(*limit).map_or("", |limit| limit.id.as_str());
            format!("the text of the limit `{id}` was not seen")
        }
        Cause::GroupNotRead(place) => {
            let id = flat.groups.get(*place).map_or("", |(id, _)| id.as_str());
            format!("the text of a part of the code group `{id}` was not seen")
        }
    }
}

/// The facts among causes.
pub(super) fn facts_among<'a>(causes: impl IntoIterator<Item = &'a Cause>) -> Vec<FactRef<usize>> {
    causes
        .into_iter()
        .filter_map(|cause| match cause {
            Cause::Fact(fact) => Some(fact.clone()),
            _ => None,
        })
        .collect()
}

/// A yes/no or words fact's sound value as its bit, where the table gives one.
pub(super) fn sound_bit(fact: Fact) -> Option<u64> {
    fact.word_bit(spec(fact).sound?)
}
