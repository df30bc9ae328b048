//! What a person saw or knows, beside what the data say. Where both speak and differ, both are said.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::wildcard_enum_match_arm,
    reason = "a test that does not find what it looks for has to stop there"
)]

use rstest::rstest;
use serde_json::{Value, json};
use wherefore::internals::decode::{BulbCheck, Communication, Options, RunningLamp};

use crate::decode_support::{fact, flags, with};

const ENGINE: &str = "7E8 41 01 00 07 E5 00\n";
/// A VIN in the data, of 49 CFR 565: position 7 is a digit, position 10 K: 1989 or 2019.
const VIN: &str = "7E8 49 02 01 31 4D 38 47 44 4D 39 41 58 4B 50 30 34 32 37 38 38\n";

#[test]
fn everything_a_person_says_is_carried_over() {
    let options = Options {
        model_year: Some(2018),
        fuel: Some("gasoline".into()),
        gross_weight_lb: Some(5200),
        class: Some("light-duty".into()),
        date: Some("2026-11-25".into()),
        visit_kind: Some("retest".into()),
        lamp_bulb: Some(BulbCheck::Ok),
        lamp_running: Some(RunningLamp::Dark),
        connector: Some("intact".into()),
        area: Some("county name".into()),
        odometer_km: Some(90123),
        ..Options::default()
    };
    let decoded = with(ENGINE, &options);
    let expected = [
        ("/vehicle/model_year", json!(2018)),
        ("/vehicle/fuel", json!("gasoline")),
        ("/vehicle/gross_weight_lb", json!(5200)),
        ("/vehicle/class", json!("light-duty")),
        ("/visit/date", json!("2026-11-25")),
        ("/visit/kind", json!("retest")),
        ("/visit/area", json!("county name")),
        ("/visit/odometer_km", json!(90123)),
        ("/lamp/lit_key_on_engine_off", json!(true)),
        ("/lamp/lit_engine_running", json!(false)),
        ("/lamp/flashing", json!(false)),
        ("/connector", json!("intact")),
        ("/communication", json!(true)),
    ];
    for (pointer, value) in expected {
        assert_eq!(fact(&decoded, pointer), value, "{pointer}");
    }
    assert_eq!(decoded.document["from"]["vehicle.fuel"], json!([{"observer": "person"}]));
    assert_eq!(decoded.document["format"], "wherefore-snapshot/1");
}

#[rstest]
#[case::lit(RunningLamp::Lit, true, false)]
#[case::dark(RunningLamp::Dark, false, false)]
#[case::flashing(RunningLamp::Flashing, true, true)]
fn lamp_with_the_engine_running(#[case] lamp: RunningLamp, #[case] lit: bool, #[case] flashing: bool) {
    let decoded = with(ENGINE, &Options { lamp_running: Some(lamp), ..Options::default() });
    assert_eq!(fact(&decoded, "/lamp/lit_engine_running"), lit);
    assert_eq!(fact(&decoded, "/lamp/flashing"), flashing);
    assert_eq!(fact(&decoded, "/lamp/commanded"), false, "the command is the data's");
}

/// Silence is not "no": only a person says that there was no communication.
#[rstest]
#[case::nobody_said("can0 7DF#0201010000000000", None, Value::Null)]
#[case::a_person_said_no("can0 7DF#0201010000000000", Some(Communication::No), json!(false))]
#[case::other_protocol("can0 7DF#0201010000000000", Some(Communication::UnsupportedProtocol), json!("unsupported-protocol"))]
#[case::data_disagree(ENGINE, Some(Communication::No), json!(true))]
fn communication(#[case] text: &str, #[case] said: Option<Communication>, #[case] expected: Value) {
    let decoded = with(text, &Options { communication: said, ..Options::default() });
    assert_eq!(fact(&decoded, "/communication"), expected);
    let differs = flags(&decoded).contains(&"communication-differs");
    assert_eq!(differs, text == ENGINE);
}

/// Model year: the person's against the VIN's (49 CFR 565.15(b); obd-data.md section 4).
#[rstest]
#[case::agrees(Some(1989), Some("light-duty"), json!(1989), &[])]
#[case::other_candidate_heavy_or_unknown(Some(2019), None, json!(2019), &[])]
#[case::other_candidate_light(Some(2019), Some("light-duty"), json!(2019), &["model-year-differs-from-vin"])]
#[case::no_candidate(Some(2018), None, json!(2018), &["model-year-differs-from-vin"])]
#[case::decided_by_position_7(None, Some("light-duty"), json!(1989), &["model-year-from-vin"])]
#[case::not_decided(None, None, Value::Null, &["model-year-not-decided"])]
fn model_year(#[case] said: Option<u16>, #[case] class: Option<&str>, #[case] expected: Value, #[case] slugs: &[&str]) {
    let options = Options { model_year: said, class: class.map(Into::into), ..Options::default() };
    let decoded = with(&format!("{ENGINE}{VIN}"), &options);
    assert_eq!(fact(&decoded, "/vehicle/model_year"), expected);
    assert_eq!(flags(&decoded), slugs);
}

#[rstest]
#[case::same("1M8GDM9AXKP042788", json!(true), &[])]
#[case::small_letters("1m8gdm9axkp042788", json!(true), &[])]
#[case::other("1FACP45EXLF192944", json!(false), &["vin-differs"])]
#[case::misread("1M8GDM9AXKP042789", json!(false), &["vin-check-digit", "vin-differs"])]
#[case::not_a_vin("1M8GDM9AXKP04278", Value::Null, &["vin-as-read-malformed"])]
fn vin_as_read_on_the_vehicle(#[case] seen: &str, #[case] expected: Value, #[case] slugs: &[&str]) {
    let options = Options { vin: Some(seen.into()), model_year: Some(1989), ..Options::default() };
    let decoded = with(&format!("{ENGINE}{VIN}"), &options);
    assert_eq!(fact(&decoded, "/link/vin_matches"), expected);
    assert_eq!(flags(&decoded), slugs);
}

/// Whether the data hold a VIN (obd-data.md sections 1.7, 1.8 and 4).
#[rstest]
#[case::nobody_asked("", Value::Null)]
#[case::silence("can0 7DF#0209020000000000\n", Value::Null)]
#[case::read(VIN, json!(true))]
#[case::zeros("7E8 49 02 01 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00\n", json!(false))]
#[case::all_ff("7E8 49 02 01 FF FF FF FF FF FF FF FF FF FF FF FF FF FF FF FF FF\n", json!(false))]
#[case::test_pattern_of_ones("7E8 49 02 01 31 31 31 31 31 31 31 31 31 31 31 31 31 31 31 31 31\n", json!(false))]
#[case::refused("7E8 7F 09 12\n", json!(false))]
#[case::refused_by_a_secondary_ecu("7E9 41 01 00 04 00 00\n7E9 7F 09 12\n", Value::Null)]
#[case::wait("7E8 7F 09 78\n", Value::Null)]
#[case::conditions("7E8 7F 09 22\n", Value::Null)]
#[case::letters_that_no_vin_has("7E8 49 02 01 49 4F 51 49 4F 51 49 4F 51 49 4F 51 49 4F 51 49 4F\n", Value::Null)]
#[case::refused_and_read(&format!("7E9 7F 09 12\n{VIN}"), json!(true))]
fn vin_in_the_data(#[case] lines: &str, #[case] expected: Value) {
    let decoded = with(&format!("{ENGINE}{lines}"), &Options::default());
    assert_eq!(fact(&decoded, "/link/vin_in_data"), expected, "{:#}", decoded.document);
}

/// Fuel against the table of monitors (obd-data.md section 1.2: a diesel before model year 2010
/// may send B3 = 0).
#[rstest]
#[case::diesel_with_spark_table("diesel", ENGINE, Value::Null, true)]
#[case::diesel("diesel", "7E8 41 01 00 0F EB 00\n", json!("compression"), false)]
#[case::gasoline("gasoline", ENGINE, json!("spark"), false)]
#[case::gasoline_with_diesel_table("gasoline", "7E8 41 01 00 0F EB 00\n", json!("compression"), true)]
fn fuel_and_ignition(#[case] fuel: &str, #[case] text: &str, #[case] expected: Value, #[case] differs: bool) {
    let decoded = with(text, &Options { fuel: Some(fuel.into()), ..Options::default() });
    assert_eq!(fact(&decoded, "/vehicle/ignition"), expected);
    assert_eq!(flags(&decoded).contains(&"fuel-and-monitors-differ"), differs);
    assert_eq!(fact(&decoded, "/vehicle/fuel"), fuel, "the person's word stays");
}

#[test]
fn odometer_of_a_person_stands() {
    let text = format!("{ENGINE}7E8 41 A6 00 00 27 10\n");
    let said = Options { odometer_km: Some(999), ..Options::default() };
    let decoded = with(&text, &said);
    assert_eq!(fact(&decoded, "/visit/odometer_km"), 999);
    assert_eq!(flags(&decoded), ["odometer-differs"]);
}
