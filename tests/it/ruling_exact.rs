//! Exact rulings from a program text: what the interpreter alone leaves open. Design page, promises 2 and 3 and section 6.

use wherefore::internals::catalog::{Catalog, Files};
use wherefore::internals::model::{Date, Fact, Snapshot, Value};
use wherefore::internals::program::{Selection, select};
use wherefore::internals::ruling::{Interpreted, judge, judge_with};

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
