//! How much a program file may hold. Each limit has its own message. Design figures, well above any real program.

use super::context::Context;
use crate::diagnostic::Diagnostic;
use crate::source::Span;

/// Items of a file.
pub const ITEMS: usize = 2_000;
/// Outcomes on a ladder.
pub const OUTCOMES: usize = 16;
/// Lines of a clause.
pub const LINES: usize = 64;
/// Rows of a limit.
pub const LIMIT_ROWS: usize = 64;
/// Rows of a table, those of its files included.
pub const TABLE_ROWS: usize = 2_000;
/// Code patterns of a group or a table row.
pub const PATTERNS: usize = 200;
/// Findings of a program.
pub const FINDINGS: usize = 500;
/// Clauses of a program, their variants counted.
pub const CLAUSES: usize = 500;
/// Questions of a program.
pub const QUESTIONS: usize = 12;
/// Readings of a question.
pub const READINGS: usize = 8;
/// Options of a program.
pub const OPTIONS: usize = 24;
/// Declared facts of a program.
pub const FACTS: usize = 64;
/// Words of a declared fact (they are bits of a mask).
pub const WORDS: usize = 32;
/// Tests of a condition.
pub const TESTS: usize = 128;
/// Turns of an announced change.
pub const TURNS: usize = 16;
/// Worked cases of a file.
pub const CASES: usize = 1_000;
/// Levels of adoption.
pub const ADOPTION_DEPTH: usize = 4;

impl Context {
    /// Reports more than `most` of something.
    pub(super) fn at_most(&mut self, span: Span, count: usize, most: usize, what: &str) {
        if count > most {
            let message = format!("{count} {what}: at most {most} are allowed");
            let help = "split the program, or say the same in fewer";
            self.report(Diagnostic::error("check/too-many", span, message).help(help));
        }
    }
}
