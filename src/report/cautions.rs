//! The cautions that fit a ruling and what is to be done, each once.

use crate::analysis::next::Action;
use crate::ruling::Ruling;
use crate::wording::plan::{self, Told};

const AIR: &str = "Carbon monoxide kills: run no engine in a closed space.";
const HOT: &str = "Keep clear of hot and moving parts.";
const TRAFFIC: &str = "Obey traffic law; let a passenger watch the scan tool.";
const CLEARING: &str = "Clear codes only with a repair, and leave the battery connected: else all monitors start again, and clearing hides faults.";
const OFFICIAL: &str = "The official inspection decides; it checks more than this.";

/// The cautions that fit.
pub(super) fn cautions(ruling: &Ruling, told: Option<&Told<'_>>) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    if let Some(lamp) = &ruling.lamp {
        list.push(lamp.caution.to_owned());
        list.extend(lamp.says.map(str::to_owned));
    }
    let actions: Vec<Action> = told.map(plan::actions).unwrap_or_default();
    let is_repair = actions.iter().any(|action| action.is_repair());
    let is_drive = actions.iter().any(|action| !action.is_repair());
    if is_repair || is_drive {
        list.extend([CLEARING, AIR].map(str::to_owned));
    }
    if is_repair {
        list.push(HOT.to_owned());
    }
    if is_drive {
        list.push(TRAFFIC.to_owned());
        list.extend(told.map(plan::own_cautions).unwrap_or_default());
    }
    if told.is_none() {
        list.extend(ruling.cautions.iter().map(|caution| (*caution).to_owned()));
    }
    if !list.iter().any(|caution| caution.starts_with("The official inspection decides")) {
        list.push(OFFICIAL.to_owned());
    }
    let mut once: Vec<String> = Vec::new();
    for caution in list {
        let about = plan::subject(&caution);
        let is_told = |known: &String| *known == caution || (about.is_some() && plan::subject(known) == about);
        if !once.iter().any(is_told) {
            once.push(caution);
        }
    }
    once
}
