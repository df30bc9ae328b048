//! What may be asked beside the snapshot: dates of the law, readings and options to assume.

use super::Error;
use crate::document::parse_date;
use crate::model::Date;
use crate::program::{Class, Under};
use crate::record;
use crate::ruling::Follows;
use serde::ser::SerializeMap;
use std::collections::BTreeMap;

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Form {
    as_of: Option<String>,
    known_on: Option<String>,
    #[serde(default)]
    takes: BTreeMap<String, String>,
    #[serde(default)]
    proof: bool,
    recorded: Option<String>,
}

/// What is asked of a program beside the snapshot.
///
/// ```
/// let request = wherefore::Request::new().as_of(wherefore::Date::constant(2024, 3, 1)).with_proof();
/// # let _ = request;
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Request {
    pub(super) inner: record::Request,
}

impl Request {
    /// Nothing asked beside: the law of the visit's date, everything published since, questions as the file takes them.
    #[must_use]
    pub fn new() -> Request {
        Request::default()
    }

    /// The law of this date, whatever the date of the visit is.
    #[must_use]
    pub fn as_of(mut self, date: Date) -> Request {
        self.inner.as_of = Some(date);
        self
    }

    /// The law as it had been published by this date.
    #[must_use]
    pub fn known_on(mut self, date: Date) -> Request {
        self.inner.known_on = Some(date);
        self
    }

    /// Takes a reading of a question, or a value of an option. A name that the program does not have is passed over; a
    /// reading or value it does not have is an error of the ruling.
    #[must_use]
    pub fn take(mut self, question: &str, reading: &str) -> Request {
        self.inner.takes.push(Under { name: question.to_owned(), value: reading.to_owned() });
        self
    }

    /// Reads a request: an object with some of `as_of`, `known_on` (dates), `takes` (an object from question or option to
    /// reading or value), `proof` (true or false) and `recorded` (the class of a result).
    ///
    /// # Errors
    /// [`Error::Ruling`] with what is wrong: no JSON, another key, no date.
    pub fn from_json(text: &str) -> Result<Request, Error> {
        let refuse = |reason: String| Error::Ruling { reason: format!("request: {reason}") };
        let read: Form = serde_json::from_str(text).map_err(|error| refuse(error.to_string()))?;
        let date = |key: &str, text: Option<&String>| -> Result<Option<Date>, Error> {
            let read = |text: &String| parse_date(text).ok_or_else(|| refuse(format!("{key}: \"{text}\" is no date")));
            text.map(read).transpose()
        };
        let mut request = Request::new();
        request.inner.as_of = date("as_of", read.as_of.as_ref())?;
        request.inner.known_on = date("known_on", read.known_on.as_ref())?;
        request.inner.certificate = read.proof;
        if let Some(word) = &read.recorded {
            let known = Follows::RESULTS.into_iter().find(|class| class.word() == word);
            let words = Follows::RESULTS.map(Class::word).join(", ");
            let fault = || refuse(format!("recorded: \"{word}\" is none of {words}"));
            request.inner.recorded = Some(known.ok_or_else(fault)?);
        }
        Ok(read.takes.iter().fold(request, |request, (name, value)| request.take(name, value)))
    }

    /// Holds the result that a station recorded against the ruling: [`Class::Pass`], [`Class::Conditional`],
    /// [`Class::OtherTest`], [`Class::Reject`], [`Class::Fail`] or [`Class::NotSubject`]. The ruling's JSON then tells under
    /// `recorded` whether it follows, by which clauses, or what to ask at the station.
    #[must_use]
    pub fn recorded(mut self, result: Class) -> Request {
        self.inner.recorded = Follows::RESULTS.contains(&result).then_some(result);
        self
    }

    /// Asks for a proof beside a decided ruling, which the command `replay` and the library check without the engines.
    #[must_use]
    pub fn with_proof(mut self) -> Request {
        self.inner.certificate = true;
        self
    }
}

/// As `as_of`, `known_on`, `proof`, `recorded` and `takes`, those that are asked for, in the words that [`Request::from_json`] reads.
impl serde::Serialize for Request {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        if let Some(date) = self.inner.as_of {
            map.serialize_entry("as_of", &date.to_string())?;
        }
        if let Some(date) = self.inner.known_on {
            map.serialize_entry("known_on", &date.to_string())?;
        }
        if self.inner.certificate {
            map.serialize_entry("proof", &true)?;
        }
        if let Some(class) = self.inner.recorded {
            map.serialize_entry("recorded", class.word())?;
        }
        if !self.inner.takes.is_empty() {
            let takes = self.inner.takes.iter().map(|take| (take.name.as_str(), take.value.as_str()));
            map.serialize_entry("takes", &takes.collect::<BTreeMap<&str, &str>>())?;
        }
        map.end()
    }
}
