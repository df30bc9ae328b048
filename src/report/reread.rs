//! Sources that should be read again: read before a day, the weightiest first. The weight of a source is how large a part of
//! the covered vehicles that can be told apart the lines and limit rows decide that cite it, under the law of the day, summed
//! over its own program and all that adopt it; then how many parts that decide cite it, on whatever day (a line of a clause,
//! a row of a limit, any other deciding item).

use super::warning::percent;
use crate::analysis::warnings::decides_by_source;
use crate::model::Date;
use crate::program::block::Block;
use crate::program::{Citation, Item, Kind, Program, Selection, Source, select};
use crate::wording::wrap::wrapped;
use serde::Serialize;
use std::collections::BTreeMap;

/// A source to be read again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reread {
    /// Program that wrote it down.
    pub program: String,
    /// Its short name there.
    pub source: String,
    /// Citation in full.
    pub title: String,
    /// Kind of text.
    pub kind: &'static str,
    /// How it was seen.
    pub seen: &'static str,
    /// When; none: the file does not say.
    pub on: Option<String>,
    /// How current it is, where the file says that it may not be in force.
    pub currency: Option<&'static str>,
    /// Where it is found, if the file says.
    pub at: Option<String>,
    /// Millionths of the covered vehicles that it decides, summed over programs; `None` where a diagram of one is too large.
    pub decides_millionths: Option<u64>,
    /// Parts that decide and cite it, those of adopting programs included.
    pub parts: usize,
    /// Programs with a part that cites it.
    pub programs: Vec<String>,
}

/// Of each source of a program, by its place, the millionths of the covered vehicles that it decides; `None` where that
/// is not known.
pub type Weights = Option<BTreeMap<usize, u32>>;

/// The weights of a program's sources under the law of a day, where its diagrams are not too large. A program that is not in
/// force covers no vehicle.
#[must_use]
pub fn weights(program: &Program, day: Date) -> Weights {
    let flat = select(program, &Selection::on(day)).ok();
    flat.and_then(|flat| decides_by_source(&flat).ok())
}

/// The sources read before a day (or on no day that the file says), the weightiest first. What has no text (practice,
/// memory) cannot be read again.
#[must_use]
pub fn read_before<'p>(programs: impl IntoIterator<Item = (&'p Program, Weights)>, day: Date) -> Vec<Reread> {
    let mut found: BTreeMap<(String, String), Reread> = BTreeMap::new();
    for (program, weights) in programs {
        let mut parts = vec![0_usize; program.sources.len()];
        for block in program.blocks.iter().filter(|block| !block.draft && !matches!(block.item, Item::Change { .. })) {
            for citations in deciding(block) {
                for (place, count) in parts.iter_mut().enumerate() {
                    *count += usize::from(citations.iter().any(|citation| citation.source == place));
                }
            }
        }
        for ((place, source), count) in program.sources.iter().enumerate().zip(parts) {
            let old = source.on.is_none_or(|on| on < day) && !matches!(source.kind, Kind::Practice | Kind::Memory);
            if !old {
                continue;
            }
            let key = (source.program.clone(), source.id.clone());
            let entry = found.entry(key).or_insert_with(|| of(source));
            entry.parts += count;
            if count > 0 {
                let share = weights.as_ref().map(|weights| weights.get(&place).copied().map_or(0, u64::from));
                entry.decides_millionths = entry.decides_millionths.zip(share).map(|(all, share)| all + share);
                entry.programs.push(program.id.clone());
            }
        }
    }
    let mut list: Vec<Reread> = found.into_values().collect();
    list.sort_by(|a, b| {
        // What is not known may weigh most.
        let weight = |one: &Reread| std::cmp::Reverse((one.decides_millionths.unwrap_or(u64::MAX), one.parts));
        (weight(a), &a.on, &a.program, &a.source).cmp(&(weight(b), &b.on, &b.program, &b.source))
    });
    list
}

fn of(source: &Source) -> Reread {
    Reread {
        program: source.program.clone(),
        source: source.id.clone(),
        title: source.title.clone(),
        kind: source.kind.word(),
        seen: source.seen.words(),
        on: source.on.map(|day| day.to_string()),
        currency: source.currency.words(),
        at: source.place.clone(),
        decides_millionths: Some(0),
        parts: 0,
        programs: Vec::new(),
    }
}

/// What each part of a block that decides cites.
fn deciding(block: &Block) -> Vec<&[Citation]> {
    match &block.item {
        Item::Clause(clause) => {
            clause.lines.iter().map(|line| if line.basis.is_empty() { &*block.basis } else { &*line.basis }).collect()
        }
        Item::Limit { rows, .. } => {
            rows.iter().map(|row| if row.basis.is_empty() { &*block.basis } else { &*row.basis }).collect()
        }
        _ => vec![&*block.basis],
    }
}

/// The list as text, eighty columns.
#[must_use]
pub fn text(list: &[Reread]) -> String {
    let mut out = String::new();
    for one in list {
        let currency = one.currency.map(|words| format!(", {words}")).unwrap_or_default();
        let on = one.on.as_deref().unwrap_or("on no day said");
        let programs =
            if one.programs.len() > 1 { format!(", in {} programs", one.programs.len()) } else { String::new() };
        let parts = match one.parts {
            0 => "no part that decides rests".to_owned(),
            1 => "1 part that decides rests".to_owned(),
            parts => format!("{parts} parts that decide rest"),
        };
        let decides = match one.decides_millionths {
            None => "how many vehicles it decides is not known; ".to_owned(),
            Some(0) => String::new(),
            Some(sum) => {
                let many = u64::try_from(one.programs.len()).unwrap_or(1).max(1);
                let mean = if many > 1 { " on average" } else { "" };
                let share = percent(u32::try_from(sum / many).unwrap_or(u32::MAX));
                format!("decides {share} of covered vehicles{mean}; ")
            }
        };
        let words =
            format!("{} [{}, {} {on}{currency}]: {decides}{parts} on it{programs}", one.title, one.kind, one.seen);
        out.push_str(&wrapped(&format!("{:<18}", one.program), None, &words));
    }
    out
}
