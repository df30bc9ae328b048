//! Comparisons of two programs as text and JSON: in which runs of dates they rule alike, and which vehicles differ. What
//! differs is calculated elsewhere. Also whether a comparison holds nothing but changes that were meant.

use super::warning::{example_words, percent, vehicles};
use crate::analysis::{self, Comparison};
use crate::diagram::Example;
use crate::document::{Document, write};
use crate::model::Date;
use crate::program::{Block, Epoch, Flat, Program, Selection, epochs, select};
use crate::wording::wrap::wrapped;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::sync::Arc;

/// The format of the JSON form.
pub const FORMAT: &str = "wherefore-compare/1";

/// Two programs over runs of dates.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Compared {
    /// [`FORMAT`].
    pub format: String,
    /// The first, as it was asked for.
    pub first: String,
    /// The second.
    pub second: String,
    /// Whether nothing differs anywhere.
    pub equal: bool,
    /// Runs of dates on which the comparison is the same.
    pub runs: Vec<Run>,
}

/// A run of dates on which the comparison is the same.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Run {
    /// First day (of the visit, and of the law where no other is asked for).
    pub from: String,
    /// Last day.
    pub through: String,
    /// `outcome`, or `class` where the ladders differ.
    pub by: String,
    /// How many vehicles can be told apart, in decimal.
    pub vehicles: String,
    /// What differs, most vehicles first; nothing: proven equal.
    pub changes: Vec<Change>,
}

/// Vehicles with one verdict in the first program and another in the second.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Change {
    /// Verdict or class in the first.
    pub from: String,
    /// In the second.
    pub to: String,
    /// How many vehicles, in decimal.
    pub count: String,
    /// How many millionths of all, rounded down.
    pub share_millionths: u32,
    /// Which they are: descriptions that may overlap.
    pub described: Vec<Described>,
    /// Vehicles that no description holds, in decimal; more than 0 only where there would be too many descriptions.
    pub undescribed: String,
    /// One of the vehicles, as a snapshot document.
    pub example: serde_json::Value,
    /// The same in words.
    pub example_words: Vec<String>,
}

/// One description.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Described {
    /// Conditions that hold together, in the words of program files.
    pub conditions: Vec<String>,
    /// How many vehicles it holds, in decimal.
    pub count: String,
}

/// One side of a comparison.
#[derive(Debug, Clone)]
pub struct Side {
    /// The program.
    pub program: Arc<Program>,
    /// The law of this day, whatever the day of the visit.
    pub law_of: Option<Date>,
    /// Whether all drafts count as in force.
    pub drafts: bool,
    /// Drafts of this announced change count as in force.
    pub with: Option<String>,
}

/// The comparison on every run of days that has to be looked at: one day where one is asked for.
///
/// # Errors
/// With a sentence: a diagram outgrows its budget, or no law can be selected.
pub fn runs(first: &Side, second: &Side, as_of: Option<Date>) -> Result<Vec<Run>, String> {
    let days = match (as_of, first.law_of, second.law_of) {
        (Some(day), ..) => vec![Epoch { from: day, through: day }],
        (None, Some(one), Some(other)) => {
            let day = one.max(other);
            vec![Epoch { from: day, through: day }]
        }
        (None, ..) => every(first, second),
    };
    let mut runs: Vec<Run> = Vec::new();
    for epoch in days {
        let (one, other) = (flat(first, epoch.from)?, flat(second, epoch.from)?);
        let comparison = analysis::compare(&one, &other).map_err(|error| error.to_string())?;
        let run = run(epoch, &one, &comparison);
        match runs.last_mut() {
            Some(last) if last.says_the_same(&run) => last.through = run.through,
            _ => runs.push(run),
        }
    }
    Ok(runs)
}

/// Runs of days within which neither program changes.
fn every(first: &Side, second: &Side) -> Vec<Epoch> {
    let all: Vec<Epoch> =
        [first, second].iter().filter(|side| side.law_of.is_none()).flat_map(|side| epochs(&side.program)).collect();
    let mut starts: BTreeSet<Date> = all.iter().map(|epoch| epoch.from).collect();
    starts.extend(all.iter().filter_map(|epoch| epoch.through.tomorrow().ok()));
    for side in [first, second] {
        let counts = |block: &&Block| block.draft && (side.drafts || side.with.is_some() && side.with == block.change);
        starts.extend(side.program.blocks.iter().filter(counts).filter_map(|block| block.window.from));
    }
    let starts: Vec<Date> = starts.into_iter().collect();
    let spans = starts.iter().zip(starts.iter().skip(1));
    spans.filter_map(|(from, next)| Some(Epoch { from: *from, through: next.yesterday().ok()? })).collect()
}

/// The flat program of a side for a visit on a day.
///
/// # Errors
/// With a sentence: no law can be selected.
pub fn flat(side: &Side, visit: Date) -> Result<Flat, String> {
    let selection = Selection {
        as_of: side.law_of.unwrap_or(visit),
        drafts: side.drafts,
        change: side.with.clone(),
        ..Selection::on(visit)
    };
    select(&side.program, &selection).map_err(|error| error.to_string())
}

/// What is compared on a run of dates.
#[must_use]
pub fn run(epoch: Epoch, flat: &Flat, comparison: &Comparison) -> Run {
    let changes = comparison.changes.iter().map(|change| Change {
        from: change.from.clone(),
        to: change.to.clone(),
        count: change.count.to_string(),
        share_millionths: change.share,
        described: change
            .cover
            .cubes
            .iter()
            .map(|cube| Described { conditions: cube.conditions.clone(), count: cube.count.to_string() })
            .collect(),
        undescribed: change.cover.rest.to_string(),
        example: document(&change.example),
        example_words: example_words(flat, &change.example),
    });
    Run {
        from: epoch.from.to_string(),
        through: epoch.through.to_string(),
        by: if comparison.by_outcome { "outcome" } else { "class" }.to_owned(),
        vehicles: comparison.vehicles.to_string(),
        changes: changes.collect(),
    }
}

fn document(example: &Example) -> serde_json::Value {
    let document = Document { snapshot: example.snapshot.clone(), extra: Vec::new() };
    serde_json::from_str(&write(&document).to_json()).unwrap_or_default()
}

impl Run {
    /// Whether two neighbouring runs say the same but for the dates and the examples.
    #[must_use]
    pub fn says_the_same(&self, other: &Run) -> bool {
        self.by == other.by
            && self.vehicles == other.vehicles
            && self.changes.len() == other.changes.len()
            && self.changes.iter().zip(&other.changes).all(|(one, other)| one.is(other))
    }
}

impl Change {
    /// Whether it is the same change of the same vehicles.
    fn is(&self, other: &Change) -> bool {
        (&self.from, &self.to, &self.count, &self.described, &self.undescribed)
            == (&other.from, &other.to, &other.count, &other.described, &other.undescribed)
    }
}

/// Changes that were found and not meant: those of which the meant comparison holds no run, covering the same dates, with
/// the same vehicles changed in the same way.
#[must_use]
pub fn beyond<'f>(found: &'f Compared, meant: &Compared) -> Vec<(&'f Run, &'f Change)> {
    let covers = |run: &Run, wider: &Run| wider.by == run.by && wider.from <= run.from && run.through <= wider.through;
    let is_meant = |run: &Run, change: &Change| {
        meant.runs.iter().any(|wider| covers(run, wider) && wider.changes.iter().any(|known| known.is(change)))
    };
    let all = found.runs.iter().flat_map(|run| run.changes.iter().map(move |change| (run, change)));
    all.filter(|(run, change)| !is_meant(run, change)).collect()
}

/// The comparison as JSON, one line.
#[must_use]
pub fn json(compared: &Compared) -> String {
    serde_json::to_string(compared).unwrap_or_default() + "\n"
}

/// The comparison as text, eighty columns.
#[must_use]
pub fn text(compared: &Compared) -> String {
    let mut out = wrapped("", None, &format!("{} and {}", compared.first, compared.second));
    for run in &compared.runs {
        let by = if run.by == "class" { ", compared by class because the ladders differ" } else { "" };
        let dates = if run.from == run.through {
            format!("on {}", run.from)
        } else {
            format!("{} through {}", run.from, run.through)
        };
        out.push('\n');
        if run.changes.is_empty() {
            let what = format!("{dates}: proven equal{by}; every vehicle that can exist gets the same verdict");
            out.push_str(&wrapped("", Some(2), &what));
            continue;
        }
        let many = vehicles(&run.vehicles);
        out.push_str(&wrapped("", Some(2), &format!("{dates}: they differ{by}; {many} can be told apart")));
        run.changes.iter().for_each(|change| out.push_str(&change_text(change)));
    }
    out
}

/// One change as text.
#[must_use]
pub fn change_text(change: &Change) -> String {
    let share = percent(change.share_millionths);
    let head = format!("{} → {}: {}, {share}", change.from, change.to, vehicles(&change.count));
    let mut out = wrapped("  ", Some(4), &head);
    for described in &change.described {
        let words = described.conditions.join("; ");
        out.push_str(&wrapped("    - ", None, if words.is_empty() { "every vehicle" } else { &words }));
    }
    if change.undescribed != "0" {
        out.push_str(&wrapped("    - ", None, &format!("{} more, not described", vehicles(&change.undescribed))));
    }
    out.push_str(&wrapped("    ", Some(6), &format!("example vehicle: {}", change.example_words.join("; "))));
    out
}
