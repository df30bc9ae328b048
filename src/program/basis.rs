//! What a line rests on: the kind of text, and how it was seen.

use super::block::Window;
use crate::model::Date;

/// The kind of text a line rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Statute or regulation.
    Law,
    /// A page or manual of the agency.
    Guidance,
    /// A notice in a register or bulletin.
    Notice,
    /// A data set.
    Data,
    /// What the trade does; no published source.
    Practice,
    /// Memory; no text was seen.
    Memory,
}

/// How the text was seen, from the firmest to the weakest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Seen {
    /// Read in the source's own text.
    Read,
    /// Read in part: the copy stopped before the rule was complete.
    InPart,
    /// Official text, on another publisher's copy.
    OnACopy,
    /// Concluded from read text that has no such rule.
    ByAbsence,
    /// A reading of read text that the text does not spell out.
    Inferred,
    /// Read in a source that is neither the law nor the agency.
    Secondary,
    /// From memory, never seen.
    FromMemory,
}

/// How current a text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Currency {
    /// The text in force, as far as the file says.
    #[default]
    Current,
    /// A text of an earlier time, not known to be still in force.
    Older,
    /// A proposal.
    Proposed,
    /// A text that another has taken the place of.
    Superseded,
}

impl Currency {
    /// Every mark with its words; a text without a mark is current.
    pub const MARKS: [(Currency, &'static str); 3] =
        [(Currency::Older, "older text"), (Currency::Proposed, "proposed text"), (Currency::Superseded, "superseded")];

    /// The words in program files; `None` of a current text.
    #[must_use]
    pub fn words(self) -> Option<&'static str> {
        Currency::MARKS.iter().find(|(mark, _)| *mark == self).map(|(_, words)| *words)
    }
}

impl Kind {
    /// All kinds with their words.
    pub const ALL: [(Kind, &'static str); 6] = [
        (Kind::Law, "law"),
        (Kind::Guidance, "guidance"),
        (Kind::Notice, "notice"),
        (Kind::Data, "data"),
        (Kind::Practice, "practice"),
        (Kind::Memory, "memory"),
    ];

    /// The word in program files.
    #[must_use]
    pub fn word(self) -> &'static str {
        Kind::ALL.iter().find(|(kind, _)| *kind == self).map_or("", |(_, word)| word)
    }
}

impl Seen {
    /// All ways of seeing with their words.
    pub const ALL: [(Seen, &'static str); 7] = [
        (Seen::Read, "read"),
        (Seen::InPart, "read in part"),
        (Seen::OnACopy, "read on a copy"),
        (Seen::ByAbsence, "by absence"),
        (Seen::Inferred, "inferred"),
        (Seen::Secondary, "secondary"),
        (Seen::FromMemory, "from memory"),
    ];

    /// The words in program files.
    #[must_use]
    pub fn words(self) -> &'static str {
        Seen::ALL.iter().find(|(seen, _)| *seen == self).map_or("", |(_, words)| words)
    }

    /// Whether a ruling that leans on it must say so: secondary, memory, inference.
    #[must_use]
    pub fn is_weak(self) -> bool {
        self >= Seen::Inferred
    }
}

/// A text that lines rest on; one a section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Short name in the file.
    pub id: String,
    /// Citation in full, `40 CFR 85.2207`.
    pub title: String,
    /// Kind of text.
    pub kind: Kind,
    /// How it was seen, where a line does not say otherwise.
    pub seen: Seen,
    /// When it was seen.
    pub on: Option<Date>,
    /// How current it is.
    pub currency: Currency,
    /// Where (an address), if the file says.
    pub place: Option<String>,
    /// Which program wrote the source down.
    pub program: String,
}

/// A source and a place in it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Citation {
    /// Index into the program's sources.
    pub source: usize,
    /// Paragraph or heading, `(c)(2)`; may be empty.
    pub locator: String,
    /// How this line's text was seen; the source's own mark unless the line says otherwise.
    pub seen: Seen,
    /// Days on which it is cited, of what it stands under; a flat program has only those of its day, without bounds.
    pub window: Window,
}
