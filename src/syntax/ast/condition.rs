//! Conditions, tests, and facts set to values.

use super::Word;
use crate::source::{Span, Spanned};

/// A condition: tests joined by *and*, and at most one group of bullets at the end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Condition {
    /// Its place in the text.
    pub span: Span,
    /// Tests, all of which must hold.
    pub tests: Vec<Spanned<Test>>,
    /// A group of bullets.
    pub group: Option<Group>,
}

/// A group of bullets; each bullet is tests joined by *and*.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// Its place in the text.
    pub span: Span,
    /// How the bullets are joined.
    pub join: Join,
    /// The bullets.
    pub bullets: Vec<Vec<Spanned<Test>>>,
}

/// How bullets are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Join {
    /// `any of`
    Any,
    /// `all of`
    All,
    /// `none of`
    None,
    /// `not all of`
    NotAll,
}

/// An amount: a number with a unit, or a date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Amount {
    /// `8500 lb`, `2001`, `15`
    Number {
        /// Digits.
        number: i64,
        /// Unit.
        unit: Option<Word>,
    },
    /// `2012-07-01`
    Date(String),
}

/// Bounds on a number or date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Bounds {
    /// `is 15`, `model year 2001`
    Is(Spanned<Amount>),
    /// `at least 15`
    AtLeast(Spanned<Amount>),
    /// `at most 15`
    AtMost(Spanned<Amount>),
    /// `above 8500 lb`
    Above(Spanned<Amount>),
    /// `below 8500 lb`
    Below(Spanned<Amount>),
    /// `1996 or later`
    OrLater(Spanned<Amount>),
    /// `2000 or earlier`
    OrEarlier(Spanned<Amount>),
    /// `1996 through 2000`
    Through(Spanned<Amount>, Spanned<Amount>),
}

/// What a count is compared with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum HowMany {
    /// `at least N`
    AtLeast(Spanned<i64>),
    /// `at most N`
    AtMost(Spanned<i64>),
    /// `exactly N`
    Exactly(Spanned<i64>),
    /// `every`
    Every,
    /// `no`
    No,
    /// `any`
    Any,
}

/// A monitor's state in a test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// `incomplete`
    Incomplete,
    /// `supported and complete`
    SupportedAndComplete,
    /// `complete wherever supported`
    CompleteWhereverSupported,
    /// `supported`
    Supported,
    /// `unsupported`
    Unsupported,
    /// `complete` alone: an error that says to choose
    BareComplete,
}

/// One test.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Test {
    /// `every vehicle`
    EveryVehicle,
    /// A yes/no phrase of the table: `lamp commanded on`
    Phrase(String),
    /// `SUBJECT is [not] A, B or C`: words of a fact of the table or a declared fact
    Is {
        /// Name of a fact (of the table, as the table spells it; or declared).
        subject: Word,
        /// Whether it is `is not`.
        not: bool,
        /// Words.
        values: Vec<Word>,
    },
    /// `SUBJECT is [not] "A", "B" or "C"`: texts
    IsText {
        /// Name of a fact.
        subject: Word,
        /// Whether it is `is not`.
        not: bool,
        /// Texts, without quotes.
        values: Vec<Word>,
    },
    /// `area is [not] one of the areas`: those that the file declares
    DeclaredArea {
        /// Whether it is `is not`.
        not: bool,
    },
    /// `SUBJECT BOUNDS`: numbers and dates; `age` too
    Number {
        /// Name of a fact, or `age`.
        subject: Word,
        /// Bounds.
        bounds: Bounds,
    },
    /// `MONITOR is STATE`
    Monitor {
        /// Monitor.
        monitor: Word,
        /// State.
        state: Spanned<State>,
    },
    /// `HOWMANY counted monitors are STATE`
    Counted {
        /// How many.
        how_many: HowMany,
        /// State.
        state: Spanned<State>,
    },
    /// `HOWMANY of M, M are STATE`
    CountOf {
        /// How many.
        how_many: HowMany,
        /// Monitors.
        monitors: Vec<Word>,
        /// State.
        state: Spanned<State>,
    },
    /// `any|every|no monitor that lit the lamp earlier is STATE`, `… monitor incomplete earlier is STATE`
    Pair {
        /// `any`, `every` or `no`.
        how_many: HowMany,
        /// Whether it is those that lit the lamp (else those incomplete earlier).
        lit_the_lamp: bool,
        /// State.
        state: Spanned<State>,
    },
    /// `no more counted monitors are incomplete than earlier`
    NoMoreThanEarlier,
    /// `any|no|only LIST code [among GROUP]`, `… on the list of TABLE`
    Codes {
        /// `any`, `no` or `only`.
        how: Word,
        /// `stored code`, `pending code`, `permanent code`, `earlier failure code`, `earlier code`.
        list: Word,
        /// Group.
        among: Option<Word>,
        /// Table.
        on_the_list_of: Option<Word>,
    },
    /// `too many monitors are incomplete [by limit ID]`, or `not too many …`
    Limit {
        /// Whether not too many.
        within: bool,
        /// Its id, as the file writes it.
        id: Option<Word>,
    },
    /// `[not] listed in TABLE`
    Listed {
        /// Whether `not`.
        not: bool,
        /// Table.
        table: Word,
    },
    /// `model year is even`, `test year is odd`
    Parity {
        /// Whether of the test year (else the model year).
        of_test_year: bool,
        /// Whether even.
        even: bool,
    },
    /// `model year and test year have the same parity`, or `different parity`
    SameParity(bool),
    /// `FACT [not] on this vehicle`
    Present {
        /// Name of a fact.
        subject: Word,
        /// Whether `not`.
        not: bool,
    },
    /// `[not] NAME`: a finding
    Finding {
        /// Whether `not`.
        not: bool,
        /// Finding.
        name: Word,
    },
}

/// A fact set to a value, in a case, the ordinary vehicle or a presumption.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assignment {
    /// Its place in the text.
    pub span: Span,
    /// What.
    pub kind: AssignmentKind,
}

/// What an assignment says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AssignmentKind {
    /// `otherwise ordinary`
    OtherwiseOrdinary,
    /// `sound`: every fact that has a sound value has it
    Sound,
    /// `sound car`: an ordinary car in good order at its first visit, save what is said otherwise
    SoundCar,
    /// A yes/no phrase.
    Phrase(String),
    /// `SUBJECT is WORD`
    Is {
        /// Name.
        subject: Word,
        /// Word.
        value: Word,
    },
    /// `SUBJECT is "text"`
    IsText {
        /// Name.
        subject: Word,
        /// Text, without quotes.
        value: Word,
    },
    /// `SUBJECT AMOUNT`, `SUBJECT is AMOUNT`
    Number {
        /// Name.
        subject: Word,
        /// Amount.
        amount: Spanned<Amount>,
    },
    /// `incomplete: M, M`, `complete: …`, `unsupported: …`, `incomplete earlier: …`, `lit the lamp earlier: …`
    Monitors {
        /// The words before the colon.
        what: Word,
        /// Monitors; empty for `none`.
        monitors: Vec<Word>,
    },
    /// `stored codes P0420, P0171`, `no stored code`, `stored codes at least P0420`
    Codes {
        /// List, as in [`Test::Codes`].
        list: Word,
        /// Codes.
        codes: Vec<Word>,
        /// Whether there may be others.
        at_least: bool,
    },
    /// `SUBJECT not known`
    NotKnown {
        /// Name of a fact, or a monitor.
        subject: Word,
    },
    /// `SUBJECT not on this vehicle`
    NotOnVehicle {
        /// Name of a fact.
        subject: Word,
    },
    /// `not listed in TABLE` (presumptions)
    NotListed {
        /// Table.
        table: Word,
    },
}
