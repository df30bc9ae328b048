//! Questions whose reading matters: open ones, and ones whose other readings would lead elsewhere.

use super::answers::Answers;
use super::verdict::VerdictShown;
use crate::evaluate::Bound;
use crate::model::Snapshot;
use crate::program::{Flat, Given, Program, Selection, Under, select};

/// A question that matters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuestionShown {
    /// Id.
    pub id: String,
    /// The question.
    pub text: String,
    /// The reading taken; `None`: open.
    pub taken: Option<String>,
    /// Why it is taken or left open, where the program says.
    pub why: String,
    /// The readings with what each leads to.
    pub readings: Vec<ReadingShown>,
}

/// A reading with what it leads to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingShown {
    /// Id.
    pub id: String,
    /// The possible verdicts under it.
    pub possible: Vec<VerdictShown>,
}

/// The questions that matter, for a vehicle of which these verdicts are possible.
pub(super) fn questions(
    flat: &Flat,
    program: &Program,
    given: &Given,
    snapshot: &Snapshot,
    possible: Bound,
    answers: &dyn Answers,
) -> Vec<QuestionShown> {
    let mut list = Vec::new();
    // The verdict that is left with a question open is left under each of its readings.
    let is_settled = possible.single().is_some();
    for (place, question) in flat.questions.iter().enumerate().filter(|(_, it)| it.taken.is_some() || !is_settled) {
        let mut readings = Vec::new();
        for (reading, id) in question.readings.iter().enumerate() {
            let possible = if question.taken == Some(reading) {
                Some(VerdictShown::each(flat, possible))
            } else if question.taken.is_none() {
                Some(VerdictShown::each(flat, answers.read(flat, given, (place, reading))))
            } else {
                answers.otherwise(flat, program, snapshot, (place, reading))
            };
            readings.extend(possible.map(|possible| ReadingShown { id: id.clone(), possible }));
        }
        let named = |shown: &ReadingShown| shown.possible.iter().map(|it| it.name.clone()).collect::<Vec<_>>();
        let first = readings.first().map(named);
        if readings.iter().any(|reading| Some(named(reading)) != first) {
            // The reason is the file's, and goes with the file's own choice alone.
            let why = program.questions.iter().find(|it| it.id == question.id && it.taken == question.taken);
            list.push(QuestionShown {
                id: question.id.clone(),
                text: question.text.clone(),
                taken: question.taken.and_then(|reading| question.readings.get(reading).cloned()),
                why: why.map_or(String::new(), |asked| asked.why.clone()),
                readings,
            });
        }
    }
    list
}

/// The program under another reading of a question that is taken: its blocks must be selected anew.
pub(super) fn under(flat: &Flat, program: &Program, (place, reading): (usize, usize)) -> Option<Flat> {
    let options = flat.options.iter().map(|(name, value)| Under { name: name.clone(), value: value.clone() });
    let taken = flat.questions.iter().enumerate().map(|(other, question)| {
        let taken = if other == place { Some(reading) } else { question.taken };
        // A question that stands open stays so: the file's own reading must not come back.
        let value = taken.and_then(|taken| question.readings.get(taken)).map_or("none", String::as_str);
        Under { name: question.id.clone(), value: value.to_owned() }
    });
    let selection = Selection {
        as_of: flat.as_of,
        test_date: flat.test_date,
        known_on: flat.known_on,
        takes: options.chain(taken).collect(),
        drafts: false,
        change: None,
    };
    select(program, &selection).ok()
}
