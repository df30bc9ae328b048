//! A certificate: a small proof that a program leads to a verdict on a snapshot. It names the line that decides, and for
//! every graver line (and for coverage) the tests that kept it from biting. `verify` checks it from the texts of the
//! program alone, by an interpretation of its own: it shares nothing with `evaluate` and `diagram`, and it decides
//! nothing that the proof does not name. Proofs are made in `ruling`.

mod tests_of_facts;
mod texts;
mod verify;

pub use texts::{TextsError, program_of};
pub use verify::{Refusal, verify};

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Tests of a condition that settle it whatever the others say: places in the order in which the condition's tests are
/// written, named conditions and limits counted as one test.
pub type Tests = Vec<usize>;

/// A proof.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Certificate {
    /// Name of the verdict.
    pub verdict: String,
    /// The readings it rests on, by path in the snapshot document; all others may be forgotten.
    pub rests_on: Vec<String>,
    /// One proof, or one for each way of reading the open questions.
    pub ways: Vec<Way>,
}

/// A proof under one way of reading the open questions.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Way {
    /// Reading of each open question; empty where the proof does not turn on them.
    pub readings: BTreeMap<String, String>,
    /// Whether the program concerns the vehicle.
    pub coverage: Coverage,
    /// The line that decides; none where the ladder's first outcome stands or coverage decides.
    pub deciding: Option<Live>,
    /// Every line with a graver outcome, and what kept it from biting.
    pub blocked: Vec<Blocked>,
    /// What the outcome becomes.
    pub becomes: Relabelled,
}

/// A condition, by its place in its list, with the tests that settle it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tested {
    /// Place in its list.
    pub place: usize,
    /// The tests.
    pub tests: Tests,
}

/// Whether the program concerns the vehicle, with the proof.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "state", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Coverage {
    /// No version is in force.
    NotInForce,
    /// No covering block holds.
    NotCovered {
        /// Each covering block, with the tests that fail.
        blocks: Vec<Tested>,
    },
    /// A row leaves the vehicle out.
    LeftOut {
        /// A covering block that holds; not needed where the row leads to not-subject.
        block: Option<Tested>,
        /// The row.
        row: Tested,
        /// Rows that would lead to something graver, with the tests that fail.
        graver: Vec<Tested>,
    },
    /// A covering block holds and no row leaves the vehicle out.
    Covered {
        /// The block.
        block: Tested,
        /// Each row, with the tests that fail.
        rows: Vec<Tested>,
    },
}

/// A line that is unmet and not set aside.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Live {
    /// Its place in the program.
    pub line: usize,
    /// Its clause.
    pub clause: String,
    /// Tests by which it concerns the vehicle.
    pub concerns: Tests,
    /// Tests by which it is unmet.
    pub unmet: Tests,
    /// Each line it gives way to, and why that one does not set it aside.
    pub stands_before: Vec<Unyielding>,
}

/// Why a line does not set another aside.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Unyielding {
    /// The reading under which it would is not taken: tests that fail.
    NotUnder(Tests),
    /// That line does not bite itself.
    Blocked(Blocked),
}

/// A line that does not bite.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Blocked {
    /// Its place in the program.
    pub line: usize,
    /// Its clause.
    pub clause: String,
    /// What kept it from biting.
    pub by: By,
}

/// What kept a line from biting.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum By {
    /// It does not concern the vehicle: tests that fail.
    NotConcerned(Tests),
    /// It is met: tests that fail.
    Met(Tests),
    /// It is set aside by a line it gives way to.
    SetAside {
        /// Place in the list of lines it gives way to, with the tests by which it does.
        gives_way: Tested,
        /// That line.
        to: Box<Live>,
    },
}

/// What an outcome becomes after the ladder.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Relabelled {
    /// The relabelling that holds, if one does.
    pub rule: Option<Tested>,
    /// Relabellings of the same outcome that would lead to something graver, with the tests that fail.
    pub graver: Vec<Tested>,
}
