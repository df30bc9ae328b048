//! Worked cases still to be written: vehicles that would catch a slip in the file which no case catches. What
//! outcome follows is left blank: the writer takes it from the law, never from what the program says.

use super::facts::facts;
use crate::analysis::cases::{Mutant, Part, Suite, Vector, slips, suite};
use crate::diagram::Error;
use crate::model::{Fact, Facts, Snapshot, Value};
use crate::program::dump::dump;
use crate::program::{Program, Selection, select};
use crate::ruling::vectors::caught;
use std::collections::{BTreeMap, BTreeSet};

/// Cases to write, and what they come to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Missing {
    /// The cases as text of a program file, an outcome missing in each.
    pub cases: Vec<String>,
    /// How many slips each of them catches that none before it does.
    pub catches: Vec<usize>,
    /// Changes of one place that change the answer on some vehicle.
    pub changes: usize,
    /// Of these, how many the file's cases catch, each by the law of its own day.
    pub caught: usize,
    /// How many more the missing cases would catch.
    pub would_catch: usize,
}

impl Missing {
    /// The cases that catch most, so many of them, the first of them first; of those that catch as many, in their order.
    #[must_use]
    pub fn most(mut self, many: usize) -> Missing {
        let mut all: Vec<(usize, String)> = self.catches.into_iter().zip(self.cases).collect();
        all.sort_by_key(|(catches, _)| std::cmp::Reverse(*catches));
        all.truncate(many);
        (self.catches, self.cases) = all.into_iter().unzip();
        self.would_catch = self.catches.iter().sum();
        self
    }
}

/// The cases that are missing from a program. A worked case of any day counts for every slip that it catches on that day,
/// wherever else the slip would tell: the same place of the text, changed in the same way.
///
/// # Errors
/// Where a diagram outgrows its budget.
pub fn missing(program: &Program) -> Result<Missing, Error> {
    let mut found = Missing::default();
    let suite = suite(program)?;
    let done = caught_by_cases(program, &suite);
    found.changes = suite.effective();
    found.caught = done.len();
    for part in &suite.parts {
        let effective = part.set.keys.iter().zip(&part.set.effective);
        let mut left: Vec<&Mutant> =
            effective.filter(|(key, _)| !done.contains(key.as_str())).map(|(_, mutant)| mutant).collect();
        let mut vectors: Vec<&Vector> = part.set.vectors.iter().collect();
        while !left.is_empty() && !vectors.is_empty() {
            // The vehicle that catches most comes first; of several, the first of the set.
            let scored = vectors.iter().enumerate().filter_map(|(at, vector)| {
                let (vehicle, text) = written(program, vector)?;
                let done = caught(&part.flat, &vector.example.readings, vector.day, &vehicle, &left);
                (!done.is_empty()).then_some((at, done, text))
            });
            let Some((at, done, text)) = scored.max_by_key(|(at, done, _)| (done.len(), usize::MAX - at)) else {
                break;
            };
            vectors.remove(at);
            found.would_catch += done.len();
            found.catches.push(done.len());
            let what = done
                .iter()
                .filter_map(|place| left.get(*place))
                .map(|mutant| mutant.what.as_str())
                .next()
                .unwrap_or("");
            found.cases.push(format!(
                "# catches {} {}, such as: {}\n{text}",
                done.len(),
                if done.len() == 1 { "slip" } else { "slips" },
                one_line(what)
            ));
            left = without(left, &done);
        }
    }
    Ok(found)
}

/// The slips that the worked cases catch, each case by the law of its own day.
fn caught_by_cases<'s>(program: &Program, suite: &'s Suite) -> BTreeSet<&'s str> {
    let of_part = |part: &'s Part| {
        let all = part.set.keys.iter().zip(&part.set.effective);
        all.map(|(key, mutant)| (key.as_str(), mutant))
    };
    let wanted: BTreeSet<&'s str> = suite.parts.iter().flat_map(of_part).map(|(key, _)| key).collect();
    let parts: Vec<(String, &'s Part)> = suite.parts.iter().map(|part| (dump(&part.flat), part)).collect();
    let mut done: BTreeSet<&'s str> = BTreeSet::new();
    // Cases of days with the same rules share the slips.
    let mut known: BTreeMap<String, Vec<(String, Mutant)>> = BTreeMap::new();
    for case in &program.cases {
        let Some(day) = case.facts.test_date() else { continue };
        let Ok(flat) = select(program, &Selection::on(day)) else { continue };
        let way: Vec<(String, String)> =
            case.takes.iter().map(|take| (take.name.clone(), take.value.clone())).collect();
        let rules = dump(&flat);
        let is_same =
            |(own, part): &&(String, &'s Part)| part.epoch.from <= day && day <= part.epoch.through || *own == rules;
        let same = parts.iter().filter(is_same).flat_map(|(_, part)| of_part(part));
        let slips = known.entry(rules.clone()).or_insert_with(|| slips(program, &flat));
        let here = slips.iter().filter_map(|(key, mutant)| Some((*wanted.get(key.as_str())?, mutant)));
        let mut open: Vec<(&'s str, &Mutant)> = here.filter(|(key, _)| !done.contains(key)).collect();
        for (key, mutant) in same.filter(|(key, _)| !done.contains(key)) {
            open.push((key, mutant));
        }
        let mutants: Vec<&Mutant> = open.iter().map(|(_, mutant)| *mutant).collect();
        let places = caught(&flat, &way, day, &case.facts, &mutants);
        done.extend(places.iter().filter_map(|place| open.get(*place)).map(|(key, _)| *key));
    }
    done
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn without<T>(list: Vec<T>, places: &[usize]) -> Vec<T> {
    let places: BTreeSet<usize> = places.iter().copied().collect();
    list.into_iter().enumerate().filter(|(at, _)| !places.contains(at)).map(|(_, one)| one).collect()
}

/// A vehicle as a case, and the vehicle that the case then says: with what the ordinary one fills in, if such a vehicle
/// can exist; else with its own facts alone.
fn written(program: &Program, vector: &Vector) -> Option<(Snapshot, String)> {
    let mut snapshot = vector.example.snapshot.clone();
    snapshot.set(Fact::TestDate, Value::Date(vector.day));
    let mut ordinary = program.ordinary.clone();
    if snapshot.is_silent() {
        ordinary.leave_unread(|_| true);
    }
    let mut filled = ordinary.clone();
    filled.readings.extend(snapshot.readings.clone());
    filled.declared.extend(snapshot.declared.clone());
    // A fact that the vector leaves open on purpose stays open.
    if vector.not_known.is_some() {
        filled = snapshot.clone();
    }
    let is_ordinary = !ordinary.readings.is_empty() && Facts::of(&filled).is_ok();
    let (vehicle, words) = match is_ordinary {
        true => (filled.clone(), facts(program, &filled, &ordinary)?),
        false => (snapshot.clone(), facts(program, &snapshot, &Snapshot::default())?),
    };
    let end = if is_ordinary { "otherwise ordinary" } else { "" };
    let words: Vec<&str> = words.iter().map(String::as_str).chain([end]).filter(|word| !word.is_empty()).collect();
    let mut text = format!("case \"\" on {}\n", vector.day);
    for (question, reading) in &vector.example.readings {
        text.push_str(&format!("  take {question} {reading}\n"));
    }
    text.push_str(&format!("  facts {}\n  expect\n  per\n", words.join("; ")));
    Some((vehicle, text))
}
