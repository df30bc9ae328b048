//! Answers of several ECUs joined to one vehicle: named cases with the rule they follow from.
//!
//! The rules are those of obd-data.md section 1.9 unless a case names another section.
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

use crate::decode_support::{fact, flags, read};

/// Lines separated by `;`, a fact's pointer and what it must be (null: not known).
#[rstest]
#[case::lamp_on_in_a_secondary_ecu("7E8 41 01 00 07 E5 00; 7E9 41 01 81 04 00 00", "/lamp/commanded", json!(true))]
#[case::lamp_off_in_all("7E8 41 01 00 07 E5 00; 7E9 41 01 00 04 00 00", "/lamp/commanded", json!(false))]
#[case::lamp_on_without_engine_controller("7E9 41 01 81 04 00 00", "/lamp/commanded", json!(true))]
#[case::lamp_off_without_engine_controller("7E9 41 01 00 04 00 00", "/lamp/commanded", Value::Null)]
#[case::lamp_off_but_an_ecu_unread("7E8 41 01 00 07 E5 00; 7E9 43 00", "/lamp/commanded", Value::Null)]
#[case::lamp_on_with_count_zero_section_1_6("7E8 41 01 80 27 E5 E5", "/lamp/commanded", json!(true))]
#[case::lamp_off_with_codes_section_1_6("7E8 41 01 04 07 E5 21", "/lamp/commanded", json!(false))]
#[case::complete_only_if_all_are("7E8 41 01 00 07 E5 00; 7E9 41 01 00 44 00 00", "/monitors/components", json!("incomplete"))]
#[case::supported_if_any_does("7E8 41 01 00 07 E1 00; 7E9 41 01 00 04 04 04", "/monitors/evaporative", json!("incomplete"))]
#[case::readiness_of_a_controller_without_obd_does_not_count(
    "18FECE00 00 00 14 37 E0 1E 00 00; 18FECE0B 00 00 05 37 E0 1E E0 1E", "/monitors/hd-egr-vvt", json!("complete"))]
#[case::a_cut_list_of_as_many_as_announced_is_not_whole(
    "7E8 06 41 01 82 07 E5 00 00; 7E8 10 08 43 03 04 20 01 71", "/codes/stored", json!({"at_least": ["P0171", "P0420"]}))]
#[case::complete_in_both("7E8 41 01 00 07 E5 00; 7E9 41 01 00 04 04 00", "/monitors/evaporative", json!("complete"))]
#[case::spark_has_no_diesel_names("7E8 41 01 00 07 E5 00", "/monitors/boost-pressure", Value::Null)]
#[case::diesel_has_no_spark_names("7E8 41 01 00 0F EB 00", "/monitors/catalyst", Value::Null)]
#[case::diesel_with_ccm_only_spark_bit("7E8 41 01 00 0F EB 00; 7E9 41 01 00 04 00 00", "/vehicle/ignition", json!("compression"))]
#[case::zero_is_no_engine("7E8 41 01 00 00 00 00", "/monitors", Value::Null)]
#[case::ccm_only_is_no_engine("7E8 41 01 00 04 00 00", "/monitors", Value::Null)]
#[case::conflict_is_not_known("7E8 41 01 00 07 E5 00; 7E9 41 01 00 0F EB 00", "/vehicle/ignition", Value::Null)]
#[case::conflict_leaves_no_monitors("7E8 41 01 00 07 E5 00; 7E9 41 01 00 0F EB 00", "/monitors", Value::Null)]
#[case::id_outside_is_not_joined("7E8 41 01 00 07 E5 00; 5EA 41 01 81 04 00 00", "/lamp/commanded", json!(false))]
#[case::latest_status_stands("7E8 41 01 81 07 E5 04; 7E8 41 01 00 07 E5 00", "/monitors/evaporative", json!("complete"))]
#[case::smallest_of_engine_controllers("7E8 41 01 00 07 E5 00; 7E9 41 01 00 01 00 00; 7E8 41 30 09; 7E9 41 30 04", "/since_clear/warm_ups", json!(4))]
#[case::secondary_counter_does_not_count("7E8 41 01 00 07 E5 00; 7E9 41 01 00 04 00 00; 7E8 41 30 09; 7E9 41 30 04", "/since_clear/warm_ups", json!(9))]
#[case::saturated_stays("7E8 41 01 00 07 E5 00; 7E8 41 30 FF", "/since_clear/warm_ups", json!(255))]
#[case::counter_of_secondary_alone(
    "7E8 41 01 00 07 E5 00; 7E9 41 01 00 04 00 00; 7E9 41 30 04",
    "/since_clear/warm_ups",
    Value::Null
)]
#[case::not_on_vehicle_by_bitmap("7E8 41 01 00 07 E5 00; 7E8 41 00 80 00 00 01; 7E8 41 20 00 00 00 00", "/since_clear/warm_ups", json!("not-on-vehicle"))]
#[case::not_on_vehicle_by_missing_block("7E8 41 01 00 07 E5 00; 7E8 41 00 80 00 00 00", "/since_clear/minutes", json!("not-on-vehicle"))]
#[case::supported_and_silent(
    "7E8 41 01 00 07 E5 00; 7E8 41 00 80 00 00 01; 7E8 41 20 00 01 80 00",
    "/since_clear/warm_ups",
    Value::Null
)]
#[case::bitmap_not_read("7E8 41 01 00 07 E5 00", "/since_clear/warm_ups", Value::Null)]
#[case::requirement_of_engine_only("7E8 41 01 00 07 E5 00; 7E9 41 01 00 04 00 00; 7E8 41 1C 03; 7E9 41 1C 05", "/link/obd_requirement", json!([3]))]
#[case::requirement_unknown_kept_raw("7E8 41 01 00 07 E5 00; 7E8 41 1C C8", "/link/obd_requirement", json!([200]))]
#[case::fuel_in_use("7E8 41 01 00 07 E5 00; 7E8 41 51 03", "/vehicle/fuel_in_use", json!("ethanol"))]
#[case::fuel_not_available("7E8 41 01 00 07 E5 00; 7E8 41 51 00", "/vehicle/fuel_in_use", Value::Null)]
#[case::fuel_without_word("7E8 41 01 00 07 E5 00; 7E8 41 51 1D", "/vehicle/fuel_in_use", Value::Null)]
#[case::odometer_cut_to_km("7E8 41 01 00 07 E5 00; 7E8 41 A6 00 00 27 19", "/visit/odometer_km", json!(1000))]
#[case::this_cycle_is_no_readiness("7E8 41 01 00 07 E5 00; 7E8 41 41 00 07 E5 E5", "/monitors/catalyst", json!("complete"))]
#[case::this_cycle_disabled("7E8 41 41 00 07 A5 44", "/this_cycle/oxygen-sensor-heater", json!("disabled"))]
#[case::s0n1_is_unsupported_section_1_2("7E8 41 01 00 07 01 80", "/monitors/egr-vvt", json!("unsupported"))]
#[case::nothing_on_other_protocol_f501("7E8 62 F5 01 00 00 00", "/monitors", Value::Null)]
fn facts_of_several_ecus(#[case] lines: &str, #[case] pointer: &str, #[case] expected: Value) {
    let decoded = read(&lines.replace("; ", "\n"));
    assert_eq!(fact(&decoded, pointer), expected, "{:#}", decoded.document);
}

/// Code lists: whole, known in part, or not known (obd-data.md sections 1.6, 1.9 and 7).
#[rstest]
#[case::none_stored("7E8 43 00", "/codes/stored", json!([]))]
#[case::none_permanent("7E8 4A 00", "/codes/permanent", json!([]))]
#[case::silence_is_not_none("7E8 41 01 00 07 E5 00", "/codes", Value::Null)]
#[case::union_over_ecus("7E8 43 01 04 20; 7E9 43 02 04 20 07 00", "/codes/stored", json!(["P0420", "P0700"]))]
#[case::count_agrees("7E8 41 01 81 07 E5 00; 7E8 43 01 04 20", "/codes/stored", json!(["P0420"]))]
#[case::count_larger("7E8 41 01 82 07 E5 00; 7E8 43 01 04 20", "/codes/stored", json!({"at_least": ["P0420"]}))]
#[case::count_smaller("7E8 41 01 00 07 E5 00; 7E8 43 01 04 20", "/codes/stored", json!({"at_least": ["P0420"]}))]
#[case::counted_ecu_silent("7E8 41 01 00 07 E5 00; 7E9 41 01 81 04 00 00; 7E8 43 00", "/codes/stored", Value::Null)]
#[case::uncounted_ecu_silent("7E8 41 01 81 07 E5 00; 7E9 41 01 00 04 00 00; 7E8 43 01 04 20", "/codes/stored", json!(["P0420"]))]
#[case::engine_silent_on_permanent("7E8 41 01 00 07 E5 00; 7E9 4A 00", "/codes/permanent", Value::Null)]
#[case::engine_silent_others_have("7E8 41 01 00 07 E5 00; 7E9 4A 01 07 00", "/codes/permanent", json!({"at_least": ["P0700"]}))]
#[case::padding_is_no_code("7E8 43 01 04 20 00 00", "/codes/stored", json!(["P0420"]))]
#[case::fewer_than_announced("7E8 43 03 04 20", "/codes/stored", json!({"at_least": ["P0420"]}))]
#[case::refused("7E8 7F 0A 11", "/codes", Value::Null)]
#[case::letters_in_codes("7E8 43 01 3F FF", "/codes/stored", json!(["P3FFF"]))]
#[case::later_answer_stands("7E8 43 01 04 20; 7E8 43 00", "/codes/stored", json!([]))]
#[case::legacy_free_slot("48 6B 10 43 03 06 03 56 00 00 DC", "/codes/stored", json!(["P0306", "P0356"]))]
#[case::legacy_full_message("48 6B 10 43 03 00 03 02 03 03 14", "/codes/stored", json!({"at_least": ["P0300", "P0302", "P0303"]}))]
#[case::legacy_full_and_counted("48 6B 10 43 03 00 03 02 03 03 14; 48 6B 10 41 01 83 07 E5 00 74", "/codes/stored", json!(["P0300", "P0302", "P0303"]))]
#[case::uds_stored_by_mask("7DF 19 42 33 08 1E; 7E8 59 42 33 FF 1E 04 20 04 20 11 08", "/codes/stored", json!(["P0420-11"]))]
#[case::uds_stored_none("7DF 19 42 33 08 1E; 7E8 59 42 33 FF 1E 04", "/codes/stored", json!([]))]
#[case::uds_mask_not_seen("7E8 59 42 33 FF 1E 04 20 04 20 11 08", "/codes/stored", json!({"at_least": ["P0420-11"]}))]
#[case::uds_pending_by_status("7DF 19 42 33 04 1E; 7E8 59 42 33 FF 1E 04 20 04 20 11 04", "/codes/pending", json!(["P0420-11"]))]
#[case::uds_other_group("7E8 59 55 D0 FF 04 04 20 11 08", "/codes", Value::Null)]
#[case::uds_other_format("7E8 59 55 33 FF 02 04 20 11 08", "/codes", Value::Null)]
#[case::spn_zero_is_none("18FED400 00 FF 00 00 00 00 FF FF", "/codes/stored", json!([]))]
#[case::spn_all_ones_is_none("18FED400 00 FF FF FF FF FF FF FF", "/codes/stored", json!([]))]
fn code_lists(#[case] lines: &str, #[case] pointer: &str, #[case] expected: Value) {
    let decoded = read(&lines.replace("; ", "\n"));
    assert_eq!(fact(&decoded, pointer), expected, "{:#}", decoded.document);
}

/// Flags that must be raised, and nothing else.
#[rstest]
#[case::clean("7E8 41 01 00 07 E5 00; 7E8 43 00; 7E8 4A 00", &[])]
#[case::no_engine("7E8 41 01 00 04 00 00", &["lamp-not-known", "no-engine-controller"])]
#[case::unsupported_incomplete("7E8 41 01 00 07 01 80", &["incomplete-but-unsupported"])]
#[case::reserved_bit("7E8 41 01 00 87 01 00", &["reserved-bit-set"])]
#[case::spark_bit_4("7E8 41 01 00 07 11 00", &["spark-bit-4"])]
#[case::pending_only("7E8 41 01 00 07 E5 00; 7E8 7F 09 78", &["answer-pending"])]
#[case::pending_then_answer("7E8 41 01 00 07 E5 00; 7E8 7F 03 78; 7E8 43 00", &[])]
#[case::too_short("7E8 41 01 00 07", &["answer-too-short"])]
#[case::cleared("7E8 44", &["cleared-during-capture"])]
#[case::changed("7E8 41 01 00 07 E5 04; 7E8 41 01 00 07 E5 00", &["changed-during-capture"])]
#[case::several_pids("7E8 41 01 00 07 E5 00 30 05 31 00 09", &[])]
#[case::padding_behind("7E8 41 01 00 07 E5 00 55 55", &["bytes-behind-answer"])]
#[case::dm19_refused_by_name("18D3FF00 01 02 03 04 05 06 07 08", &["message-not-read"])]
#[case::two_protocols("7E8 41 01 00 07 E5 00; 7E8 62 F8 10 01", &["more-than-one-protocol"])]
#[case::j1939_number_not_available("18FECE00 00 00 14 07 65 00 00 00; 18C1FF00 FF FF 64 00 1E 00 2C 01", &["controller-without-status", "value-not-available"])]
// Of two engine controllers the larger stands; 64255 means that or more (section 2.3), 64254 is a distance.
#[case::j1939_distance_of_one_tops_out("18FECE00 00 00 14 07 65 00 00 00; 18FECE01 00 00 14 07 65 00 00 00; 18C1FF00 FF FA 64 00 1E 00 2C 01; 18C1FF01 0A 00 64 00 1E 00 2C 01", &["controller-without-status", "counters-differ", "saturated"])]
#[case::j1939_distance_below_the_top("18FECE00 00 00 14 07 65 00 00 00; 18FECE01 00 00 14 07 65 00 00 00; 18C1FF00 FE FA 64 00 1E 00 2C 01; 18C1FF01 0A 00 64 00 1E 00 2C 01", &["controller-without-status", "counters-differ"])]
#[case::j1939_warm_ups_top_out("18FECE00 00 00 14 07 65 00 00 00; 18FDB800 3E 00 FA 07 65 00 00 00", &["controller-without-status", "saturated"])]
fn flags_raised(#[case] lines: &str, #[case] expected: &[&str]) {
    let decoded = read(&lines.replace("; ", "\n"));
    assert_eq!(flags(&decoded), expected, "{:#}", decoded.document["quality"]);
}

/// A controller that takes no part in OBD (compliance 05) does not count (section 2.3), and the
/// composite of four modules is as printed in issue 1032 of j1939-84 (`real/other.json`).
#[test]
fn heavy_duty_composite() {
    let decoded = read(
        "18FECE3D 00 00 14 04 60 1C 60 1C\n18FECE00 00 00 14 37 E0 1E E0 1E\n\
         18FECE03 00 00 05 07 00 00 00 00\n",
    );
    let expected = [
        ("hd-boost-pressure", "incomplete"),
        ("hd-particulate-filter", "incomplete"),
        ("hd-egr-vvt", "incomplete"),
        ("hd-components", "complete"),
        ("hd-catalyst", "unsupported"),
        ("hd-misfire", "incomplete"),
    ];
    for (name, state) in expected {
        assert_eq!(fact(&decoded, &format!("/monitors/{name}")), state, "{name}");
    }
    assert_eq!(fact(&decoded, "/link/protocol"), "j1939");
    assert_eq!(fact(&decoded, "/communication"), true);
}

/// Every fact of the document has an origin, and every origin names a line that holds its bytes.
#[test]
fn provenance_names_the_lines() {
    let text = include_str!("../decode/obdb/capture.log");
    let lines: Vec<&str> = text.lines().collect();
    let decoded = read(text);
    let from = decoded.document["from"].as_object().unwrap();
    assert!(from.len() > 15, "{from:#?}");
    for (path, origins) in from {
        let origins = origins.as_array().unwrap();
        assert!(!origins.is_empty(), "{path}");
        assert_ne!(fact(&decoded, &format!("/{}", path.replace('.', "/"))), Value::Null, "{path}");
        for origin in origins {
            if origin["observer"] == "log" {
                assert_eq!(path, "visit.date", "only the date comes from the clock of the log");
                continue;
            }
            let line = usize::try_from(origin["line"].as_u64().unwrap()).unwrap();
            let bytes = origin["bytes"].as_str().unwrap().replace(' ', "");
            let text = lines[line - 1];
            assert!(text.contains(&bytes), "{path}: {bytes} in {text}");
            assert!(text.contains(origin["ecu"].as_str().unwrap()), "{path}");
        }
    }
}
