//! The forms of text: every way to write one and the same answer, and lines that are passed over.
//!
//! Forms: obd-data.md section 3.4 (can-utils source) and the plain lines of our own.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::wildcard_enum_match_arm,
    reason = "a test that does not find what it looks for has to stop there"
)]

use rstest::rstest;
use wherefore::internals::decode::EcuId;

use crate::decode_support::{fact, flags, read};

#[rstest]
#[case::log("(1700000000.123456) can0 7E8#0641010007E50000")]
#[case::log_nanoseconds("(1700000000.123456789) can0 7E8#0641010007E50000")]
#[case::log_padded_interface("(1700000000.123456)       can0 7E8#0641010007E50000")]
#[case::log_direction("(1700000000.123456) can0 7E8#0641010007E50000 R")]
#[case::log_separators("(1700000000.123456) can0 7E8#06.41.01.00.07.E5.00.00")]
#[case::log_raw_dlc("(1700000000.123456) can0 7E8#0641010007E50000_9")]
#[case::log_lower_case("(1700000000.123456) can0 7e8#0641010007e50000")]
#[case::log_fd("(1700000000.123456) can0 7E8##10641010007E50000")]
#[case::log_short_frame("(1700000000.123456) can0 7E8#0641010007E500")]
#[case::no_time("can0 7E8#0641010007E50000")]
#[case::frame_alone("7E8#0641010007E50000")]
#[case::console("  can0  7E8   [8]  06 41 01 00 07 E5 00 00")]
#[case::console_characters("  can0  7E8   [8]  06 41 01 00 07 E5 00 00   '.A..#...'")]
#[case::console_quote_in_characters("  can0  7E8   [8]  06 41 01 00 07 E5 00 27   '.A.....''")]
#[case::console_direction("  can0  RX - -  7E8   [8]  06 41 01 00 07 E5 00 00")]
#[case::console_absolute_time(" (1700000000.123456)  can0  7E8   [8]  06 41 01 00 07 E5 00 00")]
#[case::console_date(" (2023-11-14 22:13:20.123456)  can0  7E8   [8]  06 41 01 00 07 E5 00 00")]
#[case::console_delta(" (000.000000)  can0  7E8   [8]  06 41 01 00 07 E5 00 00")]
#[case::console_raw_dlc("  can0  7E8   {B}  06 41 01 00 07 E5 00 00")]
#[case::console_fd("  can0  7E8  [08]  06 41 01 00 07 E5 00 00")]
#[case::console_without_interface("7E8   [8]  06 41 01 00 07 E5 00 00")]
#[case::plain("7E8 41 01 00 07 E5 00")]
#[case::plain_colon("7E8: 41 01 00 07 E5 00")]
#[case::plain_tabs("\t7E8\t41\t01\t00\t07\tE5\t00\t")]
#[case::plain_words("7E8 4101 0007E500")]
#[case::plain_frame("7E8 06 41 01 00 07 E5 00 00")]
#[case::glued("7E80641010007E500")]
fn one_answer_in_every_form(#[case] line: &str) {
    let decoded = read(&format!("# remark\n\n{line}\n"));
    assert_eq!(fact(&decoded, "/monitors/evaporative"), "complete", "{decoded:#?}");
    assert_eq!(fact(&decoded, "/lamp/commanded"), false);
    assert_eq!(decoded.document["from"]["lamp.commanded"][0]["line"], 3);
    assert_eq!(decoded.document["from"]["lamp.commanded"][0]["bytes"], "41 01 00 07 E5 00");
    assert!(decoded.refused.is_empty());
}

#[rstest]
#[case::log("(1700000000.123456) can0 18DAF110#0641010007E50000")]
#[case::console("  can0  18DAF110   [8]  06 41 01 00 07 E5 00 00")]
#[case::plain("18DAF110 41 01 00 07 E5 00")]
#[case::plain_four_bytes("18 DA F1 10 06 41 01 00 07 E5 00")]
#[case::glued("18DAF1100641010007E500")]
fn one_answer_with_29_bits(#[case] line: &str) {
    let decoded = read(line);
    assert_eq!(fact(&decoded, "/monitors/evaporative"), "complete");
    assert!(decoded.ecus.contains_key(&EcuId::Extended(0x18DA_F110)));
}

/// Lines without an answer in them: neither a fact nor a refusal.
#[rstest]
#[case::error_frame("(1700000000.1) can0 20000004#0641010007E50000")]
#[case::error_frame_console("  can0  20000004   [8]  00 04 00 00 00 00 00 00   ERRORFRAME")]
#[case::remote("(1700000000.1) can0 7E8#R8")]
#[case::remote_console("  can0  7E8   [0]  remote request")]
#[case::other_traffic("(1700000000.1) can0 1A0#0641010007E50000")]
#[case::request("(1700000000.1) can0 7DF#0201010000000000")]
#[case::flow_control("(1700000000.1) can0 7E0#3000000000000000")]
fn lines_without_an_answer(#[case] line: &str) {
    let decoded = read(line);
    assert_eq!(flags(&decoded).last(), Some(&"nothing-answered"));
    assert!(decoded.refused.is_empty());
    assert!(decoded.document.get("communication").is_none(), "never false from silence");
    assert!(decoded.document.get("monitors").is_none());
}

#[test]
fn lines_end_with_lf_crlf_or_cr() {
    for end in ["\n", "\r\n", "\r"] {
        let text = ["7E8 41 01 00 07 E5 00", "", "7E8 43 00", "7E8 4A 00"].join(end);
        let decoded = read(&text);
        assert_eq!(decoded.document["from"]["codes.permanent"][0]["line"], 4, "{end:?}");
        assert_eq!(flags(&decoded), [""; 0]);
    }
}

/// ISO-TP (obd-data.md section 3.2): VIN of 49 CFR 565 in frames, with traffic of another ECU,
/// flow control and a repeated first frame in between.
#[test]
fn frames_are_put_together_by_id() {
    let decoded = read(
        "can0 7E8#1014490201314D38\n\
         can0 7E8#1014490201314D38\n\
         can0 7E0#3000000000000000\n\
         can0 7E9#100A430404200421\n\
         can0 7E8#2147474D39415851\n\
         can0 7E8#1014490201314D38\n\
         can0 7E9#2104220423AAAAAA\n\
         can0 7E8#2147444D3941584B\n\
         can0 7E8#2250303432373838\n",
    );
    assert_eq!(fact(&decoded, "/link/vin"), "1M8GDM9AXKP042788");
    assert_eq!(fact(&decoded, "/codes/stored"), serde_json::json!(["P0420", "P0421", "P0422", "P0423"]));
    assert!(flags(&decoded).contains(&"truncated-answer"), "a new first frame aborts the old one");
}

/// Sequence numbers run 1..F, 0, 1 (obd-data.md section 3.2).
#[test]
fn sequence_numbers_wrap() {
    let mut payload = vec![0x43, 70];
    for n in 0..70u8 {
        payload.extend([0x04, n]);
    }
    let (first, rest) = payload.split_at(6);
    let hex = |bytes: &[u8]| bytes.iter().map(|b| format!("{b:02X}")).collect::<String>();
    let mut text = format!("can0 7E8#1{:03X}{}\n", payload.len(), hex(first));
    for (n, chunk) in (1..).zip(rest.chunks(7)) {
        text += &format!("can0 7E8#2{:X}{}\n", n % 16, hex(chunk));
    }
    let decoded = read(&text);
    let codes = fact(&decoded, "/codes/stored");
    assert_eq!(codes.as_array().map(Vec::len), Some(70), "{:#}", decoded.document);
}

/// J1939 transport: a broadcast with its packets, one lost, and one whose end is missing.
#[test]
fn j1939_transport() {
    let announce = "can0 1CECFF00#200A0002FFD4FE00\n";
    let first = "can0 1CEBFF00#0143FF3404050130\n";
    let second = "can0 1CEBFF00#02021301FFFFFFFF\n";
    let whole = read(&format!("{announce}{first}{second}"));
    assert_eq!(fact(&whole, "/codes/stored"), serde_json::json!(["SPN 1076 FMI 5", "SPN 560 FMI 19"]));
    assert_eq!(fact(&whole, "/lamp/commanded"), true);
    let lost = read(&format!("{announce}{second}"));
    assert_eq!(fact(&lost, "/codes"), serde_json::Value::Null);
    assert!(flags(&lost).contains(&"wrong-sequence"));
    let cut = read(&format!("{announce}{first}"));
    assert_eq!(fact(&cut, "/codes/stored"), serde_json::json!({"at_least": ["SPN 1076 FMI 5"]}));
    assert!(flags(&cut).contains(&"truncated-answer"));
}

/// A tester may ask one controller alone: with 29 bits by `18DAxxF1`, as with 11 by `7E0` to `7E7` (ISO 15765-4, obd-data.md section
/// 3.1). Whose answer is missing, and who was told to clear, comes out alike by both.
#[rstest]
#[case::answered("7DF#0201010000000000 7E8#0641010007E50400 7E0#010A000000000000 7E8#024A000000000000")]
#[case::silent("7DF#0201010000000000 7E8#0641010007E50400 7E8#024A000000000000 7E0#010A000000000000")]
#[case::another_is_silent(
    "7E8#0641010007E50400 7E9#0641010004000000 7E1#0201010000000000 7E9#0641010004000000 7E0#0201010000000000"
)]
#[case::cleared("7E8#0641010007E50400 7E0#0104000000000000 7E8#0144000000000000")]
#[case::cleared_in_silence("7E8#0641010007E50400 7E0#0104000000000000")]
#[case::another_cleared("7E8#0641010007E50400 7E9#0641010007E50400 7E1#0104000000000000 7E8#0144000000000000")]
fn one_controller_is_asked_alike_with_11_and_29_bits(#[case] frames: &str) {
    let long = |frame: &str| {
        let (id, data) = frame.split_once('#').unwrap();
        let id = match id {
            "7DF" => "18DB33F1",
            "7E0" => "18DA10F1",
            "7E1" => "18DA18F1",
            "7E8" => "18DAF110",
            "7E9" => "18DAF118",
            other => panic!("{other}"),
        };
        format!("can0 {id}#{data}\n")
    };
    let short = read(&frames.split(' ').map(|frame| format!("can0 {frame}\n")).collect::<String>());
    let long = read(&frames.split(' ').map(long).collect::<String>());
    assert_eq!(flags(&short), flags(&long), "{:#}\n{:#}", short.document, long.document);
    for key in ["monitors", "codes", "lamp", "communication", "since_clear"] {
        assert_eq!(short.document.get(key), long.document.get(key), "{key}");
    }
}

/// Several PIDs in one answer: how long each is decides where the next begins. Lengths: scapy 2.8.0's definitions (a packet library),
/// but for `$10`, which is two bytes in SAE J1979 (from memory), as scapy's one is a fault of it.
#[rstest]
#[case::one_byte(
    1,
    "04 05 0A 0B 0D 0E 0F 11 12 13 1C 1D 1E 2C 2D 2E 2F 33 45 46 47 48 49 4A 4B 4C 51 52 5A 5B 5C 5F 61 62"
)]
#[case::two_bytes(2, "03 0C 10 14 15 16 17 18 19 1A 1B 1F 21 22 23 32 3C 3D 3E 3F 42 43 44 4D 4E 53 54 59 5D 5E 63")]
#[case::four_bytes(4, "20 24 25 26 27 28 29 2A 2B 34 35 36 37 38 39 3A 3B 40 4F 50 60 80 A0 A6")]
fn the_next_pid_is_found_behind_each(#[case] length: usize, #[case] pids: &str) {
    for pid in pids.split(' ') {
        let decoded = read(&format!("7E8 41 {pid} {}31 00 09\n", "00 ".repeat(length)));
        assert_eq!(fact(&decoded, "/since_clear/distance_km"), 9, "{pid}");
        assert!(!flags(&decoded).contains(&"bytes-behind-answer"), "{pid}");
    }
}

/// Fuel trims have a second byte on engines with more than two banks (SAE J1979, from memory), and of other PIDs the length is not
/// known: nothing is read behind them, and that is told.
#[rstest]
#[case::behind_another("7E8 41 30 05 06 80 31 00 09\n")]
#[case::asked_with_another("7DF 01 09 31\n7E8 41 09 80 31 00 09\n")]
#[case::not_asked_here("7E8 41 06 80 31 00 09\n")]
#[case::long_pid("7DF 01 78 31\n7E8 41 78 01 00 00 00 00 00 00 00 00 31 00 09\n")]
fn nothing_is_read_behind_a_length_that_is_not_fixed(#[case] text: &str) {
    let decoded = read(text);
    assert!(decoded.document.pointer("/since_clear/distance_km").is_none());
    assert!(flags(&decoded).contains(&"bytes-behind-answer"), "{:#}", decoded.document);
}

/// A fuel trim alone, or as the last of several, has nothing behind it that could be told.
#[rstest]
#[case::alone("7E8 41 06 80\n", None)]
#[case::two_banks("7E8 41 06 80 7F\n", None)]
#[case::the_last("7DF 01 06 31\n7E8 41 31 00 09 06 80\n", Some(9))]
fn a_fuel_trim_with_nothing_behind_it_is_not_flagged(#[case] text: &str, #[case] distance: Option<i64>) {
    let decoded = read(text);
    assert_eq!(decoded.document.pointer("/since_clear/distance_km").and_then(serde_json::Value::as_i64), distance);
    assert!(!flags(&decoded).contains(&"bytes-behind-answer"), "{:#}", decoded.document);
}
