//! Bad input: each gives a clear message with its place, or a flag; nothing is lost, nothing panics.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::wildcard_enum_match_arm,
    reason = "a test that does not find what it looks for has to stop there"
)]

use rstest::rstest;
use wherefore::internals::decode::{DecodeError, LineProblem, Options, decode};

use crate::decode_support::{fact, flags, read};

fn error(input: &[u8]) -> DecodeError {
    decode(input, &Options::default()).unwrap_err()
}

#[rstest]
#[case::empty(b"", "empty")]
#[case::only_line_ends(b"\r\n\r\n\n", "empty")]
#[case::only_remarks(b"# nothing here\n   # nor here\n", "empty")]
#[case::only_byte_order_mark(b"\xEF\xBB\xBF", "empty")]
#[case::zero_bytes(b"7E8 41\0\x01", "zero bytes")]
#[case::utf_16(b"\xFF\xFE7\x00E\x008\x00", "UTF-16")]
#[case::words(b"hello world\n", "none of 1 lines")]
#[case::invalid_utf_8(b"\xC3\x28\xA0\xA1\n", "none of 1 lines")]
#[case::reader_words(b"SEARCHING...\nNO DATA\nSTOPPED\n", "none of 3 lines")]
#[case::swapped_marks(b"  can0  7E8   [8]  00`00`E5`07`00`01`41`06\n", "swapped")]
#[case::swapped_bytes(b"can0 7E8#0000E50700014106\ncan0 7E8#AAAAAAAAAA004302\n", "swapped")]
#[case::binary_digits(b" can0 7E8 [2] 00000010 01000001\n", "-i")]
#[case::colours(b" \x1B[32mcan0  7E8   [1]  06\n", "-c")]
fn nothing_usable(#[case] input: &[u8], #[case] words: &str) {
    let message = error(input).to_string();
    assert!(message.contains(words), "{message}");
}

#[rstest]
#[case::no_message("what is this", LineProblem::NotAMessage)]
#[case::id_too_large("8FF 41 01", LineProblem::BadIdentifier)]
#[case::id_too_large_29("2FFFFFFF 41 01", LineProblem::BadIdentifier)]
#[case::id_of_four_digits("can0 07E8#0641010007E50000", LineProblem::BadIdentifier)]
#[case::half_byte("7E8 41 0", LineProblem::BadHex)]
#[case::not_hex("7E8 41 0G", LineProblem::BadHex)]
#[case::not_hex_log("can0 7E8#0641XX", LineProblem::BadHex)]
#[case::half_byte_log("can0 7E8#064", LineProblem::BadHex)]
#[case::cut_console(" can0 7E8 [8] 06 41 01", LineProblem::CutShort)]
#[case::too_many_console(" can0 7E8 [2] 06 41 01", LineProblem::TooManyBytes)]
#[case::too_many_log("can0 7E8#000102030405060708", LineProblem::TooManyBytes)]
#[case::trailing_byte("can0 7E8#0241 01", LineProblem::TooManyBytes)]
#[case::without_header("41 01 81 07 E5 00", LineProblem::NoHeader)]
#[case::without_header_glued("41018107E500", LineProblem::NoHeader)]
#[case::without_header_short("43 00", LineProblem::NoHeader)]
#[case::id_alone("7E8", LineProblem::NoBytes)]
#[case::checksum("48 6B 10 41 01 00 07 E1 E1 A4", LineProblem::BadChecksum)]
#[case::header("12 34 56 41 01 00 07 E1 E1 A3", LineProblem::BadHeader)]
#[case::kwp_length("87 F1 10 41 01 00 07 E5 00 B6", LineProblem::CutShort)]
#[case::open_bracket("(1700000000.1 can0 7E8#06", LineProblem::NotAMessage)]
fn a_bad_line_keeps_its_place_and_reason(#[case] line: &str, #[case] problem: LineProblem) {
    let text = format!("7E8 41 01 00 07 E5 00\n\n{line}\n7E8 43 00\n");
    let decoded = read(&text);
    let refused: Vec<_> = decoded.refused.iter().map(|r| (r.problem, r.lines.iter().collect::<Vec<_>>())).collect();
    assert_eq!(refused, [(problem, vec![3])]);
    assert_eq!(flags(&decoded), ["line-not-read"]);
    assert_eq!(decoded.document["quality"][0]["lines"], serde_json::json!([3]));
    assert_eq!(fact(&decoded, "/codes/stored"), serde_json::json!([]), "the rest is used");
}

/// A recording whose bytes are binary digits or in swapped order is refused, however many bytes a frame has and whatever stands
/// before it: eight binary digits read as hexadecimal ones would be four other bytes.
#[rstest]
#[case::alone("")]
#[case::interface("can0 ")]
#[case::time("(1700000000.123456) can0 ")]
#[case::number("12) can0 ")]
#[case::direction("can0 RX - - ")]
fn bytes_of_another_form_are_never_read(#[case] before: &str) {
    for count in 1..=8usize {
        let text = |byte: &str| format!("7E9 43 00\n{before}7E8 [{count}] {}\n", vec![byte; count].join(" "));
        let refused: Vec<_> = read(&text("01000001")).refused.iter().map(|refused| refused.problem).collect();
        assert_eq!(refused, [LineProblem::BinaryDigits], "{}", text("01000001"));
        let swapped = error(text("41`00").as_bytes());
        assert!(matches!(swapped, DecodeError::SwappedOrder { line: 2 }), "{swapped}: {}", text("41`00"));
    }
}

/// An answer on an id that diagnostics do not use is told where it fits the last request, service and PID, and else is other
/// traffic. Without a request a plain line of 11 bits is taken for an answer by its first byte.
#[rstest]
#[case::the_pid_asked_for("7DF 01 00", &[0x41, 0x00, 0xBE], true, true)]
#[case::another_pid("7DF 01 00", &[0x41, 0x0C, 0xBE], false, false)]
#[case::another_service("7DF 01 00", &[0x49, 0x00, 0xBE], false, false)]
#[case::the_info_type_asked_for("7DF 09 02", &[0x49, 0x02, 0x01], true, true)]
#[case::another_info_type("7DF 09 02", &[0x49, 0x04, 0x01], false, false)]
#[case::a_service_without_pid("7DF 03", &[0x43, 0x01, 0x04, 0x20], true, true)]
#[case::not_that_service("7DF 07", &[0x43, 0x01, 0x04, 0x20], false, false)]
#[case::nothing_asked("# nobody asks", &[0x41, 0x00, 0xBE], true, false)]
#[case::nothing_asked_and_no_answer("# nobody asks", &[0x3E, 0x00, 0xBE], false, false)]
fn an_answer_outside_the_ids_of_diagnostics(
    #[case] request: &str,
    #[case] answer: &[u8],
    #[case] plain: bool,
    #[case] framed: bool,
) {
    let bytes: Vec<String> = answer.iter().map(|byte| format!("{byte:02X}")).collect();
    let of_line = format!("6F1 {}", bytes.join(" "));
    let of_frame = format!("can0 6F1#{:02X}{}", answer.len(), bytes.concat());
    for (line, expected) in [(of_line, plain), (of_frame, framed)] {
        let decoded = read(&format!("7E8 43 00\n{request}\n{line}\n"));
        assert_eq!(flags(&decoded).contains(&"responder-outside-obd"), expected, "{line}: {:?}", flags(&decoded));
    }
}

#[test]
fn a_byte_order_mark_is_passed_over() {
    let decoded = decode(b"\xEF\xBB\xBF7E8 41 01 00 07 E5 00\r\n", &Options::default()).unwrap();
    assert_eq!(fact(&decoded, "/lamp/commanded"), false);
}

#[test]
fn mixed_encodings_lose_only_their_lines() {
    let decoded = decode(b"\xFF\xFF\xFF\n7E8 43 00\n\xC3\x28\n", &Options::default()).unwrap();
    assert_eq!(decoded.refused.iter().map(|r| r.lines.count()).sum::<usize>(), 2);
    assert_eq!(fact(&decoded, "/codes/stored"), serde_json::json!([]));
}

/// Framing faults (obd-data.md sections 1.9 and 3.2): flagged, and no fact comes from them.
#[rstest]
#[case::wrong_number("can0 7E8#1014490201314D38\ncan0 7E8#2250303432373838", "wrong-sequence")]
#[case::stray("can0 7E8#2400000000000000", "stray-frame")]
#[case::cut("can0 7E8#1014490201314D38\ncan0 7E8#2147444D3941584B", "truncated-answer")]
#[case::length_zero("can0 7E8#0041010007E50000", "bad-frame")]
#[case::length_eight("can0 7E8#0841010007E50000", "bad-frame")]
#[case::fewer_bytes("can0 7E8#0641010007", "bad-frame")]
#[case::first_frame_of_seven("can0 7E8#1007490201314D38", "bad-frame")]
#[case::short_first_frame("can0 7E8#101449020131", "bad-frame")]
#[case::short_consecutive("can0 7E8#1014490201314D38\ncan0 7E8#214744", "bad-frame")]
#[case::no_such_frame("can0 7E8#4141010007E50000", "bad-frame")]
#[case::no_data("can0 7E8#", "bad-frame")]
#[case::long_fd_frame("can0 7E8##1000641010007E500000000000000000000", "can-fd-not-read")]
#[case::two_testers("can0 7E8#1014490201314D38\ncan0 7DF#0201010000000000", "interleaved-testers")]
#[case::other_tester_address("can0 18DAFA10#0641010007E50000", "interleaved-testers")]
#[case::frames_lost("DROPCOUNT: dropped 3 CAN frames on 'can0' socket", "frames-dropped")]
#[case::not_an_answer("can0 7E8#0201010000000000", "not-an-answer")]
fn framing_faults_are_flagged(#[case] text: &str, #[case] slug: &str) {
    let decoded = read(text);
    assert!(flags(&decoded).contains(&slug), "{:?}", flags(&decoded));
    for section in ["monitors", "lamp", "codes"] {
        assert!(decoded.document.get(section).is_none(), "{section}");
    }
    assert!(fact(&decoded, "/link/vin").is_null());
}

#[test]
fn a_long_line_and_many_bad_lines_stay_small() {
    let long = format!("7E8 {}\n7E8 43 00\n", "41 ".repeat(1_000_000));
    let decoded = read(&long);
    assert_eq!(decoded.refused[0].problem, LineProblem::TooManyBytes);
    let many = format!("{}7E8 43 00\n", "rubbish\n".repeat(200_000));
    let decoded = read(&many);
    assert_eq!(decoded.refused[0].lines.count(), 200_000, "nothing is lost");
    assert_eq!(decoded.refused[0].lines.ranges(), [(1, 200_000)]);
    let shown = decoded.document["quality"][0]["lines"].as_array().unwrap().len();
    assert_eq!(shown, 100);
    let message = decoded.document["quality"][0]["message"].as_str().unwrap();
    assert!(message.contains("200000"), "{message}");
}

#[test]
fn an_error_holds_every_refused_line() {
    let DecodeError::NoUsableLine { lines, line, refused, .. } = error(b"\nhello\n7E8 4\nworld\n") else {
        unreachable_here()
    };
    assert_eq!((lines, line), (3, 2));
    let all: usize = refused.iter().map(|r| r.lines.count()).sum();
    assert_eq!(all, 3);
}

fn unreachable_here() -> ! {
    panic!("another error than NoUsableLine")
}

/// Many different faults and many different codes: bounded in size, and the count is kept.
#[test]
fn many_different_faults_stay_small() {
    let mut text = String::from("7E8 41 01 00 07 E5 00\n");
    for n in 0..20_000u32 {
        text += &format!("can0 7E8#06{n:08X}\n");
        let frame = [0x48, 0x6B, 0x10, 0x43, n.to_be_bytes()[2] | 1, n.to_be_bytes()[3], 1, 2, 1, 3];
        let sum = frame.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte));
        let frame: Vec<String> = frame.iter().chain([&sum]).map(|b| format!("{b:02X}")).collect();
        text += &format!("{}\n", frame.join(" "));
        text += &format!("can0 7E9#07{n:08X}000000\n");
    }
    let decoded = read(&text);
    assert!(decoded.flags.len() < 200, "{}", decoded.flags.len());
    let lines: usize =
        decoded.flags.iter().filter(|f| matches!(f.slug, "bad-frame" | "not-an-answer")).map(|f| f.lines.count()).sum();
    assert_eq!(lines, 40_000);
    let codes = fact(&decoded, "/codes/stored/at_least");
    assert_eq!(codes.as_array().map(Vec::len), Some(256), "never taken for whole");
}
