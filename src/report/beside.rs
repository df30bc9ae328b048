//! Two versions of a program side by side: what stands in both, what was changed, what one of them alone has; in sentences and
//! in the words of the files, eighty columns or a page.

use super::compare::Change;
use super::pages::{Told, blocks};
use crate::program::{Flat, Program};
use crate::source::Source;
use crate::wording::wrap::wrapped;
use serde::Serialize;

/// One of the two.
#[derive(Debug, Clone, Copy)]
pub struct Version<'p> {
    /// The program.
    pub program: &'p Program,
    /// Its file.
    pub source: &'p Source,
    /// Its law on the day that is shown.
    pub flat: &'p Flat,
    /// What it is called: the file, or the program with a day.
    pub name: &'p str,
}

/// A part of the law, on either side.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Row {
    /// What it is: `clause lamp`, `Vehicles left out`.
    pub part: String,
    /// `same`, `changed`, `first alone` or `second alone`.
    pub mark: &'static str,
    /// What the first says, a line each.
    pub first: Vec<String>,
    /// What the second says.
    pub second: Vec<String>,
}

/// Two versions side by side.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Beside {
    /// What the first is called, with its day.
    pub first: String,
    /// The second.
    pub second: String,
    /// What differs in outcome, in sentences; none: proven equal.
    pub changes: Vec<String>,
    /// The parts, in the order of a reader's questions.
    pub rows: Vec<Row>,
}

/// Puts two versions side by side; `changes` is what was calculated of them.
#[must_use]
pub fn beside(first: Version<'_>, second: Version<'_>, changes: &[Change]) -> Beside {
    let ones = blocks(first.program, first.source, first.flat);
    let mut others = blocks(second.program, second.source, second.flat);
    let mut rows = Vec::new();
    // What is the very same on both sides goes first, so that a change of one of several of a kind is seen as one.
    let mut left: Vec<&Told> = Vec::new();
    let mut pairs: Vec<(usize, Row)> = Vec::new();
    for (at, one) in ones.iter().enumerate() {
        match others.iter().position(|other| other == one) {
            Some(place) => {
                others.remove(place);
                let lines = one.lines.clone();
                pairs.push((at, Row { part: one.part.clone(), mark: "same", first: lines.clone(), second: lines }));
            }
            None => left.push(one),
        }
    }
    for one in left {
        let at = ones.iter().position(|known| known == one).unwrap_or(0);
        let row = match others.iter().position(|other| other.part == one.part) {
            Some(place) => {
                let other = others.remove(place);
                Row { part: one.part.clone(), mark: "changed", first: one.lines.clone(), second: other.lines }
            }
            None => Row { part: one.part.clone(), mark: "first alone", first: one.lines.clone(), second: Vec::new() },
        };
        pairs.push((at, row));
    }
    pairs.sort_by_key(|(at, _)| *at);
    rows.extend(pairs.into_iter().map(|(_, row)| row));
    let alone = |it: Told| Row { part: it.part, mark: "second alone", first: Vec::new(), second: it.lines };
    rows.extend(others.into_iter().map(alone));
    let name = |version: Version<'_>| format!("{}, law of {}", version.name, version.flat.as_of);
    let changes = changes.iter().map(|change| super::changed::sentence(change, "becomes")).collect();
    Beside { first: name(first), second: name(second), changes, rows }
}

/// Columns of each side.
const SIDE: usize = 38;

/// As text of eighty columns: what is the same is named, what differs stands in two columns.
#[must_use]
pub fn text(beside: &Beside) -> String {
    let mut out = two(std::slice::from_ref(&beside.first), std::slice::from_ref(&beside.second));
    out.push('\n');
    if beside.changes.is_empty() {
        out.push_str("Proven equal: every vehicle that can exist gets the same outcome.\n");
    }
    for change in &beside.changes {
        out.push_str(&wrapped("- ", None, change));
    }
    let same: Vec<&str> = beside.rows.iter().filter(|row| row.mark == "same").map(|row| row.part.as_str()).collect();
    if !same.is_empty() {
        let mut counted: Vec<(String, usize)> = Vec::new();
        for part in same {
            match counted.iter_mut().find(|(known, _)| known == part) {
                Some((_, count)) => *count += 1,
                None => counted.push((part.to_owned(), 1)),
            }
        }
        let named =
            |(part, count): &(String, usize)| if *count == 1 { part.clone() } else { format!("{part} ({count})") };
        let named: Vec<String> = counted.iter().map(named).collect();
        out.push_str(&format!("\n{}", wrapped("The same in both: ", Some(2), &named.join("; "))));
    }
    for row in beside.rows.iter().filter(|row| row.mark != "same") {
        out.push_str(&format!("\n{} ({})\n", row.part, row.mark));
        out.push_str(&two(&row.first, &row.second));
    }
    out
}

/// Lines in two columns.
fn two(first: &[String], second: &[String]) -> String {
    let columns = |lines: &[String]| lines.iter().flat_map(|line| narrow(line)).collect::<Vec<String>>();
    let (first, second) = (columns(first), columns(second));
    let mut out = String::new();
    for at in 0..first.len().max(second.len()) {
        let of = |side: &[String]| side.get(at).cloned().unwrap_or_default();
        let (one, other) = (of(&first), of(&second));
        let blanks = " ".repeat(SIDE.saturating_sub(one.chars().count()));
        out.push_str(format!("{one}{blanks} | {other}").trim_end());
        out.push('\n');
    }
    out
}

/// A line broken at its blanks into lines of one side, each further one indented by two more; a longer word is cut.
fn narrow(line: &str) -> Vec<String> {
    let indent: String = line.chars().take_while(|it| *it == ' ').collect();
    let mut lines = Vec::new();
    let mut now = indent.clone();
    for word in line.split_whitespace() {
        let mut word: Vec<char> = word.chars().collect();
        let is_begun = now.chars().any(|it| it != ' ');
        if is_begun && now.chars().count() + 1 + word.len() > SIDE {
            lines.push(std::mem::replace(&mut now, format!("{indent}  ")));
        } else if is_begun {
            now.push(' ');
        }
        while now.chars().count() + word.len() > SIDE {
            let room = SIDE.saturating_sub(now.chars().count()).max(1);
            let rest = word.split_off(room.min(word.len()));
            now.extend(word);
            lines.push(std::mem::replace(&mut now, format!("{indent}  ")));
            word = rest;
        }
        now.extend(word);
    }
    lines.push(now);
    lines
}
