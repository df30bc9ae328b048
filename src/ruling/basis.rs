//! Citations as people read them, and the weakest of what a line rests on.

use crate::program::{Citation, Kind, Seen, Source};

/// A citation.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Law {
    /// Title of the source.
    pub title: String,
    /// Place in it; may be empty.
    pub locator: String,
    /// Kind of text.
    pub kind: Kind,
    /// How it was seen.
    pub seen: Seen,
    /// Where it is found (an address), if the file says.
    pub place: Option<String>,
}

/// The weakest of what a line rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Basis {
    /// A text of this kind, seen like this.
    Text {
        /// Kind of text.
        kind: Kind,
        /// How it was seen.
        seen: Seen,
    },
    /// No source is cited.
    Uncited,
}

impl Law {
    /// Title and place, `40 CFR 85.2207 (a)`, `page on readiness, table`.
    #[must_use]
    pub fn text(&self) -> String {
        match self.locator.chars().next() {
            None => self.title.clone(),
            Some('(') => format!("{} {}", self.title, self.locator),
            Some(_) => format!("{}, {}", self.title, self.locator),
        }
    }

    /// Whether a ruling that leans on it must say so.
    #[must_use]
    pub fn is_weak(&self) -> bool {
        is_weak(self.kind, self.seen)
    }
}

/// Practice and memory are weak whatever was seen of them; so is what was not seen itself.
fn is_weak(kind: Kind, seen: Seen) -> bool {
    seen.is_weak() || matches!(kind, Kind::Practice | Kind::Memory)
}

impl Basis {
    /// The weakest of these citations.
    #[must_use]
    pub fn of(laws: &[Law]) -> Basis {
        let all = laws.iter().map(|law| Basis::Text { kind: law.kind, seen: law.seen });
        all.max_by_key(|basis| basis.rank()).unwrap_or(Basis::Uncited)
    }

    /// The greater, the weaker: whether it is weak, then how the text was seen, then its kind; without a source last.
    #[must_use]
    pub fn rank(self) -> (bool, Seen, Kind, bool) {
        match self {
            Basis::Text { kind, seen } => (self.is_weak(), seen, kind, false),
            Basis::Uncited => (true, Seen::FromMemory, Kind::Memory, true),
        }
    }

    /// Whether a ruling that leans on it must say so.
    #[must_use]
    pub fn is_weak(self) -> bool {
        match self {
            Basis::Text { kind, seen } => is_weak(kind, seen),
            Basis::Uncited => true,
        }
    }

    /// In words, `law, read on a copy`.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Basis::Text { kind, seen } => format!("{}, {}", kind.word(), seen.words()),
            Basis::Uncited => "no source cited".to_owned(),
        }
    }
}

/// Citations as people read them; `sources` are those of the program, flat or whole, that they point into.
#[must_use]
pub fn laws(sources: &[Source], citations: &[Citation]) -> Vec<Law> {
    let law = |citation: &Citation| {
        let source = sources.get(citation.source)?;
        Some(Law {
            title: source.title.clone(),
            locator: citation.locator.clone(),
            kind: source.kind,
            seen: citation.seen,
            place: source.place.clone(),
        })
    };
    citations.iter().filter_map(law).collect()
}
