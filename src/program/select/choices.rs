//! Settles questions and options: the file's own readings and values, unless the selection takes others.

use super::{Selection, SelectionError};
use crate::program::{Condition, Program, Test, Under};

/// The word that leaves a question open.
const NONE: &str = "none";

/// What each question and option stands at.
pub(super) struct Choices<'a> {
    program: &'a Program,
    /// Reading taken, by place of the question; `None`: open.
    pub(super) readings: Vec<Option<usize>>,
    /// Value chosen, by place of the option.
    pub(super) values: Vec<usize>,
}

impl<'a> Choices<'a> {
    pub(super) fn of(program: &'a Program, selection: &Selection) -> Result<Choices<'a>, SelectionError> {
        let mut choices = Choices {
            program,
            readings: program.questions.iter().map(|question| question.taken).collect(),
            values: program.options.iter().map(|option| option.chosen).collect(),
        };
        for take in &selection.takes {
            choices.take(take)?;
        }
        Ok(choices)
    }

    fn take(&mut self, take: &Under) -> Result<(), SelectionError> {
        let program = self.program;
        let no_such_value = |known: Vec<String>| SelectionError::NoSuchValue {
            program: program.id.clone(),
            name: take.name.clone(),
            value: take.value.clone(),
            known,
        };
        if let Some(place) = program.questions.iter().position(|question| question.id == take.name) {
            let ids = program.questions.get(place).map(|question| &question.readings).into_iter().flatten();
            let mut ids = ids.map(|(id, _, _)| id);
            let reading = ids.clone().position(|id| *id == take.value);
            if reading.is_none() && take.value != NONE {
                let known = ids.by_ref().cloned().chain([NONE.to_owned()]).collect();
                return Err(no_such_value(known));
            }
            if let Some(slot) = self.readings.get_mut(place) {
                *slot = reading;
            }
            return Ok(());
        }
        if let Some(place) = program.options.iter().position(|option| option.id == take.name) {
            let values = program.options.get(place).map(|option| option.values.clone()).unwrap_or_default();
            let Some(value) = values.iter().position(|value| *value == take.value) else {
                return Err(no_such_value(values));
            };
            if let Some(slot) = self.values.get_mut(place) {
                *slot = value;
            }
            return Ok(());
        }
        let questions = program.questions.iter().map(|question| question.id.clone());
        let known = questions.chain(program.options.iter().map(|option| option.id.clone())).collect();
        Err(SelectionError::NoSuchName { program: program.id.clone(), name: take.name.clone(), known })
    }

    /// Where the guards hold: `None` nowhere, else a condition on the questions that are open.
    pub(super) fn guard(&self, under: &[Under]) -> Option<Condition<usize>> {
        let mut open: Vec<(usize, usize)> = Vec::new();
        for one in under {
            if let Some(place) = self.program.options.iter().position(|option| option.id == one.name) {
                let option = self.program.options.get(place)?;
                let chosen = self.values.get(place).and_then(|value| option.values.get(*value))?;
                if *chosen != one.value {
                    return None;
                }
                continue;
            }
            let (place, reading) = self.reading(&one.name, &one.value)?;
            match self.readings.get(place)? {
                Some(taken) if *taken == reading => {}
                Some(_) => return None,
                None => open.push((place, reading)),
            }
        }
        open.sort_unstable();
        open.dedup();
        if open.windows(2).any(|pair| matches!(pair, [a, b] if a.0 == b.0)) {
            return None;
        }
        let tests = open.into_iter().map(|(question, reading)| Condition::Test(Test::Reading { question, reading }));
        Some(Condition::every(tests.collect()))
    }

    /// The condition of one reading.
    pub(super) fn reading_condition(&self, question: &str, reading: usize) -> Condition<usize> {
        let Some(place) = self.program.questions.iter().position(|known| known.id == question) else {
            return Condition::never();
        };
        match self.readings.get(place).copied().flatten() {
            Some(taken) if taken == reading => Condition::always(),
            Some(_) => Condition::never(),
            None => Condition::Test(Test::Reading { question: place, reading }),
        }
    }

    fn reading(&self, question: &str, reading: &str) -> Option<(usize, usize)> {
        let place = self.program.questions.iter().position(|known| known.id == question)?;
        let question = self.program.questions.get(place)?;
        let reading = question.readings.iter().position(|(id, _, _)| id == reading)?;
        Some((place, reading))
    }
}
