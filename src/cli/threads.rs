//! Work spread over the machine's cores, results in the order of the items. Where no thread can be begun, the caller's
//! own does everything.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::{Builder, available_parallelism};

/// What `work` makes of each item, in order.
pub(super) fn each<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    each_by(available_parallelism().map_or(1, usize::from), items, work)
}

/// The same by so many threads at most.
pub(super) fn each_by<T: Sync, R: Send>(threads: usize, items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let some = || -> Vec<(usize, R)> {
        let mut made = Vec::new();
        loop {
            let place = next.fetch_add(1, Ordering::Relaxed);
            match items.get(place) {
                Some(item) => made.push((place, work(item))),
                None => return made,
            }
        }
    };
    let others = threads.min(items.len()).saturating_sub(1);
    let mut made = std::thread::scope(|scope| {
        let begun: Vec<_> = (0..others).filter_map(|_| Builder::new().spawn_scoped(scope, some).ok()).collect();
        let mut made = some();
        for thread in begun {
            match thread.join() {
                Ok(more) => made.extend(more),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        made
    });
    made.sort_by_key(|(place, _)| *place);
    made.into_iter().map(|(_, result)| result).collect()
}
