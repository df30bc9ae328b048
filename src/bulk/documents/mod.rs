//! Snapshot documents one at a time, for a host that is handed JSON text: from the text to the verdict in one pass, by the
//! law of the document's own test date. The text is read to places ([`read`]) without a tree, and from there becomes a row
//! ([`super::RowEngine`]). A document that is not plain, and every one of a program that is not taken, is read by
//! [`crate::document`] and answered by the interpreter or, where that leaves something open, by the diagrams: no answer is
//! ever less than theirs.
//!
//! What documents pass through (`from`, `quality`, identity, this driving cycle) is not looked at here, not even for
//! faults. Texts, law and reasons in words are [`crate::ruling`]'s.

mod keys;
mod read;
mod ready;

use super::engine::Engine;
use super::exact::{Answer, Rules};
use super::judged::RowError;
use super::rows::{Row, RowResult};
use crate::document::{self, Fault};
use crate::evaluate;
use crate::model::day_number;
use crate::program::{FactRef, Flat, Given, GivenError, Verdict};
use keys::Keys;
use read::Places;
use ready::{Judged, Ready};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, PoisonError, RwLock};

/// Bits for keys: so many keys at most can be told apart.
const BITS: usize = 512;

/// Reads and judges snapshot documents; shared by threads as it is.
///
/// ```
/// use wherefore::internals::bulk::{Documents, Engine, Options, Room};
/// use wherefore::internals::catalog::{BuiltIn, Catalog};
///
/// let built_in = BuiltIn;
/// let entry = Catalog::new(vec![&built_in]).find("us-model")?;
/// let program = entry.program.as_ref().ok_or("the program has errors")?;
/// let documents = Documents::new(Engine::new(program, Options::default())?);
///
/// // One room for each thread, kept from document to document.
/// let mut room = Room::default();
/// let told = documents.judge(include_str!("../../../examples/larkspur/van-7.json"), &mut room)?;
/// let verdict = told.verdict().ok_or("more than one verdict is possible")?;
/// assert_eq!(verdict.name(told.rules().flat()), "pass");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug)]
pub struct Documents {
    engine: Engine,
    keys: Keys,
    /// By the first day of each run of days.
    ready: RwLock<BTreeMap<i64, Arc<Ready>>>,
}

/// What reading needs room for. One for each thread; it remembers how the document before was written.
#[derive(Debug, Default)]
pub struct Room {
    places: Places,
    now: Option<Now>,
}

/// The flat program of some days.
#[derive(Debug)]
struct Now {
    /// Which documents it is of.
    of: usize,
    from: i64,
    through: i64,
    ready: Arc<Ready>,
    row: Option<Row>,
}

/// Why a document cannot be judged.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum DocumentError {
    /// What is wrong with the document, all of it.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Faults(Vec<Fault>),
    /// What it says cannot be judged.
    #[error(transparent)]
    Row(#[from] RowError),
    /// A declared fact has a value that the program does not take.
    #[error(transparent)]
    Given(GivenError),
}

/// What follows for a document.
#[derive(Debug)]
pub struct Told<'r> {
    rules: &'r Rules,
    ruled: Ruled,
}

/// How it was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ruled {
    /// One verdict follows, and all that decide are known: the lines that stand, and as a mask those that decide.
    Settled(RowResult, u128),
    /// Something is not known, or the document had to be read by the other reader: the exact set.
    Exact(Answer),
}

impl Told<'_> {
    /// The flat program that judged it.
    #[must_use]
    pub fn rules(&self) -> &Rules {
        self.rules
    }

    /// How it was found.
    #[must_use]
    pub fn ruled(&self) -> &Ruled {
        &self.ruled
    }

    /// The verdict; `None` where more than one is possible.
    #[must_use]
    pub fn verdict(&self) -> Option<Verdict> {
        match &self.ruled {
            Ruled::Settled(found, _) => found.verdict(),
            Ruled::Exact(answer) if answer.possible.len() == 1 => answer.possible.first().copied(),
            Ruled::Exact(_) => None,
        }
    }
}

impl Documents {
    /// Documents for a program.
    #[must_use]
    pub fn new(engine: Engine) -> Documents {
        let keys = Keys::of(&engine.program().facts);
        Documents { engine, keys, ready: RwLock::default() }
    }

    /// The engine that picks the flat program of a date.
    #[must_use]
    pub fn engine(&self) -> &Engine {
        &self.engine
    }

    /// Reads a document and judges it by the law of its own test date.
    ///
    /// # Errors
    /// With every fault of the document; where its test date is not known; where its readings contradict each other.
    pub fn judge<'r>(&self, text: &str, room: &'r mut Room) -> Result<Told<'r>, DocumentError> {
        if self.read(text, room)
            && let Some(day) = room.places.day
        {
            self.turn_to(day, room)?;
            let judged = room.now.as_mut().and_then(|now| now.ready.judge(&room.places, now.row.as_mut()?));
            match judged {
                Some(Judged::Settled(found, deciding)) => return told(room, Ruled::Settled(found, deciding)),
                Some(Judged::Exact(answer)) => return told(room, Ruled::Exact(Answer::clone(&answer))),
                Some(Judged::Failed(error)) => return Err(error.into()),
                None => {}
            }
        }
        self.anew(text, room)
    }

    /// Reads a document and does not judge it: whether it could be read in one pass. For people who measure.
    pub fn read(&self, text: &str, room: &mut Room) -> bool {
        self.keys.keys.len() < BITS && room.places.read(&self.keys, text)
    }

    /// By the reader that knows every fault, and the diagrams.
    fn anew<'r>(&self, text: &str, room: &'r mut Room) -> Result<Told<'r>, DocumentError> {
        let document = document::read(text.as_bytes()).map_err(DocumentError::Faults)?;
        let day = document.snapshot.test_date().map(day_number).ok_or(RowError::NoTestDate)?;
        self.turn_to(day, room)?;
        let Some(now) = &room.now else { return Err(RowError::TestDateOutOfRange.into()) };
        let rules = now.ready.rules();
        let given = Given::of(rules.flat(), &document.snapshot).map_err(|error| match error {
            GivenError::Contradiction(found) => DocumentError::Row(RowError::Contradiction(found)),
            other => DocumentError::Given(other),
        })?;
        let answer = match by_interpreter(rules.flat(), &given) {
            Some(answer) => answer,
            None => rules.answer(&given)?,
        };
        told(room, Ruled::Exact(answer))
    }

    /// Turns to the flat program of a day.
    fn turn_to(&self, day: i64, room: &mut Room) -> Result<(), RowError> {
        let mine = std::ptr::from_ref(self).addr();
        if room.now.as_ref().is_some_and(|now| now.of == mine && now.from <= day && day <= now.through) {
            return Ok(());
        }
        let run = self.engine.run_of(day)?;
        let known = self.ready.read().unwrap_or_else(PoisonError::into_inner).get(&run.from).map(Arc::clone);
        let ready = known.unwrap_or_else(|| {
            let ready = Arc::new(Ready::of(&run.rules, &self.keys));
            self.ready.write().unwrap_or_else(PoisonError::into_inner).insert(run.from, Arc::clone(&ready));
            ready
        });
        let row = ready.row();
        room.now = Some(Now { of: mine, from: run.from, through: run.through, ready, row });
        Ok(())
    }
}

/// The answer where the interpreter leaves nothing open: one verdict, and of every line whether it decides. It is quicker
/// than the diagrams, and as exact there.
fn by_interpreter(flat: &Flat, given: &Given) -> Option<Answer> {
    let evaluation = evaluate::interpret(flat, given);
    let verdict = evaluation.possible.single()?;
    let lines = || flat.lines.iter().zip(&evaluation.lines).enumerate();
    let sure = lines().filter(|(_, (_, record))| record.live.is_true()).map(|(_, (line, _))| line.outcome).max();
    if lines().any(|(_, (line, record))| record.live.is_unknown() && line.outcome >= sure.unwrap_or(0)) {
        return None;
    }
    let deciding = lines().filter(|(_, (line, record))| record.live.is_true() && Some(line.outcome) == sure);
    Some(Answer {
        possible: BTreeSet::from([verdict]),
        deciding: deciding.map(|(place, _)| place).collect(),
        alternatives: Arc::default(),
    })
}

fn told(room: &Room, ruled: Ruled) -> Result<Told<'_>, DocumentError> {
    match &room.now {
        Some(now) => Ok(Told { rules: now.ready.rules(), ruled }),
        None => Err(RowError::TestDateOutOfRange.into()),
    }
}

/// The place of a fact.
fn place_of(keys: &Keys, fact: &FactRef<String>) -> Option<usize> {
    keys.facts.iter().position(|known| known == fact)
}
