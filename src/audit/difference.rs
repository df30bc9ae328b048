//! How a recorded result stands to what the program says.

use super::mapping::Recorded;
use super::said::Said;
use crate::program::Class;

/// How a recorded result stands to what the program says.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// No result was recorded.
    NotRecorded,
    /// They are the same.
    Same,
    /// More than one outcome is possible, and the recorded one is among them.
    Possible,
    /// The program's file holds no law for the date: neither the same nor another.
    NoLaw,
    /// The program says otherwise: the recorded result, and what the program says.
    Differs(String, String),
}

impl Standing {
    /// How a recorded result stands to what is said of the record.
    #[must_use]
    pub fn of(recorded: Option<&Recorded>, said: &Said) -> Standing {
        let Some(recorded) = recorded else {
            return Standing::NotRecorded;
        };
        if said.class == Class::NoLaw {
            return Standing::NoLaw;
        }
        let fits = |(name, class): &(String, Class)| match recorded {
            Recorded::Class(wanted) => wanted == class,
            Recorded::Outcome(wanted) => wanted == name,
        };
        let fitting = said.possible.iter().filter(|it| fits(it)).count();
        if fitting == 0 && *recorded != Recorded::Class(Class::Undecided) {
            let ruled = match recorded {
                Recorded::Class(_) if said.class == Class::Undecided => joined(said, |(_, class)| class.word()),
                Recorded::Class(_) => said.class.word().to_owned(),
                Recorded::Outcome(_) => joined(said, |(name, _)| name),
            };
            return Standing::Differs(recorded.word().to_owned(), ruled);
        }
        if fitting == said.possible.len() { Standing::Same } else { Standing::Possible }
    }

    /// The kind of difference in words; of no difference, what there is instead.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Standing::NotRecorded => "no result recorded".to_owned(),
            Standing::Same => "same".to_owned(),
            Standing::Possible => "possible".to_owned(),
            Standing::NoLaw => "no law in this file for the date".to_owned(),
            Standing::Differs(recorded, ruled) => format!("recorded {recorded}, should be {ruled}"),
        }
    }

    /// Whether it is a difference.
    #[must_use]
    pub fn differs(&self) -> bool {
        matches!(self, Standing::Differs(..))
    }
}

fn joined<'s>(said: &'s Said, word: impl Fn(&'s (String, Class)) -> &'s str) -> String {
    let mut words: Vec<&str> = Vec::new();
    for possible in &said.possible {
        let word = word(possible);
        if !words.contains(&word) {
            words.push(word);
        }
    }
    words.join(" or ")
}
