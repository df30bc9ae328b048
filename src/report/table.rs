//! Rulings under many programs as a table: one line a program, eighty columns.

use super::words;
use crate::ruling::Ruling;
use std::fmt::Write;

/// Widths of the columns before the last: program, verdict, what decides.
const WIDTHS: [usize; 3] = [18, 21, 16];

/// The table.
#[must_use]
pub fn table<'a>(rulings: impl IntoIterator<Item = &'a Ruling>) -> String {
    let mut out = String::new();
    line(&mut out, ["program", "verdict", "decided by"], "weakest source");
    for ruling in rulings {
        let mut verdict = ruling.verdict.clone();
        if ruling.verdict == "undecided" && ruling.provided.is_some() {
            verdict.push_str(" *");
        }
        if ruling.possible.len() == 1 && !ruling.supposed().is_empty() {
            verdict.push_str(" +");
        }
        if !ruling.so_far_as_read.is_empty() {
            verdict.push_str(" **");
        }
        if !ruling.questions.is_empty() {
            verdict.push_str(" ?");
        }
        if words::could_turn(ruling).is_some() || !ruling.changes.is_empty() {
            verdict.push_str(" !");
        }
        let weakest = ruling.weakest.map_or("-".to_owned(), |basis| basis.words());
        line(&mut out, [&ruling.program, &verdict, &decided_by(ruling)], &weakest);
    }
    out
}

/// Marks that the table uses, in words.
#[must_use]
pub fn legend() -> &'static str {
    "*  would be one outcome if everything sound that is not known is so\n\
     +  if what the program presumes of the vehicle is so: the ruling names it\n\
     ** so far as read: a text that exists was not seen, and could make it graver\n\
     ?  turns on a question of law, or would be otherwise under another reading\n\
     !  an announced change, or what the file cannot express, could turn it\n\
     The weakest source is that of all that the outcome leans on, dates included.\n"
}

/// The clause that decides; of several the first, with how many more. Where it is not settled which, all that may.
fn decided_by(ruling: &Ruling) -> String {
    match (ruling.deciding.as_slice(), ruling.possible.as_slice()) {
        ([one], _) => one.clone(),
        ([first, others @ ..], _) => format!("{first} +{}", others.len()),
        ([], [_]) => match (ruling.grounds.as_slice(), ruling.alternatives.as_slice()) {
            ([ground, ..], _) => ground.clause.clone(),
            ([], [other, ..]) => other.clauses.join(" or "),
            ([], []) => "-".to_owned(),
        },
        ([], _) => "-".to_owned(),
    }
}

fn line(out: &mut String, cells: [&str; 3], last: &str) {
    for (cell, width) in cells.into_iter().zip(WIDTHS) {
        let cell = fitted(cell, width - 1);
        let _ = write!(out, "{cell:<width$}");
    }
    out.push_str(last);
    out.push('\n');
}

fn fitted(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_owned();
    }
    text.chars().take(width - 1).chain(['…']).collect()
}
