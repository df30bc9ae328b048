//! Charts of counts as SVG inside a page: bars, and stacks of outcomes. Ink is black and grey; outcomes are told apart by
//! filling and told in words in the key. Layout only.

use super::audit::grouped;
use super::draw::escaped;
use std::fmt::Write;

/// How the outcomes are filled, in the order of the classes; the key says which is which.
const FILLS: [&str; 7] = ["#e4e4e8", "url(#dots)", "url(#lines)", "url(#cross)", "#2b2b33", "#ffffff", "url(#steep)"];

fn text(out: &mut String, x: i64, y: i64, anchor: &str, words: &str) {
    let _ = write!(out, "<text x=\"{x}\" y=\"{y}\" text-anchor=\"{anchor}\" class=\"tick\">{}</text>", escaped(words));
}

fn open(width: i64, height: i64, title: &str) -> String {
    let pattern = |id: &str, size: u8, turn: u8, body: &str| {
        format!(
            "<pattern id=\"{id}\" width=\"{size}\" height=\"{size}\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate({turn})\"><rect width=\"{size}\" height=\"{size}\" fill=\"#fff\"/>{body}</pattern>"
        )
    };
    let stroke = "stroke=\"#3a3a44\" stroke-width=\"1.2\"";
    format!(
        "<svg viewBox=\"0 0 {width} {height}\" width=\"{width}\" role=\"img\"><title>{}</title><defs>{}{}{}{}</defs>",
        escaped(title),
        pattern("dots", 6, 0, "<circle cx=\"3\" cy=\"3\" r=\"1.3\" fill=\"#3a3a44\"/>"),
        pattern("lines", 5, 45, &format!("<line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"5\" {stroke}/>")),
        pattern("cross", 5, 45, &format!("<path d=\"M0 0V5M0 0H5\" {stroke} fill=\"none\"/>")),
        pattern("steep", 7, 90, &format!("<line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"7\" {stroke}/>")),
    )
}

fn scaled(part: u64, whole: u64, length: i64) -> i64 {
    if whole == 0 {
        return 0;
    }
    let length = u128::try_from(length).unwrap_or(0);
    i64::try_from(u128::from(part) * length / u128::from(whole)).unwrap_or(0)
}

/// Bars that lie, each with its name before it and its count behind it.
#[must_use]
pub fn bars(title: &str, rows: &[(String, u64)], width: i64) -> String {
    let Some(most) = rows.iter().map(|(_, count)| *count).max() else {
        return String::new();
    };
    let longest = rows.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
    let left = (i64::try_from(longest).unwrap_or(0) * 6 + 16).clamp(90, width / 2);
    let room = width - left - 90;
    let height = 22 * i64::try_from(rows.len()).unwrap_or(0) + 6;
    let mut out = open(width, height, title);
    for (place, (name, count)) in rows.iter().enumerate() {
        let y = 4 + 22 * i64::try_from(place).unwrap_or(0);
        let length = scaled(*count, most, room).max(1);
        text(&mut out, left - 8, y + 12, "end", name);
        let _ = write!(out, "<rect x=\"{left}\" y=\"{y}\" width=\"{length}\" height=\"15\" class=\"solid\"/>");
        text(&mut out, left + length + 6, y + 12, "start", &grouped(*count));
    }
    out.push_str("</svg>");
    out
}

/// Standing stacks, each as high as the others, in shares of their records; `columns` are the classes that occur, with
/// their places in the counts.
#[must_use]
pub fn stacks(title: &str, rows: &[(String, &[u64; 8])], columns: &[(usize, &'static str)], width: i64) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let (left, top, tall) = (44, 26, 170);
    let count = i64::try_from(rows.len()).unwrap_or(1);
    let step = ((width - left - 8) / count).clamp(4, 90);
    let bar = (step * 4 / 5).max(3);
    let longest = rows.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
    let label = i64::try_from(longest).unwrap_or(0) * 6;
    // Names that do not fit side by side stand on end.
    let turned = label + 6 > step;
    let below = if turned { label + 12 } else { 20 };
    let mut out = open(width, top + tall + below, title);
    let mut x = left;
    for (at, word) in columns {
        let fill = FILLS.get(*at).copied().unwrap_or("#fff");
        let _ = write!(out, "<rect x=\"{x}\" y=\"4\" width=\"12\" height=\"12\" fill=\"{fill}\" stroke=\"#3a3a44\"/>");
        text(&mut out, x + 17, 14, "start", word);
        x += 17 + i64::try_from(word.len()).unwrap_or(0) * 6 + 22;
    }
    for percent in [0, 25, 50, 75, 100] {
        let y = top + tall - tall * percent / 100;
        let _ =
            write!(out, "<line x1=\"{left}\" y1=\"{y}\" x2=\"{}\" y2=\"{y}\" class=\"thin\"/>", left + step * count);
        text(&mut out, left - 6, y + 4, "end", &format!("{percent} %"));
    }
    for (place, (name, counts)) in rows.iter().enumerate() {
        let x = left + step * i64::try_from(place).unwrap_or(0) + (step - bar) / 2;
        let whole: u64 = counts.iter().sum();
        let mut so_far = 0u64;
        for (at, word) in columns {
            let part = counts.get(*at).copied().unwrap_or(0);
            if part == 0 {
                continue;
            }
            let from = scaled(so_far, whole, tall);
            so_far += part;
            let to = scaled(so_far, whole, tall).max(from + 1);
            let fill = FILLS.get(*at).copied().unwrap_or("#fff");
            let _ = write!(
                out,
                "<rect x=\"{x}\" y=\"{}\" width=\"{bar}\" height=\"{}\" fill=\"{fill}\" stroke=\"#3a3a44\" stroke-width=\".7\">\
                 <title>{}: {word}, {} of {}</title></rect>",
                top + tall - to,
                to - from,
                escaped(name),
                grouped(part),
                grouped(whole)
            );
        }
        let middle = x + bar / 2;
        if turned {
            let (x, y) = (middle + 4, top + tall + 6);
            let _ = write!(
                out,
                "<text x=\"{x}\" y=\"{y}\" text-anchor=\"end\" class=\"tick\" transform=\"rotate(-90 {x} {y})\">{}</text>",
                escaped(name)
            );
        } else {
            text(&mut out, middle, top + tall + 14, "middle", name);
        }
    }
    out.push_str("</svg>");
    out
}
