//! Facts of the trade, common practice with no published source: plausibility checks of the model program and of the
//! shared advice, no more.

use rstest::rstest;
use wherefore::internals::catalog::{BuiltIn, Catalog};
use wherefore::internals::document;
use wherefore::internals::model::{Fact, Monitor};
use wherefore::internals::program::{Selection, select};
use wherefore::internals::ruling::judge;

fn verdict(model_year: u16, incomplete: &[Monitor], unsupported: &[Monitor]) -> String {
    let text = include_str!("../../examples/larkspur/van-7.json").replace("2014", &model_year.to_string());
    let mut snapshot = document::read_all(text.as_bytes()).unwrap().remove(0).snapshot;
    snapshot.set_word(Fact::Monitor(Monitor::Evaporative), "complete");
    for monitor in incomplete {
        snapshot.set_word(Fact::Monitor(*monitor), "incomplete");
    }
    for monitor in unsupported {
        snapshot.set_word(Fact::Monitor(*monitor), "unsupported");
    }
    let built_in = BuiltIn;
    let entry = Catalog::new(vec![&built_in]).find("us-model").unwrap();
    let program = entry.program.as_ref().unwrap();
    let flat = select(program, &Selection::on(snapshot.test_date().unwrap())).unwrap();
    judge(&flat, program, &snapshot).unwrap().verdict
}

use Monitor as M;

/// Common practice: on a 2001-or-later car one incomplete monitor usually passes and two usually do not; a car cleared
/// just before the test does not pass; a monitor that is not supported is not tested; an engine that has hardly run
/// leaves the oxygen-sensor, evaporative and catalyst monitors incomplete.
#[rstest]
#[case::one_incomplete(&[M::Evaporative], &[], "pass")]
#[case::two_incomplete(&[M::Evaporative, M::Catalyst], &[], "reject")]
#[case::just_cleared(&[M::Evaporative, M::Catalyst, M::OxygenSensor, M::OxygenSensorHeater, M::EgrVvt], &[], "reject")]
#[case::hardly_run(&[M::OxygenSensor, M::Evaporative, M::Catalyst], &[], "reject")]
#[case::unsupported_is_not_tested(&[M::Evaporative], &[M::EgrVvt, M::Catalyst], "pass")]
fn the_trade_would_expect(#[case] incomplete: &[Monitor], #[case] unsupported: &[Monitor], #[case] expected: &str) {
    for model_year in [2001, 2010, 2020] {
        assert_eq!(verdict(model_year, incomplete, unsupported), expected, "model year {model_year}");
    }
}

/// Common practice: once a monitor has run there are only two results, and neither is "incomplete".
#[test]
fn a_monitor_that_ran_is_not_counted() {
    assert_eq!(verdict(2010, &[], &[]), "pass");
}

/// Common practice: about 20 minutes of running, or 5 to 10 where the engine ran recently, completes what running alone
/// can complete: misfire, fuel system, components and the heaters of the oxygen sensors. The catalyst, evaporative and
/// oxygen-sensor monitors want driving, or a rest before it: no advice says that running alone completes them.
#[test]
fn what_running_alone_completes_takes_at_most_twenty_minutes() {
    let built_in = BuiltIn;
    let entry = Catalog::new(vec![&built_in]).find("us-model").unwrap();
    let advice = &entry.program.as_ref().unwrap().advice;
    // The first advice on a monitor is for vehicles in general; those for vehicles that need special care come after.
    let of = |monitor: Monitor| advice.iter().find(|it| it.monitors.contains(monitor)).unwrap();
    for monitor in [M::Misfire, M::FuelSystem, M::Components, M::OxygenSensorHeater] {
        let (least, most) = of(monitor).minutes.unwrap();
        assert!(least <= 10, "{monitor:?} can complete within 5 to 10 minutes of running, not {least}");
        assert!(most <= 20, "{monitor:?} completes within 20 minutes of running, not {most}");
    }
    for monitor in [M::Catalyst, M::Evaporative, M::OxygenSensor] {
        let text = &of(monitor).text;
        assert!(text.contains("driv"), "{monitor:?} wants driving: {text}");
    }
    for monitor in [M::Catalyst, M::Evaporative] {
        assert!(of(monitor).minutes.unwrap().1 > 20, "{monitor:?} may take longer than running alone");
    }
}
