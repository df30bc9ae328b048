//! Rulings under many programs as a table: one line a program, eighty columns.

use crate::ruling::Ruling;
use std::fmt::Write;

/// Widths of the columns: program, verdict, what decides, basis, questions.
const WIDTHS: [usize; 4] = [18, 16, 20, 17];

/// The table.
#[must_use]
pub fn table<'a>(rulings: impl IntoIterator<Item = &'a Ruling>) -> String {
    let mut out = String::new();
    line(&mut out, ["program", "verdict", "decided by", "basis"], "question");
    for ruling in rulings {
        let verdict = if ruling.verdict == "undecided" && ruling.provided.is_some() {
            "undecided *".to_owned()
        } else if ruling.so_far_as_read.is_empty() {
            ruling.verdict.clone()
        } else {
            format!("{} **", ruling.verdict)
        };
        let decided = decided_by(ruling);
        let basis = ruling
            .grounds
            .iter()
            .find(|ground| decided.split(' ').next() == Some(ground.clause.as_str()))
            .map_or_else(|| weakest(ruling), |ground| ground.basis.words());
        let question = if ruling.questions.is_empty() { "no" } else { "matters" };
        line(&mut out, [&ruling.program, &verdict, &decided, &basis], question);
    }
    out
}

/// Marks that the table uses, in words.
#[must_use]
pub fn legend() -> &'static str {
    "*  would be one outcome if everything sound that is not known is so\n\
     ** so far as read: a text that exists was not seen\n"
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

/// With nothing against the vehicle: whether what is said leans on a weak text.
fn weakest(ruling: &Ruling) -> String {
    ruling.weak.first().map_or("-".to_owned(), |weak| weak.basis.words())
}

fn line(out: &mut String, cells: [&str; 4], last: &str) {
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
