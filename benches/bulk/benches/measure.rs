//! Measures, and prints a table: absolute times and the ratios that count, in one run. The machine should be at rest; the
//! ratios of one run hold better than the times.

use rayon::prelude::*;
use std::hint::black_box;
use std::time::Instant;
use wherefore::internals::bulk::{Batch, Documents, Engine, Judged, Options, Room, Ruled};
use wherefore::internals::document;
use wherefore::internals::model::{Date, day_number};
use wherefore_bench::engines::{self, Answer, Prepared};
use wherefore_bench::policy;
use wherefore_bench::records::{self, Columns, Meanings, cars};

/// Records of a batch, as an audit would have them.
const BATCH: usize = 1 << 16;

/// Nanoseconds a record: the least of some runs, which is what the work takes when nothing else is in the way.
fn measure<T>(records: usize, runs: usize, mut call: impl FnMut() -> T) -> f64 {
    let times = (0..runs).map(|_| {
        let start = Instant::now();
        drop(black_box(call()));
        start.elapsed().as_nanos()
    });
    times.min().unwrap_or(0) as f64 / records as f64
}

fn row(name: &str, nanoseconds: f64, note: &str) {
    println!("{name:<58} {nanoseconds:>10.3} ns  {note}");
}

fn ratio(name: &str, found: f64, target: &str) {
    println!("{name:<58} {found:>10.2}     target {target}");
}

/// Judges a batch in parts of a size that stays in the near caches; the number of failed records keeps it honest.
fn in_parts(engine: &Engine, batch: &Batch<'_>) -> u64 {
    let parts = (0..batch.len().div_ceil(BATCH)).map(|part| batch.slice(part * BATCH, BATCH));
    parts.map(|part| failed(&engine.judge(&part))).sum()
}

fn failed(judged: &Judged) -> u64 {
    judged.possible().last().map_or(0, |plane| plane.count())
}

fn columns() {
    let engine = Engine::new(&policy::bench(), Options::default()).unwrap();
    let meanings = Meanings::new();
    let near = Columns::of(&cars(BATCH, 7));
    let batch = near.batch(&meanings);
    let (operations, reads) = engine.judge(&batch).parts()[0].rules.size(&batch).unwrap();
    println!("columnar, one policy: {operations} word operations and {reads} planes read, 1024 records a block");
    row("  plain scan of the same bytes, in cache", measure(BATCH, 200, || near.scan()), "");
    row("  judged, in cache", measure(BATCH, 200, || failed(&engine.judge(&batch))), "");
    let many = 1 << 24;
    let far = Columns::of(&cars(many, 7));
    let batch = far.batch(&meanings);
    let scan = measure(many, 9, || far.scan());
    row("  plain scan of the same bytes, from memory", scan, "11 bytes a record");
    let one = measure(many, 9, || in_parts(&engine, &batch));
    row("  judged, from memory, one core", one, "");
    let parts: Vec<Batch<'_>> = (0..many.div_ceil(BATCH)).map(|part| batch.slice(part * BATCH, BATCH)).collect();
    let all = measure(many, 9, || parts.par_iter().map(|part| failed(&engine.judge(part))).sum::<u64>());
    row("  judged, from memory, all cores", all, &format!("{} threads", rayon::current_num_threads()));
    ratio("columnar from memory, one core / plain scan", one / scan, "2.5");
    ratio("one core / all cores", one / all, "-");
}

fn rows() {
    let cars = cars(4096, 11);
    let library = engines::Rows::new(&policy::bench());
    let (cel, rhai) = (engines::Cel::default(), engines::Rhai::default());
    let (evalexpr, zen) = (engines::Evalexpr::default(), engines::Zen::default());
    let prepared: Vec<Prepared> = cars.iter().map(Prepared::of).collect();
    let cels: Vec<_> = cars.iter().map(|car| cel.prepare(car)).collect();
    let mut scopes: Vec<_> = cars.iter().map(|car| rhai.prepare(car)).collect();
    let maps: Vec<_> = cars.iter().map(|car| evalexpr.prepare(car)).collect();
    let objects: Vec<_> = cars.iter().map(|car| zen.prepare(car)).collect();
    let mut vm = zen_expression::vm::VM::new();

    let expected: Vec<Answer> = cars.iter().map(engines::by_hand).collect();
    let columnar = by_columns(&cars);
    for (at, expected) in expected.iter().enumerate() {
        assert_eq!(columnar[at], *expected, "columnar, {:?}", cars[at]);
        assert_eq!(library.judge(&prepared[at]), *expected, "row path, {:?}", cars[at]);
        assert_eq!(cel.judge(&cels[at]), *expected, "cel, {:?}", cars[at]);
        assert_eq!(rhai.judge(&mut scopes[at]), *expected, "rhai, {:?}", cars[at]);
        assert_eq!(evalexpr.judge(&maps[at]), *expected, "evalexpr, {:?}", cars[at]);
        assert_eq!(zen.judge(&objects[at], &mut vm), *expected, "zen, {:?}", cars[at]);
    }
    let kinds = |verdict: u8| expected.iter().filter(|answer| answer.0 == verdict).count();
    println!(
        "one record: all agree on {} records ({} pass, {} reject, {} fail, {} not subject) and on every list of reasons",
        cars.len(),
        kinds(0),
        kinds(1),
        kinds(2),
        kinds(3),
    );
    let count = cars.len();
    row("  by hand", measure(count, 50, || cars.iter().map(|c| engines::by_hand(c).1.count_ones()).sum::<u32>()), "");
    let ours = measure(count, 50, || {
        prepared.iter().map(|one| library.brief(one).map_or(0, |brief| brief.standing.count_ones())).sum::<u32>()
    });
    row("  row path, prepared facts: verdict and all reasons", ours, "");
    let others = [
        ("cel-interpreter", measure(count, 9, || cels.iter().map(|one| cel.judge(one).1.count_ones()).sum::<u32>())),
        ("rhai", measure(count, 9, || scopes.iter_mut().map(|one| rhai.judge(one).1.count_ones()).sum::<u32>())),
        ("evalexpr", measure(count, 9, || maps.iter().map(|one| evalexpr.judge(one).1.count_ones()).sum::<u32>())),
        ("zen-expression", measure(count, 9, || {
            objects.iter().map(|one| zen.judge(one, &mut vm).1.count_ones()).sum::<u32>()
        })),
    ];
    for (name, time) in &others {
        row(&format!("  {name}"), *time, "");
    }
    let fastest = others.iter().map(|(_, time)| *time).fold(f64::MAX, f64::min);
    ratio("fastest general-purpose engine / row path", fastest / ours, "at least 10, and under 50 ns");

    let texts: Vec<String> = cars.iter().map(records::document).collect();
    let parse = measure(count, 21, || texts.iter().map(|text| parsed(text).since_clear.warm_ups).max());
    let judge = measure(count, 21, || {
        texts.iter().map(|text| library.brief(&of_document(&parsed(text))).map_or(0, |b| b.standing.count_ones())).sum::<u32>()
    });
    for (at, text) in texts.iter().enumerate() {
        assert_eq!(library.judge(&of_document(&parsed(text))), expected[at]);
    }
    row("  JSON text to a typed snapshot", parse, "serde_json");
    row("  JSON text to verdict and all reasons", judge, "");
    ratio("JSON text to verdict, by hand from the typed snapshot / parsing", judge / parse, "1.2");
    texts_to_verdicts(&texts, &expected, parse);
    rulings(&texts);
}

/// The library's own path from the text of a document to the verdict.
fn texts_to_verdicts(texts: &[String], expected: &[Answer], parse: f64) {
    let documents = Documents::new(Engine::new(&policy::bench(), Options::default()).unwrap());
    let mut room = Room::default();
    for (text, expected) in texts.iter().zip(expected) {
        let told = documents.judge(text, &mut room).unwrap();
        let Ruled::Settled(brief) = told.ruled() else { panic!("not settled at once: {text}") };
        let lines = &told.rules().flat().lines;
        let place = |line: usize| policy::CLAUSES.iter().position(|clause| *clause == lines[line].clause).unwrap();
        let standing = (0..lines.len()).filter(|line| brief.standing >> line & 1 == 1);
        let unmet = standing.fold(0u8, |bits, line| bits | 1 << place(line));
        let verdict = match told.verdict().unwrap() {
            wherefore::internals::program::Verdict::NotSubject => 3,
            wherefore::internals::program::Verdict::Outcome(place) => place as u8,
        };
        assert_eq!((verdict, unmet), *expected, "{text}");
    }
    let read = measure(texts.len(), 21, || texts.iter().filter(|text| documents.read(text, &mut room)).count());
    let judge = measure(texts.len(), 21, || {
        let mut standing = 0;
        for text in texts {
            if let Ruled::Settled(brief) = documents.judge(text, &mut room).unwrap().ruled() {
                standing += brief.standing.count_ones();
            }
        }
        standing
    });
    row("  JSON text to the slots of the program", read, "the library's own reader, every fact of the table");
    row("  JSON text to verdict and all reasons", judge, "the library's own path");
    ratio("JSON text to verdict / serde_json to a typed snapshot", judge / parse, "1.2");
    ratio("JSON text to verdict / the same reading without the verdict", judge / read, "1.2");
}

/// A whole ruling, and what it is made of.
fn rulings(texts: &[String]) {
    let program = policy::bench();
    let flat = wherefore::internals::program::select(&program, &wherefore::internals::program::Selection::on(records::DATE)).unwrap();
    let snapshots: Vec<_> = texts.iter().take(256).map(|text| document::read(text.as_bytes()).unwrap().snapshot).collect();
    let count = snapshots.len();
    let prepared = wherefore::internals::ruling::Prepared::new(flat.clone());
    for snapshot in &snapshots {
        assert_eq!(prepared.judge(&program, snapshot).unwrap(), wherefore::internals::ruling::judge(&flat, &program, snapshot).unwrap());
    }
    let trace = measure(count, 9, || {
        let each = snapshots.iter().map(|one| wherefore::internals::program::Given::of(&flat, one).unwrap());
        each.map(|given| wherefore::internals::evaluate::interpret(&flat, &given).lines.len()).sum::<usize>()
    });
    let brief = measure(count, 9, || {
        snapshots.iter().map(|one| wherefore::internals::ruling::judge_briefly(&flat, &program, one).unwrap().grounds.len()).sum::<usize>()
    });
    let proof = measure(count, 9, || {
        snapshots.iter().filter(|one| wherefore::internals::ruling::certificate(&flat, one).unwrap().is_some()).count()
    });
    let many = measure(count, 9, || {
        snapshots.iter().map(|one| prepared.judge(&program, one).unwrap().grounds.len()).sum::<usize>()
    });
    let one = measure(count, 3, || {
        snapshots.iter().map(|one| wherefore::internals::ruling::judge(&flat, &program, one).unwrap().grounds.len()).sum::<usize>()
    });
    row("  the record of every line", trace, "what is possible of each fact, and the interpreter's trace");
    row("  ruling with trace and reasons", brief, "target under 10,000 ns with the certificate");
    row("  certificate, made and checked", proof, "");
    row("  whole ruling with sufficient facts, program prepared", many, "");
    row("  whole ruling with sufficient facts, one alone", one, "");
    ratio("whole ruling, one alone / prepared", one / many, "-");
}

fn parsed(text: &str) -> records::Document<'_> {
    serde_json::from_str(text).unwrap()
}

fn of_document(document: &records::Document<'_>) -> Prepared {
    use records::{Communication, Kind, State};
    let mut states = wherefore::internals::evaluate::States { unsupported: 0xFFFF_F800, complete: 0, incomplete: 0 };
    let m = &document.monitors;
    let all = [
        m.misfire, m.fuel_system, m.components, m.catalyst, m.heated_catalyst, m.evaporative, m.secondary_air,
        m.air_conditioning, m.oxygen_sensor, m.oxygen_sensor_heater, m.egr_vvt,
    ];
    for (at, state) in all.into_iter().enumerate() {
        states.unsupported |= u32::from(state == State::Unsupported) << at;
        states.complete |= u32::from(state == State::Complete) << at;
        states.incomplete |= u32::from(state == State::Incomplete) << at;
    }
    let communication = match document.communication {
        Communication::Is(false) => 0,
        Communication::Is(true) => 1,
        Communication::Other(_) => 2,
    };
    let values = [
        i64::from(document.vehicle.model_year),
        1 << (document.connector as u8),
        1 << communication,
        1 << u8::from(document.lamp.lit_key_on_engine_off),
        1 << u8::from(document.lamp.commanded),
        if matches!(document.visit.kind, Kind::Initial) { 1 } else { 2 },
        i64::from(document.since_clear.warm_ups),
        if document.vehicle.ignition == "spark" { 1 } else { 2 },
    ];
    Prepared { states, values }
}

/// The verdict and the requirements not met by the columnar engine: every line of a record that decides, and for the
/// rest of its requirements the verdict alone is compared.
fn by_columns(cars: &[records::Car]) -> Vec<Answer> {
    let engine = Engine::new(&policy::bench(), Options::default()).unwrap();
    let (columns, meanings) = (Columns::of(cars), Meanings::new());
    let judged = engine.judge(&columns.batch(&meanings));
    let answer = |(at, car): (usize, &records::Car)| {
        let row = judged.row(at).unwrap();
        let lines = &row.rules().flat().lines;
        let place = |line: usize| policy::CLAUSES.iter().position(|clause| *clause == lines[line].clause).unwrap();
        let deciding = row.deciding().fold(0u8, |bits, line| bits | 1 << place(line));
        let verdict = match row.verdict().unwrap() {
            wherefore::internals::program::Verdict::NotSubject => 3,
            wherefore::internals::program::Verdict::Outcome(place) => place as u8,
        };
        let (_, unmet) = engines::by_hand(car);
        let gravest = if verdict == 2 { unmet & 0b010_1101 } else { unmet };
        assert_eq!(deciding, gravest, "lines that decide, {car:?}");
        (verdict, unmet)
    };
    cars.iter().enumerate().map(answer).collect()
}

/// Every shipped program over records of the same make.
fn shipped() {
    let meanings = Meanings::new();
    let cars = cars(BATCH, 23);
    let columns = Columns::of(&cars);
    println!("every shipped program, columnar, one core, in cache; the columns of the policy above, other facts not known");
    let date = Date::constant(2026, 11, 25);
    for program in policy::shipped() {
        let engine = Engine::new(&program, Options::default()).unwrap();
        let batch = columns.batch(&meanings);
        let judged = engine.judge(&batch);
        let time = measure(BATCH, 5, || engine.judge(&batch));
        let rules = engine.rules(day_number(date)).unwrap();
        let size = rules.size(&batch).map_or("-".to_owned(), |(operations, reads)| format!("{operations} + {reads}"));
        let lines = rules.flat().lines.len();
        row(
            &format!("  {}", program.id),
            time,
            &format!("{lines} lines, {size} operations, {} undecided", judged.undecided().count()),
        );
    }
}

fn main() {
    let only = std::env::args().nth(1).filter(|name| !name.starts_with('-'));
    let wanted = |name: &str| only.as_deref().is_none_or(|only| only == name);
    if wanted("columns") {
        columns();
    }
    if wanted("rows") {
        rows();
    }
    if wanted("shipped") {
        shipped();
    }
}
