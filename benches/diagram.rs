//! The exact part, program by program: how large the diagrams are, and how long building them and each analysis takes. A
//! benchmark of our own few lines: it needs one look at every program, not a distribution.
#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark prints, and stops at the first wrong thing")]
#![allow(missing_docs, reason = "a benchmark has no readers of its documentation")]

use std::time::{Duration, Instant};
use wherefore::catalog::{BuiltIn, Catalog};
use wherefore::diagram::analysis::{ANALYSES, Study, analyse};
use wherefore::diagram::ask::ask;
use wherefore::diagram::{Compiled, compare};
use wherefore::model::{Fact, Snapshot, Value};
use wherefore::program::{Selection, select, select::epochs};

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

fn main() {
    let only = std::env::args().skip(1).find(|word| !word.starts_with('-'));
    let catalog = Catalog::for_rulings(vec![&BuiltIn]);
    let ids: Vec<String> = catalog.ids().into_iter().filter(|id| only.as_ref().is_none_or(|only| only == id)).collect();
    println!(
        "newest epoch: times in ms, the least of 5 runs; nodes of the verdict, and of all diagrams after each analysis"
    );
    println!(
        "| program | nodes | all nodes | build | analyses | questions | compare with the epoch before | epochs | all epochs |"
    );
    println!("|---|---:|---:|---:|---:|---:|---:|---:|---:|");
    let mut parts = vec![Duration::ZERO; ANALYSES.len()];
    let mut slowest = vec![(Duration::ZERO, String::new()); ANALYSES.len()];
    for id in &ids {
        let entry = catalog.find(id).unwrap();
        let Some(program) = entry.program.as_deref().filter(|_| !entry.is_advice) else {
            continue;
        };
        let runs = epochs(program);
        let flats: Vec<_> = runs.iter().map(|epoch| select(program, &Selection::on(epoch.from)).unwrap()).collect();
        let in_force: Vec<_> = flats.iter().filter(|flat| flat.in_force).collect();
        let Some(flat) = in_force.last() else {
            continue;
        };
        let build = least(5, || Compiled::whole(flat).unwrap());
        let mut study = Study::of(flat).unwrap();
        let size = study.verdict_size();
        for ((_, analysis), (part, most)) in ANALYSES.iter().zip(parts.iter_mut().zip(&mut slowest)) {
            let start = Instant::now();
            analysis(&mut study).unwrap();
            let took = start.elapsed();
            *part += took;
            if took > most.0 {
                *most = (took, id.clone());
            }
        }
        let analyses = least(5, || {
            let mut study = Study::of(flat).unwrap();
            ANALYSES.iter().for_each(|(_, analysis)| analysis(&mut study).unwrap());
        });
        let mut visit = Snapshot::default();
        visit.set(Fact::TestDate, Value::Date(flat.test_date));
        let questions = least(1, || ask(flat, &visit).map_or(0, |tree| tree.depth()));
        let change = in_force.iter().rev().nth(1).map(|before| least(1, || compare(before, flat).is_ok()));
        let all = least(1, || analyse(program).unwrap());
        println!(
            "| {id} | {size} | {} | {:.1} | {:.1} | {:.0} | {} | {} | {:.0} |",
            study.nodes(),
            ms(build),
            ms(analyses),
            ms(questions),
            change.map_or_else(|| "one only".to_owned(), |time| format!("{:.1}", ms(time))),
            in_force.len(),
            ms(all),
        );
    }
    println!("\n| analysis | all programs, ms | slowest, ms | program |\n|---|---:|---:|---|");
    for ((name, _), (time, (most, id))) in ANALYSES.iter().zip(parts.iter().zip(&slowest)) {
        println!("| {name} | {:.1} | {:.1} | {id} |", ms(*time), ms(*most));
    }
}
