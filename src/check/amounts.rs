//! Amounts and bounds: exact whole numbers of base units, within what the fact can be.

use super::context::Context;
use crate::diagnostic::Diagnostic;
use crate::model::{Date, FactType, Unit, day_number};
use crate::program::block::DeclaredType;
use crate::source::Spanned;
use crate::syntax::ast::{Amount, Bounds, Word};

/// What a number or date can be; ends in the unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Scale {
    /// A number of a unit.
    Number { unit: Unit, least: i64, most: i64, saturates: bool },
    /// A date.
    Date,
}

/// Bounds in base units, both included.
pub(super) type Within = (Option<i64>, Option<i64>);

impl Scale {
    /// Ages in years.
    pub(super) const AGE: Scale = Scale::Number { unit: Unit::One, least: 0, most: 200, saturates: false };

    /// The scale of a fact of the table, if it is a number or a date.
    pub(super) fn of(kind: &FactType) -> Option<Scale> {
        match *kind {
            FactType::Number { unit, least, most, saturates } => Some(Scale::Number { unit, least, most, saturates }),
            FactType::Date => Some(Scale::Date),
            _ => None,
        }
    }

    /// The scale of a declared fact, if it is a number.
    pub(super) fn of_declared(kind: &DeclaredType) -> Option<Scale> {
        match *kind {
            DeclaredType::Number { unit, least, most } => Some(Scale::Number { unit, least, most, saturates: false }),
            _ => None,
        }
    }

    fn ends(self) -> (i64, i64) {
        match self {
            Scale::Number { unit, least, most, .. } => {
                (unit.to_base(least).unwrap_or(i64::MIN), unit.to_base(most).unwrap_or(i64::MAX))
            }
            Scale::Date => (day_number(Date::constant(1900, 1, 1)), day_number(Date::constant(2199, 12, 31))),
        }
    }

    fn saturates(self) -> bool {
        matches!(self, Scale::Number { saturates: true, .. })
    }

    fn shown(self) -> String {
        match self {
            Scale::Number { unit, least, most, .. } => {
                format!("{least} through {most} {}", unit.word()).trim_end().to_owned()
            }
            Scale::Date => "1900-01-01 through 2199-12-31".to_owned(),
        }
    }
}

impl Context {
    /// The amount in base units, or as a day number.
    pub(super) fn amount(&mut self, subject: &Word, amount: &Spanned<Amount>, scale: Scale) -> Option<i64> {
        let base = match (&amount.node, scale) {
            (Amount::Date(text), Scale::Date) => day_number(self.date(&Spanned::new(text.clone(), amount.span))?),
            (Amount::Number { number, unit }, Scale::Number { unit: own, .. }) => {
                let unit = self.unit(subject, amount, unit.as_ref(), own)?;
                // A number too large for base units is out of any range.
                unit.to_base(*number).unwrap_or(i64::MAX)
            }
            (Amount::Date(_), Scale::Number { .. }) => {
                let message = format!("`{}` is a number, not a date", subject.node);
                self.error("check/wrong-type", amount.span, message, format!("give a number, {}", scale.shown()));
                return None;
            }
            (Amount::Number { .. }, Scale::Date) => {
                let message = format!("`{}` is a date", subject.node);
                self.error("check/wrong-type", amount.span, message, "write year, month and day: `2012-07-01`");
                return None;
            }
        };
        let (least, most) = scale.ends();
        if (least..=most).contains(&base) {
            return Some(base);
        }
        if scale.saturates() && base > most {
            self.saturated(subject, amount, scale);
        } else {
            let message = format!("`{}` is never so: it is {}", subject.node, scale.shown());
            self.error("check/out-of-range", amount.span, message, "look for a slip of the pen, or another unit");
        }
        None
    }

    fn unit(&mut self, subject: &Word, amount: &Spanned<Amount>, unit: Option<&Word>, own: Unit) -> Option<Unit> {
        let Some(word) = unit else {
            if own == Unit::One {
                return Some(own);
            }
            let message = format!("`{}` needs a unit", subject.node);
            let help = format!("write the number with its unit, such as `{}`", own.word());
            self.error("check/unit-missing", amount.span, message, help);
            return None;
        };
        let Some(unit) = Unit::named(&word.node) else {
            let known = ["km", "miles", "lb", "kg", "minutes", "hours", "days"];
            self.unknown("check/unknown-unit", "unit", word, known);
            return None;
        };
        if own == Unit::One {
            let message = format!("`{}` has no unit", subject.node);
            self.error("check/unit-wrong", word.span, message, "leave the unit out");
            return None;
        }
        if !unit.is_comparable(own) {
            let message = format!("`{}` is not measured in {}", subject.node, word.node);
            let help = format!("it is measured in {}, or another unit of the same kind", own.word());
            self.error("check/unit-wrong", word.span, message, help);
            return None;
        }
        Some(unit)
    }

    fn saturated(&mut self, subject: &Word, amount: &Spanned<Amount>, scale: Scale) {
        let Scale::Number { unit, most, .. } = scale else { return };
        let top = format!("{most} {}", unit.word());
        let top = top.trim_end();
        let message = format!("`{}` cannot tell this: its greatest reading, {top}, means {top} or more", subject.node);
        let help = format!("say `at least {top}` for the greatest reading, or `at most` a smaller number");
        self.report(Diagnostic::error("check/saturated", amount.span, message).help(help));
    }

    /// Bounds in base units; `above` and `below` leave the amount itself out.
    pub(super) fn bounds(&mut self, subject: &Word, bounds: &Bounds, scale: Scale) -> Option<Within> {
        let (bottom, top) = scale.ends();
        match bounds {
            Bounds::Is(amount) => {
                let value = self.amount(subject, amount, scale)?;
                self.below_saturation(subject, amount, scale, value)?;
                Some((Some(value), Some(value)))
            }
            Bounds::AtLeast(amount) | Bounds::OrLater(amount) => {
                Some((Some(self.amount(subject, amount, scale)?), None))
            }
            Bounds::AtMost(amount) | Bounds::OrEarlier(amount) => {
                let value = self.amount(subject, amount, scale)?;
                self.below_saturation(subject, amount, scale, value)?;
                Some((None, Some(value)))
            }
            Bounds::Above(amount) => {
                let value = self.amount(subject, amount, scale)?;
                self.below_saturation(subject, amount, scale, value)?;
                self.not_at_the_end(subject, amount, value == top, scale)?;
                Some((Some(value.saturating_add(1)), None))
            }
            Bounds::Below(amount) => {
                let value = self.amount(subject, amount, scale)?;
                self.not_at_the_end(subject, amount, value == bottom, scale)?;
                Some((None, Some(value.saturating_sub(1))))
            }
            Bounds::Through(first, last) => {
                let least = self.amount(subject, &with_unit_of(first, last), scale);
                let most = self.amount(subject, last, scale);
                let (least, most) = (least?, most?);
                self.below_saturation(subject, last, scale, most)?;
                if most < least {
                    let message = "the second number is below the first";
                    let diagnostic = Diagnostic::error("check/bounds-reversed", last.span, message);
                    self.report(diagnostic.also(first.span, "first number").help("write the lower one first"));
                    return None;
                }
                Some((Some(least), Some(most)))
            }
        }
    }

    fn below_saturation(&mut self, subject: &Word, amount: &Spanned<Amount>, scale: Scale, value: i64) -> Option<()> {
        if scale.saturates() && value >= scale.ends().1 {
            self.saturated(subject, amount, scale);
            return None;
        }
        Some(())
    }

    fn not_at_the_end(
        &mut self,
        subject: &Word,
        amount: &Spanned<Amount>,
        at_the_end: bool,
        scale: Scale,
    ) -> Option<()> {
        if !at_the_end {
            return Some(());
        }
        let message = format!("`{}` is never so: it is {}", subject.node, scale.shown());
        self.error("check/out-of-range", amount.span, message, "`above` and `below` leave the number itself out");
        None
    }
}

/// `8501 through 9000 lb`: the unit of the second number is that of the first too.
fn with_unit_of(first: &Spanned<Amount>, last: &Spanned<Amount>) -> Spanned<Amount> {
    match (&first.node, &last.node) {
        (Amount::Number { number, unit: None }, Amount::Number { unit, .. }) => {
            Spanned::new(Amount::Number { number: *number, unit: unit.clone() }, first.span)
        }
        _ => first.clone(),
    }
}
