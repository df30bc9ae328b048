//! Mapping files: the documented examples can be read, every mistake is told with its place, and a draft is a mapping
//! file. Rules of the form: `grammar/mapping.md`.

use super::{ROOT, exit, run, text};
use rstest::rstest;
use std::path::Path;
use wherefore::internals::audit::mapping::{Holds, Reads, Sample, Target, draft, read};
use wherefore::internals::audit::{EMPTY_LIST, Fields, MISSING, Table, Values};
use wherefore::internals::model::{Fact, Unit};

#[test]
fn every_documented_example_can_be_read() {
    let page = std::fs::read_to_string(Path::new(ROOT).join("grammar/mapping.md")).unwrap();
    let blocks: Vec<&str> = page.split("```toml\n").skip(1).map(|rest| rest.split("```").next().unwrap()).collect();
    assert!(blocks.len() >= 6, "the page has lost its examples");
    for block in blocks {
        assert_eq!(read(block).map(|_| ()), Ok(()), "{block}");
    }
    for file in ["examples/larkspur/inspections.toml", "examples/larkspur/invented.toml"] {
        let mapping = std::fs::read_to_string(Path::new(ROOT).join(file)).unwrap();
        assert_eq!(read(&mapping).map(|_| ()), Ok(()), "{file}");
    }
}

/// The page names every key there is: a key that the reader knows and the page does not would be a secret.
#[test]
fn the_page_names_every_key() {
    let page = std::fs::read_to_string(Path::new(ROOT).join("grammar/mapping.md")).unwrap();
    let keys = [
        "delimiter",
        "header",
        "lines",
        "not-known",
        "not-on-vehicle",
        "fact",
        "holds",
        "words",
        "unit",
        "thousands",
        "date",
        "separator",
        "none",
        "at-least",
        "record-id",
        "program",
        "recorded-result",
        "pid-01",
        "classes",
        "outcomes",
        "other-words",
        "overall-result",
    ];
    let missing: Vec<&&str> = keys.iter().filter(|key| !page.contains(**key)).collect();
    assert!(missing.is_empty(), "{missing:?}");
}

#[rstest]
#[case::no_format(
    "[columns]\na = \"visit.date\"\n",
    "line 1, column 1: the format is not named; write format = \"wherefore-mapping/1\""
)]
#[case::no_columns(
    "format = \"wherefore-mapping/1\"\n",
    "line 1, column 1: no columns are mapped; write them under [columns]"
)]
#[case::no_toml(
    "format = \"wherefore-mapping/1\"\n[columns\n",
    "line 2, column 9: unclosed table, expected `]`; the file is written in TOML"
)]
#[case::unknown_table(
    "format = \"wherefore-mapping/1\"\n[colums]\n",
    "line 2, column 2: unknown key \"colums\"; did you mean \"columns\"?"
)]
#[case::unknown_fact(
    "format = \"wherefore-mapping/1\"\n[columns]\nyear = \"vehicle.model_yaer\"\n",
    "line 3, column 8: there is no fact \"vehicle.model_yaer\"; did you mean \"vehicle.model_year\"?"
)]
#[case::misplaced_fact(
    "format = \"wherefore-mapping/1\"\n[columns]\nyear = \"model_year\"\n",
    "line 3, column 8: there is no fact \"model_year\"; did you mean \"vehicle.model_year\"?"
)]
#[case::unknown_word(
    "format = \"wherefore-mapping/1\"\n[columns]\nf = {fact = \"vehicle.fuel\", words = {G = \"gasolin\"}}\n",
    "line 3, column 42: \"gasolin\" is no value of vehicle.fuel; did you mean \"gasoline\"?"
)]
#[case::not_known_is_a_word(
    "format = \"wherefore-mapping/1\"\n[columns]\nf = {fact = \"vehicle.fuel\", words = {X = \"not-knwn\"}}\n",
    "line 3, column 42: \"not-knwn\" is no value of vehicle.fuel; did you mean \"not-known\"?"
)]
#[case::every_word(
    "format = \"wherefore-mapping/1\"\n[columns]\nf = {fact = \"vehicle.hybrid\", words = {X = \"plugged\"}}\n",
    "line 3, column 44: \"plugged\" is no value of vehicle.hybrid; there are: no, yes, not-known"
)]
#[case::unknown_key(
    "format = \"wherefore-mapping/1\"\n[columns]\nf = {fact = \"vehicle.fuel\", word = {G = \"gasoline\"}}\n",
    "line 3, column 29: unknown key \"word\"; did you mean \"words\"?"
)]
#[case::wrong_unit(
    "format = \"wherefore-mapping/1\"\n[columns]\no = {fact = \"visit.odometer_km\", unit = \"lb\"}\n",
    "line 3, column 41: \"lb\" is no unit of it; give km or miles"
)]
#[case::unit_against_key(
    "format = \"wherefore-mapping/1\"\n[columns]\no = {fact = \"vehicle.gross_weight_kg\", unit = \"lb\"}\n",
    "line 3, column 47: \"lb\" contradicts the unit of the key; leave one of them out"
)]
#[case::no_date_form(
    "format = \"wherefore-mapping/1\"\n[columns]\nd = {fact = \"visit.date\", date = \"month/day\"}\n",
    "line 3, column 34: \"month/day\" is no form of a date; write YYYY, MM (or MMM for names) and DD once each with signs \
     between them, as \"MM/DD/YYYY\"; ... at the end lets a time follow"
)]
#[case::no_date_form_at_all(
    "format = \"wherefore-mapping/1\"\n[columns]\nd = {fact = \"visit.date\", date = []}\n",
    "line 3, column 34: is an empty list; give a form, as \"MM/DD/YYYY\""
)]
#[case::twice(
    "format = \"wherefore-mapping/1\"\n[columns]\na = \"vehicle.fuel\"\nb = \"vehicle.fuel\"\n",
    "line 4, column 5: vehicle.fuel is given twice: column \"a\" holds it too; keep one; which of the two is right cannot \
     be told from here"
)]
#[case::constant_out_of_range(
    "format = \"wherefore-mapping/1\"\n[constants]\n\"vehicle.model_year\" = 96\n",
    "line 3, column 24: a whole number is no value of vehicle.model_year; give a whole number from 1900 through 2100"
)]
#[case::no_classes(
    "format = \"wherefore-mapping/1\"\n[columns]\nr = {holds = \"recorded-result\"}\n",
    "line 3, column 14: the words of the recorded result are not given; give classes = {P = \"pass\", F = \"fail\"}, or \
     outcomes = {D = \"dynamometer\"}"
)]
#[case::two_characters(
    "format = \"wherefore-mapping/1\"\n[file]\ndelimiter = \";;\"\n[columns]\na = \"visit.date\"\n",
    "line 3, column 13: \";;\" is not one character; give one, or \"tab\""
)]
fn a_mistake_is_told_with_its_place(#[case] mapping: &str, #[case] expected: &str) {
    let faults = read(mapping).unwrap_err();
    let shown: Vec<String> = faults.iter().map(ToString::to_string).collect();
    assert!(shown.iter().any(|fault| fault == expected), "expected {expected}\nfound {shown:#?}");
}

/// Reading never stops at the first mistake.
#[test]
fn all_mistakes_are_told() {
    let text =
        "format = \"wherefore-mapping/1\"\n[columns]\na = \"vehicle.feul\"\nb = 7\nc = {fact = \"lamp.comanded\"}\n";
    let lines: Vec<usize> = read(text).unwrap_err().iter().map(|fault| fault.line).collect();
    assert_eq!(lines, [3, 4, 5]);
}

#[test]
fn units_and_lists_are_kept() {
    let text = "format = \"wherefore-mapping/1\"\n[columns]\nw = \"vehicle.gross_weight_kg\"\n\
                o = {fact = \"visit.odometer_km\", unit = \"miles\"}\n";
    let mapping = read(text).unwrap();
    let holds = |name: &str| mapping.columns.iter().find(|column| column.name == name).unwrap().holds.clone();
    assert_eq!(holds("w"), Holds::Fact(Target::Fact(Fact::GrossWeight), Reads::Number(Unit::Kilogram, None)));
    assert_eq!(holds("o"), Holds::Fact(Target::Fact(Fact::Odometer), Reads::Number(Unit::Mile, None)));
}

/// A draft can be read again, marks its guesses, and gets the columns of the motor pool's list right where a guess is
/// possible.
#[rstest]
#[case::delimiter("examples/larkspur/inspections.csv", &["year = \"vehicle.model_year\"", "delimiter = \";\"", "holds = \"pid-01\""])]
fn a_draft_is_a_mapping_file(#[case] file: &str, #[case] expected: &[&str]) {
    let output = run(&["--draft-mapping", file]);
    assert_eq!(exit(&output), 0, "{}", text(&output.stderr));
    let draft = text(&output.stdout);
    assert_eq!(read(&draft).map(|_| ()), Ok(()), "{draft}");
    let plain = draft.replace("\"year\" = ", "year = ");
    let live: String = plain.lines().filter(|line| !line.starts_with('#')).map(|line| format!("{line}\n")).collect();
    for words in expected {
        assert!(live.contains(words), "no {words} in\n{draft}");
    }
    assert!(draft.lines().filter(|line| line.starts_with('"')).all(|line| line.contains("# guess")), "{draft}");
    // Of four results three could be guessed: the reader is asked for all four.
    let asked = "# \"result\" = {holds = \"recorded-result\", classes = {\"P\" = \"\", \"F\" = \"\", \"R\" = \"\", \"N\" = \"\"}}";
    assert!(draft.contains(asked) && draft.contains("say what each word means"), "{draft}");
}

/// Records that lack a list of codes, or have an empty one, add no meaning each: memory stays flat however many there are.
#[test]
fn what_is_missing_has_one_meaning() {
    let text = "format = \"wherefore-mapping/1\"\n[columns]\nstored = \"codes.stored\"\n";
    let mut fields = Fields::new(&read(text).unwrap());
    let mut table = Table { width: 1, len: 3000, ..Table::default() };
    table.places = [MISSING, EMPTY_LIST, MISSING].repeat(1000);
    table.pad();
    let lot = fields.read(&table, &[0]);
    let Some((_, Values::Coded(codes, meaning))) = lot.store.facts.first() else { panic!("a list has codes") };
    assert_eq!(codes.all().len(), 3000);
    assert_eq!(meaning.len(), 2, "not known, and empty");
    assert_eq!(codes.all()[..3], [0, 1, 0]);
}

/// Columns as one county's open records name them (127 columns, of which these are of the kind that matter), with invented
/// values: of 24 that an audit wants at least 20 are right, those whose unit or words cannot be known are asked for, and
/// columns that only sound alike (a tailpipe reading, a visual check, a repair's cost, an empty date) are left alone.
#[test]
fn a_draft_for_a_county_s_columns_is_right_or_asks() {
    let output = run(&["--draft-mapping", "tests/audit/draft/county.csv"]);
    assert_eq!(exit(&output), 0, "{}", text(&output.stderr));
    let draft = text(&output.stdout);
    let mapping = read(&draft).unwrap();
    let monitor = |name: &str| Some(format!("monitors.{name}"));
    let fact = |key: &str| Some(key.to_owned());
    let wanted = [
        ("TEST_SDATE", fact("visit.date")),
        ("TEST_TYPE", fact("visit.kind")),
        ("MODEL_YEAR", fact("vehicle.model_year")),
        ("VEH_MAKE", fact("vehicle.make")),
        ("VEH_MODEL", fact("vehicle.model")),
        ("FUEL_TYPE", fact("vehicle.fuel")),
        ("GVWR", None),
        ("ODOMETER", None),
        ("OBD_COMM", fact("communication")),
        ("OBD_MIL_CMD", fact("lamp.commanded")),
        ("OBD_MIL_KOEO", fact("lamp.lit_key_on_engine_off")),
        ("OBD_RDY_MISFIRE", monitor("misfire")),
        ("OBD_RDY_FUEL", monitor("fuel-system")),
        ("OBD_RDY_COMPONENT", monitor("components")),
        ("OBD_RDY_CAT", monitor("catalyst")),
        ("OBD_RDY_CAT_HEATED", monitor("heated-catalyst")),
        ("OBD_RDY_EVAP", monitor("evaporative")),
        ("OBD_RDY_SEC_AIR", monitor("secondary-air")),
        ("OBD_RDY_AIR_COND", monitor("air-conditioning")),
        ("OBD_RDY_O2_SENSOR", monitor("oxygen-sensor")),
        ("OBD_RDY_O2_HEATER", monitor("oxygen-sensor-heater")),
        ("OBD_RDY_EGR", monitor("egr-vvt")),
        ("OBD_DTC", fact("codes.stored")),
        ("OBD_RESULT", None),
    ];
    let holds = |name: &str| {
        let column = mapping.columns.iter().find(|column| column.name == name)?;
        Some(match &column.holds {
            Holds::Fact(target, _) => target.key(),
            other => format!("{other:?}"),
        })
    };
    let right = wanted.iter().filter(|(_, key)| key.is_some()).filter(|(name, key)| holds(name) == *key).count();
    assert!(right >= 20, "{right} of {}\n{draft}", wanted.len());
    // What cannot be known is asked for, with the words or units that it can be.
    for (name, question) in [
        ("GVWR", "in which unit, lb or kg?"),
        ("ODOMETER", "in which unit, km or miles?"),
        ("OBD_RESULT", "say what each word means"),
    ] {
        let line = draft.lines().find(|line| line.starts_with(&format!("# \"{name}\" = "))).unwrap();
        assert!(line.contains(question), "{line}");
    }
    // Nothing else is taken for anything.
    let own: Vec<&str> = wanted.iter().map(|(name, _)| *name).chain(["TEST_ID", "OVERALL_RESULT"]).collect();
    let others: Vec<&str> =
        mapping.columns.iter().map(|column| column.name.as_str()).filter(|name| !own.contains(name)).collect();
    assert!(others.is_empty(), "{others:?}\n{draft}");
    assert!(holds("OVERALL_RESULT").is_some_and(|it| it.starts_with("Overall")), "{draft}");
}

/// Three columns of one beginning with words for monitors are readiness columns, and what else begins like them is not looked
/// at: as long as a person can read the words, of which twelve are shown. With more, no column is taken for anything.
#[rstest]
#[case::twelve(12, true)]
#[case::thirteen(13, false)]
fn readiness_columns_have_words_that_can_be_shown(#[case] count: usize, #[case] are_readiness: bool) {
    let words =
        ["Ready", "READY", "ready", "R", "r", "Not Ready", "NOT READY", "not ready", "NR", "nr", "N/A", "n/a", "NA"];
    let sample = |name: &str, fields: &[&str]| Sample {
        name: name.to_owned(),
        fields: fields.iter().map(|field| (*field).to_owned()).collect(),
    };
    let mut columns: Vec<Sample> =
        ["RDY_CAT", "RDY_EVAP", "RDY_EGR"].iter().map(|name| sample(name, &words[..count])).collect();
    columns.push(sample("RDY_RESULT", &["P", "F"]));
    let draft = draft(&columns, None);
    let monitors = draft.lines().filter(|line| line.starts_with('"') && line.contains("monitors.")).count();
    assert_eq!(monitors, if are_readiness { 3 } else { 0 }, "{draft}");
    assert_eq!(draft.contains("of the readiness columns, but no monitor"), are_readiness, "{draft}");
}
