//! Everything that can be told of one program file: its errors, its lints, its worked cases and the exact analyses.

use crate::catalog::Entry;
use crate::catalog::cases::{self, CaseResult};
use crate::check::lint;
use crate::diagnostic::Diagnostic;
use crate::model::Date;
use crate::program::Program;
use crate::report::warning::{self, Shares};
use crate::ruling::Ruling;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The messages of one file, and how many worked cases it has and how many of them fail.
#[derive(Debug, Clone)]
pub struct Told {
    /// The file.
    pub entry: Arc<Entry>,
    /// How many worked cases it has.
    pub cases: usize,
    /// How many of them fail.
    pub failed: usize,
    /// By place.
    pub messages: Vec<Diagnostic>,
    /// What the worked cases rest on.
    pub shares: Shares,
    /// Titles of the worked cases that each clause decides, with whether they hold.
    pub decided: BTreeMap<String, Vec<(String, bool)>>,
}

/// Everything that can be told of a file; the exact analyses on one day, or in every epoch.
#[must_use]
pub fn told(entry: &Arc<Entry>, as_of: Option<Date>) -> Told {
    let mut told = Told {
        entry: Arc::clone(entry),
        cases: 0,
        failed: 0,
        messages: entry.diagnostics.clone(),
        shares: Shares::default(),
        decided: BTreeMap::new(),
    };
    if let Some(program) = entry.program.as_deref().filter(|_| !entry.is_advice) {
        let results = cases::run(program);
        told.cases = results.len();
        for result in results.iter().filter(|result| !result.faults.is_empty()) {
            told.failed += 1;
            let message = format!("worked case \"{}\": {}", result.case.title, result.faults.join("; "));
            let help = "mend the clause or the case; the case's basis says what it follows from";
            told.messages.push(Diagnostic::warning("case/fails", result.case.span, message).help(help));
        }
        for result in &results {
            for clause in &result.decided_by {
                let title = (result.case.title.clone(), result.faults.is_empty());
                told.decided.entry(clause.clone()).or_default().push(title);
            }
        }
        told.shares = shares_of(&results);
        told.messages.extend(warnings(entry, program, as_of, &results, &told.shares));
        told.messages = lint::silence(program, std::mem::take(&mut told.messages), &["check", "analysis"]);
        once(&mut told.messages);
        told.messages.sort_by(|a, b| (&a.labels, a.code, &a.message).cmp(&(&b.labels, b.code, &b.message)));
        told.messages.dedup();
    }
    told
}

/// A topic on which nothing is said leaves a gap too; that is told once.
fn once(messages: &mut Vec<Diagnostic>) {
    let open: BTreeSet<String> =
        messages.iter().filter(|it| it.code == "check/topic-open").filter_map(|it| it.subject.clone()).collect();
    messages.retain(|it| it.code != "analysis/gap" || it.subject.as_ref().is_none_or(|topic| !open.contains(topic)));
}

/// What the lints, the worked cases and the exact analyses find.
fn warnings(
    entry: &Entry,
    program: &Program,
    as_of: Option<Date>,
    results: &[CaseResult<'_>],
    shares: &Shares,
) -> Vec<Diagnostic> {
    let mut found = lint::lint(program, &entry.file);
    let rulings = results.iter().filter_map(|result| result.ruling.as_ref());
    let reached: BTreeSet<String> = rulings
        .flat_map(|ruling| ruling.grounds.iter().map(|ground| &ground.clause).chain(&ruling.deciding).cloned())
        .collect();
    found.extend(lint::unreached(program, &reached));
    found.extend(shares.diagnostics(program, &entry.file));
    match warning::analysed(program, as_of) {
        Ok(list) => found.extend(warning::diagnostics(program, &entry.file, &list)),
        Err(error) => found.push(warning::not_analysed(program, &entry.file, &error)),
    }
    found
}

/// What the worked cases rest on.
fn shares_of(results: &[CaseResult<'_>]) -> Shares {
    let mut shares = Shares::default();
    for ruling in results.iter().filter_map(|result| result.ruling.as_ref()) {
        let unread = ruling.trace.iter().flat_map(|line| &line.why).any(|why| why.ends_with("was not seen"));
        let is_single = ruling.possible.len() == 1;
        shares.add(is_single, unread, &bases(ruling), !ruling.so_far_as_read.is_empty());
    }
    shares
}

/// The texts that a ruling rests on, the weakest last.
fn bases(ruling: &Ruling) -> Vec<(String, bool)> {
    let deciding = ruling
        .grounds
        .iter()
        .filter(|ground| ruling.deciding.contains(&ground.clause) || ruling.coverage.state == ground.clause);
    let mut bases: Vec<_> =
        deciding.map(|ground| ground.basis).chain(ruling.weak.iter().map(|weak| weak.basis)).collect();
    bases.sort_by_key(|basis| basis.rank());
    bases.iter().map(|basis| (basis.words(), basis.is_weak())).collect()
}
