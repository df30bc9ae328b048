//! What the words of a column's name point at, and what people write for states, classes and yes and no. Common practice
//! in naming, not any one file's.

/// Words of a name with the key they point at. All of a row's words must stand in the name; longer rows come first, and the
/// first that fits is taken.
const HINTS: &[(&[&str], &str)] = &[
    (&["exhaust", "gas", "sensor"], "monitors.exhaust-gas-sensor"),
    (&["pid", "01"], "pid-01"),
    (&["model", "year"], "vehicle.model_year"),
    (&["gross", "weight"], "vehicle.gross_weight_lb"),
    (&["first", "registered"], "vehicle.first_registered"),
    (&["test", "date"], "visit.date"),
    (&["visit", "date"], "visit.date"),
    (&["inspection", "date"], "visit.date"),
    (&["visit", "kind"], "visit.kind"),
    (&["test", "type"], "visit.kind"),
    (&["vin", "match"], "link.vin_matches"),
    (&["lamp", "key"], "lamp.lit_key_on_engine_off"),
    (&["lamp", "running"], "lamp.lit_engine_running"),
    (&["lamp", "flashing"], "lamp.flashing"),
    (&["warm", "ups"], "since_clear.warm_ups"),
    (&["distance", "clear"], "since_clear.distance_km"),
    (&["km", "clear"], "since_clear.distance_km"),
    (&["minutes", "clear"], "since_clear.minutes"),
    (&["inspection", "number"], "record-id"),
    (&["test", "number"], "record-id"),
    (&["overall", "result"], "overall-result"),
    (&["final", "result"], "overall-result"),
    (&["pid01"], "pid-01"),
    (&["modelyear"], "vehicle.model_year"),
    (&["my"], "vehicle.model_year"),
    (&["year"], "vehicle.model_year"),
    (&["fuel"], "vehicle.fuel"),
    (&["gvwr"], "vehicle.gross_weight_lb"),
    (&["weight"], "vehicle.gross_weight_lb"),
    (&["class"], "vehicle.class"),
    (&["hybrid"], "vehicle.hybrid"),
    (&["make"], "vehicle.make"),
    (&["model"], "vehicle.model"),
    (&["ignition"], "vehicle.ignition"),
    (&["tested"], "visit.date"),
    (&["date"], "visit.date"),
    (&["retest"], "visit.kind"),
    (&["visit"], "visit.kind"),
    (&["county"], "visit.area"),
    (&["area"], "visit.area"),
    (&["odometer"], "visit.odometer_km"),
    (&["connector"], "connector"),
    (&["communication"], "communication"),
    (&["communicates"], "communication"),
    (&["comm"], "communication"),
    (&["answers"], "communication"),
    (&["bulb"], "lamp.lit_key_on_engine_off"),
    (&["koeo"], "lamp.lit_key_on_engine_off"),
    (&["koer"], "lamp.lit_engine_running"),
    (&["lamp"], "lamp.commanded"),
    (&["mil"], "lamp.commanded"),
    (&["pending"], "codes.pending"),
    (&["permanent"], "codes.permanent"),
    (&["stored"], "codes.stored"),
    (&["codes"], "codes.stored"),
    (&["dtc"], "codes.stored"),
    (&["dtcs"], "codes.stored"),
    (&["warmups"], "since_clear.warm_ups"),
    (&["result"], "recorded-result"),
    (&["outcome"], "recorded-result"),
    (&["program"], "program"),
    (&["record"], "record-id"),
    (&["id"], "record-id"),
];

/// The same for monitors, in names that stand in a row with others of one beginning (`OBD_RDY_CAT`), or alone.
const MONITORS: &[(&[&str], &str)] = &[
    (&["heated", "catalyst"], "monitors.heated-catalyst"),
    (&["secondary", "air"], "monitors.secondary-air"),
    (&["air", "conditioning"], "monitors.air-conditioning"),
    (&["oxygen", "heater"], "monitors.oxygen-sensor-heater"),
    (&["fuel", "system"], "monitors.fuel-system"),
    (&["misfire"], "monitors.misfire"),
    (&["fuel"], "monitors.fuel-system"),
    (&["components"], "monitors.components"),
    (&["nmhc"], "monitors.nmhc-catalyst"),
    (&["nox"], "monitors.nox-aftertreatment"),
    (&["boost"], "monitors.boost-pressure"),
    (&["particulate"], "monitors.particulate-filter"),
    (&["catalyst"], "monitors.catalyst"),
    (&["evaporative"], "monitors.evaporative"),
    (&["heater"], "monitors.oxygen-sensor-heater"),
    (&["oxygen"], "monitors.oxygen-sensor"),
    (&["egr"], "monitors.egr-vvt"),
];

/// Short forms and what they stand for.
const SHORT: &[(&str, &str)] = &[
    ("cat", "catalyst"),
    ("evap", "evaporative"),
    ("sec", "secondary"),
    ("cond", "conditioning"),
    ("o2", "oxygen"),
    ("o2s", "oxygen"),
    ("htr", "heater"),
    ("htd", "heated"),
    ("component", "components"),
    ("ccm", "components"),
    ("insp", "inspection"),
    ("num", "number"),
    ("no", "number"),
    ("odo", "odometer"),
    ("odom", "odometer"),
    ("yr", "year"),
    ("registration", "registered"),
    ("warmup", "warmups"),
];

/// Words beside a single word that do not change what it points at.
const NEUTRAL: &[&str] = &[
    "veh",
    "vehicle",
    "car",
    "obd",
    "obd2",
    "obdii",
    "test",
    "inspection",
    "type",
    "code",
    "name",
    "cd",
    "number",
    "status",
    "cmd",
    "commanded",
    "on",
    "of",
    "the",
    "is",
    "time",
    "kind",
    "lb",
    "lbs",
    "kg",
    "km",
    "miles",
    "key",
    "reading",
    "mil",
];

/// Words by which a date is another than the test's.
const OTHER_DATES: &[&str] =
    &["insert", "update", "updated", "created", "due", "expires", "expiration", "birth", "print", "sold", "issue"];

pub(super) const CLASS_WORDS: [(&str, &str); 10] = [
    ("p", "pass"),
    ("pass", "pass"),
    ("passed", "pass"),
    ("f", "fail"),
    ("fail", "fail"),
    ("failed", "fail"),
    ("r", "reject"),
    ("reject", "reject"),
    ("rejected", "reject"),
    ("not-subject", "not-subject"),
];
/// Words people write for the states of a monitor. A bare `n` is left out: not ready, not supported, or no.
pub(super) const MONITOR_WORDS: [(&str, &str); 18] = [
    ("complete", "complete"),
    ("c", "complete"),
    ("ready", "complete"),
    ("rdy", "complete"),
    ("r", "complete"),
    ("incomplete", "incomplete"),
    ("i", "incomplete"),
    ("not ready", "incomplete"),
    ("not rdy", "incomplete"),
    ("not complete", "incomplete"),
    ("nr", "incomplete"),
    ("unsupported", "unsupported"),
    ("u", "unsupported"),
    ("not supported", "unsupported"),
    ("ns", "unsupported"),
    ("n/a", "unsupported"),
    ("na", "unsupported"),
    ("not applicable", "unsupported"),
];
pub(super) const NONE_WORDS: [&str; 5] = ["none", "-", "no", "nil", "0"];
pub(super) const ABSENT_WORDS: [&str; 5] = ["not fitted", "n/a", "not supported", "not applicable", "unsupported"];
pub(super) const YES_WORDS: [&str; 6] = ["y", "yes", "true", "t", "1", "on"];
pub(super) const NO_WORDS: [&str; 6] = ["n", "no", "false", "f", "0", "off"];

/// Units as names of columns say them.
const UNITS: [(&str, &str); 9] = [
    ("km", "km"),
    ("kms", "km"),
    ("miles", "miles"),
    ("mi", "miles"),
    ("lb", "lb"),
    ("lbs", "lb"),
    ("kg", "kg"),
    ("minutes", "minutes"),
    ("hours", "hours"),
];

/// The words of a name: runs of letters and digits, in lower case, parted also where `modelYear` begins a capital; short
/// forms stand for what they are short for, and `sdate` for a date.
pub(super) fn words_of(name: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let (mut fresh, mut lower) = (true, false);
    for c in name.chars() {
        if !c.is_alphanumeric() {
            (fresh, lower) = (true, false);
            continue;
        }
        if fresh || (lower && c.is_uppercase()) {
            words.push(String::new());
        }
        (fresh, lower) = (false, c.is_lowercase());
        if let Some(word) = words.last_mut() {
            word.extend(c.to_lowercase());
        }
    }
    for word in &mut words {
        if let Some((_, whole)) = SHORT.iter().find(|(short, _)| short == word) {
            (*whole).clone_into(word);
        } else if word.len() > 4 && word.ends_with("date") && !OTHER_DATES.contains(&word.as_str()) {
            "date".clone_into(word);
        }
    }
    words
}

/// What a name points at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Hint {
    pub(super) key: &'static str,
    /// The more words point at it, the surer.
    pub(super) weight: usize,
    /// Place in the name of the first word that does.
    pub(super) first: usize,
}

fn hint(rows: &[(&[&str], &'static str)], words: &[String]) -> Option<Hint> {
    let place = |wanted: &&str| words.iter().position(|word| word == wanted);
    rows.iter().find_map(|(all, key)| {
        let places: Option<Vec<usize>> = all.iter().map(&place).collect();
        Some(Hint { key, weight: all.len(), first: *places?.iter().min()? })
    })
}

/// The monitor that a name points at.
pub(super) fn monitor(words: &[String]) -> Option<Hint> {
    hint(MONITORS, words)
}

/// What else a name points at. A single word does so only beside words that change nothing.
pub(super) fn other(words: &[String]) -> Option<Hint> {
    let found = hint(HINTS, words)?;
    let is_other_date = found.key == "visit.date" && words.iter().any(|word| OTHER_DATES.contains(&word.as_str()));
    let beside = words.iter().enumerate().filter(|(at, _)| *at != found.first);
    let is_plain = found.weight > 1 || beside.into_iter().all(|(_, word)| NEUTRAL.contains(&word.as_str()));
    let is_test_year =
        found.weight == 1 && found.key == "vehicle.model_year" && words.iter().any(|word| word == "test");
    (is_plain && !is_other_date && !is_test_year).then_some(found)
}

/// The unit that a name says.
pub(super) fn unit(words: &[String]) -> Option<&'static str> {
    UNITS.iter().find(|(word, _)| words.iter().any(|known| known == word)).map(|(_, unit)| *unit)
}

pub(super) fn among(words: &[(&'static str, &'static str)], value: &str) -> Option<&'static str> {
    let value = value.to_lowercase();
    words.iter().find(|(word, _)| *word == value).map(|(_, meaning)| *meaning)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice in naming: a year beside *test* is the year of the test, not the vehicle's, unless the name says so.
    #[test]
    fn the_year_of_a_test_is_not_the_vehicles() {
        let key = |name: &str| other(&name.split(' ').map(str::to_owned).collect::<Vec<_>>()).map(|hint| hint.key);
        for name in ["year", "vehicle year", "model year", "model year test", "test model year"] {
            assert_eq!(key(name), Some("vehicle.model_year"), "{name}");
        }
        for name in ["test year", "year test", "year of test", "sales year"] {
            assert_eq!(key(name), None, "{name}");
        }
        assert_eq!(key("test date"), Some("visit.date"));
        assert_eq!(key("test fuel"), Some("vehicle.fuel"));
    }
}
