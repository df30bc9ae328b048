//! Topics that inspection programs deal with.

use super::{Explained, Kind, Known};
use crate::program::Topic;

pub(super) const KIND: Kind = Kind { word: "topic", names, explain };

fn names() -> Vec<String> {
    Topic::ALL.iter().map(|(_, word)| (*word).to_owned()).collect()
}

/// What a topic is about, and what a person can do with it.
fn told(topic: Topic) -> (&'static str, &'static str) {
    match topic {
        Topic::Connector => (
            "the socket that a reader is plugged into, the diagnostic connector (DLC, SAE J1962): missing, damaged, tampered \
             with or out of reach, no test can be made through it",
            "look below the dashboard on the driver's side; damage is repaired before the visit",
        ),
        Topic::Communication => (
            "whether the vehicle answers a reader on its connector",
            "a fuse, a radio or a dead controller often keeps a vehicle from answering; a qualified person finds which",
        ),
        Topic::Identity => (
            "whether the vehicle that answers is the one on the papers: the VIN, calibration numbers, which readiness \
             monitors it supports",
            "have papers and vehicle agree; a replaced controller may need its VIN written by the maker's procedure",
        ),
        Topic::BulbCheck => (
            "whether the malfunction lamp (MIL) lights with the key on and the engine off (KOEO): a lamp that cannot light \
             cannot warn",
            "look before cranking; a lamp that stays dark is repaired",
        ),
        Topic::Lamp => (
            "the malfunction lamp (MIL): whether the vehicle commands it on, and whether it is lit with the engine running",
            "a lamp that is on tells of a fault: have it found and repaired; clearing codes only hides it",
        ),
        Topic::StoredCodes => (
            "stored (confirmed) trouble codes (DTC): faults that were seen again and lit the lamp, or would",
            "have the fault found and repaired; codes are cleared as part of that repair",
        ),
        Topic::PendingCodes => (
            "pending trouble codes (DTC): faults seen once, not yet confirmed",
            "most programs do not fail a vehicle for them; they tell where a stored code may come from",
        ),
        Topic::PermanentCodes => (
            "permanent trouble codes (DTC): they cannot be cleared with a scan tool; the vehicle erases one itself once its own \
             monitor has run and found the fault gone",
            "after the repair drive until the monitor concerned has run; nothing else erases them",
        ),
        Topic::SinceClearing => (
            "how long ago codes were cleared: warm-ups, distance, engine time; a recent clear hides what a test looks for",
            "drive ordinarily for some days, with cold starts, before the visit",
        ),
        Topic::Readiness => (
            "readiness: how many monitors may be incomplete (not ready), by model year and fuel; an incomplete monitor has not \
             finished since codes were cleared, so that nobody can tell whether it would find a fault",
            "drive until they complete; `wherefore next` tells which are worth it here",
        ),
        Topic::ReadinessAtRetest => (
            "readiness at a test that follows a failed one: often stricter, as the monitor of the repaired part must have run",
            "drive until the monitor that found the fault has completed, then return",
        ),
        Topic::Other => ("anything else that a program asks for", "read the clause"),
    }
}

/// What people say for a topic.
fn alias(name: &str) -> Option<&'static str> {
    Some(match name {
        "mil" | "check engine light" | "check-engine light" | "check engine" | "malfunction lamp" => "lamp",
        "ready" | "not ready" | "incomplete" | "complete" => "readiness",
        "dlc" | "obd port" | "obd connector" => "connector",
        "dtc" | "code" | "codes" | "trouble code" | "trouble codes" => "stored-codes",
        _ => return None,
    })
}

fn explain(name: &str, _: Known<'_>) -> Option<Explained> {
    let name = alias(name).map_or_else(|| name.replace(' ', "-"), str::to_owned);
    let (topic, word) = Topic::ALL.into_iter().find(|(_, word)| *word == name)?;
    let (what, to_do) = told(topic);
    Some(Explained::of_practice(KIND, word, what, &[("to do", to_do)]))
}
