//! The cells of the federal annual report that concern the on-board diagnostic check: 40 CFR 51.366(a)(2), as the digest of
//! federal rules has it (section 6.3, rows D1 to D7): numbers of vehicles by model year and vehicle type. What inspection
//! records of one visit each cannot tell is said, not filled.
//!
//! The counts are of records, one a visit. Results stand twice: as the program judges them and as they were recorded.
//! *Pass* is the class pass, *fail* the class fail; what is turned away, sent on or conditional is neither.

use super::tally::{Place, Tally};
use crate::program::Class;
use std::collections::BTreeMap;

/// A cell of the report.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cell {
    /// The paragraph, `(a)(2)(xi)`.
    pub paragraph: &'static str,
    /// What is counted, in our words.
    pub what: &'static str,
    /// How the records tell it.
    pub filled: Filled,
}

/// How the records tell a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Filled {
    /// By results: kind of visit (0 first test, 1 retest; `None`: any) and class.
    Results(Option<usize>, Class),
    /// By readings: lamp commanded on, some stored code.
    Readings(usize, usize),
    /// By an incomplete monitor.
    Incomplete,
    /// Not at all, and why.
    Not(&'static str),
}

const NO_NUMBER: &str = "a record tells a first test from a retest, not the first retest from later ones";
const NO_TAILPIPE: &str = "the on-board diagnostic record holds no tailpipe test";
const NO_CAP: &str = "the on-board diagnostic record holds no gas-cap test";

const fn cell(paragraph: &'static str, what: &'static str, filled: Filled) -> Cell {
    Cell { paragraph, what, filled }
}

/// The cells, in the order of the paragraphs; (vii) to (x) are reserved.
pub const CELLS: [Cell; 19] = [
    cell("(a)(2)(i)", "fail the first test", Filled::Results(Some(0), Class::Fail)),
    cell("(a)(2)(ii)", "fail the first retest", Filled::Not(NO_NUMBER)),
    cell("(a)(2)(iii)", "pass the first retest", Filled::Not(NO_NUMBER)),
    cell("(a)(2)(iv)", "failed first and pass a later retest", Filled::Not(NO_NUMBER)),
    cell("(a)(2)(v)", "failed first and get a waiver", Filled::Not("waivers are given elsewhere")),
    cell("(a)(2)(vi)", "no known final outcome", Filled::Not("a record is one visit; vehicles are not followed")),
    cell("(a)(2)(xi)", "pass the on-board diagnostic check", Filled::Results(None, Class::Pass)),
    cell("(a)(2)(xii)", "fail the on-board diagnostic check", Filled::Results(None, Class::Fail)),
    cell("(a)(2)(xiii)", "fail it and pass the tailpipe test", Filled::Not(NO_TAILPIPE)),
    cell("(a)(2)(xiv)", "fail it and fail the tailpipe test", Filled::Not(NO_TAILPIPE)),
    cell("(a)(2)(xv)", "pass it and fail the gas-cap test", Filled::Not(NO_CAP)),
    cell("(a)(2)(xvi)", "fail it and pass the gas-cap test", Filled::Not(NO_CAP)),
    cell("(a)(2)(xvii)", "pass both it and the gas-cap test", Filled::Not(NO_CAP)),
    cell("(a)(2)(xviii)", "fail both it and the gas-cap test", Filled::Not(NO_CAP)),
    cell("(a)(2)(xix)", "lamp commanded on, no stored code", Filled::Readings(1, 0)),
    cell("(a)(2)(xx)", "lamp not commanded on, stored codes", Filled::Readings(0, 1)),
    cell("(a)(2)(xxi)", "lamp commanded on, stored codes", Filled::Readings(1, 1)),
    cell("(a)(2)(xxii)", "lamp not commanded on, no stored code", Filled::Readings(0, 0)),
    cell("(a)(2)(xxiii)", "some supported monitor incomplete", Filled::Incomplete),
];

/// The counts of one model year and vehicle type, in the order of [`CELLS`]; a cell that cannot be filled has none.
pub type Counts = Vec<Option<Count>>;

/// A count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Count {
    /// As the program judges, or as read.
    pub ruled: u64,
    /// As recorded; `None` where the cell is no result.
    pub recorded: Option<u64>,
    /// Records that cannot be classified: undecided, or a reading is missing.
    pub not_known: u64,
}

/// The cells by model year and vehicle type; only those that occur.
#[must_use]
pub fn cells(tally: &Tally) -> BTreeMap<Place, Counts> {
    let mut all: BTreeMap<Place, Counts> = BTreeMap::new();
    let blank = || CELLS.iter().map(|cell| begun(cell.filled)).collect();
    for (place, results, count) in tally.results() {
        for (cell, slot) in CELLS.iter().zip(all.entry(place).or_insert_with(blank)) {
            let (Filled::Results(visit, class), Some(slot)) = (cell.filled, slot) else { continue };
            let fits = visit.is_none_or(|visit| visit == results.visit);
            let visit_not_known = visit.is_some() && results.visit == 2;
            if fits && results.ruled == class {
                slot.ruled += count;
            }
            if fits && results.recorded == Some(class) {
                slot.recorded = slot.recorded.map(|it| it + count);
            }
            let undecided = fits && results.ruled == Class::Undecided;
            if undecided || (visit_not_known && (results.ruled == class || results.ruled == Class::Undecided)) {
                slot.not_known += count;
            }
        }
    }
    for (place, readings, count) in tally.readings() {
        for (cell, slot) in CELLS.iter().zip(all.entry(place).or_insert_with(blank)) {
            let Some(slot) = slot else { continue };
            match cell.filled {
                Filled::Readings(lamp, stored) => {
                    let fits = |wanted: usize, found: usize| found == wanted || found == 2;
                    if readings.lamp == lamp && readings.stored == stored {
                        slot.ruled += count;
                    } else if fits(lamp, readings.lamp) && fits(stored, readings.stored) {
                        slot.not_known += count;
                    }
                }
                Filled::Incomplete if readings.incomplete == 1 => slot.ruled += count,
                Filled::Incomplete if readings.incomplete == 2 => slot.not_known += count,
                Filled::Incomplete | Filled::Results(..) | Filled::Not(_) => {}
            }
        }
    }
    all
}

fn begun(filled: Filled) -> Option<Count> {
    match filled {
        Filled::Results(..) => Some(Count { recorded: Some(0), ..Count::default() }),
        Filled::Readings(..) | Filled::Incomplete => Some(Count::default()),
        Filled::Not(_) => None,
    }
}

/// The cells over all model years and vehicle types.
#[must_use]
pub fn totals(cells: &BTreeMap<Place, Counts>) -> Counts {
    let mut all: Counts = CELLS.iter().map(|cell| begun(cell.filled)).collect();
    for counts in cells.values() {
        for (slot, count) in all.iter_mut().zip(counts) {
            if let (Some(slot), Some(count)) = (slot, count) {
                slot.ruled += count.ruled;
                slot.not_known += count.not_known;
                slot.recorded = slot.recorded.zip(count.recorded).map(|(one, other)| one + other);
            }
        }
    }
    all
}
