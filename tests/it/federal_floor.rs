//! No program of a State lets a vehicle pass without a word that federal law makes the State fail (40 CFR 51.357(b)(4)
//! with 85.2207, and 85.2222(d)(4)), save where its own text says otherwise; each such text is named below.

use wherefore::internals::catalog::{BuiltIn, Catalog};
use wherefore::internals::evaluate::outlook;
use wherefore::internals::model::{CodeList, Date, Fact, Observer, Snapshot, TroubleCode, Value, spec};
use wherefore::internals::program::{Class, Flat, Given, Program, Selection, select};
use wherefore::internals::ruling::judge_briefly;

const MODEL_YEARS: [i64; 8] = [1996, 1999, 2000, 2001, 2006, 2010, 2014, 2018];
/// 51.357(a)(12): on-board checks are due from 2002; 51.357(b)(4), second sentence: before, a failure need not count.
const YEARS: std::ops::RangeInclusive<i16> = 2002..=2026;

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Fault {
    LampWithCode,
    DarkBulb,
    NoConnector,
    Silent,
}
const FAULTS: [Fault; 4] = [Fault::LampWithCode, Fault::DarkBulb, Fault::NoConnector, Fault::Silent];

/// Where the text of a program itself lets such a vehicle pass.
struct Text {
    program: &'static str,
    faults: &'static [Fault],
    holds: fn(i64, Date) -> bool,
    section: &'static str,
}
const OWN_TEXTS: [Text; 4] = [
    Text {
        program: "us-nh",
        faults: &FAULTS,
        holds: |_, day| day < Date::constant(2007, 10, 1),
        section: "program pages: advisory from May 2005, pass or fail since 1 October 2007",
    },
    Text {
        program: "us-ny",
        faults: &FAULTS,
        holds: |_, day| day < Date::constant(2004, 9, 1),
        section: "15 NYCRR 79.24(i)(9a): the lamp is looked at, and nothing is read",
    },
    Text {
        program: "us-ri",
        faults: &FAULTS,
        holds: |model_year, day| i64::from(day.year()) - model_year >= 25,
        section: "training of 2021: vehicles of 25 years are tested and need not meet the standards",
    },
    Text {
        program: "us-wa",
        faults: &[Fault::DarkBulb],
        holds: |_, day| day >= Date::constant(2012, 7, 1),
        section: "WSR 11-17-041: the look at the lamp is dropped",
    },
];

fn car(program: &Program, model_year: i64, day: Date, fault: Fault) -> Snapshot {
    let mut car = program.ordinary.clone();
    car.set(Fact::ModelYear, Value::Number(model_year));
    car.set(Fact::TestDate, Value::Date(day));
    match fault {
        Fault::LampWithCode => {
            car.set_word(Fact::LampCommanded, "yes");
            car.set_word(Fact::LampLitKeyOn, "yes");
            car.set_word(Fact::LampLitRunning, "yes");
            let codes = CodeList { codes: [TroubleCode::obd(0x0301)].into(), may_hold_more: false };
            car.set(Fact::StoredCodes, Value::Codes(codes));
        }
        Fault::DarkBulb => {
            car.set_word(Fact::LampLitKeyOn, "no");
            car.set_word(Fact::LampLitRunning, "no");
        }
        Fault::NoConnector | Fault::Silent => {
            // What only a reader can tell is not known of a vehicle that it cannot reach.
            car.readings.retain(|fact, _| spec(*fact).observer != Observer::Reader);
            car.set_word(Fact::Communication, "none");
            car.set_word(Fact::LampLitKeyOn, "yes");
            car.set_word(Fact::LampLitRunning, "no");
            car.set_word(Fact::Connector, if fault == Fault::NoConnector { "missing" } else { "intact" });
        }
    }
    car
}

#[test]
fn no_program_of_a_state_lets_pass_what_federal_law_makes_it_fail() {
    let catalog = Catalog::new(vec![&BuiltIn]);
    let ids: Vec<String> = catalog.ids().into_iter().filter(|id| id.starts_with("us-")).collect();
    assert!(ids.len() > 30, "{ids:?}");
    let (mut wrong, mut judged, mut used) = (Vec::new(), 0, [0_usize; OWN_TEXTS.len()]);
    for id in &ids {
        let entry = catalog.find(id).unwrap();
        let Some(program) = entry.program.as_ref() else { panic!("{id}: {:?}", entry.diagnostics) };
        for (year, month) in YEARS.flat_map(|year| [(year, 1), (year, 7)]) {
            let day = Date::constant(year, month, 15);
            let Ok(flat) = select(program, &Selection::on(day)) else { continue };
            if !flat.in_force.is_yes() {
                continue;
            }
            for (model_year, fault) in MODEL_YEARS.iter().flat_map(|it| FAULTS.map(|fault| (*it, fault))) {
                let car = car(program, model_year, day, fault);
                judged += 1;
                // Where the walk leaves it open the diagrams decide, on some days and model years: they take longer.
                let closely = month == 1 && year % 8 == 2 && model_year % 5 == 0;
                if passes_plainly(&flat, program, &car, closely) {
                    excuse(id, fault, model_year, day, &mut used, &mut wrong);
                }
            }
        }
    }
    assert!(judged > 20_000, "{judged}");
    assert!(wrong.is_empty(), "{} plain passes:\n{}", wrong.len(), wrong.join("\n"));
    for (text, used) in OWN_TEXTS.iter().zip(used) {
        assert!(used > 0, "{}: {} lets nothing pass any more", text.program, text.section);
    }
}

/// Whether a pass is all that is possible: by the walk where it is exact or rules a pass out, else by the diagrams.
fn passes_plainly(flat: &Flat, program: &Program, car: &Snapshot, closely: bool) -> bool {
    let (bound, exact) = outlook(flat, &Given::of(flat, car).unwrap());
    let verdicts: Vec<_> = bound.iter().collect();
    if !verdicts.iter().any(|verdict| verdict.class(flat) == Class::Pass) {
        return false;
    }
    if exact || verdicts.len() == 1 {
        return verdicts.len() == 1;
    }
    closely && judge_briefly(flat, program, car).unwrap().class == Class::Pass
}

fn excuse(id: &str, fault: Fault, model_year: i64, day: Date, used: &mut [usize], wrong: &mut Vec<String>) {
    let own = OWN_TEXTS
        .iter()
        .position(|text| text.program == id && text.faults.contains(&fault) && (text.holds)(model_year, day));
    match own {
        Some(place) => used[place] += 1,
        None => wrong.push(format!("{id}, model year {model_year}, {day}: {fault:?}")),
    }
}
