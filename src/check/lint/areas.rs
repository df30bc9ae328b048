//! Areas: tests of names that the file does not declare, and declared names that are nearly those of a county.

use super::own;
use crate::diagnostic::{Diagnostic, nearest};
use crate::model::Fact;
use crate::program::{Program, Test};
use crate::source::Span;
use crate::syntax::ast::{BulletKind, File, Kind, PropertyKind, Word};

pub(super) fn lint(program: &Program, file: &File, found: &mut Vec<Diagnostic>) {
    if !program.areas.is_declared() {
        let mut tests: Option<Span> = None;
        for block in own(program) {
            block.item.each_condition(&mut |condition| {
                condition.each_test(&mut |test| {
                    if matches!(test, Test::Text { fact: Fact::Area, .. }) {
                        tests = Some(tests.map_or(block.origin.span, |first| first.min(block.origin.span)));
                    }
                });
            });
        }
        if let Some(span) = tests {
            let message = "the area is tested, and the file does not declare the areas it knows";
            let help =
                "write `areas of \"STATE\"` with a bullet for each, so that the other counties are known to be outside";
            found.push(Diagnostic::warning("check/areas-not-declared", span, message).help(help));
        }
        return;
    }
    let Some(state) = program.areas.state() else { return };
    for name in declared(file) {
        let near = nearest(&name.node, state.counties.iter().map(|county| county.name));
        if let (true, Some(near)) = (program.areas.counties_of(&name.node).is_empty(), near) {
            let message = format!("\"{}\" is no county of {}", name.node, state.name);
            let diagnostic = Diagnostic::warning("check/area-not-in-list", name.span, message).about(&name.node);
            found.push(diagnostic.help(format!("did you mean \"{near}\"? If it is no county, acknowledge this")));
        }
    }
}

/// Names and other names of the areas of the file.
fn declared(file: &File) -> Vec<&Word> {
    let items = file.items.iter().filter(|item| matches!(item.kind, Kind::Areas { .. }));
    let bullets = items.flat_map(|item| &item.properties).filter_map(|property| match &property.kind {
        PropertyKind::Bullet(bullet) => match &bullet.kind {
            BulletKind::Areas { names, also, .. } => Some(names.iter().chain(also)),
            _ => None,
        },
        _ => None,
    });
    bullets.flatten().collect()
}
