//! The exact part, program by program: how large the diagrams are, and how long building them and each analysis takes. A
//! benchmark of our own few lines: it needs one look at every program, not a distribution. What it prints stands in the
//! README as it is: `cargo bench --bench diagram --no-default-features`.
#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark prints, and stops at the first wrong thing")]
#![allow(missing_docs, reason = "a benchmark has no readers of its documentation")]

use std::time::{Duration, Instant};
use wherefore::internals::analysis::ask::ask;
use wherefore::internals::analysis::cases::suite;
use wherefore::internals::analysis::compare;
use wherefore::internals::analysis::warnings::{ANALYSES, Study, analyse};
use wherefore::internals::catalog::{BuiltIn, Catalog};
use wherefore::internals::diagram::Compiled;
use wherefore::internals::model::{Fact, Snapshot, Value};
use wherefore::internals::program::{Flat, Selection, select, select::epochs};

#[expect(clippy::as_conversions, clippy::cast_precision_loss, clippy::float_arithmetic, reason = "times for people")]
fn ms(time: Duration) -> f64 {
    time.as_micros() as f64 / 1000.0
}

/// The shortest of so many runs: what else the machine does only adds.
fn least<T>(runs: usize, mut call: impl FnMut() -> T) -> Duration {
    let one = |_| {
        let start = Instant::now();
        drop(std::hint::black_box(call()));
        start.elapsed()
    };
    (0..runs).map(one).min().unwrap_or_default()
}

/// Building and all analyses, and each analysis by itself, the shortest of so many runs; and the nodes at the end.
fn analysed(runs: usize, flat: &Flat) -> (Duration, Vec<Duration>, usize) {
    let (mut whole, mut each, mut nodes) = (Duration::MAX, vec![Duration::MAX; ANALYSES.len()], 0);
    for _ in 0..runs {
        let start = Instant::now();
        let mut study = Study::of(flat).unwrap();
        for ((_, analysis), slot) in ANALYSES.iter().zip(&mut each) {
            let start = Instant::now();
            analysis(&mut study).unwrap();
            *slot = start.elapsed().min(*slot);
        }
        whole = start.elapsed().min(whole);
        nodes = study.nodes();
    }
    (whole, each, nodes)
}

/// A row of a table; numbers are right, words left.
fn row(cells: impl IntoIterator<Item = String>) -> String {
    format!("| {} |", cells.into_iter().collect::<Vec<_>>().join(" | "))
}

/// The vectors of every program over all its epochs, one program after the other.
fn vectors(catalog: &Catalog<'_>, ids: &[String]) {
    println!("| program | vectors | `cases` |\n|---|---:|---:|");
    let (mut all, mut total) = (0, Duration::ZERO);
    for id in ids {
        let entry = catalog.find(id).unwrap();
        let Some(program) = entry.program.as_deref().filter(|_| !entry.is_advice) else {
            continue;
        };
        let start = Instant::now();
        let found = suite(program).unwrap().vectors();
        let time = start.elapsed();
        println!("{}", row([id.clone(), found.to_string(), format!("{:.0}", ms(time))]));
        all += found;
        total += time;
    }
    println!("{}", row(["all".to_owned(), all.to_string(), format!("{:.0}", ms(total))]));
}

fn main() {
    const RUNS: usize = 5;
    let only = std::env::args().skip(1).find(|word| !word.starts_with('-'));
    let catalog = Catalog::for_rulings(vec![&BuiltIn]);
    let ids: Vec<String> = catalog.ids().into_iter().filter(|id| only.as_ref().is_none_or(|only| only == id)).collect();
    if std::env::args().any(|word| word == "--vectors") {
        return vectors(&catalog, &ids);
    }
    println!(
        "| program | nodes | all nodes | build | analyses | questions | compare with the epoch before | epochs | all epochs |"
    );
    println!("|---|---:|---:|---:|---:|---:|---:|---:|---:|");
    let mut by_analysis: Vec<(String, Vec<Duration>)> = Vec::new();
    for id in &ids {
        let entry = catalog.find(id).unwrap();
        let Some(program) = entry.program.as_deref().filter(|_| !entry.is_advice) else {
            continue;
        };
        let runs = epochs(program);
        let flats: Vec<_> = runs.iter().map(|epoch| select(program, &Selection::on(epoch.from)).unwrap()).collect();
        let in_force: Vec<_> = flats.iter().filter(|flat| flat.in_force.is_yes()).collect();
        let Some(flat) = in_force.last() else {
            continue;
        };
        let build = least(RUNS, || Compiled::whole(flat).unwrap());
        let size = Study::of(flat).unwrap().verdict_size();
        let (analyses, each, nodes) = analysed(RUNS, flat);
        let mut visit = Snapshot::default();
        visit.set(Fact::TestDate, Value::Date(flat.test_date));
        let questions = least(1, || ask(flat, &visit).map_or(0, |tree| tree.depth()));
        let change = in_force.iter().rev().nth(1).map(|before| least(1, || compare(before, flat).is_ok()));
        let all = least(1, || analyse(program).unwrap());
        let cells = [
            id.clone(),
            size.to_string(),
            nodes.to_string(),
            format!("{:.1}", ms(build)),
            format!("{:.1}", ms(analyses)),
            format!("{:.0}", ms(questions)),
            change.map_or_else(|| "one only".to_owned(), |time| format!("{:.1}", ms(time))),
            in_force.len().to_string(),
            format!("{:.0}", ms(all)),
        ];
        println!("{}", row(cells));
        by_analysis.push((id.clone(), each));
    }
    println!();
    println!(
        "{}",
        row(std::iter::once("program".to_owned()).chain(ANALYSES.iter().map(|(name, _)| (*name).to_owned())))
    );
    println!("|---|{}", "---:|".repeat(ANALYSES.len()));
    let sum = |at: usize| by_analysis.iter().filter_map(|(_, each)| each.get(at)).sum::<Duration>();
    let sums: Vec<Duration> = (0..ANALYSES.len()).map(sum).collect();
    for (id, each) in by_analysis.iter().chain(std::iter::once(&("all".to_owned(), sums))) {
        println!("{}", row(std::iter::once(id.clone()).chain(each.iter().map(|time| format!("{:.2}", ms(*time))))));
    }
}
