//! What can go wrong outside: every command against a closed pipe, a full disk, what may not be read or written, and
//! being stopped: the exit code, the message, and what is left.

use crate::process::{command, run_with_input};
use rstest::rstest;
use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::Duration;

const CAR: &str = "tests/cli/cars/pass.json";
const RULES: &str = "tests/cli/rules";
const CAPTURE: &str = "tests/cli/captures/answers.txt";
const PROGRAM: &str = "examples/exact/heath.wherefore";

/// Every command that prints, with its exit code where nothing goes wrong.
const COMMANDS: [(&str, &[&str], i32); 18] = [
    ("help", &["--help"], 0),
    ("programs", &["programs"], 0),
    ("programs html", &["programs", "--format", "html"], 0),
    ("judge", &["judge", "--rules", RULES, CAR], 0),
    ("judge json", &["judge", "--rules", RULES, "--format", "json", CAR], 0),
    ("judge html", &["judge", "--rules", RULES, "--format", "html", CAR], 0),
    ("judge several", &["judge", "--rules", RULES, "tests/cli/cars/fleet.jsonl"], 1),
    ("next", &["next", "--rules", RULES, CAR], 0),
    ("ask tree", &["ask", "--tree", "--rules", "examples/exact", "--program", "heath", "--as-of", "2026-11-25"], 3),
    ("decode", &["decode", CAPTURE], 0),
    ("check", &["check", RULES], 0),
    ("check json", &["check", "--format", "json", RULES], 0),
    ("compare", &["compare", PROGRAM, "examples/exact/heath-none.wherefore"], 1),
    ("cases", &["cases", PROGRAM], 0),
    ("replay", &["replay", "--rules", RULES, "-"], 0),
    ("fmt", &["fmt", "-"], 0),
    ("facts", &["facts"], 0),
    ("facts schema", &["facts", "--format", "schema"], 0),
];

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// What a command reads from standard input, if it does.
fn input(name: &str) -> Vec<u8> {
    match name {
        "replay" => command(&["judge", "--rules", RULES, "--format", "json", CAR]).output().unwrap().stdout,
        "fmt" => fs::read(PROGRAM).unwrap(),
        _ => Vec::new(),
    }
}

fn run_to(name: &str, arguments: &[&str], output: impl Into<Stdio>) -> Output {
    let mut command = command(arguments);
    command.stdout(output);
    let mut child = command.stdin(Stdio::piped()).spawn().unwrap();
    let mut pipe = child.stdin.take().unwrap();
    let bytes = input(name);
    let writer = std::thread::spawn(move || drop(pipe.write_all(&bytes)));
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap();
    output
}

#[test]
fn every_command_ends_as_it_should_where_nothing_goes_wrong() {
    for (name, arguments, exit) in COMMANDS {
        let output = run_to(name, arguments, Stdio::piped());
        assert_eq!(output.status.code(), Some(exit), "{name}: {}", text(&output.stderr));
        assert!(!output.stdout.is_empty(), "{name} prints something");
    }
}

/// A reader that has gone away is no fault: the same exit code, and no word about it.
#[test]
fn a_closed_pipe_is_quiet_in_every_command() {
    for (name, arguments, exit) in COMMANDS {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let output = run_to(name, arguments, writer);
        // Of several snapshots those behind the closed pipe are not ruled on.
        let ends = if name == "judge several" { vec![0, exit] } else { vec![exit] };
        assert!(ends.contains(&output.status.code().unwrap()), "{name}: {:?}", output.status);
        assert!(!text(&output.stderr).contains("error"), "{name}: {}", text(&output.stderr));
    }
}

/// Output that cannot be written ends with 2, and says why, once.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told_by_every_command() {
    for (name, arguments, _) in COMMANDS {
        let output = run_to(name, arguments, File::options().write(true).open("/dev/full").unwrap());
        assert_eq!(output.status.code(), Some(2), "{name}");
        let told =
            text(&output.stderr).matches("error: standard output cannot be written: no space is left there").count();
        assert_eq!(told, 1, "{name}: {}", text(&output.stderr));
    }
}

fn scratch(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("faults-{name}"));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// What may not be read (a folder in the place of a file; whoever runs the tests may be allowed to read everything).
#[rstest]
#[case::judge(&["judge", "--rules", RULES, "tests/cli/cars"], "tests/cli/cars: cannot be read: it is a folder")]
#[case::next(&["next", "--rules", RULES, "tests/cli/cars"], "tests/cli/cars: cannot be read: it is a folder")]
#[case::ask(&["ask", "--tree", "--rules", RULES, "tests/cli/cars"], "tests/cli/cars: cannot be read: it is a folder")]
#[case::decode(&["decode", "tests/cli/captures"], "tests/cli/captures: cannot be read: it is a folder")]
#[case::replay(&["replay", "tests/cli/cars"], "tests/cli/cars: cannot be read: it is a folder")]
#[case::check(&["check", "tests/cli/cars/none"], "tests/cli/cars/none: cannot be read: there is no such file")]
#[case::fmt(&["fmt", "tests/cli/cars/none"], "tests/cli/cars/none: cannot be read: there is no such file")]
#[case::compare(&["compare", "us-ny", "none.wherefore"], "none.wherefore: cannot be read: there is no such file")]
#[case::cases(&["cases", "none.wherefore"], "none.wherefore: cannot be read: there is no such file")]
#[case::programs(&["programs", "--rules", "none"], "none: cannot be read: there is no such file")]
fn what_cannot_be_read_is_named(#[case] arguments: &[&str], #[case] message: &str) {
    let output = command(arguments).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains(message), "{}", text(&output.stderr));
    assert!(output.stdout.is_empty());
}

const ASK: [&str; 7] = ["ask", "--rules", "examples/exact", "--program", "heath", "--as-of", "2026-11-25"];

/// The answers go to a file whole or not at all, and over one that is there only with --force.
#[test]
fn answers_are_written_whole_or_not_at_all() {
    let folder = scratch("out");
    let out = folder.join("answers.json");
    let path = out.to_string_lossy().into_owned();
    let asked =
        |more: &[&str]| run_with_input(command(&[&ASK[..], &["--out"], more].concat()), b"2026-11-25\ngasoline\n");
    assert_ne!(asked(&[&path]).status.code(), Some(2));
    assert!(fs::read_to_string(&out).unwrap().contains("gasoline"));
    let again = asked(&[&path]);
    assert_eq!(again.status.code(), Some(2));
    assert!(text(&again.stderr).contains("answers.json: is there already"), "{}", text(&again.stderr));
    fs::write(&out, "mine").unwrap();
    assert_ne!(asked(&[&path, "--force"]).status.code(), Some(2));
    assert!(fs::read_to_string(&out).unwrap().contains("gasoline"));
    let of_folder = asked(&[&folder.to_string_lossy()]);
    assert_eq!(of_folder.status.code(), Some(2), "{}", text(&of_folder.stderr));
    let no_folder = asked(&[&folder.join("none/answers.json").to_string_lossy()]);
    assert_eq!(no_folder.status.code(), Some(2));
    assert!(text(&no_folder.stderr).contains("there is no such folder"), "{}", text(&no_folder.stderr));
    assert_eq!(names(&folder), ["answers.json"], "nothing else is left");
}

/// Begins a command that waits for what it reads, and gives it something to start with.
fn waiting(arguments: &[&str], begin: &[u8]) -> (Child, std::process::ChildStdin) {
    let mut child = command(arguments).stdin(Stdio::piped()).spawn().unwrap();
    let mut pipe = child.stdin.take().unwrap();
    pipe.write_all(begin).unwrap();
    pipe.flush().unwrap();
    // Until it has heard what it was given.
    std::thread::sleep(Duration::from_millis(1500));
    (child, pipe)
}

#[cfg(unix)]
fn signal(child: &Child, signal: &str) {
    assert!(Command::new("kill").args([signal, &child.id().to_string()]).status().unwrap().success());
}

/// Stopped from the keyboard or by the system, `ask` keeps the answers; killed, it leaves nothing half done.
#[cfg(unix)]
#[rstest]
#[case::interrupt("-INT", Some(2), true)]
#[case::terminate("-TERM", Some(2), true)]
#[case::hang_up("-HUP", Some(2), true)]
#[case::kill("-KILL", None, false)]
fn stopped_asking_keeps_the_answers(#[case] with: &str, #[case] exit: Option<i32>, #[case] is_kept: bool) {
    let folder = scratch(&format!("stopped{with}"));
    let path = folder.join("answers.json");
    let arguments = [&ASK[..], &["--out", path.to_str().unwrap()]].concat();
    let (child, pipe) = waiting(&arguments, b"2026-11-25\ngasoline\n");
    signal(&child, with);
    let output = child.wait_with_output().unwrap();
    drop(pipe);
    assert_eq!(output.status.code(), exit, "{}", text(&output.stderr));
    let left: &[&str] = if is_kept { &["answers.json"] } else { &[] };
    assert_eq!(names(&folder), left);
    if is_kept {
        assert!(text(&output.stderr).contains("the answers so far are in"), "{}", text(&output.stderr));
        assert!(fs::read_to_string(&path).unwrap().contains("gasoline"));
    }
}

/// Commands that write no file end at once when they are stopped, and leave nothing.
#[cfg(unix)]
#[rstest]
#[case::judge(&["judge", "--rules", RULES, "-"])]
#[case::decode(&["decode", "-"])]
#[case::replay(&["replay", "-"])]
#[case::next(&["next", "--rules", RULES, "-"])]
#[case::fmt(&["fmt", "-"])]
fn stopped_readers_end(#[case] arguments: &[&str]) {
    for with in ["-INT", "-KILL"] {
        let (child, pipe) = waiting(arguments, b"{");
        signal(&child, with);
        let output = child.wait_with_output().unwrap();
        drop(pipe);
        assert_eq!(output.status.code(), None, "ended by the signal");
        assert!(output.stdout.is_empty());
    }
}

/// `fmt` touches the files it was given and no other, and names those of a folder that it changed.
#[test]
fn fmt_leaves_other_files_alone() {
    let folder = scratch("fmt");
    let program = folder.join("one.wherefore");
    let mine = folder.join("one.wherefore.new");
    let loose = fs::read_to_string(PROGRAM).unwrap().replace("  authority", "     authority");
    fs::write(&program, &loose).unwrap();
    fs::write(&mine, "mine").unwrap();
    let output = command(&["fmt", folder.to_str().unwrap()]).output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert_eq!(text(&output.stdout), format!("{}\n", program.display()));
    assert_eq!(fs::read_to_string(&mine).unwrap(), "mine");
    assert_ne!(fs::read_to_string(&program).unwrap(), loose);
    assert_eq!(names(&folder), ["one.wherefore", "one.wherefore.new"]);
    let again = command(&["fmt", folder.to_str().unwrap()]).output().unwrap();
    assert!(again.stdout.is_empty(), "nothing was left to change");
}

/// A faulty snapshot is told by file and line; the others are ruled on all the same, one by one.
#[test]
fn a_faulty_snapshot_is_passed_over() {
    let car = fs::read_to_string(CAR).unwrap();
    let car: serde_json::Value = serde_json::from_str(&car).unwrap();
    let lines = format!("{car}\n{{\"format\": 3}}\n\n{car}\n{{broken\n{car}\n");
    let output = run_with_input(command(&["judge", "--rules", RULES, "--format", "json", "-"]), lines.as_bytes());
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(text(&output.stdout).lines().count(), 3, "the results of the others stand");
    let told = text(&output.stderr);
    assert!(told.contains("standard input, line 2: "), "{told}");
    assert!(told.contains("standard input, line 5: "), "{told}");
    // A contradiction is one of the snapshot, not of each program.
    let output = command(&["judge", "--program", "all", "tests/cli/cars/contradiction.json"]).output().unwrap();
    let told = text(&output.stderr);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(told.matches("contradict").count().min(told.lines().count()), 1, "{told}");
    assert!(told.contains("contradiction.json: "), "{told}");
}

/// Rulings come while snapshots are still being written: nothing is kept until the end.
#[test]
fn judge_rules_as_it_reads() {
    use std::io::{BufRead, BufReader};
    let car: serde_json::Value = serde_json::from_str(&fs::read_to_string(CAR).unwrap()).unwrap();
    let mut child =
        command(&["judge", "--rules", RULES, "--format", "json", "-"]).stdin(Stdio::piped()).spawn().unwrap();
    let mut pipe = child.stdin.take().unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    // The form shows with the second line.
    writeln!(pipe, "{car}\n{car}").unwrap();
    for _ in 0..3 {
        assert!(lines.next().unwrap().unwrap().contains("\"verdict\""));
        writeln!(pipe, "{car}").unwrap();
    }
    drop(pipe);
    assert_eq!(lines.count(), 2);
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

/// What `judge` holds in memory does not grow with how many snapshots it has read: looked at while it waits for more. When
/// rulings were kept until the end, each took some 80 kB.
#[cfg(target_os = "linux")]
#[test]
fn judge_keeps_no_snapshot() {
    use std::io::{BufRead, BufReader};
    const FIRST: usize = 30;
    const MORE: usize = 200;
    let car: serde_json::Value = serde_json::from_str(&fs::read_to_string(CAR).unwrap()).unwrap();
    let arguments = ["judge", "--rules", RULES, "--format", "json", "-"];
    let mut child = command(&arguments).stdin(Stdio::piped()).spawn().unwrap();
    let mut pipe = child.stdin.take().unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let status = format!("/proc/{}/status", child.id());
    let held = || -> u64 {
        let status = fs::read_to_string(&status).unwrap();
        let line = status.lines().find(|line| line.starts_with("VmRSS:")).unwrap();
        line.split_whitespace().nth(1).unwrap().parse().unwrap()
    };
    // The form shows with the second line, so that one is always on its way.
    writeln!(pipe, "{car}").unwrap();
    let mut feed = |many: usize| {
        for _ in 0..many {
            writeln!(pipe, "{car}").unwrap();
            assert!(lines.next().unwrap().unwrap().contains("\"verdict\""));
        }
    };
    feed(FIRST);
    let before = held();
    feed(MORE);
    let after = held();
    assert!(after < before + 8_000, "{before} kB, {after} kB after {MORE} snapshots more");
    child.kill().unwrap();
    child.wait().unwrap();
}

/// A page is held whole, so it has a most: 26 vehicles under 40 programs are too many, and are told before any page is made.
#[test]
fn a_page_of_too_many_rulings_is_refused() {
    let folder = scratch("many");
    let text_of = fs::read_to_string("tests/check/points/point-05-clauses.wherefore").unwrap();
    let name = "point-05-clauses";
    for place in 0..40 {
        let program = text_of.replacen(name, &format!("{name}-{place}"), 1);
        fs::write(folder.join(format!("{place}.wherefore")), program).unwrap();
    }
    let car: serde_json::Value = serde_json::from_str(&fs::read_to_string(CAR).unwrap()).unwrap();
    let rules = folder.to_str().unwrap();
    let programs: Vec<String> = (0..40).map(|place| format!("--program={name}-{place}")).collect();
    let mut arguments = vec!["judge", "--rules", rules, "--format", "html", "-"];
    arguments.extend(programs.iter().map(String::as_str));
    let page = |many: usize| run_with_input(command(&arguments), format!("{car}\n").repeat(many).as_bytes());
    let (most, more) = (page(2), page(26));
    assert_ne!(most.status.code(), Some(2), "{}", text(&most.stderr));
    assert!(text(&most.stdout).contains("</html>"));
    assert_eq!(more.status.code(), Some(2));
    assert!(text(&more.stderr).contains("a page holds at most 1000 rulings"), "{}", text(&more.stderr));
    assert!(more.stdout.is_empty());
}

/// A program file that is named must hold a program; else a built-in one of the same id would stand for it unsaid.
#[rstest]
#[case::damaged_first_line("bad.wherefore", b"prgram us-il \"Illinois\"\n", "no program is there")]
#[case::utf_16("bad.wherefore", b"\xff\xfep\0r\0o\0", "UTF-16")]
#[case::binary("bad.bin", b"\x7fELF\x02\x01\x01\0\xfe\xff", "not UTF-8")]
#[case::json("bad.json", b"{\"format\": \"wherefore-snapshot/1\"}", "no program is there")]
fn a_file_named_as_rules_must_hold_a_program(#[case] name: &str, #[case] bytes: &[u8], #[case] message: &str) {
    let folder = scratch(&format!("rules-{name}-{}", message.len()));
    let path = folder.join(name);
    fs::write(&path, bytes).unwrap();
    let car = "examples/larkspur/van-7.json";
    let output = command(&["judge", "--rules", path.to_str().unwrap(), "--program", "us-il", car]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains(message), "{}", text(&output.stderr));
    assert!(output.stdout.is_empty());
}

#[test]
fn two_programs_of_one_id_are_told_with_both_places() {
    let folder = scratch("twice");
    let program = fs::read_to_string(PROGRAM).unwrap();
    fs::write(folder.join("a.wherefore"), &program).unwrap();
    fs::write(folder.join("b.wherefore"), &program).unwrap();
    let path = folder.to_str().unwrap();
    for arguments in
        [&["check", path][..], &["programs", "--rules", path], &["judge", "--rules", path, "--program", "heath", CAR]]
    {
        let output = command(arguments).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        let told = text(&output.stderr);
        assert!(told.contains("a.wherefore, line 2") && told.contains("b.wherefore, line 2"), "{told}");
    }
}

/// What is no file and would never end is refused, named or found in a folder, as a program or as its table.
#[cfg(unix)]
#[test]
fn pipes_and_dangling_links_are_refused() {
    let folder = scratch("pipes");
    let pipe = folder.join("pipe.wherefore");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    for path in [&pipe, &folder] {
        let output = command(&["check", path.to_str().unwrap()]).output().unwrap();
        assert_eq!(output.status.code(), Some(2));
        assert!(text(&output.stderr).contains("pipe.wherefore: cannot be read: it is no plain file"));
    }
    fs::remove_file(&pipe).unwrap();
    std::os::unix::fs::symlink("nowhere", &pipe).unwrap();
    let output = command(&["check", folder.to_str().unwrap()]).output().unwrap();
    assert!(text(&output.stderr).contains("pipe.wherefore: cannot be read: it is a link to nothing"));
    fs::remove_file(&pipe).unwrap();
    let program = fs::read_to_string(PROGRAM).unwrap();
    let tabled = format!("{program}table listed\n  rows from \"listed.csv\"\n");
    fs::write(folder.join("tabled.wherefore"), tabled).unwrap();
    assert!(Command::new("mkfifo").arg(folder.join("listed.csv")).status().unwrap().success());
    let output = command(&["check", folder.to_str().unwrap()]).output().unwrap();
    assert_eq!(output.status.code(), Some(2), "and it ends");
    let told = text(&output.stderr) + &text(&output.stdout);
    assert!(told.contains("listed.csv: cannot be read: it is no plain file, or not UTF-8"), "{told}");
}

/// Nothing that steers a terminal comes out, from whatever field or name it came in.
#[test]
fn control_characters_never_reach_a_terminal() {
    let folder = scratch("control\u{1b}[31m");
    let evil = "\u{1b}[31m\u{7}\u{202e}\u{9b}2J";
    let program = fs::read_to_string(PROGRAM).unwrap();
    let path = folder.join("evil.wherefore");
    fs::write(&path, program.replace("lamp commanded on", &format!("lamp {evil}commanded on"))).unwrap();
    let titled = folder.join("titled.wherefore");
    fs::write(&titled, program.replace("Heath County, invented", &format!("Heath {evil}"))).unwrap();
    let car = folder.join("car.json");
    let snapshot = serde_json::json!({
        "format": "wherefore-snapshot/1", evil: 1, "visit": {"area": evil, "date": "2026-11-25"},
        "quality": [{"flag": evil, "message": evil, "lines": [1]}],
    });
    fs::write(&car, snapshot.to_string()).unwrap();
    let flagged = folder.join("flagged.json");
    let mut known = snapshot;
    known.as_object_mut().unwrap().remove(evil);
    fs::write(&flagged, known.to_string()).unwrap();
    let capture = folder.join("capture.log");
    fs::write(&capture, format!("{evil} 7E8\n7E8 41 01 00 07 E5 00\n")).unwrap();
    let at = |path: &Path| path.to_str().unwrap().to_owned();
    let (path, titled, car, flagged, capture) = (at(&path), at(&titled), at(&car), at(&flagged), at(&capture));
    let runs: [&[&str]; 16] = [
        &["check", &path],
        &["check", "--format", "json", &path],
        &["fmt", &path],
        &["judge", "--rules", &path, &car],
        &["judge", "--rules", &titled, &car],
        &["judge", "--rules", &titled, &flagged],
        &["judge", "--rules", &titled, "--format", "json", &flagged],
        &["judge", "--rules", &titled, "--format", "html", &flagged],
        &["next", "--rules", &titled, &flagged],
        &["ask", "--tree", "--rules", &titled, &flagged],
        &["programs", "--rules", &titled],
        &["compare", &titled, PROGRAM],
        &["decode", &capture, "--area", evil, "--vin", evil],
        &["decode", evil],
        &["replay", &car],
        &[evil],
    ];
    for arguments in runs {
        let output = command(arguments).output().unwrap();
        for bytes in [output.stdout, output.stderr] {
            let printed = text(&bytes);
            let steering =
                |c: &char| c.is_control() && !matches!(c, '\n' | '\t') || matches!(c, '\u{202a}'..='\u{202e}');
            assert_eq!(printed.chars().find(steering), None, "{arguments:?}: {printed:?}");
        }
    }
}

/// In the pipe of the two main commands each note is told once, by the one that rules, with its line.
#[test]
fn each_note_is_told_once_in_a_pipe() {
    let capture = "tests/decode/obdb/capture.log";
    let decoded = command(&["decode", capture, "--model-year", "2018"]).output().unwrap();
    assert_eq!(text(&decoded.stderr), "", "in a pipe the notes travel with the snapshot");
    let judged = run_with_input(command(&["judge", "--program", "us-ca", "-"]), &decoded.stdout);
    let told = text(&judged.stderr);
    assert!(told.contains("note on the data: line "), "{told}");
    let mut lines: Vec<&str> = told.lines().collect();
    let many = lines.len();
    lines.sort_unstable();
    lines.dedup();
    assert_eq!(lines.len(), many, "{told}");
    // To a file or a terminal the notes come from decode itself.
    let folder = scratch("notes");
    let to_file = command(&["decode", capture, "--model-year", "2018"])
        .stdout(File::create(folder.join("car.json")).unwrap())
        .output()
        .unwrap();
    assert!(text(&to_file.stderr).contains("note: line "), "{}", text(&to_file.stderr));
}

#[rstest]
#[case::weight(&["--weight-lb", "4.5"], "give whole pounds")]
#[case::vin(&["--vin", ""], "is empty")]
fn what_a_person_says_is_checked_in_plain_words(#[case] more: &[&str], #[case] words: &str) {
    let output = command(&[&["decode", CAPTURE], more].concat()).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains(words), "{}", text(&output.stderr));
}
