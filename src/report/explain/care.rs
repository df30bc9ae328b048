//! Engines that seldom run: how their vehicles stay ready, not only how they get ready. Common practice of the trade; no
//! maker's procedure is told, and none is made up.

use super::{Explained, Kind, Known};

pub(super) const KIND: Kind = Kind { word: "care", names, explain };

/// A kind of vehicle: its name, what is said of it, how it stays ready, how it gets ready, other names.
struct Care {
    name: &'static str,
    other: &'static [&'static str],
    what: &'static str,
    stays: &'static str,
    gets: &'static str,
    beware: &'static str,
}

const CARES: [Care; 3] = [
    Care {
        name: "plug-in-hybrid",
        other: &["plug-in", "phev"],
        what: "its engine may not run for weeks, so that monitors which were reset stay incomplete, and some never run on \
               short electric trips",
        stays: "let the engine run to full warmth every week or two, from cold, on a drive of half an hour or more; keep the \
                small battery charged and connected; have codes cleared only as part of a repair",
        gets: "hold or use up the charge, so that the engine runs, and drive on several days with a cold start each",
        beware: "the engine may start by itself at any time: never leave the vehicle switched on in a closed space",
    },
    Care {
        name: "range-extender",
        other: &["rex", "range extender"],
        what: "its engine runs only when the battery is nearly empty, often for a few minutes at one speed, which few monitors \
               can use",
        stays: "use the mode that runs the engine, where the maker gives one, for a whole warm drive every few weeks; many \
                have a maintenance run of their own, which must not be broken off",
        gets: "begin with the battery low, and drive until the engine has been fully warm, several times from cold",
        beware: "the engine may start by itself at any time: never leave the vehicle switched on in a closed space",
    },
    Care {
        name: "stored-vehicle",
        other: &["seldom-driven", "stored vehicle", "storage"],
        what: "a flat or disconnected battery resets the monitors, and a vehicle that never drives cannot complete them",
        stays: "keep the battery charged with a maintainer rather than disconnecting it; drive it warm, on the road, once a \
                month where the law lets you; keep the tank between a quarter and three quarters",
        gets: "after storage allow some days of ordinary mixed driving, with cold nights between, before a visit",
        beware: "idling in a garage completes next to nothing, and exhaust in a closed space kills",
    },
];

fn names() -> Vec<String> {
    CARES.iter().map(|care| care.name.to_owned()).collect()
}

fn explain(name: &str, _: Known<'_>) -> Option<Explained> {
    let care = CARES.iter().find(|care| care.name == name || care.other.contains(&name))?;
    let more = [("stays ready", care.stays), ("gets ready", care.gets), ("caution", care.beware)];
    Some(Explained::of_practice(KIND, care.name, care.what, &more))
}
