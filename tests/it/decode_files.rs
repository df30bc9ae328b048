//! Forms that people have: files that other people's libraries wrote, lines with columns, tables; and forms that are
//! known and refused by name.
//!
//! The files stand under `tests/decode/forms`, with how they were made. All hold the same frames, so the candump text
//! among them says what each must give.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that does not find what it looks for has to stop there")]

use rstest::rstest;
use serde_json::{Value, json};
use wherefore::internals::decode::{Decoded, Options, decode};

use crate::decode_support::{fact, flags, read};

fn bytes(file: &str) -> Vec<u8> {
    let path = format!("{}/tests/decode/forms/{file}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read(&path).unwrap_or_else(|error| panic!("{path}: {error}"))
}

fn file(name: &str) -> Decoded {
    decode(&bytes(name), &Options::default()).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// The facts without where they come from, and without the date, which not every form holds.
fn facts(decoded: &Decoded) -> Value {
    let mut document = decoded.document.clone();
    let object = document.as_object_mut().unwrap();
    for key in ["from", "quality", "visit"] {
        object.remove(key);
    }
    document
}

#[rstest]
#[case::asc("python-can.asc", false)]
#[case::trc_1_0("python-can-1.0.trc", false)]
#[case::trc_2_1("python-can-2.1.trc", false)]
#[case::csv_in_base64("python-can.csv", true)]
#[case::labels("python-can-printer.txt", false)]
#[case::pcap("scapy.pcap", true)]
#[case::pcapng("scapy.pcapng", true)]
#[case::pcap_of_another_library("dpkt.pcap", true)]
#[case::pcapng_of_another_library("dpkt.pcapng", true)]
fn files_of_other_libraries_say_what_candump_says(#[case] name: &str, #[case] is_dated: bool) {
    let candump = file("python-can.log");
    assert_eq!(fact(&candump, "/link/vin"), "1M8GDM9AXKP042788", "the VIN of 49 CFR 565 in three frames");
    assert_eq!(fact(&candump, "/codes/stored"), json!(["P0420"]));
    assert_eq!(fact(&candump, "/lamp/commanded"), true);
    let other = file(name);
    assert_eq!(facts(&other), facts(&candump));
    assert!(other.refused.is_empty(), "{:?}", other.refused);
    let without_date = |decoded: &Decoded| -> Vec<&str> {
        flags(decoded).into_iter().filter(|slug| *slug != "date-from-log").collect()
    };
    assert_eq!(without_date(&other), without_date(&candump));
    let date = if is_dated { json!("2023-11-14") } else { Value::Null };
    assert_eq!(fact(&other, "/visit/date"), date);
}

/// A capture that is cut off anywhere: what came is read, the rest is told, nothing panics.
#[rstest]
#[case("scapy.pcap")]
#[case("scapy.pcapng")]
fn a_capture_cut_off_is_told(#[case] name: &str) {
    let whole = bytes(name);
    let mut told = 0;
    for end in 0..whole.len() {
        if let Ok(decoded) = decode(&whole[..end], &Options::default()) {
            told += usize::from(flags(&decoded).contains(&"line-not-read"));
        }
    }
    assert!(told > 100, "{told}");
}

/// One answer in every form of columns.
#[rstest]
#[case::remark_behind("(1700000000.123456) can0 7E8#0641010007E50000 // lamp off")]
#[case::remark_of_words("(1700000000.123456) can0 7E8#0641010007E50000 engine at idle")]
#[case::remark_behind_plain("7E8 41 01 00 07 E5 00 # lamp off")]
#[case::number_before("12 (1700000000.123456) can0 7E8#0641010007E50000")]
#[case::number_with_colon("12: can0 7E8#0641010007E50000")]
#[case::number_before_console("  12  can0  7E8   [8]  06 41 01 00 07 E5 00 00")]
#[case::iso_time("2023-11-14T22:13:20.123456 7E8 06 41 01 00 07 E5 00 00")]
#[case::iso_time_zone("2023-11-14T22:13:20.123Z 7E8 8 06 41 01 00 07 E5 00 00")]
#[case::date_and_time("2023-11-14 22:13:20.123 7E8 06 41 01 00 07 E5 00 00 (RX)")]
#[case::time_of_day("22:13:20.123  Rx  0x7E8  8  06 41 01 00 07 E5 00 00")]
#[case::length_between("7E8 8 06 41 01 00 07 E5 00 00")]
#[case::length_short("7E8 7 06 41 01 00 07 E5 00")]
#[case::columns("0.0125 1 7E8 Rx d 8 06 41 01 00 07 E5 00 00")]
#[case::direction_first("Rx 7E8 8 06 41 01 00 07 E5 00 00")]
#[case::labels("RX: Timestamp: 1234 ID: 0x7E8 DLC: 8 Data: 06 41 01 00 07 E5 00 00")]
#[case::labels_glued("ts:1234 ID:7E8 DLC:8 06 41 01 00 07 E5 00 00")]
#[case::labels_without_data("RX: Timestamp: 1234 ID: 7E8 DLC: 8 06 41 01 00 07 E5 00 00")]
#[case::milliseconds("1234 0x7E8: 06 41 01 00 07 E5 00 00")]
#[case::bytes_with_0x("12.5 0x7E8 8 0x06 0x41 0x01 0x00 0x07 0xE5 0x00 0x00")]
#[case::bytes_glued("12.5 7E8 8 0641010007E50000")]
fn one_answer_in_every_form_of_columns(#[case] line: &str) {
    let decoded = read(&format!("# remark\n\n{line}\n"));
    assert_eq!(fact(&decoded, "/monitors/evaporative"), "complete", "{decoded:#?}");
    assert_eq!(fact(&decoded, "/lamp/commanded"), false);
    assert_eq!(decoded.document["from"]["lamp.commanded"][0]["line"], 3);
    assert!(decoded.refused.is_empty());
}

/// Lines that could be read in more than one way, or are cut off, are refused and never guessed.
#[rstest]
#[case::whole_seconds_before("100 7E8 06 41 01 00 07 E5 00 00")]
#[case::fewer_bytes("12.5 7E8 8 06 41 01")]
#[case::more_bytes("12.5 7E8 2 06 41 01")]
#[case::more_than_eight("12.5 7E8 06 41 01 00 07 E5 00 00 00")]
#[case::decimal_id("12.5 2024 8 06 41 01 00 07 E5 00 00")]
#[case::decimal_bytes("12.5 7E8 8 6 65 1 0 7 229 0 0")]
#[case::words("at 12.5 the id 7E8 sent 8")]
fn lines_that_are_no_clear_frame_are_refused(#[case] line: &str) {
    let decoded = read(&format!("7E9 43 00\n{line}\n"));
    assert_eq!(decoded.refused.iter().map(|it| it.lines.count()).sum::<usize>(), 1, "{decoded:#?}");
    assert!(decoded.document.get("monitors").is_none());
}

/// Tables: the columns by their names, in any order.
#[rstest]
#[case::spaced("Time,ID,DLC,Data\n0.1,0x7E8,8,06 41 01 00 07 E5 00 00")]
#[case::glued("id;time;data\n7E8;0.1;0641010007E50000")]
#[case::no_time("CAN ID (hex)\tData (hex)\n7e8\t06 41 01 00 07 e5 00 00")]
#[case::bytes_apart("time,id,len,d0,d1,d2,d3,d4,d5,d6,d7\n1,7E8,8,06,41,01,00,07,E5,00,00")]
#[case::bytes_from_one("D1,D2,D3,D4,D5,D6,D7,D8,Length,Identifier\n06,41,01,00,07,E5,00,00,8,7E8")]
#[case::fill_behind_the_length("id,dlc,b0,b1,b2,b3,b4,b5,b6,b7\n7E8,7,06,41,01,00,07,E5,00,")]
#[case::quotes("\"timestamp\",\"arbitration_id\",\"data\"\n\"1\",\"7E8\",\"0641010007E50000\"")]
#[case::bytes_of_one_digit("id,dlc,d0,d1,d2,d3,d4,d5,d6,d7\n7E8,8,6,41,1,0,7,E5,0,0")]
fn tables_are_read_by_their_names(#[case] text: &str) {
    let decoded = read(text);
    assert_eq!(fact(&decoded, "/monitors/evaporative"), "complete", "{decoded:#?}");
    assert_eq!(decoded.document["from"]["lamp.commanded"][0]["line"], 2);
    assert!(decoded.refused.is_empty());
}

#[test]
fn tables_say_what_has_no_data_and_how_wide_an_id_is() {
    let text =
        "id,extended,remote,dlc,data\n0x7E8,0,1,8,\n0x18DAF110,1,0,3,03 41 1C\n0x7E8,0,0,4,02 43 00 00\n7E8,0,0,2,06";
    let decoded = read(text);
    assert_eq!(fact(&decoded, "/codes/stored"), json!([]));
    assert_eq!(decoded.refused.len(), 1, "fewer bytes than the length says");
}

/// A table whose numbers may be decimal is refused whole: 65 in hexadecimal would be another byte.
#[rstest]
#[case::ids("id,dlc,data\n2024,8,06 41 01 00 07 E5 00 00\n2015,8,02 01 01 00 00 00 00 00", "hexadecimal")]
#[case::bytes("id,dlc,d0,d1,d2,d3\n7E8,4,3,65,28,3", "hexadecimal")]
#[case::glued_bytes("id,data\n7E8,6 65 1 0 7 22 0 0", "hexadecimal")]
#[case::values("time,rpm,speed\n0.1,820,0\n0.2,830,0", "decoded values")]
#[case::json("[{\"id\": 2024, \"data\": [6, 65]}]", "JSON")]
#[case::headers_off("41 01 81 07 E5 00", "switch headers on")]
#[case::headers_off_with_prompt(">0101\n41 01 81 07 E5 00\n\n>", "7E8 06 41 01 00 07 E5 00")]
#[case::headers_off_glued(">03\n4301042000000000\r\r>", "switch headers on")]
#[case::words("NO DATA", "7E8 41 01 00 07 E5 00")]
fn what_is_not_read_is_named_with_a_way_out(#[case] text: &str, #[case] words: &str) {
    let error = decode(text.as_bytes(), &Options::default()).unwrap_err().to_string();

    assert!(error.contains(words), "{error}");
}

#[rstest]
#[case::blf(bytes("python-can.blf"), "a converter of CAN logs")]
#[case::mf4(b"MDF     4.10    other  \0\0\0\0".to_vec(), "MDF converter")]
#[case::packed(vec![0x1F, 0x8B, 8, 0, 0, 0], "unpack it")]
#[case::network(ethernet(), "DoIP")]
#[case::damaged(vec![0xD4, 0xC3, 0xB2, 0xA1, 2, 0], "damaged")]
fn binary_forms_are_named(#[case] input: Vec<u8>, #[case] words: &str) {
    let error = decode(&input, &Options::default()).unwrap_err().to_string();
    assert!(error.contains(words), "{error}");
    assert!(words == "unpack it" || error.contains("7E8#0641010007E50000"), "with a line that is read: {error}");
}

/// The header of a packet capture of Ethernet (link type 1), and one empty packet.
fn ethernet() -> Vec<u8> {
    let mut file = bytes("dpkt.pcap");
    file.truncate(24);
    file[20] = 1;
    file.extend([0; 16]);
    file
}

/// An `ASC` trace may write decimal numbers, and says so; other columns of `TRC` by their letters.
#[test]
fn traces_say_their_base_and_their_columns() {
    let decimal = "date Tue\nbase dec  timestamps absolute\n 0.1 1  2024  Rx   d 8 6 65 1 0 7 229 0 0\n\
                   0.2 1  ErrorFrame\n 0.3 Start of measurement\n 0.4 CANFD 1 Rx 2024 1 0 8 8 2 67 0 0 0 0 0 0 1 2 3\n";
    let decoded = read(decimal);
    assert_eq!(fact(&decoded, "/monitors/evaporative"), "complete", "{decoded:#?}");
    assert_eq!(fact(&decoded, "/codes/stored"), json!([]));
    let columns = ";$FILEVERSION=2.0\n;$COLUMNS=N,O,T,I,d,l,D\n;\n 1 0.5 DT 07E8 Rx 8 06 41 01 00 07 E5 00 00\n\
                   2 0.6 ST Rx 00 00 00 08\n 3 0.7 RR 07E8 Rx 8\n 4 0.8 DT 07E8 Rx 8 02 43\n";
    let decoded = read(columns);
    assert_eq!(fact(&decoded, "/monitors/evaporative"), "complete", "{decoded:#?}");
    assert_eq!(decoded.refused.len(), 1, "the last line is cut short");
}

/// Lengths of `TRC` frames: bytes behind `l`, the code of ISO 11898-1 (from memory) behind `L`. No frame has more than 64 bytes, and no code
/// is above 15. Frames of more than eight are told, not read.
#[rstest]
#[case::bytes("l", 8, 8, true)]
#[case::most_bytes("l", 64, 64, true)]
#[case::more_than_most("l", 65, 65, false)]
#[case::code_of_8("L", 8, 8, true)]
#[case::code_of_12("L", 9, 12, true)]
#[case::code_of_16("L", 10, 16, true)]
#[case::code_of_20("L", 11, 20, true)]
#[case::code_of_24("L", 12, 24, true)]
#[case::code_of_32("L", 13, 32, true)]
#[case::code_of_48("L", 14, 48, true)]
#[case::code_of_64("L", 15, 64, true)]
#[case::fewer_than_the_code("L", 15, 63, false)]
#[case::no_such_code("L", 16, 16, false)]
fn lengths_of_traces(#[case] column: &str, #[case] length: usize, #[case] bytes: usize, #[case] is_frame: bool) {
    lengths("FD", column, length, bytes, is_frame);
}

/// In the frames before CAN FD a code above 8 stands for 8 bytes (ISO 11898-1, from memory).
#[rstest]
#[case::code_of_8(8, true)]
#[case::code_above_it(9, true)]
#[case::last_code(15, true)]
#[case::no_such_code(16, false)]
fn lengths_of_plain_traces(#[case] code: usize, #[case] is_frame: bool) {
    lengths("DT", "L", code, 8, is_frame);
}

fn lengths(kind: &str, column: &str, length: usize, bytes: usize, is_frame: bool) {
    let head = "06 41 01 00 07 E5 00";
    let padding = " 00".repeat(bytes - head.split(' ').count());
    let text = format!(
        ";$FILEVERSION=2.0\n;$COLUMNS=N,O,T,I,d,{column},D\n;\n 1 0.5 {kind} 07E8 Rx {length} {head}{padding}\n\
         2 0.6 DT 07E8 Rx 8 02 43 00 00 00 00 00 00\n"
    );
    let decoded = read(&text);
    assert_eq!(fact(&decoded, "/codes/stored"), json!([]), "the line behind is read");
    assert_eq!(fact(&decoded, "/monitors/evaporative") == "complete", is_frame && bytes == 8, "{decoded:?}");
    assert_eq!(flags(&decoded).contains(&"can-fd-not-read"), is_frame && bytes > 8, "{decoded:?}");
    assert_eq!(decoded.refused.len(), usize::from(!is_frame));
}
