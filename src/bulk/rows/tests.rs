//! Tests of rows from within: which presumptions an outcome rests on, when one is made by a monitor's state, outcomes that a text
//! not read could make graver, and lists of codes as they are told.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests may stop at the first wrong thing")]

use super::*;
use crate::diagram::exact;
use crate::model::{CodeGroup, CodeList, CodeRange, Fact, Monitor, MonitorState, Snapshot, TroubleCode, Value};
use crate::program::block::Presumed;
use crate::program::examples::{example, line, word};
use crate::program::flat::{Presumption, Silence};
use crate::program::{Condition, FactRef, Flat, Given, How, Test};

fn engine(flat: &Flat) -> RowEngine {
    RowEngine::of(&Arc::new(Rules::of(flat.clone(), true))).unwrap()
}

fn presumes(fact: Fact, word: &str, condition: Condition<usize>) -> Presumption {
    let value = Presumed::Word(fact.word_bit(word).unwrap());
    Presumption { fact: FactRef::Known(fact), value, shown: word.to_owned(), condition, basis: Vec::new() }
}

/// By the definition: an outcome rests on the presumptions that a line asks against, and on no other, whichever these are.
#[test]
fn an_outcome_rests_on_the_presumptions_that_some_line_asks() {
    let presumed = [(Fact::Hybrid, "no"), (Fact::Purpose, "renewal"), (Fact::Visit, "initial")];
    for asked in 0..8u64 {
        let lines = (0..3).filter(|place| asked >> place & 1 == 1).map(|place| {
            let (fact, is) = presumed[place];
            line("asks", 2, Condition::Not(Box::new(word(fact, is))))
        });
        let presumptions = presumed.iter().map(|(fact, is)| presumes(*fact, is, Condition::always()));
        let engine = engine(&Flat { lines: lines.collect(), presumptions: presumptions.collect(), ..example() });
        assert_eq!(engine.turning(&engine.row()), Ok(asked), "{asked:03b}");
    }
}

/// A presumption is made where its condition surely holds of what is reported: here in every state that the monitor can be in.
#[test]
fn a_presumption_looks_at_what_states_a_monitor_can_be_in() {
    for state in MonitorState::ALL {
        let asked =
            Condition::Test(Test::Word { fact: FactRef::Known(Fact::Monitor(Monitor::Catalyst)), words: state.bit() });
        let mut flat = example();
        flat.presumptions = vec![presumes(Fact::Hybrid, "no", asked)];
        flat.lines = vec![line("asks", 2, word(Fact::Hybrid, "yes"))];
        let engine = engine(&flat);
        for mask in 1..8u64 {
            let mut row = engine.row();
            let bit = 1u32 << Monitor::Catalyst.index();
            let states = &mut row.monitors;
            for (of, slot) in MonitorState::ALL.into_iter().zip([
                &mut states.unsupported,
                &mut states.complete,
                &mut states.incomplete,
            ]) {
                *slot = if mask & of.bit() != 0 { *slot | bit } else { *slot & !bit };
            }
            let surely = mask == state.bit();
            assert_eq!(engine.judge(&row).unwrap().presumed, u64::from(surely), "{mask:03b} for {state:?}");
        }
    }
}

/// `program::flat::Silence`: a text that was not read marks an outcome that it could make graver, so every one but the last and
/// those that fail already.
#[test]
fn a_text_not_read_marks_what_it_could_make_graver() {
    let mut flat = example();
    let topic = Topic::BulbCheck;
    flat.silences = vec![Silence { topic, unread: true, condition: Condition::always(), basis: Vec::new() }];
    flat.lines = vec![line("mild", 1, word(Fact::Hybrid, "yes")), line("grave", 2, word(Fact::LampCommanded, "yes"))];
    let engine = engine(&flat);
    for (hybrid, lamp, marked) in [("no", "no", true), ("yes", "no", true), ("no", "yes", false)] {
        let mut car = Snapshot::default();
        car.set_word(Fact::LampCommanded, lamp);
        car.set_word(Fact::Hybrid, hybrid);
        let mut row = engine.row();
        row.fill(&car).unwrap();
        let result = engine.judge(&row).unwrap();
        let told: Vec<Topic> = engine.so_far_as_read(result).collect();
        assert_eq!(told, if marked { vec![topic] } else { Vec::new() }, "{hybrid}, {lamp}");
    }
}

/// A list of codes is told as it was set, empty or not, whole or not: the exact verdicts are those of the same vehicle's document.
#[test]
fn lists_of_codes_are_told_as_they_were_set() {
    let range = |first, last| vec![CodeRange { first, last, digits_only: false }];
    let codes = |how, among| Condition::Test(Test::Codes { list: Fact::StoredCodes, how, among });
    let flat = Flat {
        groups: vec![("some".to_owned(), CodeGroup { ranges: range(0x0420, 0x0420), unread: Vec::new() })],
        lines: vec![line("some", 2, codes(How::Any, Some(0))), line("any", 1, codes(How::Any, None))],
        ..example()
    };
    let engine = engine(&flat);
    for code in [None, Some(0x0420), Some(0x0171)] {
        for may_hold_more in [false, true] {
            let codes = code.map(TroubleCode::obd).into_iter().collect();
            let mut car = Snapshot::default();
            car.set(Fact::StoredCodes, Value::Codes(CodeList { codes, may_hold_more }));
            let mut row = engine.row();
            row.fill(&car).unwrap();
            let expected = exact::possible(&flat, &Given::of(&flat, &car).unwrap()).unwrap();
            assert_eq!(engine.exact(&row).unwrap().possible, expected, "{code:?}, more: {may_hold_more}");
        }
    }
}
