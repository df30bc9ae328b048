//! `wherefore audit` from outside: mapping files, readers and writers, totals, threads, invented records, the summary.

mod batches;
mod borders;
#[cfg(feature = "parquet")]
mod columns;
mod files;
mod invented;
mod lots;
mod mapping;
mod silent;
mod stops;
mod summary;

use crate::process;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::atomic::{AtomicU32, Ordering};

pub(crate) const ROOT: &str = env!("CARGO_MANIFEST_DIR");
pub(crate) const RECORDS: &str = "examples/larkspur/inspections.csv";
pub(crate) const MAPPING: &str = "examples/larkspur/inspections.toml";

/// A folder of its own for a test, also where several of one name run at once.
pub(crate) fn folder(name: &str) -> PathBuf {
    static COUNT: AtomicU32 = AtomicU32::new(0);
    let count = COUNT.fetch_add(1, Ordering::Relaxed);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("audit-{}", std::process::id()));
    let folder = folder.join(format!("{count}-{name}"));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

pub(crate) fn command(arguments: &[&str]) -> Command {
    process::command(&[&["audit"], arguments].concat())
}

pub(crate) fn run(arguments: &[&str]) -> Output {
    command(arguments).output().unwrap()
}

pub(crate) fn run_with_input(arguments: &[&str], input: &[u8]) -> Output {
    process::run_with_input(command(arguments), input)
}

pub(crate) fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

pub(crate) fn exit(output: &Output) -> i32 {
    output.status.code().unwrap()
}

/// The summary in JSON of an audit of the motor pool's list, or of another file by its mapping.
pub(crate) fn summary(records: &str, mapping: &str, more: &[&str]) -> serde_json::Value {
    let mut arguments = vec!["--mapping", mapping, "--program", "us-model", "--format", "json", records];
    arguments.extend(more);
    let output = run(&arguments);
    assert!(output.stderr.is_empty(), "{}", text(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}
