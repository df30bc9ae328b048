//! The engine: picks for each record the flat program of its own test date, runs the plans, has the records that they
//! leave open answered exactly, and puts the results together.

use super::batch::Batch;
use super::dates::Runs;
use super::exact::{Answer, Rules};
use super::judged::{Judged, Part, Plane, RowError, place_of, set_bits};
use super::planes::{BLOCK, Outcome, WORDS, run};
use super::record;
use crate::model::{Date, date_of};
use crate::program::select::days_of_change;
use crate::program::{Program, Selection, SelectionError, Under, select};
use std::collections::BTreeMap;
use std::sync::{Arc, PoisonError, RwLock};

/// How the flat programs are selected; the dates come from the records.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Options {
    /// Law as it had been published by this date; `None`: all that the program knows.
    pub known_on: Option<Date>,
    /// Readings and options to take instead of the program's own.
    pub takes: Vec<Under>,
    /// Only the verdicts that may follow: which lines decide is not worked out, and no line is named.
    pub verdicts_alone: bool,
}

/// A program ready to judge batches; shared by threads as it is.
#[derive(Debug)]
pub struct Engine {
    program: Program,
    options: Options,
    /// Days on which the flat program may change, ascending; and whether each 1 January is one.
    changes: Vec<i64>,
    is_yearly: bool,
    known: RwLock<Known>,
}

#[derive(Debug, Default)]
struct Known {
    /// The flat program that begins on a day.
    from: BTreeMap<i64, Arc<Rules>>,
    /// The different flat programs.
    all: Vec<Arc<Rules>>,
}

/// Days from and through which one flat program stands.
#[derive(Debug, Clone)]
pub(super) struct Run {
    pub(super) from: i64,
    pub(super) through: i64,
    pub(super) rules: Arc<Rules>,
}

impl Engine {
    /// An engine for a program.
    ///
    /// # Errors
    /// Where the options name a question, option, reading or value that the program does not have.
    pub fn new(program: &Program, options: Options) -> Result<Engine, SelectionError> {
        let (days, is_yearly) = days_of_change(program);
        let changes = days.into_iter().map(crate::model::day_number).collect();
        let engine = Engine { program: program.clone(), options, changes, is_yearly, known: RwLock::default() };
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

    /// The flat program of a day number.
    ///
    /// # Errors
    /// Where the day is outside the calendar.
    pub fn rules(&self, day: i64) -> Result<Arc<Rules>, RowError> {
        self.run_of(day).map(|run| run.rules)
    }

    /// The run of days on which the flat program is that of a day.
    pub(super) fn run_of(&self, day: i64) -> Result<Run, RowError> {
        let date = date_of(day).ok_or(RowError::TestDateOutOfRange)?;
        let next = self.changes.partition_point(|change| *change <= day);
        let last = next.checked_sub(1).and_then(|place| self.changes.get(place));
        let (mut from, mut through) = (last.copied(), self.changes.get(next).map(|day| *day - 1));
        if self.is_yearly {
            let ends = |month, day| Date::new(date.year(), month, day).ok().map(crate::model::day_number);
            from = from.max(ends(1, 1));
            through = match (through, ends(12, 31)) {
                (Some(one), Some(other)) => Some(one.min(other)),
                (one, other) => one.or(other),
            };
        }
        let (from, through) = (from.unwrap_or(FIRST_DAY), through.unwrap_or(LAST_DAY));
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner);
        if let Some(rules) = known.from.get(&from) {
            return Ok(Run { from, through, rules: Arc::clone(rules) });
        }
        drop(known);
        let first = date_of(from).unwrap_or(date);
        // What the options name was found when the engine was made.
        let flat = select(&self.program, &self.selection(first)).map_err(|_| RowError::TestDateOutOfRange)?;
        let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
        let same = known.all.iter().find(|rules| rules.flat().says_the_same(&flat)).map(Arc::clone);
        let rules = same.unwrap_or_else(|| {
            let rules = Arc::new(Rules::of(flat, self.options.verdicts_alone));
            known.all.push(Arc::clone(&rules));
            rules
        });
        known.from.insert(from, Arc::clone(&rules));
        Ok(Run { from, through, rules })
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
        let runs = Runs::of(self, batch);
        for (place, rules) in runs.rules.iter().enumerate() {
            let deciding = vec![Plane::empty(len); rules.flat().lines.len()];
            judged.parts.push(Part { rules: Arc::clone(rules), rows: Plane::empty(len), deciding });
            self.judge_part(batch, rules, place, &|block| runs.wanted(place, block), &mut judged);
        }
        judged.errors.extend(runs.errors);
        judged.errors.sort_by_key(|(row, _)| *row);
        judged.perhaps.sort_by_key(|(row, _)| *row);
        judged
    }

    fn judge_part(
        &self,
        batch: &Batch<'_>,
        rules: &Rules,
        place: usize,
        wanted: &dyn Fn(usize) -> [u64; WORDS],
        judged: &mut Judged,
    ) {
        let find = |row: usize| record::given(rules.flat(), batch, row).and_then(|given| rules.answer(&given));
        let Some((plan, bare)) = rules.plan(batch) else {
            for block in 0..batch.len().div_ceil(BLOCK) {
                for row in rows(block, wanted(block)) {
                    judged.put(place, row, &find(row));
                }
            }
            return;
        };
        run(&plan, rules.flat(), bare, batch, wanted, |block, outcome| {
            judged.put_block(place, block, outcome, &wanted(block));
            let open = rows(block, outcome.open);
            plan.answers((rules.flat(), bare), batch, open, find, |row, answer| judged.put(place, row, answer));
            rows(block, outcome.odd).for_each(|row| judged.put(place, row, &find(row)));
        });
    }
}

/// The records of a block that are set.
fn rows(block: usize, words: [u64; WORDS]) -> impl Iterator<Item = usize> {
    set_bits(words.into_iter()).map(move |at| block * BLOCK + at)
}

impl Judged {
    /// Takes over what a plan tells of a block.
    fn put_block(&mut self, place: usize, block: usize, outcome: &Outcome<'_>, wanted: &[u64; WORDS]) {
        let add = |plane: &mut Plane, words: &[u64; WORDS]| {
            let here = plane.0.iter_mut().skip(block * WORDS);
            here.zip(words).for_each(|(slot, word)| *slot |= word);
        };
        for (plane, words) in self.possible.iter_mut().zip(outcome.possible) {
            add(plane, words);
        }
        let Some(part) = self.parts.get_mut(place) else {
            return;
        };
        for (plane, words) in part.deciding.iter_mut().zip(outcome.deciding) {
            add(plane, words);
        }
        add(&mut part.rows, wanted);
    }

    /// Takes over the answer for a record.
    fn put(&mut self, place: usize, row: usize, answer: &Result<Answer, RowError>) {
        let Some(part) = self.parts.get_mut(place) else {
            return;
        };
        match answer {
            Ok(answer) => {
                part.rows.set(row);
                for line in &answer.deciding {
                    part.deciding.get_mut(*line).into_iter().for_each(|plane| plane.set(row));
                }
                for verdict in &answer.possible {
                    self.possible.get_mut(place_of(*verdict)).into_iter().for_each(|plane| plane.set(row));
                }
                if answer.possible.len() > 1 {
                    self.undecided.set(row);
                }
                if !answer.alternatives.is_empty() {
                    self.perhaps.push((row, Arc::clone(&answer.alternatives)));
                }
            }
            Err(error) => {
                part.rows.clear(row);
                self.errors.push((row, error.clone()));
            }
        }
    }
}

/// The first and the last day of the calendar that dates here are of.
const FIRST_DAY: i64 = -719_162;
const LAST_DAY: i64 = 2_932_896;
