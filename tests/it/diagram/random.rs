//! Random small programs and vehicles, and the possible verdicts found by trying every vehicle. Thresholds are drawn from
//! a few numbers, and every unknown fact is tried on both sides of each, in both units where there are two.

use super::build::{flat, line, set};
use super::oracle::Vehicle;
use crate::kernel::programs::declared;
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use wherefore::internals::model::{
    CodeGroup, CodeList, CodeRange, DeclaredValue, Fact, Monitor, Reading, Snapshot, TroubleCode, Unit, Value,
};
use wherefore::internals::program::block::{Allowance, DeclaredType, Presumed};
use wherefore::internals::program::flat::{
    Based, Becomes, CountRule, Excuse, FlatExcused, FlatLimitRow, FlatQuestion, FlatRow, FlatTable, LeftOut, Limit,
    Presumption,
};
use wherefore::internals::program::{Condition, FactRef, Flat, How, Quantifier, Test, Topic};

pub const MONITORS: [Monitor; 4] = [Monitor::Misfire, Monitor::Catalyst, Monitor::Evaporative, Monitor::NmhcCatalyst];

fn code(text: &str) -> TroubleCode {
    TroubleCode::parse(text).expect("a code")
}

fn codes(texts: &[&str]) -> Reading {
    let codes = texts.iter().map(|text| code(text)).collect();
    Reading::Known(Value::Codes(CodeList { codes, may_hold_more: false }))
}

fn words(count: u8) -> Vec<Reading> {
    (0..count).map(|place| Reading::Known(Value::Word(place))).collect()
}

fn numbers(numbers: &[i64]) -> Vec<Reading> {
    numbers.iter().map(|number| Reading::Known(Value::Number(*number))).collect()
}

/// The facts that vary, each with values on both sides of every threshold that a random program can draw.
pub fn pool() -> Vec<(Fact, Vec<Reading>)> {
    // Every set of the monitors that vary, and of one that never does: any of them can be in an earlier list.
    let names = [MONITORS.as_slice(), &[Monitor::SecondaryAir]].concat();
    let every: Vec<Vec<Monitor>> = (0..1usize << names.len())
        .map(|bits| names.iter().enumerate().filter(|(at, _)| bits >> at & 1 == 1).map(|(_, one)| *one).collect())
        .collect();
    let sets = || every.iter().map(|one| Reading::Known(Value::Monitors(set(one)))).collect();
    let lists: &[&[&str]] = &[
        &[],
        &["P0420"],
        &["P0430"],
        &["P0100"],
        &["P0420", "P0430"],
        &["P0420", "P0100"],
        &["P0430", "P0100"],
        &["P0420", "P0430", "P0100"],
    ];
    let lists = || lists.iter().map(|list| codes(list));
    let (lb, kg) = (Unit::Pound.scale(), Unit::Kilogram.scale());
    let text = |text: &str| Reading::Known(Value::Text(text.to_owned()));
    let mut pool = vec![
        (Fact::Fuel, words(9)),
        (Fact::Ignition, words(2)),
        (Fact::Visit, words(2)),
        (Fact::ModelYear, numbers(&[1998, 1999, 2000, 2001, 2002, 2003, 2004])),
        (Fact::GrossWeight, numbers(&[8499 * lb, 3855 * kg, 8500 * lb, 3856 * kg, 8501 * lb, 8502 * lb])),
        (Fact::LampCommanded, words(2)),
        (Fact::LampLitKeyOn, [words(2), vec![Reading::NotOnVehicle]].concat()),
        (Fact::WarmUps, [numbers(&[0, 1, 14, 15, 16, 255]), vec![Reading::NotOnVehicle]].concat()),
        (Fact::EarlierIncompleteVisits, numbers(&[0, 1, 2, 3])),
        (Fact::EarlierIncompleteCount, numbers(&[0, 1, 2, 3, 4, 5, 6])),
        (Fact::EarlierIncomplete, sets()),
        (Fact::EarlierLampMonitors, sets()),
        (Fact::StoredCodes, lists().collect()),
        (Fact::PermanentCodes, lists().chain([Reading::NotOnVehicle]).collect()),
        (Fact::Make, vec![text("example"), text("other"), text("third")]),
        (Fact::Model, vec![text("sedan"), text("wagon"), text("third")]),
    ];
    pool.extend(MONITORS.map(|monitor| (Fact::Monitor(monitor), words(3))));
    pool
}

fn leaf() -> impl Strategy<Value = Condition<usize>> {
    let states = prop::sample::select(vec![1u64, 2, 4, 3, 6]);
    let of_words = |fact: Fact| (1..=fact.all_words()).prop_map(move |words| (fact, words));
    let word_fact = prop_oneof![
        of_words(Fact::Fuel),
        of_words(Fact::Ignition),
        of_words(Fact::Visit),
        of_words(Fact::LampCommanded),
        of_words(Fact::LampLitKeyOn),
        of_words(Fact::Monitor(Monitor::Catalyst)),
        of_words(Fact::Monitor(Monitor::NmhcCatalyst)),
    ];
    let bound = |fact: Fact, numbers: Vec<i64>| {
        (prop::option::of(prop::sample::select(numbers.clone())), prop::option::of(prop::sample::select(numbers)))
            .prop_map(move |(least, most)| (fact, least, most))
    };
    let lb = Unit::Pound.scale();
    let number = prop_oneof![
        bound(Fact::ModelYear, vec![2000, 2001, 2002]),
        bound(Fact::GrossWeight, vec![8500 * lb, 8501 * lb]),
        bound(Fact::WarmUps, vec![1, 15]),
        bound(Fact::EarlierIncompleteVisits, vec![1, 2]),
    ];
    let how = || prop::sample::select(vec![How::Any, How::No, How::Only]);
    let list = || prop::sample::select(vec![Fact::StoredCodes, Fact::PermanentCodes]);
    let small = || prop::option::of(0i64..4);
    let earlier = prop::sample::select(vec![Fact::EarlierIncomplete, Fact::EarlierLampMonitors]);
    let quantifier = prop::sample::select(vec![Quantifier::Any, Quantifier::Every, Quantifier::No]);
    prop_oneof![
        3 => word_fact.prop_map(|(fact, words)| Test::Word { fact: FactRef::Known(fact), words }),
        2 => number.prop_map(|(fact, least, most)| Test::Number { fact: FactRef::Known(fact), least, most }),
        1 => any::<bool>().prop_map(Test::ModelYearIsEven),
        1 => (prop::sample::select(vec![Fact::LampLitKeyOn, Fact::WarmUps, Fact::PermanentCodes]), any::<bool>())
            .prop_map(|(fact, is)| Test::Present { fact, is }),
        2 => (list(), how(), prop::option::of(0usize..2))
            .prop_map(|(list, how, among)| Test::Codes { list, how, among }),
        1 => (list(), how()).prop_map(|(list, how)| Test::CodesOfTable { list, how, table: 0 }),
        2 => (states.clone(), small(), small())
            .prop_map(|(states, least, most)| Test::Count { states, least, most }),
        1 => (states.clone(), small(), small()).prop_map(|(states, least, most)| Test::CountOf {
            monitors: set(&[Monitor::Misfire, Monitor::Catalyst, Monitor::Evaporative]), states, least, most
        }),
        2 => (quantifier, earlier, states)
            .prop_map(|(quantifier, earlier, states)| Test::Pair { quantifier, earlier, states }),
        1 => Just(Test::NotMoreIncompleteThanEarlier),
        2 => any::<bool>().prop_map(|within| Test::Limit { limit: 0, within }),
        1 => Just(Test::Finding(0)),
        1 => Just(Test::Listed(0)),
        1 => any::<bool>().prop_map(|is| Test::Text { fact: Fact::Make, among: vec!["example".to_owned()], is }),
        1 => (0usize..2).prop_map(|reading| Test::Reading { question: 0, reading }),
        1 => (1u64..4).prop_map(|words| Test::Word { fact: FactRef::Declared(0), words }),
    ]
    .prop_map(Condition::Test)
}

/// Conditions without the named one, so that the named one may be any of them.
fn condition() -> impl Strategy<Value = Condition<usize>> {
    leaf().prop_recursive(2, 6, 3, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 1..4).prop_map(Condition::All),
            prop::collection::vec(inner.clone(), 1..4).prop_map(Condition::Any),
            inner.prop_map(|inner| Condition::Not(Box::new(inner))),
        ]
    })
}

fn plain() -> impl Strategy<Value = Condition<usize>> {
    condition().prop_filter("names nothing", |condition| {
        let mut plain = true;
        condition.each_test(&mut |test| {
            plain &= !matches!(
                test,
                Test::Finding(_)
                    | Test::Limit { .. }
                    | Test::Count { .. }
                    | Test::NotMoreIncompleteThanEarlier
                    | Test::Listed(_)
                    | Test::CodesOfTable { .. }
            );
        });
        plain
    })
}

fn parts(flat: &mut Flat) {
    flat.groups = vec![
        (
            "catalyst".to_owned(),
            CodeGroup {
                ranges: vec![CodeRange { first: 0x0420, last: 0x0429, digits_only: true }],
                unread: Vec::new(),
            },
        ),
        (
            "unread".to_owned(),
            CodeGroup {
                ranges: vec![CodeRange { first: 0x0430, last: 0x0430, digits_only: false }],
                unread: vec![CodeRange { first: 0x0400, last: 0x04FF, digits_only: false }],
            },
        ),
    ];
    let texts = |make: &str, model: Option<&str>| {
        let test = |fact, text: &str| Condition::Test(Test::Text { fact, among: vec![text.to_owned()], is: true });
        let model = model.map(|model| test(Fact::Model, model));
        Condition::All(std::iter::once(test(Fact::Make, make)).chain(model).collect())
    };
    let p0420 = CodeRange { first: 0x0420, last: 0x0420, digits_only: false };
    flat.tables = vec![FlatTable {
        id: "special".to_owned(),
        rows: vec![
            FlatRow {
                condition: texts("example", Some("sedan")).and(super::build::number(Fact::ModelYear, None, Some(2000))),
                excused: set(&[Monitor::Catalyst]),
                codes: vec![p0420],
            },
            FlatRow { condition: texts("other", None), excused: set(&[Monitor::Evaporative]), codes: Vec::new() },
        ],
    }];
    flat.questions = vec![FlatQuestion {
        id: "doubt".to_owned(),
        text: "Which?".to_owned(),
        readings: vec!["one".to_owned(), "two".to_owned()],
        taken: None,
    }];
    flat.facts = vec![declared("special-use", DeclaredType::YesNo)];
}

/// Where alone something is presumed: mostly everywhere. No two tests ask one fact, or facts that tell of each other, so
/// that what each test tells by itself is all that can be told.
fn presumed_where() -> impl Strategy<Value = Condition<usize>> {
    let word = |fact: Fact, word: &str| {
        let words = fact.word_bit(word).expect("a word");
        Condition::Test(Test::Word { fact: FactRef::Known(fact), words })
    };
    let year = Condition::Test(Test::Number { fact: FactRef::Known(Fact::ModelYear), least: Some(2000), most: None });
    let own = Condition::Test(Test::Word { fact: FactRef::Declared(0), words: 0b10 });
    let tests = [word(Fact::Visit, "retest"), word(Fact::Fuel, "gasoline"), year, own];
    let drawn = prop::collection::vec((any::<bool>(), any::<bool>()), tests.len());
    let joined = (drawn, any::<bool>()).prop_map(move |(drawn, every)| {
        let tests = tests.iter().zip(drawn).filter(|(_, (drawn, _))| *drawn);
        let parts: Vec<_> =
            tests.map(|(test, (_, is))| if is { test.clone() } else { test.clone().negated() }).collect();
        if every { Condition::All(parts) } else { Condition::Any(parts) }
    });
    prop_oneof![2 => Just(Condition::always()), 1 => joined]
}

/// Whether a condition of a presumption tests a fact.
fn tests(condition: &Condition<usize>, presumed: &FactRef<usize>) -> bool {
    let mut found = false;
    condition.each_test(&mut |test| {
        if let Test::Word { fact, .. } | Test::Number { fact, .. } = test {
            found |= fact == presumed;
        }
    });
    found
}

/// Presumptions of every kind, each drawn or not.
fn presumptions() -> impl Strategy<Value = Vec<Presumption>> {
    let of = |fact: Fact, value| (FactRef::Known(fact), value);
    let kinds = [
        of(Fact::Fuel, Presumed::Word(Fact::Fuel.word_bit("gasoline").expect("a fuel"))),
        of(Fact::Visit, Presumed::Word(Fact::Visit.word_bit("initial").expect("a kind of visit"))),
        of(Fact::ModelYear, Presumed::Number(2001)),
        of(Fact::GrossWeight, Presumed::Number(8500 * Unit::Pound.scale())),
        of(Fact::Make, Presumed::Text("example".to_owned())),
        (FactRef::Declared(0), Presumed::Word(0b10)),
        of(Fact::Make, Presumed::NotListed("special".to_owned())),
    ];
    let drawn = prop::collection::vec((prop::bool::weighted(0.3), presumed_where()), kinds.len());
    (any::<bool>(), drawn).prop_map(move |(some, drawn)| {
        let kinds = kinds.iter().zip(drawn).filter(|(_, (drawn, _))| some && *drawn);
        kinds
            .map(|((fact, value), (_, condition))| Presumption {
                fact: fact.clone(),
                value: value.clone(),
                shown: String::new(),
                // `check` refuses a condition on the fact that is presumed.
                condition: if tests(&condition, fact) { Condition::always() } else { condition },
                basis: Vec::new(),
            })
            .collect()
    })
}

/// The program and what is known with presumptions worked out the plain way: a value put where nothing is known and
/// some vehicle has it; rows of tables that are not every vehicle's made nobody's. `None` where there are too many.
pub fn presumed(flat: &Flat, known: &Snapshot, most: usize) -> Option<(Flat, Snapshot)> {
    let (mut bare, mut more) = (flat.clone(), known.clone());
    let presumptions = std::mem::take(&mut bare.presumptions);
    let reported = match presumptions.iter().all(|presumption| presumption.condition.is_always()) {
        true => Vec::new(),
        false => vehicles(&bare, known, most)?,
    };
    // The condition holds of every vehicle that agrees with what is reported.
    let holds = |condition: &Condition<usize>| reported.iter().all(|vehicle| vehicle.holds(flat, condition));
    for presumption in presumptions.into_iter().filter(|presumption| holds(&presumption.condition)) {
        let mut with = more.clone();
        let value = match presumption.value {
            Presumed::Word(bit) => Value::Word(u8::try_from(bit.trailing_zeros()).expect("a word")),
            Presumed::Number(number) => Value::Number(number),
            Presumed::Text(text) => Value::Text(text),
            Presumed::NotListed(_) => continue,
        };
        match presumption.fact {
            FactRef::Known(fact) if known.get(fact).is_none() => with.set(fact, value),
            FactRef::Declared(_) if !known.declared.contains_key("special-use") => {
                drop(with.declared.insert("special-use".to_owned(), DeclaredValue::YesNo(true)));
            }
            _ => continue,
        }
        if !vehicles(&bare, &with, most)?.is_empty() {
            more = with;
        }
    }
    // Nobody reads an engine in these tests, so a presumption that the vehicle is not listed always applies.
    let unlisted = |one: &Presumption| matches!(one.value, Presumed::NotListed(_)) && holds(&one.condition);
    if flat.presumptions.iter().any(unlisted) {
        let vehicles = vehicles(&bare, &more, most)?;
        let surely = |row: &FlatRow| vehicles.iter().all(|vehicle| vehicle.holds(flat, &row.condition));
        for row in &mut bare.tables[0].rows {
            if !surely(row) {
                row.condition = Condition::Any(Vec::new());
            }
        }
    }
    Some((bare, more))
}

/// A random small program: lines that may give way to later ones, a limit with an unread row, left-out rows, a table.
pub fn program() -> impl Strategy<Value = Flat> {
    let counts = prop::collection::vec((plain(), any::<u8>(), any::<bool>()), 1..3);
    let lines = prop::collection::vec((condition(), condition(), 0usize..4, any::<u8>(), plain()), 1..5);
    let rows = (plain(), 0i64..3, any::<bool>(), any::<bool>());
    let excuses = prop::option::of((plain(), 0usize..3));
    let sent = prop::option::of((plain(), prop::option::of(1usize..3)));
    let becomes = prop::option::of((0usize..4, 0usize..4, plain()));
    (counts, lines, rows, excuses, sent, becomes, plain(), prop::option::of(0usize..2), presumptions()).prop_map(
        |(counts, lines, rows, excuses, sent, becomes, finding, taken, presumptions)| {
            let mut flat = flat();
            flat.presumptions = presumptions;
            parts(&mut flat);
            flat.outcomes.insert(1, super::build::outcome("tailpipe", wherefore::internals::program::Class::OtherTest));
            flat.questions[0].taken = taken;
            flat.findings = vec![("named".to_owned(), finding)];
            let pool = [
                Monitor::Misfire,
                Monitor::Catalyst,
                Monitor::Evaporative,
                Monitor::NmhcCatalyst,
                Monitor::SecondaryAir,
            ];
            flat.counts = counts
                .into_iter()
                .map(|(condition, bits, strict)| CountRule {
                    condition,
                    monitors: pool.iter().enumerate().filter(|(at, _)| bits >> at & 1 == 1).map(|(_, m)| *m).collect(),
                    unsupported_as_incomplete: strict,
                    basis: Vec::new(),
                })
                .collect();
            flat.excuses = excuses
                .into_iter()
                .map(|(condition, which)| Excuse {
                    condition,
                    which: [
                        FlatExcused::Monitors(set(&[Monitor::Catalyst])),
                        FlatExcused::EarlierIncomplete,
                        FlatExcused::Table(0),
                    ][which],
                    basis: Vec::new(),
                    origin: super::build::origin(),
                })
                .collect();
            let row = |condition: Condition<usize>, limit| FlatLimitRow {
                condition,
                limit,
                basis: Vec::new(),
                origin: super::build::origin(),
            };
            let (condition, most, only, floor) = rows;
            let allowance = if floor {
                Allowance::AtLeastComplete(most)
            } else {
                Allowance::AtMost { count: most, only: only.then(|| set(&[Monitor::Evaporative])) }
            };
            flat.limits = vec![Limit {
                id: "standard".to_owned(),
                rows: vec![row(condition.clone(), allowance), row(condition.negated(), Allowance::NotRead)],
            }];
            flat.left_out = sent
                .into_iter()
                .map(|(condition, outcome)| LeftOut {
                    condition,
                    outcome,
                    why: String::new(),
                    basis: Vec::new(),
                    origin: super::build::origin(),
                })
                .collect();
            flat.becomes = becomes
                .into_iter()
                .map(|(from, to, condition)| Becomes { from, to, condition, basis: Vec::new() })
                .collect();
            let count = lines.len();
            flat.lines = lines
                .into_iter()
                .enumerate()
                .map(|(place, (concerns, unmet, outcome, gives_way, reading))| {
                    let mut line = line(&format!("c{place}"), Topic::Other, outcome, unmet);
                    line.concerns = concerns;
                    let later = (place + 1..count).filter(|other| gives_way >> other & 1 == 1);
                    line.gives_way = later.map(|other| (other, reading.clone())).collect();
                    line
                })
                .collect();
            flat.covers = vec![Based { item: Condition::always(), basis: Vec::new(), origin: super::build::origin() }];
            flat
        },
    )
}

/// Facts that some test which can bear on a verdict asks.
pub fn asked(flat: &Flat) -> BTreeSet<FactRef<usize>> {
    let lines = flat.lines.iter().flat_map(|line| [&line.concerns, &line.unmet_where]);
    let rest = flat.left_out.iter().map(|row| &row.condition).chain(flat.becomes.iter().map(|one| &one.condition));
    lines.chain(rest).flat_map(|condition| wherefore::internals::program::given::facts_of(flat, condition)).collect()
}

/// Which value each fact of the pool has, and whether it is known.
pub fn knowledge() -> impl Strategy<Value = Vec<(prop::sample::Index, bool)>> {
    let one = (any::<prop::sample::Index>(), prop::bool::weighted(0.75));
    prop::collection::vec(one, pool().len() + 1)
}

/// What is known of the vehicle.
pub fn known(knowledge: &[(prop::sample::Index, bool)]) -> Snapshot {
    let mut known = Snapshot::default();
    for monitor in Monitor::all().filter(|monitor| !MONITORS.contains(monitor)) {
        known.set_word(Fact::Monitor(monitor), "unsupported");
    }
    known.set_word(Fact::Protocol, "classic");
    known.set_word(Fact::Hybrid, "no");
    known.set(Fact::EarlierFailureCodes, Value::Codes(CodeList::default()));
    for ((fact, values), (index, is_known)) in pool().into_iter().zip(knowledge) {
        if *is_known {
            known.readings.insert(fact, values[index.index(values.len())].clone());
        }
    }
    if knowledge.last().is_some_and(|(_, known)| *known) {
        known.declared.insert("special-use".to_owned(), DeclaredValue::YesNo(true));
    }
    known
}

/// Every complete vehicle that agrees with what is known; `None` where there are more than `most`.
pub fn vehicles(flat: &Flat, known: &Snapshot, most: usize) -> Option<Vec<Vehicle>> {
    let open: Vec<_> = pool().into_iter().filter(|(fact, _)| known.get(*fact).is_none()).collect();
    let product: usize = open.iter().map(|(_, values)| values.len()).product();
    let declared_known = known.declared.contains_key("special-use");
    let unread = if flat.questions[0].taken.is_none() { 2 } else { 1 } * 7 * 2 * if declared_known { 1 } else { 2 };
    if product.saturating_mul(unread) > most {
        return None;
    }
    let mut list = vec![Vehicle { facts: known.clone(), ..Vehicle::default() }];
    let spread = |list: Vec<Vehicle>, put: &dyn Fn(&mut Vehicle, usize), count: usize| -> Vec<Vehicle> {
        list.iter()
            .flat_map(|vehicle| {
                (0..count).map(move |place| {
                    let mut vehicle = vehicle.clone();
                    put(&mut vehicle, place);
                    vehicle
                })
            })
            .collect()
    };
    for (fact, values) in &open {
        list = spread(list, &|v, place| drop(v.facts.readings.insert(*fact, values[place].clone())), values.len());
    }
    list.retain(Vehicle::can_exist);
    list = spread(list, &|v, place| v.readings = BTreeMap::from([("doubt".to_owned(), place)]), 2);
    list = spread(list, &|v, place| v.limits = BTreeMap::from([((0, 1), place as i64)]), 7);
    list = spread(list, &|v, place| v.groups = BTreeMap::from([(1, place == 1)]), 2);
    if !declared_known {
        list = spread(
            list,
            &|v, place| drop(v.facts.declared.insert("special-use".to_owned(), DeclaredValue::YesNo(place == 1))),
            2,
        );
    }
    Some(list)
}
