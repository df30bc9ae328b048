//! Files of records end to end against a plain decode of the same columns with the same reader, in one run: CSV split into
//! fields, Parquet decoded column by column, and `wherefore audit` of both with one thread and with two. The records are
//! invented. `WHEREFORE_BENCH_RECORDS` says how many (1000000 where not given). Memory is the most that the process had, by
//! the system's own count, of that many records and of ten times as many.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::print_stdout,
    clippy::float_arithmetic,
    clippy::as_conversions,
    reason = "a benchmark measures, prints and may stop at the first wrong thing"
)]

use arrow_schema::{DataType, Field, Schema};
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::{ArrowReaderMetadata, ArrowReaderOptions, ParquetRecordBatchReaderBuilder};
use std::fs::File;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};

const MAPPING: &str = "examples/larkspur/invented.toml";
const RUNS: usize = 5;

fn wherefore(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wherefore"));
    command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR"));
    command
}

/// The least time of several runs, in nanoseconds a record.
fn least(records: u64, mut work: impl FnMut()) -> f64 {
    let times = (0..RUNS).map(|_| {
        let begun = Instant::now();
        work();
        begun.elapsed().as_nanos() as f64 / records as f64
    });
    times.fold(f64::INFINITY, f64::min)
}

fn made(folder: &Path, ending: &str, records: u64) -> PathBuf {
    let file = folder.join(format!("invented-{records}.{ending}"));
    if !file.exists() {
        let count = records.to_string();
        let path = file.to_str().unwrap();
        let status =
            wherefore(&["audit", "--invent", &count, "--program", "us-model", "--out", path]).status().unwrap();
        assert!(status.success());
    }
    file
}

fn split(file: &Path) {
    let mut reader = csv::Reader::from_path(file).unwrap();
    let mut record = csv::ByteRecord::new();
    let mut bytes = 0;
    while reader.read_byte_record(&mut record).unwrap() {
        bytes += record.len();
    }
    black_box(bytes);
}

/// The columns that the mapping names, texts as dictionaries: what the audit asks of the same reader.
fn decoded(file: &Path, names: &[String]) {
    let file = File::open(file).unwrap();
    let plain = ArrowReaderMetadata::load(&file, ArrowReaderOptions::new()).unwrap();
    let word = || DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8));
    let fields: Vec<Field> = plain
        .schema()
        .fields()
        .iter()
        .map(|field| match field.data_type() {
            DataType::Utf8 if field.name() != "record" => Field::new(field.name(), word(), true),
            _ => field.as_ref().clone(),
        })
        .collect();
    let options = ArrowReaderOptions::new().with_schema(Arc::new(Schema::new(fields)));
    let metadata = ArrowReaderMetadata::load(&file, options).unwrap();
    let places = metadata.schema().fields().iter().enumerate();
    let roots: Vec<usize> = places.filter(|(_, it)| names.contains(it.name())).map(|(place, _)| place).collect();
    let mask = ProjectionMask::roots(metadata.parquet_schema(), roots);
    let reader = ParquetRecordBatchReaderBuilder::new_with_metadata(file, metadata)
        .with_projection(mask)
        .with_batch_size(8192)
        .build()
        .unwrap();
    let mut rows = 0;
    for batch in reader {
        rows += black_box(batch.unwrap()).num_rows();
    }
    black_box(rows);
}

fn audit(file: &Path, threads: &str, code: i32) {
    let path = file.to_str().unwrap();
    let arguments = [
        "audit",
        "--mapping",
        MAPPING,
        "--program",
        "us-model",
        "--threads",
        threads,
        "--skip-questions",
        "--format",
        "json",
        path,
    ];
    let output = wherefore(&arguments).output().unwrap();
    assert!(output.status.code() == Some(code), "{}", String::from_utf8_lossy(&output.stderr));
}

/// An audit that writes what each record comes to.
fn written(file: &Path, threads: &str, out: &Path) -> Command {
    let mut command = wherefore(&["audit", "--mapping", MAPPING, "--program", "us-model", "--skip-questions"]);
    command.args(["--threads", threads, "--force", "--out"]).args([out, file]).stdout(Stdio::null());
    command
}

/// The most memory that an audit of a file takes, in megabytes; `None` where the system does not say.
fn memory(file: &Path, out: &Path) -> Option<u64> {
    let mut child = written(file, "2", out).spawn().unwrap();
    let mut most = None;
    let ended = loop {
        if let Some(ended) = child.try_wait().unwrap() {
            break ended;
        }
        let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap_or_default();
        let line = status.lines().find(|line| line.starts_with("VmHWM:"));
        let kilobytes = line.and_then(|line| line.split_whitespace().nth(1)?.parse::<u64>().ok());
        most = most.max(kilobytes);
        std::thread::sleep(Duration::from_millis(5));
    };
    assert_eq!(ended.code(), Some(1));
    most.map(|kilobytes| kilobytes / 1024)
}

fn main() {
    let records = std::env::var("WHEREFORE_BENCH_RECORDS").ok().and_then(|text| text.parse().ok()).unwrap_or(1_000_000);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).to_owned();
    std::fs::create_dir_all(&folder).unwrap();
    let (csv, parquet) = (made(&folder, "csv", records), made(&folder, "parquet", records));
    let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(MAPPING)).unwrap();
    let mapping = wherefore::internals::audit::mapping::read(&text).unwrap();
    let names: Vec<String> = mapping.columns.iter().map(|column| column.name.clone()).collect();
    println!("{records} invented records, us-model; nanoseconds a record, the least of {RUNS} runs");
    let empty = folder.join("none.csv");
    let text = std::fs::read_to_string(&csv).unwrap();
    std::fs::write(&empty, text.lines().next().unwrap()).unwrap();
    drop(text);
    let start = least(1, || audit(&empty, "1", 0));
    println!(
        "         start of the program       {:8.1} ms for any number of records, in all times below",
        start / 1e6
    );
    let plain = least(records, || split(&csv));
    println!("csv      split into fields          {plain:8.1}");
    let one = least(records, || audit(&csv, "1", 1));
    println!("csv      audit, one thread          {one:8.1}   {:.2} times the split", one / plain);
    let two = least(records, || audit(&csv, "2", 1));
    println!("csv      audit, two threads         {two:8.1}   {:.2} times faster than one", one / two);
    let plain = least(records, || decoded(&parquet, &names));
    println!("parquet  decode of the columns      {plain:8.1}");
    let one = least(records, || audit(&parquet, "1", 1));
    println!("parquet  audit, one thread          {one:8.1}   {:.2} times the decode", one / plain);
    let two = least(records, || audit(&parquet, "2", 1));
    println!("parquet  audit, two threads         {two:8.1}   {:.2} times faster than one", one / two);
    let out = folder.join("outcomes.parquet");
    let one = least(records, || assert_eq!(written(&parquet, "1", &out).status().unwrap().code(), Some(1)));
    println!("parquet  audit, outcomes written    {one:8.1}   {:.2} times the decode", one / plain);
    for ending in ["csv", "parquet"] {
        for records in [records, 10 * records] {
            let shown = memory(&made(&folder, ending, records), &out);
            let shown = shown.map_or("not told by the system".to_owned(), |it| format!("{it:8} MB"));
            println!("{ending:<8} memory, {records:>9} records      {shown}, outcomes written, two threads");
        }
    }
}
