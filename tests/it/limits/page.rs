//! `docs/limits.md` says what the constants say, names every one of them, and names tests that there are.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

fn texts(folder: &str) -> Vec<(String, String)> {
    let found = crate::house::files(folder, ".rs");
    let named = |path: &PathBuf| path.strip_prefix(ROOT).unwrap().to_str().unwrap().to_owned();
    found.iter().map(|path| (named(path), std::fs::read_to_string(path).unwrap())).collect()
}

/// The value of a product or a shift of whole numbers and names of other constants.
fn value(expression: &str, known: &BTreeMap<String, i128>) -> Option<i128> {
    if let Some((left, right)) = expression.split_once("<<") {
        return Some(value(left, known)? << value(right, known)?);
    }
    if let Some((left, right)) = expression.split_once('*') {
        return Some(value(left, known)? * value(right, known)?);
    }
    let text = expression.trim();
    text.replace('_', "").parse().ok().or_else(|| known.get(text).copied())
}

/// Whether a constant bounds something, by its name or by where it stands.
fn is_limit(file: &str, name: &str) -> bool {
    ["MAX_", "MOST", "LONGEST", "BUDGET", "NODES", "CHOICES", "COMBINATIONS", "DEEPEST", "TRIED_BYTES"]
        .iter()
        .any(|start| name.starts_with(start))
        || file.ends_with("limits.rs")
}

/// The limits in the sources, by file and name.
fn constants() -> BTreeMap<(String, String), i128> {
    let mut known: BTreeMap<String, i128> = BTreeMap::new();
    let mut found = BTreeMap::new();
    let sources = texts("src");
    // Twice: a constant may stand before the one that it is made of.
    for _ in 0..2 {
        for (file, text) in &sources {
            for line in text.lines() {
                let Some((_, rest)) = line.split_once("const ").filter(|(before, _)| !before.contains("//")) else {
                    continue;
                };
                let Some((name, rest)) = rest.split_once(": ") else { continue };
                let Some((_, expression)) = rest.split_once(" = ") else { continue };
                let Some(number) = value(expression.trim_end_matches(';'), &known) else { continue };
                if name == "BUDGET" {
                    known.insert(name.to_owned(), number);
                }
                if is_limit(file, name) {
                    found.insert((file.clone(), name.to_owned()), number);
                }
            }
        }
    }
    found
}

#[test]
fn the_reader_of_constants_calculates() {
    let known = BTreeMap::from([("BUDGET".to_owned(), 400_000)]);
    for (text, expected) in
        [("16 << 20", 16_777_216), ("256 * 1024", 262_144), ("48 * BUDGET", 19_200_000), ("1_000", 1000)]
    {
        assert_eq!(value(text, &known), Some(expected), "{text}");
    }
    assert_eq!(value("u32::MAX", &known), None);
}

/// One row of the page: what, how many, what happens, the constant, the tests.
struct Row {
    most: String,
    place: (String, String),
    tests: Vec<String>,
}

fn rows() -> Vec<Row> {
    let page = std::fs::read_to_string(Path::new(ROOT).join("docs/limits.md")).unwrap();
    let mut rows = Vec::new();
    for line in page.lines().filter(|line| line.contains(".rs` ")) {
        let cells: Vec<&str> = line.trim_matches('|').split(" | ").map(str::trim).collect();
        let ticks: Vec<&str> = cells[cells.len() - 2].split('`').collect();
        let [_, file, _, name, _] = ticks.as_slice() else { panic!("no constant in `{line}`") };
        let tests = cells[cells.len() - 1].split('`').skip(1).step_by(2).map(str::to_owned).collect();
        rows.push(Row { most: cells[1].to_owned(), place: (format!("src/{file}"), (*name).to_owned()), tests });
    }
    rows
}

/// The number that a cell of the page begins with: `262,144 bytes` or `16 MiB`.
fn number(cell: &str) -> i128 {
    let mut words = cell.split(' ');
    let number: i128 = words.next().unwrap().replace(',', "").parse().unwrap();
    match words.next() {
        Some("KiB") => number << 10,
        Some("MiB") => number << 20,
        _ => number,
    }
}

#[test]
fn the_page_says_what_the_constants_say() {
    let constants = constants();
    let rows = rows();
    assert!(rows.len() > 60, "{} rows", rows.len());
    for row in &rows {
        let (file, name) = &row.place;
        let Some(value) = constants.get(&row.place) else { panic!("there is no limit {name} in {file}") };
        assert_eq!(number(&row.most), *value, "{name} in {file}: the page says {}", row.most);
    }
    let on_page: BTreeSet<&(String, String)> = rows.iter().map(|row| &row.place).collect();
    let missing: Vec<_> = constants.keys().filter(|place| !on_page.contains(place)).collect();
    assert!(missing.is_empty(), "limits that docs/limits.md does not name: {missing:#?}");
}

#[test]
fn the_tests_that_the_page_names_are_there() {
    let mut all = texts("tests/it");
    all.extend(texts("src"));
    let mut named = 0;
    for row in rows() {
        for test in &row.tests {
            let head = format!("fn {test}(");
            assert!(all.iter().any(|(_, text)| text.contains(&head)), "no test `{test}` for {:?}", row.place);
            named += 1;
        }
    }
    assert!(named > 40, "{named} tests are named");
}
