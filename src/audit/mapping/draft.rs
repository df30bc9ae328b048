//! A first draft of a mapping file from the names of the columns and the first rows. It is always a mapping file that can
//! be read; every guess is marked as one, and what could not be guessed is left as a comment with the values seen. A
//! column whose words could be guessed in part only is left to the reader as a whole: half a guess is worse than none.

use super::hints::{
    ABSENT_WORDS, CLASS_WORDS, Hint, MONITOR_WORDS, NO_WORDS, NONE_WORDS, YES_WORDS, among, monitor, other, unit,
    words_of,
};
use super::{DateForm, FORMAT, status_bytes};
use crate::model::{Fact, FactType, MonitorState, TroubleCode, Unit, spec, table};
use std::collections::{BTreeMap, BTreeSet};
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

/// So many columns of one beginning that are monitors make a family.
const FAMILY: usize = 3;

/// What a column could be.
struct Guess<'s> {
    column: &'s Sample,
    values: Vec<&'s str>,
    hint: Option<Hint>,
    entry: Entry,
}

/// What is written for a column.
enum Entry {
    /// A guess that can stand, with what to ask about it.
    Live(String, &'static str),
    /// A guess that the reader completes.
    Asked(String, String),
    /// None.
    Nothing(&'static str),
}

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
    let family = family(columns);
    let guesses: Vec<Guess<'_>> = columns.iter().map(|column| guess(column, family.as_ref())).collect();
    let taken = taken(&guesses);
    for (place, guess) in guesses.iter().enumerate() {
        out.push_str(&line(place, guess, &taken, &guesses));
    }
    out.push_str(
        "\n# Facts that no column has and that are the same for every record, for example:\n\
         # [constants]\n# \"connector\" = \"intact\"\n",
    );
    out
}

/// The words before the monitor's in a name, as one text.
fn beginning(words: &[String], hint: Hint) -> String {
    words.get(..hint.first).unwrap_or(&[]).join(" ")
}

/// Readiness columns whose names have one beginning.
struct Family<'s> {
    beginning: String,
    /// The words of all of them: what is not ready is told by what is.
    values: Vec<&'s str>,
}

/// The readiness columns, if there are several of one beginning: columns of another are no monitors.
fn family(columns: &[Sample]) -> Option<Family<'_>> {
    let mut found: BTreeMap<String, (BTreeSet<&str>, BTreeSet<&str>)> = BTreeMap::new();
    for column in columns {
        let words = words_of(&column.name);
        let Some(hint) = monitor(&words) else { continue };
        let values = distinct(column);
        if !values.is_empty() && values.len() <= SHOWN {
            let (keys, all) = found.entry(beginning(&words, hint)).or_default();
            keys.insert(hint.key);
            all.extend(values);
        }
    }
    let is_readiness = |values: &Vec<&str>| {
        let monitor = fact_of("monitors.catalyst");
        matches!(word_entry(monitor, values, values), Some(Entry::Live(..)))
    };
    let families = found.into_iter().map(|(beginning, (keys, values))| (keys.len(), beginning, values));
    let families =
        families.map(|(keys, beginning, values)| (keys, Family { beginning, values: values.into_iter().collect() }));
    let (keys, most) = families.filter(|(_, it)| is_readiness(&it.values)).max_by_key(|(keys, _)| *keys)?;
    (keys >= FAMILY).then_some(most)
}

fn guess<'s>(column: &'s Sample, family: Option<&Family<'_>>) -> Guess<'s> {
    let words = words_of(&column.name);
    let values = distinct(column);
    let of_monitor =
        monitor(&words).filter(|hint| family.is_none_or(|family| beginning(&words, *hint) == family.beginning));
    let in_family =
        family.is_some_and(|it| !it.beginning.is_empty() && words.join(" ").starts_with(&format!("{} ", it.beginning)));
    // A name of the family that is no monitor (its result, its count) is nothing that a lone word would point at.
    let hint = match (of_monitor, in_family) {
        (Some(hint), _) if in_family || !is_plainly_other(&words) => Some(hint),
        (_, true) => None,
        _ => other(&words),
    };
    let eight = |value: &&str| value.len() == 8 && status_bytes(value.as_bytes()).is_some();
    // Four bytes in hexadecimal are hardly anything else, whatever the column is called.
    let is_status = values.len() > 1 && values.iter().all(eight) && values.iter().any(|it| it.starts_with(['0', '8']));
    let by_values = is_status.then_some(Hint { key: "pid-01", weight: 1, first: 0 });
    let hint = hint.or(by_values);
    let entry = match hint {
        None if in_family => Entry::Nothing("of the readiness columns, but no monitor"),
        None => Entry::Nothing("not guessed"),
        Some(_) if values.is_empty() => Entry::Nothing("no values to tell by"),
        Some(hint) => match (family, fact_of(hint.key)) {
            (Some(family), Some(fact @ Fact::Monitor(_))) => {
                word_entry(Some(fact), &values, &family.values).unwrap_or(Entry::Nothing("does not look like it"))
            }
            _ => entry(hint.key, &values, &words),
        },
    };
    Guess { column, values, hint, entry }
}

/// Whether a name that has a monitor's word points at something else: the fuel of the vehicle, outside any family.
fn is_plainly_other(words: &[String]) -> bool {
    other(words).is_some_and(|hint| hint.key == "vehicle.fuel")
}

/// For each key the column that is taken for it: the surest name, then the first.
fn taken(guesses: &[Guess<'_>]) -> BTreeMap<&'static str, usize> {
    let mut taken: BTreeMap<&'static str, (usize, usize)> = BTreeMap::new();
    for (place, guess) in guesses.iter().enumerate() {
        let (Some(hint), Entry::Live(..) | Entry::Asked(..)) = (guess.hint, &guess.entry) else { continue };
        let best = taken.entry(hint.key).or_insert((hint.weight, place));
        if hint.weight > best.0 {
            *best = (hint.weight, place);
        }
    }
    taken.into_iter().map(|(key, (_, place))| (key, place)).collect()
}

fn line(place: usize, guess: &Guess<'_>, taken: &BTreeMap<&'static str, usize>, all: &[Guess<'_>]) -> String {
    let name = quoted(&guess.column.name);
    let seen = shown(&guess.values);
    let best = guess.hint.and_then(|hint| taken.get(hint.key)).copied();
    match (&guess.entry, best) {
        (Entry::Live(..) | Entry::Asked(..), Some(best)) if best != place => {
            let other = all.get(best).map_or("", |it| it.column.name.as_str());
            let key = guess.hint.map_or("", |hint| hint.key);
            format!("# {name} = \"\"    # column {} is likelier to be {key}; {seen}\n", quoted(other))
        }
        (Entry::Live(entry, ask), _) => format!("{name} = {entry}    # guess{ask}; {seen}\n"),
        (Entry::Asked(entry, ask), _) => format!("# {name} = {entry}    # {ask}; {seen}\n"),
        (Entry::Nothing(why), _) => format!("# {name} = \"\"    # {why}; {seen}\n"),
    }
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

const WORDS: &str = "say what each word means";

/// A table of words, each with what it stands for, and whether all are known.
fn words_table(values: &[&str], meaning: impl Fn(&str) -> Option<String>) -> (String, bool) {
    let all: Vec<(&str, Option<String>)> = values.iter().map(|value| (*value, meaning(value))).collect();
    let is_whole = all.iter().all(|(_, meaning)| meaning.is_some());
    let pairs: Vec<String> = all
        .iter()
        .map(|(word, meaning)| {
            format!("{} = {}", quoted(word), quoted(meaning.as_deref().filter(|_| is_whole).unwrap_or("")))
        })
        .collect();
    (format!("{{{}}}", pairs.join(", ")), is_whole)
}

fn entry(key: &'static str, values: &[&str], words: &[String]) -> Entry {
    match key {
        "record-id" | "program" => return Entry::Live(format!("{{holds = {}}}", quoted(key)), ""),
        "pid-01" if values.iter().all(|value| status_bytes(value.as_bytes()).is_some()) => {
            return Entry::Live("{holds = \"pid-01\"}".to_owned(), "");
        }
        "pid-01" => return Entry::Nothing("not the four bytes of PID $01 in hexadecimal"),
        "recorded-result" | "overall-result" => {
            if values.len() > SHOWN {
                return Entry::Nothing("has more words than results have");
            }
            let (table, is_whole) = words_table(values, |value| among(&CLASS_WORDS, value).map(str::to_owned));
            let entry = format!("{{holds = {}, classes = {table}}}", quoted(key));
            return if is_whole { Entry::Live(entry, "") } else { Entry::Asked(entry, WORDS.to_owned()) };
        }
        _ => {}
    }
    let Some(fact) = fact_of(key) else {
        return Entry::Nothing("not guessed");
    };
    let plain = quoted(key);
    match spec(fact).kind {
        FactType::Words(_) | FactType::YesNo { .. } => {
            word_entry(Some(fact), values, values).unwrap_or(Entry::Nothing("does not look like it"))
        }
        FactType::Number { unit: own, .. } => number_entry(fact, &plain, own, values, words),
        FactType::Date => date_entry(&plain, values),
        FactType::Text => Entry::Live(plain, ""),
        FactType::Monitors => Entry::Nothing("not guessed"),
        FactType::Codes => code_entry(&plain, values),
    }
}

fn word_entry(fact: Option<Fact>, values: &[&str], beside: &[&str]) -> Option<Entry> {
    let fact = fact?;
    if values.is_empty() || values.len() > SHOWN {
        return None;
    }
    let plain = quoted(&table::key_of(fact));
    let (table, is_whole) = words_table(values, |value| word(fact, value, beside));
    let is_own = values.iter().all(|value| fact.words().contains(value));
    Some(match (is_whole, is_own) {
        (_, true) => Entry::Live(plain, ""),
        (true, _) => Entry::Live(format!("{{fact = {plain}, words = {table}}}"), ""),
        (false, _) => Entry::Asked(format!("{{fact = {plain}, words = {table}}}"), WORDS.to_owned()),
    })
}

/// A few that are no numbers are mistakes of single records, which the audit sets aside.
fn number_entry(fact: Fact, plain: &str, own: Unit, values: &[&str], words: &[String]) -> Entry {
    let is_number = |value: &&&str| value.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    let is_year = |value: &&&str| matches!(value.parse::<u16>(), Ok(1900..=2100));
    let is_fit = |value: &&&str| if fact == Fact::ModelYear { is_year(value) } else { is_number(value) };
    if values.iter().filter(is_fit).count() * 5 < values.len() * 4 {
        return Entry::Nothing("does not look like numbers of it");
    }
    let fits = |unit: &&str| Unit::named(unit).is_some_and(|unit| unit.is_comparable(own));
    match (own, unit(words).filter(|unit| fits(unit))) {
        (Unit::One, _) => Entry::Live(plain.to_owned(), ""),
        (_, Some(unit)) if plain.trim_matches('"').ends_with(&format!("_{unit}")) => Entry::Live(plain.to_owned(), ""),
        (_, Some(unit)) => {
            let key = table::key_of(fact);
            Entry::Live(format!("{{fact = {}, unit = {}}}", quoted(&key), quoted(unit)), "")
        }
        (_, None) => {
            let units = if fits(&"km") { "km or miles" } else { "lb or kg" };
            let units = if fits(&"minutes") { "minutes or hours" } else { units };
            let key = table::key_of(fact);
            Entry::Asked(format!("{{fact = {}, unit = \"\"}}", quoted(&key)), format!("in which unit, {units}?"))
        }
    }
}

fn date_entry(plain: &str, values: &[&str]) -> Entry {
    const FORMS: [&str; 9] = [
        "YYYY-MM-DD",
        "YYYY-MM-DD...",
        "YYYYMMDD",
        "MM/DD/YYYY",
        "MM/DD/YYYY...",
        "DD/MM/YYYY",
        "DD.MM.YYYY",
        "DD-MMM-YYYY",
        "DD-MMM-YYYY...",
    ];
    let reads =
        |form: &str, value: &&str| DateForm::read(form).is_some_and(|form| form.date(value.as_bytes()).is_some());
    let one = FORMS.iter().find(|form| values.iter().all(|value| reads(form, value)));
    let written = |date: String, ask| Entry::Live(format!("{{fact = {plain}, date = {date}}}"), ask);
    match one {
        Some(&"YYYY-MM-DD") => return Entry::Live(plain.to_owned(), ""),
        Some(form @ (&"MM/DD/YYYY" | &"MM/DD/YYYY...")) => {
            let swapped = values.iter().all(|value| reads("DD/MM/YYYY...", value));
            return written(quoted(form), if swapped { ": or is it DD/MM/YYYY? both fit" } else { "" });
        }
        Some(form) => return written(quoted(form), ""),
        None => {}
    }
    // Several forms: those that read some value that none before them does.
    let (mut left, mut forms) = (values.to_vec(), Vec::new());
    for form in FORMS {
        let before = left.len();
        left.retain(|value| !reads(form, value));
        if left.len() < before {
            forms.push(quoted(form));
        }
    }
    if left.len() * 10 > values.len() {
        return Entry::Nothing("does not look like dates");
    }
    let is_both = forms.iter().any(|form| form.contains("MM/DD")) && forms.iter().any(|form| form.contains("DD/MM"));
    let list = format!("[{}]", forms.join(", "));
    match is_both {
        true => Entry::Asked(
            format!("{{fact = {plain}, date = {list}}}"),
            "day and month stand in both orders; a date that both read is set aside".to_owned(),
        ),
        false => written(list, ""),
    }
}

fn code_entry(plain: &str, values: &[&str]) -> Entry {
    let lower = |value: &str| value.to_lowercase();
    let list = |words: &[&str]| -> Vec<String> {
        values.iter().filter(|value| words.contains(&lower(value).as_str())).map(|value| quoted(value)).collect()
    };
    let (none, absent) = (list(&NONE_WORDS), list(&ABSENT_WORDS));
    let separator = [',', ';', '|', ' '].into_iter().find(|sign| values.iter().any(|value| value.contains(*sign)));
    let separator = separator.unwrap_or(' ');
    let is_codes = |value: &&&str| {
        let mut entries = value.split(separator).map(str::trim).filter(|entry| !entry.is_empty());
        entries.all(|entry| TroubleCode::parse(entry).is_some())
    };
    let known = |value: &&&str| none.contains(&quoted(value)) || absent.contains(&quoted(value)) || is_codes(value);
    if values.iter().filter(known).count() * 10 < values.len() * 9 {
        return Entry::Nothing("does not look like trouble codes");
    }
    let mut more = String::new();
    if separator != ' ' && values.iter().any(|value| value.contains(separator)) {
        let _ = write!(more, ", separator = {}", quoted(&separator.to_string()));
    }
    for (key, list) in [("none", none), ("not-on-vehicle", absent)] {
        if !list.is_empty() {
            let _ = write!(more, ", {key} = [{}]", list.join(", "));
        }
    }
    Entry::Live(if more.is_empty() { plain.to_owned() } else { format!("{{fact = {plain}{more}}}") }, "")
}

/// The word of a fact that a value probably stands for, beside the others of its column.
fn word(fact: Fact, value: &str, beside: &[&str]) -> Option<String> {
    let lower = value.to_lowercase();
    if let Some(own) = fact.words().iter().find(|word| **word == lower) {
        return Some((*own).to_owned());
    }
    if fact.words() == MonitorState::WORDS {
        let has = |wanted: &[&str]| beside.iter().any(|it| wanted.contains(&it.to_lowercase().as_str()));
        // Beside `r`, or `rdy`, a bare no is not ready.
        let is_not = matches!(lower.as_str(), "n" | "not") && has(&["r", "rdy", "ready"]);
        return if is_not { Some("incomplete".to_owned()) } else { among(&MONITOR_WORDS, &lower).map(str::to_owned) };
    }
    let yes = YES_WORDS.contains(&lower.as_str());
    let no = NO_WORDS.contains(&lower.as_str());
    if let FactType::YesNo { .. } = spec(fact).kind {
        return (yes || no).then(|| if yes { "yes" } else { "no" }.to_owned());
    }
    if fact == Fact::Communication && (yes || no) {
        return Some(if yes { "established" } else { "none" }.to_owned());
    }
    let mut found = fact.words().iter().filter(|word| !lower.is_empty() && word.starts_with(&lower));
    match (found.next(), found.next()) {
        (Some(only), None) => Some((*only).to_owned()),
        _ => None,
    }
}

fn fact_of(key: &str) -> Option<Fact> {
    table::all_facts().find(|fact| table::key_of(*fact) == key)
}
