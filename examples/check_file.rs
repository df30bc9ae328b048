//! Scratch: parses, checks and runs the cases of program files. Not to be merged.
#![allow(
    clippy::all,
    clippy::pedantic,
    clippy::print_stdout,
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    missing_docs
)]
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use wherefore::check::{self, Adopt, Adoption, Checked};
use wherefore::program::select::{Selection, select};
use wherefore::{ruling, source::Source, syntax};

struct Files {
    files: BTreeMap<String, String>,
    busy: RefCell<Vec<String>>,
    show: BTreeSet<String>,
}
impl Files {
    fn load(&self, id: &str, print: bool) -> Option<Checked> {
        let text = self.files.get(id)?;
        let source = Source::new(id, text);
        let parsed = syntax::parse(&source);
        let mut checked = check::check(&parsed.file, self);
        if !parsed.diagnostics.is_empty() {
            checked.program = None;
        }
        if print {
            for d in parsed.diagnostics.iter().chain(&checked.diagnostics) {
                let span = d.labels.first().map(|l| l.span).unwrap_or_default();
                let (l, c) = source.place(span.start);
                let w: String = source.slice(span).chars().take(70).collect();
                println!(
                    "  {id}:{l}:{c} {:?} [{}] {} | `{}` {} {}",
                    d.severity,
                    d.code,
                    d.message,
                    w.replace('\n', " "),
                    d.help.as_deref().unwrap_or(""),
                    d.notes.join("; ")
                );
            }
        }
        Some(checked)
    }
}
impl Adopt for Files {
    fn program(&self, id: &str) -> Adoption {
        if self.busy.borrow().iter().any(|b| b == id) {
            return Adoption::Cycle(self.busy.borrow().clone());
        }
        self.busy.borrow_mut().push(id.to_owned());
        let got = self.load(id, false);
        self.busy.borrow_mut().pop();
        match got {
            None => Adoption::Missing { known: self.files.keys().cloned().collect() },
            Some(Checked { program: Some(p), .. }) => {
                let depth = usize::from(!p.adopted.is_empty());
                Adoption::Found { program: Arc::new(p), depth }
            }
            Some(_) => Adoption::Faulty,
        }
    }
    fn table(&self, _name: &str) -> Option<String> {
        None
    }
}
fn main() {
    let mut files = Files { files: BTreeMap::new(), busy: RefCell::default(), show: BTreeSet::new() };
    for entry in std::fs::read_dir("policies/us").unwrap() {
        let path = entry.unwrap().path();
        let id = path.file_stem().unwrap().to_string_lossy().into_owned();
        files.files.insert(id, std::fs::read_to_string(&path).unwrap());
    }
    files.show = std::env::args().skip(1).collect();
    let (mut good, mut bad) = (0, 0);
    for id in files.files.keys().filter(|id| files.show.is_empty() || files.show.contains(*id)) {
        let checked = files.load(id, true).unwrap();
        let Some(program) = checked.program else {
            println!("{id}: not usable");
            continue;
        };
        let (mut ok, mut failed) = (0, 0);
        for case in &program.cases {
            let Some(date) = case.facts.test_date() else {
                println!("  {id}: no date {}", case.title);
                failed += 1;
                continue;
            };
            let mut selection = Selection::on(date);
            selection.known_on = case.known_on;
            selection.takes = case.takes.clone();
            let flat = select(&program, &selection).unwrap();
            match ruling::judge(&flat, &program, &case.facts) {
                Err(error) => {
                    println!("  {id}: case `{}`: {error}", case.title);
                    failed += 1;
                }
                Ok(r) => {
                    let got: BTreeSet<_> = r.possible.iter().map(|v| v.name.clone()).collect();
                    let want: BTreeSet<_> = case.expected.iter().cloned().collect();
                    let by = case.by.as_ref().is_none_or(|by| r.deciding.contains(by));
                    if got == want && by {
                        ok += 1;
                    } else {
                        failed += 1;
                        println!(
                            "  {id}: case `{}`: expected {want:?} by {:?}, got {got:?} exact {} by {:?} alt {:?}; unknown {:?}; questions {:?}",
                            case.title,
                            case.by,
                            r.exact,
                            r.deciding,
                            r.alternatives,
                            r.unknown.iter().map(|u| &u.name).collect::<Vec<_>>(),
                            r.questions
                                .iter()
                                .map(|q| format!("{q:?}").chars().take(60).collect::<String>())
                                .collect::<Vec<_>>()
                        );
                    }
                }
            }
        }
        good += ok;
        bad += failed;
        println!("{id}: {ok} cases good, {failed} bad; {} findings", checked.diagnostics.len());
    }
    println!("total {good} good, {bad} bad");
}
