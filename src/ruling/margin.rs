//! Margins: how far each number is from the limit it is compared with, in the unit that the limit is written in.

use super::show;
use crate::evaluate::{Leaf, Range, Walk};
use crate::model::facts::Possible;
use crate::model::{MonitorSet, Unit};
use crate::program::block::Allowance;
use crate::program::{FactRef, Flat, Test};

/// A number beside its limit.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Margin {
    /// What is measured, `warm-ups since clearing`.
    pub what: String,
    /// Its value, `12`.
    pub value: String,
    /// The limit, `at least 15`.
    pub limit: String,
    /// How far it is from the limit, `3`; `0` is on it.
    pub distance: String,
    /// Whether the number is within the limit as worded.
    pub holds: bool,
    /// Of a limit on how many monitors may be incomplete, that number.
    pub allowed: Option<i64>,
}

/// The margins of a test; none where it compares no number or the number is not known.
pub(super) fn of_leaf(walk: &Walk<'_>, leaf: Leaf<'_>) -> Vec<Margin> {
    match leaf.test {
        Test::Number { fact, least, most } => of_number(walk, fact, *least, *most).into_iter().collect(),
        Test::Count { states, least, most } => {
            let counted = walk.counted();
            let what = format!("counted monitors that are {}", states_in_words(*states));
            of_count(what, counted.how_many(*states), counted.which(*states).1, *least, *most).into_iter().collect()
        }
        Test::CountOf { monitors, states, least, most } => {
            let which = walk.states().perhaps(*states).and(*monitors);
            let what = format!("of {} those that are {}", show::monitors(*monitors), states_in_words(*states));
            of_count(what, walk.states().how_many(*monitors, *states), which, *least, *most).into_iter().collect()
        }
        Test::NotMoreIncompleteThanEarlier => not_more_than_earlier(walk).into_iter().collect(),
        Test::Limit { limit, .. } => of_limit(walk, *limit),
        _ => Vec::new(),
    }
}

fn of_number(walk: &Walk<'_>, fact: &FactRef<usize>, least: Option<i64>, most: Option<i64>) -> Option<Margin> {
    let flat = walk.flat();
    let Possible::Number(span) = walk.possible(fact) else {
        return None;
    };
    if span.least != span.most || span.may_be_absent {
        return None;
    }
    let value = span.least;
    let holds = least.is_none_or(|least| least <= value) && most.is_none_or(|most| value <= most);
    let (lower, upper) = (least.map(|at| Edge::lower(flat, fact, at)), most.map(|at| Edge::upper(flat, fact, at)));
    let nearest = [&lower, &upper]
        .into_iter()
        .flatten()
        .map(|edge| (edge, edge.at.saturating_sub(value).saturating_abs()))
        .min_by_key(|(_, distance)| *distance)?;
    let limit = match (&lower, &upper) {
        (Some(lower), Some(_)) if least == most => format!("is {}", lower.shown),
        (Some(lower), Some(upper)) => format!("{} {} and {} {}", lower.word, lower.shown, upper.word, upper.shown),
        (Some(edge), None) | (None, Some(edge)) => format!("{} {}", edge.word, edge.shown),
        (None, None) => return None,
    };
    let distance = if show::is_date(fact) {
        Unit::Day.show(nearest.1.saturating_mul(Unit::Day.scale()))
    } else {
        nearest.0.unit.show(nearest.1)
    };
    Some(Margin {
        what: show::name(flat, fact),
        value: show::number(flat, fact, value),
        limit,
        distance,
        holds,
        allowed: None,
    })
}

/// One end of a limit as it was written.
struct Edge {
    word: &'static str,
    at: i64,
    unit: Unit,
    shown: String,
}

impl Edge {
    /// `at least` a whole number of a unit, or `above` the one before it.
    fn lower(flat: &Flat, fact: &FactRef<usize>, at: i64) -> Edge {
        match written_in(flat, fact, at) {
            Some(unit) => Edge::new(flat, fact, "at least", at, unit),
            None => {
                let before = at.saturating_sub(1);
                match written_in(flat, fact, before) {
                    Some(unit) => Edge::new(flat, fact, "above", before, unit),
                    None => Edge::new(flat, fact, "at least", at, show::unit(flat, fact)),
                }
            }
        }
    }

    /// `at most` a whole number of a unit, or `below` the one after it.
    fn upper(flat: &Flat, fact: &FactRef<usize>, at: i64) -> Edge {
        match written_in(flat, fact, at) {
            Some(unit) => Edge::new(flat, fact, "at most", at, unit),
            None => {
                let after = at.saturating_add(1);
                match written_in(flat, fact, after) {
                    Some(unit) => Edge::new(flat, fact, "below", after, unit),
                    None => Edge::new(flat, fact, "at most", at, show::unit(flat, fact)),
                }
            }
        }
    }

    fn new(flat: &Flat, fact: &FactRef<usize>, word: &'static str, at: i64, unit: Unit) -> Edge {
        let shown = if show::is_date(fact) { show::number(flat, fact, at) } else { unit.show(at) };
        Edge { word, at, unit, shown }
    }
}

const UNITS: [Unit; 7] =
    [Unit::Kilometre, Unit::Mile, Unit::Pound, Unit::Kilogram, Unit::Hour, Unit::Day, Unit::Minute];

/// The unit a limit was written in: one in which it is whole, the fact's own first.
fn written_in(flat: &Flat, fact: &FactRef<usize>, at: i64) -> Option<Unit> {
    let own = show::unit(flat, fact);
    std::iter::once(own)
        .chain(UNITS.into_iter().filter(|unit| unit.is_comparable(own)))
        .find(|unit| at.checked_rem(unit.scale()) == Some(0))
}

fn states_in_words(states: u64) -> String {
    let words = crate::model::MonitorState::WORDS.iter().enumerate();
    let named: Vec<&str> = words.filter(|(place, _)| states >> place & 1 == 1).map(|(_, word)| *word).collect();
    named.join(" or ")
}

/// A count with the monitors it is made of, `2 (catalyst, evaporative)`.
fn counted(number: i64, which: MonitorSet) -> String {
    if which.is_empty() { number.to_string() } else { format!("{number} ({})", show::monitors(which)) }
}

fn of_count(what: String, range: Range, which: MonitorSet, least: Option<i64>, most: Option<i64>) -> Option<Margin> {
    if range.least != range.most {
        return None;
    }
    let number = range.least;
    let limit = match (least, most) {
        (Some(least), Some(most)) if least == most => format!("is {least}"),
        (Some(least), Some(most)) => format!("at least {least} and at most {most}"),
        (Some(least), None) => format!("at least {least}"),
        (None, Some(most)) => format!("at most {most}"),
        (None, None) => return None,
    };
    let distance = [least, most].into_iter().flatten().map(|at| at.saturating_sub(number).saturating_abs()).min()?;
    let holds = least.is_none_or(|least| least <= number) && most.is_none_or(|most| number <= most);
    Some(Margin { what, value: counted(number, which), limit, distance: distance.to_string(), holds, allowed: None })
}

fn not_more_than_earlier(walk: &Walk<'_>) -> Option<Margin> {
    let fact = FactRef::Known(crate::model::Fact::EarlierIncompleteCount);
    let Possible::Number(span) = walk.possible(&fact) else {
        return None;
    };
    if span.least != span.most || span.may_be_absent {
        return None;
    }
    let now = walk.counted();
    of_count("counted monitors that are incomplete".to_owned(), now.how_many(4), now.which(4).1, None, Some(span.least))
}

/// The margins to the rows of a limit that may concern the vehicle.
fn of_limit(walk: &Walk<'_>, limit: usize) -> Vec<Margin> {
    let rows = walk.flat().limits.get(limit).into_iter().flat_map(|limit| &limit.rows);
    let mut margins = Vec::new();
    for row in rows.filter(|row| !walk.truth(&row.condition).is_false()) {
        let now = walk.counted();
        match &row.limit {
            Allowance::AtMost { count, only } => {
                let what = "incomplete counted monitors".to_owned();
                let (which, range) = (now.which(4).1, now.how_many(4));
                let margin = of_count(what, range, which, None, Some(*count));
                margins.extend(margin.map(|margin| Margin { allowed: Some(*count), ..margin }));
                if let Some(only) = only
                    && range.least == range.most
                {
                    let what = format!("incomplete counted monitors other than {}", show::monitors(*only));
                    let others = which.without(*only);
                    let number = i64::from(others.count());
                    margins.extend(of_count(what, Range { least: number, most: number }, others, None, Some(0)));
                }
            }
            Allowance::AtLeastComplete(count) => {
                let what = "complete counted monitors".to_owned();
                margins.extend(of_count(what, now.how_many(2), now.which(2).1, Some(*count), None));
            }
            Allowance::NotRead => {}
        }
    }
    margins
}
