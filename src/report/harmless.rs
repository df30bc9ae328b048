//! Texts for a terminal: what came from a file must not steer it.

use std::borrow::Cow;

/// The text with every character that could steer a terminal written out. Line ends and tabs stay.
#[must_use]
pub fn harmless(text: &str) -> Cow<'_, str> {
    if !text.chars().any(steers) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for character in text.chars() {
        match character {
            character if steers(character) => out.push_str(&format!("\\u{:04x}", u32::from(character))),
            character => out.push(character),
        }
    }
    Cow::Owned(out)
}

/// Whether a character is a control character (C0, DEL, C1) or one that turns the direction of writing (Unicode
/// Standard Annex 9: marks, embeddings, overrides, isolates), or ends a line unseen.
fn steers(character: char) -> bool {
    match character {
        '\n' | '\t' => false,
        '\u{61C}' | '\u{200E}' | '\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2066}'..='\u{2069}' => true,
        character => character.is_control(),
    }
}

#[cfg(test)]
mod tests {
    use super::harmless;

    #[test]
    fn what_steers_a_terminal_is_written_out() {
        assert_eq!(harmless("a\tb\nc é ü 車 → …"), "a\tb\nc é ü 車 → …", "what does not stays");
        let steering = "\u{1b}[31m\u{7}\r\0\u{7f}\u{9b}2J\u{202e}x\u{2066}\u{200f}";
        let expected = r"\u001b[31m\u0007\u000d\u0000\u007f\u009b2J\u202ex\u2066\u200f";
        assert_eq!(harmless(steering), expected);
    }

    /// Written out in JSON, a character is the same text still (RFC 8259, section 7).
    #[test]
    fn json_stays_the_same_json() {
        let text = serde_json::to_string(&"\u{202e}\u{85}\u{1b}").unwrap_or_default();
        let read: Result<String, _> = serde_json::from_str(&harmless(&text));
        assert_eq!(read.ok().as_deref(), Some("\u{202e}\u{85}\u{1b}"));
    }
}
