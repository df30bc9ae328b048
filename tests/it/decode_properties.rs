//! Properties: no input panics, the output is stable JSON, and PID $01 agrees with a plain formula.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::wildcard_enum_match_arm,
    reason = "a test that does not find what it looks for has to stop there"
)]

use proptest::collection::vec;
use proptest::prelude::*;
use wherefore::internals::decode::{Options, decode};

use crate::decode_support::{fact, read};

/// Lines that are nearly right, so that random input gets past the scanner.
fn line() -> impl Strategy<Value = String> {
    let id = prop_oneof![
        Just("7E8".to_owned()),
        Just("7E9".to_owned()),
        Just("7DF".to_owned()),
        Just("18DAF110".to_owned()),
        Just("18FECE00".to_owned()),
        Just("18FED400".to_owned()),
        Just("1CECFF00".to_owned()),
        Just("1CEBFF00".to_owned()),
        "[0-7][0-9A-F]{2}",
    ];
    let lead = prop_oneof![
        Just(vec![0x41u8]),
        Just(vec![0x43]),
        Just(vec![0x49]),
        Just(vec![0x59, 0x42]),
        Just(vec![0x62, 0xF8]),
        Just(vec![0x7F]),
        Just(vec![0x10, 0x14]),
        Just(vec![0x21]),
        Just(vec![0x06, 0x41]),
        Just(vec![]),
    ];
    (id, lead, vec(any::<u8>(), 0..24), 0..4u8).prop_map(|(id, lead, tail, form)| {
        let bytes: Vec<String> = lead.iter().chain(&tail).map(|b| format!("{b:02X}")).collect();
        match form {
            0 => format!("(1.000000) can0 {id}#{}", bytes.iter().take(8).cloned().collect::<String>()),
            1 => format!(
                " can0  {id}   [{}]  {}",
                bytes.len().min(8),
                bytes.iter().take(8).cloned().collect::<Vec<_>>().join(" ")
            ),
            2 => bytes.join(" "),
            _ => format!("{id} {}", bytes.join(" ")),
        }
    })
}

fn check(input: &[u8]) -> Result<(), TestCaseError> {
    let once = decode(input, &Options::default());
    let twice = decode(input, &Options::default());
    prop_assert_eq!(&once, &twice, "decoding is deterministic");
    if let Ok(decoded) = once {
        let text = decoded.document.to_string();
        let again: serde_json::Value = serde_json::from_str(&text).unwrap();
        prop_assert_eq!(&again, &decoded.document);
        // A fact has an origin, and nothing has an origin that is no fact.
        for path in decoded.document["from"].as_object().unwrap().keys() {
            let pointer = format!("/{}", path.replace('.', "/"));
            prop_assert!(decoded.document.pointer(&pointer).is_some(), "{}", path);
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn arbitrary_bytes_never_panic(input in vec(any::<u8>(), 0..600)) {
        check(&input)?;
    }

    #[test]
    fn nearly_right_lines_never_panic(lines in vec(line(), 0..40)) {
        check(lines.join("\n").as_bytes())?;
    }

    /// PID $01 against a formula written straight from obd-data.md section 1.2, for every
    /// combination of support and status bits.
    #[test]
    fn monitor_status_agrees_with_a_plain_formula(a: u8, b: u8, c: u8, d: u8) {
        let decoded = read(&format!("7E8 41 01 {a:02X} {b:02X} {c:02X} {d:02X}"));
        let spark = (b / 8) % 2 == 0;
        let (names, places): (&[&str], &[u32]) = if spark {
            (&["catalyst", "heated-catalyst", "evaporative", "secondary-air", "air-conditioning",
               "oxygen-sensor", "oxygen-sensor-heater", "egr-vvt"], &[0, 1, 2, 3, 4, 5, 6, 7])
        } else {
            (&["nmhc-catalyst", "nox-aftertreatment", "boost-pressure", "exhaust-gas-sensor",
               "particulate-filter", "egr-vvt"], &[0, 1, 3, 5, 6, 7])
        };
        let bit = |byte: u8, place: u32| u32::from(byte) / 2u32.pow(place) % 2 == 1;
        let word = |s: bool, n: bool| match (s, n) {
            (false, _) => "unsupported",
            (true, false) => "complete",
            (true, true) => "incomplete",
        };
        let engine = b % 4 != 0 || c != 0;
        if !engine {
            prop_assert!(decoded.document.get("monitors").is_none());
            return Ok(());
        }
        for (place, name) in ["misfire", "fuel-system", "components"].iter().enumerate() {
            let place = u32::try_from(place).unwrap();
            let expected = word(bit(b, place), bit(b, place + 4));
            prop_assert_eq!(fact(&decoded, &format!("/monitors/{name}")), expected);
        }
        for (name, place) in names.iter().zip(places) {
            let expected = word(bit(c, *place), bit(d, *place));
            prop_assert_eq!(fact(&decoded, &format!("/monitors/{name}")), expected);
        }
        prop_assert_eq!(decoded.document["monitors"].as_object().unwrap().len(), names.len() + 3);
        prop_assert_eq!(fact(&decoded, "/lamp/commanded"), a >= 128);
        prop_assert_eq!(
            fact(&decoded, "/vehicle/ignition"),
            if spark { "spark" } else { "compression" }
        );
    }
}
