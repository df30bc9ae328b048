//! The same thing is given the same way in every command: the program, the file of the results, their form. What a command
//! prints and what it writes with `--out` are the same bytes; exit codes stay as they are.

use crate::process::{command, run_with_input};
use rstest::rstest;
use std::fs;
use std::path::PathBuf;
use std::process::Output;

const VAN: &str = "examples/larkspur/van-7.json";
const PICKUP: &str = "examples/larkspur/pickup-9.json";

fn run(arguments: &[&str]) -> Output {
    command(arguments).output().unwrap()
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

/// A folder that is gone with the test.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("wherefore-results-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&path);
        fs::create_dir(&path).unwrap();
        Folder(path)
    }

    fn file(&self, name: &str) -> String {
        self.0.join(name).to_str().unwrap().to_owned()
    }

    fn names(&self) -> Vec<String> {
        let entries = fs::read_dir(&self.0).unwrap();
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

#[rstest]
#[case::judge("judge", &["judge", "--program", "us-ca", VAN])]
#[case::judge_json("judge-json", &["judge", "--program", "us-ca", "--format", "json", VAN])]
#[case::judge_html("judge-html", &["judge", "--program", "us-ca", "--format", "html", VAN])]
#[case::next("next", &["next", "--program", "us-ca", VAN])]
#[case::compare("compare", &["compare", "us-model", "us-model-strict", "--as-of", "2026-11-25"])]
#[case::programs("programs", &["programs"])]
#[case::facts("facts", &["facts", "--format", "schema"])]
#[case::explain("explain", &["explain", "evap"])]
#[case::explain_html("explain-html", &["explain", "evap", "--format", "html"])]
#[case::check("check", &["check", "tests/cli/rules"])]
#[case::decode("decode", &["decode", "tests/cli/captures/answers.txt", "--model-year", "2018"])]
#[case::completions("completions", &["completions", "bash"])]
fn a_file_takes_what_would_be_printed(#[case] name: &str, #[case] arguments: &[&str]) {
    let folder = Folder::new(name);
    let path = folder.file("it");
    let printed = run(arguments);
    assert!(!printed.stdout.is_empty());
    let with = [arguments, &["--out", &path]].concat();
    let written = run(&with);
    assert_eq!((written.status.code(), text(&written.stdout)), (printed.status.code(), ""));
    assert_eq!(text(&fs::read(&path).unwrap()), text(&printed.stdout));
    assert_eq!(folder.names(), ["it"], "nothing else is left");
    let again = run(&with);
    assert_eq!(again.status.code(), Some(2), "what is there is never replaced unasked");
    assert!(text(&again.stderr).contains("--force"), "{}", text(&again.stderr));
    let forced = run(&[&with[..], &["--force"]].concat());
    assert_eq!(forced.status.code(), printed.status.code());
    assert_eq!(text(&fs::read(&path).unwrap()), text(&printed.stdout));
}

#[rstest]
#[case::nothing_to_write("none", &["judge", "--program", "us-ca", "tests/cli/cars/none.json"], "cannot be read")]
#[case::no_such_program("program", &["next", "--program", "us-zz", VAN], "us-zz")]
fn what_cannot_be_used_leaves_no_file(#[case] name: &str, #[case] arguments: &[&str], #[case] said: &str) {
    let folder = Folder::new(name);
    let output = run(&[arguments, &["--out", &folder.file("it")]].concat());
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains(said), "{}", text(&output.stderr));
    assert!(folder.names().is_empty());
}

#[test]
fn what_a_command_reads_is_never_where_it_writes() {
    let folder = Folder::new("same");
    let path = folder.file("van.json");
    fs::copy(VAN, &path).unwrap();
    let output = run(&["judge", "--program", "us-ca", &path, "--out", &path, "--force"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("is read by this command"), "{}", text(&output.stderr));
    assert_eq!(fs::read(&path).unwrap(), fs::read(VAN).unwrap());
}

/// A place that takes no data, where there is one.
#[test]
fn a_full_disk_is_told() {
    if !std::path::Path::new("/dev/full").exists() {
        return;
    }
    let output = run(&["facts", "--out", "/dev/full", "--force"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("no plain file"), "{}", text(&output.stderr));
}

/// The program is given as `--program` everywhere, and where it always was.
#[rstest]
#[case::cases(&["cases", "--program", "us-model", "--as-of", "2026-11-25"], &["cases", "us-model", "--as-of", "2026-11-25"])]
#[case::compare(
    &["compare", "--program", "us-model", "--program", "us-model-strict", "--as-of", "2026-11-25"],
    &["compare", "us-model", "us-model-strict", "--as-of", "2026-11-25"]
)]
fn a_program_is_named_alike_in_every_command(#[case] option: &[&str], #[case] place: &[&str]) {
    let (option, place) = (run(option), run(place));
    assert!(!option.stdout.is_empty());
    assert_eq!((option.status.code(), text(&option.stdout)), (place.status.code(), text(&place.stdout)));
}

#[rstest]
#[case::one(&["compare", "--program", "us-model"], "a comparison is of two programs")]
#[case::three(&["compare", "--program", "a", "--program", "b", "--program", "c"], "a comparison is of two programs")]
#[case::both_ways(&["compare", "us-model", "us-ca", "--program", "us-ny"], "cannot be used with")]
#[case::none(&["cases"], "required")]
#[case::twice(&["cases", "us-il", "--program", "us-il"], "cannot be used with")]
fn a_program_too_many_or_too_few_is_told(#[case] arguments: &[&str], #[case] said: &str) {
    let output = run(arguments);
    assert_eq!((output.status.code(), text(&output.stdout)), (Some(2), ""));
    assert!(text(&output.stderr).contains(said), "{}", text(&output.stderr));
}

/// What `ask` ends with is the ruling that `judge` gives on the answers, also as JSON.
#[test]
fn asking_ends_with_the_ruling_in_the_form_asked_for() {
    let typed = b"?\n?\n?\n?\n?\n?\n?\n?\n?\n?\n?\n?\n?\n?\n?\n";
    let asked = run_with_input(command(&["ask", "--program", "us-il", "--format", "json", PICKUP]), typed);
    let judged = run(&["judge", "--program", "us-il", "--format", "json", PICKUP]);
    assert_eq!(text(&asked.stdout), text(&judged.stdout));
}

/// A file of answers is no terminal: it is not offered what an empty line would stand for.
#[test]
fn the_date_is_offered_as_a_word_where_nobody_types() {
    let asked = run_with_input(command(&["ask", "--program", "us-il"]), b"\ntoday\n");
    let said = text(&asked.stderr);
    assert!(said.contains("today (20") && !said.contains("Enter for today"), "{said}");
    assert!(said.contains("is no date") && said.contains("Visit on 20"), "{said}");
}
