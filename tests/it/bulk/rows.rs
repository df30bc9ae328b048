//! Rows, one at a time, against the interpreter and the diagrams of the same vehicle: every shipped program in every epoch,
//! and random programs. The row engine shares with them the flat program, the vocabulary and the list of exclusions.

use super::records::{Dice, Records, Vocabulary, in_terms_of};
use super::{Came, by_snapshot, flat_on};
use crate::every;
use std::collections::BTreeSet;
use std::sync::Arc;
use wherefore::internals::bulk::{Engine, Options, RowEngine, RowError, RowResult, TypedRow};
use wherefore::internals::evaluate;
use wherefore::internals::evaluate::Truth;
use wherefore::internals::model::{Date, Snapshot, day_number};
use wherefore::internals::program::select::epochs;
use wherefore::internals::program::{Flat, Given, GivenError, Program};
use wherefore::internals::ruling;

/// How many rows came to what.
#[derive(Debug, Default, Clone, Copy)]
pub struct Counts {
    /// Rows that were judged.
    pub judged: usize,
    /// Those with one verdict, and every line known to stand or not.
    pub settled: usize,
    /// Those of which more than one verdict is possible.
    pub open: usize,
    /// Those that no vehicle shows.
    pub impossible: usize,
    /// Those with a presumption that was used.
    pub presumed: usize,
    /// Lines that surely stand.
    pub reasons: usize,
}

impl Counts {
    pub fn add(self, other: Counts) -> Counts {
        Counts {
            judged: self.judged + other.judged,
            settled: self.settled + other.settled,
            open: self.open + other.open,
            impossible: self.impossible + other.impossible,
            presumed: self.presumed + other.presumed,
            reasons: self.reasons + other.reasons,
        }
    }
}

/// An engine for rows on a day.
pub fn engine_on(engine: &Engine, date: Date) -> Arc<RowEngine> {
    let rules = engine.rules(day_number(date)).unwrap();
    match RowEngine::of(&rules) {
        Ok(rows) => Arc::new(rows),
        Err(why) => panic!("{} on {date}: {why}", rules.flat().program),
    }
}

/// The flat program in every way of reading its open questions; `None`: too many.
fn ways(flat: &Flat) -> Option<Vec<Flat>> {
    let mut all = vec![flat.clone()];
    for (place, question) in flat.questions.iter().enumerate().filter(|(_, question)| question.taken.is_none()) {
        let read = |one: Flat| {
            (0..question.readings.len()).map(move |reading| {
                let mut one = one.clone();
                one.questions[place].taken = Some(reading);
                one
            })
        };
        all = all.into_iter().flat_map(read).collect();
        if all.len() > 64 {
            return None;
        }
    }
    Some(all)
}

fn lines(flat: &Flat, holds: impl Fn(usize) -> bool) -> u128 {
    (0..flat.lines.len()).filter(|line| holds(*line)).fold(0, |all, line| all | 1 << line)
}

/// Lines that surely stand and those that may, by the interpreter in every way of reading.
fn by_interpreter(flats: &[Flat], given: &Given) -> (u128, u128) {
    let each = flats.iter().map(|flat| {
        let lives: Vec<Truth> = evaluate::interpret(flat, given).lines.iter().map(|line| line.live).collect();
        (lines(flat, |line| lives[line].is_true()), lines(flat, |line| !lives[line].is_false()))
    });
    each.fold((u128::MAX, 0), |(sure, may_be), one| (sure & one.0, may_be | one.1))
}

/// One snapshot as a row: held against the interpreter, and where `deeply` against the diagrams.
pub fn try_row(rows: &RowEngine, row: &mut TypedRow, flat: &Flat, snapshot: &Snapshot, deeply: bool) -> Counts {
    let at = || format!("{} {} {snapshot:?}", flat.program, flat.test_date);
    row.fill(snapshot).unwrap_or_else(|error| panic!("{error}: {}", at()));
    let found = rows.judge(row);
    let given = match Given::of(flat, snapshot) {
        Ok(given) => given,
        Err(GivenError::Contradiction(why)) => {
            assert_eq!(found, Err(RowError::Contradiction(why)), "{}", at());
            return Counts { impossible: 1, ..Counts::default() };
        }
        Err(other) => panic!("{other}: {}", at()),
    };
    let found: RowResult = found.unwrap_or_else(|error| panic!("{error}: {}", at()));
    let (bound, is_exact) = evaluate::outlook(flat, &given);
    assert!(found.possible.is_within(bound), "{:?} beyond {bound:?}: {}", found.possible, at());
    assert!(!found.possible.is_empty(), "{}", at());
    assert!(found.is_exact || !is_exact, "{}", at());
    let presumed = given.presumed.iter().fold(0u64, |all, place| all | 1 << place);
    assert_eq!(found.presumed & !presumed, 0, "{}", at());
    if found.presumed != presumed {
        // Where all that is asked is known, nothing that was presumed is asked.
        assert!(found.presumed == 0 && found.is_exact, "{}", at());
    }
    assert_eq!(found.surely & !found.perhaps, 0, "{}", at());
    if let Some(flats) = ways(flat) {
        let (sure, may_be) = by_interpreter(&flats, &given);
        assert_eq!(sure & !found.surely, 0, "a line that surely stands is missing: {}", at());
        assert_eq!(found.perhaps & !may_be, 0, "a line that cannot stand is told: {}", at());
        if sure == may_be {
            assert_eq!((found.surely, found.perhaps), (sure, may_be), "{}", at());
        }
    }
    let told: Vec<usize> = rows.reasons(found).collect();
    assert!(told.is_sorted_by_key(|line| (std::cmp::Reverse(flat.lines[*line].outcome), *line)), "{}", at());
    assert_eq!(told.iter().fold(0u128, |all, line| all | 1 << line), found.surely, "{}", at());
    let counts = Counts {
        judged: 1,
        settled: usize::from(found.possible.len() == 1 && found.surely == found.perhaps),
        open: usize::from(found.possible.len() > 1),
        impossible: 0,
        presumed: usize::from(found.presumed != 0),
        reasons: told.len(),
    };
    if !deeply {
        return counts;
    }
    let exact = by_snapshot_of(rows, row);
    assert_eq!(exact, by_snapshot(flat, snapshot), "{}", at());
    let Came::To { possible, deciding, alternatives } = exact else { panic!("{exact:?}: {}", at()) };
    assert!(possible.iter().all(|verdict| found.possible.contains(*verdict)), "{possible:?}: {}", at());
    if found.is_exact {
        assert_eq!(possible, found.possible.to_set(), "{}", at());
    }
    if let Some(decide) = rows.deciding(found) {
        assert!(alternatives.is_empty(), "{}", at());
        assert_eq!(
            deciding,
            (0..flat.lines.len()).filter(|line| decide >> line & 1 == 1).collect::<Vec<_>>(),
            "{}",
            at()
        );
    }
    counts
}

/// The exact answer of a row.
pub fn by_snapshot_of(rows: &RowEngine, row: &TypedRow) -> Came {
    match rows.exact(row) {
        Ok(answer) => Came::To {
            possible: answer.possible.clone(),
            deciding: answer.deciding.clone(),
            alternatives: answer.alternatives.to_vec(),
        },
        Err(RowError::Contradiction(_)) => Came::Contradiction,
        Err(other) => Came::Nothing(other.to_string()),
    }
}

/// Random rows of a program on some days: fully known, a little unknown, and much of it.
pub fn try_days(program: &Program, days: &[Date], seed: u64, len: usize, deeply: bool) -> Counts {
    let mut dice = Dice(seed);
    let engine = Engine::new(program, Options::default()).unwrap();
    let mut counts = Counts::default();
    for day in days {
        let (flat, rows) = (flat_on(program, *day), engine_on(&engine, *day));
        let mut row = rows.row();
        for unknown in [0, 0, 5, 40] {
            let vocabulary = Vocabulary::of(std::slice::from_ref(&flat), vec![*day], &mut dice);
            for snapshot in Records::roll(&vocabulary, len, unknown, &mut dice).snapshots {
                let snapshot = in_terms_of(&flat, &snapshot);
                counts = counts.add(try_row(&rows, &mut row, &flat, &snapshot, deeply));
            }
        }
    }
    counts
}

/// The first day of every epoch.
fn firsts(program: &Program) -> Vec<Date> {
    epochs(program).iter().map(|epoch| epoch.from).collect()
}

// Issue "fast for every program", part 1: every shipped program and epoch is taken; the count is what there is.
#[test]
fn every_shipped_program_is_taken_in_every_epoch() {
    let programs = every::programs();
    let came = every::side_by_side(&programs, |program| {
        let engine = Engine::new(program, Options::default()).unwrap();
        let days = firsts(program);
        let before = days.first().and_then(|day| day.yesterday().ok());
        let mut refused = Vec::new();
        for day in days.iter().copied().chain(before) {
            if let Err(why) = RowEngine::of(&engine.rules(day_number(day)).unwrap()) {
                refused.push(format!("{} on {day}: {why}", program.id));
            }
        }
        (days.len(), refused)
    });
    let refused: Vec<&String> = came.iter().flat_map(|(_, refused)| refused).collect();
    let epochs: usize = came.iter().map(|(epochs, _)| epochs).sum();
    assert!(refused.is_empty(), "{refused:?}");
    assert!(epochs > 1_000, "{epochs} epochs");
    println!("{epochs} epochs of {} programs are taken", programs.len());
}

#[test]
fn every_shipped_program_in_every_epoch_says_of_rows_what_one_vehicle_is_told() {
    let programs: Vec<_> = every::programs().into_iter().zip(0u64..).collect();
    let came = every::side_by_side(&programs, |(program, seed)| {
        let days = firsts(program);
        let counts = try_days(program, &days, 0x50FA + seed, 3, false);
        let last = try_days(program, &days[days.len() - 1..], 0xFA57 + seed, 25, true);
        assert!(last.judged > 20, "{}: {last:?}", program.id);
        counts.add(last)
    });
    let all = came.into_iter().fold(Counts::default(), Counts::add);
    println!("{all:?}");
    assert!(all.judged > 5_000 && all.settled > 2_000 && all.open > 500 && all.reasons > 1_000, "{all:?}");
    assert!(all.impossible > 50 && all.presumed > 100, "{all:?}");
}

/// Worked cases: the verdicts that the files expect, with the readings they take.
#[test]
fn worked_cases_as_rows() {
    let came = every::side_by_side(&every::programs(), |program| {
        for case in &program.cases {
            let options = Options { known_on: case.known_on, takes: case.takes.clone(), ..Options::default() };
            let engine = Engine::new(program, options).unwrap();
            let rows = engine_on(&engine, case.facts.test_date().unwrap());
            let mut row = rows.row();
            row.fill(&case.facts).unwrap();
            let flat = rows.rules().flat();
            let possible = rows.exact(&row).unwrap().possible.clone();
            let names: BTreeSet<&str> = possible.iter().map(|verdict| verdict.name(flat)).collect();
            let expected: BTreeSet<&str> = case.expected.iter().map(String::as_str).collect();
            assert_eq!(names, expected, "{} {:?}", program.id, case.title);
            let bound = rows.judge(&row).unwrap().possible;
            assert!(possible.iter().all(|verdict| bound.contains(*verdict)), "{} {:?}", program.id, case.title);
        }
        program.cases.len()
    });
    assert!(came.iter().sum::<usize>() > 100);
}

/// Reasons in the order of the ruling's grounds, topics that were not read, and presumptions that change the outcome, as
/// whole rulings tell them.
#[test]
fn reasons_unread_topics_and_presumptions_as_the_ruling_tells_them() {
    let programs: Vec<_> = every::programs().into_iter().zip(0u64..).collect();
    let came = every::side_by_side(&programs, |(program, seed)| {
        let day = "2026-11-25".parse().unwrap();
        let mut dice = Dice(0xB0A7 + seed);
        let engine = Engine::new(program, Options::default()).unwrap();
        let (flat, rows) = (flat_on(program, day), engine_on(&engine, day));
        let mut row = rows.row();
        let is_open = flat.questions.iter().any(|question| question.taken.is_none());
        let (mut reasons, mut unread, mut turning) = (0, 0, 0);
        for unknown in [0, 10] {
            let vocabulary = Vocabulary::of(std::slice::from_ref(&flat), vec![day], &mut dice);
            for snapshot in Records::roll(&vocabulary, 25, unknown, &mut dice).snapshots {
                let snapshot = in_terms_of(&flat, &snapshot);
                row.fill(&snapshot).unwrap();
                let Ok(found) = rows.judge(&row) else { continue };
                let whole = ruling::judge_briefly(&flat, program, &snapshot).unwrap();
                let at = || format!("{} {snapshot:?}", program.id);
                if is_open || found.possible.len() > 1 {
                    continue;
                }
                let told: Vec<&str> = rows.reasons(found).map(|line| flat.lines[line].clause.as_str()).collect();
                let grounds: Vec<&str> = whole.grounds.iter().map(|ground| ground.clause.as_str()).collect();
                if found.perhaps != 0 || found.surely != 0 {
                    assert_eq!(told, grounds, "{}", at());
                }
                assert_eq!(rows.so_far_as_read(found).collect::<Vec<_>>(), whole.so_far_as_read, "{}", at());
                let turned = rows.turning(&row).unwrap();
                let kept: Vec<usize> = (0..flat.presumptions.len()).filter(|place| turned >> place & 1 == 1).collect();
                let marked = whole.presumptions.iter().filter(|one| one.turns).count();
                // The ruling drops them by exact sets, the row by bounds: it never marks fewer.
                assert!(kept.len() >= marked, "{kept:?} {marked}: {}", at());
                reasons += told.len();
                unread += whole.so_far_as_read.len();
                turning += kept.len();
            }
        }
        (reasons, unread, turning)
    });
    let all = came.into_iter().fold((0, 0, 0), |all, one| (all.0 + one.0, all.1 + one.1, all.2 + one.2));
    println!("{all:?} reasons, unread topics, presumptions that change the outcome");
    assert!(all.0 > 100 && all.1 > 200 && all.2 > 3, "{all:?}");
}

/// A row of another engine is refused.
#[test]
fn a_row_of_another_engine_is_refused() {
    let programs = every::programs();
    let day = "2026-11-25".parse().unwrap();
    let engine = Engine::new(&programs[0], Options::default()).unwrap();
    let (one, other) = (engine_on(&engine, day), engine_on(&engine, day));
    assert_eq!(one.judge(&other.row()), Err(RowError::OtherEngine));
    assert_eq!(one.exact(&other.row()), Err(RowError::OtherEngine));
    assert!(one.judge(&one.row()).is_ok());
}
