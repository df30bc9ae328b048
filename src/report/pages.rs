//! Pages about programs: all of them side by side, and one in full. Self-contained, printable, no scripts; the same
//! would be said without the charts. What they hold is worked out elsewhere.

use super::overview::{Change, LimitShown, Row, YEARS, limits, shown_flat, versions};
use super::sentences::{Said, sentences};
use super::warning::Shares;
use super::{changed, draw, picture};
use crate::diagnostic::Diagnostic;
use crate::program::block::Allowance;
use crate::program::flat::FlatLimitRow;
use crate::program::select::live;
use crate::program::{Block, Flat, Item, Kind, Program, Seen, Selection};
use crate::ruling::{Basis, laws};
use crate::source::Source;
use crate::wording::words;
use minijinja::{Environment, context};
use serde_json::{Value, json};

/// One program for [`program`]: with the messages about its file and what its worked cases rest on.
#[derive(Debug, Clone, Copy)]
pub struct Page<'p> {
    /// The program.
    pub program: &'p Program,
    /// Its file.
    pub source: &'p Source,
    /// Messages about it.
    pub messages: &'p [Diagnostic],
    /// What its cases rest on.
    pub shares: &'p Shares,
    /// Files of programs that it adopts, by id: their clauses are told in sentences too.
    pub adopted: &'p [(String, Source)],
}

/// The templates of all pages.
pub(super) fn environment() -> Result<Environment<'static>, minijinja::Error> {
    let mut environment = Environment::new();
    environment.set_trim_blocks(true);
    environment.set_lstrip_blocks(true);
    environment.add_template("head.html", include_str!("templates/head.html"))?;
    environment.add_template("ruling.html", include_str!("templates/ruling.html"))?;
    environment.add_template("style.html", include_str!("templates/style.html"))?;
    environment.add_template("programs.html", include_str!("templates/programs.html"))?;
    environment.add_template("program.html", include_str!("templates/program.html"))?;
    environment.add_template("exercise.html", include_str!("templates/exercise.html"))?;
    environment.add_template("beside.html", include_str!("templates/beside.html"))?;
    environment.add_template("program.md", include_str!("templates/program.md"))?;
    // In a table of Markdown a cell is one line, and a bar ends it.
    environment.add_filter("cell", |text: &str| text.replace('|', "\\|").replace('\n', " "));
    environment.add_template("plain.html", include_str!("templates/plain.html"))?;
    Ok(environment)
}

/// All programs side by side.
///
/// # Errors
/// Where the template cannot be drawn, which the tests rule out.
pub fn programs<'p>(list: impl IntoIterator<Item = (&'p Program, Row)>) -> Result<String, minijinja::Error> {
    let rows: Vec<Value> = list
        .into_iter()
        .map(|(program, row)| {
            let flat = shown_flat(program);
            let shown = flat.as_ref().map(limits).unwrap_or_default();
            let chart = if shown.is_empty() { String::new() } else { draw::limits(&shown, 300) };
            let mut value = row_value(&row);
            if let Some(object) = value.as_object_mut() {
                object.insert("chart".to_owned(), json!(chart));
                object.insert("day".to_owned(), json!(day(flat.as_ref())));
            }
            value
        })
        .collect();
    environment()?.get_template("programs.html")?.render(context! { rows })
}

fn day(flat: Option<&Flat>) -> String {
    flat.map_or("never in force".to_owned(), |flat| format!("law of {}", flat.as_of))
}

fn row_value(row: &Row) -> Value {
    let mut value = serde_json::to_value(row).unwrap_or_default();
    if let Some(object) = value.as_object_mut() {
        object.insert("dates".to_owned(), json!(row.dates()));
        object.insert("change_words".to_owned(), json!(row.changes.iter().map(Change::words).collect::<Vec<_>>()));
    }
    value
}

/// Programs in full, one after the other.
///
/// # Errors
/// Where the template cannot be drawn, which the tests rule out.
pub fn program(pages: &[Page<'_>]) -> Result<String, minijinja::Error> {
    let programs: Vec<Value> = pages.iter().map(|page| value(*page)).collect();
    environment()?.get_template("program.html")?.render(context! { programs })
}

/// Programs in full as Markdown: the same document as the page, with tables for charts.
///
/// # Errors
/// Where the template cannot be drawn, which the tests rule out.
pub fn markdown(pages: &[Page<'_>]) -> Result<String, minijinja::Error> {
    let programs: Vec<Value> = pages.iter().map(|page| value(*page)).collect();
    environment()?.get_template("program.md")?.render(context! { programs })
}

/// Two versions side by side as a page.
///
/// # Errors
/// Where the template cannot be drawn, which the tests rule out.
pub fn beside(beside: &super::beside::Beside) -> Result<String, minijinja::Error> {
    environment()?.get_template("beside.html")?.render(context! { b => beside })
}

/// The rows of the limits as a table: what is allowed, for which model years, what else it turns on, and the law.
fn limit_rows(flat: &Flat, shown: &[LimitShown]) -> Vec<Value> {
    let rows = flat.limits.iter().flat_map(|limit| &limit.rows);
    let row = |(row, shown): (&FlatLimitRow, &LimitShown)| {
        let (first, last) = YEARS;
        let years = shown.years.iter().map(|(from, to, open)| {
            let perhaps = if *open { " (perhaps)" } else { "" };
            let run = match (*from <= first, *to >= last) {
                (true, true) => "all".to_owned(),
                (true, false) => format!("through {to}"),
                (false, true) => format!("{from} or later"),
                (false, false) if from == to => from.to_string(),
                (false, false) => format!("{from} through {to}"),
            };
            format!("{run}{perhaps}")
        });
        let words = if shown.is_unread { words::law_not_seen } else { words::law };
        json!({
            "limit": shown.limit,
            "allows": shown.allows,
            "years": years.collect::<Vec<_>>().join(", "),
            "besides": shown.besides.join("; "),
            "law": laws(&flat.sources, &row.basis).iter().map(words).collect::<Vec<_>>(),
        })
    };
    rows.zip(shown).map(row).collect()
}

/// A part of the law that stands on a day: what it is, and what it says, a line each.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Told {
    pub(super) part: String,
    pub(super) lines: Vec<String>,
}

/// Every part that stands on the day of a flat program: what stands besides clauses in the words of its file, clauses in
/// sentences, topics without a clause.
pub(super) fn blocks(program: &Program, source: &Source, flat: &Flat) -> Vec<Told> {
    let text = |value: &Value, key: &str| value.get(key).and_then(Value::as_str).unwrap_or("").to_owned();
    let list = |value: &Value, key: &str| -> Vec<String> {
        let all = value.get(key).and_then(Value::as_array).into_iter().flatten();
        all.filter_map(|it| it.as_str().map(str::to_owned)).collect()
    };
    let mut all = Vec::new();
    for part in parts(program, source, flat) {
        for told in part.get("list").and_then(Value::as_array).into_iter().flatten() {
            let mut lines: Vec<String> = text(told, "text").lines().map(str::to_owned).collect();
            if let Some(origin) = told.get("origin").and_then(Value::as_str) {
                lines.push(format!("as the file of {origin} has it"));
                lines.extend(list(told, "law"));
            }
            all.push(Told { part: text(&part, "kind"), lines });
        }
    }
    for line in clauses(program, source, flat, &[]) {
        let mut lines = list(&line, "says");
        if lines.is_empty() {
            lines.push(format!("Otherwise {}.", text(&line, "outcome")));
        }
        lines.push(format!("Told: \"{}\"", text(&line, "message")));
        let aside = list(&line, "sets_aside");
        if !aside.is_empty() {
            lines.push(format!("Gives way to {}.", aside.join(", ")));
        }
        lines.extend(list(&line, "law"));
        all.push(Told { part: format!("clause {}", text(&line, "clause")), lines });
    }
    for silence in silences(flat) {
        let lines = [vec![text(&silence, "says")], list(&silence, "law")].concat();
        all.push(Told { part: format!("topic {}", text(&silence, "topic")), lines });
    }
    all
}

fn value(page: Page<'_>) -> Value {
    let Page { program, source, messages, shares, adopted } = page;
    let flat = shown_flat(program);
    let shown = flat.as_ref().map(limits).unwrap_or_default();
    let drawn = flat.as_ref().map(picture::picture);
    let (picture, says) = match drawn {
        Some(Ok(shown)) => (shown.picture, shown.says),
        Some(Err(error)) => (None, format!("It is not drawn: {error}.")),
        None => (None, "The program is never in force.".to_owned()),
    };
    let row = Row::of(program, source.name());
    let change = |change: &Change| json!({ "words": change.words(), "drafts": change.drafts, "law": change.law });
    json!({
        "row": row_value(&row),
        "changes": row.changes.iter().map(change).collect::<Vec<_>>(),
        "sources": sources(program),
        "day": flat.as_ref().map_or("no day".to_owned(), |flat| flat.as_of.to_string()),
        "ladder": program.outcomes.iter().map(|outcome| {
            format!("{} ({})", outcome.name, outcome.class.word())
        }).collect::<Vec<_>>(),
        "clauses": flat.as_ref().map(|flat| clauses(program, source, flat, adopted)).unwrap_or_default(),
        "cases": cases(program),
        "parts": flat.as_ref().map(|flat| parts(program, source, flat)).unwrap_or_default(),
        "drafts": drafts(program, source),
        "silences": flat.as_ref().map(silences).unwrap_or_default(),
        "limits": if shown.is_empty() { String::new() } else { draw::limits(&shown, 720) },
        "limit_rows": flat.as_ref().map(|flat| limit_rows(flat, &shown)).unwrap_or_default(),
        "versions": changed::versions(program).into_iter().map(|it| {
            json!({ "from": it.from.to_string(), "says": it.says })
        }).collect::<Vec<_>>(),
        "timeline": draw::timeline(&versions(program), 720),
        "diagram": picture.map(|picture| draw::diagram(&picture, 920)),
        "diagram_says": says,
        "questions": questions(program, flat.as_ref()),
        "warnings": messages.iter().map(|message| warning(message, source)).collect::<Vec<_>>(),
        "acknowledged": program.acknowledged.iter().map(|it| {
            json!({ "code": it.code, "subject": it.subject, "reason": it.reason })
        }).collect::<Vec<_>>(),
        "shares": shares,
    })
}

fn law_words(flat: &Flat, citations: &[crate::program::Citation]) -> Vec<String> {
    laws(&flat.sources, citations).iter().map(words::law).collect()
}

/// The worked cases: title, day, what is expected, and what it follows from.
fn cases(program: &Program) -> Vec<Value> {
    let case = |case: &crate::program::block::Case| {
        let by = case.by.as_ref().map(|by| format!(" by {by}")).unwrap_or_default();
        json!({
            "title": case.title,
            "on": case.facts.test_date().map(|day| day.to_string()),
            "expected": format!("{}{by}", case.expected.join(" or ")),
            "law": laws(&program.sources, &case.basis).iter().map(words::law).collect::<Vec<_>>(),
        })
    };
    program.cases.iter().map(case).collect()
}

fn clauses(program: &Program, source: &Source, flat: &Flat, adopted: &[(String, Source)]) -> Vec<Value> {
    let own = std::iter::once((&program.id, source)).chain(adopted.iter().map(|(id, source)| (id, source)));
    let said: Vec<(&String, Vec<Said>)> =
        own.map(|(id, source)| (id, sentences(&crate::syntax::parse(source).file, source))).collect();
    // A line stands within the item of its clause, of which there may be several versions.
    let of_line = |line: &crate::program::flat::Line| {
        let holds = |one: &&Said| {
            one.clause == line.clause
                && one.span.start <= line.origin.span.start
                && line.origin.span.end <= one.span.end
        };
        let here = said.iter().find(|(id, _)| **id == line.origin.program).map(|(_, said)| said);
        let found = here.into_iter().flatten().find(holds);
        found.map(|one| one.of_line(line.origin.span)).unwrap_or_default()
    };
    let line = |line: &crate::program::flat::Line| {
        let mut aside: Vec<&str> = line
            .gives_way
            .iter()
            .filter_map(|(other, _)| flat.lines.get(*other))
            .map(|other| other.clause.as_str())
            .collect();
        aside.dedup();
        json!({
            "clause": line.clause,
            "topic": line.topic.word(),
            "outcome": flat.outcomes.get(line.outcome).map_or("", |outcome| outcome.name.as_str()),
            "message": line.message,
            "says": of_line(line),
            "sets_aside": aside,
            "law": law_words(flat, &line.basis),
            "origin": (line.origin.program != program.id).then_some(&line.origin.program),
        })
    };
    flat.lines.iter().map(line).collect()
}

fn silences(flat: &Flat) -> Vec<Value> {
    let silence = |silence: &crate::program::flat::Silence| {
        let says = match silence.unread {
            true => "no rule applied: the text exists, and nobody here has seen it",
            false => silent_says(flat, &silence.basis),
        };
        let cited = laws(&flat.sources, &silence.basis);
        let words = if silence.unread { words::law_not_seen } else { words::law };
        json!({ "topic": silence.topic.word(), "says": says, "law": cited.iter().map(words).collect::<Vec<_>>() })
    };
    flat.silences.iter().map(silence).collect()
}

/// What *silent* comes to, by how the text was seen.
fn silent_says(flat: &Flat, citations: &[crate::program::Citation]) -> &'static str {
    let seen = match Basis::of(&laws(&flat.sources, citations)) {
        Basis::Text { kind: Kind::Practice | Kind::Memory, .. } | Basis::Uncited => None,
        Basis::Text { seen, .. } => Some(seen),
    };
    match seen {
        Some(Seen::Read | Seen::OnACopy) => "silent: the text was read and has none",
        Some(Seen::ByAbsence) => "silent: concluded from text that was read and has none",
        Some(Seen::InPart) => "silent: the text was read in part, and that part has none",
        Some(Seen::Inferred) => "silent: inferred, the text does not spell it out",
        Some(Seen::Secondary) => "silent, as another source tells; the text itself was not seen",
        Some(Seen::FromMemory) | None => "silent, from memory; no text was seen",
    }
}

/// A part of a program besides its clauses, in the words of its file.
fn part(program: &Program, source: &Source, block: &Block) -> Option<(&'static str, Value)> {
    let (kind, rows): (&str, &[crate::program::block::LimitRow<String>]) = match &block.item {
        Item::InForce => ("Dates in force", &[]),
        Item::Covers(_) => ("Vehicles covered", &[]),
        Item::LeavesOut { .. } => ("Vehicles left out", &[]),
        Item::Due { .. } => ("When due", &[]),
        Item::Counts { .. } | Item::Excuses { .. } => ("Monitors that count", &[]),
        Item::Limit { rows, .. } => ("Limits on incomplete monitors", rows.as_slice()),
        Item::Presumes { .. } => ("Presumed where not known", &[]),
        Item::Becomes { .. } => ("Outcomes that become others", &[]),
        Item::Consequence(_) => ("What follows", &[]),
        Item::NotExpressible { .. } => ("Not expressible here", &[]),
        _ => return None,
    };
    Some((kind, told(program, source, block, rows)))
}

/// A block in the words of its file, with its law.
fn told(program: &Program, source: &Source, block: &Block, rows: &[crate::program::block::LimitRow<String>]) -> Value {
    let own = block.origin.program == program.id;
    let text = if own { source.slice(block.origin.span).trim_end() } else { "" };
    let read = rows.iter().filter(|row| row.limit != Allowance::NotRead);
    let citations: Vec<crate::program::Citation> =
        block.basis.iter().chain(read.flat_map(|row| &row.basis)).cloned().collect();
    let mut law: Vec<String> = laws(&program.sources, &citations).iter().map(words::law).collect();
    // Of a row that was not read the source may be, and the number was not.
    let unread: Vec<_> = rows.iter().filter(|row| row.limit == Allowance::NotRead).collect();
    for row in &unread {
        let own = if row.basis.is_empty() { &block.basis } else { &row.basis };
        law.extend(laws(&program.sources, own).iter().map(words::law_not_seen));
    }
    law.dedup();
    json!({ "text": text, "origin": (!own).then_some(&block.origin.program), "law": law })
}

/// The parts besides clauses that stand on the day shown, by kind, in the order of a reader's questions.
fn parts(program: &Program, source: &Source, flat: &Flat) -> Vec<Value> {
    let standing = live(program, &Selection::on(flat.as_of));
    let mut kinds: Vec<(&str, Vec<Value>)> = [
        "Dates in force",
        "Vehicles covered",
        "Vehicles left out",
        "Monitors that count",
        "Limits on incomplete monitors",
        "Presumed where not known",
        "Outcomes that become others",
        "What follows",
        "When due",
        "Not expressible here",
    ]
    .map(|kind| (kind, Vec::new()))
    .to_vec();
    for (kind, value) in standing.into_iter().filter_map(|block| part(program, source, block)) {
        kinds.iter_mut().filter(|(known, _)| *known == kind).for_each(|(_, list)| list.push(value.clone()));
    }
    let full = kinds.into_iter().filter(|(_, list)| !list.is_empty());
    full.map(|(kind, list)| json!({ "kind": kind, "list": list })).collect()
}

/// Drafts: never in force, only compared.
fn drafts(program: &Program, source: &Source) -> Vec<Value> {
    program.blocks.iter().filter(|block| block.draft).map(|block| told(program, source, block, &[])).collect()
}

/// Every source with how and when it was seen, and how current it is.
fn sources(program: &Program) -> Vec<String> {
    let source = |source: &crate::program::Source| {
        let on = source.on.map(|day| format!(" {day}")).unwrap_or_default();
        let currency = source.currency.words().map(|words| format!(", {words}")).unwrap_or_default();
        let of = if source.program == program.id { String::new() } else { format!(", of {}", source.program) };
        let at = source.place.as_ref().map(|at| format!(", {at}")).unwrap_or_default();
        format!("{} [{}, {}{on}{currency}]{of}{at}", source.title, source.kind.word(), source.seen.words())
    };
    program.sources.iter().map(source).collect()
}

/// The questions: what is asked, the readings and what each means, which is taken and why; and what each changes on the day
/// shown.
fn questions(program: &Program, flat: Option<&Flat>) -> Vec<Value> {
    let question = |question: &crate::program::declared::Question| {
        let readings = question.readings.iter().map(|(id, means, _)| match means.as_str() {
            "" => id.clone(),
            means => format!("{id} ({means})"),
        });
        let readings: Vec<String> = readings.collect();
        let taken = question.taken.and_then(|taken| question.readings.get(taken));
        let taken = taken.map_or("left open".to_owned(), |(id, _, _)| format!("taken: {id}"));
        let words =
            format!("{}: {} Readings: {}; {taken}. {}", question.id, question.text, readings.join(", "), question.why);
        let changes = flat.map(|flat| changed::readings(program, question, flat.as_of)).unwrap_or_default();
        json!({ "words": words, "changes": changes })
    };
    program.questions.iter().map(question).collect()
}

fn warning(message: &Diagnostic, source: &Source) -> Value {
    let line = message.labels.first().map_or(1, |label| source.place(label.span.start).0);
    json!({
        "code": message.code,
        "message": message.message,
        "line": line,
        "notes": message.notes,
        "help": message.help,
    })
}
