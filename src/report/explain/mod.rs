//! Names explained in plain words: `wherefore explain NAME`. Each kind of name is a module with its data and a function that
//! answers for a name it knows; [`KINDS`] lists them. A new kind is one module and one line there.

mod care;
mod facts;
mod messages;
mod monitors;
mod topics;
mod trade;

use crate::diagnostic::nearest;
use crate::program::Source;
use crate::program::declared::Advice;
use crate::wording::wrap::wrapped;
use serde::Serialize;

/// A name in plain words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Explained {
    /// The name, as the vocabulary has it.
    pub name: String,
    /// What kind of name it is: `monitor`, `topic`, `care`, `word`, `fact`, `message`.
    pub kind: &'static str,
    /// What it is, in a sentence.
    pub what: String,
    /// More, each with a word or two that leads it.
    pub more: Vec<(&'static str, String)>,
    /// Of a message: lines of a program file that give it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub before: Option<String>,
    /// The same lines, mended.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
    /// What of it rests on the practice of the trade, and on nothing published.
    pub practice: bool,
}

impl Explained {
    /// What rests on the practice of the trade alone: what it is, and more, as sentences without their full stops.
    fn of_practice(kind: Kind, name: &str, what: &str, more: &[(&'static str, &str)]) -> Explained {
        Explained {
            name: name.to_owned(),
            kind: kind.word,
            what: format!("{what}."),
            more: more.iter().map(|(lead, text)| (*lead, format!("{text}."))).collect(),
            before: None,
            after: None,
            practice: true,
        }
    }
}

/// The most words that a name has: `distance since the previous test`.
const WORDS_OF_A_NAME: usize = 6;

/// A program whose advice is the one that all share.
pub const ANY: &str = "us-model";

/// What explanations may draw on besides the vocabulary: the advice that programs share, with its sources.
#[derive(Debug, Clone, Copy, Default)]
pub struct Known<'a> {
    /// Advice, the first that names a monitor being the usual one.
    pub advice: &'a [Advice],
    /// Sources of the advice.
    pub sources: &'a [Source],
}

/// A kind of names.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    /// In a word.
    pub word: &'static str,
    /// All its names.
    pub names: fn() -> Vec<String>,
    /// The explanation of a name, or of a short form of one; `None` where it is none of its names.
    pub explain: fn(&str, Known<'_>) -> Option<Explained>,
}

/// Every kind, in the order in which a name is looked for.
pub const KINDS: [Kind; 6] = [monitors::KIND, topics::KIND, care::KIND, trade::KIND, facts::KIND, messages::KIND];

/// Why a name is not explained.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotExplained {
    /// A trouble code: what it means for a vehicle is for those who repair it.
    #[error(
        "{0} is a trouble code (DTC); what it means on this vehicle, and what mends it, is in the maker's service information \
         and for a qualified person to find. Here is only what inspection programs make of codes: `wherefore explain \
         stored-codes`, `pending-codes`, `permanent-codes`"
    )]
    TroubleCode(String),
    /// No such name.
    #[error("there is nothing named `{name}`{}", near.as_ref().map_or("; without a name, names are listed".to_owned(), |near| format!("; did you mean `{near}`?")))]
    Unknown {
        /// What was asked for.
        name: String,
        /// The nearest name.
        near: Option<String>,
    },
}

/// Whether a text has the form of a trouble code of a classic list, `P0420` (SAE J2012: a letter of four, a digit, three
/// hexadecimal digits).
fn is_trouble_code(text: &str) -> bool {
    let mut letters = text.chars();
    let first = letters.next().is_some_and(|it| matches!(it.to_ascii_uppercase(), 'P' | 'C' | 'B' | 'U'));
    let second = letters.next().is_some_and(|it| ('0'..='3').contains(&it));
    first && second && text.len() >= 5 && letters.by_ref().take(3).all(|it| it.is_ascii_hexdigit())
}

/// Explains a name; of one that several kinds of names have, all that it names, first what is called so word for word.
///
/// # Errors
/// Where there is no such name, or it is a trouble code.
pub fn explained(name: &str, known: Known<'_>) -> Result<Vec<Explained>, NotExplained> {
    let name = name.trim();
    if is_trouble_code(name) {
        return Err(NotExplained::TroubleCode(name.to_uppercase()));
    }
    let lower = name.to_lowercase();
    let by_kind = |kind: &Kind| (kind.explain)(name, known).or_else(|| (kind.explain)(&lower, known));
    let mut found: Vec<Explained> = KINDS.iter().filter_map(by_kind).collect();
    // What a name is short for comes behind what has the name.
    found.sort_by_key(|it| it.kind == monitors::KIND.word && it.name != lower);
    if !found.is_empty() {
        return Ok(found);
    }
    let names: Vec<String> = KINDS.iter().flat_map(|kind| (kind.names)()).collect();
    // A message is known by what stands behind the area of its code, too, and a fact by its name in program files.
    let short = |name: &'_ str| name.split_once('/').map(|(_, slug)| slug.to_owned());
    let shorts: Vec<String> =
        names.iter().filter_map(|name| short(name)).chain(facts::spoken().map(str::to_owned)).collect();
    let near = nearest(&lower, names.iter().chain(&shorts).map(String::as_str));
    Err(NotExplained::Unknown { name: name.to_owned(), near: near.map(str::to_owned) })
}

/// The first thing that a name names, as [`explained`] has it.
///
/// # Errors
/// Where there is no such name, or it is a trouble code.
pub fn explain(name: &str, known: Known<'_>) -> Result<Explained, NotExplained> {
    let unknown = || NotExplained::Unknown { name: name.to_owned(), near: None };
    explained(name, known)?.into_iter().next().ok_or_else(unknown)
}

/// Words as they were typed, put together to names: `earlier failure code` is one, `fuel communication` are two. Words that
/// belong to no name stay together, so that they are told of once.
#[must_use]
pub fn grouped(words: &[String], known: Known<'_>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    let (mut at, mut is_open) = (0, false);
    while let Some(rest) = words.get(at..).filter(|rest| !rest.is_empty()) {
        let longest = (1..=rest.len().min(WORDS_OF_A_NAME)).rev().find_map(|many| {
            let name = rest.get(..many)?.join(" ");
            let is_name = match explained(&name, known) {
                Ok(_) => true,
                Err(NotExplained::TroubleCode(_)) => many == 1,
                Err(NotExplained::Unknown { .. }) => false,
            };
            is_name.then_some((many, name))
        });
        match (longest, names.last_mut()) {
            (Some((many, name)), _) => {
                names.push(name);
                (at, is_open) = (at + many, false);
            }
            (None, Some(last)) if is_open => {
                last.push(' ');
                last.extend(rest.first().map(String::as_str));
                at += 1;
            }
            (None, _) => {
                names.extend(rest.first().cloned());
                (at, is_open) = (at + 1, true);
            }
        }
    }
    names
}

/// An explanation as text of eighty columns.
#[must_use]
pub fn text(explained: &Explained) -> String {
    let mut out = wrapped("", Some(2), &format!("{} ({}): {}", explained.name, explained.kind, explained.what));
    for (lead, text) in &explained.more {
        out.push_str(&wrapped(&format!("  {lead:<14}"), None, text));
    }
    for (lead, example) in [("before", &explained.before), ("after", &explained.after)] {
        if let Some(example) = example {
            out.push_str(&format!("  {lead}\n"));
            out.extend(example.lines().map(|line| format!("    {line}\n")));
        }
    }
    if explained.practice {
        out.push_str(&wrapped(
            "",
            None,
            "This is the practice of the trade, with no published source behind it. Makers differ: what needs what, and in \
             which order, is in the owner's manual and the maker's service information.",
        ));
    }
    out
}

/// All names, by kind; the codes of messages are counted.
#[must_use]
pub fn list() -> String {
    let mut out = String::new();
    for kind in KINDS {
        // Whoever reads a message of `check` has its name before him.
        if kind.word == messages::KIND.word {
            let many = (kind.names)().len();
            out.push_str(&format!("messages: {many} codes of `check`, each named where it is told\n"));
            continue;
        }
        out.push_str(&wrapped(&format!("{}s: ", kind.word), Some(2), &(kind.names)().join(", ")));
    }
    out
}
