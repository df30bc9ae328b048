//! Record batches to Parquet files.

use crate::cli::beside::Beside;
use arrow_array::{ArrayRef, RecordBatch};
use arrow_schema::Schema;
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use parquet::schema::types::ColumnPath;
use std::sync::Arc;

/// A Parquet file under way.
pub(in super::super) struct Written {
    writer: ArrowWriter<Beside>,
    schema: Arc<Schema>,
    name: String,
}

/// How files are written: texts as dictionaries, packed with Zstandard, small row groups that threads share. What
/// differs in every record is no dictionary; extremes are kept of dates alone, since every group holds nearly every word.
fn properties() -> WriterProperties {
    let (row, record) = (ColumnPath::from("row"), ColumnPath::from("record"));
    WriterProperties::builder()
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .set_max_row_group_row_count(Some(1 << 16))
        .set_column_dictionary_enabled(row.clone(), false)
        .set_column_encoding(row, Encoding::DELTA_BINARY_PACKED)
        .set_column_dictionary_enabled(record, false)
        .set_statistics_enabled(EnabledStatistics::None)
        .set_column_statistics_enabled(ColumnPath::from("test_date"), EnabledStatistics::Chunk)
        .build()
}

impl Written {
    pub(in super::super) fn create(file: Beside, schema: Schema) -> Result<Written, String> {
        let (schema, name) = (Arc::new(schema), file.name());
        match ArrowWriter::try_new(file, Arc::clone(&schema), Some(properties())) {
            Ok(writer) => Ok(Written { writer, schema, name }),
            Err(error) => Err(failed(&name, &error)),
        }
    }

    /// Writes records, a column for each of the schema.
    pub(in super::super) fn write(&mut self, columns: Vec<ArrayRef>) -> Result<(), String> {
        let batch =
            RecordBatch::try_new(Arc::clone(&self.schema), columns).map_err(|error| failed(&self.name, &error))?;
        self.writer.write(&batch).map_err(|error| failed(&self.name, &error))
    }

    /// The file with all that belongs in it, not in its place yet.
    pub(in super::super) fn finish(self) -> Result<Beside, String> {
        let Written { writer, name, .. } = self;
        writer.into_inner().map_err(|error| failed(&name, &error))
    }
}

fn failed(name: &str, error: &dyn std::fmt::Display) -> String {
    format!("{name}: cannot be written: {error}")
}
