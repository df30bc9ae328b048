//! Names of areas, however they are written: a name that is no county of the state never means that a vehicle is *not
//! subject*. Over all programs that declare areas, with spellings made by rule; the list of counties is read here anew.

use crate::every;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use wherefore::internals::evaluate;
use wherefore::internals::model::facts::Possible;
use wherefore::internals::model::{Date, Fact, Snapshot, Value};
use wherefore::internals::program::select::epochs;
use wherefore::internals::program::{Flat, Given, Program, Selection, Verdict, select};
use wherefore::internals::ruling::judge;

const LIST: &str = include_str!("../../policies/us/counties.csv");

/// Counties by state, as the list has them.
fn counties() -> BTreeMap<&'static str, Vec<&'static str>> {
    let mut all: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for line in LIST.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        all.entry(cells[0]).or_default().extend(cells[3].split(';'));
    }
    all
}

fn letters(name: &str) -> String {
    name.to_lowercase().chars().filter(|letter| letter.is_alphanumeric()).collect()
}

/// Programs that declare areas.
fn programs() -> Vec<Arc<Program>> {
    let all = every::entries().iter().filter_map(|entry| entry.program.clone());
    all.filter(|program| program.areas.is_declared()).collect()
}

/// A day on which the program is in force, the latest that its file tells apart.
fn day(program: &Program) -> Date {
    let in_force = |day: &Date| select(program, &Selection::on(*day)).unwrap().in_force.is_yes();
    let days = epochs(program).into_iter().rev().map(|epoch| epoch.from);
    days.into_iter().find(in_force).expect("a day in force")
}

fn names(program: &Program) -> Vec<String> {
    let names = program.areas.all().iter().flat_map(|area| std::iter::once(&area.name).chain(&area.also));
    names.cloned().collect()
}

/// The vehicle in good order of the program's file, in an area.
fn vehicle(program: &Program, day: Date, area: &str) -> Snapshot {
    let mut vehicle = program.ordinary.clone();
    vehicle.set(Fact::TestDate, Value::Date(day));
    vehicle.set(Fact::Area, Value::Text(area.to_owned()));
    vehicle
}

fn area_of(flat: &Flat, vehicle: &Snapshot) -> Option<String> {
    match Given::of(flat, vehicle).unwrap().facts.get(Fact::Area) {
        Possible::Text(text) => text.clone(),
        other => panic!("{other:?}"),
    }
}

fn possible(flat: &Flat, vehicle: &Snapshot) -> BTreeSet<Verdict> {
    evaluate::interpret(flat, &Given::of(flat, vehicle).unwrap()).possible.to_set()
}

/// Spellings that mean the same.
fn spellings(name: &str) -> Vec<String> {
    let spread: String = name.replace(' ', "   ");
    vec![
        name.to_uppercase(),
        name.to_lowercase(),
        format!("  {name} "),
        spread,
        name.replace('.', ""),
        name.replace('.', ". ").trim().to_owned(),
        name.replace(['\'', '’'], ""),
        name.replace(' ', "-"),
        format!("{name}."),
    ]
}

/// Slips of the pen: each letter dropped, doubled, and swapped with the next.
fn slips(name: &str) -> Vec<String> {
    let letters: Vec<char> = name.chars().collect();
    let mut slips = Vec::new();
    for at in 0..letters.len() {
        let mut one = letters.clone();
        one.remove(at);
        slips.push(one.iter().collect());
        let mut two = letters.clone();
        two.insert(at, letters[at]);
        slips.push(two.iter().collect());
        if at + 1 < letters.len() {
            let mut swapped = letters.clone();
            swapped.swap(at, at + 1);
            slips.push(swapped.iter().collect());
        }
    }
    slips
}

#[test]
fn every_program_that_asks_the_area_declares_its_areas() {
    let all: Vec<_> = every::entries().iter().filter_map(|entry| entry.program.clone()).collect();
    let without: Vec<_> = all.iter().filter(|one| !one.areas.is_declared() && !one.areas.is_empty()).collect();
    assert!(without.is_empty(), "{:?}", without.iter().map(|one| &one.id).collect::<Vec<_>>());
    assert!(programs().len() > 20, "only {}", programs().len());
}

#[test]
fn an_area_is_known_however_it_is_written() {
    for program in programs() {
        let day = day(&program);
        let flat = select(&program, &Selection::on(day)).unwrap();
        for name in names(&program) {
            let seen = area_of(&flat, &vehicle(&program, day, &name));
            assert!(seen.is_some(), "{}: {name}", program.id);
            let suffixed = program.areas.state().filter(|_| !name.ends_with("City") && !name.ends_with("County"));
            let is_county = !program.areas.counties_of(&format!("{name} County")).is_empty();
            let with_last_word = suffixed.filter(|_| is_county).map(|state| {
                let end = if state.name == "Louisiana" { "Parish" } else { "County" };
                vec![
                    format!("{name} {end}"),
                    format!("{name} {}", end.to_uppercase()),
                    format!("{name} {end}, {}", state.name),
                ]
            });
            for spelling in spellings(&name).into_iter().chain(with_last_word.into_iter().flatten()) {
                let found = area_of(&flat, &vehicle(&program, day, &spelling));
                assert_eq!(found, seen, "{}: {spelling:?} for {name}", program.id);
            }
        }
    }
}

/// What is no county of the state is as an area of which nothing is known, and which nothing presumes.
#[test]
fn no_name_that_is_no_county_of_the_state_is_outside() {
    let all = counties();
    let (mut strangers, mut counted) = (0, 0);
    for program in programs() {
        let day = day(&program);
        let flat = select(&program, &Selection::on(day)).unwrap();
        let own: BTreeSet<String> = match program.areas.state() {
            Some(state) => all[state.name].iter().map(|name| letters(name)).collect(),
            None => BTreeSet::new(),
        };
        let declared: BTreeSet<String> = names(&program).iter().map(|name| letters(name)).collect();
        // As a snapshot without the area, under a program that presumes none.
        let mut bare = flat.clone();
        bare.presumptions.retain(|one| one.fact != wherefore::internals::program::FactRef::Known(Fact::Area));
        let mut nothing = vehicle(&program, day, "");
        nothing.readings.remove(&Fact::Area);
        let open = possible(&bare, &nothing);
        let abroad = all.iter().filter(|(state, _)| program.areas.state().is_none_or(|own| own.name != **state));
        let abroad = abroad.flat_map(|(_, names)| names.iter().step_by(7).map(|name| (*name).to_owned()));
        for name in names(&program).iter().flat_map(|name| slips(name)).chain(abroad) {
            counted += 1;
            if own.contains(&letters(&name)) || declared.contains(&letters(&name)) {
                continue;
            }
            strangers += 1;
            let vehicle = vehicle(&program, day, &name);
            assert_eq!(area_of(&flat, &vehicle), None, "{}: {name:?}", program.id);
            assert_eq!(possible(&flat, &vehicle), open, "{}: {name:?}", program.id);
        }
    }
    assert!(strangers > 5_000 && strangers < counted, "{strangers} of {counted}");
}

/// A county of the state that no line names is outside, and the ruling may say so.
#[test]
fn every_other_county_of_the_state_is_outside() {
    let all = counties();
    for program in programs() {
        let Some(state) = program.areas.state() else { continue };
        let day = day(&program);
        let flat = select(&program, &Selection::on(day)).unwrap();
        let named: BTreeSet<String> = program.areas.all().iter().map(|area| area.name.to_lowercase()).collect();
        let outside = all[state.name].iter().filter(|name| {
            let seen = area_of(&flat, &vehicle(&program, day, &format!("{name} County")));
            seen.is_some_and(|seen| !named.contains(&seen))
        });
        let few = all[state.name].len() - outside.count();
        assert!(few <= names(&program).len() + 60, "{}: {few}", program.id);
        assert_eq!(area_of(&flat, &vehicle(&program, day, "elsewhere")).as_deref(), Some("elsewhere"));
    }
}

/// A ruling on a stranger says which names there are, and the nearest.
#[test]
fn a_stranger_is_told_of_in_the_ruling() {
    let programs = programs();
    let texas = programs.iter().find(|program| program.id == "us-tx").expect("Texas");
    let day = Date::constant(2026, 11, 28);
    let flat = select(texas, &Selection::on(day)).unwrap();
    let told = |area: &str| judge(&flat, texas, &vehicle(texas, day, area)).unwrap();
    let ruling = told("Haris");
    assert!(ruling.possible.len() > 1, "{:?}", ruling.possible);
    let remark = ruling.remarks.iter().find(|remark| remark.contains("Haris")).expect("a remark");
    assert!(remark.contains("did you mean \"Harris\"?") && remark.contains("another county of Texas"), "{remark}");
    assert!(ruling.unknown.iter().any(|fact| fact.key == "visit.area"), "{:?}", ruling.unknown);
    assert_eq!(told("Harris County, TX").verdict, "pass");
    assert_eq!(told("Anderson").verdict, "not-subject");
    assert!(told("Houston").remarks.iter().any(|remark| remark.contains("may be inside or outside")));
}
