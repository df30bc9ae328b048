//! The shipped programs for tests over all of them: read once for the whole binary, and tried side by side.

use std::num::NonZero;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, LazyLock, Mutex};
use wherefore::internals::catalog::{BuiltIn, Catalog, Entry};
use wherefore::internals::program::Program;

/// The files of all programs, parts among them, by id.
pub fn entries() -> &'static [Arc<Entry>] {
    static ENTRIES: LazyLock<Vec<Arc<Entry>>> = LazyLock::new(|| {
        let catalog = Catalog::new(vec![&BuiltIn]);
        let found: Vec<_> = catalog.ids().iter().map(|id| catalog.find(id).unwrap()).collect();
        assert!(found.len() > 40, "only {} programs", found.len());
        found
    });
    &ENTRIES
}

/// The programs that are judged by: a part never is on its own.
pub fn programs() -> Vec<Arc<Program>> {
    let programs = entries().iter().map(|entry| match &entry.program {
        Some(program) => Arc::clone(program),
        None => panic!("{}: {:?}", entry.id, entry.diagnostics),
    });
    programs.filter(|program| !program.adopted_only).collect()
}

/// What `tried` says of each item, in the order of the items; as many threads as the machine has cores share the work.
pub fn side_by_side<T: Sync, R: Send>(items: &[T], tried: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let said = Mutex::new(Vec::with_capacity(items.len()));
    let threads = std::thread::available_parallelism().map_or(1, NonZero::get).min(items.len());
    // Where one thread fails, the scope fails with it.
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                while let Some((place, item)) = Some(next.fetch_add(1, Ordering::Relaxed))
                    .and_then(|place| items.get(place).map(|item| (place, item)))
                {
                    let result = tried(item);
                    said.lock().unwrap().push((place, result));
                }
            });
        }
    });
    let mut said = said.into_inner().unwrap();
    said.sort_by_key(|(place, _)| *place);
    assert_eq!(said.len(), items.len());
    said.into_iter().map(|(_, result)| result).collect()
}
