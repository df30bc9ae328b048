//! `wherefore audit --invent`: invented records with the results that a program gives them, and planted errors.

use super::args::{Audit, RecordFormat};
use super::parquet::Written;
use super::{out, request};
use crate::audit::invent::{self, COLUMNS, Invented, MAPPING};
use crate::audit::mapping::{self, Mapping};
use crate::audit::{Fields, Judging, Said, Table, Worker};
use crate::cli::beside::{self, Beside};
use crate::cli::{Exit, interrupt, print};
use crate::document::parse_date;
use crate::model::day_number;
use arrow_array::ArrayRef;
use arrow_array::builder::{Date32Builder, Int32Builder, StringBuilder, StringDictionaryBuilder, UInt32Builder};
use arrow_array::types::Int32Type;
use arrow_schema::{DataType, Field, Schema};
use std::io::Write;
use std::sync::Arc;

/// Records made at once.
const LOT: u64 = 4096;

/// Classes that a wrong result is taken from.
const CLASSES: [&str; 3] = ["pass", "reject", "fail"];

pub(super) fn run(args: &Audit) -> Result<Exit, Vec<String>> {
    let one = |message: String| vec![message];
    let count = args.invent.unwrap_or(0);
    let form = match (&args.out, args.out_format) {
        (Some(path), given) => out::form(path, given).map_err(one)?,
        (None, Some(RecordFormat::Parquet)) => {
            return Err(one("Parquet is written to a file only; give --out FILE".to_owned()));
        }
        (None, given) => given.unwrap_or(RecordFormat::Csv),
    };
    let mapping = mapping::read(MAPPING).map_err(|faults| {
        faults.iter().map(|fault| format!("the mapping of invented records, {fault}")).collect::<Vec<_>>()
    })?;
    let programs = request::programs(args, None, false)?;
    if programs.len() != 1 {
        return Err(one("give one program, whose results are recorded".to_owned()));
    }
    super::apart(args, &super::program_files(args))?;
    super::told_left(args);
    interrupt::discard();
    let mut writer = Writer::new(args, form).map_err(one)?;
    let mut maker =
        Maker { mapping, programs, worker: Worker::default(), seed: args.seed, share: args.planted, planted: 0 };
    let bar = super::bar(Some(count));
    let mut first = 1;
    // Nobody reads on after a closed pipe, and nothing more can be written to a full disk.
    while first <= count && !print::is_over() {
        let numbers = first..=count.min(first + LOT - 1);
        first += LOT;
        let lot = maker.lot(numbers.clone())?;
        writer.write(&lot).map_err(one)?;
        bar.set_position(*numbers.end());
    }
    bar.finish_and_clear();
    writer.finish().map_err(one)?;
    if !print::is_over() {
        print::message(&format!("{count} invented records, {} of them with a planted error", maker.planted));
    }
    Ok(Exit::Good)
}

struct Maker {
    mapping: Mapping,
    programs: Vec<Judging>,
    worker: Worker,
    seed: u64,
    /// In ten thousand.
    share: u32,
    planted: u64,
}

impl Maker {
    /// The records of these numbers, with their results.
    fn lot(&mut self, numbers: std::ops::RangeInclusive<u64>) -> Result<Vec<Invented>, Vec<String>> {
        let mut records: Vec<Invented> = numbers.clone().map(|number| invent::record(self.seed, number)).collect();
        let table = table(&records);
        let places: Vec<usize> = self
            .mapping
            .columns
            .iter()
            .filter_map(|column| COLUMNS.iter().position(|name| *name == column.name))
            .collect();
        // Made anew for each lot: what it keeps would only grow.
        let mut lot = Fields::new(&self.mapping).read(&table, &places);
        let done = self.worker.work(&self.programs, &mut lot, true);
        if let Some(aside) = done.aside.first() {
            let place = numbers.start() + u64::try_from(aside.row).unwrap_or(0);
            let what = match aside.column.as_str() {
                "" => String::new(),
                column => format!("{column} \"{}\" ", aside.value),
            };
            return Err(vec![format!("invented record {place}: {what}{}", aside.reason)]);
        }
        for ((record, number), place) in records.iter_mut().zip(numbers).zip(&done.places) {
            let outcome = usize::try_from(*place).ok().and_then(|place| done.outcomes.get(place));
            let Some(outcome) = outcome else { continue };
            let right = class_of(&outcome.said);
            record.set("result", right);
            let is_certain = record.is_complete && outcome.said.possible.len() == 1;
            let wrong: Vec<&str> = CLASSES.iter().copied().filter(|class| *class != right).collect();
            let choices = if is_certain { wrong.len() } else { 0 };
            if let Some(class) =
                invent::planted(self.seed, number, self.share, choices).and_then(|place| wrong.get(place))
            {
                record.set("result", class);
                record.set("planted", &format!("{class} for {right}"));
                self.planted += 1;
            }
            invent::lose(record, self.seed, number);
        }
        Ok(records)
    }
}

/// The class that is recorded; where an open question leaves several, the first.
fn class_of(said: &Said) -> &'static str {
    said.possible.first().map_or("pass", |(_, class)| class.word())
}

fn table(records: &[Invented]) -> Table {
    let mut table = Table { width: COLUMNS.len(), len: records.len(), ..Table::default() };
    for record in records {
        for field in &record.fields {
            let from = table.bytes.len();
            table.bytes.extend_from_slice(field.as_bytes());
            table.end_field(from);
        }
    }
    table.pad();
    table
}

/// Where records go.
enum Writer {
    Csv(Box<csv::Writer<Box<dyn Write>>>, Option<Shared>),
    Json(Box<dyn Write>, Option<Shared>),
    Parquet(Box<Written>),
}

/// A file beside its place, shared by the writer in front of it and the code that finishes it.
#[derive(Clone)]
struct Shared(std::rc::Rc<std::cell::RefCell<Option<Beside>>>);

impl Write for Shared {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.borrow_mut().as_mut().map_or(Ok(bytes.len()), |file| file.write(bytes))
    }
    fn flush(&mut self) -> std::io::Result<()> {
        self.0.borrow_mut().as_mut().map_or(Ok(()), Write::flush)
    }
}

impl Shared {
    fn finish(&self) -> Result<(), String> {
        self.0.borrow_mut().take().map_or(Ok(()), |file| beside::place(vec![file]))
    }
}

/// Standard output, through the one place that prints.
struct Printed;

impl Write for Printed {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        print::data(&String::from_utf8_lossy(bytes));
        Ok(bytes.len())
    }
    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// Columns that are whole numbers in Parquet.
const NUMBERS: [&str; 7] =
    ["model_year", "gross_weight_lb", "earlier_incomplete_visits", "odometer_km", "warm_ups", "distance_km", "minutes"];

impl Writer {
    fn new(args: &Audit, form: RecordFormat) -> Result<Writer, String> {
        if let (RecordFormat::Parquet, Some(path)) = (form, args.out.as_deref()) {
            let file = Beside::create(path, args.force)?;
            let word = || DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8));
            let kind = |name: &str| match name {
                "record" => DataType::Utf8,
                "test_date" => DataType::Date32,
                "pid_01" => DataType::UInt32,
                name if NUMBERS.contains(&name) => DataType::Int32,
                _ => word(),
            };
            let fields: Vec<Field> = COLUMNS.iter().map(|name| Field::new(*name, kind(name), true)).collect();
            return Ok(Writer::Parquet(Box::new(Written::create(file, Schema::new(fields))?)));
        }
        let beside = args.out.as_deref().map(|path| Beside::create(path, args.force)).transpose()?;
        let shared = beside.map(|file| Shared(std::rc::Rc::new(std::cell::RefCell::new(Some(file)))));
        let target: Box<dyn Write> = match &shared {
            Some(shared) => Box::new(shared.clone()),
            None => Box::new(Printed),
        };
        if form == RecordFormat::Jsonl {
            return Ok(Writer::Json(target, shared));
        }
        let mut writer = csv::Writer::from_writer(target);
        writer.write_record(COLUMNS).map_err(|error| error.to_string())?;
        Ok(Writer::Csv(Box::new(writer), shared))
    }

    fn write(&mut self, records: &[Invented]) -> Result<(), String> {
        match self {
            Writer::Csv(writer, _) => records
                .iter()
                .try_for_each(|record| writer.write_record(&record.fields).map_err(|error| error.to_string())),
            Writer::Json(writer, _) => {
                let mut text = String::new();
                for record in records {
                    text.push_str(&json_line(record));
                }
                writer.write_all(text.as_bytes()).map_err(|error| error.to_string())
            }
            Writer::Parquet(writer) => writer.write(COLUMNS.iter().map(|name| array(name, records)).collect()),
        }
    }

    fn finish(self) -> Result<(), String> {
        match self {
            Writer::Csv(mut writer, shared) => {
                writer.flush().map_err(|error| error.to_string())?;
                shared.map_or(Ok(()), |shared| shared.finish())
            }
            Writer::Json(_, shared) => shared.map_or(Ok(()), |shared| shared.finish()),
            Writer::Parquet(writer) => beside::place(vec![writer.finish()?]),
        }
    }
}

/// A record as an object; what is not known is left out.
fn json_line(record: &Invented) -> String {
    let mut object = serde_json::Map::new();
    for (name, field) in COLUMNS.iter().zip(&record.fields).filter(|(_, field)| !field.is_empty()) {
        let value = match (NUMBERS.contains(name), field.parse::<i64>()) {
            (true, Ok(number)) => number.into(),
            _ => field.clone().into(),
        };
        object.insert((*name).to_owned(), value);
    }
    format!("{}\n", serde_json::Value::Object(object))
}

fn array(name: &str, records: &[Invented]) -> ArrayRef {
    let fields = records.iter().map(|record| record.field(name));
    match name {
        "record" => {
            let mut builder = StringBuilder::new();
            fields.for_each(|field| builder.append_value(field));
            Arc::new(builder.finish())
        }
        "test_date" => {
            let mut builder = Date32Builder::new();
            let day = |field: &str| parse_date(field).and_then(|date| i32::try_from(day_number(date)).ok());
            fields.for_each(|field| builder.append_option(day(field)));
            Arc::new(builder.finish())
        }
        "pid_01" => {
            let mut builder = UInt32Builder::new();
            fields.for_each(|field| builder.append_option(u32::from_str_radix(field, 16).ok()));
            Arc::new(builder.finish())
        }
        name if NUMBERS.contains(&name) => {
            let mut builder = Int32Builder::new();
            fields.for_each(|field| builder.append_option(field.parse().ok()));
            Arc::new(builder.finish())
        }
        _ => {
            let mut builder = StringDictionaryBuilder::<Int32Type>::new();
            fields.for_each(|field| builder.append_option(Some(field).filter(|field| !field.is_empty())));
            Arc::new(builder.finish())
        }
    }
}
