//! Vehicles that surely are in a table although something of them is not known: the records on which columns once decided
//! wrongly (a table of which every row was taken for nobody's as soon as one of make, model and engine was not known).

use crate::bulk::{by_engine, by_vehicle};
use rstest::rstest;
use wherefore::internals::bulk::{Batch, Codes, Column, Dates, Engine, Options};
use wherefore::internals::check::check;
use wherefore::internals::model::facts::Possible;
use wherefore::internals::model::{
    CodeList, Date, Fact, Monitor, MonitorState, NumberSpan, Snapshot, TroubleCode, Value,
};
use wherefore::internals::program::{FactRef, Program, Selection, select};
use wherefore::internals::source::Source;
use wherefore::internals::syntax::parse;

const FEATURES: &str = "program feat \"Feature County, invented\"
  authority \"Nobody\"
  language 1
  standing checked
source text \"t\" memory
in force from 2000-01-01
  per text
outcomes pass, fail
covers where class is not motorcycle
  per text
table odd
  - make is \"Example\" and model year 1996 through 2013: codes P0420
  per text
table even
  - make is \"Example\" and model is \"Wagon\": codes P0171
  per text
presumes not listed in odd where not known
  per text
clause odd-codes on stored-codes
  fail where any stored code on the list of odd
  per text
clause even-codes on stored-codes
  fail where any stored code on the list of even
  per text
";

fn features() -> Program {
    check(&parse(&Source::new("feat", FEATURES)).file, &()).program.unwrap()
}

fn shipped(id: &str) -> Program {
    let programs = crate::diagram::shipped::programs();
    programs.iter().find(|program| program.id == id).map(|program| (**program).clone()).unwrap()
}

/// The vehicle in columns with one record, judged, held against one vehicle at a time; the names of what may follow.
fn judged(program: &Program, snapshot: &Snapshot) -> Vec<String> {
    let date = Date::constant(2026, 11, 25);
    let flat = select(program, &Selection::on(date)).unwrap();
    let mut snapshot = snapshot.clone();
    snapshot.set(Fact::TestDate, Value::Date(date));
    let meanings: Vec<(Fact, [Possible; 1])> = snapshot
        .readings
        .iter()
        .filter(|(fact, _)| **fact != Fact::TestDate)
        .map(|(fact, reading)| {
            let mut facts = wherefore::internals::model::Facts::unknown();
            facts.learn(*fact, reading);
            (*fact, [facts.get(*fact).clone()])
        })
        .collect();
    let mut batch = Batch::new(1, Dates::One(date)).unwrap();
    for (fact, meaning) in &meanings {
        let column = Column::Coded { codes: Codes::U8(&[0]), meaning, known: None };
        batch = batch.with(FactRef::Known(*fact), column).unwrap();
    }
    let engine = Engine::new(program, Options::default()).unwrap();
    let found = engine.judge(&batch);
    assert_eq!(by_engine(&found, 0), by_vehicle(&flat, &snapshot), "{snapshot:?}");
    found.row(0).unwrap().possible().map(|verdict| verdict.name(&flat).to_owned()).collect()
}

fn car(make: Option<&str>, model: Option<&str>, year: Option<i64>, code: u16) -> Snapshot {
    let mut car = Snapshot::default();
    car.set_word(Fact::Class, "light-duty");
    for (fact, text) in [(Fact::Make, make), (Fact::Model, model)] {
        if let Some(text) = text {
            car.set(fact, Value::Text(text.to_owned()));
        }
    }
    if let Some(year) = year {
        car.set(Fact::ModelYear, Value::Number(year));
    }
    let codes = [TroubleCode::obd(code)].into_iter().collect();
    car.set(Fact::StoredCodes, Value::Codes(CodeList { codes, may_hold_more: false }));
    car
}

/// By the text of the program above: `odd` is presumed not to hold a vehicle of which make, model or engine is not known,
/// save for rows that surely are its own; of `even` nothing is presumed.
#[rstest]
#[case::surely_listed(car(Some("Example"), None, Some(2000), 0x0420), &["fail"])]
#[case::year_not_known(car(Some("Example"), None, None, 0x0420), &["pass"])]
#[case::make_not_known(car(None, None, Some(2000), 0x0420), &["pass"])]
#[case::another_code(car(Some("Example"), Some("Van"), Some(2000), 0x0300), &["pass"])]
#[case::no_presumption_of_the_other_table(car(Some("Example"), None, Some(2000), 0x0171), &["pass", "fail"])]
#[case::listed_in_the_other_table(car(Some("Example"), Some("Wagon"), Some(2000), 0x0171), &["fail"])]
fn rows_that_surely_are_the_vehicles(#[case] car: Snapshot, #[case] expected: &[&str]) {
    assert_eq!(judged(&features(), &car), expected);
}

/// A row may join tests so that no single one of them tells: it surely is the vehicle's only where its tests say so, and
/// all engines say the same.
#[test]
fn a_row_that_holds_either_way() {
    let text = FEATURES.replace(
        "  - make is \"Example\" and model year 1996 through 2013: codes P0420\n",
        "  - make is \"Example\" and any of\n    - hybrid\n    - not hybrid\n    : codes P0420\n",
    );
    let checked = check(&parse(&Source::new("feat", &text)).file, &());
    let program = checked.program.unwrap_or_else(|| panic!("{:?}", checked.diagnostics));
    assert_eq!(judged(&program, &car(Some("Example"), None, Some(2000), 0x0420)), ["pass"]);
}

/// The table of the model program names the 1996 Legacy, Impreza and SVX; of this car the engine is not known, and more
/// monitors are incomplete than a car of 1996 may have (40 CFR 85.2222(c), 51.357(a)(5)): as the file reads the bulletin it
/// is open whether they count.
#[rstest]
#[case::model("us-model")]
#[case::strict("us-model-strict")]
fn a_listed_car_of_the_model_program(#[case] id: &str) {
    let mut car = car(Some("Subaru"), Some("Legacy"), Some(1996), 0x0300);
    car.set(Fact::StoredCodes, Value::Codes(CodeList::default()));
    for (fact, word) in [
        (Fact::Fuel, "gasoline"),
        (Fact::Ignition, "spark"),
        (Fact::Visit, "initial"),
        (Fact::Connector, "intact"),
        (Fact::Communication, "established"),
        (Fact::LampCommanded, "no"),
        (Fact::LampLitKeyOn, "yes"),
        (Fact::LampLitRunning, "no"),
        (Fact::LampFlashing, "no"),
    ] {
        car.set_word(fact, word);
    }
    for monitor in Monitor::all() {
        let open = [Monitor::Catalyst, Monitor::Evaporative, Monitor::OxygenSensor, Monitor::EgrVvt].contains(&monitor);
        let state = if open { MonitorState::Incomplete } else { MonitorState::Unsupported };
        car.set_word(Fact::Monitor(monitor), state.word());
    }
    assert_eq!(car.get(Fact::GrossWeight), None);
    let NumberSpan { least, .. } = NumberSpan { least: 0, most: 0, may_be_absent: false };
    car.set(Fact::GrossWeight, Value::Number(least));
    assert_eq!(judged(&shipped(id), &car).len(), 2);
}
