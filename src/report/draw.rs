//! Charts as SVG inside a page: limits by model year, versions by date, a decision diagram. Ink is black and grey, states
//! are told in words, and a page prints as it looks. Layout only; what is drawn is worked out elsewhere.

use super::overview::{LimitShown, YEARS};
use crate::model::Date;
use crate::program::Window;
use std::fmt::Write;

/// Text made safe to stand inside a page.
#[must_use]
pub fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

fn text(out: &mut String, x: i64, y: i64, anchor: &str, class: &str, words: &str) {
    let _ =
        write!(out, "<text x=\"{x}\" y=\"{y}\" text-anchor=\"{anchor}\" class=\"{class}\">{}</text>", escaped(words));
}

fn open(width: i64, height: i64, title: &str) -> String {
    format!(
        "<svg viewBox=\"0 0 {width} {height}\" width=\"{width}\" role=\"img\"><title>{}</title>\
         <defs><pattern id=\"hatch\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"6\" class=\"thin\"/></pattern></defs>",
        escaped(title)
    )
}

/// From this width on there is room to say what else a row turns on.
const ROOM_FOR_WORDS: i64 = 600;

/// Limits by model year: a line a row, a bar over the model years it holds for, with what it allows written beside it. A
/// bar in outline may turn on other facts too; a hatched one was not read. `width` in pixels, labels included.
#[must_use]
pub fn limits(rows: &[LimitShown], width: i64) -> String {
    let (left, right) = (14, 14);
    let (first, last) = YEARS;
    let span = width - left - right;
    let at = |year: i64| left + (year - first) * span / (last + 1 - first);
    let height = 34 + 30 * i64::try_from(rows.len()).unwrap_or(0);
    let mut out = open(width, height, "Limits on incomplete monitors by model year");
    for year in (first..=last).filter(|year| year % 10 == 0) {
        let x = at(year);
        let _ = write!(out, "<line x1=\"{x}\" y1=\"4\" x2=\"{x}\" y2=\"{}\" class=\"thin\"/>", height - 18);
        text(&mut out, x, height - 5, "middle", "tick", &year.to_string());
    }
    for (place, row) in rows.iter().enumerate() {
        let y = 4 + 30 * i64::try_from(place).unwrap_or(0);
        let name = if row.limit == "standard" { String::new() } else { format!("{}: ", row.limit) };
        let begin = row.years.first().map_or(left, |(from, _, _)| at(*from));
        let words = if row.years.is_empty() {
            format!("{name}{} (outside the years shown)", row.allows)
        } else if row.besides.is_empty() || width < ROOM_FOR_WORDS {
            format!("{name}{}", row.allows)
        } else {
            format!("{name}{} where {}", row.allows, row.besides.join(", "))
        };
        // The words stand over the bar, from its left end, and never run out of the picture.
        let room = i64::try_from(words.chars().count()).unwrap_or(0) * 6;
        text(&mut out, begin.min(width - right - room).max(left), y + 11, "start", "tick", &words);
        for (from, through, is_open) in &row.years {
            let (x, w) = (at(*from), (at(through + 1) - at(*from)).max(2));
            let class = match (row.is_unread, is_open) {
                (true, _) => "unread",
                (false, true) => "outline",
                (false, false) => "solid",
            };
            let _ = write!(out, "<rect x=\"{x}\" y=\"{}\" width=\"{w}\" height=\"8\" class=\"{class}\"/>", y + 15);
        }
    }
    out.push_str("</svg>");
    out
}

/// Versions by date: a line a thing, a bar for each version.
#[must_use]
pub fn timeline(list: &[(String, Vec<Window>)], width: i64) -> String {
    let days = list.iter().flat_map(|(_, windows)| windows.iter().flat_map(|it| it.from.into_iter().chain(it.through)));
    let years: Vec<i64> = days.map(|day: Date| i64::from(day.year())).collect();
    let (Some(first), Some(last)) = (years.iter().min(), years.iter().max()) else {
        return String::new();
    };
    let (first, last) = (first - 1, last + 2);
    let left = 190;
    let span = width - left - 8;
    let at = |day: Option<Date>, other: i64| {
        day.map_or(other, |day| {
            let days = (i64::from(day.year()) - first) * 366 + i64::from(day.day_of_year());
            left + days * span / ((last + 1 - first) * 366)
        })
    };
    let height = 24 + 18 * i64::try_from(list.len()).unwrap_or(0);
    let mut out = open(width, height, "Versions by date");
    let step = if last - first > 30 { 10 } else { 5 };
    for year in (first..=last).filter(|year| year % step == 0) {
        let x = left + (year - first) * span / (last + 1 - first);
        let _ = write!(out, "<line x1=\"{x}\" y1=\"2\" x2=\"{x}\" y2=\"{}\" class=\"thin\"/>", height - 16);
        text(&mut out, x, height - 4, "middle", "tick", &year.to_string());
    }
    for (place, (name, windows)) in list.iter().enumerate() {
        let y = 2 + 18 * i64::try_from(place).unwrap_or(0);
        text(&mut out, left - 8, y + 12, "end", "tick", name);
        for window in windows {
            let (x, end) = (at(window.from, left), at(window.through, width - 8));
            let dates = match (window.from, window.through) {
                (Some(from), Some(through)) => format!("{from} through {through}"),
                (Some(from), None) => format!("from {from}"),
                (None, Some(through)) => format!("through {through}"),
                (None, None) => "always".to_owned(),
            };
            let _ = write!(
                out,
                "<rect x=\"{x}\" y=\"{}\" width=\"{}\" height=\"9\" class=\"outline\"><title>{}</title></rect>",
                y + 4,
                (end - x).max(2),
                escaped(&dates)
            );
        }
    }
    out.push_str("</svg>");
    out
}

/// A diagram to draw: levels from the top, each with its name, and nodes by level with edges to nodes further down.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Picture {
    /// What each level asks, in words.
    pub levels: Vec<String>,
    /// Nodes: their level.
    pub nodes: Vec<usize>,
    /// Outcomes at the bottom.
    pub outcomes: Vec<String>,
    /// Edges: from a node; to a node, or to an outcome (counted after the nodes); what is written on it.
    pub edges: Vec<(usize, usize, String)>,
}

/// A decision diagram, laid out in levels.
#[must_use]
pub fn diagram(picture: &Picture, width: i64) -> String {
    let left = 210;
    let count = |number: usize| i64::try_from(number).unwrap_or(0);
    let rows = count(picture.levels.len());
    let height = 74 * (rows + 1) + 10;
    let mut places: Vec<(i64, i64)> = Vec::new();
    let spread = |at: usize, of: usize| left + (width - left) * (2 * count(at) + 1) / (2 * count(of).max(1));
    for (place, level) in picture.nodes.iter().enumerate() {
        let same: Vec<usize> = (0..picture.nodes.len()).filter(|at| picture.nodes.get(*at) == Some(level)).collect();
        let at = same.iter().position(|at| *at == place).unwrap_or(0);
        places.push((spread(at, same.len()), 24 + 74 * count(*level)));
    }
    for at in 0..picture.outcomes.len() {
        places.push((spread(at, picture.outcomes.len()), 24 + 74 * rows));
    }
    let mut out = open(width, height, "The program as a decision diagram");
    for (from, to, words) in &picture.edges {
        let (Some((x, y)), Some((end_x, end_y))) = (places.get(*from), places.get(*to)) else { continue };
        let _ = write!(out, "<line x1=\"{x}\" y1=\"{}\" x2=\"{end_x}\" y2=\"{}\" class=\"edge\"/>", y + 7, end_y - 11);
        // Words stand a third of the way down, where lines from one node have parted.
        text(&mut out, x + (end_x - x) / 3, y + 9 + (end_y - y) / 3, "middle", "edge-words", words);
    }
    for (place, level) in picture.nodes.iter().enumerate() {
        if let Some((x, y)) = places.get(place) {
            let _ = write!(
                out,
                "<circle cx=\"{x}\" cy=\"{y}\" r=\"6\" class=\"node\"><title>{}</title></circle>",
                escaped(picture.levels.get(*level).map_or("", String::as_str))
            );
        }
    }
    for (place, name) in picture.levels.iter().enumerate() {
        let y = 24 + 74 * count(place);
        for (line, part) in broken(name, 32).iter().enumerate() {
            text(&mut out, 4, y + 4 + 13 * count(line), "start", "tick", part);
        }
    }
    for (at, outcome) in picture.outcomes.iter().enumerate() {
        if let Some((x, y)) = places.get(picture.nodes.len() + at) {
            let w = count(outcome.chars().count()) * 7 + 12;
            let _ =
                write!(out, "<rect x=\"{}\" y=\"{}\" width=\"{w}\" height=\"20\" class=\"node\"/>", x - w / 2, y - 10);
            text(&mut out, *x, y + 4, "middle", "tick", outcome);
        }
    }
    out.push_str("</svg>");
    out
}

/// A text in lines of at most so many characters, at most four of them.
fn broken(words: &str, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = vec![String::new()];
    for word in words.split_whitespace() {
        let Some(line) = lines.last_mut() else { break };
        if line.is_empty() {
            line.push_str(word);
        } else if line.chars().count() + 1 + word.chars().count() <= most {
            line.push(' ');
            line.push_str(word);
        } else {
            lines.push(word.to_owned());
        }
    }
    lines.truncate(4);
    lines
}
