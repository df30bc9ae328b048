//! A text of the input wherever a text can stand, in a program, a snapshot, and the names of files: the page holds no tag
//! of it, no text for a terminal a control character.

use std::collections::BTreeMap;
use std::sync::Arc;
use wherefore::internals::check::check;
use wherefore::internals::document;
use wherefore::internals::model::Date;
use wherefore::internals::program::{Class, Selection, select};
use wherefore::internals::record::{self, Record};
use wherefore::internals::report::harmless::harmless;
use wherefore::internals::report::{page, table, text};
use wherefore::internals::ruling::{judge, prospect};
use wherefore::internals::source::Source;
use wherefore::internals::syntax::parse;

const RULES: &str = include_str!("../../examples/exact/heath.wherefore");
const TAG: &str = "<zq>";

fn is_clean(told: &str) -> bool {
    !told.chars().any(|sign| sign.is_control() && sign != '\n')
}

/// Draws one input.
pub fn one(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let text: String = text.chars().take(80).collect();
    let hostile = format!("{TAG}{text}");
    let quiet: String = hostile.chars().filter(|sign| !sign.is_control() && *sign != '"' && *sign != '\\').collect();
    let rules = RULES.replacen("Heath County", &quiet, 1);
    let parsed = parse(&Source::new("fuzz", &rules));
    let Some(program) = check(&parsed.file, &()).program.filter(|_| parsed.diagnostics.is_empty()).map(Arc::new) else {
        return;
    };
    let snapshot = serde_json::json!({
        "format": "wherefore-snapshot/1",
        "vehicle": {"model_year": 2014, "fuel": "gasoline", "ignition": "spark",
            "make": hostile, "model": hostile, "engine": hostile},
        "visit": {"date": "2026-11-25", "area": hostile},
        "lamp": {"commanded": true},
    });
    let Ok(document) = document::read(snapshot.to_string().as_bytes()) else { return };
    let flat = select(&program, &Selection::on(Date::constant(2026, 11, 25))).expect("the file's own readings exist");
    let Ok(ruling) = judge(&flat, &program, &document.snapshot) else { return };
    let prospect =
        prospect(&flat, &program, &document.snapshot, &ruling, Class::Pass).expect("what was ruled on can be");
    let files = BTreeMap::from([(hostile.clone(), "sha256:0".to_owned())]);
    let made = Record {
        ruling,
        document,
        files,
        law: String::new(),
        takes: Vec::new(),
        certificate: None,
        prospect,
        recorded: None,
    };
    for told in [
        text::text(&made.ruling, text::Detail::Trace),
        text::of_record(&made, text::Detail::Trace),
        table::table([(&made.ruling, made.prospect.as_ref())]),
        record::json_line(&made),
    ] {
        // As everything is printed.
        assert!(is_clean(&harmless(&told)), "{told:?}");
    }
    let drawn = page::page(&[made]).expect("the page can be drawn");
    assert!(!drawn.contains(TAG), "{drawn}");
}
