//! Rows for any program: vehicles of which every fact is known, and the same with some facts not known.

use crate::records::Dice;
use wherefore::internals::bulk::TypedRow;
use wherefore::internals::model::facts::{ABSENT, Possible, whole};
use wherefore::internals::model::table::all_facts;
use wherefore::internals::model::{
    DeclaredValue, Fact, FactType, Monitor, MonitorSet, MonitorState, TroubleCode, spec,
};
use wherefore::internals::program::Flat;
use wherefore::internals::program::block::DeclaredType;

/// Fills a row with a vehicle that answers on the classic protocol; so many in a hundred facts are left not known.
pub fn fill(row: &mut TypedRow, flat: &Flat, unknown: u64, dice: &mut Dice) {
    row.clear();
    let is_diesel = dice.roll(8) == 0;
    let is_retest = dice.roll(3) == 0;
    for fact in all_facts() {
        if fact == Fact::TestDate || dice.roll(100) < unknown {
            continue;
        }
        let word = |name: &str| fact.word_bit(name).unwrap();
        match (fact, spec(fact).kind) {
            (Fact::Monitor(monitor), _) => row.set_monitor(monitor, state(monitor, is_diesel, dice)),
            (Fact::Fuel | Fact::FuelInUse, _) => {
                row.set_words(fact, word(if is_diesel { "diesel" } else { "gasoline" })).unwrap()
            }
            (Fact::Ignition, _) => row.set_words(fact, word(if is_diesel { "compression" } else { "spark" })).unwrap(),
            (Fact::Protocol, _) => row.set_words(fact, word("classic")).unwrap(),
            (Fact::Communication, _) => row.set_words(fact, word("established")).unwrap(),
            (Fact::Visit, _) => row.set_words(fact, word(if is_retest { "retest" } else { "initial" })).unwrap(),
            (Fact::LampFlashing, _) => row.set_words(fact, word("no")).unwrap(),
            (Fact::VinInData, _) => row.set_words(fact, word("yes")).unwrap(),
            (Fact::EarlierIncompleteVisits | Fact::EarlierIncompleteCount, _) => row.set_number(fact, 0).unwrap(),
            (_, FactType::YesNo { .. } | FactType::Words(_)) => {
                let Possible::Words(all) = whole(fact) else { continue };
                let words: Vec<u64> = (0..63).map(|at| 1 << at).filter(|bit| all & !ABSENT & bit != 0).collect();
                // Most often the first: the plain one.
                let at = if dice.roll(3) == 0 { dice.roll(words.len() as u64) } else { 0 };
                row.set_words(fact, words[at as usize]).unwrap();
            }
            (Fact::ModelYear, _) => row.set_number(fact, 1994 + dice.roll(33) as i64).unwrap(),
            (_, FactType::Number { .. } | FactType::Date) => {
                let Possible::Number(span) = whole(fact) else { continue };
                let size = (span.most - span.least) as u64 / if dice.roll(2) == 0 { 1 } else { 50 };
                row.set_number(fact, span.least + (dice.roll(1 << 31) % (size + 1)) as i64).unwrap();
            }
            // A name that the program knows; a stranger would leave the area not known.
            (Fact::Area, _) => {
                let areas = flat.areas.all();
                let at = dice.roll(areas.len() as u64 + 1) as usize;
                row.set_text(fact, areas.get(at).map_or("elsewhere", |area| area.name.as_str())).unwrap();
            }
            (_, FactType::Text) => row.set_text(fact, ["elsewhere", "Ford", "Adams"][dice.roll(3) as usize]).unwrap(),
            (_, FactType::Monitors) => row.set_earlier(fact, MonitorSet::EMPTY).unwrap(),
            (Fact::EarlierFailureCodes, _) => row.set_codes(fact, [], false).unwrap(),
            (_, FactType::Codes) => {
                let codes = (0..dice.roll(3)).map(|_| TroubleCode::obd(dice.roll(0x1000) as u16)).collect::<Vec<_>>();
                row.set_codes(fact, if dice.roll(2) == 0 { codes } else { Vec::new() }, false).unwrap();
            }
        }
    }
    for fact in &flat.facts {
        if dice.roll(100) < unknown {
            continue;
        }
        let value = match &fact.kind {
            DeclaredType::YesNo => DeclaredValue::YesNo(dice.roll(3) == 0),
            DeclaredType::Words(words) => DeclaredValue::Word(words[dice.roll(words.len() as u64) as usize].clone()),
            DeclaredType::Number { least, most, .. } => {
                DeclaredValue::Number(least + dice.roll((most - least) as u64 + 1) as i64)
            }
        };
        row.set_declared(&fact.name, &value).unwrap();
    }
}

fn state(monitor: Monitor, is_diesel: bool, dice: &mut Dice) -> MonitorState {
    let is_other = if is_diesel { monitor.is_spark_only() } else { monitor.is_compression_only() };
    match dice.roll(8) {
        _ if is_other || monitor.is_j1939() => MonitorState::Unsupported,
        0 => MonitorState::Incomplete,
        1 => MonitorState::Unsupported,
        _ => MonitorState::Complete,
    }
}
