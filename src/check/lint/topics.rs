//! Topics that are left open: on some date in force a required topic has no clause, and the file says neither that the
//! text is silent on it nor that it was not read.

use crate::diagnostic::Diagnostic;
use crate::program::{Epoch, Flat, Program, Topic};
use crate::syntax::ast::{File, Kind};

pub(super) fn lint(program: &Program, file: &File, flats: &[(Epoch, Flat)], found: &mut Vec<Diagnostic>) {
    let id = file.items.iter().find_map(|item| match &item.kind {
        Kind::Program { id, .. } => Some(id.span),
        _ => None,
    });
    let place = id.unwrap_or_default();
    for (topic, word) in Topic::ALL.iter().filter(|(topic, _)| topic.is_required()) {
        let dealt = |flat: &Flat| {
            flat.lines.iter().any(|line| line.topic == *topic)
                || flat.silences.iter().any(|silence| silence.topic == *topic)
        };
        let Some((epoch, _)) = flats.iter().find(|(_, flat)| !dealt(flat)) else { continue };
        let message = format!("nothing is said on {word} on {}", epoch.from);
        let diagnostic = Diagnostic::warning("check/topic-open", place, message).about(*word);
        let help = format!(
            "write a clause on it, or `text silent on {word}` (the text was read and has none), or \
             `no rule applied on {word}, text not seen`"
        );
        let more = flats.iter().filter(|(_, flat)| !dealt(flat)).count();
        let note = format!("so in {more} of {} runs of dates of program {}", flats.len(), program.id);
        found.push(diagnostic.help(help).note(note));
    }
}
