//! Who is tested, and whether a vehicle passes, never rests in silence on a presumption: of whatever little is known,
//! *not subject* and a pass that fall when the presumptions are taken away name the presumption that turns them.

use super::every;
use std::collections::BTreeSet;
use wherefore::internals::bulk::Rules;
use wherefore::internals::model::{Date, Fact, Observer, Snapshot, Value, spec};
use wherefore::internals::program::{Class, Flat, Given, Item, Program, Selection, Verdict, select};
use wherefore::internals::ruling::Prepared;

const MODEL_YEARS: [i64; 4] = [2003, 2014, 2020, 2024];

/// What may be known, and nothing else.
const PARTS: [fn(&mut Snapshot, &Snapshot, i64); 6] = [
    |car, _, model_year| car.set(Fact::ModelYear, Value::Number(model_year)),
    // PID $01: the lamp command and the monitors.
    |car, ordinary, _| {
        car.set_word(Fact::LampCommanded, "no");
        for (fact, reading) in &ordinary.readings {
            if matches!(fact, Fact::Monitor(_)) {
                car.readings.insert(*fact, reading.clone());
            }
        }
    },
    |car, _, _| car.set_word(Fact::Purpose, "renewal"),
    |car, ordinary, _| {
        if let Some(reading) = ordinary.readings.get(&Fact::Area) {
            car.readings.insert(Fact::Area, reading.clone());
        }
    },
    |car, _, _| car.set_word(Fact::Class, "light-duty"),
    // All else that a reader and a look tell: without it next to nothing passes.
    |car, ordinary, _| {
        for (fact, reading) in &ordinary.readings {
            if matches!(spec(*fact).observer, Observer::Reader | Observer::Look) {
                car.readings.insert(*fact, reading.clone());
            }
        }
    },
];

fn without_presumptions(program: &Program) -> Program {
    let mut program = program.clone();
    program.blocks.retain(|block| !matches!(block.item, Item::Presumes { .. }));
    program
}

/// Each subset of the parts once: those that a program has nothing for are the same as without them.
fn cars(program: &Program, day: Date) -> Vec<Snapshot> {
    let mut cars: Vec<Snapshot> = Vec::new();
    for chosen in 0_u32..(1 << PARTS.len()) {
        for model_year in MODEL_YEARS {
            let mut car = Snapshot::default();
            car.set(Fact::TestDate, Value::Date(day));
            for (place, part) in PARTS.iter().enumerate() {
                if chosen & (1 << place) != 0 {
                    part(&mut car, &program.ordinary, model_year);
                }
            }
            if !cars.contains(&car) {
                cars.push(car);
            }
        }
    }
    cars
}

fn common_class(flat: &Flat, possible: &BTreeSet<Verdict>) -> Option<Class> {
    let classes: BTreeSet<Class> = possible.iter().map(|verdict| verdict.class(flat)).collect();
    classes.first().copied().filter(|_| classes.len() == 1)
}

/// What one program came to: rulings compared, those that turn on a presumption, and those of them that do not say so.
fn tried(program: &Program, day: Date) -> (usize, usize, Vec<String>) {
    let (mut compared, mut turned, mut wrong) = (0, 0, Vec::new());
    let selected = |program: &Program| select(program, &Selection::on(day)).unwrap();
    let (flat, bare) = (selected(program), selected(&without_presumptions(program)));
    let (rules, bare) = (Rules::of(flat.clone(), true), Rules::of(bare, true));
    let prepared = Prepared::new(flat);
    // The exact set, by the diagrams.
    let possible =
        |rules: &Rules, car: &Snapshot| rules.answer(&Given::of(rules.flat(), car).unwrap()).unwrap().possible;
    for car in cars(program, day) {
        let found = possible(&rules, &car);
        if !matches!(common_class(rules.flat(), &found), Some(Class::Pass | Class::NotSubject)) {
            continue;
        }
        compared += 1;
        if found == possible(&bare, &car) {
            continue;
        }
        turned += 1;
        // A ruling in brief tells of single verdicts alone what they rest on.
        let ruling = match found.len() {
            1 => prepared.judge_briefly(program, &car).unwrap(),
            _ => prepared.judge(program, &car).unwrap(),
        };
        assert!(matches!(ruling.class, Class::Pass | Class::NotSubject), "{}: {car:?}", program.id);
        if !ruling.presumptions.iter().any(|it| it.turns) {
            wrong.push(format!("{}, known {:?}: {}", program.id, car.readings.keys(), ruling.verdict));
        }
    }
    (compared, turned, wrong)
}

#[test]
fn no_ruling_rests_on_a_presumption_that_it_does_not_mark() {
    let day = Date::constant(2026, 11, 28);
    let came = every::side_by_side(&every::programs(), |program| tried(program, day));
    let compared: usize = came.iter().map(|came| came.0).sum();
    let turned: usize = came.iter().map(|came| came.1).sum();
    assert!(compared > 100 && turned > 20, "{compared} rulings, {turned} of them turn on a presumption");
    let wrong: Vec<&str> = came.iter().flat_map(|came| &came.2).map(String::as_str).collect();
    assert!(wrong.is_empty(), "{} rulings:\n{}", wrong.len(), wrong.join("\n"));
}
