//! General-purpose engines, each of a kind. They get all requirements of a policy as one expression compiled beforehand, and
//! the facts in their own form, prepared beforehand: what is measured is the evaluation alone, to coverage and every
//! requirement. The library's row engine is one of them.

mod expressions;
mod rules;
mod row;

pub use expressions::{Cel, Evalexpr, Fasteval, Rhai, Zen};
pub use row::{Filled, Rows};
pub use rules::{JsonLogic, Rego};

use crate::policy::{Answer, Policy};

/// An engine with a policy.
pub trait Engine {
    /// Facts of a vehicle in the engine's own form.
    type Prepared;
    const NAME: &'static str;
    const VERSION: &'static str;
    const KIND: &'static str;

    fn new(policy: Policy) -> Self;
    fn prepare(&self, facts: &[(&'static str, i64)]) -> Self::Prepared;
    fn judge(&mut self, prepared: &mut Self::Prepared) -> Answer;
}
