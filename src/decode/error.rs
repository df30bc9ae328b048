//! When nothing can be used: the errors of [`decode`](super::decode()), and the checks for them.

use super::collect::{Collected, RefusedLines};
use super::form::{self, EXAMPLE, Unread};
use super::line::LineProblem;

/// Nothing in the input can be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum DecodeError {
    /// No line but empty ones and remarks.
    #[error(
        "the input is empty; record the vehicle's answers with `candump -L` or write lines like `7E8 41 01 00 07 E5 00`"
    )]
    Empty,
    /// Zero bytes or another encoding.
    #[error("the input is not plain text ({0}); save it as plain text, one message a line")]
    NotText(&'static str),
    /// No line could be read.
    #[error("none of {lines} lines is a message; line {line}: {}", problem.explain())]
    NoUsableLine {
        /// How many lines there are, empty ones and remarks aside.
        lines: usize,
        /// The first line that was not read.
        line: usize,
        /// What is wrong with it.
        problem: LineProblem,
        /// All of them, by reason.
        refused: Vec<RefusedLines>,
    },
    /// A form that is known and not read.
    #[error("the input is {}; a line that is read: {EXAMPLE}", .0.explain())]
    NotRead(Unread),
    /// A packet capture of something else than a CAN bus.
    #[error(
        "a packet capture of link type {link}, which is no CAN bus{}; record the CAN side, with candump or as SocketCAN \
         (link type 227); a line that is read: {EXAMPLE}",
        if *link == 1 { " (Ethernet: diagnostics over IP, DoIP, are not read)" } else { "" }
    )]
    OtherLink {
        /// Number of the link type.
        link: i32,
    },
    /// A packet capture whose header cannot be read.
    #[error("the packet capture is damaged; record again, or give candump text: {EXAMPLE}")]
    DamagedCapture {
        /// The packet, 0 for the header of the file.
        packet: usize,
    },
    /// Bytes in swapped order.
    #[error("the bytes are in swapped order (line {line}); record again without `-S`")]
    SwappedOrder {
        /// The first such line, or 1 where only the whole shows it.
        line: usize,
    },
}

/// How far into the input a zero byte is looked for.
const BINARY_PROBE: usize = 4096;

/// The text without a byte order mark.
pub(super) fn text(input: &[u8]) -> Result<&[u8], DecodeError> {
    let text = match input {
        [0xEF, 0xBB, 0xBF, text @ ..] => text,
        [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..] => return Err(DecodeError::NotText("it is UTF-16")),
        _ => input,
    };
    if text.iter().take(BINARY_PROBE).any(|b| *b == 0) {
        return Err(DecodeError::NotText("it has zero bytes"));
    }
    Ok(text)
}

/// Whether anything can be used.
pub(super) fn usable(all: &Collected, text: &[u8]) -> Result<(), DecodeError> {
    if all.lines == 0 {
        return Err(DecodeError::Empty);
    }
    if let Some(lines) = all.refused.get(&LineProblem::SwappedOrder) {
        let line = lines.iter().next().unwrap_or(1);
        return Err(DecodeError::SwappedOrder { line });
    }
    if all.usable == 0 {
        // What says what to do goes before the first line, which is often a prompt or a heading.
        let telling = |problem| matches!(problem, LineProblem::NoHeader | LineProblem::MayBeDecimal);
        if let Some(unread) = form::named(text).filter(|_| !all.refused.keys().copied().any(telling)) {
            return Err(DecodeError::NotRead(unread));
        }
        let first = all
            .refused
            .iter()
            .filter_map(|(problem, lines)| lines.iter().next().map(|line| (!telling(*problem), line, *problem)))
            .min()
            .map(|(_, line, problem)| (line, problem));
        let (line, problem) = first.unwrap_or((1, LineProblem::NotAMessage));
        let refused = all
            .refused
            .iter()
            .map(|(problem, lines)| RefusedLines { problem: *problem, lines: lines.clone() })
            .collect();
        return Err(DecodeError::NoUsableLine { lines: all.lines, line, problem, refused });
    }
    if all.forwards == 0 && all.backwards > 0 && all.ecus.is_empty() {
        return Err(DecodeError::SwappedOrder { line: 1 });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::{Options, decode};
    use super::*;

    /// What tells a person what to do goes before what the file as a whole looks like, wherever it stands among lines that tell
    /// nothing.
    #[test]
    fn a_line_that_says_what_to_do_goes_before_the_form() {
        let named = "first,second\nthird,fourth\n";
        let error = |text: &str| decode(text.as_bytes(), &Options::default()).map(|_| ());
        assert_eq!(error(named), Err(DecodeError::NotRead(Unread::Values)));
        let found = error(&format!("{named}41 00 BE 1F A8 13\n"));
        let tells = |found: &Result<(), DecodeError>| match found {
            Err(DecodeError::NoUsableLine { line: 3, problem: LineProblem::NoHeader, refused, .. }) => {
                refused.len() > 1
            }
            _ => false,
        };
        assert!(tells(&found), "{found:?}");
    }
}
