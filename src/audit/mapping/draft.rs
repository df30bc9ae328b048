//! A first draft of a mapping file from the names of the columns and the first rows. It is always a mapping file that can
//! be read; every guess is marked as one, and what could not be guessed is left as a comment with the values seen.

use super::{DateForm, FORMAT, status_bytes};
use crate::model::{Fact, FactType, MonitorState, spec, table};
use std::collections::BTreeSet;
use std::fmt::Write;

/// A column as the draft sees it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sample {
    /// Its name.
    pub name: String,
    /// Texts of the first rows.
    pub fields: Vec<String>,
}

/// The most values of a column that the draft shows.
const SHOWN: usize = 12;

/// Words of a column's name with the fact they point at. All of a row's words must stand in the name; the first row that
/// fits is taken, so longer ones come first. Common practice in naming, not any one file's.
const HINTS: &[(&[&str], &str)] = &[
    (&["pid", "01"], "pid-01"),
    (&["pid01"], "pid-01"),
    (&["model", "year"], "vehicle.model_year"),
    (&["modelyear"], "vehicle.model_year"),
    (&["my"], "vehicle.model_year"),
    (&["year"], "vehicle.model_year"),
    (&["fuel", "system"], "monitors.fuel-system"),
    (&["fuel"], "vehicle.fuel"),
    (&["gross", "weight"], "vehicle.gross_weight_lb"),
    (&["gvwr"], "vehicle.gross_weight_lb"),
    (&["weight"], "vehicle.gross_weight_lb"),
    (&["class"], "vehicle.class"),
    (&["hybrid"], "vehicle.hybrid"),
    (&["make"], "vehicle.make"),
    (&["model"], "vehicle.model"),
    (&["first", "registered"], "vehicle.first_registered"),
    (&["ignition"], "vehicle.ignition"),
    (&["test", "date"], "visit.date"),
    (&["visit", "date"], "visit.date"),
    (&["inspection", "date"], "visit.date"),
    (&["date"], "visit.date"),
    (&["retest"], "visit.kind"),
    (&["visit", "kind"], "visit.kind"),
    (&["test", "type"], "visit.kind"),
    (&["tested"], "visit.date"),
    (&["visit"], "visit.kind"),
    (&["county"], "visit.area"),
    (&["area"], "visit.area"),
    (&["odometer"], "visit.odometer_km"),
    (&["connector"], "connector"),
    (&["communication"], "communication"),
    (&["comm"], "communication"),
    (&["answers"], "communication"),
    (&["vin", "match"], "link.vin_matches"),
    (&["lamp", "key"], "lamp.lit_key_on_engine_off"),
    (&["bulb"], "lamp.lit_key_on_engine_off"),
    (&["lamp", "running"], "lamp.lit_engine_running"),
    (&["lamp", "flashing"], "lamp.flashing"),
    (&["lamp"], "lamp.commanded"),
    (&["mil"], "lamp.commanded"),
    (&["pending"], "codes.pending"),
    (&["permanent"], "codes.permanent"),
    (&["stored"], "codes.stored"),
    (&["codes"], "codes.stored"),
    (&["dtc"], "codes.stored"),
    (&["dtcs"], "codes.stored"),
    (&["warm", "ups"], "since_clear.warm_ups"),
    (&["warmups"], "since_clear.warm_ups"),
    (&["distance", "clear"], "since_clear.distance_km"),
    (&["km", "clear"], "since_clear.distance_km"),
    (&["minutes", "clear"], "since_clear.minutes"),
    (&["misfire"], "monitors.misfire"),
    (&["components"], "monitors.components"),
    (&["heated", "catalyst"], "monitors.heated-catalyst"),
    (&["nmhc"], "monitors.nmhc-catalyst"),
    (&["nox"], "monitors.nox-aftertreatment"),
    (&["boost"], "monitors.boost-pressure"),
    (&["particulate"], "monitors.particulate-filter"),
    (&["exhaust", "gas", "sensor"], "monitors.exhaust-gas-sensor"),
    (&["catalyst"], "monitors.catalyst"),
    (&["cat"], "monitors.catalyst"),
    (&["evaporative"], "monitors.evaporative"),
    (&["evap"], "monitors.evaporative"),
    (&["secondary", "air"], "monitors.secondary-air"),
    (&["air", "conditioning"], "monitors.air-conditioning"),
    (&["oxygen", "heater"], "monitors.oxygen-sensor-heater"),
    (&["o2", "heater"], "monitors.oxygen-sensor-heater"),
    (&["oxygen"], "monitors.oxygen-sensor"),
    (&["o2"], "monitors.oxygen-sensor"),
    (&["egr"], "monitors.egr-vvt"),
    (&["result"], "recorded-result"),
    (&["outcome"], "recorded-result"),
    (&["program"], "program"),
    (&["inspection", "number"], "record-id"),
    (&["record"], "record-id"),
    (&["id"], "record-id"),
];

/// Words people write for the states of a monitor, for classes of outcomes and for yes and no.
const MONITOR_WORDS: [(&str, &str); 12] = [
    ("complete", "complete"),
    ("c", "complete"),
    ("ready", "complete"),
    ("r", "complete"),
    ("incomplete", "incomplete"),
    ("i", "incomplete"),
    ("not ready", "incomplete"),
    ("n", "incomplete"),
    ("unsupported", "unsupported"),
    ("u", "unsupported"),
    ("not supported", "unsupported"),
    ("x", "unsupported"),
];
const CLASS_WORDS: [(&str, &str); 10] = [
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
const NONE_WORDS: [&str; 5] = ["none", "-", "no", "nil", "0"];
const YES_WORDS: [&str; 6] = ["y", "yes", "true", "t", "1", "on"];
const NO_WORDS: [&str; 6] = ["n", "no", "false", "f", "0", "off"];

/// Writes the draft. `delimiter` is what parts the fields of a CSV file, if it is one and not a comma.
#[must_use]
pub fn draft(columns: &[Sample], delimiter: Option<u8>) -> String {
    let mut out = format!(
        "# A first draft, made from the names of the columns and the first rows. Every line marked `guess` is one: read it,\n\
         # correct it, and delete the mark. `wherefore facts` lists the facts and their words.\n\
         format = \"{FORMAT}\"\n\n[file]\n"
    );
    if let Some(delimiter) = delimiter {
        let shown = if delimiter == b'\t' { "tab".to_owned() } else { char::from(delimiter).to_string() };
        let _ = writeln!(out, "delimiter = {}", quoted(&shown));
    }
    out.push_str("not-known = [\"\"]\n\n[columns]\n");
    let mut taken = BTreeSet::new();
    for column in columns {
        out.push_str(&line(column, &mut taken));
    }
    out.push_str(
        "\n# Facts that no column has and that are the same for every record, for example:\n\
         # [constants]\n# \"connector\" = \"intact\"\n",
    );
    out
}

fn line(column: &Sample, taken: &mut BTreeSet<&'static str>) -> String {
    let name = quoted(&column.name);
    let values: Vec<&str> = distinct(column);
    let seen = shown(&values);
    let words = words_of(&column.name);
    let has = |wanted: &&str| words.iter().any(|word| word == wanted);
    // Four bytes in hexadecimal are hardly anything else, whatever the column is called.
    let eight = |value: &&str| value.len() == 8 && status_bytes(value.as_bytes()).is_some();
    let is_status = values.len() > 1 && values.iter().all(eight) && values.iter().any(|it| it.starts_with(['0', '8']));
    let hint = HINTS.iter().find(|(all, _)| all.iter().all(has)).map(|(_, key)| *key).or(is_status.then_some("pid-01"));
    let Some(key) = hint else {
        return format!("# {name} = \"\"    # not guessed; {seen}\n");
    };
    if key == "pid-01" && !values.iter().all(|value| status_bytes(value.as_bytes()).is_some()) {
        return format!("# {name} = {{holds = \"pid-01\"}}    # not the four bytes in hexadecimal; {seen}\n");
    }
    match entry(key, &values) {
        Some(_) if !taken.insert(key) => format!("# {name} = \"\"    # another column was taken for {key}; {seen}\n"),
        Some(entry) => {
            let open: Vec<&str> = if key == "recorded-result" {
                values.iter().copied().filter(|value| among(&CLASS_WORDS, value).is_none()).collect()
            } else {
                Vec::new()
            };
            let left = if open.is_empty() { String::new() } else { format!(", but not {}", open.join(", ")) };
            format!("{name} = {entry}    # guess{left}; {seen}\n")
        }
        None => format!("# {name} = {}    # does not look like it; {seen}\n", quoted(key)),
    }
}

/// The words of a name: runs of letters and digits, in lower case, parted also where `modelYear` begins a capital.
fn words_of(name: &str) -> Vec<String> {
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
    words
}

fn distinct(column: &Sample) -> Vec<&str> {
    let mut seen = BTreeSet::new();
    column.fields.iter().map(|field| field.trim()).filter(|field| !field.is_empty() && seen.insert(*field)).collect()
}

fn shown(values: &[&str]) -> String {
    if values.is_empty() {
        return "no values seen".to_owned();
    }
    let some: Vec<String> = values
        .iter()
        .take(SHOWN)
        .map(|value| value.chars().filter(|c| !c.is_control()).take(24).collect::<String>())
        .collect();
    let more = if values.len() > SHOWN { " …" } else { "" };
    format!("seen: {}{more}", some.join(", "))
}

/// A text as TOML writes it.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

fn words_table(words: &[(&str, String)]) -> String {
    let pairs: Vec<String> =
        words.iter().map(|(word, value)| format!("{} = {}", quoted(word), quoted(value))).collect();
    format!("{{{}}}", pairs.join(", "))
}

/// The entry of a column that was taken for a key; `None` where its values do not look like it.
fn entry(key: &str, values: &[&str]) -> Option<String> {
    match key {
        "record-id" | "program" | "pid-01" => return Some(format!("{{holds = {}}}", quoted(key))),
        "recorded-result" => {
            let words: Vec<(&str, String)> =
                values.iter().filter_map(|value| Some((*value, among(&CLASS_WORDS, value)?))).collect();
            let known = !words.is_empty();
            return known.then(|| format!("{{holds = \"recorded-result\", classes = {}}}", words_table(&words)));
        }
        _ => {}
    }
    let fact = table::all_facts().find(|fact| table::key_of(*fact) == key)?;
    let plain = quoted(key);
    match spec(fact).kind {
        FactType::Words(_) | FactType::YesNo { .. } => {
            if values.len() > SHOWN {
                return None;
            }
            let words: Vec<(&str, String)> = values.iter().map(|value| (*value, word(fact, value))).collect();
            if words.is_empty() || words.iter().all(|(value, word)| value == word) {
                return Some(plain);
            }
            Some(format!("{{fact = {plain}, words = {}}}", words_table(&words)))
        }
        FactType::Number { .. } => {
            // A few that are no numbers are mistakes of single records, which the audit sets aside.
            let is_number = |value: &&&str| value.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
            let count = values.iter().filter(is_number).count();
            (count * 5 >= values.len() * 4).then_some(plain)
        }
        FactType::Date => {
            let forms =
                ["YYYY-MM-DD", "YYYY-MM-DD...", "YYYYMMDD", "MM/DD/YYYY", "MM/DD/YYYY...", "DD.MM.YYYY", "DD-MMM-YYYY"];
            let fits = |form: &&&str| {
                DateForm::read(form)
                    .is_some_and(|form| values.iter().all(|value| form.date(value.as_bytes()).is_some()))
            };
            match forms.iter().find(fits) {
                Some(&"YYYY-MM-DD") => Some(plain),
                Some(form) => Some(format!("{{fact = {plain}, date = {}}}", quoted(form))),
                None => None,
            }
        }
        FactType::Text | FactType::Monitors => Some(plain),
        FactType::Codes => {
            let nothing = |value: &&&str| NONE_WORDS.contains(&value.to_lowercase().as_str());
            let none: Vec<String> = values.iter().filter(nothing).map(|value| quoted(value)).collect();
            let none = if none.is_empty() { String::new() } else { format!(", none = [{}]", none.join(", ")) };
            let separator =
                [' ', ',', ';', '|'].into_iter().find(|sign| values.iter().any(|value| value.contains(*sign)));
            Some(match separator {
                Some(sign) if sign != ' ' => {
                    format!("{{fact = {plain}, separator = {}{none}}}", quoted(&sign.to_string()))
                }
                _ if none.is_empty() => plain,
                _ => format!("{{fact = {plain}{none}}}"),
            })
        }
    }
}

fn among(words: &[(&str, &str)], value: &str) -> Option<String> {
    let value = value.to_lowercase();
    words.iter().find(|(word, _)| *word == value).map(|(_, meaning)| (*meaning).to_owned())
}

/// The word of a fact that a value probably stands for, else *not known*.
fn word(fact: Fact, value: &str) -> String {
    let lower = value.to_lowercase();
    let unknown = || "not-known".to_owned();
    if let Some(own) = fact.words().iter().find(|word| **word == lower) {
        return (*own).to_owned();
    }
    if fact.words() == MonitorState::WORDS {
        return among(&MONITOR_WORDS, &lower).unwrap_or_else(unknown);
    }
    if let FactType::YesNo { .. } = spec(fact).kind {
        return match (YES_WORDS.contains(&lower.as_str()), NO_WORDS.contains(&lower.as_str())) {
            (true, _) => "yes".to_owned(),
            (_, true) => "no".to_owned(),
            _ => unknown(),
        };
    }
    if fact == Fact::Communication && YES_WORDS.contains(&lower.as_str()) {
        return "established".to_owned();
    }
    if fact == Fact::Communication && NO_WORDS.contains(&lower.as_str()) {
        return "none".to_owned();
    }
    let begins = |word: &&&str| !lower.is_empty() && word.starts_with(&lower);
    let mut found = fact.words().iter().filter(begins);
    match (found.next(), found.next()) {
        (Some(only), None) => (*only).to_owned(),
        _ => unknown(),
    }
}
