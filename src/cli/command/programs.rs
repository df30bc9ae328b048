//! `wherefore programs`: the programs there are, as a list, as JSON Lines, or as a page that shows them side by side.

use super::date;
use crate::catalog::{BuiltIn, Catalog, Files};
use crate::cli::args::{Programs, RulingFormat};
use crate::cli::rules::Disk;
use crate::cli::{Exit, print, threads};
use crate::report::overview::{self, Row};
use crate::report::{pages, reread};

pub(crate) fn run(args: &Programs) -> Exit {
    let disk = match Disk::of(&args.rules) {
        Ok(disk) => disk,
        Err(message) => {
            print::error(&message);
            return Exit::Unusable;
        }
    };
    let before = match args.read_before.as_deref().map(|text| date("--read-before", text)).transpose() {
        Ok(before) => before,
        Err(message) => {
            print::error(&message);
            return Exit::Unusable;
        }
    };
    let mut exit = Exit::Good;
    let shelves: Vec<&dyn Files> = vec![&disk, &BuiltIn];
    let catalog = Catalog::new(shelves);
    let mut programs = Vec::new();
    let ids = catalog.ids();
    threads::each(&ids, |id| drop(catalog.find(id)));
    for id in ids {
        match catalog.find(&id).map(|entry| (entry.program.clone(), entry)) {
            Ok((Some(program), entry)) => {
                let row = Row::of(&program, entry.source.name());
                programs.push((program, row));
            }
            Ok((None, entry)) => {
                print::error(&format!("{}: has errors; `wherefore check` tells them", entry.source.name()));
                exit = Exit::Unusable;
            }
            Err(error) => {
                print::error(&error.to_string());
                exit = Exit::Unusable;
            }
        }
    }
    if let Some(day) = before {
        return match args.format {
            RulingFormat::Html => {
                print::error("--read-before prints text or JSON: add `--format json`, or leave `--format html` out");
                Exit::Unusable
            }
            format => {
                let weights = threads::each(&programs, |(program, _)| reread::weights(program, day));
                let list = reread::read_before(programs.iter().map(|(program, _)| &**program).zip(weights), day);
                match format {
                    RulingFormat::Json => print::data(
                        &list
                            .iter()
                            .map(|one| serde_json::to_string(one).unwrap_or_default() + "\n")
                            .collect::<String>(),
                    ),
                    _ => print::data(&reread::text(&list)),
                }
                exit
            }
        };
    }
    let rows = || programs.iter().map(|(_, row)| row.clone());
    match args.format {
        RulingFormat::Text => print::data(&overview::text(&rows().collect::<Vec<_>>())),
        RulingFormat::Json => {
            print::data(&rows().map(|row| serde_json::to_string(&row).unwrap_or_default() + "\n").collect::<String>());
        }
        RulingFormat::Html => match pages::programs(programs.iter().map(|(program, row)| (&**program, row.clone()))) {
            Ok(page) => print::data(&page),
            Err(error) => {
                print::error(&format!("the page cannot be drawn: {error}"));
                exit = Exit::Unusable;
            }
        },
    }
    exit
}
