//! Nothing lost at the borders: line ends of every kind, headers without an end, delimiters, keys and files given twice,
//! dates in several forms; and the sums of every run.

use super::{ROOT, exit, folder, run, run_with_input, text};
use proptest::prelude::*;
use rstest::rstest;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use wherefore::internals::audit::mapping::read;
use wherefore::internals::audit::{Fields, Judging, Table, Worker};
use wherefore::internals::bulk::{Engine, Options};
use wherefore::internals::catalog::{BuiltIn, Catalog};

const LAMP: &str = "format = \"wherefore-mapping/1\"\n[columns]\nid = {holds = \"record-id\"}\nd = \"visit.date\"\n\
                    y = \"vehicle.model_year\"\nlamp = {fact = \"lamp.commanded\", words = {Y = \"yes\", N = \"no\"}}\n";

/// Runs an audit of a text by a mapping; the summary, the records set aside, and what was told.
fn audited(mapping: &str, records: &[u8], name: &str) -> (i32, serde_json::Value, String, String) {
    let folder = folder("borders");
    let (file, mapped, aside) = (folder.join(name), folder.join("m.toml"), folder.join("aside.csv"));
    std::fs::write(&file, records).unwrap();
    std::fs::write(&mapped, mapping).unwrap();
    let (file, mapped, side) = (file.to_str().unwrap(), mapped.to_str().unwrap(), aside.to_str().unwrap());
    let output = run(&["--mapping", mapped, "--program", "us-model", "--format", "json", "--set-aside", side, file]);
    let summary = serde_json::from_slice(&output.stdout).unwrap_or_default();
    (exit(&output), summary, std::fs::read_to_string(&aside).unwrap_or_default(), text(&output.stderr))
}

fn sums(summary: &serde_json::Value) -> (u64, u64, u64) {
    let number = |key: &str| summary[key].as_u64().unwrap();
    (number("read"), number("judged"), number("set_aside"))
}

#[rstest]
#[case::line_feeds("\n")]
#[case::returns("\r")]
#[case::both("\r\n")]
#[case::empty_lines("\n\n")]
fn every_line_end_ends_a_record(#[case] end: &str) {
    let lines = ["id,d,y,lamp", "a,2026-01-01,2014,Y", "b,2026-01-01,20l4,N", "c,2026-01-01,2014,\"N\""];
    let records = lines.join(end) + end;
    let (_, summary, aside, _) = audited(LAMP, records.as_bytes(), "a.csv");
    assert_eq!(sums(&summary), (3, 2, 1), "{aside}");
    let line = if end == "\n\n" { 5 } else { 3 };
    assert!(aside.contains(&format!(",2,{line},y,20l4,")), "{aside}");
}

/// A header that ends otherwise than the records do, and empty lines before it.
#[rstest]
#[case::return_then_both("id,d,y,lamp\ra,2026-01-01,2014,Y\r\nb,2026-01-01,2014,N\r\n")]
#[case::feed_then_returns("id,d,y,lamp\na,2026-01-01,2014,Y\rb,2026-01-01,2014,N\r")]
#[case::blank_first("\n\r\n  \nid,d,y,lamp\na,2026-01-01,2014,Y\nb,2026-01-01,2014,N")]
#[case::quoted_line_end("\"id\",d,\"y\",lamp,\"re\nmark\"\na,2026-01-01,2014,Y,\nb,2026-01-01,2014,N,\n")]
fn headers_end_where_they_end(#[case] records: &str) {
    let (_, summary, aside, _) = audited(LAMP, records.as_bytes(), "a.csv");
    assert_eq!(sums(&summary), (2, 2, 0), "{aside}");
}

/// More than a block of records that end with a carriage return alone.
#[test]
fn blocks_end_at_lone_returns() {
    let mut records = "id,d,y,lamp\r".to_owned();
    (0..40_000).for_each(|at| records.push_str(&format!("{at},2026-01-01,2014,N\r")));
    let (_, summary, _, _) = audited(LAMP, records.as_bytes(), "a.csv");
    assert_eq!(sums(&summary), (40_000, 40_000, 0));
    let (_, both, _, _) = audited(LAMP, records.replace('\r', "\r\n").as_bytes(), "a.csv");
    assert_eq!(sums(&both), (40_000, 40_000, 0));
}

#[rstest]
#[case::blank("\na,2026-01-01,2014,Y\nb,2026-01-01,2014,N\n", 2)]
#[case::quoted("\"a\nb\",2026-01-01,2014,Y\n\"c\",2026-01-01,2014,N\n", 2)]
#[case::byte_order_mark("\u{feff}a,2026-01-01,2014,Y\n", 1)]
fn a_file_without_header_begins_anyhow(#[case] records: &str, #[case] count: u64) {
    let mut mapping = LAMP.replace("[columns]", "[file]\nheader = false\n[columns]");
    for (place, name) in ["id", "d", "y", "lamp"].iter().enumerate() {
        mapping = mapping.replace(&format!("\n{name} = "), &format!("\n\"{}\" = ", place + 1));
    }
    let (_, summary, aside, told) = audited(&mapping, records.as_bytes(), "a.csv");
    assert_eq!(sums(&summary), (count, count, 0), "{aside}{told}");
}

/// A header that does not end is told in short time, plain and packed, and a draft of a mapping tells it too.
#[rstest]
#[case::quote([b"\"".as_slice(), &[b'\n'; 1 << 19], b"\",b\n1,2"].concat(), "there is no column \"id\"")]
#[case::open_quote([b"\"".as_slice(), &[b'\n'; 1 << 19]].concat(), "a quote in the first record is not closed")]
#[case::long_quote([b"id,\"".as_slice(), &[b'\n'; 3 << 20]].concat(), "a quote in it is not closed")]
#[case::no_end(vec![b'a'; 8 << 20], "longer than 1048576 bytes: it has no line end")]
#[case::commas(vec![b','; 8 << 20], "longer than 1048576 bytes: it has no line end")]
fn a_header_without_end_is_told(#[case] records: Vec<u8>, #[case] reason: &str) {
    let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    packer.write_all(&records).unwrap();
    for bytes in [&records, &packer.finish().unwrap()] {
        let begun = Instant::now();
        let (code, _, _, told) = audited(LAMP, bytes, "q.csv");
        assert_eq!(code, 2);
        assert!(told.contains(reason), "{told}");
        assert!(told.len() < 2000, "what stands there is not shown whole");
        assert!(begun.elapsed() < Duration::from_secs(20), "{:?}", begun.elapsed());
    }
    if !reason.contains("no column") {
        let file = folder("draft-end").join("q.csv");
        std::fs::write(&file, &records).unwrap();
        let output = run(&["--draft-mapping", file.to_str().unwrap()]);
        assert_eq!(exit(&output), 2);
        assert!(text(&output.stderr).contains("the first record"), "{}", text(&output.stderr));
    }
}

#[test]
fn a_quote_that_is_not_closed_is_told_with_its_lines() {
    let records = "id,d,y,lamp\na,2026-01-01,2014,Y\nb,\"2026-01-01,2014,N\nc,2026-01-01,2014,N\nd,2026-01-01,2014,N\n";
    let (_, summary, aside, _) = audited(LAMP, records.as_bytes(), "a.csv");
    assert_eq!(sums(&summary), (2, 1, 1));
    let reason = "has 2 fields, the header has 4; it goes over 3 lines: is a quote not closed?";
    assert!(aside.contains(",2,3,,,") && aside.contains(reason), "{aside}");
}

#[rstest]
#[case::other("id;d;y;lamp\na;2026-01-01;2014;Y\n", "parted by `;` the first record has all columns")]
#[case::tab("id\td\ty\tlamp\na\t2026-01-01\t2014\tY\n", "write delimiter = \"tab\" under [file]")]
fn the_other_delimiter_is_named(#[case] records: &str, #[case] hint: &str) {
    let (code, _, _, told) = audited(LAMP, records.as_bytes(), "a.csv");
    assert_eq!(code, 2);
    assert!(told.contains(hint) && told.lines().count() == 1, "{told}");
}

/// A control character sets its record aside wherever it stands; a file of them is no text.
#[rstest]
#[case::first("a\u{1},2026-01-01,2014,Q\nb,2026-01-01,2014,N\n")]
#[case::later("b,2026-01-01,2014,N\nb,2026-01-01,2014,N\na,2026-01-01,20\u{0}14,N\n")]
fn a_control_character_is_of_its_record(#[case] records: &str) {
    let records = format!("id,d,y,lamp\n{records}");
    let (code, summary, aside, told) = audited(LAMP, records.as_bytes(), "a.csv");
    assert_eq!(code, 1, "{told}");
    assert_eq!(sums(&summary).2, 1, "{aside}");
}

/// No date anywhere is told before any record is read.
#[test]
fn a_mapping_without_date_is_refused() {
    let mapping = LAMP.replace("d = \"visit.date\"\n", "");
    let (code, _, _, told) = audited(&mapping, b"id,y,lamp\na,2014,Y\n", "a.csv");
    assert_eq!(code, 2);
    assert!(told.contains("m.toml: no column and no constant gives visit.date"), "{told}");
    let constant = mapping.clone() + "[constants]\n\"visit.date\" = 2026-01-01\n";
    let (code, summary, _, told) = audited(&constant, b"id,y,lamp\na,2014,Y\n", "a.csv");
    assert_eq!((code, sums(&summary)), (0, (1, 1, 0)), "{told}");
}

/// Snapshots of which none has a date: all are set aside, none is lost.
#[test]
fn snapshots_without_date_are_set_aside() {
    let mapping = "format = \"wherefore-mapping/1\"\n[file]\nlines = \"snapshots\"\n";
    let line = "{\"format\": \"wherefore-snapshot/1\", \"vehicle\": {\"model_year\": 2014}}\n";
    let (code, summary, aside, _) = audited(mapping, line.repeat(3).as_bytes(), "a.jsonl");
    assert_eq!((code, sums(&summary)), (1, (3, 0, 3)));
    assert_eq!(aside.matches("the test date is not known").count(), 3);
}

#[test]
fn an_id_that_returns_is_told() {
    let records = "id,d,y,lamp\na,2026-01-01,2014,N\nb,2026-01-01,2014,N\na,2026-01-02,2014,N\n,2026-01-01,2014,N\n\
                   ,2026-01-01,2014,N\n";
    let (_, summary, _, _) = audited(LAMP, records.as_bytes(), "a.csv");
    assert_eq!((sums(&summary).1, &summary["repeated_ids"]), (5, &1.into()));
}

/// A file that is given twice, by another path or through a link too, is read once, and told.
#[test]
fn a_file_given_twice_is_read_once() {
    let folder = folder("twice");
    std::fs::write(folder.join("m.toml"), LAMP).unwrap();
    std::fs::write(folder.join("a.csv"), "id,d,y,lamp\na,2026-01-01,2014,N\n").unwrap();
    let mut names = vec!["a.csv".to_owned(), format!("../{}/a.csv", folder.file_name().unwrap().to_str().unwrap())];
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("a.csv", folder.join("b.csv")).unwrap();
        names.push("b.csv".to_owned());
    }
    let mut command = super::command(&["--mapping", "m.toml", "--program", "us-model", "--format", "json"]);
    let output = command.args(&names).current_dir(&folder).output().unwrap();
    let summary: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(sums(&summary), (1, 1, 0));
    assert_eq!(summary["given_twice"].as_array().unwrap().len(), names.len() - 1);
    assert!(text(&output.stderr).contains("is given more than once, and is read once"));
}

/// Forms of dates are tried in order; what two of them read as different days is not guessed.
#[rstest]
#[case::first("12/31/2025", Ok(()))]
#[case::second("2025-12-31", Ok(()))]
#[case::time("2025-12-31 08:15", Ok(()))]
#[case::third("31/12/2025", Ok(()))]
#[case::same_by_both("03/03/2025", Ok(()))]
#[case::ambiguous("03/04/2025", Err("can be two dates: 2025-03-04 by MM/DD/YYYY and 2025-04-03 by DD/MM/YYYY"))]
#[case::goes_on("2025-12-311", Err("is no date of the form"))]
#[case::none("31.12.2025", Err("is no date of the form MM/DD/YYYY or YYYY-MM-DD... or DD/MM/YYYY"))]
fn several_forms_of_dates(#[case] date: &str, #[case] expected: Result<(), &str>) {
    let forms = "d = {fact = \"visit.date\", date = [\"MM/DD/YYYY\", \"YYYY-MM-DD...\", \"DD/MM/YYYY\"]}";
    let mapping = LAMP.replace("d = \"visit.date\"", forms);
    let records = format!("id,d,y,lamp\na,{date},2014,N\n");
    let (_, summary, aside, _) = audited(&mapping, records.as_bytes(), "a.csv");
    match expected {
        Ok(()) => assert_eq!(sums(&summary), (1, 1, 0), "{aside}"),
        Err(reason) => assert!(aside.contains(reason), "{aside}"),
    }
}

#[test]
fn a_time_behind_a_date_is_named() {
    let (_, _, aside, _) = audited(LAMP, b"id,d,y,lamp\na,2025-12-31T08:15,2014,N\n", "a.csv");
    assert!(aside.contains("a time follows: write ... behind the form"), "{aside}");
}

/// Single words of a free text stand for others, and the rest stands as it is written; the reasons name the values.
#[test]
fn other_words_stand_as_written() {
    let words =
        "area = {fact = \"visit.area\", words = {\"Harris County\" = \"Harris\"}, other-words = \"as-written\"}\n";
    let records = b"id,d,y,lamp,area\na,2026-01-01,2014,N,Harris County\nb,2026-01-01,2014,N,Travis\n";
    let (code, summary, aside, _) = audited(&(LAMP.to_owned() + words), records, "a.csv");
    assert_eq!((code, sums(&summary)), (0, (2, 2, 0)), "{aside}");
    let without = words.replace(", other-words = \"as-written\"", "");
    let (_, summary, aside, _) = audited(&(LAMP.to_owned() + &without), records, "a.csv");
    assert_eq!(sums(&summary), (2, 1, 1), "{aside}");
    assert_eq!(summary["reasons"][0]["values"][0]["value"], "Travis");
}

/// A text for *not known* or *not on this vehicle* that is a number is one, in every form of file.
#[test]
fn marks_that_are_numbers_are_marks() {
    let mapping = "format = \"wherefore-mapping/1\"\n[columns]\nd = \"visit.date\"\ny = {fact = \"vehicle.model_year\", \
                   not-known = [\"2014\"]}\nw = {fact = \"since_clear.warm_ups\", not-on-vehicle = [\"255\"]}\n\
                   s = {holds = \"pid-01\", not-known = [\"0007E500\"]}\n";
    let mapping = read(mapping).unwrap();
    let mut fields = Fields::new(&mapping);
    let mut table = Table { width: 4, len: 1, ..Table::default() };
    for field in ["2026-01-01", "2014", "255", "0007E500"] {
        let from = table.bytes.len();
        table.bytes.extend_from_slice(field.as_bytes());
        table.end_field(from);
    }
    table.pad();
    let lot = fields.read(&table, &[0, 1, 2, 3]);
    assert!(lot.aside.is_empty(), "{:?}", lot.aside);
    let (_, known) = lot.store.monitor_bytes.as_ref().unwrap();
    assert!(!known.as_ref().unwrap().is(0), "the bytes are not known");
    let shown = format!("{:?}", lot.store.facts);
    assert!(!shown.contains("least: 2014") && shown.contains("Absent") || shown.contains("absent"), "{shown}");
}

fn judging() -> Vec<Judging> {
    let catalog = Catalog::new(vec![&BuiltIn]);
    let program = catalog.find("us-model").unwrap().program.clone().unwrap();
    let engine = Engine::new(&program, Options::default()).unwrap();
    vec![Judging { id: program.id.clone(), engine, open: None, against: None, unread: None, announced: Vec::new() }]
}

/// Entries of columns, good and bad, that a random mapping is put together from.
const ENTRIES: [&str; 12] = [
    "\"visit.date\"",
    "{fact = \"visit.date\", date = \"MM/DD/YYYY\"}",
    "\"vehicle.model_year\"",
    "{fact = \"vehicle.fuel\", words = {G = \"gasoline\", D = \"diesel\"}}",
    "{fact = \"lamp.commanded\", words = {Y = \"yes\"}}",
    "{holds = \"pid-01\"}",
    "{fact = \"codes.stored\", none = [\"-\"]}",
    "{holds = \"recorded-result\", classes = {P = \"pass\", F = \"fail\"}}",
    "{holds = \"program\", words = {M = \"us-model\", X = \"us-xx\"}}",
    "\"vehicle.make\"",
    "{holds = \"record-id\"}",
    "{fact = \"visit.odometer_km\", unit = \"miles\", not-known = [\"0\"]}",
];

const FIELDS: [&str; 18] = [
    "",
    "2026-01-02",
    "01/02/2026",
    "2014",
    "1996",
    "20l4",
    "G",
    "D",
    "Y",
    "0007E500",
    "8107E504",
    "P0420",
    "-",
    "P",
    "F",
    "M",
    "X",
    "\u{7}",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    /// Whatever the mapping and the records say: what is read is judged or set aside, and each record is one of the two.
    #[test]
    fn the_sums_are_right(
        chosen in prop::sample::subsequence((0..ENTRIES.len()).collect::<Vec<_>>(), 1..8),
        cells in prop::collection::vec(prop::collection::vec(0..FIELDS.len(), 8), 0..70),
        has_constant in any::<bool>(),
    ) {
        let mut text = "format = \"wherefore-mapping/1\"\n[columns]\n".to_owned();
        let chosen: Vec<usize> = chosen.into_iter().filter(|at| *at != 1 || !has_constant).collect();
        let dated = |at: &usize| *at < 2;
        // Two dates at once are a fault of the mapping, which has tests of its own.
        let both = chosen.iter().filter(|at| dated(at)).count() > 1;
        let chosen: Vec<usize> = chosen.into_iter().filter(|at| !(both && *at == 1)).collect();
        for at in &chosen {
            text.push_str(&format!("c{at} = {}\n", ENTRIES[*at]));
        }
        if has_constant && !chosen.iter().any(dated) {
            text.push_str("[constants]\n\"visit.date\" = 2026-01-02\n");
        }
        let mapping = read(&text).unwrap();
        let mut table = Table { width: chosen.len(), len: cells.len(), ..Table::default() };
        for row in &cells {
            for cell in row.iter().take(chosen.len()) {
                let from = table.bytes.len();
                table.bytes.extend_from_slice(FIELDS[*cell].as_bytes());
                table.end_field(from);
            }
        }
        table.pad();
        let places: Vec<usize> = (0..chosen.len()).collect();
        let mut lot = Fields::new(&mapping).read(&table, &places);
        let programs = judging();
        let mut worker = Worker::default();
        let done = worker.work(&programs, &mut lot, true);
        prop_assert_eq!(done.adds_up(cells.len()), Ok(()), "{}", text);
        let aside: std::collections::BTreeSet<usize> = done.aside.iter().map(|aside| aside.row).collect();
        for (row, place) in done.places.iter().enumerate() {
            let is_judged = usize::try_from(*place).is_ok_and(|place| place < done.outcomes.len());
            prop_assert!(is_judged != aside.contains(&row), "record {} of {}", row, text);
        }
        let judged: u64 = worker.tallies().iter().map(|tally| tally.judged).sum();
        prop_assert_eq!(judged, done.judged);
    }
}

/// Records from standard input have lines too.
#[test]
fn lines_are_counted_through_a_pipe() {
    let folder = folder("pipe-lines");
    let (mapped, aside) = (folder.join("m.toml"), folder.join("aside.csv"));
    std::fs::write(&mapped, LAMP).unwrap();
    let records = "id,d,y,lamp\n\"a\n\nb\",2026-01-01,2014,N\nc,2026-01-01,x,N\n";
    let arguments =
        ["--mapping", mapped.to_str().unwrap(), "--program", "us-model", "--set-aside", aside.to_str().unwrap(), "-"];
    let output = run_with_input(&arguments, records.as_bytes());
    assert_eq!(exit(&output), 1, "{}", text(&output.stderr));
    assert!(std::fs::read_to_string(&aside).unwrap().contains("standard input,2,5,y,x,"));
}

fn larkspur(name: &str) -> PathBuf {
    Path::new(ROOT).join("examples/larkspur").join(name)
}

/// What a spreadsheet would take for a formula is text in what is written; numbers stay numbers.
#[test]
fn what_is_written_is_safe_in_a_spreadsheet() {
    let folder = folder("formula");
    let (file, mapped) = (folder.join("a.csv"), folder.join("m.toml"));
    let (out, aside) = (folder.join("out.csv"), folder.join("aside.csv"));
    std::fs::write(&mapped, LAMP).unwrap();
    let ids = ["=1+1", "+1", "-2", "-x", "@a", "'kept", "ok"];
    let lines: String = ids.iter().map(|id| format!("{id},2026-01-01,2014,N\n{id},2026-01-01,=cmd,N\n")).collect();
    std::fs::write(&file, format!("id,d,y,lamp\n{lines}")).unwrap();
    let output = run(&[
        "--mapping",
        mapped.to_str().unwrap(),
        "--program",
        "us-model",
        "--out",
        out.to_str().unwrap(),
        "--set-aside",
        aside.to_str().unwrap(),
        file.to_str().unwrap(),
    ]);
    assert_eq!(exit(&output), 1, "{}", text(&output.stderr));
    for written in [&out, &aside] {
        let mut reader = csv::Reader::from_path(written).unwrap();
        for field in reader.records().flat_map(|record| record.unwrap().iter().map(str::to_owned).collect::<Vec<_>>()) {
            let is_number = field.parse::<i64>().is_ok() && !field.starts_with('+');
            assert!(is_number || !field.starts_with(['=', '+', '-', '@', '\t', '\r']), "{field}");
        }
    }
    let written = std::fs::read_to_string(&out).unwrap();
    assert!(written.contains(",'=1+1,") && written.contains(",-2,") && written.contains(",ok,"), "{written}");
    assert!(std::fs::read_to_string(&aside).unwrap().contains("'=cmd"));
}

/// What is written never takes the place of what is read: by another path, through links, and of the law.
#[cfg(unix)]
#[rstest]
#[case::records("a.csv")]
#[case::link_to_records("link.csv")]
#[case::hard_link_to_records("hard.csv")]
#[case::mapping("m.toml")]
#[case::program("mine.wherefore")]
#[case::table("special.csv")]
fn nothing_that_is_read_is_written_over(#[case] name: &str) {
    let folder = folder("over");
    std::fs::write(folder.join("m.toml"), LAMP).unwrap();
    std::fs::write(folder.join("a.csv"), "id,d,y,lamp\na,2026-01-01,2014,N\n").unwrap();
    std::fs::write(folder.join("special.csv"), "make,model\n").unwrap();
    std::fs::copy(Path::new(ROOT).join("policies/us/us-model.wherefore"), folder.join("mine.wherefore")).unwrap();
    std::os::unix::fs::symlink("a.csv", folder.join("link.csv")).unwrap();
    std::fs::hard_link(folder.join("a.csv"), folder.join("hard.csv")).unwrap();
    let before = std::fs::read(folder.join(name)).unwrap();
    for option in ["--out", "--set-aside"] {
        for rules in [["--rules", "mine.wherefore"], ["--against", "mine.wherefore"], ["--rules", "."]] {
            let mut command =
                super::command(&["--mapping", "m.toml", "--program", "us-model", "--force", option, name]);
            command.args(rules).args(["--out-format", "csv", "a.csv"]);
            let output = command.current_dir(&folder).output().unwrap();
            assert_eq!(exit(&output), 2, "{}", text(&output.stdout));
            assert!(text(&output.stderr).contains("this file is read; give the name of another"));
            assert_eq!(std::fs::read(folder.join(name)).unwrap(), before);
        }
    }
}

/// A file that is there is replaced only where that is asked for; all files of a run appear together or none does.
#[cfg(unix)]
#[test]
fn files_appear_together_or_not_at_all() {
    let folder = folder("together");
    let (out, aside) = (folder.join("out.csv"), folder.join("aside.csv"));
    std::fs::write(&out, "kept").unwrap();
    let (mapping, records) = (larkspur("inspections.toml"), larkspur("inspections.csv"));
    let arguments = |more: &[&str]| -> Vec<String> {
        let all = ["--program", "us-model", "--mapping", mapping.to_str().unwrap(), records.to_str().unwrap(), "--out"];
        all.iter().chain([&out.to_str().unwrap()]).chain(more).map(|it| (*it).to_owned()).collect()
    };
    let again = |more: &[&str]| {
        let all = arguments(more);
        run(&all.iter().map(String::as_str).collect::<Vec<_>>())
    };
    let side = aside.to_str().unwrap();
    let output = again(&["--set-aside", side]);
    assert_eq!(exit(&output), 2);
    assert!(text(&output.stderr).contains("out.csv: is there already; give --force"), "{}", text(&output.stderr));
    assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 1);
    // The second file cannot be written to: the first keeps what it held.
    let output = again(&["--force", "--set-aside", "/dev/full"]);
    assert_eq!(exit(&output), 2);
    assert!(text(&output.stderr).contains("/dev/full: cannot be written: it is no plain file"));
    assert_eq!(std::fs::read_to_string(&out).unwrap(), "kept");
    let output = again(&["--force", "--set-aside", side]);
    assert_eq!(exit(&output), 1, "{}", text(&output.stderr));
    assert!(std::fs::read_to_string(&out).unwrap().starts_with("file,row"));
    assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 2, "nothing else is left");
    // A link that leads to nothing is told; what a killed run left is told at the next.
    std::os::unix::fs::symlink("absent", folder.join("dangling.csv")).unwrap();
    let output = again(&["--force", "--set-aside", folder.join("dangling.csv").to_str().unwrap()]);
    assert!(text(&output.stderr).contains("it is a link that leads to nothing"));
    std::fs::write(folder.join("out.csv.12.part"), "half").unwrap();
    let output = again(&["--force"]);
    assert_eq!(exit(&output), 1);
    assert!(text(&output.stderr).contains("out.csv.12.part: is not complete"), "{}", text(&output.stderr));
    assert!(folder.join("out.csv.12.part").exists());
}

/// A date before the law of the file begins: a row of its own, and no accusation.
#[test]
fn a_date_without_law_is_no_difference() {
    let records = "id,d,y,lamp,r\na,1999-01-01,1998,N,P\nb,2026-01-01,2014,N,P\nc,1999-01-02,1998,Y,F\n";
    let mapping = LAMP.to_owned() + "r = {holds = \"recorded-result\", classes = {P = \"pass\", F = \"fail\"}}\n";
    let folder = folder("before-the-law");
    let (file, mapped) = (folder.join("a.csv"), folder.join("m.toml"));
    std::fs::write(&file, records).unwrap();
    std::fs::write(&mapped, mapping).unwrap();
    let rules = "tests/audit/columns/kinds.wherefore";
    let arguments = ["--mapping", mapped.to_str().unwrap(), "--rules", rules, "--program", "kinds", "--format"];
    let output = run(&[&arguments[..], &["json", file.to_str().unwrap()]].concat());
    let summary: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!((&summary["recorded"]["no_law"], &summary["recorded"]["given"]), (&2.into(), &3.into()), "{summary}");
    assert_eq!(summary["classes"]["no-law-in-file"], 2);
    assert!(!summary["differences"].to_string().contains("no-law"), "{summary}");
    let shown = text(&run(&[&arguments[..], &["text", file.to_str().unwrap()]].concat()).stdout);
    assert!(shown.contains("no law                2  66.7 %"), "{shown}");
}
