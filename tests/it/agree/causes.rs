//! What a truth is said to turn on, against the walk itself. Of what is known: those facts alone make it so,
//! whatever else is forgotten. Of what is not: once those facts are known, whatever they are, it is known too.

use super::{program, seeds};
use crate::bulk::records::{Dice, Records, Vocabulary, in_terms_of};
use crate::bulk::{days, flat_on};
use crate::every;
use std::collections::BTreeSet;
use wherefore::internals::evaluate::{Cause, Coverage, LineState, Walk, causes_of, evaluation, explain};
use wherefore::internals::model::facts::Possible;
use wherefore::internals::model::{Fact, Facts, Snapshot};
use wherefore::internals::program::given::whole;
use wherefore::internals::program::{Condition, FactRef, Flat, Given, Test};

/// Every condition of a program that an answer may be given about, with where it stands.
fn conditions(flat: &Flat) -> Vec<(String, &Condition<usize>)> {
    let mut all = Vec::new();
    all.extend(flat.findings.iter().map(|(name, condition)| (format!("finding {name}"), condition)));
    for line in &flat.lines {
        all.push((format!("{} concerns", line.clause), &line.concerns));
        all.push((format!("{} unmet", line.clause), &line.unmet_where));
    }
    all.extend(flat.covers.iter().map(|covers| ("covers".to_owned(), &covers.item)));
    all.extend(flat.left_out.iter().map(|row| (format!("leaves out {}", row.why), &row.condition)));
    all
}

/// A vehicle of which nothing is known, in the program's terms; what was presumed of tables stays.
fn nothing(flat: &Flat, given: &Given) -> Given {
    let declared = flat.facts.iter().map(|fact| whole(&fact.kind)).collect();
    Given { facts: Facts::unknown(), declared, presumed: Vec::new(), unlisted: given.unlisted.clone() }
}

fn copy(to: &mut Given, from: &Given, fact: &FactRef<usize>) {
    if let Some(possible) = from.possible(fact) {
        to.put(fact, possible.clone());
    }
}

/// Counts of what was tried.
#[derive(Debug, Default, Clone, Copy)]
struct Tried {
    known: usize,
    unknown: usize,
    counted: usize,
    records: usize,
}

impl Tried {
    fn add(self, other: Tried) -> Tried {
        Tried {
            known: self.known + other.known,
            unknown: self.unknown + other.unknown,
            counted: self.counted + other.counted,
            records: self.records + other.records,
        }
    }
}

fn is_counted(test: &Test<usize>) -> bool {
    matches!(
        test,
        Test::Count { .. }
            | Test::CountOf { .. }
            | Test::Limit { .. }
            | Test::Pair { .. }
            | Test::NotMoreIncompleteThanEarlier
    )
}

/// The facts among what something turns on; `None` where one of them is not known of the whole vehicle, or where it turns on a
/// text that was not read, which no fact settles.
fn facts_among<'c>(causes: &'c BTreeSet<Cause>, full: &Given) -> Option<Vec<&'c FactRef<usize>>> {
    let mut facts = Vec::new();
    for cause in causes {
        match cause {
            // A fact that the whole vehicle does not tell either.
            Cause::Fact(fact) if !full.is_settled(fact) => return None,
            Cause::Fact(fact) => facts.push(fact),
            Cause::Question(_) => {}
            Cause::LimitNotRead { .. } | Cause::GroupNotRead(_) => return None,
        }
    }
    Some(facts)
}

/// Whether it turns on a text that was not read: a code that was learned may be of the part of a group that was not.
fn is_unread(causes: &BTreeSet<Cause>) -> bool {
    causes.iter().any(|cause| matches!(cause, Cause::LimitNotRead { .. } | Cause::GroupNotRead(_)))
}

/// What an undetermined line and undetermined coverage turn on: once it is known, they are determined. (Determined as on the
/// whole vehicle they need not be: what is presumed where less is known may be otherwise.)
fn try_record(flat: &Flat, full: &Given, partial: &Given, readings: &[Option<usize>], told: &str) -> usize {
    let evaluated = |given: &Given| evaluation(&Walk::new(flat, given, readings));
    let after = |on: &BTreeSet<Cause>| {
        let mut learned = partial.clone();
        facts_among(on, full)?.into_iter().for_each(|fact| copy(&mut learned, full, fact));
        Some(evaluated(&learned))
    };
    let possible = |on: &BTreeSet<Cause>| -> Vec<Possible> {
        facts_among(on, full).unwrap_or_default().into_iter().filter_map(|fact| full.possible(fact).cloned()).collect()
    };
    // Nothing more can be learned of what is settled, so that nothing turns on it.
    let is_open =
        |on: &BTreeSet<Cause>| on.iter().all(|cause| !matches!(cause, Cause::Fact(fact) if partial.is_settled(fact)));
    let mut tried = 0;
    let before = evaluated(partial);
    if let Coverage::Undetermined { on } = &before.coverage {
        assert!(is_open(on), "coverage is open on what is known: {on:?}\n{told}");
    }
    for (record, line) in before.lines.iter().zip(&flat.lines) {
        if let LineState::Undetermined { on } = &record.state {
            assert!(is_open(on), "{} is open on what is known: {on:?}\n{told}", line.clause);
        }
    }
    if let Coverage::Undetermined { on } = &before.coverage
        && let Some(after) = after(on)
    {
        if let Coverage::Undetermined { on: then } = &after.coverage {
            assert!(is_unread(then), "coverage, {on:?} known: still {then:?}\n{told}");
        }
        tried += 1;
    }
    for (place, line) in flat.lines.iter().enumerate() {
        if let LineState::Undetermined { on } = &before.lines[place].state
            && let Some(after) = after(on)
        {
            if let LineState::Undetermined { on: then } = &after.lines[place].state {
                assert!(is_unread(then), "{}: {on:?} known ({:?}), still {then:?}\n{told}", line.clause, possible(on));
            }
            tried += 1;
        }
    }
    tried
}

fn try_one(flat: &Flat, full: &Given, partial: &Given, readings: &[Option<usize>], told: &str) -> Tried {
    let mut tried = Tried::default();
    let walk = Walk::new(flat, partial, readings);
    for (place, condition) in conditions(flat) {
        let truth = walk.truth(condition);
        let causes = causes_of(&walk, condition);
        let is_of_counted = explain(&walk, condition).iter().any(|leaf| is_counted(leaf.test));
        let facts: BTreeSet<&FactRef<usize>> =
            causes.iter().filter_map(|cause| if let Cause::Fact(fact) = cause { Some(fact) } else { None }).collect();
        if truth.is_unknown() {
            assert!(
                facts.iter().all(|fact| !partial.is_settled(fact)),
                "{place} is open on what is known: {causes:?}\n{told}"
            );
            let Some(facts) = facts_among(&causes, full) else { continue };
            let mut learned = partial.clone();
            facts.iter().for_each(|fact| copy(&mut learned, full, fact));
            let learned_all = Walk::new(flat, full, readings).truth(condition);
            if learned_all.is_unknown() {
                continue;
            }
            let walk = Walk::new(flat, &learned, readings);
            let is_settled = !walk.truth(condition).is_unknown() || is_unread(&causes_of(&walk, condition));
            assert!(is_settled, "{place} is not known, and {facts:?} known it still is not\n{told}");
            tried.unknown += 1;
            tried.counted += usize::from(is_of_counted);
        } else {
            // Of what is counted, those that were found in the state asked for are named, and no condition that leaves others out.
            if is_of_counted {
                continue;
            }
            let mut kept = nothing(flat, partial);
            facts.iter().for_each(|fact| copy(&mut kept, partial, fact));
            let after = Walk::new(flat, &kept, readings).truth(condition);
            assert_eq!(after, truth, "{place}: {facts:?} do not suffice for it\n{told}");
            tried.known += 1;
        }
    }
    tried.records = try_record(flat, full, partial, readings, told);
    tried
}

/// The snapshot without some of its readings.
fn forgetful(snapshot: &Snapshot, one_in: usize, dice: &mut Dice) -> Snapshot {
    let mut partial = snapshot.clone();
    partial.readings.retain(|fact, _| *fact == Fact::TestDate || dice.roll(one_in) != 0);
    partial.declared.retain(|_, _| dice.roll(one_in) != 0);
    partial
}

#[test]
fn what_a_truth_turns_on() {
    let seeds: Vec<u64> = seeds(300).collect();
    let came = every::side_by_side(&seeds, |seed| {
        let Ok((program, text)) = program(*seed) else { return Tried::default() };
        let mut dice = Dice(*seed + 77);
        let mut all = Tried::default();
        for date in days(&program, &mut dice).into_iter().rev().take(2) {
            let flat = flat_on(&program, date);
            let vocabulary = Vocabulary::of(std::slice::from_ref(&flat), vec![date], &mut dice);
            let readings: Vec<Option<usize>> =
                flat.questions.iter().map(|question| Some(dice.roll(question.readings.len().max(1)))).collect();
            for snapshot in &Records::roll(&vocabulary, 6, 0, &mut dice).snapshots {
                let snapshot = in_terms_of(&flat, snapshot);
                let Ok(full) = Given::of(&flat, &snapshot) else { continue };
                for one_in in [2, 4, 12] {
                    let partial = forgetful(&snapshot, one_in, &mut dice);
                    let Ok(partial) = Given::of(&flat, &partial) else { continue };
                    let told = format!("seed {seed} on {date} {snapshot:?}\n{text}");
                    all = all.add(try_one(&flat, &full, &partial, &readings, &told));
                }
            }
        }
        all
    });
    let all = came.into_iter().fold(Tried::default(), Tried::add);
    println!("{all:?}");
    let each = seeds.len();
    assert!(
        all.known > each * 50 && all.unknown > each * 10 && all.records > each * 5 && all.counted > each,
        "{all:?}"
    );
}
