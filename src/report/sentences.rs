//! Rules as sentences: what a clause of a file says, in the file's own tests, for a reader who does not know the language.

use crate::source::{Source, Span};
use crate::syntax::ast::{BulletKind, Condition, File, GivesWayTo, Item, Join, Kind, Line, PropertyKind};

/// A clause of a file in sentences.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// Id of the clause.
    pub clause: String,
    /// Place of the item.
    pub span: Span,
    /// A sentence for each line, with the line's place.
    pub lines: Vec<(Span, String)>,
    /// What it gives way to, in a sentence.
    pub ways: Option<String>,
}

impl Said {
    /// The sentence of the line at a place; all of them where the place is the whole clause.
    #[must_use]
    pub fn of_line(&self, place: Span) -> Vec<String> {
        let meets = |line: Span| line.start < place.end && place.start < line.end;
        let lines = self.lines.iter().filter(|(line, _)| meets(*line)).map(|(_, text)| text.clone());
        lines.chain(self.ways.clone()).collect()
    }
}

/// Every clause of a file in sentences, in the order of the file.
#[must_use]
pub fn sentences(file: &File, source: &Source) -> Vec<Said> {
    let said = |item: &Item| match &item.kind {
        Kind::Clause { id, .. } => {
            let (lines, ways) = clause(item, source);
            Some(Said { clause: id.node.clone(), span: item.span, lines, ways })
        }
        _ => None,
    };
    file.items.iter().filter_map(said).collect()
}

fn clause(item: &Item, source: &Source) -> (Vec<(Span, String)>, Option<String>) {
    let mut whom = Vec::new();
    let mut lines = Vec::new();
    let mut ways = Vec::new();
    for property in &item.properties {
        match &property.kind {
            PropertyKind::Concerns(condition) | PropertyKind::Where(condition) => whom.push(words(condition, source)),
            PropertyKind::Line(line) => lines.push((property.span, line)),
            PropertyKind::Bullet(bullet) => {
                if let BulletKind::Line(line) = &bullet.kind {
                    lines.push((property.span, line));
                }
            }
            PropertyKind::GivesWay(way) => ways.push(match way {
                GivesWayTo::Clause(id) => format!("clause {}", id.node),
                GivesWayTo::AnyOutcome(outcome) => format!("any {}", outcome.node),
            }),
            _ => {}
        }
    }
    let whom = match whom.is_empty() {
        true => String::new(),
        false => format!("Of vehicles with {}: ", whom.join("; and ")),
    };
    let said = lines.into_iter().map(|(span, line)| (span, format!("{whom}{}", sentence(line, source)))).collect();
    (said, (!ways.is_empty()).then(|| format!("Gives way to {}.", ways.join(" and to "))))
}

fn sentence(line: &Line, source: &Source) -> String {
    let condition = words(&line.condition, source);
    let outcome = &line.outcome.node;
    match line.requires {
        true => format!("Required: {condition}; or else the outcome is {outcome}."),
        false => format!("The outcome is {outcome} where {condition}."),
    }
}

/// A condition on one line: its tests as they are written, a group with what joins it.
fn words(condition: &Condition, source: &Source) -> String {
    let joined = |spans: &mut dyn Iterator<Item = Span>| {
        let texts = spans.map(|span| source.slice(span).split_whitespace().collect::<Vec<_>>().join(" "));
        texts.collect::<Vec<_>>().join(" and ")
    };
    let mut parts = Vec::new();
    let tests = joined(&mut condition.tests.iter().map(|test| test.span));
    if !tests.is_empty() {
        parts.push(tests);
    }
    if let Some(group) = &condition.group {
        let join = match group.join {
            Join::Any => "at least one of these holds",
            Join::All => "all of these hold",
            Join::None => "none of these holds",
            Join::NotAll => "not all of these hold",
        };
        let bullets =
            group.bullets.iter().map(|bullet| format!("({})", joined(&mut bullet.iter().map(|test| test.span))));
        parts.push(format!("{join}: {}", bullets.collect::<Vec<_>>().join(", ")));
    }
    parts.join(" and ")
}
