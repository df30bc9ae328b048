//! The engine: picks for each record the flat program of its own test date, and puts the results together.

use super::batch::Batch;
use super::exact::Rules;
use super::judged::{Judged, Part, Plane, RowError, place_of};
use super::record;
use crate::model::{Date, date_of};
use crate::program::{Flat, Program, Selection, SelectionError, Under, select};
use std::collections::BTreeMap;
use std::sync::{Arc, PoisonError, RwLock};

/// How the flat programs are selected; the dates come from the records.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Options {
    /// Law as it had been published by this date; `None`: all that the program knows.
    pub known_on: Option<Date>,
    /// Readings and options to take instead of the program's own.
    pub takes: Vec<Under>,
}

/// A program ready to judge batches; shared by threads as it is.
#[derive(Debug)]
pub struct Engine {
    program: Program,
    options: Options,
    days: RwLock<Days>,
}

#[derive(Debug, Default)]
struct Days {
    /// For each day asked for so far, its flat program.
    of_day: BTreeMap<i64, Arc<Rules>>,
    /// The different flat programs.
    known: Vec<Arc<Rules>>,
}

impl Engine {
    /// An engine for a program.
    ///
    /// # Errors
    /// Where the options name a question, option, reading or value that the program does not have.
    pub fn new(program: &Program, options: Options) -> Result<Engine, SelectionError> {
        let engine = Engine { program: program.clone(), options, days: RwLock::default() };
        select(program, &engine.selection(Date::constant(2026, 1, 1)))?;
        Ok(engine)
    }

    /// The program.
    #[must_use]
    pub fn program(&self) -> &Program {
        &self.program
    }

    fn selection(&self, date: Date) -> Selection {
        Selection { known_on: self.options.known_on, takes: self.options.takes.clone(), ..Selection::on(date) }
    }

    /// The flat program of a day.
    ///
    /// # Errors
    /// Where the day is outside the calendar.
    pub fn rules(&self, day: i64) -> Result<Arc<Rules>, RowError> {
        let read = self.days.read().unwrap_or_else(PoisonError::into_inner);
        if let Some(rules) = read.of_day.get(&day) {
            return Ok(Arc::clone(rules));
        }
        drop(read);
        let date = date_of(day).ok_or(RowError::TestDateOutOfRange)?;
        // What the options name was found when the engine was made.
        let flat = select(&self.program, &self.selection(date)).map_err(|_| RowError::TestDateOutOfRange)?;
        let mut days = self.days.write().unwrap_or_else(PoisonError::into_inner);
        let known = days.known.iter().find(|rules| says_the_same(rules.flat(), &flat)).map(Arc::clone);
        let rules = known.unwrap_or_else(|| {
            let rules = Arc::new(Rules::of(flat));
            days.known.push(Arc::clone(&rules));
            rules
        });
        days.of_day.insert(day, Arc::clone(&rules));
        Ok(rules)
    }

    /// Judges a batch. Records that cannot be judged are set aside with a reason.
    #[must_use]
    pub fn judge(&self, batch: &Batch<'_>) -> Judged {
        let len = batch.len();
        let mut judged = Judged {
            len,
            possible: vec![Plane::empty(len); self.program.outcomes.len() + 1],
            undecided: Plane::empty(len),
            ..Judged::default()
        };
        for row in 0..len {
            if let Err(error) = self.judge_row(batch, row, &mut judged) {
                judged.errors.push((row, error));
            }
        }
        judged
    }

    fn judge_row(&self, batch: &Batch<'_>, row: usize, judged: &mut Judged) -> Result<(), RowError> {
        let rules = self.rules(batch.day(row).ok_or(RowError::NoTestDate)?)?;
        let answer = rules.answer(&record::given(rules.flat(), batch, row)?)?;
        let len = judged.len;
        let found = judged.parts.iter().position(|part| Arc::ptr_eq(&part.rules, &rules));
        let place = found.unwrap_or_else(|| {
            let deciding = vec![Plane::empty(len); rules.flat().lines.len()];
            judged.parts.push(Part { rules, rows: Plane::empty(len), deciding });
            judged.parts.len() - 1
        });
        if let Some(part) = judged.parts.get_mut(place) {
            part.rows.set(row);
            for line in &answer.deciding {
                part.deciding.get_mut(*line).into_iter().for_each(|plane| plane.set(row));
            }
        }
        for verdict in &answer.possible {
            judged.possible.get_mut(place_of(*verdict)).into_iter().for_each(|plane| plane.set(row));
        }
        if answer.possible.len() > 1 {
            judged.undecided.set(row);
        }
        if !answer.alternatives.is_empty() {
            judged.perhaps.insert(row, answer.alternatives);
        }
        Ok(())
    }
}

/// Whether two flat programs differ in nothing but their dates. What the date decides was decided by selection, so that
/// they then mean the same.
fn says_the_same(one: &Flat, other: &Flat) -> bool {
    let dated = Flat { as_of: other.as_of, test_date: other.test_date, ..one.clone() };
    dated == *other
}
