//! Vehicles of which some facts are taken away.

use crate::model::{Fact, Facts, Snapshot};
use crate::program::given::{facts_of, whole};
use crate::program::{Condition, FactRef, Flat, Given};
use std::collections::BTreeSet;

/// The facts that a verdict of the program can turn on.
pub(super) fn bearing(flat: &Flat) -> BTreeSet<FactRef<usize>> {
    let mut facts = BTreeSet::new();
    each_condition(flat, &mut |condition| facts.extend(facts_of(flat, condition)));
    facts
}

/// Calls `visit` on every condition that a verdict can turn on; named conditions, limits, counts and tables are reached
/// through them.
pub(super) fn each_condition<'a>(flat: &'a Flat, visit: &mut impl FnMut(&'a Condition<usize>)) {
    flat.covers.iter().for_each(|covers| visit(&covers.item));
    flat.left_out.iter().for_each(|row| visit(&row.condition));
    for line in &flat.lines {
        visit(&line.concerns);
        visit(&line.unmet_where);
        line.gives_way.iter().for_each(|(_, condition)| visit(condition));
    }
    flat.becomes.iter().for_each(|rule| visit(&rule.condition));
}

/// The facts of which something was read or presumed; the test date apart, which the request fixes.
pub(super) fn known(flat: &Flat, given: &Given, snapshot: &Snapshot) -> BTreeSet<FactRef<usize>> {
    let read = snapshot.readings.keys().filter(|fact| **fact != Fact::TestDate).map(|fact| FactRef::Known(*fact));
    let declared = flat.facts.iter().enumerate().filter(|(_, fact)| snapshot.declared.contains_key(&fact.name));
    let presumed = given
        .presumed
        .iter()
        .filter(|place| !given.is_unlisted_by(**place))
        .filter_map(|place| flat.presumptions.get(*place).map(|presumption| presumption.fact.clone()));
    read.chain(declared.map(|(place, _)| FactRef::Declared(place))).chain(presumed).collect()
}

/// The vehicle with nothing known but these facts. Presumptions are not used anew.
pub(super) fn only(flat: &Flat, given: &Given, keep: &BTreeSet<FactRef<usize>>) -> Given {
    let mut facts = Facts::unknown();
    facts.put(Fact::TestDate, given.facts.get(Fact::TestDate).clone());
    for fact in keep {
        if let FactRef::Known(fact) = fact {
            facts.put(*fact, given.facts.get(*fact).clone());
        }
    }
    let declared = flat.facts.iter().zip(&given.declared).enumerate().map(|(place, (fact, possible))| {
        if keep.contains(&FactRef::Declared(place)) { possible.clone() } else { whole(&fact.kind) }
    });
    let declared = declared.collect();
    // Fewer facts contradict each other no more than all of them did.
    let _ = facts.narrow();
    let mut less = Given { facts, declared, presumed: given.presumed.clone(), unlisted: given.unlisted.clone() };
    less.find_rows(flat);
    less
}
