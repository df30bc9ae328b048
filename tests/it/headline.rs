//! Headlines and plans of the current programs of the United States for twelve cars of which only what a reader and the
//! registration tell is known: golden, one file a program under `tests/headline`. `WHEREFORE_BLESS=1` writes them anew;
//! read the difference. Besides, what they claim is tried on completions, by the interpreter. Issue "a headline and a plan".

use crate::every;
use serde_json::{Value as Json, json};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use wherefore::internals::analysis::next::assume::unpresumed;
use wherefore::internals::analysis::next::{Action, Branch, End, Plan, Proviso, simulate};
use wherefore::internals::diagram::example::example;
use wherefore::internals::diagram::level::{Sample, Var};
use wherefore::internals::diagram::{BUDGET, Compiled};
use wherefore::internals::document;
use wherefore::internals::evaluate;
use wherefore::internals::model::{Date, Fact, Monitor, Reading, Snapshot, Value};
use wherefore::internals::program::{Class, Flat, Given, Program, Selection, Verdict, select};
use wherefore::internals::ruling::{HeadlineKind, Prospect, judge, prospect};
use wherefore::internals::wording::headline::{self, Provisos};
use wherefore::internals::wording::wrap::wrapped;

pub(crate) const ROOT: &str = env!("CARGO_MANIFEST_DIR");

pub(crate) fn today() -> Date {
    Date::constant(2026, 11, 28)
}

/// A gasoline passenger car of 2016 as a reader and the registration tell it, with these monitors incomplete.
fn car(incomplete: &[&str], change: impl Fn(&mut Json)) -> Json {
    let mut car = json!({
        "format": "wherefore-snapshot/1",
        "vehicle": {"model_year": 2016, "fuel": "gasoline", "class": class("light-duty", "passenger-car")},
        "visit": {"date": today().to_string()},
        "communication": true,
        "link": {"protocol": "classic", "vin_in_data": true},
        "lamp": {"commanded": false},
        "codes": {"stored": [], "pending": [], "permanent": []},
        "monitors": {
            "misfire": "complete", "fuel-system": "complete", "components": "complete", "catalyst": "complete",
            "heated-catalyst": "unsupported", "evaporative": "complete", "secondary-air": "unsupported",
            "air-conditioning": "unsupported", "oxygen-sensor": "complete", "oxygen-sensor-heater": "complete",
            "egr-vvt": "complete",
        },
        "since_clear": {"warm_ups": 40, "distance_km": 900},
    });
    for monitor in incomplete {
        car["monitors"][*monitor] = "incomplete".into();
    }
    change(&mut car);
    car
}

/// The word of the vocabulary, whichever of the two it has.
pub(crate) fn class(one: &'static str, other: &'static str) -> &'static str {
    if wherefore::internals::model::table::CLASSES.contains(&one) { one } else { other }
}

/// The twelve cars.
pub(crate) fn cars() -> Vec<(&'static str, Json)> {
    let all = ["catalyst", "evaporative", "oxygen-sensor", "oxygen-sensor-heater", "egr-vvt"];
    let same = |_: &mut Json| ();
    vec![
        ("1 monitor incomplete", car(&["evaporative"], same)),
        ("2 monitors incomplete", car(&["catalyst", "oxygen-sensor"], same)),
        ("3 monitors incomplete", car(&["catalyst", "oxygen-sensor", "evaporative"], same)),
        ("4 monitors incomplete", car(&["catalyst", "oxygen-sensor", "evaporative", "egr-vvt"], same)),
        (
            "lamp commanded on, P0420",
            car(&[], |car| {
                car["lamp"]["commanded"] = true.into();
                car["codes"]["stored"] = json!(["P0420"]);
                car["codes"]["permanent"] = json!(["P0420"]);
            }),
        ),
        (
            "repaired, permanent code P0420 left",
            car(&["catalyst"], |car| {
                car["codes"]["permanent"] = json!(["P0420"]);
                car["since_clear"] = json!({"warm_ups": 6, "distance_km": 100});
            }),
        ),
        ("cleared yesterday", car(&all, |car| car["since_clear"] = json!({"warm_ups": 2, "distance_km": 30}))),
        (
            "diesel, filter monitor incomplete",
            car(&[], |car| {
                car["vehicle"]["fuel"] = "diesel".into();
                car["vehicle"]["ignition"] = "compression".into();
                car["monitors"] = json!({
                    "misfire": "complete", "fuel-system": "complete", "components": "complete",
                    "nmhc-catalyst": "complete", "nox-aftertreatment": "complete", "boost-pressure": "complete",
                    "exhaust-gas-sensor": "complete", "particulate-filter": "incomplete", "egr-vvt": "complete",
                });
            }),
        ),
        (
            "plug-in whose engine has not run",
            car(&all, |car| {
                car["vehicle"]["hybrid"] = true.into();
                car["vehicle"]["plug_in"] = true.into();
                car["since_clear"] = json!({"warm_ups": 0, "distance_km": 60});
            }),
        ),
        (
            "heavy pickup of 9,200 lb, 2 incomplete",
            car(&["catalyst", "oxygen-sensor"], |car| {
                car["vehicle"]["class"] = class("light-truck", "light-duty-truck").into();
                car["vehicle"]["gross_weight_lb"] = 9200.into();
            }),
        ),
        ("new car of 2026, 1 incomplete", car(&["catalyst"], |car| car["vehicle"]["model_year"] = 2026.into())),
        (
            "old car of 1994, no answer expected",
            json!({
                "format": "wherefore-snapshot/1",
                "vehicle": {"model_year": 1994, "fuel": "gasoline", "class": class("light-duty", "passenger-car")},
                "visit": {"date": today().to_string()},
            }),
        ),
    ]
}

/// The programs of the United States that are stood by, parts left out.
pub(crate) fn programs() -> Vec<Arc<Program>> {
    let found = every::entries().iter().filter_map(|entry| entry.program.clone());
    let found: Vec<Arc<Program>> =
        found.filter(|one| one.id.starts_with("us-") && one.standing.is_stood_by() && !one.adopted_only).collect();
    assert!(found.len() >= 36, "the programs are lost: {}", found.len());
    found
}

pub(crate) fn snapshot(car: &Json) -> Snapshot {
    document::read(car.to_string().as_bytes()).unwrap().snapshot
}

pub(crate) fn looked(flat: &Flat, program: &Program, snapshot: &Snapshot) -> (Prospect, String) {
    let ruling = judge(flat, program, snapshot).unwrap();
    let found = prospect(flat, program, snapshot, &ruling, Class::Pass).unwrap().expect("small diagrams");
    let sentence = headline::sentence(&found, &ruling, Provisos::All);
    (found, sentence)
}

fn steps(prospect: &Prospect, branch: &Branch) -> Option<String> {
    match &branch.end {
        End::Plans(plans) => Some(headline::actions(prospect, plans.first()?)),
        End::FindOut { least: Some(plan), .. } => Some(format!("at least {}", headline::actions(prospect, plan))),
        _ => None,
    }
}

#[test]
fn headlines_and_plans_of_twelve_cars() {
    let mut wrong = Vec::new();
    for program in programs() {
        let flat = select(&program, &Selection::on(today())).unwrap();
        let mut page = format!("{} on {}\n", program.id, today());
        for (name, car) in cars() {
            let (found, sentence) = looked(&flat, &program, &snapshot(&car));
            let (word, missing) = headline::missing(&found);
            page.push('\n');
            page.push_str(&wrapped("", Some(2), &format!("{name}: {word}; {missing}")));
            page.push_str(&wrapped("  ", None, &sentence));
            for branch in found.next.branches.iter().filter(|branch| !branch.when.is_empty()) {
                let text = steps(&found, branch).unwrap_or_else(|| "nothing to do".to_owned());
                page.push_str(&wrapped("  - ", None, &format!("{}: {text}", headline::when(branch))));
            }
        }
        let path = format!("{ROOT}/tests/headline/{}.txt", program.id);
        if std::env::var_os("WHEREFORE_BLESS").is_some() {
            std::fs::write(&path, &page).unwrap();
        }
        if std::fs::read_to_string(&path).unwrap_or_default() != page {
            wrong.push(program.id.clone());
        }
        assert!(page.lines().all(|line| line.chars().count() <= 80), "{page}");
    }
    assert!(wrong.is_empty(), "run this test with WHEREFORE_BLESS=1 and read the difference: {wrong:?}");
}

// Issue: "In none of them does `next` answer with a question alone where a drive or a repair would be advised by any
// sensible technician"; its tries: one to four incomplete monitors, with the look at the lamp with the engine running, at
// the connector, both or none missing.
#[test]
fn a_question_is_never_the_whole_answer() {
    let cars = cars();
    let (mut plans, mut tried) = (0, 0);
    let mut alone: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for program in programs() {
        let flat = select(&program, &Selection::on(today())).unwrap();
        for (name, car) in cars.iter().take(4) {
            for looks in [&["lamp", "connector"][..], &["connector"], &["lamp"], &[]] {
                let mut car = car.clone();
                car["lamp"]["lit_key_on_engine_off"] = true.into();
                if looks.contains(&"lamp") {
                    car["lamp"]["lit_engine_running"] = false.into();
                }
                if looks.contains(&"connector") {
                    car["connector"] = "intact".into();
                }
                let (found, sentence) = looked(&flat, &program, &snapshot(&car));
                tried += 1;
                let does = |branch: &Branch| match &branch.end {
                    End::FindOut { least, .. } => least.is_some(),
                    End::TooMany => false,
                    _ => true,
                };
                if found.next.branches.iter().any(does) {
                    plans += 1;
                } else {
                    alone.entry(program.id.clone()).or_default().push(format!("{name}: {sentence}"));
                }
            }
        }
    }
    println!("{plans} of {tried} tries have an answer that is no question");
    assert!(alone.is_empty(), "{alone:#?}");
}

/// A generator with a fixed seed.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % most.max(1)
    }
}

fn meets(provisos: &[Proviso], given: &Given) -> bool {
    provisos.iter().all(|proviso| proviso.holds(given))
}

/// The verdicts that the interpreter leaves, where it knows them exactly; else those of the diagrams.
fn verdicts(flat: &Flat, given: &Given) -> BTreeSet<Verdict> {
    let (bound, exact) = evaluate::outlook(flat, given);
    if exact || bound.single().is_some() {
        return bound.iter().collect();
    }
    wherefore::internals::diagram::exact::possible(flat, given).unwrap_or_default()
}

fn belongs(branch: &Branch, flat: &Flat, given: &Given, readings: &[(String, String)]) -> bool {
    branch.when.iter().all(|split| match &split.var {
        Var::Question { id, readings: names } => {
            let read = readings.iter().find(|(known, _)| known == id).map(|(_, reading)| reading);
            split.classes.iter().any(|class| match class.sample {
                Sample::Place(place) => names.get(place) == read,
                _ => false,
            })
        }
        _ => split.may_hold(flat, given),
    })
}

/// Tries what a car is told on random completions of it; how many met the provisos of their branch.
fn tried_on_completions(flat: &Flat, program: &Program, car: &Snapshot, dice: &mut Dice, tries: usize) -> usize {
    let (found, _) = looked(flat, program, car);
    let (open, _) = unpresumed(flat, car).unwrap();
    let compiled = Compiled::of(&[(flat, &open)], BUDGET).unwrap();
    let space = &compiled.compiler.space;
    let mut met = 0;
    for _ in 0..tries {
        // One in two completions is ordinary but for a few facts, so that provisos are met often.
        let plain = dice.below(2) == 0;
        let path: Vec<usize> = space
            .levels
            .iter()
            .map(|level| {
                let usual = (0..level.classes.len()).min_by_key(|class| level.classes[*class].cost).unwrap();
                if plain && dice.below(6) != 0 { usual } else { dice.below(level.classes.len()) }
            })
            .collect();
        let told = example(space, &[flat], &path);
        let mut whole = told.snapshot.clone();
        for (fact, reading) in &car.readings {
            whole.readings.insert(*fact, reading.clone());
        }
        let mut read = flat.clone();
        for question in &mut read.questions {
            if let Some((_, reading)) = told.readings.iter().find(|(id, _)| *id == question.id) {
                question.taken = question.readings.iter().position(|known| known == reading);
            }
        }
        let Ok(given) = Given::of(&read, &whole) else { continue };
        let now = verdicts(&read, &given);
        for branch in found.next.branches.iter().filter(|branch| belongs(branch, &read, &given, &told.readings)) {
            if let Some(provisos) = &branch.not_now
                && meets(provisos, &given)
            {
                assert!(now.iter().all(|it| it.class(&read) > Class::Pass), "{}: {branch:?} {whole:?}", program.id);
            }
            if !meets(&branch.provisos, &given) {
                continue;
            }
            met += 1;
            let fine = |it: &Verdict| {
                let class = it.class(&read);
                class == Class::Pass
                    || *it == Verdict::NotSubject
                    || (branch.goes_elsewhere && class == Class::OtherTest)
            };
            let is_so = match &branch.end {
                End::Already => now.iter().all(fine),
                End::Plans(plans) => {
                    let all = |plan: &Plan| after(&read, &whole, &given, &plan.steps).iter().all(fine);
                    // Where no monitor was read, it is told that all do once complete; and as it stands where all are.
                    let every = |plan: &Plan| {
                        let repairs = plan.steps.iter().copied().filter(|step| step.is_repair());
                        let drives = Monitor::all().map(Action::DriveUntilComplete);
                        let numbers = plan.steps.iter().copied().filter(|step| matches!(step, Action::DriveUntil(..)));
                        let steps: Vec<Action> = repairs.chain(drives).chain(numbers).collect();
                        after(&read, &whole, &given, &steps).iter().all(fine)
                    };
                    let is_complete = |monitor: Monitor| {
                        let state = whole.get(Fact::Monitor(monitor));
                        !matches!(state, Some(Reading::Known(Value::Word(word))) if *word == 2)
                    };
                    let as_it_stands = found.kind != HeadlineKind::ReadFirst
                        || !Monitor::all().all(is_complete)
                        || now.iter().all(fine);
                    plans.iter().all(all) && as_it_stands && (!found.is_unread || plans.iter().take(1).all(every))
                }
                End::NotAsked => now.iter().all(|it| *it == Verdict::NotSubject),
                End::OtherTest => {
                    now.iter().all(|it| *it == Verdict::NotSubject || it.class(&read) == Class::OtherTest)
                }
                End::Nothing => now.iter().all(|it| it.class(&read) != Class::Pass),
                End::FindOut { .. } | End::TooMany => true,
            };
            assert!(is_so, "{}: {:?} where {:?} is not so of {whole:?}: {now:?}", program.id, branch.end, branch.when);
        }
    }
    met
}

fn after(flat: &Flat, whole: &Snapshot, given: &Given, steps: &[Action]) -> BTreeSet<Verdict> {
    let after = simulate(whole, given, steps);
    verdicts(flat, &Given::of(flat, &after).unwrap())
}

// Issue, parts 2 and 3: "forward simulation of each plan on every completion (or a large sample where too many)"; "over
// all completions of random snapshots the headline's claim holds".
#[test]
fn what_is_told_holds_of_completions() {
    let mut dice = Dice(20_261_128);
    let mut met = 0;
    for program in every::entries().iter().filter_map(|entry| entry.program.clone()) {
        let Ok(flat) = select(&program, &Selection::on(today())) else { continue };
        for (_, car) in cars().into_iter().chain(super::headline_unread::unread()) {
            let mut car = snapshot(&car);
            // Up to ten facts less are known.
            for _ in 0..dice.below(4) {
                let facts: Vec<_> = car.readings.keys().copied().filter(|it| *it != Fact::TestDate).collect();
                if facts.is_empty() {
                    break;
                }
                car.readings.remove(&facts[dice.below(facts.len())]);
            }
            met += tried_on_completions(&flat, &program, &car, &mut dice, 12);
        }
    }
    assert!(met > 2_000, "only {met} completions met the provisos");
}

/// The tries of the issue: twelve programs, one to four incomplete monitors, with the looks at the lamp with the engine
/// running and at the connector, one of them, or neither. Before plans held provisos, 54 of these 192 had a plan and 104 said
/// what to find out first, alone.
#[test]
fn the_tries_of_the_issue() {
    const TWELVE: [&str; 12] =
        ["us-ca", "us-co", "us-ct", "us-il", "us-ma", "us-md", "us-model", "us-nc", "us-ny", "us-pa", "us-tx", "us-wi"];
    let cars = cars();
    let (mut tried, mut answered, mut planned, mut asks_alone) = (0, 0, 0, 0);
    for program in programs().into_iter().filter(|program| TWELVE.contains(&program.id.as_str())) {
        let flat = select(&program, &Selection::on(today())).unwrap();
        for (_, car) in cars.iter().take(4) {
            for (running, connector) in [(true, true), (true, false), (false, true), (false, false)] {
                let mut car = car.clone();
                car["lamp"]["lit_key_on_engine_off"] = true.into();
                if running {
                    car["lamp"]["lit_engine_running"] = false.into();
                }
                if connector {
                    car["connector"] = "intact".into();
                }
                let (found, _) = looked(&flat, &program, &snapshot(&car));
                let plan = |branch: &Branch| matches!(&branch.end, End::Plans(_) | End::FindOut { least: Some(_), .. });
                let open = |branch: &Branch| matches!(&branch.end, End::FindOut { least: None, .. } | End::TooMany);
                tried += 1;
                planned += usize::from(found.next.branches.iter().any(plan));
                asks_alone += usize::from(found.next.branches.iter().all(open));
                answered += usize::from(found.next.branches.iter().any(|branch| !open(branch)));
            }
        }
    }
    println!("{tried} tries: {planned} with a plan, {answered} with an answer, {asks_alone} with a question alone");
    assert_eq!((tried, answered, asks_alone), (192, 192, 0));
    assert!(planned >= 120, "only {planned} of 192 have a plan");
}

/// A plan is looked for fast enough to stand in a table of all programs. The aim is 50 ms in an optimised build; this bound is
/// for test builds on a busy machine, and the times are printed.
#[test]
fn a_plan_is_found_in_time() {
    let mut times: Vec<(u128, String)> = Vec::new();
    for program in every::entries().iter().filter_map(|entry| entry.program.clone()).filter(|one| !one.adopted_only) {
        let Ok(flat) = select(&program, &Selection::on(today())) else { continue };
        for (name, car) in cars().into_iter().chain(super::headline_unread::unread()) {
            let snapshot = snapshot(&car);
            let Ok(ruling) = judge(&flat, &program, &snapshot) else { continue };
            let begun = std::time::Instant::now();
            let found = prospect(&flat, &program, &snapshot, &ruling, Class::Pass).unwrap();
            times.push((begun.elapsed().as_millis(), format!("{}: {name}", program.id)));
            assert!(found.is_some());
        }
    }
    times.sort();
    let median = times[times.len() / 2].0;
    let longest: Vec<_> = times.iter().rev().take(3).collect();
    println!("{} plans: median {median} ms, longest {longest:?}", times.len());
    assert!(times.len() > 600, "only {} plans", times.len());
    assert!(times.last().unwrap().0 < 20_000 && median < 2_000, "{:?}", times.last());
}
