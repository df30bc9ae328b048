//! The date a log was written on, from the time stamp of its first line: seconds since 1970 (`candump -l`, `-L`, `-t a`)
//! or a written date (`-t A`), as obd-data.md section 3.4 lists them. Relative stamps (`-t d`, `-t z`) give no date.

use super::facts::{Facts, Origin};
use super::options::Options;
use super::quality::Flags;
use crate::model::date_of;

/// Seconds of the first day and of the day after the last that count as a date: 2000-01-01 and 2100-01-01. Smaller
/// numbers are relative stamps.
const DATES: std::ops::Range<i64> = 946_684_800..4_102_444_800;
const SECONDS_A_DAY: i64 = 86_400;

/// Sets the date of the visit from the log where no option gives it, with a note.
pub(super) fn date(input: &[u8], options: &Options, facts: &mut Facts, flags: &mut Flags) {
    if options.date.is_some() {
        return;
    }
    let Some((line, date)) = first_stamp(input) else { return };
    facts.set("visit.date", date.as_str(), &[Origin::Log { line }]);
    flags.at("date-from-log", format!("the date of the visit is taken from the clock of the log: {date} (UTC)"), line);
}

/// The same for a packet capture, by the time of its first packet.
pub(super) fn of_packets(seconds: Option<i64>, options: &Options, facts: &mut Facts, flags: &mut Flags) {
    let known = seconds.filter(|seconds| DATES.contains(seconds) && options.date.is_none());
    let Some(date) = known.and_then(|seconds| date_of(seconds / SECONDS_A_DAY)) else { return };
    facts.set("visit.date", date.to_string(), &[Origin::Log { line: 1 }]);
    flags.at("date-from-log", format!("the date of the visit is taken from the clock of the log: {date} (UTC)"), 1);
}

fn first_stamp(input: &[u8]) -> Option<(usize, String)> {
    let mut lines = input.split(|byte| *byte == b'\n').enumerate().take(1000);
    lines.find_map(|(at, line)| {
        let line = line.trim_ascii_start();
        let stamp = match line.strip_prefix(b"(") {
            Some(stamp) => stamp.get(..stamp.iter().position(|byte| *byte == b')')?)?,
            // A date of ISO 8601, or seconds with a fraction, before a blank or the next column.
            None => {
                let end = line.iter().position(|byte| matches!(byte, b' ' | b'T' | b',' | b';' | b'\t'))?;
                line.get(..end).filter(|stamp| stamp.contains(&b'-') || stamp.contains(&b'.'))?
            }
        };
        Some((at.saturating_add(1), day(std::str::from_utf8(stamp).ok()?)?))
    })
}

fn day(stamp: &str) -> Option<String> {
    let word = stamp.split([' ', '.']).next()?;
    // Written with its hyphens: eight digits alone are seconds. Out of the same years as those, it is no date either.
    if word.len() == 10
        && let Ok(date) = word.parse::<crate::model::Date>()
    {
        return (2000..2100).contains(&date.year()).then(|| date.to_string());
    }
    let seconds: i64 = word.parse().ok()?;
    DATES.contains(&seconds).then(|| date_of(seconds / SECONDS_A_DAY))?.map(|date| date.to_string())
}
