//! A JSON-logic evaluator and a policy language.

use super::Engine;
use crate::policy::{Answer, Policy};
use serde_json::{Map, Value};

fn object(facts: &[(&'static str, i64)]) -> String {
    let object: Map<String, Value> = facts.iter().map(|(name, value)| ((*name).to_owned(), (*value).into())).collect();
    Value::Object(object).to_string()
}

/// JSON-logic, crate `datalogic-rs`, at its quickest: facts parsed once, an arena that is kept.
pub struct JsonLogic {
    policy: Policy,
    engine: datalogic_rs::Engine,
    program: datalogic_rs::Logic,
    arena: bumpalo::Bump,
}

impl Engine for JsonLogic {
    type Prepared = datalogic_rs::ParsedData;
    const NAME: &'static str = "datalogic-rs";
    const VERSION: &'static str = "5.4.0";
    const KIND: &'static str = "JSON-logic";

    fn new(policy: Policy) -> JsonLogic {
        let engine = datalogic_rs::Engine::new();
        let all: Vec<Value> = policy.conditions().map(crate::expr::Cond::json).collect();
        let program = engine.compile(Value::Array(all).to_string().as_str()).unwrap();
        JsonLogic { policy, engine, program, arena: bumpalo::Bump::new() }
    }

    fn prepare(&self, facts: &[(&'static str, i64)]) -> Self::Prepared {
        datalogic_rs::ParsedData::from_json(&object(facts)).unwrap()
    }

    fn judge(&mut self, facts: &mut Self::Prepared) -> Answer {
        self.arena.reset();
        let found = self.engine.evaluate(&self.program, &*facts, &self.arena).unwrap();
        let all = found.as_array().unwrap();
        self.policy.bits(all.iter().map(|one| one.as_bool() == Some(true)))
    }
}

/// Rego, crate `regorus`.
pub struct Rego {
    policy: Policy,
    program: regorus::CompiledPolicy,
}

impl Engine for Rego {
    type Prepared = regorus::Value;
    const NAME: &'static str = "regorus";
    const VERSION: &'static str = "0.14.1";
    const KIND: &'static str = "policy language";

    fn new(policy: Policy) -> Rego {
        let mut text = "package bench\n".to_owned();
        let mut names = Vec::new();
        for (at, condition) in policy.conditions().enumerate() {
            text.push_str(&format!("default r{at} := false\n"));
            for body in condition.bodies() {
                text.push_str(&format!("r{at} if {{\n  {}\n}}\n", body.join("\n  ")));
            }
            names.push(format!("r{at}"));
        }
        text.push_str(&format!("all := [{}]\n", names.join(", ")));
        let mut engine = regorus::Engine::new();
        engine.add_policy("bench.rego".to_owned(), text).unwrap();
        let program = engine.compile_with_entrypoint(&"data.bench.all".into()).unwrap();
        Rego { policy, program }
    }

    fn prepare(&self, facts: &[(&'static str, i64)]) -> Self::Prepared {
        regorus::Value::from_json_str(&object(facts)).unwrap()
    }

    fn judge(&mut self, facts: &mut Self::Prepared) -> Answer {
        let found = self.program.eval_with_input(facts.clone()).unwrap();
        let all = found.as_array().unwrap();
        self.policy.bits(all.iter().map(|one| *one == regorus::Value::from(true)))
    }
}
