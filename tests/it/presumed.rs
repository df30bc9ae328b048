//! Who is tested, and whether a vehicle passes, never rests in silence on a presumption: of whatever little is known,
//! *not subject* and a pass that fall when the presumptions are taken away name the presumption that turns them.

use wherefore::internals::catalog::{BuiltIn, Catalog};
use wherefore::internals::model::{Date, Fact, Snapshot, Value};
use wherefore::internals::program::{Class, Item, Program, Selection, select};
use wherefore::internals::ruling::judge;

/// What may be known, and nothing else.
const PARTS: [fn(&mut Snapshot, &Snapshot, i64); 5] = [
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
];

fn without_presumptions(program: &Program) -> Program {
    let mut program = program.clone();
    program.blocks.retain(|block| !matches!(block.item, Item::Presumes { .. }));
    program
}

#[test]
fn no_ruling_rests_on_a_presumption_that_it_does_not_mark() {
    let day = Date::constant(2026, 11, 28);
    let catalog = Catalog::new(vec![&BuiltIn]);
    let (mut wrong, mut compared, mut turned) = (Vec::new(), 0, 0);
    for id in catalog.ids() {
        let entry = catalog.find(&id).unwrap();
        let Some(program) = entry.program.as_ref() else { panic!("{id}: {:?}", entry.diagnostics) };
        let Ok(flat) = select(program, &Selection::on(day)) else { continue };
        let bare = without_presumptions(program);
        let bare_flat = select(&bare, &Selection::on(day)).unwrap();
        for model_year in [2003, 2014, 2020, 2024] {
            for chosen in 0_u32..(1 << PARTS.len()) {
                let mut car = Snapshot::default();
                car.set(Fact::TestDate, Value::Date(day));
                for (place, part) in PARTS.iter().enumerate().filter(|(place, _)| chosen & (1 << place) != 0) {
                    let _ = place;
                    part(&mut car, &program.ordinary, model_year);
                }
                let ruling = judge(&flat, program, &car).unwrap();
                if !matches!(ruling.class, Class::Pass | Class::NotSubject) {
                    continue;
                }
                let plain = judge(&bare_flat, &bare, &car).unwrap();
                compared += 1;
                if plain.possible != ruling.possible {
                    turned += 1;
                    if !ruling.presumptions.iter().any(|it| it.turns) {
                        wrong.push(format!("{id}, model year {model_year}, known {chosen:05b}: {}", ruling.verdict));
                    }
                }
            }
        }
    }
    assert!(compared > 100 && turned > 20, "{compared} rulings, {turned} of them turn on a presumption");
    assert!(wrong.is_empty(), "{} rulings:\n{}", wrong.len(), wrong.join("\n"));
}
