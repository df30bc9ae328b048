//! A ruling from a snapshot document, by a built-in program.

use wherefore::catalog::{BuiltIn, Catalog};
use wherefore::program::{Selection, select};
use wherefore::report::text::{Detail, text};
use wherefore::{document, ruling};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let snapshot = document::read_all(include_bytes!("larkspur/wagon-3.json"))
        .map_err(|faults| faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))?
        .remove(0)
        .snapshot;
    let built_in = BuiltIn;
    let entry = Catalog::new(vec![&built_in]).find("us-il")?;
    let program = entry.program.as_ref().ok_or("the program has errors")?;
    let date = snapshot.test_date().ok_or("no date of the visit")?;
    let flat = select(program, &Selection::on(date))?;
    let ruling = ruling::judge(&flat, program, &snapshot)?;
    let told = text(&ruling, Detail::Short);
    std::io::Write::write_all(&mut std::io::stdout(), told.as_bytes())?;
    Ok(())
}
