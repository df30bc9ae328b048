//! What may be asked beside the snapshot: dates of the law, readings and options to assume.

use crate::model::Date;
use crate::program::Under;
use crate::report::rule;

/// What is asked of a program beside the snapshot.
///
/// ```
/// let request = wherefore::Request::new().as_of(wherefore::Date::constant(2024, 3, 1)).with_proof();
/// # let _ = request;
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Request {
    pub(super) inner: rule::Request,
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

    /// Asks for a proof beside a decided ruling, which the command `replay` and the library check without the engines.
    #[must_use]
    pub fn with_proof(mut self) -> Request {
        self.inner.certificate = true;
        self
    }
}
