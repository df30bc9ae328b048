//! Invented records: the same seed gives the same file, each says what it is, an audit finds exactly the planted errors,
//! in every form and with any number of threads.

use super::{exit, folder, run, text};
use rstest::rstest;
use std::path::Path;

const MAPPING: &str = "examples/larkspur/invented.toml";

fn invent(file: &Path, count: &str, seed: &str) -> u64 {
    let output = run(&[
        "--invent",
        count,
        "--seed",
        seed,
        "--planted",
        "800",
        "--program",
        "us-model",
        "--out",
        file.to_str().unwrap(),
    ]);
    assert_eq!(exit(&output), 0, "{}", text(&output.stderr));
    let told = text(&output.stderr);
    let number = told.split(", ").nth(1).unwrap().split(' ').next().unwrap();
    number.parse().unwrap()
}

/// What came of each record, without the file it came from.
fn outcomes(name: &str, records: &Path, threads: &str) -> Vec<csv::StringRecord> {
    let out = folder(&format!("invented-out-{name}-{threads}")).join("out.csv");
    let output = run(&[
        "--mapping",
        MAPPING,
        "--program",
        "us-model",
        "--threads",
        threads,
        "--out",
        out.to_str().unwrap(),
        records.to_str().unwrap(),
    ]);
    assert_eq!(exit(&output), 1, "{}", text(&output.stderr));
    let mut reader = csv::Reader::from_path(&out).unwrap();
    reader.records().map(|record| record.unwrap().iter().skip(1).collect()).collect()
}

/// The answer key stands in the file itself, in a column that the mapping does not name.
#[test]
fn an_audit_finds_exactly_the_planted_errors() {
    let file = folder("planted").join("records.csv");
    let planted = invent(&file, "300", "11");
    let mut reader = csv::Reader::from_path(&file).unwrap();
    let header = reader.headers().unwrap().clone();
    let place = |name: &str| header.iter().position(|known| known == name).unwrap();
    let (record, origin, result, key) = (place("record"), place("origin"), place("result"), place("planted"));
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert!(rows.iter().all(|row| &row[origin] == "invented"));
    let wanted: Vec<(String, String)> = rows
        .iter()
        .filter(|row| !row[key].is_empty())
        .map(|row| {
            let right = row[key].split(" for ").nth(1).unwrap();
            (row[record].to_owned(), format!("recorded {}, should be {right}", &row[result]))
        })
        .collect();
    assert_eq!(u64::try_from(wanted.len()).unwrap(), planted);
    assert!(planted > 10, "enough of them to find: {planted}");
    let found: Vec<(String, String)> = outcomes("planted", &file, "1")
        .iter()
        .filter(|row| !row[9].is_empty())
        .map(|row| (row[1].to_owned(), row[9].to_owned()))
        .collect();
    assert_eq!(found, wanted);
}

/// Some of the records have lost fields, so that undecided ones are among them; their recorded results stay possible.
#[rstest]
#[case::csv("records.csv")]
#[case::json("records.jsonl")]
#[case::parquet("records.parquet")]
fn every_form_and_any_number_of_threads_give_the_same(#[case] name: &str) {
    let folder = folder(&format!("forms-{name}"));
    let (file, csv) = (folder.join(name), folder.join("plain.csv"));
    assert_eq!(invent(&file, "200", "5"), invent(&csv, "200", "5"));
    let reference = outcomes(&format!("reference-{name}"), &csv, "1");
    assert_eq!(reference.len(), 200);
    assert!(reference.iter().any(|row| &row[4] == "undecided"));
    for threads in ["1", "2", "5"] {
        assert_eq!(outcomes(name, &file, threads), reference, "{threads} threads");
    }
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let folder = folder("seeds");
    let (one, same, other) = (folder.join("one.csv"), folder.join("same.csv"), folder.join("other.csv"));
    invent(&one, "60", "3");
    invent(&same, "60", "3");
    invent(&other, "60", "4");
    let read = |file: &Path| std::fs::read(file).unwrap();
    assert_eq!(read(&one), read(&same));
    assert_ne!(read(&one), read(&other));
    let printed = run(&["--invent", "60", "--seed", "3", "--planted", "800", "--program", "us-model"]);
    assert_eq!(printed.stdout, read(&one), "standard output holds what a file would");
}

/// A draft for invented records gets most columns right by itself.
#[test]
fn a_draft_for_invented_records_is_close() {
    let file = folder("draft").join("records.csv");
    invent(&file, "100", "2");
    let draft = text(&run(&["--draft-mapping", file.to_str().unwrap()]).stdout);
    let mapping = wherefore::audit::mapping::read(&draft).unwrap();
    assert!(mapping.columns.len() >= 16, "{draft}");
    assert!(draft.contains("\"pid_01\" = {holds = \"pid-01\"}"), "{draft}");
}

/// Blocks of a file that ends within quotes and line ends: many records with a line end in a quoted field.
#[test]
fn records_are_cut_where_they_end() {
    let folder = folder("quoted-lines");
    let (file, plain) = (folder.join("quoted.csv"), folder.join("plain.csv"));
    invent(&plain, "40", "9");
    let mut reader = csv::Reader::from_path(&plain).unwrap();
    let mut writer = csv::Writer::from_path(&file).unwrap();
    let mut header = reader.headers().unwrap().clone();
    header.push_field("remark");
    writer.write_record(&header).unwrap();
    // A long remark with line ends makes the file larger than several blocks.
    let remark = "looked at twice\nand \"again\", with care\n".repeat(700);
    for record in reader.records() {
        let mut record = record.unwrap();
        record.push_field(&remark);
        writer.write_record(&record).unwrap();
    }
    writer.flush().unwrap();
    drop(writer);
    let strip = |rows: Vec<csv::StringRecord>| rows;
    assert_eq!(strip(outcomes("quoted", &file, "2")), strip(outcomes("quoted-plain", &plain, "1")));
}

/// A Parquet file of many row groups, which threads read at the same time.
#[test]
fn threads_read_row_groups_apart() {
    use parquet::arrow::{ArrowWriter, arrow_reader::ParquetRecordBatchReaderBuilder};
    let folder = folder("row-groups");
    let (whole, parts) = (folder.join("whole.parquet"), folder.join("parts.parquet"));
    invent(&whole, "300", "6");
    let builder = ParquetRecordBatchReaderBuilder::try_new(std::fs::File::open(&whole).unwrap()).unwrap();
    let schema = builder.schema().clone();
    let properties =
        parquet::file::properties::WriterProperties::builder().set_max_row_group_row_count(Some(8)).build();
    let mut writer = ArrowWriter::try_new(std::fs::File::create(&parts).unwrap(), schema, Some(properties)).unwrap();
    for batch in builder.build().unwrap() {
        writer.write(&batch.unwrap()).unwrap();
    }
    assert!(writer.close().unwrap().num_row_groups() > 30);
    let reference = outcomes("whole", &whole, "1");
    for threads in ["1", "2", "8"] {
        assert_eq!(outcomes("parts", &parts, threads), reference, "{threads} threads");
    }
}
