//! The policies of the benchmark and the shipped programs, from their files, and both policies for other engines.

use crate::expr::{Cond, Num, is};
use crate::records::{Car, MONITORS, Van};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use wherefore::internals::catalog::{Catalog, Files};
use wherefore::internals::program::Program;

/// A verdict (0 pass, 1 reject, 2 fail, 3 not subject) and the requirements not met, a bit each.
pub type Answer = (u8, u8);

/// A policy as all engines get it.
pub struct Policy {
    /// Its clauses, in the order of the bits of a list of reasons.
    pub clauses: &'static [&'static str],
    pub covers: Cond,
    pub requirements: Vec<Cond>,
    /// Requirements that fail a vehicle; the others have it rejected.
    pub fail: u8,
}

impl Policy {
    /// Coverage, then the requirements.
    pub fn conditions(&self) -> impl Iterator<Item = &Cond> {
        std::iter::once(&self.covers).chain(&self.requirements)
    }

    /// The verdict that follows from the requirements not met.
    pub fn answer(&self, is_covered: bool, unmet: u8) -> Answer {
        match (is_covered, unmet & self.fail, unmet) {
            (false, _, _) => (3, 0),
            (_, 0, 0) => (0, 0),
            (_, 0, _) => (1, unmet),
            _ => (2, unmet),
        }
    }

    /// The same from coverage and the requirements, one after the other.
    pub fn bits(&self, mut holds: impl Iterator<Item = bool>) -> Answer {
        let is_covered = holds.next().unwrap();
        self.answer(is_covered, (0..).zip(holds).fold(0, |bits, (at, one)| bits | u8::from(one) << at))
    }
}

/// A vehicle of one of the policies.
pub trait Vehicle {
    fn policy() -> Policy;
    /// By hand, a row at a time.
    fn by_hand(&self) -> Answer;
    /// Names and values of the facts, as the engines get them: whole numbers.
    fn facts(&self) -> Vec<(&'static str, i64)>;
}

/// The monitors' names as facts.
const NAMES: [&str; 11] = [
    "misfire",
    "fuel_system",
    "components",
    "catalyst",
    "heated_catalyst",
    "evaporative",
    "secondary_air",
    "air_conditioning",
    "oxygen_sensor",
    "oxygen_sensor_heater",
    "egr_vvt",
];

fn over_the_limit() -> Cond {
    let counted = NAMES.iter().skip(3).map(|name| is(name, "==", 2)).collect();
    Cond::Is(">", Num::Count(counted), Num::If(Box::new(is("model_year", "<=", 2000)), 2, 1))
}

fn is_over(model_year: i16, monitors: &[u8; 11]) -> bool {
    let incomplete = monitors.iter().skip(3).filter(|state| **state == 2).count();
    incomplete > if model_year <= 2000 { 2 } else { 1 }
}

impl Vehicle for Car {
    fn policy() -> Policy {
        Policy {
            clauses: &["connector", "communication", "bulb", "lamp", "readiness", "catalyst", "warm-ups"],
            covers: is("model_year", ">=", 1996),
            requirements: vec![
                Cond::All(vec![is("connector", ">=", 1), is("connector", "<=", 3)]),
                is("communication", "==", 2),
                is("lamp_lights", "==", 0),
                is("lamp_commanded", "==", 1),
                over_the_limit(),
                Cond::All(vec![is("visit", "==", 1), is("catalyst", "==", 2)]),
                is("warm_ups", "<", 10),
            ],
            fail: 0b010_1101,
        }
    }

    fn by_hand(&self) -> Answer {
        let unmet = u8::from(matches!(self.connector, 1..=3))
            | u8::from(self.communication == 2) << 1
            | u8::from(!self.lamp_lights) << 2
            | u8::from(self.lamp_commanded) << 3
            | u8::from(is_over(self.model_year, &self.monitors)) << 4
            | u8::from(self.visit == 1 && self.monitors[3] == 2) << 5
            | u8::from(self.warm_ups < 10) << 6;
        verdict(self.model_year, unmet, 0b010_1101)
    }

    fn facts(&self) -> Vec<(&'static str, i64)> {
        let mut facts = vec![
            ("model_year", self.model_year.into()),
            ("connector", self.connector.into()),
            ("communication", self.communication.into()),
            ("lamp_lights", self.lamp_lights.into()),
            ("lamp_commanded", self.lamp_commanded.into()),
            ("visit", self.visit.into()),
            ("warm_ups", self.warm_ups.into()),
        ];
        facts.extend(NAMES.into_iter().zip(self.monitors).map(|(name, state)| (name, state.into())));
        facts
    }
}

impl Vehicle for Van {
    fn policy() -> Policy {
        let stored = |name| Cond::All(vec![is(name, ">=", 0x0420), is(name, "<=", 0x0439)]);
        let retest = || vec![is("visit", "==", 1), is("catalyst", "==", 2)];
        Policy {
            clauses: &["connector", "lamp", "codes", "readiness", "altered", "catalyst"],
            covers: is("model_year", ">=", 1996),
            requirements: vec![
                is("connector", "!=", 0),
                is("lamp_commanded", "==", 1),
                Cond::Any(vec![stored("code_one"), stored("code_two"), stored("code_three")]),
                over_the_limit(),
                is("altered", "==", 1),
                Cond::All(
                    [retest(), vec![Cond::Any(vec![is("fuel", "!=", 2), is("model_year", ">=", 2005)])]].concat(),
                ),
            ],
            fail: 0b10_0111,
        }
    }

    fn by_hand(&self) -> Answer {
        let unmet = u8::from(self.connector != 0)
            | u8::from(self.lamp_commanded) << 1
            | u8::from(self.codes.iter().any(|code| (0x0420..=0x0439).contains(code))) << 2
            | u8::from(is_over(self.model_year, &self.monitors)) << 3
            | u8::from(self.altered) << 4
            | u8::from(self.visit == 1 && self.monitors[3] == 2 && (self.fuel != 2 || self.model_year > 2004)) << 5;
        verdict(self.model_year, unmet, 0b10_0111)
    }

    fn facts(&self) -> Vec<(&'static str, i64)> {
        let mut facts = vec![
            ("model_year", self.model_year.into()),
            ("fuel", self.fuel.into()),
            ("connector", self.connector.into()),
            ("lamp_commanded", self.lamp_commanded.into()),
            ("altered", self.altered.into()),
            ("visit", self.visit.into()),
            ("code_one", self.codes[0].into()),
            ("code_two", self.codes[1].into()),
            ("code_three", self.codes[2].into()),
        ];
        facts.extend(NAMES.into_iter().zip(self.monitors).map(|(name, state)| (name, state.into())));
        facts
    }
}

fn verdict(model_year: i16, unmet: u8, fail: u8) -> Answer {
    match (model_year >= 1996, unmet & fail, unmet) {
        (false, _, _) => (3, 0),
        (_, 0, 0) => (0, 0),
        (_, 0, _) => (1, unmet),
        _ => (2, unmet),
    }
}

/// A folder of programs.
struct Folder(PathBuf);

fn below(root: &Path, folder: &Path, found: &mut Vec<String>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() && !path.ends_with("target") {
            below(root, &path, found);
        } else if path.extension().is_some_and(|ending| ending == "wherefore") {
            found.push(path.strip_prefix(root).unwrap().to_string_lossy().into_owned());
        }
    }
}

impl Files for Folder {
    fn names(&self) -> Vec<String> {
        let mut names = Vec::new();
        below(&self.0, &self.0, &mut names);
        names.sort();
        names
    }

    fn text(&self, name: &str) -> Result<String, String> {
        std::fs::read_to_string(self.0.join(name)).map_err(|error| error.to_string())
    }

    fn beside(&self, name: &str, table: &str) -> Option<String> {
        std::fs::read_to_string(self.0.join(name).parent()?.join(table)).ok()
    }

    fn tables(&self, _name: &str) -> Vec<String> {
        Vec::new()
    }
}

fn programs_in(folder: PathBuf) -> Vec<Arc<Program>> {
    let folder = Folder(folder);
    let catalog = Catalog::new(vec![&folder]);
    catalog.ids().into_iter().filter_map(|id| catalog.find(&id).unwrap().program.clone()).collect()
}

/// Every shipped program that is judged by.
pub fn shipped() -> Vec<Arc<Program>> {
    let all = programs_in(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../policies"));
    all.into_iter().filter(|program| !program.adopted_only).collect()
}

/// A policy of the benchmark.
pub fn named(id: &str) -> Arc<Program> {
    let all = programs_in(PathBuf::from(env!("CARGO_MANIFEST_DIR")));
    all.into_iter().find(|program| program.id == id).unwrap_or_else(|| panic!("{id} has errors"))
}

/// The first policy.
pub fn bench() -> Arc<Program> {
    named("bench")
}

/// The clauses of the first policy, in the order of the bits of a list of reasons.
pub const CLAUSES: [&str; 7] = ["connector", "communication", "bulb", "lamp", "readiness", "catalyst", "warm-ups"];

/// Monitors are spelled alike here and in documents, but for the hyphen.
pub fn names_agree() -> bool {
    NAMES.iter().zip(MONITORS).all(|(name, known)| name.replace('_', "-") == known)
}
