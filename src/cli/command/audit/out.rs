//! What came of each record, written as CSV, JSON Lines or Parquet, beside the place it takes at the end.

use super::args::RecordFormat;
use super::parquet::Written;
use super::work::Piece;
use crate::audit::batches::COLUMNS;
use crate::audit::mapping::Recorded;
use crate::cli::beside::Beside;
use crate::model::date_of;
use arrow_array::builder::{Date32Builder, StringBuilder, UInt64Builder};
use arrow_array::types::Int32Type;
use arrow_array::{ArrayRef, DictionaryArray, Int32Array, StringArray};
use arrow_schema::{DataType, Field, Schema};
use std::borrow::Cow;
use std::fmt::Write as _;
use std::io::Write;
use std::path::Path;
use std::sync::Arc;

/// The columns, in their order.
fn columns() -> impl Iterator<Item = &'static str> {
    ["file", "row"].into_iter().chain(COLUMNS)
}

/// What is said of all records of one outcome.
struct Words<'p> {
    program: &'p str,
    verdict: &'p str,
    class: &'static str,
    possible: Vec<&'p str>,
    deciding: &'p [String],
    recorded: Option<&'p str>,
    difference: Option<String>,
    leans: bool,
    reason: String,
}

/// Records of a piece that have an outcome: place in the piece, number in the file, place of the outcome.
struct Records<'p> {
    piece: &'p Piece,
    file: &'p str,
    first: u64,
}

impl Records<'_> {
    fn each(&self) -> impl Iterator<Item = (usize, u64, usize)> + '_ {
        let places = (self.first..).zip(&self.piece.done.places).enumerate();
        places.filter_map(|(at, (row, place))| {
            let place = usize::try_from(*place).ok().filter(|place| *place < self.piece.done.outcomes.len())?;
            Some((at, row, place))
        })
    }

    fn record(&self, at: usize) -> Option<Cow<'_, str>> {
        self.piece.ids.as_ref().map(|ids| ids.get(at)).filter(|id| !id.is_empty())
    }

    fn unread(&self, at: usize) -> &'static str {
        if self.piece.done.unread.get(at) == Some(&true) { "yes" } else { "no" }
    }

    fn day(&self, at: usize) -> Option<i32> {
        self.piece.days.get(at).copied().flatten()
    }
}

/// A file of results.
pub(super) enum Out {
    Csv(Box<Beside>),
    Json(Box<Beside>),
    Parquet(Box<Written>),
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

impl Out {
    pub(super) fn create(path: &Path, form: RecordFormat, force: bool) -> Result<Out, String> {
        let file = Beside::create(path, force)?;
        Ok(match form {
            RecordFormat::Csv => {
                let mut file = file;
                file.write_all(format!("{}\n", columns().collect::<Vec<_>>().join(",")).as_bytes())
                    .map_err(|error| format!("{}: cannot be written: {error}", path.display()))?;
                Out::Csv(Box::new(file))
            }
            RecordFormat::Jsonl => Out::Json(Box::new(file)),
            RecordFormat::Parquet => Out::Parquet(Box::new(Written::create(file, schema())?)),
        })
    }

    /// Writes the results of a piece's records; `first` is the number of its first one. What records of one outcome share is
    /// put into words once.
    pub(super) fn write(&mut self, piece: &Piece, file: &str, first: u64, programs: &[String]) -> Result<(), String> {
        let words: Vec<Words<'_>> = piece
            .done
            .outcomes
            .iter()
            .map(|outcome| Words {
                program: programs.get(outcome.program).map_or("", String::as_str),
                verdict: &outcome.said.verdict,
                class: outcome.said.class.word(),
                possible: outcome.said.possible.iter().map(|(name, _)| name.as_str()).collect(),
                deciding: &outcome.said.deciding,
                recorded: outcome.recorded.as_ref().map(Recorded::word),
                difference: outcome.standing.differs().then(|| outcome.standing.words()),
                leans: outcome.said.leans,
                reason: outcome.said.reasons.join(" "),
            })
            .collect();
        let records = Records { piece, file, first };
        match self {
            Out::Csv(out) => {
                let text = csv_lines(&records, &words);
                out.write_all(text.as_bytes()).map_err(|error| out.failed(&error))
            }
            Out::Json(out) => {
                let text = json_lines(&records, &words);
                out.write_all(text.as_bytes()).map_err(|error| out.failed(&error))
            }
            Out::Parquet(file) => file.write(arrays(&records, &words)?),
        }
    }

    /// The file with all that belongs in it, not in its place yet.
    pub(super) fn written(self) -> Result<Beside, String> {
        match self {
            Out::Csv(file) | Out::Json(file) => Ok(*file),
            Out::Parquet(file) => file.finish(),
        }
    }
}

/// The text of a day; most records of a piece are of the day before them.
struct Days {
    last: Option<i32>,
    text: String,
}

impl Days {
    fn text(&mut self, day: Option<i32>) -> &str {
        if self.last != day {
            self.last = day;
            let date = day.and_then(|day| date_of(i64::from(day)));
            self.text = date.map_or_else(String::new, |date| date.to_string());
        }
        &self.text
    }
}

/// A text as a spreadsheet takes it for text: one that would begin a formula (= + - @, a tab or a carriage return) begins
/// with an apostrophe, which spreadsheets do not show. A number stays one.
pub(super) fn plain(text: &str) -> Cow<'_, str> {
    let is_number = text.parse::<i64>().is_ok() && !text.starts_with('+');
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) && !is_number {
        return Cow::Owned(format!("'{text}"));
    }
    Cow::Borrowed(text)
}

/// A field of CSV (RFC 4180, section 2), after those before it.
fn field(line: &mut String, text: &str) {
    let text = &*plain(text);
    if text.contains(['"', ',', '\n', '\r']) {
        line.push('"');
        line.push_str(&text.replace('"', "\"\""));
        line.push('"');
    } else {
        line.push_str(text);
    }
}

fn csv_lines(records: &Records<'_>, words: &[Words<'_>]) -> String {
    let mut begin = String::new();
    field(&mut begin, records.file);
    let ends: Vec<(String, String)> = words
        .iter()
        .map(|of| {
            let (mut program, mut end) = (String::new(), String::new());
            field(&mut program, of.program);
            let difference = of.difference.as_deref().unwrap_or("");
            let (possible, deciding) = (of.possible.join(" "), of.deciding.join(" "));
            let leans = if of.leans { "yes" } else { "no" };
            for text in
                [of.verdict, of.class, &possible, &deciding, of.recorded.unwrap_or(""), difference, leans, &of.reason]
            {
                end.push(',');
                field(&mut end, text);
            }
            (program, end)
        })
        .collect();
    let mut out = String::new();
    let mut days = Days { last: None, text: String::new() };
    for (at, row, place) in records.each() {
        let Some((program, end)) = ends.get(place) else { continue };
        out.push_str(&begin);
        let _ = write!(out, ",{row},");
        field(&mut out, records.record(at).as_deref().unwrap_or(""));
        for text in [program.as_str(), days.text(records.day(at))] {
            out.push(',');
            out.push_str(text);
        }
        out.push_str(end);
        out.push(',');
        out.push_str(records.unread(at));
        out.push('\n');
    }
    out
}

fn json_lines(records: &Records<'_>, words: &[Words<'_>]) -> String {
    let text = |value: serde_json::Value| value.to_string();
    let file = text(records.file.into());
    let parts: Vec<[String; 3]> = words
        .iter()
        .map(|of| {
            let (class, deciding) = (text(of.class.into()), text(of.deciding.into()));
            let (difference, possible) = (text(of.difference.as_deref().into()), text(of.possible.as_slice().into()));
            let (program, recorded, verdict) =
                (text(of.program.into()), text(of.recorded.into()), text(of.verdict.into()));
            let reason = text(of.reason.as_str().into());
            [
                format!(
                    "{{\"class\":{class},\"deciding\":{deciding},\"difference\":{difference},\"file\":{file},\
                     \"leans_on_weak\":{},\"possible\":{possible},\"program\":{program},\"record\":",
                    of.leans
                ),
                format!(",\"reason\":{reason},\"recorded\":{recorded},\"row\":"),
                format!(",\"verdict\":{verdict}}}\n"),
            ]
        })
        .collect();
    let mut out = String::new();
    let mut days = Days { last: None, text: String::new() };
    for (at, row, place) in records.each() {
        let Some([first, second, third]) = parts.get(place) else { continue };
        let record = text(records.record(at).as_deref().into());
        let unread = records.unread(at) == "yes";
        let _ = write!(out, "{first}{record}{second}{row},\"so_far_as_read\":{unread},\"test_date\":");
        match records.day(at) {
            Some(day) => {
                let _ = write!(out, "\"{}\"", days.text(Some(day)));
            }
            None => out.push_str("null"),
        }
        out.push_str(third);
    }
    out
}

fn schema() -> Schema {
    let word = || DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8));
    let kind = |name: &str| match name {
        "row" => DataType::UInt64,
        "record" => DataType::Utf8,
        "test_date" => DataType::Date32,
        _ => word(),
    };
    Schema::new(columns().map(|name| Field::new(name, kind(name), name != "row")).collect::<Vec<_>>())
}

fn array(array: impl arrow_array::Array + 'static) -> ArrayRef {
    Arc::new(array)
}

/// The columns of a piece's records, in their order.
fn arrays(records: &Records<'_>, words: &[Words<'_>]) -> Result<Vec<ArrayRef>, String> {
    let (mut row, mut record, mut day) = (UInt64Builder::new(), StringBuilder::new(), Date32Builder::new());
    let mut keys: Vec<i32> = Vec::new();
    let mut unread: Vec<i32> = Vec::new();
    for (at, number, place) in records.each() {
        row.append_value(number);
        record.append_option(records.record(at).as_deref());
        day.append_option(records.day(at));
        keys.push(i32::try_from(place).unwrap_or(0));
        unread.push(i32::from(records.unread(at) == "yes"));
    }
    let noughts = Int32Array::from(vec![0; keys.len()]);
    let (keys, unread) = (Int32Array::from(keys), Int32Array::from(unread));
    let word = |keys: &Int32Array, values: StringArray| -> Result<ArrayRef, String> {
        let made = DictionaryArray::<Int32Type>::try_new(keys.clone(), Arc::new(values));
        made.map(array).map_err(|error| error.to_string())
    };
    let all = |of: &dyn Fn(&Words<'_>) -> Option<String>| words.iter().map(of).collect::<StringArray>();
    let some = |text: &str| Some(text.to_owned());
    columns()
        .map(|name| match name {
            "row" => Ok(array(row.finish())),
            "record" => Ok(array(record.finish())),
            "test_date" => Ok(array(day.finish())),
            "file" => word(&noughts, [Some(records.file)].into_iter().collect()),
            "program" => word(&keys, all(&|of| some(of.program))),
            "verdict" => word(&keys, all(&|of| some(of.verdict))),
            "class" => word(&keys, all(&|of| some(of.class))),
            "possible" => word(&keys, all(&|of| Some(of.possible.join(" ")))),
            "deciding" => word(&keys, all(&|of| Some(of.deciding.join(" ")))),
            "recorded" => word(&keys, all(&|of| of.recorded.map(str::to_owned))),
            "difference" => word(&keys, all(&|of| of.difference.clone())),
            "so_far_as_read" => word(&unread, [Some("no"), Some("yes")].into_iter().collect()),
            "reason" => word(&keys, all(&|of| some(&of.reason))),
            _ => word(&keys, all(&|of| some(if of.leans { "yes" } else { "no" }))),
        })
        .collect()
}
