//! The summary: the motor pool's list counted by hand, the cells of the federal report among it, and its three forms.

use super::{MAPPING, RECORDS, run, summary, text};
use rstest::rstest;

/// Counted by hand in `examples/larkspur/inspections.csv` (12 records, of which LRM-009 has a letter in its year), under
/// 40 CFR 85.2207, 85.2222 and 51.357(a)(5): LRM-004 and -010 have the lamp on, -008 a dark bulb, -012 no connector: fail;
/// -002 (2011) and -006 (1999) have three incomplete monitors: reject; -007 is above 8,500 lb and -011 electric: not
/// subject; of -003 connector and bulb were not seen: undecided; -001 and -005 pass.
#[test]
fn the_motor_pool_is_counted_as_by_hand() {
    let summary = summary(RECORDS, MAPPING, &[]);
    assert_eq!((&summary["read"], &summary["judged"], &summary["set_aside"]), (&12.into(), &11.into(), &1.into()));
    let classes = serde_json::json!({"pass": 2, "reject": 2, "fail": 4, "not-subject": 2, "undecided": 1});
    assert_eq!(summary["classes"], classes);
    let recorded = serde_json::json!({"given": 11, "same": 8, "possible": 1, "no_law": 0, "differ": 2});
    assert_eq!(summary["recorded"], recorded);
    let kinds: Vec<(&str, &str)> = summary["differences"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| (it["kind"].as_str().unwrap(), it["examples"][0]["record"].as_str().unwrap()))
        .collect();
    assert_eq!(kinds, [("recorded pass, should be fail", "LRM-010"), ("recorded pass, should be reject", "LRM-002")]);
}

/// 40 CFR 51.366(a)(2) as the digest of federal rules has it (section 6.3, D2 to D7), counted by hand as above. As ruled,
/// as recorded, not known.
#[rstest]
#[case::fail_first("(a)(2)(i)", 4, Some(3), 1)]
#[case::pass_check("(a)(2)(xi)", 2, Some(5), 1)]
#[case::fail_check("(a)(2)(xii)", 4, Some(3), 1)]
#[case::on_without_codes("(a)(2)(xix)", 0, None, 2)]
#[case::off_with_codes("(a)(2)(xx)", 0, None, 2)]
#[case::on_with_codes("(a)(2)(xxi)", 2, None, 2)]
#[case::off_without_codes("(a)(2)(xxii)", 7, None, 2)]
#[case::incomplete("(a)(2)(xxiii)", 2, None, 2)]
fn cells_of_the_federal_report(
    #[case] paragraph: &str,
    #[case] ruled: u64,
    #[case] recorded: Option<u64>,
    #[case] not_known: u64,
) {
    let summary = summary(RECORDS, MAPPING, &[]);
    let cells = summary["federal_report"]["cells"].as_array().unwrap();
    let cell = cells.iter().find(|cell| cell["paragraph"] == paragraph).unwrap();
    assert_eq!(cell["total"], serde_json::json!({"ruled": ruled, "recorded": recorded, "not_known": not_known}));
    let each: u64 = summary["federal_report"]["by_model_year_and_class"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| row["counts"][paragraph]["ruled"].as_u64().unwrap())
        .sum();
    assert_eq!(each, ruled, "the model years and classes add up to the total");
}

/// What the records cannot tell is said with the reason; (vii) to (x) are reserved (digest, D2).
#[test]
fn cells_that_cannot_be_filled_are_named() {
    let summary = summary(RECORDS, MAPPING, &[]);
    let cells = summary["federal_report"]["cells"].as_array().unwrap();
    let not: Vec<&str> = cells
        .iter()
        .filter(|cell| cell["total"].is_null())
        .map(|cell| {
            assert!(!cell["not_filled"].as_str().unwrap().is_empty());
            cell["paragraph"].as_str().unwrap()
        })
        .collect();
    let roman = ["ii", "iii", "iv", "v", "vi", "xiii", "xiv", "xv", "xvi", "xvii", "xviii"];
    let expected: Vec<String> = roman.iter().map(|number| format!("(a)(2)({number})")).collect();
    assert_eq!(not, expected);
}

/// Under the strict model no monitor may be incomplete (40 CFR 51.357(a)(5), second sentence): the 2011 and 1999 cars are
/// turned away as before, and nothing else of the list changes.
#[test]
fn an_amendment_is_told_by_what_it_changes() {
    let summary = summary(RECORDS, MAPPING, &["--against", "us-model-strict"]);
    assert_eq!(summary["against"], "us-model-strict");
    let same = super::summary(RECORDS, MAPPING, &["--against", "us-model"]);
    assert_eq!(same["changes"], serde_json::json!([]));
    let other = super::summary(RECORDS, MAPPING, &["--against", "us-il"]);
    let moved: u64 = other["changes"].as_array().unwrap().iter().map(|it| it["records"].as_u64().unwrap()).sum();
    assert!(moved > 0 && moved <= 11, "{other}");
}

fn golden(name: &str, text: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../../audit/golden");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(name, text));
}

#[test]
fn the_summary_as_text() {
    let output = run(&["--mapping", MAPPING, "--program", "us-model", RECORDS, "--against", "us-model-strict"]);
    let shown = text(&output.stdout);
    assert!(shown.lines().all(|line| line.chars().count() <= 80), "{shown}");
    golden("motor-pool-text", &shown);
}

/// The page needs nothing from outside, runs nothing, and says in words what its charts show.
#[test]
fn the_summary_as_a_page() {
    let output = run(&["--mapping", MAPPING, "--program", "us-model", RECORDS, "--format", "html"]);
    let page = text(&output.stdout);
    assert!(page.contains("default-src 'none'"));
    for outside in ["<script", "http://", "https://", "@import", "src="] {
        assert!(!page.contains(outside), "{outside}");
    }
    for words in ["not-subject", "undecided", "recorded pass, should be fail", "(a)(2)(xxiii)", "LRM-010"] {
        assert!(page.contains(words), "{words}");
    }
    assert_eq!(page.matches("<svg").count(), page.matches("</svg>").count());
}

/// Names of areas as lists have them: a county is known however it is written, and a record whose area nobody knows is
/// counted apart, never as *not subject* (30 TAC 114.50(a) names Harris; Anderson is another county of the state).
#[test]
fn records_whose_area_is_not_among_the_names_are_counted_apart() {
    let folder = super::folder("areas");
    let records = folder.join("records.csv");
    let names = ["Harris", "HARRIS COUNTY", "harris", "Haris", "Haris", "Philadelphia", "Anderson County", ""];
    let rows: String = names.iter().map(|name| format!("2026-11-28,2012,gasoline,{name}\n")).collect();
    std::fs::write(&records, format!("date,year,fuel,county\n{rows}")).unwrap();
    let mapping = folder.join("mapping.toml");
    let columns =
        "date = \"visit.date\"\nyear = \"vehicle.model_year\"\nfuel = \"vehicle.fuel\"\ncounty = \"visit.area\"\n";
    std::fs::write(&mapping, format!("format = \"wherefore-mapping/1\"\n\n[columns]\n{columns}")).unwrap();
    let (records, mapping) = (records.to_str().unwrap(), mapping.to_str().unwrap());
    let output = run(&["--mapping", mapping, "--program", "us-tx", "--format", "json", records]);
    let summary: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let strangers = serde_json::json!([{"name": "haris", "records": 2}, {"name": "philadelphia", "records": 1}]);
    assert_eq!(summary["area_not_among_the_names"], strangers);
    assert_eq!(summary["classes"], serde_json::json!({"not-subject": 1, "undecided": 7}));
    let shown = text(&run(&["--mapping", mapping, "--program", "us-tx", records]).stdout);
    assert!(shown.contains("3 records: the area is not among the names"), "{shown}");
}

/// An announced change is counted: the records that it could turn from its day on, and no others.
#[test]
fn records_that_an_announced_change_could_turn_are_counted() {
    const PROGRAM: &str = "program told \"Told, invented\"
  authority \"Nobody\"
  language 2
  standing checked
source text \"t\" memory
in force from 2000-01-01
  per text
outcomes pass, fail
covers where every vehicle
  per text
counts supported monitors
  per text
clause lamp on lamp
  fail where lamp commanded on
  per text
change stricter adopted \"All counted monitors must be complete.\"
  from 2026-01-01
  could turn pass into fail where at least 1 counted monitor is incomplete
  per text
";
    let folder = super::folder("announced");
    let at = |name: &str| folder.join(name).to_str().unwrap().to_owned();
    std::fs::write(at("told.wherefore"), PROGRAM).unwrap();
    // What the law of the day says, and whether the change could turn it: incomplete and passing, complete, before the
    // day, failing already, and one of which the monitor is not known.
    let records = "d,l,c\n2026-02-01,no,incomplete\n2026-02-01,no,complete\n2025-12-31,no,incomplete\n\
                   2026-02-01,yes,incomplete\n2026-02-01,no,\n";
    std::fs::write(at("records.csv"), records).unwrap();
    let constants: String = wherefore::internals::model::Monitor::all()
        .filter(|monitor| monitor.name() != "catalyst")
        .map(|monitor| format!("\"monitors.{}\" = \"unsupported\"\n", monitor.name()))
        .collect();
    let mapping = "format = \"wherefore-mapping/1\"\n[columns]\nd = \"visit.date\"\nl = \"lamp.commanded\"\n\
                   c = \"monitors.catalyst\"\n[constants]\n";
    std::fs::write(at("m.toml"), format!("{mapping}{constants}")).unwrap();
    let (rules, mapping, records) = (at("told.wherefore"), at("m.toml"), at("records.csv"));
    let arguments = ["--mapping", &mapping, "--rules", &rules, "--program", "told", &records];
    let output = run(&[&arguments[..], &["--format", "json"]].concat());
    let found: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(found["announced_changes"], serde_json::json!([{"change": "stricter", "records": 2}]), "{found:#}");
    let told = text(&run(&arguments).stdout);
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("2 records: the announced change `stricter` could turn the outcome"), "{told}");
}

/// Ids that were not compared are told: nobody reads "none repeated" where nobody looked.
#[test]
fn ids_that_were_not_compared_are_told() {
    use wherefore::internals::audit::{Counted, Repeated, Summary};
    use wherefore::internals::report::audit;
    for (beyond, line) in [(0, None), (1_234_567, Some("was not looked at in the last 1,234,567 records"))] {
        let repeated = Repeated { beyond, ..Repeated::default() };
        let summary = Summary::of(&[], &[], &[], Counted { repeated, ..Counted::default() }, &[], None);
        let text = audit::text(&summary).split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(text.contains("not looked at"), line.is_some(), "{text}");
        assert!(line.is_none_or(|line| text.contains(line)), "{text}");
        let json: serde_json::Value = serde_json::from_str(&audit::json(&summary)).unwrap();
        assert_eq!(json["ids_not_compared"], beyond);
    }
}
