//! One file a command. Each takes its arguments as typed and returns how it ended; printing and files go through
//! `print` and `files`.

pub(super) mod ask;
#[cfg(feature = "audit")]
pub(super) mod audit;
pub(super) mod cases;
pub(super) mod check;
pub(super) mod compare;
pub(super) mod decode;
pub(super) mod facts;
pub(super) mod fmt;
pub(super) mod judge;
pub(super) mod next;
pub(super) mod programs;
pub(super) mod replay;

use crate::document::parse_date;
use crate::model::Date;

/// The day that an option gives.
///
/// # Errors
/// With a sentence that names the option.
fn date(name: &str, text: &str) -> Result<Date, String> {
    parse_date(text).ok_or_else(|| format!("{name}: \"{text}\" is no date; write year, month and day: 2026-11-25"))
}
