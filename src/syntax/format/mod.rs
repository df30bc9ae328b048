//! Tree to text in one canonical layout: two spaces under an item, one space between words, lines of at most 100
//! characters. The order of items and properties, comments and single blank lines stay the author's; items of
//! different kinds are set apart. Formatting what was formatted changes nothing.

mod condition;
mod fact;
mod item;
mod layout;
mod piece;
mod property;

use super::ast::{Item, Kind, Property, PropertyKind};
use super::parse::Parsed;
use crate::source::Source;
use layout::Layout;

/// Longest line, in characters; only a single word, text or comment makes a longer one.
pub const WIDTH: usize = 100;

/// The text in canonical layout; `None` where the file has errors, so that nothing is lost.
#[must_use]
pub fn format(parsed: &Parsed, source: &Source) -> Option<String> {
    if !parsed.diagnostics.is_empty() {
        return None;
    }
    let mut layout = Layout::new(source, &parsed.file.comments);
    let mut before: Option<&Kind> = None;
    for item in &parsed.file.items {
        let other = before.is_some_and(|kind| std::mem::discriminant(kind) != std::mem::discriminant(&item.kind));
        write_item(&mut layout, item, other);
        before = Some(&item.kind);
    }
    Some(layout.finish())
}

fn write_item(layout: &mut Layout<'_>, item: &Item, apart: bool) {
    layout.begin_item(item.span, apart);
    layout.write(item::head(item));
    layout.end_of_words(item.span.start, item.properties.first().map_or(item.span.end, |first| first.span.start));
    let in_a_case = matches!(item.kind, Kind::Case { .. });
    let dates = item.properties.iter().take_while(|property| is_date(property)).count();
    let on_head = if matches!(item.kind, Kind::InForce) { dates } else { 0 };
    let (first, others) = item.properties.split_at_checked(on_head).unwrap_or((&[], &item.properties));
    for property in first {
        write_words(layout, property, 2, in_a_case);
    }
    write_properties(layout, others, 2, in_a_case);
}

fn write_properties(layout: &mut Layout<'_>, properties: &[Property], indent: usize, in_a_case: bool) {
    let mut before: Option<&Property> = None;
    for property in properties {
        let goes_on = before.is_some_and(|before| matches!(before.kind, PropertyKind::From(_)))
            && matches!(property.kind, PropertyKind::Through(_));
        if !goes_on {
            layout.begin(property.span, indent);
        }
        write_words(layout, property, indent, in_a_case);
        if let PropertyKind::Bullet(bullet) = &property.kind {
            write_properties(layout, &bullet.properties, indent + 2, in_a_case);
        }
        before = Some(property);
    }
}

fn write_words(layout: &mut Layout<'_>, property: &Property, indent: usize, in_a_case: bool) {
    layout.write(property::pieces(property, indent, in_a_case));
    layout.end_of_words(property.span.start, property.span.end);
}

fn is_date(property: &Property) -> bool {
    matches!(property.kind, PropertyKind::From(_) | PropertyKind::Through(_))
}
