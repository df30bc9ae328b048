//! The summary of an audit as text of eighty columns, as JSON, and as one page to print. States are told in words.

use super::charts;
use super::wrap::{joined, wrapped};
use crate::audit::federal::{CELLS, Count, Filled, totals};
use crate::audit::{ByClass, Difference, Example, Summary};
use crate::model::Fact;
use crate::program::Class;
use minijinja::{Environment, context};
use serde_json::{Value, json};
use std::fmt::Write;

/// The format that a summary in JSON names.
pub const FORMAT: &str = "wherefore-audit/1";

/// The most rows of a list that the text shows.
const SHOWN: usize = 12;

/// What every summary says of itself.
const ADVICE: &str = "A ruling is advice. The official inspection decides; a difference is a question to ask, not a finding \
                      against anybody.";

/// A whole number with blanks between groups of three digits.
#[must_use]
pub fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            out.push(' ');
        }
        out.push(digit);
    }
    out
}

fn records(number: u64) -> String {
    if number == 1 { "1 record".to_owned() } else { format!("{} records", grouped(number)) }
}

/// A share in percent with one decimal, rounded down; a share of something that is not nothing is never shown as 0.0.
#[must_use]
pub fn share(part: u64, whole: u64) -> String {
    if whole == 0 {
        return "-".to_owned();
    }
    let thousandths = u128::from(part) * 1000 / u128::from(whole);
    match (part, thousandths) {
        (1.., 0) => "below 0.1 %".to_owned(),
        _ => format!("{}.{} %", thousandths / 10, thousandths % 10),
    }
}

/// The summary as text.
#[must_use]
pub fn text(summary: &Summary) -> String {
    let mut out = String::new();
    let files = match summary.files.as_slice() {
        [only] => only.clone(),
        several => format!("{} files", several.len()),
    };
    out.push_str(&wrapped("", None, &format!("Audit of {files}: {} read", records(summary.read))));
    for (id, title, count) in &summary.programs {
        out.push_str(&wrapped("  ", Some(4), &format!("{id}, {title}: {}", records(*count))));
    }
    let _ = writeln!(
        out,
        "\n  judged     {:>12}\n  set aside  {:>12}",
        grouped(summary.judged),
        grouped(summary.set_aside)
    );
    for (reason, count) in summary.reasons.iter().take(SHOWN) {
        out.push_str(&wrapped(&format!("    {:>10}  ", grouped(*count)), None, reason));
    }
    compared(&mut out, summary);
    classes(&mut out, summary);
    if !summary.deciding.is_empty() {
        out.push_str("\nClauses that decide most\n");
        let many = summary.programs.len() > 1;
        for (program, clause, count) in summary.deciding.iter().take(SHOWN) {
            let name = if many { format!("{program}: {clause}") } else { clause.clone() };
            let _ = writeln!(out, "  {:>12}  {name}", grouped(*count));
        }
    }
    out.push_str("\nWhat the rulings turn on\n");
    for line in turns(summary) {
        out.push_str(&wrapped("  - ", None, &line));
    }
    against(&mut out, summary);
    federal(&mut out, summary);
    out.push('\n');
    out.push_str(&wrapped("", None, ADVICE));
    out
}

fn turns(summary: &Summary) -> Vec<String> {
    let mut lines = Vec::new();
    lines.push(match summary.on_questions {
        Some(count) => format!("{}: the outcome depends on how an open question is read", records(count)),
        None => "open questions: none in these programs, or not counted (--skip-questions)".to_owned(),
    });
    lines.push(format!(
        "{}: decided by a line that rests on secondary sources, practice or memory alone",
        records(summary.leaning)
    ));
    let strangers: u64 = summary.strangers.iter().map(|(_, count)| count).sum();
    if strangers > 0 {
        let named = summary.strangers.iter().take(4).map(|(name, count)| format!("\"{name}\" ({})", grouped(*count)));
        let more = summary.strangers.len().saturating_sub(4);
        let more = (more > 0).then(|| format!("{more} more"));
        let named: Vec<String> = named.chain(more).collect();
        lines.push(format!(
            "{}: the area is not among the names that the program knows, and so not known: {}",
            records(strangers),
            joined(&named, "and")
        ));
    }
    lines
}

fn compared(out: &mut String, summary: &Summary) {
    out.push_str("\nAgainst the recorded results\n");
    if summary.recorded == 0 {
        out.push_str("  no results were recorded\n");
        return;
    }
    let rows = [("the same", summary.same), ("possible", summary.possible), ("differ", summary.differing)];
    for (name, count) in rows {
        let _ = writeln!(out, "  {name:<10} {:>12}  {}", grouped(count), share(count, summary.recorded));
    }
    if summary.possible > 0 {
        let what = "(possible: facts are missing, more than one outcome is left, and the recorded one is among them)";
        out.push_str(&wrapped("  ", None, what));
    }
    for difference in &summary.differences {
        let _ = writeln!(out, "\n  {:>12}  {}", grouped(difference.count), difference.kind);
        if !difference.deciding.is_empty() {
            out.push_str(&wrapped("                by ", Some(19), &by(difference)));
        }
        let named: Vec<String> = difference.examples.iter().map(|it| example(it, summary)).collect();
        if !named.is_empty() {
            out.push_str(&wrapped("                first: ", Some(23), &named.join(", ")));
        }
    }
}

fn by(difference: &Difference) -> String {
    let some: Vec<String> =
        difference.deciding.iter().take(4).map(|(clause, count)| format!("{clause} ({})", grouped(*count))).collect();
    some.join(", ")
}

fn example(example: &Example, summary: &Summary) -> String {
    let file = if summary.files.len() > 1 { format!("{}, ", example.file) } else { String::new() };
    match &example.record {
        Some(record) => format!("{record} ({file}row {})", example.row),
        None => format!("{file}row {}", example.row),
    }
}

/// The classes that occur, as columns.
fn occurring(summary: &Summary) -> Vec<(usize, &'static str)> {
    let all = Class::ALL.iter().enumerate();
    all.filter(|(at, _)| summary.classes.get(*at).is_some_and(|count| *count > 0))
        .map(|(at, (_, word))| (at, *word))
        .collect()
}

fn row(out: &mut String, name: &str, counts: &ByClass, columns: &[(usize, &'static str)]) {
    let _ = write!(out, "  {name:<12}");
    for (at, word) in columns {
        let width = word.len().max(8);
        let count = counts.get(*at).copied().unwrap_or(0);
        let _ = write!(out, " {:>width$}", if count == 0 { "-".to_owned() } else { grouped(count) });
    }
    out.push('\n');
}

fn classes(out: &mut String, summary: &Summary) {
    let columns = occurring(summary);
    if columns.is_empty() {
        return;
    }
    let head = |out: &mut String, title: &str| {
        let _ = write!(out, "\n{title:<14}");
        for (_, word) in &columns {
            let width = word.len().max(8);
            let _ = write!(out, " {word:>width$}");
        }
        out.push('\n');
    };
    head(out, "Outcomes");
    row(out, "all", &summary.classes, &columns);
    head(out, "By model year");
    for (year, counts) in &summary.by_year {
        row(out, &year.map_or("not known".to_owned(), |year| year.to_string()), counts, &columns);
    }
    head(out, "By fuel");
    summary.by_fuel.iter().for_each(|(fuel, counts)| row(out, fuel, counts, &columns));
    head(out, "By month");
    summary.by_month.iter().for_each(|(month, counts)| row(out, month, counts, &columns));
}

fn against(out: &mut String, summary: &Summary) {
    let Some(other) = &summary.against else { return };
    let _ = writeln!(out, "\nWhat {other} would change");
    if summary.changes.is_empty() {
        out.push_str("  nothing: every record is ruled alike\n");
    }
    for change in summary.changes.iter().take(SHOWN) {
        let _ = writeln!(out, "  {:>12}  {} -> {}", grouped(change.count), change.from, change.to);
    }
    if let Some(more) = summary.changes.len().checked_sub(SHOWN).filter(|more| *more > 0) {
        let _ = writeln!(out, "  and {more} kinds of change more; --format json lists all");
    }
}

fn federal(out: &mut String, summary: &Summary) {
    out.push_str("\nCells of the federal annual report, 40 CFR 51.366(a)(2), over all model years\n");
    let _ = writeln!(out, "{:<47} {:>10} {:>10} {:>9}", "", "ruled", "recorded", "not known");
    let mut not: Vec<(&str, Vec<&str>)> = Vec::new();
    for (cell, count) in CELLS.iter().zip(totals(&summary.cells)) {
        match (cell.filled, count) {
            (Filled::Not(why), _) => match not.iter_mut().find(|(known, _)| *known == why) {
                Some((_, list)) => list.push(cell.paragraph),
                None => not.push((why, vec![cell.paragraph])),
            },
            (_, Some(count)) => {
                let recorded = count.recorded.map_or("-".to_owned(), grouped);
                let _ = writeln!(
                    out,
                    "  {:<7} {:<37} {:>10} {:>10} {:>9}",
                    cell.paragraph.trim_start_matches("(a)(2)"),
                    cell.what,
                    grouped(count.ruled),
                    recorded,
                    grouped(count.not_known)
                );
            }
            (_, None) => {}
        }
    }
    out.push_str("  Not filled:\n");
    for (why, list) in not {
        let list: Vec<String> = list.iter().map(|it| it.trim_start_matches("(a)(2)").to_owned()).collect();
        out.push_str(&wrapped("  - ", None, &format!("{}: {why}", joined(&list, "and"))));
    }
}

fn by_class(counts: &ByClass) -> Value {
    let all = Class::ALL.iter().zip(counts).filter(|(_, count)| **count > 0);
    Value::Object(all.map(|((_, word), count)| ((*word).to_owned(), json!(count))).collect())
}

fn count_value(count: &Option<Count>) -> Value {
    count.map_or(
        Value::Null,
        |count| json!({"ruled": count.ruled, "recorded": count.recorded, "not_known": count.not_known}),
    )
}

fn kind_word(kind: Option<usize>) -> &'static str {
    kind.and_then(|at| Fact::Class.words().get(at)).copied().unwrap_or("not known")
}

/// The summary as a JSON document.
#[must_use]
pub fn value(summary: &Summary) -> Value {
    let list = |list: &[(String, ByClass)], key: &str| -> Vec<Value> {
        list.iter().map(|(name, counts)| json!({key: name, "classes": by_class(counts)})).collect()
    };
    let cells = totals(&summary.cells);
    json!({
        "format": FORMAT,
        "files": summary.files,
        "programs": summary.programs.iter()
            .map(|(id, title, count)| json!({"program": id, "title": title, "judged": count})).collect::<Vec<_>>(),
        "read": summary.read,
        "judged": summary.judged,
        "set_aside": summary.set_aside,
        "reasons": summary.reasons.iter()
            .map(|(reason, count)| json!({"reason": reason, "remarks": count})).collect::<Vec<_>>(),
        "recorded": {"given": summary.recorded, "same": summary.same, "possible": summary.possible, "differ": summary.differing},
        "differences": summary.differences.iter().map(|it| json!({
            "kind": it.kind, "records": it.count,
            "deciding": it.deciding.iter().map(|(clause, count)| json!({"clause": clause, "records": count})).collect::<Vec<_>>(),
            "examples": it.examples.iter().map(|it| json!({
                "file": it.file, "row": it.row, "record": it.record, "deciding": it.deciding,
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "classes": by_class(&summary.classes),
        "by_model_year": summary.by_year.iter()
            .map(|(year, counts)| json!({"model_year": year, "classes": by_class(counts)})).collect::<Vec<_>>(),
        "by_fuel": list(&summary.by_fuel, "fuel"),
        "by_month": list(&summary.by_month, "month"),
        "deciding": summary.deciding.iter()
            .map(|(program, clause, count)| json!({"program": program, "clause": clause, "records": count})).collect::<Vec<_>>(),
        "on_questions": summary.on_questions,
        "on_weak_lines": summary.leaning,
        "area_not_among_the_names": summary.strangers.iter()
            .map(|(name, count)| json!({"name": name, "records": count})).collect::<Vec<_>>(),
        "against": summary.against,
        "changes": summary.changes.iter()
            .map(|it| json!({"from": it.from, "to": it.to, "records": it.count})).collect::<Vec<_>>(),
        "federal_report": {
            "source": "40 CFR 51.366(a)(2)",
            "cells": CELLS.iter().zip(&cells).map(|(cell, count)| json!({
                "paragraph": cell.paragraph, "what": cell.what,
                "not_filled": match cell.filled { Filled::Not(why) => Some(why), _ => None },
                "total": count_value(count),
            })).collect::<Vec<_>>(),
            "by_model_year_and_class": summary.cells.iter().map(|(place, counts)| json!({
                "model_year": place.year, "class": kind_word(place.kind),
                "counts": CELLS.iter().zip(counts).filter(|(_, count)| count.is_some())
                    .map(|(cell, count)| (cell.paragraph.to_owned(), count_value(count))).collect::<serde_json::Map<_, _>>(),
            })).collect::<Vec<_>>(),
        },
    })
}

/// The summary as JSON text.
#[must_use]
pub fn json(summary: &Summary) -> String {
    format!("{:#}\n", value(summary))
}

/// The summary as a page.
///
/// # Errors
/// Where the template cannot be drawn, which the tests rule out.
pub fn page(summary: &Summary) -> Result<String, minijinja::Error> {
    let mut environment = Environment::new();
    environment.set_trim_blocks(true);
    environment.set_lstrip_blocks(true);
    environment.add_template("style.html", include_str!("templates/style.html"))?;
    environment.add_template("audit.html", include_str!("templates/audit.html"))?;
    let columns = occurring(summary);
    let numbers = |counts: &ByClass| -> Vec<String> {
        columns.iter().map(|(at, _)| counts.get(*at).map_or_else(String::new, |it| grouped(*it))).collect()
    };
    let rows = |list: Vec<(String, &ByClass)>| -> Vec<Value> {
        list.iter().map(|(name, counts)| json!({"name": name, "counts": numbers(counts)})).collect()
    };
    let year = |year: Option<u16>| year.map_or("not known".to_owned(), |year| year.to_string());
    let years: Vec<(String, &ByClass)> = summary.by_year.iter().map(|(it, counts)| (year(*it), counts)).collect();
    let fuels: Vec<(String, &ByClass)> = summary.by_fuel.iter().map(|(it, counts)| (it.clone(), counts)).collect();
    let months: Vec<(String, &ByClass)> = summary.by_month.iter().map(|(it, counts)| (it.clone(), counts)).collect();
    let standings: Vec<Value> = [
        ("The same", summary.same),
        ("Possible", summary.possible),
        ("Differ", summary.differing),
    ]
    .iter()
    .map(|(name, count)| json!({"name": name, "count": grouped(*count), "share": share(*count, summary.recorded)}))
    .collect();
    let cells = totals(&summary.cells);
    let page = json!({
        "files": summary.files,
        "programs": summary.programs.iter()
            .map(|(id, title, count)| format!("{id}, {title}: {}", records(*count))).collect::<Vec<_>>(),
        "read": grouped(summary.read), "judged": grouped(summary.judged), "set_aside": grouped(summary.set_aside),
        "reasons": summary.reasons.iter().take(SHOWN).map(|(it, count)| json!({"what": it, "count": grouped(*count)})).collect::<Vec<_>>(),
        "recorded": summary.recorded > 0,
        "standings": standings,
        "differences": summary.differences.iter().map(|it| json!({
            "kind": it.kind, "count": grouped(it.count), "by": by(it),
            "examples": it.examples.iter().map(|it| example(it, summary)).collect::<Vec<_>>().join(", "),
        })).collect::<Vec<_>>(),
        "difference_chart": charts::bars("Records that differ, by kind",
            &summary.differences.iter().take(SHOWN).map(|it| (it.kind.clone(), it.count)).collect::<Vec<_>>(), 860),
        "columns": columns.iter().map(|(_, word)| *word).collect::<Vec<_>>(),
        "all": numbers(&summary.classes),
        "years": rows(years.clone()), "fuels": rows(fuels.clone()), "months": rows(months.clone()),
        "year_chart": charts::stacks("Outcomes by model year", &years, &columns, 860),
        "fuel_chart": charts::stacks("Outcomes by fuel", &fuels, &columns, 860),
        "month_chart": charts::stacks("Outcomes by month", &months, &columns, 860),
        "deciding_chart": charts::bars("Clauses that decide most",
            &summary.deciding.iter().take(SHOWN).map(|(program, clause, count)| {
                let name = if summary.programs.len() > 1 { format!("{program}: {clause}") } else { clause.clone() };
                (name, *count)
            }).collect::<Vec<_>>(), 860),
        "turns": turns(summary),
        "against": summary.against,
        "changes": summary.changes.iter().map(|it| json!({"from": it.from, "to": it.to, "count": grouped(it.count)})).collect::<Vec<_>>(),
        "cells": CELLS.iter().zip(&cells).map(|(cell, count)| json!({
            "paragraph": cell.paragraph, "what": cell.what,
            "ruled": count.map_or("-".to_owned(), |it| grouped(it.ruled)),
            "recorded": count.and_then(|it| it.recorded).map_or("-".to_owned(), grouped),
            "not_known": count.map_or("-".to_owned(), |it| grouped(it.not_known)),
            "why": match cell.filled { Filled::Not(why) => why, _ => "" },
        })).collect::<Vec<_>>(),
        "advice": ADVICE,
    });
    environment.get_template("audit.html")?.render(context! { a => page })
}
