//! From arrays of values to columns: what a reader of columns lends is taken as it is where the mapping says nothing else.
//! A value that is out of range leaves a remark; the record is then set aside.

use super::fields::{Builder, Fields, Kind};
use super::mapping::{Field, Target, range_of};
use super::store::{Bits, Held, Values};
use super::table::{Lot, aside};
use crate::model::{Date, Fact, Unit, date_of, day_number};

/// A code of a dictionary entry that cannot be used.
const BAD: u32 = u32::MAX;

impl Fields {
    /// Takes a column of places in a dictionary of texts. `is_known` says of a record whether it has a value. Gives
    /// `false`, and takes nothing, where the mapping reads the column otherwise than by its words.
    pub fn take_dictionary(
        &mut self,
        column: usize,
        keys: &[i32],
        is_known: &dyn Fn(usize) -> bool,
        values: &[&[u8]],
        lot: &mut Lot,
    ) -> bool {
        let Some(builder) = self.columns.get_mut(column) else { return false };
        match builder.kind {
            Kind::Words(_)
            | Kind::Coded(..)
            | Kind::Declared(..)
            | Kind::Program(_)
            | Kind::Recorded(_)
            | Kind::Overall(_) => {}
            Kind::Id | Kind::Number(..) | Kind::Date(_) | Kind::Status => return false,
        }
        builder.begin(values.len());
        let read: Vec<Result<u32, String>> = values.iter().map(|text| builder.entry(text)).collect();
        let unknown = builder.unknown();
        let table: Vec<u32> = read.iter().map(|code| code.as_ref().copied().unwrap_or(BAD)).collect();
        let any_bad = table.contains(&BAD);
        let at = |key: &i32| usize::try_from(*key).ok().and_then(|at| table.get(at)).copied().unwrap_or(unknown);
        let mut codes: Vec<u32> = keys.iter().map(at).collect();
        for (row, code) in codes.iter_mut().enumerate() {
            if !is_known(row) {
                *code = unknown;
            } else if any_bad && *code == BAD {
                *code = unknown;
                let key = keys.get(row).and_then(|key| usize::try_from(*key).ok()).unwrap_or(0);
                if let (Some(Err(reason)), Some(text)) = (read.get(key), values.get(key)) {
                    aside(lot, row, &builder.column.name, text, reason.clone());
                }
            }
        }
        builder.put(codes, lot);
        true
    }

    /// Takes a column of whole numbers in the mapping's unit. Gives `false`, and takes nothing, for another column.
    pub fn take_numbers(
        &mut self,
        column: usize,
        values: Held<i32>,
        known: Option<Bits>,
        lot: &mut Lot,
    ) -> Option<(Held<i32>, Option<Bits>)> {
        let Some(Builder { kind: Kind::Number(fact, unit), column, .. }) = self.columns.get(column) else {
            return Some((values, known));
        };
        let (fact, unit, name) = (*fact, *unit, column.name.clone());
        let known = within(&values, known, range(fact, unit), |row, value| {
            let text = value.to_string();
            aside(lot, row, &name, text.as_bytes(), format!("is out of range: {}", shown_range(fact, unit)));
        });
        lot.store.facts.push((Target::Fact(fact), Values::Whole(values, unit.scale(), known)));
        None
    }

    /// Takes a column of day numbers (days since 1970-01-01). Gives the column back where the mapping has no date there.
    pub fn take_days(
        &mut self,
        column: usize,
        values: Held<i32>,
        known: Option<Bits>,
        lot: &mut Lot,
    ) -> Option<(Held<i32>, Option<Bits>)> {
        let Some(Builder { kind: Kind::Date(fact), column, .. }) = self.columns.get(column) else {
            return Some((values, known));
        };
        let (fact, name) = (*fact, column.name.clone());
        let bounds = (day_number(Date::constant(1900, 1, 1)), day_number(Date::constant(2199, 12, 31)));
        let known = within(&values, known, bounds, |row, value| {
            let text = date_of(i64::from(value)).map_or_else(|| value.to_string(), |date| date.to_string());
            aside(lot, row, &name, text.as_bytes(), "is no date from 1900 through 2199".to_owned());
        });
        if fact == Fact::TestDate {
            lot.store.days = Some((values, known));
        } else {
            lot.store.facts.push((Target::Fact(fact), Values::Whole(values, 1, known)));
        }
        None
    }

    /// Takes a column of the four bytes of PID $01, the first the highest. Gives the column back where the mapping has
    /// none there.
    pub fn take_status(
        &mut self,
        column: usize,
        values: Held<u32>,
        known: Option<Bits>,
        lot: &mut Lot,
    ) -> Option<(Held<u32>, Option<Bits>)> {
        match self.columns.get(column) {
            Some(Builder { kind: Kind::Status, .. }) => {
                lot.store.monitor_bytes = Some((values, known));
                None
            }
            _ => Some((values, known)),
        }
    }

    /// Whether the mapping reads a column as a number, as it stands.
    #[must_use]
    pub fn is_number(&self, column: usize) -> bool {
        matches!(self.columns.get(column), Some(Builder { kind: Kind::Number(..), .. }))
    }

    /// Whether the mapping reads a column as a date.
    #[must_use]
    pub fn is_date(&self, column: usize) -> bool {
        matches!(self.columns.get(column), Some(Builder { kind: Kind::Date(_), .. }))
    }

    /// Whether the mapping reads a column as the bytes of PID $01.
    #[must_use]
    pub fn is_status(&self, column: usize) -> bool {
        matches!(self.columns.get(column), Some(Builder { kind: Kind::Status, .. }))
    }

    /// Whether a column is read by what its texts mean, each once.
    #[must_use]
    pub fn is_coded(&self, column: usize) -> bool {
        matches!(
            self.columns.get(column).map(|builder| &builder.kind),
            Some(
                Kind::Words(_)
                    | Kind::Coded(..)
                    | Kind::Declared(..)
                    | Kind::Program(_)
                    | Kind::Recorded(_)
                    | Kind::Overall(_)
            )
        )
    }

    /// What a text of a column says, for values that are no texts.
    ///
    /// # Errors
    /// With the reason where it cannot be used.
    pub fn field(&self, column: usize, text: &[u8]) -> Result<Field, String> {
        self.columns.get(column).map_or(Ok(Field::NotKnown), |builder| builder.column.field(text))
    }
}

/// The range of a number in whole ones of a unit, widened to what may lie in it.
fn range(fact: Fact, unit: Unit) -> (i64, i64) {
    let (least, most) = range_of(fact).unwrap_or((i64::MIN, i64::MAX));
    (least.div_euclid(unit.scale()) + i64::from(least.rem_euclid(unit.scale()) != 0), most.div_euclid(unit.scale()))
}

fn shown_range(fact: Fact, unit: Unit) -> String {
    let (least, most) = range_of(fact).unwrap_or((i64::MIN, i64::MAX));
    format!("it can be {} through {}", unit.show(least), unit.show(most))
}

/// Which records are known and within bounds; `out` is told of those that are known and out of them.
fn within(
    values: &Held<i32>,
    known: Option<Bits>,
    (least, most): (i64, i64),
    mut out: impl FnMut(usize, i32),
) -> Option<Bits> {
    let all = values.all();
    // Most columns are within bounds as a whole, which is seen without looking at single records.
    let (lowest, highest) = all.iter().fold((i32::MAX, i32::MIN), |(low, high), it| (low.min(*it), high.max(*it)));
    if all.is_empty() || (i64::from(lowest) >= least && i64::from(highest) <= most) {
        return known;
    }
    let mut bytes = vec![0u8; all.len().div_ceil(8)];
    for (row, value) in all.iter().enumerate() {
        let is_known = known.as_ref().is_none_or(|known| known.is(row));
        let fits = (least..=most).contains(&i64::from(*value));
        if is_known && !fits {
            out(row, *value);
        }
        if let (true, Some(byte)) = (is_known && fits, bytes.get_mut(row / 8)) {
            *byte |= 1 << (row % 8);
        }
    }
    Some(Bits { bytes: Held::Own(bytes), offset: 0 })
}
