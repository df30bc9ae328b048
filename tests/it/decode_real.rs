//! Every real record of `tests/decode/obdb` and `tests/decode/real`: decodes, and joins as the
//! record's aggregate says. The source of each row is its `provenance`.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::wildcard_enum_match_arm,
    reason = "a test that does not find what it looks for has to stop there"
)]

use std::collections::BTreeSet;

use serde_json::{Value, json};
use wherefore::internals::decode::{Decoded, EcuId, Quantity};
use wherefore::internals::model::MonitorState;

use crate::decode_support::{fact, flags, in_state, monitor_name, named, read, rows};
use crate::decode_vectors::heavy_duty;

/// Flags that a real record may raise, each explained in obd-data.md sections 1.2, 1.9 and 6.
const EXPLAINED: [&str; 8] = [
    "bytes-behind-answer",
    "counters-differ",
    "engine-controller-not-identified",
    "frames-in-plain-lines",
    "no-engine-controller",
    "stray-frame",
    "lamp-not-known",
    "code-count-mismatch",
];

fn lines(row: &Value) -> String {
    let raw = row["raw"].as_array().unwrap();
    raw.iter().map(|line| format!("{}\n", line.as_str().unwrap())).collect()
}

fn explained(decoded: &Decoded, what: &str) {
    for slug in flags(decoded) {
        assert!(EXPLAINED.contains(&slug), "unexplained flag {slug}: {what}");
    }
    assert!(decoded.refused.is_empty(), "{what}");
}

#[test]
fn monitor_status_records_join_as_recorded() {
    let rows = rows("obdb/pid01.json");
    assert_eq!(rows.len(), 144, "obd-real.json, pid01");
    for row in rows {
        let what = format!("{} {} {}", row["vehicle"], row["model_year"], row["provenance"]);
        let decoded = read(&lines(&row));
        explained(&decoded, &what);
        let wanted = &row["aggregate"];
        let statuses: Vec<_> = decoded.ecus.values().filter_map(|e| e.monitor_status.as_ref()).collect();
        assert_eq!(statuses.len(), row["ecus"].as_array().unwrap().len(), "{what}");
        let sum: usize = statuses.iter().map(|r| usize::from(r.value.code_count)).sum();
        assert_eq!(json!(sum), wanted["dtc_sum"], "{what}");

        let engine = named(&wanted["supported"]).iter().any(|n| *n != "components");
        let lamp = fact(&decoded, "/lamp/commanded");
        if engine || wanted["mil_any"] == true {
            assert_eq!(lamp, wanted["mil_any"], "{what}");
        } else {
            assert_eq!(lamp, Value::Null, "no engine controller, so not known: {what}");
        }
        if !engine {
            assert!(flags(&decoded).contains(&"no-engine-controller"), "{what}");
            assert!(decoded.document.get("monitors").is_none(), "{what}");
            continue;
        }
        let monitors = decoded.document["monitors"].as_object().unwrap();
        let of = |keep: &dyn Fn(&Value) -> bool| -> Vec<&str> {
            monitors.iter().filter(|(_, s)| keep(s)).map(|(n, _)| n.as_str()).collect()
        };
        assert_eq!(of(&|s| s != "unsupported"), named(&wanted["supported"]), "{what}");
        let incomplete = named(&wanted["incomplete_any_supporting_ecu"]);
        assert_eq!(of(&|s| s == "incomplete"), incomplete, "{what}");
        assert_eq!(json!([fact(&decoded, "/vehicle/ignition")]), wanted["ignition_set"], "{what}");
    }
}

#[test]
fn this_cycle_records_decode_as_recorded() {
    let rows = rows("obdb/pid41.json");
    assert_eq!(rows.len(), 84, "obd-real.json, pid41");
    for row in rows {
        let what = format!("{} {} {}", row["vehicle"], row["model_year"], row["provenance"]);
        let decoded = read(&lines(&row));
        explained(&decoded, &what);
        assert!(decoded.document.get("monitors").is_none(), "PID 41 is no readiness: {what}");
        for ecu in row["ecus"].as_array().unwrap() {
            let id = ecu["ecu"].as_str().unwrap();
            let (_, answers) =
                decoded.ecus.iter().find(|(i, _)| i.to_string() == id).unwrap_or_else(|| panic!("{id}: {what}"));
            let cycle = answers.this_cycle.as_ref().unwrap().value;
            let wanted = &ecu["decoded"];
            let complete = in_state(cycle, &[MonitorState::Complete]);
            assert_eq!(complete, named(&wanted["enabled_complete"]), "{what}");
            let incomplete = in_state(cycle, &[MonitorState::Incomplete]);
            assert_eq!(incomplete, named(&wanted["enabled_incomplete"]), "{what}");
            let mut disabled: Vec<_> = cycle.incomplete_unsupported().collect();
            disabled.sort_unstable();
            let wanted: Vec<_> = wanted["disabled_not_complete"]
                .as_array()
                .unwrap()
                .iter()
                .filter_map(|n| monitor_name(n.as_str().unwrap()))
                .collect();
            let wanted: BTreeSet<_> = wanted.into_iter().collect();
            assert_eq!(disabled.into_iter().collect::<BTreeSet<_>>(), wanted, "{what}");
        }
    }
}

fn place(pid: &str) -> Option<(&'static str, Quantity)> {
    Some(match pid {
        "1C" => ("/link/obd_requirement", Quantity::ObdRequirement),
        "1F" => ("", Quantity::SecondsSinceStart),
        "21" => ("/since_lamp_on/distance_km", Quantity::DistanceLampOn),
        "30" => ("/since_clear/warm_ups", Quantity::WarmUpsSinceClear),
        "31" => ("/since_clear/distance_km", Quantity::DistanceSinceClear),
        "4D" => ("/since_lamp_on/minutes", Quantity::MinutesLampOn),
        "4E" => ("/since_clear/minutes", Quantity::MinutesSinceClear),
        "51" => ("/vehicle/fuel_in_use", Quantity::FuelInUse),
        _ => return None,
    })
}

/// Words for PID $51 seen in the sample: 1, 3, 4, 11 (obd-data.md section 1.5).
fn fuel(value: &Value) -> Value {
    match value.as_u64() {
        Some(1) => json!("gasoline"),
        Some(3 | 11) => json!("ethanol"),
        Some(4) => json!("diesel"),
        other => panic!("fuel {other:?}"),
    }
}

#[test]
fn counter_records_decode_as_recorded() {
    let rows = rows("obdb/counters.json");
    assert_eq!(rows.len(), 109, "obd-real.json, counters");
    for row in rows {
        let what = format!("{} {} {}", row["vehicle"], row["model_year"], row["provenance"]);
        let (ecu, pid) = (row["ecu"].as_str().unwrap(), row["pid"].as_str().unwrap());
        let decoded = read(&format!("{ecu} 41 {pid} {}", row["data"].as_str().unwrap()));
        explained(&decoded, &what);
        let (pointer, quantity) = place(pid).unwrap_or_else(|| panic!("PID {pid}: {what}"));
        let answers = decoded.ecus.values().next().unwrap();
        assert_eq!(json!(answers.quantities[&quantity].value), row["value"], "{what}");
        match pid {
            "1F" => {}
            "1C" => assert_eq!(fact(&decoded, pointer), json!([row["value"]]), "{what}"),
            "51" => assert_eq!(fact(&decoded, pointer), fuel(&row["value"]), "{what}"),
            _ => assert_eq!(fact(&decoded, pointer), row["value"], "{what}"),
        }
    }
}

#[test]
fn counters_of_several_ecus_join_by_the_engine_controller() {
    let rows = rows("obdb/multi_ecu_counters.json");
    assert_eq!(rows.len(), 29, "obd-real.json, multi_ecu_counters");
    for row in rows {
        let what = format!("{} {} {}", row["vehicle"], row["model_year"], row["provenance"]);
        let pid = row["pid"].as_str().unwrap();
        let width = if matches!(pid, "1C" | "30") { 2 } else { 4 };
        let values = row["values"].as_object().unwrap();
        let mut text = String::new();
        for (id, value) in values {
            let data = format!("{:0width$X}", value.as_u64().unwrap());
            text += &format!("{id} 41 {pid} {data}\n");
        }
        let (pointer, _) = place(pid).unwrap();
        let alone = read(&text);
        explained(&alone, &what);
        let distinct: BTreeSet<u64> = values.values().map(|v| v.as_u64().unwrap()).collect();
        let agreed = if distinct.len() == 1 { json!(distinct.first()) } else { Value::Null };
        if pid == "1C" {
            assert_eq!(fact(&alone, pointer), json!(distinct), "{what}");
            continue;
        }
        assert_eq!(fact(&alone, pointer), agreed, "{what}");

        // With a monitor status of each, the engine controller's number stands. Which ECU that is
        // is ours to set here: each in turn.
        for engine in values.keys() {
            let mut text = text.clone();
            for id in values.keys() {
                let status = if id == engine { "00 07 E5 00" } else { "00 04 00 00" };
                text += &format!("{id} 41 01 {status}\n");
            }
            let decoded = read(&text);
            explained(&decoded, &what);
            assert_eq!(fact(&decoded, pointer), values[engine], "{engine}: {what}");
            let differ = flags(&decoded).contains(&"counters-differ");
            assert_eq!(differ, distinct.len() > 1, "{what}");
        }
    }
}

#[test]
fn other_real_answers_decode_or_say_why_not() {
    let rows = rows("real/other.json");
    assert_eq!(rows.len(), 13, "obd-real.json, other");
    for row in rows {
        let what = format!("{} ({})", row["kind"], row["provenance"]);
        let text = match &row["raw"] {
            Value::String(one) => one.replace(" / ", "\n"),
            _ => lines(&row),
        };
        let decoded = read(&text);
        assert!(decoded.refused.is_empty(), "{what}");
        let wanted = &row["decoded"];
        let kind = row["kind"].as_str().unwrap();
        if kind.starts_with("candump text") {
            assert!(flags(&decoded).contains(&"no-engine-controller"), "{what}");
            let others: Vec<_> = decoded.others.iter().map(|o| o.id).collect();
            assert_eq!(others, [EcuId::Standard(0x5EA), EcuId::Standard(0x74C)], "{what}");
            assert_eq!(decoded.ecus.len(), 4, "{what}");
        } else if kind.starts_with("J1850") {
            let monitors = decoded.document["monitors"].as_object().unwrap();
            let of = |state: &str| -> Vec<&str> {
                monitors.iter().filter(|(_, s)| *s == state).map(|(n, _)| n.as_str()).collect()
            };
            assert_eq!(of("incomplete"), named(&wanted["incomplete"]), "{what}");
            assert_eq!(fact(&decoded, "/lamp/commanded"), false, "{what}");
        } else if kind.starts_with("ISO 9141-2") {
            let codes = wanted.get("codes").unwrap_or(wanted);
            assert_eq!(fact(&decoded, "/codes/stored"), *codes, "{what}");
        } else if kind.starts_with("three-ECU") {
            assert_eq!(fact(&decoded, "/codes/permanent"), json!(["P0442"]), "{what}");
            for (id, list) in &decoded.ecus {
                let list = list.permanent.as_ref().unwrap();
                assert_eq!(json!(list.codes), wanted[id.to_string()], "{what}");
            }
        } else if kind.starts_with("29-bit CAN") {
            assert_eq!(fact(&decoded, "/codes/stored"), wanted["codes"], "{what}");
        } else if kind.starts_with("J1939 DM5") {
            let dm5 = decoded.ecus.values().next().unwrap().heavy_duty.as_ref().unwrap().value;
            assert_eq!(json!(dm5.compliance), wanted["obd_compliance"], "{what}");
            heavy_duty(dm5.monitors, wanted, &what);
        } else if kind == "J1939 DM26" {
            let ecu = decoded.ecus.values().next().unwrap();
            heavy_duty(ecu.this_cycle.as_ref().unwrap().value, wanted, &what);
        } else {
            panic!("no check for {what}");
        }
    }
}
