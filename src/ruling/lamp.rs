//! The malfunction lamp: whatever a program says of it, a person whose lamp is on or flashes is told what that means.

use crate::evaluate::{Evaluation, LineState, Walk};
use crate::model::Fact;
use crate::model::facts::Possible;
use crate::program::Topic;

/// A flashing lamp: 40 CFR 86.1806-05(d)(1) has it blink once a second where misfire can damage the catalyst.
const FLASHES: &str = "A lamp that flashes tells of misfire that can ruin the catalyst (40 CFR 86.1806-05(d)(1)): drive no \
                       further than you must, gently, and have it repaired first.";
const COMMANDED: &str = "The vehicle commands its malfunction lamp on: it has found a fault. Have it found and repaired, \
                         whatever this inspection asks.";
const LIT: &str = "The malfunction lamp is lit with the engine running: have the fault found and repaired, whatever this \
                   inspection asks.";

/// A lamp that is on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LampShown {
    /// What it means for the vehicle.
    pub caution: &'static str,
    /// What the program has to do with it, where it does not decide the outcome.
    pub says: Option<&'static str>,
}

fn is(walk: &Walk<'_>, fact: Fact, word: &str) -> bool {
    fact.word_bit(word).is_some_and(|bit| *walk.given().facts.get(fact) == Possible::Words(bit))
}

/// The lamp, if it is surely on.
pub(super) fn shown(walk: &Walk<'_>, evaluation: &Evaluation) -> Option<LampShown> {
    let caution = if is(walk, Fact::LampFlashing, "yes") {
        FLASHES
    } else if is(walk, Fact::LampCommanded, "yes") {
        COMMANDED
    } else if is(walk, Fact::LampLitRunning, "yes") {
        LIT
    } else {
        return None;
    };
    Some(LampShown { caution, says: says(walk, evaluation) })
}

fn says(walk: &Walk<'_>, evaluation: &Evaluation) -> Option<&'static str> {
    let flat = walk.flat();
    let on_lamp = || flat.lines.iter().zip(&evaluation.lines).filter(|(line, _)| line.topic == Topic::Lamp);
    let stands = |state: &LineState| {
        matches!(state, LineState::Unmet | LineState::SetAside { .. } | LineState::Undetermined { .. })
    };
    if on_lamp().any(|(_, record)| stands(&record.state)) {
        return None;
    }
    let silences =
        || flat.silences.iter().filter(|it| it.topic == Topic::Lamp && !walk.truth(&it.condition).is_false());
    Some(if !flat.in_force.is_yes() {
        "No text on the lamp is in force here."
    } else if silences().any(|silence| silence.unread) {
        "The program's text on the lamp was not seen, so that this ruling leaves the lamp out."
    } else if silences().next().is_some() {
        "So far as is known, the program has no rule on the lamp; the outcome does not rest on it."
    } else {
        "What the program says of the lamp does not decide here."
    })
}
