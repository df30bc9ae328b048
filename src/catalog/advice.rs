//! Advice that all programs share: a file of sources and advice, without a program of its own. It is checked as any
//! other file, and given to every program that has no advice itself.

use crate::program::{Citation, Program};
use crate::source::Source;
use crate::syntax::ast::{File, Kind};
use crate::syntax::parse;

/// Name of the file, without its ending.
pub(super) const STEM: &str = "advice";

/// What a file needs to be a program; none of it outlives the check.
const HEADER: &str = "\
program advice \"Advice shared by all programs\"
  authority \"none\"
in force from 1996-01-01
outcomes pass
covers where every vehicle
";

/// Whether the file holds nothing but sources and advice.
pub(super) fn is_shared(file: &File) -> bool {
    let kinds = || file.items.iter().map(|item| &item.kind);
    kinds().any(|kind| matches!(kind, Kind::Advice { .. }))
        && kinds().all(|kind| matches!(kind, Kind::Advice { .. } | Kind::Source { .. }))
}

/// The file with what a program must have.
pub(super) fn as_program(file: File) -> File {
    let header = parse(&Source::new("header", HEADER)).file;
    File { items: header.items.into_iter().chain(file.items).collect(), comments: file.comments }
}

/// Adds shared advice with the sources it rests on.
pub(super) fn add(program: &mut Program, shared: &Program) {
    let first = program.sources.len();
    program.sources.extend(shared.sources.iter().cloned());
    program.advice.extend(shared.advice.iter().cloned().map(|mut advice| {
        let moved = |citation: Citation| Citation { source: citation.source.saturating_add(first), ..citation };
        advice.basis = advice.basis.into_iter().map(moved).collect();
        advice
    }));
}
