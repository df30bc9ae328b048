//! Facts set to values: in a case, in the ordinary vehicle, and in presumptions.

use super::amounts::Scale;
use super::context::Context;
use super::names::{Subject, how_declared, how_tested, phrase};
use super::properties::DECIDING;
use crate::diagnostic::Diagnostic;
use crate::model::{
    CodeList, DeclaredValue, Fact, FactType, Monitor, MonitorState, Reading, Snapshot, TroubleCode, Value, date_of,
    ordinary, spec,
};
use crate::program::block::{DeclaredType, Presumed, may_not_be_presumed};
use crate::program::given::may_condition_a_presumption;
use crate::program::{Condition, FactRef, Item, Test};
use crate::source::{Span, Spanned};
use crate::syntax::ast::{self, Amount, Assignment, AssignmentKind, Word};
use std::collections::BTreeMap;

/// A snapshot being put together, with where each fact was set.
struct Filling {
    snapshot: Snapshot,
    set: BTreeMap<String, Span>,
}

/// What one assignment gives a fact.
enum Given {
    Known(Fact, Value),
    Declared(String, DeclaredValue),
    Absent(Fact),
    NotKnown(Fact),
    DeclaredNotKnown(String),
}

impl Context {
    /// The snapshot that a list of assignments describes. `ordinary` is what `otherwise ordinary` stands for; `None` in
    /// the ordinary vehicle itself.
    pub(super) fn snapshot(&mut self, list: &[Assignment], ordinary: Option<&Option<Snapshot>>) -> Snapshot {
        let mut filling = Filling { snapshot: Snapshot::default(), set: BTreeMap::new() };
        for one in list {
            match (&one.kind, ordinary) {
                (AssignmentKind::OtherwiseOrdinary, Some(Some(ordinary))) => filling.snapshot = ordinary.clone(),
                (AssignmentKind::OtherwiseOrdinary, Some(None)) => {
                    let help = "describe it once: `ordinary sound; model year 2010; …`";
                    self.error("check/ordinary-missing", one.span, "the file has no ordinary vehicle", help);
                }
                (AssignmentKind::OtherwiseOrdinary, None) => {
                    let help = "leave it out";
                    self.error("check/ordinary-missing", one.span, "this is the ordinary vehicle", help);
                }
                _ => {}
            }
        }
        if list.iter().any(|one| one.kind == AssignmentKind::SoundCar) {
            ordinary::sound_car(&mut filling.snapshot);
        } else if list.iter().any(|one| one.kind == AssignmentKind::Sound) {
            ordinary::sound(&mut filling.snapshot);
        }
        for one in list {
            for given in self.given(one) {
                self.fill(&mut filling, given, one.span);
            }
        }
        // Nobody reads from a vehicle that does not answer: what was filled in and needs an answer stays not known.
        if filling.snapshot.is_silent() {
            let set = filling.set;
            filling.snapshot.leave_unread(|fact| !set.contains_key(spec(fact).name));
        }
        filling.snapshot
    }

    fn fill(&mut self, filling: &mut Filling, given: Given, span: Span) {
        let key = match &given {
            Given::Known(fact, _) | Given::Absent(fact) | Given::NotKnown(fact) => spec(*fact).name.to_owned(),
            Given::Declared(name, _) | Given::DeclaredNotKnown(name) => name.clone(),
        };
        if let Some(before) = filling.set.insert(key.clone(), span) {
            let diagnostic = Diagnostic::error("check/set-twice", span, format!("`{key}` is set twice"));
            self.report(diagnostic.also(before, "set here").help("keep one of them"));
        }
        let snapshot = &mut filling.snapshot;
        match given {
            Given::Known(fact, value) => snapshot.set(fact, value),
            Given::Declared(name, value) => {
                snapshot.declared.insert(name, value);
            }
            Given::Absent(fact) => {
                snapshot.readings.insert(fact, Reading::NotOnVehicle);
            }
            Given::NotKnown(fact) => {
                snapshot.readings.remove(&fact);
            }
            Given::DeclaredNotKnown(name) => {
                snapshot.declared.remove(&name);
            }
        }
    }

    fn given(&mut self, one: &Assignment) -> Vec<Given> {
        let single = match &one.kind {
            AssignmentKind::OtherwiseOrdinary | AssignmentKind::Sound | AssignmentKind::SoundCar => None,
            AssignmentKind::Monitors { what, monitors } => return self.given_monitors(what, monitors),
            AssignmentKind::Codes { list, codes, at_least } => self.given_codes(list, codes, *at_least),
            AssignmentKind::NotKnown { subject } => self.not_known(subject),
            AssignmentKind::NotOnVehicle { subject } => self.not_on_vehicle(subject),
            AssignmentKind::NotListed { table } => {
                let message = "a case says which vehicle it is, and the table then tells whether it is listed";
                self.error("check/wrong-type", table.span, message, "give make, model and engine");
                None
            }
            AssignmentKind::Phrase(words) => self.given_phrase(words, one.span),
            AssignmentKind::Is { subject, value } => self.given_word(subject, value),
            AssignmentKind::IsText { subject, value } => match self.subject(subject) {
                Some(Subject::Known(fact)) if spec(fact).kind == FactType::Text => {
                    Some(Given::Known(fact, Value::Text(value.node.clone())))
                }
                Some(other) => self.wrongly_set(subject, &other),
                None => None,
            },
            AssignmentKind::Number { subject, amount } => self.given_number(subject, amount),
        };
        single.into_iter().collect()
    }

    fn wrongly_set<T>(&mut self, subject: &Word, meant: &Subject) -> Option<T> {
        let help = match meant {
            Subject::Known(fact) => how_tested(&spec(*fact).kind, &subject.node),
            Subject::Declared(kind) => how_declared(kind, &subject.node),
            Subject::Age => "an age follows from the model year and the date: give those".to_owned(),
        };
        let message = format!("`{}` is not set in this way", subject.node);
        self.error("check/wrong-type", subject.span, message, help);
        None
    }

    fn given_phrase(&mut self, words: &str, span: Span) -> Option<Given> {
        let Some((fact, yes)) = phrase(words) else {
            let word = Word::new(words.to_owned(), span);
            self.unknown("check/unknown-fact", "fact", &word, super::names::fact_names());
            return None;
        };
        Some(Given::Known(fact, Value::Word(u8::from(yes))))
    }

    fn given_word(&mut self, subject: &Word, value: &Word) -> Option<Given> {
        if let Some(monitor) = Monitor::named(&subject.node) {
            return self.monitor_state(monitor, value);
        }
        let meant = self.subject(subject)?;
        let words: Vec<String> = match &meant {
            Subject::Known(fact) => match spec(*fact).kind {
                FactType::Words(words) => words.iter().map(|word| (*word).to_owned()).collect(),
                _ => return self.wrongly_set(subject, &meant),
            },
            Subject::Declared(DeclaredType::Number { .. }) | Subject::Age => return self.wrongly_set(subject, &meant),
            Subject::Declared(kind) => kind.words().iter().map(|word| (*word).to_owned()).collect(),
        };
        let Some(place) = words.iter().position(|word| *word == value.node) else {
            let what = format!("word of `{}`:", subject.node);
            self.unknown("check/unknown-word", &what, value, words.iter().map(String::as_str));
            return None;
        };
        Some(match meant {
            Subject::Known(fact) => Given::Known(fact, Value::Word(u8::try_from(place).ok()?)),
            Subject::Declared(DeclaredType::YesNo) => {
                Given::Declared(subject.node.clone(), DeclaredValue::YesNo(value.node == "yes"))
            }
            _ => Given::Declared(subject.node.clone(), DeclaredValue::Word(value.node.clone())),
        })
    }

    fn monitor_state(&mut self, monitor: Monitor, value: &Word) -> Option<Given> {
        let place = MonitorState::WORDS.iter().position(|word| *word == value.node);
        if place.is_none() {
            self.unknown("check/unknown-word", "state of a monitor", value, MonitorState::WORDS);
        }
        Some(Given::Known(Fact::Monitor(monitor), Value::Word(u8::try_from(place?).ok()?)))
    }

    fn given_number(&mut self, subject: &Word, amount: &Spanned<Amount>) -> Option<Given> {
        let meant = self.subject(subject)?;
        match &meant {
            Subject::Known(fact) => match Scale::of(&spec(*fact).kind) {
                None => self.wrongly_set(subject, &meant),
                Some(Scale::Date) => {
                    let day = self.amount(subject, amount, Scale::Date)?;
                    Some(Given::Known(*fact, Value::Date(date_of(day)?)))
                }
                Some(scale) => Some(Given::Known(*fact, Value::Number(self.amount(subject, amount, scale)?))),
            },
            Subject::Declared(DeclaredType::Number { unit, least, most }) => {
                let scale = Scale::Number { unit: *unit, least: *least, most: *most, saturates: false };
                let base = self.amount(subject, amount, scale)?;
                if base % unit.scale() != 0 {
                    let message = format!("`{}` is read in whole {}", subject.node, unit.word());
                    self.error("check/unit-wrong", amount.span, message, format!("give it in {}", unit.word()));
                    return None;
                }
                let number = base / unit.scale();
                Some(Given::Declared(subject.node.clone(), DeclaredValue::Number(number)))
            }
            Subject::Declared(_) | Subject::Age => self.wrongly_set(subject, &meant),
        }
    }

    fn given_monitors(&mut self, what: &Word, words: &[Word]) -> Vec<Given> {
        let set = self.monitors(words);
        let earlier = match what.node.as_str() {
            "incomplete earlier" => Some(Fact::EarlierIncomplete),
            "lit the lamp earlier" => Some(Fact::EarlierLampMonitors),
            _ => None,
        };
        if let Some(fact) = earlier {
            return vec![Given::Known(fact, Value::Monitors(set))];
        }
        let Some(place) = MonitorState::WORDS.iter().position(|word| *word == what.node) else {
            let known = MonitorState::WORDS.into_iter().chain(["incomplete earlier", "lit the lamp earlier"]);
            self.unknown("check/unknown-word", "list of monitors", what, known);
            return Vec::new();
        };
        let state = Value::Word(u8::try_from(place).unwrap_or(0));
        set.iter().map(|monitor| Given::Known(Fact::Monitor(monitor), state.clone())).collect()
    }

    fn given_codes(&mut self, list: &Word, words: &[Word], at_least: bool) -> Option<Given> {
        let fact = self.code_list(list)?;
        let mut codes = CodeList { may_hold_more: at_least, ..CodeList::default() };
        for word in words {
            match TroubleCode::parse(&word.node) {
                Some(code) => {
                    codes.codes.insert(code);
                }
                None => {
                    let message = format!("`{}` is no trouble code", word.node);
                    self.error("check/bad-code", word.span, message, "a code looks like `P0420`");
                }
            }
        }
        Some(Given::Known(fact, Value::Codes(codes)))
    }

    fn not_known(&mut self, subject: &Word) -> Option<Given> {
        if let Some(monitor) = Monitor::named(&subject.node) {
            return Some(Given::NotKnown(Fact::Monitor(monitor)));
        }
        match self.subject(subject)? {
            Subject::Known(fact) => Some(Given::NotKnown(fact)),
            Subject::Declared(_) => Some(Given::DeclaredNotKnown(subject.node.clone())),
            Subject::Age => self.wrongly_set(subject, &Subject::Age),
        }
    }

    fn not_on_vehicle(&mut self, subject: &Word) -> Option<Given> {
        match self.subject(subject)? {
            Subject::Known(fact) => {
                self.may_be_absent(subject, fact)?;
                Some(Given::Absent(fact))
            }
            other => self.wrongly_set(subject, &other),
        }
    }

    /// `presumes …`
    pub(super) fn presumes_item(
        &mut self,
        item: &ast::Item,
        assignment: &Assignment,
        condition: Option<&ast::Condition>,
    ) {
        let (common, _) = self.properties("`presumes`", &item.properties, &[DECIDING]);
        if let Some(under) = common.under.iter().find(|under| self.names.questions.contains_key(&under.name)) {
            let message = format!("a presumption cannot depend on question `{}`", under.name);
            let help = "an open question would leave it half presumed: presume it always, or say it in the clause";
            self.error("check/guard-not-here", item.span, message, help);
        }
        let under = self.presumes_where(condition);
        if let Some(mut said) = self.presumption(assignment) {
            if let Item::Presumes { condition, .. } = &mut said {
                *condition = under;
            }
            if let Item::Presumes { fact: FactRef::Known(fact), .. } = &said
                && may_not_be_presumed(*fact)
            {
                let message = format!("`{}` is never presumed", spec(*fact).name);
                let help = "lamp, codes, monitors and connector are read, or stay not known";
                self.error("check/presumption-forbidden", assignment.span, message, help);
            }
            if let Item::Presumes { fact, condition, .. } = &said
                && is_about(condition, fact)
            {
                let message = "the condition of a presumption tests the fact that is presumed";
                let help = "where it is presumed it is not known; let the condition test other facts";
                self.error("check/presumption-condition", assignment.span, message, help);
            }
            self.push(said, common, item.span);
        }
    }

    /// Where alone it is presumed: tests of single facts as they are reported.
    fn presumes_where(&mut self, condition: Option<&ast::Condition>) -> Condition<String> {
        let Some(asked) = condition else { return Condition::always() };
        let found = self.condition(asked, super::conditions::Place::Anywhere);
        let mut fits = true;
        found.each_test(&mut |test| fits &= may_condition_a_presumption(test));
        if !fits {
            let message = "the condition of a presumption tests single facts as they are reported";
            let help = "leave out counts, codes, limits, tables and findings; say the rest in the clause";
            self.error("check/presumption-condition", asked.span, message, help);
        }
        found
    }

    fn presumption(&mut self, one: &Assignment) -> Option<Item> {
        if let AssignmentKind::NotListed { table } = &one.kind {
            let table = self.table(table)?;
            let shown = format!("not listed in {table}");
            let value = Presumed::NotListed(table);
            let condition = Condition::always();
            return Some(Item::Presumes { fact: FactRef::Known(Fact::Make), shown, value, condition });
        }
        let shown = match &one.kind {
            AssignmentKind::Phrase(words) => words.clone(),
            AssignmentKind::Is { value, .. } | AssignmentKind::IsText { value, .. } => value.node.clone(),
            AssignmentKind::Number { amount, .. } => match &amount.node {
                Amount::Number { number, unit: None } => number.to_string(),
                Amount::Number { number, unit: Some(unit) } => format!("{number} {}", unit.node),
                Amount::Date(date) => date.clone(),
            },
            AssignmentKind::Monitors { .. } | AssignmentKind::Codes { .. } => {
                let help = "lamp, codes, monitors and connector are read, or stay not known";
                self.error("check/presumption-forbidden", one.span, "monitors and codes are never presumed", help);
                return None;
            }
            _ => {
                let help = "say `presumes FACT is VALUE where not known`";
                self.error("check/wrong-type", one.span, "this presumes no value", help);
                return None;
            }
        };
        let given = self.given(one).pop()?;
        if let (AssignmentKind::IsText { value, .. }, Given::Known(Fact::Area, _)) = (&one.kind, &given) {
            self.areas_named(std::slice::from_ref(value));
        }
        let (fact, value) = match given {
            Given::Known(fact, value) => (FactRef::Known(fact), presumed(value)?),
            Given::Declared(name, value) => {
                let kind = self.names.facts.get(&name)?;
                let value = declared(kind, &value)?;
                (FactRef::Declared(name), value)
            }
            Given::Absent(_) | Given::NotKnown(_) | Given::DeclaredNotKnown(_) => return None,
        };
        Some(Item::Presumes { fact, shown, value, condition: Condition::always() })
    }
}

fn presumed(value: Value) -> Option<Presumed> {
    Some(match value {
        Value::Word(place) => Presumed::Word(1u64.checked_shl(u32::from(place))?),
        Value::Number(number) => Presumed::Number(number),
        Value::Date(date) => Presumed::Number(crate::model::day_number(date)),
        Value::Text(text) => Presumed::Text(text),
        Value::Monitors(_) | Value::Codes(_) => return None,
    })
}

fn declared(kind: &DeclaredType, value: &DeclaredValue) -> Option<Presumed> {
    let bit = |word: &str| {
        let place = kind.words().iter().position(|known| *known == word)?;
        1u64.checked_shl(u32::try_from(place).ok()?).map(Presumed::Word)
    };
    match (kind, value) {
        (DeclaredType::Number { unit, .. }, DeclaredValue::Number(number)) => {
            unit.to_base(*number).map(Presumed::Number)
        }
        (_, DeclaredValue::YesNo(yes)) => bit(if *yes { "yes" } else { "no" }),
        (_, DeclaredValue::Word(word)) => bit(word),
        _ => None,
    }
}

/// Whether a condition tests a fact.
fn is_about(condition: &Condition<String>, presumed: &FactRef<String>) -> bool {
    let mut found = false;
    condition.each_test(&mut |test| {
        found |= match test {
            Test::Word { fact, .. } | Test::Number { fact, .. } => fact == presumed,
            Test::Text { fact, .. } | Test::Present { fact, .. } => FactRef::Known(*fact) == *presumed,
            Test::ModelYearIsEven(_) => *presumed == FactRef::Known(Fact::ModelYear),
            _ => false,
        };
    });
    found
}
