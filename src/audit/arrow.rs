//! Arrow record batches to lots of records: the step from a reader of columns to the engine. Whole numbers, dates and
//! dictionaries of texts are lent as they lie; whatever else a library writes (other widths, views, runs, dictionaries of
//! any key and value, decimals, moments) is taken by value, never by a guess. A type that cannot be read as what the
//! mapping says is refused with the reason.

use super::fields::Fields;
use super::leaf::{Leaf, day_at, is_list, leaf_type, text_at, whole_at};
use super::mapping::{Column, Holds, Reads, Target, ahead_of_utc};
use super::store::{Bits, Held, Store};
use super::table::{EMPTY_LIST, Lot, MISSING, Table, aside};
use arrow_array::cast::AsArray;
use arrow_array::types::{
    Date32Type, Int8Type, Int16Type, Int32Type, Int64Type, UInt8Type, UInt16Type, UInt32Type, UInt64Type,
};
use arrow_array::{Array, ArrayRef, ArrowPrimitiveType, RecordBatch};
use arrow_schema::DataType;
use std::borrow::Cow;

/// A lot of the records of a batch: `places[n]` is the place in the batch of the mapping's column *n*. Records of which a
/// column cannot be read as the mapping says are set aside.
#[must_use]
pub fn lot(batch: &RecordBatch, places: &[usize], fields: &mut Fields) -> Lot {
    let mut lot = Lot { store: Store { len: batch.num_rows(), ..Store::default() }, ..Lot::default() };
    for (column, place) in places.iter().enumerate() {
        let Some(array) = batch.columns().get(*place) else { continue };
        take(array, column, fields, &mut lot);
    }
    fields.finish(&mut lot);
    lot
}

/// Why a column of this type cannot be read as the mapping says; `None` where it can.
#[must_use]
pub fn refused(column: &Column, kind: &DataType) -> Option<String> {
    use DataType as T;
    let leaf = leaf_type(kind);
    let no = |why: &str| Some(format!("column \"{}\" is of type {kind}: {why}", column.name));
    if *leaf == T::Null || column.holds == Holds::RecordId {
        return None;
    }
    if is_list(leaf) {
        let entries = match leaf {
            T::List(entry) | T::LargeList(entry) | T::FixedSizeList(entry, _) => leaf_type(entry.data_type()),
            other => other,
        };
        let takes_lists = matches!(&column.holds, Holds::Fact(_, Reads::Codes(..) | Reads::Monitors(..)));
        return match entries {
            _ if !takes_lists => no("only trouble codes and names of monitors stand in lists"),
            T::Utf8 | T::LargeUtf8 | T::Utf8View | T::Null => None,
            _ => no("the entries of such a list are texts"),
        };
    }
    let is_text = is_bytes(leaf) || matches!(leaf, T::Utf8 | T::LargeUtf8 | T::Utf8View);
    let is_decimal = matches!(leaf, T::Decimal32(..) | T::Decimal64(..) | T::Decimal128(..) | T::Decimal256(..));
    let is_day = matches!(leaf, T::Date32 | T::Date64 | T::Timestamp(..));
    let is_float = matches!(leaf, T::Float32 | T::Float64);
    if !(is_text || is_decimal || is_day || is_float || leaf.is_integer() || *leaf == T::Boolean) {
        return no("no mapping reads such values");
    }
    if let (T::Timestamp(_, Some(named)), None) = (leaf, column.zone) {
        match ahead_of_utc(named) {
            None => {
                return no(
                    "these are moments in a time zone with rules of its own, and on which day of it each falls is \
                           not worked out here; write dates, or give the column a zone in the mapping, as \
                           zone = \"-07:00\"",
                );
            }
            // An evening west of Greenwich is the next day there.
            Some(0) => {
                return no(
                    "these are moments in UTC, and on which day each falls where the test was is not told; write \
                           dates, or give the column the zone of the place in the mapping, as zone = \"-07:00\" \
                           (zone = \"UTC\" if the times of day are the place's own)",
                );
            }
            Some(_) => {}
        }
    }
    match &column.holds {
        Holds::MonitorStatus if is_text || leaf.is_integer() => None,
        Holds::MonitorStatus => match leaf {
            T::Decimal32(_, 0) | T::Decimal64(_, 0) | T::Decimal128(_, 0) | T::Decimal256(_, 0) => None,
            _ => no("the four bytes of PID $01 are a whole number, four bytes, or eight hexadecimal digits as text; \
                     write the column as one of these"),
        },
        Holds::Fact(_, Reads::Number(..)) if *leaf == T::Boolean || is_day => no("a number is expected"),
        Holds::Fact(_, Reads::Date(_)) if is_float || is_decimal || *leaf == T::Boolean => no("a date is expected"),
        Holds::Fact(_, Reads::Codes(..)) if !is_text => no("trouble codes are texts, or lists of texts"),
        Holds::Fact(_, Reads::Monitors(..)) if !is_text => no("names of monitors are texts, or lists of texts"),
        Holds::Fact(..) | Holds::RecordId | Holds::Program(_) | Holds::Recorded(_) | Holds::Overall(_) => None,
    }
}

fn take(array: &ArrayRef, column: usize, fields: &mut Fields, lot: &mut Lot) {
    let Some(mapped) = fields.columns().nth(column).cloned() else { return };
    let leaf = Leaf::of(array);
    if let Some(reason) = refused(&mapped, array.data_type()) {
        for row in (0..array.len()).filter(|row| leaf.place(*row).is_some()) {
            aside(lot, row, &mapped.name, b"", reason.clone());
        }
        fields.read_column(column, &nothing(array.len()), 0, lot);
        return;
    }
    let done = match &mapped.holds {
        Holds::MonitorStatus => status(&leaf, &mapped, column, fields, lot),
        Holds::Fact(Target::Fact(_), Reads::Number(..)) => numbers(array, &mapped, column, fields, lot),
        Holds::Fact(Target::Fact(_), Reads::Date(_)) => days(array, &leaf, &mapped, column, fields, lot),
        _ => dictionary(array, &leaf, column, fields, lot),
    };
    if !done {
        let separator = match &mapped.holds {
            Holds::Fact(_, Reads::Codes(list, _) | Reads::Monitors(list, _)) => list.separator,
            _ => ' ',
        };
        let table = table(&leaf, array.len(), separator, &mapped.name, lot);
        fields.read_column(column, &table, 0, lot);
    }
}

fn is_bytes(kind: &DataType) -> bool {
    matches!(kind, DataType::Binary | DataType::LargeBinary | DataType::BinaryView | DataType::FixedSizeBinary(_))
}

/// A column in which nothing is known.
fn nothing(len: usize) -> Table {
    let mut table = Table { width: 1, len, places: vec![MISSING; len], ..Table::default() };
    table.pad();
    table
}

/// Whether a column has texts of its own for *not known* and *not on this vehicle*: then values are looked at one by one.
fn has_marks(column: &Column) -> bool {
    column.has_mark(|mark| !mark.is_empty())
}

fn bits(array: &dyn Array) -> Option<Bits> {
    let nulls = array.nulls().filter(|nulls| nulls.null_count() > 0)?;
    let buffer = nulls.inner();
    Some(Bits { bytes: Held::Lent(Box::new(Lent(buffer.inner().clone()))), offset: buffer.offset() })
}

/// Bits of what is known and what is not.
fn filled(known: impl ExactSizeIterator<Item = bool>) -> Option<Bits> {
    let mut bytes = vec![0u8; known.len().div_ceil(8)];
    for (row, known) in known.enumerate() {
        if let (true, Some(byte)) = (known, bytes.get_mut(row / 8)) {
            *byte |= 1 << (row % 8);
        }
    }
    Some(Bits { bytes: Held::Own(bytes), offset: 0 })
}

/// Bytes that an Arrow buffer lends.
struct Lent(arrow_buffer::Buffer);

impl AsRef<[u8]> for Lent {
    fn as_ref(&self) -> &[u8] {
        self.0.as_slice()
    }
}

fn lent<T: ArrowPrimitiveType>(array: &ArrayRef) -> Held<T::Native> {
    Held::Lent(Box::new(array.as_primitive::<T>().values().clone()))
}

/// Numbers of another width as numbers of four bytes; `None` where they do not all fit.
fn narrowed<T: ArrowPrimitiveType>(array: &ArrayRef) -> Option<Held<i32>>
where
    i32: TryFrom<T::Native>,
{
    let array = array.as_primitive::<T>();
    let all: Result<Vec<i32>, _> = array
        .values()
        .iter()
        .enumerate()
        .map(|(row, value)| if array.is_null(row) { Ok(0) } else { i32::try_from(*value) })
        .collect();
    all.ok().map(Held::Own)
}

/// Texts by what each different one means, looked at once a batch; `false` where the column goes by its texts one by one.
fn dictionary(array: &ArrayRef, leaf: &Leaf, column: usize, fields: &mut Fields, lot: &mut Lot) -> bool {
    if !fields.is_coded(column) || is_list(leaf.values.data_type()) {
        return false;
    }
    if let DataType::Dictionary(key, value) = array.data_type()
        && **key == DataType::Int32
        && **value == DataType::Utf8
        && leaf.values.null_count() == 0
    {
        let lent = array.as_dictionary::<Int32Type>();
        let values = lent.values().as_string::<i32>();
        let texts: Vec<&[u8]> = (0..values.len()).map(|at| values.value(at).as_bytes()).collect();
        let nulls = array.nulls().filter(|nulls| nulls.null_count() > 0);
        let is_known = |row: usize| nulls.is_none_or(|nulls| nulls.is_valid(row));
        return fields.take_dictionary(column, lent.keys().values(), &is_known, &texts, lot);
    }
    if !leaf.is_wrapped() {
        return false;
    }
    let texts: Vec<Vec<u8>> = (0..leaf.values.len()).map(|at| text_at(&leaf.values, at)).collect();
    let texts: Vec<&[u8]> = texts.iter().map(Vec::as_slice).collect();
    let keys: Vec<i32> =
        (0..array.len()).map(|row| leaf.place(row).and_then(|at| i32::try_from(at).ok()).unwrap_or(i32::MAX)).collect();
    fields.take_dictionary(column, &keys, &|row| leaf.place(row).is_some(), &texts, lot)
}

fn numbers(array: &ArrayRef, mapped: &Column, column: usize, fields: &mut Fields, lot: &mut Lot) -> bool {
    if has_marks(mapped) {
        return false;
    }
    let values = match array.data_type() {
        DataType::Int32 => Some(lent::<Int32Type>(array)),
        DataType::Int8 => narrowed::<Int8Type>(array),
        DataType::Int16 => narrowed::<Int16Type>(array),
        DataType::Int64 => narrowed::<Int64Type>(array),
        DataType::UInt8 => narrowed::<UInt8Type>(array),
        DataType::UInt16 => narrowed::<UInt16Type>(array),
        DataType::UInt32 => narrowed::<UInt32Type>(array),
        DataType::UInt64 => narrowed::<UInt64Type>(array),
        _ => None,
    };
    values.is_some_and(|values| fields.take_numbers(column, values, bits(array), lot).is_none())
}

fn days(array: &ArrayRef, leaf: &Leaf, mapped: &Column, column: usize, fields: &mut Fields, lot: &mut Lot) -> bool {
    if !matches!(leaf.values.data_type(), DataType::Date32 | DataType::Date64 | DataType::Timestamp(..)) {
        return false;
    }
    if *array.data_type() == DataType::Date32 && !has_marks(mapped) {
        return fields.take_days(column, lent::<Date32Type>(array), bits(array), lot).is_none();
    }
    let mut values = Vec::with_capacity(array.len());
    let mut known = Vec::with_capacity(array.len());
    for row in 0..array.len() {
        let day = leaf.place(row).and_then(|at| day_at(&leaf.values, at, mapped.zone));
        let text = day.map_or_else(Vec::new, super::leaf::day_text);
        let is = |list: &[String]| day.is_some() && list.iter().any(|mark| mark.as_bytes() == text);
        if is(&mapped.not_on_vehicle) {
            let reason = "means not on this vehicle, and every vehicle has this one";
            aside(lot, row, &mapped.name, &text, reason.to_owned());
        }
        let day = day.filter(|_| !is(&mapped.not_known) && !is(&mapped.not_on_vehicle));
        // A day that is out of reach of four bytes is out of range anyway.
        values.push(day.map_or(0, |day| i32::try_from(day).unwrap_or(i32::MAX)));
        known.push(day.is_some());
    }
    fields.take_days(column, Held::Own(values), filled(known.into_iter()), lot).is_none()
}

/// The bytes of PID $01 by value: whole numbers of any width, and bytes as they are.
fn status(leaf: &Leaf, mapped: &Column, column: usize, fields: &mut Fields, lot: &mut Lot) -> bool {
    let kind = leaf.values.data_type();
    if !leaf.is_wrapped() && *kind == DataType::UInt32 && !has_marks(mapped) {
        let array = &leaf.values;
        return fields.take_status(column, lent::<UInt32Type>(array), bits(array), lot).is_none();
    }
    let of_bytes = is_bytes(kind);
    if !of_bytes && matches!(kind, DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View | DataType::Null) {
        return false;
    }
    let len = leaf.len();
    let mut values = vec![0u32; len];
    let mut known = vec![false; len];
    for (row, (value, known)) in values.iter_mut().zip(&mut known).enumerate() {
        let Some(at) = leaf.place(row) else { continue };
        let text = text_at(&leaf.values, at);
        if mapped.not_known.iter().any(|mark| !mark.is_empty() && mark.as_bytes() == text) {
            continue;
        }
        let found = if of_bytes { status_of_bytes(&text) } else { status_of_number(&leaf.values, at) };
        match found {
            Ok(bytes) => (*value, *known) = (bytes, true),
            Err(reason) => aside(lot, row, &mapped.name, &text, reason),
        }
    }
    fields.take_status(column, Held::Own(values), filled(known.into_iter()), lot).is_none()
}

fn status_of_number(values: &ArrayRef, at: usize) -> Result<u32, String> {
    let number = whole_at(values, at);
    number.and_then(|number| u32::try_from(number).ok()).ok_or_else(|| {
        let most = u32::MAX;
        match number {
            Some(..0) => format!(
                "is below nothing: the four bytes of PID $01 are a whole number from 0 through {most}; a column of 64 bits \
                 holds them all"
            ),
            _ => format!("is no number of four bytes: those of PID $01 are a whole number from 0 through {most}"),
        }
    })
}

/// Four bytes, six with the `41 01` of the response before them, or the text of their hexadecimal digits.
fn status_of_bytes(bytes: &[u8]) -> Result<u32, String> {
    match bytes {
        [a, b, c, d] | [0x41, 0x01, a, b, c, d] => Ok(u32::from_be_bytes([*a, *b, *c, *d])),
        text => super::mapping::status_bytes(super::mapping::trimmed(text))
            .map(u32::from_be_bytes)
            .ok_or_else(|| "is not the four bytes of PID $01".to_owned()),
    }
}

/// A column as texts: a table of one column. A list with an entry that is not there sets its record aside: how long the
/// list is meant to be cannot be told.
fn table(leaf: &Leaf, len: usize, separator: char, name: &str, lot: &mut Lot) -> Table {
    let mut table = Table { width: 1, len, ..Table::default() };
    for row in 0..len {
        let Some(at) = leaf.place(row) else {
            table.places.push(MISSING);
            continue;
        };
        let Some(list) = super::leaf::list_at(&leaf.values, at) else {
            let from = table.bytes.len();
            table.bytes.extend_from_slice(&text_at(&leaf.values, at));
            table.end_field(from);
            continue;
        };
        let entries = Leaf::of(&list);
        let texts: Option<Vec<Vec<u8>>> =
            (0..list.len()).map(|entry| entries.place(entry).map(|at| text_at(&entries.values, at))).collect();
        match texts {
            None => {
                aside(lot, row, name, b"", "is a list with an entry that is null".to_owned());
                table.places.push(MISSING);
            }
            Some(texts) if texts.is_empty() => table.places.push(EMPTY_LIST),
            Some(texts) => {
                let from = table.bytes.len();
                let mut sign = [0; 4];
                table.bytes.extend_from_slice(&texts.join(separator.encode_utf8(&mut sign).as_bytes()));
                table.end_field(from);
            }
        }
    }
    table.pad();
    table
}

/// The values of a column as texts, for a person to see: ids of records, samples.
pub struct Shown(Leaf);

impl std::fmt::Debug for Shown {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Shown({} values)", self.0.len())
    }
}

impl Shown {
    /// Of an array.
    #[must_use]
    pub fn of(array: &ArrayRef) -> Shown {
        Shown(Leaf::of(array))
    }

    /// The text of a record's value, without blanks around it; empty where there is none.
    #[must_use]
    pub fn text(&self, row: usize) -> Cow<'_, str> {
        let Some(at) = self.0.place(row) else { return Cow::Borrowed("") };
        if let Some(text) = super::leaf::lent(&self.0.values, at) {
            return Cow::Borrowed(text.trim());
        }
        Cow::Owned(match super::leaf::list_at(&self.0.values, at) {
            None => plain(&self.0.values, at).trim().to_owned(),
            Some(list) => {
                let entries = Leaf::of(&list);
                let text = |entry| entries.place(entry).map_or_else(String::new, |at| plain(&entries.values, at));
                (0..list.len()).map(text).collect::<Vec<_>>().join(" ")
            }
        })
    }
}

/// A value as text; bytes that are no text as hexadecimal digits.
fn plain(values: &ArrayRef, at: usize) -> String {
    let digits = |bytes: &[u8]| bytes.iter().map(|byte| format!("{byte:02X}")).collect::<String>();
    match String::from_utf8(text_at(values, at)) {
        Ok(text) if text.contains(char::is_control) && is_bytes(values.data_type()) => digits(text.as_bytes()),
        Ok(text) => text,
        Err(error) => digits(error.as_bytes()),
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test stops at the first wrong thing")]
mod tests {
    use super::*;
    use crate::audit::mapping;
    use arrow_array::Int64Array;
    use std::sync::Arc;

    /// A mark of *not known* is the whole text, and the empty one is no mark of a number: row by row, for several marks.
    #[test]
    fn only_a_mark_leaves_the_bytes_of_a_record_unread() {
        for marks in ["\"-1\"", "\"\", \"-1\"", "\"-1\", \"-9\""] {
            let text = format!(
                "format = \"wherefore-mapping/1\"\n[columns]\nstatus = {{holds = \"pid-01\", not-known = [{marks}]}}\n"
            );
            let mapping = mapping::read(&text).unwrap();
            let values = [Some(0x0007_E500), Some(-1), None, Some(1), Some(0x8107_E500)];
            let array: ArrayRef = Arc::new(Int64Array::from(values.to_vec()));
            let batch = RecordBatch::try_from_iter([("status", array)]).unwrap();
            let lot = lot(&batch, &[0], &mut Fields::new(&mapping));
            let (bytes, known) = lot.store.monitor_bytes.as_ref().unwrap();
            for (row, value) in values.into_iter().enumerate() {
                let told = value.and_then(|value| u32::try_from(value).ok());
                assert_eq!(known.as_ref().is_none_or(|known| known.is(row)), told.is_some(), "row {row}, {marks}");
                assert!(told.is_none() || told.as_ref() == bytes.all().get(row), "row {row}, {marks}");
            }
        }
    }
}
