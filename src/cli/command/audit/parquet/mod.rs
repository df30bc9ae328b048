//! Parquet files to record batches. Only the columns of the mapping are read. Texts are asked for as dictionaries, so that
//! each different one is looked at once a batch. What the arrays mean is `audit::arrow`'s.

mod written;
pub(super) use written::Written;

use super::input::Input;
use crate::audit::arrow::{self, Shown};
use crate::audit::mapping::Mapping;
use crate::audit::{Fields, Lot};
use crate::cli::files;
use arrow_schema::{DataType, Field, Schema, TimeUnit};
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::{
    ArrowReaderMetadata, ArrowReaderOptions, ParquetRecordBatchReader, ParquetRecordBatchReaderBuilder,
};
use parquet::file::reader::ChunkReader;
use std::collections::BTreeSet;
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
        let old = old_moments(&metadata);
        let metadata = if old.is_empty() {
            metadata
        } else {
            let in_utc = DataType::Timestamp(TimeUnit::Nanosecond, Some("UTC".into()));
            let kind = |place: usize, kind: &DataType| if old.contains(&place) { in_utc.clone() } else { kind.clone() };
            wanted(&file, &metadata, kind).map_err(fail)?
        };
        let names: Vec<String> = metadata.schema().fields().iter().map(|field| field.name().clone()).collect();
        let all = crate::audit::batches::places(mapping, &names).map_err(|faults| {
            let name = files::shown(&input.path);
            faults.iter().map(|fault| format!("{name}: {fault}")).collect::<Vec<_>>().join("\n")
        })?;
        let kinds = mapping.columns.iter().zip(&all).filter_map(|(column, root)| {
            let field = metadata.schema().fields().get(*root)?;
            arrow::refused(column, field.data_type())
        });
        let refused: Vec<String> = kinds.map(|fault| format!("{}: {fault}", files::shown(&input.path))).collect();
        if !refused.is_empty() {
            return Err(refused.join("\n"));
        }
        let id_column =
            mapping.columns.iter().position(|column| column.holds == crate::audit::mapping::Holds::RecordId);
        let id_root = id_column.and_then(|column| all.get(column)).copied();
        // Texts are asked for as dictionaries, ids as they are: each is another. Other dictionaries are asked for by value,
        // which a reader of Parquet need not know how to make.
        let metadata = wanted(&file, &metadata, |place, kind| match kind {
            kind if is_text(kind) && Some(place) != id_root => {
                DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8))
            }
            other => by_value(other),
        })
        .or_else(|_| wanted(&file, &metadata, |_, kind| by_value(kind)))
        .map_err(fail)?;
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
    pub(super) fn next(&mut self, fields: &mut Fields) -> Result<Option<(Lot, Option<Shown>)>, String> {
        let Some(batch) = self.reader.next() else { return Ok(None) };
        let batch = batch.map_err(|error| failed(&self.columns.path, &error))?;
        let lot = arrow::lot(&batch, &self.columns.places, fields);
        let ids = self.columns.id.and_then(|place| batch.columns().get(place)).map(Shown::of);
        Ok(Some((lot, ids)))
    }
}

/// Places of columns in the old form of moments, 96 bits wide: its writers (Spark among them) bring every moment to UTC,
/// which the type of the column does not say.
fn old_moments(metadata: &ArrowReaderMetadata) -> BTreeSet<usize> {
    let schema = metadata.parquet_schema();
    let is_old = |leaf: &usize| schema.column(*leaf).physical_type() == parquet::basic::Type::INT96;
    (0..schema.num_columns()).filter(is_old).map(|leaf| schema.get_column_root_idx(leaf)).collect()
}

/// The metadata with other types asked for: `kind` says which, by place and type in the file.
fn wanted(
    file: &impl ChunkReader,
    metadata: &ArrowReaderMetadata,
    kind: impl Fn(usize, &DataType) -> DataType,
) -> Result<ArrowReaderMetadata, parquet::errors::ParquetError> {
    let fields = metadata.schema().fields().iter().enumerate();
    let fields: Vec<Field> =
        fields.map(|(place, field)| field.as_ref().clone().with_data_type(kind(place, field.data_type()))).collect();
    ArrowReaderMetadata::load(file, ArrowReaderOptions::new().with_schema(Arc::new(Schema::new(fields))))
}

/// The type of the values of a dictionary or of runs; of a list, with its entries by value.
fn by_value(kind: &DataType) -> DataType {
    match kind {
        DataType::Dictionary(_, value) => by_value(value),
        DataType::RunEndEncoded(_, value) => by_value(value.data_type()),
        DataType::List(entry) => {
            DataType::List(Arc::new(entry.as_ref().clone().with_data_type(by_value(entry.data_type()))))
        }
        other => other.clone(),
    }
}

/// Whether a type is of texts, in a dictionary or not.
fn is_text(kind: &DataType) -> bool {
    match kind {
        DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => true,
        DataType::Dictionary(_, value) => is_text(value),
        _ => false,
    }
}

/// Names and first fields of a file.
pub(super) fn sample(input: &Input, most: usize) -> Result<(Vec<String>, Vec<Vec<String>>), String> {
    let file = files::open(&input.path)?;
    let fail = |error: parquet::errors::ParquetError| failed(&input.path, &error);
    let metadata = ArrowReaderMetadata::load(&file, ArrowReaderOptions::new()).map_err(fail)?;
    let metadata = wanted(&file, &metadata, |_, kind| by_value(kind)).map_err(fail)?;
    let builder = ParquetRecordBatchReaderBuilder::new_with_metadata(file, metadata);
    let names: Vec<String> = builder.schema().fields().iter().map(|field| field.name().clone()).collect();
    let mut reader = builder.with_batch_size(most).build().map_err(|error| failed(&input.path, &error))?;
    let Some(batch) = reader.next() else { return Ok((names, Vec::new())) };
    let batch = batch.map_err(|error| failed(&input.path, &error))?;
    let columns: Vec<Shown> = batch.columns().iter().map(Shown::of).collect();
    let rows = (0..batch.num_rows()).map(|row| columns.iter().map(|it| it.text(row).into_owned()).collect()).collect();
    Ok((names, rows))
}
