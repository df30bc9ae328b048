//! The fixed sample: mutants that a test caught when it was drawn, built alone, each tried by that test; where it does not catch it
//! any more, by all tests of the sample.

use crate::build::{self, Binary, Place};
use crate::copy::{MODULES, Sources};
use crate::hunt::{self, Fate};
use crate::lists;
use crate::tests::{self, End, Test};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// The file.
const SAMPLE: &str = "tests/mutants/sample.txt";

/// What may be gone of the sample before it must be drawn anew: one in so many.
const GONE: usize = 10;

/// Tries the sample; whether all that were tried were caught, or change no answer.
pub fn run(
    place: &Place,
    sources: &Sources,
    equivalent: &BTreeSet<String>,
    jobs: usize,
    most: Option<Duration>,
) -> Result<bool, String> {
    let began = Instant::now();
    let place = Place { work: place.work.join("fixed"), ..place.clone() };
    fs::create_dir_all(&place.work).map_err(|error| error.to_string())?;
    let sample = lists::fixed(&place.root.join(SAMPLE))?;
    if sample.is_empty() {
        return Err(format!("{SAMPLE} names no mutant"));
    }
    let numbers = lists::numbers(sources);
    let wanted: BTreeMap<u32, &String> =
        sample.iter().filter_map(|(key, test)| Some((*numbers.get(key.as_str())?, test))).collect();
    let gone = sample.len() - wanted.len();
    let (viable, binaries) = build::build(&place, sources, &wanted.keys().copied().collect())?;
    println!(
        "{} mutants of the fixed sample, {gone} gone with what they changed, {} compile ({} s)",
        sample.len(),
        viable.len(),
        began.elapsed().as_secs()
    );
    let missing = gone + wanted.len() - viable.len();
    if missing * GONE > sample.len() {
        return Err(format!("{missing} of {} are gone: draw the sample anew (--sample, then --draw)", sample.len()));
    }
    let known = known(&place, &binaries, &wanted)?;
    let lost = wanted.values().filter(|test| !known.contains_key(test.as_str())).count();
    if lost > 0 {
        println!("{lost} mutants name a test that is there no more");
    }
    let all: Vec<&Test> = known.values().collect();
    if let Some(test) = tried(&place, &binaries, &all, 0)? {
        return Err(format!("without a mutant, {} fails in the copy", test.1));
    }
    println!("{} tests hold without a mutant ({} s)", all.len(), began.elapsed().as_secs());
    let left = Mutex::new((0usize, Vec::new()));
    let open: Vec<u32> = viable.into_iter().collect();
    hunt::all(jobs, most, &open, |number| {
        let own = wanted.get(number).and_then(|test| known.get(test.as_str()));
        let mut found = match own {
            Some(test) => tried(&place, &binaries, &[test], *number)?,
            None => None,
        };
        if found.is_none() {
            found = tried(&place, &binaries, &all, *number)?;
        }
        let mut left = left.lock().map_err(|error| error.to_string())?;
        left.0 += 1;
        let mutant = &sources.mutants[*number as usize - 1];
        if found.is_none() && !equivalent.contains(&mutant.key) {
            left.1.push(format!("{}:{}\t{}", mutant.file, mutant.line, mutant.key));
        }
        Ok(())
    })?;
    let (ran, survived) = left.into_inner().map_err(|error| error.to_string())?;
    println!("{ran} of {} tried, {} survived ({} s)", open.len(), survived.len(), began.elapsed().as_secs());
    for line in &survived {
        println!("survived: {line}\n  another test may catch it: tests/mutants/run --one, then a line in {SAMPLE}");
    }
    Ok(survived.is_empty())
}

/// The tests that the sample names and that are there, by `BINARY TEST`.
fn known(
    place: &Place,
    binaries: &[Binary],
    wanted: &BTreeMap<u32, &String>,
) -> Result<BTreeMap<String, Test>, String> {
    let named: BTreeSet<&str> = wanted.values().map(|test| test.as_str()).collect();
    let mut known = BTreeMap::new();
    for (binary, built) in binaries.iter().enumerate() {
        for name in tests::names(place, built)? {
            let full = format!("{} {name}", built.name);
            if named.contains(full.as_str()) {
                let took = Duration::from_secs(1);
                known.insert(full, Test { binary, name, took, left_out: None, touched: Vec::new() });
            }
        }
    }
    Ok(known)
}

/// Runs tests of all binaries with a mutant on; the one that tells.
fn tried(place: &Place, binaries: &[Binary], tests: &[&Test], mutant: u32) -> Result<Option<(Fate, String)>, String> {
    for (number, binary) in binaries.iter().enumerate() {
        let own: Vec<&Test> = tests.iter().copied().filter(|test| test.binary == number).collect();
        if own.is_empty() {
            continue;
        }
        match tests::run(place, binary, &own, mutant)? {
            End::Passed => {}
            End::Failed(name) => return Ok(Some((Fate::Caught, name))),
            End::TooLong(name) => return Ok(Some((Fate::TooLong, name))),
        }
    }
    Ok(None)
}

/// Writes the sample anew: of those drawn the first of each module that a test caught, not by the time it took.
pub fn draw(
    place: &Place,
    sources: &Sources,
    drawn: &[u32],
    results: &BTreeMap<String, (Fate, String)>,
    most: usize,
) -> Result<bool, String> {
    let mut text = String::from(
        "# The fixed sample: a mutant, and the test that caught it when this was drawn (tests/mutants/run --draw).\n",
    );
    for module in MODULES {
        let own = drawn.iter().map(|number| &sources.mutants[*number as usize - 1]);
        let caught = own.filter(|mutant| mutant.module == module).filter_map(|mutant| {
            let (fate, by) = results.get(&mutant.key)?;
            (*fate == Fate::Caught).then(|| format!("{}\t{by}\n", mutant.key))
        });
        text.extend(caught.take(most));
    }
    fs::write(place.root.join(SAMPLE), text).map_err(|error| format!("{SAMPLE}: {error}"))?;
    Ok(true)
}
