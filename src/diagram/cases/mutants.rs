//! First-order mutants of a flat program: one test taken as always or never true or turned round, one bound moved by one
//! step, one number of a limit moved by one, a line left away, an outcome or a set-aside changed. Each is what a slip of
//! the pen in a program file would make.

use crate::model::{Fact, FactType, spec};
use crate::program::block::Allowance;
use crate::program::{Condition, FactRef, Flat, Test};

/// One mutant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mutant {
    /// What was changed, in words.
    pub what: String,
    /// The clause, finding, limit or coverage it is in.
    pub place: String,
    /// The changed program.
    pub flat: Flat,
}

/// Where a condition stands in a flat program.
#[derive(Debug, Clone, Copy)]
enum At {
    Concerns(usize),
    Unmet(usize),
    Finding(usize),
    Row(usize, usize),
    Covers(usize),
    LeftOut(usize),
}

fn condition_at(flat: &mut Flat, at: At) -> Option<&mut Condition<usize>> {
    match at {
        At::Concerns(line) => flat.lines.get_mut(line).map(|line| &mut line.concerns),
        At::Unmet(line) => flat.lines.get_mut(line).map(|line| &mut line.unmet_where),
        At::Finding(place) => flat.findings.get_mut(place).map(|(_, condition)| condition),
        At::Row(limit, row) => flat.limits.get_mut(limit)?.rows.get_mut(row).map(|row| &mut row.condition),
        At::Covers(place) => flat.covers.get_mut(place).map(|covers| &mut covers.item),
        At::LeftOut(place) => flat.left_out.get_mut(place).map(|row| &mut row.condition),
    }
}

fn places(flat: &Flat) -> Vec<(At, String)> {
    let mut places = Vec::new();
    for (place, line) in flat.lines.iter().enumerate() {
        places.push((At::Concerns(place), format!("clause {}", line.clause)));
        places.push((At::Unmet(place), format!("clause {}", line.clause)));
    }
    places.extend(flat.findings.iter().enumerate().map(|(at, (id, _))| (At::Finding(at), format!("finding {id}"))));
    for (limit, block) in flat.limits.iter().enumerate() {
        let rows = 0..block.rows.len();
        places.extend(rows.map(|row| (At::Row(limit, row), format!("limit {} row {}", block.id, row + 1))));
    }
    places.extend((0..flat.covers.len()).map(|at| (At::Covers(at), "covers".to_owned())));
    places.extend((0..flat.left_out.len()).map(|at| (At::LeftOut(at), "leaves out".to_owned())));
    places
}

/// Every mutant of a program.
#[must_use]
pub fn mutants(flat: &Flat) -> Vec<Mutant> {
    let mut list = Vec::new();
    for (at, place) in places(flat) {
        let mut copy = flat.clone();
        let Some(condition) = condition_at(&mut copy, at) else {
            continue;
        };
        let mut count = 0;
        condition.each_test(&mut |_| count += 1);
        let original = condition.clone();
        for test in 0..count {
            for (what, changed) in changes(&original, test) {
                let mut mutant = flat.clone();
                if let Some(slot) = condition_at(&mut mutant, at) {
                    *slot = changed;
                    list.push(Mutant { what, place: place.clone(), flat: mutant });
                }
            }
        }
    }
    limits(flat, &mut list);
    lines(flat, &mut list);
    list
}

fn limits(flat: &Flat, list: &mut Vec<Mutant>) {
    for (limit, block) in flat.limits.iter().enumerate() {
        for row in 0..block.rows.len() {
            for by in [-1, 1] {
                let mut mutant = flat.clone();
                let slot = mutant.limits.get_mut(limit).and_then(|limit| limit.rows.get_mut(row));
                let moved = match slot.map(|row| &mut row.limit) {
                    Some(Allowance::AtMost { count, .. } | Allowance::AtLeastComplete(count)) => {
                        *count += by;
                        *count >= 0
                    }
                    _ => false,
                };
                if moved {
                    let place = format!("limit {} row {}", block.id, row + 1);
                    let what = format!("the number is one {}", if by < 0 { "less" } else { "more" });
                    list.push(Mutant { what, place, flat: mutant });
                }
            }
        }
    }
}

fn lines(flat: &Flat, list: &mut Vec<Mutant>) {
    for (place, line) in flat.lines.iter().enumerate() {
        let name = format!("clause {}", line.clause);
        let mut with = |what: &str, change: &dyn Fn(&mut crate::program::flat::Line)| {
            let mut mutant = flat.clone();
            if let Some(line) = mutant.lines.get_mut(place) {
                change(line);
                list.push(Mutant { what: what.to_owned(), place: name.clone(), flat: mutant });
            }
        };
        with("the line is left away", &|line| line.concerns = Condition::never());
        for outcome in (0..flat.outcomes.len()).filter(|outcome| *outcome != line.outcome) {
            let word = flat.outcomes.get(outcome).map_or("", |outcome| outcome.name.as_str());
            with(&format!("its outcome is {word}"), &|line| line.outcome = outcome);
        }
        for at in 0..line.gives_way.len() {
            with("it gives way no more", &|line| {
                if at < line.gives_way.len() {
                    line.gives_way.remove(at);
                }
            });
        }
    }
}

/// The changes of one test (by its place in the order of [`Condition::each_test`]) of a condition.
fn changes(condition: &Condition<usize>, place: usize) -> Vec<(String, Condition<usize>)> {
    let mut found = None;
    let mut at = 0;
    condition.each_test(&mut |test| {
        if at == place {
            found = Some(test.clone());
        }
        at += 1;
    });
    let Some(test) = found else {
        return Vec::new();
    };
    let mut new = vec![
        ("a test is taken as always true".to_owned(), Condition::always()),
        ("a test is taken as never true".to_owned(), Condition::never()),
        ("a test is turned round".to_owned(), Condition::Not(Box::new(Condition::Test(test.clone())))),
    ];
    new.extend(moved(&test).into_iter().map(|(what, test)| (what, Condition::Test(test))));
    new.into_iter().map(|(what, new)| (what, replaced(condition, &mut place.clone(), &new))).collect()
}

fn replaced(condition: &Condition<usize>, left: &mut usize, new: &Condition<usize>) -> Condition<usize> {
    match condition {
        Condition::All(parts) => Condition::All(parts.iter().map(|part| replaced(part, left, new)).collect()),
        Condition::Any(parts) => Condition::Any(parts.iter().map(|part| replaced(part, left, new)).collect()),
        Condition::Not(inner) => Condition::Not(Box::new(replaced(inner, left, new))),
        Condition::Test(test) => {
            let here = *left == 0;
            *left = left.wrapping_sub(1);
            if here { new.clone() } else { Condition::Test(test.clone()) }
        }
    }
}

/// Bounds moved by one step of the fact's unit.
fn moved(test: &Test<usize>) -> Vec<(String, Test<usize>)> {
    let mut list = Vec::new();
    let mut add = |bound: &str, by: i64, test: Test<usize>| {
        list.push((format!("the {bound} bound is one {}", if by < 0 { "less" } else { "more" }), test));
    };
    for by in [-1i64, 1] {
        match test {
            Test::Number { fact, least, most } => {
                let step = by * step(fact);
                let fact = || fact.clone();
                if let Some(bound) = least {
                    add("lower", by, Test::Number { fact: fact(), least: Some(bound + step), most: *most });
                }
                if let Some(bound) = most {
                    add("upper", by, Test::Number { fact: fact(), least: *least, most: Some(bound + step) });
                }
            }
            Test::Count { states, least, most } => {
                if let Some(bound) = least {
                    add("lower", by, Test::Count { states: *states, least: Some(bound + by), most: *most });
                }
                if let Some(bound) = most {
                    add("upper", by, Test::Count { states: *states, least: *least, most: Some(bound + by) });
                }
            }
            Test::CountOf { monitors, states, least, most } => {
                let with = |least, most| Test::CountOf { monitors: *monitors, states: *states, least, most };
                if let Some(bound) = least {
                    add("lower", by, with(Some(bound + by), *most));
                }
                if let Some(bound) = most {
                    add("upper", by, with(*least, Some(bound + by)));
                }
            }
            _ => {}
        }
    }
    list
}

fn step(fact: &FactRef<usize>) -> i64 {
    match fact {
        FactRef::Known(fact) => match spec(*fact).kind {
            FactType::Number { unit, .. } if *fact != Fact::GrossWeight => unit.scale(),
            FactType::Number { .. } => crate::model::Unit::Pound.scale(),
            _ => 1,
        },
        FactRef::Declared(_) => 1,
    }
}
