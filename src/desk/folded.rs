//! Warnings for a first look: one line each, those of one kind about one thing as one.

use crate::diagnostic::Diagnostic;
use crate::source::Source;
use crate::wording::wrap::wrapped;
use std::collections::BTreeMap;

/// Warnings folded by what they are about, in the order of the file: place, message, code, and how many more there are.
#[must_use]
pub fn folded<'d>(source: &Source, warnings: impl Iterator<Item = &'d Diagnostic>) -> String {
    let mut groups: BTreeMap<(u32, &str, &str), Vec<&Diagnostic>> = BTreeMap::new();
    let mut first: BTreeMap<(&str, &str), u32> = BTreeMap::new();
    for warning in warnings {
        let subject = warning.subject.as_deref().unwrap_or(&warning.message);
        let place = warning.labels.first().map_or(0, |label| label.span.start);
        // Versions of a clause stand at several places: the first stands for all.
        let place = *first.entry((warning.code, subject)).or_insert(place);
        groups.entry((place, warning.code, subject)).or_default().push(warning);
    }
    let line = |((place, code, _), group): (&(u32, &str, &str), &Vec<&Diagnostic>)| {
        let head = group.first().copied();
        let message = head.map_or("", |warning| warning.message.as_str());
        let more = match group.len() {
            0 | 1 => String::new(),
            more => format!(", and {} more like it", more - 1),
        };
        let dates = head
            .and_then(|warning| warning.notes.first())
            .filter(|note| note.starts_with("from ") || note.starts_with("on "));
        let dates = dates.map(|note| format!(", {note}")).unwrap_or_default();
        wrapped("", Some(2), &format!("{}:{}: {message}{dates}{more} [{code}]", source.name(), source.place(*place).0))
    };
    groups.iter().map(line).collect()
}
