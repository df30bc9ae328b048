//! The questions that can still matter, one by one, for a host that puts them to a person in its own way.

use super::{Error, Program, Request, Snapshot};
use crate::program::{FactRef, Flat};
use crate::record;
use crate::report::interview::{Heard, Interview};
use crate::report::questions;
use std::collections::BTreeSet;

/// One question to put to a person, with the fact it settles and what it gains.
///
/// ```
/// use wherefore::{Programs, Request};
/// # use wherefore::Snapshot;
/// # let snapshot = Snapshot::from_json(br#"{"format": "wherefore-snapshot/1", "visit": {"date": "2026-11-28"}}"#)?;
/// let questions = Programs::built_in().get("us-il")?.ask(&snapshot, &Request::new())?;
/// let question = questions.question()?.expect("much can still matter");
/// assert!(question.at_most >= 1);
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Question {
    /// Key of the fact in a snapshot document, `monitors.catalyst`.
    pub key: String,
    /// The question as a person is asked it.
    pub text: String,
    /// Who can tell: `papers`, `look`, `reader` and the other words of the vocabulary.
    pub told_by: String,
    /// What may be answered, in words.
    pub answers: String,
    /// How many questions there are at most from here on, this one included, if each is answered.
    pub at_most: usize,
}

/// Questions about one vehicle under one program, one after the other.
///
/// ```
/// use wherefore::{Programs, Request, Snapshot};
/// let program = Programs::built_in().get("us-il")?;
/// let snapshot = Snapshot::from_json(br#"{"format": "wherefore-snapshot/1", "visit": {"date": "2026-11-28"}}"#)?;
/// let mut questions = program.ask(&snapshot, &Request::new())?;
/// while let Some(question) = questions.question()? {
///     assert!(!question.text.is_empty());
///     questions.not_known()?;
/// }
/// assert_eq!(questions.snapshot(), snapshot);
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Questions {
    flat: Flat,
    known: Snapshot,
    given_up: BTreeSet<FactRef<usize>>,
}

impl Program {
    /// Begins to ask about a vehicle.
    ///
    /// # Errors
    /// [`Error::Ruling`] where no date says which law applies or a reading is taken that the program does not have.
    pub fn ask(&self, snapshot: &Snapshot, request: &Request) -> Result<Questions, Error> {
        let flat = record::flat(self.program(), &snapshot.document, &request.inner)
            .map_err(|reason| Error::Ruling { reason })?;
        Ok(Questions { flat, known: snapshot.clone(), given_up: BTreeSet::new() })
    }
}

impl Questions {
    fn interview(&self) -> Result<Interview<'_>, Error> {
        Interview::resumed(&self.flat, self.known.document.snapshot.clone(), self.given_up.clone())
            .map_err(|reason| Error::Ruling { reason })
    }

    /// The question to put; `None` where nothing that can be asked would change the answer.
    ///
    /// # Errors
    /// [`Error::Ruling`] where what is known contradicts itself or there are too many ways.
    pub fn question(&self) -> Result<Option<Question>, Error> {
        let interview = self.interview()?;
        let Some(fact) = &interview.turn().fact else { return Ok(None) };
        Ok(Some(Question {
            key: questions::key(&self.flat, fact),
            text: questions::question(&self.flat, fact),
            told_by: questions::told_by(&self.flat, fact).to_owned(),
            answers: interview.answers().unwrap_or_default(),
            at_most: interview.turn().at_most,
        }))
    }

    /// Takes the answer to the question: a word, a number, a date, or the beginning of a word.
    ///
    /// # Errors
    /// [`Error::Ruling`] where it is no answer, or cannot be with what is known; nothing is taken then.
    pub fn answer(&mut self, answer: &str) -> Result<(), Error> {
        if answer.trim() == "?" {
            return self.not_known();
        }
        // What a person at a terminal says beside answers is no answer here.
        if matches!(answer.trim(), "stop" | "why" | "help" | "back") {
            return Err(Error::Ruling { reason: format!("\"{}\" is no answer", answer.trim()) });
        }
        self.hear(answer)
    }

    /// Goes on without an answer. What the program presumes of the fact then holds.
    ///
    /// # Errors
    /// [`Error::Ruling`] where what is known contradicts itself.
    pub fn not_known(&mut self) -> Result<(), Error> {
        self.hear("?")
    }

    fn hear(&mut self, line: &str) -> Result<(), Error> {
        let mut interview = self.interview()?;
        match interview.hear(line) {
            Heard::Taken => {}
            Heard::Stop => return Err(Error::Ruling { reason: "nothing more is asked".to_owned() }),
            Heard::Again(text) => {
                let words: Vec<&str> = text.split_whitespace().collect();
                return Err(Error::Ruling { reason: words.join(" ") });
            }
        }
        let (snapshot, given_up) = (interview.snapshot().clone(), interview.given_up().clone());
        (self.known.document.snapshot, self.given_up) = (snapshot, given_up);
        Ok(())
    }

    /// What is known by now.
    #[must_use]
    pub fn snapshot(&self) -> Snapshot {
        self.known.clone()
    }
}
