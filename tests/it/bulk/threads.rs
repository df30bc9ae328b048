//! One engine shared by threads, and a batch cut into parts: the results are the same whatever their number, also while the
//! engine still makes its plans and answers.

use super::records::{Dice, Records, Vocabulary};
use super::{by_engine, days, flat_on};
use rstest::rstest;
use std::sync::atomic::{AtomicUsize, Ordering};
use wherefore::internals::bulk::{Engine, Judged, Options};
use wherefore::internals::program::Flat;

const LEN: usize = 600;
const PART: usize = 64;

// Issue "audit at the speed of reading", item 2: results independent of the number of threads. Design, section 2.
#[rstest]
#[case::two(2)]
#[case::three(3)]
#[case::eight(8)]
fn any_number_of_threads_gives_the_same(#[case] threads: usize) {
    let programs = crate::diagram::shipped::programs();
    for id in ["us-model", "us-ny", "us-il"] {
        let program = programs.iter().find(|program| program.id == id).unwrap();
        let mut dice = Dice(0x7EAD + threads as u64);
        let dates = days(program, &mut dice);
        let flats: Vec<Flat> = dates.iter().map(|date| flat_on(program, *date)).collect();
        let vocabulary = Vocabulary::of(&flats, dates, &mut dice);
        let records = Records::roll(&vocabulary, LEN, 10, &mut dice);
        let whole = Engine::new(program, Options::default()).unwrap().judge(&records.batch());
        let shared = Engine::new(program, Options::default()).unwrap();
        let batch = records.batch();
        let next = AtomicUsize::new(0);
        let mut parts: Vec<(usize, Judged)> = std::thread::scope(|scope| {
            let work = || {
                let mut done = Vec::new();
                loop {
                    let part = next.fetch_add(1, Ordering::Relaxed);
                    if part * PART >= LEN {
                        return done;
                    }
                    done.push((part, shared.judge(&batch.slice(part * PART, PART))));
                }
            };
            let workers: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
            workers.into_iter().flat_map(|worker| worker.join().unwrap()).collect()
        });
        parts.sort_by_key(|(part, _)| *part);
        assert_eq!(parts.iter().map(|(_, judged)| judged.len()).sum::<usize>(), LEN);
        for (part, judged) in &parts {
            for row in 0..judged.len() {
                let at = part * PART + row;
                assert_eq!(by_engine(judged, row), by_engine(&whole, at), "{id} record {at}, {threads} threads");
            }
        }
    }
}
