//! The same frames written in every form that is read: the facts must be the same, whatever the form.

use serde_json::Value;
use wherefore::internals::decode::{Options, decode};

/// Ids that frames are drawn from: answers and requests of either width, messages of SAE J1939, other traffic.
const IDS: [u32; 16] = [
    0x7E8,
    0x7E9,
    0x7DF,
    0x7E0,
    0x1A0,
    0x18DA_F110,
    0x18DB_33F1,
    0x18FE_CE00,
    0x18FE_D400,
    0x18FE_CA00,
    0x18FD_B800,
    0x18C1_FF00,
    0x1CEC_FF00,
    0x1CEB_FF00,
    0x18EA_FFF9,
    0x18E8_FF00,
];

/// Beginnings of payloads that mean something, so that random bytes get past the framing.
const LEADS: [&[u8]; 12] = [
    &[],
    &[0x06, 0x41, 0x01],
    &[0x04, 0x43, 0x01],
    &[0x02, 0x43, 0x00],
    &[0x03, 0x41, 0x30],
    &[0x10, 0x14, 0x49, 0x02, 0x01],
    &[0x21],
    &[0x22],
    &[0x01, 0x44],
    &[0x01, 0x54],
    &[0x02, 0x01, 0x01],
    &[0x20, 0x0A, 0x00, 0x02, 0xFF, 0xD4, 0xFE, 0x00],
];

type Frames = Vec<(u32, Vec<u8>)>;

fn frames(data: &[u8]) -> Frames {
    let mut found = Vec::new();
    let mut rest = data;
    while let [id, lead, tail @ ..] = rest {
        let lead = LEADS[usize::from(*lead) % LEADS.len()];
        let many = tail.len().min(8 - lead.len());
        let (bytes, after) = tail.split_at(many);
        found.push((IDS[usize::from(*id) % IDS.len()], [lead, bytes].concat()));
        rest = after;
    }
    found
}

fn id(id: u32) -> String {
    if id > 0x7FF { format!("{id:08X}") } else { format!("{id:03X}") }
}

fn spaced(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(" ")
}

fn lines(head: &str, frames: &Frames, line: impl Fn(usize, u32, &[u8]) -> String) -> Vec<u8> {
    let lines = frames.iter().enumerate().map(|(at, (id, bytes))| line(at, *id, bytes) + "\n");
    (head.to_owned() + &lines.collect::<String>()).into_bytes()
}

fn pcap(frames: &Frames) -> Vec<u8> {
    let mut file = vec![0xD4, 0xC3, 0xB2, 0xA1, 2, 0, 4, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0xFF, 0xFF, 0, 0, 227, 0, 0, 0];
    for (id, bytes) in frames {
        let length = u32::try_from(bytes.len() + 8).expect("a frame is short");
        let marked = if *id > 0x7FF { id | 1 << 31 } else { *id };
        file.extend([[0; 4], [0; 4], length.to_le_bytes(), length.to_le_bytes(), marked.to_be_bytes()].concat());
        file.push(u8::try_from(bytes.len()).expect("a frame is short"));
        file.extend([0; 3]);
        file.extend(bytes);
    }
    file
}

/// The facts of a text, without where they come from; the text of the error where there are none.
fn facts(form: &str, input: &[u8]) -> Value {
    match decode(input, &Options::default()) {
        Ok(decoded) => {
            assert!(decoded.refused.is_empty(), "{form}: {:?}\n{}", decoded.refused, String::from_utf8_lossy(input));
            let mut document = decoded.document;
            let object = document.as_object_mut().expect("a document is an object");
            object.remove("from");
            object.remove("quality");
            document
        }
        Err(error) => Value::String(error.to_string()),
    }
}

/// Writes the frames that the bytes stand for in every form.
pub fn one(data: &[u8]) {
    let frames = frames(data);
    if frames.is_empty() {
        return;
    }
    let glued = |bytes: &[u8]| spaced(bytes).replace(' ', "");
    let wide = |id: u32| if id > 0x7FF { format!("{id:X}x") } else { format!("{id:X}") };
    let candump =
        facts("candump", &lines("", &frames, |_, it, bytes| format!("(1.5) can0 {}#{}", id(it), glued(bytes))));
    let forms: [(&str, Vec<u8>); 7] = [
        (
            "console",
            lines("", &frames, |_, it, bytes| format!(" can0  {}   [{}]  {}", id(it), bytes.len(), spaced(bytes))),
        ),
        (
            "remark",
            lines("", &frames, |at, it, bytes| format!("{at} (1.5) can0 {}#{} // remark", id(it), glued(bytes))),
        ),
        (
            "columns",
            lines("", &frames, |_, it, bytes| {
                format!("22:13:20.5 Rx {} DLC: {} {} |", id(it), bytes.len(), spaced(bytes))
            }),
        ),
        (
            "table",
            // A column of ids shows that it is hexadecimal by a letter in it; a first row says so here.
            lines("data;time;ID;dlc\n01 02;0;0x1A0;2\n", &frames, |at, it, bytes| {
                format!("{};{at};{};{}", spaced(bytes), id(it), bytes.len())
            }),
        ),
        (
            "ASC",
            lines("date\nbase hex  timestamps absolute\n", &frames, |at, it, bytes| {
                format!("{at}.5 1  {}  Rx   d {} {}", wide(it), bytes.len(), spaced(bytes))
            }),
        ),
        (
            "TRC",
            lines(";$FILEVERSION=2.1\n;$COLUMNS=N,O,T,B,I,d,R,L,D\n", &frames, |at, it, bytes| {
                let id = if it > 0x7FF { format!("{it:08X}") } else { format!("{it:04X}") };
                format!("{at} 0.5 DT 1 {id} Rx - {} {}", bytes.len(), spaced(bytes))
            }),
        ),
        ("pcap", pcap(&frames)),
    ];
    for (form, input) in forms {
        let told = facts(form, &input);
        // Where nothing is to be read at all, each form has its own words for it.
        assert_eq!(told.is_object(), candump.is_object(), "{form}: {told} and {candump}");
        if told.is_object() {
            assert_eq!(told, candump, "{form}\n{}", String::from_utf8_lossy(&input));
        }
    }
}
