//! Readiness monitors: what each watches, what it needs to run, how long it usually takes, and why it may be incomplete on a
//! sound vehicle. What a monitor watches follows the names of service $01 PID $01 (SAE J1979 as the digest transcribes it);
//! all else is common practice of the trade, and no maker's procedure.

use super::{Explained, Kind, Known};
use crate::model::{Monitor, alias};
use crate::wording::words::minutes;

pub(super) const KIND: Kind = Kind { word: "monitor", names, explain };

fn names() -> Vec<String> {
    Monitor::all().map(|monitor| monitor.name().to_owned()).collect()
}

/// What it watches, what it needs besides what advice says, why it may be incomplete though nothing is wrong.
type Told = (&'static str, &'static str, &'static str);

const CLEARED: &str = "the battery was disconnected, or codes were cleared, and it has not run again yet";

const TOLD: [(&str, Told); 17] = [
    (
        "misfire",
        ("whether each cylinder fires, by the evenness of the crankshaft's turning", "a running engine", CLEARED),
    ),
    (
        "fuel-system",
        (
            "whether the mixture can be held right without correcting too far",
            "a running engine, warm enough to correct the mixture",
            CLEARED,
        ),
    ),
    (
        "components",
        ("sensors and actuators by themselves: wires, ranges, whether values make sense", "the key on", CLEARED),
    ),
    (
        "catalyst",
        (
            "whether the catalyst still stores oxygen and so still cleans the exhaust",
            "a hot catalyst and steady driving, and oxygen sensors already found good",
            "only short trips, in town, or cold days: the catalyst never stays hot long enough",
        ),
    ),
    (
        "heated-catalyst",
        (
            "whether the heater of the catalyst works",
            "a cold start",
            "few vehicles have one; it runs at cold starts only",
        ),
    ),
    (
        "evaporative",
        (
            "whether fuel vapor leaks from tank, lines and canister",
            "a night of standing, a tank neither nearly empty nor full, a closed fuel cap, mild weather",
            "the tank was full or nearly empty, the weather cold or hot, or the vehicle never stood long enough; often the \
             last of all",
        ),
    ),
    (
        "secondary-air",
        (
            "whether the pump blows air into the exhaust after a cold start",
            "a cold start",
            "the engine was never quite cold when it was started",
        ),
    ),
    (
        "air-conditioning",
        ("whether refrigerant that harms the air leaks; hardly ever fitted", "the maker says", CLEARED),
    ),
    (
        "oxygen-sensor",
        (
            "whether the oxygen sensors answer fast and far enough",
            "a warm engine, steady driving and some slow-downs off the pedal",
            "only idling and short trips",
        ),
    ),
    (
        "oxygen-sensor-heater",
        ("whether the heaters of the oxygen sensors work", "a cold start and a few minutes", CLEARED),
    ),
    (
        "egr-vvt",
        (
            "whether exhaust gas is led back, or valves are timed, as commanded",
            "a warm engine, steady driving, then slow-downs off the pedal, several times",
            "driving was never steady, or never slowed down off the pedal",
        ),
    ),
    (
        "nmhc-catalyst",
        (
            "whether the oxidation catalyst of a diesel still burns what is left of the fuel",
            "hot exhaust over a long drive, on many vehicles a regeneration of the filter",
            "only short trips: the exhaust never gets hot enough",
        ),
    ),
    (
        "nox-aftertreatment",
        (
            "whether the treatment of nitrogen oxides (reductant and its catalyst) works",
            "hot exhaust over a long drive, reductant in the tank",
            "only short trips, or reductant frozen or low",
        ),
    ),
    (
        "boost-pressure",
        (
            "whether the turbocharger gives the pressure asked for",
            "some firm acceleration",
            "driving was always gentle",
        ),
    ),
    (
        "exhaust-gas-sensor",
        ("whether the sensors in the exhaust of a diesel answer right", "a warm engine and mixed driving", CLEARED),
    ),
    (
        "particulate-filter",
        (
            "whether the soot filter of a diesel holds soot back and can be burnt free",
            "a regeneration: long steady driving with more than a quarter of a tank",
            "no regeneration has been due, or none was finished, since codes were cleared",
        ),
    ),
    (
        "cold-start-aid",
        ("whether glow plugs or intake heaters work", "a cold start, best on a cold day", "it was never cold enough"),
    ),
];

/// The row of a monitor: those of heavy vehicles are told as the others of their kind.
fn told(monitor: Monitor) -> Option<Told> {
    let name = monitor.name();
    let plain = match name.strip_prefix("hd-").unwrap_or(name) {
        "nox-catalyst" => "nox-aftertreatment",
        "exhaust-gas-sensor-heater" => "oxygen-sensor-heater",
        other => other,
    };
    TOLD.iter().find(|(known, _)| *known == plain).map(|(_, told)| *told)
}

/// What else a law may mean by the name: monitors of heavy vehicles and of diesels have names of their own.
fn others(monitor: Monitor) -> Option<String> {
    let name = monitor.name();
    let diesel = if name == "catalyst" { " No diesel has it: there it is `nmhc-catalyst`." } else { "" };
    if name.starts_with("hd-") {
        return Some(format!(
            "a law's word for it may mean that of light vehicles, which has another name, as well.{diesel}"
        ));
    }
    let heavy = Monitor::named(&format!("hd-{name}"))?;
    Some(format!(
        "on heavy vehicles that speak J1939 it is `{}`: a law that names the monitor may mean both.{diesel}",
        heavy.name()
    ))
}

fn explain(name: &str, known: Known<'_>) -> Option<Explained> {
    let monitor = Monitor::named(name).or_else(|| alias::monitor(name))?;
    let (watches, needs, why) = told(monitor)?;
    let advice = known.advice.iter().find(|advice| advice.monitors.contains(monitor));
    let mut more = vec![("needs", format!("{needs}."))];
    if let Some(advice) = advice {
        let first: Vec<&str> = advice.preconditions.iter().map(String::as_str).collect();
        let first = if first.is_empty() { String::new() } else { format!("; first: {}", first.join("; ")) };
        let text = advice.text.strip_prefix("usually ").unwrap_or(&advice.text);
        more.push(("usually", format!("{text}{first}.")));
        more.extend(advice.minutes.map(|range| ("how long", format!("{} once that holds.", minutes(range)))));
    }
    more.extend(others(monitor).map(|text| ("in programs", text)));
    more.push(("incomplete", format!("on a sound vehicle: {why}. It does not say that anything is broken.")));
    more.extend(advice.filter(|it| !it.cautions.is_empty()).map(|it| ("caution", it.cautions.join(" "))));
    Some(Explained {
        name: monitor.name().to_owned(),
        kind: KIND.word,
        what: format!("watches {watches}."),
        more,
        before: None,
        after: None,
        practice: true,
    })
}

#[cfg(test)]
mod tests {
    use super::{Known, explain, told};
    use crate::model::Monitor;

    #[test]
    fn every_monitor_is_told() {
        for monitor in Monitor::all() {
            assert!(told(monitor).is_some() && explain(monitor.name(), Known::default()).is_some(), "{monitor:?}");
        }
        assert_eq!(explain("EVAP", Known::default()).map(|it| it.name).as_deref(), Some("evaporative"));
    }
}
