//! The text of a snapshot document to places, in one pass and without a tree. Whatever is not plain (a fault, a number that
//! is not on the vehicle) makes the document *odd*: it is then read anew by [`crate::document`], which says everything that
//! is wrong with it.

use super::keys::{EMPTY, Keys, NO_LIST, SOME, Target};
use crate::document::{FORMAT, MAX_TEXT, parse_date};
use crate::evaluate::States;
use crate::model::facts::ABSENT;
use crate::model::{TroubleCode, day_number};
use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::fmt;

/// What a document says, in places.
#[derive(Debug, Default)]
pub(super) struct Places {
    pub(super) values: Vec<i64>,
    /// The places that the document says something of, texts apart.
    pub(super) told: Vec<usize>,
    pub(super) monitors: States,
    pub(super) day: Option<i64>,
    /// Texts one after the other, with the place that each is of.
    texts: String,
    text_places: Vec<(usize, usize)>,
    /// Codes, with the place of the list that each is of.
    codes: Vec<(usize, TroubleCode)>,
    has_format: bool,
    odd: bool,
    seen: [u64; super::BITS / 64],
    /// The keys in the order in which the document before had them: most documents of a host are alike.
    order: Vec<usize>,
    step: usize,
}

impl Places {
    /// Reads a document; `false` where it is odd.
    pub(super) fn read(&mut self, keys: &Keys, text: &str) -> bool {
        self.values.clear();
        self.values.extend_from_slice(&keys.blank);
        self.told.clear();
        self.monitors = States::default();
        self.day = None;
        self.texts.clear();
        self.text_places.clear();
        self.codes.clear();
        (self.has_format, self.odd, self.step) = (false, text.len() > crate::document::MAX_DOCUMENT_BYTES, 0);
        self.seen = [0; super::BITS / 64];
        let mut reader = serde_json::Deserializer::from_str(text);
        let read = Object { keys, places: self, object: 0 }.deserialize(&mut reader).and_then(|()| reader.end());
        let told = self.monitors.unsupported | self.monitors.complete | self.monitors.incomplete;
        self.monitors.unsupported |= !told;
        self.monitors.complete |= !told;
        self.monitors.incomplete |= !told;
        read.is_ok() && self.has_format && !self.odd
    }

    /// The texts, with the place that each is of.
    pub(super) fn texts(&self) -> impl Iterator<Item = (usize, &str)> {
        let mut from = 0;
        self.text_places.iter().filter_map(move |(place, end)| {
            let text = self.texts.get(from..*end);
            from = *end;
            Some((*place, text?))
        })
    }

    /// The codes of the list at a place.
    pub(super) fn codes(&self, place: usize) -> impl Iterator<Item = TroubleCode> + '_ {
        self.codes.iter().filter(move |(known, _)| *known == place).map(|(_, code)| *code)
    }

    fn put(&mut self, place: usize, value: i64) {
        if let Some(slot) = self.values.get_mut(place) {
            *slot = value;
            self.told.push(place);
        }
    }
}

/// An object of the document.
struct Object<'r> {
    keys: &'r Keys,
    places: &'r mut Places,
    object: usize,
}

impl<'de> DeserializeSeed<'de> for Object<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for Object<'_> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object")
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let Object { keys, places, object } = self;
        while let Some(found) = map.next_key_seed(Name { keys, places, object })? {
            let Some(key) = found.and_then(|found| keys.keys.get(found)) else {
                places.odd = true;
                map.next_value::<IgnoredAny>()?;
                continue;
            };
            let (word, bit) = (key.bit / 64, 1u64 << (key.bit % 64));
            if let Some(seen) = places.seen.get_mut(word) {
                places.odd |= *seen & bit != 0;
                *seen |= bit;
            }
            match key.target {
                Target::Passed => {
                    map.next_value::<IgnoredAny>()?;
                }
                // An object that is null, or is none, is read by the other reader.
                Target::Object(object) => map.next_value_seed(Object { keys, places, object })?,
                target => map.next_value_seed(Cell { keys, places, target })?,
            }
        }
        Ok(())
    }
}

/// A key.
struct Name<'r> {
    keys: &'r Keys,
    places: &'r mut Places,
    object: usize,
}

impl<'de> DeserializeSeed<'de> for Name<'_> {
    type Value = Option<usize>;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Option<usize>, D::Error> {
        deserializer.deserialize_str(self)
    }
}

impl Visitor<'_> for Name<'_> {
    type Value = Option<usize>;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a key")
    }
    #[inline]
    fn visit_str<E>(self, name: &str) -> Result<Option<usize>, E> {
        let step = self.places.step;
        self.places.step += 1;
        if let Some(found) = self.places.order.get(step)
            && let Some(key) = self.keys.keys.get(*found)
            && key.object == self.object
            && key.name == name
        {
            return Ok(Some(*found));
        }
        let found = self.keys.find(self.object, name);
        if let Some(found) = found {
            if self.places.order.len() <= step {
                self.places.order.resize(step + 1, 0);
            }
            if let Some(slot) = self.places.order.get_mut(step) {
                *slot = found;
            }
        }
        Ok(found)
    }
}

/// A value.
struct Cell<'r> {
    keys: &'r Keys,
    places: &'r mut Places,
    target: Target,
}

impl Cell<'_> {
    fn set_odd(self) {
        self.places.odd = true;
    }

    fn number(self, number: i64) {
        let Target::Number(place, scale, least, most) = self.target else { return self.set_odd() };
        match number.checked_mul(scale) {
            Some(base) if (least..=most).contains(&base) => self.places.put(place, base),
            _ => self.set_odd(),
        }
    }

    fn text(self, text: &str) {
        let bit = |place: usize| u32::try_from(place).ok().and_then(|place| 1i64.checked_shl(place)).unwrap_or(0);
        match self.target {
            Target::Word(place, words, may_be_absent) => match words.iter().position(|word| *word == text) {
                Some(word) => self.places.put(place, bit(word)),
                None => self.absent(place, may_be_absent, text, ABSENT.cast_signed()),
            },
            Target::Monitor(bit) => {
                let monitors = &mut self.places.monitors;
                match text {
                    "complete" => monitors.complete |= bit,
                    "unsupported" => monitors.unsupported |= bit,
                    "incomplete" => monitors.incomplete |= bit,
                    _ => self.set_odd(),
                }
            }
            Target::YesNo(place, may_be_absent) => self.absent(place, may_be_absent, text, ABSENT.cast_signed()),
            Target::Codes(place, may_be_absent) => self.absent(place, may_be_absent, text, NO_LIST),
            Target::Communication(place) if text == "unsupported-protocol" => self.places.put(place, 1 << 2),
            Target::Format if text == FORMAT => self.places.has_format = true,
            Target::TestDate => match parse_date(text).filter(|date| (1900..=2199).contains(&date.year())) {
                Some(date) => self.places.day = Some(day_number(date)),
                None => self.set_odd(),
            },
            Target::Date(place) => match parse_date(text).filter(|date| (1900..=2199).contains(&date.year())) {
                Some(date) => self.places.put(place, day_number(date)),
                None => self.set_odd(),
            },
            Target::Text(place) if !text.trim().is_empty() && text.len() <= MAX_TEXT => {
                self.places.texts.push_str(text);
                let end = self.places.texts.len();
                self.places.text_places.push((place, end));
            }
            Target::Own(place, words) => {
                let words = self.keys.own_words.get(words);
                match words.and_then(|words| words.iter().position(|word| word == text)) {
                    Some(word) => self.places.put(place, bit(word)),
                    None => self.set_odd(),
                }
            }
            _ => self.set_odd(),
        }
    }

    fn absent(self, place: usize, may_be_absent: bool, text: &str, value: i64) {
        if may_be_absent && text == "not-on-vehicle" {
            self.places.put(place, value);
        } else {
            self.set_odd();
        }
    }
}

impl<'de> DeserializeSeed<'de> for Cell<'_> {
    type Value = ();
    #[inline]
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Cell<'_> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }
    #[inline]
    fn visit_str<E>(self, text: &str) -> Result<(), E> {
        self.text(text);
        Ok(())
    }
    fn visit_bool<E>(self, yes: bool) -> Result<(), E> {
        let bit = 1 << i64::from(yes);
        match self.target {
            Target::YesNo(place, _) | Target::Communication(place) => self.places.put(place, bit),
            Target::Own(place, words) if self.keys.own_words.get(words).is_some_and(|words| words.len() == 2) => {
                // The words of a declared yes or no are `no` and `yes`; another fact of two words is odd.
                let is_yes_no =
                    self.keys.own_words.get(words).and_then(|words| words.first()).is_some_and(|it| it == "no");
                if is_yes_no { self.places.put(place, bit) } else { self.set_odd() }
            }
            _ => self.set_odd(),
        }
        Ok(())
    }
    fn visit_u64<E>(self, number: u64) -> Result<(), E> {
        match i64::try_from(number) {
            Ok(number) => self.number(number),
            Err(_) => self.set_odd(),
        }
        Ok(())
    }
    fn visit_i64<E>(self, number: i64) -> Result<(), E> {
        self.number(number);
        Ok(())
    }
    fn visit_f64<E>(self, _: f64) -> Result<(), E> {
        self.set_odd();
        Ok(())
    }
    fn visit_unit<E>(self) -> Result<(), E> {
        if self.target == Target::Format {
            self.set_odd();
        }
        Ok(())
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<(), A::Error> {
        let mut all_are_codes = true;
        let mut count = 0usize;
        while let Some(code) = list.next_element_seed(Code)? {
            all_are_codes &= code.is_some();
            if let (Target::Codes(place, _), Some(code)) = (self.target, code) {
                self.places.codes.push((place, code));
            }
            count += 1;
        }
        match self.target {
            Target::Codes(place, _) if all_are_codes && count < crate::document::MAX_ENTRIES => {
                self.places.put(place, if count == 0 { EMPTY } else { SOME });
            }
            Target::Monitors(place) if count == 0 => self.places.put(place, EMPTY),
            _ => self.set_odd(),
        }
        Ok(())
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        while map.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        self.set_odd();
        Ok(())
    }
}

/// An entry of a list: the trouble code that it is.
struct Code;

impl<'de> DeserializeSeed<'de> for Code {
    type Value = Option<TroubleCode>;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Option<TroubleCode>, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Code {
    type Value = Option<TroubleCode>;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a trouble code")
    }
    fn visit_str<E>(self, text: &str) -> Result<Option<TroubleCode>, E> {
        Ok(TroubleCode::parse(text))
    }
    fn visit_bool<E>(self, _: bool) -> Result<Option<TroubleCode>, E> {
        Ok(None)
    }
    fn visit_u64<E>(self, _: u64) -> Result<Option<TroubleCode>, E> {
        Ok(None)
    }
    fn visit_i64<E>(self, _: i64) -> Result<Option<TroubleCode>, E> {
        Ok(None)
    }
    fn visit_f64<E>(self, _: f64) -> Result<Option<TroubleCode>, E> {
        Ok(None)
    }
    fn visit_unit<E>(self) -> Result<Option<TroubleCode>, E> {
        Ok(None)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Option<TroubleCode>, A::Error> {
        while list.next_element::<IgnoredAny>()?.is_some() {}
        Ok(None)
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Option<TroubleCode>, A::Error> {
        while map.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        Ok(None)
    }
}
