//! The shipped programs under the diagrams: their worked cases, and that every epoch stays far below the node budget.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use wherefore::internals::catalog::{Catalog, Files};
use wherefore::internals::diagram::{self, Compiled};
use wherefore::internals::program::select::epochs;
use wherefore::internals::program::{Given, Program, Selection, select};

/// The folder `policies` of the project, read at run time.
struct Folder;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("policies")
}

fn below(folder: &Path, found: &mut Vec<String>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            below(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "wherefore") {
            found.push(path.strip_prefix(root()).unwrap().to_string_lossy().into_owned());
        }
    }
}

impl Files for Folder {
    fn names(&self) -> Vec<String> {
        let mut names = Vec::new();
        below(&root(), &mut names);
        names.sort();
        names
    }

    fn text(&self, name: &str) -> Result<String, String> {
        std::fs::read_to_string(root().join(name)).map_err(|error| error.to_string())
    }

    fn beside(&self, name: &str, table: &str) -> Option<String> {
        std::fs::read_to_string(root().join(name).parent()?.join(table)).ok()
    }

    fn tables(&self, _name: &str) -> Vec<String> {
        Vec::new()
    }
}

pub fn programs() -> Vec<Arc<Program>> {
    let catalog = Catalog::new(vec![&Folder]);
    let programs = catalog.ids().into_iter().filter_map(|id| catalog.find(&id).ok()?.program.clone());
    // A part is never judged on its own.
    programs.filter(|program| !program.adopted_only).collect()
}

// Each program file: worked cases, with what each follows from written beside it there.
#[test]
fn worked_cases_have_exactly_the_verdicts_expected() {
    let mut wrong = Vec::new();
    let mut tried = 0;
    for program in programs() {
        for case in &program.cases {
            let date = case.facts.test_date().unwrap();
            let selection = Selection { known_on: case.known_on, takes: case.takes.clone(), ..Selection::on(date) };
            let flat = select(&program, &selection).unwrap();
            let given = Given::of(&flat, &case.facts).unwrap();
            let possible = diagram::exact::possible(&flat, &given).unwrap();
            let mut names: Vec<&str> = possible.iter().map(|verdict| verdict.name(&flat)).collect();
            let mut expected: Vec<&str> = case.expected.iter().map(String::as_str).collect();
            names.sort_unstable();
            expected.sort_unstable();
            tried += 1;
            if names != expected {
                wrong.push(format!("{} {:?}: expected {expected:?}, found {names:?}", program.id, case.title));
            }
        }
    }
    assert!(tried > 100, "only {tried} cases");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

// Encodings, section 7, risk 3: node budgets for all programs. The greatest epoch today has a few thousand nodes; ten times
// the budget set here is refused with a message.
#[test]
fn every_epoch_of_every_program_stays_small() {
    let programs = programs();
    assert!(programs.len() > 30, "only {} programs", programs.len());
    for program in programs {
        let last = epochs(&program).last().copied().unwrap();
        let flat = select(&program, &Selection::on(last.from)).unwrap();
        let compiled = Compiled::whole(&flat).unwrap();
        let nodes = compiled.compiler.forest.nodes();
        assert!(nodes < 40_000, "{} needs {nodes} nodes", program.id);
    }
}
