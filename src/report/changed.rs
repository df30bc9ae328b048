//! What differs between two flat programs, in sentences: between versions of one program, between readings of a question.
//! What differs is calculated by `analysis::compare`.

use super::compare::{Change, run};
use super::warning::percent;
use crate::analysis::compare;
use crate::model::Date;
use crate::program::declared::Question;
use crate::program::dump::dump;
use crate::program::{Epoch, Flat, Program, Selection, Under, epochs, select};
use crate::wording::wrap::joined;

/// So many descriptions of vehicles are told of one change; there are more where the law is many-cornered.
const TOLD: usize = 3;

/// What changed from one day on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Changed {
    /// The first day of the new law.
    pub from: Date,
    /// In sentences; at least one.
    pub says: Vec<String>,
}

/// The vehicles of a change and what they get, in a sentence.
#[must_use]
pub fn sentence(change: &Change, later: &str) -> String {
    let all: Vec<String> = change.described.iter().map(|it| joined(&it.conditions, "and")).collect();
    let whom = match all.as_slice() {
        [] => "vehicles".to_owned(),
        [one] if one.is_empty() => "every vehicle".to_owned(),
        _ => {
            let told: Vec<&str> = all.iter().take(TOLD).map(String::as_str).collect();
            let more = match all.len().saturating_sub(TOLD) {
                0 => String::new(),
                1 => "; and one more kind".to_owned(),
                more => format!("; and {more} more kinds"),
            };
            format!("where {}{more}", told.join("; or where "))
        }
    };
    format!("*{}* {later} *{}* ({}): {whom}.", change.from, change.to, percent(change.share_millionths))
}

/// What differs between two flat programs, a sentence a change; none: proven equal. With a reason where it cannot be told.
fn differences(one: &Flat, other: &Flat, later: &str) -> Result<Vec<String>, String> {
    let comparison = compare(one, other).map_err(|error| error.to_string())?;
    let epoch = Epoch { from: other.as_of, through: other.as_of };
    let run = run(epoch, one, &comparison);
    Ok(run.changes.iter().map(|change| sentence(change, later)).collect())
}

/// What changed at each border of the versions of a program, in force on both sides; the same vehicles on the new day under
/// the old law and under the new one. A border at which only the year turns is none of the law.
#[must_use]
pub fn versions(program: &Program) -> Vec<Changed> {
    let all = epochs(program);
    let mut changed = Vec::new();
    for (before, after) in all.iter().zip(all.iter().skip(1)) {
        let visit = Selection::on(after.from);
        let old = Selection { as_of: before.through, ..visit.clone() };
        let (Ok(old), Ok(new)) = (select(program, &old), select(program, &visit)) else { continue };
        if !old.in_force.is_yes() || !new.in_force.is_yes() {
            continue;
        }
        // Ages and parities turn with the year, the law does not: the same vehicle on the same day is judged as before.
        if dump(&old) == dump(&new) {
            continue;
        }
        let says = match differences(&old, &new, "becomes") {
            Ok(list) if list.is_empty() => vec!["The text changes, and no outcome does.".to_owned()],
            Ok(list) => list,
            Err(error) => vec![format!("What changes is not told: {error}.")],
        };
        changed.push(Changed { from: after.from, says });
    }
    changed
}

/// What each reading of a question changes on a day, against the one that is taken, or the first where it is open.
#[must_use]
pub fn readings(program: &Program, question: &Question, day: Date) -> Vec<String> {
    let ids: Vec<&str> = question.readings.iter().map(|(id, _, _)| id.as_str()).collect();
    let under = |reading: &str| {
        let takes = vec![Under { name: question.id.clone(), value: reading.to_owned() }];
        select(program, &Selection { takes, ..Selection::on(day) })
    };
    let Some(base) = question.taken.and_then(|at| ids.get(at)).or_else(|| ids.first()).copied() else {
        return Vec::new();
    };
    let Ok(taken) = under(base) else { return Vec::new() };
    let mut says = Vec::new();
    for other in ids.iter().filter(|id| **id != base) {
        let Ok(read) = under(other) else { continue };
        let lead = format!("Read as {other} and not as {base}:");
        match differences(&taken, &read, "becomes") {
            Ok(list) if list.is_empty() => says.push(format!("{lead} no outcome changes on {day}.")),
            Ok(list) => says.extend(list.into_iter().map(|one| format!("{lead} {one}"))),
            Err(error) => says.push(format!("{lead} what changes is not told: {error}.")),
        }
    }
    says
}
