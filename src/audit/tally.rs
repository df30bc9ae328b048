//! What is counted of judged records. Counts only add up, so that a tally never depends on the order of records or on who
//! counted them; examples are the first in the order of records.

use super::difference::Standing;
use super::profile::{MONTHS, Profile, UNKNOWN, YEARS};
use super::said::Said;
use crate::model::Fact;
use crate::program::Class;
use std::collections::BTreeMap;

/// Classes of outcomes, with *not recorded* after them.
pub const CLASSES: usize = 8;
/// Places for vehicle classes, the last is *not known*.
const KINDS: usize = 13;
/// Places for fuels, the last is *not known*.
const FUELS: usize = 10;
/// Kind of visit, class by the program, class recorded or none.
const RESULTS: usize = 3 * CLASSES * (CLASSES + 1);
/// Lamp command, stored codes, incomplete monitors: three states each.
const READINGS: usize = 27;

/// Counts of one program's records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tally {
    /// Records judged.
    pub judged: u64,
    /// By model year and class of vehicle.
    results: Vec<u64>,
    readings: Vec<u64>,
    by_fuel: Vec<u64>,
    by_month: Vec<u64>,
    /// Records by what is said of them and what was recorded.
    pub said: BTreeMap<(Said, Standing), u64>,
    /// Records by the name of an area that the program does not know.
    pub strangers: BTreeMap<String, u64>,
    /// Records by recorded result of the on-board check and of the whole inspection.
    pub overall: BTreeMap<(String, String), u64>,
    /// Records of vehicles that did not answer and whose columns of a reader were left unread.
    pub silent: u64,
    /// Records whose outcome stands so far as texts were read.
    pub so_far_as_read: u64,
    /// Records that an announced change could turn, by its id; 0 where there is a change and no such record.
    pub announced: BTreeMap<String, u64>,
    /// Records whose possible verdicts depend on how an open question is read.
    pub on_questions: u64,
    /// Records by verdict here and verdict under the other program.
    pub against: BTreeMap<(String, String), u64>,
    /// Records by class here and class under the other program, where they differ.
    pub against_classes: BTreeMap<(Class, Class), u64>,
}

/// A model year and a class of vehicle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// Model year; `None`: not known.
    pub year: Option<u16>,
    /// Class of vehicle, a place among its words; `None`: not known.
    pub kind: Option<usize>,
}

/// A record's results.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Results {
    /// 0 first test, 1 retest, 2 not known.
    pub visit: usize,
    /// Class by the program.
    pub ruled: Class,
    /// Class that was recorded.
    pub recorded: Option<Class>,
}

/// A record's readings: 0 no, 1 yes, 2 not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Readings {
    /// Lamp commanded on.
    pub lamp: usize,
    /// Some stored code.
    pub stored: usize,
    /// Some supported monitor incomplete.
    pub incomplete: usize,
}

/// The place of a class.
#[must_use]
pub fn class_place(class: Class) -> usize {
    match class {
        Class::Pass => 0,
        Class::Conditional => 1,
        Class::OtherTest => 2,
        Class::Reject => 3,
        Class::Fail => 4,
        Class::NotSubject => 5,
        Class::NoLaw => 6,
        Class::Undecided => 7,
    }
}

/// The class at a place.
#[must_use]
pub fn class_at(place: usize) -> Option<Class> {
    Class::ALL.get(place).copied()
}

impl Default for Tally {
    fn default() -> Tally {
        Tally {
            judged: 0,
            results: vec![0; YEARS * KINDS * RESULTS],
            readings: vec![0; YEARS * KINDS * READINGS],
            by_fuel: vec![0; FUELS * CLASSES],
            by_month: vec![0; MONTHS * CLASSES],
            said: BTreeMap::new(),
            strangers: BTreeMap::new(),
            overall: BTreeMap::new(),
            silent: 0,
            so_far_as_read: 0,
            announced: BTreeMap::new(),
            on_questions: 0,
            against: BTreeMap::new(),
            against_classes: BTreeMap::new(),
        }
    }
}

fn add(counts: &mut [u64], at: usize) {
    if let Some(count) = counts.get_mut(at) {
        *count += 1;
    }
}

impl Tally {
    /// Counts a record. `ruled` and `recorded` are places of classes; a result that was not recorded is [`CLASSES`].
    #[inline]
    pub(super) fn count(&mut self, profile: &Profile, row: usize, ruled: usize, recorded: usize) {
        let at = |list: &[u8], other: u8| usize::from(list.get(row).copied().unwrap_or(other));
        let place = at(&profile.year, 201) * KINDS + at(&profile.class, 12).min(KINDS - 1);
        let visit = at(&profile.visit, UNKNOWN).min(2);
        add(&mut self.results, place * RESULTS + (visit * CLASSES + ruled) * (CLASSES + 1) + recorded);
        let readings = (at(&profile.lamp, UNKNOWN) * 3 + at(&profile.stored, UNKNOWN)) * 3;
        add(&mut self.readings, place * READINGS + readings + at(&profile.incomplete, UNKNOWN));
        add(&mut self.by_fuel, at(&profile.fuel, 9).min(FUELS - 1) * CLASSES + ruled);
        let month = profile.month.get(row).map_or(MONTHS - 1, |month| usize::from(*month));
        add(&mut self.by_month, month * CLASSES + ruled);
        self.judged += 1;
    }

    /// Adds another tally.
    pub fn join(&mut self, other: &Tally) {
        self.judged += other.judged;
        self.on_questions += other.on_questions;
        self.silent += other.silent;
        self.so_far_as_read += other.so_far_as_read;
        for (mine, others) in [
            (&mut self.results, &other.results),
            (&mut self.readings, &other.readings),
            (&mut self.by_fuel, &other.by_fuel),
            (&mut self.by_month, &other.by_month),
        ] {
            for (mine, other) in mine.iter_mut().zip(others) {
                *mine += other;
            }
        }
        for (key, count) in &other.said {
            *self.said.entry(key.clone()).or_default() += count;
        }
        for (id, count) in &other.announced {
            *self.announced.entry(id.clone()).or_default() += count;
        }
        for (name, count) in &other.strangers {
            *self.strangers.entry(name.clone()).or_default() += count;
        }
        for (key, count) in &other.overall {
            *self.overall.entry(key.clone()).or_default() += count;
        }
        for (key, count) in &other.against {
            *self.against.entry(key.clone()).or_default() += count;
        }
        for (key, count) in &other.against_classes {
            *self.against_classes.entry(*key).or_default() += count;
        }
    }

    /// Records by model year, class of vehicle, and results; only what occurs.
    pub fn results(&self) -> impl Iterator<Item = (Place, Results, u64)> + '_ {
        let found = self.results.iter().enumerate().filter(|(_, count)| **count > 0);
        found.filter_map(|(at, count)| {
            let (place, rest) = (at / RESULTS, at % RESULTS);
            let (visit_and_ruled, recorded) = (rest / (CLASSES + 1), rest % (CLASSES + 1));
            let results = Results {
                visit: visit_and_ruled / CLASSES,
                ruled: class_at(visit_and_ruled % CLASSES)?,
                recorded: class_at(recorded),
            };
            Some((place_of(place), results, *count))
        })
    }

    /// Records by model year, class of vehicle, and readings; only what occurs.
    pub fn readings(&self) -> impl Iterator<Item = (Place, Readings, u64)> + '_ {
        let found = self.readings.iter().enumerate().filter(|(_, count)| **count > 0);
        found.map(|(at, count)| {
            let rest = at % READINGS;
            let readings = Readings { lamp: rest / 9, stored: rest / 3 % 3, incomplete: rest % 3 };
            (place_of(at / READINGS), readings, *count)
        })
    }

    /// Records by fuel and class of outcome: the place of the fuel among its words, `None` for *not known*.
    pub fn fuels(&self) -> impl Iterator<Item = (Option<usize>, Class, u64)> + '_ {
        let found = self.by_fuel.iter().enumerate().filter(|(_, count)| **count > 0);
        found.filter_map(|(at, count)| {
            let fuel = Some(at / CLASSES).filter(|fuel| *fuel < Fact::Fuel.words().len());
            Some((fuel, class_at(at % CLASSES)?, *count))
        })
    }

    /// Records by month and class of outcome: year and month, `None` for *not known*.
    pub fn months(&self) -> impl Iterator<Item = (Option<(usize, usize)>, Class, u64)> + '_ {
        let found = self.by_month.iter().enumerate().filter(|(_, count)| **count > 0);
        found.filter_map(|(at, count)| {
            let month = at / CLASSES;
            let month = (month < MONTHS - 1).then_some((1900 + month / 12, month % 12 + 1));
            Some((month, class_at(at % CLASSES)?, *count))
        })
    }
}

fn place_of(place: usize) -> Place {
    let (year, kind) = (place / KINDS, place % KINDS);
    Place {
        year: u16::try_from(year).ok().filter(|_| year < YEARS - 1).map(|year| super::profile::FIRST_YEAR + year),
        kind: Some(kind).filter(|kind| *kind < Fact::Class.words().len()),
    }
}
