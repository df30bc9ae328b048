//! Short forms that the trade uses for words of the vocabulary: `gas`, `EVAP`, `O2 sensor`, `not ready`. A person may type
//! them; documents and programs have the words themselves.

use super::{Fact, Monitor, MonitorState, spec};

/// Short forms of monitors. OBD texts write them so (40 CFR 85.2207, SAE J1979 as the digest transcribes it).
const MONITORS: [(&str, &str); 31] = [
    ("evap", "evaporative"),
    ("evaporative system", "evaporative"),
    ("evap system", "evaporative"),
    ("cat", "catalyst"),
    ("catalytic converter", "catalyst"),
    ("heated cat", "heated-catalyst"),
    ("o2", "oxygen-sensor"),
    ("o2 sensor", "oxygen-sensor"),
    ("o2s", "oxygen-sensor"),
    ("oxygen sensors", "oxygen-sensor"),
    ("o2 heater", "oxygen-sensor-heater"),
    ("o2 sensor heater", "oxygen-sensor-heater"),
    ("oxygen heater", "oxygen-sensor-heater"),
    ("egr", "egr-vvt"),
    ("vvt", "egr-vvt"),
    ("egr system", "egr-vvt"),
    ("egr/vvt", "egr-vvt"),
    ("secondary air injection", "secondary-air"),
    ("air pump", "secondary-air"),
    ("ac", "air-conditioning"),
    ("a/c", "air-conditioning"),
    ("fuel", "fuel-system"),
    ("ccm", "components"),
    ("comprehensive component", "components"),
    ("comprehensive components", "components"),
    ("dpf", "particulate-filter"),
    ("pm filter", "particulate-filter"),
    ("filter", "particulate-filter"),
    ("nox", "nox-aftertreatment"),
    ("scr", "nox-aftertreatment"),
    ("boost", "boost-pressure"),
];

/// Short forms of the words of facts.
const WORDS: [(Fact, &str, &str); 15] = [
    (Fact::Fuel, "gas", "gasoline"),
    (Fact::Fuel, "petrol", "gasoline"),
    (Fact::Fuel, "cng", "natural-gas"),
    (Fact::Fuel, "lpg", "propane"),
    (Fact::Fuel, "e85", "ethanol"),
    (Fact::Fuel, "ev", "electric"),
    (Fact::Connector, "ok", "intact"),
    (Fact::Connector, "good", "intact"),
    (Fact::Connector, "blocked", "inaccessible"),
    (Fact::Visit, "first", "initial"),
    (Fact::Visit, "first test", "initial"),
    (Fact::Visit, "repeat", "retest"),
    (Fact::Purpose, "registration", "first-registration"),
    (Fact::Ignition, "petrol", "spark"),
    (Fact::Ignition, "diesel", "compression"),
];

/// Short forms of classes, each with the words that the vocabulary may have for it.
const CLASSES: [(&str, [&str; 2]); 10] = [
    ("car", ["light-duty", "passenger-car"]),
    ("passenger car", ["light-duty", "passenger-car"]),
    ("passenger-car", ["light-duty", "passenger-car"]),
    ("light-duty vehicle", ["light-duty", "passenger-car"]),
    ("ldv", ["light-duty", "passenger-car"]),
    ("truck", ["light-truck", "light-duty-truck"]),
    ("pickup", ["light-truck", "light-duty-truck"]),
    ("light-duty truck", ["light-truck", "light-duty-truck"]),
    ("ldt", ["light-truck", "light-duty-truck"]),
    ("rv", ["motor-home", "motor-home"]),
];

/// Short forms of the states of monitors.
const STATES: [(&str, MonitorState); 10] = [
    ("ready", MonitorState::Complete),
    ("rdy", MonitorState::Complete),
    ("not ready", MonitorState::Incomplete),
    ("not rdy", MonitorState::Incomplete),
    ("inc", MonitorState::Incomplete),
    ("not complete", MonitorState::Incomplete),
    ("n/a", MonitorState::Unsupported),
    ("na", MonitorState::Unsupported),
    ("not supported", MonitorState::Unsupported),
    ("not fitted", MonitorState::Unsupported),
];

/// A text as it is compared: small letters, `_` and several blanks as one blank.
fn plain(text: &str) -> String {
    text.to_lowercase().replace('_', " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The word of a fact that a short form stands for; `on` and `off` are yes and no. `None` where it is no short form of it.
#[must_use]
pub fn word(fact: Fact, typed: &str) -> Option<&'static str> {
    let typed = plain(typed);
    let known = |word: &str| fact.words().iter().find(|known| **known == word).copied();
    match (fact, spec(fact).kind) {
        (Fact::Monitor(_), _) => {
            let state = STATES.iter().find(|(short, _)| *short == typed).map(|(_, state)| *state)?;
            MonitorState::WORDS.into_iter().find(|word| fact.word_bit(word) == Some(state.bit()))
        }
        (Fact::LampCommanded | Fact::LampLitKeyOn | Fact::LampLitRunning, _) => match typed.as_str() {
            "on" | "lit" => known("yes"),
            "off" | "dark" => known("no"),
            _ => None,
        },
        (Fact::Class, _) => {
            let words = CLASSES.iter().find(|(short, _)| *short == typed).map(|(_, words)| words)?;
            words.iter().find_map(|word| known(word))
        }
        (fact, _) => {
            let of = if fact == Fact::FuelInUse { Fact::Fuel } else { fact };
            let hit = WORDS.iter().find(|(known, short, _)| *known == of && *short == typed);
            hit.and_then(|(_, _, word)| known(word))
        }
    }
}

/// The monitor that a short form, or its name with blanks, stands for.
#[must_use]
pub fn monitor(typed: &str) -> Option<Monitor> {
    let typed = plain(typed);
    let typed = typed.strip_suffix(" monitor").unwrap_or(&typed);
    let short = MONITORS.iter().find(|(short, _)| *short == typed).and_then(|(_, name)| Monitor::named(name));
    short.or_else(|| Monitor::named(&typed.replace(' ', "-")))
}

/// A list of monitors with their states, the states of several words as one word: `evap not ready` as `evap incomplete`.
#[must_use]
pub fn states_in_a_word(typed: &str) -> String {
    let mut text = plain(typed);
    for (short, state) in STATES.iter().filter(|(short, _)| short.contains(' ')) {
        let word = MonitorState::WORDS.into_iter().find(|word| state_bit(word) == Some(state.bit()));
        text = text.replace(short, word.unwrap_or(short));
    }
    text
}

fn state_bit(word: &str) -> Option<u64> {
    Fact::Monitor(Monitor::Misfire).word_bit(word)
}

#[cfg(test)]
mod tests {
    use super::{CLASSES, MONITORS, WORDS, monitor, word};
    use crate::model::{Fact, Monitor};

    #[test]
    fn every_short_form_names_a_word_that_there_is() {
        for (short, name) in MONITORS {
            assert_eq!(monitor(short).map(Monitor::name), Some(name), "{short}");
        }
        for (fact, short, long) in WORDS {
            assert_eq!(word(fact, short), Some(long), "{short}");
        }
        for (short, _) in CLASSES {
            assert!(word(Fact::Class, short).is_some(), "{short}");
        }
        // States as users write them; memory of the trade's words.
        let evap = Fact::Monitor(Monitor::Evaporative);
        assert_eq!(word(evap, "Not Ready"), Some("incomplete"));
        assert_eq!(word(evap, "ready"), Some("complete"));
        assert_eq!(word(Fact::LampCommanded, "off"), Some("no"));
        assert_eq!(monitor("Oxygen Sensor"), Some(Monitor::OxygenSensor));
        assert_eq!(super::states_in_a_word("EVAP not ready, others ready"), "evap incomplete, others ready");
        assert_eq!((word(Fact::Fuel, "coal"), monitor("tyre")), (None, None));
    }
}
