//! Single tests: what each asks, of which fact, with which words and numbers.

use super::amounts::Scale;
use super::conditions::Place;
use super::context::Context;
use super::monitors::Count;
use super::names::{Subject, how_declared, how_tested, phrase};
use crate::diagnostic::Diagnostic;
use crate::model::{Fact, FactType, spec};
use crate::program::block::DeclaredType;
use crate::program::{Condition, Dated, FactRef, How, Quantifier, Test};
use crate::source::{Span, Spanned};
use crate::syntax::ast::{self, Bounds, HowMany, Word};

type Tested = Option<Condition<String>>;

/// Words for the states of monitors, which are no names of tests.
const STATES: [&str; 4] = ["incomplete", "complete", "supported", "unsupported"];

fn test(test: Test<String>) -> Tested {
    Some(Condition::Test(test))
}

impl Context {
    /// What a test asks; `None` where it has an error.
    pub(super) fn test(&mut self, asked: &Spanned<ast::Test>, place: Place) -> Tested {
        if place == Place::TableRow {
            self.describes_vehicles(asked)?;
        }
        match &asked.node {
            ast::Test::EveryVehicle => Some(Condition::always()),
            ast::Test::Phrase(words) => self.phrase(words, asked.span),
            ast::Test::Is { subject, not, values } => self.is(subject, *not, values),
            ast::Test::IsText { subject, not, values } => self.is_text(subject, *not, values),
            ast::Test::DeclaredArea { not } => self.declared_area(*not, asked.span),
            ast::Test::Number { subject, bounds } => self.number(subject, bounds),
            ast::Test::Monitor { monitor, state } => {
                let (monitor, states) = (self.monitor(monitor), self.states(state));
                test(Test::Word { fact: FactRef::Known(Fact::Monitor(monitor?)), words: states? })
            }
            ast::Test::Counted { how_many, state } => {
                let Count { states, least, most } = self.count(how_many, state, 32)?;
                test(Test::Count { states, least, most })
            }
            ast::Test::CountOf { how_many, monitors, state } => {
                self.not_empty(asked.span, monitors);
                let set = self.monitors(monitors);
                let Count { states, least, most } = self.count(how_many, state, i64::from(set.count()).max(1))?;
                test(Test::CountOf { monitors: set, states, least, most })
            }
            ast::Test::Pair { how_many, lit_the_lamp, state } => self.pair(how_many, *lit_the_lamp, state, asked.span),
            ast::Test::NoMoreThanEarlier => test(Test::NotMoreIncompleteThanEarlier),
            ast::Test::Codes { how, list, among, on_the_list_of } => {
                self.codes(how, list, among.as_ref(), on_the_list_of.as_ref())
            }
            ast::Test::Limit { within, id } => {
                let known = self.names.limits.clone();
                let standard = Word::new(super::names::STANDARD_LIMIT.to_owned(), asked.span);
                let word = id.as_ref().unwrap_or(&standard);
                if id.is_none() && !known.contains(&word.node) && !self.adoption_failed {
                    let help = if known.is_empty() {
                        "write a `limit` with its rows".to_owned()
                    } else {
                        let known: Vec<&str> = known.iter().map(String::as_str).collect();
                        format!("name the limit that is meant: {}", known.join(", "))
                    };
                    self.error("check/unknown-limit", asked.span, "this program has no limit without a name", help);
                    return None;
                }
                let limit = self.member("check/unknown-limit", "limit", word, &known)?;
                test(Test::Limit { limit, within: *within })
            }
            ast::Test::Listed { not, table } => {
                let listed = Condition::Test(Test::Listed(self.table(table)?));
                Some(if *not { listed.negated() } else { listed })
            }
            ast::Test::Parity { of_test_year: false, even } => test(Test::ModelYearIsEven(*even)),
            ast::Test::Parity { of_test_year: true, even } => test(Test::Dated(Dated::TestYearIsEven(*even))),
            ast::Test::SameParity(same) => test(Test::Dated(Dated::SameParity(*same))),
            ast::Test::Present { subject, not } => self.present(subject, *not),
            ast::Test::Finding { not, name } => {
                let known = self.names.findings.clone();
                if !known.contains(&name.node) {
                    self.unknown_test(name, *not, asked.span);
                    return None;
                }
                let finding = Condition::Test(Test::Finding(name.node.clone()));
                Some(if *not { finding.negated() } else { finding })
            }
        }
    }

    /// A lone name may be meant as a finding, as a yes/no fact of the file, or as the state of a monitor.
    fn unknown_test(&mut self, name: &Word, not: bool, asked: Span) {
        if let Some(kind) = self.names.facts.get(&name.node) {
            let message = format!("`{}` is a fact, and is compared with a word or a number", name.node);
            let help = how_declared(kind, &name.node);
            let error = Diagnostic::error("check/unknown-finding", name.span, message).help(help);
            let answer = if not { "no" } else { "yes" };
            self.report(match kind {
                DeclaredType::YesNo => error.fix(asked, format!("{} is {answer}", name.node)),
                _ => error,
            });
            return;
        }
        if STATES.contains(&name.node.as_str()) {
            let message = format!("`{}` is a state, and no monitor stands before it", name.node);
            let help = "say it of a monitor, `catalyst is incomplete`, or of those that count, `any counted monitor is incomplete`";
            self.error("check/unknown-finding", name.span, message, help);
            return;
        }
        let known = self.names.findings.clone();
        self.unknown("check/unknown-finding", "finding", name, known.iter().map(String::as_str));
    }

    /// `catalyst is supported and incomplete`: the second state is read as a test of its own. Whether that is so.
    pub(super) fn state_behind_state(
        &mut self,
        before: Option<&Spanned<ast::Test>>,
        asked: &Spanned<ast::Test>,
    ) -> bool {
        let ast::Test::Finding { not, name } = &asked.node else { return false };
        let Some(ast::Test::Monitor { monitor, state }) = before.map(|before| &before.node) else { return false };
        if !STATES.contains(&name.node.as_str()) || self.names.findings.contains(&name.node) {
            return false;
        }
        let message = format!("`{}` is a state, and no monitor stands before it", name.node);
        let error = Diagnostic::error("check/unknown-finding", name.span, message);
        let is_incomplete = name.node == "incomplete" && state.node == ast::State::Supported;
        self.report(if *not {
            error.help(format!("say of which monitor, and which state: `{} is unsupported`", monitor.node))
        } else if is_incomplete {
            let help = format!("write `{} is incomplete`: only a supported monitor is incomplete", monitor.node);
            error.help(help).fix(state.span.to(name.span), "incomplete")
        } else {
            let written = match name.node.as_str() {
                "complete" => format!("{} is supported and complete", monitor.node),
                state => format!("{} is {state}", monitor.node),
            };
            error.help(format!("say it of the monitor: `{written}`")).fix(name.span, written)
        });
        true
    }

    fn describes_vehicles(&mut self, asked: &Spanned<ast::Test>) -> Option<()> {
        let of_vehicle = |name: &str| {
            let fact = super::names::fact_named(name);
            fact.is_some_and(|fact| spec(fact).key.starts_with("vehicle.")) || self.names.facts.contains_key(name)
        };
        let fits = match &asked.node {
            ast::Test::EveryVehicle => true,
            ast::Test::Phrase(words) => phrase(words).is_some_and(|(fact, _)| spec(fact).key.starts_with("vehicle.")),
            ast::Test::Is { subject, .. } | ast::Test::IsText { subject, .. } | ast::Test::Number { subject, .. } => {
                // An unknown name is reported as such by the test itself.
                of_vehicle(&subject.node)
                    || (super::names::fact_named(&subject.node).is_none() && subject.node != "age")
            }
            _ => false,
        };
        if !fits {
            let message = "a row of a table describes vehicles, not their readings";
            let help = "test make, model, engine, model year, fuel and the like; say the rest in the clause";
            self.error("check/not-in-a-table", asked.span, message, help);
        }
        fits.then_some(())
    }

    fn phrase(&mut self, words: &str, span: Span) -> Tested {
        let Some((fact, yes)) = phrase(words) else {
            let known = crate::model::table::all_facts().filter_map(|fact| match spec(fact).kind {
                FactType::YesNo { yes, no } => Some([yes, no]),
                _ => None,
            });
            let word = Word::new(words.to_owned(), span);
            self.unknown("check/unknown-fact", "test", &word, known.flatten());
            return None;
        };
        test(Test::Word { fact: FactRef::Known(fact), words: if yes { 0b10 } else { 0b01 } })
    }

    fn is(&mut self, subject: &Word, not: bool, values: &[Word]) -> Tested {
        let state = |word: &Word| STATES.contains(&word.node.as_str());
        let fact = self.names.facts.contains_key(&subject.node) || super::names::fact_named(&subject.node).is_some();
        if values.iter().any(state) && !fact {
            self.monitor(subject);
            return None;
        }
        let (fact, known): (FactRef<String>, Vec<String>) = match self.subject(subject)? {
            Subject::Known(fact) => match spec(fact).kind {
                FactType::Words(words) => (FactRef::Known(fact), words.iter().map(|word| (*word).to_owned()).collect()),
                kind => return self.wrong_type(subject, &how_tested(&kind, &subject.node)),
            },
            Subject::Declared(kind @ DeclaredType::Number { .. }) => {
                return self.wrong_type(subject, &how_declared(&kind, &subject.node));
            }
            Subject::Declared(kind) => {
                (FactRef::Declared(subject.node.clone()), kind.words().iter().map(|word| (*word).to_owned()).collect())
            }
            Subject::Age => return self.wrong_type(subject, "say `age at least 4`"),
        };
        let accepted = self.mask(subject, values, &known)?;
        let all = known.iter().enumerate().fold(0, |mask, (place, _)| mask | bit(place));
        let words = if not { all & !accepted } else { accepted };
        if words == 0 || words == all {
            let message = format!("this lists every word of `{}`", subject.node);
            self.error("check/every-word", subject.span, message, "leave the test out, or list fewer words");
            return None;
        }
        test(Test::Word { fact, words })
    }

    /// The bits of words; each unknown or repeated one is reported.
    fn mask(&mut self, subject: &Word, values: &[Word], known: &[String]) -> Option<u64> {
        let mut mask = Some(0);
        for value in values {
            let Some(place) = known.iter().position(|word| *word == value.node) else {
                let what = format!("word of `{}`:", subject.node);
                self.unknown("check/unknown-word", &what, value, known.iter().map(String::as_str));
                mask = None;
                continue;
            };
            if mask.is_some_and(|mask| mask & bit(place) != 0) {
                let message = format!("`{}` is listed twice", value.node);
                self.error("check/listed-twice", value.span, message, "list it once");
            }
            mask = mask.map(|mask| mask | bit(place));
        }
        mask
    }

    fn is_text(&mut self, subject: &Word, not: bool, values: &[Word]) -> Tested {
        let fact = match self.subject(subject)? {
            Subject::Known(fact) => match spec(fact).kind {
                FactType::Text => fact,
                kind => return self.wrong_type(subject, &how_tested(&kind, &subject.node)),
            },
            Subject::Declared(kind) => return self.wrong_type(subject, &how_declared(&kind, &subject.node)),
            Subject::Age => return self.wrong_type(subject, "say `age at least 4`"),
        };
        if fact == Fact::Area {
            self.areas_named(values);
        }
        let mut among: Vec<String> = values.iter().map(|value| value.node.to_lowercase()).collect();
        among.sort();
        among.dedup();
        test(Test::Text { fact, among, is: !not })
    }

    fn number(&mut self, subject: &Word, bounds: &Bounds) -> Tested {
        match self.subject(subject)? {
            Subject::Age => {
                let (least, most) = self.bounds(subject, bounds, Scale::AGE)?;
                test(Test::Dated(Dated::Age { least, most }))
            }
            Subject::Known(fact) => {
                let kind = spec(fact).kind;
                let Some(scale) = Scale::of(&kind) else {
                    return self.wrong_type(subject, &how_tested(&kind, &subject.node));
                };
                let (least, most) = self.bounds(subject, bounds, scale)?;
                test(Test::Number { fact: FactRef::Known(fact), least, most })
            }
            Subject::Declared(kind) => {
                let Some(scale) = Scale::of_declared(&kind) else {
                    return self.wrong_type(subject, &how_declared(&kind, &subject.node));
                };
                let (least, most) = self.bounds(subject, bounds, scale)?;
                test(Test::Number { fact: FactRef::Declared(subject.node.clone()), least, most })
            }
        }
    }

    /// Reports a fact tested in a way its type does not have.
    pub(super) fn wrong_type<T>(&mut self, subject: &Word, help: &str) -> Option<T> {
        let message = format!("`{}` is not tested in this way", subject.node);
        self.error("check/wrong-type", subject.span, message, help);
        None
    }

    fn pair(&mut self, how_many: &HowMany, lit: bool, state: &Spanned<ast::State>, span: Span) -> Tested {
        let quantifier = match how_many {
            HowMany::Any => Quantifier::Any,
            HowMany::Every => Quantifier::Every,
            HowMany::No => Quantifier::No,
            HowMany::AtLeast(_) | HowMany::AtMost(_) | HowMany::Exactly(_) => {
                let message = "monitors then and now are not counted";
                self.error("check/wrong-type", span, message, "say `any`, `every` or `no` monitor");
                return None;
            }
        };
        let earlier = if lit { Fact::EarlierLampMonitors } else { Fact::EarlierIncomplete };
        test(Test::Pair { quantifier, earlier, states: self.states(state)? })
    }

    fn codes(&mut self, how: &Word, list: &Word, among: Option<&Word>, table: Option<&Word>) -> Tested {
        let how_word = how;
        let how = match how.node.as_str() {
            "any" => How::Any,
            "no" => How::No,
            "only" => How::Only,
            _ => {
                self.unknown("check/unknown-word", "way of testing codes", how, ["any", "no", "only"]);
                return None;
            }
        };
        let list = self.code_list(list)?;
        if let Some(table) = table {
            if how == How::Only {
                let message = "the list of a table is tested with `any` or `no`";
                self.error("check/only-needs-a-group", how_word.span, message, "say `any … on the list of`");
                return None;
            }
            return test(Test::CodesOfTable { list, how, table: self.table(table)? });
        }
        let Some(group) = among else {
            if how == How::Only {
                let message = "`only` needs a group of codes";
                self.error("check/only-needs-a-group", how_word.span, message, "say `only stored codes among GROUP`");
                return None;
            }
            return test(Test::Codes { list, how, among: None });
        };
        let known = self.names.groups.clone();
        let group = self.member("check/unknown-code-group", "code group", group, &known)?;
        test(Test::Codes { list, how, among: Some(group) })
    }

    /// The list of codes that the words mean, `stored code` or `stored codes`.
    pub(super) fn code_list(&mut self, word: &Word) -> Option<Fact> {
        let lists = crate::model::table::all_facts().filter(|fact| spec(*fact).kind == FactType::Codes);
        let lists: Vec<Fact> = lists.collect();
        let name = word.node.strip_suffix('s').unwrap_or(&word.node);
        let list = lists.iter().copied().find(|fact| spec(*fact).name == name);
        if list.is_none() {
            self.unknown("check/unknown-fact", "list of codes", word, lists.iter().map(|fact| spec(*fact).name));
        }
        list
    }

    fn present(&mut self, subject: &Word, not: bool) -> Tested {
        let Subject::Known(fact) = self.subject(subject)? else {
            return self.wrong_type(subject, "only facts of the table can be absent from a vehicle");
        };
        self.may_be_absent(subject, fact)?;
        test(Test::Present { fact, is: !not })
    }

    /// Reports a fact that every vehicle has.
    pub(super) fn may_be_absent(&mut self, subject: &Word, fact: Fact) -> Option<()> {
        if spec(fact).may_be_absent {
            return Some(());
        }
        let message = format!("every vehicle has `{}`", subject.node);
        self.error("check/never-absent", subject.span, message, "it may be not known, but not absent: leave this out");
        None
    }
}

fn bit(place: usize) -> u64 {
    u32::try_from(place).ok().and_then(|place| 1u64.checked_shl(place)).unwrap_or(0)
}
