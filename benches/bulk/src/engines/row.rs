//! The library's row engine, through the crate's root as a host has it.

use crate::policy::{Answer, Policy, named};
use crate::records::{Car, DATE, Van};
use wherefore::internals::bulk::{self, Options, RowEngine, TypedRow};
use wherefore::internals::evaluate::States;
use wherefore::internals::model::{DeclaredValue, Fact, TroubleCode, day_number};
use wherefore::internals::program::Verdict;

/// The row engine with a policy.
pub struct Rows {
    pub engine: RowEngine,
    /// The bit of the requirement of each line.
    bits: Vec<u8>,
}

/// A vehicle that fills a row.
pub trait Filled {
    const POLICY: &'static str;
    fn fill(&self, row: &mut TypedRow);
}

impl Rows {
    pub fn new(id: &str, policy: &Policy) -> Rows {
        let engine = bulk::Engine::new(&named(id), Options::default()).unwrap();
        let rules = engine.rules(day_number(DATE)).unwrap();
        let bit = |clause: &str| 1 << policy.clauses.iter().position(|known| *known == clause).unwrap();
        let bits = rules.flat().lines.iter().map(|line| bit(&line.clause)).collect();
        Rows { engine: RowEngine::of(&rules).unwrap(), bits }
    }

    pub fn judge(&self, row: &TypedRow) -> Answer {
        let found = self.engine.judge(row).unwrap();
        assert!(found.is_exact && found.surely == found.perhaps, "all is known");
        let verdict = match found.verdict().unwrap() {
            Verdict::NotSubject => 3,
            Verdict::Outcome(place) => u8::try_from(place).unwrap(),
        };
        let unmet = self.engine.reasons(found).fold(0, |unmet, line| unmet | self.bits[line]);
        (verdict, unmet)
    }
}

fn states(monitors: &[u8; 11]) -> States {
    let mut states = States { unsupported: 0xFFFF_F800, complete: 0, incomplete: 0 };
    for (at, state) in monitors.iter().enumerate() {
        let bits = [&mut states.unsupported, &mut states.complete, &mut states.incomplete];
        *bits.into_iter().nth(usize::from(*state)).unwrap() |= 1 << at;
    }
    states
}

impl Filled for Car {
    const POLICY: &'static str = "bench";

    fn fill(&self, row: &mut TypedRow) {
        row.set_monitors(states(&self.monitors));
        row.set_number(Fact::ModelYear, self.model_year.into()).unwrap();
        row.set_words(Fact::Connector, 1 << self.connector).unwrap();
        row.set_words(Fact::Communication, 1 << self.communication).unwrap();
        row.set_words(Fact::LampLitKeyOn, 1 << u8::from(self.lamp_lights)).unwrap();
        row.set_words(Fact::LampCommanded, 1 << u8::from(self.lamp_commanded)).unwrap();
        row.set_words(Fact::Visit, 1 << self.visit).unwrap();
        row.set_number(Fact::WarmUps, self.warm_ups.into()).unwrap();
        row.set_words(Fact::Ignition, 1).unwrap();
    }
}

impl Filled for Van {
    const POLICY: &'static str = "bench-two";

    fn fill(&self, row: &mut TypedRow) {
        row.set_monitors(states(&self.monitors));
        row.set_number(Fact::ModelYear, self.model_year.into()).unwrap();
        row.set_words(Fact::Fuel, 1 << self.fuel).unwrap();
        row.set_words(Fact::Connector, 1 << self.connector).unwrap();
        row.set_words(Fact::LampCommanded, 1 << u8::from(self.lamp_commanded)).unwrap();
        row.set_words(Fact::Visit, 1 << self.visit).unwrap();
        let codes = self.codes.iter().filter(|code| **code != 0);
        row.set_codes(Fact::StoredCodes, codes.map(|code| TroubleCode::obd(*code)), false).unwrap();
        row.set_declared("altered", &DeclaredValue::YesNo(self.altered)).unwrap();
    }
}
