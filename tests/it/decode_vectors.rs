//! Every vector of `tests/decode/vectors.json`: bytes and what they mean, each with its source.
//!
//! The source of an expectation stands in the row (`source`) and is shown when a row fails.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::wildcard_enum_match_arm,
    reason = "a test that does not find what it looks for has to stop there"
)]

use std::collections::BTreeMap;

use serde_json::{Value, json};
use wherefore::internals::decode::vin::{Vin, VinError};
use wherefore::internals::decode::{Decoded, EcuAnswers, EcuId, LampCommand, MonitorTable, Quantity};
use wherefore::internals::model::MonitorState;

use crate::decode_support::{fact, flags, heavy_duty_name, in_state, monitor_name, named, read, rows};

const ENGINE: EcuId = EcuId::Standard(0x7E8);

fn engine(decoded: &Decoded) -> &EcuAnswers {
    &decoded.ecus[&ENGINE]
}

#[test]
fn every_vector_decodes_as_its_source_says() {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for row in rows("vectors.json") {
        let layer = row["layer"].as_str().unwrap().to_owned();
        let what = format!("{} ({})", row["id"], row["source"]);
        check(&layer, &row, &what);
        *seen.entry(layer.split([' ', '(']).next().unwrap().to_owned()).or_default() += 1;
    }
    // So that no layer is dropped silently.
    let expected = [
        ("DM12", 1),
        ("DM21", 1),
        ("DM26", 1),
        ("DM28", 1),
        ("DM5", 5),
        ("ISO", 1),
        ("J1850", 1),
        ("isotp", 4),
        ("j2012-2byte", 4),
        ("negative", 4),
        ("sid41", 37),
        ("sid43-legacy", 2),
        ("sid49-can", 3),
        ("sid4x-can", 6),
        ("uds", 2),
        ("vin", 5),
    ];
    assert_eq!(seen, expected.map(|(k, n)| (k.to_owned(), n)).into());
}

fn check(layer: &str, row: &Value, what: &str) {
    let bytes = row["bytes"].as_str().unwrap_or_default();
    let wanted = &row["decoded"];
    match layer.split([' ', '(']).next().unwrap() {
        "sid41" => current_data(bytes, wanted, what),
        "sid4x-can" => codes_on_can(bytes, wanted, what),
        "sid43-legacy" | "J1850" | "ISO" => codes_on_legacy(layer, bytes, wanted, what),
        "j2012-2byte" => {
            let (high, low) = bytes.split_at(2);
            let decoded = read(&format!("7E8 43 01 {high} {low}"));
            assert_eq!(fact(&decoded, "/codes/stored"), json!([wanted["code"]]), "{what}");
        }
        "negative" => negative(bytes, wanted, what),
        "sid49-can" => information(bytes, wanted, what),
        "isotp" => bad_frames(&row["bytes"], what),
        "uds" => uds(bytes, wanted, what),
        "DM5" => dm5(bytes, wanted, what),
        "DM26" => dm26(bytes, wanted, what),
        "DM21" => dm21(bytes, wanted, what),
        "DM12" => diagnostic_codes("18FED400", "/codes/stored", bytes, wanted, what),
        "DM28" => diagnostic_codes("18FD8000", "/codes/permanent", bytes, wanted, what),
        "vin" => vin(bytes, wanted, what),
        other => panic!("no check for layer {other}: {what}"),
    }
}

fn current_data(bytes: &str, wanted: &Value, what: &str) {
    let decoded = read(&format!("7E8 {bytes}"));
    let ecu = engine(&decoded);
    let pid = u8::from_str_radix(&bytes[3..5], 16).unwrap();
    match pid {
        0x01 => monitor_status(&decoded, wanted, what),
        0x41 => {
            // The row holds the ignition alone; the bits of 0F E9 20 are read off the table of
            // obd-data.md section 1.2 and the note of the row (C enabled, D not complete).
            let monitors = ecu.this_cycle.as_ref().unwrap().value;
            assert_eq!(monitors.table, MonitorTable::Compression, "{what}");
            assert_eq!(in_state(monitors, &[MonitorState::Incomplete]), ["exhaust-gas-sensor"], "{what}");
            assert_eq!(monitors.state("nox-aftertreatment"), Some(MonitorState::Unsupported), "{what}");
            assert_eq!(fact(&decoded, "/this_cycle/exhaust-gas-sensor"), "incomplete", "{what}");
            assert_eq!(fact(&decoded, "/this_cycle/nox-aftertreatment"), "disabled", "{what}");
            assert!(decoded.document.get("monitors").is_none(), "PID 41 is no readiness: {what}");
        }
        0x00 | 0x20 => {
            let supported: Vec<String> =
                (pid + 1..=pid + 0x20).filter(|p| ecu.supports(*p) == Some(true)).map(|p| format!("{p:02X}")).collect();
            assert_eq!(json!(supported), wanted["supported"], "{what}");
        }
        _ => {
            let quantity = [
                Quantity::ObdRequirement,
                Quantity::SecondsSinceStart,
                Quantity::DistanceLampOn,
                Quantity::WarmUpsSinceClear,
                Quantity::DistanceSinceClear,
                Quantity::MinutesLampOn,
                Quantity::MinutesSinceClear,
                Quantity::FuelInUse,
            ]
            .into_iter()
            .find(|q| q.pid() == pid)
            .unwrap_or_else(|| panic!("no quantity for PID {pid:02X}: {what}"));
            assert_eq!(json!(ecu.quantities[&quantity].value), wanted["value"], "{what}");
        }
    }
}

fn monitor_status(decoded: &Decoded, wanted: &Value, what: &str) {
    let status = engine(decoded).monitor_status.as_ref().unwrap().value;
    assert_eq!(json!(status.lamp), wanted["mil"], "{what}");
    assert_eq!(json!(status.code_count), wanted["dtc_count"], "{what}");
    assert_eq!(json!(u8::from(status.reserved_b7)), wanted["b7_reserved"], "{what}");
    let table = match wanted["ignition"].as_str().unwrap() {
        "spark" => MonitorTable::Spark,
        _ => MonitorTable::Compression,
    };
    assert_eq!(status.monitors.table, table, "{what}");
    let both = [MonitorState::Complete, MonitorState::Incomplete];
    assert_eq!(in_state(status.monitors, &both), named(&wanted["supported"]), "{what}");
    let incomplete = in_state(status.monitors, &[MonitorState::Incomplete]);
    assert_eq!(incomplete, named(&wanted["incomplete"]), "{what}");
    let mut reserved = wanted["b7_reserved"] == 1;
    for group in ["continuous", "non_continuous"] {
        for (name, state) in wanted[group].as_object().unwrap() {
            let Some(name) = monitor_name(name) else {
                reserved |= state != "not_supported";
                continue;
            };
            let expected = match state.as_str().unwrap() {
                "complete" => MonitorState::Complete,
                "incomplete" => MonitorState::Incomplete,
                "not_supported" => MonitorState::Unsupported,
                "not_supported_but_incomplete_bit_set" => {
                    assert!(flags(decoded).contains(&"incomplete-but-unsupported"), "{what}");
                    MonitorState::Unsupported
                }
                other => panic!("{other}: {what}"),
            };
            assert_eq!(status.monitors.state(name), Some(expected), "{name}: {what}");
        }
    }
    assert_eq!(flags(decoded).contains(&"reserved-bit-set"), reserved, "{what}");
    let engine = named(&wanted["supported"]).iter().any(|name| *name != "components");
    assert_eq!(decoded.document.get("monitors").is_some(), engine, "{what}");
}

fn codes_on_can(bytes: &str, wanted: &Value, what: &str) {
    let decoded = read(&format!("7E8 {bytes}"));
    let path = match &bytes[..2] {
        "43" => "/codes/stored",
        "47" => "/codes/pending",
        "4A" => "/codes/permanent",
        other => panic!("{other}: {what}"),
    };
    assert_eq!(fact(&decoded, path), wanted["codes"], "{what}");
    assert_eq!(decoded.document["codes"].as_object().unwrap().len(), 1, "{what}");
}

fn codes_on_legacy(layer: &str, bytes: &str, wanted: &Value, what: &str) {
    let line = if layer.starts_with("sid43") {
        // The row holds the payload; a frame of ISO 9141-2 is put around it (section 3.3).
        let frame = format!("48 6B 10 {bytes}");
        let sum: u32 = frame.split(' ').map(|b| u32::from_str_radix(b, 16).unwrap()).sum();
        format!("{frame} {:02X}", sum % 256)
    } else {
        bytes.to_owned()
    };
    let decoded = read(&line);
    assert!(decoded.refused.is_empty(), "{what}");
    let list = decoded.ecus[&EcuId::Legacy(0x10)].stored.as_ref().unwrap();
    assert_eq!(json!(list.codes), wanted["codes"], "{what}");
    assert_eq!(fact(&decoded, "/codes/stored"), wanted["codes"], "{what}");
    // A wrong checksum must not pass.
    let broken = format!("{}{}", &line[..line.len() - 2], if line.ends_with("00") { "01" } else { "00" });
    assert!(wherefore::internals::decode::decode(broken.as_bytes(), &Default::default()).is_err(), "{what}");
}

fn negative(bytes: &str, wanted: &Value, what: &str) {
    let decoded = read(&format!("7E8 {bytes}"));
    let hex = |key: &str| u8::from_str_radix(wanted[key].as_str().unwrap(), 16).unwrap();
    let refusals: Vec<(u8, u8)> = engine(&decoded).refusals.keys().copied().collect();
    assert_eq!(refusals, [(hex("service"), hex("nrc"))], "{what}");
    assert!(decoded.document.get("codes").is_none(), "7F is never decoded as codes: {what}");
    let slug = if hex("nrc") == 0x78 { "answer-pending" } else { "negative-answer" };
    assert!(flags(&decoded).contains(&slug), "{what}");
}

fn information(bytes: &str, wanted: &Value, what: &str) {
    let decoded = read(&format!("7E8 {bytes}"));
    match wanted["infotype"].as_u64().unwrap() {
        2 => {
            assert_eq!(fact(&decoded, "/link/vin"), wanted["vin"], "{what}");
            assert_eq!(fact(&decoded, "/link/vin_in_data"), true, "{what}");
            let frames: Vec<String> = wanted["frames"]
                .as_array()
                .unwrap()
                .iter()
                .map(|f| format!("can0  7E8   [8]  {}", f.as_str().unwrap()))
                .collect();
            let framed = read(&frames.join("\n"));
            assert_eq!(fact(&framed, "/link/vin"), wanted["vin"], "{what}");
        }
        4 => assert_eq!(fact(&decoded, "/link/calibration_ids"), wanted["calid"], "{what}"),
        8 => {
            let counters = &engine(&decoded).performance.as_ref().unwrap().value;
            let pairs = [
                "CATCOMP1/COND1",
                "CATCOMP2/COND2",
                "O2SCOMP1/COND1",
                "O2SCOMP2/COND2",
                "EGRCOMP/COND",
                "AIRCOMP/COND",
                "EVAPCOMP/COND",
            ];
            let mut expected = vec![wanted["OBDCOND"].clone(), wanted["IGNCNTR"].clone()];
            expected.extend(pairs.iter().flat_map(|p| wanted[*p].as_array().unwrap().clone()));
            assert_eq!(json!(counters), json!(expected), "{what}");
        }
        other => panic!("InfoType {other}: {what}"),
    }
}

fn bad_frames(bytes: &Value, what: &str) {
    let frames: Vec<&str> = match bytes {
        Value::String(one) => vec![one],
        Value::Array(many) => many.iter().map(|f| f.as_str().unwrap()).collect(),
        other => panic!("{other}: {what}"),
    };
    let text: String = frames.iter().map(|f| format!("can0  7E8   [{}]  {f}\n", f.split(' ').count())).collect();
    let decoded = read(&text);
    let expected = if frames.len() == 2 {
        "wrong-sequence"
    } else if frames[0].starts_with('2') {
        "stray-frame"
    } else {
        "bad-frame"
    };
    assert!(flags(&decoded).contains(&expected), "{:?}: {what}", flags(&decoded));
    assert!(decoded.document.get("link").is_none_or(|l| l.get("vin").is_none()), "{what}");
    assert!(decoded.document.get("monitors").is_none(), "{what}");
}

fn uds(bytes: &str, wanted: &Value, what: &str) {
    let decoded = read(&format!("7E8 {bytes}"));
    if wanted.get("did").is_some() {
        assert_eq!(fact(&decoded, "/link/vin"), wanted["vin"], "{what}");
        return;
    }
    let codes: Vec<&Value> = wanted["permanent"].as_array().unwrap().iter().map(|record| &record["code"]).collect();
    assert_eq!(fact(&decoded, "/codes/permanent"), json!(codes), "{what}");
    assert_eq!(fact(&decoded, "/link/protocol"), "obd-on-uds", "{what}");
}

/// Compares the monitors of a heavy-duty message with a row.
pub fn heavy_duty(monitors: wherefore::internals::decode::Monitors, wanted: &Value, what: &str) {
    for group in ["continuous", "non_continuous"] {
        for (name, state) in wanted[group].as_object().unwrap() {
            let expected = match state.as_str().unwrap() {
                "complete" => MonitorState::Complete,
                "incomplete" => MonitorState::Incomplete,
                _ => MonitorState::Unsupported,
            };
            assert_eq!(monitors.state(heavy_duty_name(name)), Some(expected), "{name}: {what}");
        }
    }
}

fn dm5(bytes: &str, wanted: &Value, what: &str) {
    let decoded = read(&format!("18FECE00 {bytes}"));
    let dm5 = &decoded.ecus[&EcuId::J1939(0)].heavy_duty.as_ref().unwrap().value;
    assert_eq!(json!(dm5.compliance), wanted["obd_compliance"], "{what}");
    heavy_duty(dm5.monitors, wanted, what);
    assert_eq!(fact(&decoded, "/link/protocol"), "j1939", "{what}");
}

fn dm26(bytes: &str, wanted: &Value, what: &str) {
    let decoded = read(&format!("18FDB800 {bytes}"));
    let ecu = &decoded.ecus[&EcuId::J1939(0)];
    heavy_duty(ecu.this_cycle.as_ref().unwrap().value, wanted, what);
    let number = |q| json!(ecu.quantities[&q].value);
    assert_eq!(number(Quantity::SecondsSinceStart), wanted["seconds_since_engine_start"], "{what}");
    assert_eq!(number(Quantity::WarmUpsSinceClear), wanted["warmups_since_clear"], "{what}");
}

fn dm21(bytes: &str, wanted: &Value, what: &str) {
    let decoded = read(&format!("18C1FF00 {bytes}"));
    let ecu = &decoded.ecus[&EcuId::J1939(0)];
    let number = |q| json!(ecu.quantities[&q].value);
    assert_eq!(number(Quantity::DistanceLampOn), wanted["km_mil_on"], "{what}");
    assert_eq!(number(Quantity::DistanceSinceClear), wanted["km_since_clear"], "{what}");
    assert_eq!(number(Quantity::MinutesLampOn), wanted["min_mil_on"], "{what}");
    assert_eq!(number(Quantity::MinutesSinceClear), wanted["min_since_clear"], "{what}");
}

fn diagnostic_codes(id: &str, path: &str, bytes: &str, wanted: &Value, what: &str) {
    let decoded = read(&format!("{id} {bytes}"));
    let codes: Vec<String> =
        wanted["dtcs"].as_array().unwrap().iter().map(|d| format!("SPN {} FMI {}", d["spn"], d["fmi"])).collect();
    assert_eq!(fact(&decoded, path), json!(codes), "{what}");
    if path == "/codes/stored" {
        let lamp = decoded.ecus[&EcuId::J1939(0)].lamp_command.as_ref().unwrap().value;
        assert_eq!(lamp == LampCommand::On, wanted["mil"] == "on", "{what}");
        assert_eq!(fact(&decoded, "/lamp/commanded"), true, "{what}");
    }
}

fn vin(text: &str, wanted: &Value, what: &str) {
    if wanted["year_candidates"].as_array().unwrap().is_empty() {
        // Passes the arithmetic; refused as fill (obd-data.md section 4).
        assert_eq!(Vin::parse(text), Err(VinError::AllSame('0')), "{what}");
        return;
    }
    let vin = Vin::parse(text).unwrap();
    assert_eq!(json!(vin.expected_check_digit()), wanted["check"], "{what}");
    let agrees = text.chars().nth(8) == Some(vin.expected_check_digit());
    assert_eq!(json!(agrees), wanted["check_ok"], "{what}");
    let years = vin.model_years();
    let (early, late) = years.candidates.unwrap();
    assert_eq!(json!([early, late]), wanted["year_candidates"], "{what}");
    assert_eq!(json!(years.by_position_7), wanted["year_by_position7_rule"], "{what}");
}
