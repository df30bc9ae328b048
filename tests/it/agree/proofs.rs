//! False proofs: true certificates with parts dropped, added, widened or taken from another vehicle's, against the checker
//! alone. A changed certificate may still be a proof of the true verdict; of another verdict it must never be one.

use super::{program, seeds};
use crate::bulk::records::{Dice, Records, Vocabulary, in_terms_of};
use crate::bulk::{Came, by_snapshot, days, flat_on};
use serde_json::Value;
use std::collections::BTreeSet;
use wherefore::internals::certificate::{Certificate, verify};
use wherefore::internals::model::Snapshot;
use wherefore::internals::program::{Flat, Program};
use wherefore::internals::ruling::certificate;

/// Every list, number and object of a document, by the way to it.
fn places(value: &Value, way: &mut Vec<String>, found: &mut Vec<Vec<String>>) {
    found.push(way.clone());
    let mut each = |key: String, value: &Value| {
        way.push(key);
        places(value, way, found);
        way.pop();
    };
    match value {
        Value::Object(map) => map.iter().for_each(|(key, value)| each(key.clone(), value)),
        Value::Array(list) => list.iter().enumerate().for_each(|(at, value)| each(at.to_string(), value)),
        _ => {}
    }
}

fn at<'v>(value: &'v mut Value, way: &[String]) -> Option<&'v mut Value> {
    way.iter().try_fold(value, |value, key| match value {
        Value::Object(map) => map.get_mut(key),
        Value::Array(list) => list.get_mut(key.parse::<usize>().ok()?),
        _ => None,
    })
}

/// One change somewhere in a certificate; `others` are certificates of other vehicles of the program.
pub fn changed(value: &mut Value, others: &[Value], verdicts: &[String], dice: &mut Dice) {
    let mut ways = Vec::new();
    places(value, &mut Vec::new(), &mut ways);
    let way = dice.pick(&ways);
    let mut other = dice.pick(others);
    let same = at(&mut other, &way).cloned();
    let name = dice.pick(verdicts);
    let Some(here) = at(value, &way) else { return };
    match (dice.roll(4), here) {
        (0, here) if same.is_some() => *here = same.unwrap(),
        (_, Value::Array(list)) => match dice.roll(4) {
            0 if !list.is_empty() => drop(list.remove(dice.roll(list.len()))),
            1 if !list.is_empty() => list.push(list[dice.roll(list.len())].clone()),
            2 => list.clear(),
            _ if list.iter().all(Value::is_u64) => list.push(Value::from(dice.roll(4))),
            _ => list.reverse(),
        },
        (_, here @ Value::Number(_)) => *here = Value::from(dice.roll(6)),
        (_, here @ Value::Null) => *here = Value::from(0),
        (_, here @ Value::String(_)) => *here = Value::String(name),
        (_, Value::Object(map)) => {
            if let Some(key) = map.keys().nth(dice.roll(map.len())).cloned() {
                map.remove(&key);
            }
        }
        (_, Value::Bool(is)) => *is = !*is,
    }
}

/// Tries false proofs of a program; how many were tried, and how many were accepted with the true verdict.
fn attack(flat: &Flat, snapshots: &[Snapshot], each: usize, dice: &mut Dice, told: &str) -> (usize, usize) {
    let mut true_ones: Vec<(Snapshot, Value)> = Vec::new();
    for snapshot in snapshots {
        if let Ok(Some(proof)) = certificate(flat, snapshot) {
            true_ones.push((snapshot.clone(), serde_json::to_value(&proof).unwrap()));
        }
    }
    let others: Vec<Value> = true_ones.iter().map(|(_, proof)| proof.clone()).collect();
    let verdicts: Vec<String> = others.iter().map(|proof| proof["verdict"].as_str().unwrap().to_owned()).collect();
    let (mut tried, mut accepted) = (0, 0);
    for snapshot in snapshots {
        let Came::To { possible, .. } = by_snapshot(flat, snapshot) else { continue };
        let names: BTreeSet<&str> = possible.iter().map(|verdict| verdict.name(flat)).collect();
        for _ in 0..each {
            if others.is_empty() {
                break;
            }
            let mut value = dice.pick(&others);
            for _ in 0..=dice.roll(4) {
                changed(&mut value, &others, &verdicts, dice);
            }
            let Ok(forged) = serde_json::from_value::<Certificate>(value) else { continue };
            tried += 1;
            if verify(&forged, flat, snapshot).is_ok() {
                accepted += 1;
                assert_eq!(names, BTreeSet::from([forged.verdict.as_str()]), "{forged:?} {snapshot:?}\n{told}");
            }
        }
    }
    (tried, accepted)
}

fn snapshots(program: &Program, len: usize, dice: &mut Dice) -> Vec<(Flat, Vec<Snapshot>)> {
    let mut found = Vec::new();
    for date in days(program, dice).into_iter().rev().take(2) {
        let flat = flat_on(program, date);
        let mut all = Vec::new();
        for unknown in [0, 10, 40] {
            let vocabulary = Vocabulary::of(std::slice::from_ref(&flat), vec![date], dice);
            let records = Records::roll(&vocabulary, len, unknown, dice);
            all.extend(records.snapshots.iter().map(|snapshot| in_terms_of(&flat, snapshot)));
        }
        found.push((flat, all));
    }
    found
}

#[test]
fn no_false_proof_is_accepted_of_random_programs() {
    let (mut tried, mut accepted) = (0, 0);
    for seed in seeds(40) {
        let Ok((program, text)) = program(seed) else { continue };
        let mut dice = Dice(seed + 1_000_003);
        for (flat, snapshots) in snapshots(&program, 4, &mut dice) {
            let (more, true_ones) = attack(&flat, &snapshots, 40, &mut dice, &text);
            (tried, accepted) = (tried + more, accepted + true_ones);
        }
    }
    assert!(tried > 5_000 && accepted > 50, "{tried} tried, {accepted} true all the same");
    println!("{tried} changed proofs, {accepted} true all the same, none of another verdict accepted");
}

#[test]
fn no_false_proof_is_accepted_of_shipped_programs() {
    let (mut tried, mut accepted) = (0, 0);
    for (place, program) in crate::diagram::shipped::programs().iter().enumerate() {
        let mut dice = Dice(place as u64 + seeds(1).end * 1_000);
        for (flat, mut snapshots) in snapshots(program, 2, &mut dice) {
            let cases = program.cases.iter().filter(|case| case.facts.test_date() == Some(flat.test_date));
            snapshots.extend(cases.map(|case| case.facts.clone()));
            let (more, true_ones) = attack(&flat, &snapshots, 20 * seeds(1).count().min(50), &mut dice, &program.id);
            (tried, accepted) = (tried + more, accepted + true_ones);
        }
    }
    assert!(tried > 1_000 && accepted > 10, "{tried} tried, {accepted} true all the same");
    println!("{tried} changed proofs, {accepted} true all the same, none of another verdict accepted");
}
