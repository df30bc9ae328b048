//! What newcomers write first, and what the message tells them: a table of tries, each put in its place in a sound file.

use std::fmt::Write as _;
use wherefore::internals::catalog::{BuiltIn, Catalog, Files};
use wherefore::internals::diagnostic::Diagnostic;

const TRIES: &str = include_str!("../language/first-tries.txt");
const FILE: &str = include_str!("../../examples/exact/heath.wherefore");

struct One(String);

impl Files for One {
    fn names(&self) -> Vec<String> {
        vec!["heath.wherefore".to_owned()]
    }
    fn text(&self, _name: &str) -> Result<String, String> {
        Ok(self.0.clone())
    }
    fn beside(&self, _name: &str, _table: &str) -> Option<String> {
        None
    }
    fn tables(&self, _name: &str) -> Vec<String> {
        Vec::new()
    }
}

pub struct Try<'t> {
    place: &'t str,
    pub written: &'t str,
    wanted: &'t str,
}

pub fn tries() -> Vec<Try<'static>> {
    let lines = TRIES.lines().filter(|line| !line.starts_with('#') && !line.is_empty());
    let read = |line: &'static str| {
        let (place, rest) = line.split_once(" | ").unwrap();
        let (written, wanted) = rest.rsplit_once(" | ").unwrap();
        Try { place, written, wanted }
    };
    lines.map(read).collect()
}

pub fn text(one: &Try<'_>) -> String {
    let written = one.written;
    let item = match one.place {
        "where" => format!("clause tried on lamp\n  fail where {written}\n  per text\n"),
        "item" => format!("{written}\n  per text\n"),
        "property" => format!("clause tried on lamp\n  fail where lamp commanded on\n  per text\n  {written}\n"),
        "dated" => format!("limit tried\n  - every vehicle: at most 1\n    {written}\n  per text\n"),
        "table" => format!("table tried\n  - {written}\n  per text\n"),
        "fact" => format!(
            "fact proved: yes or no\n  asks \"Proved?\"\n  observed by papers\nclause tried on lamp\n  fail where {written}\n  per text\n"
        ),
        "row" => format!("limit tried\n  - {written}\n  per text\n"),
        "codes" => format!("code group tried: {written}\n  per text\n"),
        "facts" => format!(
            "ordinary sound; model year 2010; fuel is gasoline; gross weight 4500 lb; lamp not commanded on;\n  complete: catalyst, evaporative\n\
             case \"tried\"\n  on 2021-01-01\n  facts {written}\n  expect pass\n  follows from text\n"
        ),
        "source" => format!("source tried \"Tried\" {written}\n"),
        other => panic!("no place {other}"),
    };
    format!("{}\n{item}", FILE.replace("language 1", "language 2"))
}

fn errors(one: &Try<'_>) -> (String, Vec<Diagnostic>) {
    let text = text(one);
    let files = One(text.clone());
    let catalog = Catalog::new(vec![&files, &BuiltIn]);
    let entry = catalog.file("heath.wherefore").unwrap();
    (text, entry.diagnostics.clone())
}

#[test]
fn every_first_try_is_told_what_to_write() {
    let all = tries();
    assert!(all.len() >= 80, "{}", all.len());
    let mut wrong = String::new();
    for one in &all {
        let (text, errors) = errors(one);
        if one.wanted == "no error" {
            assert!(errors.is_empty(), "{}: {errors:?}", one.written);
            continue;
        }
        let told = |error: &Diagnostic| format!("{} ({})", error.message, error.help.as_deref().unwrap_or(""));
        let first = errors.first().map_or("nothing".to_owned(), told);
        if !first.contains(one.wanted) {
            let _ = writeln!(wrong, "{} | {} | {}\n    told: {first}", one.place, one.written, one.wanted);
        }
        for error in &errors {
            // What is underlined is what was written, not the file around it.
            let span = error.labels[0].span;
            let at = span.start as usize;
            assert!(at >= FILE.len() - 12 || at == 0, "{}: {error:?}", one.written);
            assert!(text.get(at..span.end as usize).is_some(), "{}: {error:?}", one.written);
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

/// A change that a message offers mends the place: the same error is not told again there.
#[test]
fn what_a_message_offers_to_write_is_taken() {
    let mut mended = 0;
    for one in tries() {
        let (text, errors) = errors(&one);
        let Some((error, fix)) = errors.first().and_then(|error| error.fix.as_ref().map(|fix| (error, fix))) else {
            continue;
        };
        let mut after = text.clone();
        after.replace_range(fix.span.start as usize..fix.span.end as usize, &fix.text);
        let files = One(after.clone());
        let catalog = Catalog::new(vec![&files, &BuiltIn]);
        let again = catalog.file("heath.wherefore").unwrap().diagnostics.clone();
        let same = again
            .iter()
            .any(|other| other.message == error.message && other.labels[0].span.start == error.labels[0].span.start);
        assert!(!same, "{}: still {} in\n{after}", one.written, error.message);
        mended += 1;
    }
    assert!(mended >= 30, "{mended}");
}
