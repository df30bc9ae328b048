//! Mutants of our own code, all in one build: see `HELP`.

mod build;
mod copy;
mod find;
mod fixed;
mod hunt;
mod kinds;
mod lists;
mod mutant;
mod tests;
#[cfg(test)]
mod trial;
#[cfg(test)]
mod trial_whole;

use crate::build::Place;
use crate::copy::Sources;
use crate::hunt::{Fate, Hunt};
use std::collections::BTreeSet;
use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Mutex;
use std::time::{Duration, Instant};

const HELP: &str = "\
tests/mutants/run [OPTIONS]

Makes small changes of the code, each behind a switch, builds them all at once, and looks which of them a test notices.

  --sample N      of each module the first N in an order that the seed decides (60)
  --seed S        the seed (1)
  --all           all of them
  --drawn-only    builds those drawn alone, which is quicker than all; what it records holds for them alone
  --module M      of one module
  --slowest SECS  tests that take longer alone are left out (60); all times of tests are processor time
  --recording N   minutes for finding out which tests pass which switches; those that are not reached are not used (no limit)
  --patience SECS tests are tried on a mutant until they would take so long, each alone (no limit)
  --minutes N     tries no other mutant after that; what is built and recorded before does not count
  --jobs N        processes at once (2)
  --again         tries those once more that nothing caught before
  --table         tells what is known, and tries nothing
  --one TEXT      shows the mutants whose key holds the text and tries them
  --list          lists all mutants; builds nothing
  --fixed         tries the fixed sample alone, each by the test that caught it: what CI does
  --draw N        writes the fixed sample anew from what was caught: N of each module

Keys of mutants that change no answer stand in tests/mutants/equivalent.txt, each with the reason.";

/// What was asked for.
#[derive(Debug)]
struct Options {
    sample: usize,
    seed: u64,
    module: Option<String>,
    slowest: Duration,
    patience: Duration,
    recording: Option<Duration>,
    /// How long mutants are tried at the most, what is built aside.
    most: Option<Duration>,
    jobs: usize,
    one: Option<String>,
    draw: Option<usize>,
    flags: BTreeSet<String>,
}

fn options(mut arguments: impl Iterator<Item = String>) -> Result<Options, String> {
    let mut options = Options {
        sample: 60,
        seed: 1,
        module: None,
        slowest: Duration::from_secs(60),
        patience: Duration::MAX,
        recording: None,
        most: None,
        jobs: 2,
        one: None,
        draw: None,
        flags: BTreeSet::new(),
    };
    while let Some(option) = arguments.next() {
        let mut value = || arguments.next().ok_or(format!("{option} wants a value"));
        let number = |text: String| text.parse::<u64>().map_err(|error| format!("{text}: {error}"));
        let size = |value: u64| usize::try_from(value).map_err(|error| error.to_string());
        match option.as_str() {
            "--sample" => options.sample = size(number(value()?)?)?,
            "--seed" => options.seed = number(value()?)?,
            "--all" => options.sample = usize::MAX,
            "--module" => options.module = Some(value()?),
            "--slowest" => options.slowest = Duration::from_secs(number(value()?)?),
            "--recording" => options.recording = Some(Duration::from_secs(60 * number(value()?)?)),
            "--patience" => options.patience = Duration::from_secs(number(value()?)?),
            "--minutes" => options.most = Some(Duration::from_secs(60 * number(value()?)?)),
            "--jobs" | "-j" => options.jobs = size(number(value()?)?)?.max(1),
            "--one" => options.one = Some(value()?),
            "--draw" => options.draw = Some(size(number(value()?)?)?),
            "--again" | "--drawn-only" | "--list" | "--table" | "--fixed" => _ = options.flags.insert(option),
            _ => return Err(format!("{option}\n\n{HELP}")),
        }
    }
    Ok(options)
}

fn main() -> ExitCode {
    match run() {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

fn run() -> Result<bool, String> {
    let mut arguments = std::env::args().skip(1);
    if std::env::args().any(|argument| argument == "--help") {
        println!("{HELP}");
        return Ok(true);
    }
    let (Some(root), Some(work)) = (arguments.next(), arguments.next()) else { return Err(HELP.to_owned()) };
    let options = options(arguments)?;
    let place = Place { root: PathBuf::from(root), work: PathBuf::from(work), least: Duration::from_secs(10) };
    fs::create_dir_all(&place.work).map_err(|error| error.to_string())?;
    let sources = copy::sources(&place.root)?;
    if options.flags.contains("--list") {
        for (number, mutant) in (1..).zip(&sources.mutants) {
            println!("{number}\t{}:{}\t{}", mutant.file, mutant.line, mutant.key);
        }
        return Ok(true);
    }
    let equivalent = lists::equivalent(&place.root.join("tests/mutants/equivalent.txt"))?;
    let numbers = lists::numbers(&sources);
    let gone: Vec<&String> = equivalent.iter().filter(|key| !numbers.contains_key(key.as_str())).collect();
    if !gone.is_empty() {
        return Err(format!("no mutant has these keys of equivalent.txt: {gone:#?}"));
    }
    if options.flags.contains("--fixed") {
        return fixed::run(&place, &sources, &equivalent, options.jobs, options.most);
    }
    whole(&place, &sources, &equivalent, &options)
}

/// Builds all mutants, and tries those that are asked for.
fn whole(place: &Place, sources: &Sources, equivalent: &BTreeSet<String>, options: &Options) -> Result<bool, String> {
    let began = Instant::now();
    let all: BTreeSet<u32> = (1..).zip(&sources.mutants).map(|(number, _)| number).collect();
    let draw = |from| lists::drawn(sources, from, options.seed, options.sample, options.module.as_deref());
    let wanted = if options.flags.contains("--drawn-only") { draw(&all).into_iter().collect() } else { all };
    let (viable, binaries) = build::build(place, sources, &wanted)?;
    eprintln!("{} mutants, {} of them compile ({} s)", wanted.len(), viable.len(), began.elapsed().as_secs());
    let drawn = match &options.one {
        Some(text) => {
            let named = |number: &u32| sources.mutants[*number as usize - 1].key.contains(text);
            viable.iter().copied().filter(named).collect()
        }
        None => draw(&viable),
    };
    let path = place.work.join("results.txt");
    let mut results = lists::results(&path);
    if let Some(most) = options.draw {
        return fixed::draw(place, sources, &drawn, &results, most);
    }
    if !options.flags.contains("--table") {
        try_all(place, sources, equivalent, options, &binaries, &drawn, &viable)?;
        results = lists::results(&path);
    }
    let table = lists::table(sources, &viable, &drawn, &results, equivalent);
    println!("{table}");
    let is_open = |number: &u32| {
        let mutant = &sources.mutants[*number as usize - 1];
        let left = results.get(&mutant.key).filter(|(fate, _)| matches!(fate, Fate::Survived | Fate::Untouched))?;
        (!equivalent.contains(&mutant.key))
            .then(|| format!("{}\t{}:{}\t{}", left.0.word(), mutant.file, mutant.line, mutant.key))
    };
    let open: Vec<String> = drawn.iter().filter_map(is_open).collect();
    println!("neither caught nor known to change no answer:\n{}", open.join("\n"));
    println!("{} s", began.elapsed().as_secs());
    Ok(open.is_empty())
}

fn try_all(
    place: &Place,
    sources: &Sources,
    equivalent: &BTreeSet<String>,
    options: &Options,
    binaries: &[build::Binary],
    drawn: &[u32],
    viable: &BTreeSet<u32>,
) -> Result<(), String> {
    let began = Instant::now();
    // Numbers are recorded, so they are part of the name.
    let named = |number: &u32| format!("{number} {}", sources.mutants[*number as usize - 1].key);
    let alive: Vec<String> = viable.iter().map(named).collect();
    let tests =
        tests::record(place, binaries, &lists::name_of(&alive), options.slowest, options.recording, options.jobs)?;
    for test in tests.iter().filter(|test| test.left_out.is_some()) {
        println!("left out, {}: {} {}", test.left_out.unwrap_or(""), binaries[test.binary].name, test.name);
    }
    eprintln!("{} tests recorded ({} s)", tests.len(), began.elapsed().as_secs());
    let hunt = Hunt::new(place, binaries, &tests, options.patience);
    let path = place.work.join("results.txt");
    let before = lists::results(&path);
    let is_open = |number: &u32| {
        let key = &sources.mutants[*number as usize - 1].key;
        match before.get(key) {
            None => true,
            _ if options.one.is_some() => true,
            Some((fate, _)) => {
                let is_left = matches!(fate, Fate::Survived | Fate::Untouched);
                options.flags.contains("--again") && is_left && !equivalent.contains(key)
            }
        }
    };
    let open: Vec<u32> = drawn.iter().copied().filter(is_open).collect();
    eprintln!("{} mutants drawn, {} to try", drawn.len(), open.len());
    let file = fs::File::options().append(true).create(true).open(&path).map_err(|error| error.to_string())?;
    let file = Mutex::new((file, 0usize));
    hunt::all(options.jobs, options.most, &open, |number| {
        let mutant = &sources.mutants[*number as usize - 1];
        let result = hunt.one(*number, &mutant.file)?;
        let (ms, word) = (result.took.as_millis(), result.fate.word());
        let mut file = file.lock().map_err(|error| error.to_string())?;
        file.1 += 1;
        writeln!(file.0, "{}\t{word}\t{}\t{ms}", mutant.key, result.by).map_err(|error| error.to_string())?;
        let passing = hunt.passing(result.mutant).len();
        let (count, of) = (file.1, open.len());
        eprintln!(
            "{count}/{of} {word} {ms} ms {}:{} {} [{passing} tests; {}]",
            mutant.file, mutant.line, mutant.key, result.by
        );
        Ok(())
    })
}
