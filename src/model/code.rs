//! Trouble codes and groups of them. Layout of the two-byte code: SAE J2012 / ISO 15031-6 as in the digest of vehicle
//! data, section 1.6: two bits of system letter, two of first digit, three hexadecimal digits.

use std::collections::BTreeSet;
use std::fmt;

/// One diagnostic trouble code.
///
/// ```
/// assert_eq!(wherefore::TroubleCode::parse("P0420"), Some(wherefore::TroubleCode::obd(0x0420)));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum TroubleCode {
    /// A J2012 code: its two bytes, and the failure-type byte where the three-byte form was reported.
    Obd {
        /// The two bytes, `0x0420` for P0420.
        code: u16,
        /// Failure-type byte of the three-byte form (`P0420-11`).
        failure_type: Option<u8>,
    },
    /// A J1939 code: suspect parameter number (19 bits) and failure mode (5 bits).
    J1939 {
        /// Suspect parameter number, 1 to 524286.
        spn: u32,
        /// Failure mode identifier, 0 to 31.
        fmi: u8,
    },
}

const LETTERS: [char; 4] = ['P', 'C', 'B', 'U'];

impl TroubleCode {
    /// The plain two-byte code.
    #[must_use]
    pub fn obd(code: u16) -> TroubleCode {
        TroubleCode::Obd { code, failure_type: None }
    }

    /// Reads `P0420`, `P0420-11` or `SPN 1076 FMI 5`. Letters of either case; `None` where it is none of these.
    #[must_use]
    pub fn parse(text: &str) -> Option<TroubleCode> {
        if let Some(rest) = text.strip_prefix("SPN ") {
            let (spn, fmi) = rest.split_once(" FMI ")?;
            if !spn.bytes().chain(fmi.bytes()).all(|byte| byte.is_ascii_digit()) {
                return None;
            }
            let (spn, fmi) = (spn.parse().ok()?, fmi.parse().ok()?);
            return ((1..=524_286).contains(&spn) && fmi <= 31).then_some(TroubleCode::J1939 { spn, fmi });
        }
        let (code, failure_type) = match text.split_once('-') {
            Some((code, failure)) if failure.len() == 2 && failure.bytes().all(|byte| byte.is_ascii_hexdigit()) => {
                (code, Some(u8::from_str_radix(failure, 16).ok()?))
            }
            Some(_) => return None,
            None => (text, None),
        };
        Some(TroubleCode::Obd { code: parse_two_bytes(code)?, failure_type })
    }

    /// The two bytes that groups of codes are matched on; `None` for a J1939 code, which no group of a program names.
    #[must_use]
    pub fn two_bytes(self) -> Option<u16> {
        match self {
            TroubleCode::Obd { code, .. } => Some(code),
            TroubleCode::J1939 { .. } => None,
        }
    }
}

fn parse_two_bytes(text: &str) -> Option<u16> {
    let mut chars = text.chars();
    let letter = chars.next()?.to_ascii_uppercase();
    let system = LETTERS.iter().position(|known| *known == letter)?;
    let digits = chars.as_str();
    if digits.len() != 4 || !digits.chars().all(|c| c.is_ascii_hexdigit()) {
        return None;
    }
    let value = u16::from_str_radix(digits, 16).ok()?;
    (value <= 0x3FFF).then(|| value | u16::try_from(system).unwrap_or(0) << 14)
}

/// The text of a two-byte code, `P0420`.
#[must_use]
pub fn show_two_bytes(code: u16) -> String {
    let letter = LETTERS.get(usize::from(code >> 14)).copied().unwrap_or('P');
    format!("{letter}{:04X}", code & 0x3FFF)
}

impl fmt::Display for TroubleCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TroubleCode::Obd { code, failure_type: None } => f.write_str(&show_two_bytes(*code)),
            TroubleCode::Obd { code, failure_type: Some(failure) } => {
                write!(f, "{}-{failure:02X}", show_two_bytes(*code))
            }
            TroubleCode::J1939 { spn, fmi } => write!(f, "SPN {spn} FMI {fmi}"),
        }
    }
}

/// A list of codes as it was read: whole, or known to be only a part.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct CodeList {
    /// The codes that were read.
    pub codes: BTreeSet<TroubleCode>,
    /// Whether there may be others that were not read.
    pub may_hold_more: bool,
}

/// A run of two-byte codes, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CodeRange {
    /// First code.
    pub first: u16,
    /// Last code.
    pub last: u16,
    /// Only codes whose four places are all decimal digits: P0420 through P0439 is then 20 codes and not 26+.
    pub digits_only: bool,
}

impl CodeRange {
    /// Whether the range holds the code.
    #[must_use]
    pub fn contains(self, code: u16) -> bool {
        (self.first..=self.last).contains(&code) && (!self.digits_only || is_decimal(code))
    }
}

fn is_decimal(code: u16) -> bool {
    (0..4).all(|place| code >> (4 * place) & if place == 3 { 0x3 } else { 0xF } <= 9)
}

/// A named group of codes with three bands: surely in, surely out, and in a text that was not read.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct CodeGroup {
    /// Codes that the group surely holds.
    pub ranges: Vec<CodeRange>,
    /// Codes that may or may not be in the group: the text that was seen does not say.
    pub unread: Vec<CodeRange>,
}

impl CodeGroup {
    /// Whether the group holds the code; `None` where the text was not read.
    #[must_use]
    pub fn contains(&self, code: TroubleCode) -> Option<bool> {
        let Some(code) = code.two_bytes() else {
            return Some(false);
        };
        if self.ranges.iter().any(|range| range.contains(code)) {
            Some(true)
        } else if self.unread.iter().any(|range| range.contains(code)) {
            None
        } else {
            Some(false)
        }
    }
}
