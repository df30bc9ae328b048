//! The syntax tree: what a program file says, with the place of everything, and nothing resolved. Comments are kept in
//! a list of their own, by place.

use crate::source::{Span, Spanned};

/// A word of the file: a name, a fact, a value.
pub type Word = Spanned<String>;

/// A program file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct File {
    /// Items, in order. Items with errors are left out.
    pub items: Vec<Item>,
    /// Comments, in order, with their `#`.
    pub comments: Vec<Word>,
}

/// A top-level item with its properties.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// The whole item.
    pub span: Span,
    /// Whether it is written `replaces …`.
    pub replaces: Option<Span>,
    /// What it is.
    pub kind: Kind,
    /// Properties, in order. Which belong where is for `check` to say.
    pub properties: Vec<Property>,
}

/// A property of an item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Property {
    /// Where.
    pub span: Span,
    /// What.
    pub kind: PropertyKind,
}

/// What a property says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PropertyKind {
    /// `authority "…"`
    Authority(Word),
    /// `language 1`
    Language(Spanned<i64>),
    /// `standing checked`
    Standing(Word),
    /// `from 2012-07-01`
    From(Word),
    /// `through 2019-12-31`
    Through(Word),
    /// `published 2011-08-10`
    Published(Word),
    /// `draft`
    Draft,
    /// `under QUESTION READING`
    Under {
        /// Question or option.
        name: Word,
        /// Reading or value.
        value: Word,
    },
    /// `per SOURCE "locator", secondary` (also `follows from`, in a case)
    Per(Citation),
    /// `concerns CONDITION`
    Concerns(Condition),
    /// `where CONDITION` standing alone
    Where(Condition),
    /// A message, or other free text of the item, without its quotes.
    Message(Word),
    /// `gives way to CLAUSE` or `gives way to any OUTCOME`
    GivesWay(GivesWayTo),
    /// `CLAUSE gives way to …`, in a reading
    OtherGivesWay {
        /// The clause that is set aside.
        from: Word,
        /// To what.
        to: GivesWayTo,
    },
    /// `taken READING`, `taken none`, with a reason
    Taken {
        /// Reading; `none` for none.
        reading: Word,
        /// Why.
        why: Option<Word>,
    },
    /// `chosen VALUE`
    Chosen(Word),
    /// `with OPTION VALUE`
    With {
        /// Option.
        name: Word,
        /// Value.
        value: Word,
    },
    /// `strikes clause ID` and its like
    Strikes {
        /// `clause`, `limit`, `finding`, `code group`, `question`, `silent on`, `unread on`, `covers`, `leaves out`, …
        what: Word,
        /// Id or topic, where the kind has one.
        id: Option<Word>,
    },
    /// `their OUTCOME is our OUTCOME`
    TheirIsOur {
        /// The adopted program's outcome.
        their: Word,
        /// Ours.
        our: Word,
    },
    /// `rows from "file.csv"`
    RowsFrom(Word),
    /// `observed by look`
    ObservedBy(Word),
    /// `asks "…"`
    Asks(Word),
    /// `takes 5 through 20 minutes`
    Takes {
        /// From.
        least: Spanned<i64>,
        /// To.
        most: Spanned<i64>,
    },
    /// `first "…"`
    First(Word),
    /// `caution "…"`
    Caution(Word),
    /// `on DATE`, in a case
    On(Word),
    /// `known on DATE`, in a case
    KnownOn(Word),
    /// `take QUESTION READING`, in a case
    Take {
        /// Question or option.
        name: Word,
        /// Reading or value.
        value: Word,
    },
    /// `facts …`, in a case
    Facts(Vec<Assignment>),
    /// `expect OUTCOME [or OUTCOME …] [by CLAUSE]`
    Expect {
        /// Outcomes.
        outcomes: Vec<Word>,
        /// Clause.
        by: Option<Word>,
    },
    /// `OUTCOME where CONDITION` or `requires CONDITION, or else OUTCOME`, of a clause with one line
    Line(Line),
    /// `- …`: a bullet with the properties that follow it
    Bullet(Bullet),
}

/// A line of a clause.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Outcome.
    pub outcome: Word,
    /// Condition: what is unmet, or with `requires` what is required.
    pub condition: Condition,
    /// Whether it is written `requires …, or else …`.
    pub requires: bool,
}

/// A bullet of an item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bullet {
    /// What it says.
    pub kind: BulletKind,
    /// Properties that belong to it.
    pub properties: Vec<Property>,
}

/// What a bullet says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BulletKind {
    /// A line of a clause with several.
    Line(Line),
    /// A row of a limit: `model year 1996 through 2000: at most 2, only evaporative`
    LimitRow {
        /// Which vehicles.
        condition: Condition,
        /// The allowance.
        allowance: Allowance,
    },
    /// `reading ID "…"`
    Reading {
        /// Id.
        id: Word,
        /// What it means.
        text: Option<Word>,
    },
    /// A row of a table: `make is "X" and model year 1996: excuses catalyst`
    TableRow {
        /// Which vehicles.
        condition: Condition,
        /// Monitors excused.
        excuses: Vec<Word>,
        /// Codes on the list.
        codes: Vec<CodePattern>,
    },
}

/// The allowance of a limit row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Allowance {
    /// `none`
    Nothing,
    /// `at most N`, `at most N, only M, M`
    AtMost {
        /// How many.
        count: Spanned<i64>,
        /// Which ones.
        only: Option<Vec<Word>>,
    },
    /// `at least N complete`
    AtLeastComplete(Spanned<i64>),
    /// `not read`
    NotRead,
}

/// A citation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Citation {
    /// Source.
    pub source: Word,
    /// Locator.
    pub locator: Option<Word>,
    /// How seen, where the line says so.
    pub seen: Option<Word>,
}

/// What a clause gives way to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum GivesWayTo {
    /// A clause.
    Clause(Word),
    /// Any clause with the outcome.
    AnyOutcome(Word),
}

/// What an item is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// `program ID "title"`
    Program {
        /// Id.
        id: Word,
        /// Title.
        title: Word,
    },
    /// `source ID "title" law, read 2026-11-25, at "…"`
    Source {
        /// Id.
        id: Word,
        /// Title.
        title: Word,
        /// Kind of text.
        kind: Word,
        /// How seen.
        seen: Option<Word>,
        /// When seen.
        on: Option<Word>,
        /// Address.
        at: Option<Word>,
    },
    /// `in force from D through D`: the dates are properties
    InForce,
    /// `outcomes pass, tailpipe (other-test) "…", fail`
    Outcomes(Vec<OutcomeDeclaration>),
    /// `age is test year less model year [plus N]`
    Age {
        /// What is added.
        plus: Option<Spanned<i64>>,
    },
    /// `covers where CONDITION`
    Covers(Condition),
    /// `leaves out where CONDITION: OUTCOME "why"`
    LeavesOut {
        /// Which.
        condition: Condition,
        /// Outcome, or `not-subject`.
        outcome: Word,
        /// Why.
        why: Option<Word>,
    },
    /// `due where CONDITION "why"`
    Due {
        /// Which.
        condition: Condition,
        /// Why.
        why: Option<Word>,
    },
    /// `counts …`
    Counts(Counted),
    /// `excuses … [where CONDITION]`
    Excuses {
        /// Which monitors.
        which: Excused,
        /// For which vehicles.
        condition: Option<Condition>,
    },
    /// `limit [ID]`: the rows are bullets
    Limit {
        /// Id; `standard` where none is given.
        id: Option<Word>,
    },
    /// `clause ID on TOPIC`: lines are properties
    Clause {
        /// Id.
        id: Word,
        /// Topic.
        topic: Word,
    },
    /// `finding ID where CONDITION` or `finding ID any of …`
    Finding {
        /// Id.
        id: Word,
        /// Condition.
        condition: Condition,
    },
    /// `code group ID: …`
    CodeGroup {
        /// Id.
        id: Word,
        /// Surely in.
        codes: Vec<CodePattern>,
        /// In a text that was not read.
        unread: Vec<CodePattern>,
        /// `not read` alone: the whole list was not seen.
        all_unread: bool,
    },
    /// `silent on TOPIC, …`
    Silent(Vec<Word>),
    /// `unread on TOPIC, …`
    Unread(Vec<Word>),
    /// `adopts P as amended` or `adopts P as it stood on D`
    Adopts {
        /// Program.
        program: Word,
        /// Date.
        as_it_stood_on: Option<Word>,
    },
    /// `question ID "…"`: readings are bullets
    Question {
        /// Id.
        id: Word,
        /// The question.
        text: Word,
    },
    /// `option ID "…": V, V`
    Option {
        /// Id.
        id: Word,
        /// What is to be chosen.
        text: Word,
        /// Values.
        values: Vec<Word>,
    },
    /// `table ID`: rows are bullets
    Table {
        /// Id.
        id: Word,
    },
    /// `presumes FACT is V where not known`
    Presumes(Assignment),
    /// `fact ID: …`
    Fact {
        /// Name.
        name: Word,
        /// Type.
        kind: FactKind,
    },
    /// `result ID: WORD, …`
    Result {
        /// Name.
        name: Word,
        /// Words besides `not-done`.
        words: Vec<Word>,
    },
    /// `outcome X becomes Y where CONDITION`
    Becomes {
        /// Which.
        from: Word,
        /// Into which.
        to: Word,
        /// For which vehicles.
        condition: Option<Condition>,
    },
    /// `consequence KIND after OUTCOME [by CLAUSE [alone]] [where CONDITION] "text"`
    Consequence {
        /// Kind.
        kind: Word,
        /// Outcome.
        after: Word,
        /// Clause.
        by: Option<Word>,
        /// Whether alone.
        alone: Option<Span>,
        /// For which vehicles.
        condition: Option<Condition>,
        /// In words.
        text: Word,
    },
    /// `not expressible here "text" could turn A, B into C [where CONDITION]`
    NotExpressible {
        /// In words.
        text: Word,
        /// Outcomes it could change.
        could_turn: Vec<Word>,
        /// Into which.
        into: Vec<Word>,
        /// Whom it concerns.
        condition: Option<Condition>,
    },
    /// `advice on M, M`
    Advice {
        /// Monitors.
        monitors: Vec<Word>,
    },
    /// `ordinary …`
    Ordinary(Vec<Assignment>),
    /// `case "title"`
    Case {
        /// Title.
        title: Word,
    },
    /// `acknowledges CODE [of SUBJECT] "reason"`
    Acknowledges {
        /// Code of the finding.
        code: Word,
        /// Subject.
        subject: Option<Word>,
        /// Reason.
        reason: Word,
    },
}

/// An outcome of the ladder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutcomeDeclaration {
    /// Name.
    pub name: Word,
    /// Class in parentheses.
    pub class: Option<Word>,
    /// How the program words it.
    pub label: Option<Word>,
}

/// Counted monitors.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Counted {
    /// `supported monitors`
    Supported,
    /// `supported monitors that are not continuous`
    SupportedNotContinuous,
    /// `monitors that are not continuous, unsupported as incomplete`
    NotContinuousUnsupportedIncomplete,
    /// `supported monitors among M, M`
    Among(Vec<Word>),
}

/// Excused monitors.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Excused {
    /// `M, M`
    Monitors(Vec<Word>),
    /// `each monitor incomplete earlier`
    EarlierIncomplete,
    /// `monitors excused by TABLE`
    Table(Word),
}

/// Type of a declared fact.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FactKind {
    /// `yes or no`
    YesNo,
    /// `WORD, WORD`
    Words(Vec<Word>),
    /// `N through M [UNIT]`
    Number {
        /// Least.
        least: Spanned<i64>,
        /// Most.
        most: Spanned<i64>,
        /// Unit.
        unit: Option<Word>,
    },
}

/// Codes: `P0420`, `P03xx`, `P0420 through P0439 digits only`
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CodePattern {
    /// Where.
    pub span: Span,
    /// First code, or the pattern.
    pub first: Word,
    /// Last code.
    pub last: Option<Word>,
    /// `digits only` (true) or `with letters` (false).
    pub digits_only: Option<bool>,
}

/// A condition: tests joined by *and*, and at most one group of bullets at the end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Condition {
    /// Where.
    pub span: Span,
    /// Tests, all of which must hold.
    pub tests: Vec<Spanned<Test>>,
    /// A group of bullets.
    pub group: Option<Group>,
}

/// A group of bullets; each bullet is tests joined by *and*.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// Where.
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
    /// `over the limit [ID]`, `within the limit [ID]`
    Limit {
        /// Whether within.
        within: bool,
        /// Id.
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
    /// Where.
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
