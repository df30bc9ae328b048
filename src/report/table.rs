//! Rulings under many programs as a table: one line a program, eighty columns.

use super::{headline, words};
use crate::ruling::{Prospect, Ruling};
use std::fmt::Write;

/// Widths of the columns before the last: program, headline, what is missing for a pass.
const WIDTHS: [usize; 3] = [18, 18, 20];

/// The table: where the vehicle would pass, and what is missing; without what it has before it, the verdict.
#[must_use]
pub fn table<'a>(rulings: impl IntoIterator<Item = (&'a Ruling, Option<&'a Prospect>)>) -> String {
    let mut out = String::new();
    line(&mut out, ["program", "headline", "missing for a pass"], "weakest source");
    for (ruling, prospect) in rulings {
        let (mut word, missing) = match prospect {
            Some(prospect) => headline::missing(prospect),
            None => (ruling.verdict.clone(), "-".to_owned()),
        };
        if !ruling.so_far_as_read.is_empty() {
            word.push_str(" **");
        }
        if !ruling.questions.is_empty() {
            word.push_str(" ?");
        }
        if words::could_turn(ruling).is_some() || !ruling.changes.is_empty() {
            word.push_str(" !");
        }
        let weakest = ruling.weakest.map_or("-".to_owned(), |basis| basis.words());
        line(&mut out, [&ruling.program, &word, &missing], &within_a_line(&weakest));
    }
    out
}

/// Marks that the table uses, in words.
#[must_use]
pub fn legend() -> &'static str {
    "** so far as read: a text that exists was not seen, and could make it graver\n\
     ?  turns on a question of law, or would be otherwise under another reading\n\
     !  an announced change, or what the file cannot express, could turn it\n\
     Provisos: what is not known and taken as sound or ordinary; `judge` tells them.\n\
     The weakest source is that of all that the outcome leans on, dates included.\n"
}

fn line(out: &mut String, cells: [&str; 3], last: &str) {
    for (cell, width) in cells.into_iter().zip(WIDTHS) {
        let cell = fitted(cell, width - 1);
        let _ = write!(out, "{cell:<width$}");
    }
    out.push_str(last);
    out.push('\n');
}

/// The weakest source in the room that a line of eighty columns leaves: where kind, how seen and currency are too long
/// together, how it was seen gives way; the ruling itself says all three.
fn within_a_line(weakest: &str) -> String {
    const ROOM: usize = 24;
    let parts: Vec<&str> = weakest.split(", ").collect();
    match parts.as_slice() {
        [kind, _, currency] if weakest.chars().count() > ROOM => fitted(&format!("{kind}, {currency}"), ROOM),
        _ => weakest.to_owned(),
    }
}

fn fitted(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_owned();
    }
    text.chars().take(width - 1).chain(['…']).collect()
}
