//! The commands of the README and of the guide run, and print what the pages say: every `console` block holds one command
//! and its output: whole where the fence says `console whole`, the first so many lines where it says `console 12`, else its
//! beginning. Every link between pages leads somewhere.
//! `WHEREFORE_BLESS=1` writes what the commands print now.

use rstest::rstest;
use std::path::Path;
use std::process::Command;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Longest output that is shown whole; of longer ones the README shows the beginning and an ellipsis.
const SHOWN: usize = 24;

/// The first so many lines that a command prints.
fn output_of(command: &str, most: usize) -> String {
    let programs = Path::new(env!("CARGO_BIN_EXE_wherefore")).parent().unwrap();
    let path = format!("{}:{}", programs.display(), std::env::var("PATH").unwrap_or_default());
    let output = Command::new("sh").args(["-c", command]).current_dir(ROOT).env("PATH", path).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(!text.is_empty(), "`{command}` printed nothing: {}", String::from_utf8_lossy(&output.stderr));
    let lines: Vec<&str> = text.trim_end().lines().collect();
    let mut shown = lines.iter().take(most).copied().collect::<Vec<_>>().join("\n");
    if lines.len() > most {
        shown.push_str("\n…");
    }
    shown
}

#[rstest]
#[case::readme("README.md", 5)]
#[case::how_it_works("docs/how-it-works.md", 4)]
#[case::shops("docs/shops.md", 5)]
#[case::auditors("docs/auditors.md", 2)]
#[case::trainers("docs/trainers.md", 1)]
fn a_page_shows_what_its_commands_print(#[case] page: &str, #[case] least: usize) {
    let file = Path::new(ROOT).join(page);
    let text = std::fs::read_to_string(&file).unwrap();
    let mut made = String::new();
    let mut rest = text.as_str();
    let mut blocks = 0;
    while let Some((before, after)) = rest.split_once("```console") {
        let (block, tail) = after.split_once("```").unwrap();
        let (how, said) = block.split_once("\n$ ").unwrap();
        let command = said.lines().next().unwrap();
        let most = match how.trim() {
            "" => SHOWN,
            "whole" => usize::MAX,
            number => number.parse().unwrap(),
        };
        made.push_str(&format!("{before}```console{how}\n$ {command}\n{}\n```", output_of(command, most)));
        rest = tail;
        blocks += 1;
    }
    made.push_str(rest);
    assert!(blocks >= least, "{page} has lost its commands");
    if std::env::var_os("WHEREFORE_BLESS").is_some() {
        std::fs::write(&file, &made).unwrap();
    }
    assert!(
        std::fs::read_to_string(&file).unwrap() == made,
        "run this test with WHEREFORE_BLESS=1 and read the change"
    );
}

/// Every page for readers, and each relative link in it.
#[test]
fn links_between_pages_lead_somewhere() {
    let root = Path::new(ROOT);
    let mut pages: Vec<_> = ["README.md", "DEVELOPERS.md", "CHANGELOG.md", "policies/README.md", "benches/RESULTS.md"]
        .iter()
        .map(|page| root.join(page))
        .collect();
    pages.extend(std::fs::read_dir(root.join("docs")).unwrap().map(|entry| entry.unwrap().path()));
    let (mut followed, mut broken) = (0, Vec::new());
    for page in pages.iter().filter(|page| page.extension().is_some_and(|ending| ending == "md")) {
        let text = std::fs::read_to_string(page).unwrap();
        for part in text.split("](").skip(1) {
            let target = part.split([')', '#']).next().unwrap();
            if target.is_empty() || target.starts_with("http") {
                continue;
            }
            followed += 1;
            if !page.parent().unwrap().join(target).exists() {
                broken.push(format!("{}: {target}", page.display()));
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
    assert!(followed > 10, "the book links its pages: {followed}");
}

/// A page that says what tests something names files that there are.
#[test]
fn files_that_the_book_names_are_there() {
    let mut named = 0;
    for page in ["docs/promises.md", "docs/how-it-is-tested.md", "docs/dependencies.md", "docs/limits.md"] {
        let text = std::fs::read_to_string(Path::new(ROOT).join(page)).unwrap();
        for word in text.split('`').skip(1).step_by(2) {
            let name = word.split([' ', '*']).next().unwrap();
            if ["tests/", "fuzz/", ".ci/", "policies/"].iter().any(|start| name.starts_with(start)) {
                let path = Path::new(ROOT).join(name);
                let is_there = path.exists() || word.contains('*') && path.parent().is_some_and(Path::exists);
                assert!(is_there, "{page} names `{name}`");
                named += 1;
            }
        }
    }
    assert!(named > 30, "{named} files are named");
}

/// The README is short enough to be read: the job, two commands, five minutes.
#[test]
fn the_readme_is_short() {
    let length = std::fs::metadata(Path::new(ROOT).join("README.md")).unwrap().len();
    assert!(length <= 8 * 1024, "{length} bytes");
}

/// The main job of the README, through a pipe, on a real capture.
#[test]
fn the_main_job_rules_under_both_programs() {
    let shown = output_of(
        "wherefore decode tests/decode/obdb/capture.log --model-year 2018 --fuel gasoline 2>/dev/null \
         | wherefore judge --program us-ca --program us-ny --format json -",
        SHOWN,
    );
    let rulings: Vec<serde_json::Value> = shown.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(rulings.len(), 2);
    // HSC 44011(a)(4): from 2019 eight or fewer model years old is excepted; 2026 less 2018 is eight. A car that comes from
    // elsewhere loses the exception (older copy of 44011), and a reader does not tell whether this one does.
    assert_eq!(rulings[0]["verdict"], "undecided");
    assert_eq!(rulings[0]["possible"][0], "not-subject");
    assert_eq!(rulings[1]["verdict"], "undecided");
}
