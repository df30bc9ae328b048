//! Rows: one vehicle of many at a time, typed values in, the verdict with every reason out, in well under a microsecond.

use super::ruling::Verdict;
use super::words::{Communication, Connector, Fuel, Ignition, Protocol, Purpose, VehicleClass, VisitKind};
use super::{Error, Program, Request, Snapshot};
use crate::bulk::{self, RowResult, Rules, TypedRow};
use crate::model::{Date, DeclaredValue, Fact, Monitor, MonitorState, TroubleCode, Unit};
use crate::program::select::select;
use crate::program::{Selection, Verdict as Found};
use crate::record;
use std::sync::Arc;

/// A program made ready for rows on the day of a visit: made once, shared by threads. A row takes from some tens of
/// nanoseconds to a few hundred and no allocation; texts, law and what would change the outcome are told by
/// [`Program::judge`].
///
/// It is for a host that has one vehicle at a time and asks for its reasons too. Many records that lie side by side as
/// columns of numbers, each with its own date, are [`super::Rows`]' (what the C interface is handed), or a record batch's.
///
/// ```
/// use wherefore::{Date, Fuel, Monitor, MonitorState, Programs};
///
/// let engine = Programs::built_in().get("us-il")?.row_engine(Date::constant(2026, 11, 28))?;
/// let mut row = engine.row();
/// row.model_year(2016)?;
/// row.fuel(Fuel::Gasoline);
/// row.lamp_commanded(true);
/// row.monitor(Monitor::Catalyst, MonitorState::Incomplete);
/// let judged = engine.judge(&row)?;
/// let possible: Vec<&str> = judged.possible().map(|verdict| verdict.name()).collect();
/// assert!(!possible.is_empty());
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct RowEngine {
    inner: Arc<bulk::RowEngine>,
}

/// What is known of one vehicle; what is not set is *not known*, never false or zero. Made by [`RowEngine::row`] and kept
/// from record to record.
///
/// ```
/// use wherefore::{Date, Programs};
/// let engine = Programs::built_in().get("us-il")?.row_engine(Date::constant(2026, 11, 28))?;
/// let mut row = engine.row();
/// row.model_year(2016)?;
/// assert!(row.model_year(1800).is_err());
/// row.clear();
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Row {
    inner: TypedRow,
}

/// What follows for a row.
///
/// ```
/// use wherefore::{Date, Programs};
/// let engine = Programs::built_in().get("us-il")?.row_engine(Date::constant(2026, 11, 28))?;
/// let row = engine.row();
/// let ruling = engine.judge(&row)?;
/// // Nothing is known: no one verdict.
/// assert!(ruling.verdict().is_none() && ruling.possible().count() > 1);
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone, Copy)]
pub struct RowRuling<'e> {
    engine: &'e bulk::RowEngine,
    result: RowResult,
}

/// A line that stands against a vehicle.
///
/// ```
/// use wherefore::{Communication, Connector, Date, Fuel, Ignition, Programs, VehicleClass};
/// let engine = Programs::built_in().get("us-model")?.row_engine(Date::constant(2026, 11, 28))?;
/// let mut row = engine.row();
/// row.model_year(2016)?;
/// row.fuel(Fuel::Gasoline);
/// row.ignition(Ignition::Spark);
/// row.class(VehicleClass::LightDuty);
/// row.gross_weight_lb(4000)?;
/// row.connector(Connector::Missing);
/// row.communication(Communication::None);
/// let reason = engine.judge(&row)?.reasons().next().expect("a missing connector stands against it");
/// assert!(!reason.clause().is_empty() && !reason.message().is_empty());
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RowReason<'e> {
    line: &'e crate::program::flat::Line,
    outcome: &'e str,
}

impl Program {
    /// The program made ready for rows on the day of a visit, by the law of that day.
    ///
    /// # Errors
    /// [`Error::Ruling`] where the program is too large for rows, with what is too large.
    pub fn row_engine(&self, visit: Date) -> Result<RowEngine, Error> {
        self.row_engine_with(visit, &Request::new())
    }

    /// The same as asked: the law of another day, as it had been published, with other readings and options.
    ///
    /// # Errors
    /// As [`Program::row_engine`], and where the request takes a reading that the program does not have.
    pub fn row_engine_with(&self, visit: Date, request: &Request) -> Result<RowEngine, Error> {
        let asked = &request.inner;
        let selection = Selection {
            as_of: asked.as_of.unwrap_or(visit),
            known_on: asked.known_on,
            takes: record::takes(self.program(), asked),
            ..Selection::on(visit)
        };
        let refuse = |reason: String| Error::Ruling { reason };
        let flat = select(self.program(), &selection).map_err(|error| refuse(error.to_string()))?;
        let inner =
            bulk::RowEngine::of(&Arc::new(Rules::of(flat, false))).map_err(|error| refuse(error.to_string()))?;
        Ok(RowEngine { inner: Arc::new(inner) })
    }
}

impl RowEngine {
    /// A row of which nothing is known.
    #[must_use]
    pub fn row(&self) -> Row {
        Row { inner: self.inner.row() }
    }

    /// What follows for a row.
    ///
    /// # Errors
    /// [`Error::Ruling`] where no vehicle that can exist shows the row, or the row is another engine's.
    pub fn judge(&self, row: &Row) -> Result<RowRuling<'_>, Error> {
        let result = self.inner.judge(&row.inner).map_err(refused)?;
        Ok(RowRuling { engine: &self.inner, result })
    }

    /// The exact verdicts, where [`RowRuling::is_exact`] says that those of [`RowEngine::judge`] may be too many. What was
    /// found is kept for rows that say the same.
    ///
    /// # Errors
    /// As [`RowEngine::judge`], and where the exact answer outgrows the limit of the diagrams.
    pub fn exact(&self, row: &Row) -> Result<Vec<Verdict<'_>>, Error> {
        let answer = self.inner.exact(&row.inner).map_err(refused)?;
        Ok(answer.possible.iter().map(|verdict| shown(&self.inner, *verdict)).collect())
    }

    /// What was presumed and changes the outcome, in words: without it other verdicts would be possible.
    ///
    /// # Errors
    /// As [`RowEngine::judge`].
    pub fn turning_presumptions(&self, row: &Row) -> Result<Vec<&str>, Error> {
        let turning = self.inner.turning(&row.inner).map_err(refused)?;
        Ok(presumed(&self.inner, turning).collect())
    }
}

fn refused(error: bulk::RowError) -> Error {
    Error::Ruling { reason: error.to_string() }
}

fn shown(engine: &bulk::RowEngine, verdict: Found) -> Verdict<'_> {
    let flat = engine.rules().flat();
    Verdict::of(verdict.name(flat), verdict.class(flat))
}

fn presumed(engine: &bulk::RowEngine, bits: u64) -> impl Iterator<Item = &str> {
    let all = (0u32..).zip(&engine.rules().flat().presumptions);
    all.filter(move |(bit, _)| bits >> bit & 1 == 1).map(|(_, presumption)| presumption.shown.as_str())
}

impl<'e> RowRuling<'e> {
    /// The one possible verdict; `None` where several may follow.
    #[must_use]
    pub fn verdict(self) -> Option<Verdict<'e>> {
        self.result.verdict().map(|verdict| shown(self.engine, verdict))
    }

    /// The verdicts that may follow: at least those of [`RowEngine::exact`].
    pub fn possible(self) -> impl Iterator<Item = Verdict<'e>> {
        self.result.possible.iter().map(move |verdict| shown(self.engine, verdict))
    }

    /// Whether these are the exact ones.
    #[must_use]
    pub fn is_exact(self) -> bool {
        self.result.is_exact
    }

    /// Everything that stands against the vehicle in every case, in the order of a ruling's reasons.
    pub fn reasons(self) -> impl Iterator<Item = RowReason<'e>> {
        let flat = self.engine.rules().flat();
        let lines = self.engine.reasons(self.result).filter_map(|line| flat.lines.get(line));
        lines.map(|line| RowReason {
            line,
            outcome: flat.outcomes.get(line.outcome).map_or("", |outcome| outcome.name.as_str()),
        })
    }

    /// Topics of texts that exist, were not read, and could make the outcome graver.
    pub fn so_far_as_read(self) -> impl Iterator<Item = &'static str> + 'e {
        self.engine.so_far_as_read(self.result).map(crate::program::Topic::word)
    }

    /// What was presumed, in words; [`RowEngine::turning_presumptions`] tells what of it changes the outcome.
    pub fn presumed(self) -> impl Iterator<Item = &'e str> {
        presumed(self.engine, self.result.presumed)
    }
}

impl<'e> RowReason<'e> {
    /// Id of the clause.
    #[must_use]
    pub fn clause(self) -> &'e str {
        &self.line.clause
    }

    /// What a person is told.
    #[must_use]
    pub fn message(self) -> &'e str {
        &self.line.message
    }

    /// Name of the outcome it leads to.
    #[must_use]
    pub fn outcome(self) -> &'e str {
        self.outcome
    }
}

/// A value of its fact's kind and range is always taken.
fn taken(result: Result<(), bulk::RowError>) {
    debug_assert!(result.is_ok(), "{result:?}");
}

/// Setters that cannot go wrong: words of a fact as bits.
macro_rules! words {
    ($($(#[$doc:meta])* $name:ident($value:ident: $of:ty) is $fact:ident;)+) => {
        impl Row {
            $($(#[$doc])* pub fn $name(&mut self, $value: $of) {
                self.inner.put_words(Fact::$fact, $value.bit());
            })+
        }
    };
}

/// The same of a yes or no.
trait Bit {
    fn bit(self) -> u64;
}

impl Bit for bool {
    fn bit(self) -> u64 {
        if self { 0b10 } else { 0b01 }
    }
}

words! {
    /// Fuel it is registered for.
    fuel(fuel: Fuel) is Fuel;
    /// Ignition.
    ignition(ignition: Ignition) is Ignition;
    /// Class of the vehicle.
    class(class: VehicleClass) is Class;
    /// Whether it has a combustion engine and an electric drive together.
    hybrid(yes: bool) is Hybrid;
    /// Whether it can be charged from outside.
    plug_in(yes: bool) is PlugIn;
    /// Kind of visit.
    visit(kind: VisitKind) is Visit;
    /// What the certificate is for.
    purpose(purpose: Purpose) is Purpose;
    /// The connector, by look.
    connector(connector: Connector) is Connector;
    /// Whether the vehicle answered.
    communication(communication: Communication) is Communication;
    /// Family of messages.
    protocol(protocol: Protocol) is Protocol;
    /// Whether the data hold a VIN.
    vin_in_data(yes: bool) is VinInData;
    /// Whether it is the vehicle's.
    vin_matches(yes: bool) is VinMatches;
    /// Whether the control unit commands the malfunction lamp (MIL) on.
    lamp_commanded(on: bool) is LampCommanded;
    /// Whether the lamp lights with the key on and the engine off.
    lamp_lit_key_on(lit: bool) is LampLitKeyOn;
    /// Whether the lamp is lit with the engine running.
    lamp_lit_running(lit: bool) is LampLitRunning;
    /// Whether the lamp flashes.
    lamp_flashing(flashes: bool) is LampFlashing;
}

impl Row {
    /// Forgets everything.
    pub fn clear(&mut self) {
        self.inner.clear();
    }

    /// Takes over a whole snapshot; its day apart, which is the engine's.
    ///
    /// # Errors
    /// [`Error::Ruling`] where a value does not fit its fact.
    pub fn fill(&mut self, snapshot: &Snapshot) -> Result<(), Error> {
        self.inner.fill(&snapshot.document.snapshot).map_err(refused)
    }

    fn amount(&mut self, fact: Fact, unit: Unit, amount: u32) -> Result<(), Error> {
        let base = unit.to_base(i64::from(amount)).unwrap_or(i64::MAX);
        self.inner.set_number(fact, base).map_err(refused)
    }

    /// Model year.
    ///
    /// # Errors
    /// [`Error::Ruling`] outside 1900 through 2100.
    pub fn model_year(&mut self, year: u16) -> Result<(), Error> {
        self.amount(Fact::ModelYear, Unit::One, u32::from(year))
    }

    /// Gross vehicle weight rating in pounds.
    ///
    /// # Errors
    /// [`Error::Ruling`] above 200,000.
    pub fn gross_weight_lb(&mut self, pounds: u32) -> Result<(), Error> {
        self.amount(Fact::GrossWeight, Unit::Pound, pounds)
    }

    /// Warm-ups since codes were cleared (service $01 PID $30); 255 means that or more.
    pub fn warm_ups_since_clearing(&mut self, count: u8) {
        taken(self.inner.set_number(Fact::WarmUps, i64::from(count)))
    }

    /// Distance since codes were cleared, in kilometres (service $01 PID $31); 65,535 means that or more.
    pub fn km_since_clearing(&mut self, kilometres: u16) {
        let base = Unit::Kilometre.to_base(i64::from(kilometres)).unwrap_or(0);
        taken(self.inner.set_number(Fact::DistanceSinceClear, base))
    }

    /// County or district of registration. A name that the program does not know leaves it not known.
    pub fn area(&mut self, area: &str) {
        taken(self.inner.set_text(Fact::Area, area))
    }

    /// Make and model, as tables of listed vehicles name them.
    pub fn make_and_model(&mut self, make: &str, model: &str) {
        taken(self.inner.set_text(Fact::Make, make));
        taken(self.inner.set_text(Fact::Model, model))
    }

    /// One readiness monitor.
    pub fn monitor(&mut self, monitor: Monitor, state: MonitorState) {
        self.inner.set_monitor(monitor, state);
    }

    /// All readiness monitors at once: bit *n* of a mask is the monitor whose [`Monitor::index`] is *n*. One that is in
    /// none of the masks is not known.
    pub fn monitors(&mut self, unsupported: u32, complete: u32, incomplete: u32) {
        self.inner.set_monitors(crate::evaluate::States { unsupported, complete, incomplete });
    }

    /// The whole list of stored codes (service $03); an empty one: none is stored.
    pub fn stored_codes(&mut self, codes: impl IntoIterator<Item = TroubleCode>) {
        taken(self.inner.set_codes(Fact::StoredCodes, codes, false))
    }

    /// The whole list of pending codes (service $07).
    pub fn pending_codes(&mut self, codes: impl IntoIterator<Item = TroubleCode>) {
        taken(self.inner.set_codes(Fact::PendingCodes, codes, false))
    }

    /// The whole list of permanent codes (service $0A).
    pub fn permanent_codes(&mut self, codes: impl IntoIterator<Item = TroubleCode>) {
        taken(self.inner.set_codes(Fact::PermanentCodes, codes, false))
    }

    /// A yes/no fact that a program declares; one that it does not declare is passed over.
    ///
    /// # Errors
    /// [`Error::Ruling`] where the fact is none of yes and no.
    pub fn declared(&mut self, name: &str, yes: bool) -> Result<(), Error> {
        self.inner.set_declared(name, &DeclaredValue::YesNo(yes)).map_err(refused)
    }
}
