//! The truth of each kind of test. A test of a fact that is not on the vehicle is false; where the vehicle may be
//! without it, a test that would hold is unknown.

use super::truth::Truth;
use super::walk::OneWalk;
use crate::model::facts::{ABSENT, Possible};
use crate::model::{CodeList, Fact, MonitorState};
use crate::program::{FactRef, How, Quantifier, Test};

/// Whether a test holds.
pub(super) fn truth(walk: &OneWalk<'_, '_>, test: &Test<usize>) -> Truth {
    match test {
        Test::Word { fact, words } => word(walk.possible(fact), *words),
        Test::Number { fact, least, most } => number(walk, fact, *least, *most),
        Test::Text { fact, among, is } => text(walk.given().facts.get(*fact), among, *is),
        Test::Dated(none) => match *none {},
        Test::ModelYearIsEven(even) => model_year_parity(walk, *even),
        Test::Present { fact, is } => {
            let present = present(walk.given().facts.get(*fact));
            if *is { present } else { present.negated() }
        }
        Test::Codes { list, how, among } => codes(walk, *list, *how, *among),
        Test::CodesOfTable { list, how, table } => codes_of_table(walk, *list, *how, *table),
        Test::Count { states, least, most } => walk.counted().how_many(*states).is_within(*least, *most),
        Test::CountOf { monitors, states, least, most } => {
            walk.states().how_many(*monitors, *states).is_within(*least, *most)
        }
        Test::Pair { quantifier, earlier, states } => pair(walk, *quantifier, *earlier, *states),
        Test::NotMoreIncompleteThanEarlier => not_more_than_earlier(walk),
        Test::Limit { limit, within } => {
            let (inside, over) = walk.limit(*limit);
            if *within { inside } else { over }
        }
        Test::Finding(place) => walk.finding(*place),
        Test::Listed(table) => walk.listed(*table),
        Test::Reading { question, reading } => walk.is_read(*question, *reading),
    }
}

fn word(possible: &Possible, words: u64) -> Truth {
    let Possible::Words(mask) = possible else {
        return Truth::False;
    };
    let accepted = mask & words & !ABSENT;
    Truth::between(accepted != 0 && accepted == *mask, accepted != 0)
}

fn number(walk: &OneWalk<'_, '_>, fact: &FactRef<usize>, least: Option<i64>, most: Option<i64>) -> Truth {
    match walk.numbers(fact) {
        None => Truth::False,
        Some((range, may_be_absent)) => unless_absent(range.is_within(least, most), may_be_absent),
    }
}

/// A test's truth on vehicles that have the fact, brought to vehicles that may be without it.
fn unless_absent(truth: Truth, may_be_absent: bool) -> Truth {
    if may_be_absent { truth.and(Truth::Unknown) } else { truth }
}

fn text(possible: &Possible, among: &[String], is: bool) -> Truth {
    match possible {
        Possible::Text(Some(text)) => Truth::of(among.contains(text) == is),
        Possible::Text(None) if among.is_empty() => Truth::of(!is),
        Possible::Text(None) => Truth::Unknown,
        _ => Truth::False,
    }
}

fn model_year_parity(walk: &OneWalk<'_, '_>, even: bool) -> Truth {
    match walk.numbers(&FactRef::Known(Fact::ModelYear)) {
        None => Truth::False,
        Some((range, may_be_absent)) if range.least == range.most => {
            unless_absent(Truth::of((range.least % 2 == 0) == even), may_be_absent)
        }
        Some(_) => Truth::Unknown,
    }
}

fn present(possible: &Possible) -> Truth {
    match possible {
        Possible::Words(mask) => Truth::between(mask & ABSENT == 0, mask & !ABSENT != 0),
        Possible::Number(span) => Truth::between(!span.may_be_absent, !span.has_no_value()),
        Possible::Codes { may_be_absent, may_be_present, .. } => Truth::between(!may_be_absent, *may_be_present),
        Possible::Text(_) | Possible::Monitors { .. } => Truth::True,
    }
}

/// A list of codes as a test sees it: the list (`None`: nothing known), and whether the vehicle may be without it.
fn list_of<'a>(walk: &OneWalk<'_, 'a>, list: Fact) -> Option<(Option<&'a CodeList>, bool)> {
    match walk.given().facts.get(list) {
        Possible::Codes { list, may_be_absent, may_be_present } if *may_be_present => {
            Some((list.as_ref(), *may_be_absent))
        }
        _ => None,
    }
}

fn codes(walk: &OneWalk<'_, '_>, list: Fact, how: How, among: Option<usize>) -> Truth {
    let Some((list, may_be_absent)) = list_of(walk, list) else {
        return Truth::False;
    };
    let group = match among {
        None => None,
        Some(place) => match walk.flat().groups.get(place) {
            Some((_, group)) => Some(group),
            None => return Truth::Unknown,
        },
    };
    let holds_more = list.is_none_or(|list| list.may_hold_more);
    let codes = || list.into_iter().flat_map(|list| list.codes.iter().copied());
    // Whether a single code is of the group.
    let is_in = |code| match group {
        None => Truth::True,
        Some(group) => group.contains(code).map_or(Truth::Unknown, Truth::of),
    };
    let truth = match how {
        How::Any | How::No => {
            let none_can_be = group.is_some_and(|group| group.ranges.is_empty() && group.unread.is_empty());
            let further = if holds_more && !none_can_be { Truth::Unknown } else { Truth::False };
            let any = codes().map(is_in).fold(further, Truth::or);
            if how == How::Any { any } else { any.negated() }
        }
        How::Only => {
            let further = if holds_more && group.is_some() { Truth::Unknown } else { Truth::True };
            codes().map(is_in).fold(further, Truth::and)
        }
    };
    unless_absent(truth, may_be_absent)
}

fn codes_of_table(walk: &OneWalk<'_, '_>, list: Fact, how: How, table: usize) -> Truth {
    let Some((list, may_be_absent)) = list_of(walk, list) else {
        return Truth::False;
    };
    let holds_more = list.is_none_or(|list| list.may_hold_more);
    let codes = || list.into_iter().flat_map(|list| list.codes.iter().copied());
    let rows = || walk.rows(table).filter(|(_, row)| !row.codes.is_empty());
    let truth = match how {
        How::Any | How::No => {
            let mut any = Truth::False;
            for (place, row) in rows() {
                let hit = codes().any(|code| row.has_code(code));
                if hit || holds_more {
                    let hit = if hit { Truth::True } else { Truth::Unknown };
                    any = any.or(walk.row_holds(table, place).and(hit));
                }
            }
            if how == How::Any { any } else { any.negated() }
        }
        How::Only => {
            let further = if holds_more { Truth::Unknown } else { Truth::True };
            codes().fold(further, |truth, code| {
                let on_list = rows()
                    .filter(|(_, row)| row.has_code(code))
                    .fold(Truth::False, |found, (place, _)| found.or(walk.row_holds(table, place)));
                truth.and(on_list)
            })
        }
    };
    unless_absent(truth, may_be_absent)
}

fn pair(walk: &OneWalk<'_, '_>, quantifier: Quantifier, earlier: Fact, states: u64) -> Truth {
    let (surely, perhaps) = walk.earlier(earlier);
    let now = walk.states();
    let any = |mask: u64| {
        Truth::between(!surely.and(now.surely(mask)).is_empty(), !perhaps.and(now.perhaps(mask)).is_empty())
    };
    match quantifier {
        Quantifier::Any => any(states),
        Quantifier::No => any(states).negated(),
        // Every one is in the states: none is in another.
        Quantifier::Every => any(!states).negated(),
    }
}

fn not_more_than_earlier(walk: &OneWalk<'_, '_>) -> Truth {
    let now = walk.counted().how_many(MonitorState::Incomplete.bit());
    match walk.numbers(&FactRef::Known(Fact::EarlierIncompleteCount)) {
        None => Truth::False,
        Some((then, may_be_absent)) => {
            unless_absent(Truth::between(now.most <= then.least, now.least <= then.most), may_be_absent)
        }
    }
}
