//! A run that is stopped leaves complete files or none.

#![cfg(unix)]

use super::{MAPPING, RECORDS, ROOT, command, folder, text};
use rstest::rstest;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Records go on coming through a pipe when the signal arrives: the files under way were there, and none is left.
#[test]
fn a_signal_leaves_no_file() {
    let folder = folder("signal");
    let (out, aside) = (folder.join("out.csv"), folder.join("aside.csv"));
    let mut child = command(&[
        "--mapping",
        MAPPING,
        "--program",
        "us-model",
        "--threads",
        "2",
        "--out",
        out.to_str().unwrap(),
        "--set-aside",
        aside.to_str().unwrap(),
        "-",
    ])
    .stdin(Stdio::piped())
    .spawn()
    .unwrap();
    let mut pipe = child.stdin.take().unwrap();
    pipe.write_all(&std::fs::read(Path::new(ROOT).join(RECORDS)).unwrap()).unwrap();
    pipe.flush().unwrap();
    let begun = Instant::now();
    let under_way = || std::fs::read_dir(&folder).unwrap().count();
    while under_way() < 2 && begun.elapsed() < Duration::from_secs(60) {
        std::thread::yield_now();
    }
    assert_eq!(under_way(), 2, "both files are under way");
    assert!(Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap().success());
    let output = child.wait_with_output().unwrap();
    drop(pipe);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("stopped; no file was written"));
    assert!(output.stdout.is_empty());
    assert_eq!(under_way(), 0);
}

/// A file that cannot be read to its end is an error, and leaves what was there before.
#[test]
fn a_broken_file_leaves_what_was_there() {
    let folder = folder("broken");
    let (file, out) = (folder.join("records.gz"), folder.join("out.csv"));
    let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    packer.write_all(&std::fs::read(Path::new(ROOT).join(RECORDS)).unwrap()).unwrap();
    let bytes = packer.finish().unwrap();
    std::fs::write(&file, &bytes[..bytes.len() / 2]).unwrap();
    std::fs::write(&out, "kept").unwrap();
    for threads in ["1", "2"] {
        let output = super::run(&[
            "--mapping",
            MAPPING,
            "--program",
            "us-model",
            "--threads",
            threads,
            "--force",
            "--out",
            out.to_str().unwrap(),
            file.to_str().unwrap(),
        ]);
        assert_eq!(output.status.code(), Some(2), "{}", text(&output.stdout));
        assert!(text(&output.stderr).contains("records.gz: cannot be read"), "{}", text(&output.stderr));
        assert_eq!(std::fs::read_to_string(&out).unwrap(), "kept");
        assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 2);
    }
}

/// Nothing that is read is written over, nothing is written twice, and what is no plain file is not replaced by one.
#[rstest]
#[case::over_the_records("--out", "records.csv", "records.csv: this file is read; give the name of another")]
#[case::over_the_mapping("--set-aside", "mapping.toml", "mapping.toml: this file is read; give the name of another")]
#[case::by_another_path("--out", "../{folder}/records.csv", "records.csv: this file is read")]
#[case::no_folder("--out", "absent/out.csv", "out.csv: cannot be written: there is no such folder")]
#[case::a_folder("--set-aside", ".", "cannot be written: it is a folder")]
fn what_is_there_stays(#[case] option: &str, #[case] name: &str, #[case] message: &str) {
    let folder = folder("stays");
    let records = std::fs::read_to_string(Path::new(ROOT).join(RECORDS)).unwrap();
    let mapping = std::fs::read_to_string(Path::new(ROOT).join(MAPPING)).unwrap();
    std::fs::write(folder.join("records.csv"), &records).unwrap();
    std::fs::write(folder.join("mapping.toml"), &mapping).unwrap();
    let name = name.replace("{folder}", folder.file_name().unwrap().to_str().unwrap());
    let mut command = command(&["--mapping", "mapping.toml", "--program", "us-model", option, &name, "records.csv"]);
    let output = command.current_dir(&folder).output().unwrap();
    assert_eq!(output.status.code(), Some(2), "{}", text(&output.stdout));
    assert!(text(&output.stderr).contains(message), "{}", text(&output.stderr));
    assert_eq!(std::fs::read_to_string(folder.join("records.csv")).unwrap(), records);
    assert_eq!(std::fs::read_to_string(folder.join("mapping.toml")).unwrap(), mapping);
    assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 2);
}

#[test]
fn one_file_is_not_written_twice() {
    let folder = folder("twice");
    let out = folder.join("out.csv");
    let out = out.to_str().unwrap();
    let output =
        super::run(&["--mapping", MAPPING, "--program", "us-model", "--out", out, "--set-aside", out, RECORDS]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("--out and --set-aside name one file"), "{}", text(&output.stderr));
    assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 0);
}

/// What holds no text is told in one line, and nothing of it reaches the terminal.
#[rstest]
#[case::pictures(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR")]
#[case::archives(b"PK\x03\x04\x14\0\x08\0")]
#[case::noughts(&[0; 100])]
fn a_file_that_is_no_text_is_refused(#[case] bytes: &[u8]) {
    let file = folder("no-text").join("records.csv");
    std::fs::write(&file, bytes).unwrap();
    let file = file.to_str().unwrap();
    let audited = super::run(&["--mapping", MAPPING, "--program", "us-model", file]);
    let drafted = super::run(&["--draft-mapping", file]);
    for output in [audited, drafted] {
        assert_eq!(output.status.code(), Some(2));
        let told = text(&output.stderr);
        assert!(told.contains("records.csv: holds no text; records are CSV, JSON Lines"), "{told}");
        assert_eq!(told.lines().count(), 1, "{told}");
        assert!(!told.contains('\0') && output.stdout.is_empty());
    }
}

/// Invented records that nobody reads, or that do not go on a full disk, are not said to be made.
#[cfg(target_os = "linux")]
#[test]
fn what_was_not_written_is_not_told_as_made() {
    let arguments = ["--invent", "20000", "--program", "us-il"];
    let full = std::fs::File::options().write(true).open("/dev/full").unwrap();
    let output = command(&arguments).stdout(full).output().unwrap();
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(told.lines().count(), 1, "{told}");
    assert!(told.contains("standard output cannot be written"), "{told}");
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let output = command(&arguments).stdout(writer).output().unwrap();
    assert_eq!((output.status.code(), output.stderr.as_slice()), (Some(0), &b""[..]));
}
