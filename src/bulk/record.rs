//! One record of a batch, fact by fact: what the columns leave possible, before exclusions and presumptions.

use super::batch::{Batch, Column, is_known, name_of};
use super::judged::RowError;
use crate::decode::MonitorStatus;
use crate::model::facts::{Possible, Span};
use crate::model::{Fact, Facts, Monitor};
use crate::program::block::DeclaredType;
use crate::program::{FactRef, Flat, Given, GivenError};

/// The bounds of a number or date of the table, in base units.
pub(super) fn bounds(fact: Fact) -> Option<Span> {
    match crate::model::facts::whole(fact) {
        Possible::Number(span) => Some(*span),
        _ => None,
    }
}

/// What a column says of a record; `None` where it is not known.
fn possible(fact: &FactRef<String>, column: Column<'_>, row: usize) -> Result<Option<Possible>, RowError> {
    match column {
        Column::Coded { known, .. } | Column::Numbers { known, .. } if !is_known(known, row) => Ok(None),
        Column::Coded { codes, meaning, .. } => match codes.get(row).and_then(|code| meaning.get(code)) {
            Some(possible) => Ok(Some(possible.clone())),
            None => Err(RowError::NoMeaning { fact: name_of(fact) }),
        },
        Column::Numbers { values, scale, .. } => {
            let number = values.get(row).and_then(|value| value.checked_mul(scale));
            let out = || RowError::OutOfRange { fact: name_of(fact) };
            let number = number.ok_or_else(out)?;
            let span = Span { least: number, most: number, may_be_absent: false };
            if let FactRef::Known(fact) = fact
                && bounds(*fact).is_none_or(|bounds| number < bounds.least || number > bounds.most)
            {
                return Err(out());
            }
            Ok(Some(Possible::Number(span)))
        }
    }
}

/// Whether a declared fact can be this.
pub(super) fn fits(kind: &DeclaredType, possible: &Possible) -> bool {
    match (kind, possible) {
        (DeclaredType::YesNo, Possible::Words(mask)) => mask & !0b11 == 0,
        (DeclaredType::Words(words), Possible::Words(mask)) => {
            let count = u32::try_from(words.len()).unwrap_or(62).min(62);
            mask & !((1u64 << count) - 1) == 0
        }
        (DeclaredType::Number { unit, least, most }, Possible::Number(span)) => {
            let (least, most) = (unit.to_base(*least), unit.to_base(*most));
            least.is_none_or(|least| span.least >= least) && most.is_none_or(|most| span.most <= most)
        }
        _ => false,
    }
}

/// The record as the program sees it.
///
/// # Errors
/// Where a value is outside its range or has no meaning, or readings contradict each other.
pub(super) fn given(flat: &Flat, batch: &Batch<'_>, row: usize) -> Result<Given, RowError> {
    let day = batch.day(row).ok_or(RowError::NoTestDate)?;
    let mut facts = Facts::unknown();
    facts.put(Fact::TestDate, Possible::Number(Span { least: day, most: day, may_be_absent: false }));
    if let Some((bytes, known)) = batch.monitor_bytes()
        && is_known(known, row)
        && let Some(bytes) = bytes.get(row)
    {
        learn_bytes(&mut facts, bytes.to_be_bytes());
    }
    let mut declared: Vec<Option<Possible>> = vec![None; flat.facts.len()];
    for (fact, column) in batch.columns() {
        let told = possible(fact, column, row)?;
        match fact {
            FactRef::Known(fact) => facts.put(*fact, told.unwrap_or_else(|| crate::model::facts::whole(*fact).clone())),
            FactRef::Declared(name) => {
                let places = flat.facts.iter().zip(declared.iter_mut());
                for (spec, slot) in places.filter(|(spec, _)| spec.name == *name) {
                    if told.as_ref().is_some_and(|told| !fits(&spec.kind, told)) {
                        return Err(RowError::OutOfRange { fact: name_of(fact) });
                    }
                    slot.clone_from(&told);
                }
            }
        }
    }
    match Given::of_possible(flat, facts, declared) {
        Ok(given) => Ok(given),
        Err(GivenError::Contradiction(found)) => Err(RowError::Contradiction(found)),
        Err(GivenError::DeclaredValue { name, .. }) => {
            Err(RowError::OutOfRange { fact: name_of(&FactRef::Declared(name)) })
        }
    }
}

/// What the four bytes of PID $01 tell where one controller answers (see [`crate::decode`]).
fn learn_bytes(facts: &mut Facts, bytes: [u8; 4]) {
    let status = MonitorStatus::from_bytes(bytes);
    let mut word = |fact: Fact, bit: u64| facts.put(fact, Possible::Words(bit));
    let is_engine = status.monitors.beyond_components();
    if status.lamp || is_engine {
        word(Fact::LampCommanded, if status.lamp { 0b10 } else { 0b01 });
    }
    if !is_engine {
        return;
    }
    let compression = bytes.get(1).is_some_and(|b| b & 0x08 != 0);
    word(Fact::Ignition, if compression { 0b10 } else { 0b01 });
    for (name, state) in status.monitors.states() {
        if let Some(monitor) = Monitor::named(name) {
            word(Fact::Monitor(monitor), state.bit());
        }
    }
}
