//! Worksheets for trainees: vehicles of a program's worked set that a person could meet, by level, drawn by seed; an answer
//! key with the law and with the slips that each vehicle catches; as text, a page, and a quiz in JSON. The vehicles belong to
//! the motor pool of an invented contractor. Nothing here teaches how to hide a fault.

mod level;
mod mistake;
#[cfg(feature = "html")]
mod page;
mod quiz;

pub use level::{Level, is_ordinary};
pub use mistake::Mistake;
#[cfg(feature = "html")]
pub use page::page;
pub use quiz::{FORMAT, quiz, schema};

use super::vectors::{Sheet, counted, draw, ruling as ruled, splitmix64};
use crate::analysis::cases::{Mutant, Vector};
use crate::model::table::key_of;
use crate::model::{Fact, Snapshot};
use crate::program::{Flat, Program};
use crate::ruling::vectors::{as_read, caught, in_words, outcomes};
use crate::ruling::{CAUTIONS, Ruling, judge};
use crate::wording::words;
use crate::wording::wrap::{joined, wrapped};
use std::collections::BTreeSet;

/// Whose vehicles they are.
pub const SCENE: &str = "The vehicles belong to the motor pool of Larkspur Rural Mail, an invented contractor that carries \
                         mail on country routes. They are made up.";

/// What is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// How many vehicles.
    pub many: usize,
    /// Which draw.
    pub seed: u64,
    /// Of which level; `None`: of all.
    pub level: Option<Level>,
}

/// One vehicle of a worksheet.
#[derive(Debug, Clone)]
pub struct Item {
    /// What the motor pool calls it.
    pub unit: String,
    /// How hard it is.
    pub level: Level,
    /// The vehicle.
    pub snapshot: Snapshot,
    /// How questions of the law are read for it.
    pub takes: Vec<(String, String)>,
    /// What a trainee is told, a phrase a fact.
    pub told: Vec<String>,
    /// The answer.
    pub ruling: Ruling,
    /// Slips and where they lead.
    pub mistakes: Vec<Mistake>,
}

/// A worksheet.
#[derive(Debug, Clone)]
pub struct Exercise<'a> {
    /// The program.
    pub program: &'a Program,
    /// Its law.
    pub flat: &'a Flat,
    /// What was asked for.
    pub wanted: Wanted,
    /// The vehicles.
    pub items: Vec<Item>,
}

/// How many slips are told of a vehicle.
const TOLD: usize = 2;

/// Draws a worksheet.
#[must_use]
pub fn exercise<'a>(sheet: &Sheet<'a>, program: &'a Program, wanted: Wanted) -> Exercise<'a> {
    let mut all: Vec<(Level, Item)> = Vec::new();
    let ordinary = sheet.set.vectors.iter().filter(|it| it.not_known.is_none() && is_ordinary(&it.example.snapshot));
    for vector in ordinary {
        let Some(ruling) = ruled(sheet, program, vector) else { continue };
        let level = level::level(&vector.example.snapshot, &ruling);
        let item = item(sheet.flat, vector, level, ruling);
        if wanted.level.is_none_or(|it| it == Level::Unknowns) {
            all.extend(unknown(sheet.flat, program, &item).map(|item| (Level::Unknowns, item)));
        }
        all.push((level, item));
    }
    all.retain(|(level, _)| wanted.level.is_none_or(|wanted| wanted == *level));
    let places = draw(all.len(), wanted.many, wanted.seed);
    let mut items: Vec<Item> = places.iter().filter_map(|at| all.get(*at)).map(|(_, item)| item.clone()).collect();
    // From the easiest; those of one level as drawn.
    items.sort_by_key(|item| item.level);
    let mut state = wanted.seed ^ 0x6d61_696c;
    let names = draw(99, items.len().min(99), splitmix64(&mut state));
    for (at, item) in items.iter_mut().enumerate() {
        item.unit = format!("Unit {}", names.get(at).map_or(at + 1, |name| name + 1));
    }
    let effective: Vec<&Mutant> = sheet.set.effective.iter().collect();
    for item in &mut items {
        item.mistakes = match item.level {
            Level::Unknowns => taken_for_sound(&item.ruling).into_iter().collect(),
            _ => mistakes(sheet.flat, item, &effective),
        };
    }
    Exercise { program, flat: sheet.flat, wanted, items }
}

fn item(flat: &Flat, vector: &Vector, level: Level, ruling: Ruling) -> Item {
    let mut snapshot = vector.example.snapshot.clone();
    snapshot.set(Fact::TestDate, crate::model::Value::Date(vector.day));
    let mut told = in_words(flat, &vector.example);
    if vector.day != flat.as_of {
        told.push(format!("tested on {}", vector.day));
    }
    let takes = vector.example.readings.clone();
    Item { unit: String::new(), level, snapshot, takes, told, ruling, mistakes: Vec::new() }
}

/// The vehicle with one fact not known on which its outcome turns: of the facts that bring it, the first that does.
fn unknown(flat: &Flat, program: &Program, item: &Item) -> Option<Item> {
    if item.ruling.possible.len() != 1 {
        return None;
    }
    let read = as_read(flat, &item.takes);
    let grounds = item.ruling.grounds.iter().flat_map(|ground| &ground.facts).chain(&item.ruling.sufficient);
    for shown in grounds.filter(|fact| !fact.presumed) {
        let Some(fact) = item.snapshot.readings.keys().copied().find(|fact| key_of(*fact) == shown.key) else {
            continue;
        };
        if matches!(fact, Fact::Monitor(_) | Fact::TestDate) {
            continue;
        }
        let mut snapshot = item.snapshot.clone();
        snapshot.readings.remove(&fact);
        let Ok(ruling) = judge(&read, program, &snapshot) else { continue };
        if ruling.possible.len() < 2 {
            continue;
        }
        let mut told: Vec<String> = item.told.iter().filter(|phrase| **phrase != shown.phrase).cloned().collect();
        if told.len() == item.told.len() {
            continue;
        }
        told.push(format!("{}: nobody looked", shown.name));
        return Some(Item { level: Level::Unknowns, snapshot, told, ruling, ..item.clone() });
    }
    None
}

/// The slip of taking what nobody looked at for sound.
fn taken_for_sound(ruling: &Ruling) -> Option<Mistake> {
    let provided = ruling.provided.as_ref()?;
    let who = "whoever takes what nobody looked at for sound".to_owned();
    Some(Mistake { who, outcome: provided.verdict.name.clone() })
}

/// The likeliest slips that the vehicle catches, each leading elsewhere than the law.
fn mistakes(flat: &Flat, item: &Item, effective: &[&Mutant]) -> Vec<Mistake> {
    let Some(day) = item.snapshot.test_date() else { return Vec::new() };
    let found = caught(flat, &item.takes, day, &item.snapshot, effective);
    let mut found: Vec<&Mutant> = found.iter().filter_map(|at| effective.get(*at).copied()).collect();
    found.sort_by_key(|mutant| mistake::rank(mutant));
    let right = outcomes(flat, &item.takes, &item.snapshot);
    let mut told: Vec<Mistake> = Vec::new();
    let mut sites = Vec::new();
    for mutant in found {
        if told.len() == TOLD {
            break;
        }
        let wrong = outcomes(&mutant.flat, &item.takes, &item.snapshot);
        // A slip that changes what follows, and not the outcome, is told of no vehicle.
        if wrong == right || wrong.is_empty() || sites.contains(&mutant.site) {
            continue;
        }
        let Some(who) = mistake::who(flat, mutant) else { continue };
        sites.push(mutant.site);
        told.push(Mistake { who, outcome: joined(&wrong, "or") });
    }
    told
}

impl Exercise<'_> {
    /// What the head says: the law, the seed, the level, how many; and whether there were fewer than asked for.
    fn head(&self) -> Vec<String> {
        let level = self.wanted.level.map(|it| format!("Level {}: {}. ", it.word(), it.about())).unwrap_or_default();
        let are = counted(self.items.len(), "vehicle");
        let mut head = vec![format!("{level}Law of {}. Seed {}, {are}.", self.flat.as_of, self.wanted.seed)];
        if self.items.len() < self.wanted.many {
            let of = if self.wanted.level.is_some() { " of this level" } else { "" };
            head.push(format!(
                "{} were asked for; this program's worked set holds no more ordinary ones{of} on this date.",
                self.wanted.many
            ));
        }
        head
    }

    /// What is asked of each vehicle.
    fn asked(&self) -> String {
        let names: Vec<&str> = self.flat.outcomes.iter().map(|outcome| outcome.name.as_str()).collect();
        let open = if self.items.iter().any(|item| item.level == Level::Unknowns) {
            " Where it is not decided: which outcomes are possible, and what must be asked?"
        } else {
            ""
        };
        format!("For each vehicle: which outcome ({}, or not-subject), and why?{open}", names.join(", "))
    }
}

/// The answer in a line, its reasons, each with its law, and what would settle it.
struct Answer {
    line: String,
    why: Vec<Why>,
    settles: Vec<String>,
}

struct Why {
    text: String,
    because: String,
    law: Vec<String>,
}

fn answer(ruling: &Ruling) -> Answer {
    let names: Vec<&str> = ruling.possible.iter().map(|verdict| verdict.name.as_str()).collect();
    let line = format!("{}: {}", names.join(" or "), words::summary(ruling));
    let mut why: Vec<Why> = Vec::new();
    // Undecided: what may bring each outcome.
    let perhaps = ruling.alternatives.iter().filter(|it| !it.clauses.is_empty());
    why.extend(perhaps.map(|it| Why {
        text: format!("{} by {}, perhaps", it.outcome, joined(&it.clauses, "or")),
        because: String::new(),
        law: Vec::new(),
    }));
    if ruling.grounds.is_empty() && why.is_empty() {
        let text =
            if ruling.coverage.state == "covered" { "No clause is unmet." } else { ruling.coverage.message.as_str() };
        why.push(Why { text: text.to_owned(), because: String::new(), law: Vec::new() });
    }
    why.extend(ruling.grounds.iter().map(|ground| {
        let facts: Vec<&str> = ground.facts.iter().map(|fact| fact.phrase.as_str()).collect();
        Why {
            text: format!("{}: {}", words::clause(ground), ground.message),
            because: facts.join("; "),
            law: ground.law.iter().map(words::law).collect::<BTreeSet<_>>().into_iter().collect(),
        }
    }));
    let settles = if ruling.possible.len() < 2 {
        Vec::new()
    } else {
        ruling.unknown.iter().map(|unknown| unknown.question.clone()).collect()
    };
    Answer { line, why, settles }
}

/// The worksheet as text of eighty columns: cautions and questions first, the answer key last.
#[must_use]
pub fn text(exercise: &Exercise<'_>) -> String {
    let mut out = wrapped("", None, &format!("Exercise: {}", exercise.program.title));
    for line in exercise.head() {
        out.push_str(&wrapped("", None, &line));
    }
    out.push_str(&format!("\n{}On real ones:\n", wrapped("", None, SCENE)));
    for caution in CAUTIONS {
        out.push_str(&wrapped("- ", None, caution));
    }
    out.push_str(&format!("\n{}", wrapped("", None, &exercise.asked())));
    for (at, item) in exercise.items.iter().enumerate() {
        out.push_str(&format!("\n{}. {} ({})\n", at + 1, item.unit, item.level.about()));
        for part in item.told.iter().cloned().chain(item.takes.iter().map(read_as)) {
            out.push_str(&wrapped("  - ", None, &part));
        }
    }
    out.push_str("\nAnswer key\n");
    for (at, item) in exercise.items.iter().enumerate() {
        let answer = answer(&item.ruling);
        out.push_str(&format!("\n{}", wrapped(&format!("{}. ", at + 1), None, &answer.line)));
        for why in &answer.why {
            out.push_str(&wrapped("   - ", None, &why.text));
            if !why.because.is_empty() {
                out.push_str(&wrapped("     because ", None, &why.because));
            }
            for law in &why.law {
                out.push_str(&wrapped("     ", None, law));
            }
        }
        for question in &answer.settles {
            out.push_str(&wrapped("   Ask: ", None, question));
        }
        for mistake in &item.mistakes {
            out.push_str(&wrapped("   ", None, &mistake.sentence()));
        }
    }
    out
}

fn read_as((question, reading): &(String, String)) -> String {
    format!("the question `{question}` is read as {reading}")
}
