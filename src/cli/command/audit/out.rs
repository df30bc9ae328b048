//! What came of each record, written as CSV, JSON Lines or Parquet, beside the place it takes at the end.

use super::args::RecordFormat;
use super::work::Piece;
use crate::audit::mapping::Recorded;
use crate::cli::files::Beside;
use crate::model::date_of;
use arrow_array::builder::{Date32Builder, StringBuilder, StringDictionaryBuilder, UInt64Builder};
use arrow_array::types::Int32Type;
use arrow_array::{ArrayRef, RecordBatch};
use arrow_schema::{DataType, Field, Schema};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;
use std::io::Write;
use std::path::Path;
use std::sync::Arc;

/// The columns, in their order.
pub(super) const COLUMNS: [&str; 12] = [
    "file",
    "row",
    "record",
    "program",
    "test_date",
    "verdict",
    "class",
    "possible",
    "deciding",
    "recorded",
    "difference",
    "leans_on_weak",
];

/// What is said of one record.
struct Line<'p> {
    file: &'p str,
    row: u64,
    record: Option<std::borrow::Cow<'p, str>>,
    program: &'p str,
    day: Option<i32>,
    verdict: &'p str,
    class: &'static str,
    possible: Vec<&'p str>,
    deciding: &'p [String],
    recorded: Option<&'p str>,
    difference: Option<String>,
    leans: bool,
}

/// A file of what came of records.
pub(super) enum Out {
    Csv(Box<csv::Writer<Beside>>),
    Json(Box<Beside>),
    Parquet(Box<Columns>),
}

/// Columns of a Parquet file under way.
pub(super) struct Columns {
    writer: ArrowWriter<Beside>,
    schema: Arc<Schema>,
}

/// The form of a file by its ending.
pub(super) fn form(path: &Path, given: Option<RecordFormat>) -> Result<RecordFormat, String> {
    if let Some(form) = given {
        return Ok(form);
    }
    match path.extension().and_then(|ending| ending.to_str()) {
        Some("csv") => Ok(RecordFormat::Csv),
        Some("jsonl" | "ndjson") => Ok(RecordFormat::Jsonl),
        Some("parquet") => Ok(RecordFormat::Parquet),
        _ => Err(format!(
            "{}: the ending tells no form; it can be .csv, .jsonl or .parquet, or give --out-format",
            path.display()
        )),
    }
}

/// How Parquet files are written: texts as dictionaries, packed with Zstandard, small row groups that threads share.
pub(super) fn properties() -> WriterProperties {
    WriterProperties::builder()
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .set_max_row_group_row_count(Some(1 << 16))
        .build()
}

impl Out {
    pub(super) fn create(path: &Path, form: RecordFormat) -> Result<Out, String> {
        let file = Beside::create(path)?;
        let fail = |error: &dyn std::fmt::Display| format!("{}: cannot be written: {error}", path.display());
        Ok(match form {
            RecordFormat::Csv => {
                let mut writer = csv::Writer::from_writer(file);
                writer.write_record(COLUMNS).map_err(|error| fail(&error))?;
                Out::Csv(Box::new(writer))
            }
            RecordFormat::Jsonl => Out::Json(Box::new(file)),
            RecordFormat::Parquet => {
                let schema = Arc::new(schema());
                let writer = ArrowWriter::try_new(file, Arc::clone(&schema), Some(properties()));
                Out::Parquet(Box::new(Columns { writer: writer.map_err(|error| fail(&error))?, schema }))
            }
        })
    }

    /// Writes what came of a piece's records; `first` is the number of its first one.
    pub(super) fn write(&mut self, piece: &Piece, file: &str, first: u64, programs: &[String]) -> Result<(), String> {
        let lines = (first..).zip(&piece.done.places).enumerate().filter_map(|(at, (row, place))| {
            let outcome = usize::try_from(*place).ok().and_then(|place| piece.done.outcomes.get(place))?;
            Some(Line {
                file,
                row,
                record: piece.ids.as_ref().map(|ids| ids.get(at)).filter(|id| !id.is_empty()),
                program: programs.get(outcome.program).map_or("", String::as_str),
                day: piece.days.get(at).copied().flatten(),
                verdict: &outcome.said.verdict,
                class: outcome.said.class.word(),
                possible: outcome.said.possible.iter().map(|(name, _)| name.as_str()).collect(),
                deciding: &outcome.said.deciding,
                recorded: outcome.recorded.as_ref().map(Recorded::word),
                difference: outcome.standing.differs().then(|| outcome.standing.words()),
                leans: outcome.said.leans,
            })
        });
        match self {
            Out::Csv(writer) => lines.into_iter().try_for_each(|line| csv_line(writer, &line)),
            Out::Json(writer) => lines.into_iter().try_for_each(|line| json_line(writer, &line)),
            Out::Parquet(columns) => columns.write(lines),
        }
    }

    /// Completes the file and puts it in its place.
    pub(super) fn finish(self) -> Result<(), String> {
        match self {
            Out::Csv(writer) => writer.into_inner().map_err(|error| error.error().to_string())?.finish(),
            Out::Json(file) => file.finish(),
            Out::Parquet(columns) => columns.writer.into_inner().map_err(|error| error.to_string())?.finish(),
        }
    }
}

fn date(day: Option<i32>) -> String {
    day.and_then(|day| date_of(i64::from(day))).map_or_else(String::new, |date| date.to_string())
}

fn csv_line(writer: &mut csv::Writer<Beside>, line: &Line<'_>) -> Result<(), String> {
    let record = [
        line.file,
        &line.row.to_string(),
        line.record.as_deref().unwrap_or(""),
        line.program,
        &date(line.day),
        line.verdict,
        line.class,
        &line.possible.join(" "),
        &line.deciding.join(" "),
        line.recorded.unwrap_or(""),
        line.difference.as_deref().unwrap_or(""),
        if line.leans { "yes" } else { "no" },
    ];
    writer.write_record(record).map_err(|error| error.to_string())
}

fn json_line(file: &mut Beside, line: &Line<'_>) -> Result<(), String> {
    let day = line.day.map(|_| date(line.day));
    let value = serde_json::json!({
        "file": line.file, "row": line.row, "record": line.record, "program": line.program, "test_date": day,
        "verdict": line.verdict, "class": line.class, "possible": line.possible, "deciding": line.deciding,
        "recorded": line.recorded, "difference": line.difference, "leans_on_weak": line.leans,
    });
    let text = format!("{value}\n");
    file.write_all(text.as_bytes()).map_err(|error| file.failed(&error))
}

fn schema() -> Schema {
    let word = || DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8));
    let kind = |name: &str| match name {
        "row" => DataType::UInt64,
        "record" => DataType::Utf8,
        "test_date" => DataType::Date32,
        _ => word(),
    };
    Schema::new(COLUMNS.iter().map(|name| Field::new(*name, kind(name), *name != "row")).collect::<Vec<_>>())
}

fn array(array: impl arrow_array::Array + 'static) -> ArrayRef {
    Arc::new(array)
}

impl Columns {
    fn write<'p>(&mut self, lines: impl Iterator<Item = Line<'p>>) -> Result<(), String> {
        let (mut row, mut record, mut day) = (UInt64Builder::new(), StringBuilder::new(), Date32Builder::new());
        let mut words: Vec<StringDictionaryBuilder<Int32Type>> =
            (0..9).map(|_| StringDictionaryBuilder::new()).collect();
        for line in lines {
            row.append_value(line.row);
            record.append_option(line.record.as_deref());
            day.append_option(line.day);
            let (possible, deciding) = (line.possible.join(" "), line.deciding.join(" "));
            let texts = [
                Some(line.file),
                Some(line.program),
                Some(line.verdict),
                Some(line.class),
                Some(possible.as_str()),
                Some(deciding.as_str()),
                line.recorded,
                line.difference.as_deref(),
                Some(if line.leans { "yes" } else { "no" }),
            ];
            for (builder, text) in words.iter_mut().zip(texts) {
                builder.append_option(text);
            }
        }
        let mut words = words.into_iter().map(|mut builder| -> ArrayRef { Arc::new(builder.finish()) });
        let columns: Vec<ArrayRef> = COLUMNS
            .iter()
            .filter_map(|name| match *name {
                "row" => Some(array(row.finish())),
                "record" => Some(array(record.finish())),
                "test_date" => Some(array(day.finish())),
                _ => words.next(),
            })
            .collect();
        let batch = RecordBatch::try_new(Arc::clone(&self.schema), columns).map_err(|error| error.to_string())?;
        self.writer.write(&batch).map_err(|error| error.to_string())
    }
}
