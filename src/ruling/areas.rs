//! What a person is told of a name of an area that the program does not know, and which names it does know.

use crate::diagnostic::nearest;
use crate::program::Areas;
use crate::program::areas::{ELSEWHERE, Meant};

/// The most names that are listed; there may be hundreds of counties.
const LISTED: usize = 40;

/// What may be said of the area, in words: each name, and what stands for the others.
#[must_use]
pub fn names(areas: &Areas) -> Vec<String> {
    let declared: Vec<String> = areas.all().iter().take(LISTED).map(|area| area.name.clone()).collect();
    let more = areas.all().len().saturating_sub(declared.len());
    let more = (more > 0).then(|| format!("{more} more"));
    let others = areas.state().map(|state| format!("the name of another county of {}", state.name));
    declared.into_iter().chain(more).chain(others).chain([ELSEWHERE.to_owned()]).collect()
}

/// What is wrong with the name of an area, and what to say instead; `None` for one that the program knows.
#[must_use]
pub fn not_known(areas: &Areas, name: &str) -> Option<String> {
    Some(match areas.place(name) {
        Meant::Known(_) => return None,
        Meant::Partly(area) => format!(
            "\"{name}\" may be inside or outside \"{area}\"; say \"{area}\" if it is inside, else the county with its \
             last word or \"{ELSEWHERE}\""
        ),
        Meant::Several(names) => format!("\"{name}\" may be {}; say which", names.join(" or ")),
        Meant::Stranger => {
            let near = nearest(name.trim(), areas.names()).map(|near| format!("; did you mean \"{near}\"?"));
            let near = near.unwrap_or_default();
            format!("\"{name}\" is not among the areas that this program knows ({}){near}", names(areas).join(", "))
        }
    })
}
