//! The naive evaluator and the symbolic oracle on the random programs: neither shares code with an engine.

use super::{program, seeds};
use crate::bulk::records::{Dice, Records, Vocabulary, in_terms_of};
use crate::bulk::{Came, by_snapshot, days, flat_on};
use crate::diagram::oracle::Vehicle;
use std::collections::BTreeSet;
use wherefore::internals::bulk::{Engine, Options, RowEngine};
use wherefore::internals::model::exclusion::needs_an_answer;
use wherefore::internals::model::table::all_facts;
use wherefore::internals::model::{
    CodeList, Constraint, DeclaredValue, Fact, FactType, MonitorSet, Reading, Snapshot, Value, date_of, day_number,
    spec,
};
use wherefore::internals::program::block::{Allowance, DeclaredType};
use wherefore::internals::program::{Flat, Verdict};

/// The most ways of reading that are tried of one vehicle.
const MOST: usize = 600;
/// Numbers that stand for one that was not read; no random record has more incomplete monitors than the last.
const NUMBERS: usize = 20;

/// The snapshot with something said of every fact: what stands where it said nothing is as plain as can be.
pub fn filled(flat: &Flat, snapshot: &Snapshot) -> Snapshot {
    let mut whole = snapshot.clone();
    for fact in all_facts().filter(|fact| *fact != Fact::TestDate) {
        match whole.readings.get_mut(&fact) {
            None if snapshot.is_silent() && matches!(needs_an_answer(fact), Some(Constraint::AtLeast(..))) => {
                whole.readings.insert(fact, Reading::NotOnVehicle);
            }
            None => {
                let value = match spec(fact).kind {
                    FactType::Words(_) if fact == Fact::Communication => Value::Word(1),
                    FactType::YesNo { .. } | FactType::Words(_) => Value::Word(0),
                    FactType::Number { least, unit, .. } => Value::Number(unit.to_base(least).unwrap()),
                    FactType::Date => Value::Date(date_of(14_000).unwrap()),
                    FactType::Text if fact == Fact::Area => Value::Text("elsewhere".to_owned()),
                    FactType::Text => Value::Text("third".to_owned()),
                    FactType::Monitors => Value::Monitors(MonitorSet::EMPTY),
                    FactType::Codes => Value::Codes(CodeList::default()),
                };
                whole.set(fact, value);
            }
            Some(Reading::Known(Value::Codes(list))) => list.may_hold_more = false,
            // A name that the program does not know is not known.
            Some(Reading::Known(Value::Text(text)))
                if fact == Fact::Area && !["adams", "boulder"].contains(&text.to_lowercase().as_str()) =>
            {
                "elsewhere".clone_into(text);
            }
            Some(_) => {}
        }
    }
    for fact in &flat.facts {
        let plain = match &fact.kind {
            DeclaredType::YesNo => DeclaredValue::YesNo(false),
            DeclaredType::Words(words) => DeclaredValue::Word(words[0].clone()),
            DeclaredType::Number { least, .. } => DeclaredValue::Number(*least),
        };
        let said = whole.declared.entry(fact.name.clone()).or_insert(plain);
        if let (DeclaredType::YesNo, DeclaredValue::Word(word)) = (&fact.kind, &said) {
            *said = DeclaredValue::YesNo(word == "yes");
        }
    }
    whole
}

/// The vehicle in every way of reading what the text leaves open; `None` where there are too many.
fn read_in_every_way(flat: &Flat, facts: Snapshot) -> Option<Vec<Vehicle>> {
    let mut all = vec![Vehicle { facts, ..Vehicle::default() }];
    let mut spread = |put: &dyn Fn(&mut Vehicle, usize), many: usize| {
        let each = |vehicle: Vehicle| {
            (0..many).map(move |place| {
                let mut vehicle = vehicle.clone();
                put(&mut vehicle, place);
                vehicle
            })
        };
        let is_few = all.len() * many <= MOST;
        if is_few {
            all = std::mem::take(&mut all).into_iter().flat_map(each).collect();
        }
        is_few
    };
    for question in flat.questions.iter().filter(|question| question.taken.is_none()) {
        let put = |vehicle: &mut Vehicle, place| {
            vehicle.readings.insert(question.id.clone(), place);
        };
        if !spread(&put, question.readings.len()) {
            return None;
        }
    }
    for (limit, rows) in flat.limits.iter().enumerate() {
        for (row, _) in rows.rows.iter().enumerate().filter(|(_, row)| row.limit == Allowance::NotRead) {
            let put = |vehicle: &mut Vehicle, place: usize| {
                vehicle.limits.insert((limit, row), place as i64);
            };
            if !spread(&put, NUMBERS) {
                return None;
            }
        }
    }
    for group in 0..flat.groups.len() {
        let put = |vehicle: &mut Vehicle, place: usize| {
            vehicle.groups.insert(group, place == 1);
        };
        if !spread(&put, 2) {
            return None;
        }
    }
    Some(all)
}

/// On vehicles of which everything is known the engines tell the verdicts of the naive evaluator in every way of reading
/// what the text leaves open; those that cannot exist are a contradiction.
#[test]
fn random_programs_on_whole_vehicles_against_the_naive_evaluator() {
    let (mut compared, mut open, mut as_rows, mut verdicts) = (0, 0, 0, BTreeSet::new());
    for seed in seeds(60) {
        let Ok((program, text)) = program(seed) else { continue };
        let mut dice = Dice(seed + 5_000_011);
        let engine = Engine::new(&program, Options::default()).unwrap();
        let dates = days(&program, &mut dice);
        let flats: Vec<Flat> = dates.iter().map(|date| flat_on(&program, *date)).collect();
        let vocabulary = Vocabulary::of(&flats, dates, &mut dice);
        for snapshot in Records::roll(&vocabulary, 25, 0, &mut dice).snapshots {
            let flat = flat_on(&program, snapshot.test_date().unwrap());
            let snapshot = filled(&flat, &in_terms_of(&flat, &snapshot));
            let Some(ways) = read_in_every_way(&flat, snapshot.clone()) else { continue };
            let found = by_snapshot(&flat, &snapshot);
            if !ways[0].can_exist() {
                assert_eq!(found, Came::Contradiction, "{snapshot:?}\n{text}");
                continue;
            }
            let expected: BTreeSet<Verdict> = ways.iter().map(|vehicle| vehicle.verdict(&flat)).collect();
            let Came::To { possible, .. } = found else { panic!("{found:?} {snapshot:?}\n{text}") };
            assert_eq!(possible, expected, "seed {seed} {snapshot:?}\n{text}");
            if let Ok(rows) = RowEngine::of(&engine.rules(day_number(flat.test_date)).unwrap()) {
                let mut row = rows.row();
                row.fill(&snapshot).unwrap();
                let found = rows.judge(&row).unwrap();
                assert!(expected.iter().all(|one| found.possible.contains(*one)), "seed {seed} {snapshot:?}\n{text}");
                if found.is_exact {
                    assert_eq!(found.possible.to_set(), expected, "seed {seed} {snapshot:?}\n{text}");
                }
                as_rows += usize::from(found.is_exact);
            }
            compared += 1;
            open += usize::from(expected.len() > 1);
            verdicts.extend(expected);
        }
    }
    assert!(compared > 200 && open > 5 && verdicts.len() > 4, "{compared} compared, {open} open, {verdicts:?}");
    assert!(as_rows > 200, "{as_rows} answered as rows at once");
    println!("{compared} vehicles compared, {open} of them open, {as_rows} answered as rows at once");
}

/// Every root of the diagrams of random programs is the set of vehicles that the symbolic oracle finds.
#[test]
fn random_programs_are_their_symbolic_meaning() {
    let mut compared = 0;
    for seed in seeds(8) {
        let Ok((program, text)) = program(seed) else { continue };
        let day = "2026-11-25".parse().unwrap();
        if let Err(what) = crate::symbolic::agree(&flat_on(&program, day)) {
            panic!("seed {seed}: {what}\n{text}");
        }
        compared += 1;
    }
    assert!(compared > 5, "{compared} compared");
}
