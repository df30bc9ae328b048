//! The programs side by side, as data: what each is, what its lines rest on, which questions stand open, what its limits
//! say by model year. Tables, pages and the coverage matrix are made of it. It reads programs only, and decides nothing.

use super::firmness::deciding_parts;
use crate::evaluate::Walk;
use crate::model::{Date, Fact, Snapshot, Value, spec};
use crate::program::block::{Allowance, Turn};
use crate::program::{Block, Condition, FactRef, Flat, Given, Item, Program, Selection, Test, Window};
use crate::program::{epochs, select, variant_of};
use crate::ruling::laws;
use crate::wording::words;
use crate::wording::wrap::{joined, wrapped};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Model years that charts show.
pub const YEARS: (i64, i64) = (1990, 2030);

/// One program in the list of programs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Row {
    /// Its id, as the file writes it.
    pub id: String,
    /// Title.
    pub title: String,
    /// Who runs it.
    pub authority: String,
    /// `checked`, `digest-checked`, `draft` or `withdrawn`.
    pub standing: &'static str,
    /// When the file was held against what, as it says.
    pub reviewed: Option<Reviewed>,
    /// Announced changes.
    pub changes: Vec<Change>,
    /// Whether it is a part that others adopt, and no program by itself.
    pub adopted_only: bool,
    /// Dates in force, both ends included.
    pub in_force: Vec<Span>,
    /// Programs it adopts.
    pub adopts: Vec<String>,
    /// Its file.
    pub file: String,
    /// Parts that decide, drafts left out: dates in force, coverage, the count and its excuses, rows of limits, lines of
    /// clauses, relabellings, topics without a clause.
    pub lines: usize,
    /// The same by what they rest on at their weakest: `law, read` and how many; `not read` where the text was not seen.
    pub lines_by_basis: BTreeMap<String, usize>,
    /// The last day on which one of its sources was read.
    pub last_read: Option<String>,
    /// Questions without a taken reading.
    pub open_questions: Vec<String>,
    /// Worked cases.
    pub cases: usize,
}

/// When a file was held against what.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reviewed {
    /// The day.
    pub on: String,
    /// Against what.
    pub against: String,
}

/// An announced change of a program.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Change {
    /// Its id, as the file writes it.
    pub change: String,
    /// `adopted`, `reported` or `proposed`.
    pub kind: &'static str,
    /// In words.
    pub text: String,
    /// The day it is announced for, and the last on which it is told.
    pub dates: Span,
    /// What it could turn, in words: `pass into fail`.
    pub could_turn: Vec<String>,
    /// What it rests on, in words.
    pub law: Vec<String>,
    /// Whether the file keeps clauses of it as drafts.
    pub drafts: bool,
}

impl Change {
    /// In one line, `readiness-2025, adopted for 2025-10-01: …`
    #[must_use]
    pub fn words(&self) -> String {
        let from = self.dates.from.as_ref().map(|day| format!(" for {day}")).unwrap_or_default();
        let through = self.dates.through.as_ref().map(|day| format!(", told through {day}")).unwrap_or_default();
        let turns = self.could_turn.join("; ");
        let text = self.text.trim_end_matches('.');
        format!("{}, {}{from}{through}: {text}. It could turn {turns}.", self.change, self.kind)
    }
}

/// Announced changes, by the day they are announced for.
fn changes(program: &Program) -> Vec<Change> {
    let day = |date: Option<Date>| date.map(|date| date.to_string());
    let mut list: Vec<(Option<Date>, Change)> = Vec::new();
    for block in &program.blocks {
        let Item::Change { id, kind, text, turns } = &block.item else { continue };
        let turn =
            |turn: &Turn<String>| format!("{} into {}", joined(&turn.could_turn, "or"), joined(&turn.into, "or"));
        let change = Change {
            change: id.clone(),
            kind: kind.word(),
            text: text.clone(),
            dates: Span { from: day(block.window.from), through: day(block.window.through) },
            could_turn: turns.iter().map(turn).collect(),
            law: laws(&program.sources, &block.basis).iter().map(words::law).collect(),
            drafts: program.blocks.iter().any(|other| other.change.as_ref() == Some(id)),
        };
        list.push((block.window.from, change));
    }
    list.sort_by(|a, b| (a.0, &a.1.change).cmp(&(b.0, &b.1.change)));
    list.into_iter().map(|(_, change)| change).collect()
}

/// Dates, both ends included.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Span {
    /// First day; none: from the beginning.
    pub from: Option<String>,
    /// Last day; none: open.
    pub through: Option<String>,
}

impl Row {
    /// The row of a program; `file` is the name of its file.
    #[must_use]
    pub fn of(program: &Program, file: &str) -> Row {
        let mut windows: Vec<Window> =
            program.blocks.iter().filter(|it| it.item == Item::InForce && !it.draft).map(|it| it.window).collect();
        windows.sort();
        let day = |date: Option<Date>| date.map(|date| date.to_string());
        let bases = deciding_parts(program);
        let mut lines_by_basis = BTreeMap::new();
        for basis in &bases {
            *lines_by_basis.entry(basis.clone()).or_default() += 1;
        }
        let open = program.questions.iter().filter(|question| question.taken.is_none());
        Row {
            id: program.id.clone(),
            title: program.title.clone(),
            authority: program.authority.clone(),
            standing: program.standing.word(),
            reviewed: program
                .reviewed
                .as_ref()
                .map(|reviewed| Reviewed { on: reviewed.on.to_string(), against: reviewed.against.clone() }),
            changes: changes(program),
            adopted_only: program.adopted_only,
            in_force: windows.iter().map(|it| Span { from: day(it.from), through: day(it.through) }).collect(),
            adopts: program.adopted.iter().map(|adopted| adopted.program.clone()).collect(),
            file: file.to_owned(),
            lines: bases.len(),
            lines_by_basis,
            last_read: day(last_read(program)),
            open_questions: open.map(|question| question.id.clone()).collect(),
            cases: program.cases.len(),
        }
    }

    /// The dates in force in words.
    #[must_use]
    pub fn dates(&self) -> String {
        let spans: Vec<String> = self
            .in_force
            .iter()
            .map(|span| match (&span.from, &span.through) {
                (Some(from), Some(through)) => format!("{from} through {through}"),
                (Some(from), None) => format!("from {from}"),
                (None, Some(through)) => format!("through {through}"),
                (None, None) => "always".to_owned(),
            })
            .collect();
        spans.join(", ")
    }
}

/// The rows as text, eighty columns.
#[must_use]
pub fn text(rows: &[Row]) -> String {
    let mut out = String::new();
    let (parts, programs): (Vec<&Row>, Vec<&Row>) = rows.iter().partition(|row| row.adopted_only);
    for row in programs {
        let standing = if row.standing == "checked" { String::new() } else { format!("; {}", row.standing) };
        out.push_str(&wrapped(&format!("{:<18}", row.id), None, &format!("{} ({}{standing})", row.title, row.dates())));
        for change in &row.changes {
            out.push_str(&wrapped(&format!("{:<18}", ""), None, &format!("change {}", change.words())));
        }
    }
    if !parts.is_empty() {
        out.push_str("\nParts that programs adopt, and no programs by themselves\n");
    }
    for row in parts {
        out.push_str(&wrapped(&format!("{:<18}", row.id), None, &row.title));
    }
    out
}

/// The last day on which one of a program's sources was read.
#[must_use]
pub fn last_read(program: &Program) -> Option<Date> {
    program.sources.iter().filter_map(|source| source.on).max()
}

/// The flat program that pages and tables show: on the day its sources were last read, or, where nothing is in force then,
/// in the last run of dates that is. `None` for a program that is never in force.
#[must_use]
pub fn shown_flat(program: &Program) -> Option<Flat> {
    let on = |day: Date| select(program, &Selection::on(day)).ok().filter(|flat| flat.in_force.is_yes());
    last_read(program).and_then(on).or_else(|| epochs(program).iter().rev().find_map(|epoch| on(epoch.from)))
}

/// A row of a limit by model year.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LimitShown {
    /// Id of the limit.
    pub limit: String,
    /// What the row allows, in words.
    pub allows: String,
    /// What else the row turns on besides the model year, in words.
    pub besides: Vec<String>,
    /// Whether its text was not seen.
    pub is_unread: bool,
    /// Runs of model years that the row holds for, within [`YEARS`]: first, last, and whether it may turn on other facts.
    pub years: Vec<(i64, i64, bool)>,
}

/// The limits of a flat program by model year.
#[must_use]
pub fn limits(flat: &Flat) -> Vec<LimitShown> {
    let mut shown = Vec::new();
    for limit in &flat.limits {
        for row in &limit.rows {
            let mut years: Vec<(i64, i64, bool)> = Vec::new();
            for year in YEARS.0..=YEARS.1 {
                let mut snapshot = Snapshot::default();
                snapshot.set(Fact::ModelYear, Value::Number(year));
                let Ok(given) = Given::of(flat, &snapshot) else { continue };
                let truth = Walk::new(flat, &given, &[]).truth(&row.condition);
                if truth.is_false() {
                    continue;
                }
                match years.last_mut() {
                    Some((_, last, open)) if *last + 1 == year && *open == truth.is_unknown() => *last = year,
                    _ => years.push((year, year, truth.is_unknown())),
                }
            }
            shown.push(LimitShown {
                limit: limit.id.clone(),
                allows: allowance(&row.limit),
                besides: besides(flat, &row.condition),
                is_unread: row.limit == Allowance::NotRead,
                years,
            });
        }
    }
    shown
}

/// The parts of a condition that are not about the model year: words of a fact and readings of a question as they are
/// written, of anything else the names of the facts.
fn besides(flat: &Flat, condition: &Condition<usize>) -> Vec<String> {
    match condition {
        Condition::All(parts) => parts.iter().flat_map(|part| besides(flat, part)).collect(),
        Condition::Test(Test::Word { fact: FactRef::Known(fact), words }) => {
            let told = |wanted: u64| -> Vec<&str> {
                let all = fact.words().iter().copied();
                all.filter(|word| fact.word_bit(word).is_some_and(|bit| bit & wanted != 0)).collect()
            };
            let (those, others) = (told(*words), told(!words));
            let name = spec(*fact).name;
            if others.len() < those.len() {
                vec![format!("{name} is not {}", others.join(" or "))]
            } else {
                vec![format!("{name} is {}", those.join(" or "))]
            }
        }
        Condition::Test(Test::Reading { question, reading }) => {
            let asked = flat.questions.get(*question);
            let words =
                asked.and_then(|asked| Some(format!("{} is read as {}", asked.id, asked.readings.get(*reading)?)));
            words.into_iter().collect()
        }
        other => {
            let mut facts = BTreeSet::new();
            other.each_test(&mut |test| {
                if let Test::Word { fact: FactRef::Known(fact), .. } | Test::Number { fact: FactRef::Known(fact), .. } =
                    test
                    && *fact != Fact::ModelYear
                {
                    facts.insert(spec(*fact).name);
                }
            });
            facts.into_iter().map(|name| format!("by {name}")).collect()
        }
    }
}

/// What a limit row allows, in words.
#[must_use]
pub fn allowance(allowance: &Allowance) -> String {
    match allowance {
        Allowance::AtMost { count: 0, .. } => "none incomplete".to_owned(),
        Allowance::AtMost { count, only: None } => format!("at most {count} incomplete"),
        Allowance::AtMost { count, only: Some(only) } => {
            let names: Vec<&str> = only.iter().map(|monitor| monitor.name()).collect();
            format!("at most {count} incomplete, only {}", names.join(", "))
        }
        Allowance::AtLeastComplete(count) => format!("at least {count} complete"),
        Allowance::NotRead => "number not seen".to_owned(),
    }
}

/// A thing of a program with the runs of dates in which it has a version.
#[must_use]
pub fn versions(program: &Program) -> Vec<(String, Vec<Window>)> {
    let name = |block: &Block| match &block.item {
        Item::InForce => Some("in force".to_owned()),
        Item::Covers(_) => Some("covers".to_owned()),
        Item::LeavesOut { word, .. } => Some(word.words().to_owned()),
        item => variant_of(item).map(|variant| variant.shown()),
    };
    let mut list: Vec<(String, Vec<Window>)> = Vec::new();
    for block in program.blocks.iter().filter(|block| !block.draft) {
        let Some(name) = name(block) else { continue };
        match list.iter_mut().find(|(known, _)| *known == name) {
            Some((_, windows)) => windows.push(block.window),
            None => list.push((name, vec![block.window])),
        }
    }
    for (_, windows) in &mut list {
        windows.sort();
        windows.dedup();
    }
    list
}
