//! Units and exact conversion. Every quantity is kept as a whole number of a base unit in which all units of its kind
//! are whole, so that 200 miles and 321 km compare exactly: no rounding, no floating point.

/// A unit a program file or a snapshot may use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Unit {
    /// Kilometre; base unit millimetre.
    Kilometre,
    /// International mile, 1.609344 km exactly (international yard and pound agreement of 1959).
    Mile,
    /// Avoirdupois pound, 0.45359237 kg exactly (same agreement); base unit 10 micrograms.
    Pound,
    /// Kilogram.
    Kilogram,
    /// Minute; also the base unit of time spans.
    Minute,
    /// Hour.
    Hour,
    /// Day of 24 hours.
    Day,
    /// Plain count, model year, or calendar day number.
    One,
}

impl Unit {
    /// Base units in one of this unit.
    #[must_use]
    pub fn scale(self) -> i64 {
        match self {
            Unit::Kilometre => 1_000_000,
            Unit::Mile => 1_609_344,
            Unit::Pound => 45_359_237,
            Unit::Kilogram => 100_000_000,
            Unit::Minute | Unit::One => 1,
            Unit::Hour => 60,
            Unit::Day => 1440,
        }
    }

    /// What the unit is called in program files and messages; empty for a plain count.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Unit::Kilometre => "km",
            Unit::Mile => "miles",
            Unit::Pound => "lb",
            Unit::Kilogram => "kg",
            Unit::Minute => "minutes",
            Unit::Hour => "hours",
            Unit::Day => "days",
            Unit::One => "",
        }
    }

    /// The other unit in which a snapshot may report a number that the vocabulary keeps in this one.
    #[must_use]
    pub fn other(self) -> Option<Unit> {
        match self {
            Unit::Kilometre => Some(Unit::Mile),
            Unit::Pound => Some(Unit::Kilogram),
            Unit::Hour => Some(Unit::Minute),
            Unit::Mile | Unit::Kilogram | Unit::Minute | Unit::Day | Unit::One => None,
        }
    }

    /// The unit in which a number of base units, kept in this one, is told: this one where it is whole in it, else the
    /// other one in which a snapshot may report it.
    #[must_use]
    pub fn telling(self, base: i64) -> Unit {
        let is_whole = base.rem_euclid(self.scale()) == 0;
        self.other().filter(|_| !is_whole).unwrap_or(self)
    }

    /// The unit of that word.
    #[must_use]
    pub fn named(word: &str) -> Option<Unit> {
        match word {
            "km" => Some(Unit::Kilometre),
            "miles" | "mile" => Some(Unit::Mile),
            "lb" => Some(Unit::Pound),
            "kg" => Some(Unit::Kilogram),
            "minutes" | "minute" => Some(Unit::Minute),
            "hours" | "hour" => Some(Unit::Hour),
            "days" | "day" => Some(Unit::Day),
            _ => None,
        }
    }

    /// Whether both measure the same kind of thing, so that they compare.
    #[must_use]
    pub fn is_comparable(self, other: Unit) -> bool {
        self.kind() == other.kind()
    }

    fn kind(self) -> u8 {
        match self {
            Unit::Kilometre | Unit::Mile => 0,
            Unit::Pound | Unit::Kilogram => 1,
            Unit::Minute | Unit::Hour | Unit::Day => 2,
            Unit::One => 3,
        }
    }

    /// That many of this unit in base units; `None` if it does not fit.
    #[must_use]
    pub fn to_base(self, amount: i64) -> Option<i64> {
        amount.checked_mul(self.scale())
    }

    /// Base units as text in this unit: whole where it is whole, else with the exact decimals (at most eight).
    #[must_use]
    pub fn show(self, base: i64) -> String {
        let scale = self.scale();
        let (whole, rest) = (base / scale, (base % scale).unsigned_abs());
        let number = if rest == 0 {
            whole.to_string()
        } else {
            let mut decimals = String::new();
            let (mut rest, scale) = (u128::from(rest), u128::from(scale.unsigned_abs()));
            while rest != 0 && decimals.len() < 8 {
                rest *= 10;
                decimals.push_str(&(rest / scale).to_string());
                rest %= scale;
            }
            let sign = if base < 0 && whole == 0 { "-" } else { "" };
            format!("{sign}{whole}.{decimals}")
        };
        if self == Unit::One { number } else { format!("{number} {}", self.word()) }
    }
}
