//! Parquet files to columns. Only the columns of the mapping are read. Texts come as a dictionary, so that each different
//! one is looked at once a batch; numbers, dates and the bytes of PID $01 are taken as they lie. Any other type goes
//! through its text.

use super::input::Input;
use crate::audit::mapping::Mapping;
use crate::audit::{Bits, Fields, Held, Lot, MISSING, Store, Table};
use crate::cli::files;
use arrow_array::cast::AsArray;
use arrow_array::types::{
    Date32Type, Int8Type, Int16Type, Int32Type, Int64Type, TimestampMicrosecondType, TimestampMillisecondType,
    TimestampNanosecondType, TimestampSecondType, UInt8Type, UInt16Type, UInt32Type, UInt64Type,
};
use arrow_array::{Array, ArrayRef, ArrowPrimitiveType, RecordBatch};
use arrow_schema::{DataType, Field, Schema, TimeUnit};
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::{
    ArrowReaderMetadata, ArrowReaderOptions, ParquetRecordBatchReader, ParquetRecordBatchReaderBuilder,
};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Records of a batch: a multiple of 1024, small enough for the columns of a batch to stay in the cache.
const BATCH: usize = 8192;

/// A Parquet file and where the columns of a mapping stand in it.
pub(super) struct Columns {
    path: PathBuf,
    metadata: ArrowReaderMetadata,
    projection: ProjectionMask,
    /// For each column of the mapping its place among those read.
    places: Vec<usize>,
    id: Option<usize>,
    read: Arc<AtomicU64>,
}

fn failed(path: &std::path::Path, error: &dyn std::fmt::Display) -> String {
    format!("{}: cannot be read as Parquet: {error}", files::shown(path))
}

impl Columns {
    pub(super) fn open(input: &Input, mapping: &Mapping, read: &Arc<AtomicU64>) -> Result<Columns, String> {
        let file = files::open(&input.path)?;
        let fail = |error: parquet::errors::ParquetError| failed(&input.path, &error);
        let metadata = ArrowReaderMetadata::load(&file, ArrowReaderOptions::new()).map_err(fail)?;
        let names: Vec<String> = metadata.schema().fields().iter().map(|field| field.name().clone()).collect();
        let all = super::source::places(mapping, &names).map_err(|faults| {
            let name = files::shown(&input.path);
            faults.iter().map(|fault| format!("{name}: {fault}")).collect::<Vec<_>>().join("\n")
        })?;
        let id_column =
            mapping.columns.iter().position(|column| column.holds == crate::audit::mapping::Holds::RecordId);
        let id_root = id_column.and_then(|column| all.get(column)).copied();
        // Texts are asked for as dictionaries, ids as they are: each is another.
        let fields: Vec<Field> = metadata
            .schema()
            .fields()
            .iter()
            .enumerate()
            .map(|(place, field)| match field.data_type() {
                DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View if Some(place) != id_root => {
                    let dictionary = DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8));
                    Field::new(field.name(), dictionary, field.is_nullable())
                }
                DataType::Dictionary(_, value) if **value == DataType::Utf8 && Some(place) != id_root => {
                    let dictionary = DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8));
                    Field::new(field.name(), dictionary, field.is_nullable())
                }
                _ => field.as_ref().clone(),
            })
            .collect();
        let wanted = Arc::new(Schema::new(fields));
        let metadata = match ArrowReaderMetadata::load(&file, ArrowReaderOptions::new().with_schema(wanted)) {
            Ok(metadata) => metadata,
            Err(_) => metadata,
        };
        let mut roots: Vec<usize> = all.clone();
        roots.sort_unstable();
        roots.dedup();
        let place_of = |root: usize| roots.iter().position(|known| *known == root).unwrap_or(0);
        let projection = ProjectionMask::roots(metadata.parquet_schema(), roots.iter().copied());
        let places: Vec<usize> = all.iter().map(|root| place_of(*root)).collect();
        let id = id_root.map(place_of);
        Ok(Columns { path: input.path.clone(), metadata, projection, places, id, read: Arc::clone(read) })
    }

    /// How many row groups there are.
    pub(super) fn groups(&self) -> usize {
        self.metadata.metadata().num_row_groups()
    }

    /// The batches of a row group.
    pub(super) fn batches(&self, group: usize) -> Result<Batches<'_>, String> {
        // A handle of its own: copies of one share their place in the file, and threads would read each other's bytes.
        let file = files::open(&self.path)?;
        let reader = ParquetRecordBatchReaderBuilder::new_with_metadata(file, self.metadata.clone())
            .with_row_groups(vec![group])
            .with_projection(self.projection.clone())
            .with_batch_size(BATCH)
            .build()
            .map_err(|error| failed(&self.path, &error))?;
        let size = self.metadata.metadata().row_group(group).compressed_size();
        self.read.fetch_add(u64::try_from(size).unwrap_or(0), Ordering::Relaxed);
        Ok(Batches { columns: self, reader })
    }
}

/// The batches of a row group.
pub(super) struct Batches<'c> {
    columns: &'c Columns,
    reader: ParquetRecordBatchReader,
}

impl Batches<'_> {
    /// The next lot, with the ids of its records.
    pub(super) fn next(&mut self, fields: &mut Fields) -> Result<Option<(Lot, Option<Id>)>, String> {
        let Some(batch) = self.reader.next() else { return Ok(None) };
        let batch = batch.map_err(|error| failed(&self.columns.path, &error))?;
        let lot = lot(&batch, &self.columns.places, fields);
        let ids = self.columns.id.map(|place| Id(Arc::clone(batch.column(place))));
        Ok(Some((lot, ids)))
    }
}

fn lot(batch: &RecordBatch, places: &[usize], fields: &mut Fields) -> Lot {
    let mut lot = Lot { store: Store { len: batch.num_rows(), ..Store::default() }, ..Lot::default() };
    for (column, place) in places.iter().enumerate() {
        let Some(array) = batch.columns().get(*place) else { continue };
        if !taken(array, column, fields, &mut lot) {
            let table = table(array);
            fields.read_column(column, &table, 0, &mut lot);
        }
    }
    fields.finish(&mut lot);
    lot
}

fn bits(array: &dyn Array) -> Option<Bits> {
    let nulls = array.nulls().filter(|nulls| nulls.null_count() > 0)?;
    let buffer = nulls.inner();
    Some(Bits { bytes: Held::Lent(Box::new(Lent(buffer.inner().clone()))), offset: buffer.offset() })
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

/// Takes an array as it lies; `false` where it has to go through its text.
fn taken(array: &ArrayRef, column: usize, fields: &mut Fields, lot: &mut Lot) -> bool {
    let kind = array.data_type();
    if let DataType::Dictionary(key, value) = kind
        && **key == DataType::Int32
        && **value == DataType::Utf8
        && fields.is_coded(column)
    {
        let dictionary = array.as_dictionary::<Int32Type>();
        let values = dictionary.values().as_string::<i32>();
        let texts: Vec<&[u8]> = (0..values.len()).map(|at| values.value(at).as_bytes()).collect();
        let nulls = array.nulls().filter(|nulls| nulls.null_count() > 0);
        let is_known = |row: usize| nulls.is_none_or(|nulls| nulls.is_valid(row));
        return fields.take_dictionary(column, dictionary.keys().values(), &is_known, &texts, lot);
    }
    if fields.is_number(column) {
        let values = match kind {
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
        return values.is_some_and(|values| fields.take_numbers(column, values, bits(array), lot).is_none());
    }
    if fields.is_date(column) && *kind == DataType::Date32 {
        return fields.take_days(column, lent::<Date32Type>(array), bits(array), lot).is_none();
    }
    if fields.is_status(column) {
        let values = match kind {
            DataType::UInt32 => Some(lent::<UInt32Type>(array)),
            DataType::FixedSizeBinary(4) => {
                let array = array.as_fixed_size_binary();
                let number = |row| array.value(row).try_into().map(u32::from_be_bytes).unwrap_or(0);
                Some(Held::Own((0..array.len()).map(number).collect()))
            }
            _ => None,
        };
        return values.is_some_and(|values| fields.take_status(column, values, bits(array), lot).is_none());
    }
    false
}

/// The ids of records.
pub(super) struct Id(ArrayRef);

impl Id {
    /// The id of a record as text; empty where there is none.
    pub(super) fn text(&self, row: usize) -> String {
        let mut out = Vec::new();
        if self.0.is_null(row) || !text(&self.0, row, &mut out) {
            return String::new();
        }
        String::from_utf8_lossy(&out).trim().to_owned()
    }
}

/// An array as texts: a table of one column.
fn table(array: &ArrayRef) -> Table {
    let mut table = Table { width: 1, len: array.len(), ..Table::default() };
    for row in 0..array.len() {
        let from = table.bytes.len();
        if array.is_null(row) || !text(array, row, &mut table.bytes) {
            table.places.push(MISSING);
        } else {
            table.end_field(from);
        }
    }
    table.pad();
    table
}

fn number<T: ArrowPrimitiveType>(array: &ArrayRef, row: usize, out: &mut Vec<u8>) -> bool
where
    T::Native: std::fmt::Display,
{
    out.extend_from_slice(array.as_primitive::<T>().value(row).to_string().as_bytes());
    true
}

fn day(days: i64, out: &mut Vec<u8>) -> bool {
    let text = crate::model::date_of(days).map_or_else(|| days.to_string(), |date| date.to_string());
    out.extend_from_slice(text.as_bytes());
    true
}

/// Writes a value as text; `false` where there is none. A type that has no text of its own is named, which no mapping
/// takes for a value.
fn text(array: &ArrayRef, row: usize, out: &mut Vec<u8>) -> bool {
    const SECONDS: i64 = 86_400;
    match array.data_type() {
        DataType::Utf8 => out.extend_from_slice(array.as_string::<i32>().value(row).as_bytes()),
        DataType::LargeUtf8 => out.extend_from_slice(array.as_string::<i64>().value(row).as_bytes()),
        DataType::Utf8View => out.extend_from_slice(array.as_string_view().value(row).as_bytes()),
        DataType::Boolean => {
            out.extend_from_slice(if array.as_boolean().value(row) { b"true".as_slice() } else { b"false" });
        }
        DataType::Int8 => return number::<Int8Type>(array, row, out),
        DataType::Int16 => return number::<Int16Type>(array, row, out),
        DataType::Int32 => return number::<Int32Type>(array, row, out),
        DataType::Int64 => return number::<Int64Type>(array, row, out),
        DataType::UInt8 => return number::<UInt8Type>(array, row, out),
        DataType::UInt16 => return number::<UInt16Type>(array, row, out),
        DataType::UInt32 => return number::<UInt32Type>(array, row, out),
        DataType::UInt64 => return number::<UInt64Type>(array, row, out),
        DataType::Float32 => return number::<arrow_array::types::Float32Type>(array, row, out),
        DataType::Float64 => return number::<arrow_array::types::Float64Type>(array, row, out),
        DataType::Date32 => return day(i64::from(array.as_primitive::<Date32Type>().value(row)), out),
        DataType::Timestamp(unit, _) => {
            let (value, parts) = match unit {
                TimeUnit::Second => (array.as_primitive::<TimestampSecondType>().value(row), 1),
                TimeUnit::Millisecond => (array.as_primitive::<TimestampMillisecondType>().value(row), 1_000),
                TimeUnit::Microsecond => (array.as_primitive::<TimestampMicrosecondType>().value(row), 1_000_000),
                TimeUnit::Nanosecond => (array.as_primitive::<TimestampNanosecondType>().value(row), 1_000_000_000),
            };
            return day(value.div_euclid(SECONDS * parts), out);
        }
        DataType::Binary => hex(array.as_binary::<i32>().value(row), out),
        DataType::FixedSizeBinary(_) => hex(array.as_fixed_size_binary().value(row), out),
        DataType::Dictionary(key, _) if **key == DataType::Int32 => {
            let dictionary = array.as_dictionary::<Int32Type>();
            let at = dictionary.key(row);
            return at.is_some_and(|at| text(dictionary.values(), at, out));
        }
        DataType::List(_) => {
            let list = array.as_list::<i32>().value(row);
            for entry in 0..list.len() {
                if entry > 0 {
                    out.push(b' ');
                }
                text(&list, entry, out);
            }
        }
        other => out.extend_from_slice(format!("(of type {other})").as_bytes()),
    }
    true
}

fn hex(bytes: &[u8], out: &mut Vec<u8>) {
    bytes.iter().for_each(|byte| out.extend_from_slice(format!("{byte:02X}").as_bytes()));
}

/// Names and first fields of a file.
pub(super) fn sample(input: &Input, most: usize) -> Result<(Vec<String>, Vec<Vec<String>>), String> {
    let file = files::open(&input.path)?;
    let builder = ParquetRecordBatchReaderBuilder::try_new(file).map_err(|error| failed(&input.path, &error))?;
    let names: Vec<String> = builder.schema().fields().iter().map(|field| field.name().clone()).collect();
    let mut reader = builder.with_batch_size(most).build().map_err(|error| failed(&input.path, &error))?;
    let Some(batch) = reader.next() else { return Ok((names, Vec::new())) };
    let batch = batch.map_err(|error| failed(&input.path, &error))?;
    let columns: Vec<Table> = batch.columns().iter().map(table).collect();
    let rows = (0..batch.num_rows())
        .map(|row| columns.iter().map(|it| String::from_utf8_lossy(it.field(row, 0)).into_owned()).collect())
        .collect();
    Ok((names, rows))
}
