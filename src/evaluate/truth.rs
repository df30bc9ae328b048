//! Three-valued truth (Kleene's strong tables). *Unknown* says "both may be", never "neither": a join of unknown tests
//! may be unknown where every vehicle gives the same answer (`x or not x`), so what is built on it is a bound.

/// Whether a condition holds of every vehicle that agrees with what is known, of none, or perhaps of some.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Truth {
    /// Of none.
    False,
    /// Not determined by what is known.
    Unknown,
    /// Of every one.
    True,
}

impl Truth {
    /// All three, from false to true.
    pub const ALL: [Truth; 3] = [Truth::False, Truth::Unknown, Truth::True];

    /// True or false.
    #[must_use]
    pub fn of(holds: bool) -> Truth {
        if holds { Truth::True } else { Truth::False }
    }

    /// True where it surely holds, false where it surely does not, else unknown.
    #[must_use]
    pub fn between(surely: bool, perhaps: bool) -> Truth {
        match (surely, perhaps) {
            (true, _) => Truth::True,
            (false, true) => Truth::Unknown,
            (false, false) => Truth::False,
        }
    }

    /// Both hold.
    #[must_use]
    pub fn and(self, other: Truth) -> Truth {
        self.min(other)
    }

    /// At least one holds.
    #[must_use]
    pub fn or(self, other: Truth) -> Truth {
        self.max(other)
    }

    /// It does not hold.
    #[must_use]
    pub fn negated(self) -> Truth {
        match self {
            Truth::False => Truth::True,
            Truth::Unknown => Truth::Unknown,
            Truth::True => Truth::False,
        }
    }

    /// Whether it surely holds.
    #[must_use]
    pub fn is_true(self) -> bool {
        self == Truth::True
    }

    /// Whether it surely does not hold.
    #[must_use]
    pub fn is_false(self) -> bool {
        self == Truth::False
    }

    /// Whether it is not determined.
    #[must_use]
    pub fn is_unknown(self) -> bool {
        self == Truth::Unknown
    }
}
