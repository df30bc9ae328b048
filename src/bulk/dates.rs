//! Sorts the records of a batch by the flat program that their test dates select.

use super::batch::{Batch, Dates};
use super::engine::{Engine, Run};
use super::exact::Rules;
use super::judged::RowError;
use super::planes::{BLOCK, WORDS};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A plane of a block.
type Words = [u64; WORDS];

/// The records of a batch by flat program.
#[derive(Debug)]
pub(super) struct Runs {
    /// The flat programs, in the order of their first record.
    pub(super) rules: Vec<Arc<Rules>>,
    /// Records whose date selects none.
    pub(super) errors: Vec<(usize, RowError)>,
    len: usize,
    /// For each block, which records each flat program judges.
    blocks: Vec<Block>,
}

#[derive(Debug)]
enum Block {
    /// All by this one.
    All(usize),
    /// Some by each.
    Some(BTreeMap<usize, Words>),
}

/// Finds the place of a day's flat program.
struct Finder<'e> {
    engine: &'e Engine,
    runs: Vec<(Run, usize)>,
    rules: Vec<Arc<Rules>>,
    last: usize,
}

impl Finder<'_> {
    fn place(&mut self, day: i64) -> Result<(i64, i64, usize), RowError> {
        let holds = |entry: &&(Run, usize)| (entry.0.from..=entry.0.through).contains(&day);
        if let Some((run, place)) = self.runs.get(self.last).filter(holds) {
            return Ok((run.from, run.through, *place));
        }
        if let Some(at) = self.runs.iter().position(|entry| holds(&entry)) {
            self.last = at;
            return self.runs.get(at).map(|(run, place)| (run.from, run.through, *place)).ok_or(RowError::NoTestDate);
        }
        let run = self.engine.run_of(day)?;
        let found = self.rules.iter().position(|rules| Arc::ptr_eq(rules, &run.rules));
        let place = found.unwrap_or_else(|| {
            self.rules.push(Arc::clone(&run.rules));
            self.rules.len() - 1
        });
        let ends = (run.from, run.through, place);
        self.last = self.runs.len();
        self.runs.push((run, place));
        Ok(ends)
    }
}

impl Runs {
    pub(super) fn of(engine: &Engine, batch: &Batch<'_>) -> Runs {
        let mut finder = Finder { engine, runs: Vec::new(), rules: Vec::new(), last: 0 };
        let mut runs = Runs { rules: Vec::new(), errors: Vec::new(), len: batch.len(), blocks: Vec::new() };
        for block in 0..batch.len().div_ceil(BLOCK) {
            let (start, end) = (block * BLOCK, (block * BLOCK + BLOCK).min(batch.len()));
            let found = match whole(&mut finder, batch, start, end) {
                Some(place) => Block::All(place),
                None => Block::Some(runs.each(&mut finder, batch, start, end)),
            };
            runs.blocks.push(found);
        }
        runs.rules = finder.rules;
        runs
    }

    fn each(&mut self, finder: &mut Finder<'_>, batch: &Batch<'_>, start: usize, end: usize) -> BTreeMap<usize, Words> {
        let mut found: BTreeMap<usize, Words> = BTreeMap::new();
        let mut now: (usize, Words) = (usize::MAX, [0; WORDS]);
        let mut keep = |(place, words): (usize, Words)| {
            if place != usize::MAX {
                let slot = found.entry(place).or_insert([0; WORDS]);
                slot.iter_mut().zip(words).for_each(|(slot, word)| *slot |= word);
            }
        };
        for row in start..end {
            let place = batch.day(row).ok_or(RowError::NoTestDate).and_then(|day| finder.place(day));
            match place {
                Ok((_, _, place)) => {
                    if place != now.0 {
                        keep(std::mem::replace(&mut now, (place, [0; WORDS])));
                    }
                    let at = row - start;
                    if let Some(word) = now.1.get_mut(at / 64) {
                        *word |= 1 << (at % 64);
                    }
                }
                Err(error) => self.errors.push((row, error)),
            }
        }
        keep(now);
        found
    }

    /// The records of a block that a flat program (its place) judges.
    pub(super) fn wanted(&self, place: usize, block: usize) -> Words {
        match self.blocks.get(block) {
            Some(Block::All(one)) if *one == place => first(self.len.saturating_sub(block * BLOCK)),
            Some(Block::Some(found)) => found.get(&place).copied().unwrap_or([0; WORDS]),
            _ => [0; WORDS],
        }
    }
}

/// The first so many records of a block.
fn first(count: usize) -> Words {
    let mut left = count.min(BLOCK);
    std::array::from_fn(|_| {
        let here = left.min(64);
        left -= here;
        if here == 64 { u64::MAX } else { (1 << here) - 1 }
    })
}

/// The one flat program that judges all records of a block, where the days lie in one run.
fn whole(finder: &mut Finder<'_>, batch: &Batch<'_>, start: usize, end: usize) -> Option<usize> {
    match batch.dates() {
        Dates::One(date) => finder.place(crate::model::day_number(date)).ok().map(|(_, _, place)| place),
        Dates::Each { known: Some(_), .. } => None,
        Dates::Each { days, known: None } => {
            let days = days.get(start..end)?;
            let least = days.iter().fold(i32::MAX, |least, day| least.min(*day));
            let greatest = days.iter().fold(i32::MIN, |greatest, day| greatest.max(*day));
            let (_, through, place) = finder.place(i64::from(least)).ok()?;
            (i64::from(greatest) <= through).then_some(place)
        }
    }
}
