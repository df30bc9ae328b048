//! A run that is stopped leaves complete files or none.

#![cfg(unix)]

use super::{MAPPING, RECORDS, ROOT, command, folder, text};
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
