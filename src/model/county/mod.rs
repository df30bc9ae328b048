//! Names of counties by state, and how a name of an area that a person wrote is read. The list is data beside the programs
//! (`policies/us/counties.csv`, which names its source); it is part of the crate as the table of facts is.

use std::collections::BTreeMap;
use std::sync::LazyLock;

/// The list, as text.
pub const LIST: &str = include_str!("../../../policies/us/counties.csv");

/// What a county, or what stands for one, is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CountyKind {
    /// A county, parish, borough, census area.
    County,
    /// A city that belongs to no county.
    City,
}

/// A county of a state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct County {
    /// Its name without the word for what it is, `Harris`.
    pub name: &'static str,
    /// What it is.
    pub kind: CountyKind,
    /// The ways in which its own name is read.
    pub said: Vec<Said>,
}

/// A state with its counties.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct State {
    /// Its name, `Texas`.
    pub name: &'static str,
    /// Its postal code, `TX`.
    pub code: &'static str,
    /// Its counties, in the order of the list.
    pub counties: Vec<County>,
}

/// One way of reading a name: the letters that are compared, and what it says it is (`County`, `City`), if it does.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Said {
    /// Lower-case letters and digits, nothing else.
    pub stem: String,
    /// What it says it is.
    pub kind: Option<CountyKind>,
}

static STATES: LazyLock<Vec<State>> = LazyLock::new(|| {
    let mut states: BTreeMap<&'static str, State> = BTreeMap::new();
    for line in LIST.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let mut cells = line.splitn(4, ',');
        let (Some(name), Some(code), Some(kind), Some(names)) =
            (cells.next(), cells.next(), cells.next(), cells.next())
        else {
            continue;
        };
        let kind = if kind == "city" { CountyKind::City } else { CountyKind::County };
        let state = states.entry(name).or_insert_with(|| State { name, code, counties: Vec::new() });
        state.counties.extend(names.split(';').map(|name| County { name, kind, said: own(name, kind) }));
    }
    states.into_values().collect()
});

impl State {
    /// The states, by name.
    #[must_use]
    pub fn all() -> &'static [State] {
        &STATES
    }

    /// The state of a name, written as the list writes it.
    #[must_use]
    pub fn named(name: &str) -> Option<&'static State> {
        State::all().iter().find(|state| state.name == name)
    }

    /// The counties that a name may mean: places in the list.
    #[must_use]
    pub fn counties_named(&self, name: &str) -> Vec<usize> {
        let said = said(name, Some(self));
        let counties = self.counties.iter().enumerate();
        counties.filter(|(_, county)| may_be_same(&said, &county.said)).map(|(at, _)| at).collect()
    }
}

/// The ways in which a county's own name is read.
fn own(name: &str, kind: CountyKind) -> Vec<Said> {
    let words = words(name);
    let short = words.concat();
    // Run together, `FortBend` is one word, which the short forms of words do not reach.
    let long: String = words
        .iter()
        .map(|word| SHORT.iter().find(|(_, short)| short == word).map_or(word.as_str(), |it| it.0))
        .collect();
    let is_one_more = long != short;
    let mut said = vec![Said { stem: short, kind: Some(kind) }];
    if is_one_more {
        said.push(Said { stem: long, kind: Some(kind) });
    }
    // `Carson City` is the city of Carson; `James City` is a county, and not the city of James.
    if let Some((rest, kind)) = without_kind(&words).filter(|(_, found)| *found == Some(kind)) {
        said.push(Said { stem: rest.concat(), kind });
    }
    said
}

impl County {
    /// The name with the word for what it is, where another county of the state has the same name; else the name.
    #[must_use]
    pub fn full_name(&self, state: &State) -> String {
        let is_twin = state.counties.iter().any(|other| other.name == self.name && other.kind != self.kind);
        match (is_twin, self.kind) {
            (false, _) => self.name.to_owned(),
            (true, CountyKind::County) => format!("{} County", self.name),
            (true, CountyKind::City) => format!("{} City", self.name),
        }
    }
}

/// The ways in which a name may be meant: whole, and without the word for what it is. Case, blanks, dots, apostrophes,
/// hyphens and accents are not compared; `saint`, `fort` and `mount` are `st`, `ft` and `mt`. After a comma only the state
/// itself may follow; with another there, the list is empty, as it is for a name without a letter.
#[must_use]
pub fn said(name: &str, state: Option<&State>) -> Vec<Said> {
    let is_state = |words: &[String]| {
        let text = words.concat();
        let is = |state: &State| text == self::words(state.name).concat() || text == state.code.to_lowercase();
        text.is_empty() || text == "usa" || state.is_some_and(is)
    };
    let mut parts = name.split(',');
    let first = words(parts.next().unwrap_or(""));
    if first.is_empty() || !parts.all(|part| is_state(&words(part))) {
        return Vec::new();
    }
    let mut said = vec![Said { stem: first.concat(), kind: None }];
    if let Some((rest, kind)) = without_kind(&first) {
        said.push(Said { stem: rest.concat(), kind });
    }
    said
}

/// Whether two ways of reading may mean one thing: the same letters, and not a county here and a city there.
#[must_use]
pub fn may_be_same(one: &[Said], other: &[Said]) -> bool {
    let agree = |a: &Said, b: &Said| a.stem == b.stem && (a.kind.is_none() || b.kind.is_none() || a.kind == b.kind);
    one.iter().any(|a| other.iter().any(|b| agree(a, b)))
}

/// Words that names of places shorten, and how.
const SHORT: [(&str, &str); 4] = [("saint", "st"), ("sainte", "ste"), ("fort", "ft"), ("mount", "mt")];

/// The words of a name as they are compared.
fn words(name: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    for letter in name.chars().flat_map(char::to_lowercase) {
        let plain = plain(letter);
        match plain {
            "" if letter.is_alphanumeric() => words.last_mut().into_iter().for_each(|word| word.push(letter)),
            // Dots and apostrophes stand within a word, every other mark between words.
            "" if matches!(letter, '.' | '\'' | '\u{2019}' | '\u{2018}' | '`' | '\u{b4}' | '\u{301}' | '\u{303}') => {}
            "" => words.push(String::new()),
            plain => words.last_mut().into_iter().for_each(|word| word.push_str(plain)),
        }
    }
    words.retain(|word| !word.is_empty());
    for word in &mut words {
        if let Some((_, short)) = SHORT.iter().find(|(long, _)| long == word) {
            *word = (*short).to_owned();
        }
    }
    words
}

/// A letter without its accent; empty where it has none.
fn plain(letter: char) -> &'static str {
    match letter {
        'á' | 'à' | 'â' | 'ä' | 'ã' | 'å' => "a",
        'é' | 'è' | 'ê' | 'ë' => "e",
        'í' | 'ì' | 'î' | 'ï' => "i",
        'ó' | 'ò' | 'ô' | 'ö' | 'õ' => "o",
        'ú' | 'ù' | 'û' | 'ü' => "u",
        'ñ' => "n",
        'ç' => "c",
        'ß' => "ss",
        _ => "",
    }
}

/// The words without those that say what it is, before them or after them; `None` where nothing says it, or nothing else
/// is there.
fn without_kind(words: &[String]) -> Option<(&[String], Option<CountyKind>)> {
    use CountyKind::{City, County};
    const AFTER: [(&[&str], Option<CountyKind>); 11] = [
        (&["city", "and", "borough"], Some(County)),
        (&["census", "area"], Some(County)),
        (&["county"], Some(County)),
        (&["cnty"], Some(County)),
        (&["co"], Some(County)),
        (&["parish"], Some(County)),
        (&["borough"], Some(County)),
        (&["municipality"], Some(County)),
        (&["district"], None),
        (&["independent", "city"], Some(City)),
        (&["city"], Some(City)),
    ];
    const BEFORE: [(&[&str], Option<CountyKind>); 4] = [
        (&["city", "and", "county", "of"], None),
        (&["county", "of"], Some(County)),
        (&["parish", "of"], Some(County)),
        (&["city", "of"], Some(City)),
    ];
    let is = |part: &[String], wanted: &[&str]| part.iter().map(String::as_str).eq(wanted.iter().copied());
    let after = AFTER.iter().find_map(|(kind_words, kind)| {
        let at = words.len().checked_sub(kind_words.len()).filter(|at| *at > 0)?;
        let (rest, end) = words.split_at_checked(at)?;
        is(end, kind_words).then_some((rest, *kind))
    });
    after.or_else(|| {
        BEFORE.iter().find_map(|(kind_words, kind)| {
            let (start, rest) = words.split_at_checked(kind_words.len()).filter(|(_, rest)| !rest.is_empty())?;
            is(start, kind_words).then_some((rest, *kind))
        })
    })
}

#[cfg(test)]
mod tests;
