//! A part that is only adopted: its clauses stand in the adopter, between the adoption's dates, in the adopter's outcomes,
//! under the part's own question; and it never judges by itself. Invented programs; expected values follow from
//! `grammar/language.md`, "Items".

use crate::process;
use rstest::rstest;
use std::collections::BTreeMap;
use std::sync::Arc;
use wherefore::internals::catalog::{Catalog, Files};
use wherefore::internals::model::{Date, Fact, Snapshot, Value};
use wherefore::internals::program::{Flat, Program, Selection, Under, select};
use wherefore::internals::ruling::judge;

const PART: &str = r#"program zz-least "The least, invented"
  authority "Example authority"
  language 2
  standing checked
  adopted only

source r1 "1 EX 2" law, read 2026-11-25

outcomes pass, fail

question least-demanded "Does the least bind a program by itself?"
  - reading holds "as a State's program must do no less"
  - reading not "as a demand on the State alone"
  taken none "an inference"
  per r1 "(a)"

clause least-connector on connector
  fail where connector is missing or tampered
  "The connector is missing or tampered with."
  under least-demanded holds
  per r1 "(b)"
"#;

const BASE: &str = r#"program zz-base "A base, invented"
  authority "Example authority"
  language 2
  standing checked

source r1 "1 EX 3" law, read 2026-11-25

in force from 2000-01-01
  per r1 "(a)"

outcomes pass, reject, fail

covers where class is not motorcycle
  per r1 "(b)"

leaves out where class is farm: not-subject "farm vehicles"
  per r1 "(c)"

clause lamp on lamp
  fail where lamp commanded on
  "The lamp is commanded on."
  per r1 "(d)"

silent on connector
  through 2001-12-31
  per r1, by absence
"#;

const ADOPTER: &str = r#"program zz-state "A state, invented"
  authority "Example authority"
  language 2
  standing checked

adopts zz-base as amended
adopts zz-least as amended
  from 2002-01-01
  their fail is our reject
"#;

struct Memory(BTreeMap<String, String>);

impl Files for Memory {
    fn names(&self) -> Vec<String> {
        self.0.keys().cloned().collect()
    }

    fn text(&self, name: &str) -> Result<String, String> {
        self.0.get(name).cloned().ok_or_else(|| format!("{name}: no such text"))
    }

    fn beside(&self, _name: &str, _table: &str) -> Option<String> {
        None
    }

    fn tables(&self, _name: &str) -> Vec<String> {
        Vec::new()
    }
}

fn found(id: &str) -> Arc<Program> {
    let texts = [("zz-least", PART), ("zz-base", BASE), ("zz-state", ADOPTER)];
    let texts = texts.map(|(name, text)| (format!("{name}.wherefore"), text.to_owned()));
    let memory = Memory(BTreeMap::from(texts));
    let entry = Catalog::new(vec![&memory as &dyn Files]).find(id).unwrap();
    entry.program.clone().unwrap_or_else(|| panic!("{:?}", entry.diagnostics))
}

fn car(connector: &str, class: &str) -> Snapshot {
    let mut car = Snapshot::default();
    car.set_word(Fact::Connector, connector);
    car.set_word(Fact::Class, class);
    car.set_word(Fact::LampCommanded, "no");
    car
}

fn ruled(flat: &Flat, program: &Program, car: &Snapshot) -> Vec<String> {
    let mut car = car.clone();
    car.set(Fact::TestDate, Value::Date(flat.test_date));
    judge(flat, program, &car).unwrap().possible.iter().map(|it| it.name.clone()).collect()
}

#[rstest]
#[case::before_the_adoption("2001-06-01", "missing", "light-duty", &[], &["pass"])]
#[case::a_question_left_open("2003-06-01", "missing", "light-duty", &[], &["pass", "reject"])]
#[case::as_it_binds("2003-06-01", "tampered", "light-duty", &["holds"], &["reject"])]
#[case::as_it_does_not("2003-06-01", "missing", "light-duty", &["not"], &["pass"])]
#[case::left_out_by_the_adopter("2003-06-01", "missing", "farm", &["holds"], &["not-subject"])]
#[case::not_covered_by_it("2003-06-01", "missing", "motorcycle", &["holds"], &["not-subject"])]
#[case::in_force_before_the_part("2000-06-01", "intact", "light-duty", &[], &["pass"])]
fn a_part_stands_in_its_adopter(
    #[case] day: &str,
    #[case] connector: &str,
    #[case] class: &str,
    #[case] takes: &[&str],
    #[case] expected: &[&str],
) {
    let program = found("zz-state");
    let day: Date = day.parse().unwrap();
    let take = |value: &&str| Under { name: "least-demanded".to_owned(), value: (*value).to_owned() };
    let selection = Selection { takes: takes.iter().map(take).collect(), ..Selection::on(day) };
    let flat = select(&program, &selection).unwrap();
    assert_eq!(ruled(&flat, &program, &car(connector, class)), expected);
}

#[test]
fn a_part_needs_no_dates_and_covers_nothing() {
    let part = found("zz-least");
    assert!(part.adopted_only);
    assert!(!found("zz-state").adopted_only);
    let flat = select(&part, &Selection::on(Date::constant(2020, 1, 1))).unwrap();
    assert_eq!(ruled(&flat, &part, &car("missing", "light-duty")).len(), 1);
}

/// The folder with the three programs and a car of which only the date is known.
fn folder() -> std::path::PathBuf {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("parts");
    std::fs::create_dir_all(&folder).unwrap();
    for (name, text) in [("zz-least", PART), ("zz-base", BASE), ("zz-state", ADOPTER)] {
        std::fs::write(folder.join(format!("{name}.wherefore")), text).unwrap();
    }
    let car = "{\"format\":\"wherefore-snapshot/1\",\"visit\":{\"date\":\"2020-01-01\"}}";
    std::fs::write(folder.join("car.json"), car).unwrap();
    folder
}

#[test]
fn a_part_is_listed_apart_and_never_judges() {
    let folder = folder();
    let run = |args: &[&str]| {
        let output = process::command(args).current_dir(&folder).output().unwrap();
        (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap())
    };
    let (listed, _) = run(&["programs", "--rules", "."]);
    let (programs, parts) = listed.split_once("Parts that programs adopt").expect("parts are listed apart");
    assert!(parts.contains("zz-least") && !programs.contains("zz-least"), "{listed}");
    let (all, _) = run(&["judge", "--rules", ".", "--program", "all", "car.json"]);
    assert!(all.contains("zz-state") && !all.contains("zz-least"), "{all}");
    let (_, refused) = run(&["judge", "--rules", ".", "--program", "zz-least", "car.json"]);
    assert!(refused.contains("is a part that other programs adopt"), "{refused}");
    let (checked, errors) = run(&["check", "--rules", ".", "zz-least.wherefore"]);
    assert!(checked.contains("0 errors, 0 warnings"), "{checked}{errors}");
}
