//! Arrow arrays of many types, made of bytes: a column read by value says what the same values say as text, and every
//! record is judged or set aside.

#[path = "rows.rs"]
#[allow(dead_code, reason = "a target takes a part of it")]
mod rows;

use arrow_array::builder::{Int64Builder, StringBuilder};
use arrow_array::types::{Int8Type, Int16Type, Int32Type, UInt8Type};
use arrow_array::{
    Array, ArrayRef, Date32Array, Decimal128Array, DictionaryArray, Int16Array, Int32Array, LargeStringArray,
    RecordBatch, RunArray, StringArray, StringViewArray, TimestampMicrosecondArray, UInt32Array, UInt64Array,
};
use std::sync::Arc;
use wherefore::internals::audit::mapping::{Mapping, read};
use wherefore::internals::audit::{Fields, Lot, MISSING, Table, arrow};
use wherefore::internals::model::date_of;

const MAPPING: &str = "format = \"wherefore-mapping/1\"\n[columns]\nd = \"visit.date\"\nr = \"vehicle.first_registered\"\n\
    y = {fact = \"vehicle.model_year\", not-known = [\"\", \"2001\"]}\no = {fact = \"visit.odometer_km\", unit = \"miles\"}\n\
    f = {fact = \"vehicle.fuel\", words = {G = \"gasoline\", D = \"diesel\", \"7\" = \"propane\"}}\nm = \"vehicle.make\"\n\
    s = {holds = \"pid-01\"}\nc = {fact = \"codes.stored\", none = [\"-\"]}\n";

const TEXTS: [&str; 8] = ["G", "D", "7", "-", "P0420", "P0420 P0171", "", "0007E500"];

/// Numbers as an array of a type, with the text of each.
fn numbers(kind: u8, values: &[Option<i64>]) -> (ArrayRef, Vec<Option<String>>) {
    let small =
        |most: i64| values.iter().map(move |value| value.map(|value| value.rem_euclid(most))).collect::<Vec<_>>();
    let texts = |values: &[Option<i64>]| values.iter().map(|value| value.map(|value| value.to_string())).collect();
    match kind % 8 {
        0 => {
            let all = small(1 << 15);
            (Arc::new(all.iter().map(|it| it.map(|it| it as i16)).collect::<Int16Array>()), texts(&all))
        }
        1 => {
            let all = small(1 << 31);
            (Arc::new(all.iter().map(|it| it.map(|it| it as i32)).collect::<Int32Array>()), texts(&all))
        }
        2 => {
            let all = small(1 << 32);
            (Arc::new(all.iter().map(|it| it.map(|it| it as u32)).collect::<UInt32Array>()), texts(&all))
        }
        3 => {
            let all = small(i64::MAX);
            (Arc::new(all.iter().map(|it| it.map(|it| it as u64)).collect::<UInt64Array>()), texts(&all))
        }
        4 => {
            let array: Decimal128Array = values.iter().map(|it| it.map(i128::from)).collect();
            (Arc::new(array.with_precision_and_scale(30, 0).unwrap()), texts(values))
        }
        5 => {
            let array: StringArray = texts(values).iter().map(Option::<String>::as_deref).collect();
            (Arc::new(array), texts(values))
        }
        6 => {
            let all = small(100);
            let keys: Int16Array = (0..all.len()).map(|at| all[at].map(|_| at as i16)).collect();
            let values: arrow_array::Int64Array = all.iter().map(|it| it.or(Some(0))).collect();
            (Arc::new(DictionaryArray::<Int16Type>::new(keys, Arc::new(values))), texts(&all))
        }
        _ => {
            let mut builder = Int64Builder::new();
            values.iter().for_each(|value| builder.append_option(*value));
            (Arc::new(builder.finish()), texts(values))
        }
    }
}

fn words(kind: u8, values: &[Option<&'static str>]) -> ArrayRef {
    match kind % 6 {
        0 => Arc::new(values.iter().copied().collect::<StringArray>()),
        1 => Arc::new(values.iter().copied().collect::<LargeStringArray>()),
        2 => Arc::new(values.iter().copied().collect::<StringViewArray>()),
        3 => Arc::new(values.iter().copied().collect::<DictionaryArray<Int8Type>>()),
        4 => Arc::new(values.iter().copied().collect::<DictionaryArray<UInt8Type>>()),
        _ => {
            let ends: Int32Array = (1..=values.len()).map(|at| Some(at as i32)).collect();
            let mut builder = StringBuilder::new();
            values.iter().for_each(|value| builder.append_option(*value));
            match RunArray::<Int32Type>::try_new(&ends, &builder.finish()) {
                Ok(runs) => Arc::new(runs),
                Err(_) => Arc::new(values.iter().copied().collect::<StringArray>()),
            }
        }
    }
}

fn days(kind: u8, values: &[Option<i64>]) -> (ArrayRef, Vec<Option<String>>) {
    let days: Vec<Option<i32>> =
        values.iter().map(|value| value.map(|value| (value.rem_euclid(90_000) - 26_000) as i32)).collect();
    let texts =
        days.iter().map(|day| day.map(|day| date_of(i64::from(day)).map_or_else(String::new, |it| it.to_string())));
    let texts = texts.collect();
    match kind % 2 {
        0 => (Arc::new(days.iter().copied().collect::<Date32Array>()), texts),
        _ => {
            let late = |day: i32| i64::from(day) * 86_400_000_000 + 86_399_999_999;
            (Arc::new(days.iter().map(|day| day.map(late)).collect::<TimestampMicrosecondArray>()), texts)
        }
    }
}

fn table(columns: &[Vec<Option<String>>], len: usize) -> Table {
    let mut table = Table { width: columns.len(), len, ..Table::default() };
    for row in 0..len {
        for column in columns {
            match &column[row] {
                None => table.places.push(MISSING),
                Some(text) => {
                    let from = table.bytes.len();
                    table.bytes.extend_from_slice(text.as_bytes());
                    table.end_field(from);
                }
            }
        }
    }
    table.pad();
    table
}

/// What a lot says of each record, whatever the form of its columns: which are set aside, and the verdicts.
fn said(mapping: &Mapping, mut lot: Lot, len: usize) -> Vec<Option<String>> {
    let mut worker = wherefore::internals::audit::Worker::default();
    let done = worker.work(&rows::PROGRAMS, &mut lot, true);
    assert_eq!(done.adds_up(len), Ok(()), "{} columns", mapping.columns.len());
    let outcome = |place: &u32| usize::try_from(*place).ok().and_then(|place| done.outcomes.get(place));
    done.places.iter().map(|place| outcome(place).map(|it| format!("{:?}", it.said))).collect()
}

/// Reads one input: a byte for the types, then eight bytes a record.
pub fn one(data: &[u8]) {
    let mapping = read(MAPPING).expect("the mapping is one");
    let Some((kind, rest)) = data.split_first() else { return };
    let records: Vec<&[u8]> = rest.chunks_exact(8).take(100).collect();
    let len = records.len();
    let pick = |place: usize| -> Vec<Option<i64>> {
        let value = |record: &&[u8]| {
            let byte = record[place];
            let wide = i64::from_be_bytes((*record).try_into().unwrap_or_default());
            match byte % 5 {
                0 => None,
                1 => Some(wide >> 16),
                2 => Some(1990 + i64::from(byte) % 40),
                3 => Some(81_076_504 + i64::from(byte)),
                _ => Some(i64::from(byte)),
            }
        };
        records.iter().map(value).collect()
    };
    let text = |place: usize| -> Vec<Option<&'static str>> {
        records.iter().map(|record| TEXTS.get(usize::from(record[place] % 9)).copied()).collect()
    };
    let owned = |texts: &[Option<&'static str>]| texts.iter().map(|text| text.map(str::to_owned)).collect();
    let (tested, tested_text) = days(*kind, &pick(0));
    let (registered, registered_text) = days(kind >> 1, &pick(1));
    let (year, year_text) = numbers(*kind, &pick(2));
    let (odometer, odometer_text) = numbers(kind >> 3, &pick(3));
    let (fuel, make, codes) = (text(4), text(5), text(7));
    // Numbers are taken by value: as text they are the eight digits of it, or nothing that fits.
    let (status, status_text) = numbers(if kind % 8 == 5 { 7 } else { *kind }, &pick(6));
    let digits = |text: &String| match text.parse::<u32>() {
        Ok(number) => format!("{number:08X}"),
        Err(_) => "no".to_owned(),
    };
    let columns: Vec<ArrayRef> = vec![
        tested,
        registered,
        year,
        odometer,
        words(*kind, &fuel),
        words(kind >> 2, &make),
        status,
        words(kind >> 4, &codes),
    ];
    let names = ["d", "r", "y", "o", "f", "m", "s", "c"];
    let Ok(batch) = RecordBatch::try_from_iter(names.into_iter().zip(columns)) else { return };
    let texts = [
        tested_text,
        registered_text,
        year_text,
        odometer_text,
        owned(&fuel),
        owned(&make),
        status_text.iter().map(|text| text.as_ref().map(digits)).collect(),
        owned(&codes),
    ];
    let places: Vec<usize> = (0..8).collect();
    let by_value = said(&mapping, arrow::lot(&batch, &places, &mut Fields::new(&mapping)), len);
    let by_text = said(&mapping, Fields::new(&mapping).read(&table(&texts, len), &places), len);
    assert_eq!(by_value, by_text);
    // A slice of a batch says what the whole says of those records.
    if len > 3 {
        let part = batch.slice(2, len - 2);
        let sliced = said(&mapping, arrow::lot(&part, &places, &mut Fields::new(&mapping)), len - 2);
        assert_eq!(sliced, by_value[2..]);
        assert_eq!(part.column(0).len(), len - 2);
    }
}
