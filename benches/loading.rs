//! How long the built-in programs take to load, and how fast captures are decoded. A benchmark of our own few lines: it
//! needs medians, and nothing else.
#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark prints, and stops at the first wrong thing")]
#![allow(missing_docs, reason = "a benchmark has no readers of its documentation")]

use std::fmt::Write as _;
use std::hint::black_box;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;
use wherefore::internals::catalog::{BuiltIn, Catalog, Files};
use wherefore::internals::decode;

/// Median of so many runs, in microseconds.
fn measure<T>(runs: usize, mut call: impl FnMut() -> T) -> u128 {
    let mut times: Vec<u128> = (0..runs)
        .map(|_| {
            let start = Instant::now();
            drop(black_box(call()));
            start.elapsed().as_micros()
        })
        .collect();
    times.sort_unstable();
    times.get(runs / 2).copied().unwrap_or_default()
}

fn load(catalog: &Catalog<'_>, threads: usize) -> usize {
    let ids = catalog.ids();
    let next = AtomicUsize::new(0);
    let some = || {
        while let Some(id) = ids.get(next.fetch_add(1, Ordering::Relaxed)) {
            assert!(catalog.find(id).unwrap().program.is_some(), "{id}");
        }
    };
    std::thread::scope(|scope| {
        (1..threads).for_each(|_| drop(scope.spawn(some)));
        some();
    });
    ids.len()
}

fn loading() {
    let built_in: &dyn Files = &BuiltIn;
    let all = std::thread::available_parallelism().map_or(1, usize::from);
    let programs = load(&Catalog::new(vec![built_in]), 1);
    let bytes: usize = BuiltIn::paths().map(|path| BuiltIn.text(path).unwrap().len()).sum();
    println!("{programs} programs, {} kB of text", bytes / 1000);
    let whole = measure(21, || load(&Catalog::new(vec![built_in]), 1));
    println!("{:<52} {:>8.1} ms", "load all, with their worked cases, one thread", ms(whole));
    let one = measure(21, || load(&Catalog::for_rulings(vec![built_in]), 1));
    println!("{:<52} {:>8.1} ms", "load all for rulings, one thread", ms(one));
    let many = measure(21, || load(&Catalog::for_rulings(vec![built_in]), all));
    println!("{:<52} {:>8.1} ms", format!("load all for rulings, {all} threads"), ms(many));
    let us_ca = measure(21, || Catalog::for_rulings(vec![built_in]).find("us-ca").unwrap());
    println!("{:<52} {:>8.1} ms", "load us-ca alone, with what it adopts", ms(us_ca));
}

#[expect(clippy::as_conversions, clippy::cast_precision_loss, clippy::float_arithmetic, reason = "times for people")]
fn ms(micros: u128) -> f64 {
    micros as f64 / 1000.0
}

/// A log of candump's form: one car answering the same services again and again, as a logger left on would write it.
fn candump(bytes: usize) -> String {
    const FRAMES: [&str; 8] = [
        "7DF#0201010000000000",
        "7E8#06410100076500AA",
        "7DF#0201300000000000",
        "7E8#034130 0CAAAAAAAA",
        "7DF#0103000000000000",
        "7E8#024300AAAAAAAAAA",
        "7DF#010A000000000000",
        "7E8#024A00AAAAAAAAAA",
    ];
    let mut log = String::with_capacity(bytes + 64);
    let mut tick = 0u64;
    while log.len() < bytes {
        for frame in FRAMES {
            let (seconds, micros) = (1_700_000_000 + tick / 100, (tick % 100) * 10_000);
            let _ = writeln!(log, "({seconds}.{micros:06}) can0 {}", frame.replace(' ', ""));
            tick += 1;
        }
    }
    log
}

fn decoding() {
    let log = candump(20_000_000);
    let micros = measure(5, || decode::decode(log.as_bytes(), &decode::Options::default()).unwrap());
    let rate = u128::try_from(log.len()).unwrap_or(0) / micros.max(1);
    println!("{:<52} {rate:>8} MB/s", format!("decode {} MB of candump text", log.len() / 1_000_000));
}

fn main() {
    loading();
    decoding();
}
