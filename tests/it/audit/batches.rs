//! Record batch in, record batch out: the function that a distributed engine over Arrow would call (the contributors'
//! guide, "Beyond one machine"). Arrays are lent as they lie, planes become boolean arrays, and parts of a batch give what
//! the whole gives.

use arrow_array::cast::AsArray;
use arrow_array::types::{Date32Type, Int32Type, UInt32Type};
use arrow_array::{
    Array, ArrayRef, BooleanArray, Date32Array, DictionaryArray, Int32Array, RecordBatch, StringArray, UInt32Array,
};
use arrow_buffer::{BooleanBuffer, Buffer, NullBuffer};
use std::sync::Arc;
use wherefore::internals::bulk::{Batch, Codes, Column, Dates, Engine, Known, Options, Plane, Whole};
use wherefore::internals::model::Fact;
use wherefore::internals::model::facts::Possible;
use wherefore::internals::program::FactRef;

fn known(nulls: Option<&NullBuffer>) -> Option<Known<'_>> {
    nulls.map(|nulls| Known { bits: nulls.validity(), offset: nulls.offset() })
}

fn booleans(plane: &Plane, len: usize) -> ArrayRef {
    let buffer = BooleanBuffer::new(Buffer::from_vec(plane.0.clone()), 0, len);
    Arc::new(BooleanArray::new(buffer, None))
}

/// What a worker runs: its engine, and a batch with four columns.
fn judged(engine: &Engine, batch: &RecordBatch) -> RecordBatch {
    let days = batch["tested"].as_primitive::<Date32Type>();
    let years = batch["model_year"].as_primitive::<Int32Type>();
    let status = batch["status"].as_primitive::<UInt32Type>();
    let fuels = batch["fuel"].as_dictionary::<Int32Type>();
    let words = fuels.values().as_string::<i32>().iter();
    let meaning: Vec<Possible> =
        words.map(|word| Possible::Words(Fact::Fuel.word_bit(word.unwrap()).unwrap())).collect();
    let number = Column::Numbers { values: Whole::I32(years.values()), scale: 1, known: known(years.nulls()) };
    let fuel =
        Column::Coded { codes: Codes::I32(fuels.keys().values()), meaning: &meaning, known: known(fuels.nulls()) };
    let lent = Batch::new(batch.num_rows(), Dates::Each { days: days.values(), known: known(days.nulls()) })
        .and_then(|lent| lent.with(FactRef::Known(Fact::ModelYear), number))
        .and_then(|lent| lent.with(FactRef::Known(Fact::Fuel), fuel))
        .and_then(|lent| lent.with_monitor_bytes(status.values(), known(status.nulls())))
        .unwrap();
    let judged = engine.judge(&lent);
    let names = ["not-subject"].into_iter().chain(engine.program().outcomes.iter().map(|it| it.name.as_str()));
    let mut columns: Vec<(String, ArrayRef, bool)> = names
        .zip(judged.possible())
        .map(|(name, plane)| (name.to_owned(), booleans(plane, judged.len()), false))
        .collect();
    let mut reasons: Vec<Option<String>> = vec![None; judged.len()];
    judged.errors().iter().for_each(|(row, error)| reasons[*row] = Some(error.to_string()));
    columns.push(("set_aside".to_owned(), Arc::new(StringArray::from(reasons)), true));
    RecordBatch::try_from_iter_with_nullable(columns).unwrap()
}

fn records() -> RecordBatch {
    let len = 300;
    let rows = || 0..len;
    let days: Date32Array = rows().map(|row| (row % 17 != 3).then_some(20_000 + row * 11)).collect();
    let years: Int32Array = rows().map(|row| (row % 13 != 5).then_some(1994 + row % 31)).collect();
    let status: UInt32Array = rows()
        .map(|row| (row % 7 != 2).then_some(if row % 5 == 0 { 0x8107_E500 } else { 0x0007_E500 | (row as u32 % 256) }))
        .collect();
    let fuels: DictionaryArray<Int32Type> =
        rows().map(|row| [Some("gasoline"), Some("diesel"), None, Some("electric")][row as usize % 4]).collect();
    RecordBatch::try_from_iter_with_nullable([
        ("tested", Arc::new(days) as ArrayRef, true),
        ("model_year", Arc::new(years), true),
        ("status", Arc::new(status), true),
        ("fuel", Arc::new(fuels), true),
    ])
    .unwrap()
}

// Issue "audit at the speed of reading", "Beyond one machine".
#[test]
fn a_record_batch_goes_in_and_one_comes_out() {
    let built_in = wherefore::internals::catalog::BuiltIn;
    let entry = wherefore::internals::catalog::Catalog::new(vec![&built_in]).find("us-model").unwrap();
    let engine = Engine::new(entry.program.as_ref().unwrap(), Options::default()).unwrap();
    let batch = records();
    let whole = judged(&engine, &batch);
    assert_eq!(whole.num_rows(), batch.num_rows());
    // A record has outcomes, or a reason why it is set aside; never both, never none.
    let aside = whole["set_aside"].as_string::<i32>();
    let outcomes = &whole.columns()[..whole.num_columns() - 1];
    for row in 0..whole.num_rows() {
        let possible = outcomes.iter().filter(|column| column.as_boolean().value(row)).count();
        let reason = aside.is_valid(row).then(|| aside.value(row));
        assert_eq!(possible == 0, reason.is_some(), "record {row}: {reason:?}, {possible} outcomes");
        let is_electric = batch["fuel"].as_dictionary::<Int32Type>().key(row) == Some(2);
        let contradicts = is_electric && batch["status"].is_valid(row);
        assert_eq!(reason.is_some(), batch["tested"].is_null(row) || contradicts, "record {row}: {reason:?}");
    }
    assert!(outcomes.iter().filter(|column| column.as_boolean().true_count() > 0).count() > 2);
    // Sliced arrays are lent with their offsets.
    for (from, len) in [(0, 64), (64, 64), (3, 130), (250, 50)] {
        let part = judged(&engine, &batch.slice(from, len));
        assert_eq!(part, whole.slice(from, len), "records {from} to {}", from + len);
    }
}

// What is said to be lent is the reader's own memory, sliced or not: the address is the same. Other widths are copied.
#[test]
fn what_types_allow_is_lent_and_not_copied() {
    use arrow_array::Int64Array;
    use wherefore::internals::audit::mapping::Target;
    use wherefore::internals::audit::{Fields, Held, Values, arrow, mapping};

    let text = "format = \"wherefore-mapping/1\"\n[columns]\ntested = \"visit.date\"\nmodel_year = \"vehicle.model_year\"\n\
                odometer = \"visit.odometer_km\"\nstatus = {holds = \"pid-01\"}\n";
    let mapping = mapping::read(text).unwrap();
    let records = records();
    let odometer: ArrayRef = Arc::new(Int64Array::from_iter_values(0..300));
    let columns = ["tested", "model_year", "status"].map(|name| (name, records[name].clone(), true));
    let whole =
        RecordBatch::try_from_iter_with_nullable(columns.into_iter().chain([("odometer", odometer, true)])).unwrap();
    let places: Vec<usize> =
        mapping.columns.iter().map(|column| whole.schema().index_of(&column.name).unwrap()).collect();
    for batch in [whole.clone(), whole.slice(77, 150)] {
        let lot = arrow::lot(&batch, &places, &mut Fields::new(&mapping));
        let (days, known) = lot.store.days.as_ref().unwrap();
        let tested = batch["tested"].as_primitive::<Date32Type>();
        assert_eq!(days.all().as_ptr(), tested.values().as_ptr());
        assert_eq!(known.as_ref().unwrap().bytes.all().as_ptr(), tested.nulls().unwrap().inner().inner().as_ptr());
        let (status, _) = lot.store.monitor_bytes.as_ref().unwrap();
        assert_eq!(status.all().as_ptr(), batch["status"].as_primitive::<UInt32Type>().values().as_ptr());
        let of = |wanted: Fact| lot.store.facts.iter().find(|(target, _)| *target == Target::Fact(wanted)).unwrap();
        let (_, Values::Whole(Held::Lent(years), ..)) = of(Fact::ModelYear) else { panic!("years are copied") };
        assert_eq!((**years).as_ref().as_ptr(), batch["model_year"].as_primitive::<Int32Type>().values().as_ptr());
        let (_, Values::Whole(Held::Own(odometers), ..)) = of(Fact::Odometer) else {
            panic!("eight bytes are not four")
        };
        assert_eq!(odometers.len(), batch.num_rows());
    }
}

/// A day is the same day in every type that holds one and however the column is written: plain, with each value once, or in runs.
/// Of a moment it is the day of its own clock, before 1970 too.
#[test]
fn a_day_is_the_same_in_every_type() {
    use arrow_array::types::{
        Date64Type, TimestampMicrosecondType, TimestampMillisecondType, TimestampNanosecondType, TimestampSecondType,
    };
    use arrow_array::{PrimitiveArray, RunArray};
    use wherefore::internals::audit::{Fields, arrow, mapping};

    let mapping = mapping::read("format = \"wherefore-mapping/1\"\n[columns]\ntested = \"visit.date\"\n").unwrap();
    let days = [Some(20_000), None, Some(-1), Some(0), Some(20_000), Some(-20_000)];
    let moments = |parts: i64| days.map(|day| day.map(|day: i32| (i64::from(day) * 86_400 + 86_399) * parts));
    let types: [(&str, ArrayRef); 6] = [
        ("days", Arc::new(Date32Array::from_iter(days))),
        ("milliseconds of days", Arc::new(PrimitiveArray::<Date64Type>::from_iter(moments(1_000)))),
        ("seconds", Arc::new(PrimitiveArray::<TimestampSecondType>::from_iter(moments(1)))),
        ("milliseconds", Arc::new(PrimitiveArray::<TimestampMillisecondType>::from_iter(moments(1_000)))),
        ("microseconds", Arc::new(PrimitiveArray::<TimestampMicrosecondType>::from_iter(moments(1_000_000)))),
        ("nanoseconds", Arc::new(PrimitiveArray::<TimestampNanosecondType>::from_iter(moments(1_000_000_000)))),
    ];
    for (name, plain) in types {
        let len = i32::try_from(plain.len()).unwrap();
        let keys = Int32Array::from_iter_values(0..len);
        let once: ArrayRef = Arc::new(DictionaryArray::<Int32Type>::try_new(keys, plain.clone()).unwrap());
        let ends = Int32Array::from_iter_values(1..=len);
        let runs: ArrayRef = Arc::new(RunArray::<Int32Type>::try_new(&ends, &plain).unwrap());
        for (form, column) in [("plain", plain), ("each once", once), ("runs", runs)] {
            let batch = RecordBatch::try_from_iter_with_nullable([("tested", column, true)]).unwrap();
            let lot = arrow::lot(&batch, &[0], &mut Fields::new(&mapping));
            assert!(lot.aside.is_empty(), "{name} {form}: {:?}", lot.aside);
            let (values, known) = lot.store.days.as_ref().unwrap();
            let is_known = |row: usize| known.as_ref().is_none_or(|known| known.is(row));
            let read: Vec<Option<i32>> =
                values.all().iter().enumerate().map(|(row, day)| is_known(row).then_some(*day)).collect();
            assert_eq!(read, days, "{name} {form}");
        }
    }
}
