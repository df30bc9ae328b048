//! Patterns of trouble codes: `P0420`, `P03xx`, `P0420 through P0439 digits only`. Places hold hexadecimal digits (SAE
//! J2012 as in the digest of vehicle data, section 1.6), so a range may or may not mean the codes with letters in it.

use super::context::Context;
use super::limits::PATTERNS;
use crate::model::{CodeRange, TroubleCode};
use crate::source::Span;
use crate::syntax::ast::{CodePattern, Word};

impl Context {
    /// The ranges that patterns mean.
    pub(super) fn patterns(&mut self, patterns: &[CodePattern], span: Span) -> Vec<CodeRange> {
        self.at_most(span, patterns.len(), PATTERNS, "code patterns");
        patterns.iter().filter_map(|pattern| self.pattern(pattern)).collect()
    }

    fn pattern(&mut self, pattern: &CodePattern) -> Option<CodeRange> {
        let (first, widest) = self.ends(&pattern.first)?;
        let Some(last_word) = &pattern.last else {
            return Some(CodeRange { first, last: widest, digits_only: pattern.digits_only == Some(true) });
        };
        let (last, last_widest) = self.ends(last_word)?;
        if widest != first || last_widest != last {
            let help = "give the first and the last code in full";
            let message = "a range does not go between patterns";
            self.error("check/bad-code", pattern.span, message, help);
            return None;
        }
        if first >> 14 != last >> 14 {
            let message = format!("`{}` and `{}` are codes of different systems", pattern.first.node, last_word.node);
            self.error("check/codes-reversed", pattern.span, message, "write one range for each letter");
            return None;
        }
        if last < first {
            let message = format!("`{}` comes after `{}`", pattern.first.node, last_word.node);
            self.error("check/codes-reversed", pattern.span, message, "write the lower code first");
            return None;
        }
        let digits = CodeRange { first, last, digits_only: true };
        let plain = (first..=last).all(|code| digits.contains(code));
        let ends_plain = digits.contains(first) && digits.contains(last);
        let digits_only = match pattern.digits_only {
            None if !plain && ends_plain => {
                let message = format!(
                    "`{}` through `{}` may or may not mean the codes with letters between them",
                    pattern.first.node, last_word.node
                );
                let help = "say `digits only` (P0429, then P0430) or `with letters` (P0429, P042A, …, P042F, P0430)";
                self.error("check/letters-not-said", pattern.span, message, help);
                return None;
            }
            Some(true) if !ends_plain => {
                let message = "`digits only` leaves out an end of the range, which has a letter";
                self.error("check/letters-not-said", pattern.span, message, "say `with letters`, or give other ends");
                return None;
            }
            said => said == Some(true),
        };
        Some(CodeRange { first, last, digits_only })
    }

    /// First and last code that a pattern means.
    fn ends(&mut self, word: &Word) -> Option<(u16, u16)> {
        let text = word.node.as_str();
        let stem = text.trim_end_matches(['x', 'X']);
        let fill = |digit: &str| format!("{stem}{}", digit.repeat(text.len().saturating_sub(stem.len())));
        let code = |text: &str| match TroubleCode::parse(text) {
            Some(TroubleCode::Obd { code, failure_type: None }) => Some(code),
            _ => None,
        };
        match (code(&fill("0")), code(&fill("F"))) {
            (Some(first), Some(last)) if stem.len() >= 2 => Some((first, last)),
            _ => {
                let message = format!("`{text}` is no trouble code");
                let help = match crate::syntax::words::code_range(text) {
                    Some(range) => format!("write `{range}`, or `with letters` if codes with letters are meant too"),
                    None => {
                        "a code is P, C, B or U, a digit 0 to 3 and three hexadecimal digits; `x` at the end stands \
                             for any: `P0420`, `P03xx`"
                            .to_owned()
                    }
                };
                self.error("check/bad-code", word.span, message, help);
                None
            }
        }
    }
}
