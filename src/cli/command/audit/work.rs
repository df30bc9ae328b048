//! A job to the results of its records. Each worker keeps tables of texts and combinations of its own; what comes of a
//! record never depends on who did it.

use super::ids;
use super::source::{Job, What};
use crate::audit::mapping::{Lines, Mapping};
use crate::audit::{Done, Fields, Judging, Lot, Table, Worker, aside, cut, json, line_ends};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

/// What everybody who works on jobs knows.
pub(super) struct Plan {
    pub(super) mapping: Mapping,
    pub(super) programs: Vec<Judging>,
    /// Whether the result of each record is wanted, or only counts.
    pub(super) each: bool,
}

/// Texts one after the other.
#[derive(Debug, Default)]
pub(super) struct Texts {
    bytes: Vec<u8>,
    ends: Vec<usize>,
}

impl Texts {
    /// Adds a text.
    pub(super) fn push(&mut self, text: &[u8]) {
        self.bytes.extend_from_slice(text);
        self.ends.push(self.bytes.len());
    }

    /// The text of a place; what is not UTF-8 in it is replaced.
    pub(super) fn get(&self, at: usize) -> Cow<'_, str> {
        let from = at.checked_sub(1).and_then(|before| self.ends.get(before)).copied().unwrap_or(0);
        let to = self.ends.get(at).copied().unwrap_or(from);
        String::from_utf8_lossy(self.bytes.get(from..to).unwrap_or(&[]))
    }
}

/// What came of some records that stand together in a file.
pub(super) struct Piece {
    pub(super) file: usize,
    pub(super) rows: usize,
    pub(super) done: Done,
    /// Ids of the records, if there is a column of them and they are wanted.
    pub(super) ids: Option<Texts>,
    /// Test dates as day numbers, if they are wanted.
    pub(super) days: Vec<Option<i32>>,
    /// Ids of the examples.
    pub(super) named: Vec<Option<String>>,
    /// Lines of the block; none of a file that has no lines.
    pub(super) lines: Option<Numbered>,
    /// A number for each record's id, the same for the same id ([`ids::NONE`] where it has none); empty without a column of them.
    pub(super) marks: Vec<u64>,
}

/// The lines of a block.
pub(super) struct Numbered {
    /// Lines before the block that no block holds: those of the header.
    pub(super) before: u64,
    /// How many line ends the block has.
    pub(super) count: u64,
    /// For records that are named, how many line ends of the block stand before them.
    of: BTreeMap<usize, u64>,
}

impl Numbered {
    /// The line of a record, from 1, where so many lines stand before the block.
    pub(super) fn line(&self, row: usize, before: u64) -> Option<u64> {
        self.of.get(&row).map(|line| before + line + 1)
    }
}

/// Where the records of a block begin.
struct Starts<'a> {
    before: u64,
    text: &'a [u8],
    starts: &'a [u32],
}

impl Starts<'_> {
    fn numbered(&self, rows: impl Iterator<Item = usize>) -> Numbered {
        let rows: BTreeSet<usize> = rows.collect();
        let (mut at, mut line) = (0, 0);
        let mut of = BTreeMap::new();
        for row in rows {
            let start = self.starts.get(row).and_then(|start| usize::try_from(*start).ok()).unwrap_or(at);
            line += line_ends(self.text.get(at..start).unwrap_or(&[]));
            at = start;
            of.insert(row, line);
        }
        Numbered { before: self.before, count: line + line_ends(self.text.get(at..).unwrap_or(&[])), of }
    }
}

/// A worker of the command: reads its jobs and keeps its own caches.
pub(super) struct Hand {
    pub(super) fields: Fields,
    worker: Worker,
    /// Seeds that are the same for everybody who works.
    marks: ahash::RandomState,
}

impl Hand {
    pub(super) fn new(plan: &Plan) -> Hand {
        Hand {
            fields: Fields::new(&plan.mapping),
            worker: Worker::default(),
            marks: ahash::RandomState::with_seeds(0x57, 0x48, 0x45, 0x52),
        }
    }

    /// The tallies, at the end.
    pub(super) fn tallies(self) -> Vec<crate::audit::Tally> {
        self.worker.tallies()
    }

    /// Does a job; `give` takes the pieces in their order and says whether more are wanted.
    pub(super) fn work(&mut self, plan: &Plan, job: Job, give: &mut dyn FnMut(Piece) -> bool) -> Result<(), String> {
        let file = job.file;
        match job.what {
            What::Csv(layout, block, len) => {
                let made = cut(block, len, layout.delimiter, layout.width);
                let text = made.text(len);
                let mut lot = self.fields.read(&made.table, &layout.places);
                for record in &made.ragged {
                    // What stands in a record without its columns says nothing else.
                    lot.aside.retain(|aside| aside.row != record.row);
                    let start = |row: usize| made.starts.get(row).and_then(|it| usize::try_from(*it).ok());
                    let from = start(record.row).unwrap_or(0);
                    let whole = text.get(from..start(record.row + 1).unwrap_or(len)).unwrap_or(&[]);
                    let lines = line_ends(whole.trim_ascii_end());
                    let over = match lines {
                        0 => String::new(),
                        _ => format!("; it goes over {} lines: is a quote not closed?", lines + 1),
                    };
                    let reason = format!("has {} fields, the header has {}{over}", record.fields, layout.width);
                    aside(&mut lot, record.row, "", b"", reason);
                }
                let starts = Starts { before: layout.lines, text, starts: &made.starts };
                let ids = layout.id.map(|place| Ids::Table(&made.table, place));
                let _ = give(self.piece(plan, file, lot, ids, Some(starts))?);
            }
            What::Json(layout, block, len) => {
                let text = block.get(..len).unwrap_or(&[]);
                let (flat, lot) = match layout.lines {
                    Lines::Flat => {
                        let mut flat = json::flat(text, &layout.keys);
                        let mut lot = self.fields.read(&flat.table, &layout.places);
                        json::set_aside(&mut lot, std::mem::take(&mut flat.faults));
                        (flat, lot)
                    }
                    Lines::Snapshots => json::snapshots(text, &layout.keys, &mut self.fields, &layout.places),
                };
                let ids = json::id_place(&plan.mapping, &layout.places).map(|place| Ids::Table(&flat.table, place));
                let starts = Starts { before: 0, text, starts: &flat.starts };
                let _ = give(self.piece(plan, file, lot, ids, Some(starts))?);
            }
            What::Parquet(columns, group) => {
                let mut batches = columns.batches(group)?;
                while let Some((lot, ids)) = batches.next(&mut self.fields)? {
                    let ids = ids.as_ref().map(Ids::Array);
                    if !give(self.piece(plan, file, lot, ids, None)?) {
                        return Ok(());
                    }
                }
            }
        }
        Ok(())
    }

    fn piece(
        &mut self,
        plan: &Plan,
        file: usize,
        mut lot: Lot,
        ids: Option<Ids<'_>>,
        starts: Option<Starts<'_>>,
    ) -> Result<Piece, String> {
        let rows = lot.store.len;
        let done = self.worker.work(&plan.programs, &mut lot, plan.each);
        done.adds_up(rows)?;
        let days = if plan.each { days(&lot, rows) } else { Vec::new() };
        let id = |row: usize| ids.as_ref().map(|ids| ids.text(row).into_owned()).filter(|id| !id.is_empty());
        let named = done.examples.iter().map(|(row, _)| id(*row)).collect();
        let marks = ids.as_ref().map_or_else(Vec::new, |ids| (0..rows).map(|row| ids.mark(row, &self.marks)).collect());
        let all = ids.as_ref().filter(|_| plan.each).map(|ids| {
            let mut texts = Texts::default();
            (0..rows).for_each(|row| texts.push(ids.text(row).as_bytes()));
            texts
        });
        let shown = || done.aside.iter().map(|it| it.row).chain(done.examples.iter().map(|(row, _)| *row));
        let lines = starts.map(|starts| starts.numbered(shown()));
        Ok(Piece { file, rows, done, ids: all, days, named, lines, marks })
    }
}

/// Where the ids of records stand.
enum Ids<'a> {
    Table(&'a Table, usize),
    Array(&'a crate::audit::arrow::Shown),
}

impl Ids<'_> {
    /// A number for an id.
    fn mark(&self, row: usize, by: &ahash::RandomState) -> u64 {
        let of = |bytes: &[u8]| if bytes.is_empty() { ids::NONE } else { by.hash_one(bytes).max(ids::NONE + 1) };
        match self {
            Ids::Table(table, place) => of(table.field(row, *place).trim_ascii()),
            Ids::Array(array) => of(array.text(row).as_bytes()),
        }
    }

    fn text(&self, row: usize) -> Cow<'_, str> {
        match self {
            Ids::Table(table, place) => String::from_utf8_lossy(table.field(row, *place).trim_ascii()),
            Ids::Array(array) => array.text(row),
        }
    }
}

fn days(lot: &Lot, rows: usize) -> Vec<Option<i32>> {
    match (&lot.store.days, lot.store.day) {
        (Some((days, known)), _) => {
            let is_known = |row: usize| known.as_ref().is_none_or(|known| known.is(row));
            days.all().iter().enumerate().map(|(row, day)| is_known(row).then_some(*day)).collect()
        }
        (None, Some(day)) => vec![i32::try_from(crate::model::day_number(day)).ok(); rows],
        (None, None) => vec![None; rows],
    }
}
