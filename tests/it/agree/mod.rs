//! Random programs through every engine and every front: the interpreter's bound, the diagrams of one vehicle, diagrams made
//! for many, the naive reference, planes, rows, documents, whole rulings and their proofs. The programs are
//! drawn whole (`fuzz/bodies/programs`), and with tables, since that is where shipped programs left a fault unseen.

mod causes;
#[cfg(feature = "parquet")]
mod files;
mod fronts;
mod listed;
#[path = "../../../fuzz/bodies/programs.rs"]
pub mod programs;
pub mod proofs;
pub mod reference;
mod rows;
mod slips;

use crate::bulk::records::Dice;
use programs::Bytes;
use wherefore::internals::check::check;
use wherefore::internals::program::Program;
use wherefore::internals::source::Source;
use wherefore::internals::syntax::parse;

/// A random program; `None` where the text has an error (lines that give way in a circle, and the like).
pub fn program(seed: u64) -> Result<(Program, String), String> {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let bytes: Vec<u8> = (0..2_000).map(|_| dice.roll(256) as u8).collect();
    let text = Bytes::of(&bytes).program();
    let checked = check(&parse(&Source::new("random", &text)).file, &());
    match checked.program {
        Some(program) => Ok((program, text)),
        None => Err(format!("{:?}\n{text}", checked.diagnostics.iter().map(|one| &one.message).collect::<Vec<_>>())),
    }
}

/// How many programs a test tries: as many as it says, or those of `WHEREFORE_AGREE` (`FROM..TO`).
pub fn seeds(many: u64) -> std::ops::Range<u64> {
    let told = std::env::var("WHEREFORE_AGREE").ok();
    let told = told.as_deref().and_then(|told| told.split_once("..")).map(|(from, to)| (from.parse(), to.parse()));
    match told {
        Some((Ok(from), Ok(to))) => from..to,
        _ => 0..many,
    }
}

/// Most programs drawn are programs, with every kind of item in some.
#[test]
fn most_programs_drawn_have_no_error() {
    let (mut good, mut bad) = (Vec::new(), Vec::new());
    for seed in 0..300 {
        match program(seed) {
            Ok((_, text)) => good.push(text),
            Err(why) => bad.push(why),
        }
    }
    assert!(good.len() >= 200, "{} are good; the first that is not: {}", good.len(), bad.first().unwrap());
    let all = good.concat();
    for words in [
        "presumes not listed in odd",
        "excuses each monitor incomplete earlier",
        "excuses monitors excused by even",
        "becomes",
        "gives way to",
        "under doubt first",
        "under choice taken",
        "not read",
        "unsupported as incomplete",
        "leaves out",
        "on the list of odd",
        "among unseen",
        "listed in even",
        "requires",
    ] {
        assert!(all.contains(words), "{words} is never drawn");
    }
}
