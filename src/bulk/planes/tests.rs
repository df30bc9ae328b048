//! Tests of the planes from within: which records they leave to others.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests may stop at the first wrong thing")]

use super::{BLOCK, Plan, Shape, WORDS, run};
use crate::bulk::batch::{Batch, Codes, Column, Dates};
use crate::decode::Monitors;
use crate::diagram::anything;
use crate::model::facts::{Facts, Possible, Span, whole};
use crate::model::{CodeList, Date, Fact, Monitor, MonitorState, TroubleCode};
use crate::program::examples::{example, line, word};
use crate::program::{FactRef, Flat};
use rstest::rstest;

const DAY: Date = Date::constant(2026, 11, 25);

/// Turns a vehicle away that has no connector, and asks for nothing else.
fn flat() -> Flat {
    Flat { lines: vec![line("plug", 1, word(Fact::Connector, "missing"))], ..example() }
}

/// What a record may say of a fact: each word alone, numbers about the bound of an exclusion, an empty list and one with a code,
/// *not on this vehicle*; and that nothing is known.
fn sayings(fact: Fact) -> Vec<Possible> {
    let one = |number| Possible::Number(Span { least: number, most: number, may_be_absent: false });
    let list = |codes: &[TroubleCode]| Possible::Codes {
        list: Some(CodeList { codes: codes.iter().copied().collect(), may_hold_more: false }),
        may_be_absent: false,
        may_be_present: true,
    };
    let mut all = match whole(fact) {
        Possible::Words(all) => {
            (0..64).map(|at| 1u64 << at).filter(|bit| all & bit != 0).map(Possible::Words).collect()
        }
        Possible::Number(span) => {
            let absent =
                span.may_be_absent.then_some(Possible::Number(Span { least: 1, most: 0, may_be_absent: true }));
            [0, 1].map(one).into_iter().chain(absent).collect()
        }
        Possible::Codes { .. } => vec![list(&[]), list(&[TroubleCode::obd(0x0420)])],
        Possible::Text(_) | Possible::Monitors { .. } => Vec::new(),
    };
    all.push(whole(fact).clone());
    all
}

/// Every way to say something of some facts together: for each record the place of what it says of each.
fn ways(counts: &[usize]) -> Vec<Vec<u8>> {
    let len: usize = counts.iter().product();
    let mut columns = Vec::new();
    let mut step = 1;
    for count in counts {
        columns.push((0..len).map(|row| u8::try_from(row / step % count).unwrap()).collect());
        step *= count;
    }
    columns
}

/// Which records planes leave open.
fn open(flat: &Flat, batch: &Batch<'_>) -> Vec<bool> {
    let bare = anything(flat).unwrap();
    let plan = Plan::of(flat, &bare, Shape::of(batch), false);
    assert!(plan.size().is_some(), "no record is answered by planes");
    let mut open = Vec::new();
    let wanted = |block: usize| {
        let left = batch.len().saturating_sub(block * BLOCK).min(BLOCK);
        let mut words = [0u64; WORDS];
        (0..left).for_each(|row| words[row / 64] |= 1 << (row % 64));
        words
    };
    run(&plan, flat, &bare, batch, wanted, |block, outcome| {
        let is = |words: &[u64; WORDS], row: usize| words[row / 64] >> (row % 64) & 1 == 1;
        for row in 0..batch.len().saturating_sub(block * BLOCK).min(BLOCK) {
            assert!(!is(&outcome.odd, row));
            // Every record has a connector: what is answered passes.
            assert_eq!(is(&outcome.possible[1], row), !is(&outcome.open, row));
            open.push(is(&outcome.open, row));
        }
    });
    open
}

/// What contradicts itself by the list of exclusions, fact by fact, planes leave to the diagrams, and nothing else: a record that
/// is left open is judged alone, which costs far more.
#[rstest]
#[case::engine(&[Fact::Fuel, Fact::Ignition, Fact::Monitor(Monitor::Catalyst), Fact::Monitor(Monitor::NmhcCatalyst),
    Fact::Monitor(Monitor::HdNoxCatalyst)])]
#[case::protocol(&[Fact::Class, Fact::Protocol, Fact::Monitor(Monitor::Misfire), Fact::Monitor(Monitor::HdEgrVvt)])]
#[case::first_test(&[Fact::Visit, Fact::EarlierIncompleteVisits, Fact::EarlierIncompleteCount, Fact::EarlierFailureCodes])]
#[case::silence(&[Fact::Communication, Fact::LampCommanded, Fact::VinInData, Fact::VinMatches, Fact::StoredCodes, Fact::WarmUps,
    Fact::Monitor(Monitor::Catalyst)])]
#[case::lamp(&[Fact::LampFlashing, Fact::LampLitRunning, Fact::Hybrid, Fact::Fuel])]
fn what_contradicts_itself_is_left_open_and_nothing_else(#[case] facts: &[Fact]) {
    let said: Vec<Vec<Possible>> = facts.iter().map(|fact| sayings(*fact)).collect();
    let columns = ways(&said.iter().map(Vec::len).collect::<Vec<_>>());
    let len = columns[0].len();
    let intact = [Possible::Words(Fact::Connector.word_bit("intact").unwrap())];
    let noughts = vec![0u8; len];
    let mut batch = Batch::new(len, Dates::One(DAY)).unwrap();
    let column = Column::Coded { codes: Codes::U8(&noughts), meaning: &intact, known: None };
    batch = batch.with(FactRef::Known(Fact::Connector), column).unwrap();
    for ((fact, meaning), codes) in facts.iter().zip(&said).zip(&columns) {
        let column = Column::Coded { codes: Codes::U8(codes), meaning, known: None };
        batch = batch.with(FactRef::Known(*fact), column).unwrap();
    }
    let found = open(&flat(), &batch);
    let mut contradictions = 0;
    for row in 0..len {
        let mut of_record = Facts::unknown();
        for ((fact, meaning), codes) in facts.iter().zip(&said).zip(&columns) {
            of_record.put(*fact, meaning[usize::from(codes[row])].clone());
        }
        let shown = of_record.clone();
        let is_impossible = of_record.narrow().is_err();
        contradictions += usize::from(is_impossible);
        assert_eq!(found[row], is_impossible, "{:?}", facts.iter().map(|fact| shown.get(*fact)).collect::<Vec<_>>());
    }
    assert!(contradictions > 0 && contradictions < len, "{contradictions} of {len}");
}

/// The same where the bytes of PID $01 tell the ignition, the lamp and the monitors (SAE J1979, as the decoder reads them).
#[test]
fn bytes_that_contradict_a_fact_are_left_open_and_nothing_else() {
    let facts = [Fact::Fuel, Fact::Protocol, Fact::Communication];
    let said = facts.map(sayings);
    let bytes: Vec<u32> = [0x0007_E100, 0x800F_EB00, 0x0007_0000, 0x000F_0100, 0x0077_FFFF, 0x007F_EBEB].to_vec();
    let counts: Vec<usize> = std::iter::once(bytes.len()).chain(said.iter().map(Vec::len)).collect();
    let columns = ways(&counts);
    let len = columns[0].len();
    let status: Vec<u32> = columns[0].iter().map(|place| bytes[usize::from(*place)]).collect();
    let intact = [Possible::Words(Fact::Connector.word_bit("intact").unwrap())];
    let noughts = vec![0u8; len];
    let mut batch = Batch::new(len, Dates::One(DAY)).unwrap().with_monitor_bytes(&status, None).unwrap();
    let column = Column::Coded { codes: Codes::U8(&noughts), meaning: &intact, known: None };
    batch = batch.with(FactRef::Known(Fact::Connector), column).unwrap();
    for ((fact, meaning), codes) in facts.iter().zip(&said).zip(&columns[1..]) {
        let column = Column::Coded { codes: Codes::U8(codes), meaning, known: None };
        batch = batch.with(FactRef::Known(*fact), column).unwrap();
    }
    let found = open(&flat(), &batch);
    for (row, status) in status.iter().enumerate() {
        let mut of_record = Facts::unknown();
        let one = |fact: Fact, word: &str| (fact, Possible::Words(fact.word_bit(word).unwrap()));
        let [a, b, c, d] = status.to_be_bytes();
        let told = Monitors::from_j1979(b, c, d);
        let mut told: Vec<(Fact, Possible)> = Monitor::all()
            .map(|monitor| {
                let state = told.state(monitor.name()).unwrap_or(MonitorState::Unsupported);
                (Fact::Monitor(monitor), Possible::Words(state.bit()))
            })
            .collect();
        told.push(one(Fact::Ignition, if b & 8 == 0 { "spark" } else { "compression" }));
        told.push(one(Fact::LampCommanded, if a & 0x80 == 0 { "no" } else { "yes" }));
        for ((fact, meaning), codes) in facts.iter().zip(&said).zip(&columns[1..]) {
            told.push((*fact, meaning[usize::from(codes[row])].clone()));
        }
        for (fact, possible) in &told {
            of_record.put(*fact, possible.clone());
        }
        assert_eq!(found[row], of_record.narrow().is_err(), "{status:08X} {:?}", &told[told.len() - 3..]);
    }
    assert!(found.contains(&true) && found.contains(&false));
}
