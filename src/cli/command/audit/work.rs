//! A job to what came of its records. Whoever does it keeps tables of texts and combinations of its own; what comes of a
//! record never depends on who did it.

use super::json;
use super::source::{Job, What};
use super::split::split;
use crate::audit::mapping::{Lines, Mapping};
use crate::audit::{Done, Fields, Judging, Lot, Table, Worker, aside};

/// What everybody who works on jobs knows.
pub(super) struct Plan {
    pub(super) mapping: Mapping,
    pub(super) programs: Vec<Judging>,
    /// Whether what came of each record is wanted, or only counts.
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
    pub(super) fn get(&self, at: usize) -> std::borrow::Cow<'_, str> {
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
}

/// Somebody who works.
pub(super) struct Hand {
    pub(super) fields: Fields,
    worker: Worker,
}

impl Hand {
    pub(super) fn new(plan: &Plan) -> Hand {
        Hand { fields: Fields::new(&plan.mapping), worker: Worker::default() }
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
                let (table, ragged) = split(block, len, layout.delimiter, layout.width);
                let mut lot = self.fields.read(&table, &layout.places);
                for record in ragged {
                    // What stands in a record without its columns says nothing else.
                    lot.aside.retain(|aside| aside.row != record.row);
                    let reason = format!("has {} fields, the header has {}", record.fields, layout.width);
                    aside(&mut lot, record.row, "", b"", reason);
                }
                let _ = give(self.piece(plan, file, lot, layout.id.map(|place| Ids::Table(&table, place))));
            }
            What::Json(layout, block, len) => {
                let text = block.get(..len).unwrap_or(&[]);
                match layout.lines {
                    Lines::Flat => {
                        let (table, faults) = json::flat(text, &layout.keys);
                        let mut lot = self.fields.read(&table, &layout.places);
                        for (row, reason) in faults {
                            lot.aside.retain(|aside| aside.row != row);
                            aside(&mut lot, row, "", b"", reason);
                        }
                        let ids = json::id_place(&plan.mapping, &layout.places).map(|place| Ids::Table(&table, place));
                        let _ = give(self.piece(plan, file, lot, ids));
                    }
                    Lines::Snapshots => {
                        let (table, lot) = json::snapshots(text, &layout.keys, &mut self.fields, &layout.places);
                        let ids = json::id_place(&plan.mapping, &layout.places).map(|place| Ids::Table(&table, place));
                        let _ = give(self.piece(plan, file, lot, ids));
                    }
                }
            }
            What::Parquet(columns, group) => {
                let mut batches = columns.batches(group)?;
                while let Some((lot, ids)) = batches.next(&mut self.fields)? {
                    let ids = ids.as_ref().map(Ids::Array);
                    if !give(self.piece(plan, file, lot, ids)) {
                        return Ok(());
                    }
                }
            }
        }
        Ok(())
    }

    fn piece(&mut self, plan: &Plan, file: usize, mut lot: Lot, ids: Option<Ids<'_>>) -> Piece {
        let rows = lot.store.len;
        let done = self.worker.work(&plan.programs, &mut lot, plan.each);
        let days = if plan.each { days(&lot, rows) } else { Vec::new() };
        let id = |row: usize| ids.as_ref().map(|ids| ids.text(row)).filter(|id| !id.is_empty());
        let named = done.examples.iter().map(|(row, _)| id(*row)).collect();
        let all = ids.as_ref().filter(|_| plan.each).map(|ids| {
            let mut texts = Texts::default();
            (0..rows).for_each(|row| texts.push(ids.text(row).as_bytes()));
            texts
        });
        Piece { file, rows, done, ids: all, days, named }
    }
}

/// Where the ids of records stand.
enum Ids<'a> {
    Table(&'a Table, usize),
    Array(&'a super::parquet::Id),
}

impl Ids<'_> {
    fn text(&self, row: usize) -> String {
        match self {
            Ids::Table(table, place) => String::from_utf8_lossy(table.field(row, *place).trim_ascii()).into_owned(),
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
