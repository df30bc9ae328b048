//! House rules that a compiler does not know: who may import whom, how long a file may be, what the core may not touch,
//! what stands in the root, and that the list of built-in programs is the folder of them.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Modules from the bottom up; a module imports only from lower rows. `DEVELOPERS.md` gives the reasons.
const LAYERS: [&[&str]; 13] = [
    &["source", "model"],
    &["diagnostic"],
    &["syntax", "program"],
    &["check", "evaluate", "diagram", "decode", "document"],
    &["certificate", "analysis"],
    &["ruling", "bulk"],
    &["audit", "wording"],
    &["record"],
    &["report", "catalog"],
    &["front"],
    &["desk"],
    &["lsp"],
    &["cli"],
];

/// What a lower row would allow and is still kept apart: the back end never sees text or tree, the interpreter and the
/// diagrams never each other (their agreement is a test), and messages to facts know nothing of programs.
const KEPT_APART: [(&str, &str); 13] = [
    ("program", "diagnostic"),
    ("evaluate", "syntax"),
    ("evaluate", "diagram"),
    ("diagram", "evaluate"),
    ("diagram", "syntax"),
    ("analysis", "evaluate"),
    ("analysis", "syntax"),
    ("certificate", "evaluate"),
    ("certificate", "diagram"),
    ("decode", "syntax"),
    ("decode", "program"),
    ("document", "syntax"),
    ("document", "program"),
];

/// Entries of the root; a new one needs a line here and in `DEVELOPERS.md`.
const ROOT_ENTRIES: [&str; 22] = [
    ".ci",
    ".git",
    ".gitattributes",
    ".gitignore",
    "CHANGELOG.md",
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE-APACHE",
    "LICENSE-MIT",
    "README.md",
    "benches",
    "bindings",
    "docs",
    "examples",
    "fuzz",
    "grammar",
    "policies",
    "rustfmt.toml",
    "src",
    "target",
    "tests",
];

/// Longest file, in lines.
const MAX_LINES: usize = 500;

/// Files below a folder, of the package where the path is not whole, with this ending, sorted, without build results.
pub(crate) fn files(folder: impl AsRef<Path>, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut open = vec![Path::new(ROOT).join(folder)];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder).into_iter().flatten() {
            let path = entry.unwrap().path();
            if path.is_dir() && !path.ends_with("target") {
                open.push(path);
            } else if path.to_string_lossy().ends_with(ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn shown(path: &Path) -> String {
    path.strip_prefix(ROOT).unwrap_or(path).to_string_lossy().into_owned()
}

/// Every Rust file of the package.
fn rust_files() -> Vec<PathBuf> {
    ["src", "tests", "benches", "bindings", "examples", "fuzz"].iter().flat_map(|folder| files(folder, ".rs")).collect()
}

/// The code of a file without its comments (a `//` within a text ends the line too, which loses nothing here).
fn code(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap();
    text.lines().map(|line| line.split("//").next().unwrap_or("")).collect::<Vec<_>>().join("\n")
}

/// The top module of a source file: `src/check/names.rs` is of `check`; `lib.rs` and `main.rs` of none.
fn module(path: &Path) -> Option<String> {
    let inner = path.strip_prefix(Path::new(ROOT).join("src")).unwrap();
    (inner.components().count() > 1).then(|| inner.components().next().unwrap().as_os_str().to_string_lossy().into())
}

fn layer(module: &str) -> Option<usize> {
    LAYERS.iter().position(|row| row.contains(&module))
}

/// The top modules a text imports: `crate::x`, and in `use crate::{x::…, y}` those of the braces.
fn imports(code: &str) -> BTreeSet<String> {
    let name = |text: &str| text.trim().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    let mut found = BTreeSet::new();
    for part in code.split("crate::").skip(1) {
        let Some(list) = part.strip_prefix('{') else {
            found.insert(name(part));
            continue;
        };
        let mut depth = 0;
        let mut start = true;
        for (at, c) in list.char_indices() {
            if start && depth == 0 && !c.is_whitespace() {
                found.insert(name(&list[at..]));
                start = false;
            }
            match c {
                '{' => depth += 1,
                '}' if depth == 0 => break,
                '}' => depth -= 1,
                ',' if depth == 0 => start = true,
                _ => {}
            }
        }
    }
    found.remove("");
    found
}

#[test]
fn the_reader_of_imports_sees_all_their_forms() {
    let code =
        "use crate::model::Fact;\nuse crate::{check, program::{Flat, Test},\n source};\nfn f(x: crate::syntax::A) {}";
    let found: Vec<String> = imports(code).into_iter().collect();
    assert_eq!(found, ["check", "model", "program", "source", "syntax"]);
}

#[test]
fn modules_import_only_lower_ones() {
    let mut wrong = Vec::new();
    let mut seen = BTreeSet::new();
    for path in files("src", ".rs") {
        let Some(module) = module(&path) else { continue };
        let Some(own) = layer(&module) else {
            wrong.push(format!("{}: module {module} has no layer in this test", shown(&path)));
            continue;
        };
        seen.insert(module.clone());
        for other in imports(&code(&path)).into_iter().filter(|other| *other != module) {
            let allowed = layer(&other).is_some_and(|layer| layer < own)
                && !KEPT_APART.contains(&(module.as_str(), other.as_str()));
            if !allowed {
                wrong.push(format!("{}: {module} must not import {other}", shown(&path)));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(seen.len() >= 10, "the test reads the sources: {seen:?}");
}

/// No input or output, no clock, no environment, no hash order below the front ends.
#[test]
fn the_core_is_pure() {
    let forbidden = [
        "std::fs",
        "std::env",
        "std::io",
        "std::net",
        "std::process",
        "std::time",
        "std::thread",
        "SystemTime",
        "Instant::now",
        "println!",
        "eprintln!",
        "print!(",
        "HashMap",
        "HashSet",
    ];
    let mut wrong = Vec::new();
    for path in files("src", ".rs") {
        if matches!(module(&path).as_deref(), Some("cli")) || path.ends_with("src/main.rs") {
            continue;
        }
        let code = code(&path);
        wrong.extend(
            forbidden.iter().filter(|word| code.contains(**word)).map(|word| format!("{}: {word}", shown(&path))),
        );
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// In the command-line program, one file prints; one touches the disk, and one beside it puts whole files into their places;
/// none reads the clock.
#[test]
fn the_command_line_prints_and_reads_in_one_place_each() {
    let places = [
        ("io::stdout", "src/cli/print.rs"),
        ("io::stderr", "src/cli/print.rs"),
        ("io::stdin", "src/cli/files.rs"),
        ("fs::", "src/cli/files.rs src/cli/beside.rs"),
        ("SystemTime", ""),
        ("Instant::now", ""),
        // What `ask` offers as the day of the visit.
        ("ZonedDateTime::now", "src/cli/command/ask.rs"),
        // NO_COLOR.
        ("env::var", "src/cli/print.rs"),
    ];
    let mut wrong = Vec::new();
    for path in files("src/cli", ".rs") {
        let code = code(&path);
        for (word, place) in places {
            if code.contains(word) && !place.split(' ').any(|place| place == shown(&path)) {
                wrong.push(format!("{}: {word}", shown(&path)));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_file_is_too_long() {
    let long: Vec<String> = rust_files()
        .iter()
        .map(|path| (fs::read_to_string(path).unwrap().lines().count(), path))
        .filter(|(lines, _)| *lines > MAX_LINES)
        .map(|(lines, path)| format!("{}: {lines} lines", shown(path)))
        .collect();
    assert!(long.is_empty(), "over {MAX_LINES} lines:\n{}", long.join("\n"));
}

#[test]
fn every_file_says_what_it_is_for() {
    let silent: Vec<String> = rust_files()
        .iter()
        .filter(|path| {
            let text = fs::read_to_string(path).unwrap();
            !text.lines().next().is_some_and(|line| line.starts_with("//! ") && line.len() > 12)
        })
        .map(|path| shown(path))
        .collect();
    assert!(silent.is_empty(), "no header:\n{}", silent.join("\n"));
}

#[test]
fn the_root_holds_only_what_is_agreed() {
    let strange: Vec<String> = fs::read_dir(ROOT)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|name| !ROOT_ENTRIES.contains(&name.as_str()))
        .collect();
    assert!(strange.is_empty(), "{strange:?}");
}

/// Snapshot files that no test writes any more would be read as if they were true.
#[test]
fn snapshots_waiting_for_review_are_not_kept() {
    let waiting: Vec<String> = files("tests", ".snap.new").iter().map(|path| shown(path)).collect();
    assert!(waiting.is_empty(), "{waiting:?}");
}

/// The list of built-in programs is the folder of them; `WHEREFORE_BLESS=1` makes the list anew.
#[test]
fn the_built_in_programs_are_the_folder_of_policies() {
    let below = |path: &Path| shown(path)["policies/".len()..].to_owned();
    let mut paths: Vec<String> = files("policies", ".wherefore").iter().map(|path| below(path)).collect();
    paths.extend(files("policies", ".csv").iter().map(|path| below(path)));
    paths.sort();
    let entries: String =
        paths.iter().map(|path| format!("    (\"{path}\", include_str!(\"../../policies/{path}\")),\n")).collect();
    let list = Path::new(ROOT).join("src/catalog/list.rs");
    let text = fs::read_to_string(&list).unwrap();
    let (head, rest) = text.split_once("= &[\n").unwrap();
    let (_, tail) = rest.split_once("];").unwrap();
    let made = format!("{head}= &[\n{entries}];{tail}");
    if std::env::var_os("WHEREFORE_BLESS").is_some() {
        fs::write(&list, &made).unwrap();
    }
    assert!(fs::read_to_string(&list).unwrap() == made, "run this test with WHEREFORE_BLESS=1");
}

/// A program is found by its id: the file is named by it, in the folder of its country.
#[test]
fn built_in_programs_are_named_by_their_ids() {
    let built_in = wherefore::internals::catalog::BuiltIn;
    let catalog = wherefore::internals::catalog::Catalog::new(vec![&built_in]);
    let mut wrong = Vec::new();
    for path in wherefore::internals::catalog::BuiltIn::paths().filter(|path| path.ends_with(".wherefore")) {
        let Some((country, file)) = path.split_once('/') else { continue };
        let id = file.trim_end_matches(".wherefore");
        let found = catalog.find(id).ok().map(|entry| entry.source.name().to_owned());
        if found.as_deref() != Some(path) || !(id == country || id.starts_with(&format!("{country}-"))) {
            wrong.push(format!("{path}: found {found:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What hosts see, as rustdoc tells it. `tests/surface/run` compares the file with the crate; this test compares it with
/// what is promised.
const SURFACE: &str = include_str!("../surface/public.txt");

/// Most types at the crate's root.
const MOST_TYPES: usize = 60;

/// Crates whose types a host may meet, by choice: dates, serialising, and record batches under their feature.
const FOREIGN: [&str; 7] = ["alloc", "arrow_array", "arrow_schema", "core", "jiff", "serde_core", "wherefore"];

/// Types whose variants or fields are all there will be, with the reason; every other one that shows them can grow.
const CLOSED: [(&str, &str); 2] = [
    ("MonitorState", "three states: SAE J1979 has a bit for support and one for completion"),
    ("Span", "a run of bytes has two ends"),
];

/// The types of the surface, with how each is declared.
fn types() -> Vec<(&'static str, &'static str)> {
    let declared = |line: &'static str| {
        let (_, rest) =
            ["pub enum wherefore::", "pub struct wherefore::", "pub trait wherefore::", "pub type wherefore::"]
                .iter()
                .find_map(|what| line.split_once(what))?;
        let name = rest.split(|c: char| !c.is_alphanumeric()).next()?;
        Some((name, line))
    };
    SURFACE.lines().filter_map(declared).collect()
}

/// Words that stand before `::` at the head of a path: crates.
fn crates(line: &str) -> BTreeSet<&str> {
    let paths = line.split(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':'));
    paths.filter_map(|path| path.split_once("::")).map(|(first, _)| first).filter(|first| !first.is_empty()).collect()
}

#[test]
fn the_public_surface_is_small_and_our_own() {
    let types = types();
    assert!((20..=MOST_TYPES).contains(&types.len()), "{} types", types.len());
    let names: BTreeSet<&str> = types.iter().map(|(name, _)| *name).collect();
    assert_eq!(names.len(), types.len(), "two public types of one name");

    let mut wrong = Vec::new();
    for line in SURFACE.lines() {
        if line.contains("wherefore::internals") {
            wrong.push(format!("a host cannot name a type of this: {line}"));
        }
        if line.contains(", alloc::string::String>") || line.contains(", alloc::vec::Vec<alloc::string::String>>") {
            wrong.push(format!("an error that is a text: {line}"));
        }
        let strange: Vec<&str> = crates(line).into_iter().filter(|name| !FOREIGN.contains(name)).collect();
        if !strange.is_empty() && !line.contains("<S as serde_core::ser::Serializer>") {
            wrong.push(format!("a type of {strange:?}: {line}"));
        }
    }
    for (name, line) in types {
        let shows = SURFACE.lines().any(|item| item.starts_with(&format!("pub wherefore::{name}::")));
        let closed = CLOSED.iter().any(|(known, _)| *known == name);
        if shows && !closed && !line.starts_with("#[non_exhaustive]") && !line.contains("[non_exhaustive]") {
            wrong.push(format!("can never grow: {line}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Syntax that is newer than the minimum Rust version, for which no compiler is at hand: guards with `if let` and
/// `cfg_select!`, both of Rust 1.95 by its release notes.
#[test]
fn no_syntax_is_newer_than_the_minimum_rust_version() {
    let newer = |line: &str| {
        let guard = line.split_once(" if let ").is_some_and(|(before, after)| {
            let arm = after.split_once(" => ").is_some_and(|(pattern, _)| !pattern.contains('{'));
            arm && !before.trim_start().starts_with("//")
        });
        guard || line.contains("cfg_select!(")
    };
    assert!(
        newer("        Some(x) if let Some(y) = x.y() => y,")
            && !newer("    .map(|x| if let Some(y) = x { y } else { 0 })")
    );
    let mut wrong = Vec::new();
    for path in files("src", ".rs") {
        let text = code(&path);
        wrong.extend(text.lines().filter(|line| newer(line)).map(|line| format!("{}: {line}", shown(&path))));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
