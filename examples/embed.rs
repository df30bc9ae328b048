//! The front door: a snapshot built in code, a program by id, a ruling with its reasons.

use std::io::Write;
use wherefore::{Connector, Date, Fuel, Monitor, MonitorState, Programs, Snapshot, VehicleClass};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let programs = Programs::built_in();
    let mut snapshot = Snapshot::builder()
        .visit_date(Date::constant(2026, 11, 28))
        .model_year(2016)
        .fuel(Fuel::Gasoline)
        .class(VehicleClass::LightDuty)
        .gross_weight_lb(4400)
        .connector(Connector::Intact)
        .lamp_commanded(false)
        .lamp_lit_key_on(true);
    for monitor in [Monitor::Misfire, Monitor::FuelSystem, Monitor::Components, Monitor::Evaporative] {
        snapshot = snapshot.monitor(monitor, MonitorState::Complete);
    }
    for monitor in [Monitor::Catalyst, Monitor::OxygenSensor] {
        snapshot = snapshot.monitor(monitor, MonitorState::Incomplete);
    }
    let ruling = programs.get("us-il")?.judge(&snapshot.build())?;
    let mut out = std::io::stdout().lock();
    writeln!(out, "{ruling}")?;
    for reason in ruling.reasons() {
        writeln!(out, "{}: {}", reason.clause(), reason.message())?;
    }
    Ok(())
}
