//! `wherefore next`: the least that leads to a pass. Ends with 0 where the vehicle passes already, 1 where a plan exists
//! or none can, 3 where facts are missing, 2 where something could not be used.

use super::judge::single;
use crate::cli::args::{Format, Goal, Vehicle};
use crate::cli::{Exit, print};
use crate::diagram::next::{Next, next};
use crate::program::{Class, Given};
use crate::report::plan::{self, Told};
use crate::ruling::{UnknownShown, advice_for, unknown_shown};

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
    let advice = advice_for(&single.flat, &given, &single.program);
    let minutes = |monitor| plan::minutes(&advice, monitor);
    let goal = match args.class {
        Goal::Pass => Class::Pass,
        Goal::Conditional => Class::Conditional,
        Goal::OtherTest => Class::OtherTest,
    };
    let found = next(&single.flat, &given, goal, &minutes).map_err(|error| vec![error.to_string()])?;
    let first: Vec<UnknownShown> = match &found {
        Next::FactsFirst(facts) => facts.iter().map(|fact| unknown_shown(&single.flat, fact)).collect(),
        _ => single.ruling.unknown.clone(),
    };
    let told = Told { ruling: &single.ruling, advice: &advice, unknown: &first, goal };
    match args.format {
        Format::Text => print::data(&plan::text(&told, &found)),
        Format::Json => print::data(&format!("{}\n", plan::json(&told, &found))),
    }
    Ok(match found {
        Next::Already => Exit::Good,
        Next::FactsMissing | Next::FactsFirst(_) => Exit::Undecided,
        Next::Plans(_) | Next::NoPlan | Next::TooMany => Exit::Negative,
    })
}
