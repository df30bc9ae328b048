//! How firmly programs rest on their texts: each part that decides with the weakest text it cites, the coverage matrix, and
//! the matrix of the limits on incomplete monitors.

use super::overview::{allowance, shown_flat};
use crate::evaluate::Walk;
use crate::model::{Fact, Snapshot, Unit, Value};
use crate::program::block::Allowance;
use crate::program::{Citation, Condition, Flat, Given, Item, Program, Source, Test, Topic};
use crate::ruling::{Basis, laws};
use std::collections::{BTreeMap, BTreeSet};

/// What is said of a number whose text was not seen.
const NOT_SEEN: &str = "text not seen";
/// What is said of a topic whose text was not seen.
const NO_RULE: &str = "no rule applied";
/// The same as a key of the JSON form, which was there before the words.
const NOT_READ: &str = "not read";

/// The parts of a program that decide, drafts left out, each with the weakest text it rests on, in words.
#[must_use]
pub fn deciding_parts(program: &Program) -> Vec<String> {
    let mut parts = Vec::new();
    let words = |citations: &[Citation]| of(&program.sources, citations).words();
    for block in program.blocks.iter().filter(|block| !block.draft) {
        match &block.item {
            Item::Clause(clause) => {
                parts.extend(clause.lines.iter().map(|line| words(either(&line.basis, &block.basis))))
            }
            Item::Limit { rows, .. } => parts.extend(rows.iter().map(|row| match row.limit {
                Allowance::NotRead => NOT_READ.to_owned(),
                _ => words(either(&row.basis, &block.basis)),
            })),
            Item::Silent(topics) => parts.extend(topics.iter().map(|_| words(&block.basis))),
            Item::Unread(topics) => parts.extend(topics.iter().map(|_| NOT_READ.to_owned())),
            Item::InForce
            | Item::Covers(_)
            | Item::LeavesOut { .. }
            | Item::Counts { .. }
            | Item::Excuses { .. }
            | Item::Becomes { .. } => parts.push(words(&block.basis)),
            _ => {}
        }
    }
    parts
}

fn either<'c>(own: &'c [Citation], whole: &'c [Citation]) -> &'c [Citation] {
    if own.is_empty() { whole } else { own }
}

fn of(sources: &[Source], citations: &[Citation]) -> Basis {
    Basis::of(&laws(sources, citations))
}

/// A basis in as few words as say it: `memory` for `memory, from memory`.
fn brief(basis: Basis) -> String {
    let words = basis.words();
    if words == "memory, from memory" { "memory".to_owned() } else { words }
}

/// The limits that a condition asks for, through named conditions too.
fn limits_of(flat: &Flat, condition: &Condition<usize>, depth: usize, found: &mut BTreeSet<usize>) {
    condition.each_test(&mut |test| match test {
        Test::Limit { limit, .. } => {
            found.insert(*limit);
        }
        Test::Finding(place) if depth < flat.findings.len() => {
            if let Some((_, condition)) = flat.findings.get(*place) {
                limits_of(flat, condition, depth + 1, found);
            }
        }
        _ => {}
    });
}

/// What a program says on a topic: the weakest text that its clauses and the limits they ask for rest on, and whether it is
/// silent, by which text, or that no rule is applied since the text was not seen.
#[must_use]
pub fn on_topic(flat: &Flat, topic: Topic) -> String {
    let mut bases = Vec::new();
    let mut limits = BTreeSet::new();
    for line in flat.lines.iter().filter(|line| line.topic == topic) {
        bases.push(of(&flat.sources, &line.basis));
        limits_of(flat, &line.concerns, 0, &mut limits);
        limits_of(flat, &line.unmet_where, 0, &mut limits);
    }
    let rows = limits.iter().filter_map(|place| flat.limits.get(*place)).flat_map(|limit| &limit.rows);
    let (unread, read): (Vec<_>, Vec<_>) = rows.partition(|row| row.limit == Allowance::NotRead);
    bases.extend(read.iter().map(|row| of(&flat.sources, &row.basis)));
    let mut parts: Vec<String> = bases.into_iter().max_by_key(|basis| basis.rank()).map(brief).into_iter().collect();
    if !unread.is_empty() {
        parts.push("a limit: number not seen".to_owned());
    }
    let silences: BTreeSet<String> = flat
        .silences
        .iter()
        .filter(|silence| silence.topic == topic)
        .map(|silence| match silence.unread {
            true => NO_RULE.to_owned(),
            false => format!("silent ({})", brief(of(&flat.sources, &silence.basis))),
        })
        .collect();
    parts.extend(silences);
    if parts.is_empty() { "gap".to_owned() } else { parts.join("; ") }
}

/// The coverage matrix as a Markdown table: a line a program, a column a topic.
#[must_use]
pub fn matrix<'p>(programs: impl IntoIterator<Item = &'p Program>) -> String {
    let topics: Vec<(Topic, &str)> = Topic::ALL.into_iter().filter(|(topic, _)| topic.is_required()).collect();
    let mut out = String::from("| program |");
    topics.iter().for_each(|(_, word)| out.push_str(&format!(" {word} |")));
    out.push_str("\n|---|");
    topics.iter().for_each(|_| out.push_str("---|"));
    out.push('\n');
    for program in programs {
        let Some(flat) = shown_flat(program) else { continue };
        out.push_str(&format!("| {} |", program.id));
        topics.iter().for_each(|(topic, _)| out.push_str(&format!(" {} |", on_topic(&flat, *topic))));
        out.push('\n');
    }
    out
}

/// Model years of the cars in the matrix of limits.
const SINCE: i64 = 2001;

/// A limit on incomplete monitors that a program has for gasoline cars of [`SINCE`] and later.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Rests {
    allowed: String,
    number: String,
    clause: String,
}

/// An ordinary gasoline car of a model year.
fn car(flat: &Flat, year: i64) -> Option<Given> {
    let mut car = Snapshot::default();
    car.set(Fact::ModelYear, Value::Number(year));
    car.set(Fact::GrossWeight, Value::Number(Unit::Pound.to_base(4000)?));
    for (fact, word) in [
        (Fact::Fuel, "gasoline"),
        (Fact::Ignition, "spark"),
        (Fact::Class, "light-duty"),
        (Fact::Hybrid, "no"),
        (Fact::PlugIn, "no"),
    ] {
        car.set_word(fact, word);
    }
    Given::of(flat, &car).ok()
}

/// The rows of limits that may concern such cars, with what number and clause rest on; of a clause on readiness that asks
/// for no limit, the clause.
fn rests(flat: &Flat) -> BTreeMap<Rests, (i64, i64)> {
    let mut found: BTreeMap<Rests, (i64, i64)> = BTreeMap::new();
    for year in SINCE..=i64::from(flat.test_date.year()) {
        let Some(given) = car(flat, year) else { continue };
        let walk = Walk::new(flat, &given, &[]);
        for line in flat.lines.iter().filter(|line| line.topic == Topic::Readiness) {
            if walk.truth(&line.concerns).is_false() || walk.truth(&line.unmet_where).is_false() {
                continue;
            }
            let clause = brief(of(&flat.sources, &line.basis));
            let mut limits = BTreeSet::new();
            limits_of(flat, &line.unmet_where, 0, &mut limits);
            let rows = limits.iter().filter_map(|place| flat.limits.get(*place)).flat_map(|limit| &limit.rows);
            let mut rests: Vec<Rests> = rows
                .filter(|row| !walk.truth(&row.condition).is_false())
                .map(|row| Rests {
                    allowed: allowance(&row.limit),
                    number: match row.limit {
                        Allowance::NotRead => NOT_SEEN.to_owned(),
                        _ => brief(of(&flat.sources, &row.basis)),
                    },
                    clause: clause.clone(),
                })
                .collect();
            if limits.is_empty() {
                let allowed = format!("as clause {} says", line.clause);
                rests.push(Rests { allowed, number: clause.clone(), clause });
            }
            for one in rests {
                found.entry(one).and_modify(|years| years.1 = year).or_insert((year, year));
            }
        }
    }
    found
}

/// The matrix of the limits on incomplete monitors as a Markdown table: for gasoline cars of model year 2001 and later, on
/// the day a program's sources were last read, or the last in force.
#[must_use]
pub fn limits_matrix<'p>(programs: impl IntoIterator<Item = &'p Program>) -> String {
    let mut out = String::from(
        "| program | law of | incomplete monitors allowed | the number rests on | the clause rests on |\n|---|---|---|---|---|\n",
    );
    for program in programs {
        let Some(flat) = shown_flat(program) else { continue };
        let mut row = |allowed: &str, number: &str, clause: &str| {
            out.push_str(&format!("| {} | {} | {allowed} | {number} | {clause} |\n", program.id, flat.as_of));
        };
        let rests = rests(&flat);
        let last = i64::from(flat.test_date.year());
        for (one, years) in &rests {
            let years = match *years {
                (SINCE, year) if year == last => String::new(),
                (first, year) if year == last => format!(" (from {first})"),
                (first, year) => format!(" ({first} to {year})"),
            };
            row(&format!("{}{years}", one.allowed), &one.number, &one.clause);
        }
        if rests.is_empty() {
            row(&format!("no clause: {}", on_topic(&flat, Topic::Readiness)), "-", "-");
        }
    }
    out
}
