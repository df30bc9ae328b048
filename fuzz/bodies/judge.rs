//! A program text and a snapshot, parted by a line `---` (without one: a snapshot alone, under built-in programs). What
//! reads as a snapshot is written and read back the same; a ruling is the same twice, names a verdict among those
//! possible, and is told in text, JSON and page.

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};
use wherefore::internals::catalog::{BuiltIn, Catalog};
use wherefore::internals::check::check;
use wherefore::internals::document::{self, Document};
use wherefore::internals::model::Date;
use wherefore::internals::program::{Class, Program, Selection, select};
use wherefore::internals::record::{self, Record};
use wherefore::internals::report::{page, table, text};
use wherefore::internals::ruling::{judge, prospect};
use wherefore::internals::source::Source;
use wherefore::internals::syntax::parse;

static PROGRAMS: LazyLock<Vec<Arc<Program>>> = LazyLock::new(|| {
    let catalog = Catalog::new(vec![&BuiltIn]);
    let ids = ["us-model", "us-ca", "us-il"];
    ids.iter().filter_map(|id| catalog.find(id).ok()?.program.clone()).collect()
});

/// Rules on one input.
pub fn one(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let (programs, snapshot) = match text.split_once("\n---\n") {
        Some((program, snapshot)) => {
            let parsed = parse(&Source::new("fuzz", program));
            let usable = parsed.diagnostics.is_empty();
            (check(&parsed.file, &()).program.filter(|_| usable).map(Arc::new).into_iter().collect(), snapshot)
        }
        None => (PROGRAMS.clone(), text),
    };
    let Ok(document) = document::read(snapshot.as_bytes()) else { return };
    let written = document::write(&document);
    assert_eq!(document::read_tree(&written), Ok(document.clone()), "writing and reading are inverse");
    for program in programs {
        ruled(&program, &document);
    }
}

fn ruled(program: &Program, document: &Document) {
    let date = document.snapshot.test_date().unwrap_or(Date::constant(2026, 11, 25));
    let flat = select(program, &Selection::on(date)).expect("the file's own readings exist");
    let once = judge(&flat, program, &document.snapshot);
    assert_eq!(once, judge(&flat, program, &document.snapshot), "ruling is deterministic");
    let Ok(ruling) = once else { return };
    assert!(!ruling.possible.is_empty());
    match ruling.possible.as_slice() {
        [one] => assert_eq!(one.name, ruling.verdict),
        _ => assert_eq!(ruling.verdict, "undecided"),
    }
    assert!(text::text(&ruling, text::Detail::Trace).starts_with(&ruling.program));
    let prospect =
        prospect(&flat, program, &document.snapshot, &ruling, Class::Pass).expect("what was ruled on can be");
    let (files, takes, law) = (BTreeMap::new(), Vec::new(), String::new());
    let record =
        Record { ruling, document: document.clone(), files, law, takes, certificate: None, prospect, recorded: None };
    assert!(text::of_record(&record, text::Detail::Trace).starts_with(&record.ruling.program));
    // The head and one program; what a cell has too much of goes on below it, indented.
    let rows = table::table([(&record.ruling, record.prospect.as_ref())]);
    assert!(rows.lines().filter(|line| !line.starts_with(' ')).count() == 2, "{rows}");
    let line = record::json_line(&record);
    assert!(line.ends_with('\n') && line.matches('\n').count() == 1);
    let value: serde_json::Value = serde_json::from_str(&line).expect("the ruling is JSON");
    assert_eq!(value["format"], record::FORMAT);
    page::page(&[record]).expect("the page can be drawn");
}
