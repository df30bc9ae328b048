//! A mapping file and CSV, parted by a line `---`: the header and the fields are those that the library `csv` finds, and
//! every record is judged or set aside.

use std::sync::LazyLock;
use wherefore::internals::audit::header::{Header, fields_of};
use wherefore::internals::audit::mapping::{Mapping, read};
use wherefore::internals::audit::{Fields, Judging, Lot, PADDING, Worker, aside, cut, line_ends};
use wherefore::internals::bulk::{Engine, Options};
use wherefore::internals::catalog::{BuiltIn, Catalog};

pub static PROGRAMS: LazyLock<Vec<Judging>> = LazyLock::new(|| {
    let catalog = Catalog::new(vec![&BuiltIn]);
    let judging = |id: &&str| {
        let program = catalog.find(id).ok()?.program.clone()?;
        let engine = Engine::new(&program, Options::default()).ok()?;
        Some(Judging { id: program.id.clone(), engine, open: None, against: None, unread: None, announced: Vec::new() })
    };
    ["us-model", "us-md", "gb"].iter().filter_map(judging).collect()
});

/// Judges a lot and checks the sums.
pub fn judged(mut lot: Lot, records: usize) {
    let mut worker = Worker::default();
    let done = worker.work(&PROGRAMS, &mut lot, true);
    assert_eq!(done.adds_up(records), Ok(()));
    let judged: u64 = worker.tallies().iter().map(|tally| tally.judged).sum();
    assert_eq!(judged, done.judged);
}

fn places(mapping: &Mapping, names: &[String]) -> Option<Vec<usize>> {
    mapping.columns.iter().map(|column| names.iter().position(|name| *name == column.name)).collect()
}

/// Reads one input.
pub fn one(data: &[u8]) {
    let Some(at) = data.windows(5).position(|window| window == b"\n---\n") else { return };
    let (text, records) = (&data[..at], &data[at + 5..]);
    let Ok(mapping) = std::str::from_utf8(text).map_err(drop).and_then(|text| read(text).map_err(drop)) else { return };
    let delimiter = mapping.file.delimiter;
    let mut header = Header::new(delimiter);
    let used = header.feed(records);
    if !header.is_over() {
        header.feed(&[]);
    }
    // Byte by byte it is the same.
    let mut slow = Header::new(delimiter);
    let mut taken = 0;
    while !slow.is_over() && taken < records.len() {
        taken += slow.feed(&records[taken..=taken]);
    }
    if !slow.is_over() {
        slow.feed(&[]);
    }
    assert_eq!((slow.fields(), taken), (header.fields(), used));
    let Some(names) = header.fields() else { return };
    assert_eq!(fields_of(records, delimiter), names);
    let Some(places) = places(&mapping, names) else { return };
    let rest = &records[used..];
    let mut block = rest.to_vec();
    block.resize(rest.len() + PADDING, 0);
    let made = cut(block, rest.len(), delimiter, names.len());
    // Outside reference: the same records by the library `csv`.
    let mut reader = csv::ReaderBuilder::new().delimiter(delimiter).has_headers(false).flexible(true).from_reader(rest);
    let found: Vec<csv::ByteRecord> = reader.byte_records().map_while(Result::ok).collect();
    // Within a file a mark of byte order is part of a field; the library takes one off at the beginning of what it reads.
    if !rest.starts_with(&[0xEF, 0xBB, 0xBF]) {
        assert_eq!(found.len(), made.table.len);
        for (row, record) in found.iter().enumerate() {
            match made.ragged.iter().find(|ragged| ragged.row == row) {
                Some(ragged) => assert_eq!(ragged.fields, record.len()),
                None => record.iter().enumerate().for_each(|(at, field)| assert_eq!(made.table.field(row, at), field)),
            }
        }
    }
    assert_eq!(made.starts.len(), made.table.len);
    assert!(made.starts.is_sorted());
    assert!(line_ends(rest) <= rest.len() as u64);
    let mut lot = Fields::new(&mapping).read(&made.table, &places);
    for ragged in &made.ragged {
        aside(&mut lot, ragged.row, "", b"", "has another number of fields".to_owned());
    }
    judged(lot, made.table.len);
}
