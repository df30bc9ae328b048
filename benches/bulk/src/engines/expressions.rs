//! Expression languages, a scripting language, and the expression engine of a decision-table engine.

use super::Engine;
use crate::expr::Dialect;
use crate::policy::{Answer, Policy};

/// All conditions, each in brackets.
fn list(policy: &Policy, words: &Dialect) -> Vec<String> {
    policy.conditions().map(|one| format!("({})", one.text(words))).collect()
}

/// Common Expression Language.
pub struct Cel {
    policy: Policy,
    program: cel_interpreter::Program,
}

impl Engine for Cel {
    type Prepared = cel_interpreter::Context<'static>;
    const NAME: &'static str = "cel-interpreter";
    const VERSION: &'static str = "0.10.0";
    const KIND: &'static str = "Common Expression Language";

    fn new(policy: Policy) -> Cel {
        let words =
            Dialect { and: " && ", or: " || ", choose: |condition, yes, no| format!("({condition} ? {yes} : {no})") };
        let text = format!("[{}]", list(&policy, &words).join(", "));
        Cel { policy, program: cel_interpreter::Program::compile(&text).unwrap() }
    }

    fn prepare(&self, facts: &[(&'static str, i64)]) -> Self::Prepared {
        let mut context = cel_interpreter::Context::default();
        for (name, value) in facts {
            context.add_variable_from_value(*name, *value);
        }
        context
    }

    fn judge(&mut self, context: &mut Self::Prepared) -> Answer {
        match self.program.execute(context).unwrap() {
            cel_interpreter::Value::List(all) => {
                self.policy.bits(all.iter().map(|one| matches!(one, cel_interpreter::Value::Bool(true))))
            }
            other => panic!("{other:?}"),
        }
    }
}

/// Rhai.
pub struct Rhai {
    policy: Policy,
    engine: rhai::Engine,
    program: rhai::AST,
}

impl Engine for Rhai {
    type Prepared = rhai::Scope<'static>;
    const NAME: &'static str = "rhai";
    const VERSION: &'static str = "1.27.0";
    const KIND: &'static str = "scripting language";

    fn new(policy: Policy) -> Rhai {
        let choose = |condition: &str, yes: &str, no: &str| format!("(if {condition} {{ {yes} }} else {{ {no} }})");
        let words = Dialect { and: " && ", or: " || ", choose };
        let all = list(&policy, &words);
        let text: Vec<String> = (0..).zip(all).map(|(at, one)| choose(&one, &(1 << at).to_string(), "0")).collect();
        let engine = rhai::Engine::new();
        let program = engine.compile(text.join(" + ")).unwrap();
        Rhai { policy, engine, program }
    }

    fn prepare(&self, facts: &[(&'static str, i64)]) -> Self::Prepared {
        let mut scope = rhai::Scope::new();
        for (name, value) in facts {
            scope.push_constant(*name, *value);
        }
        scope
    }

    fn judge(&mut self, scope: &mut Self::Prepared) -> Answer {
        let found: i64 = self.engine.eval_ast_with_scope(scope, &self.program).unwrap();
        self.policy.answer(found & 1 == 1, u8::try_from(found >> 1).unwrap())
    }
}

/// Crate `evalexpr`.
pub struct Evalexpr {
    policy: Policy,
    program: evalexpr::Node,
}

impl Engine for Evalexpr {
    type Prepared = evalexpr::HashMapContext;
    const NAME: &'static str = "evalexpr";
    const VERSION: &'static str = "11.3.1";
    const KIND: &'static str = "expressions";

    fn new(policy: Policy) -> Evalexpr {
        let words = Dialect { and: " && ", or: " || ", choose: |condition, yes, no| format!("if({condition}, {yes}, {no})") };
        let text = list(&policy, &words).join(", ");
        Evalexpr { policy, program: evalexpr::build_operator_tree(&text).unwrap() }
    }

    fn prepare(&self, facts: &[(&'static str, i64)]) -> Self::Prepared {
        use evalexpr::ContextWithMutableVariables;
        let mut context = evalexpr::HashMapContext::new();
        for (name, value) in facts {
            context.set_value((*name).to_owned(), evalexpr::Value::Int(*value)).unwrap();
        }
        context
    }

    fn judge(&mut self, context: &mut Self::Prepared) -> Answer {
        let found = self.program.eval_tuple_with_context(context).unwrap();
        self.policy.bits(found.iter().map(|one| *one == evalexpr::Value::Boolean(true)))
    }
}

/// Crate `fasteval`: numbers alone, so that the answer is a sum of bits. Facts are looked up by name through a function.
pub struct Fasteval {
    policy: Policy,
    slab: fasteval::Slab,
    program: fasteval::Instruction,
}

impl Engine for Fasteval {
    type Prepared = std::collections::BTreeMap<String, f64>;
    const NAME: &'static str = "fasteval";
    const VERSION: &'static str = "0.2.4";
    const KIND: &'static str = "expressions of numbers";

    fn new(policy: Policy) -> Fasteval {
        use fasteval::Compiler;
        let choose = |condition: &str, yes: &str, no: &str| match (yes, no) {
            ("1", "0") => format!("({condition})"),
            _ => format!("(({condition}) * {yes} + !({condition}) * {no})"),
        };
        let words = Dialect { and: " && ", or: " || ", choose };
        let all = list(&policy, &words);
        let text: Vec<String> = (0..).zip(all).map(|(at, one)| format!("{one} * {}", 1 << at)).collect();
        let mut slab = fasteval::Slab::new();
        let parsed = fasteval::Parser::new().parse(&text.join(" + "), &mut slab.ps).unwrap();
        let program = parsed.from(&slab.ps).compile(&slab.ps, &mut slab.cs);
        Fasteval { policy, slab, program }
    }

    fn prepare(&self, facts: &[(&'static str, i64)]) -> Self::Prepared {
        facts.iter().map(|(name, value)| ((*name).to_owned(), *value as f64)).collect()
    }

    fn judge(&mut self, facts: &mut Self::Prepared) -> Answer {
        use fasteval::Evaler;
        let found = self.program.eval(&self.slab, facts).unwrap() as u32;
        self.policy.answer(found & 1 == 1, u8::try_from(found >> 1).unwrap())
    }
}

/// Crate `zen-expression`, the expressions of a decision-table engine.
pub struct Zen {
    policy: Policy,
    program: zen_expression::Expression<zen_expression::expression::Standard>,
    vm: zen_expression::vm::VM,
}

impl Engine for Zen {
    type Prepared = zen_expression::Variable;
    const NAME: &'static str = "zen-expression";
    const VERSION: &'static str = "2.1.6";
    const KIND: &'static str = "expressions of a decision-table engine";

    fn new(policy: Policy) -> Zen {
        let words =
            Dialect { and: " and ", or: " or ", choose: |condition, yes, no| format!("({condition} ? {yes} : {no})") };
        let text = format!("[{}]", list(&policy, &words).join(", "));
        let program = zen_expression::Isolate::new().compile_standard(&text).unwrap();
        Zen { policy, program, vm: zen_expression::vm::VM::new() }
    }

    fn prepare(&self, facts: &[(&'static str, i64)]) -> Self::Prepared {
        let object: serde_json::Map<String, serde_json::Value> =
            facts.iter().map(|(name, value)| ((*name).to_owned(), (*value).into())).collect();
        serde_json::Value::Object(object).into()
    }

    fn judge(&mut self, facts: &mut Self::Prepared) -> Answer {
        match self.program.evaluate_with(facts.clone(), &mut self.vm).unwrap() {
            zen_expression::Variable::Array(all) => {
                self.policy.bits(all.borrow().iter().map(|one| matches!(one, zen_expression::Variable::Bool(true))))
            }
            other => panic!("{other:?}"),
        }
    }
}
