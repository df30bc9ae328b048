//! No program of a State lets a vehicle pass without a word that federal law makes the State fail (40 CFR 51.357(b)(4)
//! with 85.2207, and 85.2222(d)(4)), save where its own text says otherwise; each such text is named below.

use super::every;
use wherefore::internals::diagram::exact;
use wherefore::internals::evaluate::outlook;
use wherefore::internals::model::{CodeList, Date, Fact, Observer, Reading, Snapshot, TroubleCode, Unit, Value, spec};
use wherefore::internals::program::select::epochs;
use wherefore::internals::program::{Class, Flat, Given, Program, Selection, Verdict, select};
use wherefore::internals::ruling::judge;

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

/// Whether a program is of vehicles that are no light-duty vehicles and no light-duty trucks.
fn is_heavy(program: &Program) -> bool {
    let weight = program.ordinary.readings.get(&Fact::GrossWeight);
    let light = Unit::Pound.to_base(8500).unwrap();
    matches!(weight, Some(Reading::Known(Value::Number(weight))) if *weight > light)
}

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

/// What one program came to.
#[derive(Default)]
struct Came {
    /// Cars judged, each once for every January and July that the law of its day stands for.
    judged: usize,
    wrong: Vec<String>,
    used: [usize; OWN_TEXTS.len()],
}

/// Within an epoch the law is the same on every day, so that one day stands for all of it.
fn tried(program: &Program) -> Came {
    let mut came = Came::default();
    for epoch in epochs(program) {
        let looked_at = YEARS.flat_map(|year| [1, 7].map(|month| Date::constant(year, month, 15)));
        let days: Vec<Date> = looked_at.filter(|day| (epoch.from..=epoch.through).contains(day)).collect();
        let Some(day) = days.first().copied() else { continue };
        let flat = select(program, &Selection::on(day)).unwrap();
        if !flat.in_force.is_yes() {
            continue;
        }
        for (model_year, fault) in MODEL_YEARS.iter().flat_map(|it| FAULTS.map(|fault| (*it, fault))) {
            came.judged += days.len();
            if passes_plainly(&flat, &car(program, model_year, day, fault)) {
                excuse(&program.id, fault, model_year, day, &mut came);
            }
        }
    }
    came
}

#[test]
fn no_program_of_a_state_lets_pass_what_federal_law_makes_it_fail() {
    let states = every::programs().into_iter().filter(|program| program.id.starts_with("us-"));
    let (heavy, programs): (Vec<_>, Vec<_>) = states.partition(|program| is_heavy(program));
    // 51.357(a)(12) is of light-duty vehicles and light-duty trucks: up to 8,500 lb (86.1803-01).
    assert_eq!(heavy.iter().map(|program| program.id.as_str()).collect::<Vec<_>>(), ["us-ca-heavy"]);
    assert!(programs.len() > 30, "{}", programs.len());
    let came = every::side_by_side(&programs, |program| tried(program));
    let judged: usize = came.iter().map(|came| came.judged).sum();
    assert!(judged > 20_000, "{judged}");
    let wrong: Vec<&str> = came.iter().flat_map(|came| &came.wrong).map(String::as_str).collect();
    assert!(wrong.is_empty(), "{} plain passes:\n{}", wrong.len(), wrong.join("\n"));
    for (place, text) in OWN_TEXTS.iter().enumerate() {
        let used: usize = came.iter().map(|came| came.used[place]).sum();
        assert!(used > 0, "{}: {} lets nothing pass any more", text.program, text.section);
    }
}

/// Whether a pass is all that is possible: by the walk where it is exact or rules a pass out, else by the diagrams of
/// this very car.
fn passes_plainly(flat: &Flat, car: &Snapshot) -> bool {
    let given = Given::of(flat, car).unwrap();
    let is_pass = |verdict: Verdict| verdict.class(flat) == Class::Pass;
    let (bound, is_exact) = outlook(flat, &given);
    if !bound.iter().any(is_pass) {
        return false;
    }
    if is_exact || bound.single().is_some() {
        return bound.iter().all(is_pass);
    }
    exact::possible(flat, &given).unwrap().into_iter().all(is_pass)
}

fn excuse(id: &str, fault: Fault, model_year: i64, day: Date, came: &mut Came) {
    let own = OWN_TEXTS
        .iter()
        .position(|text| text.program == id && text.faults.contains(&fault) && (text.holds)(model_year, day));
    match own {
        Some(place) => came.used[place] += 1,
        None => came.wrong.push(format!("{id}, model year {model_year}, {day}: {fault:?}")),
    }
}

/// Programs of other countries that let a vehicle pass that does not answer, without a word on it; each with its text.
const SILENT_MAY_PASS: [(&str, &str); 2] = [
    ("ch", "VRV 59a and 59b, by absence: the lamp alone binds, and nothing is read out"),
    (
        "gb",
        "inspection manual section 8, 8.2.1.2 (copy of 2024-04-02), by absence: the lamp is looked at, nothing is read",
    ),
];

/// A vehicle that does not answer, the rest of it ordinary, passes nowhere without a word: either the text makes more of
/// it, or the ruling says that it stands so far as read.
#[test]
fn a_silent_vehicle_passes_nowhere_without_a_word() {
    let programs: Vec<_> = every::programs().into_iter().filter(|program| !program.id.starts_with("us-")).collect();
    let came = every::side_by_side(&programs, |program| {
        let mut passed = Vec::new();
        let mut judged = 0;
        for epoch in epochs(program) {
            let day = epoch.from.max(Date::constant(2002, 1, 15)).min(epoch.through);
            let flat = select(program, &Selection::on(day)).unwrap();
            if !flat.in_force.is_yes() {
                continue;
            }
            for model_year in MODEL_YEARS.into_iter().filter(|year| *year <= i64::from(day.year())) {
                let ruling = judge(&flat, program, &car(program, model_year, day, Fault::Silent)).unwrap();
                judged += 1;
                if ruling.class == Class::Pass && ruling.so_far_as_read.is_empty() {
                    passed.push(format!("{day}, model year {model_year}"));
                }
            }
        }
        (judged, passed)
    });
    let judged: usize = came.iter().map(|came| came.0).sum();
    assert!(judged > 200, "{judged}");
    for (program, (_, passed)) in programs.iter().zip(&came) {
        let own = SILENT_MAY_PASS.iter().any(|(id, _)| *id == program.id);
        assert_eq!(own, !passed.is_empty(), "{}: {passed:?}", program.id);
    }
}
