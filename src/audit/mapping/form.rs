//! How dates and numbers are written in a file of records. Days and whole base units come out; nothing is rounded and
//! nothing is guessed.

use crate::model::{Date, Unit};

/// A sign between groups of three digits, as `1,234`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Thousands(pub u8);

/// How a date is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DateForm {
    parts: Vec<Part>,
    /// Whether anything may follow, such as a time of day.
    open: bool,
    text: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Part {
    Year,
    Month,
    MonthName,
    Day,
    Sign(u8),
}

const MONTHS: [&str; 12] = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];

/// Parts of a form with the text that stands for them, the longest first.
const PARTS: [(&str, Part); 4] =
    [("YYYY", Part::Year), ("MMM", Part::MonthName), ("MM", Part::Month), ("DD", Part::Day)];

impl DateForm {
    /// The form of an ISO 8601 calendar date.
    #[must_use]
    pub fn iso() -> DateForm {
        let sign = Part::Sign(b'-');
        let parts = vec![Part::Year, sign, Part::Month, sign, Part::Day];
        DateForm { parts, open: false, text: "YYYY-MM-DD".to_owned() }
    }

    /// Reads a form: `YYYY`, `MM` (or `MMM` for a name of three letters) and `DD` once each, in any order, with signs
    /// between them; `...` at the end lets anything follow.
    #[must_use]
    pub fn read(text: &str) -> Option<DateForm> {
        let (mut rest, open) = text.strip_suffix("...").map_or((text, false), |rest| (rest, true));
        let mut parts = Vec::new();
        while let Some(first) = rest.chars().next() {
            if let Some((word, part)) = PARTS.iter().find(|(word, _)| rest.starts_with(word)) {
                parts.push(*part);
                rest = rest.strip_prefix(word)?;
            } else {
                let sign = u8::try_from(first).ok().filter(|sign| sign.is_ascii() && !sign.is_ascii_alphanumeric())?;
                parts.push(Part::Sign(sign));
                rest = rest.strip_prefix(first)?;
            }
        }
        let count = |wanted: &[Part]| parts.iter().filter(|part| wanted.contains(part)).count();
        let whole =
            count(&[Part::Year]) == 1 && count(&[Part::Month, Part::MonthName]) == 1 && count(&[Part::Day]) == 1;
        whole.then(|| DateForm { parts, open, text: text.to_owned() })
    }

    /// The form as it is written.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The same form, which anything may follow.
    #[must_use]
    pub fn opened(&self) -> DateForm {
        DateForm { open: true, ..self.clone() }
    }

    /// Reads a date of this form; `None` where it is none, or outside the years 1900 to 2199.
    #[must_use]
    pub fn date(&self, field: &[u8]) -> Option<Date> {
        let mut rest = field;
        let (mut year, mut month, mut day) = (0i16, 0i8, 0i8);
        for part in &self.parts {
            match part {
                Part::Year => year = i16::try_from(digits(&mut rest, 4)?).ok()?,
                Part::Month => month = i8::try_from(digits(&mut rest, 2)?).ok()?,
                Part::Day => day = i8::try_from(digits(&mut rest, 2)?).ok()?,
                Part::MonthName => month = name(&mut rest)?,
                Part::Sign(sign) => {
                    let (first, others) = rest.split_first()?;
                    if first != sign {
                        return None;
                    }
                    rest = others;
                }
            }
        }
        // Digits that go on are of another number, not of a time behind the date, unless all is digits: 20250102123000.
        let is_dense = !self.parts.iter().any(|part| matches!(part, Part::Sign(_)));
        let goes_on = rest.first().is_some_and(|next| !self.open || (next.is_ascii_digit() && !is_dense));
        if goes_on || !(1900..=2199).contains(&year) {
            return None;
        }
        Date::new(year, month, day).ok()
    }
}

/// Up to so many digits, at least one; years need all four.
fn digits(rest: &mut &[u8], most: usize) -> Option<u16> {
    let count = rest.iter().take(most).take_while(|byte| byte.is_ascii_digit()).count();
    if count == 0 || (most == 4 && count < 4) {
        return None;
    }
    let (number, others) = rest.split_at_checked(count)?;
    *rest = others;
    Some(number.iter().fold(0, |sum, digit| sum * 10 + u16::from(digit - b'0')))
}

fn name(rest: &mut &[u8]) -> Option<i8> {
    let (name, others) = rest.split_at_checked(3)?;
    let month = MONTHS.iter().position(|known| known.as_bytes().eq_ignore_ascii_case(name))?;
    *rest = others;
    i8::try_from(month + 1).ok()
}

/// A decimal number in base units of a unit; `None` where it is no number, or does not come out whole. A fraction is
/// read only where the base unit holds it exactly: `12.5` miles are, `0.5` warm-ups are not.
#[must_use]
pub fn number(field: &[u8], unit: Unit, thousands: Option<Thousands>) -> Option<i64> {
    let (negative, body) = match field.split_first()? {
        (b'-', rest) => (true, rest),
        (b'+', rest) => (false, rest),
        _ => (false, field),
    };
    let (mut whole, mut decimals, mut places, mut seen, mut point) = (0i64, 0i64, 0u32, false, false);
    for byte in body {
        match byte {
            b'0'..=b'9' => {
                seen = true;
                let digit = i64::from(byte - b'0');
                if point {
                    places += 1;
                    decimals = decimals.checked_mul(10)?.checked_add(digit)?;
                } else {
                    whole = whole.checked_mul(10)?.checked_add(digit)?;
                }
            }
            b'.' if !point && seen => point = true,
            sign if !point && seen && thousands.is_some_and(|it| it.0 == *sign) => {}
            _ => return None,
        }
    }
    if !seen || (point && places == 0) {
        return None;
    }
    let mut base = unit.to_base(whole)?;
    if decimals > 0 {
        let scaled = i128::from(decimals) * i128::from(unit.scale());
        let divisor = 10i128.checked_pow(places)?;
        if scaled % divisor != 0 {
            return None;
        }
        base = base.checked_add(i64::try_from(scaled / divisor).ok()?)?;
    }
    Some(if negative { -base } else { base })
}
