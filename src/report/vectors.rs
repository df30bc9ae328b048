//! Vectors as JSON (`wherefore-vectors/1`) for other implementations, and as a text. Draws by seed, with a generator of our
//! own, so that the same seed gives the same draw everywhere.

use crate::analysis::cases::mutants::facts_in_words;
use crate::analysis::cases::{Suite, Unpaired, Vector, Vectors};
use crate::document::{self, Document};
use crate::model::Date;
use crate::program::{Flat, Program, Test};
use crate::ruling::vectors::{Score, as_read, in_words};
use crate::ruling::{Ruling, judge};
use crate::wording::words;
use crate::wording::wrap::wrapped;
use serde_json::{Map, Value, json};
use std::collections::BTreeSet;

/// The format that every document of vectors names.
pub const FORMAT: &str = "wherefore-vectors/1";

/// The vectors of a program on the dates of one epoch.
#[derive(Debug, Clone)]
pub struct Sheet<'a> {
    /// First and last day on which they hold.
    pub dates: (Date, Date),
    /// The program on these dates.
    pub flat: &'a Flat,
    /// The vectors.
    pub set: &'a Vectors,
    /// How good they are.
    pub score: &'a Score,
}

/// The ruling on a vector, with its open questions read as it says.
pub(super) fn ruling(sheet: &Sheet<'_>, program: &Program, vector: &Vector) -> Option<Ruling> {
    judge(&as_read(sheet.flat, &vector.example.readings), program, &vector.example.snapshot).ok()
}

/// The vectors of one epoch as JSON.
#[must_use]
pub fn json_value(sheet: &Sheet<'_>, program: &Program) -> Value {
    let vectors: Vec<Value> =
        sheet.set.vectors.iter().enumerate().map(|(at, it)| vector(sheet, program, at, it)).collect();
    let pairs: Vec<Value> = sheet
        .set
        .pairs
        .iter()
        .map(|it| {
            json!({
                "condition": it.condition, "answer": it.answer, "facts": it.facts,
                "holds": it.holds + 1, "fails": it.fails + 1,
            })
        })
        .collect();
    json!({
        "format": FORMAT,
        "program": program.id,
        "title": program.title,
        "as_of": sheet.flat.as_of.to_string(),
        "from": sheet.dates.0.to_string(),
        "through": sheet.dates.1.to_string(),
        "vectors": vectors,
        "pairs": pairs,
        "without_pair": without_pair(&sheet.set.unpaired),
        "score": {
            "effective": sheet.score.effective,
            "caught": sheet.score.effective - sheet.score.missed.len().min(sheet.score.effective),
            "missed": sheet.score.missed,
            "equivalent": sheet.set.equivalent,
        },
        "engine": env!("CARGO_PKG_VERSION"),
    })
}

fn without_pair(unpaired: &[Unpaired]) -> Vec<Value> {
    let form = |it: &Unpaired| json!({"condition": it.condition, "has_effect": it.has_effect, "why": it.why});
    unpaired.iter().map(form).collect()
}

/// What the vectors of all epochs come to, as JSON: how many changes there are, how many are caught, which are equivalent,
/// and for which conditions there is no pair.
#[must_use]
pub fn suite_value(suite: &Suite, program: &Program, missed: &[String]) -> Value {
    json!({
        "format": FORMAT,
        "program": program.id,
        "summary": {
            "epochs": suite.parts.len(),
            "vectors": suite.vectors(),
            "pairs": suite.pairs(),
            "mutants": suite.effective() + suite.equivalent.len(),
            "effective": suite.effective(),
            "caught": suite.effective() - missed.len().min(suite.effective()),
            "missed": missed,
            "equivalent": suite.equivalent,
            "without_pair": without_pair(&suite.unpaired),
        },
    })
}

/// The same as text.
#[must_use]
pub fn suite_text(suite: &Suite, program: &Program, missed: &[String]) -> String {
    let effective = suite.effective();
    let mut out = wrapped(
        "",
        None,
        &format!(
            "{}, in {}: {}, {}; of {} changes of one place {effective} change an answer, and {} of \
             these are caught; {} were proved to change none",
            program.title,
            counted(suite.parts.len(), "epoch"),
            counted(suite.vectors(), "vector"),
            counted(suite.pairs(), "pair"),
            effective + suite.equivalent.len(),
            effective - missed.len().min(effective),
            suite.equivalent.len(),
        ),
    );
    unpaired_text(&suite.unpaired, &mut out);
    for what in &suite.equivalent {
        out.push_str(&wrapped("  changes nothing: ", None, what));
    }
    out
}

fn unpaired_text(unpaired: &[Unpaired], out: &mut String) {
    for it in unpaired {
        out.push_str(&wrapped("  no pair: ", None, &format!("{}: {}", it.condition, it.why)));
    }
}

fn vector(sheet: &Sheet<'_>, program: &Program, at: usize, vector: &Vector) -> Value {
    let document = Document { snapshot: vector.example.snapshot.clone(), extra: Vec::new() };
    let snapshot = serde_json::to_value(document::write(&document)).unwrap_or_default();
    let takes: Map<String, Value> =
        vector.example.readings.iter().map(|(name, reading)| (name.clone(), json!(reading))).collect();
    let ruled = ruling(sheet, program, vector);
    let of = |pick: fn(&Ruling) -> Value| ruled.as_ref().map_or(Value::Null, pick);
    json!({
        "vector": at + 1,
        "snapshot": snapshot,
        "takes": takes,
        "verdict": of(|it| json!(it.verdict)),
        "class": of(|it| json!(it.class.word())),
        "possible": of(|it| json!(it.possible.iter().map(|verdict| verdict.name.clone()).collect::<Vec<_>>())),
        "deciding": of(|it| json!(it.deciding)),
        "follows": follows(vector),
        "not_known": not_known(sheet.flat, vector),
        "shows": vector.shows,
    })
}

/// Whether the vehicle is due and what follows, by name: yes, no, or `null` where the text leaves both.
fn follows(vector: &Vector) -> Map<String, Value> {
    let single = |truths: &BTreeSet<bool>| match truths.len() {
        1 => json!(truths.first()),
        _ => Value::Null,
    };
    vector.follows.iter().map(|(name, truths)| (name.clone(), single(truths))).collect()
}

/// The fact that is left out of a vehicle to show what is presumed.
fn not_known(flat: &Flat, vector: &Vector) -> Option<String> {
    let presumption = flat.presumptions.get(vector.not_known?)?;
    let asked = Test::Word { fact: presumption.fact.clone(), words: 0 };
    Some(facts_in_words(flat, &asked).join(", "))
}

pub(super) fn counted(number: usize, thing: &str) -> String {
    if number == 1 { format!("1 {thing}") } else { format!("{number} {thing}s") }
}

/// The vectors of one epoch as text.
#[must_use]
pub fn text(sheet: &Sheet<'_>, program: &Program) -> String {
    let (set, score) = (sheet.set, sheet.score);
    let caught = score.effective - score.missed.len().min(score.effective);
    let mut out = format!("{} from {} through {}\n", program.title, sheet.dates.0, sheet.dates.1);
    out.push_str(&wrapped(
        "  ",
        None,
        &format!(
            "{}; {caught} of {} of one place that change an answer are caught; {} more were proved to change none; {}",
            counted(set.vectors.len(), "vector"),
            counted(score.effective, "change"),
            score.equivalent,
            counted(set.pairs.len(), "pair"),
        ),
    ));
    for missed in &score.missed {
        out.push_str(&wrapped("  missed: ", None, missed));
    }
    unpaired_text(&set.unpaired, &mut out);
    for (at, vector) in set.vectors.iter().enumerate() {
        out.push_str(&wrapped(&format!("{}. ", at + 1), None, &vehicle(sheet, vector)));
        if let Some(ruling) = ruling(sheet, program, vector) {
            let by =
                if ruling.deciding.is_empty() { String::new() } else { format!(" By {}.", ruling.deciding.join(", ")) };
            out.push_str(&wrapped("   → ", None, &format!("{}{by}", words::summary(&ruling))));
        }
        for (name, truths) in vector.follows.iter().filter(|(_, truths)| truths.contains(&true)) {
            let word = if truths.len() == 1 { "" } else { " (perhaps)" };
            out.push_str(&wrapped("   follows: ", None, &format!("{name}{word}")));
        }
        for shown in &vector.shows {
            out.push_str(&wrapped("   shows: ", None, shown));
        }
    }
    out
}

fn vehicle(sheet: &Sheet<'_>, vector: &Vector) -> String {
    let mut parts = in_words(sheet.flat, &vector.example);
    parts.extend(vector.example.readings.iter().map(|(question, reading)| format!("{question} read as {reading}")));
    parts.extend(not_known(sheet.flat, vector).map(|fact| format!("{fact} not known")));
    if vector.day != sheet.flat.as_of {
        parts.push(format!("tested on {}", vector.day));
    }
    parts.join("; ")
}

/// The next number of splitmix64 (Steele, Lea and Flood, 2014): a counter, stirred. Good enough to shuffle a worksheet,
/// the same on every machine, and no clock.
#[must_use]
pub fn splitmix64(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// So many places of a list, drawn without repetition, in the order of the draw (Fisher and Yates).
#[must_use]
pub fn draw(of: usize, many: usize, seed: u64) -> Vec<usize> {
    let mut state = seed;
    let mut places: Vec<usize> = (0..of).collect();
    for at in 0..many.min(of) {
        let rest = u64::try_from(of - at).unwrap_or(1);
        let step = usize::try_from(splitmix64(&mut state) % rest).unwrap_or(0);
        places.swap(at, at + step);
    }
    places.truncate(many);
    places
}
