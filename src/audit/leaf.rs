//! Where the values of an Arrow array stand: dictionaries and runs are walked through to the array of values, whatever
//! their keys, so that one piece of code reads a value of each plain type.

use super::mapping::ahead_of_utc;
use arrow_array::cast::AsArray;
use arrow_array::types::{
    Date32Type, Date64Type, Decimal32Type, Decimal64Type, Decimal128Type, Decimal256Type, Float32Type, Float64Type,
    Int8Type, Int16Type, Int32Type, Int64Type, RunEndIndexType, TimestampMicrosecondType, TimestampMillisecondType,
    TimestampNanosecondType, TimestampSecondType, UInt8Type, UInt16Type, UInt32Type, UInt64Type,
};
use arrow_array::{Array, ArrayRef};
use arrow_schema::{DataType, TimeUnit};
use std::sync::Arc;

const SECONDS_OF_DAY: i64 = 86_400;

/// An array of values, and for each record the place of its value there.
pub(super) struct Leaf {
    /// The values: no dictionary and no runs.
    pub(super) values: ArrayRef,
    /// `None`: each record's value stands at its own place.
    places: Option<Vec<Option<usize>>>,
}

impl Leaf {
    pub(super) fn of(array: &ArrayRef) -> Leaf {
        let mut leaf = Leaf { values: Arc::clone(array), places: None };
        while let Some((inner, places)) = unwrapped(&leaf.values) {
            let through = |outer: Vec<Option<usize>>| {
                outer.into_iter().map(|at| at.and_then(|at| places.get(at).copied().flatten())).collect()
            };
            leaf = Leaf {
                values: inner,
                places: Some(match leaf.places {
                    Some(outer) => through(outer),
                    None => places,
                }),
            };
        }
        leaf
    }

    /// How many records there are.
    pub(super) fn len(&self) -> usize {
        self.places.as_ref().map_or(self.values.len(), Vec::len)
    }

    /// Whether several records may share a value.
    pub(super) fn is_wrapped(&self) -> bool {
        self.places.is_some()
    }

    /// The place of a record's value; `None` where it has none.
    pub(super) fn place(&self, row: usize) -> Option<usize> {
        let at = match &self.places {
            Some(places) => places.get(row).copied().flatten()?,
            None => row,
        };
        let is_there = at < self.values.len() && *self.values.data_type() != DataType::Null && self.values.is_valid(at);
        is_there.then_some(at)
    }
}

/// The values of a dictionary or of runs, with the place of each record's; `None` of any other array.
fn unwrapped(array: &ArrayRef) -> Option<(ArrayRef, Vec<Option<usize>>)> {
    fn run<E: RunEndIndexType>(array: &ArrayRef) -> Option<(ArrayRef, Vec<Option<usize>>)> {
        let runs = array.as_run_opt::<E>()?;
        let places = (0..array.len()).map(|row| Some(runs.get_physical_index(row))).collect();
        Some((Arc::clone(runs.values()), places))
    }
    match array.data_type() {
        DataType::Dictionary(..) => {
            let dictionary = array.as_any_dictionary_opt()?;
            let values = Arc::clone(dictionary.values());
            if values.is_empty() {
                return Some((values, vec![None; array.len()]));
            }
            let keys = dictionary.normalized_keys().into_iter().enumerate();
            let places = keys.map(|(row, key)| dictionary.keys().is_valid(row).then_some(key)).collect();
            Some((values, places))
        }
        DataType::RunEndEncoded(ends, _) => match ends.data_type() {
            DataType::Int16 => run::<Int16Type>(array),
            DataType::Int32 => run::<Int32Type>(array),
            _ => run::<Int64Type>(array),
        },
        _ => None,
    }
}

/// The type of the values themselves.
pub(super) fn leaf_type(kind: &DataType) -> &DataType {
    match kind {
        DataType::Dictionary(_, value) => leaf_type(value),
        DataType::RunEndEncoded(_, value) => leaf_type(value.data_type()),
        other => other,
    }
}

/// Whether a type is one of lists.
pub(super) fn is_list(kind: &DataType) -> bool {
    matches!(kind, DataType::List(_) | DataType::LargeList(_) | DataType::FixedSizeList(..))
}

/// The list at a place; `None` where the array holds no lists.
pub(super) fn list_at(values: &ArrayRef, at: usize) -> Option<ArrayRef> {
    match values.data_type() {
        DataType::List(_) => Some(values.as_list::<i32>().value(at)),
        DataType::LargeList(_) => Some(values.as_list::<i64>().value(at)),
        DataType::FixedSizeList(..) => Some(values.as_fixed_size_list().value(at)),
        _ => None,
    }
}

/// A whole number at a place: any width, and decimals without places behind the point.
pub(super) fn whole_at(values: &ArrayRef, at: usize) -> Option<i128> {
    Some(match values.data_type() {
        DataType::Int8 => values.as_primitive::<Int8Type>().value(at).into(),
        DataType::Int16 => values.as_primitive::<Int16Type>().value(at).into(),
        DataType::Int32 => values.as_primitive::<Int32Type>().value(at).into(),
        DataType::Int64 => values.as_primitive::<Int64Type>().value(at).into(),
        DataType::UInt8 => values.as_primitive::<UInt8Type>().value(at).into(),
        DataType::UInt16 => values.as_primitive::<UInt16Type>().value(at).into(),
        DataType::UInt32 => values.as_primitive::<UInt32Type>().value(at).into(),
        DataType::UInt64 => values.as_primitive::<UInt64Type>().value(at).into(),
        DataType::Decimal32(_, 0) => values.as_primitive::<Decimal32Type>().value(at).into(),
        DataType::Decimal64(_, 0) => values.as_primitive::<Decimal64Type>().value(at).into(),
        DataType::Decimal128(_, 0) => values.as_primitive::<Decimal128Type>().value(at),
        DataType::Decimal256(_, 0) => values.as_primitive::<Decimal256Type>().value(at).to_i128()?,
        _ => return None,
    })
}

/// The day at a place, days since 1970-01-01: of a moment, the day in the zone that is given (seconds ahead of UTC), else
/// in the one that the type names.
pub(super) fn day_at(values: &ArrayRef, at: usize, told: Option<i64>) -> Option<i64> {
    Some(match values.data_type() {
        DataType::Date32 => values.as_primitive::<Date32Type>().value(at).into(),
        DataType::Date64 => values.as_primitive::<Date64Type>().value(at).div_euclid(SECONDS_OF_DAY * 1_000),
        DataType::Timestamp(unit, named) => {
            let ahead = match (named, told) {
                (None, _) => 0,
                (Some(_), Some(ahead)) => ahead,
                (Some(named), None) => ahead_of_utc(named)?,
            };
            let (value, parts) = match unit {
                TimeUnit::Second => (values.as_primitive::<TimestampSecondType>().value(at), 1),
                TimeUnit::Millisecond => (values.as_primitive::<TimestampMillisecondType>().value(at), 1_000),
                TimeUnit::Microsecond => (values.as_primitive::<TimestampMicrosecondType>().value(at), 1_000_000),
                TimeUnit::Nanosecond => (values.as_primitive::<TimestampNanosecondType>().value(at), 1_000_000_000),
            };
            (value.div_euclid(parts) + ahead).div_euclid(SECONDS_OF_DAY)
        }
        _ => return None,
    })
}

/// A day as ISO 8601 writes it; beyond the calendar, its number.
pub(super) fn day_text(day: i64) -> Vec<u8> {
    crate::model::date_of(day).map_or_else(|| day.to_string(), |date| date.to_string()).into_bytes()
}

/// A decimal number without the noughts that end it behind the point, which say nothing.
fn decimal(text: String) -> Vec<u8> {
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').as_bytes().to_vec()
    } else {
        text.into_bytes()
    }
}

/// The text at a place, of an array that holds texts.
pub(super) fn lent(values: &ArrayRef, at: usize) -> Option<&str> {
    match values.data_type() {
        DataType::Utf8 => Some(values.as_string::<i32>().value(at)),
        DataType::LargeUtf8 => Some(values.as_string::<i64>().value(at)),
        DataType::Utf8View => Some(values.as_string_view().value(at)),
        _ => None,
    }
}

/// A value as text. A type that has no text of its own gives an empty one: [`super::arrow::refused`] stands before.
pub(super) fn text_at(values: &ArrayRef, at: usize) -> Vec<u8> {
    if let Some(text) = lent(values, at) {
        return text.as_bytes().to_vec();
    }
    match values.data_type() {
        DataType::Binary => values.as_binary::<i32>().value(at).to_vec(),
        DataType::LargeBinary => values.as_binary::<i64>().value(at).to_vec(),
        DataType::BinaryView => values.as_binary_view().value(at).to_vec(),
        DataType::FixedSizeBinary(_) => values.as_fixed_size_binary().value(at).to_vec(),
        DataType::Boolean => values.as_boolean().value(at).to_string().into_bytes(),
        DataType::Float32 => values.as_primitive::<Float32Type>().value(at).to_string().into_bytes(),
        DataType::Float64 => values.as_primitive::<Float64Type>().value(at).to_string().into_bytes(),
        DataType::Decimal32(..) => decimal(values.as_primitive::<Decimal32Type>().value_as_string(at)),
        DataType::Decimal64(..) => decimal(values.as_primitive::<Decimal64Type>().value_as_string(at)),
        DataType::Decimal128(..) => decimal(values.as_primitive::<Decimal128Type>().value_as_string(at)),
        DataType::Decimal256(..) => decimal(values.as_primitive::<Decimal256Type>().value_as_string(at)),
        _ => match (day_at(values, at, None), whole_at(values, at)) {
            (Some(day), _) => day_text(day),
            (_, Some(number)) => number.to_string().into_bytes(),
            (None, None) => Vec::new(),
        },
    }
}
