//! `wherefore explain`: a name in plain words. The kinds of names and their data are in `report::explain`. Ends with 0, or
//! with 2 where there is no such name.

use crate::catalog::{BuiltIn, Catalog};
use crate::cli::args::{Explain, Format};
use crate::cli::{Exit, print};
use crate::report::explain::{ANY, Known, explain, list, text};

pub(crate) fn run(args: &Explain) -> Exit {
    if args.names.is_empty() {
        print::data(&list());
        return Exit::Good;
    }
    let catalog = Catalog::for_rulings(vec![&BuiltIn]);
    let program = catalog.find(ANY).ok().and_then(|entry| entry.program.clone());
    let known = program.as_ref().map_or(Known::default(), |it| Known { advice: &it.advice, sources: &it.sources });
    let mut exit = Exit::Good;
    for (place, name) in args.names.iter().enumerate() {
        match explain(name, known) {
            Ok(explained) if args.format == Format::Json => {
                print::data(&(serde_json::to_string(&explained).unwrap_or_default() + "\n"));
            }
            Ok(explained) => print::data(&format!("{}{}", if place == 0 { "" } else { "\n" }, text(&explained))),
            Err(fault) => {
                print::error(&fault.to_string());
                exit = Exit::Unusable;
            }
        }
    }
    exit
}
