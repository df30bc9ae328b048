//! Building the copy once: mutants that do not compile are left out by what the compiler says, until the rest compiles.

use crate::copy::{self, Sources};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::Duration;

/// How often the compiler is asked at the most.
const MOST_TRIES: usize = 40;

/// A test binary.
#[derive(Debug, Clone)]
pub struct Binary {
    pub name: String,
    pub path: PathBuf,
}

/// The folders of a run.
#[derive(Debug, Clone)]
pub struct Place {
    /// The package.
    pub root: PathBuf,
    /// Where copy, builds and records lie.
    pub work: PathBuf,
    /// Processor time that every test may take with a mutant on.
    pub least: Duration,
}

impl Place {
    pub fn copy(&self) -> PathBuf {
        self.work.join("copy")
    }

    fn unviable(&self) -> PathBuf {
        self.work.join("unviable.txt")
    }
}

/// The copy built with those mutants that are wanted and compile: their numbers, and the test binaries.
pub fn build(place: &Place, sources: &Sources, wanted: &BTreeSet<u32>) -> Result<(BTreeSet<u32>, Vec<Binary>), String> {
    copy::copy(&place.root, &place.copy(), sources)?;
    let known = fs::read_to_string(place.unviable()).unwrap_or_default();
    let known: BTreeSet<&str> = known.lines().collect();
    let mut unviable: BTreeSet<u32> = (1..)
        .zip(&sources.mutants)
        .filter(|(_, mutant)| known.contains(mutant.key.as_str()))
        .map(|(number, _)| number)
        .collect();
    for attempt in 1..=MOST_TRIES {
        let alive = |number: u32| wanted.contains(&number) && !unviable.contains(&number);
        copy::write(&place.copy(), sources, &alive)?;
        let errors = match cargo(place, &["test", "--no-run", "--lib"])? {
            Ok(_) => break,
            Err(errors) => errors,
        };
        let blamed = blamed(sources, &errors, &alive);
        eprintln!("try {attempt}: {} errors, {} mutants do not compile", errors.len(), blamed.len());
        if blamed.is_empty() {
            return Err(errors.iter().map(rendered).collect::<Vec<_>>().join("\n"));
        }
        unviable.extend(blamed);
        let keys = (1..).zip(&sources.mutants).filter(|(number, _)| unviable.contains(number));
        let keys: String = keys.map(|(_, mutant)| format!("{}\n", mutant.key)).collect();
        fs::write(place.unviable(), keys).map_err(|error| error.to_string())?;
    }
    let messages = cargo(place, &["test", "--no-run", "--lib", "--test", "it"])?
        .map_err(|errors| errors.iter().map(rendered).collect::<Vec<_>>().join("\n"))?;
    let mut binaries: Vec<Binary> = messages.iter().filter_map(binary).collect();
    binaries.sort_by(|one, other| one.name.cmp(&other.name));
    if binaries.len() != 2 {
        return Err(format!("{} test binaries", binaries.len()));
    }
    Ok((wanted.difference(&unviable).copied().collect(), binaries))
}

fn binary(message: &Value) -> Option<Binary> {
    let path = message["executable"].as_str().filter(|_| message["profile"]["test"] == true)?;
    let name = message["target"]["name"].as_str()?;
    let name = if name == "it" { "it" } else { "lib" };
    Some(Binary { name: name.to_owned(), path: PathBuf::from(path) })
}

fn rendered(message: &Value) -> String {
    message["message"]["rendered"].as_str().unwrap_or("").to_owned()
}

/// What cargo says: its messages, or the errors among them.
fn cargo(place: &Place, arguments: &[&str]) -> Result<Result<Vec<Value>, Vec<Value>>, String> {
    let mut cargo = Command::new("cargo");
    cargo.args(arguments).args(["--locked", "--quiet", "--message-format=json"]);
    cargo.current_dir(place.copy()).env("CARGO_TARGET_DIR", place.work.join("target"));
    let output = cargo.stderr(Stdio::piped()).output().map_err(|error| format!("cargo: {error}"))?;
    let text = String::from_utf8_lossy(&output.stdout);
    let messages: Vec<Value> = text.lines().filter_map(|line| serde_json::from_str(line).ok()).collect();
    if output.status.success() {
        return Ok(Ok(messages));
    }
    let is_error =
        |message: &Value| message["message"]["level"] == "error" && message["message"]["spans"][0].is_object();
    let errors: Vec<Value> = messages.into_iter().filter(is_error).collect();
    if errors.is_empty() {
        return Err(String::from_utf8_lossy(&output.stderr).into_owned());
    }
    Ok(Err(errors))
}

/// A place in a file that was written.
type Spot = (String, usize, usize);

/// Where an error is, first what it is about and then what it mentions; of a macro, where it is used.
fn spots(message: &Value, sources: &Sources) -> (Vec<Spot>, Vec<Spot>) {
    let mut found = (Vec::new(), Vec::new());
    for span in message["message"]["spans"].as_array().into_iter().flatten() {
        let mut at = span;
        while !sources.files.iter().any(|source| Some(source.path.as_str()) == at["file_name"].as_str()) {
            at = &at["expansion"]["span"];
            if !at.is_object() {
                break;
            }
        }
        let (Some(file), Some(start), Some(end)) =
            (at["file_name"].as_str(), at["byte_start"].as_u64(), at["byte_end"].as_u64())
        else {
            continue;
        };
        let spot = (file.to_owned(), usize::try_from(start).unwrap_or(0), usize::try_from(end).unwrap_or(0));
        if span["is_primary"] == true { found.0.push(spot) } else { found.1.push(spot) }
    }
    found
}

/// The mutants that errors are about.
fn blamed(sources: &Sources, errors: &[Value], alive: &dyn Fn(u32) -> bool) -> BTreeSet<u32> {
    let mut texts = BTreeMap::new();
    let mut all = BTreeSet::new();
    for error in errors {
        let (about, beside) = spots(error, sources);
        for (file, _, _) in about.iter().chain(&beside) {
            if !texts.contains_key(file)
                && let Some(written) = sources.written(file, alive)
            {
                texts.insert(file.clone(), written);
            }
        }
        let of = |spots: &[Spot], function: bool| -> BTreeSet<u32> {
            let found = spots.iter().filter_map(|(file, start, end)| {
                let written = texts.get(file)?;
                Some(if function { written.of_function(*start, *end) } else { written.blamed(*start, *end) })
            });
            found.flatten().collect()
        };
        let found = [of(&about, false), of(&beside, false), of(&about, true)];
        match found.into_iter().find(|found| !found.is_empty()) {
            Some(found) => all.extend(found),
            None => eprintln!("an error in no function with mutants:\n{}", rendered(error)),
        }
    }
    all
}
