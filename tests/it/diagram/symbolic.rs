//! Shipped and random programs interpreted symbolically by an independent oracle, compared by root with the diagrams
//! (design, section 5: "symbolic interpretation compared by root for every shipped program and epoch").

use super::{build, random, shipped};
use crate::symbolic::{agree, agree_with};
use proptest::prelude::*;
use rstest::rstest;
use wherefore::internals::diagram::Compiled;
use wherefore::internals::model::Fact;
use wherefore::internals::program::select::epochs;
use wherefore::internals::program::{Condition, Selection, Topic, select};

/// How many shares the programs are dealt into, so that they are tried side by side.
const SHARES: usize = 4;

// Design, section 5; encodings, section 7, risk 2 (a shared mistake in cuts).
#[rstest]
fn every_epoch_of_every_program_is_its_symbolic_meaning(#[values(0, 1, 2, 3)] share: usize) {
    let mut tried = 0;
    for program in shipped::programs().iter().skip(share).step_by(SHARES) {
        for epoch in epochs(program) {
            let flat = select(program, &Selection::on(epoch.from)).unwrap();
            if let Err(what) = agree(&flat) {
                panic!("{} on {}: {what}", program.id, epoch.from);
            }
            tried += 1;
        }
    }
    assert!(tried > 100, "only {tried} epochs");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, failure_persistence: None, ..ProptestConfig::default() })]

    // Design, section 5: the same for randomly generated programs.
    #[test]
    fn random_programs_are_their_symbolic_meaning(flat in random::program()) {
        prop_assert_eq!(agree(&flat), Ok(()));
    }

    #[test]
    fn random_programs_of_the_kernel_are_their_symbolic_meaning(mut flat in crate::kernel::programs::program()) {
        // Built without a file, rows of two limits of one id would be one unread number.
        for (place, limit) in flat.limits.iter_mut().enumerate() {
            limit.id = format!("limit-{place}");
        }
        prop_assert_eq!(agree(&flat), Ok(()));
    }
}

/// A program off by one step, in one bound, one word or one outcome, is told from its meaning: the comparison can fail.
#[rstest]
#[case::bound(build::number(Fact::ModelYear, Some(1997), None), 2)]
#[case::kilogram(build::number(Fact::GrossWeight, None, Some(3_855 * wherefore::internals::model::Unit::Kilogram.scale())), 2)]
#[case::word(build::word(Fact::LampCommanded, &["no"]), 2)]
#[case::outcome(build::number(Fact::ModelYear, Some(1996), None), 1)]
fn a_slip_is_told(#[case] condition: Condition<usize>, #[case] outcome: usize) {
    let mut flat = build::flat();
    flat.lines = vec![build::line("one", Topic::Other, 2, build::number(Fact::ModelYear, Some(1996), None))];
    let heavy = build::number(Fact::GrossWeight, None, wherefore::internals::model::Unit::Pound.to_base(8500));
    flat.lines.push(build::line("two", Topic::Other, 2, heavy));
    flat.lines.push(build::line("three", Topic::Other, 1, build::word(Fact::LampCommanded, &["yes"])));
    assert_eq!(agree(&flat), Ok(()));
    let mut slipped = flat.clone();
    slipped.lines[0] = build::line("one", Topic::Other, outcome, condition);
    assert!(agree_with(&flat, Compiled::whole(&slipped).unwrap()).is_err());
}
