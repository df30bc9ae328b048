//! From what a vehicle said on its connector to a ruling: decode, read, judge.

use wherefore::catalog::{BuiltIn, Catalog};
use wherefore::decode::{Options, decode};
use wherefore::program::{Selection, select};
use wherefore::{document, ruling};

/// One controller's answers, reassembled: monitor status, no stored codes.
const MESSAGES: &[u8] = b"7E8 41 01 00 07 E5 00\n7E8 43 00\n";

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let options = Options {
        model_year: Some(2012),
        fuel: Some("gasoline".to_owned()),
        date: Some("2026-11-25".to_owned()),
        ..Options::default()
    };
    let decoded = decode(MESSAGES, &options)?;
    let snapshot = document::read_all(&serde_json::to_vec(&decoded.document)?)
        .map_err(|faults| faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))?
        .remove(0)
        .snapshot;
    let built_in = BuiltIn;
    let entry = Catalog::new(vec![&built_in]).find("us-model")?;
    let program = entry.program.as_ref().ok_or("the program has errors")?;
    let date = snapshot.test_date().ok_or("no date of the visit")?;
    let flat = select(program, &Selection::on(date))?;
    let ruling = ruling::judge(&flat, program, &snapshot)?;
    let possible: Vec<&str> = ruling.possible.iter().map(|verdict| verdict.name.as_str()).collect();
    let told = format!("{}: {}, of {possible:?}\n", ruling.program, ruling.verdict);
    std::io::Write::write_all(&mut std::io::stdout(), told.as_bytes())?;
    Ok(())
}
