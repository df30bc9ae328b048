//! Classes of a level in the words of program files: `model year 1996 through 2000`, `catalyst is incomplete`. For people
//! who read findings and comparisons; nothing is decided here.

use super::level::{Class, Level, Members, Sample, Var};
use super::numbers::Lattice;
use super::space::Space;
use crate::model::facts::ABSENT;
use crate::model::{Fact, FactType, MonitorState, Unit, date_of, spec};
use std::collections::BTreeSet;

/// Words joined as in program files: `a, b or c`.
#[must_use]
pub fn or_list(words: &[String]) -> String {
    match words.split_last() {
        None => String::new(),
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
    }
}

/// How many counted monitors are in a state, `exactly 1 counted monitor is`, as program files word it. `top` is how many
/// are counted at all.
#[must_use]
pub fn counted_monitors_are(least: usize, most: usize, top: usize) -> String {
    let words = |number: &str, last: usize| {
        if last == 1 { format!("{number} counted monitor is") } else { format!("{number} counted monitors are") }
    };
    match (least, most) {
        (_, 0) => "no counted monitor is".to_owned(),
        (least, most) if least == most => words(&format!("exactly {least}"), least),
        (0, most) => words(&format!("at most {most}"), most),
        (least, most) if most >= top => words(&format!("at least {least}"), least),
        (least, most) => words(&format!("{least} to {most}"), most),
    }
}

/// Says that a level is in one of some classes.
#[must_use]
pub fn describe(space: &Space, place: usize, classes: &BTreeSet<usize>) -> String {
    let Some(level) = space.levels.get(place) else {
        return String::new();
    };
    let inside: Vec<&Class> = pick(level, classes, true);
    let outside: Vec<&Class> = pick(level, classes, false);
    match &level.var {
        Var::Known(Fact::Monitor(monitor)) => monitor_words(monitor.name(), mask(&inside)),
        Var::Known(fact) => known(*fact, &inside, &outside),
        Var::Declared { name, kind } => {
            if kind == "yes/no" {
                format!("{name} is {}", if mask(&inside) == 0b10 { "yes" } else { "no" })
            } else if inside.iter().any(|class| matches!(class.members, Members::Numbers { .. })) {
                numbers(name, &inside, Unit::One, Lattice::in_unit(Unit::One))
            } else {
                let words: Vec<&str> = kind.split(", ").collect();
                word_list(name, mask(&inside), mask(&outside), &words)
            }
        }
        Var::Question { id, readings } => {
            format!(
                "{id} read as {}",
                or_list(&places(&inside, |place| readings.get(place).cloned().unwrap_or_default()))
            )
        }
        Var::Listed => listed(space, &inside, &outside),
        Var::UnreadCodes(group) => {
            let belongs = inside.iter().any(|class| class.sample == Sample::Truth(true));
            format!(
                "the codes of {group} whose text was not seen {}",
                if belongs { "belong to it" } else { "do not belong to it" }
            )
        }
        Var::Present(fact) => {
            let there = inside.iter().any(|class| class.sample == Sample::Truth(true));
            format!("{} {}", spec(*fact).name, if there { "on this vehicle" } else { "not on this vehicle" })
        }
        Var::Holds(fact, atom) => {
            let held = inside.iter().any(|class| class.sample == Sample::Truth(true));
            let code = space.atoms.get(fact).and_then(|atoms| atoms.atoms.get(*atom));
            let code = code.map(|atom| atom.sample.to_string()).unwrap_or_default();
            format!("{} {} such as {code}", if held { "a" } else { "no" }, spec(*fact).name)
        }
        Var::UnreadLimit { row, .. } => {
            format!(
                "the number of {row}, whose text was not seen, is {}",
                or_list(&places(&inside, |place| place.to_string()))
            )
        }
        Var::Member(fact, monitor) => {
            let member = inside.iter().any(|class| class.sample == Sample::Truth(true));
            let was = if member { "" } else { "not " };
            match fact {
                Fact::EarlierLampMonitors => format!("{} {was}among those that lit the lamp earlier", monitor.name()),
                _ => format!("{} {was}incomplete earlier", monitor.name()),
            }
        }
    }
}

fn pick<'a>(level: &'a Level, classes: &BTreeSet<usize>, inside: bool) -> Vec<&'a Class> {
    let all = level.classes.iter().enumerate();
    all.filter(|(place, _)| classes.contains(place) == inside).map(|(_, class)| class).collect()
}

fn places(classes: &[&Class], word: impl Fn(usize) -> String) -> Vec<String> {
    let places = classes.iter().filter_map(|class| match class.sample {
        Sample::Place(place) => Some(place),
        _ => None,
    });
    places.map(word).collect()
}

fn mask(classes: &[&Class]) -> u64 {
    classes.iter().fold(0, |all, class| match class.members {
        Members::Words(mask) => all | mask,
        _ => all,
    })
}

fn monitor_words(name: &str, mask: u64) -> String {
    let (unsupported, complete) = (MonitorState::Unsupported.bit(), MonitorState::Complete.bit());
    let incomplete = MonitorState::Incomplete.bit();
    let state = match mask {
        one if one == unsupported => "is unsupported",
        one if one == complete => "is supported and complete",
        one if one == incomplete => "is incomplete",
        both if both == complete | incomplete => "is supported",
        both if both == complete | unsupported => "is complete wherever supported",
        both if both == incomplete | unsupported => "is incomplete or unsupported",
        _ => "is in any state",
    };
    format!("{name} {state}")
}

fn known(fact: Fact, inside: &[&Class], outside: &[&Class]) -> String {
    let row = spec(fact);
    match row.kind {
        FactType::YesNo { yes, no } => {
            let mut words = Vec::new();
            for (bit, word) in [(0b10, yes.to_owned()), (0b01, no.to_owned()), (ABSENT, absent(fact))] {
                if mask(inside) & bit != 0 {
                    words.push(word);
                }
            }
            or_list(&words)
        }
        FactType::Words(list) => word_list(row.name, mask(inside), mask(outside), list),
        FactType::Number { unit, .. } => numbers(row.name, inside, unit, Lattice::of(fact)),
        FactType::Date => dates(row.name, inside),
        FactType::Text | FactType::Monitors | FactType::Codes => texts(row.name, inside, outside),
    }
}

fn absent(fact: Fact) -> String {
    format!("{} not on this vehicle", spec(fact).name)
}

fn word_list(name: &str, inside: u64, outside: u64, words: &[&str]) -> String {
    let named = |mask: u64| -> Vec<String> {
        let all = words.iter().enumerate();
        all.filter(|(place, _)| mask >> place & 1 == 1).map(|(_, word)| (*word).to_owned()).collect()
    };
    let (is, is_not) = (named(inside), named(outside));
    let there = if is.len() > is_not.len() && !is_not.is_empty() && inside & ABSENT == 0 {
        format!("{name} is not {}", or_list(&is_not))
    } else if is.is_empty() {
        return format!("{name} not on this vehicle");
    } else {
        format!("{name} is {}", or_list(&is))
    };
    if inside & ABSENT == 0 { there } else { format!("{there}, or not on this vehicle") }
}

fn texts(name: &str, inside: &[&Class], outside: &[&Class]) -> String {
    let named = |classes: &[&Class]| -> Vec<String> {
        let texts = classes.iter().flat_map(|class| match &class.members {
            Members::Texts { named, .. } => named.clone(),
            _ => Vec::new(),
        });
        texts.map(|text| format!("\"{text}\"")).collect()
    };
    let others = inside.iter().any(|class| matches!(class.members, Members::Texts { others: true, .. }));
    if others {
        format!("{name} is not {}", or_list(&named(outside)))
    } else {
        format!("{name} is {}", or_list(&named(inside)))
    }
}

fn listed(space: &Space, inside: &[&Class], outside: &[&Class]) -> String {
    let unit = |place: usize| -> String {
        let parts = space.units.get(place).into_iter().flatten().map(|(fact, among, is)| {
            let texts: Vec<String> = among.iter().map(|text| format!("\"{text}\"")).collect();
            format!("{} {} {}", spec(*fact).name, if *is { "is" } else { "is not" }, or_list(&texts))
        });
        parts.collect::<Vec<_>>().join(" and ")
    };
    let one = |class: &&Class| -> String {
        match &class.members {
            Members::Units(units) if units.is_empty() => "a make, model and engine that is not listed".to_owned(),
            Members::Units(units) => units.iter().map(|place| unit(*place)).collect::<Vec<_>>().join(" and "),
            _ => String::new(),
        }
    };
    if inside.len() <= outside.len() || outside.is_empty() {
        or_list(&inside.iter().map(one).collect::<Vec<_>>())
    } else {
        format!("not {}", or_list(&outside.iter().map(one).collect::<Vec<_>>()))
    }
}

/// The runs of some classes, joined where they touch.
fn runs(classes: &[&Class]) -> (Vec<(i64, i64)>, Option<bool>, bool) {
    let mut all = Vec::new();
    let mut parities = BTreeSet::new();
    let mut absent_too = false;
    for class in classes {
        if let Members::Numbers { runs, even, absent } = &class.members {
            all.extend(runs.iter().copied());
            if !runs.is_empty() {
                parities.insert(*even);
            }
            absent_too |= absent;
        }
    }
    all.sort_unstable();
    let mut joined: Vec<(i64, i64)> = Vec::new();
    for (least, most) in all {
        match joined.last_mut() {
            Some(last) if last.1.saturating_add(1) >= least => last.1 = last.1.max(most),
            _ => joined.push((least, most)),
        }
    }
    let even = if parities.len() == 1 { parities.first().copied().flatten() } else { None };
    (joined, even, absent_too)
}

fn numbers(name: &str, inside: &[&Class], unit: Unit, lattice: Lattice) -> String {
    let (joined, even, absent) = runs(inside);
    let show = |number: i64| unit.telling(number).show(number);
    let whole = lattice.range();
    let run = |(least, most): &(i64, i64)| -> String {
        let (first, last) = (lattice.at_or_above(*least), lattice.at_or_below(*most));
        if first == last {
            show(first)
        } else if whole.is_some_and(|(_, end)| *most >= end) {
            format!("{} or more", show(first))
        } else if whole.is_some_and(|(start, _)| *least <= start) {
            format!("at most {}", show(last))
        } else {
            format!("{} through {}", show(first), show(last))
        }
    };
    finish(name, joined.iter().map(run).collect(), even, absent)
}

fn dates(name: &str, inside: &[&Class]) -> String {
    let (joined, even, absent) = runs(inside);
    let show = |day: i64| date_of(day).map(|date| date.to_string()).unwrap_or_default();
    let run = |(least, most): &(i64, i64)| {
        if *most >= crate::model::day_number(crate::model::Date::constant(2199, 12, 31)) {
            format!("{} or later", show(*least))
        } else {
            format!("{} through {}", show(*least), show(*most))
        }
    };
    finish(name, joined.iter().map(run).collect(), even, absent)
}

fn finish(name: &str, runs: Vec<String>, even: Option<bool>, absent: bool) -> String {
    let parity = match even {
        Some(true) => ", even",
        Some(false) => ", odd",
        None => "",
    };
    match (runs.is_empty(), absent) {
        (true, _) => format!("{name} not on this vehicle"),
        (false, false) => format!("{name} {}{parity}", or_list(&runs)),
        (false, true) => format!("{name} {}{parity}, or not on this vehicle", or_list(&runs)),
    }
}
