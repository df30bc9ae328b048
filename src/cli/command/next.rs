//! `wherefore next`: the least that leads to a pass. Ends with 0 where nothing has to be done (it passes, or no test is
//! asked of it), 1 where something has to be done or nothing helps, or another test decides, 3 where it turns on what is
//! not known, 2 where something could not be used.

use super::date;
use super::judge::{Single, single_on};
use crate::cli::args::{Goal, RulingFormat, Vehicle};
use crate::cli::progress::Progress;
use crate::cli::{Exit, print};
use crate::document::answer::iso;
use crate::model::Date;
use crate::program::Class;
use crate::record::plan_form;
use crate::report::brief::{self, Purpose};
use crate::report::{page, schedule};
use crate::ruling::{HeadlineKind, prospect};
use crate::wording::headline::Provisos;
use crate::wording::plan;
use crate::wording::plan::Told;

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
    let by = args.by.as_deref().map(|text| date("--by", &iso(text).unwrap_or_else(|| text.to_owned()))).transpose();
    let by = by.map_err(|fault| vec![fault])?;
    let mut read_on = None;
    let progress = Progress::of("looking for a plan", None);
    let Single { flat, program, document, mut record } = single_on(&args.as_judge(), by, &mut read_on)?;
    let goal = match args.class {
        Goal::Pass => Class::Pass,
        Goal::Conditional => Class::Conditional,
        Goal::OtherTest => Class::OtherTest,
    };
    let one = |message: String| vec![message];
    let found = match record.prospect.take() {
        // The record was told with what leads to a pass.
        Some(found) if found.goal == goal => found,
        _ => prospect(&flat, &program, &document.snapshot, &record.ruling, goal)
            .map_err(|error| one(error.to_string()))?
            .ok_or_else(|| one("the program's diagrams are too large to look for a plan".to_owned()))?,
    };
    drop(progress);
    let kind = found.kind;
    record.prospect = Some(found);
    let provisos = if args.full { Provisos::All } else { Provisos::Weightiest };
    let Some(told) = record.told(provisos) else {
        return Err(one("there is no plan".to_owned()));
    };
    match args.format {
        RulingFormat::Text if args.full => print::data(&plan::text(&told)),
        RulingFormat::Text => print::parts(&brief::brief(&record.ruling, Some(&told), Purpose::Next).parts()),
        RulingFormat::Json => print::data(&format!("{}\n", json(&told, by))),
        RulingFormat::Html => match page::in_brief(std::slice::from_ref(&record), Purpose::Next) {
            Ok(page) => print::data(&page),
            Err(error) => return Err(one(format!("the page cannot be drawn: {error}"))),
        },
    }
    if let (Some(by), RulingFormat::Text) = (by, args.format) {
        match schedule::schedule(&told, by) {
            Some(days) => print::data(&format!("\n{}", schedule::text(&days, read_on))),
            None => print::data("\nThere is nothing to plan backwards: no plan, or one that turns on more.\n"),
        }
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

/// The answer as JSON, with the days backwards from a visit.
fn json(told: &Told<'_>, by: Option<Date>) -> serde_json::Value {
    let mut value = plan_form::json(told);
    if let (Some(by), Some(object)) = (by, value.as_object_mut()) {
        let days = schedule::schedule(told, by).map_or(serde_json::Value::Null, |days| schedule::json(&days));
        object.insert("schedule".to_owned(), days);
    }
    value
}
