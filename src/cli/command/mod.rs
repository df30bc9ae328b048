//! One file a command. Each takes its arguments as typed and returns how it ended; printing and files go through
//! `print` and `files`.

pub(super) mod ask;
#[cfg(feature = "audit")]
pub(super) mod audit;
pub(super) mod cases;
pub(super) mod check;
pub(super) mod compare;
pub(super) mod decode;
pub(super) mod explain;
pub(super) mod facts;
mod find;
pub(super) mod fmt;
pub(super) mod judge;
#[cfg(feature = "lsp")]
pub(super) mod lsp;
pub(super) mod new;
pub(super) mod next;
pub(super) mod page;
pub(super) mod programs;
pub(super) mod replay;
pub(super) mod shell;
mod snapshots;

use crate::document::answer::iso;
use crate::document::parse_date;
use crate::model::Date;

/// The day that an option gives, as documents write it or as people do.
///
/// # Errors
/// With a sentence that names the option.
fn date(name: &str, text: &str) -> Result<Date, String> {
    let read = parse_date(text).or_else(|| {
        let read = parse_date(&iso(text)?)?;
        let numbers: Vec<Option<u8>> = text.split('/').map(|part| part.trim().parse().ok()).collect();
        // Day and month may be taken for each other.
        if let [Some(month), Some(day @ ..=12), _] = numbers.as_slice()
            && month != day
        {
            crate::cli::print::message(&format!("note: {name} {text} is read as {read}, the month first"));
        }
        Some(read)
    });
    read.ok_or_else(|| format!("{name}: \"{text}\" is no date; write year, month and day: 2026-11-25"))
}

/// Most stretches of lines that a note names.
const MOST_STRETCHES: usize = 4;

/// The lines that a note comes from, as it begins with them: `line 3: `, `lines 3 to 5, 9: `. Empty where it comes from
/// no line.
fn at_lines(lines: impl Iterator<Item = usize>) -> String {
    let mut stretches: Vec<(usize, usize)> = Vec::new();
    for line in lines {
        match stretches.last_mut() {
            Some((_, last)) if line <= last.saturating_add(1) => *last = line.max(*last),
            _ => stretches.push((line, line)),
        }
    }
    let shown = stretches.iter().take(MOST_STRETCHES).map(|(first, last)| match last - first {
        0 => first.to_string(),
        1 => format!("{first}, {last}"),
        _ => format!("{first} to {last}"),
    });
    let shown = shown.collect::<Vec<_>>().join(", ");
    match stretches.as_slice() {
        [] => String::new(),
        [(first, last)] if first == last => format!("line {first}: "),
        all if all.len() > MOST_STRETCHES => format!("lines {shown} and more: "),
        _ => format!("lines {shown}: "),
    }
}
