//! A mapping file and JSON Lines, parted by a line `---`, read as flat objects or as snapshots as the mapping says: each
//! line that is not empty is a record, and every record is judged or set aside; what is no object never is judged.

#[path = "rows.rs"]
#[allow(dead_code, reason = "a target takes a part of it")]
mod rows;

use std::collections::BTreeMap;
use wherefore::internals::audit::Fields;
use wherefore::internals::audit::json::{Keys, flat, set_aside, snapshots};
use wherefore::internals::audit::mapping::{Lines, read};

/// Reads one input.
pub fn one(data: &[u8]) {
    let Some(at) = data.windows(5).position(|window| window == b"\n---\n") else { return };
    let (text, records) = (&data[..at], &data[at + 5..]);
    let Ok(mapping) = std::str::from_utf8(text).map_err(drop).and_then(|text| read(text).map_err(drop)) else { return };
    let (keys, places) = Keys::of(&mapping);
    let mut fields = Fields::new(&mapping);
    let (made, lot) = match mapping.file.lines {
        Lines::Flat => {
            let made = flat(records, &keys);
            let mut lot = fields.read(&made.table, &places);
            set_aside(&mut lot, made.faults.clone());
            (made, lot)
        }
        Lines::Snapshots => snapshots(records, &keys, &mut fields, &places),
    };
    let lines: Vec<&[u8]> =
        records.split(|byte| *byte == b'\n').map(<[u8]>::trim_ascii).filter(|line| !line.is_empty()).collect();
    assert_eq!((made.table.len, made.starts.len()), (lines.len(), lines.len()));
    for (row, line) in lines.iter().enumerate() {
        // What no column takes is skipped: of its numbers and escapes only the grammar counts.
        let text = std::str::from_utf8(line).ok();
        let is_object =
            text.is_some_and(|text| serde_json::from_str::<BTreeMap<String, serde::de::IgnoredAny>>(text).is_ok());
        assert!(is_object || lot.aside.iter().any(|aside| aside.row == row), "{}", String::from_utf8_lossy(line));
    }
    rows::judged(lot, made.table.len);
}
