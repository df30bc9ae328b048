//! From what the grammar matched to the tree. The grammar has decided what everything is; nothing is judged here but
//! which bullet a property belongs to, which indentation tells. Every function gives `None` where a pair lacks what
//! its rule requires, which the grammar rules out.

mod condition;
mod fact;
mod item;
mod property;

use super::ast::{Item, Kind, Property, PropertyKind};
use super::grammar::Rule;
use super::layout::Chunk;
use super::node::Node;
use std::collections::BTreeMap;

/// The item that an `item` pair says.
pub(super) fn item(node: &Node<'_>, chunk: &Chunk) -> Option<Item> {
    let kind = item::kind(&node.child(Rule::head)?.first()?)?;
    let mut pieces = Pieces { chunk, properties: Vec::new(), bullet: None };
    for piece in node.children() {
        match piece.rule() {
            Rule::bullet => pieces.bullet(&piece)?,
            Rule::property => pieces.property(&piece)?,
            _ => {}
        }
    }
    let replaces = node.child(Rule::kw_replaces).map(|word| word.span());
    Some(Item { span: node.span(), replaces, kind, properties: pieces.properties })
}

/// Where the older word `under` stood, what is declared tells whether it is of an option: there a value is chosen, of a
/// question a reading.
pub(super) fn options(items: &mut [Item]) {
    // Of each name, whether an option has it.
    let declared: BTreeMap<String, bool> = items
        .iter()
        .filter_map(|item| match &item.kind {
            Kind::Option { id, .. } => Some((id.node.clone(), true)),
            Kind::Question { id, .. } => Some((id.node.clone(), false)),
            _ => None,
        })
        .collect();
    let mut properties: Vec<&mut Property> = items.iter_mut().flat_map(|item| &mut item.properties).collect();
    while let Some(property) = properties.pop() {
        match &mut property.kind {
            PropertyKind::OnlyIf { name, chosen, .. } => *chosen = declared.get(&name.node).copied().unwrap_or(*chosen),
            PropertyKind::Bullet(bullet) => properties.extend(&mut bullet.properties),
            _ => {}
        }
    }
}

struct Pieces<'c> {
    chunk: &'c Chunk,
    properties: Vec<Property>,
    /// First byte and indentation of the line of the bullet that properties may belong to.
    bullet: Option<(usize, usize)>,
}

impl Pieces<'_> {
    fn line(&self, node: &Node<'_>) -> (usize, usize) {
        self.chunk.line_of(node.start()).map_or((0, 0), |line| (line.start, line.indent))
    }

    fn bullet(&mut self, node: &Node<'_>) -> Option<()> {
        let bullet = property::bullet(node)?;
        self.bullet = Some(self.line(node));
        self.properties.push(Property { span: node.span(), kind: PropertyKind::Bullet(bullet) });
        Some(())
    }

    fn property(&mut self, node: &Node<'_>) -> Option<()> {
        let property = Property { span: node.span(), kind: property::kind(&node.first()?)? };
        let line = self.line(node);
        let belongs = self.bullet.is_some_and(|bullet| line.0 == bullet.0 || line.1 > bullet.1);
        match self.properties.last_mut().map(|last| &mut last.kind) {
            Some(PropertyKind::Bullet(bullet)) if belongs => bullet.properties.push(property),
            _ => {
                self.bullet = None;
                self.properties.push(property);
            }
        }
        Some(())
    }
}
