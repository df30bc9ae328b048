//! What is said of a record: its verdicts and the clauses that decide, as one of the few hundred combinations that a flat
//! program brings about. Records carry the number of theirs; words are made once a combination.

use crate::bulk::{Judged, Plane, Rules};
use crate::program::flat::Line;
use crate::program::{Class, Flat, InForce, Kind, Seen, Verdict};
use crate::ruling::one_clause;
use std::sync::Arc;

/// What is said of a record.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Said {
    /// The verdict, or `undecided`.
    pub verdict: String,
    /// The common class of the possible verdicts, else undecided.
    pub class: Class,
    /// The possible verdicts with their classes, not-subject first.
    pub possible: Vec<(String, Class)>,
    /// Clauses that decide in every case that is still possible; of a vehicle that is not subject, why.
    pub deciding: Vec<String>,
    /// Why, in the law's order of the lines that decide: each line's sentence with what it rests on.
    pub reasons: Vec<String>,
    /// Whether a deciding line rests on a secondary source, on practice or on memory alone.
    pub leans: bool,
}

impl Said {
    /// The possible verdicts in one text, `pass or fail`.
    #[must_use]
    pub fn possible_words(&self) -> String {
        match self.possible.as_slice() {
            [] => self.verdict.clone(),
            several => several.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>().join(" or "),
        }
    }
}

const NOT_COVERED: &str = "the program does not cover the vehicle, or leaves it out";
const ENDED: &str = "the program had ended on the test date";
const NO_LAW: &str = "this file holds no law for the test date";

/// A line's sentence, in front of it the name of its clause where it has none, with the texts that it rests on.
fn reason(line: &Line, flat: &Flat) -> String {
    let law: Vec<String> = line
        .basis
        .iter()
        .filter_map(|citation| {
            let title = &flat.sources.get(citation.source)?.title;
            let is_bare = citation.locator.is_empty();
            Some(if is_bare { title.clone() } else { format!("{title} {}", citation.locator) })
        })
        .collect();
    let sentence = if line.message.is_empty() { format!("{} is not met.", line.clause) } else { line.message.clone() };
    if law.is_empty() { sentence } else { format!("{sentence} ({})", law.join("; ")) }
}

/// The combinations of one flat program.
#[derive(Debug)]
pub(super) struct Combinations {
    rules: Arc<Rules>,
    /// Verdicts of the ladder and not-subject, then lines.
    width: usize,
    places: usize,
    /// For each combination and symbol, the combination with it; 0 is *not made yet*.
    next: Vec<u32>,
    symbols: Vec<Vec<u32>>,
    said: Vec<Option<Arc<Said>>>,
    /// For each line, whether every text it rests on is weak.
    weak: Vec<bool>,
}

impl Combinations {
    pub(super) fn new(rules: &Arc<Rules>) -> Combinations {
        let flat = rules.flat();
        let places = flat.outcomes.len() + 1;
        let lines = flat.lines.len();
        // Verdicts, lines that decide, lines that decide in some cases.
        let width = places + 2 * lines;
        let weak = flat
            .lines
            .iter()
            .map(|line| {
                let firm = |citation: &crate::program::Citation| {
                    let kind = flat.sources.get(citation.source).map(|source| source.kind);
                    citation.seen < Seen::Secondary && !matches!(kind, None | Some(Kind::Practice | Kind::Memory))
                };
                !line.basis.iter().any(firm)
            })
            .collect();
        Combinations {
            rules: Arc::clone(rules),
            width,
            places,
            next: vec![0; width],
            symbols: vec![Vec::new()],
            said: vec![None],
            weak,
        }
    }

    pub(super) fn is_of(&self, rules: &Arc<Rules>) -> bool {
        Arc::ptr_eq(&self.rules, rules)
    }

    /// The class of an outcome of this name.
    pub(super) fn class_of(&self, name: &str) -> Option<Class> {
        let outcomes = &self.rules.flat().outcomes;
        let found = outcomes.iter().find(|outcome| outcome.name == name).map(|outcome| outcome.class);
        let reserved = [Class::NotSubject, Class::NoLaw];
        found.or_else(|| reserved.into_iter().find(|class| class.word() == name))
    }

    /// Whether some possible outcome is neither the gravest nor of class fail, and the vehicle is concerned.
    pub(super) fn is_open(&self, said: &Said) -> bool {
        let gravest = self.rules.flat().outcomes.last().map(|outcome| outcome.name.as_str());
        let closed = |name: &str, class: Class| {
            matches!(class, Class::Fail | Class::NotSubject | Class::NoLaw) || Some(name) == gravest
        };
        said.possible.iter().any(|(name, class)| !closed(name, *class))
    }

    fn step(&mut self, from: u32, symbol: usize) -> u32 {
        let from = usize::try_from(from).unwrap_or(0);
        let at = from * self.width + symbol;
        match self.next.get(at) {
            Some(0) => {}
            Some(next) => return *next,
            None => return 0,
        }
        let mut symbols = self.symbols.get(from).cloned().unwrap_or_default();
        symbols.push(u32::try_from(symbol).unwrap_or(0));
        let made = u32::try_from(self.symbols.len()).unwrap_or(0);
        self.symbols.push(symbols);
        self.said.push(None);
        self.next.resize(self.symbols.len() * self.width, 0);
        if let Some(slot) = self.next.get_mut(at) {
            *slot = made;
        }
        made
    }

    /// What a combination says.
    pub(super) fn said(&mut self, combination: u32) -> Arc<Said> {
        let place = usize::try_from(combination).unwrap_or(0);
        if let Some(Some(said)) = self.said.get(place) {
            return Arc::clone(said);
        }
        let said = Arc::new(self.words(place));
        if let Some(slot) = self.said.get_mut(place) {
            *slot = Some(Arc::clone(&said));
        }
        said
    }

    fn words(&self, place: usize) -> Said {
        let flat = self.rules.flat();
        let symbols: Vec<usize> =
            self.symbols.get(place).into_iter().flatten().filter_map(|it| usize::try_from(*it).ok()).collect();
        let verdicts = symbols.iter().filter(|symbol| **symbol < self.places);
        let possible: Vec<(String, Class)> = verdicts
            .map(|symbol| match symbol.checked_sub(1) {
                None => Verdict::NotSubject,
                Some(place) => Verdict::Outcome(place),
            })
            .map(|verdict| (verdict.name(flat).to_owned(), verdict.class(flat)))
            .collect();
        let count = flat.lines.len();
        let after: Vec<usize> = symbols.iter().filter_map(|symbol| symbol.checked_sub(self.places)).collect();
        let mut lines: Vec<usize> = after.iter().copied().filter(|line| *line < count).collect();
        if lines.is_empty() {
            lines = self.of_one_clause(after.iter().filter_map(|line| line.checked_sub(count)), &possible);
        }
        let mut deciding: Vec<String> = Vec::new();
        for line in lines.iter().filter_map(|line| flat.lines.get(*line)) {
            if !deciding.contains(&line.clause) {
                deciding.push(line.clause.clone());
            }
        }
        let (verdict, class) = match possible.as_slice() {
            [(name, class)] => (name.clone(), *class),
            several => {
                let mut classes = several.iter().map(|(_, class)| *class);
                let first = classes.next().unwrap_or(Class::Undecided);
                ("undecided".to_owned(), if classes.all(|class| class == first) { first } else { Class::Undecided })
            }
        };
        if deciding.is_empty() && matches!(class, Class::NotSubject | Class::NoLaw) {
            let why = match flat.in_force {
                InForce::Yes => "coverage",
                InForce::Ended { .. } => "ended",
                _ => Class::NoLaw.word(),
            };
            deciding.push(why.to_owned());
        }
        let leans = lines.iter().any(|line| self.weak.get(*line) == Some(&true));
        let mut reasons: Vec<String> = Vec::new();
        for line in lines.iter().filter_map(|line| flat.lines.get(*line)) {
            let reason = reason(line, flat);
            if !reasons.contains(&reason) {
                reasons.push(reason);
            }
        }
        if reasons.is_empty() && matches!(class, Class::NotSubject | Class::NoLaw) {
            let what = match flat.in_force {
                InForce::Yes => NOT_COVERED,
                InForce::Ended { .. } => ENDED,
                _ => NO_LAW,
            };
            reasons.push(what.to_owned());
        }
        Said { verdict, class, possible, deciding, reasons, leans }
    }
}

impl Combinations {
    /// The lines of the one clause that can bring the one outcome there is; of a record it is not kept whether a relabelling
    /// or a row that leaves vehicles out may have brought it: both may, and a program with such for the outcome tells none.
    fn of_one_clause(&self, lines: impl Iterator<Item = usize>, possible: &[(String, Class)]) -> Vec<usize> {
        let flat = self.rules.flat();
        let [(name, _)] = possible else { return Vec::new() };
        let Some(place) = flat.outcomes.iter().position(|outcome| outcome.name == *name) else { return Vec::new() };
        one_clause(flat, lines, place, |_| true)
    }
}

/// The combination of each record of a batch: which list of combinations, and which of them; `None` of a record that was
/// not judged.
pub(super) fn combine(lists: &mut Vec<Combinations>, judged: &Judged) -> Vec<Option<(u32, u32)>> {
    let mut all = vec![None; judged.len()];
    for part in judged.parts() {
        let found = lists.iter().position(|list| list.is_of(&part.rules));
        let place = found.unwrap_or_else(|| {
            lists.push(Combinations::new(&part.rules));
            lists.len() - 1
        });
        let Some(list) = lists.get_mut(place) else { continue };
        let place = u32::try_from(place).unwrap_or(0);
        let step = |list: &mut Combinations, words: &[u64], symbol: usize, all: &mut Vec<Option<(u32, u32)>>| {
            for (at, (word, rows)) in words.iter().zip(&part.rows.0).enumerate() {
                let mut left = word & rows;
                while left != 0 {
                    let row = at * 64 + usize::try_from(left.trailing_zeros()).unwrap_or(0);
                    left &= left - 1;
                    if let Some(slot) = all.get_mut(row) {
                        let from = slot.map_or(0, |(_, combination)| combination);
                        *slot = Some((place, list.step(from, symbol)));
                    }
                }
            }
        };
        for (symbol, plane) in judged.possible().iter().enumerate() {
            step(list, &plane.0, symbol, &mut all);
        }
        let places = judged.possible().len();
        for (line, plane) in part.deciding.iter().enumerate() {
            step(list, &plane.0, places + line, &mut all);
        }
        for row in undecided_how(judged, &part.rows.0, &part.deciding) {
            let Some(one) = judged.row(row) else { continue };
            for line in one.alternatives() {
                if let Some(Some((_, combination))) = all.get_mut(row) {
                    *combination = list.step(*combination, places + part.deciding.len() + line);
                }
            }
        }
    }
    all
}

/// Records with one verdict, other than the least grave and not-subject, that no line decides in every case.
fn undecided_how(judged: &Judged, rows: &[u64], deciding: &[Plane]) -> Vec<usize> {
    let word = |plane: &Plane, at: usize| plane.0.get(at).copied().unwrap_or(0);
    let mut found = Vec::new();
    for (at, rows) in rows.iter().enumerate() {
        let grave = judged.possible().iter().skip(2).fold(0, |all, plane| all | word(plane, at));
        let decided = deciding.iter().fold(word(judged.undecided(), at), |all, plane| all | word(plane, at));
        let mut left = rows & grave & !decided;
        while left != 0 {
            found.push(at * 64 + usize::try_from(left.trailing_zeros()).unwrap_or(0));
            left &= left - 1;
        }
    }
    found
}
