//! What a ruling asks the interpreter alone, where the diagrams are too large: which lines decide, and which facts that are
//! not known can still change the outcome.

use super::programs::{self, based, counting, line, origin};
use super::states::{fails_where, halves};
use super::{closed, draws, hidden, hides, partial, vehicle, whole};
use proptest::prelude::*;
use std::collections::BTreeSet;
use wherefore::internals::diagram::Exact;
use wherefore::internals::evaluate;
use wherefore::internals::model::table::all_facts;
use wherefore::internals::model::{CodeGroup, CodeRange, Fact, FactType, Monitor, MonitorSet, Snapshot, spec};
use wherefore::internals::program::block::Allowance;
use wherefore::internals::program::flat::{CountRule, Excuse, FlatExcused, FlatLimitRow, FlatRow, FlatTable, Limit};
use wherefore::internals::program::given::facts_of;
use wherefore::internals::program::{Condition, FactRef, Flat, Given, How, Quantifier, Test};
use wherefore::internals::ruling::{Answers, Interpreted};

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    /// Of several lines that are unmet the gravest decide (design, section 4): of a whole vehicle those of the naive
    /// evaluator; of one that is known in part each line that is called sure decides in every vehicle it may be, and each
    /// line that decides in one of them is named.
    #[test]
    fn the_lines_that_decide_are_those_of_every_vehicle_it_may_be(
        flat in programs::program(),
        draws in draws(),
        hides in hides(),
        halved in any::<bool>(),
    ) {
        let world = vehicle(&draws);
        let part = partial(&world, &hidden(&flat, &hides), halved, false, &flat);
        let given = Given::of(&flat, &part.snapshot()).unwrap();
        let found = Interpreted.deciding(&flat, &given, &evaluate::interpret(&flat, &given));
        let all: BTreeSet<usize> = found.surely.iter().chain(&found.perhaps).copied().collect();
        prop_assert_eq!(all.len(), found.surely.len() + found.perhaps.len());
        let mut wrong = None;
        part.each_world(&flat, &mut |world| {
            let deciding = world.deciding(&flat);
            let is_right = deciding.iter().all(|line| all.contains(line))
                && found.surely.iter().all(|line| deciding.contains(line));
            if !is_right {
                wrong = Some((deciding, world.clone()));
            }
        });
        prop_assert!(wrong.is_none(), "{:?} {:?}", found, wrong);

        let flat = closed(flat);
        let mut world = world;
        world.readings = flat.questions.iter().map(|question| question.taken.unwrap()).collect();
        let given = Given::of(&flat, &whole(&world).snapshot()).unwrap();
        let found = Interpreted.deciding(&flat, &given, &evaluate::interpret(&flat, &given));
        prop_assert_eq!((found.surely, found.perhaps), (world.deciding(&flat), Vec::new()));
    }
}

/// Tests of a fact that hold of some vehicle and not of another, and what must be known for one fact alone to tell.
fn asking(fact: Fact) -> (Vec<Test<usize>>, Snapshot) {
    let mut known = Snapshot::default();
    let mut tests: Vec<Test<usize>> = halves(fact).into_iter().flatten().collect();
    match spec(fact).kind {
        FactType::Monitors => {
            known.set_word(Fact::Monitor(Monitor::Catalyst), "complete");
            known.set_word(Fact::Monitor(Monitor::Evaporative), "incomplete");
            let states = Fact::Monitor(Monitor::Catalyst).word_bit("complete").unwrap();
            let quantifiers = [Quantifier::Any, Quantifier::Every, Quantifier::No];
            tests.extend(quantifiers.map(|quantifier| Test::Pair { quantifier, earlier: fact, states }));
        }
        FactType::Codes => {
            let hows = [How::Any, How::No, How::Only];
            tests.extend(hows.map(|how| Test::Codes { list: fact, how, among: Some(0) }));
            tests.extend([How::Any, How::No].map(|how| Test::CodesOfTable { list: fact, how, table: 0 }));
        }
        FactType::Number { .. } if fact == Fact::ModelYear => tests.push(Test::ModelYearIsEven(true)),
        FactType::Number { .. } if fact == Fact::EarlierIncompleteCount => {
            known.set_word(Fact::Monitor(Monitor::Catalyst), "incomplete");
            known.set_word(Fact::Monitor(Monitor::Evaporative), "complete");
            tests.push(Test::NotMoreIncompleteThanEarlier);
        }
        _ => {}
    }
    if spec(fact).may_be_absent {
        tests.extend([true, false].map(|is| Test::Present { fact, is }));
    }
    (tests, known)
}

/// A fact that can change the outcome is told as one to find out (design, section 6), whichever way it is asked for. Where
/// another fact keeps both outcomes possible, only a value that settles the outcome by itself shows that it matters.
#[test]
fn a_fact_that_can_change_the_outcome_is_told() {
    let mut tried = 0;
    let lamp = Condition::Test(Test::Word { fact: FactRef::Known(Fact::LampCommanded), words: 0b10 });
    let range = |first, last| CodeRange { first, last, digits_only: false };
    for fact in all_facts().filter(|fact| *fact != Fact::TestDate) {
        let (tests, known) = asking(fact);
        assert!(!tests.is_empty(), "{fact:?} is asked for by no test here");
        for condition in tests.into_iter().map(Condition::Test).flat_map(|it| [it.clone(), it.negated()]) {
            let row = FlatRow {
                condition: Condition::always(),
                excused: MonitorSet::EMPTY,
                codes: vec![range(0x0171, 0x0174)],
            };
            let group = CodeGroup { ranges: vec![range(0x0420, 0x0439)], unread: Vec::new() };
            let count = counting([Monitor::Catalyst, Monitor::Evaporative].into_iter().collect());
            let alone = Flat {
                groups: vec![("group".to_owned(), group)],
                tables: vec![FlatTable { id: "table".to_owned(), rows: vec![row] }],
                counts: vec![count],
                ..fails_where(condition.clone())
            };
            let mut beside = alone.clone();
            beside.lines.push(line("lamp", 3, lamp.clone()));
            for flat in [alone, beside].into_iter().take(if fact == Fact::LampCommanded { 1 } else { 2 }) {
                let given = Given::of(&flat, &known).unwrap();
                let told = Interpreted.unknown(&flat, &given, &evaluate::interpret(&flat, &given));
                assert!(told.contains(&FactRef::Known(fact)), "{condition:?}: {told:?}");
                let (exact, _) = Exact::of(&flat, &given).unwrap();
                assert!(exact.unknown.contains(&FactRef::Known(fact)), "{condition:?}: {exact:?}");
                tried += 1;
            }
        }
    }
    assert!(tried > 500, "{tried} tried");
}

/// A declared fact likewise; what is known already is never asked for again.
#[test]
fn a_declared_fact_that_can_change_the_outcome_is_told() {
    let tests = [
        Test::Word { fact: FactRef::Declared(0), words: 0b10 },
        Test::Word { fact: FactRef::Declared(1), words: 0b110 },
        Test::Number { fact: FactRef::Declared(2), least: Some(1440), most: Some(2 * 1440) },
    ];
    for (place, test) in tests.into_iter().enumerate() {
        for condition in [Condition::Test(test.clone()), Condition::Test(test).negated()] {
            let mut flat = programs::empty();
            flat.covers.push(based(Condition::always()));
            flat.lines.push(line("only", 3, condition));
            flat.lines.push(line(
                "lamp",
                3,
                Condition::Test(Test::Word { fact: FactRef::Known(Fact::LampCommanded), words: 0b10 }),
            ));
            let mut known = Snapshot::default();
            let told = |known: &Snapshot| {
                let given = Given::of(&flat, known).unwrap();
                Interpreted.unknown(&flat, &given, &evaluate::interpret(&flat, &given))
            };
            assert_eq!(told(&known), [FactRef::Known(Fact::LampCommanded), FactRef::Declared(place)]);
            known.set_word(Fact::LampCommanded, "no");
            assert_eq!(told(&known), [FactRef::Declared(place)]);
            known.set_word(Fact::LampCommanded, "yes");
            assert_eq!(told(&known), []);
        }
    }
}

/// Of two lines that are unmet, one surely and one perhaps, the sure one decides in every vehicle unless the other is graver; the
/// other may decide where it is no less grave.
#[test]
fn a_line_that_may_be_unmet_takes_nothing_from_one_that_surely_is() {
    for (sure, perhaps, expected) in
        [(3, 3, (vec![0], vec![1])), (2, 3, (vec![], vec![0, 1])), (3, 2, (vec![0], vec![]))]
    {
        let mut flat = programs::empty();
        flat.covers.push(based(Condition::always()));
        let lit = Test::Word { fact: FactRef::Known(Fact::LampCommanded), words: 0b10 };
        flat.lines = vec![line("sure", sure, Condition::always()), line("perhaps", perhaps, Condition::Test(lit))];
        let given = Given::of(&flat, &Snapshot::default()).unwrap();
        let found = Interpreted.deciding(&flat, &given, &evaluate::interpret(&flat, &given));
        assert_eq!((found.surely, found.perhaps), expected, "{sure} {perhaps}");
    }
}

/// Programs that ask for the gross weight between two bounds, each at another place, and that count one monitor.
fn asking_between_bounds() -> Vec<(&'static str, Flat)> {
    let weight = |least, most| Condition::Test(Test::Number { fact: FactRef::Known(Fact::GrossWeight), least, most });
    let pound = 45_359_237;
    let within = Condition::All(vec![weight(Some(8_001 * pound), None), weight(None, Some(9_000 * pound))]);
    let beyond = within.clone().negated();
    let monitors = MonitorSet::EMPTY.with(Monitor::Catalyst);
    let incomplete = Condition::Test(Test::Count { states: 0b100, least: Some(1), most: None });
    let of = |condition| Flat { counts: vec![counting(monitors)], ..fails_where(condition) };
    let but_not = |condition| of(Condition::All(vec![condition, incomplete.clone()]));
    let excused = |condition, which| Excuse { condition, which, basis: Vec::new(), origin: origin() };
    let row = |condition, count| FlatLimitRow {
        condition,
        limit: Allowance::AtMost { count, only: None },
        basis: Vec::new(),
        origin: origin(),
    };
    let named = Condition::Test(Test::Finding(0)).negated();
    let over = Condition::Test(Test::Limit { limit: 0, within: false });
    let rows = vec![row(within.clone(), 1), row(beyond.clone(), 0)];
    let of_table = FlatRow { condition: within.clone(), excused: monitors, codes: Vec::new() };
    vec![
        ("a line", but_not(beyond.clone())),
        ("a named condition", Flat { findings: vec![("heavy".to_owned(), within.clone())], ..but_not(named) }),
        ("a limit", Flat { limits: vec![Limit { id: "limit".to_owned(), rows }], ..of(over) }),
        (
            "the count",
            Flat { counts: vec![CountRule { condition: beyond, ..counting(monitors) }], ..of(incomplete.clone()) },
        ),
        (
            "an excuse",
            Flat { excuses: vec![excused(within, FlatExcused::Monitors(monitors))], ..of(incomplete.clone()) },
        ),
        (
            "a table",
            Flat {
                tables: vec![FlatTable { id: "table".to_owned(), rows: vec![of_table] }],
                excuses: vec![excused(Condition::always(), FlatExcused::Table(0))],
                ..of(incomplete)
            },
        ),
    ]
}

/// A fact that is asked between two bounds is told, wherever the program asks for it. Where the monitor is not known, both outcomes
/// stay possible beyond the bounds: no value but one between them shows that the fact matters.
#[test]
fn a_fact_that_is_asked_between_two_bounds_is_told() {
    for (place, flat) in asking_between_bounds() {
        let asked = facts_of(&flat, &flat.lines[0].unmet_where);
        assert!(asked.contains(&FactRef::Known(Fact::GrossWeight)), "asked by {place}");
        for state in [None, Some("incomplete")] {
            let mut known = Snapshot::default();
            if let Some(state) = state {
                known.set_word(Fact::Monitor(Monitor::Catalyst), state);
            }
            let given = Given::of(&flat, &known).unwrap();
            let told = Interpreted.unknown(&flat, &given, &evaluate::interpret(&flat, &given));
            let mut expected = vec![FactRef::Known(Fact::GrossWeight)];
            expected.extend(state.is_none().then_some(FactRef::Known(Fact::Monitor(Monitor::Catalyst))));
            let (told, expected): (BTreeSet<_>, BTreeSet<_>) =
                (told.into_iter().collect(), expected.into_iter().collect());
            assert_eq!(told, expected, "asked by {place}");
            let (exact, _) = Exact::of(&flat, &given).unwrap();
            assert_eq!(exact.unknown.into_iter().collect::<BTreeSet<_>>(), expected, "asked by {place}");
        }
    }
}
