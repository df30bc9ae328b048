//! Outcomes and the classes hosts switch on; the topics of clauses.

/// The class of an outcome: what hosts switch on, while outcomes have a program's own names.
///
/// ```
/// assert_eq!(wherefore::Class::Pass.word(), "pass");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Class {
    /// Passes.
    Pass,
    /// Passes for now, on conditions.
    Conditional,
    /// Goes to another test.
    OtherTest,
    /// Cannot be tested now; come back.
    Reject,
    /// Fails.
    Fail,
    /// The program does not concern the vehicle.
    NotSubject,
    /// The file holds no law for the date: nothing is said of the vehicle.
    NoLaw,
    /// More than one outcome is possible.
    Undecided,
}

impl Class {
    /// All classes; those after the first five are reserved and never on a ladder.
    pub const ALL: &'static [Class] = &[
        Class::Pass,
        Class::Conditional,
        Class::OtherTest,
        Class::Reject,
        Class::Fail,
        Class::NotSubject,
        Class::NoLaw,
        Class::Undecided,
    ];

    /// The word that program files and JSON use.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Class::Pass => "pass",
            Class::Conditional => "conditional",
            Class::OtherTest => "other-test",
            Class::Reject => "reject",
            Class::Fail => "fail",
            Class::NotSubject => "not-subject",
            Class::NoLaw => "no-law-in-file",
            Class::Undecided => "undecided",
        }
    }
}

/// The class of that word, if it may be on a ladder.
#[must_use]
pub fn on_a_ladder(word: &str) -> Option<Class> {
    Class::ALL.iter().copied().take(5).find(|class| class.word() == word)
}

/// One outcome of a program's ladder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// Name in the file and in rulings.
    pub name: String,
    /// Its class.
    pub class: Class,
    /// How the program words it, if otherwise.
    pub label: Option<String>,
}

/// What a clause is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the words in ALL say what each is")]
pub enum Topic {
    Connector,
    Communication,
    Identity,
    BulbCheck,
    Lamp,
    StoredCodes,
    PendingCodes,
    PermanentCodes,
    SinceClearing,
    Readiness,
    ReadinessAtRetest,
    Other,
}

impl Topic {
    /// All topics with their words.
    pub const ALL: [(Topic, &'static str); 12] = [
        (Topic::Connector, "connector"),
        (Topic::Communication, "communication"),
        (Topic::Identity, "identity"),
        (Topic::BulbCheck, "bulb-check"),
        (Topic::Lamp, "lamp"),
        (Topic::StoredCodes, "stored-codes"),
        (Topic::PendingCodes, "pending-codes"),
        (Topic::PermanentCodes, "permanent-codes"),
        (Topic::SinceClearing, "since-clearing"),
        (Topic::Readiness, "readiness"),
        (Topic::ReadinessAtRetest, "readiness-at-retest"),
        (Topic::Other, "other"),
    ];

    /// The word in program files.
    #[must_use]
    pub fn word(self) -> &'static str {
        Topic::ALL.iter().find(|(topic, _)| *topic == self).map_or("", |(_, word)| word)
    }

    /// What a rule on the topic is about, as a person would say it behind *a rule on*.
    #[must_use]
    pub fn spoken(self) -> &'static str {
        match self {
            Topic::Connector => "the connector",
            Topic::Communication => "a vehicle that does not answer",
            Topic::Identity => "the identity of the vehicle",
            Topic::BulbCheck => "the bulb check",
            Topic::Lamp => "the malfunction lamp",
            Topic::StoredCodes => "stored codes",
            Topic::PendingCodes => "pending codes",
            Topic::PermanentCodes => "permanent codes",
            Topic::SinceClearing => "codes cleared lately",
            Topic::Readiness => "incomplete monitors",
            Topic::ReadinessAtRetest => "incomplete monitors at a retest",
            Topic::Other => "other points",
        }
    }

    /// Whether every covered vehicle must be dealt with on the topic (all but *other*).
    #[must_use]
    pub fn is_required(self) -> bool {
        self != Topic::Other
    }
}
