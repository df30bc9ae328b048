//! Snapshots: from JSON, from messages, or built in code without a string for a monitor.

use super::Error;
use super::words::{Communication, Connector, Fuel, Ignition, Protocol, Purpose, VehicleClass, VisitKind};
use crate::decode::{Options, decode};
use crate::document::{self, Document};
use crate::model::{CodeList, Date, DeclaredValue, Fact, Monitor, MonitorState, Reading, TroubleCode, Unit, Value};

/// What is known of one vehicle at one visit. What is not set is *not known*, never false or zero.
///
/// ```
/// use wherefore::{Date, Snapshot};
/// let snapshot = Snapshot::from_json(br#"{"format": "wherefore-snapshot/1", "visit": {"date": "2026-11-28"}}"#)?;
/// assert_eq!(snapshot.visit_date(), Some(Date::constant(2026, 11, 28)));
/// // A value that no vehicle has is refused, with the path of each fault.
/// let wrong = Snapshot::from_json(br#"{"format": "wherefore-snapshot/1", "vehicle": {"fuel": "coal"}}"#);
/// assert!(wrong.unwrap_err().to_string().contains("vehicle.fuel"));
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Snapshot {
    pub(super) document: Document,
}

impl Snapshot {
    /// Reads one snapshot document (`wherefore-snapshot/1`).
    ///
    /// # Errors
    /// [`Error::Snapshot`] with every fault, each with its path in the document; of a text with several documents too.
    pub fn from_json(text: &[u8]) -> Result<Snapshot, Error> {
        let document = document::read(text).map_err(|faults| Error::Snapshot { faults })?;
        Ok(Snapshot { document })
    }

    /// Reads JSON Lines: one snapshot document a line.
    ///
    /// # Errors
    /// [`Error::Snapshot`] with every fault, each with its line.
    pub fn from_json_lines(text: &[u8]) -> Result<Vec<Snapshot>, Error> {
        let documents = document::read_all(text).map_err(|faults| Error::Snapshot { faults })?;
        Ok(documents.into_iter().map(|document| Snapshot { document }).collect())
    }

    /// Decodes what a vehicle sent: candump text, an identifier and its bytes a line, CSV, ASC,
    /// TRC, pcap and pcapng. `seen` adds what a person saw or knows. Notes on the quality of the data are kept with it.
    ///
    /// ```
    /// use wherefore::{Fuel, Seen, Snapshot};
    /// let seen = Seen::new().model_year(2012).fuel(Fuel::Gasoline);
    /// let snapshot = Snapshot::from_messages(b"7E8 41 01 00 07 E5 00\n7E8 43 00\n", &seen)?;
    /// assert!(snapshot.to_json().contains("\"catalyst\""));
    /// # Ok::<(), wherefore::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`Error::Messages`] where nothing can be used; [`Error::Snapshot`] where something that was seen is impossible.
    pub fn from_messages(messages: &[u8], seen: &Seen) -> Result<Snapshot, Error> {
        let decoded = decode(messages, &seen.options).map_err(|error| Error::Messages { reason: error.to_string() })?;
        Snapshot::from_json(decoded.document.to_string().as_bytes())
    }

    /// Starts a snapshot in code.
    ///
    /// ```
    /// use wherefore::{Date, Fuel, Monitor, MonitorState, Snapshot};
    /// let snapshot = Snapshot::builder()
    ///     .visit_date(Date::constant(2026, 11, 28))
    ///     .model_year(2016)
    ///     .fuel(Fuel::Gasoline)
    ///     .lamp_commanded(false)
    ///     .monitor(Monitor::Catalyst, MonitorState::Incomplete)
    ///     .build();
    /// assert!(snapshot.to_json().contains("\"incomplete\""));
    /// ```
    #[must_use]
    pub fn builder() -> SnapshotBuilder {
        SnapshotBuilder::default()
    }

    /// The document as JSON text.
    #[must_use]
    pub fn to_json(&self) -> String {
        serde_json::to_string(&document::write(&self.document)).unwrap_or_default()
    }

    /// Date of the visit, where it is known.
    #[must_use]
    pub fn visit_date(&self) -> Option<Date> {
        self.document.snapshot.test_date()
    }
}

impl serde::Serialize for Snapshot {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        document::write(&self.document).serialize(serializer)
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct SeenForm {
    model_year: Option<u16>,
    fuel: Option<String>,
    class: Option<String>,
    gross_weight_lb: Option<u32>,
    visit_date: Option<String>,
    visit: Option<String>,
    area: Option<String>,
    connector: Option<String>,
    vin: Option<String>,
}

/// What a person saw or knows beside the messages.
///
/// ```
/// use wherefore::{Date, Seen, Snapshot};
/// // Readiness came over the wire; the year is on the certification label.
/// let seen = Seen::new().model_year(2012).visit_date(Date::constant(2026, 11, 28));
/// let snapshot = Snapshot::from_messages(b"7E8 41 01 00 07 E5 00\n", &seen)?;
/// assert_eq!(snapshot.visit_date(), Some(Date::constant(2026, 11, 28)));
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Seen {
    options: Options,
}

impl Seen {
    /// Nothing seen and nothing known: every fact is left to the messages.
    #[must_use]
    pub fn new() -> Seen {
        Seen::default()
    }

    /// From an object with some of `model_year`, `fuel`, `class`, `gross_weight_lb`, `visit_date`, `visit`, `area`,
    /// `connector` and `vin`, in the words of snapshot documents.
    ///
    /// # Errors
    /// [`Error::Ruling`] with what is wrong: no JSON, or another key. Words are looked at when messages are decoded.
    pub fn from_json(text: &str) -> Result<Seen, Error> {
        let form: SeenForm =
            serde_json::from_str(text).map_err(|error| Error::Ruling { reason: format!("what was seen: {error}") })?;
        let options = Options {
            model_year: form.model_year,
            fuel: form.fuel,
            class: form.class,
            gross_weight_lb: form.gross_weight_lb,
            date: form.visit_date,
            visit_kind: form.visit,
            area: form.area,
            connector: form.connector,
            vin: form.vin,
            ..Options::default()
        };
        Ok(Seen { options })
    }

    /// Model year by the certification label or the papers.
    #[must_use]
    pub fn model_year(mut self, year: u16) -> Seen {
        self.options.model_year = Some(year);
        self
    }

    /// Fuel it is registered for.
    #[must_use]
    pub fn fuel(mut self, fuel: Fuel) -> Seen {
        self.options.fuel = Some(fuel.word().to_owned());
        self
    }

    /// Class of the vehicle.
    #[must_use]
    pub fn class(mut self, class: VehicleClass) -> Seen {
        self.options.class = Some(class.word().to_owned());
        self
    }

    /// Gross vehicle weight rating, in pounds.
    #[must_use]
    pub fn gross_weight_lb(mut self, pounds: u32) -> Seen {
        self.options.gross_weight_lb = Some(pounds);
        self
    }

    /// Date of the visit.
    #[must_use]
    pub fn visit_date(mut self, date: Date) -> Seen {
        self.options.date = Some(date.to_string());
        self
    }

    /// Kind of visit.
    #[must_use]
    pub fn visit(mut self, kind: VisitKind) -> Seen {
        self.options.visit_kind = Some(kind.word().to_owned());
        self
    }

    /// County or district of registration.
    #[must_use]
    pub fn area(mut self, area: &str) -> Seen {
        self.options.area = Some(area.to_owned());
        self
    }

    /// The connector, by look.
    #[must_use]
    pub fn connector(mut self, connector: Connector) -> Seen {
        self.options.connector = Some(connector.word().to_owned());
        self
    }

    /// The vehicle identification number as read on the vehicle.
    #[must_use]
    pub fn vin(mut self, vin: &str) -> Seen {
        self.options.vin = Some(vin.to_owned());
        self
    }
}

/// A snapshot in the making. Each call sets one fact; the last call on a fact stands.
///
/// ```
/// use wherefore::{Monitor, MonitorState, Snapshot, TroubleCode};
/// let snapshot = Snapshot::builder()
///     .monitor(Monitor::Evaporative, MonitorState::Incomplete)
///     .stored_codes([TroubleCode::obd(0x0442)])
///     .build();
/// assert!(snapshot.to_json().contains("P0442"));
/// ```
#[derive(Debug, Clone, Default)]
pub struct SnapshotBuilder {
    made: Snapshot,
}

impl SnapshotBuilder {
    fn word(mut self, fact: Fact, word: &str) -> SnapshotBuilder {
        self.made.document.snapshot.set_word(fact, word);
        self
    }

    fn yes(self, fact: Fact, yes: bool) -> SnapshotBuilder {
        self.word(fact, if yes { "yes" } else { "no" })
    }

    fn set(mut self, fact: Fact, value: Value) -> SnapshotBuilder {
        self.made.document.snapshot.set(fact, value);
        self
    }

    fn amount(self, fact: Fact, unit: Unit, amount: u32) -> SnapshotBuilder {
        match unit.to_base(i64::from(amount)) {
            Some(base) => self.set(fact, Value::Number(base)),
            None => self,
        }
    }

    fn codes(self, fact: Fact, codes: impl IntoIterator<Item = TroubleCode>, whole: bool) -> SnapshotBuilder {
        let list = CodeList { codes: codes.into_iter().collect(), may_hold_more: !whole };
        self.set(fact, Value::Codes(list))
    }

    /// Date of the visit: ages and windows are counted from it.
    #[must_use]
    pub fn visit_date(self, date: Date) -> SnapshotBuilder {
        self.set(Fact::TestDate, Value::Date(date))
    }

    /// Model year, 1900 through 2100.
    #[must_use]
    pub fn model_year(self, year: u16) -> SnapshotBuilder {
        self.set(Fact::ModelYear, Value::Number(i64::from(year)))
    }

    /// Fuel it is registered for.
    #[must_use]
    pub fn fuel(self, fuel: Fuel) -> SnapshotBuilder {
        self.word(Fact::Fuel, fuel.word())
    }

    /// Spark or compression ignition: which monitors an engine can have turns on it.
    #[must_use]
    pub fn ignition(self, ignition: Ignition) -> SnapshotBuilder {
        self.word(Fact::Ignition, ignition.word())
    }

    /// Class of the vehicle.
    #[must_use]
    pub fn class(self, class: VehicleClass) -> SnapshotBuilder {
        self.word(Fact::Class, class.word())
    }

    /// Gross vehicle weight rating in pounds, 0 through 200,000.
    #[must_use]
    pub fn gross_weight_lb(self, pounds: u32) -> SnapshotBuilder {
        self.amount(Fact::GrossWeight, Unit::Pound, pounds)
    }

    /// Gross vehicle weight rating in kilograms.
    #[must_use]
    pub fn gross_weight_kg(self, kilograms: u32) -> SnapshotBuilder {
        self.amount(Fact::GrossWeight, Unit::Kilogram, kilograms)
    }

    /// Whether it has a combustion engine and an electric drive together.
    #[must_use]
    pub fn hybrid(self, yes: bool) -> SnapshotBuilder {
        self.yes(Fact::Hybrid, yes)
    }

    /// Whether it can be charged from outside.
    #[must_use]
    pub fn plug_in(self, yes: bool) -> SnapshotBuilder {
        self.yes(Fact::PlugIn, yes)
    }

    /// Make, model and engine, as tables of listed vehicles name them.
    #[must_use]
    pub fn make_and_model(self, make: &str, model: &str) -> SnapshotBuilder {
        self.set(Fact::Make, Value::Text(make.to_owned())).set(Fact::Model, Value::Text(model.to_owned()))
    }

    /// Date of first registration.
    #[must_use]
    pub fn first_registered(self, date: Date) -> SnapshotBuilder {
        self.set(Fact::FirstRegistered, Value::Date(date))
    }

    /// Kind of visit.
    #[must_use]
    pub fn visit(self, kind: VisitKind) -> SnapshotBuilder {
        self.word(Fact::Visit, kind.word())
    }

    /// What the certificate is for.
    #[must_use]
    pub fn purpose(self, purpose: Purpose) -> SnapshotBuilder {
        self.word(Fact::Purpose, purpose.word())
    }

    /// County or district of registration.
    #[must_use]
    pub fn area(self, area: &str) -> SnapshotBuilder {
        self.set(Fact::Area, Value::Text(area.to_owned()))
    }

    /// The connector, by look.
    #[must_use]
    pub fn connector(self, connector: Connector) -> SnapshotBuilder {
        self.word(Fact::Connector, connector.word())
    }

    /// Whether the vehicle answered.
    #[must_use]
    pub fn communication(self, communication: Communication) -> SnapshotBuilder {
        self.word(Fact::Communication, communication.word())
    }

    /// Family of messages.
    #[must_use]
    pub fn protocol(self, protocol: Protocol) -> SnapshotBuilder {
        self.word(Fact::Protocol, protocol.word())
    }

    /// Whether the control unit commands the malfunction lamp (MIL) on.
    #[must_use]
    pub fn lamp_commanded(self, on: bool) -> SnapshotBuilder {
        self.yes(Fact::LampCommanded, on)
    }

    /// Whether the lamp lights with the key on and the engine off.
    #[must_use]
    pub fn lamp_lit_key_on(self, lit: bool) -> SnapshotBuilder {
        self.yes(Fact::LampLitKeyOn, lit)
    }

    /// Whether the lamp is lit with the engine running.
    #[must_use]
    pub fn lamp_lit_running(self, lit: bool) -> SnapshotBuilder {
        self.yes(Fact::LampLitRunning, lit)
    }

    /// Whether the lamp flashes.
    #[must_use]
    pub fn lamp_flashing(self, flashes: bool) -> SnapshotBuilder {
        self.yes(Fact::LampFlashing, flashes)
    }

    /// One readiness monitor.
    #[must_use]
    pub fn monitor(self, monitor: Monitor, state: MonitorState) -> SnapshotBuilder {
        let word = match state {
            MonitorState::Unsupported => "unsupported",
            MonitorState::Complete => "complete",
            MonitorState::Incomplete => "incomplete",
        };
        self.word(Fact::Monitor(monitor), word)
    }

    /// The whole list of stored codes (service $03); an empty list: none is stored.
    #[must_use]
    pub fn stored_codes(self, codes: impl IntoIterator<Item = TroubleCode>) -> SnapshotBuilder {
        self.codes(Fact::StoredCodes, codes, true)
    }

    /// The whole list of pending codes (service $07).
    #[must_use]
    pub fn pending_codes(self, codes: impl IntoIterator<Item = TroubleCode>) -> SnapshotBuilder {
        self.codes(Fact::PendingCodes, codes, true)
    }

    /// The whole list of permanent codes (service $0A).
    #[must_use]
    pub fn permanent_codes(self, codes: impl IntoIterator<Item = TroubleCode>) -> SnapshotBuilder {
        self.codes(Fact::PermanentCodes, codes, true)
    }

    /// The vehicle has no permanent codes at all, as before model year 2010 or so.
    #[must_use]
    pub fn no_permanent_codes_on_this_vehicle(mut self) -> SnapshotBuilder {
        self.made.document.snapshot.readings.insert(Fact::PermanentCodes, Reading::NotOnVehicle);
        self
    }

    /// Warm-ups since codes were cleared (service $01 PID $30); 255 means that or more.
    #[must_use]
    pub fn warm_ups_since_clearing(self, count: u8) -> SnapshotBuilder {
        self.set(Fact::WarmUps, Value::Number(i64::from(count)))
    }

    /// Distance since codes were cleared, in kilometres (service $01 PID $31); 65,535 means that or more.
    #[must_use]
    pub fn km_since_clearing(self, kilometres: u16) -> SnapshotBuilder {
        self.amount(Fact::DistanceSinceClear, Unit::Kilometre, u32::from(kilometres))
    }

    /// A yes/no fact that a program declares.
    #[must_use]
    pub fn declared(mut self, name: &str, yes: bool) -> SnapshotBuilder {
        self.made.document.snapshot.declared.insert(name.to_owned(), DeclaredValue::YesNo(yes));
        self
    }

    /// A fact of words that a program declares.
    #[must_use]
    pub fn declared_word(mut self, name: &str, word: &str) -> SnapshotBuilder {
        self.made.document.snapshot.declared.insert(name.to_owned(), DeclaredValue::Word(word.to_owned()));
        self
    }

    /// The snapshot with all that was set. What was not set is *not known*.
    #[must_use]
    pub fn build(self) -> Snapshot {
        self.made
    }
}
