//! Plans against exhaustive search: every sequence of actions, in any order, on small random programs. Issue "exact
//! answers", point 4: nothing cheaper exists, and every plan is run through the simulator and judged again.

use super::random;
use proptest::prelude::*;
use std::collections::BTreeSet;
use wherefore::diagram::exact;
use wherefore::diagram::next::{Action, Next, next, simulate};
use wherefore::model::{Fact, Monitor, Snapshot};
use wherefore::program::{Class, Flat, Given};

/// Longest sequence that is tried.
const LONGEST: usize = 4;

/// Every action that could help in a random program: its thresholds for warm-ups are 1 and 15.
fn actions() -> Vec<Action> {
    let mut all = vec![
        Action::RepairFault,
        Action::RepairConnector,
        Action::RepairCommunication,
        Action::RepairLamp,
        Action::RepairLampWiring,
        Action::DriveUntil(Fact::WarmUps, 1),
        Action::DriveUntil(Fact::WarmUps, 15),
    ];
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

fn classes(flat: &Flat, given: &Given) -> BTreeSet<Class> {
    let possible = exact::possible(flat, given);
    possible.map_or_else(|_| BTreeSet::new(), |list| list.iter().map(|verdict| verdict.class(flat)).collect())
}

/// The least that any sequence costs which leads to the class or a less grave one; only sequences below a cost are tried.
fn cheapest(flat: &Flat, given: &Given, goal: Class, below: u64) -> Option<u64> {
    let mut best: Option<u64> = None;
    let mut waiting = vec![(given.clone(), 0u64, 0usize)];
    while let Some((state, cost, length)) = waiting.pop() {
        if cost >= best.unwrap_or(below) {
            continue;
        }
        let found = classes(flat, &state);
        if !found.is_empty() && found.iter().all(|class| *class <= goal) {
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

fn judged_again(flat: &Flat, car: &Snapshot, given: &Given, steps: &[Action], goal: Class) {
    let after = simulate(car, given, steps);
    let found = classes(flat, &Given::of(flat, &after).unwrap());
    assert!(!found.is_empty() && found.iter().all(|class| *class <= goal), "{steps:?} leads to {found:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, max_global_rejects: 100_000, ..ProptestConfig::default() })]

    #[test]
    fn exhaustive_search_finds_nothing_cheaper(
        flat in random::program(),
        knowledge in random::knowledge(),
        goal in prop::sample::select(vec![Class::Pass, Class::Conditional, Class::Reject]),
    ) {
        let known = random::known(&knowledge.iter().map(|(index, _)| (*index, true)).collect::<Vec<_>>());
        let given = Given::of(&flat, &known);
        prop_assume!(given.is_ok());
        let given = given.unwrap();
        let now = classes(&flat, &given);
        prop_assume!(!now.is_empty());
        match next(&flat, &given, goal, &minutes).unwrap() {
            Next::Already => prop_assert!(now.iter().all(|class| *class <= goal)),
            Next::FactsMissing => prop_assert!(now.len() > 1),
            Next::Plans(plans) => {
                for plan in &plans {
                    judged_again(&flat, &known, &given, &plan.steps, goal);
                    let drives = |step: &&Action| matches!(step, Action::DriveUntilComplete(_));
                    let count = plan.steps.iter().filter(drives).count();
                    // Any as many of the choice do as well: each is tried alone where one is enough.
                    for monitor in plan.choice.iter().filter(|_| count == 1) {
                        let swap = |step: &Action| match step {
                            Action::DriveUntilComplete(_) => Action::DriveUntilComplete(*monitor),
                            other => *other,
                        };
                        let swapped: Vec<Action> = plan.steps.iter().map(swap).collect();
                        judged_again(&flat, &known, &given, &swapped, goal);
                    }
                    // Clearing only as part of a repair, and never a repair of what is in order.
                    let mut state = given.clone();
                    for step in &plan.steps {
                        prop_assert!(step.is_open(&state), "{:?} has nothing to do", step);
                        state = step.after(&state);
                    }
                    prop_assert_eq!(plan.cost, plans[0].cost);
                }
                let cheaper = cheapest(&flat, &given, goal, plans[0].cost);
                prop_assert_eq!(cheaper, None, "cheaper than {:?}", plans[0]);
            }
            Next::NoPlan | Next::FactsFirst(_) => prop_assert_eq!(cheapest(&flat, &given, goal, u64::MAX), None),
            _ => prop_assert!(false, "the search must end on so small a program"),
        }
    }
}
