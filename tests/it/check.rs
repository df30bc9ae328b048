//! Checking and selecting program files: small good programs for every point of the design (section 4) and every row of
//! the pattern table (digest states-b.md, section A), and golden messages for files with errors, one for each code.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use wherefore::internals::check::{Adopt, Adoption, Checked, check, lint};
use wherefore::internals::diagnostic::{Diagnostic, Severity};
use wherefore::internals::model::Fact;
use wherefore::internals::program::{Given, Program, Selection, select};
use wherefore::internals::source::Source;
use wherefore::internals::syntax::{self, ast::File};

/// The files of folders, as programs that can be adopted and tables that can be read.
pub struct Folder {
    folders: Vec<PathBuf>,
    done: RefCell<BTreeMap<String, (Arc<Program>, usize)>>,
}

fn root(folder: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/check").join(folder)
}

impl Folder {
    pub fn new(names: &[&str]) -> Folder {
        Folder { folders: names.iter().map(|name| root(name)).collect(), done: RefCell::default() }
    }

    pub fn text(&self, name: &str) -> Option<String> {
        self.folders.iter().find_map(|folder| std::fs::read_to_string(folder.join(name)).ok())
    }
}

impl Adopt for Folder {
    fn program(&self, id: &str) -> Adoption {
        match id {
            // What a loader reports and a single file cannot show.
            "faulty" => return Adoption::Faulty,
            "goes-round" => return Adoption::Cycle(vec!["goes-round".to_owned(), "example".to_owned()]),
            "deep" => return self.found("point-08-dates", 4),
            _ => {}
        }
        self.found(id, 0)
    }

    fn table(&self, name: &str) -> Option<String> {
        self.text(name)
    }

    fn tables(&self) -> Vec<String> {
        vec!["listed.csv".to_owned(), "bad.csv".to_owned()]
    }
}

impl Folder {
    fn found(&self, id: &str, more: usize) -> Adoption {
        if let Some((program, depth)) = self.done.borrow().get(id) {
            return Adoption::Found { program: program.clone(), depth: *depth + more };
        }
        let Some(text) = self.text(&format!("{id}.wherefore")) else {
            return Adoption::Missing { known: vec!["point-08-dates".to_owned(), "point-10-options".to_owned()] };
        };
        let (file, checked) = read(id, &text, self);
        assert!(file.items.len() > 1, "{id} is empty");
        let Some(program) = checked.program else { return Adoption::Faulty };
        let program = Arc::new(program);
        self.done.borrow_mut().insert(id.to_owned(), (program.clone(), 0));
        Adoption::Found { program, depth: more }
    }
}

/// Programs by their ids, and no table beside them.
pub struct Shelf(pub Vec<Arc<Program>>);

impl Adopt for Shelf {
    fn program(&self, id: &str) -> Adoption {
        match self.0.iter().find(|program| program.id == id) {
            Some(program) => Adoption::Found { program: Arc::clone(program), depth: 0 },
            None => Adoption::Missing { known: Vec::new() },
        }
    }

    fn table(&self, _name: &str) -> Option<String> {
        None
    }
}

pub fn read(name: &str, text: &str, adopt: &dyn Adopt) -> (File, Checked) {
    let parsed = syntax::parse(&Source::new(name, text));
    let mut checked = check(&parsed.file, adopt);
    checked.diagnostics.splice(0..0, parsed.diagnostics);
    (parsed.file, checked)
}

/// The program of a text in which there is no error.
pub fn program(name: &str, text: &str) -> Program {
    let checked = read(name, text, &()).1;
    let errors: Vec<&Diagnostic> = checked.diagnostics.iter().filter(|one| one.severity == Severity::Error).collect();
    assert!(errors.is_empty(), "{errors:?}\n{text}");
    checked.program.unwrap()
}

fn shown(source: &Source, diagnostics: &[Diagnostic]) -> String {
    let mut out = String::new();
    for diagnostic in diagnostics {
        let severity = if diagnostic.severity == Severity::Error { "error" } else { "warning" };
        writeln!(out, "{severity} {}: {}", diagnostic.code, diagnostic.message).unwrap();
        for label in &diagnostic.labels {
            let (line, column) = source.place(label.span.start);
            let words = source.slice(label.span).lines().next().unwrap_or("").trim();
            writeln!(out, "  at {line}:{column} `{words}` {}", label.text).unwrap();
        }
        if let Some(subject) = &diagnostic.subject {
            writeln!(out, "  about {subject}").unwrap();
        }
        for note in &diagnostic.notes {
            writeln!(out, "  note: {note}").unwrap();
        }
        writeln!(out, "  help: {}", diagnostic.help.as_deref().unwrap_or("NONE")).unwrap();
    }
    out.lines().map(|line| format!("{}\n", line.trim_end())).collect()
}

/// Every message about a file: syntax, check, and lints where there is a program.
fn messages(name: &str, text: &str, folder: &Folder) -> Vec<Diagnostic> {
    let (file, checked) = read(name, text, folder);
    let mut all = checked.diagnostics;
    if let Some(program) = checked.program {
        all.extend(lint::lint(&program, &file));
        if name == "no-case-reaches" {
            all.extend(lint::unreached(&program, &BTreeSet::from(["lamp".to_owned()])));
        }
        all = lint::silence(&program, all, &["check"]);
    }
    all
}

fn files(folder: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(root(folder)).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "wherefore") {
            let name = path.file_stem().unwrap().to_string_lossy().into_owned();
            found.push((name, std::fs::read_to_string(&path).unwrap()));
        }
    }
    found.sort();
    found
}

pub fn good_programs() -> Vec<(String, String)> {
    let mut all = files("points");
    all.extend(files("patterns"));
    all
}

/// Design, section 4 (fifteen points; the ninth has two files) and digest states-b.md, section A (its rows).
#[test]
fn points_and_patterns_are_clean() {
    let folder = Folder::new(&["points", "patterns"]);
    let all = good_programs();
    assert!(files("points").len() == 16 && files("patterns").len() == 21, "a point or a pattern has no file");
    for (name, text) in all {
        let found = messages(&name, &text, &folder);
        assert!(found.is_empty(), "{name}:\n{}", shown(&Source::new(&name, &text), &found));
    }
}

/// Each worked case gives exactly the outcomes that its file expects, from the interpreter.
#[test]
fn worked_cases_come_out_as_the_files_say() {
    let folder = Folder::new(&["points", "patterns"]);
    let mut cases = 0;
    for (name, text) in good_programs() {
        let program = read(&name, &text, &folder).1.program.unwrap();
        assert!(!program.cases.is_empty(), "{name} has no case");
        for case in &program.cases {
            let date = case.facts.test_date().unwrap();
            let selection = Selection { known_on: case.known_on, takes: case.takes.clone(), ..Selection::on(date) };
            let flat = select(&program, &selection).unwrap();
            let given = Given::of(&flat, &case.facts).unwrap();
            let verdicts = wherefore::internals::evaluate::verdict(&flat, &given).to_set();
            let got: BTreeSet<String> = verdicts.iter().map(|verdict| verdict.name(&flat).to_owned()).collect();
            let expected: BTreeSet<String> = case.expected.iter().cloned().collect();
            assert_eq!(got, expected, "{name}, case \"{}\"", case.title);
            cases += 1;
        }
    }
    assert!(cases > 90, "only {cases} cases");
}

/// Golden messages: data, not drawings.
#[test]
fn messages_about_errors() {
    let folder = Folder::new(&["errors", "points"]);
    insta::glob!("../check/errors", "*.wherefore", |path| {
        let name = path.file_stem().unwrap().to_string_lossy();
        let text = std::fs::read_to_string(path).unwrap();
        let found = messages(&name, &text, &folder);
        let shown = shown(&Source::new(&name, &text), &found);
        insta::assert_snapshot!(if shown.is_empty() { "nothing to say\n".to_owned() } else { shown });
    });
}

/// Every code that the checker can say is in the messages about the file of that name, and every message says what to do.
#[test]
fn every_code_has_its_file() {
    let folder = Folder::new(&["errors", "points"]);
    let (mut said, mut silent) = (BTreeSet::new(), Vec::new());
    for (name, text) in files("errors") {
        let found = messages(&name, &text, &folder);
        for diagnostic in &found {
            assert!(diagnostic.help.is_some(), "{name}: {} does not say what to do", diagnostic.code);
            assert!(!diagnostic.message.ends_with('.'), "{name}: {}", diagnostic.message);
            said.insert(diagnostic.code.to_owned());
        }
        let code = format!("check/{name}");
        let own = found.iter().any(|diagnostic| diagnostic.code == code);
        let of_several = [
            "no-program",
            "name-twice-adopted",
            "give-way-by-reading",
            "too-many-outcomes",
            "version-two",
            "strikes-topics",
            "empty-title",
            "strikes-acknowledged",
        ]
        .contains(&name.as_str());
        if !own && !of_several {
            silent.push(name);
        }
    }
    assert!(silent.is_empty(), "these do not give their own message: {silent:?}");
    let mut known = BTreeSet::new();
    codes(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/check"), &mut known);
    assert!(known.len() > 80, "codes were not found in the source");
    // The syntax says these first; `src/check/tests.rs` shows them on trees made by hand.
    let told_by_syntax = ["check/unknown-fact", "check/unknown-topic", "check/unknown-unit", "check/monitor-misplaced"];
    said.extend(told_by_syntax.map(str::to_owned));
    let missing: Vec<_> = known.difference(&said).collect();
    assert!(missing.is_empty(), "no file shows {missing:?}");
}

fn codes(folder: &Path, known: &mut BTreeSet<String>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            codes(&path, known);
        } else {
            let text = std::fs::read_to_string(&path).unwrap();
            let parts = text.split('"').filter(|part| part.starts_with("check/"));
            known.extend(parts.map(str::to_owned));
        }
    }
}

/// Words that the ordinary vehicle sets are really set: the same file without them is another vehicle.
#[test]
fn ordinary_vehicles_hold_what_they_say() {
    let folder = Folder::new(&["points", "patterns"]);
    let text = folder.text("point-12-worked-cases.wherefore").unwrap();
    let program = read("point-12-worked-cases", &text, &folder).1.program.unwrap();
    let one = &program.cases[0].facts;
    assert_eq!(one.get(Fact::Connector), program.ordinary.get(Fact::Connector));
    assert_ne!(one.get(Fact::LampCommanded), program.ordinary.get(Fact::LampCommanded));
    assert!(program.cases[1].facts.get(Fact::LampCommanded).is_none(), "`not known` takes the reading away");
}

/// Named conditions, limits and the count lead to what they ask, and none of them back to itself (`grammar/language.md`).
#[rstest::rstest]
#[case::a_condition_counts_what_it_excuses(
    "finding many where at least 2 counted monitors are incomplete\nexcuses catalyst where many\n  per ex\n",
    Some("finding many, then the counted monitors, then finding many")
)]
#[case::the_count_by_itself(
    "excuses catalyst where at least 2 counted monitors are incomplete\n  per ex\n",
    Some("the counted monitors, then the counted monitors")
)]
#[case::by_what_was_incomplete_earlier(
    "finding no-more where no more counted monitors are incomplete than earlier\nexcuses catalyst where no-more\n  per ex\n",
    Some("finding no-more, then the counted monitors, then finding no-more")
)]
#[case::by_a_limit(
    "limit\n  - every vehicle: at most 1\n  per ex\nfinding over where over the limit\nexcuses catalyst where over\n  per ex\n",
    Some("finding over, then the counted monitors, then finding over")
)]
#[case::a_condition_that_only_counts(
    "finding many where at least 2 counted monitors are incomplete\nexcuses catalyst where hybrid\n  per ex\n",
    None
)]
fn nothing_leads_back_to_itself(#[case] body: &str, #[case] expected: Option<&str>) {
    let text = format!(
        "program example \"Example\"\n  authority \"A\"\n  language 2\n  standing checked\n\
         source ex \"1 EX 2\" law, read 2026-11-25\nin force from 2002-01-01\n  per ex\noutcomes pass, fail\n\
         covers where every vehicle\n  per ex\ncounts supported monitors\n  per ex\n{body}"
    );
    let found = read("example", &text, &()).1.diagnostics;
    let errors: Vec<&Diagnostic> = found.iter().filter(|one| one.severity == Severity::Error).collect();
    let told: Vec<String> = errors.iter().map(|one| format!("{}: {}", one.code, one.message)).collect();
    let expected = expected.map(|ring| format!("check/leads-back: this leads back to itself: {ring}"));
    assert_eq!(told, expected.into_iter().collect::<Vec<_>>());
}
