//! A ruling from a snapshot document, by a built-in program.

use std::io::Write;
use wherefore::{Programs, Snapshot};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let snapshot = Snapshot::from_json(include_bytes!("larkspur/wagon-3.json"))?;
    let ruling = Programs::built_in().get("us-il")?.judge(&snapshot)?;
    writeln!(std::io::stdout(), "{ruling}")?;
    Ok(())
}
