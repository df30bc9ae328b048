//! Random records as columns of every kind, and the same records as snapshots: what the columnar engine is held against.

use super::said::{Said, conditions, said_of};
use std::collections::BTreeMap;
use wherefore::internals::bulk::{Batch, Codes, Column, Dates, Known, Whole};
use wherefore::internals::model::exclusion::needs_an_answer;
use wherefore::internals::model::facts::Possible;
use wherefore::internals::model::{
    Date, DeclaredValue, Fact, Monitor, Reading, Snapshot, Value, date_of, day_number, table::all_facts,
};
use wherefore::internals::program::block::DeclaredType;
use wherefore::internals::program::given::facts_of;
use wherefore::internals::program::{FactRef, Flat};

/// A small generator of numbers: the same ones on every machine.
#[derive(Clone)]
pub struct Dice(pub u64);

impl Dice {
    pub fn roll(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % sides.max(1)
    }

    pub fn pick<T: Clone>(&mut self, list: &[T]) -> T {
        list[self.roll(list.len())].clone()
    }
}

/// A fact that the records have, and how its column is written.
pub struct Field {
    pub fact: FactRef<String>,
    pub values: Vec<Said>,
    /// Numbers in this scale instead of codes.
    scale: Option<i64>,
    /// Not known by the validity bits; else only by a meaning.
    has_known: bool,
    wide: bool,
}

/// The facts of a program and the values on either side of each of its tests.
pub struct Vocabulary {
    pub fields: Vec<Field>,
    pub dates: Vec<Date>,
    pub has_bytes: bool,
}

impl Vocabulary {
    /// The facts that a program asks on any of these dates.
    pub fn of(flats: &[Flat], dates: Vec<Date>, dice: &mut Dice) -> Vocabulary {
        let mut asked: BTreeMap<FactRef<String>, Vec<Said>> = BTreeMap::new();
        let mut scales = BTreeMap::new();
        for flat in flats {
            let mut facts: Vec<FactRef<usize>> =
                conditions(flat).into_iter().flat_map(|condition| facts_of(flat, condition)).collect();
            facts.extend([Fact::Ignition, Fact::Fuel, Fact::Visit].map(FactRef::Known));
            facts.extend(Monitor::all().take(16).map(|monitor| FactRef::Known(Fact::Monitor(monitor))));
            facts.retain(|fact| *fact != FactRef::Known(Fact::TestDate));
            for fact in facts {
                let (name, said, scale) = said_of(flat, &fact);
                asked.entry(name.clone()).or_default().extend(said);
                if let Some(scale) = scale {
                    scales.insert(name, scale);
                }
            }
        }
        let has_bytes = dice.roll(2) == 0;
        let mut fields = Vec::new();
        for (fact, mut values) in asked {
            let is_of_bytes = matches!(fact, FactRef::Known(Fact::Monitor(_) | Fact::Ignition | Fact::LampCommanded));
            if dice.roll(10) == 0 || has_bytes && is_of_bytes && dice.roll(6) != 0 {
                continue;
            }
            values.sort();
            values.dedup();
            let scale = scales.get(&fact).copied().filter(|_| dice.roll(4) != 0);
            if scale.is_some() {
                values.retain(|(_, reading)| !matches!(reading, Some(Reading::NotOnVehicle)));
            }
            fields.push(Field { fact, values, scale, has_known: dice.roll(3) != 0, wide: dice.roll(4) == 0 });
        }
        // First, since what else can be read depends on it.
        fields.sort_by_key(|field| field.fact != FactRef::Known(Fact::Communication));
        Vocabulary { fields, dates, has_bytes }
    }
}

/// A column that owns what it holds.
struct Owned {
    fact: FactRef<String>,
    bytes: Vec<u8>,
    longs: Vec<u32>,
    numbers: Vec<i32>,
    bigs: Vec<i64>,
    meaning: Vec<Possible>,
    scale: Option<i64>,
    known: Option<Vec<u8>>,
}

/// Records in both forms.
pub struct Records {
    columns: Vec<Owned>,
    monitor_bytes: Option<(Vec<u32>, Vec<u8>)>,
    days: Vec<i32>,
    pub snapshots: Vec<Snapshot>,
}

/// Bits before the first record in a bitmap, so that offsets are tried.
const OFFSET: usize = 3;

/// One reading in so many of a vehicle that does not answer is written all the same.
const SPURIOUS: usize = 40;

fn bitmap(len: usize) -> Vec<u8> {
    vec![0; (len + OFFSET) / 8 + 1]
}

impl Records {
    /// So many random records. `unknown` is how many in a hundred readings are not known.
    pub fn roll(vocabulary: &Vocabulary, len: usize, unknown: usize, dice: &mut Dice) -> Records {
        let mut snapshots = vec![Snapshot::default(); len];
        let days: Vec<i32> = (0..len).map(|_| day_number(dice.pick(&vocabulary.dates)) as i32).collect();
        for (snapshot, day) in snapshots.iter_mut().zip(&days) {
            snapshot.set(Fact::TestDate, Value::Date(date_of(i64::from(*day)).unwrap()));
        }
        let engines: Vec<bool> = snapshots.iter().map(|_| dice.roll(4) == 0).collect();
        let mut columns = Vec::new();
        let is_communication = |field: &&Field| field.fact == FactRef::Known(Fact::Communication);
        for field in vocabulary.fields.iter().filter(is_communication) {
            columns.push(owned(field, &mut snapshots, &engines, unknown, dice));
        }
        let monitor_bytes = vocabulary.has_bytes.then(|| {
            let mut known = bitmap(len);
            let mut all = Vec::new();
            for (row, snapshot) in snapshots.iter_mut().enumerate() {
                // Spark or compression, a plain set of supported monitors, few of them incomplete.
                let (b3, c) = if dice.roll(5) == 0 { (0x08, 0xEB) } else { (0, 0xE7) };
                let b = 0x07 | b3 | (dice.roll(8) as u32) << 4;
                let d = (dice.roll(256) & dice.roll(256)) as u32;
                let c = if dice.roll(20) == 0 { dice.roll(256) as u32 } else { c };
                let b = if dice.roll(40) == 0 { b & !0x07 } else { b };
                let a = (dice.roll(2) as u32) << 7 | dice.roll(8) as u32;
                let value = a << 24 | b << 16 | c << 8 | d;
                all.push(value);
                if dice.roll(100) >= unknown && (!snapshot.is_silent() || dice.roll(SPURIOUS) == 0) {
                    known[(row + OFFSET) / 8] |= 1 << ((row + OFFSET) % 8);
                    by_decode(snapshot, value);
                }
            }
            (all, known)
        });
        for field in vocabulary.fields.iter().filter(|field| !is_communication(field)) {
            columns.push(owned(field, &mut snapshots, &engines, unknown, dice));
        }
        Records { columns, monitor_bytes, days, snapshots }
    }

    /// The records as a batch.
    pub fn batch(&self) -> Batch<'_> {
        let mut batch = Batch::new(self.days.len(), Dates::Each { days: &self.days, known: None }).unwrap();
        if let Some((bytes, known)) = &self.monitor_bytes {
            batch = batch.with_monitor_bytes(bytes, Some(Known { bits: known, offset: OFFSET })).unwrap();
        }
        for column in &self.columns {
            let known = column.known.as_ref().map(|bits| Known { bits, offset: OFFSET });
            let lent = match (column.scale, column.numbers.is_empty(), column.bytes.is_empty()) {
                (Some(scale), false, _) => Column::Numbers { values: Whole::I32(&column.numbers), scale, known },
                (Some(scale), true, _) => Column::Numbers { values: Whole::I64(&column.bigs), scale, known },
                (None, _, false) => Column::Coded { codes: Codes::U8(&column.bytes), meaning: &column.meaning, known },
                (None, _, true) => Column::Coded { codes: Codes::U32(&column.longs), meaning: &column.meaning, known },
            };
            batch = batch.with(column.fact.clone(), lent).unwrap();
        }
        batch
    }
}

fn say(snapshot: &mut Snapshot, fact: &FactRef<String>, said: &Said) {
    match (fact, &said.1) {
        (FactRef::Known(fact), Some(reading)) => {
            snapshot.readings.insert(*fact, reading.clone());
        }
        (FactRef::Known(fact), None) => {
            snapshot.readings.remove(fact);
        }
        (FactRef::Declared(_), _) => {}
    }
}

/// The value that goes with the kind of engine and a retest, where the fact has one: records at random would nearly all
/// contradict themselves.
fn likely(field: &Field, is_compression: bool) -> Option<usize> {
    let word = match field.fact {
        FactRef::Known(Fact::Monitor(monitor))
            if is_compression && monitor.is_spark_only() || !is_compression && monitor.is_compression_only() =>
        {
            1
        }
        FactRef::Known(Fact::Monitor(monitor)) if monitor.is_j1939() => 1,
        FactRef::Known(Fact::Ignition | Fact::Fuel) => 1 << u32::from(is_compression),
        FactRef::Known(Fact::Visit | Fact::Communication) => 2,
        FactRef::Known(Fact::Protocol) => 1,
        _ => return None,
    };
    field.values.iter().position(|(possible, _)| *possible == Possible::Words(word))
}

fn owned(field: &Field, snapshots: &mut [Snapshot], engines: &[bool], unknown: usize, dice: &mut Dice) -> Owned {
    let len = snapshots.len();
    let mut meaning: Vec<Possible> = field.values.iter().map(|(possible, _)| possible.clone()).collect();
    let whole = whole_of(&field.fact, &meaning);
    meaning.extend(whole);
    let by_bits = field.has_known || field.scale.is_some() || whole_of(&field.fact, &meaning).is_none();
    let mut known = bitmap(len);
    let mut places = Vec::new();
    for (row, snapshot) in snapshots.iter_mut().enumerate() {
        let is_compression = match snapshot.get(Fact::Ignition) {
            Some(reading) => *reading == Reading::Known(Value::Word(1)),
            None => engines[row],
        };
        let place = match likely(field, is_compression) {
            Some(place) if dice.roll(30) != 0 => place,
            _ => dice.roll(field.values.len()),
        };
        let needs_an_answer = matches!(field.fact, FactRef::Known(fact) if needs_an_answer(fact).is_some());
        let is_read = !needs_an_answer || !snapshot.is_silent() || dice.roll(SPURIOUS) == 0;
        let is_known = dice.roll(100) >= unknown && is_read;
        if is_known {
            say(snapshot, &field.fact, &field.values[place]);
            if let FactRef::Declared(name) = &field.fact {
                snapshot.declared.insert(name.clone(), declared(&field.values[place].0));
            }
            known[(row + OFFSET) / 8] |= 1 << ((row + OFFSET) % 8);
            places.push(place);
        } else {
            if let FactRef::Known(fact) = &field.fact {
                snapshot.readings.remove(fact);
            }
            // What stands where nothing is known is not to be looked at.
            places.push(if by_bits { dice.roll(200) } else { meaning.len() - 1 });
        }
    }
    let mut column = Owned {
        fact: field.fact.clone(),
        bytes: Vec::new(),
        longs: Vec::new(),
        numbers: Vec::new(),
        bigs: Vec::new(),
        meaning,
        scale: field.scale,
        known: by_bits.then_some(known),
    };
    match field.scale {
        Some(scale) => {
            let value = |place: &usize| match field.values.get(*place) {
                Some((Possible::Number(span), _)) => span.least / scale,
                _ => -77,
            };
            if field.wide {
                column.bigs = places.iter().map(value).collect();
            } else {
                column.numbers = places.iter().map(|place| i32::try_from(value(place)).unwrap()).collect();
            }
        }
        None if field.wide || column.meaning.len() > 250 => {
            column.longs = places.iter().map(|place| *place as u32).collect();
        }
        None => column.bytes = places.iter().map(|place| *place as u8).collect(),
    }
    column
}

/// The meaning *not known* of a coded column, where it has one of its own.
fn whole_of(fact: &FactRef<String>, meaning: &[Possible]) -> Option<Possible> {
    match (fact, meaning.first()?) {
        (FactRef::Known(fact), _) => Some(wherefore::internals::model::Facts::unknown().get(*fact).clone()),
        (FactRef::Declared(_), Possible::Words(_)) => {
            let all = meaning.iter().fold(0, |all, one| all | if let Possible::Words(mask) = one { *mask } else { 0 });
            Some(Possible::Words(all))
        }
        _ => None,
    }
}

fn declared(possible: &Possible) -> DeclaredValue {
    // The number in the declared unit is set by the caller, who knows the unit; words by their place.
    match possible {
        Possible::Words(mask) => DeclaredValue::Word(format!("#{}", mask.trailing_zeros())),
        Possible::Number(span) => DeclaredValue::Number(span.least),
        _ => DeclaredValue::YesNo(false),
    }
}

/// Puts declared words and numbers into the program's own terms.
pub fn in_terms_of(flat: &Flat, snapshot: &Snapshot) -> Snapshot {
    let mut snapshot = snapshot.clone();
    for fact in &flat.facts {
        let Some(value) = snapshot.declared.get(&fact.name).cloned() else { continue };
        let value = match (value, &fact.kind) {
            (DeclaredValue::Word(place), kind) => {
                let place: usize = place.trim_start_matches('#').parse().unwrap();
                DeclaredValue::Word(kind.words()[place].to_owned())
            }
            (DeclaredValue::Number(base), DeclaredType::Number { unit, .. }) => {
                DeclaredValue::Number(base / unit.scale())
            }
            (other, _) => other,
        };
        snapshot.declared.insert(fact.name.clone(), value);
    }
    snapshot
}

/// What the decoder of messages makes of the bytes where one controller answers (tests/it/decode_vectors has its own
/// sources); read by the bits of SAE J1979 as the digest of vehicle data has them, section 1.2.
fn by_decode(snapshot: &mut Snapshot, value: u32) {
    let spark = [
        "catalyst",
        "heated-catalyst",
        "evaporative",
        "secondary-air",
        "air-conditioning",
        "oxygen-sensor",
        "oxygen-sensor-heater",
        "egr-vvt",
    ];
    let compression = [
        "nmhc-catalyst",
        "nox-aftertreatment",
        "",
        "boost-pressure",
        "",
        "exhaust-gas-sensor",
        "particulate-filter",
        "egr-vvt",
    ];
    let lamp = value >> 31 == 1;
    let is_engine = value & 0x0003_FF00 != 0;
    if lamp || is_engine {
        snapshot.set_word(Fact::LampCommanded, if lamp { "yes" } else { "no" });
    }
    if !is_engine {
        return;
    }
    let is_compression = value >> 19 & 1 == 1;
    snapshot.set_word(Fact::Ignition, if is_compression { "compression" } else { "spark" });
    let mut monitor = |name: &str, support: u32, status: u32| {
        let state = match (value >> support & 1, value >> status & 1) {
            (0, _) => "unsupported",
            (_, 0) => "complete",
            _ => "incomplete",
        };
        if let Some(monitor) = Monitor::named(name) {
            snapshot.set_word(Fact::Monitor(monitor), state);
        }
    };
    for (at, name) in ["misfire", "fuel-system", "components"].iter().enumerate() {
        monitor(name, 16 + at as u32, 20 + at as u32);
    }
    for (at, name) in if is_compression { compression } else { spark }.iter().enumerate() {
        monitor(name, 8 + at as u32, at as u32);
    }
}

/// Every fact of the table is a field that a batch can give.
#[test]
fn every_fact_of_the_table_has_a_column_but_the_test_date() {
    for fact in all_facts() {
        let whole = wherefore::internals::model::Facts::unknown().get(fact).clone();
        let meaning = [whole];
        let column = Column::Coded { codes: Codes::U8(&[0]), meaning: &meaning, known: None };
        let batch = Batch::new(1, Dates::One(Date::constant(2026, 11, 25))).unwrap();
        assert_eq!(batch.with(FactRef::Known(fact), column).is_ok(), fact != Fact::TestDate, "{fact:?}");
    }
}
