//! What the crate brings with it: licences that go with its own, listed in `docs/licences.md`; each crate with its reason, its
//! unsafe code and its build script, listed in `docs/dependencies.md`; how many the library alone is made of; and no crate that
//! asks for a newer Rust than the crate says. `WHEREFORE_BLESS=1` writes the lists anew.

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Licences whose code may be shipped with code under MIT or Apache-2.0 in source and binary form; none asks more than that
/// notices are kept.
const ALLOWED: [&str; 13] = [
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// Whether a licence expression leaves a choice that is allowed. `/` is an old way to write `OR`.
fn allowed(expression: &str) -> bool {
    expression.split(" AND ").all(|part| {
        let part = part.trim_matches(['(', ')']).replace('/', " OR ");
        part.split(" OR ").any(|licence| ALLOWED.contains(&licence.trim()))
    })
}

#[test]
fn the_reader_of_licences_reads_choices_and_sums() {
    for good in ["MIT", "MIT/Apache-2.0", "(MIT OR Apache-2.0) AND Unicode-3.0", "LGPL-2.1-or-later OR MIT"] {
        assert!(allowed(good), "{good}");
    }
    for bad in ["LGPL-2.1-or-later", "MIT AND GPL-3.0", "(MIT OR Apache-2.0) AND MPL-2.0", ""] {
        assert!(!allowed(bad), "{bad}");
    }
}

/// One crate of those that a program with all features is made of.
struct Package {
    name: String,
    licence: String,
    /// Minimum Rust version, 0 where it says none.
    rust: (u32, u32),
    version: String,
    /// Where its source lies.
    folder: PathBuf,
    is_macro: bool,
    /// Whether code of its own runs while it is built.
    has_build_script: bool,
    /// The crates built in that ask for it, this one's name among them.
    wanted_by: BTreeSet<String>,
}

fn version(text: &str) -> (u32, u32) {
    let mut numbers = text.split('.').map(|number| number.parse().unwrap());
    (numbers.next().unwrap(), numbers.next().unwrap_or(0))
}

fn has_target(package: &Value, kind: &str) -> bool {
    let targets = package["targets"].as_array().unwrap();
    targets.iter().any(|target| target["kind"].as_array().unwrap().iter().any(|it| it == kind))
}

/// The crates that are built into the program for this machine's kind, this crate aside, by name.
fn packages() -> Vec<Package> {
    let host = Command::new("rustc").arg("-vV").output().unwrap();
    let host = String::from_utf8(host.stdout).unwrap();
    let host = host.lines().find_map(|line| line.strip_prefix("host: ")).unwrap();
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--locked", "--offline", "--format-version", "1", "--filter-platform", host])
        .current_dir(ROOT)
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    let by_id = |list: &Value| -> BTreeMap<String, Value> {
        list.as_array().unwrap().iter().map(|item| (item["id"].as_str().unwrap().to_owned(), item.clone())).collect()
    };
    let (all, nodes) = (by_id(&metadata["packages"]), by_id(&metadata["resolve"]["nodes"]));
    let root = metadata["resolve"]["root"].as_str().unwrap().to_owned();
    let mut open = vec![root.clone()];
    let mut seen = BTreeSet::new();
    let mut wanted_by: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    while let Some(id) = open.pop() {
        if !seen.insert(id.clone()) {
            continue;
        }
        for needed in nodes[&id]["deps"].as_array().unwrap() {
            // `null` is what is built in; the others are for tests and for building.
            if needed["dep_kinds"].as_array().unwrap().iter().any(|kind| kind["kind"].is_null()) {
                let needed = needed["pkg"].as_str().unwrap().to_owned();
                wanted_by.entry(needed.clone()).or_default().insert(all[&id]["name"].as_str().unwrap().to_owned());
                open.push(needed);
            }
        }
    }
    seen.remove(&root);
    let mut packages: Vec<Package> = seen
        .iter()
        .map(|id| Package {
            name: all[id]["name"].as_str().unwrap().to_owned(),
            licence: all[id]["license"].as_str().unwrap_or("").to_owned(),
            rust: all[id]["rust_version"].as_str().map_or((0, 0), version),
            version: all[id]["version"].as_str().unwrap().to_owned(),
            folder: Path::new(all[id]["manifest_path"].as_str().unwrap()).parent().unwrap().to_owned(),
            is_macro: has_target(&all[id], "proc-macro"),
            has_build_script: has_target(&all[id], "custom-build"),
            wanted_by: wanted_by[id].clone(),
        })
        .collect();
    packages.sort_by(|one, other| one.name.cmp(&other.name));
    packages
}

#[test]
fn licences_of_what_is_shipped_are_listed_and_allowed() {
    let packages = packages();
    assert!(packages.len() > 50, "{} crates", packages.len());
    let wrong: Vec<String> = packages
        .iter()
        .filter(|one| !allowed(&one.licence))
        .map(|one| format!("{}: {}", one.name, one.licence))
        .collect();
    assert!(wrong.is_empty(), "no licence that goes with ours:\n{}", wrong.join("\n"));

    let mut by_licence: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for one in &packages {
        by_licence.entry(&one.licence).or_default().insert(&one.name);
    }
    let rows: String = by_licence
        .iter()
        .map(|(licence, names)| format!("| {licence} | {} |\n", names.iter().copied().collect::<Vec<_>>().join(", ")))
        .collect();
    let path = Path::new(ROOT).join("docs/licences.md");
    let page = std::fs::read_to_string(&path).unwrap();
    let (head, _) = page.split_once("|---|---|\n").unwrap();
    let made = format!("{head}|---|---|\n{rows}");
    if std::env::var_os("WHEREFORE_BLESS").is_some() {
        std::fs::write(&path, &made).unwrap();
    }
    assert!(std::fs::read_to_string(&path).unwrap() == made, "run this test with WHEREFORE_BLESS=1");
}

/// The minimum Rust version of the manifest is not below that of anything built in.
#[test]
fn no_crate_asks_for_a_newer_rust() {
    let ours = version(env!("CARGO_PKG_RUST_VERSION"));
    let newer: Vec<String> =
        packages().iter().filter(|one| one.rust > ours).map(|one| format!("{}: {:?}", one.name, one.rust)).collect();
    assert!(newer.is_empty(), "newer than {ours:?}:\n{}", newer.join("\n"));
}

/// What is neither comment nor text of a Rust source, roughly: enough to count a word that is reserved.
fn code_of(source: &str) -> String {
    let mut code = String::new();
    for line in source.lines() {
        let line = line.split("//").next().unwrap_or_default();
        let parts: Vec<&str> = line.split('"').collect();
        parts.iter().step_by(2).for_each(|part| code.push_str(part));
        code.push('\n');
    }
    code
}

/// How often a source says `unsafe` as a word of the language.
fn unsafe_in(source: &str) -> usize {
    let is_word = |sign: char| sign.is_alphanumeric() || sign == '_';
    let code = code_of(source);
    code.split(|sign: char| !is_word(sign)).filter(|word| *word == "unsafe").count()
}

#[test]
fn the_reader_of_sources_finds_unsafe_code() {
    let source = "// unsafe\nunsafe { a() }\nlet b = \"unsafe\";\nunsafe impl C for D {}\n#![forbid(unsafe_code)]\n";
    assert_eq!(unsafe_in(source), 2);
}

/// What a crate's library says of unsafe code: none by its own lint, none found, or how often it is written.
fn unsafe_of(package: &Package) -> String {
    let files = crate::house::files(package.folder.join("src"), ".rs");
    assert!(!files.is_empty(), "{} has no sources", package.name);
    let texts: Vec<String> = files.iter().map(|file| std::fs::read_to_string(file).unwrap()).collect();
    let count: usize = texts.iter().map(|text| unsafe_in(text)).sum();
    let forbids = texts.iter().any(|text| text.contains("#![forbid(unsafe_code)]"));
    match count {
        0 if forbids => "forbidden".to_owned(),
        0 => "none".to_owned(),
        count => format!("{count} places"),
    }
}

/// The reasons that DEVELOPERS.md gives, by crate.
fn reasons() -> BTreeMap<String, String> {
    let page = std::fs::read_to_string(Path::new(ROOT).join("DEVELOPERS.md")).unwrap();
    let (_, table) = page.split_once("## Dependencies, one reason each").unwrap();
    let rows = table.lines().filter_map(|line| line.strip_prefix("| ")?.strip_suffix(" |")?.split_once(" | "));
    rows.flat_map(|(names, why)| names.split(", ").map(move |name| (name.to_owned(), why.to_owned()))).collect()
}

/// Each crate built in, with why it is there, whether it has unsafe code, and whether code of its own runs while it is built.
#[test]
fn dependencies_are_listed_with_their_reason() {
    let reasons = reasons();
    let mut rows = String::new();
    let (mut with_unsafe, mut scripts, mut macros) = (0, 0, 0);
    let packages = packages();
    for one in &packages {
        let why = match reasons.get(&one.name) {
            Some(why) if one.wanted_by.contains("wherefore") => why.clone(),
            None if one.wanted_by.contains("wherefore") => panic!("{} has no reason in DEVELOPERS.md", one.name),
            _ => format!("for {}", one.wanted_by.iter().cloned().collect::<Vec<_>>().join(", ")),
        };
        let code = unsafe_of(one);
        let runs = match (one.is_macro, one.has_build_script) {
            (true, true) => "macro, build script",
            (true, false) => "macro",
            (false, true) => "build script",
            (false, false) => "no",
        };
        with_unsafe += usize::from(code.ends_with("places"));
        scripts += usize::from(one.has_build_script);
        macros += usize::from(one.is_macro);
        rows += &format!("| {} {} | {why} | {code} | {runs} |\n", one.name, one.version);
    }
    let (linked, built) = library_alone();
    let count = format!(
        "The command line with all features: {} crates; {with_unsafe} have unsafe code, {scripts} a build script, {macros} are macros.\n\
         The library alone (`--no-default-features`): {linked} crates are linked into it, {built} are built for it.\n",
        packages.len()
    );
    let path = Path::new(ROOT).join("docs/dependencies.md");
    let page = std::fs::read_to_string(&path).unwrap();
    let (head, rest) = page.split_once("<!-- counted -->\n").unwrap();
    let (_, middle) = rest.split_once("<!-- end -->\n").unwrap();
    let (middle, _) = middle.split_once("|---|---|---|---|\n").unwrap();
    let made = format!("{head}<!-- counted -->\n{count}<!-- end -->\n{middle}|---|---|---|---|\n{rows}");
    if std::env::var_os("WHEREFORE_BLESS").is_some() {
        std::fs::write(&path, &made).unwrap();
    }
    assert!(std::fs::read_to_string(&path).unwrap() == made, "run this test with WHEREFORE_BLESS=1");
}

/// How many crates the library without features is linked of, and how many are built for it, macros and what they need
/// among them; this crate aside.
fn library_alone() -> (usize, usize) {
    let count = |edges: &str| {
        let output = Command::new(env!("CARGO"))
            .args(["tree", "--locked", "--offline", "--no-default-features", "--prefix", "none", "-e", edges])
            .current_dir(ROOT)
            .output()
            .unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let text = String::from_utf8(output.stdout).unwrap();
        let crates: BTreeSet<&str> = text.lines().map(|line| line.trim_end_matches(" (*)")).collect();
        crates.iter().filter(|it| !it.starts_with("wherefore ")).count()
    };
    (count("normal,no-proc-macro"), count("normal,build"))
}

/// Who embeds the library takes on under forty crates.
#[test]
fn the_library_alone_is_made_of_few_crates() {
    let (linked, built) = library_alone();
    assert!(linked > 10 && linked < 40, "{linked} crates are linked into the library");
    assert!(built > linked && built < 60, "{built} crates are built for the library");
}
