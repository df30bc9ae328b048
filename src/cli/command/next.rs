//! `wherefore next`: the least that leads to a pass. Ends with 0 where nothing has to be done (it passes, or no test is
//! asked of it), 1 where something has to be done or nothing helps, or another test decides, 3 where it turns on what is
//! not known, 2 where something could not be used.

use super::date;
use super::judge::{Single, single_on};
use crate::cli::args::{Goal, RulingFormat, Vehicle};
use crate::cli::progress::Progress;
use crate::cli::{Exit, print};
use crate::program::Class;
use crate::record::plan_form;
use crate::report::brief::{self, Purpose};
use crate::report::{page, schedule};
use crate::ruling::HeadlineKind;
use crate::wording::headline::Provisos;
use crate::wording::plan;

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
    let by = args.by.as_deref().map(|text| date("--by", text)).transpose();
    let by = by.map_err(|fault| vec![fault])?;
    let mut read_on = None;
    let progress = Progress::of("looking for a plan", None);
    let Single { flat, program, mut record, .. } = single_on(&args.as_judge(), by, &mut read_on)?;
    let goal = match args.class {
        Goal::Pass => Class::Pass,
        Goal::Conditional => Class::Conditional,
        Goal::OtherTest => Class::OtherTest,
    };
    let one = |message: String| vec![message];
    let found = record.take_prospect(&flat, &program, goal).map_err(one)?;
    drop(progress);
    let kind = found.kind;
    record.prospect = Some(found);
    let provisos = if args.full { Provisos::All } else { Provisos::Weightiest };
    let Some(told) = record.told(provisos) else {
        return Err(one("there is no plan".to_owned()));
    };
    let days = by.map(|by| schedule::in_words(&told, by, read_on));
    match args.format {
        RulingFormat::Text if args.full => print::data(&plan::text(&told)),
        RulingFormat::Text => print::parts(&brief::brief(&record.ruling, Some(&told), Purpose::Next).parts()),
        RulingFormat::Json => {
            let answer = by.map_or_else(|| plan_form::json(&told), |by| schedule::answer(&told, by));
            print::data(&format!("{answer}\n"));
        }
        RulingFormat::Html => match page::plan(&record, days.as_ref()) {
            Ok(page) => print::data(&page),
            Err(error) => return Err(one(format!("the page cannot be drawn: {error}"))),
        },
    }
    if let (Some(days), RulingFormat::Text) = (days, args.format) {
        print::data(&format!("\n{}", days.text()));
    }
    Ok(match kind {
        HeadlineKind::Passes | HeadlineKind::PassesProvided | HeadlineKind::NotAsked | HeadlineKind::NoLaw => {
            Exit::Good
        }
        HeadlineKind::OtherTest => Exit::Good,
        HeadlineKind::After | HeadlineKind::OtherTestAfter | HeadlineKind::NoPass | HeadlineKind::FailsUnless => {
            Exit::Negative
        }
        HeadlineKind::ReadFirst | HeadlineKind::ByCase | HeadlineKind::CannotSay => Exit::Undecided,
    })
}
