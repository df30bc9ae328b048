//! The policy by hand, by the row path, and for general-purpose rule engines. Each gives the verdict (0 pass, 1 reject,
//! 2 fail, 3 not subject) and the requirements that are not met, a bit each in the order of [`crate::policy::CLAUSES`].
//! The engines get all requirements as one expression compiled beforehand, and the facts in their own form, prepared
//! beforehand: what is measured is the evaluation alone.

use crate::records::{Car, DATE, MONITORS};
use std::sync::Arc;
use wherefore::internals::bulk::{Engine, Options, Single, Slot};
use wherefore::internals::evaluate::States;
use wherefore::internals::model::{Fact, day_number};
use wherefore::internals::program::{FactRef, Program, Verdict};

/// A verdict and the requirements not met.
pub type Answer = (u8, u8);

/// Connector, bulb, lamp and catalyst fail a vehicle; the others have it rejected.
const FAIL: u8 = 0b010_1101;

/// The verdict that follows from the requirements not met.
pub fn answer(is_covered: bool, unmet: u8) -> Answer {
    match (is_covered, unmet & FAIL, unmet) {
        (false, _, _) => (3, 0),
        (_, 0, 0) => (0, 0),
        (_, 0, _) => (1, unmet),
        _ => (2, unmet),
    }
}

/// By hand, a row at a time.
pub fn by_hand(car: &Car) -> Answer {
    let incomplete = car.monitors.iter().skip(3).filter(|state| **state == 2).count();
    let limit = if car.model_year <= 2000 { 2 } else { 1 };
    let unmet = u8::from(matches!(car.connector, 1..=3))
        | u8::from(car.communication == 2) << 1
        | u8::from(!car.lamp_lights) << 2
        | u8::from(car.lamp_commanded) << 3
        | u8::from(incomplete > limit) << 4
        | u8::from(car.visit == 1 && car.monitors[3] == 2) << 5
        | u8::from(car.warm_ups < 10) << 6;
    answer(car.model_year >= 1996, unmet)
}

/// The row path of the library.
pub struct Rows {
    single: Single,
    /// The bit of the requirement of each line.
    bits: Vec<u8>,
}

/// A record prepared for the row path.
pub struct Prepared {
    pub states: States,
    pub values: [i64; 8],
}

impl Rows {
    pub fn new(program: &Program) -> Rows {
        let engine = Engine::new(program, Options::default()).unwrap();
        let rules: Arc<_> = engine.rules(day_number(DATE)).unwrap();
        let words = |fact| Slot::Words(FactRef::Known(fact));
        let slots = vec![
            Slot::Number(FactRef::Known(Fact::ModelYear), 1),
            words(Fact::Connector),
            words(Fact::Communication),
            words(Fact::LampLitKeyOn),
            words(Fact::LampCommanded),
            words(Fact::Visit),
            Slot::Number(FactRef::Known(Fact::WarmUps), 1),
            words(Fact::Ignition),
        ];
        let bit = |clause: &str| 1 << crate::policy::CLAUSES.iter().position(|known| *known == clause).unwrap();
        let bits = rules.flat().lines.iter().map(|line| bit(&line.clause)).collect();
        let single = Single::of(&rules, slots).unwrap();
        assert!(single.is_quick(), "the policy is answered at once");
        Rows { single, bits }
    }

    /// What the library gives: verdict, lines unmet and not set aside.
    pub fn brief(&self, record: &Prepared) -> Option<wherefore::internals::bulk::Brief> {
        self.single.judge(record.states, &record.values)
    }

    pub fn judge(&self, record: &Prepared) -> Answer {
        let brief = self.brief(record).unwrap();
        let verdict = match brief.verdict {
            Verdict::NotSubject => 3,
            Verdict::Outcome(place) => u8::try_from(place).unwrap(),
        };
        let unmet = self.bits.iter().enumerate().filter(|(line, _)| brief.standing >> line & 1 == 1);
        (verdict, unmet.fold(0, |unmet, (_, bit)| unmet | bit))
    }
}

impl Prepared {
    pub fn of(car: &Car) -> Prepared {
        let mut states = States { unsupported: 0xFFFF_F800, complete: 0, incomplete: 0 };
        for (at, state) in car.monitors.iter().enumerate() {
            let bits = [&mut states.unsupported, &mut states.complete, &mut states.incomplete];
            *bits.into_iter().nth(usize::from(*state)).unwrap() |= 1 << at;
        }
        let values = [
            i64::from(car.model_year),
            1 << car.connector,
            1 << car.communication,
            1 << u8::from(car.lamp_lights),
            1 << u8::from(car.lamp_commanded),
            1 << car.visit,
            i64::from(car.warm_ups),
            1,
        ];
        Prepared { states, values }
    }
}

/// Names and values of the facts, as the engines get them: whole numbers.
fn facts(car: &Car) -> Vec<(String, i64)> {
    let mut facts: Vec<(String, i64)> = vec![
        ("model_year".into(), car.model_year.into()),
        ("connector".into(), car.connector.into()),
        ("communication".into(), car.communication.into()),
        ("lamp_lights".into(), car.lamp_lights.into()),
        ("lamp_commanded".into(), car.lamp_commanded.into()),
        ("visit".into(), car.visit.into()),
        ("warm_ups".into(), car.warm_ups.into()),
    ];
    facts.extend(MONITORS.iter().zip(car.monitors).map(|(name, state)| (name.replace('-', "_"), state.into())));
    facts
}

/// The requirements as expressions, `one(condition, yes, no)` spelled by the engine; and the coverage.
fn requirements(choose: impl Fn(&str, &str, &str) -> String) -> (String, Vec<String>) {
    let counted: Vec<String> =
        MONITORS.iter().skip(3).map(|name| choose(&format!("{} == 2", name.replace('-', "_")), "1", "0")).collect();
    let limit = choose("model_year <= 2000", "2", "1");
    let list = vec![
        "connector >= 1 && connector <= 3".to_owned(),
        "communication == 2".to_owned(),
        "lamp_lights == 0".to_owned(),
        "lamp_commanded == 1".to_owned(),
        format!("{} > {limit}", counted.join(" + ")),
        "visit == 1 && catalyst == 2".to_owned(),
        "warm_ups < 10".to_owned(),
    ];
    ("model_year >= 1996".to_owned(), list)
}

fn bits(unmet: impl Iterator<Item = bool>) -> Answer {
    let mut unmet = unmet;
    let is_covered = unmet.next().unwrap();
    answer(is_covered, (0..).zip(unmet).fold(0, |bits, (at, one)| bits | u8::from(one) << at))
}

fn list(choose: impl Fn(&str, &str, &str) -> String) -> String {
    let (covers, list) = requirements(choose);
    std::iter::once(covers).chain(list).map(|one| format!("({one})")).collect::<Vec<_>>().join(", ")
}

/// Common Expression Language, crate `cel-interpreter`.
pub struct Cel {
    program: cel_interpreter::Program,
}

impl Default for Cel {
    fn default() -> Cel {
        let text = list(|condition, yes, no| format!("({condition} ? {yes} : {no})"));
        Cel { program: cel_interpreter::Program::compile(&format!("[{text}]")).unwrap() }
    }
}

impl Cel {
    pub fn prepare(&self, car: &Car) -> cel_interpreter::Context<'static> {
        let mut context = cel_interpreter::Context::default();
        for (name, value) in facts(car) {
            context.add_variable_from_value(name, value);
        }
        context
    }

    pub fn judge(&self, context: &cel_interpreter::Context<'_>) -> Answer {
        match self.program.execute(context).unwrap() {
            cel_interpreter::Value::List(all) => {
                bits(all.iter().map(|one| matches!(one, cel_interpreter::Value::Bool(true))))
            }
            other => panic!("{other:?}"),
        }
    }
}

/// Rhai.
pub struct Rhai {
    engine: rhai::Engine,
    program: rhai::AST,
}

impl Default for Rhai {
    fn default() -> Rhai {
        let choose = |condition: &str, yes: &str, no: &str| format!("(if {condition} {{ {yes} }} else {{ {no} }})");
        let (covers, list) = requirements(choose);
        let all = std::iter::once(covers).chain(list).enumerate();
        let text: Vec<String> = all.map(|(at, one)| choose(&one, &(1 << at).to_string(), "0")).collect();
        let engine = rhai::Engine::new();
        let program = engine.compile(text.join(" + ")).unwrap();
        Rhai { engine, program }
    }
}

impl Rhai {
    pub fn prepare(&self, car: &Car) -> rhai::Scope<'static> {
        let mut scope = rhai::Scope::new();
        for (name, value) in facts(car) {
            scope.push_constant(name, value);
        }
        scope
    }

    pub fn judge(&self, scope: &mut rhai::Scope<'_>) -> Answer {
        let found: i64 = self.engine.eval_ast_with_scope(scope, &self.program).unwrap();
        answer(found & 1 == 1, u8::try_from(found >> 1).unwrap())
    }
}

/// Crate `evalexpr`.
pub struct Evalexpr {
    program: evalexpr::Node,
}

impl Default for Evalexpr {
    fn default() -> Evalexpr {
        let text = list(|condition, yes, no| format!("if({condition}, {yes}, {no})"));
        Evalexpr { program: evalexpr::build_operator_tree(&text).unwrap() }
    }
}

impl Evalexpr {
    pub fn prepare(&self, car: &Car) -> evalexpr::HashMapContext {
        use evalexpr::ContextWithMutableVariables;
        let mut context = evalexpr::HashMapContext::new();
        for (name, value) in facts(car) {
            context.set_value(name, evalexpr::Value::Int(value)).unwrap();
        }
        context
    }

    pub fn judge(&self, context: &evalexpr::HashMapContext) -> Answer {
        let found = self.program.eval_tuple_with_context(context).unwrap();
        bits(found.iter().map(|one| *one == evalexpr::Value::Boolean(true)))
    }
}

/// Crate `zen-expression`.
pub struct Zen {
    program: zen_expression::Expression<zen_expression::expression::Standard>,
}

impl Default for Zen {
    fn default() -> Zen {
        let text = list(|condition, yes, no| format!("({condition} ? {yes} : {no})"));
        let text = text.replace("&&", "and");
        let mut isolate = zen_expression::Isolate::new();
        Zen { program: isolate.compile_standard(&format!("[{text}]")).unwrap() }
    }
}

impl Zen {
    pub fn prepare(&self, car: &Car) -> zen_expression::Variable {
        let object: serde_json::Map<String, serde_json::Value> =
            facts(car).into_iter().map(|(name, value)| (name, value.into())).collect();
        serde_json::Value::Object(object).into()
    }

    pub fn judge(&self, facts: &zen_expression::Variable, vm: &mut zen_expression::vm::VM) -> Answer {
        match self.program.evaluate_with(facts.clone(), vm).unwrap() {
            zen_expression::Variable::Array(all) => {
                bits(all.borrow().iter().map(|one| matches!(one, zen_expression::Variable::Bool(true))))
            }
            other => panic!("{other:?}"),
        }
    }
}
