//! A program over all its epochs: warnings of neighbouring epochs joined, holes between versions, questions whose
//! readings never change a verdict.

use super::holes::{holes, together, warning};
use super::questions::{changes_nothing, near};
use super::{Warning, analyse_flat, reach};
use crate::diagram::Error;
use crate::diagram::forest::{Join, Node, TooLarge};
use crate::diagram::kernel::{Compiled, Nodes};
use crate::program::select::{Epoch, epochs};
use crate::program::{Flat, Origin, Program, Selection, Under, select};
use std::collections::BTreeMap;

/// Everything that can be said of a program, over every epoch; a warning that holds in several neighbouring epochs is
/// told once, with the dates.
///
/// # Errors
/// Where a diagram outgrows its budget.
pub fn analyse(program: &Program) -> Result<Vec<Warning>, Error> {
    let mut warnings: Vec<Warning> = Vec::new();
    let runs = epochs(program);
    let mut flats: Vec<(Epoch, Flat)> = Vec::new();
    for epoch in &runs {
        // A file that `check` passed can be selected on every date; one that cannot has been reported there.
        let Ok(flat) = select(program, &Selection::on(epoch.from)) else {
            continue;
        };
        for mut warning in analyse_flat(&flat)? {
            warning.from = epoch.from;
            warning.through = epoch.through;
            join(&mut warnings, warning);
        }
        flats.push((*epoch, flat));
    }
    keep_what_lasts(&flats, &mut warnings);
    keep_what_never_lived(&flats, &mut warnings);
    holes(&flats, &mut warnings)?;
    idle_questions(program, &flats, &mut warnings)?;
    Ok(warnings)
}

/// Adds a warning, or lengthens the same one of the epoch before.
fn join(warnings: &mut Vec<Warning>, warning: Warning) {
    let day_before = warning.from.yesterday().ok();
    let same = warnings.iter_mut().rev().find(|known| {
        known.code == warning.code
            && known.subject == warning.subject
            && known.message == warning.message
            && Some(known.through) == day_before
    });
    match same {
        Some(known) => known.through = warning.through,
        None => warnings.push(warning),
    }
}

/// Exemptions and their like die as the years go on: that of a window of ages, at the end. Told is what reaches nobody in
/// any epoch that has it.
fn keep_what_never_lived(flats: &[(Epoch, Flat)], warnings: &mut Vec<Warning>) {
    let all: Vec<Warning> = warnings.iter().filter(|it| reach::CODES.contains(&it.code)).cloned().collect();
    warnings.retain(|warning| {
        !reach::CODES.contains(&warning.code)
            || flats.iter().filter(|(_, flat)| flat.in_force.is_yes()).all(|(epoch, flat)| {
                let is_told = |it: &Warning| {
                    it.code == warning.code
                        && it.origin == warning.origin
                        && (it.from..=it.through).contains(&epoch.from)
                };
                !reach::rows(flat, warning.code).any(|row| Some(row) == warning.origin.as_ref())
                    || all.iter().any(is_told)
            })
    });
}

/// What never bites is worth telling where it still does not in the last epoch in force: with the date it died, or from
/// the beginning. A tier that later years bring to life is no warning,
/// nor is a question that mattered once.
fn keep_what_lasts(flats: &[(Epoch, Flat)], warnings: &mut Vec<Warning>) {
    let last = flats.iter().rev().find(|(_, flat)| flat.in_force.is_yes()).map(|(epoch, _)| epoch.through);
    let first = flats.iter().find(|(_, flat)| flat.in_force.is_yes()).map(|(epoch, _)| epoch.from);
    warnings.retain(|warning| {
        let idle = matches!(
            warning.code,
            "analysis/question-changes-nothing"
                | "analysis/row-reaches-nobody"
                | "analysis/never-unmet"
                | "analysis/never-decides"
                | "analysis/always-set-aside"
                | "analysis/concerns-nobody"
        );
        let always = warning.code != "analysis/question-changes-nothing" || Some(warning.from) == first;
        (!idle || Some(warning.through) == last) && always
    });
}

/// Questions of which a reading is taken although no reading changes any verdict in any epoch. The vehicles for which some
/// line turns on it are those of the last epoch that has any.
fn idle_questions(program: &Program, flats: &[(Epoch, Flat)], warnings: &mut Vec<Warning>) -> Result<(), Error> {
    let Some(((first, _), (last, _))) = flats.first().zip(flats.last()) else {
        return Ok(());
    };
    'questions: for question in program.questions.iter().filter(|question| question.taken.is_some()) {
        let mut nearest: Option<(Compiled, Node, &(Epoch, Flat))> = None;
        for at in flats.iter().rev().filter(|(_, flat)| flat.in_force.is_yes()) {
            let (epoch, flat) = at;
            for (place, (reading, _, _)) in question.readings.iter().enumerate() {
                if Some(place) == question.taken {
                    continue;
                }
                let takes = vec![Under { name: question.id.clone(), value: reading.clone() }];
                let selection = Selection { takes, ..Selection::on(epoch.from) };
                let Ok(other) = select(program, &selection) else { continue };
                if crate::program::dump::dump(&other) == crate::program::dump::dump(flat) {
                    continue;
                }
                let mut compiled = together(&[flat, &other])?;
                let [one, two] = compiled.programs.as_slice() else { continue };
                if one.ruled != two.ruled || flat.outcomes != other.outcomes {
                    continue 'questions;
                }
                if nearest.is_none() {
                    let (one, two) = (one.clone(), two.clone());
                    let vehicles = turned(&mut compiled, (flat, &one), (&other, &two))?;
                    nearest = (vehicles != Node::FALSE).then_some((compiled, vehicles, at));
                }
            }
        }
        let dates = (first.from, last.through);
        let (seen, near) = match &nearest {
            Some((compiled, vehicles, (epoch, flat))) => {
                let when = format!(", by the law of {}", epoch.from);
                (Some((compiled, flat)), near(*vehicles, &when))
            }
            None => (None, near(Node::FALSE, "")),
        };
        warnings.push(warning(changes_nothing(&question.id), dates, near, seen));
    }
    Ok(())
}

/// Where a line was written: program and place in its file.
type Place = (String, u32);

/// Vehicles that one program's lines, or its rows of those left out, treat otherwise than another's. What stands at one
/// place of the text is compared; what only one of them has, with nothing.
fn turned(compiled: &mut Compiled, one: (&Flat, &Nodes), other: (&Flat, &Nodes)) -> Result<Node, TooLarge> {
    let (first, second) = (by_place(compiled, one)?, by_place(compiled, other)?);
    let mut turned = Node::FALSE;
    for place in first.keys().chain(second.keys()) {
        let of = |nodes: &BTreeMap<Place, Node>| nodes.get(place).copied().unwrap_or(Node::FALSE);
        let differs = compiled.compiler.forest.join(Join::Differ, of(&first), of(&second))?;
        turned = compiled.compiler.forest.or(turned, differs)?;
    }
    compiled.compiler.forest.and(turned, compiled.exist)
}

fn by_place(compiled: &mut Compiled, (flat, nodes): (&Flat, &Nodes)) -> Result<BTreeMap<Place, Node>, TooLarge> {
    let rows = flat.left_out.iter().map(|row| &row.origin).zip(&nodes.left_out);
    let lines = flat.lines.iter().map(|line| &line.origin).zip(&nodes.unmet);
    let mut found: BTreeMap<Place, Node> = BTreeMap::new();
    for (Origin { program, span }, node) in rows.chain(lines) {
        let slot = found.entry((program.clone(), span.start)).or_insert(Node::FALSE);
        *slot = compiled.compiler.forest.or(*slot, *node)?;
    }
    Ok(found)
}
