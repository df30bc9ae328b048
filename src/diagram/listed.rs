//! Make, model and engine as one derived level: its classes are the sets of conditions on the three that can hold
//! together, so that a table of 200 rows costs about 200 classes and never a product of makes and models.

use super::cuts::Unit;
use super::forest::TooLarge;
use super::level::{Class, Members, Sample};
use crate::model::Fact;
use std::collections::{BTreeMap, BTreeSet};

/// The most classes the level may have.
const MOST_CLASSES: usize = 16_384;

/// What is known of make, model and engine.
pub(super) type KnownTexts = [Option<String>; 3];

const FACTS: [Fact; 3] = [Fact::Make, Fact::Model, Fact::Engine];

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
pub(super) fn classes(units: &[Unit], known: &KnownTexts) -> Result<Vec<Class>, TooLarge> {
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

/// For each text of a fact that some condition names, and for every other text: the classes it leaves possible.
pub(super) fn masks_by_text(space: &super::space::Space, level: usize, fact: Fact) -> Vec<BTreeSet<usize>> {
    let units = &space.units;
    let everything: Vec<usize> = (0..units.len()).collect();
    let own = texts(units, &everything, fact, None);
    let holds: Vec<&Vec<usize>> = space
        .levels
        .get(level)
        .into_iter()
        .flat_map(|level| &level.classes)
        .map(|class| match &class.members {
            Members::Units(holding) => holding,
            _ => const { &Vec::new() },
        })
        .collect();
    let mut masks = Vec::new();
    for (text, _) in own {
        let mut known: KnownTexts = [None, None, None];
        for (slot, listed) in known.iter_mut().zip(FACTS) {
            if listed == fact {
                *slot = Some(text.clone());
            }
        }
        let Ok(classes) = classes(units, &known) else {
            continue;
        };
        let possible: BTreeSet<Vec<usize>> = classes
            .into_iter()
            .filter_map(|class| match class.members {
                Members::Units(holding) => Some(holding),
                _ => None,
            })
            .collect();
        let places = holds.iter().enumerate().filter(|(_, holding)| possible.contains(**holding));
        let mask: BTreeSet<usize> = places.map(|(place, _)| place).collect();
        if !mask.is_empty() {
            masks.push(mask);
        }
    }
    masks
}
