//! Presumptions with a condition, and names of areas, in every way in: columns, slots, documents, proofs, each against one
//! vehicle at a time. The program is invented.

use super::records::{Dice, Records, Vocabulary, in_terms_of};
use super::{by_snapshot, flat_on, try_program};
use std::collections::BTreeSet;
use wherefore::internals::bulk::{Documents, Engine, Options, Room};
use wherefore::internals::catalog::{Catalog, Files};
use wherefore::internals::certificate::verify;
use wherefore::internals::document::{self, Document};
use wherefore::internals::model::{Date, Fact, Snapshot, Value};
use wherefore::internals::program::{Given, Program};
use wherefore::internals::ruling::{certificate, judge};

const TEXT: &str = r#"program zz "Presumptions and areas, invented"
  authority "Example authority"
  language 2
  standing checked

source r1 "1 EX" law, read 2026-11-25

in force from 2020-01-01
  per r1

outcomes pass, reject, fail

areas of "Texas"
  - "Harris" also "Bayou area" partly "City of Houston"
  - "Dallas"
  per r1

covers where area is "Harris"
  per r1
covers where purpose is not renewal
  per r1
covers where area is "Dallas" and model year 2000 or later
  per r1

leaves out where gross weight above 8500 lb and purpose is renewal: not-subject "heavy"
  per r1

presumes purpose is renewal where not known and model year 2005 or later
  per r1
presumes area is "Harris" where not known and any of
    - visit is initial
    - special is yes
  per r1
presumes gross weight 4000 lb where not known and class is not heavy-duty
  per r1
presumes special is no where not known and area is "Dallas" and model year is even
  per r1

fact special: yes or no
  asks "Is it special?"
  observed by papers

clause one on lamp
  fail where lamp commanded on and special is no
  per r1
clause two on connector
  reject where connector is missing and visit is retest
  per r1
"#;

struct Memory;

impl Files for Memory {
    fn names(&self) -> Vec<String> {
        vec!["zz.wherefore".to_owned()]
    }

    fn text(&self, _name: &str) -> Result<String, String> {
        Ok(TEXT.to_owned())
    }

    fn beside(&self, _name: &str, _table: &str) -> Option<String> {
        None
    }

    fn tables(&self, _name: &str) -> Vec<String> {
        Vec::new()
    }
}

fn program() -> Program {
    let entry = Catalog::new(vec![&Memory as &dyn Files]).find("zz").unwrap();
    let program = entry.program.clone().unwrap_or_else(|| panic!("{:?}", entry.diagnostics));
    (*program).clone()
}

#[test]
fn columns_and_slots_agree_with_one_vehicle_at_a_time() {
    let program = program();
    let mut quick = 0;
    let answered: usize = (0..6).map(|seed| try_program(&program, 0xA2EA + seed, 120, &mut quick)).sum();
    assert!(answered > 600 && quick > 0, "{answered} answered, {quick} at once");
}

#[test]
fn documents_and_proofs_agree_with_one_vehicle_at_a_time() {
    let program = program();
    let day = Date::constant(2024, 6, 1);
    let flat = flat_on(&program, day);
    let documents = Documents::new(Engine::new(&program, Options::default()).unwrap());
    let mut room = Room::default();
    let mut dice = Dice(0xD0C5);
    let (mut proofs, mut verdicts) = (0, BTreeSet::new());
    for unknown in [0, 10, 40] {
        let vocabulary = Vocabulary::of(std::slice::from_ref(&flat), vec![day], &mut dice);
        for snapshot in &Records::roll(&vocabulary, 150, unknown, &mut dice).snapshots {
            let snapshot = in_terms_of(&flat, snapshot);
            let text = document::write(&Document { snapshot, extra: Vec::new() }).to_json();
            let Ok(read) = document::read(text.as_bytes()) else { continue };
            let expected = by_snapshot(&flat, &read.snapshot);
            assert_eq!(super::documents::came(&documents, &text, &mut room, &mut 0), expected, "{text}");
            let Ok(ruling) = judge(&flat, &program, &read.snapshot) else { continue };
            verdicts.insert(ruling.verdict.clone());
            if let Ok(Some(proof)) = certificate(&flat, &read.snapshot) {
                proofs += 1;
                assert_eq!(proof.verdict, ruling.verdict, "{text}");
                assert_eq!(verify(&proof, &flat, &read.snapshot), Ok(()), "{text}");
            }
            resting(&flat, &read.snapshot, &ruling);
        }
    }
    assert!(proofs > 100 && verdicts.len() > 3, "{proofs} proofs, {verdicts:?}");
}

/// The presumptions that a ruling marks, and no others, lead to its outcomes; without any one of them more is possible.
fn resting(
    flat: &wherefore::internals::program::Flat,
    snapshot: &Snapshot,
    ruling: &wherefore::internals::ruling::Ruling,
) {
    let used = Given::of(flat, snapshot).unwrap().presumed;
    assert_eq!(used.len(), ruling.presumptions.len());
    let marked: Vec<usize> =
        used.iter().zip(&ruling.presumptions).filter(|(_, it)| it.turns).map(|(place, _)| *place).collect();
    let possible = |kept: &[usize]| {
        let given = Given::presuming(flat, snapshot, &|place| kept.contains(&place)).unwrap();
        wherefore::internals::diagram::exact::possible(flat, &given).unwrap()
    };
    let all: BTreeSet<_> = ruling.possible.iter().map(|it| it.verdict).collect();
    assert_eq!(possible(&marked), all, "{snapshot:?}");
    for place in &marked {
        let fewer: Vec<usize> = marked.iter().copied().filter(|other| other != place).collect();
        assert_ne!(possible(&fewer), all, "{snapshot:?}");
    }
}

/// The condition looks at what is reported: a presumption never rests on another one.
#[test]
fn a_presumption_never_rests_on_another() {
    let program = program();
    let flat = flat_on(&program, Date::constant(2024, 6, 1));
    let mut car = Snapshot::default();
    car.set(Fact::ModelYear, Value::Number(2010));
    let used = |car: &Snapshot| Given::of(&flat, car).unwrap().presumed.len();
    // Purpose alone: the visit is not known, nor the class, nor the area.
    assert_eq!(used(&car), 1);
    car.set_word(Fact::Visit, "initial");
    // The area is presumed now, Harris; had it been reported as Dallas, `special` would be presumed too.
    assert_eq!(used(&car), 2);
    car.set(Fact::Area, Value::Text("Dallas County".to_owned()));
    assert_eq!(used(&car), 2);
    // A name that nobody knows is neither known nor presumed.
    car.set(Fact::Area, Value::Text("Dalas".to_owned()));
    assert_eq!(used(&car), 1);
    let ruling = judge(&flat, &program, &car).unwrap();
    assert!(ruling.possible.len() > 1 && ruling.unknown.iter().any(|fact| fact.key == "visit.area"));
}
