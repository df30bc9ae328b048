//! The quick ways from a field to a number, and columns of numbers in which some are no plain numbers.

use super::store::{Held, Values, possible};
use crate::model::facts::Possible;
use crate::model::{Fact, FactType, Reading, Value, spec};
use std::sync::Arc;

/// A number of at most nine digits and nothing else.
pub(super) fn plain_number(text: &[u8]) -> Option<i32> {
    if text.is_empty() || text.len() > 9 {
        return None;
    }
    let mut number = 0i32;
    for byte in text {
        let digit = byte.wrapping_sub(b'0');
        if digit > 9 {
            return None;
        }
        number = number * 10 + i32::from(digit);
    }
    Some(number)
}

/// Eight hexadecimal digits and nothing else.
pub(super) fn eight_digits(text: &[u8]) -> Option<u32> {
    let digits: &[u8; 8] = text.try_into().ok()?;
    let mut number = 0u32;
    let mut is_wrong = false;
    for byte in digits {
        // Letters lie 0x40 above their place, digits 0x30: both give their value in the low bits, letters less nine.
        let is_letter = byte >> 6;
        number = number << 4 | u32::from((byte & 15) + 9 * is_letter);
        is_wrong |= !byte.is_ascii_hexdigit();
    }
    (!is_wrong).then_some(number)
}

/// A column of numbers in which some are *not on this vehicle*, or have fractions: as codes, or in base units.
pub(super) fn with_odd(fact: Fact, values: &[i32], scale: i64, known: &[u8], odd: &[(usize, Option<i64>)]) -> Values {
    let is_known = |row: usize| known.get(row / 8).is_some_and(|byte| byte >> (row % 8) & 1 == 1);
    let mut bases: Vec<Option<Option<i64>>> =
        (0..).zip(values).map(|(row, value)| is_known(row).then(|| Some(i64::from(*value) * scale))).collect();
    for (row, value) in odd {
        if let Some(slot) = bases.get_mut(*row) {
            *slot = Some(*value);
        }
    }
    let mut meaning: Vec<Possible> = Vec::new();
    let mut places: std::collections::BTreeMap<Option<Option<i64>>, u32> = std::collections::BTreeMap::new();
    let codes = bases
        .into_iter()
        .map(|base| {
            *places.entry(base).or_insert_with(|| {
                let reading =
                    base.map(|base| base.map_or(Reading::NotOnVehicle, |it| Reading::Known(value_of(fact, it))));
                meaning.push(possible(fact, reading.as_ref()));
                u32::try_from(meaning.len() - 1).unwrap_or(0)
            })
        })
        .collect();
    Values::Coded(Held::Own(codes), Arc::new(meaning))
}

fn value_of(fact: Fact, base: i64) -> Value {
    match spec(fact).kind {
        FactType::Date => crate::model::date_of(base).map_or(Value::Number(base), Value::Date),
        _ => Value::Number(base),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::facts::{Span, whole};

    /// Row by row: what is odd is taken as it is told, what is known in base units, and the rest is not known.
    #[test]
    fn each_row_is_odd_known_or_not_known() {
        let fact = Fact::WarmUps;
        let values: Vec<i32> = (20..31).collect();
        let known = [0b1010_1011, 0b0000_0101];
        let odd = [(2, None), (3, Some(77)), (10, None)];
        let found = with_odd(fact, &values, 3, &known, &odd);
        let number = |it| Possible::Number(Span { least: it, most: it, may_be_absent: false });
        for (row, value) in values.iter().enumerate() {
            let expected = match row {
                2 | 10 => Possible::Number(Span { least: 1, most: 0, may_be_absent: true }),
                3 => number(77),
                // The bits of `known`, from the lowest of the first byte on.
                0 | 1 | 5 | 7 | 8 => number(i64::from(*value) * 3),
                _ => whole(fact).clone(),
            };
            assert_eq!(found.meaning(row), Some(&expected), "row {row}");
        }
    }
}
