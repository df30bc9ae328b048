//! Seeded records of invented vehicles: as rows of small numbers, as columns, and as snapshot documents.

use serde::Deserialize;
use wherefore::internals::bulk::{Batch, Codes, Column, Dates, Whole};
use wherefore::internals::model::facts::{ABSENT, Possible};
use wherefore::internals::model::{Date, Fact};
use wherefore::internals::program::FactRef;

/// The monitors of the spark table but misfire, fuel system and components, in the order of their bits.
pub const MONITORS: [&str; 11] = [
    "misfire",
    "fuel-system",
    "components",
    "catalyst",
    "heated-catalyst",
    "evaporative",
    "secondary-air",
    "air-conditioning",
    "oxygen-sensor",
    "oxygen-sensor-heater",
    "egr-vvt",
];
pub const CONNECTOR: [&str; 5] = ["intact", "missing", "tampered", "inoperable", "inaccessible"];
pub const COMMUNICATION: [&str; 3] = ["none", "established", "unsupported-protocol"];
pub const VISIT: [&str; 2] = ["initial", "retest"];
/// States of a monitor.
pub const STATES: [&str; 3] = ["unsupported", "complete", "incomplete"];

/// A vehicle of the benchmark, everything known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Car {
    pub model_year: i16,
    pub connector: u8,
    pub communication: u8,
    pub lamp_lights: bool,
    pub lamp_commanded: bool,
    pub visit: u8,
    pub warm_ups: u8,
    /// Places in [`STATES`].
    pub monitors: [u8; 11],
}

/// A vehicle of the second policy, everything known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Van {
    pub model_year: i16,
    /// A place in the words of the fact.
    pub fuel: u8,
    pub connector: u8,
    pub lamp_commanded: bool,
    pub visit: u8,
    pub altered: bool,
    /// Codes of two bytes; 0: none.
    pub codes: [u16; 3],
    /// Places in [`STATES`].
    pub monitors: [u8; 11],
}

/// A linear congruential generator: the same records everywhere.
pub struct Dice(pub u64);

impl Dice {
    pub fn roll(&mut self, sides: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % sides
    }
}

/// So many cars: most in order, each requirement missed now and then.
pub fn cars(count: usize, seed: u64) -> Vec<Car> {
    let mut dice = Dice(seed);
    let mut small = |sides: u64| u8::try_from(dice.roll(sides)).unwrap();
    let car = |_| {
        let monitors = std::array::from_fn(|at| match at {
            0..=3 => 1,
            4 | 6 | 7 if small(10) != 0 => 0,
            _ => 1 + u8::from(small(8) == 0),
        });
        Car {
            model_year: 1994 + i16::from(small(33)),
            connector: if small(30) == 0 { small(5) } else { 0 },
            communication: if small(60) == 0 { 2 } else { 1 },
            lamp_lights: small(40) != 0,
            lamp_commanded: small(12) == 0,
            visit: u8::from(small(6) == 0),
            warm_ups: small(255),
            monitors,
        }
    };
    (0..count).map(car).collect()
}

/// The same of the second policy.
pub fn vans(count: usize, seed: u64) -> Vec<Van> {
    let mut dice = Dice(seed ^ 0x5A5A);
    let van = |car: Car| {
        let mut code = || match dice.roll(8) {
            0 => 0x0410 + u16::try_from(dice.roll(64)).unwrap(),
            1 => u16::try_from(dice.roll(0x4000)).unwrap(),
            _ => 0,
        };
        let codes = [code(), code(), code()];
        Van {
            model_year: car.model_year,
            fuel: [0, 0, 0, 2][usize::try_from(dice.roll(4)).unwrap()],
            connector: car.connector,
            lamp_commanded: car.lamp_commanded,
            visit: car.visit,
            altered: dice.roll(12) == 0,
            codes,
            monitors: car.monitors,
        }
    };
    cars(count, seed).into_iter().map(van).collect()
}

/// Columns, as Arrow arrays would lend them.
#[derive(Debug, Default)]
pub struct Columns {
    pub model_year: Vec<i16>,
    pub connector: Vec<u8>,
    pub communication: Vec<u8>,
    pub lamp_lights: Vec<u8>,
    pub visit: Vec<u8>,
    pub warm_ups: Vec<u8>,
    pub monitor_bytes: Vec<u32>,
}

/// The bytes of PID $01 of a car.
pub fn monitor_bytes(car: &Car) -> u32 {
    let mut bytes = u32::from(car.lamp_commanded) << 31;
    for (at, state) in (0u32..).zip(car.monitors) {
        let (support, status) = if at < 3 { (16 + at, 20 + at) } else { (5 + at, at - 3) };
        bytes |= u32::from(state != 0) << support | u32::from(state == 2) << status;
    }
    bytes
}

/// What codes mean.
pub struct Meanings {
    pub connector: Vec<Possible>,
    pub communication: Vec<Possible>,
    pub visit: Vec<Possible>,
    pub yes_no: Vec<Possible>,
}

impl Meanings {
    pub fn new() -> Meanings {
        let words = |count: u32| (0..count).map(|place| Possible::Words(1 << place)).collect::<Vec<_>>();
        let _ = ABSENT;
        Meanings { connector: words(5), communication: words(3), visit: words(2), yes_no: words(2) }
    }
}

impl Default for Meanings {
    fn default() -> Meanings {
        Meanings::new()
    }
}

/// The date of the test.
pub const DATE: Date = Date::constant(2026, 11, 25);

impl Columns {
    pub fn of(cars: &[Car]) -> Columns {
        Columns {
            model_year: cars.iter().map(|car| car.model_year).collect(),
            connector: cars.iter().map(|car| car.connector).collect(),
            communication: cars.iter().map(|car| car.communication).collect(),
            lamp_lights: cars.iter().map(|car| u8::from(car.lamp_lights)).collect(),
            visit: cars.iter().map(|car| car.visit).collect(),
            warm_ups: cars.iter().map(|car| car.warm_ups).collect(),
            monitor_bytes: cars.iter().map(monitor_bytes).collect(),
        }
    }

    pub fn batch<'a>(&'a self, meanings: &'a Meanings) -> Batch<'a> {
        let coded =
            |codes: &'a [u8], meaning: &'a [Possible]| Column::Coded { codes: Codes::U8(codes), meaning, known: None };
        let known = |fact: Fact| FactRef::Known(fact);
        let numbers = |values| Column::Numbers { values, scale: 1, known: None };
        let batch = Batch::new(self.model_year.len(), Dates::One(DATE)).unwrap();
        let batch = batch.with_monitor_bytes(&self.monitor_bytes, None).unwrap();
        let batch = batch.with(known(Fact::ModelYear), numbers(Whole::I16(&self.model_year))).unwrap();
        let batch = batch.with(known(Fact::WarmUps), numbers(Whole::U8(&self.warm_ups))).unwrap();
        let batch = batch.with(known(Fact::Connector), coded(&self.connector, &meanings.connector)).unwrap();
        let batch =
            batch.with(known(Fact::Communication), coded(&self.communication, &meanings.communication)).unwrap();
        let batch = batch.with(known(Fact::LampLitKeyOn), coded(&self.lamp_lights, &meanings.yes_no)).unwrap();
        batch.with(known(Fact::Visit), coded(&self.visit, &meanings.visit)).unwrap()
    }

    /// Reads every byte that the engine reads, and does nothing else with it.
    pub fn scan(&self) -> u64 {
        let bytes = |all: &[u8]| all.iter().map(|byte| u64::from(*byte)).sum::<u64>();
        let bits = self.monitor_bytes.iter().fold(0u32, |all, one| all ^ one);
        let years = self.model_year.iter().fold(0i16, |all, one| all ^ one);
        let rest = [&self.connector, &self.communication, &self.lamp_lights, &self.visit, &self.warm_ups];
        u64::from(bits) + u64::from(years.cast_unsigned()) + rest.into_iter().map(|all| bytes(all)).sum::<u64>()
    }
}

/// The snapshot document of a car (design, section 9).
pub fn document(car: &Car) -> String {
    let monitors: Vec<String> = MONITORS
        .iter()
        .zip(car.monitors)
        .map(|(name, state)| format!("\"{name}\": \"{}\"", STATES[usize::from(state)]))
        .collect();
    format!(
        "{{\"format\": \"wherefore-snapshot/1\", \"vehicle\": {{\"model_year\": {}, \"ignition\": \"spark\"}}, \"visit\": \
         {{\"date\": \"2026-11-25\", \"kind\": \"{}\"}}, \"connector\": \"{}\", \"communication\": {}, \"lamp\": \
         {{\"commanded\": {}, \"lit_key_on_engine_off\": {}}}, \"monitors\": {{{}}}, \"since_clear\": {{\"warm_ups\": {}}}}}",
        car.model_year,
        VISIT[usize::from(car.visit)],
        CONNECTOR[usize::from(car.connector)],
        ["false", "true", "\"unsupported-protocol\""][usize::from(car.communication)],
        car.lamp_commanded,
        car.lamp_lights,
        monitors.join(", "),
        car.warm_ups,
    )
}

/// The part of a snapshot document that the policy asks, typed; what parsing alone costs is measured with it.
#[derive(Debug, Deserialize)]
pub struct Document<'a> {
    #[serde(borrow)]
    pub format: &'a str,
    pub vehicle: Vehicle<'a>,
    pub visit: Visit<'a>,
    pub connector: Connector,
    pub communication: Communication,
    pub lamp: Lamp,
    pub monitors: Monitors,
    pub since_clear: SinceClear,
}

#[derive(Debug, Deserialize)]
pub struct Vehicle<'a> {
    pub model_year: i16,
    pub ignition: &'a str,
}

#[derive(Debug, Deserialize)]
pub struct Visit<'a> {
    pub date: &'a str,
    pub kind: Kind,
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    Initial,
    Retest,
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Connector {
    Intact,
    Missing,
    Tampered,
    Inoperable,
    Inaccessible,
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(untagged)]
pub enum Communication {
    Is(bool),
    Other(Unsupported),
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unsupported {
    UnsupportedProtocol,
}

#[derive(Debug, Deserialize)]
pub struct Lamp {
    pub commanded: bool,
    pub lit_key_on_engine_off: bool,
}

#[derive(Debug, Deserialize)]
pub struct SinceClear {
    pub warm_ups: u8,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    Unsupported,
    Complete,
    Incomplete,
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Monitors {
    pub misfire: State,
    pub fuel_system: State,
    pub components: State,
    pub catalyst: State,
    pub heated_catalyst: State,
    pub evaporative: State,
    pub secondary_air: State,
    pub air_conditioning: State,
    pub oxygen_sensor: State,
    pub oxygen_sensor_heater: State,
    pub egr_vvt: State,
}
