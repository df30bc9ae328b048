//! Any text as a mapping file: reading ends, every fault has a place in the text, a mapping reads any field to a value or a
//! reason. And any names and values as columns: the draft made of them is a mapping file.

use wherefore::internals::audit::mapping::{Sample, draft, read};

/// Reads one input: a mapping file, and after a line `---` fields, one a line.
pub fn one(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let (mapping, fields) = text.split_once("\n---\n").unwrap_or((text, "\n2014\nP0420"));
    match read(mapping) {
        Ok(mapping) => {
            for column in &mapping.columns {
                for field in fields.lines() {
                    let once = column.field(field.as_bytes());
                    assert_eq!(once, column.field(field.as_bytes()));
                    assert!(once.is_ok() || !once.unwrap_err().is_empty());
                }
            }
        }
        Err(faults) => {
            assert!(!faults.is_empty());
            let lines: Vec<&str> = mapping.split('\n').collect();
            for fault in faults {
                let line = fault.line.checked_sub(1).and_then(|line| lines.get(line));
                let line = line.unwrap_or_else(|| panic!("{fault}: there is no such line"));
                assert!(fault.column >= 1 && fault.column <= line.chars().count() + 2, "{fault}");
            }
        }
    }
    // Names from the first half, values from the second.
    let names: Vec<&str> = mapping.lines().take(40).collect();
    let values: Vec<&str> = fields.lines().take(40).collect();
    let sample = |(place, name): (usize, &&str)| Sample {
        name: format!("{name}{}", if names[..place].contains(name) { place.to_string() } else { String::new() }),
        fields: values.iter().skip(place % 3).map(|value| (*value).to_owned()).collect(),
    };
    let columns: Vec<Sample> = names.iter().enumerate().map(sample).collect();
    let names: std::collections::BTreeSet<&String> = columns.iter().map(|column| &column.name).collect();
    if names.len() == columns.len() {
        let made = draft(&columns, data.first().copied().filter(u8::is_ascii_graphic).filter(|sign| *sign != b'"'));
        let again = read(&made);
        let only_empty = |faults: &Vec<wherefore::internals::audit::mapping::Fault>| {
            faults.iter().all(|fault| fault.message.contains("no columns are mapped"))
        };
        assert!(again.is_ok() || again.as_ref().err().is_some_and(only_empty), "{again:?}\n{made}");
    }
}
