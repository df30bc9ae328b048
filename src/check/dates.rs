//! Dates: real days of the calendar, and windows of them.

use super::context::Context;
use crate::model::Date;
use crate::program::Window;
use crate::syntax::ast::Word;

impl Context {
    /// The day a word means; reported where the calendar has no such day, or it is outside 1900 to 2199.
    pub(super) fn date(&mut self, word: &Word) -> Option<Date> {
        let date = parse(&word.node);
        match date {
            None => {
                let message = format!("`{}` is no day of the calendar", word.node);
                self.error("check/bad-date", word.span, message, "write year, month and day: `2012-07-01`");
            }
            Some(day) if !(1900..=2199).contains(&day.year()) => {
                let message = format!("`{}` is outside the years 1900 through 2199", word.node);
                self.error("check/bad-date", word.span, message, "look for a slip of the pen in the year");
                return None;
            }
            Some(_) => {}
        }
        date
    }
}

fn parse(text: &str) -> Option<Date> {
    let mut parts = text.splitn(3, '-');
    let (year, month, day) = (parts.next()?, parts.next()?, parts.next()?);
    let plain = |part: &str, length: usize| part.len() == length && part.bytes().all(|byte| byte.is_ascii_digit());
    if !plain(year, 4) || !plain(month, 2) || !plain(day, 2) {
        return None;
    }
    Date::new(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?).ok()
}

/// Whether some day is in both.
pub(super) fn overlap(a: Window, b: Window) -> bool {
    intersection(a, b).is_some()
}

/// The days in both.
pub(super) fn intersection(a: Window, b: Window) -> Option<Window> {
    let from = a.from.max(b.from);
    let through = match (a.through, b.through) {
        (Some(x), Some(y)) => Some(x.min(y)),
        (x, y) => x.or(y),
    };
    let empty = matches!((from, through), (Some(from), Some(through)) if through < from);
    (!empty).then_some(Window { from, through })
}

/// The days of `a` that are not in `b`: none, one or two runs.
pub(super) fn difference(a: Window, b: Window) -> Vec<Window> {
    if !overlap(a, b) {
        return vec![a];
    }
    let before = b.from.and_then(|from| from.yesterday().ok());
    let after = b.through.and_then(|through| through.tomorrow().ok());
    let head = before.and_then(|end| intersection(a, Window { from: None, through: Some(end) }));
    let tail = after.and_then(|start| intersection(a, Window { from: Some(start), through: None }));
    head.into_iter().chain(tail).collect()
}

/// The days of `all` that none of `parts` holds.
pub(super) fn uncovered(all: Window, parts: impl IntoIterator<Item = Window>) -> Vec<Window> {
    parts.into_iter().fold(vec![all], |rest, part| rest.into_iter().flat_map(|one| difference(one, part)).collect())
}

/// A window in words.
pub(super) fn shown(window: Window) -> String {
    match (window.from, window.through) {
        (None, None) => "on every date".to_owned(),
        (Some(from), None) => format!("from {from}"),
        (None, Some(through)) => format!("through {through}"),
        (Some(from), Some(through)) if from == through => format!("on {from}"),
        (Some(from), Some(through)) => format!("from {from} through {through}"),
    }
}
