//! What stands where a controller answers more than once: each service or message, by what happens later in the capture.
//!
//! Rows are services and messages, columns are *repeated*, *contradicted later*, *cleared after*, *not available* and
//! *silent at the last request*. The rules: obd-data.md sections 1.5 to 1.8, 2.1 and 2.3; what a clear command erases and
//! keeps is said beside each row. Named cases that are no cell of the table follow it.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that does not find what it looks for has to stop there")]

use rstest::rstest;
use serde_json::{Value, json};

use crate::decode_support::{fact, flags, read};

/// One service or message. Lines are separated by `;`.
struct Row {
    name: &'static str,
    /// What stands before it: who controls the engine.
    context: &'static str,
    ask: &'static str,
    /// An answer, another one, and one that says that there is no value.
    one: &'static str,
    other: &'static str,
    missing: &'static str,
    /// The command to clear with its answer.
    clear: &'static str,
    pointer: &'static str,
    /// What the first and the other answer tell.
    tells: (&'static str, &'static str),
    /// Whether the other contradicts the first; a number that only grew does not.
    contradicts: bool,
    /// Whether clearing leaves the fact as it is, and where that is said.
    survives: (bool, &'static str),
}

const ENGINE: &str = "7E8 41 01 00 07 E5 00";
const TRUCK: &str = "18FECE00 FF FF 14 27 E0 1E E0 1E";
const CLEAR: &str = "7DF 04; 7E8 44";
const CLEAR_UDS: &str = "7DF 14 FF FF 33; 7E8 54";
const CLEAR_TRUCK: &str = "18EA00F9 D3 FE 00; 18E8FF00 00 FF FF FF F9 D3 FE 00";

const BY_04: &str = "service 04 resets it: obd-data.md 1.5, 1.6";
const BY_DM11: &str = "DM11 erases emission-related diagnostic data: SAE J1939-73, from memory";
const KEPT: &str = "no clear command changes it: obd-data.md 1.5, 1.6";

/// A PID with a number that only grows until codes are cleared.
const fn counter(name: &'static str, ask: &'static str, answers: [&'static str; 2], pointer: &'static str) -> Row {
    Row {
        name,
        context: ENGINE,
        ask,
        one: answers[0],
        other: answers[1],
        missing: "7E8 7F 01 11",
        clear: CLEAR,
        pointer,
        tells: ("5", "9"),
        contradicts: false,
        survives: (false, BY_04),
    }
}

/// A list of codes on SAE J1979.
const fn list(
    name: &'static str,
    ask: &'static str,
    answers: [&'static str; 2],
    pointer: &'static str,
    survives: (bool, &'static str),
) -> Row {
    Row {
        name,
        context: "",
        ask,
        one: answers[0],
        other: answers[1],
        missing: "7E8 7F 03 11; 7E8 7F 07 11; 7E8 7F 0A 11; 7E8 7F 19 11",
        clear: CLEAR,
        pointer,
        tells: (r#"["P0420"]"#, "[]"),
        contradicts: true,
        survives,
    }
}

/// A message of SAE J1939-73.
const fn truck(
    name: &'static str,
    ask: &'static str,
    answers: [&'static str; 3],
    pointer: &'static str,
    tells: (&'static str, &'static str),
) -> Row {
    Row {
        name,
        context: TRUCK,
        ask,
        one: answers[0],
        other: answers[1],
        missing: answers[2],
        clear: CLEAR_TRUCK,
        pointer,
        tells,
        contradicts: true,
        survives: (false, BY_DM11),
    }
}

const VIN: &str = "31 4D 38 47 44 4D 39 41 58 4B 50 30 34 32 37 38 38";
const TEXTS: (&str, &str) = (r#""1M8GDM9AXKP042788""#, r#""1G4AH59H45G118341""#);

fn rows() -> Vec<Row> {
    let vin = |head: &str, hex: &str, tail: &str| -> &'static str { format!("{head} {hex}{tail}").leak() };
    let other = "31 47 34 41 48 35 39 48 34 35 47 31 31 38 33 34 31";
    let blank = "00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00";
    let none_of = "FF FF FF FF FF FF FF FF FF FF FF FF FF FF FF FF FF";
    let read_once = |name, context, ask, head: &str, tail: &str, fill, clear| Row {
        name,
        context,
        ask,
        one: vin(head, VIN, tail),
        other: vin(head, other, tail),
        missing: vin(head, fill, tail),
        clear,
        pointer: "/link/vin",
        tells: TEXTS,
        contradicts: true,
        survives: (true, KEPT),
    };
    let spn = [" 40 FF BF 00 02 01 FF FF", " 00 FF 00 00 00 00 FF FF", " FF FF FF FF FF FF FF FF"];
    let codes = |name, ask, id: &str, pointer| {
        let [one, other, missing] = spn.map(|bytes| -> &'static str { format!("{id}{bytes}").leak() });
        truck(name, ask, [one, other, missing], pointer, (r#"["SPN 191 FMI 2"]"#, "[]"))
    };
    let kept = |row: Row| Row { survives: (true, KEPT), ..row };
    let uds = |row: Row| Row { clear: CLEAR_UDS, tells: (r#"["P0420-11"]"#, "[]"), ..row };
    vec![
        Row {
            context: "",
            tells: (r#""complete""#, r#""incomplete""#),
            contradicts: true,
            ..counter("PID 01", "7DF 01 01", [ENGINE, "7E8 41 01 00 07 E5 04"], "/monitors/evaporative")
        },
        Row {
            tells: (r#""complete""#, r#""incomplete""#),
            contradicts: true,
            ..counter(
                "PID 41",
                "7DF 01 41",
                ["7E8 41 41 00 07 E5 00", "7E8 41 41 00 07 E5 04"],
                "/this_cycle/evaporative",
            )
        },
        Row {
            tells: ("[3]", "[1]"),
            contradicts: true,
            ..kept(counter("PID 1C", "7DF 01 1C", ["7E8 41 1C 03", "7E8 41 1C 01"], "/link/obd_requirement"))
        },
        Row {
            tells: (r#""gasoline""#, r#""ethanol""#),
            contradicts: true,
            missing: "7E8 41 51 00",
            ..kept(counter("PID 51", "7DF 01 51", ["7E8 41 51 01", "7E8 41 51 03"], "/vehicle/fuel_in_use"))
        },
        kept(counter("PID A6", "7DF 01 A6", ["7E8 41 A6 00 00 00 32", "7E8 41 A6 00 00 00 5A"], "/visit/odometer_km")),
        counter("PID 21", "7DF 01 21", ["7E8 41 21 00 05", "7E8 41 21 00 09"], "/since_lamp_on/distance_km"),
        counter("PID 30", "7DF 01 30", ["7E8 41 30 05", "7E8 41 30 09"], "/since_clear/warm_ups"),
        counter("PID 31", "7DF 01 31", ["7E8 41 31 00 05", "7E8 41 31 00 09"], "/since_clear/distance_km"),
        counter("PID 4D", "7DF 01 4D", ["7E8 41 4D 00 05", "7E8 41 4D 00 09"], "/since_lamp_on/minutes"),
        counter("PID 4E", "7DF 01 4E", ["7E8 41 4E 00 05", "7E8 41 4E 00 09"], "/since_clear/minutes"),
        Row {
            clear: CLEAR_UDS,
            context: "",
            ..counter(
                "22 F431",
                "7DF 22 F4 31",
                ["7E8 62 F4 31 00 05", "7E8 62 F4 31 00 09"],
                "/since_clear/distance_km",
            )
        },
        list("03", "7DF 03", ["7E8 43 01 04 20", "7E8 43 00"], "/codes/stored", (false, BY_04)),
        list("07", "7DF 07", ["7E8 47 01 04 20", "7E8 47 00"], "/codes/pending", (false, BY_04)),
        list("0A", "7DF 0A", ["7E8 4A 01 04 20", "7E8 4A 00"], "/codes/permanent", (true, KEPT)),
        Row {
            missing: "48 6B 10 7F 03 00 00 11 56",
            clear: "68 6A F1 04 C7; 48 6B 10 44 07",
            ..list(
                "03 before CAN",
                "68 6A F1 03 C6",
                ["48 6B 10 43 04 20 00 00 00 00 2A", "48 6B 10 43 00 00 00 00 00 00 06"],
                "/codes/stored",
                (false, BY_04),
            )
        },
        uds(list(
            "19 42 confirmed",
            "7DF 19 42 33 08 1E",
            ["7E8 59 42 33 FF 1E 04 20 04 20 11 08", "7E8 59 42 33 FF 1E 04"],
            "/codes/stored",
            (false, "service 14 clears it: obd-data.md 2.1"),
        )),
        uds(list(
            "19 42 pending",
            "7DF 19 42 33 04 1E",
            ["7E8 59 42 33 FF 1E 04 20 04 20 11 04", "7E8 59 42 33 FF 1E 04"],
            "/codes/pending",
            (false, "service 14 clears it: obd-data.md 2.1"),
        )),
        uds(list(
            "19 55",
            "7DF 19 55 33",
            ["7E8 59 55 33 FF 04 04 20 11 08", "7E8 59 55 33 FF 04"],
            "/codes/permanent",
            (true, KEPT),
        )),
        read_once("09 02", "", "7DF 09 02", "7E8 49 02 01", "", blank, CLEAR),
        read_once("22 F802", "", "7DF 22 F8 02", "7E8 62 F8 02", "", blank, CLEAR_UDS),
        Row {
            pointer: "/link/calibration_ids",
            one: "7E8 49 04 01 41 41 41 41 41 41 41 41 00 00 00 00 00 00 00 00",
            other: "7E8 49 04 01 42 42 42 42 42 42 42 42 00 00 00 00 00 00 00 00",
            missing: "7E8 7F 09 12",
            tells: (r#"["AAAAAAAA"]"#, r#"["BBBBBBBB"]"#),
            ..read_once("09 04", "", "7DF 09 04", "", "", blank, CLEAR)
        },
        truck(
            "DM1",
            "18EA00F9 CA FE 00",
            [
                "18FECA00 00 FF 00 00 00 00 FF FF",
                "18FECA00 40 FF BF 00 02 01 FF FF",
                "18FECA00 C0 FF 00 00 00 00 FF FF",
            ],
            "/lamp/commanded",
            ("false", "true"),
        ),
        codes("DM12", "18EA00F9 D4 FE 00", "18FED400", "/codes/stored"),
        codes("DM6", "18EA00F9 CF FE 00", "18FECF00", "/codes/pending"),
        kept(codes("DM28", "18EA00F9 80 FD 00", "18FD8000", "/codes/permanent")),
        Row {
            context: "",
            ..truck(
                "DM5",
                "18EA00F9 CE FE 00",
                [
                    "18FECE00 00 00 14 27 E0 1E E0 1E",
                    "18FECE00 00 00 14 07 E0 1E 00 00",
                    "18FECE00 FF FF 14 FF FF FF FF FF",
                ],
                "/monitors/hd-boost-pressure",
                (r#""incomplete""#, r#""complete""#),
            )
        },
        Row {
            contradicts: false,
            ..truck(
                "DM21",
                "18EA00F9 00 C1 00",
                [
                    "18C1FF00 0A 00 05 00 1E 00 2C 01",
                    "18C1FF00 0A 00 09 00 1E 00 2C 01",
                    "18C1FF00 FF FF FF FF FF FF FF FF",
                ],
                "/since_clear/distance_km",
                ("5", "9"),
            )
        },
        truck(
            "DM26",
            "18EA00F9 B8 FD 00",
            [
                "18FDB800 3E 00 05 27 E0 1E E0 1E",
                "18FDB800 3E 00 05 07 E0 1E 00 00",
                "18FDB800 00 00 00 FF FF FF FF FF",
            ],
            "/this_cycle/hd-boost-pressure",
            (r#""incomplete""#, r#""complete""#),
        ),
        read_once("VIN of J1939", TRUCK, "18EA00F9 EC FE 00", "18FEEC00", " 2A", none_of, CLEAR_TRUCK),
    ]
}

/// The lines of a cell, and the line numbers of its first answer and its last request.
fn lines(parts: &[&str]) -> Vec<String> {
    parts.iter().flat_map(|part| part.split("; ")).filter(|line| !line.is_empty()).map(str::to_owned).collect()
}

fn told(lines: &[String], pointer: &str, name: &str) -> (Value, Vec<&'static str>, Vec<Vec<usize>>) {
    let decoded = read(&lines.join("\n"));
    let old = decoded.flags.iter().filter(|flag| flag.slug == "answer-is-old");
    let old = old.map(|flag| flag.lines.iter().collect()).collect();
    assert!(decoded.refused.is_empty(), "{name}: {:?}", decoded.refused);
    (fact(&decoded, pointer), flags(&decoded), old)
}

#[test]
fn the_table_of_what_stands() {
    let rows = rows();
    let mut cells = 0;
    for row in &rows {
        let first: Value = serde_json::from_str(row.tells.0).unwrap();
        let other: Value = serde_json::from_str(row.tells.1).unwrap();
        let mut cell = |column: &str, parts: &[&str], expected: &Value, with: &[&str], without: &[&str]| {
            cells += 1;
            let name = format!("{}, {column}", row.name);
            let lines = lines(parts);
            let (value, slugs, old) = told(&lines, row.pointer, &name);
            assert_eq!(&value, expected, "{name}: {slugs:?}");
            for slug in with {
                assert!(slugs.contains(slug), "{name}: no {slug} in {slugs:?}");
            }
            for slug in without {
                assert!(!slugs.contains(slug), "{name}: {slug} in {slugs:?}");
            }
            (lines, old)
        };
        let Row { context, ask, one, other: second, missing, clear, .. } = *row;
        cell("repeated", &[context, ask, one, ask, one], &first, &[], &["changed-during-capture", "answer-is-old"]);
        let changed = ["changed-during-capture"];
        let (with, without) = if row.contradicts { (&changed[..], &[][..]) } else { (&[][..], &changed[..]) };
        cell("contradicted later", &[context, ask, one, ask, second], &other, with, without);
        let (kept, source) = row.survives;
        assert!(source.contains("obd-data.md") || source.contains("J1939-73"), "{source}");
        let left = if kept { first.clone() } else { Value::Null };
        cell("cleared after", &[context, ask, one, clear], &left, &["cleared-during-capture"], &["clear-not-answered"]);
        cell("not available", &[context, ask, missing], &Value::Null, &[], &[]);
        let (lines, old) =
            cell("silent at the last request", &[context, ask, one, ask], &first, &["answer-is-old"], &[]);
        let answer = lines.len() - 1;
        assert_eq!(old, [vec![answer, answer + 1]], "{}: the line of the answer and of the request", row.name);
    }
    assert_eq!((rows.len(), cells), (29, 29 * 5));
}

/// Named cases beside the table.
#[rstest]
// captures.md W1: a real capture, order kept.
#[case::newer_dm1_lights_the_lamp(
    "18FECE00 00 00 14 37 E0 1E E0 1E; 18FED400 00 FF 00 00 00 00 FF FF; 18FECE00 01 00 14 37 E0 1E E0 1E; 18FECA00 40 FF BF 00 02 01 FF FF",
    "/lamp/commanded", json!(true), &["changed-during-capture", "code-list-outdated"]
)]
#[case::newer_dm1_makes_an_empty_dm12_open(
    "18FECE00 00 00 14 37 E0 1E E0 1E; 18FED400 00 FF 00 00 00 00 FF FF; 18FECE00 01 00 14 37 E0 1E E0 1E; 18FECA00 40 FF BF 00 02 01 FF FF",
    "/codes/stored", Value::Null, &["code-list-outdated", "code-list-partial"]
)]
#[case::newer_dm12_closes_it_again(
    "18FED400 00 FF 00 00 00 00 FF FF; 18FECE00 01 00 14 37 E0 1E E0 1E; 18FECA00 40 FF BF 00 02 01 FF FF; 18FED400 40 FF BF 00 02 01 FF FF",
    "/codes/stored", json!(["SPN 191 FMI 2"]), &["changed-during-capture"]
)]
// SAE J1939-84 6.6.4.2.b (published source): a code of DM12 is among those of DM1.
#[case::a_code_that_dm1_dropped_is_not_told(
    "18FED400 40 FF BF 00 02 01 FF FF; 18FECA00 40 FF 00 00 00 00 FF FF", "/codes/stored", Value::Null, &["code-list-outdated"]
)]
// DM1 also names faults that no emission regulation is about: more there than in DM12 is no contradiction.
#[case::dm1_may_name_more(
    "18FECE00 01 00 14 37 E0 1E E0 1E; 18FED400 00 FF 00 00 00 00 FF FF; 18FECA00 00 FF BF 00 02 01 FF FF",
    "/codes/stored", json!([]), &[]
)]
// SAE J1939-84 6.4.6.2.b: the number of DM5 is that of DM1; PID 01 is compared the same way (obd-data.md 1.6).
#[case::dm5_announces_more("18FECE00 02 00 14 37 E0 1E E0 1E; 18FED400 40 FF BF 00 02 01 FF FF", "/codes/stored", json!({"at_least": ["SPN 191 FMI 2"]}), &["code-count-mismatch"])]
#[case::dm5_announces_none("18FECE00 00 00 14 37 E0 1E E0 1E; 18FED400 40 FF BF 00 02 01 FF FF", "/codes/stored", json!({"at_least": ["SPN 191 FMI 2"]}), &["code-count-mismatch"])]
#[case::dm5_without_a_number("18FECE00 FF 00 14 37 E0 1E E0 1E; 18FED400 40 FF BF 00 02 01 FF FF", "/codes/stored", json!(["SPN 191 FMI 2"]), &[])]
// captures.md W2: acknowledgement and negative acknowledgement of DM11; DM3 by what it erases.
#[case::dm11_refused("18FECA00 40 FF BF 00 02 01 FF FF; 18EA00F9 D3 FE 00; 18E8FF00 01 FF FF FF F9 D3 FE 00", "/lamp/commanded", json!(true), &["clear-refused"])]
#[case::dm11_not_answered("18FECA00 40 FF BF 00 02 01 FF FF; 18EA00F9 D3 FE 00", "/lamp/commanded", json!(true), &["clear-not-answered"])]
#[case::dm11_to_everybody("18FECA00 40 FF BF 00 02 01 FF FF; 18EAFFF9 D3 FE 00", "/lamp/commanded", Value::Null, &["cleared-during-capture"])]
#[case::dm11_and_read_again("18FECA00 40 FF BF 00 02 01 FF FF; 18EAFFF9 D3 FE 00; 18FECA00 40 FF BF 00 02 01 FF FF", "/lamp/commanded", json!(true), &[])]
#[case::dm11_of_another_controller("18FECA00 40 FF BF 00 02 01 FF FF; 18EA3DF9 D3 FE 00; 18E8FF3D 00 FF FF FF F9 D3 FE 00", "/lamp/commanded", json!(true), &["cleared-during-capture"])]
#[case::dm3_keeps_active_codes("18FED400 40 FF BF 00 02 01 FF FF; 18EA00F9 CC FE 00; 18E8FF00 00 FF FF FF F9 CC FE 00", "/codes/stored", json!(["SPN 191 FMI 2"]), &["cleared-during-capture"])]
#[case::dm3_keeps_the_lamp("18FECA00 40 FF BF 00 02 01 FF FF; 18E8FF00 00 FF FF FF F9 CC FE 00", "/lamp/commanded", json!(true), &["cleared-during-capture"])]
#[case::dm3_leaves_no_readiness("18FECE00 00 00 14 37 E0 1E E0 1E; 18E8FF00 00 FF FF FF F9 CC FE 00", "/monitors", Value::Null, &["cleared-during-capture"])]
#[case::dm3_leaves_no_counters("18FECE00 00 00 14 37 E0 1E E0 1E; 18C1FF00 0A 00 05 00 1E 00 2C 01; 18E8FF00 00 FF FF FF F9 CC FE 00", "/since_clear", Value::Null, &[])]
#[case::an_acknowledgement_of_something_else("18FECA00 40 FF BF 00 02 01 FF FF; 18E8FF00 00 FF FF FF F9 D4 FE 00", "/lamp/commanded", json!(true), &[])]
#[case::uds_clear_refused("7E8 41 01 81 07 E5 00; 7DF 14 FF FF 33; 7E8 7F 14 22", "/lamp/commanded", json!(true), &["negative-answer"])]
#[case::clear_refused_obd_data_1_8("7E8 41 01 81 07 E5 00; 7DF 04; 7E8 7F 04 22", "/lamp/commanded", json!(true), &["negative-answer"])]
#[case::clear_not_answered("7E8 41 01 81 07 E5 00; 7DF 04", "/lamp/commanded", json!(true), &["clear-not-answered"])]
#[case::one_of_two_cleared("7E8 41 01 00 07 E5 00; 7E9 41 01 81 04 00 00; 7DF 04; 7E8 44", "/lamp/commanded", json!(true), &["clear-not-answered", "cleared-during-capture"])]
// A number since clearing that falls (obd-data.md 1.5: they only grow) shows a clear that the capture does not.
#[case::a_falling_counter_is_a_clear("7E8 41 01 00 07 E5 00; 7E8 41 30 28; 7E8 41 30 00", "/monitors", Value::Null, &["cleared-during-capture"])]
#[case::distance_with_the_lamp_on_may_fall("7E8 41 01 00 07 E5 00; 7E8 41 21 00 28; 7E8 41 21 00 00", "/since_lamp_on/distance_km", json!(0), &[])]
// captures.md W3, W4.
#[case::dm26_not_available("18FECE00 00 00 14 37 E0 1E E0 1E; 18FDB800 00 00 00 FF FF FF FF FF", "/this_cycle", Value::Null, &["value-not-available"])]
#[case::dm5_some_bytes_not_available("18FECE00 00 00 14 37 FF 1E FF 1E", "/monitors/hd-boost-pressure", json!("incomplete"), &["value-not-available"])]
#[case::dm5_those_bytes("18FECE00 00 00 14 37 FF 1E FF 1E", "/monitors/hd-egr-vvt", Value::Null, &["value-not-available"])]
#[case::one_says_incomplete_the_other_nothing("18FECE00 00 00 14 37 E0 1E E0 1E; 18FECE3D 00 00 14 FF FF FF FF FF", "/monitors/hd-egr-vvt", json!("incomplete"), &[])]
#[case::one_says_complete_the_other_nothing("18FECE00 00 00 14 37 E0 1E 00 00; 18FECE3D 00 00 14 FF FF FF FF FF", "/monitors/hd-egr-vvt", Value::Null, &[])]
#[case::brake_controller("18FECE00 00 00 14 37 E0 1E E0 1E; 18FECA00 00 FF 00 00 00 00 FF FF; 18FECA0B F3 FF 00 00 00 00 FF FF", "/lamp/commanded", json!(false), &[])]
#[case::an_obd_controller_that_does_not_say("18FECE00 00 00 14 37 E0 1E E0 1E; 18FECA00 C0 FF 00 00 00 00 FF FF; 18FECA3D 00 FF 00 00 00 00 FF FF", "/lamp/commanded", Value::Null, &["lamp-not-known"])]
#[case::an_error_of_a_controller_without_dm5("18FECE00 00 00 14 37 E0 1E E0 1E; 18FECA00 00 FF 00 00 00 00 FF FF; 18FECA3D 80 FF 00 00 00 00 FF FF", "/lamp/commanded", Value::Null, &["lamp-not-known"])]
#[case::an_obd_controller_without_lamp("18FECE00 00 00 14 37 E0 1E E0 1E; 18FECE3D 00 00 14 04 00 00 00 00; 18FECA00 00 FF 00 00 00 00 FF FF", "/lamp/commanded", Value::Null, &["controller-without-status"])]
// A later answer that did not come whole (obd-data.md 3.2: the length proves it).
#[case::later_answer_lost(
    "can0 7E8#100A430404200421\ncan0 7E8#2104220423000000\ncan0 7E8#100A430404200421",
    "/codes/stored", json!(["P0420", "P0421", "P0422", "P0423"]), &["answer-is-old", "truncated-answer"]
)]
#[case::later_answer_announces_more(
    "can0 7E8#0643020420042100\ncan0 7E8#100A430404200421",
    "/codes/stored", json!({"at_least": ["P0420", "P0421"]}), &["changed-during-capture", "truncated-answer"]
)]
#[case::later_answer_names_more("can0 7E8#0443010420000000\ncan0 7E8#100A430404210422", "/codes/stored", json!({"at_least": ["P0421", "P0422"]}), &["changed-during-capture", "truncated-answer"])]
#[case::legacy_answer_in_two_messages("48 6B 10 43 03 00 03 02 03 03 14; 48 6B 10 43 04 20 00 00 00 00 2A", "/codes/stored", json!(["P0300", "P0302", "P0303", "P0420"]), &[])]
#[case::legacy_asked_anew("68 6A F1 03 C6; 48 6B 10 43 03 00 03 02 03 03 14; 68 6A F1 03 C6; 48 6B 10 43 04 20 00 00 00 00 2A", "/codes/stored", json!(["P0420"]), &["changed-during-capture"])]
// Survivors of a search for faults that no test saw.
#[case::a_list_is_whole_by_the_number_only_before_can("7E8 41 01 81 07 E5 00\ncan0 7E8#100A430404200421", "/codes/stored", json!({"at_least": ["P0420", "P0421"]}), &["truncated-answer"])]
#[case::readiness_of_no_obd_controller("18FECE03 00 00 05 37 E0 1E E0 1E", "/monitors", Value::Null, &["no-engine-controller"])]
#[case::pending_is_no_refusal("7DF 03; 7E8 41 01 00 07 E5 00; 7E8 7F 03 78", "/codes/stored", Value::Null, &["answer-pending", "silence"])]
#[case::status_not_supported_is_no_silence("7E8 41 01 00 07 E5 00; 7E9 41 00 00 00 00 00; 7E9 43 00", "/lamp/commanded", json!(false), &[])]
#[case::one_announced("7E8 41 01 81 07 E5 00", "/codes/stored", Value::Null, &["code-count-mismatch"])]
fn named_cases(#[case] lines: &str, #[case] pointer: &str, #[case] expected: Value, #[case] with: &[&str]) {
    let decoded = read(&lines.replace("; ", "\n"));
    assert_eq!(fact(&decoded, pointer), expected, "{:#}", decoded.document);
    let slugs = flags(&decoded);
    for slug in with {
        assert!(slugs.contains(slug), "no {slug} in {slugs:?}");
    }
}

/// Plain lines of SAE J1939: requests, acknowledgements, address claims and other traffic raise no flag.
#[test]
fn traffic_of_a_truck_raises_no_flag() {
    let decoded = read(
        "18FECE00 00 00 14 37 E0 1E E0 1E\n18EAFFF9 CE FE 00\n18E8FF0B 01 FF FF FF F9 CE FE 00\n\
         18EEFF00 01 02 03 04 05 06 07 08\n18FEF100 41 01 03 04 05 06 07 08\n18FECA00 00 FF 00 00 00 00 FF FF\n",
    );
    // The last: DM5 was asked for after it had come, and nobody gave it again.
    assert_eq!(flags(&decoded), ["answer-is-old"]);
}
