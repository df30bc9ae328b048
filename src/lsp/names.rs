//! Every name in a file's tree: what sort of thing it names, where it stands, and whether it is declared there.

use crate::source::Span;
use crate::syntax::ast::{
    Assignment, AssignmentKind, Bullet, BulletKind, Citation, Condition, Counted, Excused, FactKind, File, GivesWayTo,
    Item, Kind, Line, Property, PropertyKind, Test, Word,
};

/// What a name names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Sort {
    Program,
    Source,
    Outcome,
    Limit,
    Clause,
    Finding,
    CodeGroup,
    /// A question or an option.
    Choice,
    /// A reading of a question or a value of an option.
    Reading,
    Table,
    /// A fact or a result, of the file or of the vocabulary.
    Fact,
    Period,
    Change,
    Monitor,
    Topic,
    /// An outcome of an adopted program.
    Theirs,
    /// What an acknowledgement is about: a thing of any sort.
    Anything,
}

impl Sort {
    /// The sort in words, as messages have it.
    pub(super) fn word(self) -> &'static str {
        match self {
            Sort::Program => "program",
            Sort::Source => "source",
            Sort::Outcome | Sort::Theirs => "outcome",
            Sort::Limit => "limit",
            Sort::Clause => "clause",
            Sort::Finding => "finding",
            Sort::CodeGroup => "code group",
            Sort::Choice => "question",
            Sort::Reading => "reading",
            Sort::Table => "table",
            Sort::Fact => "fact",
            Sort::Period => "period",
            Sort::Change => "announced change",
            Sort::Monitor => "monitor",
            Sort::Topic => "topic",
            Sort::Anything => "subject",
        }
    }
}

/// A name at a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Name {
    pub(super) sort: Sort,
    pub(super) name: String,
    /// Of a reading, its question.
    pub(super) of: String,
    pub(super) span: Span,
    pub(super) declares: bool,
    /// Whether the words at the place are the name itself, and not words that mean it.
    pub(super) is_written: bool,
}

impl Name {
    /// Whether two names name one thing.
    pub(super) fn is_same(&self, other: &Name) -> bool {
        self.name == other.name && self.of == other.of && (self.sort == other.sort || self.may_be(other))
    }

    fn may_be(&self, other: &Name) -> bool {
        let named = |sort| {
            !matches!(sort, Sort::Outcome | Sort::Theirs | Sort::Reading | Sort::Monitor | Sort::Topic | Sort::Program)
        };
        self.sort == Sort::Anything && named(other.sort) || other.sort == Sort::Anything && named(self.sort)
    }
}

/// What a warning of a code is about.
fn acknowledged(code: &str) -> Sort {
    let words: [(&str, Sort); 6] = [
        ("gap", Sort::Topic),
        ("topic", Sort::Topic),
        ("question", Sort::Choice),
        ("limit", Sort::Limit),
        ("source", Sort::Source),
        ("period", Sort::Period),
    ];
    words.iter().find(|(word, _)| code.contains(word)).map_or(Sort::Anything, |(_, sort)| *sort)
}

/// Every name of a file, by place.
pub(super) fn of(file: &File) -> Vec<Name> {
    let mut names = Names::default();
    file.items.iter().for_each(|item| names.item(item));
    names.found.sort_by_key(|name| (name.span.start, name.span.end));
    names.found
}

#[derive(Default)]
struct Names {
    found: Vec<Name>,
    /// The question or option whose properties are read.
    asked: String,
}

impl Names {
    fn add(&mut self, sort: Sort, word: &Word, declares: bool) {
        let (name, span) = (word.node.clone(), word.span);
        self.found.push(Name { sort, name, of: String::new(), span, declares, is_written: true });
    }

    fn declares(&mut self, sort: Sort, word: &Word) {
        self.add(sort, word, true);
    }

    fn uses(&mut self, sort: Sort, word: &Word) {
        self.add(sort, word, false);
    }

    fn all(&mut self, sort: Sort, words: &[Word]) {
        words.iter().for_each(|word| self.uses(sort, word));
    }

    fn maybe(&mut self, sort: Sort, word: Option<&Word>) {
        word.into_iter().for_each(|word| self.uses(sort, word));
    }

    fn reading(&mut self, of: &str, word: &Word, declares: bool) {
        let (name, of, span) = (word.node.clone(), of.to_owned(), word.span);
        self.found.push(Name { sort: Sort::Reading, name, of, span, declares, is_written: true });
    }

    /// Something that words mean without being its name.
    fn meant(&mut self, sort: Sort, name: &str, span: Span, declares: bool) {
        self.found.push(Name { sort, name: name.to_owned(), of: String::new(), span, declares, is_written: false });
    }

    fn outcome(&mut self, word: &Word) {
        if !["not-subject", "no-law-in-file"].contains(&word.node.as_str()) {
            self.uses(Sort::Outcome, word);
        }
    }

    fn outcomes(&mut self, words: &[Word]) {
        words.iter().for_each(|word| self.outcome(word));
    }

    fn item(&mut self, item: &Item) {
        self.asked.clear();
        match &item.kind {
            Kind::Program { id, .. } => self.declares(Sort::Program, id),
            Kind::Source { id, .. } => self.declares(Sort::Source, id),
            Kind::Outcomes(all) => all.iter().for_each(|one| self.declares(Sort::Outcome, &one.name)),
            Kind::Period { id } => self.declares(Sort::Period, id),
            Kind::Change { id, .. } => self.declares(Sort::Change, id),
            Kind::Limit { id: Some(id) } => self.declares(Sort::Limit, id),
            Kind::Limit { id: None } => {
                let word = Span { start: item.span.start, end: item.span.start.saturating_add(5) };
                self.meant(Sort::Limit, "standard", word, true);
            }
            Kind::Clause { id, topic } => {
                self.declares(Sort::Clause, id);
                self.uses(Sort::Topic, topic);
            }
            Kind::Finding { id, condition } => {
                self.declares(Sort::Finding, id);
                self.condition(condition);
            }
            Kind::CodeGroup { id, .. } => self.declares(Sort::CodeGroup, id),
            Kind::Silent(topics) | Kind::Unread(topics) => self.all(Sort::Topic, topics),
            Kind::Adopts { program, .. } => self.uses(Sort::Program, program),
            Kind::Question { id, .. } => {
                self.declares(Sort::Choice, id);
                self.asked.clone_from(&id.node);
            }
            Kind::Option { id, values, .. } => {
                self.declares(Sort::Choice, id);
                values.iter().for_each(|value| self.reading(&id.node, value, true));
                self.asked.clone_from(&id.node);
            }
            Kind::Table { id } => self.declares(Sort::Table, id),
            Kind::Fact { name, kind } => {
                self.declares(Sort::Fact, name);
                // The words of a fact are no names: two facts may share them.
                let (FactKind::YesNo | FactKind::Words(_) | FactKind::Number { .. }) = kind;
            }
            Kind::Result { name, .. } => self.declares(Sort::Fact, name),
            Kind::Advice { monitors } => self.all(Sort::Monitor, monitors),
            Kind::Acknowledges { subject, code, .. } => self.maybe(acknowledged(&code.node), subject.as_ref()),
            Kind::InForce | Kind::Age { .. } | Kind::Areas { .. } | Kind::Case { .. } => {}
            other => self.conditional(other),
        }
        self.properties(&item.properties);
    }

    fn conditional(&mut self, kind: &Kind) {
        match kind {
            Kind::Covers(condition) | Kind::Exempts { condition, .. } => self.condition(condition),
            Kind::LeavesOut { condition, outcome, .. } | Kind::Sends { condition, outcome, .. } => {
                self.condition(condition);
                self.outcome(outcome);
            }
            Kind::Due { condition, .. } => self.perhaps(condition.as_ref()),
            Kind::Counts(Counted::Among(monitors)) => self.all(Sort::Monitor, monitors),
            Kind::Excuses { which, condition } => {
                match which {
                    Excused::Monitors(monitors) => self.all(Sort::Monitor, monitors),
                    Excused::Table(table) => self.uses(Sort::Table, table),
                    Excused::EarlierIncomplete => {}
                }
                self.perhaps(condition.as_ref());
            }
            Kind::Presumes { assignment, condition } => {
                self.assignment(assignment);
                self.perhaps(condition.as_ref());
            }
            Kind::Becomes { from, to, condition } => {
                self.outcome(from);
                self.outcome(to);
                self.perhaps(condition.as_ref());
            }
            Kind::Consequence { after, by, condition, .. } => {
                self.outcome(after);
                self.maybe(Sort::Clause, by.as_ref());
                self.perhaps(condition.as_ref());
            }
            Kind::NotExpressible { could_turn, into, condition, .. } => {
                self.outcomes(could_turn);
                self.outcomes(into);
                self.perhaps(condition.as_ref());
            }
            Kind::Ordinary(assignments) => assignments.iter().for_each(|one| self.assignment(one)),
            _ => {}
        }
    }

    fn properties(&mut self, properties: &[Property]) {
        properties.iter().for_each(|property| self.property(&property.kind));
    }

    fn property(&mut self, kind: &PropertyKind) {
        match kind {
            PropertyKind::InPeriod(period) => self.uses(Sort::Period, period),
            PropertyKind::Draft { of } => self.maybe(Sort::Change, of.as_ref()),
            PropertyKind::CouldTurn { could_turn, into, condition } => {
                self.outcomes(could_turn);
                self.outcomes(into);
                self.perhaps(condition.as_ref());
            }
            PropertyKind::EveryOtherGivesWay(clause) => self.uses(Sort::Clause, clause),
            PropertyKind::OnlyIf { name, value, .. }
            | PropertyKind::Take { name, value }
            | PropertyKind::With { name, value } => {
                self.uses(Sort::Choice, name);
                self.reading(&name.node, value, false);
            }
            PropertyKind::Per(citation) => self.citation(citation),
            PropertyKind::Concerns(condition) | PropertyKind::Where(condition) => self.condition(condition),
            PropertyKind::GivesWay(way) => self.way(way),
            PropertyKind::OtherGivesWay { from, to } => {
                self.uses(Sort::Clause, from);
                self.way(to);
            }
            PropertyKind::Taken { reading, .. } if reading.node == "none" => {}
            PropertyKind::Taken { reading: word, .. } | PropertyKind::Chosen(word) => {
                let asked = self.asked.clone();
                self.reading(&asked, word, false);
            }
            PropertyKind::Strikes { what, id: Some(id) } => {
                let sort = match what.node.as_str() {
                    "clause" => Sort::Clause,
                    "limit" => Sort::Limit,
                    "finding" => Sort::Finding,
                    "code group" => Sort::CodeGroup,
                    "question" => Sort::Choice,
                    _ => Sort::Topic,
                };
                self.uses(sort, id);
            }
            PropertyKind::TheirIsOur { their, our } => {
                self.uses(Sort::Theirs, their);
                self.outcome(our);
            }
            PropertyKind::Facts(assignments) => assignments.iter().for_each(|one| self.assignment(one)),
            PropertyKind::Expect { outcomes, by } => {
                self.outcomes(outcomes);
                self.maybe(Sort::Clause, by.as_ref());
            }
            PropertyKind::Line(line) => self.line(line),
            PropertyKind::Bullet(bullet) => self.bullet(bullet),
            _ => {}
        }
    }

    fn line(&mut self, line: &Line) {
        self.outcome(&line.outcome);
        self.condition(&line.condition);
    }

    fn bullet(&mut self, bullet: &Bullet) {
        match &bullet.kind {
            BulletKind::Line(line) => self.line(line),
            BulletKind::LimitRow { condition, allowance } => {
                self.condition(condition);
                if let crate::syntax::ast::Allowance::AtMost { only: Some(only), .. } = allowance {
                    self.all(Sort::Monitor, only);
                }
            }
            BulletKind::Areas { .. } => {}
            BulletKind::Reading { id, .. } => {
                let asked = self.asked.clone();
                self.reading(&asked, id, true);
            }
            BulletKind::TableRow { condition, excuses, .. } => {
                self.condition(condition);
                self.all(Sort::Monitor, excuses);
            }
        }
        self.properties(&bullet.properties);
    }

    fn citation(&mut self, citation: &Citation) {
        self.uses(Sort::Source, &citation.source);
        self.maybe(Sort::Period, citation.period.as_ref());
    }

    fn way(&mut self, way: &GivesWayTo) {
        match way {
            GivesWayTo::Clause(clause) => self.uses(Sort::Clause, clause),
            GivesWayTo::AnyOutcome(outcome) => self.outcome(outcome),
        }
    }

    fn perhaps(&mut self, condition: Option<&Condition>) {
        condition.into_iter().for_each(|condition| self.condition(condition));
    }

    fn condition(&mut self, condition: &Condition) {
        let grouped = condition.group.iter().flat_map(|group| group.bullets.iter().flatten());
        condition.tests.iter().chain(grouped).for_each(|test| self.test(&test.node, test.span));
    }

    fn test(&mut self, test: &Test, span: Span) {
        match test {
            Test::Phrase(words) => self.meant(Sort::Fact, words, span, false),
            Test::DeclaredArea { .. } => self.meant(Sort::Fact, "area", span, false),
            Test::Is { subject, .. }
            | Test::IsText { subject, .. }
            | Test::Number { subject, .. }
            | Test::Present { subject, .. } => self.uses(Sort::Fact, subject),
            Test::Monitor { monitor, .. } => self.uses(Sort::Monitor, monitor),
            Test::CountOf { monitors, .. } => self.all(Sort::Monitor, monitors),
            Test::Codes { list, among, on_the_list_of, .. } => {
                self.meant(Sort::Fact, &list.node, list.span, false);
                self.maybe(Sort::CodeGroup, among.as_ref());
                self.maybe(Sort::Table, on_the_list_of.as_ref());
            }
            Test::Limit { id: Some(id), .. } => self.uses(Sort::Limit, id),
            Test::Limit { id: None, .. } => self.meant(Sort::Limit, "standard", span, false),
            Test::Listed { table, .. } => self.uses(Sort::Table, table),
            Test::Finding { name, .. } => self.uses(Sort::Finding, name),
            Test::Parity { of_test_year, .. } => {
                self.meant(Sort::Fact, if *of_test_year { "test date" } else { "model year" }, span, false);
            }
            Test::SameParity(_)
            | Test::EveryVehicle
            | Test::Counted { .. }
            | Test::Pair { .. }
            | Test::NoMoreThanEarlier => {}
        }
    }

    fn assignment(&mut self, assignment: &Assignment) {
        match &assignment.kind {
            AssignmentKind::Phrase(words) => self.meant(Sort::Fact, words, assignment.span, false),
            AssignmentKind::Is { subject, .. }
            | AssignmentKind::IsText { subject, .. }
            | AssignmentKind::Number { subject, .. }
            | AssignmentKind::NotKnown { subject }
            | AssignmentKind::NotOnVehicle { subject } => {
                let is_monitor = crate::model::Monitor::named(&subject.node).is_some();
                self.uses(if is_monitor { Sort::Monitor } else { Sort::Fact }, subject);
            }
            AssignmentKind::Monitors { monitors, .. } => self.all(Sort::Monitor, monitors),
            AssignmentKind::Codes { list, .. } => self.meant(Sort::Fact, &list.node, list.span, false),
            AssignmentKind::NotListed { table } => self.uses(Sort::Table, table),
            AssignmentKind::OtherwiseOrdinary | AssignmentKind::Sound | AssignmentKind::SoundCar => {}
        }
    }
}
