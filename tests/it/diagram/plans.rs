//! Plans against what is told one vehicle at a time: every vehicle that agrees with what is known and meets the provisos
//! is simulated forward and judged by the naive evaluator, and exhaustive search over sequences of actions finds nothing
//! cheaper. The claims are those of `docs/plan.md`.

use super::build::{flat, line, word};
use super::oracle::Vehicle;
use super::random;
use proptest::prelude::*;
use rstest::rstest;
use std::collections::BTreeSet;
use wherefore::internals::analysis::next::{Action, Branch, End, Next, Proviso, next, simulate};
use wherefore::internals::diagram::exact;
use wherefore::internals::diagram::level::{Sample, Var};
use wherefore::internals::model::facts::Possible;
use wherefore::internals::model::{CodeList, Fact, Monitor, Reading, Snapshot, Value};
use wherefore::internals::program::{Class, FactRef, Flat, Given, Topic, Verdict};

/// Longest sequence that is tried.
const LONGEST: usize = 4;

/// Every action that could help in a random program: its thresholds for warm-ups are 1 and 15.
fn actions() -> Vec<Action> {
    let mut all = Action::REPAIRS.to_vec();
    all.extend([Action::DriveUntil(Fact::WarmUps, 1), Action::DriveUntil(Fact::WarmUps, 15)]);
    all.extend(random::MONITORS.map(Action::DriveUntilComplete));
    all
}

fn minutes(monitor: Monitor) -> Option<(i64, i64)> {
    match monitor {
        Monitor::Catalyst => Some((10, 30)),
        Monitor::Evaporative => Some((10, 60)),
        _ => Some((5, 20)),
    }
}

fn verdicts(flat: &Flat, given: &Given) -> BTreeSet<Verdict> {
    exact::possible(flat, given).unwrap_or_default()
}

/// Whether a verdict is what a plan may lead to: the goal, or no test.
fn is_fine(flat: &Flat, verdict: Verdict, goal: Class) -> bool {
    verdict.class(flat) <= goal || verdict == Verdict::NotSubject
}

/// The least that any sequence costs after which all vehicles have what is accepted; only those below a cost are tried.
fn cheapest(flat: &Flat, given: &Given, goal: Class, below: u64) -> Option<u64> {
    let mut best: Option<u64> = None;
    let mut waiting = vec![(given.clone(), 0u64, 0usize)];
    while let Some((state, cost, length)) = waiting.pop() {
        if cost >= best.unwrap_or(below) {
            continue;
        }
        let found = verdicts(flat, &state);
        if !found.is_empty() && found.iter().all(|verdict| is_fine(flat, *verdict, goal)) {
            best = Some(cost);
            continue;
        }
        if length < LONGEST {
            for action in actions().into_iter().filter(|action| action.is_open(&state)) {
                waiting.push((action.after(&state), cost + action.cost(&state, &minutes), length + 1));
            }
        }
    }
    best
}

/// The verdicts of one vehicle once the steps are done: with each number since clearing risen as little as it may, and as
/// far as it can.
fn then(flat: &Flat, vehicle: &Vehicle, steps: &[Action]) -> Vec<Verdict> {
    let given = Given::of(flat, &vehicle.facts).expect("a vehicle that exists");
    let mut after = vehicle.clone();
    after.facts = simulate(&vehicle.facts, &given, steps);
    assert!(after.can_exist(), "no such vehicle after {steps:?}");
    let mut list = vec![after.verdict(flat)];
    let drives = steps.iter().any(|step| !step.is_repair());
    if let (true, Some(Reading::Known(Value::Number(least)))) = (drives, after.facts.get(Fact::WarmUps).cloned()) {
        for number in [1, 14, 15, 255].into_iter().filter(|number| *number > least) {
            after.facts.set(Fact::WarmUps, Value::Number(number));
            list.push(after.verdict(flat));
        }
    }
    list
}

/// Whether a vehicle is one of a branch.
fn belongs(flat: &Flat, branch: &Branch, vehicle: &Vehicle) -> bool {
    let given = Given::of(flat, &vehicle.facts).expect("a vehicle that exists");
    branch.when.iter().all(|split| match &split.var {
        Var::Question { id, .. } => {
            let reading = vehicle.readings.get(id);
            split.classes.iter().any(|class| matches!(class.sample, Sample::Place(place) if Some(&place) == reading))
        }
        _ => split.may_hold(flat, &given),
    })
}

fn meets(flat: &Flat, provisos: &[Proviso], vehicle: &Vehicle) -> bool {
    let given = Given::of(flat, &vehicle.facts).expect("a vehicle that exists");
    provisos.iter().all(|proviso| proviso.holds(&given))
}

/// Whether what a branch says is so of a vehicle.
fn is_so(flat: &Flat, branch: &Branch, vehicle: &Vehicle, goal: Class) -> bool {
    let accepted = |verdict: Verdict| {
        is_fine(flat, verdict, goal) || (branch.goes_elsewhere && verdict.class(flat) == Class::OtherTest)
    };
    let now = vehicle.verdict(flat);
    match &branch.end {
        End::Already => accepted(now),
        End::Plans(plans) => plans.iter().all(|plan| then(flat, vehicle, &plan.steps).into_iter().all(accepted)),
        End::NotAsked => now == Verdict::NotSubject,
        End::OtherTest => now == Verdict::NotSubject || now.class(flat) == Class::OtherTest,
        End::Nothing | End::FindOut { .. } | End::TooMany => true,
    }
}

/// Whether some actions, in the order of the table and below a cost, lead one vehicle to the goal itself.
fn helps(flat: &Flat, vehicle: &Vehicle, goal: Class, below: u64) -> bool {
    let given = Given::of(flat, &vehicle.facts).expect("a vehicle that exists");
    let mut waiting = vec![(given, Vec::new(), 0, 0u64)];
    while let Some((state, steps, from, cost)) = waiting.pop() {
        if cost >= below {
            continue;
        }
        if then(flat, vehicle, &steps).iter().any(|verdict| verdict.class(flat) <= goal) {
            return true;
        }
        for (place, action) in actions().into_iter().enumerate().skip(from).filter(|(_, it)| it.is_open(&state)) {
            let cost = cost + action.cost(&state, &minutes);
            waiting.push((action.after(&state), [steps.clone(), vec![action]].concat(), place + 1, cost));
        }
    }
    false
}

/// The value of a proviso as a reading, where one reading says it.
fn learned(known: &Snapshot, proviso: &Proviso) -> Option<Snapshot> {
    let FactRef::Known(fact) = proviso.fact else { return None };
    let mut more = known.clone();
    match &proviso.possible {
        Possible::Words(mask) if mask.count_ones() == 1 && mask.trailing_zeros() < 63 => {
            more.set(fact, Value::Word(u8::try_from(mask.trailing_zeros()).unwrap()));
        }
        Possible::Codes { .. } => more.set(fact, Value::Codes(CodeList::default())),
        _ => return None,
    }
    Some(more)
}

fn cost(next: &Next) -> Option<u64> {
    match &next.only()?.end {
        End::Already => Some(0),
        End::Plans(plans) => plans.first().map(|plan| plan.cost),
        _ => None,
    }
}

fn holds_of_every_vehicle(
    flat: &Flat,
    known: &Snapshot,
    goal: Class,
    vehicles: &[Vehicle],
) -> Result<(), TestCaseError> {
    let given = Given::of(flat, known).unwrap();
    let found = next(flat, &given, &[], goal, &minutes).unwrap();
    let now: BTreeSet<Verdict> = vehicles.iter().map(|vehicle| vehicle.verdict(flat)).collect();
    prop_assert_eq!(&found.now, &now);
    prop_assert!((1..=4).contains(&found.branches.len()));
    prop_assert!(vehicles.iter().all(|it| found.branches.iter().any(|branch| belongs(flat, branch, it))));
    for branch in &found.branches {
        let mine: Vec<&Vehicle> = vehicles.iter().filter(|it| belongs(flat, branch, it)).collect();
        for vehicle in mine.iter().filter(|it| meets(flat, &branch.provisos, it)) {
            prop_assert!(is_so(flat, branch, vehicle, goal), "{branch:?} is not so of {vehicle:?}");
        }
        // What is said of the vehicles as they stand.
        if let Some(provisos) = &branch.not_now {
            let passes = |it: &&&Vehicle| meets(flat, provisos, it) && it.verdict(flat).class(flat) <= goal;
            prop_assert!(!mine.iter().any(|it| passes(&it)), "a vehicle of {branch:?} has the goal as it stands");
        }
        // None of the provisos can be left away, unless nothing can be told without it either.
        for place in 0..branch.provisos.len() {
            let mut fewer = branch.provisos.clone();
            let left = fewer.remove(place);
            let not_so = |it: &&&Vehicle| meets(flat, &fewer, it) && !is_so(flat, branch, it, goal);
            // Of these it is said, too, that nothing helps, which may need it.
            let says_more = matches!(branch.end, End::Nothing | End::OtherTest | End::FindOut { .. });
            let is_needed = says_more || mine.iter().any(|it| not_so(&it));
            prop_assert!(is_needed, "{left:?} is not needed by {branch:?}");
        }
        let below = match &branch.end {
            End::Nothing => u64::MAX,
            End::FindOut { least: Some(plan), .. } => plan.cost,
            _ => 0,
        };
        for vehicle in mine.iter().filter(|it| meets(flat, &branch.provisos, it)).take(4) {
            prop_assert!(!helps(flat, vehicle, goal, below), "something below {below} helps {vehicle:?}");
        }
    }
    let Some(branch) = found.only() else { return Ok(()) };
    match &branch.end {
        End::Plans(plans) => {
            for plan in plans {
                prop_assert_eq!(plan.cost, plans[0].cost);
                // Clearing only as part of a repair, and never a repair of what is in order.
                let mut state = branch.given.clone();
                for step in &plan.steps {
                    prop_assert!(step.is_open(&state), "{:?} has nothing to do", step);
                    state = step.after(&state);
                }
            }
            // Any as many of the choice do as well: each is tried alone where one is enough.
            let drives = plans[0].steps.iter().filter(|step| matches!(step, Action::DriveUntilComplete(_))).count();
            for monitor in plans[0].choice.iter().filter(|_| drives == 1) {
                let swap = |step: &Action| match step {
                    Action::DriveUntilComplete(_) => Action::DriveUntilComplete(*monitor),
                    other => *other,
                };
                let swapped: Vec<Action> = plans[0].steps.iter().map(swap).collect();
                for vehicle in vehicles.iter().filter(|it| meets(flat, &branch.provisos, it)) {
                    let fine = then(flat, vehicle, &swapped).into_iter().all(|it| is_fine(flat, it, goal));
                    prop_assert!(fine || branch.goes_elsewhere, "{monitor:?} does not do as well");
                }
            }
            if !branch.goes_elsewhere {
                let cheaper = cheapest(flat, &branch.ordinary, goal, plans[0].cost);
                prop_assert_eq!(cheaper, None, "cheaper than {:?}", plans[0]);
            }
        }
        End::FindOut { .. } | End::Nothing => {
            prop_assert_eq!(cheapest(flat, &branch.ordinary, goal, u64::MAX), None);
        }
        _ => {}
    }
    // Learning that a proviso is so never makes the plan dearer.
    for more in branch.provisos.iter().filter_map(|proviso| learned(known, proviso)) {
        let again = next(flat, &Given::of(flat, &more).unwrap(), &[], goal, &minutes).unwrap();
        if let Some(before) = cost(&found) {
            prop_assert!(cost(&again).is_some_and(|after| after <= before), "{found:?} became {again:?}");
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, max_shrink_iters: 40, max_global_rejects: 100_000, ..ProptestConfig::default() })]

    #[test]
    fn a_plan_holds_of_every_vehicle_and_nothing_is_cheaper(
        flat in random::program(),
        knowledge in random::knowledge(),
        goal in prop::sample::select(vec![Class::Pass, Class::Conditional, Class::OtherTest]),
    ) {
        let flat = Flat { presumptions: Vec::new(), ..flat };
        let known = random::known(&knowledge);
        prop_assume!(Given::of(&flat, &known).is_ok());
        let vehicles = random::vehicles(&flat, &known, 3_000);
        prop_assume!(vehicles.as_ref().is_some_and(|vehicles| !vehicles.is_empty()));
        holds_of_every_vehicle(&flat, &known, goal, &vehicles.unwrap())?;
    }

    #[test]
    fn a_plan_holds_where_everything_is_known(
        flat in random::program(),
        knowledge in random::knowledge(),
        goal in prop::sample::select(vec![Class::Pass, Class::Conditional, Class::Reject]),
    ) {
        let flat = Flat { presumptions: Vec::new(), ..flat };
        let known = random::known(&knowledge.iter().map(|(index, _)| (*index, true)).collect::<Vec<_>>());
        prop_assume!(Given::of(&flat, &known).is_ok());
        let vehicles = random::vehicles(&flat, &known, 3_000);
        prop_assume!(vehicles.as_ref().is_some_and(|vehicles| !vehicles.is_empty()));
        holds_of_every_vehicle(&flat, &known, goal, &vehicles.unwrap())?;
    }
}

/// Each repair of the table where it is all that is wrong: it alone is the plan (`docs/plan.md`), and what it mends is mended.
/// A vehicle on which nothing is wrong has none; one with two things wrong has both.
#[rstest]
#[case::fault(&[(Fact::LampCommanded, "yes")], &[Action::RepairFault])]
#[case::connector(&[(Fact::Connector, "missing")], &[Action::RepairConnector])]
#[case::communication(&[(Fact::Communication, "none")], &[Action::RepairCommunication])]
#[case::lamp(&[(Fact::LampLitKeyOn, "no")], &[Action::RepairLamp])]
#[case::lamp_wiring(&[(Fact::LampLitRunning, "yes"), (Fact::LampCommanded, "no")], &[Action::RepairLampWiring])]
#[case::connector_and_lamp(&[(Fact::Connector, "missing"), (Fact::LampLitKeyOn, "no")], &[Action::RepairConnector, Action::RepairLamp])]
#[case::nothing(&[(Fact::Connector, "intact")], &[])]
fn a_repair_alone_is_a_plan(#[case] readings: &[(Fact, &str)], #[case] expected: &[Action]) {
    let mut flat = flat();
    let bad = [
        (Fact::LampCommanded, "yes"),
        (Fact::Connector, "missing"),
        (Fact::Communication, "none"),
        (Fact::LampLitKeyOn, "no"),
        (Fact::LampLitRunning, "yes"),
    ];
    // Only what the vehicle shows is asked, so that nothing else is open.
    for (fact, reading) in bad.into_iter().filter(|(fact, _)| readings.iter().any(|(known, _)| known == fact)) {
        flat.lines.push(line("one", Topic::Other, 2, word(fact, &[reading])));
    }
    let mut vehicle = Snapshot::default();
    readings.iter().for_each(|(fact, reading)| vehicle.set_word(*fact, reading));
    let given = Given::of(&flat, &vehicle).unwrap();
    let found = next(&flat, &given, &[], Class::Pass, &minutes).unwrap();
    match (&found.only().unwrap().end, expected) {
        (End::Already, []) => {}
        (End::Plans(plans), steps) => {
            let plans: Vec<&[Action]> = plans.iter().map(|plan| plan.steps.as_slice()).collect();
            assert_eq!(plans, [steps]);
            let after = simulate(&vehicle, &given, steps);
            assert_eq!(verdicts(&flat, &Given::of(&flat, &after).unwrap()), BTreeSet::from([Verdict::Outcome(0)]));
        }
        (other, _) => panic!("{other:?}"),
    }
}
