//! A row: what is known of one vehicle, a number a fact, as one flat program tells values apart. Filling it takes no room
//! that it has not got already.

use super::codes::{self, MAY_BE_ABSENT, MAY_BE_PRESENT, MORE, SOME};
use super::exist::{self, FACTS};
use crate::bulk::batch::name_of;
use crate::bulk::judged::RowError;
use crate::evaluate::States;
use crate::model::facts::{ABSENT, Possible, Span, whole};
use crate::model::{
    CodeList, DeclaredValue, Fact, FactType, Monitor, MonitorSet, MonitorState, Reading, Snapshot, TroubleCode, Value,
    day_number, spec,
};
use crate::program::block::DeclaredType;
use crate::program::given::{fit, whole as whole_of_own};
use crate::program::{Areas, FactRef};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A number, date or set that is not known.
pub(super) const UNKNOWN: i64 = i64::MIN;
/// A number that is not on the vehicle.
pub(super) const ABSENT_NUMBER: i64 = i64::MIN + 1;
/// A text that is not known.
pub(super) const NO_TEXT: i64 = 0;
/// A text that the program does not name.
pub(super) const OTHER_TEXT: i64 = 1;
/// The name of an area that the program does not know.
pub(super) const STRANGER: i64 = -1;
/// The texts that the program names count from here.
pub(super) const FIRST_TEXT: i64 = 2;
/// The most values of a row.
pub(super) const VALUES: usize = 128;

/// A fact that the program declares.
#[derive(Debug, Clone)]
pub(super) struct Own {
    pub(super) name: String,
    pub(super) kind: DeclaredType,
}

/// What the values of rows mean.
#[derive(Debug)]
pub(super) struct Layout {
    pub(super) own: Vec<Own>,
    /// Texts that the program names, by the place of the fact.
    pub(super) texts: BTreeMap<usize, BTreeMap<String, i64>>,
    pub(super) areas: Arc<Areas>,
    pub(super) codes: codes::Classes,
    /// A row of which nothing is known.
    pub(super) blank: Vec<i64>,
    pub(super) blank_classes: exist::Classes,
}

/// What is known of one vehicle; what is not set is *not known*. Made by [`super::RowEngine::row`], for that engine.
#[derive(Debug, Clone)]
pub struct Row {
    pub(super) layout: Arc<Layout>,
    pub(super) monitors: States,
    pub(super) values: Vec<i64>,
    pub(super) classes: exist::Classes,
}

/// What a value is that is not known.
fn blank_of(possible: &Possible) -> i64 {
    match possible {
        Possible::Words(words) => words.cast_signed(),
        Possible::Number(_) | Possible::Monitors { .. } => UNKNOWN,
        Possible::Text(_) => NO_TEXT,
        Possible::Codes { may_be_absent, .. } => MORE | MAY_BE_PRESENT | if *may_be_absent { MAY_BE_ABSENT } else { 0 },
    }
}

impl Layout {
    pub(super) fn new(
        own: Vec<Own>,
        texts: BTreeMap<usize, BTreeMap<String, i64>>,
        areas: Arc<Areas>,
        codes: codes::Classes,
    ) -> Layout {
        let facts = crate::model::table::all_facts().take(FACTS);
        let mut blank: Vec<i64> = facts.map(|fact| blank_of(whole(fact))).collect();
        blank.extend(own.iter().map(|own| blank_of(&whole_of_own(&own.kind))));
        let blank_classes = exist::Classes::of_blank(&blank);
        Layout { own, texts, areas, codes, blank, blank_classes }
    }

    /// The place of a fact that a program declares.
    pub(super) fn own_place(&self, name: &str) -> Option<usize> {
        self.own.iter().position(|own| own.name == name).map(|place| FACTS + place)
    }
}

/// How every monitor can stand where none is known.
const ANY_STATE: States = States { unsupported: u32::MAX, complete: u32::MAX, incomplete: u32::MAX };

impl Row {
    pub(super) fn new(layout: &Arc<Layout>) -> Row {
        Row {
            layout: Arc::clone(layout),
            monitors: ANY_STATE,
            values: layout.blank.clone(),
            classes: layout.blank_classes,
        }
    }

    /// Forgets everything.
    pub fn clear(&mut self) {
        self.values.copy_from_slice(&self.layout.blank);
        self.monitors = ANY_STATE;
        self.classes = self.layout.blank_classes;
    }

    /// What a value of the layout is, at its place.
    #[inline]
    pub(crate) fn put(&mut self, place: usize, value: i64) {
        if let Some(slot) = self.values.get_mut(place) {
            *slot = value;
            self.classes.put(place, value);
        }
    }

    /// How all monitors can stand: bit *n* is the monitor of index *n*; each is in one of the masks, or in several where
    /// it is not known.
    pub fn set_monitors(&mut self, states: States) {
        let told = states.unsupported | states.complete | states.incomplete;
        self.monitors = States {
            unsupported: states.unsupported | !told,
            complete: states.complete | !told,
            incomplete: states.incomplete | !told,
        };
    }

    /// One monitor.
    pub fn set_monitor(&mut self, monitor: Monitor, state: MonitorState) {
        let bit = 1u32 << monitor.index();
        let states = &mut self.monitors;
        for (mask, of) in [
            (&mut states.unsupported, MonitorState::Unsupported),
            (&mut states.complete, MonitorState::Complete),
            (&mut states.incomplete, MonitorState::Incomplete),
        ] {
            *mask = if state == of { *mask | bit } else { *mask & !bit };
        }
    }

    /// The words that a fact of words can be, as bits ([`Fact::words`]; the highest: not on the vehicle).
    ///
    /// # Errors
    /// Where the fact has no such words, or none is left.
    pub fn set_words(&mut self, fact: Fact, words: u64) -> Result<(), RowError> {
        match whole(fact) {
            Possible::Words(all) if words != 0 && words & !all == 0 && fact.place() < FACTS => {
                self.put(fact.place(), words.cast_signed());
                Ok(())
            }
            _ => Err(out_of_range(fact)),
        }
    }

    /// The same, for words that are the fact's own.
    pub(crate) fn put_words(&mut self, fact: Fact, words: u64) {
        self.put(fact.place(), words.cast_signed());
    }

    /// A number in base units, or a day number.
    ///
    /// # Errors
    /// Where the fact is none of numbers, or the number is outside its range.
    pub fn set_number(&mut self, fact: Fact, number: i64) -> Result<(), RowError> {
        match whole(fact) {
            Possible::Number(span) if (span.least..=span.most).contains(&number) => {
                self.put(fact.place(), number);
                Ok(())
            }
            _ => Err(out_of_range(fact)),
        }
    }

    /// A text: of make, model, engine or area.
    ///
    /// # Errors
    /// Where the fact is none of texts.
    pub fn set_text(&mut self, fact: Fact, text: &str) -> Result<(), RowError> {
        if !matches!(spec(fact).kind, FactType::Text) {
            return Err(out_of_range(fact));
        }
        let Some(named) = self.layout.texts.get(&fact.place()) else {
            // No test asks for it; a presumption of no table may still ask whether it is known.
            let is_stranger = fact == Fact::Area && self.layout.areas.seen(text).is_none();
            self.put(fact.place(), if is_stranger { STRANGER } else { OTHER_TEXT });
            return Ok(());
        };
        let code = |text: &str| named.get(text).copied().unwrap_or(OTHER_TEXT);
        let value = match fact {
            Fact::Area => self.layout.areas.seen(&text.to_lowercase()).map_or(STRANGER, |seen| code(&seen)),
            _ => code(&text.to_lowercase()),
        };
        self.put(fact.place(), value);
        Ok(())
    }

    /// A list of codes; `may_hold_more`: it may not be whole.
    ///
    /// # Errors
    /// Where the fact is none of lists of codes.
    pub fn set_codes(
        &mut self,
        fact: Fact,
        codes: impl IntoIterator<Item = TroubleCode>,
        may_hold_more: bool,
    ) -> Result<(), RowError> {
        if !matches!(spec(fact).kind, FactType::Codes) {
            return Err(out_of_range(fact));
        }
        let mut value = MAY_BE_PRESENT | if may_hold_more { MORE } else { 0 };
        for code in codes {
            value |= SOME | self.layout.codes.of(code).cast_signed();
        }
        self.put(fact.place(), value);
        Ok(())
    }

    /// A set of monitors of an earlier test.
    ///
    /// # Errors
    /// Where the fact is none of sets.
    pub fn set_earlier(&mut self, fact: Fact, monitors: MonitorSet) -> Result<(), RowError> {
        if !matches!(spec(fact).kind, FactType::Monitors) {
            return Err(out_of_range(fact));
        }
        self.put(fact.place(), i64::from(monitors.bits()));
        Ok(())
    }

    /// The fact is not on the vehicle.
    ///
    /// # Errors
    /// Where every vehicle has it.
    pub fn set_absent(&mut self, fact: Fact) -> Result<(), RowError> {
        let value = match (spec(fact).may_be_absent, spec(fact).kind) {
            (true, FactType::YesNo { .. } | FactType::Words(_)) => ABSENT.cast_signed(),
            (true, FactType::Number { .. } | FactType::Date) => ABSENT_NUMBER,
            (true, FactType::Codes) => MAY_BE_ABSENT,
            _ => return Err(out_of_range(fact)),
        };
        self.put(fact.place(), value);
        Ok(())
    }

    /// A fact that the program declares; one that it does not declare is passed over.
    ///
    /// # Errors
    /// Where the value does not fit the fact.
    pub fn set_declared(&mut self, name: &str, value: &DeclaredValue) -> Result<(), RowError> {
        let Some(place) = self.layout.own_place(name) else { return Ok(()) };
        let out = || RowError::OutOfRange { fact: name_of(&FactRef::Declared(name.to_owned())) };
        let kind = self.layout.own.get(place - FACTS).map(|own| &own.kind);
        let value = match kind.and_then(|kind| fit(kind, value)).ok_or_else(out)? {
            Possible::Words(words) => words.cast_signed(),
            Possible::Number(Span { least, .. }) => least,
            _ => return Err(out()),
        };
        self.put(place, value);
        Ok(())
    }

    /// A reading of a fact of the table.
    ///
    /// # Errors
    /// Where it is not of the fact's kind.
    pub fn set(&mut self, fact: Fact, reading: &Reading) -> Result<(), RowError> {
        match (fact, reading) {
            // The law and the day of the visit are the engine's.
            (Fact::TestDate, _) => Ok(()),
            (Fact::Monitor(monitor), Reading::Known(Value::Word(place))) => {
                let states = [MonitorState::Unsupported, MonitorState::Complete, MonitorState::Incomplete];
                let state = states.get(usize::from(*place)).ok_or_else(|| out_of_range(fact))?;
                self.set_monitor(monitor, *state);
                Ok(())
            }
            (_, Reading::NotOnVehicle) => self.set_absent(fact),
            (_, Reading::Known(value)) => match value {
                Value::Word(place) => self.set_words(fact, 1u64.checked_shl(u32::from(*place)).unwrap_or(0)),
                Value::Number(number) => self.set_number(fact, *number),
                Value::Date(date) => self.set_number(fact, day_number(*date)),
                Value::Text(text) => self.set_text(fact, text),
                Value::Monitors(set) => self.set_earlier(fact, *set),
                Value::Codes(CodeList { codes, may_hold_more }) => {
                    self.set_codes(fact, codes.iter().copied(), *may_hold_more)
                }
            },
        }
    }

    /// Takes over a whole snapshot, its day apart, which is the engine's.
    ///
    /// # Errors
    /// As [`Row::set`] and [`Row::set_declared`].
    pub fn fill(&mut self, snapshot: &Snapshot) -> Result<(), RowError> {
        self.clear();
        for (fact, reading) in &snapshot.readings {
            self.set(*fact, reading)?;
        }
        for (name, value) in &snapshot.declared {
            self.set_declared(name, value)?;
        }
        Ok(())
    }
}

fn out_of_range(fact: Fact) -> RowError {
    RowError::OutOfRange { fact: name_of(&FactRef::Known(fact)) }
}
