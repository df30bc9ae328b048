//! Make, model and engine as one derived level: its classes are the sets of conditions on the three that can hold
//! together, so that a table of 200 rows costs about 200 classes and never a product of makes and models.

use super::cuts::Unit;
use super::forest::TooLarge;
use super::level::{Class, Members, Sample};
use crate::model::Fact;
use crate::model::facts::Possible;
use crate::program::Given;
use std::collections::{BTreeMap, BTreeSet};

/// The most classes the level may have.
const MOST_CLASSES: usize = 16_384;

/// What is known of make, model and engine.
pub(crate) type KnownTexts = [Option<String>; 3];

const FACTS: [Fact; 3] = [Fact::Make, Fact::Model, Fact::Engine];

/// What is given of make, model and engine.
pub(crate) fn known(given: &Given) -> KnownTexts {
    FACTS.map(|fact| match given.facts.get(fact) {
        Possible::Text(text) => text.clone(),
        _ => None,
    })
}

/// Those of make, model and engine that are not known.
pub(crate) fn unknown(given: &Given) -> impl Iterator<Item = Fact> {
    FACTS.into_iter().filter(|fact| !given.facts.is_settled(*fact))
}

/// Whether a condition does not speak against a text of a fact.
fn allows(unit: &Unit, fact: Fact, text: &str) -> bool {
    unit.iter().filter(|(asked, _, _)| *asked == fact).all(|(_, among, is)| among.iter().any(|one| one == text) == *is)
}

/// A text and for how many mentioned texts (and the rest) it stands.
fn texts(all: &[Unit], alive: &[usize], fact: Fact, known: Option<&String>) -> Vec<(String, u64)> {
    if let Some(text) = known {
        return vec![(text.clone(), 1)];
    }
    let mentioned = |units: &mut dyn Iterator<Item = &Unit>| -> BTreeSet<String> {
        let parts = units.flat_map(|unit| unit.iter()).filter(|(asked, _, _)| *asked == fact);
        parts.flat_map(|(_, among, _)| among.iter().cloned()).collect()
    };
    let everywhere = mentioned(&mut all.iter());
    let here = mentioned(&mut alive.iter().filter_map(|place| all.get(*place)));
    let rest = u64::try_from(everywhere.len() - here.len()).unwrap_or(0) + 1;
    let word = match fact {
        Fact::Make => "another make",
        Fact::Model => "another model",
        _ => "another engine",
    };
    std::iter::once((word.to_owned(), rest)).chain(here.into_iter().map(|text| (text, 1))).collect()
}

/// The classes: sets of conditions that hold together, each with sample texts.
///
/// # Errors
/// Where there are too many.
pub(crate) fn classes(units: &[Unit], known: &KnownTexts) -> Result<Vec<Class>, TooLarge> {
    let mut found: BTreeMap<Vec<usize>, (u64, [String; 3])> = BTreeMap::new();
    let everything: Vec<usize> = (0..units.len()).collect();
    let keep = |alive: &[usize], fact: Fact, text: &str| -> Vec<usize> {
        alive.iter().copied().filter(|place| units.get(*place).is_some_and(|unit| allows(unit, fact, text))).collect()
    };
    let [make_fact, model_fact, engine_fact] = FACTS;
    let [known_make, known_model, known_engine] = known;
    for (make, makes) in texts(units, &everything, make_fact, known_make.as_ref()) {
        let of_make = keep(&everything, make_fact, &make);
        for (model, models) in texts(units, &of_make, model_fact, known_model.as_ref()) {
            let of_model = keep(&of_make, model_fact, &model);
            for (engine, engines) in texts(units, &of_model, engine_fact, known_engine.as_ref()) {
                let holding = keep(&of_model, engine_fact, &engine);
                let sample = [make.clone(), model.clone(), engine];
                let size = makes.saturating_mul(models).saturating_mul(engines);
                let entry = found.entry(holding).or_insert((0, sample));
                entry.0 = entry.0.saturating_add(size);
                if found.len() > MOST_CLASSES {
                    return Err(TooLarge { nodes: MOST_CLASSES });
                }
            }
        }
    }
    let class = |(holding, (size, sample)): (Vec<usize>, (u64, [String; 3]))| Class {
        sample: Sample::Listed(sample),
        size,
        cost: if holding.is_empty() { 0 } else { 2 },
        members: Members::Units(holding),
    };
    Ok(found.into_iter().map(class).collect())
}

/// For each text of a fact that some condition names, and for every other text: the classes it leaves possible, beside
/// what is given of the other two.
pub(crate) fn masks_by_text(
    space: &super::space::Space,
    given: &Given,
    level: usize,
    fact: Fact,
) -> Vec<BTreeSet<usize>> {
    let units = &space.units;
    let everything: Vec<usize> = (0..units.len()).collect();
    let own = texts(units, &everything, fact, None);
    let mut masks = Vec::new();
    for (text, _) in own {
        let mut known = known(given);
        for (slot, listed) in known.iter_mut().zip(FACTS) {
            if listed == fact {
                *slot = Some(text.clone());
            }
        }
        let feasible = feasible(space, level, &known).into_iter().enumerate();
        let mask: BTreeSet<usize> = feasible.filter(|(_, possible)| *possible).map(|(place, _)| place).collect();
        if !mask.is_empty() {
            masks.push(mask);
        }
    }
    masks
}

/// For each class of the level: whether what is known of the three leaves it possible.
pub(crate) fn feasible(space: &super::space::Space, level: usize, known: &KnownTexts) -> Vec<bool> {
    if known.iter().all(Option::is_none) {
        return space.levels.get(level).map_or_else(Vec::new, |level| vec![true; level.classes.len()]);
    }
    // The classes were made with less known, so there are no more of them now.
    let possible: BTreeSet<Members> =
        classes(&space.units, known).unwrap_or_default().into_iter().map(|class| class.members).collect();
    let own = space.levels.get(level).into_iter().flat_map(|level| &level.classes);
    own.map(|class| possible.contains(&class.members)).collect()
}
