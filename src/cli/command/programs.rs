//! `wherefore programs`: the programs there are.

use crate::catalog::{BuiltIn, Catalog, Entry, Files};
use crate::cli::args::{Format, Programs};
use crate::cli::rules::Disk;
use crate::cli::{Exit, print};
use crate::model::Date;
use crate::program::block::Standing;
use crate::program::{Item, Program, Window};
use crate::report::wrap::wrapped;
use serde::Serialize;
use std::sync::Arc;

#[derive(Serialize)]
struct Row {
    id: String,
    title: String,
    authority: String,
    standing: &'static str,
    in_force: Vec<Span>,
    adopts: Vec<String>,
    file: String,
}

#[derive(Serialize)]
struct Span {
    from: Option<String>,
    through: Option<String>,
}

pub(in crate::cli) fn run(args: &Programs) -> Exit {
    let disk = match Disk::of(&args.rules) {
        Ok(disk) => disk,
        Err(message) => {
            print::error(&message);
            return Exit::Unusable;
        }
    };
    let mut exit = Exit::Good;
    let shelves: Vec<&dyn Files> = vec![&disk, &BuiltIn];
    let catalog = Catalog::new(shelves);
    let mut rows = Vec::new();
    for id in catalog.ids() {
        match catalog.find(&id).map(|entry| (entry.program.clone(), entry)) {
            Ok((Some(program), entry)) => rows.push(row(&program, &entry)),
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
    print::data(&match args.format {
        Format::Text => text(&rows),
        Format::Json => rows.iter().map(|row| serde_json::to_string(row).unwrap_or_default() + "\n").collect(),
    });
    exit
}

fn row(program: &Program, entry: &Arc<Entry>) -> Row {
    let mut windows: Vec<Window> =
        program.blocks.iter().filter(|it| it.item == Item::InForce && !it.draft).map(|it| it.window).collect();
    windows.sort();
    let day = |date: Option<Date>| date.map(|date| date.to_string());
    Row {
        id: program.id.clone(),
        title: program.title.clone(),
        authority: program.authority.clone(),
        standing: standing(program.standing),
        in_force: windows.iter().map(|it| Span { from: day(it.from), through: day(it.through) }).collect(),
        adopts: program.adopted.iter().map(|adopted| adopted.program.clone()).collect(),
        file: entry.source.name().to_owned(),
    }
}

/// The word of a standing.
fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Draft => "draft",
        Standing::Checked => "checked",
        Standing::Withdrawn => "withdrawn",
    }
}

fn text(rows: &[Row]) -> String {
    let mut out = String::new();
    for row in rows {
        let spans: Vec<String> = row
            .in_force
            .iter()
            .map(|span| match (&span.from, &span.through) {
                (Some(from), Some(through)) => format!("{from} through {through}"),
                (Some(from), None) => format!("from {from}"),
                (None, Some(through)) => format!("through {through}"),
                (None, None) => "always".to_owned(),
            })
            .collect();
        let standing = if row.standing == "checked" { String::new() } else { format!("; {}", row.standing) };
        out.push_str(&wrapped(
            &format!("{:<18}", row.id),
            None,
            &format!("{} ({}{standing})", row.title, spans.join(", ")),
        ));
    }
    out
}
