//! The areas that a program knows, and what the name of an area that was reported means to it. Every way in goes through
//! [`Areas::place`]: a name that no line of the program and no list of counties knows is *not known*, never *elsewhere*.

use crate::model::county::{Said, State, may_be_same, said};
use std::collections::{BTreeMap, BTreeSet};

/// The name that stands for an area outside all that the program knows.
pub const ELSEWHERE: &str = "elsewhere";

/// An area that a program declares.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Area {
    /// Its name; tests compare it in lower case.
    pub name: String,
    /// Other names of the same area.
    pub also: Vec<String>,
    /// Names that lie only in part in it: they may be inside or outside.
    pub partly: Vec<String>,
}

/// The areas of a program.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Areas {
    areas: Vec<Area>,
    is_declared: bool,
    state: Option<&'static State>,
    /// What places there are, ready to be compared.
    places: Vec<Entry>,
    /// The same by the letters of their names.
    by_stem: BTreeMap<String, Vec<usize>>,
    /// Names of areas as tests compare them.
    seen: BTreeSet<String>,
}

/// A place: how its name is read, and what a test of the area sees.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Entry {
    said: Vec<Said>,
    /// Where it is; `None` for a place that lies in part in an area.
    seen: Option<String>,
    /// The declared area, by its place; `None` for a county outside.
    area: Option<usize>,
    /// Its name in messages.
    name: String,
}

/// What a name means to a program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Meant {
    /// An area, as tests compare it: a declared one, or one that is surely outside.
    Known(String),
    /// A place that lies only in part in a declared area, by the area's name.
    Partly(String),
    /// Several places have the name.
    Several(Vec<String>),
    /// No place that the program or the list of counties knows.
    Stranger,
}

impl Areas {
    /// Areas as a file declares them, with the state whose list of counties applies.
    #[must_use]
    pub fn declared(areas: Vec<Area>, state: Option<&'static State>) -> Areas {
        Areas::of(areas, state, true)
    }

    /// Areas of a program that declares none: the names that its tests compare with, and no list.
    #[must_use]
    pub fn implied(names: BTreeSet<String>) -> Areas {
        let areas = names.into_iter().map(|name| Area { name, also: Vec::new(), partly: Vec::new() });
        Areas::of(areas.collect(), None, false)
    }

    fn of(areas: Vec<Area>, state: Option<&'static State>, is_declared: bool) -> Areas {
        let seen = areas.iter().map(|area| area.name.to_lowercase()).collect();
        let mut all = Areas { areas, is_declared, state, places: Vec::new(), by_stem: BTreeMap::new(), seen };
        let mut places = Vec::new();
        let mut taken = BTreeSet::new();
        for (place, area) in all.areas.iter().enumerate() {
            for name in std::iter::once(&area.name).chain(&area.also) {
                let of_list = all.counties_of(name);
                let said = match (of_list.as_slice(), state) {
                    ([only], Some(state)) => {
                        taken.insert(*only);
                        state.counties.get(*only).map(|county| county.said.clone()).unwrap_or_default()
                    }
                    _ => said(name, state),
                };
                let seen = Some(area.name.to_lowercase());
                places.push(Entry { said, seen, area: Some(place), name: area.name.clone() });
            }
            for name in &area.partly {
                places.push(Entry { said: said(name, state), seen: None, area: Some(place), name: area.name.clone() });
            }
        }
        if let Some(state) = state {
            let outside = state.counties.iter().enumerate().filter(|(at, _)| !taken.contains(at));
            places.extend(outside.map(|(_, county)| {
                let name = county.full_name(state);
                Entry { said: county.said.clone(), seen: Some(name.to_lowercase()), area: None, name }
            }));
        }
        for (place, entry) in places.iter().enumerate() {
            for said in &entry.said {
                all.by_stem.entry(said.stem.clone()).or_default().push(place);
            }
        }
        all.places = places;
        all
    }

    /// Whether the file declares them.
    #[must_use]
    pub fn is_declared(&self) -> bool {
        self.is_declared
    }

    /// Whether there is none: no test of the program asks the area.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.areas.is_empty()
    }

    /// The areas, in the order of the file.
    #[must_use]
    pub fn all(&self) -> &[Area] {
        &self.areas
    }

    /// The state whose list of counties applies.
    #[must_use]
    pub fn state(&self) -> Option<&'static State> {
        self.state
    }

    /// Counties of the state that a name may mean: places in its list.
    #[must_use]
    pub fn counties_of(&self, name: &str) -> Vec<usize> {
        self.state.map(|state| state.counties_named(name)).unwrap_or_default()
    }

    /// What a name means. Where the program knows no area at all, a name means itself, in lower case.
    #[must_use]
    pub fn place(&self, name: &str) -> Meant {
        let folded = name.trim().to_lowercase();
        if self.is_empty() || self.seen.contains(&folded) {
            return Meant::Known(folded);
        }
        let said = said(name, self.state);
        if said.iter().any(|said| said.stem == ELSEWHERE) {
            return Meant::Known(ELSEWHERE.to_owned());
        }
        let near: BTreeSet<usize> =
            said.iter().filter_map(|one| self.by_stem.get(&one.stem)).flatten().copied().collect();
        let near = near.into_iter().filter_map(|place| self.places.get(place));
        let meant: Vec<&Entry> = near.filter(|entry| may_be_same(&said, &entry.said)).collect();
        if let Some(partly) = meant.iter().find(|entry| entry.seen.is_none()) {
            return Meant::Partly(partly.name.clone());
        }
        let areas: BTreeSet<Option<usize>> = meant.iter().map(|entry| entry.area).collect();
        match (areas.len(), meant.first().and_then(|entry| entry.seen.clone())) {
            (_, None) => Meant::Stranger,
            // One area, or several counties that are all outside.
            (1, Some(seen)) => Meant::Known(seen),
            (_, Some(_)) => {
                let names: BTreeSet<String> = meant.iter().map(|entry| entry.name.clone()).collect();
                Meant::Several(names.into_iter().collect())
            }
        }
    }

    /// What tests see of a name; `None` where it is not known.
    #[must_use]
    pub fn seen(&self, name: &str) -> Option<String> {
        match self.place(name) {
            Meant::Known(seen) => Some(seen),
            Meant::Partly(_) | Meant::Several(_) | Meant::Stranger => None,
        }
    }

    /// The name of what tests see, as the program or the list writes it.
    #[must_use]
    pub fn shown<'a>(&'a self, seen: &'a str) -> &'a str {
        let found = self.places.iter().find(|entry| entry.seen.as_deref() == Some(seen));
        found.map_or(seen, |entry| entry.name.as_str())
    }

    /// Every name that means an area or a county, to find the nearest among them.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        let counties = self.places.iter().filter(|entry| entry.area.is_none()).map(|entry| entry.name.as_str());
        let declared =
            self.areas.iter().flat_map(|area| std::iter::once(&area.name).chain(&area.also).chain(&area.partly));
        declared.map(String::as_str).chain(counties)
    }
}

#[cfg(test)]
mod tests;
