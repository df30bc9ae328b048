//! What of each record a summary is broken down by, as small numbers: model year, fuel, class, month, kind of visit, and
//! for the federal report lamp command, stored codes and incomplete monitors. Told by the columns as they stand: what
//! exclusions or presumptions would add is not looked at here.

use super::store::{Held, Store, Values};
use crate::model::facts::{ABSENT, Possible};
use crate::model::{Date, Fact, Monitor, MonitorState, date_of, day_number};
use std::sync::LazyLock;

/// Model years have places of their own from this one on.
pub const FIRST_YEAR: u16 = 1900;
/// How many places there are for model years; the last is *not known*.
pub const YEARS: usize = 202;
/// How many places there are for months, from January 1900 on; the last is *not known*.
pub const MONTHS: usize = 300 * 12 + 1;
/// A state that is not known.
pub const UNKNOWN: u8 = 2;

/// The first day of 1900, as a day number.
static FIRST_DAY: LazyLock<i64> = LazyLock::new(|| day_number(Date::constant(1900, 1, 1)));

/// For each day from 1900 through 2199, the place of its month.
static MONTH_OF: LazyLock<Vec<u16>> = LazyLock::new(|| {
    let last = day_number(Date::constant(2199, 12, 31));
    let place = |day| {
        let date = date_of(day)?;
        u16::try_from((i32::from(date.year()) - 1900) * 12 + i32::from(date.month()) - 1).ok()
    };
    (*FIRST_DAY..=last).map(|day| place(day).unwrap_or(0)).collect()
});

/// The small numbers of some records.
#[derive(Debug, Default)]
pub struct Profile {
    /// Model year less [`FIRST_YEAR`].
    pub year: Vec<u8>,
    /// Place of the fuel among its words; one more is *not known*.
    pub fuel: Vec<u8>,
    /// Place of the class among its words; one more is *not known*.
    pub class: Vec<u8>,
    /// Month.
    pub month: Vec<u16>,
    /// 0 first test, 1 retest.
    pub visit: Vec<u8>,
    /// 0 not commanded on, 1 commanded on.
    pub lamp: Vec<u8>,
    /// 0 no stored code, 1 some.
    pub stored: Vec<u8>,
    /// 0 no monitor is incomplete, 1 some are.
    pub incomplete: Vec<u8>,
}

impl Profile {
    /// The small numbers of the records of a store.
    #[must_use]
    pub fn of(store: &Store) -> Profile {
        let not_known = |fact: Fact| u8::try_from(fact.words().len()).unwrap_or(UNKNOWN);
        Profile {
            year: years(store),
            fuel: words(store, Fact::Fuel, not_known(Fact::Fuel)),
            class: words(store, Fact::Class, not_known(Fact::Class)),
            month: months(store),
            visit: words(store, Fact::Visit, UNKNOWN),
            lamp: lamp(store),
            stored: stored(store),
            incomplete: incomplete(store),
        }
    }
}

fn meant<'v>(meaning: &'v [Possible], row: impl Fn(&'v Possible) -> u8) -> Vec<u8> {
    meaning.iter().map(row).collect()
}

/// The codes of a column through a table of what each means.
fn through(values: &Values, unknown: u8, of: impl Fn(&Possible) -> u8) -> Option<Vec<u8>> {
    match values {
        Values::Bytes(codes, meaning) => {
            let table = meant(meaning, of);
            Some(codes.all().iter().map(|code| table.get(usize::from(*code)).copied().unwrap_or(unknown)).collect())
        }
        Values::Coded(codes, meaning) => {
            let table = meant(meaning, of);
            let at = |code: &u32| usize::try_from(*code).ok().and_then(|at| table.get(at).copied());
            Some(codes.all().iter().map(|code| at(code).unwrap_or(unknown)).collect())
        }
        Values::Declared(..) | Values::Short(..) | Values::Whole(..) | Values::Long(..) => None,
    }
}

fn words(store: &Store, fact: Fact, unknown: u8) -> Vec<u8> {
    let word = |possible: &Possible| match possible {
        Possible::Words(mask) if mask.count_ones() == 1 && *mask != ABSENT => {
            u8::try_from(mask.trailing_zeros()).unwrap_or(unknown)
        }
        _ => unknown,
    };
    store.values(fact).and_then(|values| through(values, unknown, word)).unwrap_or_else(|| vec![unknown; store.len])
}

fn year_place(year: i64) -> u8 {
    let place = year.saturating_sub(i64::from(FIRST_YEAR));
    u8::try_from(place).ok().filter(|place| usize::from(*place) < YEARS - 1).unwrap_or(NO_YEAR)
}

/// The place of a model year that is not known.
const NO_YEAR: u8 = 201;

fn years(store: &Store) -> Vec<u8> {
    let Some(values) = store.values(Fact::ModelYear) else {
        return vec![NO_YEAR; store.len];
    };
    let number = |possible: &Possible| match possible {
        Possible::Number(span) if span.least == span.most => year_place(span.least),
        _ => NO_YEAR,
    };
    let (mut years, known): (Vec<u8>, _) = match values {
        Values::Short(all, _, known) => (all.all().iter().map(|it| year_place(i64::from(*it))).collect(), known),
        Values::Whole(all, _, known) => (all.all().iter().map(|it| year_place(i64::from(*it))).collect(), known),
        Values::Long(all, _, known) => (all.all().iter().map(|it| year_place(*it)).collect(), known),
        Values::Bytes(..) | Values::Coded(..) | Values::Declared(..) => {
            return through(values, NO_YEAR, number).unwrap_or_else(|| vec![NO_YEAR; store.len]);
        }
    };
    blank(&mut years, known.as_ref(), NO_YEAR);
    years
}

/// Sets what is not known.
fn blank<T: Copy>(all: &mut [T], known: Option<&super::store::Bits>, unknown: T) {
    let Some(known) = known else { return };
    for (row, slot) in all.iter_mut().enumerate() {
        if !known.is(row) {
            *slot = unknown;
        }
    }
}

fn months(store: &Store) -> Vec<u16> {
    let none = u16::try_from(MONTHS - 1).unwrap_or(u16::MAX);
    let place = |day: i64| {
        let at = usize::try_from(day - *FIRST_DAY).ok();
        at.and_then(|at| MONTH_OF.get(at)).copied().unwrap_or(none)
    };
    match (&store.days, store.day) {
        (Some((days, known)), _) => {
            let mut all: Vec<u16> = days.all().iter().map(|day| place(i64::from(*day))).collect();
            blank(&mut all, known.as_ref(), none);
            all
        }
        (None, Some(day)) => vec![place(day_number(day)); store.len],
        (None, None) => vec![none; store.len],
    }
}

/// Whether the bytes of PID $01 are an engine controller's: it supports something besides comprehensive components.
fn is_engine(bytes: u32) -> bool {
    bytes & 0x0003_FF00 != 0
}

fn bytes_of(store: &Store, of: impl Fn(u32) -> u8) -> Option<Vec<u8>> {
    let (bytes, known): (&Held<u32>, _) = store.monitor_bytes.as_ref().map(|(bytes, known)| (bytes, known))?;
    let mut all: Vec<u8> = bytes.all().iter().map(|it| of(*it)).collect();
    blank(&mut all, known.as_ref(), UNKNOWN);
    Some(all)
}

fn lamp(store: &Store) -> Vec<u8> {
    if store.values(Fact::LampCommanded).is_some() {
        return words(store, Fact::LampCommanded, UNKNOWN);
    }
    let told = |bytes: u32| match (bytes >> 31 == 1, is_engine(bytes)) {
        (true, _) => 1,
        (false, true) => 0,
        (false, false) => UNKNOWN,
    };
    bytes_of(store, told).unwrap_or_else(|| vec![UNKNOWN; store.len])
}

fn stored(store: &Store) -> Vec<u8> {
    let told = |possible: &Possible| match possible {
        Possible::Codes { list: Some(list), .. } if !list.codes.is_empty() => 1,
        Possible::Codes { list: Some(list), .. } if !list.may_hold_more => 0,
        _ => UNKNOWN,
    };
    let values = store.values(Fact::StoredCodes).and_then(|values| through(values, UNKNOWN, told));
    values.unwrap_or_else(|| vec![UNKNOWN; store.len])
}

fn incomplete(store: &Store) -> Vec<u8> {
    let told = |bytes: u32| {
        let [_, b, c, d] = bytes.to_be_bytes();
        match (is_engine(bytes), b >> 4 & b & 7 != 0 || c & d != 0) {
            (false, _) => UNKNOWN,
            (true, some) => u8::from(some),
        }
    };
    let mut all = bytes_of(store, told);
    for monitor in Monitor::all() {
        let Some(values) = store.values(Fact::Monitor(monitor)) else { continue };
        let state = |possible: &Possible| match possible {
            Possible::Words(mask) if *mask == MonitorState::Incomplete.bit() => 1,
            Possible::Words(mask) if mask & MonitorState::Incomplete.bit() == 0 => 0,
            _ => UNKNOWN,
        };
        let Some(states) = through(values, UNKNOWN, state) else { continue };
        let so_far = all.get_or_insert_with(|| vec![0; store.len]);
        for (slot, state) in so_far.iter_mut().zip(states) {
            *slot = match (*slot, state) {
                (1, _) | (_, 1) => 1,
                (0, 0) => 0,
                _ => UNKNOWN,
            };
        }
    }
    all.unwrap_or_else(|| vec![UNKNOWN; store.len])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::mapping::Target;
    use crate::audit::store::Bits;

    /// Months are counted from January 1900 through December 2199, each day in its own; a day beyond them, or one that is not
    /// known, is in none. Place 0 is January 1900 and twelve make a year.
    #[test]
    fn a_day_is_in_its_month_or_in_none() {
        let dates = [(1900, 1, 1), (1900, 1, 31), (1900, 2, 1), (2024, 2, 29), (2024, 3, 1), (2199, 12, 31)];
        let days = dates.map(|(year, month, day)| day_number(Date::constant(year, month, day)));
        let expected = [0, 0, 1, 124 * 12 + 1, 124 * 12 + 2, 299 * 12 + 11];
        let none = 300 * 12;
        let number = |day: i64| i32::try_from(day).unwrap_or(0);
        let mut all: Vec<i32> = days.iter().copied().map(number).collect();
        let last = day_number(Date::constant(2199, 12, 31));
        all.extend([number(*FIRST_DAY - 1), number(last + 1), number(days[3])]);
        let len = all.len();
        // Of the last one the day is not known.
        let known = Bits { bytes: Held::Own(vec![0xFF, 0]), offset: 0 };
        let store = Store { len, days: Some((Held::Own(all), Some(known))), ..Store::default() };
        assert_eq!(Profile::of(&store).month, [&expected[..], &[none; 3]].concat());
        for (day, place) in dates.into_iter().zip(expected) {
            let store = Store { len: 2, day: Some(Date::constant(day.0, day.1, day.2)), ..Store::default() };
            assert_eq!(Profile::of(&store).month, [place; 2]);
        }
        assert_eq!(Profile::of(&Store { len: 2, ..Store::default() }).month, [none; 2]);
        assert_eq!(MONTHS, usize::from(none) + 1);
    }

    /// Model years have places of their own from 1900 through 2100, the range of the table of facts; others are not known.
    #[test]
    fn a_model_year_has_its_place_or_none() {
        let years = [1899, 1900, 1996, 2100, 2101, i64::MIN, i64::MAX].map(year_place);
        assert_eq!(years, [NO_YEAR, 0, 96, 200, NO_YEAR, NO_YEAR, NO_YEAR]);
        assert_eq!(usize::from(NO_YEAR) + 1, YEARS);
    }

    /// Some monitor is incomplete where one surely is, none where none may be; else that is not known. Two monitors, each in every
    /// state that it can be in (the truth of *or*, Kleene).
    #[test]
    fn some_monitor_is_incomplete_where_one_surely_is() {
        let states: Vec<Possible> = (1..8).map(Possible::Words).collect();
        let place = |row: usize| u8::try_from(row).unwrap_or(u8::MAX);
        let column = |monitor, of: fn(usize) -> usize| {
            let codes = (0..49).map(|row| place(of(row))).collect();
            (Target::Fact(Fact::Monitor(monitor)), Values::Bytes(Held::Own(codes), states.clone()))
        };
        let facts = vec![column(Monitor::Catalyst, |row| row / 7), column(Monitor::Evaporative, |row| row % 7)];
        let store = Store { len: 49, facts, ..Store::default() };
        let expected = (0..49).map(|row| {
            let (one, other) = (row / 7 + 1, row % 7 + 1);
            match (one == 4 || other == 4, one & 4 != 0 || other & 4 != 0) {
                (true, _) => 1,
                (false, false) => 0,
                (false, true) => UNKNOWN,
            }
        });
        assert_eq!(incomplete(&store), expected.collect::<Vec<u8>>());
        assert_eq!(incomplete(&Store { len: 2, ..Store::default() }), [UNKNOWN; 2]);
    }
}
