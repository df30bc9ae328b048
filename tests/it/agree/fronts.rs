//! Each front against one vehicle at a time.

use super::{program, seeds};
use crate::bulk::documents::{came, written};
use crate::bulk::records::{Dice, Records, Vocabulary, in_terms_of};
use crate::bulk::{Came, by_snapshot, days, flat_on, try_program};
use std::collections::{BTreeMap, BTreeSet};
use wherefore::internals::bulk::{Documents, Engine, Options, Room};
use wherefore::internals::certificate::verify;
use wherefore::internals::document;
use wherefore::internals::evaluate;
use wherefore::internals::model::Date;
use wherefore::internals::program::{Flat, Given, Program};
use wherefore::internals::ruling::{Prepared, certificate, judge};

/// Planes, exact answers and rows (in [`try_program`]).
#[test]
fn columns_and_rows_of_random_programs() {
    let (mut answered, mut quick) = (0, 0);
    for seed in seeds(25) {
        let Ok((program, _)) = program(seed) else { continue };
        answered += try_program(&program, seed, 40, &mut quick);
    }
    assert!(answered > 500 && quick > 20, "{answered} answered, {quick} of them at once");
    println!("{answered} records answered, {quick} at once");
}

/// Documents, whole rulings, rulings of prepared programs, and proofs.
#[test]
fn documents_and_rulings_of_random_programs() {
    let (mut rulings, mut proofs, mut settled) = (0, 0, 0);
    for seed in seeds(25) {
        let Ok((program, text)) = program(seed) else { continue };
        let mut dice = Dice(seed + 77);
        let dates: Vec<Date> = days(&program, &mut dice);
        let flats: Vec<Flat> = dates.iter().map(|date| flat_on(&program, *date)).collect();
        let documents = Documents::new(Engine::new(&program, Options::default()).unwrap());
        let mut prepared: BTreeMap<Date, Prepared> = BTreeMap::new();
        let mut room = Room::default();
        for unknown in [0, 5, 40] {
            let vocabulary = Vocabulary::of(&flats, dates.clone(), &mut dice);
            let records = Records::roll(&vocabulary, 6, unknown, &mut dice);
            for snapshot in &records.snapshots {
                let date = snapshot.test_date().unwrap();
                let flat = flat_on(&program, date);
                let snapshot = in_terms_of(&flat, snapshot);
                let Ok(read) = document::read(written(&snapshot).as_bytes()) else {
                    let found = came(&documents, &written(&snapshot), &mut room, &mut settled);
                    assert!(matches!(found, Came::Nothing(_)), "seed {seed}: {found:?} {snapshot:?}\n{text}");
                    continue;
                };
                let snapshot = read.snapshot;
                let expected = by_snapshot(&flat, &snapshot);
                let found = came(&documents, &written(&snapshot), &mut room, &mut settled);
                assert_eq!(found, expected, "seed {seed} {snapshot:?}\n{text}");
                let Came::To { possible, .. } = expected else { continue };
                let whole = judge(&flat, &program, &snapshot).unwrap();
                let ready = prepared.entry(date).or_insert_with(|| Prepared::new(flat.clone()));
                assert_eq!(ready.judge(&program, &snapshot).unwrap(), whole, "seed {seed} {snapshot:?}\n{text}");
                let told: BTreeSet<_> = whole.possible.iter().map(|one| one.verdict).collect();
                assert_eq!(told, possible, "seed {seed} {snapshot:?}\n{text}");
                assert!(whole.exact, "seed {seed} {snapshot:?}\n{text}");
                let given = Given::of(&flat, &snapshot).unwrap();
                let bound = evaluate::verdict(&flat, &given).to_set();
                assert!(possible.is_subset(&bound), "seed {seed} {snapshot:?}\n{text}");
                rulings += 1;
                if let Some(proof) = certificate(&flat, &snapshot).unwrap() {
                    verify(&proof, &flat, &snapshot).unwrap();
                    let name = possible.first().unwrap().name(&flat);
                    assert_eq!((possible.len(), proof.verdict.as_str()), (1, name), "seed {seed} {snapshot:?}\n{text}");
                    proofs += 1;
                }
                lacks_nothing(&program, &flat, &snapshot);
            }
        }
    }
    assert!(rulings > 100 && proofs > 30, "{rulings} rulings, {proofs} proofs");
    println!("{rulings} rulings, {proofs} proofs, {settled} documents settled at once");
}

/// The facts that a ruling calls enough are enough: with these alone the verdict is the same.
fn lacks_nothing(program: &Program, flat: &Flat, snapshot: &wherefore::internals::model::Snapshot) {
    let whole = judge(flat, program, snapshot).unwrap();
    if whole.possible.len() != 1 {
        return;
    }
    let kept: BTreeSet<String> = whole.sufficient.iter().map(|fact| fact.key.clone()).collect();
    let mut less = snapshot.clone();
    less.readings.retain(|fact, _| {
        *fact == wherefore::internals::model::Fact::TestDate
            || kept.contains(&wherefore::internals::model::table::key_of(*fact))
    });
    less.declared.retain(|name, _| kept.contains(&format!("declared.{name}")));
    // A presumption may fill what was left away, so the facts are enough only where none was used.
    if flat.presumptions.is_empty() {
        let Came::To { possible, .. } = by_snapshot(flat, &less) else { panic!("{less:?}") };
        assert_eq!(possible.len(), 1, "{kept:?} are not enough: {snapshot:?}");
    }
}
