//! The quick ways from a field to a number, and columns of numbers in which some are no plain numbers.

use super::store::{Held, Values, possible};
use crate::model::facts::Possible;
use crate::model::{Fact, FactType, Reading, Value, spec};
use std::sync::Arc;

/// A number of at most nine digits and nothing else. Up to eight, with eight bytes at hand from the first one on, are read
/// at once.
#[inline]
pub(super) fn plain_number(bytes: &[u8], from: usize, to: usize) -> Option<i32> {
    let len = to.checked_sub(from)?;
    match bytes.get(from..).and_then(|rest| rest.first_chunk::<8>()) {
        Some(eight) if (1..=8).contains(&len) => eight_at_most(*eight, len),
        _ => one_by_one(bytes.get(from..to)?),
    }
}

/// The number that the first `len` of eight bytes, 1 to 8, are the digits of.
#[inline]
fn eight_at_most(eight: [u8; 8], len: usize) -> Option<i32> {
    // The last digit is brought to the highest byte; noughts come before the first.
    let empty = u32::try_from(8 - len.min(8)).unwrap_or(0) * 8;
    let digits = (u64::from_le_bytes(eight) ^ 0x3030_3030_3030_3030).checked_shl(empty)?;
    // A byte over 9 has its highest bit set, or has it set when 118 is added.
    if (digits | digits.wrapping_add(0x7676_7676_7676_7676)) & 0x8080_8080_8080_8080 != 0 {
        return None;
    }
    // Neighbours become numbers of two digits, these of four, these one of eight.
    let twos = (digits * 10 + (digits >> 8)) & 0x00FF_00FF_00FF_00FF;
    let fours = (twos * 100 + (twos >> 16)) & 0x0000_FFFF_0000_FFFF;
    let number = (fours * 10_000 + (fours >> 32)) & 0xFFFF_FFFF;
    i32::try_from(number).ok()
}

fn one_by_one(text: &[u8]) -> Option<i32> {
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

    proptest::proptest! {
        /// As the standard library reads it, which also takes a sign: of as many bytes as there are, wherever they stand.
        #[test]
        fn a_number_is_its_digits(
            text in proptest::prop_oneof!["[0-9]{0,12}", "[0-9]{0,4}[ -~\u{80}-\u{ff}][0-9]{0,4}"],
            before in "[0-9a-z]{0,9}",
            after in proptest::prop_oneof![proptest::strategy::Just(String::new()), "[0-9,\n]{1,12}"],
        ) {
            let bytes = [before.as_bytes(), text.as_bytes(), after.as_bytes()].concat();
            let expected = text.parse().ok().filter(|_| text.len() < 10 && !text.starts_with(['+', '-']));
            let (from, to) = (before.len(), before.len() + text.len());
            proptest::prop_assert_eq!(plain_number(&bytes, from, to), expected, "{}", text);
        }
    }

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
