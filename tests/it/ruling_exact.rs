//! Exact rulings from a program text: what the interpreter alone leaves open. Design page, promises 2 and 3 and section 6.

use crate::check;
use rstest::rstest;
use wherefore::internals::catalog::{Catalog, Files};
use wherefore::internals::model::{Date, Fact, Snapshot, Value};
use wherefore::internals::program::{Selection, select};
use wherefore::internals::ruling::{Interpreted, Part, judge, judge_with};

/// One program, invented.
struct One(&'static str);

impl Files for One {
    fn names(&self) -> Vec<String> {
        vec!["weights.wherefore".to_owned()]
    }

    fn text(&self, _name: &str) -> Result<String, String> {
        Ok(self.0.to_owned())
    }

    fn beside(&self, _name: &str, _table: &str) -> Option<String> {
        None
    }

    fn tables(&self, _name: &str) -> Vec<String> {
        Vec::new()
    }
}

/// Covered above a weight and at most that weight: every vehicle that has one.
const WEIGHTS: &str = r#"program weights "Weights (invented)"
  authority "Larkspur County"
  language 1
  standing checked
source r "1 LCR 9" law, read 2026-11-25
in force from 2002-01-01
  per r
outcomes pass, fail
covers where gross weight at most 8500 lb
  per r "(a)"
covers where gross weight above 8500 lb
  per r "(b)"
clause lamp on lamp
  fail where lamp commanded on
  "The malfunction lamp is commanded on."
  per r "(c)"
"#;

// Design, section 4: "possible outcomes of a snapshot: the verdicts of all vehicles that can exist and agree with it".
#[test]
fn x_or_not_x_is_decided() {
    let one = One(WEIGHTS);
    let catalog = Catalog::new(vec![&one as &dyn Files]);
    let entry = catalog.find("weights").unwrap();
    let program = entry.program.clone().unwrap_or_else(|| panic!("{:?}", entry.diagnostics));
    let day = Date::constant(2026, 11, 25);
    let flat = select(&program, &Selection::on(day)).unwrap();
    let mut car = Snapshot::default();
    car.set(Fact::TestDate, Value::Date(day));
    car.set_word(Fact::LampCommanded, "yes");
    let bound = judge_with(&flat, &program, &car, &Interpreted).unwrap();
    let exact = judge(&flat, &program, &car).unwrap();
    assert_eq!((bound.verdict.as_str(), bound.exact), ("undecided", false), "the bound alone does not settle it");
    assert_eq!((exact.verdict.as_str(), exact.exact), ("fail", true));
    assert_eq!(exact.coverage.state, "covered");
    assert_eq!(exact.deciding, ["lamp"]);
    assert!(exact.unknown.is_empty());
    let sufficient: Vec<&str> = exact.sufficient.iter().map(|fact| fact.key.as_str()).collect();
    assert_eq!(sufficient, ["lamp.commanded"]);
}

const LIGHT: &str = "gross weight at most 8500 lb";
const HEAVY: &str = "gross weight above 8500 lb";

/// A line that the interpreter leaves open is told as the diagrams settle it, while the verdict stays open: the lamp may fail the
/// vehicle whatever the line says. What can never stand is not among what the ruling leans on.
#[rstest]
#[case::what_it_forbids_is_never_so(String::new(), format!("{LIGHT} and {HEAVY}"), "met", false)]
#[case::it_is_always_so(String::new(), format!("any of\n    - {LIGHT}\n    - {HEAVY}"), "unmet", true)]
#[case::it_concerns_none(format!("{LIGHT} and {HEAVY}"), "lamp flashing".to_owned(), "not-concerned", false)]
#[case::it_never_stands("hybrid".to_owned(), format!("{LIGHT} and {HEAVY}"), "undetermined", false)]
#[case::it_may_stand("hybrid".to_owned(), LIGHT.to_owned(), "undetermined", true)]
fn a_line_is_told_as_the_diagrams_settle_it(
    #[case] concerns: String,
    #[case] condition: String,
    #[case] state: &str,
    #[case] leans: bool,
) {
    let concerns = if concerns.is_empty() { concerns } else { format!("  concerns {concerns}\n") };
    let text = WEIGHTS
        .replace("outcomes pass, fail", "outcomes pass, reject, fail")
        .replace("in force", "source m \"Memory\" memory\nin force")
        + &format!("clause line on other\n{concerns}  - reject where {condition}\n  \"Line.\"\n  per m\n");
    let program = check::program("weights", &text);
    let day = Date::constant(2026, 11, 25);
    let flat = select(&program, &Selection::on(day)).unwrap();
    let mut car = Snapshot::default();
    car.set(Fact::TestDate, Value::Date(day));
    let bound = judge_with(&flat, &program, &car, &Interpreted).unwrap();
    let exact = judge(&flat, &program, &car).unwrap();
    assert_eq!((exact.verdict.as_str(), exact.coverage.state), ("undecided", "covered"));
    let of = |trace: &[wherefore::internals::ruling::TraceLine]| trace[1].state;
    assert_eq!((of(&bound.trace), of(&exact.trace)), ("undetermined", state));
    let line = Part::Clause("line".to_owned());
    assert_eq!(exact.weak.iter().any(|weak| weak.part == line), leans, "{:?}", exact.weak);
}
