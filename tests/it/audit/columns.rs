//! Parquet files that other libraries wrote (`tests/audit/columns/make.py`): every type × every kind of fact gives what
//! `judge` gives of the same record, and a type that cannot be read as what the mapping says is refused with the reason.

use super::{ROOT, exit, folder, run, text};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use rstest::rstest;
use serde_json::Value as Json;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use wherefore::internals::audit::mapping::status_facts;
use wherefore::internals::check::check;
use wherefore::internals::model::{
    CodeList, DeclaredValue, Fact, Monitor, MonitorSet, Snapshot, TroubleCode, Value, spec,
};
use wherefore::internals::program::{Program, Selection, select};
use wherefore::internals::source::Source;
use wherefore::internals::syntax::parse;

const RULES: &str = "tests/audit/columns/kinds.wherefore";

fn data(name: &str) -> PathBuf {
    Path::new(ROOT).join("tests/audit/columns").join(name)
}

/// What is said of a record: the date, the verdicts that are possible, the clauses that decide; nothing of one that
/// contradicts itself.
type Said = Option<(String, Vec<String>, Vec<String>)>;

fn program() -> Program {
    let source = std::fs::read_to_string(Path::new(ROOT).join(RULES)).unwrap();
    let parsed = parse(&Source::new("kinds", &source));
    assert!(parsed.diagnostics.is_empty());
    check(&parsed.file, &()).program.expect("the program can be used")
}

/// A record as a snapshot, made without any reader of columns: from the values as the script knows them.
fn snapshot(record: &Json) -> Snapshot {
    let mut made = Snapshot::default();
    let date = |text: &Json| wherefore::internals::document::parse_date(text.as_str().unwrap()).unwrap();
    let word = |fact: Fact, word: &str| {
        Value::Word(u8::try_from(fact.words().iter().position(|known| *known == word).unwrap()).unwrap())
    };
    let own = [Fact::Monitor(Monitor::named("catalyst").unwrap())];
    if let Some(status) = record["status"].as_str() {
        let bytes = u32::from_str_radix(status, 16).unwrap().to_be_bytes();
        for (fact, reading) in status_facts(bytes) {
            // A fact with a column of its own is taken from that (the page on mapping files), also where it is empty.
            if !own.contains(&fact) {
                made.readings.insert(fact, reading);
            }
        }
    }
    for (key, value) in record.as_object().unwrap().iter().filter(|(_, value)| !value.is_null()) {
        let list = || value.as_array().unwrap().iter().map(|it| it.as_str().unwrap());
        match key.as_str() {
            "date" => made.set(Fact::TestDate, Value::Date(date(value))),
            "registered" => made.set(Fact::FirstRegistered, Value::Date(date(value))),
            "fuel" => {
                let fuel = if value == "G" { "gasoline" } else { "natural-gas" };
                made.set(Fact::Fuel, word(Fact::Fuel, fuel));
            }
            "lamp" => made.set(Fact::LampLitRunning, Value::Word(u8::from(value.as_bool().unwrap()))),
            "year" => made.set(Fact::ModelYear, Value::Number(value.as_i64().unwrap())),
            "odometer" => {
                let miles = value.as_i64().unwrap();
                made.set(
                    Fact::Odometer,
                    Value::Number(wherefore::internals::model::Unit::Mile.to_base(miles).unwrap()),
                );
            }
            "make" => made.set(Fact::Make, Value::Text(value.as_str().unwrap().to_owned())),
            "earlier" => {
                let set: MonitorSet = list().map(|name| Monitor::named(name).unwrap()).collect();
                made.set(Fact::EarlierIncomplete, Value::Monitors(set));
            }
            "codes" => {
                let codes = list().map(|code| TroubleCode::parse(code).unwrap()).collect();
                made.set(Fact::StoredCodes, Value::Codes(CodeList { codes, may_hold_more: false }));
            }
            "catalyst" => {
                let state = match value.as_str().unwrap() {
                    "C" => "complete",
                    "I" => "incomplete",
                    _ => "unsupported",
                };
                made.set(own[0], word(own[0], state));
            }
            "exhaust" => {
                let state = if value == "ok" { "sound" } else { "leaking" };
                made.declared.insert("exhaust".to_owned(), DeclaredValue::Word(state.to_owned()));
            }
            "certified" => {
                made.declared.insert("certified".to_owned(), DeclaredValue::YesNo(value.as_bool().unwrap()));
            }
            "days" => {
                made.declared.insert("days-since".to_owned(), DeclaredValue::Number(value.as_i64().unwrap()));
            }
            "id" | "result" | "status" => {}
            other => panic!("{other}"),
        }
    }
    assert_eq!(spec(Fact::Odometer).name, "odometer");
    made
}

/// What `judge` says of each record, by its id.
fn judged() -> BTreeMap<String, Said> {
    let program = program();
    let lines = std::fs::read_to_string(data("records.jsonl")).unwrap();
    let said = |line: &str| {
        let record: Json = serde_json::from_str(line).unwrap();
        let snapshot = snapshot(&record);
        let flat = select(&program, &Selection::on(snapshot.test_date().unwrap())).unwrap();
        let said = wherefore::internals::ruling::judge(&flat, &program, &snapshot).ok().map(|ruling| {
            let possible = ruling.possible.iter().map(|it| it.name.clone()).collect();
            (record["date"].as_str().unwrap().to_owned(), possible, ruling.deciding.clone())
        });
        (record["id"].as_str().unwrap().to_owned(), said)
    };
    lines.lines().map(said).collect()
}

/// The types in which a file holds each kind; those that must be refused apart.
fn variants(file: &Path) -> (BTreeMap<String, Vec<String>>, Vec<(String, String)>) {
    let reader = ParquetRecordBatchReaderBuilder::try_new(std::fs::File::open(file).unwrap()).unwrap();
    let (mut all, mut refused): (BTreeMap<String, Vec<String>>, _) = (BTreeMap::new(), Vec::new());
    for field in reader.schema().fields() {
        let (kind, name) = field.name().split_once('|').unwrap();
        match name.strip_prefix('!') {
            Some(_) => refused.push((kind.to_owned(), field.name().clone())),
            None => all.entry(kind.to_owned()).or_default().push(field.name().clone()),
        }
    }
    (all, refused)
}

fn mapping(columns: &BTreeMap<String, String>) -> String {
    let mut text = "format = \"wherefore-mapping/1\"\n[columns]\n".to_owned();
    for (kind, column) in columns {
        let date = if column.contains("YYYYMMDD") { "YYYYMMDD" } else { "YYYY-MM-DD" };
        // Parquet itself keeps that a column holds moments, not how far their zone is from UTC: the mapping says it.
        let zone = match column {
            refused if refused.contains("|!") => "",
            west if west.ends_with("-07:00)") => ", zone = \"-07:00\"",
            _ => ", zone = \"UTC\"",
        };
        let yes_no =
            "words = {Y = \"yes\", N = \"no\", true = \"yes\", false = \"no\", \"1\" = \"yes\", \"0\" = \"no\"}";
        let entry = match kind.as_str() {
            "id" => "holds = \"record-id\"".to_owned(),
            "date" => format!("fact = \"visit.date\", date = \"{date}\"{zone}"),
            "registered" => format!("fact = \"vehicle.first_registered\", date = \"{date}\"{zone}"),
            "fuel" => "fact = \"vehicle.fuel\", words = {G = \"gasoline\", N = \"natural-gas\"}".to_owned(),
            "lamp" => format!("fact = \"lamp.lit_engine_running\", {yes_no}"),
            "year" => "fact = \"vehicle.model_year\"".to_owned(),
            "odometer" => "fact = \"visit.odometer_km\", unit = \"miles\"".to_owned(),
            "make" => "fact = \"vehicle.make\"".to_owned(),
            "earlier" => "fact = \"visit.earlier_incomplete\", separator = \"|\", none = [\"none\"]".to_owned(),
            "codes" => "fact = \"codes.stored\", separator = \"|\", none = [\"none\"]".to_owned(),
            "catalyst" => {
                "fact = \"monitors.catalyst\", words = {C = \"complete\", I = \"incomplete\", U = \"unsupported\"}"
                    .to_owned()
            }
            "status" => "holds = \"pid-01\"".to_owned(),
            "exhaust" => "fact = \"declared.exhaust\", words = {ok = \"sound\", hole = \"leaking\"}".to_owned(),
            "certified" => "fact = \"declared.certified\", words = {Y = true, N = false, true = true, false = false, \
                            \"1\" = true, \"0\" = false}"
                .to_owned(),
            "days" => "fact = \"declared.days-since\"".to_owned(),
            "result" => "holds = \"recorded-result\", classes = {P = \"pass\", F = \"fail\"}".to_owned(),
            other => panic!("{other}"),
        };
        text.push_str(&format!("\"{column}\" = {{{entry}}}\n"));
    }
    text
}

/// What an audit says of each record, by its id.
fn audited(file: &Path, columns: &BTreeMap<String, String>) -> BTreeMap<String, Said> {
    let folder = folder("columns");
    let (mapped, out) = (folder.join("mapping.toml"), folder.join("out.jsonl"));
    std::fs::write(&mapped, mapping(columns)).unwrap();
    let arguments = [
        "--mapping",
        mapped.to_str().unwrap(),
        "--rules",
        RULES,
        "--program",
        "kinds",
        "--out",
        out.to_str().unwrap(),
        file.to_str().unwrap(),
    ];
    let output = run(&arguments);
    assert!(exit(&output) < 2, "{columns:?}\n{}", text(&output.stderr));
    let written = std::fs::read_to_string(&out).unwrap();
    let list = |value: &Json| -> Vec<String> {
        value.as_array().unwrap().iter().map(|it| it.as_str().unwrap().to_owned()).collect()
    };
    let said = |line: &str| {
        let record: Json = serde_json::from_str(line).unwrap();
        let date = record["test_date"].as_str().unwrap().to_owned();
        let said = (date, list(&record["possible"]), list(&record["deciding"]));
        (record["record"].as_str().unwrap().to_owned(), Some(said))
    };
    written.lines().map(said).collect()
}

#[rstest]
#[case::pyarrow("pyarrow.parquet", 20)]
#[case::pyarrow_without_its_schema("pyarrow-bare.parquet", 20)]
#[case::pandas("pandas.parquet", 4)]
#[case::polars("polars.parquet", 5)]
#[case::duckdb("duckdb.parquet", 10)]
#[case::spark("spark.parquet", 5)]
fn every_type_gives_what_judge_gives(#[case] name: &str, #[case] at_least: usize) {
    let file = data(name);
    let expected = judged();
    let told: usize = expected.values().flatten().map(|(_, _, deciding)| deciding.len()).sum();
    let clauses: std::collections::BTreeSet<&String> = expected.values().flatten().flat_map(|it| &it.2).collect();
    assert!(expected.values().flatten().count() > 30 && clauses.len() == 15 && told > 60, "{told} {clauses:?}");
    let (all, _) = variants(&file);
    let most = all.values().map(Vec::len).max().unwrap();
    assert!(most >= at_least && all.len() == 16, "{most} types, {} kinds", all.len());
    for place in 0..most {
        let chosen = |list: &Vec<String>| list[place % list.len()].clone();
        let columns: BTreeMap<String, String> = all.iter().map(|(kind, list)| (kind.clone(), chosen(list))).collect();
        let found = audited(&file, &columns);
        for (id, said) in &expected {
            assert_eq!(&found.get(id).cloned().flatten(), said, "{id} by {columns:#?}");
        }
    }
}

#[rstest]
#[case::pyarrow("pyarrow.parquet", 10)]
#[case::pandas("pandas.parquet", 1)]
#[case::polars("polars.parquet", 1)]
#[case::duckdb("duckdb.parquet", 2)]
#[case::spark("spark.parquet", 1)]
fn a_type_that_cannot_be_read_so_is_refused(#[case] name: &str, #[case] at_least: usize) {
    let file = data(name);
    let (all, refused) = variants(&file);
    assert!(refused.len() >= at_least, "{refused:?}");
    for (kind, column) in refused {
        let mut columns: BTreeMap<String, String> =
            all.iter().map(|(kind, list)| (kind.clone(), list[0].clone())).collect();
        columns.insert(kind, column.clone());
        let folder = folder("refused");
        let (mapped, out) = (folder.join("mapping.toml"), folder.join("out.csv"));
        std::fs::write(&mapped, mapping(&columns)).unwrap();
        let (mapped, out) = (mapped.to_str().unwrap(), out.to_str().unwrap());
        let output =
            run(&["--mapping", mapped, "--rules", RULES, "--program", "kinds", "--out", out, file.to_str().unwrap()]);
        let told = text(&output.stderr);
        assert_eq!(exit(&output), 2, "{column}: {told}");
        assert!(told.contains(&format!("column \"{column}\" is of type ")), "{told}");
        assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 1, "nothing was written");
    }
}

/// Moments in UTC: on which day each falls where the test was is not told, so that no zone in the mapping is an error.
#[rstest]
#[case::pyarrow("pyarrow.parquet", "UTC")]
#[case::pandas("pandas.parquet", "UTC")]
#[case::spark("spark.parquet", "timestamp")]
fn moments_in_utc_need_a_zone(#[case] name: &str, #[case] kind: &str) {
    let file = data(name);
    let (all, _) = variants(&file);
    let column = all["date"].iter().find(|column| column.trim_end_matches(')').ends_with(kind)).unwrap();
    let folder = folder("moments");
    let (mapped, out) = (folder.join("mapping.toml"), folder.join("out.csv"));
    for (zone, is_read) in [("", false), (", zone = \"-07:00\"", true), (", zone = \"America/Denver\"", false)] {
        let text =
            format!("format = \"wherefore-mapping/1\"\n[columns]\n\"{column}\" = {{fact = \"visit.date\"{zone}}}\n");
        std::fs::write(&mapped, text).unwrap();
        let (mapped, out) = (mapped.to_str().unwrap(), out.to_str().unwrap());
        let output =
            run(&["--mapping", mapped, "--rules", RULES, "--program", "kinds", "--out", out, file.to_str().unwrap()]);
        let told = text_of(&output.stderr);
        assert_eq!(exit(&output) < 2, is_read, "{column}{zone}: {told}");
        assert!(is_read || told.contains("-07:00"), "{told}");
    }
}

fn text_of(bytes: &[u8]) -> String {
    text(bytes).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A bare number in JSON can be the value of PID $01 or its digits, so it is refused; a fraction is no code of anything.
#[rstest]
#[case::value("81076504", "is a bare number")]
#[case::fraction("1.5", "is a bare number")]
#[case::list("[2164745476]", "is a list")]
#[case::twice("\"0007E500\", \"status\": \"0007E504\"", "is a key that the object has twice")]
#[case::twice_with_null("null, \"status\": \"0007E504\"", "is a key that the object has twice")]
fn status_in_json_is_text(#[case] value: &str, #[case] reason: &str) {
    let folder = folder("bare");
    let (file, mapped, aside) = (folder.join("a.jsonl"), folder.join("m.toml"), folder.join("aside.csv"));
    let head = "\"format\": \"wherefore-snapshot/1\", \"d\": \"2025-01-02\"";
    std::fs::write(&file, format!("{{{head}, \"status\": {value}}}\n{{{head}}}\n")).unwrap();
    for lines in ["flat", "snapshots"] {
        let head = "format = \"wherefore-mapping/1\"\n[file]\nlines = ";
        std::fs::write(
            &mapped,
            format!("{head}\"{lines}\"\n[columns]\nd = \"visit.date\"\nstatus = {{holds = \"pid-01\"}}\n"),
        )
        .unwrap();
        let _ = std::fs::remove_file(&aside);
        let output = run(&[
            "--mapping",
            mapped.to_str().unwrap(),
            "--rules",
            RULES,
            "--program",
            "kinds",
            "--set-aside",
            aside.to_str().unwrap(),
            file.to_str().unwrap(),
        ]);
        assert_eq!(exit(&output), 1, "{}", text(&output.stderr));
        let told = std::fs::read_to_string(&aside).unwrap();
        let told_so = told.lines().any(|line| line.contains(",1,1,status,") && line.contains(reason));
        assert!(told_so || (lines == "snapshots" && value.starts_with('[') && told.contains(",1,1,status,")), "{told}");
    }
}

/// A column of days holds those from 1900 through 2199, as a date in a document does (docs/limits.md); one beyond is set aside with
/// its day.
#[test]
fn days_have_their_first_and_their_last() {
    use arrow_array::{ArrayRef, Date32Array, RecordBatch};
    let folder = folder("days");
    let (file, mapped, aside) = (folder.join("a.parquet"), folder.join("m.toml"), folder.join("aside.csv"));
    // Days since 1970-01-01 by the proleptic Gregorian calendar: 1899-12-31, 1900-01-01, 2199-12-31, 2200-01-01.
    let days: ArrayRef = std::sync::Arc::new(Date32Array::from(vec![-25_568, -25_567, 84_005, 84_006]));
    let batch = RecordBatch::try_from_iter([("d", days)]).unwrap();
    let written = std::fs::File::create(&file).unwrap();
    let mut writer = parquet::arrow::ArrowWriter::try_new(written, batch.schema(), None).unwrap();
    writer.write(&batch).unwrap();
    writer.close().unwrap();
    std::fs::write(&mapped, "format = \"wherefore-mapping/1\"\n[columns]\nd = \"visit.date\"\n").unwrap();
    let paths = [&mapped, &aside, &file].map(|path| path.to_str().unwrap());
    let output =
        run(&["--mapping", paths[0], "--rules", RULES, "--program", "kinds", "--set-aside", paths[1], paths[2]]);
    let told = std::fs::read_to_string(&aside).unwrap_or_else(|_| panic!("{}", text(&output.stderr)));
    let lines: Vec<&str> = told.lines().skip(1).collect();
    assert_eq!(lines.len(), 2, "{told}");
    assert!(lines[0].contains(",d,1899-12-31,") && lines[1].contains(",d,2200-01-01,"), "{told}");
}
