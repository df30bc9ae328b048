//! What the crate brings with it: licences that go with its own, listed in `docs/licences.md`, and no crate that asks for a
//! newer Rust than the crate says. `WHEREFORE_BLESS=1` writes the list anew.

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
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
}

fn version(text: &str) -> (u32, u32) {
    let mut numbers = text.split('.').map(|number| number.parse().unwrap());
    (numbers.next().unwrap(), numbers.next().unwrap_or(0))
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
    while let Some(id) = open.pop() {
        if !seen.insert(id.clone()) {
            continue;
        }
        for needed in nodes[&id]["deps"].as_array().unwrap() {
            // `null` is what is built in; the others are for tests and for building.
            if needed["dep_kinds"].as_array().unwrap().iter().any(|kind| kind["kind"].is_null()) {
                open.push(needed["pkg"].as_str().unwrap().to_owned());
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
