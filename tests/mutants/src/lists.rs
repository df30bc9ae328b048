//! The lists that are kept: which mutants change no answer, the fixed sample, and what came of those that were tried; and which
//! mutants are drawn.

use crate::copy::{MODULES, Sources};
use crate::hunt::Fate;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

/// Numbers by key.
pub fn numbers(sources: &Sources) -> BTreeMap<&str, u32> {
    sources.mutants.iter().map(|mutant| mutant.key.as_str()).zip(1..).collect()
}

/// The mutants of a list of equivalent ones: a key, and below it, indented, the reason.
pub fn equivalent(path: &Path) -> Result<BTreeSet<String>, String> {
    let text = fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))?;
    let mut found = BTreeSet::new();
    let mut open: Option<&str> = None;
    for line in text.lines().filter(|line| !line.is_empty() && !line.starts_with('#')) {
        if line.starts_with(' ') {
            open = None;
        } else if let Some(key) = open {
            return Err(format!("{}: no reason for {key}", path.display()));
        } else {
            found.insert(line.to_owned());
            open = Some(line);
        }
    }
    match open {
        Some(key) => Err(format!("{}: no reason for {key}", path.display())),
        None => Ok(found),
    }
}

/// The fixed sample: by key the test that catches the mutant, as `BINARY TEST`.
pub fn fixed(path: &Path) -> Result<BTreeMap<String, String>, String> {
    let text = fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))?;
    let lines = text.lines().filter(|line| !line.is_empty() && !line.starts_with('#'));
    let parsed = lines.map(|line| {
        let (key, test) = line.split_once('\t').ok_or(format!("{}: {line}", path.display()))?;
        Ok((key.to_owned(), test.to_owned()))
    });
    parsed.collect()
}

/// What came of mutants before, by key: fate and test.
pub fn results(path: &Path) -> BTreeMap<String, (Fate, String)> {
    let text = fs::read_to_string(path).unwrap_or_default();
    let parsed = text.lines().filter_map(|line| {
        let mut fields = line.split('\t');
        let (key, fate, test) = (fields.next()?, fields.next()?, fields.next()?);
        Some((key.to_owned(), (Fate::read(fate)?, test.to_owned())))
    });
    parsed.collect()
}

/// A number of a text that is the same everywhere (FNV-1a, stirred at the end).
pub fn digest(seed: u64, text: &str) -> u64 {
    let start = 0xcbf2_9ce4_8422_2325 ^ seed.wrapping_mul(0x9e37_79b9_7f4a_7c15);
    let sum = text.bytes().fold(start, |sum, byte| (sum ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3));
    let sum = (sum ^ (sum >> 33)).wrapping_mul(0xff51_afd7_ed55_8ccd);
    sum ^ (sum >> 33)
}

/// A name for a set of mutants, by which what was recorded of it is found again.
pub fn name_of(keys: &[String]) -> String {
    format!("{} {:016x}", keys.len(), digest(0, &keys.join("\n")))
}

/// The first of each module in an order that keys and seed alone decide.
pub fn drawn(sources: &Sources, viable: &BTreeSet<u32>, seed: u64, most: usize, module: Option<&str>) -> Vec<u32> {
    let mut all = Vec::new();
    for own in MODULES.iter().filter(|own| module.is_none_or(|module| module == **own)) {
        let mut order: Vec<(u64, u32)> = (1..)
            .zip(&sources.mutants)
            .filter(|(number, mutant)| mutant.module == **own && viable.contains(number))
            .map(|(number, mutant)| (digest(seed, &mutant.key), number))
            .collect();
        order.sort_unstable();
        all.push(order.into_iter().take(most).map(|(_, number)| number).collect::<Vec<u32>>());
    }
    // Side by side, so that a run that is stopped has tried as many of each.
    let longest = all.iter().map(Vec::len).max().unwrap_or(0);
    (0..longest).flat_map(|place| all.iter().filter_map(move |own| own.get(place).copied())).collect()
}

/// What came of the mutants drawn, module by module, as a table.
pub fn table(
    sources: &Sources,
    viable: &BTreeSet<u32>,
    drawn: &[u32],
    results: &BTreeMap<String, (Fate, String)>,
    equivalent: &BTreeSet<String>,
) -> String {
    let mut text = String::from(
        "| module | mutants | built | tried | caught | by time | survived | no test passes them | of both, equivalent | caught of tried | without equivalent |\n\
         |---|---:|---:|---:|---:|---:|---:|---:|---:|---:|---:|\n",
    );
    let mut sums = [0usize; 8];
    let row = |name: &str, counts: &[usize; 8]| {
        let [all, compile, tried, caught, long, survived, untouched, equal] = counts;
        let rate = |of: usize| {
            // Tenths of a per cent, rounded down.
            let tenths = ((caught + long) * 1000).checked_div(of).unwrap_or(0);
            format!("{}.{} %", tenths / 10, tenths % 10)
        };
        format!(
            "| {name} | {all} | {compile} | {tried} | {caught} | {long} | {survived} | {untouched} | {equal} | {} | {} |\n",
            rate(*tried),
            rate(tried - equal)
        )
    };
    for module in MODULES {
        let mut counts = [0usize; 8];
        for (number, _) in (1..).zip(&sources.mutants).filter(|(_, mutant)| mutant.module == module) {
            counts[0] += 1;
            counts[1] += usize::from(viable.contains(&number));
        }
        for number in drawn {
            let mutant = &sources.mutants[*number as usize - 1];
            let Some((fate, _)) = results.get(&mutant.key).filter(|_| mutant.module == module) else { continue };
            counts[2] += 1;
            let place = 3 + Fate::ALL.iter().position(|(own, _)| own == fate).unwrap_or(0);
            counts[place] += 1;
            let is_left = matches!(fate, Fate::Survived | Fate::Untouched);
            counts[7] += usize::from(is_left && equivalent.contains(&mutant.key));
        }
        sums.iter_mut().zip(counts).for_each(|(sum, count)| *sum += count);
        text.push_str(&row(&format!("`{module}`"), &counts));
    }
    text.push_str(&row("all", &sums));
    text
}
