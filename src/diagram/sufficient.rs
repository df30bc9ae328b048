//! A sufficient set of known facts: enough for the same possible verdicts, and none of them can be left away.

use super::Error;
use super::exact::possible;
use crate::model::facts::Possible;
use crate::model::{Fact, Facts, Monitor, MonitorState, Snapshot};
use crate::program::{FactRef, Flat, Given, Verdict};
use std::collections::BTreeSet;

/// What is possible of an unsupported monitor.
const UNSUPPORTED: Possible = Possible::Words(MonitorState::Unsupported.bit());

/// Everything of `given` but the facts kept, as not known; what follows from those kept is drawn again.
fn keeping(flat: &Flat, given: &Given, nothing: &Given, kept: &[FactRef<usize>]) -> Given {
    let mut less = Given { facts: Facts::unknown(), declared: nothing.declared.clone(), ..given.clone() };
    less.facts.put(Fact::TestDate, given.facts.get(Fact::TestDate).clone());
    for fact in kept {
        if let Some(possible) = given.possible(fact) {
            less.put(fact, possible.clone());
        }
    }
    // What is given agrees with itself, so a part of it does too; narrowing cannot fail.
    if less.facts.narrow().is_err() {
        return given.clone();
    }
    less.find_rows(flat);
    less
}

/// The facts that are known, those that are most easily left away first.
fn known(flat: &Flat, given: &Given, nothing: &Given) -> Vec<FactRef<usize>> {
    let whole = Facts::unknown();
    let asked = asked(flat);
    let of_table = crate::model::table::all_facts()
        .filter(|fact| *fact != Fact::TestDate && whole.get(*fact) != given.facts.get(*fact))
        .map(FactRef::Known);
    let declared = (0..flat.facts.len())
        .filter(|place| given.declared.get(*place) != nothing.declared.get(*place))
        .map(FactRef::Declared);
    let mut facts: Vec<FactRef<usize>> = of_table.chain(declared).collect();
    facts.sort_by_key(|fact| {
        let monitor = match fact {
            FactRef::Known(Fact::Monitor(monitor)) => {
                let unsupported = *given.facts.get(Fact::Monitor(*monitor)) == UNSUPPORTED;
                if unsupported { 0 } else { 2 }
            }
            FactRef::Known(Fact::Ignition | Fact::Protocol) => 1,
            _ => 3,
        };
        (asked.contains(fact), monitor)
    });
    facts
}

/// Leaves away facts that follow from the others by the exclusions: nobody read them.
fn only_read(flat: &Flat, given: &Given, nothing: &Given, known: Vec<FactRef<usize>>) -> Vec<FactRef<usize>> {
    let excluded: BTreeSet<Fact> = crate::model::exclusions()
        .iter()
        .flat_map(|rule| [rule.first.fact(), rule.second.fact()])
        .filter(|fact| !matches!(fact, Fact::Monitor(_)))
        .collect();
    // Exclusions leave a monitor only *unsupported*, and never because of another unsupported one: one trial for all.
    let unsupported = |fact: &FactRef<usize>| {
        matches!(fact, FactRef::Known(Fact::Monitor(_))) && given.possible(fact) == Some(&UNSUPPORTED)
    };
    let singles = excluded.into_iter().map(|fact| vec![FactRef::Known(fact)]);
    let mut read = known;
    for run in std::iter::once(read.iter().filter(|fact| unsupported(fact)).cloned().collect()).chain(singles) {
        let rest: Vec<FactRef<usize>> = read.iter().filter(|fact| !run.contains(fact)).cloned().collect();
        if rest.len() < read.len() {
            let drawn = keeping(flat, given, nothing, &rest);
            read.retain(|fact| !run.contains(fact) || drawn.possible(fact) != given.possible(fact));
        }
    }
    read
}

/// Facts that any part of the program asks.
fn asked(flat: &Flat) -> BTreeSet<FactRef<usize>> {
    let conditions = flat
        .covers
        .iter()
        .map(|covers| &covers.item)
        .chain(flat.left_out.iter().map(|row| &row.condition))
        .chain(flat.lines.iter().flat_map(|line| [&line.concerns, &line.unmet_where]))
        .chain(flat.becomes.iter().map(|becomes| &becomes.condition));
    conditions.flat_map(|condition| crate::program::given::facts_of(flat, condition)).collect()
}

/// The sufficient set.
///
/// # Errors
/// Where a diagram outgrows its budget.
pub(crate) fn sufficient(
    flat: &Flat,
    given: &Given,
    verdicts: &BTreeSet<Verdict>,
) -> Result<Vec<FactRef<usize>>, Error> {
    let mut bare = flat.clone();
    bare.presumptions.clear();
    let nothing = Given::of(&bare, &Snapshot::default()).map_err(|_| Error::Contradiction)?;
    let mut kept = only_read(flat, given, &nothing, known(flat, given, &nothing));
    let same = |kept: &[FactRef<usize>]| -> Result<bool, Error> {
        Ok(possible(flat, &keeping(flat, given, &nothing, kept))? == *verdicts)
    };
    // Leave away runs of facts, halving a run that is needed, so that a few needed facts cost few trials.
    let mut waiting: Vec<Vec<FactRef<usize>>> = vec![kept.clone()];
    while let Some(run) = waiting.pop() {
        let without: Vec<FactRef<usize>> = kept.iter().filter(|fact| !run.contains(fact)).cloned().collect();
        if same(&without)? {
            kept = without;
        } else if run.len() > 1 {
            let (left, right) = run.split_at(run.len() / 2);
            waiting.push(right.to_vec());
            waiting.push(left.to_vec());
        }
    }
    kept.sort_by_key(order);
    Ok(kept)
}

fn order(fact: &FactRef<usize>) -> (u8, usize) {
    match fact {
        FactRef::Known(Fact::Monitor(monitor)) => (1, usize::from(monitor.index())),
        FactRef::Known(fact) => (0, crate::model::table::FACTS.iter().position(|row| row.fact == *fact).unwrap_or(0)),
        FactRef::Declared(place) => (2, *place + usize::from(Monitor::HdNmhcCatalyst.index())),
    }
}
