//! Tree to text in one canonical layout: two spaces under an item, one space between words, lines of at most 100
//! characters. The order of items and properties, comments and single blank lines stay the author's; items of
//! different kinds are set apart. Formatting what was formatted changes nothing.

mod condition;
mod fact;
mod item;
mod layout;
mod piece;
mod property;

use super::ast::{Assignment, Item, Kind, Property, PropertyKind};
use super::parse::Parsed;
use crate::source::Source;
use layout::Layout;
use piece::Pieces;

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

/// One fact as it is written, on one line.
pub(super) fn told(one: &Assignment) -> String {
    let mut pieces = Pieces::default();
    fact::assignment(&mut pieces, one);
    pieces.on_one_line()
}

fn write_item(layout: &mut Layout<'_>, item: &Item, apart: bool) {
    layout.begin_item(item.span, apart);
    layout.write(item::head(item));
    layout.end_of_words(item.span.start, item.properties.first().map_or(item.span.end, |first| first.span.start));
    let dates = item.properties.iter().take_while(|property| is_date(property)).count();
    let day = item.properties.first().is_some_and(|property| matches!(property.kind, PropertyKind::On(_)));
    let on_head = match item.kind {
        Kind::InForce | Kind::Period { .. } => dates,
        Kind::Case { .. } if day && fits(layout, item.properties.get(..1).unwrap_or(&[]), 0, Dates::Plain) => 1,
        _ => 0,
    };
    let (first, others) = item.properties.split_at_checked(on_head).unwrap_or((&[], &item.properties));
    // What is announced, and a period, are in force by no day of theirs; `in force` says it before its days.
    let said = match item.kind {
        Kind::InForce | Kind::Period { .. } | Kind::Change { .. } => Dates::Plain,
        _ => Dates::InForce,
    };
    for property in first {
        write_words(layout, property, 2, false);
    }
    write_properties(layout, others, 2, said);
}

/// How the dates of an item are said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Dates {
    /// `from 2012-07-01`
    Plain,
    /// `in force from 2012-07-01`
    InForce,
}

impl Dates {
    /// Whether `in force` stands before a property, which follows another.
    fn say(self, before: Option<&Property>, property: &Property) -> bool {
        self == Dates::InForce && !is_end(before, property)
    }
}

/// Whether a property is the last day behind a first one, on its line.
fn is_end(before: Option<&Property>, property: &Property) -> bool {
    let is_from = before.is_some_and(|before| matches!(before.kind, PropertyKind::From(_)));
    is_from && matches!(property.kind, PropertyKind::Through(_))
}

/// Properties after what they belong to. One law that a thing rests on, after the dates if it has any, stands on the
/// thing's own line where all fits; so does the law that a case's outcome follows from. Dates after the law would be those
/// of the citation.
fn write_properties(layout: &mut Layout<'_>, properties: &[Property], indent: usize, dates: Dates) {
    let is_law = |property: &&Property| matches!(property.kind, PropertyKind::Per(_));
    let all = properties.iter().all(|property| is_date(property) || is_law(&property));
    let one_law = properties.iter().filter(is_law).count() == 1 && properties.last().as_ref().is_some_and(is_law);
    let goes_on = all && one_law && fits(layout, properties, indent.saturating_sub(2), dates);
    let mut before: Option<&Property> = None;
    for property in properties {
        let joins = match (before.map(|before| &before.kind), &property.kind) {
            _ if is_end(before, property) => true,
            (Some(PropertyKind::Expect { .. }), PropertyKind::Per(_))
            | (Some(PropertyKind::Asks(_)), PropertyKind::ObservedBy(_)) => {
                fits(layout, std::slice::from_ref(property), indent, dates)
            }
            _ => goes_on,
        };
        if !joins {
            layout.begin(property.span, indent);
        }
        write_words(layout, property, indent, dates.say(before, property));
        if let PropertyKind::Bullet(bullet) = &property.kind {
            write_properties(layout, &bullet.properties, indent + 2, dates);
        }
        before = Some(property);
    }
}

/// Whether properties fit on the line that is being written, which is indented so far.
fn fits(layout: &Layout<'_>, properties: &[Property], indent: usize, dates: Dates) -> bool {
    let before = std::iter::once(None).chain(properties.iter().map(Some));
    let width = |(before, property)| {
        property::pieces(property, indent, dates.say(before, property)).width().map(|width| width + 1)
    };
    let width = before.zip(properties).map(width).sum::<Option<usize>>();
    let end = properties.last().map_or(0, |last| last.span.end);
    width.is_some_and(|width| layout.has_room(width, indent, end))
}

fn write_words(layout: &mut Layout<'_>, property: &Property, indent: usize, is_in_force: bool) {
    layout.write(property::pieces(property, indent, is_in_force));
    layout.end_of_words(property.span.start, property.span.end);
}

fn is_date(property: &Property) -> bool {
    matches!(property.kind, PropertyKind::From(_) | PropertyKind::Through(_))
}
