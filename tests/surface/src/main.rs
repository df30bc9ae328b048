//! The public surface of the crate, one item a line, compared with `public.txt`: `surface RUSTDOC.json PUBLIC.txt`.
//! `WHEREFORE_BLESS=1` writes the file anew. `tests/surface/run` makes the JSON and runs this.
//!
//! What the hidden `internals` hold is no surface; what the root re-exports of it is, under the root's name. Another
//! `internals` path in a line is a type that a host is given and cannot name; `tests/it/house.rs` refuses it.

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::process::ExitCode;

const ROOMS: &str = "wherefore::internals";

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let (Some(json), Some(golden)) = (arguments.next(), arguments.next()) else {
        eprintln!("surface RUSTDOC.json PUBLIC.txt");
        return ExitCode::from(2);
    };
    match compared(&json, &golden) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

/// Whether the surface is that of the golden file; prints what was lost and what is new.
fn compared(json: &str, golden: &str) -> Result<bool, String> {
    let lines = surface(json)?;
    let now: String = lines.iter().map(|line| format!("{line}\n")).collect();
    if std::env::var_os("WHEREFORE_BLESS").is_some() {
        std::fs::write(golden, &now).map_err(|error| format!("{golden}: {error}"))?;
    }
    let without = without_example(json)?;
    if !without.is_empty() {
        println!("types of the root without an example in their docs: {}", without.join(", "));
        return Ok(false);
    }
    let before = std::fs::read_to_string(golden).unwrap_or_default();
    if before == now {
        println!("the public surface: {} items, as {golden} has them", lines.len());
        return Ok(true);
    }
    let old: BTreeSet<&str> = before.lines().collect();
    let new: BTreeSet<&str> = now.lines().collect();
    old.difference(&new).for_each(|line| println!("- {line}"));
    new.difference(&old).for_each(|line| println!("+ {line}"));
    println!("the public surface has changed; WHEREFORE_BLESS=1 tests/surface/run accepts it");
    Ok(false)
}

/// The items that a host can name, with their signatures.
fn surface(json: &str) -> Result<Vec<String>, String> {
    let all = public_api::Builder::from_rustdoc_json(json)
        .include_function_parameter_names(true)
        .omit_blanket_impls(true)
        .omit_auto_trait_impls(true)
        .omit_auto_derived_impls(true)
        .build()
        .map_err(|error| format!("{json}: {error}\n(the pinned `public-api` reads the JSON of Rust 1.95)"))?;
    let text = std::fs::read_to_string(json).map_err(|error| format!("{json}: {error}"))?;
    let document: Value = serde_json::from_str(&text).map_err(|error| format!("{json}: {error}"))?;
    let mut names = BTreeMap::new();
    shown(&document, &document["root"], &mut names);
    let mut lines = Vec::new();
    let mut seen = BTreeSet::new();
    for item in all.items() {
        let mut line = item.to_string();
        // Longest first, so that no path is mended by the name of another that begins it.
        for (path, name) in names.iter().rev() {
            line = renamed(&line, path, name);
        }
        let subject = line.rsplit_once(" for ").map_or(line.as_str(), |(_, subject)| subject);
        let of_rooms = subject.find("wherefore").is_none_or(|at| subject[at..].starts_with(ROOMS));
        if !of_rooms && seen.insert(line.clone()) {
            lines.push(line);
        }
    }
    Ok(lines)
}

/// The types that the root shows and whose docs hold no example.
fn without_example(json: &str) -> Result<Vec<String>, String> {
    let text = std::fs::read_to_string(json).map_err(|error| format!("{json}: {error}"))?;
    let document: Value = serde_json::from_str(&text).map_err(|error| format!("{json}: {error}"))?;
    let mut types = Vec::new();
    shown_types(&document, &document["root"], &mut types);
    if types.len() < 30 {
        return Err(format!("{json}: {} types found at the root; the form of the JSON is another one", types.len()));
    }
    let bare = types.iter().filter(|(_, item)| !item["docs"].as_str().is_some_and(|docs| docs.contains("```")));
    Ok(bare.map(|(name, _)| name.clone()).collect())
}

/// The structs and enums of this crate that the root shows, by the root's name.
fn shown_types<'d>(document: &'d Value, module: &Value, types: &mut Vec<(String, &'d Value)>) {
    let items = document["index"][module.to_string()]["inner"]["module"]["items"].as_array();
    for item in items.into_iter().flatten() {
        let used = &document["index"][item.to_string()]["inner"]["use"];
        if used["is_glob"] == true {
            shown_types(document, &used["id"], types);
        } else if let Some(name) = used["name"].as_str() {
            // What stands in another crate is not in the index.
            let of = &document["index"][used["id"].to_string()];
            if of["inner"]["struct"].is_object() || of["inner"]["enum"].is_object() {
                types.push((name.to_owned(), of));
            }
        }
    }
}

/// The path of each item that the root shows, where it stands elsewhere, and the root's name of it.
fn shown(document: &Value, module: &Value, names: &mut BTreeMap<String, String>) {
    let items = document["index"][module.to_string()]["inner"]["module"]["items"].as_array();
    for item in items.into_iter().flatten() {
        let used = &document["index"][item.to_string()]["inner"]["use"];
        if used["is_glob"] == true {
            shown(document, &used["id"], names);
        } else if let (Some(name), Some(path)) =
            (used["name"].as_str(), document["paths"][used["id"].to_string()]["path"].as_array())
        {
            let path: Vec<&str> = path.iter().filter_map(Value::as_str).collect();
            names.insert(path.join("::"), format!("wherefore::{name}"));
        }
    }
}

/// A line with a path under another name, where the path is whole.
fn renamed(line: &str, path: &str, name: &str) -> String {
    let mut made = String::new();
    let mut rest = line;
    while let Some((before, after)) = rest.split_once(path) {
        let whole = !after.starts_with(|c: char| c.is_alphanumeric() || c == '_');
        made.push_str(before);
        made.push_str(if whole { name } else { path });
        rest = after;
    }
    made + rest
}
