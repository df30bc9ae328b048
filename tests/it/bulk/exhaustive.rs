//! Every state of every monitor that a classic engine controller reports, in every epoch of a program and for either
//! ignition: the columnar engine against the interpreter. Three states for eleven monitors (spark) or nine (compression)
//! are few enough to try all.

use super::{by_engine, by_vehicle, flat_on};
use std::collections::BTreeSet;
use wherefore::internals::bulk::{Batch, Codes, Column, Dates, Engine, Judged, Options};
use wherefore::internals::evaluate;
use wherefore::internals::model::facts::Possible;
use wherefore::internals::model::{CodeList, Date, Fact, FactType, Monitor, Snapshot, Value, date_of, spec};
use wherefore::internals::program::select::epochs;
use wherefore::internals::program::{FactRef, Given, Verdict};

const STATES: [&str; 3] = ["unsupported", "complete", "incomplete"];

/// A vehicle of which everything but its monitors is known and sound.
fn sound(fuel: &str, ignition: &str, date: Date) -> Snapshot {
    let mut car = Snapshot::default();
    car.set(Fact::TestDate, Value::Date(date));
    car.set(Fact::ModelYear, Value::Number(2012));
    car.set(Fact::GrossWeight, Value::Number(4_500 * 45_359_237));
    for (fact, word) in [
        (Fact::Fuel, fuel),
        (Fact::Ignition, ignition),
        (Fact::Class, "light-duty"),
        (Fact::Visit, "initial"),
        (Fact::Connector, "intact"),
        (Fact::Communication, "established"),
        (Fact::Protocol, "classic"),
        (Fact::LampCommanded, "no"),
        (Fact::LampLitKeyOn, "yes"),
        (Fact::LampLitRunning, "no"),
    ] {
        car.set_word(fact, word);
    }
    for fact in wherefore::internals::model::table::all_facts() {
        match spec(fact).kind {
            FactType::Codes if fact != Fact::EarlierFailureCodes => car.set(fact, Value::Codes(CodeList::default())),
            FactType::Number { least, unit, .. } if !matches!(fact, Fact::ModelYear | Fact::GrossWeight) => {
                let value = if matches!(fact, Fact::WarmUps | Fact::DistanceSinceClear) { 200 } else { least };
                car.set(fact, Value::Number(value * unit.scale()));
            }
            _ => {}
        }
    }
    let others = Monitor::all().map(Fact::Monitor);
    others.for_each(|fact| car.set_word(fact, "unsupported"));
    car
}

/// The monitors of the table of an ignition.
fn table(ignition: &str) -> Vec<Monitor> {
    let of = |monitor: &Monitor| {
        !monitor.is_j1939()
            && if ignition == "spark" { !monitor.is_compression_only() } else { !monitor.is_spark_only() }
    };
    Monitor::all().filter(of).collect()
}

fn judged(engine: &Engine, date: Date, car: &Snapshot, monitors: &[Monitor], codes: &[Vec<u8>]) -> Judged {
    let len = codes[0].len();
    let states: Vec<Possible> = (0..3).map(|place| Possible::Words(1 << place)).collect();
    let constants: Vec<(Fact, Vec<Possible>)> = car
        .readings
        .iter()
        .filter(|(fact, _)| **fact != Fact::TestDate)
        .filter(|(fact, _)| !matches!(fact, Fact::Monitor(monitor) if monitors.contains(monitor)))
        .map(|(fact, reading)| {
            let mut facts = wherefore::internals::model::Facts::unknown();
            facts.learn(*fact, reading);
            (*fact, vec![facts.get(*fact).clone()])
        })
        .collect();
    let noughts = vec![0u8; len];
    let mut batch = Batch::new(len, Dates::One(date)).unwrap();
    for (fact, meaning) in &constants {
        let column = Column::Coded { codes: Codes::U8(&noughts), meaning, known: None };
        batch = batch.with(FactRef::Known(*fact), column).unwrap();
    }
    for (monitor, codes) in monitors.iter().zip(codes) {
        let column = Column::Coded { codes: Codes::U8(codes), meaning: &states, known: None };
        batch = batch.with(FactRef::Known(Fact::Monitor(*monitor)), column).unwrap();
    }
    engine.judge(&batch)
}

// Issue "audit at the speed of reading", item 2: exhaustive where the domain allows. The numbers of monitors are those of
// SAE J1979 PID $01 as the digest of encodings has it (three continuous ones; eight of spark, six of compression ignition).
#[test]
fn every_state_of_every_monitor_is_judged_as_the_interpreter_does() {
    let programs = crate::diagram::shipped::programs();
    let program = programs.iter().find(|program| program.id == "us-model").unwrap();
    let engine = Engine::new(program, Options::default()).unwrap();
    let mut kinds: BTreeSet<Vec<Verdict>> = BTreeSet::new();
    let (mut tried, mut epochs_tried) = (0, 0);
    for epoch in epochs(program) {
        epochs_tried += 1;
        let date = epoch.from.max(date_of(epoch_day(epoch.through) - 1).unwrap());
        let flat = flat_on(program, date);
        for (fuel, ignition, count) in [("gasoline", "spark", 11), ("diesel", "compression", 9)] {
            let monitors = table(ignition);
            assert_eq!(monitors.len(), count, "{monitors:?}");
            let car = sound(fuel, ignition, date);
            let len = 3usize.pow(u32::try_from(count).unwrap());
            let state = |row: usize, at: usize| u8::try_from(row / 3usize.pow(at as u32) % 3).unwrap();
            let codes: Vec<Vec<u8>> = (0..count).map(|at| (0..len).map(|row| state(row, at)).collect()).collect();
            let judged = judged(&engine, date, &car, &monitors, &codes);
            assert!(judged.errors().is_empty(), "{:?}", judged.errors().first());
            let given = Given::of(&flat, &car).unwrap();
            for row in 0..len {
                let mut given = given.clone();
                for (at, monitor) in monitors.iter().enumerate() {
                    given.facts.put(Fact::Monitor(*monitor), Possible::Words(1 << state(row, at)));
                }
                let expected: Vec<Verdict> = evaluate::verdict(&flat, &given).iter().collect();
                let found: Vec<Verdict> = judged.row(row).unwrap().possible().collect();
                assert_eq!(found, expected, "{} {date} {fuel} row {row}", program.id);
                // With the lines that decide, for some of them.
                if row % 401 == 0 {
                    let mut car = car.clone();
                    for (at, monitor) in monitors.iter().enumerate() {
                        car.set_word(Fact::Monitor(*monitor), STATES[usize::from(state(row, at))]);
                    }
                    assert_eq!(by_engine(&judged, row), by_vehicle(&flat, &car), "{date} {fuel} row {row}");
                }
                kinds.insert(expected);
            }
            tried += len;
        }
    }
    assert_eq!(tried, epochs_tried * (3usize.pow(11) + 3usize.pow(9)));
    // A vehicle without a monitor, one within the limit, and one beyond it are among them.
    assert!(kinds.len() > 1, "{kinds:?}");
}

fn epoch_day(date: Date) -> i64 {
    wherefore::internals::model::day_number(date)
}
