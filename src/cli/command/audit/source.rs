//! Files of records to jobs: blocks of text, or row groups of a Parquet file. Whether a file has the columns that the
//! mapping names is found out before any of its records is looked at.

use super::input::{Form, Input, stream};
use super::lines::Blocks;
use super::parquet::Columns;
use crate::audit::batches::places;
use crate::audit::header::{DELIMITERS, Header, fields_of, likely_delimiter};
use crate::audit::json::{Keys, id_place};
use crate::audit::mapping::{Lines, Mapping, Sample};
use crate::cli::files;
use std::io::{BufRead, Read as _};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicU64;

/// A part of a file that can be worked on alone.
pub(super) struct Job {
    /// Place of the file among the inputs.
    pub(super) file: usize,
    pub(super) what: What,
}

/// What a job holds.
pub(super) enum What {
    /// Whole records of CSV: the block with padding after it, and how many bytes of it are text.
    Csv(Arc<Layout>, Vec<u8>, usize),
    /// Whole lines of JSON.
    Json(Arc<JsonLayout>, Vec<u8>, usize),
    /// A row group.
    Parquet(Arc<Columns>, usize),
}

/// Where the columns of a mapping stand in a CSV file.
#[derive(Debug)]
pub(super) struct Layout {
    pub(super) delimiter: u8,
    pub(super) width: usize,
    /// For each column of the mapping its place.
    pub(super) places: Vec<usize>,
    /// The place of the record's id.
    pub(super) id: Option<usize>,
    /// Lines before the first record.
    pub(super) lines: u64,
}

/// Where the columns of a mapping stand in a table made of JSON.
#[derive(Debug)]
pub(super) struct JsonLayout {
    pub(super) keys: Keys,
    pub(super) places: Vec<usize>,
    pub(super) lines: Lines,
}

/// Gives the jobs of every file to `give`, which says whether more are wanted.
pub(super) fn jobs(
    inputs: &[Input],
    mapping: &Mapping,
    read: &Arc<AtomicU64>,
    give: &mut dyn FnMut(Job) -> bool,
) -> Result<(), String> {
    for (file, input) in inputs.iter().enumerate() {
        let stream = stream(input, read)?;
        let name = files::shown(&input.path);
        match stream.form {
            Form::Parquet if input.path == Path::new("-") => {
                return Err(format!("{name}: Parquet is read from files only; its index stands at the end"));
            }
            Form::Parquet => {
                let columns = Arc::new(Columns::open(input, mapping, read)?);
                for group in 0..columns.groups() {
                    if !give(Job { file, what: What::Parquet(Arc::clone(&columns), group) }) {
                        return Ok(());
                    }
                }
            }
            Form::Csv => {
                let mut bytes = stream.bytes;
                let layout = Arc::new(csv_layout(&mut bytes, mapping, &name)?);
                let mut blocks = Blocks::new(bytes, Some(layout.delimiter));
                while let Some((block, len)) = blocks.next().map_err(|error| files::failed(&input.path, &error))? {
                    if !give(Job { file, what: What::Csv(Arc::clone(&layout), block, len) }) {
                        return Ok(());
                    }
                }
            }
            Form::Json => {
                let (keys, places) = Keys::of(mapping);
                let layout = Arc::new(JsonLayout { keys, places, lines: mapping.file.lines });
                let mut blocks = Blocks::new(stream.bytes, None);
                while let Some((block, len)) = blocks.next().map_err(|error| files::failed(&input.path, &error))? {
                    if !give(Job { file, what: What::Json(Arc::clone(&layout), block, len) }) {
                        return Ok(());
                    }
                }
            }
        }
    }
    Ok(())
}

/// The longest header of a CSV file, in bytes.
const LONGEST_HEADER: usize = 1 << 20;

/// The first record of CSV; nothing after it is taken from the stream, and no more than a longest one.
fn first_record(bytes: &mut dyn BufRead, delimiter: u8, longest: usize, name: &str) -> Result<Header, String> {
    let fail = |error: std::io::Error| format!("{name}: cannot be read: {error}");
    let mut header = Header::new(delimiter);
    while !header.is_over() {
        let buffer = bytes.fill_buf().map_err(fail)?;
        let used = header.feed(buffer);
        bytes.consume(used);
        if header.text().len() > longest {
            let quote = if header.is_unclosed() { "a quote in it is not closed" } else { "it has no line end" };
            return Err(format!("{name}: the first record is longer than {longest} bytes: {quote}"));
        }
    }
    if header.is_unclosed() {
        return Err(format!("{name}: a quote in the first record is not closed: it goes on to the end of the file"));
    }
    // A line feed behind a carriage return belongs to it.
    if header.text().ends_with(b"\r") && bytes.fill_buf().map_err(fail)?.first() == Some(&b'\n') {
        bytes.consume(1);
    }
    Ok(header)
}

fn csv_layout(bytes: &mut Box<dyn BufRead + Send>, mapping: &Mapping, name: &str) -> Result<Layout, String> {
    let delimiter = mapping.file.delimiter;
    let longest = if mapping.file.header { LONGEST_HEADER } else { super::lines::LONGEST };
    let first = first_record(bytes, delimiter, longest, name)?;
    let columns = |fields: &[String]| -> Vec<String> {
        match mapping.file.header {
            true => fields.to_vec(),
            // The first record says how many columns there are.
            false => (1..=fields.len()).map(|place| place.to_string()).collect(),
        }
    };
    let header = columns(first.fields().ok_or_else(|| format!("{name}: holds no header"))?);
    let mut lines = crate::audit::line_ends(first.text());
    let places = places(mapping, &header).map_err(|faults| {
        let shown = |sign: u8| if sign == b'\t' { "tab".to_owned() } else { char::from(sign).to_string() };
        let others = DELIMITERS.into_iter().filter(|sign| *sign != delimiter);
        let better = others
            .map(|sign| (sign, columns(&fields_of(first.text(), sign))))
            .find(|(_, fields)| fields.len() > header.len() && places(mapping, fields).is_ok());
        match better {
            Some((sign, _)) => format!(
                "{name}: the mapping says that `{}` parts the fields; parted by `{}` the first record has all columns that \
                 the mapping names: write delimiter = \"{}\" under [file]",
                shown(delimiter),
                shown(sign),
                shown(sign)
            ),
            None => {
                let hint = match header.as_slice() {
                    [only] => format!("\n{name}: there is one column only, \"{only}\": is the delimiter right?"),
                    _ => String::new(),
                };
                faults.iter().map(|fault| format!("{name}: {fault}")).collect::<Vec<_>>().join("\n") + &hint
            }
        }
    })?;
    if !mapping.file.header {
        let rest = std::mem::replace(bytes, Box::new(std::io::empty()));
        let text = std::io::Cursor::new(first.text().to_vec());
        *bytes = Box::new(std::io::BufReader::new(std::io::Read::chain(text, rest)));
        lines = 0;
    }
    let id = id_place(mapping, &places);
    Ok(Layout { delimiter, width: header.len(), places, id, lines })
}

/// The most records that a draft of a mapping looks at.
const LOOKED_AT: usize = 200;

/// The most bytes that a draft of a mapping looks at: more than the longest header.
const SAMPLED: u64 = 2 << 20;

/// The first bytes of a stream.
fn sampled(bytes: impl std::io::Read) -> std::io::Result<Vec<u8>> {
    let mut text = Vec::new();
    bytes.take(SAMPLED).read_to_end(&mut text)?;
    Ok(text)
}

/// Names and first fields of a file, for a draft of its mapping, and the delimiter if it is CSV with another than a comma.
pub(super) fn sample(input: &Input) -> Result<(Vec<Sample>, Option<u8>), String> {
    let read = Arc::new(AtomicU64::new(0));
    let stream = stream(input, &read)?;
    let fail = |error: std::io::Error| files::failed(&input.path, &error);
    let (names, rows, delimiter) = match stream.form {
        Form::Parquet => {
            let (names, rows) = super::parquet::sample(input, LOOKED_AT)?;
            (names, rows, None)
        }
        Form::Json => {
            let mut names: Vec<String> = Vec::new();
            let mut rows = Vec::new();
            let text = sampled(stream.bytes).map_err(fail)?;
            for line in text.split(|byte| *byte == b'\n').take(LOOKED_AT) {
                let Ok(serde_json::Value::Object(object)) = serde_json::from_slice(line) else { continue };
                for key in object.keys() {
                    if !names.contains(key) {
                        names.push(key.clone());
                    }
                }
                let text = |value: Option<&serde_json::Value>| match value {
                    None | Some(serde_json::Value::Null) => String::new(),
                    Some(serde_json::Value::String(text)) => text.clone(),
                    Some(serde_json::Value::Array(list)) => {
                        let texts = list.iter().map(|it| it.as_str().map_or_else(|| it.to_string(), str::to_owned));
                        texts.collect::<Vec<_>>().join(" ")
                    }
                    Some(other) => other.to_string(),
                };
                rows.push(names.iter().map(|name| text(object.get(name))).collect());
            }
            (names, rows, None)
        }
        Form::Csv => {
            let text = sampled(stream.bytes).map_err(fail)?;
            let text = text.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(&text);
            let delimiter = likely_delimiter(text);
            let mut first = text;
            first_record(&mut first, delimiter, LONGEST_HEADER, &files::shown(&input.path))?;
            let mut reader =
                csv::ReaderBuilder::new().delimiter(delimiter).has_headers(false).flexible(true).from_reader(text);
            let mut all: Vec<Vec<String>> = Vec::new();
            for record in reader.byte_records().take(LOOKED_AT + 1) {
                let record = record.map_err(|error| format!("{}: {error}", files::shown(&input.path)))?;
                all.push(record.iter().map(|field| String::from_utf8_lossy(field).trim().to_owned()).collect());
            }
            let mut all = all.into_iter();
            let names = all.next().unwrap_or_default();
            (names, all.collect(), Some(delimiter).filter(|it| *it != b','))
        }
    };
    if names.is_empty() {
        let why = match stream.form {
            Form::Json => "the first lines hold no whole JSON object with a key",
            _ => "the first line names none",
        };
        return Err(format!("{}: holds no columns: {why}", files::shown(&input.path)));
    }
    let field = |row: &Vec<String>, place: usize| row.get(place).cloned().unwrap_or_default();
    let columns = names
        .iter()
        .enumerate()
        .map(|(place, name)| Sample { name: name.clone(), fields: rows.iter().map(|row| field(row, place)).collect() })
        .collect();
    Ok((columns, delimiter))
}
