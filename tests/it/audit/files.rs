//! Files in and out: every form of the same records gives the same answers; bad rows are set aside and everything adds
//! up; bad files are refused whole. What is allowed: design page, sections 8 and 9; `grammar/mapping.md`.

use super::{MAPPING, RECORDS, ROOT, exit, folder, run, run_with_input, text};
use rstest::rstest;
use std::io::Write;
use std::path::Path;

fn records() -> String {
    std::fs::read_to_string(Path::new(ROOT).join(RECORDS)).unwrap()
}

/// What came of each record, as CSV without the column of the file.
fn outcomes(file: &Path) -> Vec<String> {
    let text = std::fs::read_to_string(file).unwrap();
    text.lines().map(|line| line.split_once(',').unwrap().1.to_owned()).collect()
}

/// Audits a file of the motor pool's records by its mapping; what came of each record.
fn audited(name: &str, records: &Path, mapping: &str) -> Vec<String> {
    let out = folder(&format!("out-{name}")).join("out.csv");
    let output = run(&[
        "--mapping",
        mapping,
        "--program",
        "us-model",
        "--out",
        out.to_str().unwrap(),
        records.to_str().unwrap(),
    ]);
    assert_eq!(exit(&output), 1, "{}", text(&output.stderr));
    outcomes(&out)
}

fn reference() -> Vec<String> {
    audited("reference", Path::new(RECORDS), MAPPING)
}

/// The record of the motor pool's list whose class is checked by hand in `summary`, in all columns.
#[test]
fn what_came_of_each_record_is_written() {
    let lines = reference();
    assert_eq!(lines.len(), 12, "a header and eleven judged records");
    assert_eq!(
        lines[0],
        "row,record,program,test_date,verdict,class,possible,deciding,recorded,difference,leans_on_weak,reason,so_far_as_read"
    );
    let second =
        "2,LRM-002,us-model,2025-11-03,reject,reject,reject,readiness,pass,\"recorded pass, should be reject\",no,";
    assert!(lines[2].starts_with(second), "{}", lines[2]);
    let tenth = "10,LRM-010,us-model,2025-11-07,fail,fail,fail,lamp,pass,\"recorded pass, should be fail\",no,";
    assert!(lines[9].starts_with(tenth), "{}", lines[9]);
    // Why, with the law: 40 CFR 85.2207 is on the lamp, 85.2222 on what is rejected and failed.
    for line in [&lines[2], &lines[9]] {
        assert!(line.contains("40 CFR 85.22") && line.ends_with(",no"), "{line}");
    }
}

#[rstest]
#[case::carriage_returns("crlf.csv", records().replace('\n', "\r\n").into_bytes())]
#[case::byte_order_mark("bom.csv", [b"\xEF\xBB\xBF".as_slice(), records().as_bytes()].concat())]
#[case::blank_lines("blank.csv", records().replace('\n', "\n\n").into_bytes())]
#[case::no_last_line_end("cut.csv", records().trim_end().as_bytes().to_vec())]
#[case::quotes("quoted.csv", records().lines().map(|line| format!("\"{}\"\n", line.replace(';', "\";\""))).collect::<String>().into_bytes())]
#[case::gzip("packed.bin", gzip(records().as_bytes()))]
#[case::gzip_in_parts("parts.bin", [gzip(&records().as_bytes()[..300]), gzip(&records().as_bytes()[300..])].concat())]
#[case::zstandard("packed2.bin", zstd::encode_all(records().as_bytes(), 3).unwrap())]
fn every_form_of_csv_gives_the_same(#[case] name: &str, #[case] bytes: Vec<u8>) {
    let file = folder(&format!("csv-{name}")).join(name);
    std::fs::write(&file, bytes).unwrap();
    assert_eq!(audited(name, &file, MAPPING), reference());
}

fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    packer.write_all(bytes).unwrap();
    packer.finish().unwrap()
}

#[rstest]
#[case::tab("tab", '\t')]
#[case::bar("|", '|')]
#[case::comma(",", ',')]
fn any_delimiter_parts_fields(#[case] named: &str, #[case] sign: char) {
    let folder = folder(&format!("delimiter-{}", u32::from(sign)));
    let (file, mapping) = (folder.join("records.csv"), folder.join("mapping.toml"));
    let quoted = |line: &str| -> String {
        let fields =
            line.split(';').map(|field| if field.contains(sign) { format!("\"{field}\"") } else { field.into() });
        fields.collect::<Vec<_>>().join(&sign.to_string()) + "\n"
    };
    std::fs::write(&file, records().lines().map(quoted).collect::<String>()).unwrap();
    let text = std::fs::read_to_string(Path::new(ROOT).join(MAPPING)).unwrap();
    std::fs::write(&mapping, text.replace("delimiter = \";\"", &format!("delimiter = \"{named}\""))).unwrap();
    assert_eq!(audited(&format!("delimiter-{}", u32::from(sign)), &file, mapping.to_str().unwrap()), reference());
}

/// A file without a header: columns are called by their places.
#[test]
fn a_file_without_a_header_is_read_by_places() {
    let folder = folder("no-header");
    let (file, mapping) = (folder.join("records.csv"), folder.join("mapping.toml"));
    let all = records();
    let (header, rest) = all.split_once('\n').unwrap();
    std::fs::write(&file, rest).unwrap();
    let mut text = std::fs::read_to_string(Path::new(ROOT).join(MAPPING)).unwrap();
    for (place, name) in header.split(';').enumerate() {
        text = text.replace(&format!("\n{name} = "), &format!("\n\"{}\" = ", place + 1));
    }
    std::fs::write(&mapping, text.replace("[file]", "[file]\nheader = false")).unwrap();
    assert_eq!(audited("no-header", &file, mapping.to_str().unwrap()), reference());
}

/// JSON Lines of the same records: texts, numbers, a list, null and missing keys.
#[test]
fn json_lines_give_the_same() {
    let folder = folder("json");
    let (file, mapping) = (folder.join("records.jsonl"), folder.join("mapping.toml"));
    let all = records();
    let mut lines = all.lines();
    let names: Vec<&str> = lines.next().unwrap().split(';').collect();
    let line = |line: &str| {
        let mut object = serde_json::Map::new();
        for (name, field) in names.iter().zip(line.split(';')) {
            let value = match (*name, field) {
                (_, "") => serde_json::Value::Null,
                ("weight", field) => field.parse::<u32>().unwrap().into(),
                ("codes", "none") => serde_json::json!([]),
                ("codes", field) => field.split(',').collect::<Vec<_>>().into(),
                (_, field) => field.into(),
            };
            object.insert((*name).to_owned(), value);
        }
        format!("{}\n", serde_json::Value::Object(object))
    };
    std::fs::write(&file, lines.map(line).collect::<String>()).unwrap();
    let text = std::fs::read_to_string(Path::new(ROOT).join(MAPPING)).unwrap();
    std::fs::write(&mapping, text).unwrap();
    assert_eq!(audited("json", &file, mapping.to_str().unwrap()), reference());
}

/// Snapshot documents, one a line, with their recorded results beside them: the motor pool's three vehicles, of which
/// the README says what `judge` says.
#[test]
fn snapshots_are_judged_as_judge_does() {
    let folder = folder("snapshots");
    let (file, mapping, out) = (folder.join("cars.jsonl"), folder.join("mapping.toml"), folder.join("out.jsonl"));
    let mut lines = String::new();
    for (name, result) in [("van-7", "P"), ("wagon-3", "P"), ("pickup-9", "P")] {
        let text = std::fs::read_to_string(Path::new(ROOT).join(format!("examples/larkspur/{name}.json"))).unwrap();
        let mut value: serde_json::Value = serde_json::from_str(&text).unwrap();
        value["inspection"] = name.into();
        value["result"] = result.into();
        lines.push_str(&format!("{value}\n"));
    }
    lines.push_str(
        "{\"format\": \"wherefore-snapshot/1\", \"inspection\": \"odd\", \"visit\": {\"dat\": \"2026-11-25\"}}\n",
    );
    std::fs::write(&file, lines).unwrap();
    std::fs::write(
        &mapping,
        "format = \"wherefore-mapping/1\"\n[file]\nlines = \"snapshots\"\n[columns]\ninspection = {holds = \"record-id\"}\n\
         result = {holds = \"recorded-result\", classes = {P = \"pass\", F = \"fail\"}}\n",
    )
    .unwrap();
    let aside = folder.join("aside.csv");
    let output = run(&[
        "--mapping",
        mapping.to_str().unwrap(),
        "--program",
        "us-model",
        "--out",
        out.to_str().unwrap(),
        "--set-aside",
        aside.to_str().unwrap(),
        file.to_str().unwrap(),
    ]);
    assert_eq!(exit(&output), 1, "{}", text(&output.stderr));
    let written = std::fs::read_to_string(&out).unwrap();
    let verdicts: Vec<serde_json::Value> = written.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let shown: Vec<(&str, &str)> =
        verdicts.iter().map(|it| (it["record"].as_str().unwrap(), it["verdict"].as_str().unwrap())).collect();
    assert_eq!(shown, [("van-7", "pass"), ("wagon-3", "reject"), ("pickup-9", "undecided")]);
    assert_eq!(verdicts[1]["difference"], "recorded pass, should be reject");
    assert_eq!(verdicts[2]["possible"], serde_json::json!(["pass", "reject", "fail"]));
    let aside = std::fs::read_to_string(&aside).unwrap();
    assert!(aside.contains("4,4,visit,,") && aside.contains("did you mean \"\"date\"\"?"), "{aside}");
}

/// One bad row among good ones: it is set aside with column, value and reason, and everything adds up.
#[rstest]
#[case::bad_number(
    "LRM-X;11/03/2025;20l4;G;truck;6200;first;ok;Y;Y;N;0007E500;none;P",
    "year",
    "20l4",
    "is no whole number"
)]
#[case::out_of_range(
    "LRM-X;11/03/2025;1814;G;truck;6200;first;ok;Y;Y;N;0007E500;none;P",
    "year",
    "1814",
    "is out of range"
)]
#[case::unknown_word(
    "LRM-X;11/03/2025;2014;Q;truck;6200;first;ok;Y;Y;N;0007E500;none;P",
    "fuel",
    "Q",
    "is none of the words of the mapping"
)]
#[case::bad_date(
    "LRM-X;31/31/2025;2014;G;truck;6200;first;ok;Y;Y;N;0007E500;none;P",
    "tested",
    "31/31/2025",
    "is no date of the form MM/DD/YYYY"
)]
#[case::no_date(
    "LRM-X;;2014;G;truck;6200;first;ok;Y;Y;N;0007E500;none;P",
    "visit.date",
    "",
    "the test date is not known"
)]
#[case::bad_bytes(
    "LRM-X;11/03/2025;2014;G;truck;6200;first;ok;Y;Y;N;0007E5;none;P",
    "status",
    "0007E5",
    "is not the four bytes of PID $01"
)]
#[case::bad_code(
    "LRM-X;11/03/2025;2014;G;truck;6200;first;ok;Y;Y;N;0007E500;P04;P",
    "codes",
    "P04",
    "holds no trouble code"
)]
#[case::bad_result(
    "LRM-X;11/03/2025;2014;G;truck;6200;first;ok;Y;Y;N;0007E500;none;X",
    "result",
    "X",
    "is none of the words of the mapping"
)]
#[case::too_few("LRM-X;11/03/2025;2014", "", "", "has 3 fields, the header has 14")]
#[case::too_many(
    "LRM-X;11/03/2025;2014;G;truck;6200;first;ok;Y;Y;N;0007E500;none;P;;",
    "",
    "",
    "has 16 fields, the header has 14"
)]
#[case::contradiction("LRM-X;11/03/2025;2014;E;truck;6200;first;ok;Y;Y;N;0007E500;none;P", "", "", "contradict")]
fn a_bad_row_is_set_aside(#[case] row: &str, #[case] column: &str, #[case] value: &str, #[case] reason: &str) {
    let name: String =
        row.bytes().map(|byte| format!("{byte:02x}")).collect::<String>().chars().rev().take(40).collect();
    let folder = folder(&format!("aside-{name}"));
    let (file, aside) = (folder.join("records.csv"), folder.join("aside.csv"));
    let mut lines: Vec<String> =
        records().lines().map(str::to_owned).filter(|line| !line.contains("LRM-009")).collect();
    lines.insert(4, row.to_owned());
    std::fs::write(&file, lines.join("\n")).unwrap();
    let output = run(&[
        "--mapping",
        MAPPING,
        "--program",
        "us-model",
        "--format",
        "json",
        "--set-aside",
        aside.to_str().unwrap(),
        file.to_str().unwrap(),
    ]);
    assert_eq!(exit(&output), 1);
    let summary: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!((&summary["read"], &summary["judged"], &summary["set_aside"]), (&12.into(), &11.into(), &1.into()));
    let mut reader = csv::Reader::from_path(&aside).unwrap();
    let found: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(found.len(), 1, "{found:?}");
    // The fourth record stands on the fifth line.
    assert_eq!((&found[0][1], &found[0][2], &found[0][3], &found[0][4]), ("4", "5", column, value));
    assert!(found[0][5].contains(reason), "{:?}", &found[0][5]);
}

#[test]
fn a_row_that_is_not_utf_8_is_set_aside() {
    let folder = folder("not-utf-8");
    let (file, aside) = (folder.join("records.csv"), folder.join("aside.csv"));
    let bytes: Vec<u8> =
        records().replace("2013;G;truck", "2013;\u{1};truck").bytes().map(|b| if b == 1 { 0xFF } else { b }).collect();
    std::fs::write(&file, bytes).unwrap();
    let output = run(&[
        "--mapping",
        MAPPING,
        "--program",
        "us-model",
        "--set-aside",
        aside.to_str().unwrap(),
        file.to_str().unwrap(),
    ]);
    assert_eq!(exit(&output), 1);
    let aside = std::fs::read_to_string(&aside).unwrap();
    assert!(aside.contains("12,13,fuel,\u{FFFD},is not UTF-8 text"), "{aside}");
}

/// Also in a key that no column takes: what is no JSON is no record (found by the fuzz target `lines`).
#[test]
fn a_line_that_is_not_utf_8_is_set_aside() {
    let folder = folder("line-not-utf-8");
    let (file, mapping, aside) = (folder.join("a.jsonl"), folder.join("m.toml"), folder.join("aside.csv"));
    std::fs::write(&mapping, "format = \"wherefore-mapping/1\"\n[columns]\nd = \"visit.date\"\n").unwrap();
    std::fs::write(&file, b"{\"d\": \"2026-01-01\", \"x\": \"\xFF\"}\n{\"d\": \"2026-01-01\"}\n").unwrap();
    let paths = [&mapping, &aside, &file].map(|path| path.to_str().unwrap());
    let output = run(&["--mapping", paths[0], "--program", "us-model", "--set-aside", paths[1], paths[2]]);
    let told = std::fs::read_to_string(&aside).unwrap_or_else(|_| panic!("{}", text(&output.stderr)));
    assert_eq!(told.lines().count(), 2, "{told}");
    assert!(told.contains("1,1,,,is not a flat JSON object at column 27: not UTF-8"), "{told}");
}

/// What cannot be used at all ends with 2 and a sentence that says why, and nothing is written.
#[rstest]
#[case::no_mapping(&["--program", "us-model", RECORDS], "what do the columns mean? give --mapping FILE")]
#[case::no_program(&["--mapping", MAPPING, RECORDS], "which program? give --program ID, or map a column that holds it")]
#[case::unknown_program(&["--mapping", MAPPING, "--program", "us-modle", RECORDS], "there is no program `us-modle`; did you mean `us-model`?")]
#[case::no_file(&["--mapping", MAPPING, "--program", "us-model", "absent.csv"], "absent.csv: cannot be read: there is no such file")]
#[case::no_match(&["--mapping", MAPPING, "--program", "us-model", "absent-*.csv"], "absent-*.csv: there is no such file")]
#[case::folder(&["--mapping", MAPPING, "--program", "us-model", "examples"], "examples: cannot be read: it is a folder")]
#[case::other_columns(&["--mapping", "examples/larkspur/invented.toml", "--program", "us-model", RECORDS], "there is one column only")]
#[case::no_mapping_file(&["--mapping", RECORDS, "--program", "us-model", RECORDS], "inspections.csv, line 1, column")]
#[case::no_form(&["--mapping", MAPPING, "--program", "us-model", "--out", "out.xlsx", RECORDS], "the ending tells no form")]
#[case::unknown_take(&["--mapping", MAPPING, "--program", "us-model", "--take", "lamp=x", RECORDS], "no program asked for has such a question or option")]
#[case::unknown_against(&["--mapping", MAPPING, "--program", "us-model", "--against", "us-zz", RECORDS], "there is no program `us-zz`")]
fn what_cannot_be_used_is_refused(#[case] arguments: &[&str], #[case] message: &str) {
    let output = run(arguments);
    assert_eq!(exit(&output), 2, "{}", text(&output.stdout));
    let told = text(&output.stderr);
    assert!(told.contains(message), "{told}");
    assert!(output.stdout.is_empty());
    assert!(!Path::new(ROOT).join("out.xlsx").exists());
}

#[test]
fn records_come_through_a_pipe() {
    let arguments = ["--mapping", MAPPING, "--program", "us-model", "--format", "json", "-"];
    let output = run_with_input(&arguments, records().as_bytes());
    assert_eq!(exit(&output), 1, "{}", text(&output.stderr));
    let piped: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let mut from_file = super::summary(RECORDS, MAPPING, &[]);
    assert_eq!(piped["files"], serde_json::json!(["standard input"]));
    from_file["files"] = piped["files"].clone();
    let names = |value: &serde_json::Value| value.to_string().replace(RECORDS, "standard input");
    assert_eq!(names(&piped), names(&from_file));
}

/// Clean records end with 0, records that differ or are set aside with 1.
#[test]
fn clean_records_end_with_0() {
    let folder = folder("clean");
    let file = folder.join("records.csv");
    let clean: String = records()
        .lines()
        .filter(|line| !["LRM-002", "LRM-009", "LRM-010"].iter().any(|id| line.starts_with(id)))
        .map(|line| format!("{line}\n"))
        .collect();
    std::fs::write(&file, clean).unwrap();
    let output = run(&["--mapping", MAPPING, "--program", "us-model", file.to_str().unwrap()]);
    assert_eq!(exit(&output), 0, "{}", text(&output.stdout));
}

/// Rows are numbered in each file, and the totals are of all files.
#[test]
fn several_files_and_a_pattern_add_up() {
    let folder = folder("several");
    for name in ["a.csv", "b.csv"] {
        std::fs::write(folder.join(name), records()).unwrap();
    }
    let pattern = folder.join("*.csv");
    let value = super::summary(pattern.to_str().unwrap(), MAPPING, &[]);
    assert_eq!((&value["read"], &value["judged"], &value["set_aside"]), (&24.into(), &22.into(), &2.into()));
    assert_eq!(value["differences"][0]["records"], 2);
    assert_eq!(value["differences"][0]["examples"][1]["row"], 10);
}

/// What an audit of a few lines under the federal model program writes by `option`: the records set aside, or all.
fn written(option: &str, name: &str, records: &str, columns: &str) -> String {
    let folder = folder(name);
    let (file, mapping, written) = (folder.join("a.csv"), folder.join("m.toml"), folder.join("written.csv"));
    std::fs::write(&file, records).unwrap();
    std::fs::write(&mapping, format!("format = \"wherefore-mapping/1\"\n[columns]\n{columns}")).unwrap();
    let paths = [&mapping, &written, &file].map(|path| path.to_str().unwrap());
    let output = run(&["--mapping", paths[0], "--program", "us-model", option, paths[1], paths[2]]);
    std::fs::read_to_string(&written).unwrap_or_else(|_| panic!("{}", text(&output.stderr)))
}

/// A document that counts more monitors than it lists is refused; so is a record of a file.
#[test]
fn more_monitors_counted_than_listed_is_set_aside() {
    let records = "d,n,l\n2026-01-01,2,catalyst\n2026-01-01,1,catalyst\n2026-01-01,,catalyst\n";
    let columns = "d = \"visit.date\"\nn = \"visit.earlier_incomplete_count\"\nl = \"visit.earlier_incomplete\"\n";
    let told = written("--set-aside", "counted", records, columns);
    assert_eq!(told.lines().count(), 2, "{told}");
    assert!(
        told.contains("visit.earlier_incomplete_count,2,\"is more than the 1 monitors of visit.earlier_incomplete"),
        "{told}"
    );
}

/// A value that the program's own fact cannot have sets its record aside, and no other.
#[test]
fn a_declared_fact_sets_aside_the_record_whose_value_it_cannot_have() {
    let records = "d,x\n2026-01-01,sound\n2026-01-02,rotten\n2026-01-03,leaking\n2026-01-04,sound\n";
    let columns = "d = \"visit.date\"\nx = \"declared.exhaust\"\n";
    let told = written("--set-aside", "misfit", records, columns);
    assert_eq!(told.lines().count(), 2, "{told}");
    assert!(told.contains(",2,3,declared.exhaust,rotten,"), "{told}");
}

/// A yes/no fact of the program's own is read in the words of documents and of people, where the mapping names none.
#[test]
fn a_declared_yes_or_no_is_read() {
    let head = "d,y,w,c,x\n";
    let rows = ["yes", "no", "true", "false"].map(|word| format!("2026-01-01,2014,4000,light-duty,{word}\n"));
    let records = format!("{head}{}", rows.concat());
    let columns = "d = \"visit.date\"\ny = \"vehicle.model_year\"\nw = \"vehicle.gross_weight_lb\"\nc = \"vehicle.class\"\n\
                   x = \"declared.obd-certified\"\n";
    let told = written("--out", "yes-no", &records, columns);
    // 40 CFR 51.351 (c), as the program reads it: without certified diagnostics the check does not concern the vehicle.
    let is_exempt: Vec<bool> = told.lines().skip(1).map(|line| line.contains("2026-01-01,not-subject,")).collect();
    assert_eq!(is_exempt, [false, true, false, true], "{told}");
}
