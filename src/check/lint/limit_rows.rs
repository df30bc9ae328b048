//! Rows of a limit must be disjoint, and reach every vehicle that its clauses concern. Looked at by enumerating the
//! classes of the facts that rows, coverage and clauses mention; where that is too many, the exact analysis tells.

use super::is_own;
use super::vehicles::{Axes, Vehicle, holds, shown};
use crate::diagnostic::Diagnostic;
use crate::program::flat::{FlatLimitRow, Limit};
use crate::program::{Condition, Epoch, Flat, Program, Test};
use std::collections::BTreeSet;

pub(super) fn lint(program: &Program, flats: &[(Epoch, Flat)], found: &mut Vec<Diagnostic>) {
    let mut told: BTreeSet<(&'static str, String)> = BTreeSet::new();
    for (epoch, flat) in flats {
        for (place, limit) in flat.limits.iter().enumerate() {
            let Some(row) = limit.rows.iter().find(|row| is_own(program, &row.origin)) else { continue };
            if let Some((first, second, vehicle)) = overlap(flat, limit)
                && told.insert(("check/limit-overlap", limit.id.clone()))
            {
                let message = format!("two rows of {} concern the same vehicle on {}", name(limit), epoch.from);
                let diagnostic = Diagnostic::finding("check/limit-overlap", second.origin.span, message);
                let diagnostic = diagnostic.also(first.origin.span, "the other row").note(example(flat, &vehicle));
                found.push(diagnostic.about(&limit.id).help("part them, so that each vehicle has one row"));
            }
            if let Some(vehicle) = hole(flat, place, limit)
                && told.insert(("check/limit-hole", limit.id.clone()))
            {
                let message = format!("no row of {} concerns some covered vehicles on {}", name(limit), epoch.from);
                let diagnostic = Diagnostic::finding("check/limit-hole", row.origin.span, message);
                let help =
                    "add a row for them, be it `not read`: without one they are neither within the limit nor over it";
                found.push(diagnostic.note(example(flat, &vehicle)).about(&limit.id).help(help));
            }
        }
    }
}

fn name(limit: &Limit) -> String {
    crate::program::Variant::Limit(&limit.id).shown()
}

fn example(flat: &Flat, vehicle: &Vehicle) -> String {
    format!("example vehicle: {}", shown(flat, vehicle))
}

fn overlap<'a>(flat: &Flat, limit: &'a Limit) -> Option<(&'a FlatLimitRow, &'a FlatLimitRow, Vehicle)> {
    let mut axes = Axes::new();
    limit.rows.iter().for_each(|row| axes.add(flat, &row.condition));
    let rows = |vehicle: &Vehicle, wanted: bool| {
        let fits = limit.rows.iter().filter(move |row| {
            let holds = holds(flat, &row.condition, vehicle);
            if wanted { holds == Some(true) } else { holds != Some(false) }
        });
        fits.collect::<Vec<_>>()
    };
    let vehicle = axes.search(&BTreeSet::new(), &|vehicle| rows(vehicle, false).len() > 1)?;
    match rows(&vehicle, true).as_slice() {
        [first, second, ..] => Some((first, second, vehicle)),
        _ => None,
    }
}

/// A vehicle that is surely covered and concerned, and that surely no row concerns.
fn hole(flat: &Flat, place: usize, limit: &Limit) -> Option<Vehicle> {
    let mut axes = Axes::new();
    limit.rows.iter().for_each(|row| axes.add(flat, &row.condition));
    let rows_turn_on = axes.names();
    flat.covers.iter().for_each(|covers| axes.add(flat, &covers.item));
    flat.left_out.iter().for_each(|out| axes.add(flat, &out.condition));
    let users: Vec<_> = flat.lines.iter().filter(|line| uses(flat, &line.unmet_where, place)).collect();
    users.iter().for_each(|line| axes.add(flat, &line.concerns));
    let perhaps = |vehicle: &Vehicle| {
        limit.rows.iter().all(|row| holds(flat, &row.condition, vehicle) != Some(true))
            && flat.covers.iter().any(|covers| holds(flat, &covers.item, vehicle) != Some(false))
            && flat.left_out.iter().all(|out| holds(flat, &out.condition, vehicle) != Some(true))
            && users.iter().any(|line| {
                // What the line itself requires beside the limit may part the vehicles too.
                holds(flat, &line.concerns, vehicle) != Some(false) && beside(flat, &line.unmet_where, vehicle)
            })
    };
    let vehicle = axes.search(&rows_turn_on, &perhaps)?;
    let surely = limit.rows.iter().all(|row| holds(flat, &row.condition, &vehicle) == Some(false))
        && flat.covers.iter().any(|covers| holds(flat, &covers.item, &vehicle) == Some(true))
        && flat.left_out.iter().all(|out| holds(flat, &out.condition, &vehicle) == Some(false))
        && users.iter().any(|line| holds(flat, &line.concerns, &vehicle) == Some(true));
    // Only what the rows turn on tells what is missing.
    surely.then(|| vehicle.into_iter().filter(|(axis, _)| rows_turn_on.contains(axis)).collect())
}

/// Whether the tests that stand beside the limit leave the vehicle in.
fn beside(flat: &Flat, condition: &Condition<usize>, vehicle: &Vehicle) -> bool {
    match condition {
        Condition::All(parts) => parts.iter().all(|part| holds(flat, part, vehicle) != Some(false)),
        _ => true,
    }
}

fn uses(flat: &Flat, condition: &Condition<usize>, limit: usize) -> bool {
    let mut found = false;
    condition.each_test(&mut |test| match test {
        Test::Limit { limit: used, .. } => found |= *used == limit,
        Test::Finding(place) => {
            found |= flat.findings.get(*place).is_some_and(|(_, condition)| uses(flat, condition, limit));
        }
        _ => {}
    });
    found
}
