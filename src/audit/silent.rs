//! Records of vehicles that did not answer: files fill the reader's columns of such a record by default, and a default is
//! no reading. What only an answer could tell is left unread there, and the records are counted.

use super::mapping::Target;
use super::store::{Bits, Held, Store, Values};
use crate::model::exclusion::needs_an_answer;
use crate::model::facts::{Possible, meets, whole};
use crate::model::{Constraint, Fact};
use std::sync::Arc;

/// Leaves unread what no reader can have read of a vehicle that did not answer. For each record, whether anything was;
/// empty where nothing was of any.
#[must_use]
pub fn leave_unread(store: &mut Store) -> Vec<bool> {
    let Some(silent) = silent(store) else { return Vec::new() };
    let mut left = vec![false; store.len];
    for (target, values) in &mut store.facts {
        if let Target::Fact(fact) = target
            && let Some(constraint) = needs_an_answer(*fact)
        {
            unread(values, *fact, constraint, &silent, &mut left);
        }
    }
    if let Some((bytes, known)) = &mut store.monitor_bytes {
        clear(bytes.all().len(), known, &silent, &mut left);
    }
    if left.contains(&true) { left } else { Vec::new() }
}

/// The records that say that the vehicle did not answer, if any does.
fn silent(store: &Store) -> Option<Vec<bool>> {
    let values = store.values(Fact::Communication)?;
    let none = Possible::Words(Fact::Communication.word_bit("none")?);
    let rows: Vec<bool> = (0..store.len).map(|row| values.meaning(row) == Some(&none)).collect();
    rows.contains(&true).then_some(rows)
}

fn unread(values: &mut Values, fact: Fact, constraint: Constraint, silent: &[bool], left: &mut [bool]) {
    let tells = |row| values.meaning(row).is_some_and(|possible| meets(constraint, possible).1);
    let rows = rows_that_tell(silent, tells);
    match values {
        Values::Bytes(codes, meaning) if !rows.is_empty() => {
            let code = u8::try_from(place_of_unknown(meaning, fact));
            code.into_iter().for_each(|code| put(codes, code, &rows, left));
        }
        Values::Coded(codes, meaning) if !rows.is_empty() => {
            let code = u32::try_from(place_of_unknown(Arc::make_mut(meaning), fact));
            code.into_iter().for_each(|code| put(codes, code, &rows, left));
        }
        Values::Bytes(..) | Values::Coded(..) | Values::Declared(..) => {}
        Values::Short(values, _, known) => clear(values.all().len(), known, silent, left),
        Values::Whole(values, _, known) => clear(values.all().len(), known, silent, left),
        Values::Long(values, _, known) => clear(values.all().len(), known, silent, left),
    }
}

fn rows_that_tell(silent: &[bool], tells: impl Fn(usize) -> bool) -> Vec<usize> {
    silent.iter().enumerate().filter(|(row, silent)| **silent && tells(*row)).map(|(row, _)| row).collect()
}

/// The place of *not known* among the meanings, added where it is missing.
fn place_of_unknown(meaning: &mut Vec<Possible>, fact: Fact) -> usize {
    let unknown = whole(fact);
    meaning.iter().position(|possible| possible == unknown).unwrap_or_else(|| {
        meaning.push(unknown.clone());
        meaning.len() - 1
    })
}

fn put<T: Copy>(codes: &mut Held<T>, code: T, rows: &[usize], left: &mut [bool]) {
    let mut own = codes.all().to_vec();
    for row in rows {
        if let (Some(slot), Some(left)) = (own.get_mut(*row), left.get_mut(*row)) {
            *slot = code;
            *left = true;
        }
    }
    *codes = Held::Own(own);
}

/// Takes away what is known of the silent records of a column of numbers.
fn clear(len: usize, known: &mut Option<Bits>, silent: &[bool], left: &mut [bool]) {
    let is_known = |row: usize| known.as_ref().is_none_or(|known| known.is(row));
    let rows: Vec<usize> = rows_that_tell(silent, |row| row < len && is_known(row));
    if rows.is_empty() {
        return;
    }
    let mut bytes = vec![0u8; len.div_ceil(8)];
    for row in (0..len).filter(|row| is_known(*row) && silent.get(*row) != Some(&true)) {
        if let Some(byte) = bytes.get_mut(row / 8) {
            *byte |= 1 << (row % 8);
        }
    }
    for row in rows {
        if let Some(left) = left.get_mut(row) {
            *left = true;
        }
    }
    *known = Some(Bits { bytes: Held::Own(bytes), offset: 0 });
}

#[cfg(test)]
mod tests {
    use super::*;

    /// *Not known* has a place of its own among the meanings of a column: the one it has, or a new one behind the others.
    #[test]
    fn not_known_has_one_place_among_the_meanings() {
        let fact = Fact::LampCommanded;
        let mut meaning = vec![Possible::Words(0b01), Possible::Words(0b10)];
        for _ in 0..2 {
            assert_eq!(place_of_unknown(&mut meaning, fact), 2);
            assert_eq!(meaning, [Possible::Words(0b01), Possible::Words(0b10), whole(fact).clone()]);
        }
        meaning.swap(1, 2);
        assert_eq!(place_of_unknown(&mut meaning, fact), 1);
    }
}
