//! Vehicle identification numbers: form, check digit, model year.
//!
//! 49 CFR 565.15 for the check digit, the year codes and the position-7 rule; obd-data.md
//! section 4 for where they apply. Does not look up makers and never proposes another VIN.
//!
//! ```
//! use wherefore::internals::decode::vin::{CheckDigit, Vin};
//!
//! // A worked example of 49 CFR 565.
//! let vin = Vin::parse("1M8GDM9AXKP042788")?;
//! assert_eq!(vin.check_digit(), CheckDigit::Agrees);
//! assert_eq!(vin.model_years().candidates, Some((1989, 2019)));
//! # Ok::<(), wherefore::internals::decode::vin::VinError>(())
//! ```

use std::fmt;

/// Why a text is no VIN.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum VinError {
    /// Not 17 characters.
    #[error("a VIN has 17 characters, this has {0}")]
    Length(usize),
    /// A character other than 0-9 and A-Z without I, O and Q.
    #[error("`{found}` at position {position} of a VIN; only digits and capital letters without I, O and Q")]
    Character {
        /// Position from 1 to 17.
        position: usize,
        /// The character.
        found: char,
    },
    /// One character seventeen times: fill or a test pattern, although it may pass the check.
    #[error("`{0}` seventeen times is no VIN")]
    AllSame(char),
}

/// What the check digit tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CheckDigit {
    /// It is the digit that 49 CFR 565.15(c) requires. One in eleven agrees by chance.
    Agrees,
    /// It is not: a misread character, or a vehicle of another market.
    Differs {
        /// The digit that the other sixteen characters require.
        expected: char,
    },
    /// The maker's region does not require a check digit, so it tells nothing either way.
    NoEvidence,
}

/// The model years that position 10 allows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ModelYears {
    /// The two years, thirty apart, that share the code; `None` where position 10 is no year code.
    pub candidates: Option<(u16, u16)>,
    /// The one that position 7 chooses by 49 CFR 565.15(b): a digit there means 1980 to 2009, a
    /// letter 2010 to 2039. The rule binds passenger cars, multipurpose passenger vehicles and
    /// trucks of at most 10,000 lb GVWR; for anything else position 7 decides nothing.
    pub by_position_7: Option<u16>,
}

/// A well-formed VIN.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Vin(String);

/// Year codes from 1980 on (49 CFR 565.15, table VII): I, O, Q, U, Z and 0 never occur.
const YEARS: &str = "ABCDEFGHJKLMNPRSTVWXY123456789";

/// Weights of the positions (49 CFR 565.15(c)); the check digit itself counts 0.
const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

/// The value of a character for the check digit (49 CFR 565.15(c)); `None` where none may stand.
fn value(character: char) -> Option<u32> {
    Some(match character {
        '0'..='9' => character.to_digit(10)?,
        'A' | 'J' => 1,
        'B' | 'K' | 'S' => 2,
        'C' | 'L' | 'T' => 3,
        'D' | 'M' | 'U' => 4,
        'E' | 'N' | 'V' => 5,
        'F' | 'W' => 6,
        'G' | 'P' | 'X' => 7,
        'H' | 'Y' => 8,
        'R' | 'Z' => 9,
        _ => return None,
    })
}

impl Vin {
    /// Takes a text of 17 characters, digits and capital letters without I, O and Q.
    ///
    /// # Errors
    /// [`VinError`] for another length or character, and for one character throughout.
    pub fn parse(text: &str) -> Result<Self, VinError> {
        let length = text.chars().count();
        if length != 17 {
            return Err(VinError::Length(length));
        }
        for (position, found) in (1..).zip(text.chars()) {
            if value(found).is_none() {
                return Err(VinError::Character { position, found });
            }
        }
        match text.chars().next() {
            Some(first) if text.chars().all(|c| c == first) => Err(VinError::AllSame(first)),
            _ => Ok(Self(text.to_owned())),
        }
    }

    /// The 17 characters.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    fn character(&self, position: usize) -> char {
        self.0.chars().nth(position.saturating_sub(1)).unwrap_or('0')
    }

    /// The digit that the other sixteen characters require at position 9: 0 to 9 or X.
    #[must_use]
    pub fn expected_check_digit(&self) -> char {
        let sum: u32 = self.0.chars().zip(WEIGHTS).map(|(c, weight)| value(c).unwrap_or(0) * weight).sum();
        char::from_digit(sum % 11, 10).unwrap_or('X')
    }

    /// Whether the maker's region requires the check digit: North America (first character 1 to
    /// 5, 49 CFR 565), and China (L; from a secondary source only).
    #[must_use]
    pub fn check_digit_required(&self) -> bool {
        matches!(self.character(1), '1'..='5' | 'L')
    }

    /// What the check digit tells.
    #[must_use]
    pub fn check_digit(&self) -> CheckDigit {
        let expected = self.expected_check_digit();
        if !self.check_digit_required() {
            CheckDigit::NoEvidence
        } else if self.character(9) == expected {
            CheckDigit::Agrees
        } else {
            CheckDigit::Differs { expected }
        }
    }

    /// The model years that positions 10 and 7 allow. Never resolved by today's date.
    #[must_use]
    pub fn model_years(&self) -> ModelYears {
        let code = self.character(10);
        let early = (1980u16..).zip(YEARS.chars()).find(|(_, c)| *c == code).map(|(year, _)| year);
        let candidates = early.map(|year| (year, year + 30));
        let by_position_7 =
            candidates.map(|(early, late)| if self.character(7).is_ascii_digit() { early } else { late });
        ModelYears { candidates, by_position_7 }
    }
}

impl fmt::Display for Vin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
