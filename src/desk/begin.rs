//! A new file: its heads, with comments that say what to fill in. What only the writer can know is left blank, so that the
//! file has errors until it is filled in; none of them goes away by itself.

use crate::syntax::words;

/// Why no file can be begun.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum BeginError {
    /// The id is no name.
    #[error("`{0}` is no id: write lower-case words joined by hyphens, as in `us-tx`: country, then state or place")]
    NotAnId(String),
}

/// The text of a new file for a program.
///
/// # Errors
/// Where the id is no name.
pub fn begin(id: &str) -> Result<String, BeginError> {
    let starts = id.starts_with(|mark: char| mark.is_ascii_lowercase());
    let marks = id.chars().all(|mark| mark.is_ascii_lowercase() || mark.is_ascii_digit() || mark == '-');
    if !starts || !marks || id.ends_with('-') || id.len() > 64 {
        return Err(BeginError::NotAnId(id.to_owned()));
    }
    let topics: Vec<&str> = words::TOPICS.iter().filter(|topic| **topic != "other").copied().collect();
    let topics = topics.chunks(6).map(|topics| topics.join(", ")).collect::<Vec<_>>().join(",\n# ");
    Ok(format!(
        r#"# The parts below are in the order of the guide. Fill in what stands blank, take out these comments as you go, and ask
# `wherefore check --todo {id}.wherefore` what is still open.
program {id} ""
  authority ""
  language 2
  standing draft

# One source for each section of a text: its citation, what kind of text it is (law, guidance, notice, data, practice,
# memory), how you saw it (read, read in part, read on a copy, secondary, from memory), on which day, and where.
source r1 "" law

# The first day of the rules, and the paragraph that says so.
in force from
  per r1

# The law's own outcomes, from the least grave to the gravest.
outcomes pass, fail

# Who is tested; `exempts` for everybody whom the text takes out, with its words.
covers where
  per r1

# Which monitors count, and how many of them may be incomplete, a row for each kind of vehicle: `none incomplete`, or
# `at most 1 incomplete`; `number not seen` where the law has a number that you did not see.
counts supported monitors that are not continuous
  per r1
limit
  - every vehicle: at most  incomplete
  per r1
clause readiness on readiness
  fail where too many monitors are incomplete
  per r1

# A clause for each other thing that the text decides on. These are the topics:
# {topics}.
clause lamp on lamp
  fail where lamp commanded on
  per r1

# Topics on which the text that you have read has no rule, and those whose text you did not see.
text silent on
  per r1, by absence
no rule applied on , text not seen
  per r1

# A vehicle that passes, and then a case for each example of the text and for each side of every number. A `sound car` burns
# gasoline, is at its first visit, and has the lamp off, no code and every monitor complete. The outcome of a case follows
# from the law, never from what this program says of it.
ordinary sound car; model year 2010; gross weight 4500 lb
case "" on
  facts otherwise ordinary
  expect
  per r1
"#
    ))
}
