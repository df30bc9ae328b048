//! The shipped programs under the diagrams: their worked cases, and that every epoch stays far below the node budget.

use crate::every;
use std::sync::Arc;
use wherefore::internals::diagram::{self, Compiled};
use wherefore::internals::program::select::epochs;
use wherefore::internals::program::{Given, Program, Selection, select};

pub fn programs() -> Vec<Arc<Program>> {
    every::programs()
}

// Each program file: worked cases, with what each follows from written beside it there.
#[test]
fn worked_cases_have_exactly_the_verdicts_expected() {
    let came = every::side_by_side(&programs(), |program| {
        let mut wrong = Vec::new();
        let mut tried = 0;
        for case in &program.cases {
            let date = case.facts.test_date().unwrap();
            let selection = Selection { known_on: case.known_on, takes: case.takes.clone(), ..Selection::on(date) };
            let flat = select(program, &selection).unwrap();
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
        (tried, wrong)
    });
    let tried: usize = came.iter().map(|came| came.0).sum();
    let wrong: Vec<&str> = came.iter().flat_map(|came| &came.1).map(String::as_str).collect();
    assert!(tried > 100, "only {tried} cases");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

// Encodings, section 7, risk 3: node budgets for all programs. The greatest epoch today is us-md's with its
// allowance an open question, 53,120 nodes; 400,000 (`diagram::BUDGET`) are refused with a message.
#[test]
fn every_epoch_of_every_program_stays_small() {
    let programs = programs();
    assert!(programs.len() > 30, "only {} programs", programs.len());
    every::side_by_side(&programs, |program| {
        let last = epochs(program).last().copied().unwrap();
        let flat = select(program, &Selection::on(last.from)).unwrap();
        let compiled = Compiled::whole(&flat).unwrap();
        let nodes = compiled.compiler.forest.nodes();
        assert!(nodes < 60_000, "{} needs {nodes} nodes", program.id);
    });
}
