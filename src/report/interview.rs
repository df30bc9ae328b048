//! Questions put to a person one by one: what to show, and what to make of a line that was typed. Holds what has been
//! told and can take it back. Reads no terminal and rules on nothing: it ends with a snapshot.

use super::questions::{question, told_by, verdicts};
use crate::analysis::ask::{Turn, turn, unpresumed};
use crate::document::answer::{answer, answers, choose, monitor, yes_no};
use crate::model::facts::Possible;
use crate::model::{DeclaredValue, Fact, MonitorState, Reading, Snapshot, Value, alias, spec};
use crate::program::block::DeclaredType;
use crate::program::given::facts_of;
use crate::program::{Condition, FactRef, Flat, Given};
use crate::ruling::areas::{names, not_known};
use crate::wording::wrap::{joined, wrapped};
use std::collections::BTreeSet;

/// What a person may say beside an answer.
pub const HELP: &str = "Answer with a word, or the beginning of one. Say ? where nobody knows, back to take the last \
                        answer back, why to see which clauses turn on it, stop to end with what is known.";

/// More questions than this are not counted beforehand.
const MOST_USUAL: usize = 40;

/// What was made of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Heard {
    /// It was taken; another question may follow.
    Taken,
    /// It was not taken, or asked for something: what to show before the question is put again.
    Again(String),
    /// The person wants no more questions.
    Stop,
}

/// What is known at some moment of an interview.
#[derive(Debug, Clone)]
struct State {
    snapshot: Snapshot,
    given_up: BTreeSet<FactRef<usize>>,
    turn: Turn,
}

/// An interview about one vehicle under one program.
#[derive(Debug, Clone)]
pub struct Interview<'a> {
    flat: &'a Flat,
    now: State,
    before: Vec<State>,
}

impl<'a> Interview<'a> {
    /// Begins with what is known.
    ///
    /// # Errors
    /// With a sentence: what is known contradicts itself, or there are too many ways.
    pub fn new(flat: &'a Flat, snapshot: Snapshot) -> Result<Interview<'a>, String> {
        let now = State::of(flat, snapshot, BTreeSet::new())?;
        Ok(Interview { flat, now, before: Vec::new() })
    }

    /// Goes on from what is known and the facts that were given up.
    ///
    /// # Errors
    /// With a sentence: what is known contradicts itself, or there are too many ways.
    pub fn resumed(
        flat: &'a Flat,
        snapshot: Snapshot,
        given_up: BTreeSet<FactRef<usize>>,
    ) -> Result<Interview<'a>, String> {
        let now = State::of(flat, snapshot, given_up)?;
        Ok(Interview { flat, now, before: Vec::new() })
    }

    /// The facts that were given up: asked, and not known.
    #[must_use]
    pub fn given_up(&self) -> &BTreeSet<FactRef<usize>> {
        &self.now.given_up
    }

    /// What is known by now.
    #[must_use]
    pub fn snapshot(&self) -> &Snapshot {
        &self.now.snapshot
    }

    /// Where the interview stands.
    #[must_use]
    pub fn turn(&self) -> &Turn {
        &self.now.turn
    }

    /// How many answers were taken.
    #[must_use]
    pub fn answered(&self) -> usize {
        self.before.len()
    }

    /// The question to put, with what may be answered; `None` where nothing more is asked.
    #[must_use]
    pub fn prompt(&self) -> Option<String> {
        let fact = self.now.turn.fact.as_ref()?;
        let Turn { at_most, at_most_unanswered, .. } = self.now.turn;
        let more = match at_most_unanswered > at_most {
            true => format!("; {at_most_unanswered} if some have no answer"),
            false => String::new(),
        };
        let head = format!("Question {}, at most {at_most} from here on{more}", self.answered() + 1);
        let mut out = wrapped("", None, &head);
        out.push_str(&wrapped("  ", None, &format!("{} ({})", question(self.flat, fact), told_by(self.flat, fact))));
        let enter = self.offered(fact).map_or(String::new(), |word| format!("; Enter for {word}"));
        out.push_str(&wrapped("  ", None, &format!("{}{enter}; ? don't know", self.allowed(fact))));
        Some(out)
    }

    /// What an empty line stands for: of papers and visits what is so of nearly all of them. What has to be looked at or
    /// read is never offered.
    fn offered(&self, fact: &FactRef<usize>) -> Option<&'static str> {
        match fact {
            FactRef::Known(Fact::Visit) => Some("initial"),
            FactRef::Known(Fact::Purpose) => Some("renewal"),
            FactRef::Known(Fact::Hybrid | Fact::PlugIn) => Some("no"),
            _ => None,
        }
    }

    /// How many questions are usual: as many as are put where the answers are those of an ordinary vehicle in good order.
    #[must_use]
    pub fn usual(&self) -> Option<String> {
        let mut state = self.now.clone();
        let mut many = 0usize;
        while let Some(fact) = state.turn.fact.clone() {
            many += 1;
            if many > MOST_USUAL {
                return None;
            }
            let mut snapshot = state.snapshot.clone();
            let mut given_up = state.given_up.clone();
            match ordinary(&fact) {
                Some((fact, reading)) => drop(snapshot.readings.insert(fact, reading)),
                None => drop(given_up.insert(fact)),
            }
            state = State::of(self.flat, snapshot, given_up).ok()?;
        }
        match (many, self.now.turn.at_most) {
            (0, _) => None,
            (1, _) => Some("One question is usual.".to_owned()),
            (many, most) if many < most => Some(format!("About {many} questions are usual, the most is {most}.")),
            (many, _) => Some(format!("About {many} questions are usual.")),
        }
    }

    /// What may be answered to the question that is put; `None` where none is.
    #[must_use]
    pub fn answers(&self) -> Option<String> {
        self.now.turn.fact.as_ref().map(|fact| self.allowed(fact))
    }

    fn allowed(&self, fact: &FactRef<usize>) -> String {
        match fact {
            FactRef::Known(Fact::Area) if !self.flat.areas.is_empty() => joined(&names(&self.flat.areas), "or"),
            FactRef::Known(fact) => answers(*fact),
            FactRef::Declared(place) => match self.flat.facts.get(*place).map(|fact| &fact.kind) {
                Some(DeclaredType::Words(words)) => joined(words, "or"),
                Some(DeclaredType::Number { unit, least, most }) => {
                    format!("a whole number from {least} through {most} {}", unit.word()).trim_end().to_owned()
                }
                Some(DeclaredType::YesNo) | None => "yes or no".to_owned(),
            },
        }
    }

    /// Takes a line that was typed.
    pub fn hear(&mut self, line: &str) -> Heard {
        let Some(fact) = self.now.turn.fact.clone() else {
            return Heard::Stop;
        };
        let again = |text: String| Heard::Again(wrapped("  ", None, &text));
        match line.trim() {
            "" => match self.offered(&fact) {
                Some(word) => self.hear(word),
                None => again(format!("Answer: {}.", self.allowed(&fact))),
            },
            "stop" => Heard::Stop,
            "why" => Heard::Again(self.why(&fact)),
            "help" => again(HELP.to_owned()),
            "back" => match self.before.pop() {
                Some(state) => {
                    self.now = state;
                    Heard::Taken
                }
                None => again("There is no answer to take back.".to_owned()),
            },
            "?" | "don't know" | "dont know" | "not known" => {
                let mut given_up = self.now.given_up.clone();
                given_up.insert(fact);
                self.go_on(self.now.snapshot.clone(), given_up)
            }
            text => match self.taken(&fact, text) {
                Ok((snapshot, given_up)) => self.go_on(snapshot, given_up),
                Err(message) => again(format!("{message}. Answer: {}.", self.allowed(&fact))),
            },
        }
    }

    fn go_on(&mut self, snapshot: Snapshot, given_up: BTreeSet<FactRef<usize>>) -> Heard {
        match State::of(self.flat, snapshot, given_up) {
            Ok(state) => {
                self.before.push(std::mem::replace(&mut self.now, state));
                Heard::Taken
            }
            Err(message) => Heard::Again(wrapped(
                "  ",
                None,
                &format!(
                    "That cannot be, with what was told before: {message}. Say back to correct an earlier answer."
                ),
            )),
        }
    }

    /// The snapshot, and the facts given up, with an answer.
    fn taken(&self, fact: &FactRef<usize>, text: &str) -> Result<(Snapshot, BTreeSet<FactRef<usize>>), String> {
        let mut snapshot = self.now.snapshot.clone();
        let mut given_up = self.now.given_up.clone();
        match fact {
            FactRef::Declared(place) => {
                let declared = self.flat.facts.get(*place).ok_or("there is no such fact")?;
                let value = declared_value(&declared.kind, text)?;
                snapshot.declared.insert(declared.name.clone(), value);
            }
            FactRef::Known(Fact::Monitor(asked)) if text.contains([',', ' ']) => {
                self.monitors(&mut snapshot, *asked, text)?;
            }
            FactRef::Known(known) => {
                let mut reading = answer(*known, text)?;
                if *known == Fact::Area
                    && let Some(why) = not_known(&self.flat.areas, text)
                {
                    return Err(why);
                }
                if let Reading::Known(Value::Codes(list)) = &mut reading {
                    // What a reader told before stays; a list that may hold more is not asked for again.
                    if let Some(Reading::Known(Value::Codes(before))) = self.now.snapshot.get(*known) {
                        list.codes.extend(before.codes.iter().copied());
                    }
                    if list.may_hold_more {
                        given_up.insert(fact.clone());
                    }
                }
                snapshot.readings.insert(*known, reading);
            }
        }
        Ok((snapshot, given_up))
    }

    /// Several monitors at once: `catalyst incomplete, others complete`; a state alone is that of the monitor asked for.
    fn monitors(&self, snapshot: &mut Snapshot, asked: crate::model::Monitor, text: &str) -> Result<(), String> {
        let mut others = None;
        let text = alias::states_in_a_word(text);
        for part in text.split([',', ';']).map(str::trim).filter(|part| !part.is_empty()) {
            let (name, state) = part.rsplit_once(' ').unwrap_or(("", part));
            let state = choose(alias::word(Fact::Monitor(asked), state).unwrap_or(state), &MonitorState::WORDS)?;
            let state = u8::try_from(state).map_err(|_| "there is no such state".to_owned())?;
            let name = name.trim().trim_end_matches(" is").trim_end_matches(':');
            match name {
                "others" | "other" => others = Some(state),
                "" => snapshot.set(Fact::Monitor(asked), Value::Word(state)),
                name => snapshot.set(Fact::Monitor(monitor(name)?), Value::Word(state)),
            }
        }
        let open: Vec<FactRef<usize>> = self.now.turn.open.iter().cloned().collect();
        for fact in open {
            let FactRef::Known(fact @ Fact::Monitor(_)) = fact else { continue };
            let Some(state) = others.filter(|_| snapshot.get(fact).is_none()) else { continue };
            // What others tell already, as that this engine has no such monitor, stays.
            let flat = unpresumed(self.flat, &self.now.given_up);
            let given = Given::of(&flat, snapshot).map_err(|error| error.to_string())?;
            if matches!(given.facts.get(fact), Possible::Words(mask) if mask.count_ones() > 1 && mask >> state & 1 == 1)
            {
                snapshot.set(fact, Value::Word(state));
            }
        }
        Ok(())
    }

    /// The clauses that turn on a fact, and what else does.
    fn why(&self, fact: &FactRef<usize>) -> String {
        let turns = |condition: &Condition<usize>| facts_of(self.flat, condition).contains(fact);
        let mut out = wrapped("  ", None, &format!("Possible now: {}.", verdicts(self.flat, &self.now.turn.possible)));
        let mut says = |text: &str| out.push_str(&wrapped("  - ", None, text));
        if self.flat.covers.iter().any(|covers| turns(&covers.item)) {
            says("whether the program covers the vehicle turns on it");
        }
        for row in self.flat.left_out.iter().filter(|row| turns(&row.condition)) {
            says(&format!("whether the vehicle is left out turns on it: {}", row.why));
        }
        for line in self.flat.lines.iter().filter(|line| turns(&line.concerns) || turns(&line.unmet_where)) {
            let outcome = self.flat.outcomes.get(line.outcome).map_or("", |outcome| outcome.name.as_str());
            let laws = line.basis.iter().filter_map(|citation| {
                let source = self.flat.sources.get(citation.source)?;
                Some(format!("{} {}", source.title, citation.locator).trim_end().to_owned())
            });
            let laws: Vec<String> = laws.collect();
            let message = if line.message.is_empty() { String::new() } else { format!(": {}", line.message) };
            says(&format!("clause {} ({outcome}){message} [{}]", line.clause, laws.join("; ")));
        }
        if self.flat.becomes.iter().any(|becomes| turns(&becomes.condition)) {
            says("what an outcome becomes turns on it");
        }
        out
    }
}

/// What an ordinary vehicle in good order shows, where one can say.
fn ordinary(fact: &FactRef<usize>) -> Option<(Fact, Reading)> {
    let FactRef::Known(fact) = *fact else { return None };
    let word = match fact {
        Fact::Monitor(_) => "complete",
        Fact::Visit => "initial",
        Fact::Purpose => "renewal",
        Fact::Fuel | Fact::FuelInUse => "gasoline",
        Fact::Ignition => "spark",
        Fact::Hybrid | Fact::PlugIn | Fact::LampCommanded => "no",
        Fact::Class => return word_of(fact, alias::word(Fact::Class, "car")?),
        Fact::StoredCodes | Fact::PendingCodes | Fact::PermanentCodes => {
            return Some((fact, Reading::Known(Value::Codes(crate::model::CodeList::default()))));
        }
        other => spec(other).sound?,
    };
    word_of(fact, word)
}

fn word_of(fact: Fact, word: &str) -> Option<(Fact, Reading)> {
    let place = fact.words().iter().position(|known| *known == word)?;
    Some((fact, Reading::Known(Value::Word(u8::try_from(place).ok()?))))
}

impl State {
    fn of(flat: &Flat, snapshot: Snapshot, given_up: BTreeSet<FactRef<usize>>) -> Result<State, String> {
        let turn = turn(flat, &snapshot, &given_up).map_err(|error| error.to_string())?;
        Ok(State { snapshot, given_up, turn })
    }
}

fn declared_value(kind: &DeclaredType, text: &str) -> Result<DeclaredValue, String> {
    match kind {
        DeclaredType::YesNo => yes_no(text).map(|yes| DeclaredValue::YesNo(yes == 1)),
        DeclaredType::Words(words) => {
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            let place = choose(text, &words)?;
            words
                .get(place)
                .map(|word| DeclaredValue::Word((*word).to_owned()))
                .ok_or_else(|| "no such word".to_owned())
        }
        DeclaredType::Number { unit, least, most } => {
            let digits = text.trim_end_matches(unit.word()).trim();
            let number: i64 = digits.parse().map_err(|_| format!("\"{text}\" is no whole number"))?;
            if (*least..=*most).contains(&number) {
                Ok(DeclaredValue::Number(number))
            } else {
                Err(format!("{number} is out of range"))
            }
        }
    }
}
