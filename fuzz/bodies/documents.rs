//! Any text as a snapshot: `bulk::Documents` (places in one pass, slots) says what `document::read`, the interpreter and
//! the diagrams say, and accepts nothing that `document::read` does not, but for parts that no program asks.

use std::collections::BTreeSet;
use std::sync::{Arc, LazyLock};
use wherefore::internals::bulk::{DocumentError, Documents, Engine, Options, Room, RowError, Ruled};
use wherefore::internals::catalog::{BuiltIn, Catalog};
use wherefore::internals::diagram::exact;
use wherefore::internals::document;
use wherefore::internals::evaluate;
use wherefore::internals::program::{Flat, Given, GivenError, Program, Selection, Verdict, select};

static ALL: LazyLock<Vec<(Arc<Program>, Documents)>> = LazyLock::new(|| {
    let catalog = Catalog::new(vec![&BuiltIn]);
    ["us-model", "us-ca", "us-il", "us-md", "gb"]
        .iter()
        .map(|id| {
            let p = catalog.find(id).unwrap().program.clone().unwrap();
            let d = Documents::new(Engine::new(&p, Options::default()).unwrap());
            (p, d)
        })
        .collect()
});
const BEFORE: &str = include_str!("../../examples/larkspur/van-7.json");

fn slow(program: &Program, text: &str) -> Result<Option<BTreeSet<Verdict>>, Vec<document::Fault>> {
    let read = document::read(text.as_bytes())?;
    let Some(date) = read.snapshot.test_date() else { return Ok(None) };
    let flat: Flat = select(program, &Selection::on(date)).unwrap();
    let given = match Given::of(&flat, &read.snapshot) {
        Ok(given) => given,
        Err(GivenError::Contradiction(_)) => return Ok(Some(BTreeSet::new())),
        Err(_) => return Ok(None),
    };
    let (bound, is_exact) = evaluate::outlook(&flat, &given);
    if is_exact {
        return Ok(Some(bound.to_set()));
    }
    match exact::possible(&flat, &given) {
        Ok(reached) => Ok(Some(reached)),
        Err(wherefore::internals::diagram::Error::Contradiction) => Ok(Some(BTreeSet::new())),
        Err(e) => panic!("{e}"),
    }
}

/// Reads one input: a byte that chooses the program, and the text.
pub fn one(data: &[u8]) {
    let Some((first, rest)) = data.split_first() else { return };
    let Ok(text) = std::str::from_utf8(rest) else { return };
    let (program, documents) = &ALL[usize::from(*first) % ALL.len()];
    let mut room = Room::default();
    if first & 0x80 != 0 {
        documents.judge(BEFORE, &mut room).unwrap();
    }
    let found = documents.judge(text, &mut room);
    let set = match &found {
        Ok(told) => Some(match told.ruled() {
            Ruled::Settled(found, _) => found.possible.to_set(),
            Ruled::Exact(answer) => answer.possible.clone(),
        }),
        Err(DocumentError::Row(RowError::Contradiction(_))) => Some(BTreeSet::new()),
        Err(_) => None,
    };
    match slow(program, text) {
        Ok(expected) => assert_eq!(set, expected, "{} {text} {:?}", program.id, found.as_ref().err()),
        Err(faults) => {
            // As documented: where a value comes from, its quality, identity and this driving cycle are not looked at.
            let tolerated = faults.iter().all(|f| {
                let p = f.to_string();
                ["from", "quality", "ecus", "identity", "this_cycle", "cycle", "driving"].iter().any(|k| p.contains(k))
            });
            if found.is_ok() {
                assert!(tolerated, "{} accepted, document::read says {faults:?}: {text}", program.id);
            }
        }
    }
}
