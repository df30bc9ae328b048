//! Lints of a checked program: what can be used, and needs a look. One lint a file. Only what the program's own file
//! says is looked at; an adopted program has its own lints. Warnings that a file `acknowledges` are silenced last, by
//! `silence`, when every pass that can find something has run.

mod absence;
mod areas;
mod cases;
mod citations;
mod duplicates;
mod silence;
mod sources;
mod topics;
mod unused;

pub use cases::unreached;
pub use silence::silence;

use crate::diagnostic::Diagnostic;
use crate::program::{Block, Epoch, Flat, Origin, Program, Selection, epochs, select};
use crate::syntax::ast::File;

/// Every lint but [`unreached`], which needs the worked cases judged. Sorted by place; `file` is the tree that the
/// program was made of, for the places of sources and of the program itself.
#[must_use]
pub fn lint(program: &Program, file: &File) -> Vec<Diagnostic> {
    let flats = flats(program);
    let mut found = Vec::new();
    citations::lint(program, &mut found);
    unused::lint(program, file, &mut found);
    duplicates::lint(program, &mut found);
    absence::lint(program, &mut found);
    sources::lint(program, file, &mut found);
    areas::lint(program, file, &mut found);
    topics::lint(program, file, &flats, &mut found);
    found.sort_by(|a, b| (&a.labels, a.code, &a.message).cmp(&(&b.labels, b.code, &b.message)));
    found.dedup();
    found
}

/// The flat program of each epoch in force, under the file's own readings.
fn flats(program: &Program) -> Vec<(Epoch, Flat)> {
    let flat = |epoch: Epoch| Some((epoch, select(program, &Selection::on(epoch.from)).ok()?));
    epochs(program).into_iter().filter_map(flat).filter(|(_, flat)| flat.in_force.is_yes()).collect()
}

fn is_own(program: &Program, origin: &Origin) -> bool {
    origin.program == program.id
}

/// Blocks of the program's own file.
fn own(program: &Program) -> impl Iterator<Item = &Block> {
    program.blocks.iter().filter(|block| is_own(program, &block.origin))
}
