//! Vehicles with the rulings expected of them, for every host and for implementations by others: the worked cases of a
//! program file, and the vectors that are calculated for it.

use super::{Error, Programs, Request, Snapshot};
use crate::analysis::cases::suite;
use crate::catalog::Catalog;
use crate::document::Document;
use crate::model::{Date, Fact, Value};
use crate::program;
use crate::program::Under;
use crate::record;
use serde_json::json;

/// The format that every line names.
pub const CONFORMANCE: &str = "wherefore-conformance/1";

/// Which vehicles are wanted.
///
/// ```
/// use wherefore::{Programs, Vehicles};
/// let lines = Programs::built_in().conformance("us-il", Vehicles::Worked)?;
/// assert!(lines.lines().all(|line| line.contains(wherefore::CONFORMANCE)));
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Vehicles {
    /// Those of the worked cases in the program's file.
    Worked,
    /// Those too that are calculated: a set that tells the program from each that differs from it in one place.
    All,
}

/// A vehicle with what is asked about it.
///
/// ```
/// use wherefore::{Programs, Vehicles};
/// for case in Programs::built_in().cases("us-il", Vehicles::Worked)? {
///     assert!(!case.name.is_empty());
/// }
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Case {
    /// Its name: the worked case's, or `vector` with the date and its number.
    pub name: String,
    /// The vehicle of the case.
    pub snapshot: Snapshot,
    /// What is asked beside it.
    pub request: Request,
}

impl Programs {
    /// The vehicles of a program.
    ///
    /// # Errors
    /// As for [`Programs::get`]; [`Error::Ruling`] where vectors are asked for and a diagram outgrows its budget.
    pub fn cases(&self, id: &str, vehicles: Vehicles) -> Result<Vec<Case>, Error> {
        let program = self.get(id)?;
        // Programs for rulings are read without their worked cases.
        let entry =
            Catalog::new(self.shelves()).find(id).map_err(|error| Error::Ruling { reason: error.to_string() })?;
        let whole = entry.program.as_deref().unwrap_or(program.program());
        let mut cases: Vec<Case> = whole.cases.iter().map(worked).collect();
        if vehicles == Vehicles::All {
            cases.extend(vectors(whole)?);
        }
        Ok(cases)
    }

    /// The vehicles of a program with its rulings, a line of JSON each (`wherefore-conformance/1`): the program, the name of
    /// the case, the request, the snapshot, and as a text the ruling that is expected, byte by byte.
    ///
    /// # Errors
    /// As for [`Programs::cases`] and [`super::Program::judge_with`].
    pub fn conformance(&self, id: &str, vehicles: Vehicles) -> Result<String, Error> {
        let program = self.get(id)?;
        let mut lines = String::new();
        for case in self.cases(id, vehicles)? {
            let ruling = program.judge_with(&case.snapshot, &case.request)?.to_json();
            let line = json!({
                "format": CONFORMANCE,
                "program": id,
                "case": case.name,
                "request": case.request,
                "snapshot": case.snapshot,
                "ruling": ruling,
            });
            lines.push_str(&line.to_string());
            lines.push('\n');
        }
        Ok(lines)
    }
}

fn worked(case: &program::block::Case) -> Case {
    let document = Document { snapshot: case.facts.clone(), extra: Vec::new() };
    let inner = record::Request { known_on: case.known_on, takes: case.takes.clone(), ..record::Request::default() };
    Case { name: case.title.clone(), snapshot: Snapshot { document }, request: Request { inner } }
}

fn vectors(program: &program::Program) -> Result<Vec<Case>, Error> {
    let suite = suite(program).map_err(|error| Error::Ruling { reason: format!("{}: {error}", program.id) })?;
    let of = |from: Date, at: usize, vector: &crate::analysis::cases::Vector| {
        let mut snapshot = vector.example.snapshot.clone();
        if snapshot.test_date().is_none() {
            snapshot.set(Fact::TestDate, Value::Date(vector.day));
        }
        let takes = vector.example.readings.iter();
        let takes = takes.map(|(name, value)| Under { name: name.clone(), value: value.clone() }).collect();
        Case {
            name: format!("vector {from} {at}"),
            snapshot: Snapshot { document: Document { snapshot, extra: Vec::new() } },
            request: Request { inner: record::Request { takes, ..record::Request::default() } },
        }
    };
    let parts = suite.parts.iter();
    Ok(parts
        .flat_map(|part| (1..).zip(&part.set.vectors).map(move |(at, vector)| of(part.epoch.from, at, vector)))
        .collect())
}
