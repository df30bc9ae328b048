//! What an epoch has in common with others. Ages become bounds on the model year that move each year; where they keep
//! their order, and their distance from the others or more than a few years, the programs of two epochs are the same but
//! for which years their classes hold, and so are all their mutants: what is equivalent in one is equivalent in the
//! other. The distance kept is greater than what any mutant moves a bound by; parity is kept where it is asked.

use crate::program::Flat;
use std::collections::BTreeMap;

/// Distances from this on are alike: a mutant moves one bound by one year, and both parities lie between.
const FAR: i64 = 6;

/// How a bound on the model year begins in the program written out.
const BEFORE: &str = "fact: Known(ModelYear), least: ";
const BETWEEN: &str = ", most: ";

/// The program written out, but for its dates and with the model years by their order.
pub(super) fn pattern(flat: &Flat) -> String {
    let text = written_out(flat);
    let mut parts = Vec::new();
    let mut years: BTreeMap<i64, i64> = BTreeMap::new();
    let mut rest = text.as_str();
    while let Some((before, after)) = rest.split_once(BEFORE) {
        let Some((least, after)) = bound(after) else { break };
        let Some((most, after)) = after.strip_prefix(BETWEEN).and_then(bound) else { break };
        parts.push((before, [least, most]));
        years.extend([least, most].into_iter().flatten().map(|year| (year, 0)));
        rest = after;
    }
    let parity = text.contains("ModelYearIsEven");
    let mut last: Option<(i64, i64)> = None;
    for (year, place) in &mut years {
        let own = match last {
            Some((before, place)) => place + (year - before).min(FAR + i64::from(parity && (year - before) % 2 != 0)),
            None => i64::from(parity && year % 2 != 0),
        };
        *place = own;
        last = Some((*year, own));
    }
    let mut pattern = String::new();
    for (before, bounds) in parts {
        let places = bounds.map(|year| year.and_then(|year| years.get(&year)));
        pattern.push_str(&format!("{before}{places:?}"));
    }
    pattern.push_str(rest);
    let year = if parity { flat.test_date.year() % 2 } else { 0 };
    format!("{pattern} {year}")
}

/// `Some(2001)` or `None` at the beginning of a text, and what follows.
fn bound(text: &str) -> Option<(Option<i64>, &str)> {
    if let Some(rest) = text.strip_prefix("None") {
        return Some((None, rest));
    }
    let (number, rest) = text.strip_prefix("Some(")?.split_once(')')?;
    Some((Some(number.parse().ok()?), rest))
}

fn written_out(flat: &Flat) -> String {
    let frame = (flat.in_force, &flat.outcomes, &flat.facts, &flat.questions, &flat.groups, &flat.presumptions);
    let count = (&flat.findings, &flat.tables, &flat.counts, &flat.excuses, &flat.limits);
    let rules = (&flat.covers, &flat.left_out, &flat.lines, &flat.becomes, &flat.due, &flat.consequences);
    format!("{frame:?} {count:?} {rules:?}")
}
