//! The columnar engine against the ruling of one vehicle at a time: the interpreter where it gives a single verdict, the
//! decision diagrams of that very vehicle where it does not. They share with the engine the flat program and the
//! vocabulary, and of its exact answers the diagrams' building; never its planes.

pub mod documents;
mod exhaustive;
mod numbers;
mod presumed;
pub mod records;
pub mod rows;
mod said;
mod threads;

use records::{Dice, Records, Vocabulary, in_terms_of};
use std::collections::{BTreeMap, BTreeSet};
use wherefore::internals::bulk::{Engine, Judged, Options, RowEngine, RowError, TypedRow};
use wherefore::internals::diagram::Exact;
use wherefore::internals::evaluate;
use wherefore::internals::model::{Date, Snapshot, day_number};
use wherefore::internals::program::select::epochs;
use wherefore::internals::program::{Flat, Given, GivenError, Program, Selection, Verdict, select};

/// What a record comes to, in a form that compares.
#[derive(Debug, PartialEq, Eq)]
pub enum Came {
    To { possible: BTreeSet<Verdict>, deciding: Vec<usize>, alternatives: Vec<usize> },
    Contradiction,
    Nothing(String),
}

pub fn by_engine(judged: &Judged, row: usize) -> Came {
    match judged.row(row) {
        Some(found) => Came::To {
            possible: found.possible().collect(),
            deciding: found.deciding().collect(),
            alternatives: found.alternatives().to_vec(),
        },
        None => match judged.errors().iter().find(|(at, _)| *at == row) {
            Some((_, RowError::Contradiction(_))) => Came::Contradiction,
            other => Came::Nothing(format!("{other:?}")),
        },
    }
}

/// The same by one vehicle at a time.
pub fn by_vehicle(flat: &Flat, snapshot: &Snapshot) -> Came {
    by_snapshot(flat, &in_terms_of(flat, snapshot))
}

/// The same for a snapshot whose words of declared facts are the program's own.
pub fn by_snapshot(flat: &Flat, snapshot: &Snapshot) -> Came {
    let given = match Given::of(flat, snapshot) {
        Ok(given) => given,
        Err(GivenError::Contradiction(_)) => return Came::Contradiction,
        Err(other) => return Came::Nothing(other.to_string()),
    };
    let evaluation = evaluate::interpret(flat, &given);
    let lines = || flat.lines.iter().zip(&evaluation.lines).enumerate();
    let sure = lines().filter(|(_, (_, record))| record.live.is_true()).map(|(_, (line, _))| line.outcome).max();
    let unsure = lines().any(|(_, (line, record))| record.live.is_unknown() && line.outcome >= sure.unwrap_or(0));
    if let Some(verdict) = evaluation.possible.single()
        && !unsure
    {
        let deciding = lines()
            .filter(|(_, (line, record))| record.live.is_true() && Some(line.outcome) == sure)
            .map(|(place, _)| place);
        return Came::To { possible: BTreeSet::from([verdict]), deciding: deciding.collect(), alternatives: vec![] };
    }
    let (exact, _) = Exact::of(flat, &given).unwrap();
    Came::To { deciding: exact.deciding(), alternatives: exact.alternatives(), possible: exact.possible }
}

pub fn flat_on(program: &Program, date: Date) -> Flat {
    select(program, &Selection::on(date)).unwrap()
}

/// Days of a program: the first and the last of some epochs, and the day before the first.
pub fn days(program: &Program, dice: &mut Dice) -> Vec<Date> {
    let epochs = epochs(program);
    let mut days: Vec<Date> =
        (0..2).map(|_| dice.pick(&epochs)).flat_map(|epoch| [epoch.from, epoch.through]).collect();
    days.extend(epochs.first().and_then(|epoch| epoch.from.yesterday().ok()));
    days.extend(["2025-07-01", "2026-11-25"].map(|day| day.parse::<Date>().unwrap()));
    days
}

fn compare(program: &Program, records: &Records, judged: &Judged) -> usize {
    let mut answered = 0;
    let mut flats: BTreeMap<Date, Flat> = BTreeMap::new();
    for (row, snapshot) in records.snapshots.iter().enumerate() {
        let date = snapshot.test_date().unwrap();
        let flat = flats.entry(date).or_insert_with(|| flat_on(program, date));
        let expected = by_vehicle(flat, snapshot);
        let found = by_engine(judged, row);
        assert_eq!(found, expected, "{} record {row}: {snapshot:?}", program.id);
        answered += usize::from(matches!(found, Came::To { .. }));
    }
    let errors: BTreeSet<usize> = judged.errors().iter().map(|(row, _)| *row).collect();
    assert_eq!(answered + errors.len(), records.snapshots.len(), "{}: every record is judged or set aside", program.id);
    answered
}

pub fn try_program(program: &Program, seed: u64, len: usize, quick: &mut usize) -> usize {
    let mut dice = Dice(seed);
    let mut answered = 0;
    let engine = Engine::new(program, Options::default()).unwrap();
    let dates = days(program, &mut dice);
    let flats: Vec<Flat> = dates.iter().map(|date| flat_on(program, *date)).collect();
    for (unknown, len) in [(0, len), (4, len), (40, len / 2)] {
        let vocabulary = Vocabulary::of(&flats, dates.clone(), &mut dice);
        let records = Records::roll(&vocabulary, len, unknown, &mut dice);
        let judged = engine.judge(&records.batch());
        answered += compare(program, &records, &judged);
        verdicts_alone(program, &judged, &records);
        one_at_a_time(&engine, &records, &judged, quick);
    }
    answered
}

/// Without the lines, verdicts and faults are the same.
fn verdicts_alone(program: &Program, judged: &Judged, records: &Records) {
    let engine = Engine::new(program, Options { verdicts_alone: true, ..Options::default() }).unwrap();
    let alone = engine.judge(&records.batch());
    assert_eq!(alone.possible(), judged.possible(), "{}", program.id);
    assert_eq!(alone.errors(), judged.errors(), "{}", program.id);
    assert!(alone.parts().iter().flat_map(|part| &part.deciding).all(|plane| plane.count() == 0), "{}", program.id);
}

/// The same records as rows, against the batch, which was held against one vehicle at a time.
fn one_at_a_time(engine: &Engine, records: &Records, judged: &Judged, settled: &mut usize) {
    let mut all: BTreeMap<Date, Option<(RowEngine, TypedRow)>> = BTreeMap::new();
    for (place, snapshot) in records.snapshots.iter().enumerate() {
        let date = snapshot.test_date().unwrap();
        let ready = all.entry(date).or_insert_with(|| {
            // What is not taken is counted elsewhere.
            let rows = RowEngine::of(&engine.rules(day_number(date)).unwrap()).ok()?;
            let row = rows.row();
            Some((rows, row))
        });
        let Some((rows, row)) = ready else { continue };
        let flat = rows.rules().flat();
        row.fill(&in_terms_of(flat, snapshot)).unwrap();
        let expected = by_engine(judged, place);
        let found = rows::by_snapshot_of(rows, row);
        assert_eq!(found, expected, "{} {date} {snapshot:?}", flat.program);
        if let Ok(result) = rows.judge(row)
            && let Some(decide) = rows.deciding(result)
        {
            let deciding = (0..128).filter(|line| decide >> line & 1 == 1).collect();
            let found = Came::To { possible: result.possible.to_set(), deciding, alternatives: Vec::new() };
            assert_eq!(found, expected, "{} {date} {snapshot:?}", flat.program);
            *settled += 1;
        }
    }
}

// Issue "audit at the speed of reading", item 2: equal to the interpreter on all shipped programs.
#[test]
fn every_shipped_program_is_judged_as_one_vehicle_at_a_time() {
    let mut least = (usize::MAX, String::new());
    let mut quick = 0;
    for (place, program) in crate::diagram::shipped::programs().iter().enumerate() {
        let answered = try_program(program, 0x5eed + place as u64, 40, &mut quick);
        least = least.min((answered, program.id.clone()));
    }
    // Random records contradict themselves now and then; of every program some must be left that do not.
    assert!(least.0 > 20, "{least:?}");
    assert!(quick > 1_000, "{quick} records were settled as rows");
}

// Design, section 2 (promise 1: an answer to every record), at the edges of a word of the planes.
#[test]
fn batches_of_every_size_at_the_edge_of_a_word() {
    let programs = crate::diagram::shipped::programs();
    let program = programs.iter().find(|program| program.id == "us-model").unwrap();
    let mut dice = Dice(7);
    let dates = days(program, &mut dice);
    let flats: Vec<Flat> = dates.iter().map(|date| flat_on(program, *date)).collect();
    let vocabulary = Vocabulary::of(&flats, dates, &mut dice);
    let engine = Engine::new(program, Options::default()).unwrap();
    let records = Records::roll(&vocabulary, 1100, 3, &mut dice);
    let whole = engine.judge(&records.batch());
    for (from, len) in [(0, 0), (0, 1), (5, 63), (64, 64), (3, 65), (1, 1023), (0, 1024), (10, 1025), (1090, 100)] {
        let judged = engine.judge(&records.batch().slice(from, len));
        assert_eq!(judged.len(), len.min(1100 - from));
        for row in 0..judged.len() {
            assert_eq!(by_engine(&judged, row), by_engine(&whole, from + row), "record {row} from {from}");
        }
        let told = judged.possible().iter().map(|plane| plane.count()).sum::<u64>();
        assert!(told as usize + judged.errors().len() >= judged.len());
        assert!(judged.possible().iter().all(|plane| plane.rows().all(|row| row < judged.len())));
    }
}

/// A record with a number out of its range is set aside, also where no test asks for that number and the record before it
/// says the same in everything that is asked.
#[test]
fn a_number_out_of_range_is_never_taken_for_another_record() {
    use wherefore::internals::bulk::{Batch, Column, Dates, Whole};
    use wherefore::internals::model::Fact;
    use wherefore::internals::program::FactRef;
    let programs = crate::diagram::shipped::programs();
    let program = programs.iter().find(|program| program.id == "us-model").unwrap();
    let engine = Engine::new(program, Options::default()).unwrap();
    let odometer = [100_000i64, 200_000, i64::MAX / 2, 100_000, -1];
    let column = Column::Numbers { values: Whole::I64(&odometer), scale: 1_000_000, known: None };
    let batch = Batch::new(odometer.len(), Dates::One(Date::constant(2026, 11, 25))).unwrap();
    let batch = batch.with(FactRef::Known(Fact::Odometer), column).unwrap();
    for _ in 0..2 {
        let judged = engine.judge(&batch);
        let errors: Vec<usize> = judged.errors().iter().map(|(row, _)| *row).collect();
        assert_eq!(errors, [2, 4]);
        assert!(judged.errors().iter().all(|(_, error)| matches!(error, RowError::OutOfRange { .. })));
        assert_eq!(by_engine(&judged, 0), by_engine(&judged, 3));
        assert!(judged.row(0).is_some() && judged.row(2).is_none());
    }
}
