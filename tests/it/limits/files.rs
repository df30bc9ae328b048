//! Limits of files from the command line, and what lies where a file is looked for: at each limit a file is read, one beyond it
//! is refused with a sentence that names it; nothing that never ends is begun.

use crate::process::{command, run_with_input};
use rstest::rstest;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::Output;

const CAR: &str = "tests/cli/cars/pass.json";
const RULES: &str = "tests/cli/rules";
const MAPPING: &str = "examples/larkspur/inspections.toml";

fn scratch(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("limits-{name}"));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn said(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap() + &String::from_utf8_lossy(&output.stdout)
}

fn run(arguments: &[&str]) -> (Option<i32>, String) {
    let output = command(arguments).output().unwrap();
    (output.status.code(), said(&output))
}

/// A file with holes: nothing of it lies on the disk.
fn hollow(path: &Path, bytes: u64) {
    File::create(path).unwrap().set_len(bytes).unwrap();
}

/// Each reader at its limit (what is read is refused for what it says) and one byte beyond (it is refused by its size).
#[rstest]
#[case::program(&["check"], "a.wherefore", 1 << 20)]
#[case::capture(&["decode"], "a.log", 256 << 20)]
#[case::records(&["replay"], "a.jsonl", 16 << 20)]
#[case::mapping(&["audit", "--program", "us-model", "tests/cli/cars/pass.json", "--mapping"], "a.toml", 1 << 20)]
#[case::expected(&["compare", "us-model", "us-md", "--expect-only"], "a.jsonl", 64 << 20)]
fn a_file_is_refused_by_its_size_one_byte_beyond(#[case] arguments: &[&str], #[case] name: &str, #[case] most: u64) {
    let path = scratch(arguments[0]).join(name);
    let run = |bytes: u64| {
        hollow(&path, bytes);
        run(&[arguments, &[path.to_str().unwrap()]].concat())
    };
    let by_size = format!("larger than the {most} bytes allowed");
    let (at, beyond) = (run(most), run(most + 1));
    fs::remove_file(&path).unwrap();
    assert!(at.0 == Some(2) && !at.1.contains("larger than"), "{at:?}");
    assert!(beyond.0 == Some(2) && beyond.1.contains(&by_size), "{beyond:?}");
}

/// Of JSON Lines the limit is one line's.
#[test]
fn a_line_of_snapshots_has_a_limit() {
    let car = fs::read_to_string(CAR).unwrap().replace('\n', " ");
    let car = car.trim();
    let run = |bytes: usize| {
        let line = format!("{car}{}\n", " ".repeat(bytes - car.len() - 1));
        assert_eq!(line.len(), bytes);
        let arguments = ["judge", "--rules", RULES, "--format", "json", "-"];
        run_with_input(command(&arguments), format!("{car}\n{line}").as_bytes())
    };
    let (at, beyond) = (run(16 << 20), run((16 << 20) + 1));
    assert_eq!(at.status.code(), Some(0), "{}", said(&at));
    assert_eq!(at.stdout.iter().filter(|byte| **byte == b'\n').count(), 2);
    assert_eq!(beyond.status.code(), Some(2));
    assert!(said(&beyond).contains("larger than the 16777216 bytes allowed for one line"), "{}", said(&beyond));
}

fn audited(records: &[u8], mapping: &str, name: &str) -> (Option<i32>, String) {
    let folder = scratch(name);
    let (mapping_path, path) = (folder.join("m.toml"), folder.join("records"));
    fs::write(&mapping_path, mapping).unwrap();
    fs::write(&path, records).unwrap();
    let ended =
        run(&["audit", "--program", "us-model", "--mapping", mapping_path.to_str().unwrap(), path.to_str().unwrap()]);
    fs::remove_dir_all(&folder).unwrap();
    ended
}

const TWO_COLUMNS: &str =
    "format = \"wherefore-mapping/1\"\n[columns]\nd = \"visit.date\"\nid = {holds = \"record-id\"}\n";

#[test]
fn a_header_and_a_record_have_a_limit() {
    let header = |bytes: usize| {
        let head = format!("d,id,{}\n", "x".repeat(bytes - 6));
        assert_eq!(head.len(), bytes);
        audited(format!("{head}2026-01-01,a,b\n").as_bytes(), TWO_COLUMNS, "header")
    };
    let (at, beyond) = (header(1 << 20), header((1 << 20) + 1));
    assert!(!at.1.contains("longer than") && at.1.contains("1 record"), "{at:?}");
    assert!(beyond.0 == Some(2) && beyond.1.contains("the first record is longer than 1048576 bytes"), "{beyond:?}");
    let record = |bytes: usize| {
        let text = format!("d,id\n2026-01-01,{}\n2026-01-01,b\n", "x".repeat(bytes));
        audited(text.as_bytes(), TWO_COLUMNS, "record")
    };
    let (at, beyond) = (record((16 << 20) - 64), record((17 << 20) + 1));
    assert!(at.1.contains("2 records"), "{at:?}");
    assert!(beyond.0 == Some(2) && beyond.1.contains("a record is longer than 16777216 bytes"), "{beyond:?}");
}

#[test]
fn folders_are_read_to_a_depth() {
    let nested = |depth: usize| {
        let root = scratch("deep");
        let inner = (0..depth).fold(root.clone(), |folder, _| folder.join("a"));
        fs::create_dir_all(&inner).unwrap();
        fs::copy(format!("{RULES}/demo.wherefore"), inner.join("demo.wherefore")).unwrap();
        run(&["judge", "--rules", root.to_str().unwrap(), CAR])
    };
    assert_eq!(nested(8).0, Some(0));
    let (code, words) = nested(9);
    assert!(code == Some(2) && words.contains("folders nested deeper than 8"), "{words}");
}

/// Ten thousand folders, and program files, are looked through; of one more neither.
#[rstest]
#[case::folders("folders", 9_999)]
#[case::files("program files", 10_000)]
fn folders_hold_no_more_than_a_limit(#[case] what: &str, #[case] most: usize) {
    let root = scratch(&what.replace(' ', "-"));
    let add = |at: usize| match what {
        "folders" => fs::create_dir(root.join(format!("d{at}"))).unwrap(),
        _ => fs::write(root.join(format!("f{at}.wherefore")), "#\n").unwrap(),
    };
    (0..most).for_each(add);
    let at = run(&["fmt", "--check", root.to_str().unwrap()]);
    add(most);
    let beyond = run(&["fmt", "--check", root.to_str().unwrap()]);
    fs::remove_dir_all(&root).unwrap();
    let words = format!("more than 10000 {what}");
    assert!(!at.1.contains("more than"), "{:?}", at.1.lines().next());
    assert!(beyond.0 == Some(2) && beyond.1.contains(&words), "{:?}", beyond.1.lines().next());
}

/// Six folders of twelve links each are three million ways: as an archive it is a few hundred bytes.
#[cfg(unix)]
#[test]
fn links_that_branch_do_not_take_for_ever() {
    let root = scratch("links");
    for level in 0..6 {
        let folder = root.join(level.to_string());
        fs::create_dir(&folder).unwrap();
        for link in 0..12 {
            std::os::unix::fs::symlink(format!("../{}", level + 1), folder.join(format!("l{link}"))).unwrap();
        }
    }
    fs::create_dir(root.join("6")).unwrap();
    let (code, words) = run(&["judge", "--rules", root.join("0").to_str().unwrap(), CAR]);
    assert!(code == Some(2) && words.contains("more than 10000 folders"), "{words}");
    fs::write(root.join("6/records.csv"), "d,id\n2026-01-01,a\n").unwrap();
    let pattern = root.join("0/*/*/*/*/*/*/*.csv");
    let (code, words) = run(&["audit", "--program", "us-model", "--mapping", MAPPING, pattern.to_str().unwrap()]);
    assert!(code == Some(2) && words.contains("more than 10000 files"), "{words}");
    // Fewer ways to the same file are one file.
    let pattern = root.join("4/*/l0/*.csv");
    let (_, words) = run(&["audit", "--program", "us-model", "--mapping", MAPPING, pattern.to_str().unwrap()]);
    assert!(!words.contains("more than 10000"), "{words}");
    fs::remove_dir_all(&root).unwrap();
}

/// What a folder holds, or a program refers to, is read only where it is a plain file: a pipe or a device might never end.
#[cfg(unix)]
#[test]
fn pipes_and_devices_are_not_waited_for() {
    let root = scratch("pipes");
    let pipe = |name: &str| {
        let path = root.join(name);
        assert!(std::process::Command::new("mkfifo").arg(&path).status().unwrap().success());
        path
    };
    let rules = root.join("rules");
    fs::create_dir(&rules).unwrap();
    pipe("rules/a.wherefore");
    let folder = rules.to_str().unwrap();
    let (code, words) = run(&["judge", "--rules", folder, CAR]);
    assert!(code == Some(2) && words.contains("it is no plain file"), "{words}");
    for arguments in [["check", folder], ["fmt", folder]] {
        let (code, words) = run(&arguments);
        assert!(code == Some(2) && words.contains("it is no plain file"), "{words}");
    }
    fs::remove_file(rules.join("a.wherefore")).unwrap();
    std::os::unix::fs::symlink("/dev/zero", rules.join("a.wherefore")).unwrap();
    let (code, words) = run(&["judge", "--rules", folder, CAR]);
    assert!(code == Some(2) && words.contains("it is no plain file"), "{words}");
    fs::remove_dir_all(&rules).unwrap();
    // A table of a program is a pipe.
    fs::create_dir(&rules).unwrap();
    fs::copy("tests/check/points/point-11-tables.wherefore", rules.join("point-11-tables.wherefore")).unwrap();
    pipe("rules/listed.csv");
    let (code, words) = run(&["check", folder]);
    assert_eq!(code, Some(2), "{words}");
    // A pattern passes over what is no plain file.
    pipe("a.csv");
    std::os::unix::fs::symlink("/dev/zero", root.join("b.csv")).unwrap();
    let pattern = root.join("*.csv");
    let (code, words) = run(&["audit", "--program", "us-model", "--mapping", MAPPING, pattern.to_str().unwrap()]);
    assert!(code == Some(2) && words.contains("there is no such file"), "{words}");
    fs::remove_dir_all(&root).unwrap();
}

/// What an editor announces is not taken memory for.
#[cfg(feature = "lsp")]
#[rstest]
#[case::too_long("Content-Length: 16777217\r\n\r\n{}", "has 16777217 bytes; 16777216 are the most")]
#[case::absurd("Content-Length: 99999999999999\r\n\r\n{}", "99999999999999 bytes")]
#[case::no_number("Content-Length: 9999999999999999999999\r\n\r\n{}", "does not say how long it is")]
#[case::at_the_limit_and_cut_off("Content-Length: 16777216\r\n\r\n{}", "is cut off")]
#[case::no_head("{}\r\n\r\n", "does not say how long it is")]
#[case::no_end("{}", "no head as the protocol wants it")]
fn a_message_of_an_editor_has_a_limit(#[case] input: &str, #[case] words: &str) {
    let output = run_with_input(command(&["lsp"]), input.as_bytes());
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains(words), "{}", said(&output));
}

#[cfg(feature = "lsp")]
#[test]
fn a_head_of_a_message_has_a_limit() {
    let body = "{\"jsonrpc\": \"2.0\", \"method\": \"exit\"}";
    let head = |bytes: usize| {
        let end = format!("\r\nContent-Length: {}\r\n\r\n", body.len());
        let text = format!("X-Other: {}{end}{body}", "x".repeat(bytes - end.len() - 9));
        said(&run_with_input(command(&["lsp"]), text.as_bytes()))
    };
    let (at, beyond) = (head(4096), head(4097));
    // It is read; a session does not begin with it.
    assert!(!at.contains("no head") && at.contains("did not begin as the protocol says"), "{at}");
    assert!(beyond.contains("no head as the protocol wants it"), "{beyond}");
}
