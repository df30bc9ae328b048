//! The snapshot document: what is read, what is refused and in which words, what is written back, and the schema.
//! Forms and rules: design page, section 9 (snapshot) and section 8 (bad input).

use boon::{Compiler, Schemas};
use proptest::prelude::*;
use rstest::rstest;
use serde_json::{Value as Json, json};
use wherefore::internals::document::{self, Document, Fault, FaultKind, MAX_DEPTH, MAX_ENTRIES, Node};
use wherefore::internals::model::{
    CodeList, Date, DeclaredValue, Fact, Monitor, MonitorSet, Reading, Snapshot, TroubleCode, Unit, Value, spec, table,
};

/// The example of the design page, section 9, word for word.
const DESIGN_PAGE: &str = r#"{
  "format": "wherefore-snapshot/1",
  "vehicle": {"model_year": 2012, "fuel": "gasoline", "ignition": "spark", "gross_weight_lb": 5200, "class": "light-duty", "hybrid": false, "plug_in": false,
              "make": "Example", "model": "Sedan", "first_registered": "2012-03-01"},
  "visit": {"date": "2026-11-25", "kind": "retest", "purpose": "renewal", "area": "county name", "odometer_km": 90123, "earlier_readiness_rejections": 0,
            "earlier_failure_codes": ["P0420"], "earlier_incomplete": [], "earlier_lamp_monitors": ["catalyst"], "hours_since_previous": 30, "distance_km_since_previous": 45},
  "connector": "intact", "communication": true,
  "link": {"vin_in_data": true, "vin_matches": true},
  "lamp": {"commanded": false, "lit_key_on_engine_off": true, "lit_engine_running": false, "flashing": false},
  "codes": {"stored": [], "pending": [], "permanent": []},
  "monitors": {"misfire": "complete", "fuel-system": "complete", "components": "complete", "catalyst": "incomplete", "heated-catalyst": "unsupported",
               "evaporative": "complete", "secondary-air": "unsupported", "air-conditioning": "unsupported", "oxygen-sensor": "complete",
               "oxygen-sensor-heater": "complete", "egr-vvt": "complete"},
  "since_clear": {"warm_ups": 12, "distance_km": 80, "minutes": 300},
  "declared": {}
}"#;

fn read(text: &str) -> Result<Document, Vec<Fault>> {
    document::read(text.as_bytes())
}

fn snapshot(text: &str) -> Snapshot {
    read(text).unwrap_or_else(|faults| panic!("{faults:?}")).snapshot
}

/// A document of the format line and these further members.
fn with(members: &str) -> String {
    format!("{{\"format\": \"wherefore-snapshot/1\", {members}}}")
}

fn faults(text: &str) -> Vec<String> {
    match read(text) {
        Ok(document) => panic!("was read: {document:?}"),
        Err(faults) => faults.iter().map(Fault::to_string).collect(),
    }
}

#[test]
fn the_example_of_the_design_page_is_read_whole() {
    let read = snapshot(DESIGN_PAGE);
    assert_eq!(read.readings.len(), 46);
    assert_eq!(read.get(Fact::ModelYear), Some(&Reading::Known(Value::Number(2012))));
    assert_eq!(read.get(Fact::GrossWeight), Some(&Reading::Known(Value::Number(5200 * Unit::Pound.scale()))));
    assert_eq!(read.get(Fact::FirstRegistered), Some(&Reading::Known(Value::Date(Date::constant(2012, 3, 1)))));
    assert_eq!(read.get(Fact::HoursSincePrevious), Some(&Reading::Known(Value::Number(30 * 60))));
    let earlier: MonitorSet = [Monitor::Catalyst].into_iter().collect();
    assert_eq!(read.get(Fact::EarlierLampMonitors), Some(&Reading::Known(Value::Monitors(earlier))));
    let catalyst = read.get(Fact::Monitor(Monitor::Catalyst));
    assert_eq!(catalyst, Some(&Reading::Known(Value::Word(2))));
    assert_eq!(read.get(Fact::EarlierCodes), None, "a key that is not there is not known");
}

#[test]
fn the_example_of_the_design_page_is_written_back() {
    let written = document::write(&read(DESIGN_PAGE).unwrap());
    let mut expected: Json = serde_json::from_str(DESIGN_PAGE).unwrap();
    expected.as_object_mut().unwrap().remove("declared");
    assert_eq!(serde_json::to_value(&written).unwrap(), expected);
}

#[test]
fn keys_are_written_in_the_order_of_the_design_page() {
    let Node::Map(top) = document::write(&read(DESIGN_PAGE).unwrap()) else { panic!("not an object") };
    let names: Vec<&str> = top.iter().map(|(name, _)| name.as_str()).collect();
    let expected = [
        "format",
        "vehicle",
        "visit",
        "connector",
        "communication",
        "link",
        "lamp",
        "codes",
        "monitors",
        "since_clear",
    ];
    assert_eq!(names, expected);
}

/// `null` and a missing key are *not known* (section 9).
#[rstest]
#[case::value("\"connector\": null")]
#[case::inside("\"lamp\": {\"commanded\": null}")]
#[case::object("\"monitors\": null")]
#[case::empty("\"codes\": {}")]
#[case::declared("\"declared\": {\"exhaust\": null}")]
fn null_is_not_known(#[case] members: &str) {
    assert_eq!(snapshot(&with(members)), Snapshot::default());
}

#[rstest]
#[case::yes("true", "established")]
#[case::no("false", "none")]
#[case::protocol("\"unsupported-protocol\"", "unsupported-protocol")]
fn communication_has_three_values(#[case] text: &str, #[case] word: &str) {
    let mut expected = Snapshot::default();
    expected.set_word(Fact::Communication, word);
    assert_eq!(expected.readings.len(), 1);
    let members = format!("\"communication\": {text}");
    assert_eq!(snapshot(&with(&members)), expected);
    let written = document::write(&read(&with(&members)).unwrap());
    assert_eq!(written.get("communication").unwrap().to_json(), text);
}

/// Facts a vehicle may be without: the table says which; all others refuse the word.
#[test]
fn not_on_vehicle_is_accepted_where_the_table_says_so_and_nowhere_else() {
    let mut accepted = Vec::new();
    for fact in table::all_facts() {
        let key = table::key_of(fact);
        let members = match key.split_once('.') {
            Some((object, name)) => format!("\"{object}\": {{\"{name}\": \"not-on-vehicle\"}}"),
            None => format!("\"{key}\": \"not-on-vehicle\""),
        };
        match read(&with(&members)) {
            Ok(document) => {
                assert_eq!(document.snapshot.get(fact), Some(&Reading::NotOnVehicle), "{key}");
                assert!(spec(fact).may_be_absent, "{key}");
                accepted.push(key);
            }
            Err(faults) => {
                assert!(!spec(fact).may_be_absent, "{key}");
                assert_eq!(faults.len(), 1, "{faults:?}");
                assert_eq!((faults[0].kind, &faults[0].path), (FaultKind::NeverAbsent, &key));
            }
        }
    }
    let expected = [
        "lamp.lit_key_on_engine_off",
        "lamp.lit_engine_running",
        "lamp.flashing",
        "codes.pending",
        "codes.permanent",
        "since_clear.warm_ups",
        "since_clear.distance_km",
        "since_clear.minutes",
        "since_lamp_on.distance_km",
        "since_lamp_on.minutes",
    ];
    assert_eq!(accepted, expected);
}

/// Exact conversion: 1 mile is 1.609344 km, 1 lb is 0.45359237 kg (agreement of 1959; see `model::Unit`).
#[rstest]
#[case::weight("\"vehicle\": {\"gross_weight_kg\": 3855}", Fact::GrossWeight, 3855 * 100_000_000)]
#[case::odometer("\"visit\": {\"odometer_miles\": 56000}", Fact::Odometer, 56_000 * 1_609_344)]
#[case::since_clear("\"since_clear\": {\"distance_miles\": 200}", Fact::DistanceSinceClear, 321_868_800)]
#[case::since_lamp("\"since_lamp_on\": {\"distance_miles\": 1}", Fact::DistanceSinceLamp, 1_609_344)]
#[case::previous("\"visit\": {\"distance_miles_since_previous\": 28}", Fact::DistanceSincePrevious, 28 * 1_609_344)]
#[case::minutes("\"visit\": {\"minutes_since_previous\": 90}", Fact::HoursSincePrevious, 90)]
fn another_unit_is_converted_exactly(#[case] members: &str, #[case] fact: Fact, #[case] base: i64) {
    let document = read(&with(members)).unwrap();
    assert_eq!(document.snapshot.get(fact), Some(&Reading::Known(Value::Number(base))));
    let written = document::write(&document);
    let expected: Json = serde_json::from_str(&with(members)).unwrap();
    assert_eq!(serde_json::to_value(&written).unwrap(), expected, "the unit in which it is whole stays");
}

#[test]
fn a_quantity_in_two_units_is_a_fault_and_null_beside_it_is_none() {
    let both = faults(&with("\"vehicle\": {\"gross_weight_lb\": 8500, \"gross_weight_kg\": 3855}"));
    insta::assert_snapshot!(both.join("\n"), @"vehicle.gross_weight_kg: given a second time: vehicle.gross_weight_lb says the same thing in another unit; keep the one that was read");
    let one = snapshot(&with("\"vehicle\": {\"gross_weight_lb\": null, \"gross_weight_kg\": 3855}"));
    assert_eq!(one.readings.len(), 1);
}

#[rstest]
#[case::whole("[\"P0420\", \"p04f1\", \"U0100-87\", \"SPN 1076 FMI 5\"]", false, 4)]
#[case::part("{\"at_least\": [\"P0420\"]}", true, 1)]
#[case::part_of_none("{\"at_least\": []}", true, 0)]
#[case::none("[]", false, 0)]
fn codes_are_a_list_or_a_part_of_one(#[case] text: &str, #[case] may_hold_more: bool, #[case] count: usize) {
    let read = snapshot(&with(&format!("\"codes\": {{\"stored\": {text}}}")));
    let Some(Reading::Known(Value::Codes(list))) = read.get(Fact::StoredCodes) else { panic!("{read:?}") };
    assert_eq!((list.may_hold_more, list.codes.len()), (may_hold_more, count));
}

#[test]
fn declared_facts_keep_their_kind() {
    let read = snapshot(&with("\"declared\": {\"exhaust\": \"leaking\", \"special-use\": true, \"days\": 30}"));
    assert_eq!(read.declared["exhaust"], DeclaredValue::Word("leaking".to_owned()));
    assert_eq!(read.declared["special-use"], DeclaredValue::YesNo(true));
    assert_eq!(read.declared["days"], DeclaredValue::Number(30));
}

#[test]
fn what_is_not_judged_by_is_passed_through() {
    let members = r#""link": {"vin": "1M8GDM9AXKP042788", "calibration_ids": ["EX 1"]}, "this_cycle": {"catalyst": "disabled"},
        "from": {"lamp.commanded": [{"ecu": "7E8", "bytes": "41 01", "line": 3}]}, "quality": [{"flag": "silence", "lines": []}]"#;
    let document = read(&with(members)).unwrap();
    assert_eq!(document.snapshot, Snapshot::default());
    let paths: Vec<&str> = document.extra.iter().map(|(path, _)| path.as_str()).collect();
    assert_eq!(paths, ["link.vin", "link.calibration_ids", "this_cycle.catalyst", "from", "quality"]);
    let expected: Json = serde_json::from_str(&with(members)).unwrap();
    assert_eq!(serde_json::to_value(document::write(&document)).unwrap(), expected);
}

/// Every fault of one document, in one go.
#[test]
fn all_faults_are_reported_with_path_value_and_what_is_allowed() {
    let text = r#"{"format": "wherefore-snapshot/1", "vehicle": {"model_yaer": 2012, "model_year": 3012, "fuel": "petrol", "hybrid": "no",
        "gross_weight_lb": 5200.5, "first_registered": "2012-02-30", "make": "", "model": 3},
      "visit": {"date": "25.11.2026", "kind": "second", "odometer_km": -1, "earlier_readiness_rejections": 1e30,
        "earlier_incomplete": ["catalist", 4], "earlier_lamp_monitors": "catalyst"},
      "conector": "intact", "catalyst": "complete", "communication": "yes", "lamp": [],
      "codes": {"stored": ["P0420", "P9999", 7], "pending": {"at_most": []}, "permanent": "none"},
      "monitors": {"catalyst": "ready", "evap": "complete", "misfire": true},
      "since_clear": {"warm_ups": 256, "distance_miles": 40723, "minutes": 18446744073709551616},
      "declared": {"Exhaust": 1, "route": [], "n": 1.5}}"#;
    insta::assert_snapshot!(faults(text).join("\n"));
}

#[rstest]
#[case::format_missing("{}", FaultKind::Format)]
#[case::format_other("{\"format\": \"wherefore-snapshot/2\"}", FaultKind::Format)]
#[case::empty("", FaultKind::NotJson)]
#[case::blank(" \r\n\t", FaultKind::NotJson)]
#[case::messages("7E8 41 01 00 07 E5 00", FaultKind::NotJson)]
#[case::cut_off("{\"format\": \"wherefore-snap", FaultKind::NotJson)]
#[case::list("[1]", FaultKind::WrongType)]
#[case::trailing("{\"format\": \"wherefore-snapshot/1\"} x", FaultKind::NotJson)]
#[case::huge_exponent(
    "{\"format\": \"wherefore-snapshot/1\", \"vehicle\": {\"model_year\": 1e999}}",
    FaultKind::NotJson
)]
fn one_fault_of_the_whole_text(#[case] text: &str, #[case] kind: FaultKind) {
    let faults = read(text).unwrap_err();
    assert_eq!(faults.iter().map(|fault| fault.kind).collect::<Vec<_>>(), [kind], "{faults:?}");
}

#[rstest]
#[case::binary(
    b"\x7fELF\x02\x01\x01\x00\xff\xfe",
    "the snapshot is not UTF-8 text (byte 8); give a JSON document; `decode` makes one from messages"
)]
#[case::utf16(b"\xff\xfe{\0}\0", "the snapshot is UTF-16 text; save it as UTF-8")]
fn bytes_that_are_no_text(#[case] bytes: &[u8], #[case] message: &str) {
    let faults = document::read(bytes).unwrap_err();
    assert_eq!(faults.iter().map(Fault::to_string).collect::<Vec<_>>(), [message]);
}

/// RFC 8259, section 8.1: a reader may pass over a byte-order mark.
#[test]
fn a_byte_order_mark_is_passed_over() {
    assert_eq!(snapshot(&format!("\u{FEFF}{DESIGN_PAGE}")), snapshot(DESIGN_PAGE));
}

#[test]
fn lines_may_end_in_carriage_return_and_line_feed() {
    assert_eq!(snapshot(&DESIGN_PAGE.replace('\n', "\r\n")), snapshot(DESIGN_PAGE));
}

#[test]
fn duplicate_keys_are_faults_wherever_they_stand() {
    let text = with(
        r#""lamp": {"commanded": true, "commanded": false}, "connector": "intact", "connector": "intact",
        "declared": {"a": 1, "a": 1}, "from": {"x": [{"y": 1, "y": 2}]}"#,
    );
    insta::assert_snapshot!(faults(&text).join("\n"), @r"
    lamp.commanded: the key stands there more than once; keep one; which of the two is right cannot be told from here
    connector: the key stands there more than once; keep one; which of the two is right cannot be told from here
    declared.a: the key stands there more than once; keep one; which of the two is right cannot be told from here
    from.x[0].y: the key stands there more than once; keep one; which of the two is right cannot be told from here
    ");
}

#[rstest]
#[case::deep_fact(format!("\"connector\": {}1{}", "[".repeat(200), "]".repeat(200)), "connector")]
#[case::deep_from(format!("\"from\": {}1{}", "[".repeat(100_000), "]".repeat(100_000)), "from")]
fn deep_nesting_is_refused_at_its_place(#[case] members: String, #[case] place: &str) {
    let faults = read(&with(&members)).unwrap_err();
    assert!(faults.iter().all(|fault| fault.path.starts_with(place)), "{faults:?}");
    let deep = faults.iter().any(|fault| fault.message == format!("nested deeper than {MAX_DEPTH} levels"));
    assert!(deep || faults[0].kind == FaultKind::WrongType, "{faults:?}");
}

#[test]
fn a_hundred_thousand_codes_are_refused_with_their_number() {
    let codes = vec!["\"P0420\""; 100_000].join(",");
    let shown = faults(&with(&format!("\"codes\": {{\"stored\": [{codes}]}}")));
    assert_eq!(shown, [format!("codes.stored: 100000 entries; a list or object may have {MAX_ENTRIES}")]);
}

#[test]
fn a_text_over_the_limit_is_refused_by_its_size() {
    let text = " ".repeat(document::MAX_DOCUMENT_BYTES + 1);
    assert_eq!(faults(&text), ["the snapshot has 16777217 bytes; 16777216 are allowed"]);
}

/// States page: both may be given, and then must agree; the count counts some of the monitors that the list names.
#[rstest]
#[case::equal(2, true)]
#[case::fewer(1, true)]
#[case::more(3, false)]
fn the_earlier_count_fits_the_earlier_list(#[case] count: u32, #[case] fits: bool) {
    let members = format!(
        "\"visit\": {{\"earlier_incomplete_count\": {count}, \"earlier_incomplete\": [\"catalyst\", \"evaporative\"]}}"
    );
    let kinds: Vec<FaultKind> =
        read(&with(&members)).err().unwrap_or_default().iter().map(|fault| fault.kind).collect();
    assert_eq!(kinds, if fits { vec![] } else { vec![FaultKind::Inconsistent] });
}

/// An unsupported monitor in the list of the earlier test is no fault of the document.
#[test]
fn an_unsupported_monitor_may_stand_in_the_earlier_list() {
    let members = "\"visit\": {\"earlier_incomplete\": [\"catalyst\"]}, \"monitors\": {\"catalyst\": \"unsupported\"}";
    assert_eq!(snapshot(&with(members)).readings.len(), 2);
}

#[test]
fn several_documents_stand_one_a_line() {
    let text = format!("{}\r\n\n{}\n", with("\"connector\": \"intact\""), with("\"connector\": \"missing\""));
    assert_eq!(document::read_all(text.as_bytes()).unwrap().len(), 2);
    let one = document::read_all(DESIGN_PAGE.as_bytes()).unwrap();
    assert_eq!(one.len(), 1, "a document over several lines is one");
}

#[test]
fn faults_of_json_lines_name_the_line() {
    let text = format!("{}\n{{\"format\": \n{}\n", with("\"conector\": 1"), with("\"connector\": 1"));
    let shown: Vec<String> = document::read_all(text.as_bytes()).unwrap_err().iter().map(Fault::to_string).collect();
    insta::assert_snapshot!(shown.join("\n"));
}

fn schema_is_met(document: &Json) -> bool {
    let mut schemas = Schemas::new();
    let mut compiler = Compiler::new();
    let schema = serde_json::to_value(document::schema()).unwrap();
    compiler.add_resource("snapshot.json", schema).unwrap();
    let place = compiler.compile("snapshot.json", &mut schemas).unwrap();
    schemas.validate(document, place).is_ok()
}

/// The schema against an independent validator: what it refuses, reading refuses; what reading accepts, it accepts.
#[rstest]
#[case::design_page(DESIGN_PAGE.to_owned(), true)]
#[case::empty("{\"format\": \"wherefore-snapshot/1\"}".to_owned(), true)]
#[case::no_format("{}".to_owned(), false)]
#[case::unknown_key(with("\"conector\": \"intact\""), false)]
#[case::two_units(with("\"visit\": {\"odometer_km\": 1, \"odometer_miles\": 1}"), false)]
#[case::two_units_one_null(with("\"visit\": {\"odometer_km\": null, \"odometer_miles\": 1}"), true)]
#[case::range_low(with("\"vehicle\": {\"model_year\": 1899}"), false)]
#[case::range_high(with("\"since_clear\": {\"warm_ups\": 256}"), false)]
#[case::range_edge(with("\"since_clear\": {\"warm_ups\": 255}"), true)]
#[case::miles_edge(with("\"since_clear\": {\"distance_miles\": 40721}"), true)]
#[case::miles_over(with("\"since_clear\": {\"distance_miles\": 40722}"), false)]
#[case::never_absent(with("\"lamp\": {\"commanded\": \"not-on-vehicle\"}"), false)]
#[case::absent(with("\"codes\": {\"permanent\": \"not-on-vehicle\"}"), true)]
#[case::code(with("\"codes\": {\"stored\": [\"P0420-1\"]}"), false)]
#[case::code_sign(with("\"codes\": {\"stored\": [\"P0420-+1\"]}"), false)]
#[case::at_least(with("\"codes\": {\"stored\": {\"at_least\": [\"P0420\"]}}"), true)]
#[case::monitor(with("\"visit\": {\"earlier_incomplete\": [\"evap\"]}"), false)]
#[case::declared(with("\"declared\": {\"exhaust\": \"leaking\", \"n\": 3, \"y\": true, \"z\": null}"), true)]
#[case::declared_name(with("\"declared\": {\"Exhaust\": true}"), false)]
#[case::this_cycle(with("\"this_cycle\": {\"catalyst\": \"unsupported\"}"), false)]
#[case::blank_text(with("\"vehicle\": {\"make\": \" \"}"), false)]
#[case::time_of_day(with("\"visit\": {\"date\": \"2026-11-25T10:00\"}"), false)]
fn schema_and_reading_agree(#[case] text: String, #[case] accepted: bool) {
    assert_eq!(schema_is_met(&serde_json::from_str(&text).unwrap()), accepted, "the schema");
    assert_eq!(read(&text).is_ok(), accepted, "reading: {:?}", read(&text));
}

/// The committed schema is the one the table gives; `WHEREFORE_BLESS=1` writes it anew.
#[test]
fn the_committed_schema_of_the_snapshot_is_up_to_date() {
    let made = format!("{}\n", serde_json::to_string_pretty(&document::schema()).unwrap());
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/grammar/schema/wherefore-snapshot-1.json");
    if std::env::var_os("WHEREFORE_BLESS").is_some() {
        std::fs::write(path, &made).unwrap();
    }
    let committed = std::fs::read_to_string(path).unwrap_or_default();
    assert!(committed == made, "the schema changed: run this test with WHEREFORE_BLESS=1 and review the difference");
}

fn any_reading(fact: Fact) -> BoxedStrategy<Reading> {
    use wherefore::internals::model::FactType as T;
    let known = match spec(fact).kind {
        T::YesNo { .. } | T::Words(_) => (0..u8::try_from(fact.words().len()).unwrap()).prop_map(Value::Word).boxed(),
        T::Number { unit, least, most, .. } => {
            (least..=most).prop_map(move |n| Value::Number(n * unit.scale())).boxed()
        }
        T::Date => (1900i16..2200, 1i8..13, 1i8..29).prop_map(|(y, m, d)| Value::Date(Date::constant(y, m, d))).boxed(),
        T::Text => "[A-Za-z \"\\\\é]{0,30}[a-z]".prop_map(Value::Text).boxed(),
        T::Monitors => any::<u32>().prop_map(|bits| Value::Monitors(MonitorSet::from_bits(bits))).boxed(),
        T::Codes => (prop::collection::btree_set(any_code(), 0..4), any::<bool>())
            .prop_map(|(codes, may_hold_more)| Value::Codes(CodeList { codes, may_hold_more }))
            .boxed(),
    };
    let known = known.prop_map(Reading::Known);
    if spec(fact).may_be_absent {
        prop_oneof![4 => known, 1 => Just(Reading::NotOnVehicle)].boxed()
    } else {
        known.boxed()
    }
}

fn any_code() -> impl Strategy<Value = TroubleCode> {
    prop_oneof![
        (any::<u16>(), any::<Option<u8>>()).prop_map(|(code, failure_type)| TroubleCode::Obd { code, failure_type }),
        (1u32..524_287, 0u8..32).prop_map(|(spn, fmi)| TroubleCode::J1939 { spn, fmi }),
    ]
}

fn any_snapshot() -> impl Strategy<Value = Snapshot> {
    let readings: Vec<_> = table::all_facts()
        .filter(|fact| *fact != Fact::EarlierIncompleteCount)
        .map(|fact| prop::option::of(any_reading(fact)).prop_map(move |reading| reading.map(|r| (fact, r))))
        .collect();
    readings.prop_map(|list| Snapshot { readings: list.into_iter().flatten().collect(), ..Snapshot::default() })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// What is written is read back as it was, and meets the schema.
    #[test]
    fn writing_and_reading_are_inverse(snapshot in any_snapshot()) {
        let document = Document { snapshot, extra: Vec::new() };
        let written = document::write(&document);
        prop_assert_eq!(document::read(written.to_json().as_bytes()), Ok(document));
        prop_assert!(schema_is_met(&serde_json::to_value(&written).unwrap()));
    }

    /// No bytes make reading panic, and what is refused says so.
    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        if let Err(faults) = document::read_all(&bytes) {
            prop_assert!(!faults.is_empty());
        }
    }

    /// One member changed to another JSON value: reading and schema agree on it, but for what a schema cannot say.
    #[test]
    fn schema_refuses_nothing_that_reading_accepts(
        place in 0usize..40,
        value in prop_oneof![
            Just(json!(null)), Just(json!(true)), Just(json!(-1)), Just(json!(7)), Just(json!(1.5)), Just(json!([])),
            Just(json!({})), Just(json!("not-on-vehicle")), Just(json!("catalyst")), Just(json!(["P0420"])),
            Just(json!("2020-01-01")), Just(json!(65_535)), Just(json!(65_536)), Just(json!("complete")),
        ],
    ) {
        let mut document: Json = serde_json::from_str(DESIGN_PAGE).unwrap();
        let mut left = place;
        for (_, part) in document.as_object_mut().unwrap().iter_mut() {
            if let Some(object) = part.as_object_mut() {
                let size = object.len();
                if let Some((_, slot)) = object.iter_mut().nth(left) {
                    *slot = value.clone();
                    break;
                }
                left -= size;
            }
        }
        let read = document::read(document.to_string().as_bytes());
        prop_assert_eq!(read.is_ok(), schema_is_met(&document), "{:?}", read);
    }
}
