//! What `fuzz/run` says and ends with, tried with stand-ins for the compiler and for a target: a finding is rare, and must
//! not be the first time that these lines are read.
#![cfg(unix)]

use super::audit::folder;
use rstest::rstest;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn executable(path: &Path, text: &str) {
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, format!("#!/usr/bin/env bash\n{text}\n")).unwrap();
    fs::set_permissions(path, fs::Permissions::from_mode(0o755)).unwrap();
}

/// The platform that the compiler builds for.
fn host() -> String {
    let told = Command::new("rustc").arg("-vV").output().unwrap();
    let told = String::from_utf8(told.stdout).unwrap();
    told.lines().find_map(|line| line.strip_prefix("host: ")).unwrap().to_owned()
}

/// Runs the script on `decode`, which does as told; where it puts findings.
fn run(folder: &Path, does: &str) -> (Output, PathBuf) {
    executable(&folder.join("bin/cargo"), "exit 0");
    let built = folder.join("target/fuzz/build").join(host()).join("release/decode");
    let begun = r#"
old=0
for word in "$@"; do
  case $word in -artifact_prefix=*) found=${word#*=} ;; -merge=1) exit 0 ;; */findings/*) old=1 ;; esac
done
echo "stat::number_of_executed_units: 321""#;
    executable(&built, &format!("{begun}\n{does}"));
    let path = format!("{}:{}", folder.join("bin").display(), std::env::var("PATH").unwrap());
    let output = Command::new(Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/run"))
        .args(["1", "decode"])
        .env("PATH", path)
        .env("CARGO_TARGET_DIR", folder.join("target"))
        .current_dir(folder)
        .output()
        .unwrap();
    (output, folder.join("target/fuzz/findings/decode"))
}

#[rstest]
#[case::nothing("exit 0", 0, "")]
#[case::a_finding(
    r#"echo "thread panicked"; touch "${found}crash-1"; exit 77"#,
    1,
    "decode: 1 findings, ended with 77; the end of "
)]
#[case::ended_early(r#"echo "thread panicked"; exit 3"#, 1, "decode: 0 findings, ended with 3; the end of ")]
#[case::only_slow(r#"touch "${found}slow-unit-1"; exit 0"#, 0, "")]
fn a_finding_is_told(#[case] does: &str, #[case] code: i32, #[case] told: &str) {
    let (output, _) = run(&folder("fuzz-run"), does);
    let (said, error) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert_eq!(output.status.code(), Some(code), "{said}{error}");
    let figures: Vec<&str> = said.lines().find(|line| line.starts_with("decode")).unwrap().split_whitespace().collect();
    assert_eq!(figures.get(1), Some(&"321"), "{said}");
    match told {
        "" => assert_eq!(error, ""),
        _ => {
            assert!(error.starts_with(told), "{error}");
            assert!(error.contains("thread panicked"), "the end of its log: {error}");
        }
    }
}

#[rstest]
#[case::not_mended("exit 77", 1)]
#[case::mended("exit 0", 0)]
fn what_was_found_before_is_tried_first(#[case] does: &str, #[case] code: i32) {
    let folder = folder("fuzz-run");
    let (_, found) = run(&folder, "exit 0");
    let old = found.join("crash-1");
    fs::write(&old, "x").unwrap();
    let (output, _) = run(&folder, &format!("if [ $old = 1 ]; then {does}; fi"));
    let error = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(code), "{error}");
    assert_eq!(error.contains("decode: not mended: "), code == 1, "{error}");
    assert_eq!(old.exists(), code == 1, "what is mended is kept no longer");
}
