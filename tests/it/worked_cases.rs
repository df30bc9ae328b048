//! Worked cases that expect something else than what is ruled fail, and say what was found.

use rstest::rstest;
use wherefore::catalog::{Catalog, Files, cases};

struct One(String);

impl Files for One {
    fn names(&self) -> Vec<String> {
        vec!["one.wherefore".to_owned()]
    }
    fn text(&self, _: &str) -> Result<String, String> {
        Ok(self.0.clone())
    }
    fn beside(&self, _: &str, _: &str) -> Option<String> {
        None
    }
    fn tables(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

const CONSEQUENCES: &str = include_str!("../check/points/point-13-consequences.wherefore");
const COVERAGE: &str = include_str!("../check/points/point-02-coverage.wherefore");

/// One expectation of a file turned round: the case that has it fails with these words.
#[rstest]
#[case::waiver(CONSEQUENCES, "brings no waiver", "brings waiver", "expected waiver to follow; it does not")]
#[case::free_retest(
    CONSEQUENCES,
    "brings free-retest",
    "brings no free-retest",
    "expected free-retest not to follow; it does"
)]
#[case::perhaps(
    CONSEQUENCES,
    "facts lamp commanded on; tailpipe-result is passed;",
    "facts lamp commanded on; catalyst not known; tailpipe-result is passed;",
    "expected extension to follow; it perhaps does"
)]
#[case::due(COVERAGE, "  is due\n", "  is not due\n", "expected to be not due, was found: yes")]
#[case::not_due(COVERAGE, "  is not due\n", "  is due\n", "expected to be due, was found: no")]
#[case::outcome(COVERAGE, "expect fail by lamp", "expect pass", "expected pass, ruled fail by lamp")]
fn expectations_that_do_not_hold_are_told(
    #[case] text: &str,
    #[case] from: &str,
    #[case] to: &str,
    #[case] expected: &str,
) {
    let faults = |text: String| -> Vec<String> {
        let shelf = One(text);
        let catalog = Catalog::new(vec![&shelf]);
        let entry = catalog.shelf(0).remove(0).unwrap();
        let program = entry.program.clone().expect("the file has no errors");
        cases::run(&program).into_iter().flat_map(|result| result.faults).collect()
    };
    assert_eq!(faults(text.to_owned()), Vec::<String>::new());
    assert!(text.contains(from), "{from}");
    assert_eq!(faults(text.replacen(from, to, 1)), [expected]);
}
