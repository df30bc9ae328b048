//! Worked cases that expect something else than what is ruled fail, and say what was found.

use rstest::rstest;
use wherefore::internals::catalog::{Catalog, Files, cases};
use wherefore::internals::model::{CodeList, Date, Fact, TroubleCode, Value};
use wherefore::internals::program::{Seen, Selection, select};
use wherefore::internals::ruling::judge;

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

/// What is concluded from a text is no firmer than the text: over a source of memory, `inferred` and `by absence` stay
/// memory, while `read in part` says that this one line was seen after all.
#[rstest]
#[case::inferred("inferred", Seen::FromMemory)]
#[case::by_absence("by absence", Seen::FromMemory)]
#[case::read_in_part("read in part", Seen::InPart)]
fn a_conclusion_is_no_firmer_than_its_source(#[case] word: &str, #[case] expected: Seen) {
    let text = COVERAGE.replacen("  per ex\n", &format!("  per ex, {word}\n"), 1).replacen(
        "\" memory\n",
        "\" law, from memory\n",
        1,
    );
    let shelf = One(text);
    let entry = Catalog::new(vec![&shelf]).shelf(0).remove(0).unwrap();
    let program = entry.program.clone().expect("the file has no errors");
    let flat = select(&program, &Selection::on(Date::constant(2020, 6, 1))).unwrap();
    assert_eq!(flat.in_force_basis.iter().map(|citation| citation.seen).collect::<Vec<_>>(), [expected]);
}

/// A clause whose lines stand under one reading each, all with the same outcome: the ruling says why, and under which
/// reading each line stands.
#[test]
fn a_fail_under_every_reading_has_its_reasons() {
    let text = COVERAGE.replacen(
        "clause lamp on lamp\n  fail where lamp commanded on\n  \"The malfunction lamp is commanded on.\"\n  per ex\n",
        "question which \"Which wording?\"\n  - reading one\n    per ex\n  - reading two\n    per ex\n  taken none \"not settled\"\n\
         clause lamp on lamp\n  - fail where lamp commanded on\n    under which one\n    \"One.\"\n    per ex\n  \
         - fail where lamp commanded on and any stored code\n    under which two\n    \"Two.\"\n    per ex\n",
        1,
    );
    let shelf = One(text);
    let entry = Catalog::new(vec![&shelf]).shelf(0).remove(0).unwrap();
    let program = entry.program.clone().unwrap_or_else(|| panic!("{:?}", entry.diagnostics));
    let flat = select(&program, &Selection::on(Date::constant(2020, 6, 1))).unwrap();
    let mut car = program.ordinary.clone();
    car.set_word(Fact::LampCommanded, "yes");
    let codes = CodeList { codes: [TroubleCode::obd(0x0420)].into(), may_hold_more: false };
    car.set(Fact::StoredCodes, Value::Codes(codes));
    let ruling = judge(&flat, &program, &car).unwrap();
    assert_eq!((ruling.verdict.as_str(), ruling.deciding.as_slice()), ("fail", ["lamp".to_owned()].as_slice()));
    let told: Vec<_> = ruling.grounds.iter().map(|it| (it.message.as_str(), it.under.join(" "))).collect();
    assert_eq!(told, [("One.", "which read as one".to_owned()), ("Two.", "which read as two".to_owned())]);
}
