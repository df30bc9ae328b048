//! The fixed table of actions: what a person may do, what must hold first, what it changes. Nothing that waits, goes
//! elsewhere, or clears codes alone is in it, and nothing may be added that hides a fault. Effects on what is known of a
//! vehicle are written once here; the search and the forward simulator both use them.

use crate::model::exclusion::needs_an_answer;
use crate::model::facts::{Possible, Span, whole};
use crate::model::table::all_facts;
use crate::model::{CodeList, Fact, Monitor, MonitorState, Unit};
use crate::program::Given;

/// One thing a person can do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Action {
    /// Have the fault that the lamp or the codes tell of found and repaired; codes are cleared as part of that repair,
    /// which makes every supported monitor incomplete.
    RepairFault,
    /// Have the diagnostic connector repaired.
    RepairConnector,
    /// Have the fault found that keeps the vehicle from answering on its connector.
    RepairCommunication,
    /// Have the malfunction lamp (bulb, wiring) repaired, so that it lights with the key on.
    RepairLamp,
    /// Have the lamp's wiring repaired, so that it is dark with the engine running while it is not commanded on.
    RepairLampWiring,
    /// Drive until a monitor completes.
    DriveUntilComplete(Monitor),
    /// Drive until the number since clearing reaches this many base units.
    DriveUntil(Fact, i64),
}

/// Cost of one repair in minutes: more than any driving. A design figure that only ranks plans.
const REPAIR: u64 = 1_000_000;
/// Minutes for a monitor without advice. A design figure.
const WITHOUT_ADVICE: u64 = 60;
/// Minutes for one warm-up: a cold start and a drive until hot. A design figure.
const A_WARM_UP: u64 = 30;

/// Numbers since clearing that driving raises.
pub const RISING: [Fact; 3] = [Fact::WarmUps, Fact::DistanceSinceClear, Fact::MinutesSinceClear];

fn only(given: &Given, fact: Fact, word: &str) -> bool {
    given.facts.is_surely(fact, word)
}

/// The lists of codes that a reader tells.
pub(super) const CODES_NOW: [Fact; 3] = [Fact::StoredCodes, Fact::PendingCodes, Fact::PermanentCodes];

pub(super) fn holds_codes(given: &Given, list: Fact) -> bool {
    matches!(given.facts.get(list), Possible::Codes { list: Some(list), .. } if !list.codes.is_empty())
}

fn state(given: &Given, monitor: Monitor) -> u64 {
    match given.facts.get(Fact::Monitor(monitor)) {
        Possible::Words(mask) => *mask,
        _ => 0,
    }
}

fn span(given: &Given, fact: Fact) -> Option<Span> {
    match given.facts.get(fact) {
        Possible::Number(span) if !span.has_no_value() => Some(*span),
        _ => None,
    }
}

impl Action {
    /// The repairs, in the order in which a plan has them.
    pub const REPAIRS: [Action; 5] = [
        Action::RepairFault,
        Action::RepairConnector,
        Action::RepairCommunication,
        Action::RepairLamp,
        Action::RepairLampWiring,
    ];

    /// Whether it is a repair; a plan has its repairs first.
    #[must_use]
    pub fn is_repair(self) -> bool {
        !matches!(self, Action::DriveUntilComplete(_) | Action::DriveUntil(..))
    }

    /// Whether what must hold first holds of the vehicle.
    #[must_use]
    pub fn is_open(self, given: &Given) -> bool {
        match self {
            Action::RepairFault => {
                only(given, Fact::LampCommanded, "yes") || CODES_NOW.iter().any(|list| holds_codes(given, *list))
            }
            Action::RepairConnector => {
                ["missing", "tampered", "inoperable", "inaccessible"].iter().any(|w| only(given, Fact::Connector, w))
            }
            Action::RepairCommunication => only(given, Fact::Communication, "none"),
            Action::RepairLamp => only(given, Fact::LampLitKeyOn, "no"),
            Action::RepairLampWiring => {
                only(given, Fact::LampLitRunning, "yes") && only(given, Fact::LampCommanded, "no")
            }
            Action::DriveUntilComplete(monitor) => state(given, monitor) & MonitorState::Incomplete.bit() != 0,
            Action::DriveUntil(fact, number) => span(given, fact).is_some_and(|span| span.least < number),
        }
    }

    /// What it costs in minutes, to rank plans; `advice` gives the minutes a monitor usually takes, from and to.
    #[must_use]
    pub fn cost(self, given: &Given, advice: &dyn Fn(Monitor) -> Option<(i64, i64)>) -> u64 {
        match self {
            Action::DriveUntilComplete(monitor) => {
                advice(monitor).and_then(|(_, most)| u64::try_from(most).ok()).unwrap_or(WITHOUT_ADVICE).max(1)
            }
            Action::DriveUntil(fact, number) => {
                let missing = span(given, fact).map_or(0, |span| number.saturating_sub(span.least).max(0));
                let missing = u64::try_from(missing).unwrap_or(u64::MAX);
                match fact {
                    Fact::WarmUps => missing.saturating_mul(A_WARM_UP),
                    Fact::MinutesSinceClear => missing,
                    // At 60 km an hour: a minute a kilometre.
                    _ => missing.div_ceil(Unit::Kilometre.scale().unsigned_abs()),
                }
            }
            _ => REPAIR,
        }
    }

    /// What is known of the vehicle afterwards. Driving may raise every number since clearing by an unknown amount; other
    /// monitors may complete too, which a plan does not count on.
    #[must_use]
    pub fn after(self, given: &Given) -> Given {
        let mut next = given.clone();
        match self {
            Action::RepairFault => clear(&mut next),
            Action::RepairConnector => put_word(&mut next, Fact::Connector, "intact"),
            Action::RepairCommunication => answers(&mut next),
            Action::RepairLamp => put_word(&mut next, Fact::LampLitKeyOn, "yes"),
            Action::RepairLampWiring => lamp_goes_dark(&mut next),
            Action::DriveUntilComplete(monitor) => {
                let completed = completed(state(given, monitor));
                next.facts.put(Fact::Monitor(monitor), Possible::Words(completed));
                rolled(&mut next);
            }
            Action::DriveUntil(fact, number) => {
                RISING.iter().for_each(|other| rise(&mut next, *other, (*other == fact).then_some(number)));
            }
        }
        next
    }
}

fn put_word(given: &mut Given, fact: Fact, word: &str) {
    if let Some(bit) = fact.word_bit(word) {
        given.facts.put(fact, Possible::Words(bit));
    }
}

/// The vehicle answers: what only an answer tells is to be read, and not known until then.
fn answers(given: &mut Given) {
    put_word(given, Fact::Communication, "established");
    let unread = all_facts().filter(|fact| needs_an_answer(*fact).is_some());
    unread.for_each(|fact| given.facts.put(fact, whole(fact).clone()));
    // The rest of the vehicle was possible before, so something is left.
    let _ = given.facts.narrow();
}

/// What is given, with everything open that only an answer tells, where the vehicle does not answer.
pub(super) fn if_it_answered(given: &Given) -> Given {
    let mut open = given.clone();
    if Action::RepairCommunication.is_open(given) {
        answers(&mut open);
        put_word(&mut open, Fact::Communication, "none");
    }
    open
}

/// The lamp is dark with the engine running: where it was, or may have been, lit or flashing, it is so no longer.
fn lamp_goes_dark(given: &mut Given) {
    for fact in [Fact::LampLitRunning, Fact::LampFlashing] {
        let (Some(yes), Some(no)) = (fact.word_bit("yes"), fact.word_bit("no")) else { continue };
        if let Possible::Words(mask) = given.facts.get(fact)
            && mask & yes != 0
        {
            let left = (mask & !yes) | no;
            given.facts.put(fact, Possible::Words(left));
        }
    }
}

/// The states of a monitor after a drive until it completes: one that is not supported stays so.
pub(super) fn completed(mask: u64) -> u64 {
    match mask & MonitorState::Incomplete.bit() {
        0 => mask,
        incomplete => (mask & !incomplete) | MonitorState::Complete.bit(),
    }
}

/// The vehicle was driven, however far.
pub(super) fn rolled(given: &mut Given) {
    RISING.iter().for_each(|fact| rise(given, *fact, None));
}

/// A number since clearing rises: to at least `number`, or by an unknown amount.
fn rise(given: &mut Given, fact: Fact, number: Option<i64>) {
    if let (Some(now), Possible::Number(most)) = (span(given, fact), whole(fact)) {
        let least = number.map_or(now.least, |number| number.max(now.least));
        given.facts.put(fact, Possible::Number(Span { least, most: most.most.max(least), ..now }));
    }
}

/// Service $04 as part of a repair: stored and pending codes and the lamp go, every supported monitor is incomplete, the
/// numbers since clearing begin again. Permanent codes stay (digest of vehicle data, service $0A).
fn clear(given: &mut Given) {
    put_word(given, Fact::LampCommanded, "no");
    lamp_goes_dark(given);
    for list in [Fact::StoredCodes, Fact::PendingCodes] {
        if let Possible::Codes { may_be_absent, may_be_present: true, .. } = *given.facts.get(list) {
            let none = Some(CodeList::default());
            given.facts.put(list, Possible::Codes { list: none, may_be_absent, may_be_present: true });
        }
    }
    for monitor in Monitor::all() {
        let mask = state(given, monitor);
        let supported = MonitorState::Complete.bit() | MonitorState::Incomplete.bit();
        if mask & supported != 0 {
            let left = (mask & MonitorState::Unsupported.bit()) | MonitorState::Incomplete.bit();
            given.facts.put(Fact::Monitor(monitor), Possible::Words(left));
        }
    }
    for fact in RISING.into_iter().chain([Fact::DistanceSinceLamp, Fact::MinutesSinceLamp]) {
        if let Some(now) = span(given, fact) {
            given.facts.put(fact, Possible::Number(Span { least: 0, most: 0, ..now }));
        }
    }
}
