//! `wherefore next`: the least that leads to a pass. Ends with 0 where the vehicle passes already, 1 where a plan exists
//! or none can, 3 where facts are missing, 2 where something could not be used.

use super::judge::single;
use crate::cli::args::{Format, Vehicle};
use crate::cli::{Exit, print};
use crate::diagram::next::{Next, next};
use crate::program::{Class, Given};
use crate::report::plan;

pub(in crate::cli) fn run(args: &Vehicle) -> Exit {
    match found(args) {
        Ok(exit) => exit,
        Err(messages) => {
            messages.iter().for_each(|message| print::error(message));
            Exit::Unusable
        }
    }
}

fn found(args: &Vehicle) -> Result<Exit, Vec<String>> {
    let single = single(&args.as_judge())?;
    let given = Given::of(&single.flat, &single.document.snapshot).map_err(|error| vec![error.to_string()])?;
    let minutes = |monitor| plan::minutes(&single.ruling, monitor);
    let found = next(&single.flat, &given, Class::Pass, &minutes).map_err(|error| vec![error.to_string()])?;
    match args.format {
        Format::Text => print::data(&plan::text(&single.program, &single.ruling, &found)),
        Format::Json => print::data(&format!("{}\n", plan::json(&single.program, &single.ruling, &found))),
    }
    Ok(match found {
        Next::Already => Exit::Good,
        Next::FactsMissing => Exit::Undecided,
        Next::Plans(_) | Next::NoPlan | Next::TooMany => Exit::Negative,
    })
}
