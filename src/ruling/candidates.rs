//! Values worth trying for a fact that is not known: one of each kind that the program's tests can tell apart. They are
//! for asking whether a fact matters; the decision diagrams cut values by their own rule.

use super::partial::each_condition;
use super::show;
use crate::model::facts::Possible;
use crate::model::{CodeList, Fact, Monitor, MonitorSet, NumberSpan, TroubleCode};
use crate::program::block::Presumed;
use crate::program::given::presumed;
use crate::program::{Condition, FactRef, Flat, Given, Test};
use std::collections::BTreeSet;

/// The most values tried for one fact; programs of a jurisdiction stay far below.
const MOST: usize = 256;

/// The values to try.
pub(super) fn values(flat: &Flat, given: &Given, fact: &FactRef<usize>) -> Vec<Possible> {
    let Some(possible) = given.possible(fact) else {
        return Vec::new();
    };
    match possible {
        Possible::Words(mask) => {
            (0..64).map(|place| 1u64 << place).filter(|bit| mask & bit != 0).map(Possible::Words).collect()
        }
        Possible::Number(span) => numbers(flat, fact, *span),
        Possible::Text(Some(_)) => Vec::new(),
        Possible::Text(None) => texts(flat, fact),
        Possible::Monitors { surely, perhaps } => monitors(*surely, *perhaps),
        Possible::Codes { list, may_be_absent, may_be_present } => {
            codes(flat, list.as_ref(), *may_be_absent, *may_be_present)
        }
    }
}

/// Every test of the program, those of named conditions, limits, counts and tables included.
fn each_test<'a>(flat: &'a Flat, visit: &mut impl FnMut(&'a Test<usize>)) {
    let mut on = |condition: &'a Condition<usize>| condition.each_test(visit);
    each_condition(flat, &mut on);
    flat.findings.iter().for_each(|(_, condition)| on(condition));
    flat.limits.iter().flat_map(|limit| &limit.rows).for_each(|row| on(&row.condition));
    flat.counts.iter().for_each(|rule| on(&rule.condition));
    flat.excuses.iter().for_each(|excuse| on(&excuse.condition));
    flat.tables.iter().flat_map(|table| &table.rows).for_each(|row| on(&row.condition));
}

fn numbers(flat: &Flat, fact: &FactRef<usize>, span: NumberSpan) -> Vec<Possible> {
    let scale = show::unit(flat, fact).scale();
    let mut cuts = BTreeSet::from([span.least, span.least.saturating_add(scale), span.most]);
    if *fact == FactRef::Known(Fact::EarlierIncompleteCount) {
        cuts.extend(0..=32);
    }
    each_test(flat, &mut |test| {
        if let Test::Number { fact: asked, least, most } = test
            && asked == fact
        {
            for at in [*least, *most].into_iter().flatten() {
                let floor = at.div_euclid(scale).saturating_mul(scale);
                cuts.extend([floor.saturating_sub(scale), floor, floor.saturating_add(scale)]);
            }
        }
    });
    let one = |at: i64| Possible::Number(NumberSpan { least: at, most: at, may_be_absent: false });
    let mut values: Vec<Possible> =
        cuts.into_iter().filter(|at| (span.least..=span.most).contains(at)).take(MOST).map(one).collect();
    if span.may_be_absent {
        values.push(Possible::Number(NumberSpan { least: 1, most: 0, may_be_absent: true }));
    }
    values
}

fn texts(flat: &Flat, fact: &FactRef<usize>) -> Vec<Possible> {
    // No text of a program is one blank: it stands for every other text.
    let mut texts = BTreeSet::from([" ".to_owned()]);
    each_test(flat, &mut |test| {
        if let Test::Text { fact: asked, among, .. } = test
            && FactRef::Known(*asked) == *fact
        {
            texts.extend(among.iter().cloned());
        }
    });
    texts.into_iter().take(MOST).map(|text| Possible::Text(Some(text))).collect()
}

fn monitors(surely: MonitorSet, perhaps: MonitorSet) -> Vec<Possible> {
    let ones = Monitor::all().filter(|monitor| perhaps.contains(*monitor)).map(|monitor| surely.with(monitor));
    let mut sets: Vec<MonitorSet> = [surely, perhaps].into_iter().chain(ones).collect();
    sets.dedup();
    sets.into_iter().map(|set| Possible::Monitors { surely: set, perhaps: set }).collect()
}

fn codes(flat: &Flat, list: Option<&CodeList>, may_be_absent: bool, may_be_present: bool) -> Vec<Possible> {
    let read = list.map(|list| list.codes.clone()).unwrap_or_default();
    let settled = |codes: BTreeSet<TroubleCode>| Possible::Codes {
        list: Some(CodeList { codes, may_hold_more: false }),
        may_be_absent: false,
        may_be_present: true,
    };
    let mut values = Vec::new();
    if may_be_absent {
        values.push(Possible::Codes { list: None, may_be_absent: true, may_be_present: false });
    }
    if may_be_present {
        values.push(settled(read.clone()));
        // U3FFF is in no published list: it stands for a code of no group.
        let mut ends = BTreeSet::from([0xFFFF]);
        for (_, group) in &flat.groups {
            ends.extend(group.ranges.iter().chain(&group.unread).flat_map(|range| [range.first, range.last]));
        }
        let rows = flat.tables.iter().flat_map(|table| &table.rows);
        ends.extend(rows.flat_map(|row| &row.codes).map(|range| range.first));
        for code in ends.into_iter().take(MOST) {
            let mut codes = read.clone();
            codes.insert(TroubleCode::obd(code));
            values.push(settled(codes));
        }
    }
    values
}

/// The sound value of a fact that is not known, where the table gives one and it is still possible.
pub(super) fn sound(given: &Given, fact: &FactRef<usize>) -> Option<Possible> {
    let FactRef::Known(fact) = fact else {
        return None;
    };
    let bit = show::sound_bit(*fact)?;
    presumed(given.facts.get(*fact), &Presumed::Word(bit))
}
