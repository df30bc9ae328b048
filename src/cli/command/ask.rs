//! `wherefore ask`: the questions that settle a ruling, in the best order, as a tree to print. Ends with 0 where nothing
//! has to be asked, 3 where something has, 2 where something could not be used.

use super::judge::single;
use crate::cli::args::{Format, Vehicle};
use crate::cli::{Exit, print};
use crate::diagram::ask::ask;
use crate::program::Given;
use crate::report::plan;

pub(in crate::cli) fn run(args: &Vehicle) -> Exit {
    match asked(args) {
        Ok(exit) => exit,
        Err(messages) => {
            messages.iter().for_each(|message| print::error(message));
            Exit::Unusable
        }
    }
}

fn asked(args: &Vehicle) -> Result<Exit, Vec<String>> {
    let single = single(&args.as_judge())?;
    let given = Given::of(&single.flat, &single.document.snapshot).map_err(|error| vec![error.to_string()])?;
    let tree = ask(&single.flat, &given).map_err(|error| vec![error.to_string()])?;
    match args.format {
        Format::Text => print::data(&plan::tree_text(&single.flat, &tree)),
        Format::Json => print::data(&format!("{}\n", plan::tree_json(&single.flat, &tree))),
    }
    Ok(if tree.depth() == 0 { Exit::Good } else { Exit::Undecided })
}
