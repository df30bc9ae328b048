//! Measures, and prints a table: absolute times and the ratios that count, in one run. The machine should be at rest; the
//! ratios of one run hold better than the times.

use rayon::prelude::*;
use std::hint::black_box;
use std::time::Instant;
use wherefore::internals::bulk::{Batch, Documents, Engine, Judged, Options, Room, RowEngine, Ruled, Rules, TypedRow};
use wherefore::internals::document;
use wherefore::internals::model::{Date, day_number};
use wherefore::internals::program::select::epochs;
use wherefore_bench::engines::{self, Filled, Rows};
use wherefore_bench::policy::{self, Answer, Vehicle};
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

/// One engine on all records, and how long it takes a record.
fn compared<E: engines::Engine, V: Vehicle>(vehicles: &[V], expected: &[Answer], times: &mut Vec<(String, f64)>) {
    let mut engine = E::new(V::policy());
    let mut all: Vec<E::Prepared> = vehicles.iter().map(|vehicle| engine.prepare(&vehicle.facts())).collect();
    for (at, (prepared, expected)) in all.iter_mut().zip(expected).enumerate() {
        assert_eq!(engine.judge(prepared), *expected, "{} {:?}", E::NAME, vehicles[at].facts());
    }
    let time = measure(all.len(), 9, || all.iter_mut().map(|one| engine.judge(one).1.count_ones()).sum::<u32>());
    times.push((format!("{} {} ({})", E::NAME, E::VERSION, E::KIND), time));
}

/// All engines on one policy.
fn policy_by_all<V: Vehicle + Filled>(vehicles: &[V]) {
    let expected: Vec<Answer> = vehicles.iter().map(V::by_hand).collect();
    let rows = Rows::new(V::POLICY, &V::policy());
    let filled: Vec<_> = vehicles
        .iter()
        .map(|vehicle| {
            let mut row = rows.engine.row();
            vehicle.fill(&mut row);
            row
        })
        .collect();
    for (at, expected) in expected.iter().enumerate() {
        assert_eq!(rows.judge(&filled[at]), *expected, "row engine {:?}", vehicles[at].facts());
    }
    let mut times = Vec::new();
    compared::<engines::JsonLogic, V>(vehicles, &expected, &mut times);
    compared::<engines::Fasteval, V>(vehicles, &expected, &mut times);
    compared::<engines::Evalexpr, V>(vehicles, &expected, &mut times);
    compared::<engines::Zen, V>(vehicles, &expected, &mut times);
    compared::<engines::Cel, V>(vehicles, &expected, &mut times);
    compared::<engines::Rhai, V>(vehicles, &expected, &mut times);
    compared::<engines::Rego, V>(vehicles, &expected, &mut times);
    let kinds = |verdict: u8| expected.iter().filter(|answer| answer.0 == verdict).count();
    println!(
        "{}: all agree on {} records ({} pass, {} reject, {} fail, {} not subject) and on every list of reasons",
        V::POLICY,
        vehicles.len(),
        kinds(0),
        kinds(1),
        kinds(2),
        kinds(3),
    );
    let count = vehicles.len();
    row("  by hand", measure(count, 50, || vehicles.iter().map(|one| one.by_hand().1.count_ones()).sum::<u32>()), "");
    let reasons = |row: &TypedRow| rows.engine.judge(row).map_or(0, |found| found.surely.count_ones());
    let ours = measure(count, 200, || filled.iter().map(reasons).sum::<u32>());
    let (gates, words) = rows.engine.size();
    row("  row engine: verdict and all reasons", ours, &format!("{gates} conjunctions, {words} words filled"));
    let mut one = rows.engine.row();
    let with_filling = measure(count, 100, || {
        let judged = vehicles.iter().map(|vehicle| {
            one.clear();
            vehicle.fill(&mut one);
            reasons(&one)
        });
        judged.sum::<u32>()
    });
    row("  the same, the row filled each time", with_filling, "");
    times.sort_by(|one, other| one.1.total_cmp(&other.1));
    for (name, time) in &times {
        row(&format!("  {name}"), *time, &format!("{:.1} times", time / ours));
    }
    ratio("fastest general-purpose engine / row engine", times[0].1 / ours, "at least 7, and under 60 ns");
}

/// Rows of a program on a day: so many in a hundred facts are not known.
fn rolled(rows: &RowEngine, rules: &Rules, count: usize, unknown: u64, dice: &mut records::Dice) -> Vec<TypedRow> {
    let mut made = Vec::new();
    while made.len() < count {
        let mut row = rows.row();
        wherefore_bench::whole::fill(&mut row, rules.flat(), unknown, dice);
        if rows.judge(&row).is_ok() {
            made.push(row);
        }
    }
    made
}

fn judged(rows: &RowEngine, made: &[TypedRow], runs: usize) -> f64 {
    let lines = |row: &TypedRow| rows.judge(row).map_or(0, |found| found.perhaps.count_ones());
    measure(made.len(), runs, || made.iter().map(lines).sum::<u32>())
}

/// Every shipped program in its newest epoch, one row at a time, and the slowest of its epochs.
fn shipped_rows() {
    println!(
        "every shipped program, one row, nanoseconds. All facts known and the law says one thing; the same with those whom \
         the law leaves open\n(texts not read, open questions: so many in a hundred); the slowest epoch of the latter; a fact \
         in eight not known: bound, exact and met before"
    );
    println!(
        "  {:<20} {:>7} {:>7} {:>5} {:>7} {:>7} {:>7}",
        "program", "settled", "known", "open", "slowest", "bound", "exact"
    );
    let (mut settled, mut known, mut epochs_taken) = (Vec::new(), Vec::new(), 0);
    let mut bounds = Vec::new();
    for program in policy::shipped() {
        let engine = Engine::new(&program, Options::default()).unwrap();
        let mut dice = records::Dice(0x5EED);
        let on = |date: Date| {
            let rules = engine.rules(day_number(date)).unwrap();
            let rows = RowEngine::of(&rules).unwrap_or_else(|why| panic!("{} on {date}: {why}", program.id));
            (rules, rows)
        };
        let slowest = epochs(&program).into_iter().map(|epoch| {
            let (rules, rows) = on(epoch.from);
            epochs_taken += 1;
            judged(&rows, &rolled(&rows, &rules, 200, 0, &mut dice), 10)
        });
        let slowest = slowest.fold(0.0, f64::max);
        let (rules, rows) = on(records::DATE);
        let whole = rolled(&rows, &rules, 1000, 0, &mut dice);
        let is_open = |row: &&TypedRow| {
            rows.judge(row).is_ok_and(|found| found.surely != found.perhaps || found.verdict().is_none())
        };
        let open = whole.iter().filter(is_open).count();
        let plain: Vec<TypedRow> = whole.iter().filter(|row| !is_open(row)).cloned().collect();
        let of_plain = if plain.is_empty() { f64::NAN } else { judged(&rows, &plain, 50) };
        let of_whole = judged(&rows, &whole, 50);
        let partly = rolled(&rows, &rules, 1000, 12, &mut dice);
        let bound = judged(&rows, &partly, 20);
        // Those that say something new are answered by diagrams first.
        let few = &partly[..200];
        few.iter().for_each(|row| drop(rows.exact(row)));
        let exact = measure(few.len(), 20, || few.iter().filter(|row| rows.exact(row).is_ok()).count());
        let (gates, _) = rows.size();
        println!(
            "  {:<20} {of_plain:>7.0} {of_whole:>7.0} {:>5} {slowest:>7.0} {bound:>7.0} {exact:>7.0}   {} lines, {gates} conjunctions",
            program.id,
            open / 10,
            rules.flat().lines.len(),
        );
        settled.push(of_plain);
        known.push(of_whole);
        bounds.push(bound);
    }
    for (name, mut times) in [("settled", settled), ("known", known), ("bound", bounds)] {
        times.retain(|time| !time.is_nan());
        times.sort_by(f64::total_cmp);
        println!(
            "  {name}: median {:.0}, longest {:.0}, of {}",
            times[times.len() / 2],
            times[times.len() - 1],
            times.len()
        );
    }
    println!("  {epochs_taken} epochs taken");
}

fn rows() {
    assert!(policy::names_agree());
    let cars = cars(4096, 11);
    policy_by_all(&cars);
    policy_by_all(&records::vans(4096, 12));
    let expected: Vec<Answer> = cars.iter().map(Vehicle::by_hand).collect();
    let columnar = by_columns(&cars);
    for (at, expected) in expected.iter().enumerate() {
        assert_eq!(columnar[at], *expected, "columnar, {:?}", cars[at]);
    }
    let count = cars.len();

    let texts: Vec<String> = cars.iter().map(records::document).collect();
    let parse = measure(count, 21, || texts.iter().map(|text| parsed(text).since_clear.warm_ups).max());
    row("  JSON text to a typed snapshot", parse, "serde_json");
    texts_to_verdicts(&texts, &expected, parse);
    rulings(&texts);
}

/// The library's own path from the text of a document to the verdict.
fn texts_to_verdicts(texts: &[String], expected: &[Answer], parse: f64) {
    let documents = Documents::new(Engine::new(&policy::bench(), Options::default()).unwrap());
    let mut room = Room::default();
    for (text, expected) in texts.iter().zip(expected) {
        let told = documents.judge(text, &mut room).unwrap();
        let Ruled::Settled(found, _) = told.ruled() else { panic!("not settled at once: {text}") };
        let lines = &told.rules().flat().lines;
        let place = |line: usize| policy::CLAUSES.iter().position(|clause| *clause == lines[line].clause).unwrap();
        let standing = (0..lines.len()).filter(|line| found.surely >> line & 1 == 1);
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
            if let Ruled::Settled(found, _) = documents.judge(text, &mut room).unwrap().ruled() {
                standing += found.surely.count_ones();
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
    let flat =
        wherefore::internals::program::select(&program, &wherefore::internals::program::Selection::on(records::DATE))
            .unwrap();
    let snapshots: Vec<_> =
        texts.iter().take(256).map(|text| document::read(text.as_bytes()).unwrap().snapshot).collect();
    let count = snapshots.len();
    let prepared = wherefore::internals::ruling::Prepared::new(flat.clone());
    for snapshot in &snapshots {
        assert_eq!(
            prepared.judge(&program, snapshot).unwrap(),
            wherefore::internals::ruling::judge(&flat, &program, snapshot).unwrap()
        );
    }
    let trace = measure(count, 9, || {
        let each = snapshots.iter().map(|one| wherefore::internals::program::Given::of(&flat, one).unwrap());
        each.map(|given| wherefore::internals::evaluate::interpret(&flat, &given).lines.len()).sum::<usize>()
    });
    let brief = measure(count, 9, || {
        snapshots
            .iter()
            .map(|one| wherefore::internals::ruling::judge_briefly(&flat, &program, one).unwrap().grounds.len())
            .sum::<usize>()
    });
    let proof = measure(count, 9, || {
        snapshots.iter().filter(|one| wherefore::internals::ruling::certificate(&flat, one).unwrap().is_some()).count()
    });
    let many = measure(count, 9, || {
        snapshots.iter().map(|one| prepared.judge(&program, one).unwrap().grounds.len()).sum::<usize>()
    });
    let one = measure(count, 3, || {
        snapshots
            .iter()
            .map(|one| wherefore::internals::ruling::judge(&flat, &program, one).unwrap().grounds.len())
            .sum::<usize>()
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
        let (_, unmet) = car.by_hand();
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
    println!(
        "every shipped program, columnar, one core, in cache; the columns of the policy above, other facts not known"
    );
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
    if wanted("shipped-rows") {
        shipped_rows();
    }
}
