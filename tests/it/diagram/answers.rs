//! Analyses, comparison, plans and questions, on invented programs small enough to be worked out by hand.

use super::build::{flat, incomplete, line, monitor, number, word};
use rstest::rstest;
use std::collections::BTreeSet;
use wherefore::internals::analysis::ask::{Step, ask};
use wherefore::internals::analysis::compare;
use wherefore::internals::analysis::next::{Action, End, Next, Plan, next, simulate};
use wherefore::internals::analysis::warnings::{Warning, analyse_flat};
use wherefore::internals::diagram::exact;
use wherefore::internals::model::{CodeList, Fact, Monitor, MonitorSet, Snapshot, Unit, Value};
use wherefore::internals::program::block::{Allowance, Presumed};
use wherefore::internals::program::flat::{FlatLimitRow, FlatRow, FlatTable, Limit, Presumption, Silence};
use wherefore::internals::program::{Class, Condition, FactRef, Flat, Given, Test, Topic, Verdict};

fn silent(flat: &mut Flat, topics: &[Topic]) {
    flat.silences.extend(topics.iter().map(|topic| Silence {
        topic: *topic,
        unread: false,
        condition: Condition::always(),
        basis: Vec::new(),
    }));
}

fn limit(flat: &mut Flat, rows: &[(Condition<usize>, i64)]) {
    flat.limits.push(Limit {
        id: "standard".to_owned(),
        rows: rows
            .iter()
            .map(|(condition, count)| FlatLimitRow {
                condition: condition.clone(),
                limit: Allowance::AtMost { count: *count, only: None },
                basis: Vec::new(),
                origin: super::build::origin(),
            })
            .collect(),
    });
}

fn over() -> Condition<usize> {
    Condition::Test(Test::Limit { limit: 0, within: false })
}

/// Lamp and readiness as the federal model has them, in small.
fn model() -> Flat {
    let mut flat = flat();
    let rows = [(number(Fact::ModelYear, None, Some(2000)), 2), (number(Fact::ModelYear, Some(2001), None), 1)];
    limit(&mut flat, &rows);
    flat.lines = vec![
        line("lamp", Topic::Lamp, 2, word(Fact::LampCommanded, &["yes"])),
        line("readiness", Topic::Readiness, 1, over()),
    ];
    let rest: Vec<Topic> = Topic::ALL
        .iter()
        .map(|(topic, _)| *topic)
        .filter(|topic| topic.is_required() && !matches!(topic, Topic::Lamp | Topic::Readiness))
        .collect();
    silent(&mut flat, &rest);
    flat
}

fn codes_of(findings: &[Warning]) -> BTreeSet<(&str, &str)> {
    findings.iter().map(|finding| (finding.code, finding.subject.as_str())).collect()
}

// Design, section 7, and encodings, section 5: each fault planted in an otherwise clean program is found, and only it.
#[rstest]
#[case::clean(|_: &mut Flat| (), &[])]
#[case::a_clause_left_away(|flat: &mut Flat| { flat.lines.remove(0); }, &[("analysis/gap", "lamp")])]
#[case::a_silence_left_away(|flat: &mut Flat| { flat.silences.remove(0); }, &[("analysis/gap", "connector")])]
#[case::a_limit_row_left_away(|flat: &mut Flat| { flat.limits[0].rows.remove(0); }, &[("analysis/limit-hole", "standard")])]
#[case::rows_that_overlap(
    |flat: &mut Flat| flat.limits[0].rows[0].condition = number(Fact::ModelYear, None, Some(2001)),
    &[("analysis/limit-overlap", "standard")]
)]
#[case::polarity_flipped(
    |flat: &mut Flat| flat.lines[0].unmet_where = word(Fact::LampCommanded, &["no"]),
    &[("analysis/doing-better-is-graver", "lamp command")]
)]
#[case::a_limit_within_instead_of_over(
    |flat: &mut Flat| flat.lines[1].unmet_where = Condition::Test(Test::Limit { limit: 0, within: true }),
    &[("analysis/doing-better-is-graver", "catalyst"), ("analysis/doing-better-is-graver", "evaporative")]
)]
#[case::a_clause_never_unmet(
    |flat: &mut Flat| flat.lines.push(line("never", Topic::Other, 2, incomplete(Some(30), None))),
    &[("analysis/never-unmet", "never")]
)]
#[case::a_clause_that_never_decides(
    |flat: &mut Flat| flat.lines.push(line("weaker", Topic::Other, 1, word(Fact::LampCommanded, &["yes"]))),
    &[("analysis/never-decides", "weaker"), ("analysis/ranked-by-ladder", "weaker")]
)]
#[case::a_clause_always_set_aside(
    |flat: &mut Flat| {
        let mut weaker = line("weaker", Topic::Other, 1, word(Fact::LampCommanded, &["yes"]));
        weaker.gives_way = vec![(0, Condition::always())];
        flat.lines.push(weaker);
    },
    &[("analysis/always-set-aside", "weaker")]
)]
#[case::a_limit_always_met(
    |flat: &mut Flat| flat.limits[0].rows[0].limit = Allowance::AtMost { count: 32, only: None },
    &[("analysis/limit-always-met", "standard")]
)]
fn a_planted_fault_is_found(#[case] plant: fn(&mut Flat), #[case] expected: &[(&str, &str)]) {
    let clean_findings = analyse_flat(&model()).unwrap();
    let clean = codes_of(&clean_findings);
    let mut flat = model();
    plant(&mut flat);
    let findings = analyse_flat(&flat).unwrap();
    let new: BTreeSet<_> = codes_of(&findings).difference(&clean).copied().collect();
    for fault in expected {
        assert!(new.contains(fault), "{fault:?} not among {new:?}");
    }
    if expected.len() < 2 {
        assert_eq!(new, expected.iter().copied().collect());
    }
}

// Design, section 4: the lamp outranks readiness by the ladder alone in this program (encodings 1.3, G1), and a car
// without any monitor passes (encodings, section 5).
#[test]
fn findings_carry_an_example_that_shows_them() {
    let flat = model();
    let findings = analyse_flat(&flat).unwrap();
    let ranked = findings.iter().find(|finding| finding.code == "analysis/ranked-by-ladder").unwrap();
    assert_eq!(ranked.subject, "readiness");
    let example = ranked.example.as_ref().unwrap();
    let given = Given::of(&flat, &example.snapshot).unwrap();
    let (exact, _) = exact::Exact::of(&flat, &given).unwrap();
    assert!(exact.lines.iter().all(|line| line.unmet == exact::Sureness::Surely));
    assert!(codes_of(&findings).contains(&("analysis/passes-unmonitored", "example")));
}

// Worked out by hand: one row of the limit changes from two to one for model years to 2000. Differing vehicles: those
// years, the lamp not commanded, exactly two incomplete.
#[test]
fn an_amended_limit_is_described_in_one_line() {
    let (before, mut after) = (model(), model());
    after.limits[0].rows[0].limit = Allowance::AtMost { count: 1, only: None };
    let comparison = compare(&before, &after).unwrap();
    assert_eq!(comparison.changes.len(), 1);
    let change = &comparison.changes[0];
    assert_eq!((change.from.as_str(), change.to.as_str()), ("pass", "reject"));
    let cubes: Vec<_> = change.cover.cubes.iter().map(|cube| cube.conditions.clone()).collect();
    assert_eq!(
        cubes,
        vec![vec![
            "model year at most 2000".to_owned(),
            "lamp not commanded on".to_owned(),
            "exactly 2 counted monitors are incomplete".to_owned(),
        ]]
    );
    assert!(change.cover.rest.is_zero());
    assert_eq!(change.cover.cubes[0].count, change.count);
}

// Two versions of one program have one id: sides go by their place. By hand: the second counts one monitor less, the
// catalyst; a vehicle with two incomplete, one of them the catalyst, is over a limit of one as the first counts alone.
#[test]
fn sides_that_count_differently_are_told_apart_though_their_ids_are_one() {
    let (before, mut after) = (model(), model());
    for rule in &mut after.counts {
        rule.monitors = rule.monitors.without(MonitorSet::EMPTY.with(Monitor::named("catalyst").unwrap()));
    }
    assert_eq!(before.program, after.program);
    let comparison = compare(&before, &after).unwrap();
    let words: Vec<&String> =
        comparison.changes.iter().flat_map(|it| &it.cover.cubes).flat_map(|cube| &cube.conditions).collect();
    let says = |end: &str| words.iter().any(|it| it.ends_with(end));
    assert!(says("incomplete as the first counts") && says("incomplete as the second counts"), "{words:?}");
    assert!(words.iter().all(|it| !it.contains("1 counted monitors") && !it.contains(&before.program)), "{words:?}");
    assert!(words.iter().any(|it| it.contains("1 counted monitor is")), "{words:?}");
}

// Design, section 7: proof of no change. The same limit written as one row a year.
#[test]
fn the_same_law_written_otherwise_is_proven_equal() {
    let (before, mut after) = (model(), model());
    after.limits.clear();
    let years =
        [(None, Some(1995), 2), (Some(1996), Some(1998), 2), (Some(1999), Some(2000), 2), (Some(2001), None, 1)];
    let rows: Vec<_> = years.iter().map(|(a, b, n)| (number(Fact::ModelYear, *a, *b), *n)).collect();
    limit(&mut after, &rows);
    let comparison = compare(&before, &after).unwrap();
    assert!(comparison.is_equal() && comparison.by_outcome);
}

/// A complete vehicle: model year 2010, first test, all monitors complete that such a car has.
fn car() -> Snapshot {
    let mut car = Snapshot::default();
    car.set(Fact::ModelYear, Value::Number(2010));
    for name in Monitor::all() {
        let spark = name.is_spark_only() || name == Monitor::EgrVvt;
        car.set_word(Fact::Monitor(name), if spark { "complete" } else { "unsupported" });
    }
    for (fact, word) in [
        (Fact::Fuel, "gasoline"),
        (Fact::Ignition, "spark"),
        (Fact::Protocol, "classic"),
        (Fact::Visit, "initial"),
        (Fact::LampCommanded, "no"),
        (Fact::LampLitRunning, "no"),
        (Fact::LampLitKeyOn, "yes"),
    ] {
        car.set_word(fact, word);
    }
    car.set(Fact::WarmUps, Value::Number(30));
    for list in [Fact::StoredCodes, Fact::PendingCodes, Fact::PermanentCodes] {
        car.set(list, Value::Codes(CodeList::default()));
    }
    car
}

fn minutes(monitor: Monitor) -> Option<(i64, i64)> {
    match monitor {
        Monitor::Catalyst => Some((10, 30)),
        Monitor::Evaporative => Some((10, 60)),
        Monitor::OxygenSensor => Some((5, 20)),
        _ => Some((5, 30)),
    }
}

// Design, section 7: every cheapest plan. Limit one; catalyst (30 min) and evaporative (60 min) incomplete: the catalyst.
#[test]
fn the_quicker_monitor_is_the_plan() {
    let flat = model();
    let mut car = car();
    car.set_word(Fact::Monitor(Monitor::Catalyst), "incomplete");
    car.set_word(Fact::Monitor(Monitor::Evaporative), "incomplete");
    let given = Given::of(&flat, &car).unwrap();
    let plans = plans(&next(&flat, &given, &[], Class::Pass, &minutes).unwrap());
    let steps: Vec<_> = plans.iter().map(|plan| plan.steps.clone()).collect();
    assert_eq!(steps, vec![vec![Action::DriveUntilComplete(Monitor::Catalyst)]]);
    judged_again(&flat, &car, &given, &plans);
}

// Encodings, section 7, risk 8: a repair clears, clearing makes every monitor incomplete, so all but one must complete.
#[test]
fn a_repair_clears_and_the_monitors_must_run_again() {
    let flat = model();
    let mut car = car();
    car.set_word(Fact::LampCommanded, "yes");
    let given = Given::of(&flat, &car).unwrap();
    let plans = plans(&next(&flat, &given, &[], Class::Pass, &minutes).unwrap());
    assert!(!plans.is_empty());
    for plan in &plans {
        assert_eq!(plan.steps[0], Action::RepairFault);
        // Eight spark monitors and egr-vvt; all but one complete, and the one left is the dearest.
        assert!(!plan.steps.contains(&Action::DriveUntilComplete(Monitor::Evaporative)));
        assert_eq!(plan.steps.len(), 1 + 8 - 1);
    }
    judged_again(&flat, &car, &given, &plans);
}

/// The plans of the one branch.
fn plans(next: &Next) -> Vec<Plan> {
    match &next.only().expect("one branch").end {
        End::Plans(plans) => plans.clone(),
        other => panic!("no plans: {other:?}"),
    }
}

fn judged_again(flat: &Flat, car: &Snapshot, given: &Given, plans: &[Plan]) {
    for plan in plans {
        let after = simulate(car, given, &plan.steps);
        let again = Given::of(flat, &after).unwrap();
        let classes: BTreeSet<Class> =
            exact::possible(flat, &again).unwrap().iter().map(|verdict| verdict.class(flat)).collect();
        assert_eq!(classes, BTreeSet::from([Class::Pass]));
    }
}

// Design, section 7: where nothing helps, it says so. Where a fact decides, there are cases; where a look has a sound
// value, a proviso.
#[test]
fn no_plan_cases_and_provisos_are_told_apart() {
    let mut flat = model();
    flat.lines.push(line("old", Topic::Other, 2, number(Fact::ModelYear, None, Some(1990))));
    let mut car = car();
    let next_of =
        |flat: &Flat, car: &Snapshot| next(flat, &Given::of(flat, car).unwrap(), &[], Class::Pass, &minutes).unwrap();
    car.set(Fact::ModelYear, Value::Number(1985));
    assert_eq!(next_of(&flat, &car).only().unwrap().end, End::Nothing);
    car.readings.remove(&Fact::ModelYear);
    let by_year = next_of(&flat, &car);
    let cases: Vec<(&str, &End)> = by_year.branches.iter().map(|it| (it.when[0].text.as_str(), &it.end)).collect();
    let expected = [("model year at most 1990", &End::Nothing), ("model year 1991 or more", &End::Already)];
    assert_eq!(cases, expected);
    car.set(Fact::ModelYear, Value::Number(2010));
    assert_eq!(next_of(&flat, &car).only().unwrap().end, End::Already);
    // The lamp fails it now, whatever the connector looks like: the repair is told, the connector is a proviso.
    flat.lines.push(line("connector", Topic::Connector, 2, word(Fact::Connector, &["missing"])));
    car.set_word(Fact::LampCommanded, "yes");
    car.readings.remove(&Fact::Connector);
    let found = next_of(&flat, &car);
    assert_eq!(plans(&found)[0].steps[0], Action::RepairFault);
    let provisos: Vec<_> = found.only().unwrap().provisos.iter().map(|proviso| proviso.fact.clone()).collect();
    assert_eq!(provisos, [FactRef::Known(Fact::Connector)]);
    assert_eq!(found.only().unwrap().not_now, Some(Vec::new()), "no connector makes it pass now");
}

// Worked out by hand: above 8,500 lb nothing may be incomplete, else one may; two are incomplete and the weight is not
// known, nor the class. One drive is enough for light vehicles, both are for all: the plan for all is told.
#[test]
fn a_plan_serves_every_vehicle_that_remains() {
    let mut flat = model();
    flat.limits.clear();
    flat.lines.clear();
    let heavy = number(Fact::GrossWeight, Some(Unit::Pound.scale() * 8501), None);
    let two = Condition::Test(Test::Count { states: 4, least: Some(2), most: None });
    let one = Condition::Test(Test::Count { states: 4, least: Some(1), most: None });
    flat.lines.push(line("light", Topic::Readiness, 2, Condition::All(vec![heavy.clone().negated(), two])));
    flat.lines.push(line("heavy", Topic::Readiness, 2, Condition::All(vec![heavy, one])));
    let mut car = car();
    car.set_word(Fact::Monitor(Monitor::Catalyst), "incomplete");
    car.set_word(Fact::Monitor(Monitor::Evaporative), "incomplete");
    let steps = |car: &Snapshot| {
        let found = next(&flat, &Given::of(&flat, car).unwrap(), &[], Class::Pass, &minutes).unwrap();
        (plans(&found)[0].steps.clone(), found.only().unwrap().provisos.len())
    };
    let (catalyst, evaporative) =
        (Action::DriveUntilComplete(Monitor::Catalyst), Action::DriveUntilComplete(Monitor::Evaporative));
    assert_eq!(steps(&car), (vec![catalyst, evaporative], 0));
    // A passenger car is taken to be light, and that is told.
    car.set_word(Fact::Class, wherefore::internals::model::table::CLASSES[0]);
    assert_eq!(steps(&car), (vec![catalyst], 1));
}

// A permanent code counts until 15 warm-ups and 200 miles since clearing (encodings, 1.2): driving to both is the plan.
#[test]
fn driving_to_a_number_since_clearing_is_a_plan() {
    let mut flat = model();
    let miles = Unit::Mile.to_base(200);
    let ago =
        Condition::All(vec![number(Fact::WarmUps, Some(15), None), number(Fact::DistanceSinceClear, miles, None)]);
    let any = Test::Codes { list: Fact::PermanentCodes, how: wherefore::internals::program::How::Any, among: None };
    let unmet = Condition::All(vec![Condition::Test(any), Condition::Not(Box::new(ago))]);
    flat.lines.push(line("permanent", Topic::PermanentCodes, 2, unmet));
    let mut car = car();
    let p0420 = wherefore::internals::model::TroubleCode::parse("P0420").unwrap();
    car.set(Fact::PermanentCodes, Value::Codes(CodeList { codes: [p0420].into(), may_hold_more: false }));
    car.set(Fact::WarmUps, Value::Number(12));
    car.set(Fact::DistanceSinceClear, Value::Number(Unit::Kilometre.scale() * 80));
    let given = Given::of(&flat, &car).unwrap();
    let plans = plans(&next(&flat, &given, &[], Class::Pass, &minutes).unwrap());
    // A snapshot may report miles: 200 are the least that suffices, before 322 km.
    let least = 200 * Unit::Mile.scale();
    assert_eq!(plans.len(), 1);
    assert_eq!(
        plans[0].steps.iter().copied().collect::<BTreeSet<_>>(),
        BTreeSet::from([Action::DriveUntil(Fact::WarmUps, 15), Action::DriveUntil(Fact::DistanceSinceClear, least),])
    );
    judged_again(&flat, &car, &given, &plans);
}

// Worked out by hand: with the lamp and the model year not known and two incomplete, either order asks two at most. Of as
// many, the one that a person can answer first comes first: the model year is on the papers, the lamp's command is read.
#[test]
fn of_as_many_questions_the_papers_come_before_the_reader() {
    let flat = model();
    let mut car = car();
    car.readings.remove(&Fact::LampCommanded);
    car.readings.remove(&Fact::ModelYear);
    car.set_word(Fact::Monitor(Monitor::Catalyst), "incomplete");
    car.set_word(Fact::Monitor(Monitor::Evaporative), "incomplete");
    let tree = ask(&flat, &car).unwrap();
    assert!(tree.is_best);
    assert_eq!(tree.depth(), 2);
    assert_eq!(tree.start, Step::Ask(0));
    let question = &tree.questions[0];
    assert_eq!(question.facts, [FactRef::Known(Fact::ModelYear)]);
    assert_eq!(tree.questions[1].facts, [FactRef::Known(Fact::LampCommanded)]);
    assert!(question.cost < tree.questions[1].cost);
    let words: BTreeSet<&str> = tree.questions[1].answers.iter().map(|(words, _)| words.as_str()).collect();
    assert_eq!(words, BTreeSet::from(["lamp commanded on", "lamp not commanded on"]));
}

// A monitor that no plan may name: nothing in the table defeats a monitor or clears alone (encodings, section 7, risk 8).
#[test]
fn clearing_is_never_a_step_of_its_own() {
    let mut flat = model();
    flat.lines.push(line("catalyst", Topic::Readiness, 2, monitor(Monitor::Catalyst, 2)));
    let given = Given::of(&flat, &car()).unwrap();
    assert_eq!(next(&flat, &given, &[], Class::Pass, &minutes).unwrap().only().unwrap().end, End::Nothing);
}

/// A table row for one make and model, and the make known: only what is not known can still matter, and it matters
/// beside what is known (design, section 6: unknown facts that still matter).
#[rstest]
#[case::neither_alone_settles_anything(None, None, &[])]
#[case::make_known(Some("example"), None, &[Fact::Model])]
#[case::model_known(None, Some("sedan"), &[Fact::Make])]
#[case::both_known(Some("example"), Some("sedan"), &[])]
#[case::another_make(Some("other"), None, &[])]
fn what_is_known_of_a_listed_vehicle_no_longer_matters(
    #[case] make: Option<&str>,
    #[case] model: Option<&str>,
    #[case] expected: &[Fact],
) {
    let text = |fact, text: &str| Condition::Test(Test::Text { fact, among: vec![text.to_owned()], is: true });
    let mut flat = flat();
    flat.tables = vec![FlatTable {
        id: "special".to_owned(),
        rows: vec![FlatRow {
            condition: Condition::All(vec![text(Fact::Make, "example"), text(Fact::Model, "sedan")]),
            excused: Default::default(),
            codes: Vec::new(),
        }],
    }];
    // A listed vehicle fails; another may pass or fail, by its lamp: only "listed" leaves fewer verdicts.
    flat.lines = vec![
        line("listed", Topic::Other, 2, Condition::Test(Test::Listed(0))),
        line("lamp", Topic::Lamp, 2, word(Fact::LampCommanded, &["yes"])),
    ];
    let mut known = Snapshot::default();
    for (fact, value) in [(Fact::Make, make), (Fact::Model, model)] {
        if let Some(value) = value {
            known.set(fact, Value::Text(value.to_owned()));
        }
    }
    let (exact, _) = exact::Exact::of(&flat, &Given::of(&flat, &known).unwrap()).unwrap();
    let told = exact.unknown.iter().filter(|fact| **fact != FactRef::Known(Fact::LampCommanded));
    assert_eq!(
        told.cloned().collect::<Vec<_>>(),
        expected.iter().map(|fact| FactRef::Known(*fact)).collect::<Vec<_>>()
    );
}

/// `presumes not listed` (encodings, section 2, construct 17) sets aside only rows that are not surely the vehicle's.
#[rstest]
#[case::nothing_known(None, &["pass"])]
#[case::surely_listed(Some("example"), &["fail"])]
#[case::surely_not(Some("other"), &["pass"])]
fn a_vehicle_presumed_not_listed_can_be_listed(#[case] make: Option<&str>, #[case] expected: &[&str]) {
    let mut flat = flat();
    let condition = Condition::Test(Test::Text { fact: Fact::Make, among: vec!["example".to_owned()], is: true });
    let row = FlatRow { condition, excused: Default::default(), codes: Vec::new() };
    flat.tables = vec![FlatTable { id: "special".to_owned(), rows: vec![row] }];
    flat.lines = vec![line("listed", Topic::Other, 2, Condition::Test(Test::Listed(0)))];
    flat.presumptions = vec![Presumption {
        fact: FactRef::Known(Fact::Make),
        value: Presumed::NotListed("special".to_owned()),
        shown: "not listed".to_owned(),
        condition: Condition::always(),
        basis: Vec::new(),
    }];
    let mut known = Snapshot::default();
    if let Some(make) = make {
        known.set(Fact::Make, Value::Text(make.to_owned()));
    }
    let given = Given::of(&flat, &known).unwrap();
    let names =
        |verdicts: &BTreeSet<_>| verdicts.iter().map(|v: &Verdict| v.name(&flat).to_owned()).collect::<Vec<_>>();
    assert_eq!(names(&exact::possible(&flat, &given).unwrap()), expected);
    assert_eq!(names(&wherefore::internals::evaluate::verdict(&flat, &given).to_set()), expected);
}
