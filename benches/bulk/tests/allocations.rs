//! Judging a row takes no memory of its own: counted by an allocator, for every shipped program, with all known and with
//! facts not known. Kept apart from the measurements, so that no engine is measured with a counter in its way.

use std::alloc::{GlobalAlloc, Layout, System};
use std::sync::atomic::{AtomicU64, Ordering};
use wherefore::internals::bulk::{Engine, Options, RowEngine};
use wherefore::internals::model::day_number;
use wherefore_bench::{policy, records, whole};

struct Counting;

static ALLOCATIONS: AtomicU64 = AtomicU64::new(0);

// SAFETY: each call goes to the system's allocator as it came.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        ALLOCATIONS.fetch_add(1, Ordering::Relaxed);
        // SAFETY: as the caller promises.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        // SAFETY: as the caller promises.
        unsafe { System.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static COUNTING: Counting = Counting;

#[test]
fn judging_a_row_allocates_nothing() {
    let mut dice = records::Dice(17);
    let (mut judged, mut open) = (0, 0);
    for program in policy::shipped() {
        let engine = Engine::new(&program, Options::default()).unwrap();
        let rules = engine.rules(day_number(records::DATE)).unwrap();
        let rows = RowEngine::of(&rules).unwrap();
        let mut row = rows.row();
        for round in 0..400 {
            whole::fill(&mut row, rules.flat(), if round % 2 == 0 { 0 } else { 15 }, &mut dice);
            // What is shared and made once is made; a row that no vehicle shows is told in words, which take room.
            let Ok(found) = rows.judge(&row) else { continue };
            let reasons = rows.reasons(found).count();
            let before = ALLOCATIONS.load(Ordering::Relaxed);
            let again = rows.judge(&row);
            let reasons_again = again.as_ref().map_or(0, |again| rows.reasons(*again).count());
            let after = ALLOCATIONS.load(Ordering::Relaxed);
            assert_eq!(before, after, "{} {row:?}", program.id);
            assert_eq!((again, reasons_again), (Ok(found), reasons), "{}", program.id);
            judged += 1;
            open += usize::from(found.verdict().is_none());
        }
    }
    assert!(judged > 15_000 && open > 1_000, "{judged} judged, {open} open");
    let before = ALLOCATIONS.load(Ordering::Relaxed);
    drop(std::hint::black_box(vec![judged]));
    assert_ne!(before, ALLOCATIONS.load(Ordering::Relaxed), "the allocator counts");
}
