//! Files of records to jobs: blocks of text, or row groups of a Parquet file. Whether a file has the columns that the
//! mapping names is found out before any of its records is looked at.

use super::input::{Form, Input, stream};
use super::json::{Keys, id_place};
use super::lines::Blocks;
use super::parquet::Columns;
use crate::audit::mapping::{Lines, Mapping, Sample};
use crate::cli::files;
use crate::diagnostic::nearest;
use std::io::BufRead;
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

/// One record of CSV, byte by byte, so that nothing after it is taken from the stream.
fn first_record(bytes: &mut Box<dyn BufRead + Send>, delimiter: u8) -> std::io::Result<Option<Vec<String>>> {
    let mut text = Vec::new();
    loop {
        let begun = text.len();
        if bytes.read_until(b'\n', &mut text)? == 0 || text.len() > 1 << 20 {
            break;
        }
        let quotes = text.iter().filter(|byte| **byte == b'"').count();
        let is_blank = text.get(begun..).is_some_and(|line| line.trim_ascii().is_empty());
        if begun == 0 && is_blank {
            text.clear();
        } else if quotes % 2 == 0 {
            break;
        }
    }
    let text = text.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(&text);
    let mut reader = csv::ReaderBuilder::new().delimiter(delimiter).has_headers(false).flexible(true).from_reader(text);
    let mut record = csv::ByteRecord::new();
    if !reader.read_byte_record(&mut record).map_err(std::io::Error::other)? {
        return Ok(None);
    }
    Ok(Some(record.iter().map(|field| String::from_utf8_lossy(field).trim().to_owned()).collect()))
}

fn csv_layout(bytes: &mut Box<dyn BufRead + Send>, mapping: &Mapping, name: &str) -> Result<Layout, String> {
    let delimiter = mapping.file.delimiter;
    let fail = |error: std::io::Error| format!("{name}: cannot be read: {error}");
    let header = if mapping.file.header {
        first_record(bytes, delimiter).map_err(fail)?.ok_or_else(|| format!("{name}: holds no header"))?
    } else {
        // The first record says how many columns there are, and is put back.
        let mut copy = Vec::new();
        bytes.read_until(b'\n', &mut copy).map_err(fail)?;
        let mut first: Box<dyn BufRead + Send> = Box::new(std::io::Cursor::new(copy.clone()));
        let count = first_record(&mut first, delimiter).map_err(fail)?.map_or(0, |fields| fields.len());
        let rest = std::mem::replace(bytes, Box::new(std::io::empty()));
        *bytes = Box::new(std::io::BufReader::new(std::io::Read::chain(std::io::Cursor::new(copy), rest)));
        (1..=count).map(|place| place.to_string()).collect()
    };
    let places = places(mapping, &header).map_err(|faults| {
        let hint = match header.as_slice() {
            [only] => format!("\n{name}: there is one column only, \"{only}\": is the delimiter right?"),
            _ => String::new(),
        };
        faults.iter().map(|fault| format!("{name}: {fault}")).collect::<Vec<_>>().join("\n") + &hint
    })?;
    let id = id_place(mapping, &places);
    Ok(Layout { delimiter, width: header.len(), places, id })
}

/// The most columns that a message names.
const NAMED: usize = 40;

/// The place of each column of a mapping among names.
pub(super) fn places(mapping: &Mapping, names: &[String]) -> Result<Vec<usize>, Vec<String>> {
    let mut faults = Vec::new();
    let mut places = Vec::new();
    for column in &mapping.columns {
        let mut found = names.iter().enumerate().filter(|(_, name)| **name == column.name);
        match (found.next(), found.next()) {
            (Some((place, _)), None) => places.push(place),
            (Some(_), Some(_)) => faults.push(format!("there are several columns \"{}\"", column.name)),
            (None, _) => {
                let near = nearest(&column.name, names.iter().map(String::as_str));
                let help = near.map_or(String::new(), |near| format!("; did the mapping mean \"{near}\"?"));
                faults.push(format!("there is no column \"{}\"{help}", column.name));
            }
        }
    }
    if faults.is_empty() {
        return Ok(places);
    }
    let shown: Vec<String> = names.iter().take(NAMED).map(|name| format!("\"{}\"", name.escape_debug())).collect();
    let more = names.len().checked_sub(NAMED).filter(|more| *more > 0);
    let more = more.map_or(String::new(), |more| format!(" and {more} more"));
    faults.push(format!("the columns are {}{more}", shown.join(", ")));
    Err(faults)
}

/// The most records that a draft of a mapping looks at.
const LOOKED_AT: usize = 200;

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
            for line in stream.bytes.split(b'\n').take(LOOKED_AT) {
                let line = line.map_err(fail)?;
                let Ok(serde_json::Value::Object(object)) = serde_json::from_slice(&line) else { continue };
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
            let mut text = Vec::new();
            std::io::Read::read_to_end(&mut std::io::Read::take(stream.bytes, 1 << 18), &mut text).map_err(fail)?;
            let text = text.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(&text);
            let first = text.split(|byte| *byte == b'\n').next().unwrap_or(&[]);
            let count = |sign: &u8| first.iter().filter(|byte| *byte == sign).count();
            let delimiter = [b',', b';', b'\t', b'|'].into_iter().rev().max_by_key(count).unwrap_or(b',');
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
        return Err(format!("{}: holds no columns", files::shown(&input.path)));
    }
    let field = |row: &Vec<String>, place: usize| row.get(place).cloned().unwrap_or_default();
    let columns = names
        .iter()
        .enumerate()
        .map(|(place, name)| Sample { name: name.clone(), fields: rows.iter().map(|row| field(row, place)).collect() })
        .collect();
    Ok((columns, delimiter))
}
