//! Citations as people read them, and the weakest of what a line rests on.

use crate::program::{Citation, Currency, Kind, Seen, Source};

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
    /// How current it is.
    pub currency: Currency,
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
        /// How current it is.
        currency: Currency,
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
        is_weak(self.kind, self.seen, self.currency)
    }
}

/// Practice and memory are weak whatever was seen of them; so is what was not seen itself, and a text that is not known
/// to be the one in force.
fn is_weak(kind: Kind, seen: Seen, currency: Currency) -> bool {
    seen.is_weak() || matches!(kind, Kind::Practice | Kind::Memory) || currency != Currency::Current
}

impl Basis {
    /// The weakest of these citations.
    #[must_use]
    pub fn of(laws: &[Law]) -> Basis {
        let text = |law: &Law| Basis::Text { kind: law.kind, seen: law.seen, currency: law.currency };
        laws.iter().map(text).max_by_key(|basis| basis.rank()).unwrap_or(Basis::Uncited)
    }

    /// The greater, the weaker: whether it is weak, then how the text was seen, how current it is, then its kind; without
    /// a source last.
    #[must_use]
    pub fn rank(self) -> (bool, Seen, Currency, Kind, bool) {
        match self {
            Basis::Text { kind, seen, currency } => (self.is_weak(), seen, currency, kind, false),
            Basis::Uncited => (true, Seen::FromMemory, Currency::Superseded, Kind::Memory, true),
        }
    }

    /// Whether a ruling that leans on it must say so.
    #[must_use]
    pub fn is_weak(self) -> bool {
        match self {
            Basis::Text { kind, seen, currency } => is_weak(kind, seen, currency),
            Basis::Uncited => true,
        }
    }

    /// In words, `law, read on a copy`.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Basis::Text { kind, seen, currency } => {
                let currency = currency.words().map(|words| format!(", {words}")).unwrap_or_default();
                format!("{}, {}{currency}", kind.word(), seen.words())
            }
            Basis::Uncited => "no source cited".to_owned(),
        }
    }
}

impl Basis {
    /// The same as a person would say it: what nobody read is said to be so.
    #[must_use]
    pub fn spoken(self) -> String {
        match self {
            Basis::Text { kind: Kind::Practice, seen: Seen::FromMemory, .. } => "practice, no source read".to_owned(),
            Basis::Text { kind: Kind::Memory, seen: Seen::FromMemory, .. } => "recollection, no source".to_owned(),
            _ => self.words(),
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
            currency: source.currency,
            place: source.place.clone(),
        })
    };
    citations.iter().filter_map(law).collect()
}
