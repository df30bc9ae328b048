//! Random flat programs over the vocabulary of the random tests.

use super::vehicles::{DECLARED, FACTS, KILOMETRES, MILES, MONITORS, SURE, UNREAD, WARM_UPS, YEARS, set};
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use proptest::sample::{select, subsequence};
use wherefore::internals::model::{CodeGroup, CodeRange, Date, Fact, Monitor, MonitorSet, Observer, Unit, spec};
use wherefore::internals::program::block::{Allowance, DeclaredFact, DeclaredType, Origin};
use wherefore::internals::program::flat::{
    Based, Becomes, CountRule, Excuse, FlatExcused, FlatLimitRow, FlatQuestion, FlatRow, FlatTable, LeftOut, Limit,
    Line,
};
use wherefore::internals::program::{Class, Condition, FactRef, Flat, How, InForce, Outcome, Quantifier, Test, Topic};
use wherefore::internals::source::Span;

type Cond = Condition<usize>;

/// How many named conditions, questions, limits, groups and tables a random program has.
pub const QUESTIONS: usize = 2;
const FINDINGS: usize = 2;
const LIMITS: usize = 2;
const GROUPS: usize = 2;

pub fn origin() -> Origin {
    Origin { program: "random".to_owned(), span: Span::default() }
}

/// A fact that a program declares, told by papers.
pub fn declared(name: &str, kind: DeclaredType) -> DeclaredFact {
    DeclaredFact {
        name: name.to_owned(),
        kind,
        question: String::new(),
        observer: Observer::Papers,
        is_result: false,
        origin: origin(),
    }
}

/// Whether the declared fact of this place, one of yes or no, is so.
pub fn is(place: usize) -> Cond {
    Condition::Test(Test::Word { fact: FactRef::Declared(place), words: 0b10 })
}

/// A program with nothing in it but a ladder and the declared facts.
pub fn empty() -> Flat {
    let outcome = |name: &str, class| Outcome { name: name.to_owned(), class, label: None };
    let kinds = [
        DeclaredType::YesNo,
        DeclaredType::Words(["sound", "leaking", "missing"].map(str::to_owned).to_vec()),
        DeclaredType::Number { unit: Unit::Day, least: 0, most: 3 },
    ];
    let facts = DECLARED.iter().zip(kinds).map(|(name, kind)| declared(name, kind));
    Flat {
        outcomes: vec![
            outcome("pass", Class::Pass),
            outcome("tailpipe", Class::OtherTest),
            outcome("reject", Class::Reject),
            outcome("fail", Class::Fail),
        ],
        facts: facts.collect(),
        ..Flat::bare("random", "Random program", Date::constant(2026, 11, 25))
    }
}

/// A line that concerns every vehicle.
pub fn line(clause: &str, outcome: usize, unmet_where: Cond) -> Line {
    Line {
        clause: clause.to_owned(),
        topic: Topic::Other,
        concerns: Condition::always(),
        unmet_where,
        requires: false,
        outcome,
        message: clause.to_owned(),
        gives_way: Vec::new(),
        basis: Vec::new(),
        origin: origin(),
    }
}

pub fn based<T>(item: T) -> Based<T> {
    Based { item, basis: Vec::new(), origin: origin() }
}

fn monitors() -> impl Strategy<Value = MonitorSet> {
    subsequence(MONITORS.to_vec(), 0..=MONITORS.len()).prop_map(|list| set(&list))
}

fn bounds(values: Vec<i64>) -> impl Strategy<Value = (Option<i64>, Option<i64>)> {
    let one = select(values);
    prop_oneof![
        one.clone().prop_map(|at| (Some(at), None)),
        one.clone().prop_map(|at| (None, Some(at))),
        (one.clone(), one).prop_map(|(a, b)| (Some(a.min(b)), Some(a.max(b)))),
    ]
}

/// Tests of numbers at the thresholds, `above` and `below` (one base unit off) included.
fn numbers() -> BoxedStrategy<Test<usize>> {
    let test = |fact: Fact, values: Vec<i64>| {
        bounds(values).prop_map(move |(least, most)| Test::Number { fact: FactRef::Known(fact), least, most })
    };
    let km = KILOMETRES.map(|km| Unit::Kilometre.to_base(km).unwrap());
    let miles = MILES.map(|miles| Unit::Mile.to_base(miles).unwrap());
    let distances = km.into_iter().chain(miles).flat_map(|at| [at - 1, at, at + 1]).collect();
    let days = (0..=3).map(|days| Unit::Day.to_base(days).unwrap()).collect();
    prop_oneof![
        test(Fact::ModelYear, YEARS.to_vec()),
        test(Fact::WarmUps, WARM_UPS.to_vec()),
        test(Fact::DistanceSinceClear, distances),
        test(Fact::EarlierIncompleteVisits, vec![0, 1]),
        test(Fact::FirstRegistered, vec![13_514]),
        bounds(days).prop_map(|(least, most)| Test::Number { fact: FactRef::Declared(2), least, most }),
    ]
    .boxed()
}

fn words() -> BoxedStrategy<Test<usize>> {
    let known: Vec<Fact> =
        FACTS.into_iter().filter(|fact| !fact.words().is_empty()).chain(MONITORS.map(Fact::Monitor)).collect();
    prop_oneof![
        4 => (select(known), any::<u64>())
            .prop_map(|(fact, bits)| Test::Word { fact: FactRef::Known(fact), words: bits & fact.all_words() }),
        1 => (0u64..4).prop_map(|words| Test::Word { fact: FactRef::Declared(0), words }),
        1 => (0u64..8).prop_map(|words| Test::Word { fact: FactRef::Declared(1), words }),
    ]
    .boxed()
}

/// Tests that need no other part of the program.
fn plain() -> BoxedStrategy<Test<usize>> {
    let absent: Vec<Fact> = FACTS.into_iter().filter(|fact| spec(*fact).may_be_absent).collect();
    let makes = subsequence(vec!["subaru".to_owned(), "example".to_owned()], 0..=2);
    prop_oneof![
        3 => words(),
        3 => numbers(),
        1 => (makes, any::<bool>()).prop_map(|(among, is)| Test::Text { fact: Fact::Make, among, is }),
        1 => any::<bool>().prop_map(Test::ModelYearIsEven),
        1 => (select(absent), any::<bool>()).prop_map(|(fact, is)| Test::Present { fact, is }),
        1 => (monitors(), 0u64..8, bounds(vec![0, 1, 2]))
            .prop_map(|(monitors, states, (least, most))| Test::CountOf { monitors, states, least, most }),
        1 => (
            select(vec![Quantifier::Any, Quantifier::Every, Quantifier::No]),
            select(vec![Fact::EarlierIncomplete, Fact::EarlierLampMonitors]),
            0u64..8
        )
            .prop_map(|(quantifier, earlier, states)| Test::Pair { quantifier, earlier, states }),
        1 => (0..QUESTIONS, 0usize..2).prop_map(|(question, reading)| Test::Reading { question, reading }),
    ]
    .boxed()
}

/// All tests; places of named conditions are brought into range afterwards.
pub fn tests() -> BoxedStrategy<Test<usize>> {
    let lists = || select(vec![Fact::StoredCodes, Fact::PermanentCodes]);
    prop_oneof![
        4 => plain(),
        2 => (lists(), select(vec![How::Any, How::No, How::Only]), option::of(0..GROUPS))
            .prop_map(|(list, how, among)| Test::Codes { list, how, among }),
        1 => (lists(), select(vec![How::Any, How::No]))
            .prop_map(|(list, how)| Test::CodesOfTable { list, how, table: 0 }),
        3 => (select(vec![2, 4, 4, 4, 5, 6, 7]), bounds(vec![0, 1, 2, 3]))
            .prop_map(|(states, (least, most))| Test::Count { states, least, most }),
        1 => Just(Test::NotMoreIncompleteThanEarlier),
        4 => (0..LIMITS, any::<bool>()).prop_map(|(limit, within)| Test::Limit { limit, within }),
        1 => Just(Test::Listed(0)),
        2 => (0..FINDINGS).prop_map(Test::Finding),
    ]
    .boxed()
}

fn condition(tests: BoxedStrategy<Test<usize>>) -> BoxedStrategy<Cond> {
    let leaf = prop_oneof![9 => tests.prop_map(Condition::Test), 1 => Just(Condition::always())];
    leaf.prop_recursive(2, 8, 3, |inner| {
        prop_oneof![
            vec(inner.clone(), 1..3).prop_map(Condition::All),
            vec(inner.clone(), 1..3).prop_map(Condition::Any),
            inner.prop_map(|inner| Condition::Not(Box::new(inner))),
        ]
    })
    .boxed()
}

fn mostly_always() -> BoxedStrategy<Cond> {
    prop_oneof![2 => Just(Condition::always()), 1 => condition(plain())].boxed()
}

fn allowances() -> BoxedStrategy<Allowance> {
    prop_oneof![
        4 => (0i64..4, option::weighted(0.3, monitors()))
            .prop_map(|(count, only)| Allowance::AtMost { count, only }),
        1 => (1i64..4).prop_map(Allowance::AtLeastComplete),
        1 => Just(Allowance::NotRead),
    ]
    .boxed()
}

/// A limit; a program calls each by a name of its own.
fn limit() -> impl Strategy<Value = Limit> {
    vec((mostly_always(), allowances()), 1..3).prop_map(|rows| Limit {
        id: String::new(),
        rows: rows
            .into_iter()
            .map(|(condition, limit)| FlatLimitRow { condition, limit, basis: Vec::new(), origin: origin() })
            .collect(),
    })
}

/// Counts some monitors of every vehicle.
pub fn counting(monitors: MonitorSet) -> CountRule {
    CountRule { condition: Condition::always(), monitors, unsupported_as_incomplete: false, basis: Vec::new() }
}

fn counts() -> impl Strategy<Value = Vec<CountRule>> {
    vec((mostly_always(), monitors(), any::<bool>()), 0..3).prop_map(|rules| {
        let all = counting(set(&[Monitor::Catalyst, Monitor::Evaporative]));
        let more = rules.into_iter().map(|(condition, monitors, flag)| CountRule {
            condition,
            monitors,
            unsupported_as_incomplete: flag,
            basis: Vec::new(),
        });
        std::iter::once(all).chain(more).collect()
    })
}

fn excuses() -> impl Strategy<Value = Vec<Excuse>> {
    let which = prop_oneof![
        monitors().prop_map(FlatExcused::Monitors),
        Just(FlatExcused::EarlierIncomplete),
        Just(FlatExcused::Table(0)),
    ];
    vec((mostly_always(), which), 0..=2).prop_map(|list| {
        list.into_iter()
            .map(|(condition, which)| Excuse { condition, which, basis: Vec::new(), origin: origin() })
            .collect()
    })
}

fn groups() -> Vec<(String, CodeGroup)> {
    let range = |first, last| CodeRange { first, last, digits_only: false };
    let sure = CodeGroup { ranges: vec![range(0x0420, 0x0439)], unread: Vec::new() };
    let part = CodeGroup { ranges: vec![range(SURE, SURE)], unread: vec![range(0x0441, UNREAD)] };
    vec![("sure".to_owned(), sure), ("part".to_owned(), part)]
}

fn table() -> impl Strategy<Value = FlatTable> {
    let row = (condition(plain()), monitors(), any::<bool>());
    vec(row, 0..3).prop_map(|rows| FlatTable {
        id: "table".to_owned(),
        rows: rows
            .into_iter()
            .map(|(condition, excused, listed)| FlatRow {
                condition,
                excused,
                codes: if listed {
                    vec![CodeRange { first: SURE, last: SURE, digits_only: false }]
                } else {
                    Vec::new()
                },
            })
            .collect(),
    })
}

type RawLine = (Cond, Cond, usize, Vec<(usize, Cond)>);

fn lines() -> impl Strategy<Value = Vec<RawLine>> {
    let unmet_where = prop_oneof![tests().prop_map(Condition::Test), condition(tests())];
    let line = (mostly_always(), unmet_where, 0usize..4, vec((0usize..6, mostly_always()), 0..2));
    vec(line, 1..6)
}

/// A line gives way to earlier ones; where question 0 is read the second way, to later ones: a circle that readings
/// part (design, section 4, the question *lamp-and-incomplete*).
fn ways(place: usize, all: usize, raw: Vec<(usize, Cond)>) -> Vec<(usize, Cond)> {
    let read = |reading| Condition::Test(Test::Reading { question: 0, reading });
    raw.into_iter()
        .filter(|(to, _)| *to < all && *to != place)
        .map(|(to, under)| (to, read(usize::from(to > place)).and(under)))
        .collect()
}

fn refit(condition: Cond, findings: usize) -> Cond {
    match condition {
        Condition::All(parts) => Condition::All(parts.into_iter().map(|part| refit(part, findings)).collect()),
        Condition::Any(parts) => Condition::Any(parts.into_iter().map(|part| refit(part, findings)).collect()),
        Condition::Not(inner) => Condition::Not(Box::new(refit(*inner, findings))),
        Condition::Test(Test::Finding(place)) if place >= findings => Condition::always(),
        test @ Condition::Test(_) => test,
    }
}

/// A random program. Findings refer to earlier ones only; counts, excuses, limits and tables to none.
pub fn program() -> impl Strategy<Value = Flat> {
    let frame = (
        vec(option::weighted(0.7, 0usize..2), QUESTIONS),
        vec(condition(tests()), FINDINGS),
        table(),
        counts(),
        excuses(),
        vec(limit(), LIMITS),
    );
    let becomes = vec((0usize..4, 0usize..4, condition(plain())), 0..2);
    let left_out = vec((condition(plain()), option::of(0usize..4)), 0..2);
    (frame, vec(mostly_always(), 1..3), left_out, lines(), becomes, prop::bool::weighted(0.97)).prop_map(
        |((taken, findings, table, counts, excuses, limits), covers, left_out, lines, becomes, in_force)| {
            let mut flat = Flat {
                groups: groups(),
                tables: vec![table],
                counts,
                excuses,
                limits: limits
                    .into_iter()
                    .enumerate()
                    .map(|(at, limit)| Limit { id: format!("limit-{at}"), ..limit })
                    .collect(),
                in_force: if in_force { InForce::Yes } else { InForce::NotSaid },
                ..empty()
            };
            flat.questions = taken
                .into_iter()
                .enumerate()
                .map(|(at, taken)| FlatQuestion {
                    id: format!("question-{at}"),
                    text: String::new(),
                    readings: vec!["first".to_owned(), "second".to_owned()],
                    taken,
                })
                .collect();
            flat.findings =
                findings.into_iter().enumerate().map(|(at, one)| (format!("finding-{at}"), refit(one, at))).collect();
            flat.covers = covers.into_iter().map(based).collect();
            flat.left_out = left_out
                .into_iter()
                .map(|(condition, outcome)| LeftOut {
                    condition,
                    outcome,
                    why: String::new(),
                    basis: Vec::new(),
                    origin: origin(),
                })
                .collect();
            let all = lines.len();
            flat.lines = lines
                .into_iter()
                .enumerate()
                .map(|(at, (concerns, unmet_where, outcome, raw))| {
                    let mut one = line(&format!("line-{at}"), outcome, unmet_where);
                    one.concerns = concerns;
                    one.gives_way = ways(at, all, raw);
                    one
                })
                .collect();
            flat.becomes = becomes
                .into_iter()
                .map(|(from, to, condition)| Becomes { from, to, condition, basis: Vec::new() })
                .collect();
            flat
        },
    )
}
