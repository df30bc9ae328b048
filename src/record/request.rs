//! A record of a ruling, made of a program, a document and what was asked. `judge` and `replay` both make it here, so that
//! what was recorded is judged again in the same way.

use super::ready::Law;
use super::{Record, digest};
use crate::document::Document;
use crate::model::Date;
use crate::program::{Class, Flat, Program, Selection, SelectionError, Under, select};
use crate::ruling::{certificate, prospect};
use std::collections::BTreeMap;
use std::fmt::Display;
use std::sync::Arc;

/// What is asked.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Request {
    /// Date whose law applies; `None`: the date of the visit.
    pub as_of: Option<Date>,
    /// Law as it had been published by this date.
    pub known_on: Option<Date>,
    /// Readings and options to take; those that the program does not have are left out.
    pub takes: Vec<Under>,
    /// Whether the ruling is to carry a proof.
    pub certificate: bool,
    /// The result that a station recorded, to be held against the ruling.
    pub recorded: Option<Class>,
    /// Whether only verdict, grounds and questions are wanted (one line of a table).
    pub brief: bool,
}

/// The names that a request may take of a program: its questions and options.
pub fn names_to_take(program: &Program) -> impl Iterator<Item = &str> {
    let questions = program.questions.iter().map(|question| question.id.as_str());
    questions.chain(program.options.iter().map(|option| option.id.as_str()))
}

/// What a document and a request select by.
pub(super) fn selection(program: &Program, document: &Document, request: &Request) -> Result<Selection, String> {
    let visit = document.snapshot.test_date();
    let Some(as_of) = request.as_of.or(visit) else {
        return Err("no date to choose the law by; give --as-of DATE, or visit.date in the snapshot".to_owned());
    };
    Ok(Selection {
        as_of,
        test_date: visit.unwrap_or(as_of),
        known_on: request.known_on,
        takes: takes(program, request),
        drafts: false,
        change: None,
    })
}

/// The flat program of a selection.
pub(super) fn selected(program: &Program, selection: &Selection) -> Result<Flat, String> {
    select(program, selection).map_err(|error| match &error {
        SelectionError::NoSuchValue { known, .. } => format!("{error}; there are: {}", known.join(", ")),
        SelectionError::NoSuchName { .. } => error.to_string(),
    })
}

/// The flat program that a document and a request select.
///
/// # Errors
/// With a sentence: no date, or a reading or value there is not.
pub fn flat(program: &Program, document: &Document, request: &Request) -> Result<Flat, String> {
    selected(program, &selection(program, document, request)?)
}

/// The readings and options of a request that the program has.
#[must_use]
pub fn takes(program: &Program, request: &Request) -> Vec<Under> {
    let has = |take: &&Under| names_to_take(program).any(|known| known == take.name);
    request.takes.iter().filter(has).cloned().collect()
}

impl Record {
    /// Rules on a document.
    ///
    /// # Errors
    /// With a sentence: no date, a reading or value there is not, readings that contradict each other.
    pub fn of(
        program: &Program,
        texts: &BTreeMap<String, String>,
        document: &Document,
        request: &Request,
    ) -> Result<Record, String> {
        let law = Law::of(program, &selection(program, document, request)?, &Arc::default())?;
        made(program, &law, || digest::of_each(texts), document, request)
    }
}

/// A record by the law as selected; `files` tells the digests of the program's texts.
pub(super) fn made(
    program: &Program,
    law: &Law,
    files: impl FnOnce() -> BTreeMap<String, String>,
    document: &Document,
    request: &Request,
) -> Result<Record, String> {
    let named = |error: &dyn Display| format!("{}: {error}", program.id);
    let (flat, snapshot) = (law.prepared.flat(), &document.snapshot);
    let ruled = match request.brief {
        true => law.prepared.judge_briefly(program, snapshot),
        false => law.prepared.judge(program, snapshot),
    };
    let ruling = ruled.map_err(|error| named(&error))?;
    let certificate = match request.certificate && ruling.possible.len() == 1 {
        true => certificate(flat, snapshot).map_err(|error| named(&error))?,
        false => None,
    };
    // A line of a table carries no digests.
    let (files, digest) = match request.brief {
        true => (BTreeMap::new(), String::new()),
        false => (files(), law.digest().to_owned()),
    };
    let prospect = prospect(flat, program, snapshot, &ruling, Class::Pass).map_err(|error| named(&error))?;
    Ok(Record {
        ruling,
        document: document.clone(),
        files,
        law: digest,
        takes: takes(program, request),
        certificate,
        prospect,
        recorded: request.recorded,
    })
}
