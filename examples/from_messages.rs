//! From what a vehicle said on its connector to a ruling.

use std::io::Write;
use wherefore::{Date, Fuel, Programs, Seen, Snapshot};

/// One controller's answers, reassembled: monitor status, no stored codes.
const MESSAGES: &[u8] = b"7E8 41 01 00 07 E5 00\n7E8 43 00\n";

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let seen = Seen::new().model_year(2012).fuel(Fuel::Gasoline).visit_date(Date::constant(2026, 11, 25));
    let snapshot = Snapshot::from_messages(MESSAGES, &seen)?;
    let ruling = Programs::built_in().get("us-model")?.judge(&snapshot)?;
    let possible: Vec<&str> = ruling.possible().map(|verdict| verdict.name()).collect();
    writeln!(std::io::stdout(), "{}: {}, of {possible:?}", ruling.program(), ruling.verdict().name())?;
    Ok(())
}
