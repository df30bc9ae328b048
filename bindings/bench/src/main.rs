//! The library itself, measured as its hosts are: `wherefore-host-bench SNAPSHOT MAPPING RECORDS`, where RECORDS is an Arrow IPC
//! file of one batch. Prints nanoseconds: a ruling from JSON to JSON, a batch of one row, a row of the whole batch.
#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "a program that measures may stop at the first wrong thing"
)]

use arrow_ipc::reader::FileReader;
use std::hint::black_box;
use std::time::Instant;
use wherefore::{Programs, Request, Snapshot};

/// Times of so many runs in nanoseconds, sorted.
fn times(runs: usize, mut work: impl FnMut()) -> Vec<u128> {
    let mut all: Vec<u128> = (0..runs)
        .map(|_| {
            let begun = Instant::now();
            work();
            begun.elapsed().as_nanos()
        })
        .collect();
    all.sort_unstable();
    all
}

fn main() {
    let given: Vec<String> = std::env::args().skip(1).collect();
    let json = std::fs::read(&given[0]).expect("a snapshot");
    let mapping = std::fs::read_to_string(&given[1]).expect("a mapping");
    let file = std::fs::File::open(&given[2]).expect("records");
    let batch = FileReader::try_new(file, None).expect("an Arrow file").next().expect("a batch").expect("a batch");

    let programs = Programs::built_in();
    let program = programs.get("us-il").expect("a program");
    let ruling = || {
        let snapshot = Snapshot::from_json(&json).expect("a vehicle");
        black_box(program.judge(&snapshot).expect("a ruling").to_json());
    };
    println!("ruling {}", times(300, ruling)[150]);
    let batches = programs.batches(&mapping, Some("us-model"), &Request::new()).expect("a mapping that fits");
    let one = batch.slice(0, 1);
    println!("row {}", times(2000, || drop(black_box(batches.judge(&one))))[1000]);
    let rows = u128::try_from(batch.num_rows()).expect("a number");
    println!("batch {}", times(20, || drop(black_box(batches.judge(&batch))))[0] / rows);
}
