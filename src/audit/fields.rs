//! From fields of text to columns: one builder a column, filled field by field. What a text means is asked once
//! (`mapping::value`) and kept; numbers and the bytes of PID $01 are read at once. A field that cannot be used leaves a
//! place that is not known and a remark; the record is then set aside.

use super::mapping::{Column, Field, Given, Holds, Mapping, Reads, Recorded, Target};
use super::memo::{Memo, packed};
use super::plain::{eight_digits, plain_number, with_odd};
use super::store::{Filled, Held, Store, Values, base, meanings, possible};
use super::table::{Lot, NONE, Table, aside};
use crate::model::facts::Possible;
use crate::model::{DeclaredValue, Fact, Reading, Unit, Value, day_number};
use std::sync::Arc;

/// A code that stands for a text that cannot be used.
const BAD: u32 = u32::MAX;

/// The most meanings that are kept from one lot of records to the next.
const KEPT: usize = 1 << 16;

/// Builders of all columns of a mapping.
#[derive(Debug)]
pub struct Fields {
    pub(super) columns: Vec<Builder>,
    constants: Vec<(Target, Given)>,
}

#[derive(Debug)]
pub(super) struct Builder {
    pub(super) column: Column,
    memo: Memo,
    /// For texts of one byte: their code, [`BAD`] where it was not asked yet.
    short: Box<[u32; 256]>,
    pub(super) kind: Kind,
    /// The code of *not known*, once it was needed.
    not_known: Option<u32>,
    /// The code of a list that is there and empty, once it was needed.
    empty: Option<u32>,
}

#[derive(Debug)]
pub(super) enum Kind {
    /// The record's id: read where it is written.
    Id,
    /// A fact of words.
    Words(Fact),
    /// Text, codes, monitors.
    Coded(Fact, Arc<Vec<Possible>>),
    Number(Fact, Unit),
    Date(Fact),
    Status,
    Declared(String, Vec<Option<DeclaredValue>>),
    Program(Vec<String>),
    Recorded(Vec<Recorded>),
    Overall(Vec<Recorded>),
}

impl Fields {
    /// Builders for a mapping.
    #[must_use]
    pub fn new(mapping: &Mapping) -> Fields {
        let columns = mapping.columns.iter().map(Builder::new).collect();
        Fields { columns, constants: mapping.constants.clone() }
    }

    /// The columns of the mapping, in its order.
    pub fn columns(&self) -> impl Iterator<Item = &Column> {
        self.columns.iter().map(|builder| &builder.column)
    }

    /// Reads a lot: `places[n]` is the place in the table of the mapping's column *n*.
    pub fn read(&mut self, table: &Table, places: &[usize]) -> Lot {
        let mut lot = Lot { store: Store { len: table.len, ..Store::default() }, ..Lot::default() };
        for (builder, place) in self.columns.iter_mut().zip(places) {
            builder.read(table, *place, &mut lot);
        }
        self.finish(&mut lot);
        lot
    }

    /// Reads one column of the mapping from a table.
    pub fn read_column(&mut self, column: usize, table: &Table, place: usize, lot: &mut Lot) {
        if let Some(builder) = self.columns.get_mut(column) {
            builder.read(table, place, lot);
        }
    }

    /// Adds what is the same for every record.
    pub fn finish(&self, lot: &mut Lot) {
        constants(&self.constants, &mut lot.store);
    }
}

/// Adds the facts that are the same for every record.
pub fn constants(constants: &[(Target, Given)], store: &mut Store) {
    for (target, given) in constants {
        let values = match (target, given) {
            (Target::Fact(Fact::TestDate), Given::Reading(Reading::Known(Value::Date(date)))) => {
                store.day = Some(*date);
                continue;
            }
            (Target::Fact(fact), Given::Reading(reading)) => {
                Values::Bytes(Held::Own(vec![0; store.len]), vec![possible(*fact, Some(reading))])
            }
            (_, Given::Declared(value)) => Values::Declared(Held::Own(vec![0; store.len]), vec![Some(value.clone())]),
            (Target::Declared(_), Given::Reading(_)) => continue,
        };
        store.facts.push((target.clone(), values));
    }
}

impl Builder {
    fn new(column: &Column) -> Builder {
        let kind = match &column.holds {
            Holds::RecordId => Kind::Id,
            Holds::MonitorStatus => Kind::Status,
            Holds::Program(_) => Kind::Program(Vec::new()),
            Holds::Recorded(_) => Kind::Recorded(Vec::new()),
            Holds::Overall(_) => Kind::Overall(Vec::new()),
            Holds::Fact(Target::Declared(name), _) => Kind::Declared(name.clone(), Vec::new()),
            Holds::Fact(Target::Fact(fact), reads) => match reads {
                Reads::Words(_) => Kind::Words(*fact),
                Reads::Number(unit, _) => Kind::Number(*fact, *unit),
                Reads::Date(_) => Kind::Date(*fact),
                Reads::Text(..) | Reads::Monitors(..) | Reads::Codes(..) | Reads::Declared(..) => {
                    Kind::Coded(*fact, Arc::default())
                }
            },
        };
        Builder {
            column: column.clone(),
            memo: Memo::new(),
            short: Box::new([BAD; 256]),
            kind,
            not_known: None,
            empty: None,
        }
    }

    fn read(&mut self, table: &Table, place: usize, lot: &mut Lot) {
        if self.memo.len() > KEPT {
            self.forget();
        }
        match &self.kind {
            Kind::Id => {}
            Kind::Words(fact) => {
                let fact = *fact;
                let mut codes = Vec::with_capacity(table.len);
                self.codes(table, place, lot, |code| codes.push(u8::try_from(code).unwrap_or(u8::MAX)));
                lot.store.facts.push((Target::Fact(fact), Values::Bytes(Held::Own(codes), meanings(fact))));
            }
            Kind::Number(fact, unit) => {
                let (fact, unit) = (*fact, *unit);
                self.numbers(table, place, lot, fact, unit);
            }
            Kind::Date(fact) => {
                let fact = *fact;
                self.dates(table, place, lot, fact);
            }
            Kind::Status => self.status(table, place, lot),
            Kind::Coded(..) | Kind::Declared(..) | Kind::Program(_) | Kind::Recorded(_) | Kind::Overall(_) => {
                let mut codes = Vec::with_capacity(table.len);
                self.codes(table, place, lot, |code| codes.push(code));
                self.put(codes, lot);
            }
        }
    }

    /// Puts codes into their place of a lot.
    pub(super) fn put(&self, codes: Vec<u32>, lot: &mut Lot) {
        match &self.kind {
            Kind::Words(fact) => {
                let bytes = codes.iter().map(|code| u8::try_from(*code).unwrap_or(u8::MAX)).collect();
                lot.store.facts.push((Target::Fact(*fact), Values::Bytes(Held::Own(bytes), meanings(*fact))));
            }
            Kind::Coded(fact, meaning) => {
                let values = Values::Coded(Held::Own(codes), Arc::clone(meaning));
                lot.store.facts.push((Target::Fact(*fact), values));
            }
            Kind::Declared(name, values) => {
                let values = Values::Declared(Held::Own(codes), values.clone());
                lot.store.facts.push((Target::Declared(name.clone()), values));
            }
            Kind::Program(names) => {
                lot.programs.clone_from(names);
                lot.program = Some(codes);
            }
            Kind::Recorded(results) => {
                lot.results.clone_from(results);
                lot.recorded = Some(codes);
            }
            Kind::Overall(results) => {
                lot.overall_results.clone_from(results);
                lot.overall = Some(codes);
            }
            Kind::Id | Kind::Number(..) | Kind::Date(_) | Kind::Status => {}
        }
    }

    pub(super) fn forget(&mut self) {
        self.memo = Memo::new();
        *self.short = [BAD; 256];
        (self.not_known, self.empty) = (None, None);
        match &mut self.kind {
            Kind::Coded(_, meaning) => *meaning = Arc::default(),
            Kind::Declared(_, values) => values.clear(),
            Kind::Program(_) | Kind::Recorded(_) | Kind::Overall(_) => {}
            Kind::Id | Kind::Words(_) | Kind::Number(..) | Kind::Date(_) | Kind::Status => {}
        }
    }

    /// Reads every field to a code.
    #[inline]
    fn codes(&mut self, table: &Table, place: usize, lot: &mut Lot, mut push: impl FnMut(u32)) {
        // What most records say, no code among them, is what the one before said.
        let mut last = (None, BAD);
        for (row, (from, to)) in table.column(place).enumerate() {
            let short = match (to.wrapping_sub(from), table.bytes.get(from)) {
                (1, Some(byte)) => self.short.get(usize::from(*byte)).copied().unwrap_or(BAD),
                _ => BAD,
            };
            if short != BAD {
                push(short);
                continue;
            }
            let key = packed(&table.bytes, from, to);
            // Each record that cannot be used has a remark of its own.
            if key.is_none() || key != last.0 || last.1 == BAD {
                last = (key, self.code(table, (from, to), key, row, lot));
            }
            push(if last.1 == BAD { self.unknown() } else { last.1 });
        }
    }

    /// The code of *not known*.
    pub(super) fn unknown(&mut self) -> u32 {
        match &self.kind {
            Kind::Words(fact) => u32::try_from(fact.words().len()).unwrap_or(0),
            Kind::Program(_) | Kind::Recorded(_) | Kind::Overall(_) => NONE,
            _ => {
                let known = self.not_known.unwrap_or_else(|| self.new_code(Field::NotKnown));
                self.not_known = Some(known);
                known
            }
        }
    }

    #[inline(never)]
    fn code(&mut self, table: &Table, place: (usize, usize), key: Option<u128>, row: usize, lot: &mut Lot) -> u32 {
        let (from, to) = place;
        if from > to {
            return if from == 2 { self.empty() } else { self.unknown() };
        }
        let text = table.bytes.get(from..to).unwrap_or(&[]);
        let found = match key {
            Some(key) => self.memo.find(key),
            None => self.memo.find_long(text),
        };
        if let Some(code) = found {
            return code;
        }
        let code = match self.column.field(text) {
            Ok(field) => self.new_code(field),
            Err(reason) => {
                aside(lot, row, &self.column.name, text, reason);
                return BAD;
            }
        };
        match (key, text) {
            (Some(_), [byte]) => {
                if let Some(slot) = self.short.get_mut(usize::from(*byte)) {
                    *slot = code;
                }
            }
            (Some(key), _) => self.memo.keep(key, code),
            (None, _) => self.memo.keep_long(text, code),
        }
        code
    }

    /// The code of a list that is there and empty.
    fn empty(&mut self) -> u32 {
        let known = self.empty.unwrap_or_else(|| self.new_code(self.empty_list()));
        self.empty = Some(known);
        known
    }

    /// What a list that is there and empty says.
    fn empty_list(&self) -> Field {
        let value = match &self.column.holds {
            Holds::Fact(_, Reads::Codes(_, partial)) => {
                Value::Codes(crate::model::CodeList { may_hold_more: *partial, ..crate::model::CodeList::default() })
            }
            Holds::Fact(_, Reads::Monitors(..)) => Value::Monitors(crate::model::MonitorSet::EMPTY),
            Holds::Fact(..)
            | Holds::MonitorStatus
            | Holds::RecordId
            | Holds::Program(_)
            | Holds::Recorded(_)
            | Holds::Overall(_) => {
                return Field::NotKnown;
            }
        };
        Field::Given(Given::Reading(Reading::Known(value)))
    }

    /// Before the entries of a dictionary: what was kept is forgotten where it would grow too large.
    pub(super) fn begin(&mut self, entries: usize) {
        if self.memo.len().saturating_add(entries) > KEPT {
            self.forget();
        }
    }

    /// The code of an entry of a dictionary.
    pub(super) fn entry(&mut self, text: &[u8]) -> Result<u32, String> {
        let key = packed(text, 0, text.len());
        let found = match key {
            Some(key) => self.memo.find(key),
            None => self.memo.find_long(text),
        };
        if let Some(code) = found {
            return Ok(code);
        }
        let field = self.column.field(text)?;
        let code = self.new_code(field);
        match key {
            Some(key) => self.memo.keep(key, code),
            None => self.memo.keep_long(text, code),
        }
        Ok(code)
    }

    /// A code for what a text says.
    pub(super) fn new_code(&mut self, field: Field) -> u32 {
        let place = |len: usize| u32::try_from(len).unwrap_or(BAD);
        match (&mut self.kind, field) {
            (Kind::Words(_), Field::Given(Given::Reading(Reading::Known(Value::Word(word))))) => u32::from(word),
            (Kind::Words(fact), Field::Given(Given::Reading(Reading::NotOnVehicle))) => place(fact.words().len() + 1),
            (Kind::Words(fact), _) => place(fact.words().len()),
            (Kind::Coded(fact, meaning), field) => {
                let possible = match &field {
                    Field::Given(Given::Reading(reading)) => possible(*fact, Some(reading)),
                    _ => possible(*fact, None),
                };
                // What the lot before was lent is gone by now, so that nothing is copied here.
                let list = Arc::make_mut(meaning);
                list.push(possible);
                place(list.len() - 1)
            }
            (Kind::Declared(_, values), field) => {
                let value = match field {
                    Field::Given(Given::Declared(value)) => Some(value),
                    _ => None,
                };
                if let Some(known) = values.iter().position(|other| *other == value) {
                    return place(known);
                }
                values.push(value);
                place(values.len() - 1)
            }
            (Kind::Program(names), Field::Text(name)) => intern(names, name),
            (Kind::Recorded(results) | Kind::Overall(results), Field::Recorded(result)) => intern(results, result),
            (Kind::Program(_) | Kind::Recorded(_) | Kind::Overall(_), _) => NONE,
            (Kind::Id | Kind::Number(..) | Kind::Date(_) | Kind::Status, _) => BAD,
        }
    }

    fn numbers(&mut self, table: &Table, place: usize, lot: &mut Lot, fact: Fact, unit: Unit) {
        let (least, most) = super::mapping::range_of(fact).unwrap_or((i64::MIN, i64::MAX));
        let scale = unit.scale();
        let mut values: Vec<i32> = Vec::with_capacity(table.len);
        let mut known = Filled::of(table.len);
        let mut odd: Vec<(usize, Option<i64>)> = Vec::new();
        let may_be_mark = self.column.has_mark(|mark| plain_number(mark, 0, mark.len()).is_some());
        for (row, (from, to)) in table.column(place).enumerate() {
            let text = || table.bytes.get(from..to).unwrap_or(&[]);
            if let Some(number) = plain_number(&table.bytes, from, to)
                && (least..=most).contains(&(i64::from(number) * scale))
                && !(may_be_mark && self.column.is_mark(text()))
            {
                values.push(number);
                continue;
            }
            values.push(0);
            known.miss(row);
            if from > to {
                continue;
            }
            match self.column.field(text()) {
                Ok(Field::Given(Given::Reading(Reading::Known(value)))) => odd.push((row, base(&value))),
                Ok(Field::Given(Given::Reading(Reading::NotOnVehicle))) => odd.push((row, None)),
                Ok(_) => {}
                Err(reason) => aside(lot, row, &self.column.name, text(), reason),
            }
        }
        let values = match odd.is_empty() {
            true => Values::Whole(Held::Own(values), scale, known.bits()),
            false => with_odd(fact, &values, scale, known.bytes(), &odd),
        };
        lot.store.facts.push((Target::Fact(fact), values));
    }

    fn dates(&mut self, table: &Table, place: usize, lot: &mut Lot, fact: Fact) {
        let mut days: Vec<i32> = Vec::with_capacity(table.len);
        let mut known = Filled::of(table.len);
        let mut last: (u128, i32) = (0, 0);
        for (row, (from, to)) in table.column(place).enumerate() {
            let key = packed(&table.bytes, from, to);
            if key.is_some_and(|key| key == last.0) {
                days.push(last.1);
                continue;
            }
            if let Some(code) = key.and_then(|key| self.memo.find(key)) {
                let day = i32::try_from(i64::from(code) - 1_000_000).unwrap_or(0);
                last = (key.unwrap_or(0), day);
                days.push(day);
                continue;
            }
            let text = table.bytes.get(from..to).unwrap_or(&[]);
            let field = if from > to { Ok(Field::NotKnown) } else { self.column.field(text) };
            match field {
                Ok(Field::Given(Given::Reading(Reading::Known(Value::Date(date))))) => {
                    let day = i32::try_from(day_number(date)).unwrap_or(0);
                    // Day numbers before 1970 are negative, codes are not.
                    if let (Some(key), Ok(code)) = (key, u32::try_from(i64::from(day) + 1_000_000)) {
                        self.memo.keep(key, code);
                    }
                    days.push(day);
                }
                Ok(_) => {
                    days.push(0);
                    known.miss(row);
                }
                Err(reason) => {
                    days.push(0);
                    known.miss(row);
                    aside(lot, row, &self.column.name, text, reason);
                }
            }
        }
        if fact == Fact::TestDate {
            lot.store.days = Some((Held::Own(days), known.bits()));
        } else {
            lot.store.facts.push((Target::Fact(fact), Values::Whole(Held::Own(days), 1, known.bits())));
        }
    }

    fn status(&mut self, table: &Table, place: usize, lot: &mut Lot) {
        let mut values: Vec<u32> = Vec::with_capacity(table.len);
        let mut known = Filled::of(table.len);
        let may_be_mark = self.column.has_mark(|mark| super::mapping::status_bytes(mark).is_some());
        for (row, (from, to)) in table.column(place).enumerate() {
            let text = table.bytes.get(from..to).unwrap_or(&[]);
            let is_mark = may_be_mark && self.column.is_mark(super::mapping::trimmed(text));
            if let (Some(bytes), false) = (eight_digits(text), is_mark) {
                values.push(bytes);
                continue;
            }
            match super::mapping::status_bytes(super::mapping::trimmed(text)) {
                Some(bytes) if !is_mark => values.push(u32::from_be_bytes(bytes)),
                _ => {
                    values.push(0);
                    known.miss(row);
                    if let (true, Err(reason)) = (from <= to, self.column.field(text)) {
                        aside(lot, row, &self.column.name, text, reason);
                    }
                }
            }
        }
        lot.store.monitor_bytes = Some((Held::Own(values), known.bits()));
    }
}

fn intern<T: PartialEq>(list: &mut Vec<T>, item: T) -> u32 {
    let place = list.iter().position(|known| *known == item).unwrap_or_else(|| {
        list.push(item);
        list.len() - 1
    });
    u32::try_from(place).unwrap_or(NONE)
}
