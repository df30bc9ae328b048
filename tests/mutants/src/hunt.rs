//! Running tests against mutants: those that pass a mutant's switch, quickest first, until one fails.

use crate::build::{Binary, Place};
use crate::tests::{End, Test, run};
use std::collections::BTreeMap;
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// What came of a mutant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    Caught,
    /// A test took more than ten times as long as without it, and more than ten seconds.
    TooLong,
    Survived,
    /// No test passes its switch.
    Untouched,
}

impl Fate {
    pub const ALL: [(Fate, &'static str); 4] = [
        (Fate::Caught, "caught"),
        (Fate::TooLong, "too long"),
        (Fate::Survived, "survived"),
        (Fate::Untouched, "untouched"),
    ];

    pub fn word(&self) -> &'static str {
        Self::ALL.iter().find(|(fate, _)| fate == self).map_or("", |(_, word)| word)
    }

    pub fn read(word: &str) -> Option<Fate> {
        Self::ALL.iter().find(|(_, own)| *own == word).map(|(fate, _)| fate.clone())
    }
}

/// What came of one, and which test told.
#[derive(Debug, Clone)]
pub struct Result {
    pub mutant: u32,
    pub fate: Fate,
    /// Binary and test.
    pub by: String,
    pub took: Duration,
}

/// What is needed to try mutants.
#[derive(Debug)]
pub struct Hunt<'a> {
    pub place: &'a Place,
    pub binaries: &'a [Binary],
    pub tests: &'a [Test],
    /// How long the tests may take together, by what was recorded, that are tried on one mutant.
    pub patience: Duration,
    /// By mutant the tests that pass it and are used, the most promising first.
    passing: BTreeMap<u32, Vec<usize>>,
    /// By what a mutant belongs to: tests that caught others of it, the last first.
    favourites: Mutex<BTreeMap<String, Vec<usize>>>,
}

/// How many tests that caught others are tried first.
const FAVOURITES: usize = 4;

impl<'a> Hunt<'a> {
    pub fn new(place: &'a Place, binaries: &'a [Binary], tests: &'a [Test], patience: Duration) -> Self {
        let mut passing: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
        let mut order: Vec<(usize, &Test)> = tests.iter().enumerate().collect();
        // A quick test before a slow one, and one that is about little before one that passes everything.
        order.sort_by_key(|(_, test)| (test.took.as_millis() + 20) * (test.touched.len() as u128 + 200));
        for (number, test) in order.into_iter().filter(|(_, test)| test.left_out.is_none()) {
            for mutant in &test.touched {
                passing.entry(*mutant).or_default().push(number);
            }
        }
        Hunt { place, binaries, tests, patience, passing, favourites: Mutex::default() }
    }

    pub fn passing(&self, mutant: u32) -> &[usize] {
        self.passing.get(&mutant).map_or(&[], Vec::as_slice)
    }

    /// Runs tests, each binary's in one process; the test that tells.
    fn batch(&self, tests: &[usize], mutant: u32) -> std::result::Result<Option<(Fate, usize)>, String> {
        for (number, binary) in self.binaries.iter().enumerate() {
            let own: Vec<usize> = tests.iter().copied().filter(|test| self.tests[*test].binary == number).collect();
            if own.is_empty() {
                continue;
            }
            let chosen: Vec<&Test> = own.iter().map(|test| &self.tests[*test]).collect();
            let named = |name: &str| own.iter().copied().find(|test| self.tests[*test].name == name).unwrap_or(own[0]);
            match run(self.place, binary, &chosen, mutant)? {
                End::Passed => {}
                End::Failed(name) => return Ok(Some((Fate::Caught, named(&name)))),
                End::TooLong(name) => return Ok(Some((Fate::TooLong, named(&name)))),
            }
        }
        Ok(None)
    }

    /// Tries one mutant; `kin` says which others are alike.
    pub fn one(&self, mutant: u32, kin: &str) -> std::result::Result<Result, String> {
        let began = Instant::now();
        let passing = self.passing(mutant);
        let told = |fate, by: String| Ok(Result { mutant, fate, by, took: began.elapsed() });
        if passing.is_empty() {
            return told(Fate::Untouched, String::new());
        }
        let mut tried = 0;
        for batch in self.batches(passing, kin) {
            tried += batch.len();
            if let Some((fate, test)) = self.batch(&batch, mutant)? {
                if let Ok(mut favourites) = self.favourites.lock() {
                    let own = favourites.entry(kin.to_owned()).or_default();
                    own.retain(|other| *other != test);
                    own.insert(0, test);
                }
                let found = &self.tests[test];
                return told(fate, format!("{} {}", self.binaries[found.binary].name, found.name));
            }
        }
        told(Fate::Survived, format!("{tried} of {} tests", passing.len()))
    }

    /// The tests in the order in which they are tried: favourites, then ever more at once.
    fn batches(&self, passing: &[usize], kin: &str) -> Vec<Vec<usize>> {
        let favourites = self.favourites.lock().ok().and_then(|all| all.get(kin).cloned()).unwrap_or_default();
        let is_quick = |test: &usize| self.tests[*test].took < Duration::from_secs(4);
        let first: Vec<usize> =
            favourites.into_iter().filter(|test| passing.contains(test)).filter(is_quick).take(FAVOURITES).collect();
        let mut batches: Vec<Vec<usize>> = first.iter().map(|test| vec![*test]).collect();
        let (mut batch, mut sum, mut most) = (Vec::new(), Duration::ZERO, Duration::from_millis(500));
        let mut all = Duration::ZERO;
        for test in passing.iter().copied().filter(|test| !first.contains(test)) {
            all += self.tests[test].took;
            if all > self.patience {
                break;
            }
            sum += self.tests[test].took;
            batch.push(test);
            if sum >= most {
                batches.push(std::mem::take(&mut batch));
                (sum, most) = (Duration::ZERO, most * 2);
            }
        }
        batches.push(batch);
        batches.retain(|batch| !batch.is_empty());
        batches
    }
}

/// Tries mutants side by side, as many at once as `jobs` says, and begins none after `most`.
pub fn all<T: Sync>(
    jobs: usize,
    most: Option<Duration>,
    items: &[T],
    one: impl Fn(&T) -> std::result::Result<(), String> + Sync,
) -> std::result::Result<(), String> {
    let began = Instant::now();
    let next = Mutex::new(0..items.len());
    let failed = Mutex::new(None);
    std::thread::scope(|scope| {
        for _ in 0..jobs {
            scope.spawn(|| {
                while most.is_none_or(|most| began.elapsed() < most) {
                    let Some(place) = next.lock().ok().and_then(|mut next| next.next()) else { break };
                    if let Err(error) = one(&items[place]) {
                        failed.lock().into_iter().for_each(|mut failed| *failed = Some(error.clone()));
                        break;
                    }
                }
            });
        }
    });
    match failed.into_inner() {
        Ok(Some(error)) => Err(error),
        _ => Ok(()),
    }
}
