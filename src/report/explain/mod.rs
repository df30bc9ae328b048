//! Names explained in plain words: `wherefore explain NAME`. Each kind of name is a module with its data and a function that
//! answers for a name it knows; [`KINDS`] lists them. A new kind is one module and one line there.

mod care;
mod facts;
mod messages;
mod monitors;
mod topics;

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
    /// What kind of name it is: `monitor`, `topic`, `care`, `fact`, `message`.
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
pub const KINDS: [Kind; 5] = [monitors::KIND, topics::KIND, care::KIND, facts::KIND, messages::KIND];

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
    #[error("there is nothing named `{name}`{}", near.as_ref().map_or("; without a name, all names are listed".to_owned(), |near| format!("; did you mean `{near}`?")))]
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

/// Explains a name.
///
/// # Errors
/// Where there is no such name, or it is a trouble code.
pub fn explain(name: &str, known: Known<'_>) -> Result<Explained, NotExplained> {
    let name = name.trim();
    if is_trouble_code(name) {
        return Err(NotExplained::TroubleCode(name.to_uppercase()));
    }
    let lower = name.to_lowercase();
    let found = KINDS.iter().find_map(|kind| (kind.explain)(name, known).or_else(|| (kind.explain)(&lower, known)));
    found.ok_or_else(|| {
        let names: Vec<String> = KINDS.iter().flat_map(|kind| (kind.names)()).collect();
        // A message is known by what stands behind the area of its code, too.
        let short = |name: &'_ str| name.split_once('/').map(|(_, slug)| slug.to_owned());
        let shorts: Vec<String> = names.iter().filter_map(|name| short(name)).collect();
        let near = nearest(&lower, names.iter().chain(&shorts).map(String::as_str)).map(str::to_owned);
        NotExplained::Unknown { name: name.to_owned(), near }
    })
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

/// All names, by kind.
#[must_use]
pub fn list() -> String {
    let mut out = String::new();
    for kind in KINDS {
        out.push_str(&wrapped(&format!("{}s: ", kind.word), Some(2), &(kind.names)().join(", ")));
    }
    out
}
