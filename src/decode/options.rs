//! What a person saw or knows, and adds to what the messages say.
//!
//! Words (fuel, class, connector, ...) are carried over as they are; the reader of the snapshot
//! checks them against the table of facts.

/// What the lamp did with the key on and the engine off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BulbCheck {
    /// It lit.
    Ok,
    /// It stayed dark.
    Dark,
}

/// What the lamp did with the engine running.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RunningLamp {
    /// It was lit steadily.
    Lit,
    /// It was dark.
    Dark,
    /// It flashed.
    Flashing,
}

/// Whether the tester could communicate, as a person says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Communication {
    /// It could.
    Yes,
    /// It could not, although the vehicle should.
    No,
    /// The vehicle speaks a protocol that the tester does not.
    UnsupportedProtocol,
}

/// What a person saw or knows. Everything is optional; what is `None` stays not known unless the
/// messages tell it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Options {
    /// Model year by the certification label or the papers.
    pub model_year: Option<u16>,
    /// Fuel, a word of the facts table: `gasoline`, `diesel`, ...
    pub fuel: Option<String>,
    /// Gross vehicle weight rating in pounds.
    pub gross_weight_lb: Option<u32>,
    /// Vehicle class, a word of the facts table.
    pub class: Option<String>,
    /// The VIN as read on the vehicle; lower case is accepted.
    pub vin: Option<String>,
    /// Date of the visit, `YYYY-MM-DD`.
    pub date: Option<String>,
    /// Kind of visit: `initial` or `retest`.
    pub visit_kind: Option<String>,
    /// Area of registration or test.
    pub area: Option<String>,
    /// Odometer in kilometres.
    pub odometer_km: Option<u32>,
    /// The lamp with the key on and the engine off.
    pub lamp_bulb: Option<BulbCheck>,
    /// The lamp with the engine running.
    pub lamp_running: Option<RunningLamp>,
    /// State of the connector: `intact`, `missing`, `tampered`, `inoperable`, `inaccessible`.
    pub connector: Option<String>,
    /// Whether the tester could communicate.
    pub communication: Option<Communication>,
}
