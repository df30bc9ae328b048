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

/// Sets the date of the visit from the log where nobody said it, and says so.
pub(super) fn date(input: &[u8], options: &Options, facts: &mut Facts, flags: &mut Flags) {
    if options.date.is_some() {
        return;
    }
    let Some((line, date)) = first_stamp(input) else { return };
    facts.set("visit.date", date.as_str(), &[Origin::Log { line }]);
    flags.at("date-from-log", format!("the date of the visit is taken from the clock of the log: {date} (UTC)"), line);
}

fn first_stamp(input: &[u8]) -> Option<(usize, String)> {
    let mut lines = input.split(|byte| *byte == b'\n').enumerate().take(1000);
    lines.find_map(|(at, line)| {
        let stamp = line.trim_ascii_start().strip_prefix(b"(")?;
        let stamp = stamp.get(..stamp.iter().position(|byte| *byte == b')')?)?;
        Some((at.saturating_add(1), day(std::str::from_utf8(stamp).ok()?)?))
    })
}

fn day(stamp: &str) -> Option<String> {
    let word = stamp.split([' ', '.']).next()?;
    if let Ok(date) = word.parse::<crate::model::Date>() {
        return Some(date.to_string());
    }
    let seconds: i64 = word.parse().ok()?;
    DATES.contains(&seconds).then(|| date_of(seconds / SECONDS_A_DAY))?.map(|date| date.to_string())
}
