//! Rulings under many programs as a table: one line a program, eighty columns.

use crate::ruling::{Prospect, Ruling};
use crate::wording::{headline, words};
use std::fmt::Write;

/// Widths of the columns before the last: program, headline, what is missing for a pass.
const WIDTHS: [usize; 3] = [18, 18, 20];

/// The table: where the vehicle would pass, and what is missing; without what it has before it, the verdict.
#[must_use]
pub fn table<'a>(rulings: impl IntoIterator<Item = (&'a Ruling, Option<&'a Prospect>)>) -> String {
    let mut out = String::new();
    line(&mut out, ["program", "headline", "missing for a pass"], "weakest source");
    for (ruling, prospect) in rulings {
        let (mut word, missing) = headline::in_a_word(ruling, prospect);
        if !ruling.so_far_as_read.is_empty() {
            word.push_str(" **");
        }
        if !ruling.questions.is_empty() {
            word.push_str(" ?");
        }
        if words::could_turn(ruling).is_some() || !ruling.changes.is_empty() {
            word.push_str(" !");
        }
        let weakest = ruling.weakest.map_or("-".to_owned(), |basis| basis.spoken());
        line(&mut out, [&ruling.program, &word, &missing], &weakest);
    }
    out
}

/// Marks that the table uses, in words.
#[must_use]
pub fn legend() -> &'static str {
    "** by the rules seen so far: another may still stand in the way\n\
     ?  turns on a question of law, or would be otherwise under another reading\n\
     !  an announced change, or what the file cannot express, could turn it\n\
     Points to check: not known, and taken as sound or usual; `judge` names them.\n\
     The weakest source is that of all that the outcome leans on, dates included.\n"
}

/// The room that a line of eighty columns leaves for the last column.
const ROOM: usize = 24;

/// A row: a cell that is too long for its column goes on below, and no word is cut.
fn line(out: &mut String, cells: [&str; 3], last: &str) {
    let broken = |text: &str, width: usize| -> Vec<String> { pieces(text, width) };
    let columns: Vec<Vec<String>> = cells
        .into_iter()
        .zip(WIDTHS)
        .map(|(cell, width)| broken(cell, width - 1))
        .chain([broken(last, ROOM)])
        .collect();
    let height = columns.iter().map(Vec::len).max().unwrap_or(0);
    for row in 0..height {
        let mut text = String::new();
        for (column, width) in columns.iter().zip(WIDTHS.into_iter().chain([ROOM])) {
            let cell = column.get(row).map_or("", String::as_str);
            let _ = write!(text, "{cell:<width$}");
        }
        out.push_str(text.trim_end());
        out.push('\n');
    }
}

/// A text in lines of so many columns, broken at blanks; a word that is longer than a line is broken after its hyphens.
fn pieces(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut add = |part: &str, glue: &str| match lines.last_mut() {
        Some(line) if line.chars().count() + glue.len() + part.chars().count() <= width => {
            line.push_str(glue);
            line.push_str(part);
        }
        _ => lines.push(part.to_owned()),
    };
    for word in text.split(' ') {
        if word.chars().count() <= width {
            add(word, " ");
        } else {
            for (place, part) in word.split_inclusive('-').enumerate() {
                add(part, if place == 0 { " " } else { "" });
            }
        }
    }
    lines
}
