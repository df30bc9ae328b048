//! The levels that one or more programs need, in order, with the classes that what is known still leaves possible. A
//! fact that has one class only is no level but a constant, so that what is known costs nothing.

use super::codes::Atoms;
use super::cuts::{Asked, Cuts, Unit};
use super::forest::TooLarge;
use super::level::{Class, Level, Members, Sample, Var};
use super::walk::Weights;
use super::{listed, numbers};
use crate::model::facts::{ABSENT, Possible, Span};
use crate::model::{Fact, Monitor, MonitorState, exclusions, spec};
use crate::program::block::DeclaredType;
use crate::program::{Flat, Given};
use std::collections::BTreeMap;

/// The levels and constants of a set of programs.
#[derive(Debug, Clone, Default)]
pub struct Space {
    /// Levels from the top.
    pub levels: Vec<Level>,
    /// Atoms of each list of codes.
    pub atoms: BTreeMap<Fact, Atoms>,
    /// Conditions on make, model and engine; classes of [`Var::Listed`] refer to these places.
    pub units: Vec<Unit>,
    /// What is asked of each fact.
    pub cuts: Cuts,
    /// Whether some fact has no possible value.
    pub impossible: bool,
    places: BTreeMap<Var, usize>,
    fixed: BTreeMap<Var, Class>,
}

/// What stands for a fact in the diagrams.
#[derive(Debug, Clone, Copy)]
pub enum Slot<'a> {
    /// A level.
    Level(usize, &'a Level),
    /// The same for every vehicle that is still possible.
    Fixed(&'a Class),
}

/// What a snapshot leaves possible of a list of codes.
enum ListState {
    Fixed { present: bool },
    Open,
}

impl Space {
    /// The levels for these programs and what each is given. Facts of the table are taken from the first.
    ///
    /// # Errors
    /// Where there are too many classes.
    pub fn of(programs: &[(&Flat, &Given)]) -> Result<Space, TooLarge> {
        let mut cuts = Cuts::default();
        programs.iter().for_each(|(flat, _)| cuts.gather(flat));
        let mut space = Space::default();
        let Some((_, given)) = programs.first() else {
            return Ok(space);
        };
        cuts.exclude(|cuts, fact| must_be_a_level(cuts, given, fact));
        space.units = cuts.units.iter().cloned().collect();
        let mut found: Vec<Level> = Vec::new();
        for (var, asked) in &cuts.asked {
            let classes = match var {
                Var::Known(fact) => known_classes(*fact, asked, given.facts.get(*fact)),
                Var::Declared { .. } => declared_classes(var, asked, programs),
                Var::Question { .. } | Var::UnreadLimit { .. } => (0..asked.places).map(Class::place).collect(),
                Var::UnreadCodes(_) => vec![Class::truth(false), Class::truth(true)],
                Var::Listed | Var::Present(_) | Var::Holds(..) | Var::Member(..) => Vec::new(),
            };
            found.push(Level { var: var.clone(), classes });
        }
        if !space.units.is_empty() {
            let classes = listed::classes(&space.units, &listed::known(given))?;
            found.push(Level { var: Var::Listed, classes });
        }
        for (fact, members) in &cuts.members {
            for monitor in members.iter() {
                found.push(Level { var: Var::Member(*fact, monitor), classes: member_classes(*fact, monitor, given) });
            }
        }
        for (fact, groups) in &cuts.codes {
            let atoms = Atoms::of(groups);
            found.extend(code_levels(*fact, &atoms, given.facts.get(*fact)));
            space.atoms.insert(*fact, atoms);
        }
        found.sort_by_key(|level| (level.var.rank(), level.var.clone()));
        for level in found {
            match <[Class; 1]>::try_from(level.classes) {
                Ok([only]) => {
                    space.fixed.insert(level.var, only);
                }
                Err(classes) if classes.is_empty() => space.impossible = true,
                Err(classes) => {
                    space.places.insert(level.var.clone(), space.levels.len());
                    space.levels.push(Level { var: level.var, classes });
                }
            }
        }
        space.cuts = cuts;
        Ok(space)
    }

    /// What stands for a fact; `None` where no program asks it (or nothing is possible).
    #[must_use]
    pub fn slot(&self, var: &Var) -> Option<Slot<'_>> {
        if let Some(place) = self.places.get(var) {
            return self.levels.get(*place).map(|level| Slot::Level(*place, level));
        }
        self.fixed.get(var).map(Slot::Fixed)
    }

    /// The level of a fact, where it has one.
    #[must_use]
    pub fn level(&self, var: &Var) -> Option<usize> {
        self.places.get(var).copied()
    }

    /// Facts that are the same for every possible vehicle, with their one class.
    pub fn constants(&self) -> impl Iterator<Item = (&Var, &Class)> {
        self.fixed.iter()
    }

    /// How many classes each level has.
    #[must_use]
    pub fn widths(&self) -> Vec<u32> {
        self.levels.iter().map(|level| u32::try_from(level.classes.len()).unwrap_or(u32::MAX)).collect()
    }

    /// Sizes and costs of the classes.
    #[must_use]
    pub fn weights(&self) -> Weights {
        let of = |pick: fn(&Class) -> u64| -> Vec<Vec<u64>> {
            self.levels.iter().map(|level| level.classes.iter().map(pick).collect()).collect()
        };
        let costs = self.levels.iter().map(|level| level.classes.iter().map(|class| class.cost).collect()).collect();
        Weights { sizes: of(|class| class.size), costs }
    }
}

/// Whether a fact that no test asks still ties facts that are asked: it has no value free of exclusions.
fn must_be_a_level(cuts: &Cuts, given: &Given, fact: Fact) -> bool {
    if given.facts.is_settled(fact) {
        return false;
    }
    let Possible::Words(mask) = given.facts.get(fact) else {
        return false;
    };
    let rules = exclusions();
    let mut excluded = 0;
    for (one, other) in rules.iter().flat_map(|rule| [(rule.first, rule.second), (rule.second, rule.first)]) {
        if let crate::model::Constraint::Word(asked, words) = one {
            let may_hold = match (other, given.facts.get(other.fact())) {
                (crate::model::Constraint::Word(_, words), Possible::Words(mask)) => mask & words != 0,
                _ => true,
            };
            if asked == fact && may_hold && cuts.uses(other.fact()) {
                excluded |= words;
            }
        }
    }
    excluded != 0 && mask & !excluded == 0
}

fn known_classes(fact: Fact, asked: &Asked, possible: &Possible) -> Vec<Class> {
    match possible {
        Possible::Words(mask) => word_classes(*mask, asked, usual_word(fact)),
        Possible::Number(span) => numbers::classes(asked, *span, numbers::Lattice::of(fact), numbers::usual(fact)),
        Possible::Text(known) => text_classes(fact, known.as_ref(), asked),
        Possible::Monitors { .. } | Possible::Codes { .. } => vec![Class::truth(true)],
    }
}

fn declared_classes(var: &Var, asked: &Asked, programs: &[(&Flat, &Given)]) -> Vec<Class> {
    for (flat, given) in programs {
        for (place, fact) in flat.facts.iter().enumerate() {
            if Var::declared(flat, place).as_ref() != Some(var) {
                continue;
            }
            return match (given.declared.get(place), &fact.kind) {
                (Some(Possible::Words(mask)), _) => word_classes(*mask, asked, 1),
                (Some(Possible::Number(span)), DeclaredType::Number { unit, least, .. }) => {
                    let usual = unit.to_base(*least).unwrap_or(0);
                    numbers::classes(asked, *span, numbers::Lattice::in_unit(*unit), usual)
                }
                _ => Vec::new(),
            };
        }
    }
    Vec::new()
}

fn word_classes(possible: u64, asked: &Asked, usual: u64) -> Vec<Class> {
    let mut groups: Vec<(Vec<bool>, u64)> = Vec::new();
    let bits = (0..64).filter_map(|place| 1u64.checked_shl(place)).filter(|bit| possible & bit != 0);
    for bit in bits {
        let mut signature: Vec<bool> = asked.masks.iter().map(|mask| bit != ABSENT && mask & bit != 0).collect();
        signature.push(asked.presence && bit == ABSENT);
        match groups.iter_mut().find(|(known, _)| *known == signature) {
            Some((_, mask)) => *mask |= bit,
            None => groups.push((signature, bit)),
        }
    }
    let class = |(_, mask): (Vec<bool>, u64)| {
        let words = mask & !ABSENT;
        let bit = if words & usual != 0 { usual } else { words & words.wrapping_neg() };
        Class {
            sample: if bit == 0 { Sample::Absent } else { Sample::Word(bit) },
            members: Members::Words(mask),
            size: u64::from(mask.count_ones()),
            cost: if mask & usual != 0 { 0 } else { 2 },
        }
    };
    groups.into_iter().map(class).collect()
}

/// The word that an ordinary vehicle shows, as its bit.
fn usual_word(fact: Fact) -> u64 {
    if let Fact::Monitor(monitor) = fact {
        let seldom = matches!(monitor, Monitor::HeatedCatalyst | Monitor::SecondaryAir | Monitor::AirConditioning)
            || monitor.is_compression_only()
            || monitor.is_j1939();
        return if seldom { MonitorState::Unsupported.bit() } else { MonitorState::Complete.bit() };
    }
    let word = match fact {
        Fact::Communication => "established",
        _ => spec(fact).sound.unwrap_or(""),
    };
    fact.word_bit(word).unwrap_or(1)
}

fn text_classes(fact: Fact, known: Option<&String>, asked: &Asked) -> Vec<Class> {
    let signature =
        |text: &str| -> Vec<bool> { asked.texts.iter().map(|among| among.iter().any(|one| one == text)).collect() };
    // Of areas a name stands for every other, which a snapshot can say.
    let another = match fact {
        Fact::Area => crate::program::areas::ELSEWHERE.to_owned(),
        _ => format!("another {}", spec(fact).name),
    };
    if let Some(text) = known {
        let members = Members::Texts { named: vec![text.clone()], others: false };
        return vec![Class { sample: Sample::Text(text.clone()), members, size: 1, cost: 0 }];
    }
    let mut named: Vec<String> = asked.texts.iter().flatten().cloned().collect();
    named.sort();
    named.dedup();
    let mut groups: Vec<(Vec<bool>, Vec<String>)> = vec![(signature(&another), Vec::new())];
    for text in named {
        let of_text = signature(&text);
        match groups.iter_mut().find(|(known, _)| *known == of_text) {
            Some((_, texts)) => texts.push(text),
            None => groups.push((of_text, vec![text])),
        }
    }
    let class = |(place, (_, named)): (usize, (Vec<bool>, Vec<String>))| {
        let others = place == 0;
        let sample = if others { another.clone() } else { named.first().cloned().unwrap_or_default() };
        let size = u64::try_from(named.len()).unwrap_or(u64::MAX).saturating_add(u64::from(others));
        Class { sample: Sample::Text(sample), size, cost: u32::from(others), members: Members::Texts { named, others } }
    };
    groups.into_iter().enumerate().map(class).collect()
}

fn member_classes(fact: Fact, monitor: Monitor, given: &Given) -> Vec<Class> {
    match given.facts.get(fact) {
        Possible::Monitors { surely, .. } if surely.contains(monitor) => vec![Class::truth(true)],
        Possible::Monitors { perhaps, .. } if !perhaps.contains(monitor) => vec![Class::truth(false)],
        _ => vec![Class::truth(false), Class::truth(true)],
    }
}

fn code_levels(fact: Fact, atoms: &Atoms, possible: &Possible) -> Vec<Level> {
    let both = || vec![Class::truth(false), Class::truth(true)];
    let Possible::Codes { list, may_be_absent, may_be_present } = possible else {
        return Vec::new();
    };
    let presence = match (may_be_absent, may_be_present) {
        (true, true) => ListState::Open,
        (_, present) => ListState::Fixed { present: *present },
    };
    let holds: Vec<usize> =
        list.iter().flat_map(|list| list.codes.iter()).filter_map(|code| atoms.place_of(*code)).collect();
    let open = *may_be_present && list.as_ref().is_none_or(|list| list.may_hold_more);
    let atom_levels = (0..atoms.atoms.len()).map(|place| {
        let classes = if holds.contains(&place) {
            vec![Class::truth(true)]
        } else if open {
            both()
        } else {
            vec![Class::truth(false)]
        };
        Level { var: Var::Holds(fact, place), classes }
    });
    let present = match presence {
        ListState::Open => vec![Class { cost: 1, ..Class::truth(false) }, Class { cost: 0, ..Class::truth(true) }],
        ListState::Fixed { present } => vec![Class::truth(present)],
    };
    std::iter::once(Level { var: Var::Present(fact), classes: present }).chain(atom_levels).collect()
}

/// A span that holds one number.
#[must_use]
pub fn one(number: i64) -> Possible {
    Possible::Number(Span { least: number, most: number, may_be_absent: false })
}
