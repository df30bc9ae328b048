//! The vectors of a whole program, all its epochs together. A mutant is one change to one place of the file: it may tell
//! in many epochs and must be caught in one of them. A change is equivalent only where it
//! tells in none. Changes that only the whole program has are made here: a block in force or ended a day earlier or later,
//! a question read another way, another value of an option.

use super::mutants::{Change, Mutant, Site, condition, mutants, name};
use super::pattern::pattern;
use super::{Known, Unpaired, Vectors, add, within_budget};
use crate::diagram::Error;
use crate::model::Date;
use crate::program::select::{days_of_change, live};
use crate::program::{Epoch, Flat, Item, Origin, Program, Selection, Under, Variant, epochs, select, variant_of};
use std::collections::{BTreeMap, BTreeSet};

/// The vectors of one epoch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// The days.
    pub epoch: Epoch,
    /// The program on its first day.
    pub flat: Flat,
    /// The vectors of what no epoch before this one shows; with the changes that they catch.
    pub set: Vectors,
}

/// The vectors of a program.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Suite {
    /// The epochs in force: the one in which the text was last read, later ones, earlier ones.
    pub parts: Vec<Part>,
    /// Changes that were proved to change no answer in any epoch, in words.
    pub equivalent: Vec<String>,
    /// Conditions for which no pair of vehicles can exist in any epoch.
    pub unpaired: Vec<Unpaired>,
}

impl Suite {
    /// How many changes change an answer on some vehicle in some epoch.
    #[must_use]
    pub fn effective(&self) -> usize {
        self.parts.iter().map(|part| part.set.effective.len()).sum()
    }

    /// How many vectors there are.
    #[must_use]
    pub fn vectors(&self) -> usize {
        self.parts.iter().map(|part| part.set.vectors.len()).sum()
    }

    /// How many pairs there are.
    #[must_use]
    pub fn pairs(&self) -> usize {
        self.parts.iter().map(|part| part.set.pairs.len()).sum()
    }
}

/// The vectors of a program over all its epochs.
///
/// # Errors
/// Where the diagrams outgrow their budget.
pub fn suite(program: &Program) -> Result<Suite, Error> {
    let mut known = Known::default();
    let mut suite = Suite::default();
    let (days, _) = days_of_change(program);
    let mut seen: BTreeSet<Vec<String>> = BTreeSet::new();
    for epoch in in_order(program) {
        // A file that `check` passed can be selected on every date; one that cannot has been reported there.
        let Ok(flat) = select(program, &Selection::on(epoch.from)) else { continue };
        if !flat.in_force.is_yes() {
            continue;
        }
        let readings = other_readings(program, epoch.from);
        let alike =
            std::iter::once(&flat).chain(readings.iter().map(|(_, mutant)| &mutant.flat)).map(pattern).collect();
        let mut keyed = moved_dates(program, epoch);
        // An epoch that is like another but for the years has nothing to add but its dates.
        if seen.insert(alike) {
            within_budget(&flat)?;
            let places = Places { version: days.range(..=epoch.from).count(), named: named(program, epoch.from) };
            keyed.extend(self::keyed(&flat, &places, mutants(&flat)));
            keyed.extend(readings);
        }
        if keyed.is_empty() {
            suite.parts.push(Part { epoch, flat, set: Vectors::default() });
            continue;
        }
        let set = add(&flat, keyed, &mut known)?;
        suite.parts.push(Part { epoch, flat, set });
    }
    suite.equivalent = known.equivalent.into_values().collect();
    suite.unpaired = known.unpaired.into_values().collect();
    Ok(suite)
}

/// The epochs: first the one in which the text was last read, so that most vectors are of the law as it stands, then
/// later ones, then earlier ones, the nearest first.
fn in_order(program: &Program) -> Vec<Epoch> {
    let read = program.sources.iter().filter_map(|source| source.on).max();
    let (mut later, mut earlier): (Vec<Epoch>, Vec<Epoch>) =
        epochs(program).into_iter().partition(|epoch| read.is_none_or(|day| day <= epoch.through));
    if later.is_empty() || read.is_none() {
        later.reverse();
    }
    earlier.reverse();
    later.into_iter().chain(earlier).collect()
}

/// The vectors of a program on one day by itself: other readings and options included, dates not.
///
/// # Errors
/// Where the diagrams outgrow their budget.
pub fn vectors_on(program: &Program, flat: &Flat) -> Result<Vectors, Error> {
    within_budget(flat)?;
    let mut known = Known::default();
    let mut keyed = keyed(flat, &Places::default(), mutants(flat));
    keyed.extend(other_readings(program, flat.as_of));
    let mut set = add(flat, keyed, &mut known)?;
    set.equivalent = known.equivalent.into_values().collect();
    set.unpaired = known.unpaired.into_values().collect();
    Ok(set)
}

/// Every change of one place of the law of a day, dates of blocks left out, with what names it in every epoch.
#[must_use]
pub fn slips(program: &Program, flat: &Flat) -> Vec<(String, Mutant)> {
    let (days, _) = days_of_change(program);
    let places = Places { version: days.range(..=flat.as_of).count(), named: named(program, flat.as_of) };
    let mut all = keyed(flat, &places, mutants(flat));
    all.extend(other_readings(program, flat.as_of));
    all
}

/// What the flat program does not say of where its parts were written.
#[derive(Debug, Default)]
pub(super) struct Places {
    /// Which stretch of dates between two changes of the text.
    version: usize,
    /// For each named condition and code group, where the blocks stand that make it.
    named: BTreeMap<String, String>,
}

fn named(program: &Program, day: Date) -> BTreeMap<String, String> {
    let mut found: BTreeMap<String, String> = BTreeMap::new();
    for block in live(program, &Selection::on(day)) {
        if let Some(variant @ (Variant::Finding(_) | Variant::CodeGroup(_))) = variant_of(&block.item) {
            found.entry(variant.shown()).or_default().push_str(&place(&block.origin));
        }
    }
    found
}

fn place(origin: &Origin) -> String {
    format!("{} {};", origin.program, origin.span.start)
}

/// Mutants with what tells them from those of other places of the text: where the place was written and what it says but
/// for its numbers (ages become model years, which differ from year to year). Parts of which nobody knows where they were
/// written are told apart by what they say, between two changes of the text.
pub(super) fn keyed(flat: &Flat, places: &Places, mutants: Vec<Mutant>) -> Vec<(String, Mutant)> {
    let mut many: BTreeMap<String, usize> = BTreeMap::new();
    let key = |mutant: Mutant| {
        let written = written(flat, places, mutant.site);
        let says = format!("{:?}", condition(flat, mutant.site));
        let says: String = says.chars().filter(|character| !character.is_ascii_digit()).collect();
        let change = mutant.what.rsplit(": ").next().unwrap_or_default();
        let key = format!("{written} {says} {change}");
        let number = many.entry(key.clone()).or_default();
        *number += 1;
        (format!("{key} {number}"), mutant)
    };
    mutants.into_iter().map(key).collect()
}

fn written(flat: &Flat, places: &Places, site: Site) -> String {
    let of_line = |at: usize| flat.lines.get(at).map(|it| place(&it.origin));
    let of_name = |variant: Variant| {
        let name = variant.shown();
        places.named.get(&name).map(|place| format!("{name} {place}"))
    };
    let found = match site {
        Site::Covers(at) => flat.covers.get(at).map(|it| format!("covers {}", place(&it.origin))),
        Site::LeftOut(at) => flat.left_out.get(at).map(|it| format!("left out {}", place(&it.origin))),
        Site::Concerns(at) => of_line(at).map(|line| format!("concerns {line}")),
        Site::Unmet(at) => of_line(at).map(|line| format!("line {line}")),
        Site::GivesWay(at, to) => {
            let other = flat.lines.get(at).and_then(|line| line.gives_way.get(to)).and_then(|(to, _)| of_line(*to));
            of_line(at).zip(other).map(|(line, other)| format!("gives way {line} {other}"))
        }
        Site::LimitRow(at, row) => {
            let row = flat.limits.get(at).and_then(|limit| limit.rows.get(row));
            row.map(|it| format!("limit {} {:?}", place(&it.origin), it.limit))
        }
        Site::Due(at) => flat.due.get(at).map(|it| format!("due {}", place(&it.origin))),
        Site::Consequence(at) => flat.consequences.get(at).map(|it| format!("consequence {}", place(&it.origin))),
        Site::Finding(at) => flat.findings.get(at).and_then(|it| of_name(Variant::Finding(&it.0))),
        Site::Group(at) => flat.groups.get(at).and_then(|it| of_name(Variant::CodeGroup(&it.0))),
        // Tables have no dates.
        Site::TableRow(at, row) => flat.tables.get(at).map(|it| format!("table {} row {row}", it.id)),
        Site::Presumption(at) => flat.presumptions.get(at).map(|it| format!("presumes {:?} {}", it.fact, it.shown)),
        Site::Becomes(at) => flat.becomes.get(at).map(|it| format!("becomes {} {} {}", it.from, it.to, places.version)),
        Site::Count(at) => {
            let rule = flat.counts.get(at);
            rule.map(|it| format!("counts {:?} {} {}", it.monitors, it.unsupported_as_incomplete, places.version))
        }
        Site::Excuse(at) => flat.excuses.get(at).map(|it| format!("excuse {:?} {}", it.which, places.version)),
        Site::Text => None,
    };
    found.unwrap_or_else(|| format!("{} {}", name(flat, site), places.version))
}

fn other_readings(program: &Program, day: Date) -> Vec<(String, Mutant)> {
    let mut takes: Vec<(String, Under)> = Vec::new();
    for question in &program.questions {
        let others = question.readings.iter().enumerate().filter(|(at, _)| question.taken.is_some_and(|it| it != *at));
        takes.extend(others.map(|(_, (reading, _, _))| {
            let under = Under { name: question.id.clone(), value: reading.clone() };
            (format!("question {} read as {reading}", question.id), under)
        }));
    }
    for option in &program.options {
        let others = option.values.iter().enumerate().filter(|(at, _)| option.chosen != *at);
        takes.extend(others.map(|(_, value)| {
            let under = Under { name: option.id.clone(), value: value.clone() };
            (format!("option {} at {value}", option.id), under)
        }));
    }
    let mutant = |(what, under): (String, Under)| {
        let flat = select(program, &Selection { takes: vec![under], ..Selection::on(day) }).ok()?;
        Some((what.clone(), Mutant { what, site: Site::Text, change: Change::OtherReading, flat }))
    };
    takes.into_iter().filter_map(mutant).collect()
}

/// Blocks that begin or end at the ends of the epoch, each a day earlier or later: each tells on one day only.
fn moved_dates(program: &Program, epoch: Epoch) -> Vec<(String, Mutant)> {
    let mut all = Vec::new();
    for (place, block) in program.blocks.iter().enumerate().filter(|(_, block)| !block.draft) {
        let (from, through) = (block.window.from, block.window.through);
        let mut moved = |day: Date, from: Option<Date>, through: Option<Date>, what: &str| {
            let mut other = program.clone();
            if let Some(block) = other.blocks.get_mut(place) {
                (block.window.from, block.window.through) = (from, through);
            }
            let Ok(flat) = select(&other, &Selection::on(day)) else { return };
            let what = format!("{} {what}", block_name(&block.item));
            all.push((
                format!("date of block {place} {what}"),
                Mutant { what, site: Site::Text, change: Change::DateMoved(day), flat },
            ));
        };
        if from == Some(epoch.from) {
            let what = format!("in force from {}: a day later", epoch.from);
            moved(epoch.from, epoch.from.tomorrow().ok(), through, &what);
        }
        if through == Some(epoch.through) {
            let what = format!("in force through {}: a day less", epoch.through);
            moved(epoch.through, from, epoch.through.yesterday().ok(), &what);
        }
        if let Some(first) = from.filter(|first| first.yesterday().ok() == Some(epoch.through)) {
            moved(epoch.through, Some(epoch.through), through, &format!("in force from {first}: a day earlier"));
        }
        if let Some(last) = through.filter(|last| last.tomorrow().ok() == Some(epoch.from)) {
            moved(epoch.from, from, Some(epoch.from), &format!("in force through {last}: a day more"));
        }
    }
    all
}

fn block_name(item: &Item) -> String {
    if let Some(variant) = variant_of(item) {
        return variant.shown();
    }
    let word = match item {
        Item::InForce => "the program",
        Item::Covers(_) => "a covering block",
        Item::Change { .. } => "an announced change",
        Item::LeavesOut { .. } => "a block that leaves vehicles out",
        Item::Due { .. } => "a rule of when a vehicle is due",
        Item::Counts { .. } => "a rule of the count",
        Item::Excuses { .. } => "an excuse",
        Item::Silent(_) | Item::Unread(_) => "a silence",
        Item::GivesWay { .. } => "a giving way",
        Item::Becomes { .. } => "a relabelling",
        Item::Consequence(_) => "a consequence",
        Item::NotExpressible { .. } => "a note",
        Item::Presumes { .. } => "a presumption",
        _ => "a block",
    };
    word.to_owned()
}
