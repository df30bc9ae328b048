//! Worked cases of a program: each is ruled on, and its verdicts and deciding clause compared with what the file says.

use crate::program::block::Case;
use crate::program::{Program, Selection, SelectionError, select};
use crate::ruling::{Due, JudgeError, Ruling, Standing, judge};

/// What became of a case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseResult<'p> {
    /// The case.
    pub case: &'p Case,
    /// What is wrong; empty where the case holds.
    pub faults: Vec<String>,
    /// Clauses that decided it.
    pub decided_by: Vec<String>,
    /// The ruling on it; `None` where there is none.
    pub ruling: Option<Ruling>,
}

/// Runs every worked case of a program.
#[must_use]
pub fn run(program: &Program) -> Vec<CaseResult<'_>> {
    program.cases.iter().map(|case| one(program, case)).collect()
}

fn one<'p>(program: &Program, case: &'p Case) -> CaseResult<'p> {
    let mut result = CaseResult { case, faults: Vec::new(), decided_by: Vec::new(), ruling: None };
    match ruling(program, case) {
        Ok(ruling) => {
            result.faults = compare(case, &ruling);
            result.decided_by.clone_from(&ruling.deciding);
            result.ruling = Some(ruling);
        }
        Err(fault) => result.faults.push(fault),
    }
    result
}

fn ruling(program: &Program, case: &Case) -> Result<Ruling, String> {
    let Some(date) = case.facts.test_date() else {
        return Err("the case has no date".to_owned());
    };
    let selection = Selection { known_on: case.known_on, takes: case.takes.clone(), ..Selection::on(date) };
    let flat = select(program, &selection).map_err(|error: SelectionError| error.to_string())?;
    judge(&flat, program, &case.facts).map_err(|error: JudgeError| error.to_string())
}

fn compare(case: &Case, ruling: &Ruling) -> Vec<String> {
    let mut faults = Vec::new();
    let mut expected = case.expected.clone();
    let mut possible: Vec<String> = ruling.possible.iter().map(|verdict| verdict.name.clone()).collect();
    expected.sort();
    possible.sort();
    if expected != possible {
        let by = if ruling.deciding.is_empty() { String::new() } else { format!(" by {}", ruling.deciding.join(", ")) };
        faults.push(format!("expected {}, ruled {}{by}", expected.join(" or "), possible.join(" or ")));
    }
    if let Some(by) = &case.by
        && !ruling.deciding.contains(by)
    {
        let found = if ruling.deciding.is_empty() { "no clause".to_owned() } else { ruling.deciding.join(", ") };
        faults.push(format!("expected to be decided by {by}, was decided by {found}"));
    }
    for (kind, expected) in &case.brings {
        let states = || ruling.consequences.iter().filter(|it| it.kind == *kind).map(|it| it.state);
        let found = match (states().any(|it| it == Standing::Open), states().any(|it| it == Standing::NotKnown)) {
            (true, _) => "does",
            (false, true) => "perhaps does",
            (false, false) => "does not",
        };
        if found != if *expected { "does" } else { "does not" } {
            let wanted = if *expected { "to follow" } else { "not to follow" };
            faults.push(format!("expected {} {wanted}; it {found}", kind.word()));
        }
    }
    if let Some(expected) = case.is_due
        && ruling.due.due != if expected { Due::Yes } else { Due::No }
    {
        let wanted = if expected { "due" } else { "not due" };
        faults.push(format!("expected to be {wanted}, was found: {}", ruling.due.due.word()));
    }
    faults
}
