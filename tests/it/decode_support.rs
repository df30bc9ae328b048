//! What the decode tests share: fixtures, short ways to decode, names of monitors.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::wildcard_enum_match_arm,
    reason = "a test that does not find what it looks for has to stop there"
)]

use serde_json::Value;
use wherefore::internals::decode::{Decoded, Monitors, Options, decode};
use wherefore::internals::model::MonitorState;

/// Decodes text that must decode, with nothing said by a person.
pub fn read(text: &str) -> Decoded {
    with(text, &Options::default())
}

/// Decodes text that must decode.
pub fn with(text: &str, options: &Options) -> Decoded {
    decode(text.as_bytes(), options).unwrap_or_else(|error| panic!("{error}\nin:\n{text}"))
}

/// The fact at a pointer such as `/lamp/commanded`; JSON null where it is not known.
pub fn fact(decoded: &Decoded, pointer: &str) -> Value {
    decoded.document.pointer(pointer).cloned().unwrap_or(Value::Null)
}

/// The slugs of all flags, each once, sorted.
pub fn flags(decoded: &Decoded) -> Vec<&'static str> {
    let mut slugs: Vec<_> = decoded.flags.iter().map(|f| f.slug).collect();
    slugs.sort_unstable();
    slugs.dedup();
    slugs
}

/// The rows of a fixture file under `tests/decode`.
pub fn rows(file: &str) -> Vec<Value> {
    let path = format!("{}/tests/decode/{file}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    let all: Value = serde_json::from_str(&text).unwrap();
    all["rows"].as_array().unwrap().clone()
}

/// A fixture's name of a monitor in the words of the snapshot; `None` for reserved bits.
pub fn monitor_name(fixture: &str) -> Option<&'static str> {
    Some(match fixture {
        "misfire" => "misfire",
        "fuel_system" => "fuel-system",
        "comprehensive_component" => "components",
        "catalyst" => "catalyst",
        "heated_catalyst" => "heated-catalyst",
        "evaporative_system" => "evaporative",
        "secondary_air_system" => "secondary-air",
        "bit4_ac_refrigerant_or_gpf" => "air-conditioning",
        "oxygen_sensor" => "oxygen-sensor",
        "oxygen_sensor_heater" => "oxygen-sensor-heater",
        "egr_vvt" => "egr-vvt",
        "nmhc_catalyst" => "nmhc-catalyst",
        "nox_scr_aftertreatment" => "nox-aftertreatment",
        "boost_pressure" => "boost-pressure",
        "exhaust_gas_sensor" => "exhaust-gas-sensor",
        "pm_filter" => "particulate-filter",
        "reserved_bit2" | "reserved_bit4" => return None,
        other => panic!("no name for {other}"),
    })
}

/// A fixture's name of a heavy-duty monitor in the words of the snapshot.
pub fn heavy_duty_name(fixture: &str) -> &'static str {
    match fixture {
        "misfire" => "hd-misfire",
        "fuel_system" => "hd-fuel-system",
        "comprehensive_component" => "hd-components",
        "catalyst" => "hd-catalyst",
        "heated_catalyst" => "hd-heated-catalyst",
        "evaporative_system" => "hd-evaporative",
        "secondary_air_system" => "hd-secondary-air",
        "ac_refrigerant" => "hd-air-conditioning",
        "exhaust_gas_sensor" => "hd-exhaust-gas-sensor",
        "exhaust_gas_sensor_heater" => "hd-exhaust-gas-sensor-heater",
        "egr_vvt" => "hd-egr-vvt",
        "cold_start_aid" => "hd-cold-start-aid",
        "boost_pressure_control" => "hd-boost-pressure",
        "diesel_particulate_filter" => "hd-particulate-filter",
        "nox_catalyst_adsorber" => "hd-nox-catalyst",
        "nmhc_converting_catalyst" => "hd-nmhc-catalyst",
        other => panic!("no name for {other}"),
    }
}

/// The names of a fixture's list in the words of the snapshot, sorted, reserved bits left out.
pub fn named(list: &Value) -> Vec<&'static str> {
    let mut names: Vec<_> =
        list.as_array().unwrap().iter().filter_map(|name| monitor_name(name.as_str().unwrap())).collect();
    names.sort_unstable();
    names
}

/// The monitors that are in one of the states, sorted.
pub fn in_state(monitors: Monitors, wanted: &[MonitorState]) -> Vec<&'static str> {
    let mut names: Vec<_> = monitors.states().filter(|(_, s)| wanted.contains(s)).map(|(name, _)| name).collect();
    names.sort_unstable();
    names
}
