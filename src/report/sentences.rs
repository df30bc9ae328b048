//! Rules as sentences: what a clause of a file says, in the file's own tests, for a reader who does not know the language.

use crate::model::Monitor;
use crate::model::table::FACTS;
use crate::source::{Source, Span, Spanned};
use crate::syntax::ast::{BulletKind, Condition, File, GivesWayTo, Item, Join, Kind, Line, PropertyKind, Test};

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
    let whom = whom.join("; and ");
    let said = lines.into_iter().map(|(span, line)| (span, sentence(&whom, line, source))).collect();
    (said, (!ways.is_empty()).then(|| format!("Gives way to {}.", ways.join(" and to "))))
}

fn sentence(whom: &str, line: &Line, source: &Source) -> String {
    let condition = words(&line.condition, source);
    let outcome = &line.outcome.node;
    match (whom, line.requires, condition.as_str()) {
        ("", true, _) => format!("Required is that {condition}; or else a vehicle gets {outcome}."),
        (_, true, _) => format!("Where {whom}, required is that {condition}; or else a vehicle gets {outcome}."),
        ("", false, EVERY) => format!("Every vehicle gets {outcome}."),
        (_, false, EVERY) => format!("Where {whom}, every vehicle gets {outcome}."),
        ("", false, _) => format!("A vehicle gets {outcome} if {condition}."),
        (_, false, _) => format!("Where {whom}, a vehicle gets {outcome} if {condition}."),
    }
}

/// The test that is true of all.
const EVERY: &str = "every vehicle";

/// A test as part of a sentence that is read aloud: `the lamp is commanded on`, `its model year is 1996 or later`.
fn aloud(test: &str) -> String {
    let rest_of = |start: &str| test.strip_prefix(start).filter(|rest| rest.is_empty() || rest.starts_with(' '));
    let starts = [
        ("lamp", "the lamp is"),
        ("VIN in", "the VIN is in"),
        ("VIN not", "the VIN is not"),
        ("VIN", "the VIN"),
        ("hybrid", "it is a hybrid"),
        ("not hybrid", "it is no hybrid"),
        ("plug-in", "it is a plug-in"),
        ("not plug-in", "it is no plug-in"),
        ("listed in", "it is listed in"),
        ("not listed in", "it is not listed in"),
        ("visit is retest", "the visit is a retest"),
        ("model year is even", "its model year is even"),
        ("model year is odd", "its model year is odd"),
        ("age", "its age is"),
    ];
    // A fact whose name begins so is told as a fact.
    let fact = FACTS.iter().filter_map(|row| Some((row.name, rest_of(row.name)?))).max_by_key(|(name, _)| name.len());
    let is_bare = |rest: &str| rest.is_empty();
    if let Some((start, said)) = starts.iter().find(|(start, _)| rest_of(start).is_some())
        && fact.is_none_or(|(_, rest)| is_bare(rest) || *start != "lamp")
    {
        return format!("{said}{}", rest_of(start).unwrap_or(""));
    }
    for (quantifier, said) in [("any", "there is a"), ("no", "there is no")] {
        let codes = rest_of(quantifier).filter(|rest| {
            [" stored code", " pending code", " permanent code", " earlier failure code"]
                .iter()
                .any(|it| rest.starts_with(it))
        });
        if let Some(codes) = codes {
            let article = if quantifier == "any" && codes.starts_with(" earlier") { "there is an" } else { said };
            return format!("{article}{codes}");
        }
    }
    if let Some(codes) = rest_of("only")
        && let Some((list, group)) = codes.split_once(" among ")
    {
        return format!("all{list} are among {group}");
    }
    let first = test.split(' ').next().unwrap_or("");
    if Monitor::named(first).is_some() {
        return format!("the {first} monitor{}", test.get(first.len()..).unwrap_or(""));
    }
    let is_name = |text: &str| !text.contains(' ') && !text.contains('"');
    match fact {
        // `model year 1996 or later`, but `fuel is gasoline`.
        Some((name, rest)) if rest.starts_with(" is ") || is_bare(rest) => format!("the {name}{rest}"),
        Some((name, rest)) => {
            let verb = if name.starts_with("warm-ups") || name.ends_with("visits") { "are" } else { "is" };
            format!("the {name} {verb}{rest}")
        }
        // A named condition.
        None if is_name(test) => format!("{test} holds"),
        None => match test.strip_prefix("not ").filter(|name| is_name(name)) {
            Some(name) => format!("{name} does not hold"),
            None => test.to_owned(),
        },
    }
}

/// A condition on one line: its tests as they are read aloud, a group with what joins it.
fn words(condition: &Condition, source: &Source) -> String {
    let said = |test: &Spanned<Test>| match &test.node {
        // Older files have other words for it.
        Test::Limit { within, id } => {
            let not = if *within { "not " } else { "" };
            let limit = id.as_ref().map(|id| format!(" by limit {}", id.node)).unwrap_or_default();
            format!("{not}too many monitors are incomplete{limit}")
        }
        _ => aloud(&source.slice(test.span).split_whitespace().collect::<Vec<_>>().join(" ")),
    };
    let joined = |tests: &[Spanned<Test>]| tests.iter().map(said).collect::<Vec<_>>().join(" and ");
    let mut parts = Vec::new();
    let tests = joined(&condition.tests);
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
        let bullets = group.bullets.iter().map(|bullet| format!("({})", joined(bullet)));
        parts.push(format!("{join}: {}", bullets.collect::<Vec<_>>().join(", ")));
    }
    parts.join(" and ")
}
