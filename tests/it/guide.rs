//! The guide for program writers, followed word by word: its blocks in order make one program file, which the commands
//! it names accept, with what it says they print.

use std::path::Path;
use std::process::{Command, Output};

const GUIDE: &str = include_str!("../../policies/README.md");

/// The blocks of the steps, without their indentation: those of the program file, and the vehicle.
fn blocks() -> (String, String) {
    let steps = GUIDE.split("## From a legal text").nth(1).unwrap().split("\n## ").next().unwrap();
    let (mut program, mut vehicle) = (String::new(), String::new());
    let mut block: Option<&mut String> = None;
    for line in steps.lines() {
        match (line, &mut block) {
            ("   ```json", None) => block = Some(&mut vehicle),
            ("   ```", None) => block = Some(&mut program),
            ("   ```", Some(_)) => block = None,
            (line, Some(text)) => text.push_str(&format!("{}\n", line.strip_prefix("   ").unwrap_or(line))),
            (_, None) => {}
        }
    }
    (program, vehicle)
}

/// The examples of the section on what trips up a first file.
fn examples() -> String {
    let section = GUIDE.split("## What trips up a first file").nth(1).unwrap().split("\n## ").next().unwrap();
    let mut inside = false;
    let mut text = String::new();
    for line in section.lines() {
        match line.trim() {
            "```" => inside = !inside,
            _ if inside => text.push_str(&format!("{}\n", line.strip_prefix("  ").unwrap_or(line))),
            _ => {}
        }
    }
    text
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_wherefore")).args(arguments).current_dir(folder).output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn the_guide_leads_from_an_empty_folder_to_a_clean_program() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("guide");
    std::fs::create_dir_all(&folder).unwrap();
    let (program, vehicle) = blocks();
    assert!(program.starts_with("program my-place"), "{program}");
    std::fs::write(folder.join("my-place.wherefore"), &program).unwrap();
    std::fs::write(folder.join("car.json"), &vehicle).unwrap();

    let laid_out = run(&folder, &["fmt", "my-place.wherefore"]);
    assert!(laid_out.status.success(), "{}", text(&laid_out.stderr));
    let checked = run(&folder, &["check", "my-place.wherefore"]);
    assert_eq!(checked.status.code(), Some(0), "{}{}", text(&checked.stdout), text(&checked.stderr));
    assert!(text(&checked.stdout).contains("0 errors, 0 warnings"), "{}", text(&checked.stdout));

    let judged = run(&folder, &["judge", "--rules", "my-place.wherefore", "car.json"]);
    assert_eq!(judged.status.code(), Some(0), "{}", text(&judged.stderr));
    assert!(
        text(&judged.stdout).contains("(my-place) · due? see its papers\n")
            && text(&judged.stdout).contains("\nPasses, by the rules seen so far."),
        "{}",
        text(&judged.stdout)
    );

    // What the guide says of a second incomplete monitor.
    let second = vehicle.replace("\"catalyst\": \"complete\"", "\"catalyst\": \"incomplete\"");
    std::fs::write(folder.join("car.json"), second).unwrap();
    let judged = run(&folder, &["judge", "--rules", "my-place.wherefore", "--format", "json", "car.json"]);
    let ruling: serde_json::Value = serde_json::from_slice(&judged.stdout).unwrap();
    assert_eq!((ruling["verdict"].as_str(), judged.status.code()), (Some("reject"), Some(1)));
    assert_eq!(ruling["deciding"], serde_json::json!(["readiness"]));
}

/// Step 7: before its cases and reasons are added, the check names what the guide says it names.
#[test]
fn the_check_names_what_the_guide_says() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("guide-before");
    std::fs::create_dir_all(&folder).unwrap();
    let program = blocks().0;
    let before = program.split("case \"lamp commanded on\"").next().unwrap();
    std::fs::write(folder.join("my-place.wherefore"), before).unwrap();
    let checked = run(&folder, &["check", "my-place.wherefore", "--format", "json"]);
    assert_eq!(checked.status.code(), Some(1));
    let out = text(&checked.stdout);
    assert_eq!(out.matches("check/no-case-reaches").count(), 3, "{out}");
    assert_eq!(out.matches("analysis/").count(), 2, "{out}");
}

/// Two versions of one limit as the guide writes them: no error, and each stands on its own days.
#[test]
fn what_the_guide_says_of_first_files_can_be_written() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("guide-first");
    std::fs::create_dir_all(&folder).unwrap();
    let example = examples();
    assert_eq!(example.matches("limit light").count(), 2, "{example}");
    let clause =
        "clause light on readiness\n  reject where over the limit light\n  \"Drive on.\"\n  per r1 \"(c)(2)\"\n";
    let case = |day: &str, outcome: &str| {
        format!(
            "case \"catalyst on {day}\" on {day}\n  facts incomplete: catalyst; otherwise ordinary\n  expect {outcome} per r1 \"(c)(2)\"\n"
        )
    };
    let cases = case("2024-06-30", "pass") + &case("2024-07-01", "reject by light");
    std::fs::write(folder.join("my-place.wherefore"), blocks().0 + &example + clause + &cases).unwrap();
    let checked = run(&folder, &["check", "my-place.wherefore"]);
    let printed = text(&checked.stdout) + &text(&checked.stderr);
    assert!(printed.contains("0 errors") && printed.contains(" 0 failed"), "{printed}");
}

/// `new` never replaces what stands there.
#[test]
fn a_file_is_begun_once() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("begun-once");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    let begun = run(&folder, &["new", "my-county"]);
    assert_eq!((begun.status.code(), text(&begun.stdout)), (Some(0), "my-county.wherefore\n".to_owned()));
    let path = folder.join("my-county.wherefore");
    std::fs::write(&path, "program my-county \"Mine\"\n").unwrap();
    let again = run(&folder, &["new", "my-county"]);
    assert_eq!(again.status.code(), Some(2));
    let says = text(&again.stderr);
    assert!(says.contains("my-county.wherefore") && !says.contains("--force"), "{says}");
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "program my-county \"Mine\"\n");
    assert_eq!(run(&folder, &["new", "My County!"]).status.code(), Some(2));
}
