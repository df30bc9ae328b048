//! Programs as a person names them: by id, by the tail of one (`pa`), by the name of a state or of the program (`texas`), by
//! an area (`Harris County`). A name that fits several is told with all of them; nothing is guessed.

use super::judge::{Asked, missing, usable};
use crate::catalog::{Catalog, CatalogError, program_line};
use crate::cli::{files, print, threads};
use crate::model::county::State;
use crate::program::Program;
use crate::program::areas::Meant;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The most programs that are named in a message.
const MOST_NAMED: usize = 6;

/// The program of an id, or of a name that one program alone has; the command then names it.
pub(super) fn by_name(name: &str, catalog: &Catalog<'_>) -> Result<Asked, String> {
    if catalog.find(name).is_ok() {
        return usable(name, catalog);
    }
    let found = candidates(name, catalog);
    match found.as_slice() {
        [only] => {
            print::message(&format!("note: program {} ({})", only.id, only.title));
            usable(&only.id, catalog)
        }
        [] => Err(catalog.find(name).err().map_or_else(String::new, |error: CatalogError| missing(&error))),
        several => {
            let mut names: Vec<String> =
                several.iter().take(MOST_NAMED).map(|it| format!("{} ({})", it.id, it.title)).collect();
            if several.len() > MOST_NAMED {
                names.push(format!("{} more", several.len() - MOST_NAMED));
            }
            Err(format!("`{name}` may be {}; give the id", names.join(" or ")))
        }
    }
}

/// The program files among what was given as programs.
pub(super) fn program_files(given: &[String]) -> Vec<PathBuf> {
    given.iter().filter(|text| is_file(text)).map(PathBuf::from).collect()
}

fn is_file(text: &str) -> bool {
    Path::new(text).extension().is_some_and(|ending| ending == files::ENDING)
}

/// The id of a program that was given, which may be a file.
pub(super) fn id_of_file(text: &str) -> Result<String, String> {
    if !is_file(text) {
        // No id holds one of these, so a path was meant.
        let is_path = text.contains(['/', '\\', '.']) && Path::new(text).exists();
        let says =
            || format!("{text}: is there, but is no program file, `NAME.wherefore`; --rules takes a folder of them");
        return if is_path { Err(says()) } else { Ok(text.to_owned()) };
    }
    let content = files::read_text(Path::new(text))?;
    program_line(&content).map(|(_, id)| id).ok_or_else(|| format!("{text}: no program is there"))
}

/// Letters and digits in lower case, words parted by one blank.
fn plain(text: &str) -> String {
    let letters: String = text.to_lowercase().chars().map(|it| if it.is_alphanumeric() { it } else { ' ' }).collect();
    letters.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The state that a name is of: its name, its postal code, `us-` and its code.
pub(super) fn state(name: &str) -> Option<&'static State> {
    let wanted = plain(name);
    let code = match wanted.as_str() {
        "washington dc" | "washington d c" | "d c" => "dc",
        wanted => wanted.strip_prefix("us ").unwrap_or(wanted),
    };
    State::all().iter().find(|state| plain(state.name) == wanted || state.code.to_lowercase() == code)
}

/// Whether an id is that of a state's program, or of one of its several: `us-tx`, `us-ut-cache`.
pub(super) fn is_of(state: &State, id: &str) -> bool {
    let rest = id.strip_prefix("us-").and_then(|rest| rest.strip_prefix(state.code.to_lowercase().as_str()));
    rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('-'))
}

/// The programs that a name may mean, of the first way of naming that finds any.
fn candidates(name: &str, catalog: &Catalog<'_>) -> Vec<Arc<Program>> {
    let wanted = plain(name);
    if wanted.is_empty() {
        return Vec::new();
    }
    let ids = catalog.ids();
    let read = threads::each(&ids, |id| catalog.find(id).ok().and_then(|entry| entry.program.clone()));
    let all: Vec<Arc<Program>> = read.into_iter().flatten().filter(|it| !it.adopted_only).collect();
    let state = state(name);
    let of_state = |program: &Program| state.is_some_and(|state| is_of(state, &program.id));
    let in_title = |program: &Program| {
        let title = plain(&program.title);
        wanted.split(' ').all(|word| title.split(' ').any(|known| known == word))
    };
    let ways: [&dyn Fn(&Program) -> bool; 4] = [
        &|program| plain(&program.id) == wanted,
        &|program| plain(program.id.strip_prefix("us-").unwrap_or_default()) == wanted,
        &|program| of_state(program) || in_title(program),
        &|program| match program.areas.place(name) {
            Meant::Known(area) => program.areas.all().iter().any(|known| known.name.to_lowercase() == area),
            _ => false,
        },
    ];
    for way in ways {
        let found: Vec<Arc<Program>> = all.iter().filter(|program| way(program)).cloned().collect();
        if !found.is_empty() {
            return found;
        }
    }
    Vec::new()
}
