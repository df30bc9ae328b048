//! A program over all its epochs: findings of neighbouring epochs joined, holes between versions, questions whose
//! readings never change a verdict.

use super::{Finding, analyse_flat};
use crate::diagram::kernel::{Compiled, anything};
use crate::diagram::{BUDGET, Error};
use crate::model::Date;
use crate::program::select::{Epoch, epochs};
use crate::program::{Flat, Program, Selection, Under, select};
use std::collections::{BTreeMap, BTreeSet};

/// Everything that can be said of a program, over every epoch; a finding that holds in several neighbouring epochs is
/// told once, with the dates.
///
/// # Errors
/// Where a diagram outgrows its budget.
pub fn analyse(program: &Program) -> Result<Vec<Finding>, Error> {
    let mut findings: Vec<Finding> = Vec::new();
    let runs = epochs(program);
    let mut flats: Vec<(Epoch, Flat)> = Vec::new();
    for epoch in &runs {
        // A file that `check` passed can be selected on every date; one that cannot has been reported there.
        let Ok(flat) = select(program, &Selection::on(epoch.from)) else {
            continue;
        };
        for mut finding in analyse_flat(&flat)? {
            finding.from = epoch.from;
            finding.through = epoch.through;
            join(&mut findings, finding);
        }
        flats.push((*epoch, flat));
    }
    keep_what_lasts(&flats, &mut findings);
    holes(&flats, &mut findings);
    idle_questions(program, &flats, &mut findings)?;
    Ok(findings)
}

/// Adds a finding, or lengthens the same one of the epoch before.
fn join(findings: &mut Vec<Finding>, finding: Finding) {
    let day_before = finding.from.yesterday().ok();
    let same = findings.iter_mut().rev().find(|known| {
        known.code == finding.code
            && known.subject == finding.subject
            && known.message == finding.message
            && Some(known.through) == day_before
    });
    match same {
        Some(known) => known.through = finding.through,
        None => findings.push(finding),
    }
}

/// What never bites is worth telling where it still does not in the last epoch in force: with the date it died, or from
/// the beginning. A tier that later years bring to life is no finding,
/// nor is a question that mattered once.
fn keep_what_lasts(flats: &[(Epoch, Flat)], findings: &mut Vec<Finding>) {
    let last = flats.iter().rev().find(|(_, flat)| flat.in_force).map(|(epoch, _)| epoch.through);
    let first = flats.iter().find(|(_, flat)| flat.in_force).map(|(epoch, _)| epoch.from);
    findings.retain(|finding| {
        let idle = matches!(
            finding.code,
            "analysis/question-changes-nothing"
                | "analysis/row-reaches-nobody"
                | "analysis/never-unmet"
                | "analysis/never-decides"
                | "analysis/always-set-aside"
                | "analysis/concerns-nobody"
        );
        let always = finding.code != "analysis/question-changes-nothing" || Some(finding.from) == first;
        (!idle || Some(finding.through) == last) && always
    });
}

fn about(code: &'static str, subject: &str, dates: (Date, Date), message: String, help: &'static str) -> Finding {
    Finding {
        code,
        subject: subject.to_owned(),
        from: dates.0,
        through: dates.1,
        message,
        help,
        example: None,
        count: "0".to_owned(),
        share: 0,
        origin: None,
    }
}

/// Epochs in between on which nothing is in force, and clauses that are gone for a while and come back.
fn holes(flats: &[(Epoch, Flat)], findings: &mut Vec<Finding>) {
    let last = flats.iter().rposition(|(_, flat)| flat.in_force).unwrap_or(0);
    let first = flats.iter().position(|(_, flat)| flat.in_force).unwrap_or(0);
    for (epoch, flat) in flats.iter().take(last).skip(first).filter(|(_, flat)| !flat.in_force) {
        let message = format!("no version is in force from {} through {}", epoch.from, epoch.through);
        let help = "check the dates on both sides: both ends are included";
        findings.push(about("analysis/version-hole", &flat.program, (epoch.from, epoch.through), message, help));
    }
    let mut seen: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (place, (_, flat)) in flats.iter().enumerate() {
        let clauses: BTreeSet<&str> = flat.lines.iter().map(|line| line.clause.as_str()).collect();
        clauses.into_iter().for_each(|clause| seen.entry(clause).or_default().push(place));
    }
    for (clause, places) in seen {
        for (before, after) in places.iter().zip(places.iter().skip(1)).filter(|(before, after)| *before + 1 < **after)
        {
            let between = flats.get(before + 1..*after).unwrap_or_default();
            if !between.iter().any(|(_, flat)| flat.in_force) {
                continue;
            }
            let gone = between.first().zip(between.last());
            if let Some(((from, _), (through, _))) = gone {
                let dates = (from.from, through.through);
                let message = format!("clause `{clause}` has no version from {} through {}", dates.0, dates.1);
                let help = "check the dates on both sides: both ends are included";
                findings.push(about("analysis/version-hole", clause, dates, message, help));
            }
        }
    }
}

/// Questions of which a reading is taken although no reading changes any verdict in any epoch.
fn idle_questions(program: &Program, flats: &[(Epoch, Flat)], findings: &mut Vec<Finding>) -> Result<(), Error> {
    let Some((first, last)) = flats.first().zip(flats.last()) else {
        return Ok(());
    };
    for question in program.questions.iter().filter(|question| question.taken.is_some()) {
        let mut changes = false;
        'epochs: for (epoch, flat) in flats.iter().filter(|(_, flat)| flat.in_force) {
            for (place, (reading, _, _)) in question.readings.iter().enumerate() {
                if Some(place) == question.taken {
                    continue;
                }
                let takes = vec![Under { name: question.id.clone(), value: reading.clone() }];
                let selection = Selection { takes, ..Selection::on(epoch.from) };
                if select(program, &selection)
                    .is_ok_and(|other| crate::program::dump::dump(&other) != crate::program::dump::dump(flat))
                {
                    let other = select(program, &selection).map_err(|_| Error::Contradiction)?;
                    if !same(flat, &other)? {
                        changes = true;
                        break 'epochs;
                    }
                }
            }
        }
        if !changes {
            let message = format!("no verdict depends on how question `{}` is read", question.id);
            let help = "remove the question, or write what its readings change";
            let dates = (first.0.from, last.0.through);
            findings.push(about("analysis/question-changes-nothing", &question.id, dates, message, help));
        }
    }
    Ok(())
}

/// Whether two programs with one ladder rule alike on every vehicle that can exist.
fn same(one: &Flat, other: &Flat) -> Result<bool, Error> {
    let (given, with) = (anything(one)?, anything(other)?);
    let compiled = Compiled::of(&[(one, &given), (other, &with)], BUDGET)?;
    let mut roots = compiled.programs.iter().map(|nodes| nodes.ruled);
    Ok(one.outcomes == other.outcomes && roots.next() == roots.next())
}
