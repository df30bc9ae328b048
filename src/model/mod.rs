//! The vocabulary: facts, their types, units, ranges and where they come from; monitors; trouble codes; what a vehicle
//! that can exist looks like. Pure data: no parsing of program text, no input or output, no opinion about any law.

pub mod alias;
pub mod code;
pub mod county;
pub mod exclusion;
pub mod fact;
pub mod facts;
pub mod monitor;
pub mod ordinary;
pub mod snapshot;
pub mod table;
pub mod unit;

pub use code::{CodeGroup, CodeList, CodeRange, TroubleCode};
pub use exclusion::{Constraint, Exclusion, exclusions};
pub use fact::{Fact, FactType};
pub use facts::{Facts, Span as NumberSpan};
pub use monitor::{Monitor, MonitorSet, MonitorState};
pub use snapshot::{DeclaredValue, Reading, Snapshot, Value};
pub use table::{FactSpec, Observer, spec};
pub use unit::Unit;

/// A calendar date; the one date type of the crate.
pub use jiff::civil::Date;

/// Days since 1970-01-01: dates compare and cut as whole numbers.
#[must_use]
pub fn day_number(date: Date) -> i64 {
    let epoch = Date::constant(1970, 1, 1);
    i64::from(date.since(epoch).map(|span| span.get_days()).unwrap_or(0))
}

/// The date a day number stands for; `None` outside the years 1 to 9999.
#[must_use]
pub fn date_of(day: i64) -> Option<Date> {
    let epoch = Date::constant(1970, 1, 1);
    let span = jiff::Span::new().try_days(day).ok()?;
    epoch.checked_add(span).ok()
}

#[cfg(test)]
mod tests;
