//! Rows that leave something open, answered exactly: what is known fact by fact for the diagrams, and the answers so far by
//! what rows say as far as the program can tell.

use super::Prepared;
use super::code::Code;
use super::codes::{CLASSES, MAY_BE_ABSENT, MAY_BE_PRESENT, MORE, SOME};
use super::exist::FACTS;
use super::layout::{ABSENT_NUMBER, Layout, NO_TEXT, OTHER_TEXT, Row, STRANGER, UNKNOWN, VALUES};
use super::presume::possible_at;
use crate::bulk::batch::name_of;
use crate::bulk::exact::{Answer, Rules};
use crate::bulk::judged::RowError;
use crate::model::facts::{Possible, Span};
use crate::model::table::all_facts;
use crate::model::{CodeList, Fact, Facts, Monitor, MonitorSet, MonitorState, TroubleCode, day_number};
use crate::program::areas::ELSEWHERE;
use crate::program::{FactRef, Given, GivenError};
use ahash::RandomState;
use indexmap::IndexMap;
use std::sync::{Arc, PoisonError, RwLock};

/// The most answers that are kept.
const MOST: usize = 1 << 16;
/// A text that no program names, and no list of areas knows.
const UNHEARD_OF: &str = "\u{1}";

type Found = Result<Arc<Answer>, RowError>;

/// Answers so far. They are looked up by a hash of fixed seeds, in the order in which they were kept, which nobody asks for.
#[derive(Debug)]
pub(super) struct Kept {
    answers: RwLock<IndexMap<Box<[u64]>, Found, RandomState>>,
}

impl Default for Kept {
    fn default() -> Kept {
        let hasher = RandomState::with_seeds(0x5EED, 0x0B5E, 0x12EC, 0x0A0D);
        Kept { answers: RwLock::new(IndexMap::with_hasher(hasher)) }
    }
}

/// What a row says, as far as the program can tell.
struct Signature {
    words: [u64; 2 * VALUES + 8],
    len: usize,
}

impl Signature {
    fn push(&mut self, word: u64) {
        if let Some(slot) = self.words.get_mut(self.len) {
            *slot = word;
            self.len += 1;
        }
    }

    fn of(code: &Code, values: &[i64], prepared: &Prepared) -> Signature {
        let mut signature = Signature { words: [0; 2 * VALUES + 8], len: 0 };
        let value = |place: usize| values.get(place).copied().unwrap_or(UNKNOWN);
        for number in code.loads.iter().flat_map(|load| &load.numbers) {
            // Numbers stand for the run between two thresholds that they lie in.
            let bits = number.of(value(number.place));
            signature.push(u64::from(bits.is_some()) | u64::from(value(number.place) == ABSENT_NUMBER) << 1);
            signature.push(bits.unwrap_or(0));
        }
        for place in &code.raw_places {
            signature.push(value(*place).cast_unsigned());
        }
        let states = prepared.states;
        signature.push(u64::from(states.unsupported) << 32 | u64::from(states.complete));
        signature.push(u64::from(states.incomplete));
        prepared.classes.signature().into_iter().for_each(|word| signature.push(word));
        signature.push(prepared.used.unlisted);
        signature
    }

    fn as_slice(&self) -> &[u64] {
        self.words.get(..self.len).unwrap_or_default()
    }
}

impl Kept {
    pub(super) fn answer(
        &self,
        code: &Code,
        values: &[i64],
        prepared: &Prepared,
        find: impl FnOnce() -> Result<Answer, RowError>,
    ) -> Result<Arc<Answer>, RowError> {
        let signature = Signature::of(code, values, prepared);
        let known = self.answers.read().unwrap_or_else(PoisonError::into_inner).get(signature.as_slice()).cloned();
        known.unwrap_or_else(|| {
            let found = find().map(Arc::new);
            let mut kept = self.answers.write().unwrap_or_else(PoisonError::into_inner);
            if kept.len() < MOST {
                kept.insert(signature.as_slice().into(), found.clone());
            }
            found
        })
    }
}

/// The words of one value.
fn told(layout: &Layout, place: usize, value: i64) -> Possible {
    let whole = possible_at(layout, place);
    match (&whole, value) {
        (Possible::Words(_), _) => Possible::Words(value.cast_unsigned()),
        (Possible::Number(_) | Possible::Monitors { .. }, UNKNOWN) | (Possible::Text(_), NO_TEXT) => whole,
        (Possible::Number(_), ABSENT_NUMBER) => Possible::Number(Span { least: 1, most: 0, may_be_absent: true }),
        (Possible::Number(_), number) => Possible::Number(Span { least: number, most: number, may_be_absent: false }),
        (Possible::Text(_), STRANGER) => Possible::Text(Some(UNHEARD_OF.to_owned())),
        (Possible::Text(_), OTHER_TEXT) => {
            // Of areas there is a name for every other.
            let is_area = place == Fact::Area.place();
            Possible::Text(Some(if is_area { ELSEWHERE } else { UNHEARD_OF }.to_owned()))
        }
        (Possible::Text(_), code) => {
            let named = layout.texts.get(&place).into_iter().flatten();
            Possible::Text(named.filter(|(_, known)| **known == code).map(|(text, _)| text.clone()).next())
        }
        (Possible::Monitors { .. }, bits) => {
            let set = MonitorSet::from_bits(u32::try_from(bits).unwrap_or(0));
            Possible::Monitors { surely: set, perhaps: set }
        }
        (Possible::Codes { .. }, value) => {
            let (may_be_absent, may_be_present) = (value & MAY_BE_ABSENT != 0, value & MAY_BE_PRESENT != 0);
            let codes: Vec<TroubleCode> = match value & SOME != 0 {
                true => layout.codes.examples((value & CLASSES).cast_unsigned()),
                false => Vec::new(),
            };
            let list = CodeList { codes: codes.into_iter().collect(), may_hold_more: value & MORE != 0 };
            let is_told = may_be_present && !(list.codes.is_empty() && list.may_hold_more);
            Possible::Codes { list: is_told.then_some(list), may_be_absent, may_be_present }
        }
    }
}

/// What is known of a row, fact by fact, as the program sees it.
///
/// # Errors
/// Where readings contradict each other.
pub(super) fn given(rules: &Rules, row: &Row) -> Result<Given, RowError> {
    let flat = rules.flat();
    let layout = &row.layout;
    let mut facts = Facts::unknown();
    for (place, (fact, value)) in all_facts().take(FACTS).zip(&row.values).enumerate() {
        if layout.blank.get(place) != Some(value) {
            facts.put(fact, told(layout, place, *value));
        }
    }
    let day = day_number(flat.test_date);
    facts.put(Fact::TestDate, Possible::Number(Span { least: day, most: day, may_be_absent: false }));
    for monitor in Monitor::all() {
        let bit = |mask: u32, state: MonitorState| {
            if mask >> monitor.index() & 1 == 1 { state.bit() } else { 0 }
        };
        let states = row.monitors;
        let words = bit(states.unsupported, MonitorState::Unsupported)
            | bit(states.complete, MonitorState::Complete)
            | bit(states.incomplete, MonitorState::Incomplete);
        facts.put(Fact::Monitor(monitor), Possible::Words(words));
    }
    let own = row.values.iter().enumerate().skip(FACTS);
    let declared = own.map(|(place, value)| Some(told(layout, place, *value))).collect();
    Given::of_possible(flat, facts, declared).map_err(|error| match error {
        GivenError::Contradiction(found) => RowError::Contradiction(found),
        GivenError::DeclaredValue { name, .. } => RowError::OutOfRange { fact: name_of(&FactRef::Declared(name)) },
    })
}
