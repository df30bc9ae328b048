//! The diagrams from outside: against a naive evaluator over every vehicle, and the explosions that are known.

mod answers;
mod asking;
mod budget;
pub mod build;
pub mod oracle;
mod plans;
pub mod random;
pub mod shipped;
mod symbolic;
mod walks;
mod whole;
mod words;

use proptest::prelude::*;
use std::collections::BTreeSet;
use wherefore::internals::diagram::kernel::terminal_of;
use wherefore::internals::diagram::{self, Compiled, Count, Error, Exact, Example, example};
use wherefore::internals::evaluate;
use wherefore::internals::program::given::{Given, Verdict};
use wherefore::internals::program::{FactRef, Flat};
use wherefore::internals::ruling::{Answers, Calculated};

fn verdicts<'a>(flat: &Flat, vehicles: impl Iterator<Item = &'a oracle::Vehicle>) -> BTreeSet<Verdict> {
    vehicles.map(|vehicle| vehicle.verdict(flat)).collect()
}

/// Each possible verdict with how many vehicles come to it, and one that may.
fn shown(flat: &Flat, exact: &Exact, compiled: &Compiled) -> Vec<(Verdict, Count, Example)> {
    let (nodes, compiler) = (compiled.first().unwrap(), &compiled.compiler);
    let of = |verdict: &Verdict| {
        let wanted = |value: u32| value == terminal_of(*verdict);
        let path = compiler.forest.example(nodes.ruled, &compiled.weights, wanted).unwrap();
        let count = compiler.forest.count(nodes.ruled, &compiled.weights, wanted);
        (*verdict, count, example::example(&compiler.space, &[flat], &path))
    };
    exact.possible.iter().map(of).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, max_global_rejects: 100_000, ..ProptestConfig::default() })]

    // Design, section 4 (kernel) and encodings, section 7, risk 4: the possible set is the set over all completions,
    // after presumptions (encodings, section 2, construct 17); the interpreter's bound holds it.
    #[test]
    fn possible_verdicts_are_those_of_all_completions(program in random::program(), knowledge in random::knowledge()) {
        let snapshot = random::known(&knowledge);
        let plain = random::presumed(&program, &snapshot, 8_000);
        prop_assume!(plain.is_some());
        let (flat, known) = plain.unwrap();
        let found = random::vehicles(&flat, &known, 8_000);
        prop_assume!(found.is_some());
        let vehicles = found.unwrap();
        let Ok(given) = Given::of(&program, &snapshot) else {
            prop_assert!(vehicles.is_empty());
            return Ok(());
        };
        if vehicles.is_empty() {
            prop_assert_eq!(diagram::exact::possible(&program, &given), Err(Error::Contradiction));
            return Ok(());
        }
        let expected = verdicts(&flat, vehicles.iter());
        let (exact, compiled) = Exact::of(&program, &given).unwrap();
        prop_assert_eq!(&exact.possible, &expected);
        let bound = evaluate::interpret(&program, &given);
        prop_assert!(expected.is_subset(&bound.possible.to_set()));
        prop_assert!(!(bound.exact || bound.possible.len() == 1) || bound.possible.to_set() == expected);

        let all = |line: usize| vehicles.iter().all(|vehicle| vehicle.deciding(&flat).contains(&line));
        let some = |line: usize| vehicles.iter().any(|vehicle| vehicle.deciding(&flat).contains(&line));
        let lines = 0..flat.lines.len();
        prop_assert_eq!(exact.deciding(), lines.clone().filter(|line| all(*line)).collect::<Vec<_>>());
        prop_assert_eq!(exact.alternatives(), lines.filter(|line| some(*line) && !all(*line)).collect::<Vec<_>>());

        // A fact matters if one of its values leaves fewer verdicts.
        let mut matters = Vec::new();
        for (fact, values) in random::pool() {
            let narrows = known.get(fact).is_none() && values.iter().any(|value| {
                let left = verdicts(&flat, vehicles.iter().filter(|vehicle| vehicle.facts.get(fact) == Some(value)));
                !left.is_empty() && left != expected
            });
            if narrows {
                matters.push(FactRef::Known(fact));
            }
        }
        let told: BTreeSet<_> =
            exact.unknown.iter().filter(|fact| matches!(fact, FactRef::Known(_))).cloned().collect();
        // A fact that no test asks can tell of one that some test asks; only those asked are promised.
        let asked = random::asked(&flat);
        prop_assert!(told.iter().all(|fact| matters.contains(fact)), "{told:?} told, {matters:?} matter");
        matters.retain(|fact| asked.contains(fact));
        prop_assert!(matters.iter().all(|fact| told.contains(fact)), "{told:?} told, {matters:?} matter");
        for (verdict, count, example) in &shown(&program, &exact, &compiled) {
            prop_assert!(!count.is_zero());
            let again = Given::of(&flat, &example.snapshot).unwrap();
            prop_assert!(diagram::exact::possible(&flat, &again).unwrap().contains(verdict));
        }
    }

    // Design, section 6: a sufficient set from which none can be dropped; learning a fact never adds an outcome.
    #[test]
    fn sufficient_facts_suffice_and_none_can_be_dropped(flat in random::program(), knowledge in random::knowledge()) {
        // A presumption stands only while nothing is known, so with one, learning can add an outcome.
        let flat = Flat { presumptions: Vec::new(), ..flat };
        let known = random::known(&knowledge);
        let Ok(given) = Given::of(&flat, &known) else { return Ok(()); };
        let Ok(verdicts) = diagram::exact::possible(&flat, &given) else { return Ok(()); };
        let (Some(verdict), 1) = (verdicts.first().copied(), verdicts.len()) else { return Ok(()); };
        let read = known.readings.keys().map(|fact| FactRef::Known(*fact));
        let read: BTreeSet<_> = read.chain(known.declared.keys().map(|_| FactRef::Declared(0))).collect();
        let enough = Calculated::new(&flat, &given).sufficient(&flat, &given, verdict, &read, &BTreeSet::new());
        let keep = |facts: &BTreeSet<FactRef<usize>>| {
            let mut less = known.clone();
            less.readings.retain(|fact, _| facts.contains(&FactRef::Known(*fact)));
            less.declared.retain(|_, _| facts.contains(&FactRef::Declared(0)));
            diagram::exact::possible(&flat, &Given::of(&flat, &less).unwrap()).unwrap()
        };
        prop_assert_eq!(&keep(&enough), &verdicts);
        for fact in &enough {
            let mut fewer = enough.clone();
            fewer.remove(fact);
            let wider = keep(&fewer);
            prop_assert!(wider.is_superset(&verdicts), "learning {fact:?} added an outcome");
            prop_assert_ne!(wider, verdicts.clone(), "{:?} can be dropped", fact);
        }
    }
}
