//! The summary of an audit as one page to print. What it shows is `audit`'s.

use super::audit::{
    ADVICE, REASONS, ROUNDED, SHOWN, by, by_time, example, filled, grouped, kind_word, occurring, records, share,
    standings, told, turns, with_values,
};
use super::charts;
use crate::audit::federal::{CELLS, Filled, totals};
use crate::audit::{ByClass, Summary};
use minijinja::{Environment, context};
use serde_json::{Value, json};

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
    let (time, times) = by_time(summary);
    let months: Vec<(String, &ByClass)> = times.iter().map(|(it, counts)| (it.clone(), counts)).collect();
    let standings: Vec<Value> = standings(summary)
        .iter()
        .map(|(name, count)| json!({"name": name, "count": grouped(*count), "share": share(*count, summary.recorded)}))
        .collect();
    let cells = totals(&summary.cells);
    let page = json!({
        "files": summary.files,
        "programs": summary.programs.iter()
            .map(|(id, title, count)| format!("{id}, {title}: {}", records(*count))).collect::<Vec<_>>(),
        "read": grouped(summary.read), "judged": grouped(summary.judged), "set_aside": grouped(summary.set_aside),
        "reasons": summary.reasons.iter().take(SHOWN)
            .map(|(it, remarks)| json!({"what": with_values(it, remarks), "count": grouped(remarks.count)})).collect::<Vec<_>>(),
        "told": told(summary),
        "recorded": summary.recorded > 0,
        "overall": summary.overall.iter().map(|((check, whole), count)| json!({
            "check": check, "whole": whole, "count": grouped(*count),
        })).collect::<Vec<_>>(),
        "standings": standings,
        "differences": summary.differences.iter().map(|it| json!({
            "kind": it.kind, "count": grouped(it.count), "by": by(it),
            "reasons": it.reasons.iter().take(REASONS).map(|(reason, _)| reason).collect::<Vec<_>>(),
            "examples": it.examples.iter().map(|it| example(it, summary)).collect::<Vec<_>>().join(", "),
        })).collect::<Vec<_>>(),
        "difference_chart": charts::bars("Records that differ, by kind",
            &summary.differences.iter().take(SHOWN).map(|it| (it.kind.clone(), it.count)).collect::<Vec<_>>(), 860),
        "columns": columns.iter().map(|(_, word)| *word).collect::<Vec<_>>(),
        "all": numbers(&summary.classes),
        "years": rows(years.clone()), "fuels": rows(fuels.clone()), "months": rows(months.clone()),
        "year_chart": charts::stacks("Outcomes by model year", &years, &columns, 860),
        "fuel_chart": charts::stacks("Outcomes by fuel", &fuels, &columns, 860),
        "time": time,
        "month_chart": charts::stacks(&format!("Outcomes by {time}"), &months, &columns, 860),
        "rounded": ROUNDED, "no_law": summary.no_law > 0,
        "listed": summary.listed.iter().map(|(kind, it)| json!({
            "record": example(it, summary), "kind": kind, "by": it.deciding.join(", "), "reasons": it.reasons,
        })).collect::<Vec<_>>(),
        "more": summary.differing.checked_sub(u64::try_from(summary.listed.len()).unwrap_or(0)).filter(|more| *more > 0).map(grouped),
        "filled": filled().map(|(_, paragraph)| paragraph).collect::<Vec<_>>(),
        "places": summary.cells.iter().map(|(place, counts)| json!({
            "year": place.year.map_or("not known".to_owned(), |year| year.to_string()), "kind": kind_word(place.kind),
            "counts": filled().map(|(at, _)| counts.get(at).copied().flatten().map_or_else(String::new, |count| {
                match count.recorded {
                    Some(recorded) => format!("{} / {}", grouped(count.ruled), grouped(recorded)),
                    None => grouped(count.ruled),
                }
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
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
