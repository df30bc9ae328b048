//! `wherefore explain`: a name in plain words. The kinds of names and their data are in `report::explain`. Ends with 0, or
//! with 2 where there is no such name.

use crate::catalog::{BuiltIn, Catalog};
use crate::cli::args::{Explain, RulingFormat};
use crate::cli::{Exit, print};
use crate::report::explain::{ANY, Known, explained, grouped, list, text};

pub(crate) fn run(args: &Explain) -> Exit {
    if args.names.is_empty() {
        return match args.format {
            RulingFormat::Html if !print::page_of("Names that can be explained", &list()) => Exit::Unusable,
            RulingFormat::Html => Exit::Good,
            _ => {
                print::data(&list());
                Exit::Good
            }
        };
    }
    let catalog = Catalog::for_rulings(vec![&BuiltIn]);
    let program = catalog.find(ANY).ok().and_then(|entry| entry.program.clone());
    let known = program.as_ref().map_or(Known::default(), |it| Known { advice: &it.advice, sources: &it.sources });
    let (mut exit, mut page) = (Exit::Good, String::new());
    for (place, name) in grouped(&args.names, known).iter().enumerate() {
        match explained(name, known) {
            Ok(all) => {
                for (nth, one) in all.iter().enumerate() {
                    let text = || format!("{}{}", if place + nth == 0 { "" } else { "\n" }, text(one));
                    match args.format {
                        RulingFormat::Json => print::data(&(serde_json::to_string(one).unwrap_or_default() + "\n")),
                        RulingFormat::Text => print::data(&text()),
                        RulingFormat::Html => page.push_str(&text()),
                    }
                }
            }
            Err(fault) => {
                print::error(&fault.to_string());
                exit = Exit::Unusable;
            }
        }
    }
    if !page.is_empty() && !print::page_of(&format!("In plain words: {}", args.names.join(", ")), &page) {
        exit = Exit::Unusable;
    }
    exit
}
