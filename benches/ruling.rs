//! How long one ruling takes: without a record, with the full record, and from the snapshot to the whole ruling. A
//! benchmark of our own few lines: it needs medians, and nothing else.
#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark prints, and stops at the first wrong thing")]
#![allow(missing_docs, reason = "a benchmark has no readers of its documentation")]

use std::hint::black_box;
use std::time::Instant;
use wherefore::internals::evaluate;
use wherefore::internals::model::{CodeList, Date, Fact, Monitor, MonitorSet, Snapshot, Value};
use wherefore::internals::program::block::{Allowance, Origin, Program, Standing};
use wherefore::internals::program::flat::{Based, CountRule, FlatLimitRow, LeftOut, Limit, Line};
use wherefore::internals::program::{Class, Condition, FactRef, Flat, Given, How, Outcome, Test, Topic};
use wherefore::internals::ruling;
use wherefore::internals::source::Span;

/// Median of 51 runs of so many calls, in nanoseconds a call.
fn measure<T>(name: &str, calls: u32, mut call: impl FnMut() -> T) {
    let mut runs: Vec<u128> = (0..51)
        .map(|_| {
            let start = Instant::now();
            (0..calls).for_each(|_| drop(black_box(call())));
            start.elapsed().as_nanos() / u128::from(calls)
        })
        .collect();
    runs.sort_unstable();
    println!("{name:<44} {:>9} ns", runs.get(25).copied().unwrap_or_default());
}

fn origin() -> Origin {
    Origin { program: "bench".to_owned(), span: Span::default() }
}

fn word(fact: Fact, words: &[&str]) -> Condition<usize> {
    let words = words.iter().map(|word| fact.word_bit(word).unwrap()).sum();
    Condition::Test(Test::Word { fact: FactRef::Known(fact), words })
}

fn number(fact: Fact, least: Option<i64>, most: Option<i64>) -> Condition<usize> {
    Condition::Test(Test::Number { fact: FactRef::Known(fact), least, most })
}

fn codes(list: Fact) -> Condition<usize> {
    Condition::Test(Test::Codes { list, how: How::Any, among: None })
}

fn line(clause: &str, outcome: usize, unmet_where: Condition<usize>) -> Line {
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

/// A program of the size of a state's: 14 lines, two limits of three rows, three vehicles left out, one *gives way*.
fn program() -> Flat {
    let outcome = |name: &str, class| Outcome { name: name.to_owned(), class, label: None };
    let over = Condition::Test(Test::Limit { limit: 0, within: false });
    let year = |least, most| number(Fact::ModelYear, least, most);
    let row = |condition, count| FlatLimitRow {
        condition,
        limit: Allowance::AtMost { count, only: None },
        basis: Vec::new(),
        origin: origin(),
    };
    let left_out = |condition| LeftOut {
        condition,
        outcome: None,
        why: "left out".to_owned(),
        basis: Vec::new(),
        origin: origin(),
    };
    let mut first = line("first-visit", 1, over.clone().and(number(Fact::EarlierIncompleteVisits, None, Some(0))));
    first.gives_way = vec![(4, Condition::always())];
    let lines = vec![
        line("connector", 2, word(Fact::Connector, &["missing", "tampered", "inoperable"])),
        line("communication", 1, word(Fact::Communication, &["none"])),
        line("bulb", 2, word(Fact::LampLitKeyOn, &["no"])),
        first,
        line("lamp", 2, word(Fact::LampCommanded, &["yes"])),
        line("lamp-running", 2, word(Fact::LampLitRunning, &["yes"])),
        line("later-visit", 2, over.clone().and(number(Fact::EarlierIncompleteVisits, Some(1), None))),
        line("retest", 2, over.and(word(Fact::Visit, &["retest"]))),
        line("permanent", 2, codes(Fact::PermanentCodes).and(number(Fact::WarmUps, None, Some(14)))),
        line(
            "permanent-km",
            2,
            codes(Fact::PermanentCodes).and(number(Fact::DistanceSinceClear, None, Some(321_868_799))),
        ),
        line("vin", 1, word(Fact::VinMatches, &["no"])),
        line(
            "catalyst",
            1,
            word(Fact::Monitor(Monitor::Catalyst), &["incomplete"]).and(word(Fact::Visit, &["retest"])),
        ),
        line("stored", 2, codes(Fact::StoredCodes).and(word(Fact::LampCommanded, &["yes"]))),
        line("flashing", 2, word(Fact::LampFlashing, &["yes"])),
    ];
    Flat {
        outcomes: vec![outcome("pass", Class::Pass), outcome("reject", Class::Reject), outcome("fail", Class::Fail)],
        counts: vec![CountRule {
            condition: Condition::always(),
            monitors: Monitor::all().filter(|monitor| !monitor.is_continuous()).collect::<MonitorSet>(),
            unsupported_as_incomplete: false,
            basis: Vec::new(),
        }],
        limits: vec![Limit {
            id: "standard".to_owned(),
            rows: vec![
                row(year(None, Some(1995)), 3),
                row(year(Some(1996), Some(2000)), 2),
                row(year(Some(2001), None), 1),
            ],
        }],
        covers: vec![Based { item: year(Some(1996), None), basis: Vec::new(), origin: origin() }],
        left_out: vec![
            left_out(word(Fact::Class, &["motorcycle", "farm", "military"])),
            left_out(word(Fact::Fuel, &["electric"])),
            left_out(number(Fact::GrossWeight, Some(385_553_514_501), None)),
        ],
        lines,
        ..Flat::bare("bench", "Benchmark", Date::constant(2026, 11, 25))
    }
}

fn car() -> Snapshot {
    let mut car = Snapshot::default();
    car.set(Fact::ModelYear, Value::Number(2012));
    car.set(Fact::GrossWeight, Value::Number(235_868_032_400));
    car.set(Fact::EarlierIncompleteVisits, Value::Number(0));
    car.set(Fact::WarmUps, Value::Number(12));
    car.set(Fact::DistanceSinceClear, Value::Number(80_000_000));
    for (fact, word) in [
        (Fact::Fuel, "gasoline"),
        (Fact::Ignition, "spark"),
        (Fact::Class, "light-duty"),
        (Fact::Visit, "initial"),
        (Fact::Connector, "intact"),
        (Fact::Communication, "established"),
        (Fact::VinMatches, "yes"),
        (Fact::LampCommanded, "no"),
        (Fact::LampLitKeyOn, "yes"),
        (Fact::LampLitRunning, "no"),
        (Fact::LampFlashing, "no"),
    ] {
        car.set_word(fact, word);
    }
    for monitor in Monitor::all().filter(|monitor| monitor.index() <= Monitor::EgrVvt.index()) {
        car.set_word(Fact::Monitor(monitor), if monitor.index() % 4 == 3 { "incomplete" } else { "complete" });
    }
    for list in [Fact::StoredCodes, Fact::PendingCodes, Fact::PermanentCodes] {
        car.set(list, Value::Codes(CodeList::default()));
    }
    car
}

fn main() {
    let (flat, car) = (program(), car());
    let whole = Program {
        id: flat.program.clone(),
        title: flat.title.clone(),
        authority: String::new(),
        standing: Standing::Checked,
        language: 1,
        reviewed: None,
        adopted_only: false,
        areas: std::sync::Arc::default(),
        sources: Vec::new(),
        outcomes: flat.outcomes.clone(),
        facts: Vec::new(),
        questions: Vec::new(),
        options: Vec::new(),
        tables: Vec::new(),
        blocks: Vec::new(),
        ordinary: Snapshot::default(),
        cases: Vec::new(),
        advice: Vec::new(),
        acknowledged: Vec::new(),
        adopted: Vec::new(),
    };
    let given = Given::of(&flat, &car).unwrap();
    let mut sparse = Snapshot::default();
    sparse.set(Fact::ModelYear, Value::Number(2012));
    let unknown = Given::of(&flat, &sparse).unwrap();
    let label = evaluate::verdict(&flat, &given).single().map_or("not decided", |verdict| verdict.name(&flat));
    println!("the full snapshot is ruled {label}; the other knows the model year alone");
    measure("what a snapshot leaves possible", 200, || Given::of(&flat, &car));
    measure("verdict, full snapshot", 200, || evaluate::verdict(black_box(&flat), black_box(&given)));
    measure("verdict, model year alone", 200, || evaluate::verdict(black_box(&flat), &unknown));
    measure("full record, full snapshot", 200, || evaluate::interpret(black_box(&flat), &given));
    measure("full record, model year alone", 200, || evaluate::interpret(black_box(&flat), &unknown));
    measure("whole ruling, full snapshot", 5, || ruling::judge(&flat, &whole, &car));
    measure("whole ruling, model year alone", 5, || ruling::judge(&flat, &whole, &sparse));
}
