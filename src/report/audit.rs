//! The summary of an audit as text of eighty columns and as JSON; `audit_page` makes one page of it. States are told in words.

use crate::audit::federal::{CELLS, Count, Filled, totals};
use crate::audit::{ByClass, Difference, Example, Remarks, Summary};
use crate::model::Fact;
use crate::program::Class;
use crate::wording::wrap::{joined, wrapped};
use serde_json::{Value, json};
use std::fmt::Write;

/// The format that a summary in JSON names.
pub const FORMAT: &str = "wherefore-audit/1";

/// The most rows of a list that the text shows.
pub(super) const SHOWN: usize = 12;

/// The most reasons of a kind of difference that are shown.
pub(super) const REASONS: usize = 3;

/// What every summary says of itself.
pub(super) const ADVICE: &str = "A ruling is advice. The official inspection decides; a difference is a question to ask, not a finding \
                      against anybody.";

/// A whole number with commas between groups of three digits.
#[must_use]
pub fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

pub(super) fn records(number: u64) -> String {
    if number == 1 { "1 record".to_owned() } else { format!("{} records", grouped(number)) }
}

/// A share in percent, rounded to one decimal; a part that is there is never shown as 0.0, and less than all never as 100.
#[must_use]
pub fn share(part: u64, whole: u64) -> String {
    if whole == 0 {
        return "-".to_owned();
    }
    let (part, whole) = (u128::from(part), u128::from(whole));
    match (part * 2000 + whole) / (whole * 2) {
        0 if part > 0 => "below 0.1 %".to_owned(),
        1000.. if part < whole => "above 99.9 %".to_owned(),
        thousandths => format!("{}.{} %", thousandths / 10, thousandths % 10),
    }
}

/// What is said of shares.
pub(super) const ROUNDED: &str = "Shares are rounded, so that they may not add up to 100 %.";

/// The most months that are shown one by one.
const MONTHS: usize = 24;

/// Counts by month, or by year where there are too many months, with the title.
pub(super) fn by_time(summary: &Summary) -> (&'static str, Vec<(String, ByClass)>) {
    if summary.by_month.len() <= MONTHS {
        return ("month", summary.by_month.clone());
    }
    let mut years: Vec<(String, ByClass)> = Vec::new();
    for (month, counts) in &summary.by_month {
        let year = month.split_once('-').map_or(month.as_str(), |(year, _)| year);
        if years.last().is_none_or(|(last, _)| last != year) {
            years.push((year.to_owned(), ByClass::default()));
        }
        if let Some((_, sums)) = years.last_mut() {
            sums.iter_mut().zip(counts).for_each(|(sum, count)| *sum += count);
        }
    }
    ("year of the test", years)
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
    for (reason, remarks) in summary.reasons.iter().take(SHOWN) {
        let what = with_values(reason, remarks);
        out.push_str(&wrapped(&format!("    {:>10}  ", grouped(remarks.count)), Some(16), &what));
    }
    for line in told(summary) {
        out.push_str(&wrapped("  ", None, &line));
    }
    compared(&mut out, summary);
    if !summary.overall.is_empty() {
        out.push_str("\nRecorded of the on-board check, and of the whole inspection\n");
    }
    for ((check, whole), count) in summary.overall.iter().take(SHOWN) {
        let _ = writeln!(out, "  {:>12}  {check}, {whole}", grouped(*count));
    }
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

/// A reason with the values that it is mostly about.
pub(super) fn with_values(reason: &str, remarks: &Remarks) -> String {
    let most = remarks.most();
    if most.is_empty() {
        return reason.to_owned();
    }
    let values: Vec<String> = most.iter().map(|(value, count)| format!("{value} {}", grouped(*count))).collect();
    let others = if remarks.values.len() > most.len() { ", …" } else { "" };
    format!("{reason} ({}{others})", values.join(", "))
}

/// What a reader of the counts has to know of the files.
pub(super) fn told(summary: &Summary) -> Vec<String> {
    let mut lines: Vec<String> =
        summary.given_twice.iter().map(|file| format!("{file} was given more than once and is read once")).collect();
    if let Some((file, row)) = &summary.repeated.first {
        let file = if summary.files.len() > 1 { format!("{file}, ") } else { String::new() };
        lines.push(match summary.repeated.count {
            1 => format!("1 record has the id of a record before it ({file}record {row}); it is counted again"),
            count => format!(
                "{} records have the id of a record before them (first: {file}record {row}); they are counted again",
                grouped(count)
            ),
        });
    }
    if summary.repeated.beyond > 0 {
        let beyond = grouped(summary.repeated.beyond);
        lines.push(format!("whether ids are repeated was not looked at in the last {beyond} records"));
    }
    lines
}

pub(super) fn turns(summary: &Summary) -> Vec<String> {
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
    if summary.silent > 0 {
        lines.push(format!(
            "{}: the vehicle did not answer, and the file gives readings all the same: they were left unread",
            records(summary.silent)
        ));
    }
    lines.push(format!(
        "{}: so far as read; a text that exists was not seen, and could make the outcome graver",
        records(summary.so_far_as_read)
    ));
    for (id, count) in summary.announced.iter().filter(|(_, count)| *count > 0) {
        lines.push(format!("{}: the announced change `{id}` could turn the outcome", records(*count)));
    }
    lines
}

/// How the recorded results stand to what the program says; what cannot be compared only where there is some.
pub(super) fn standings(summary: &Summary) -> Vec<(&'static str, u64)> {
    let mut rows = vec![("the same", summary.same), ("possible", summary.possible), ("differ", summary.differing)];
    if summary.no_law > 0 {
        rows.push(("no law", summary.no_law));
    }
    rows
}

fn compared(out: &mut String, summary: &Summary) {
    out.push_str("\nAgainst the recorded results\n");
    if summary.recorded == 0 {
        out.push_str("  no results were recorded\n");
        return;
    }
    for (name, count) in standings(summary) {
        let _ = writeln!(out, "  {name:<10} {:>12}  {}", grouped(count), share(count, summary.recorded));
    }
    if summary.no_law > 0 {
        let what = "(no law: the program's file holds none for the date, so that nothing can be compared)";
        out.push_str(&wrapped("  ", None, what));
    }
    if summary.possible > 0 {
        let what = "(possible: facts are missing, more than one outcome is left, and the recorded one is among them)";
        out.push_str(&wrapped("  ", None, what));
    }
    out.push_str(&wrapped("  ", None, ROUNDED));
    for difference in &summary.differences {
        let _ = writeln!(out, "\n  {:>12}  {}", grouped(difference.count), difference.kind);
        if !difference.deciding.is_empty() {
            out.push_str(&wrapped("                by ", Some(19), &by(difference)));
        }
        for (reason, _) in difference.reasons.iter().take(REASONS) {
            out.push_str(&wrapped("                ", Some(18), reason));
        }
        let named: Vec<String> = difference.examples.iter().map(|it| example(it, summary)).collect();
        if !named.is_empty() {
            out.push_str(&wrapped("                first: ", Some(23), &named.join(", ")));
        }
    }
}

pub(super) fn by(difference: &Difference) -> String {
    let some: Vec<String> =
        difference.deciding.iter().take(4).map(|(clause, count)| format!("{clause} ({})", grouped(*count))).collect();
    some.join(", ")
}

pub(super) fn example(example: &Example, summary: &Summary) -> String {
    let file = if summary.files.len() > 1 { format!("{}, ", example.file) } else { String::new() };
    let line = example.line.map_or_else(String::new, |line| format!(", line {line}"));
    match &example.record {
        Some(record) => format!("{record} ({file}record {}{line})", example.row),
        None => format!("{file}record {}{line}", example.row),
    }
}

/// The classes that occur, as columns.
pub(super) fn occurring(summary: &Summary) -> Vec<(usize, &'static str)> {
    let all = Class::ALL.iter().enumerate();
    all.filter(|(at, _)| summary.classes.get(*at).is_some_and(|count| *count > 0))
        .map(|(at, class)| (at, class.word()))
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
    let (time, rows) = by_time(summary);
    head(out, if time == "month" { "By month" } else { "By test year" });
    rows.iter().for_each(|(time, counts)| row(out, time, counts, &columns));
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
    by_place(out, summary);
    out.push_str("  Not filled:\n");
    for (why, list) in not {
        let list: Vec<String> = list.iter().map(|it| it.trim_start_matches("(a)(2)").to_owned()).collect();
        out.push_str(&wrapped("  - ", None, &format!("{}: {why}", joined(&list, "and"))));
    }
}

/// The cells that are filled, with their places.
pub(super) fn filled() -> impl Iterator<Item = (usize, &'static str)> {
    let all = CELLS.iter().enumerate().filter(|(_, cell)| !matches!(cell.filled, Filled::Not(_)));
    all.map(|(at, cell)| (at, cell.paragraph.trim_start_matches("(a)(2)")))
}

/// The rows that the report asks for: by model year and type of vehicle, as ruled or read.
fn by_place(out: &mut String, summary: &Summary) {
    out.push_str("\n  By model year and type of vehicle, as ruled or read\n");
    let _ = write!(out, "  {:<22}", "");
    for (_, paragraph) in filled() {
        let _ = write!(out, " {:>6}", paragraph.trim_matches(['(', ')']));
    }
    out.push('\n');
    for (place, counts) in &summary.cells {
        let year = place.year.map_or("not known".to_owned(), |year| year.to_string());
        let _ = write!(out, "  {year:<9} {:<12}", kind_word(place.kind));
        for (at, _) in filled() {
            let count = counts.get(at).copied().flatten().map_or(0, |count| count.ruled);
            let _ = write!(out, " {:>6}", if count == 0 { "-".to_owned() } else { count.to_string() });
        }
        out.push('\n');
    }
    out.push('\n');
}

fn by_class(counts: &ByClass) -> Value {
    let all = Class::ALL.iter().zip(counts).filter(|(_, count)| **count > 0);
    Value::Object(all.map(|(class, count)| (class.word().to_owned(), json!(count))).collect())
}

fn count_value(count: &Option<Count>) -> Value {
    count.map_or(
        Value::Null,
        |count| json!({"ruled": count.ruled, "recorded": count.recorded, "not_known": count.not_known}),
    )
}

pub(super) fn kind_word(kind: Option<usize>) -> &'static str {
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
            .map(|(reason, it)| json!({
                "reason": reason, "remarks": it.count,
                "values": it.most().iter().map(|(value, count)| json!({"value": value, "remarks": count})).collect::<Vec<_>>(),
            })).collect::<Vec<_>>(),
        "repeated_ids": summary.repeated.count,
        "ids_not_compared": summary.repeated.beyond,
        "given_twice": summary.given_twice,
        "recorded": {"given": summary.recorded, "same": summary.same, "possible": summary.possible, "no_law": summary.no_law,
            "differ": summary.differing},
        "differences": summary.differences.iter().map(|it| json!({
            "kind": it.kind, "records": it.count,
            "deciding": it.deciding.iter().map(|(clause, count)| json!({"clause": clause, "records": count})).collect::<Vec<_>>(),
            "reasons": it.reasons.iter().map(|(reason, count)| json!({"reason": reason, "records": count})).collect::<Vec<_>>(),
            "examples": it.examples.iter().map(|it| json!({
                "file": it.file, "row": it.row, "line": it.line, "record": it.record, "deciding": it.deciding,
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "overall": summary.overall.iter()
            .map(|((check, whole), count)| json!({"recorded": check, "overall": whole, "records": count})).collect::<Vec<_>>(),
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
        "silent_with_readings": summary.silent,
        "so_far_as_read": summary.so_far_as_read,
        "announced_changes": summary.announced.iter()
            .map(|(id, count)| json!({"change": id, "records": count})).collect::<Vec<_>>(),
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
