//! `wherefore next`: the least that leads to a pass. Ends with 0 where nothing has to be done (it passes, or no test is
//! asked of it), 1 where something has to be done or nothing helps, or another test decides, 3 where it turns on what is
//! not known, 2 where something could not be used.

use super::judge::single;
use crate::cli::args::{Format, Goal, Vehicle};
use crate::cli::{Exit, print};
use crate::program::Class;
use crate::report::headline::Provisos;
use crate::report::plan::{self, Told};
use crate::ruling::{HeadlineKind, prospect};

pub(crate) fn run(args: &Vehicle) -> Exit {
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
    let goal = match args.class {
        Goal::Pass => Class::Pass,
        Goal::Conditional => Class::Conditional,
        Goal::OtherTest => Class::OtherTest,
    };
    let one = |message: String| vec![message];
    let found = prospect(&single.flat, &single.program, &single.document.snapshot, &single.ruling, goal)
        .map_err(|error| one(error.to_string()))?
        .ok_or_else(|| one("the program's diagrams are too large to look for a plan".to_owned()))?;
    let provisos = if args.full { Provisos::All } else { Provisos::Weightiest };
    let told = Told { ruling: &single.ruling, prospect: &found, provisos };
    match args.format {
        Format::Text => print::data(&plan::text(&told)),
        Format::Json => print::data(&format!("{}\n", plan::json(&told))),
    }
    Ok(match found.kind {
        HeadlineKind::Passes | HeadlineKind::PassesProvided | HeadlineKind::NotAsked | HeadlineKind::NoLaw => {
            Exit::Good
        }
        HeadlineKind::OtherTest => Exit::Good,
        HeadlineKind::After | HeadlineKind::OtherTestAfter | HeadlineKind::NoPass | HeadlineKind::FailsUnless => {
            Exit::Negative
        }
        HeadlineKind::ByCase | HeadlineKind::CannotSay => Exit::Undecided,
    })
}
