//! One invented visit: a vehicle, what was looked at, and what its controllers say. Shares are made to come
//! near to published ones where there are any (said beside them), and invented where not; they stand for no program, place
//! or year.

use super::random::Random;
use crate::model::{Date, date_of, day_number};

/// What one invented visit comes to, as the columns have it; an empty text is *not known*.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Visit {
    pub(super) test_date: String,
    pub(super) model_year: u32,
    pub(super) fuel: &'static str,
    pub(super) class: &'static str,
    pub(super) gross_weight_lb: u32,
    pub(super) hybrid: &'static str,
    pub(super) visit: &'static str,
    pub(super) earlier_incomplete_visits: u32,
    pub(super) earlier_incomplete: String,
    pub(super) earlier_failure_codes: String,
    pub(super) odometer_km: u32,
    pub(super) connector: &'static str,
    pub(super) answers: &'static str,
    pub(super) lamp_key_on: &'static str,
    pub(super) lamp_running: &'static str,
    /// The four data bytes of PID $01; `None` where the vehicle does not answer.
    pub(super) pid_01: Option<[u8; 4]>,
    pub(super) stored: String,
    pub(super) pending: String,
    pub(super) permanent: String,
    pub(super) warm_ups: Option<u32>,
    pub(super) distance_km: Option<u32>,
    pub(super) minutes: Option<u32>,
}

/// The days on which the invented county tested: two years.
pub(super) const DAYS: (Date, Date) = (Date::constant(2024, 1, 2), Date::constant(2025, 12, 30));

const CODES: [&str; 14] = [
    "P0420", "P0171", "P0442", "P0455", "P0300", "P0301", "P0128", "P0401", "P0135", "P0141", "P0446", "P0506",
    "P2096", "P0011",
];

/// Fuels with their shares.
const FUELS: [(u32, &str); 6] = [(905, "G"), (45, "D"), (30, "F"), (12, "E"), (5, "N"), (3, "P")];

/// Draws a visit.
pub(super) fn visit(random: &mut Random) -> Visit {
    let mut it = Visit::default();
    let (first, last) = (day_number(DAYS.0), day_number(DAYS.1));
    let days = u32::try_from(last - first).unwrap_or(0);
    let date = date_of(first + i64::from(random.below(days + 1))).unwrap_or(DAYS.0);
    it.test_date = date.to_string();
    let year = u32::try_from(date.year()).unwrap_or(2024);
    // The age is the lesser of two draws: old vehicles grow rare.
    let age = random.between(1, 30).min(random.between(1, 30));
    it.model_year = year - age;
    it.fuel = random.pick(&FUELS).copied().unwrap_or("G");
    if it.fuel == "E" && it.model_year < 2011 {
        it.fuel = "G";
    }
    body(random, &mut it, age);
    earlier(random, &mut it);
    looked_at(random, &mut it);
    data(random, &mut it, age);
    it
}

fn body(random: &mut Random, it: &mut Visit, age: u32) {
    it.class = random.pick(&[(560, "car"), (415, "light truck"), (25, "heavy")]).copied().unwrap_or("car");
    it.gross_weight_lb = match it.class {
        "car" => random.between(30, 56) * 100,
        "light truck" => random.between(45, 85) * 100,
        _ => random.between(86, 260) * 100,
    };
    let may_be_hybrid = it.model_year >= 2004 && it.fuel == "G" && it.class != "heavy";
    it.hybrid = if may_be_hybrid && random.in_thousand(60) { "Y" } else { "N" };
    it.odometer_km = age * random.between(6_000, 24_000) + random.below(6_000);
}

fn earlier(random: &mut Random, it: &mut Visit) {
    it.visit = if random.in_thousand(120) { "R" } else { "I" };
    it.earlier_incomplete = "none".to_owned();
    it.earlier_failure_codes = "none".to_owned();
    if it.visit == "I" {
        return;
    }
    if random.in_thousand(350) {
        it.earlier_incomplete_visits = random.between(1, 2);
        it.earlier_incomplete = "catalyst evaporative".to_owned();
    } else {
        it.earlier_failure_codes = codes(random, 2);
    }
}

fn looked_at(random: &mut Random, it: &mut Visit) {
    it.connector = random
        .pick(&[(9960, "intact"), (12, "missing"), (8, "tampered"), (12, "inoperable"), (8, "inaccessible")])
        .copied()
        .unwrap_or("intact");
    let sound = it.connector == "intact";
    it.answers = if it.fuel == "E" || !sound || random.in_thousand(4) { "N" } else { "Y" };
    it.lamp_key_on = if random.in_thousand(5) { "N" } else { "Y" };
}

/// Where a share comes from.
///
/// * *County*: one county's open inspection records, 2004 to 2018, readiness as published value counts.
/// * *Lanes*: EPA420-R-00-014, Wisconsin lanes 1998 to 2000: not ready 5.8, 2.2 and 1.4 % of the model years 1996 to 1998:
///   readiness grows worse with age.
/// * *Roadside*: California roadside inspections: 18 % of the model years 2000 to 2006 fail in 2018/19, 14 % of all in 2023.
///
/// Of a thousand spark engines so many have the monitor (*county*; others have it always or nearly never).
const FITTED_EVAPORATIVE: u32 = 925;
const FITTED_EGR: u32 = 542;
const FITTED_SECONDARY_AIR: u32 = 73;

/// Bits of the third byte of PID $01 (SAE J1979): of ten thousand vehicles whose codes were not cleared lately, so many have
/// this one monitor incomplete; of a thousand whose codes were, so many have it incomplete. Together they come to the
/// published shares of the *county*: catalyst 8.9, evaporative 14.0, oxygen sensor 5.3, its heater 3.4, EGR 5.8, secondary
/// air 8.0 % of those that have it.
const INCOMPLETE: [(u8, u32, u32); 6] = [
    (0b0000_0001, 730, 600),
    (0b0000_0100, 1190, 800),
    (0b0010_0000, 390, 500),
    (0b0100_0000, 255, 300),
    (0b1000_0000, 440, 500),
    (0b0000_1000, 650, 550),
];

/// A share of one vehicle in the middle of its life, made of an age: half of it when new, twice when old.
fn aged(share: u32, age: u32) -> u32 {
    share * (age * 2 + 10) / 31
}

/// What the controllers say: faults and monitors that have not run grow with age, and a vehicle whose codes were cleared
/// lately has monitors that have not run.
fn data(random: &mut Random, it: &mut Visit, age: u32) {
    it.lamp_running = "N";
    if it.answers == "N" {
        return;
    }
    let cleared = random.in_thousand(if it.visit == "R" { 180 } else { aged(22, age) });
    let faulty = random.in_thousand(aged(if it.visit == "R" { 90 } else { 50 }, age));
    let (warm_ups, distance) = if cleared {
        (random.between(0, 14), random.between(2, 190))
    } else {
        (random.between(20, 400).min(255), random.between(350, 90_000).min(65_535))
    };
    it.warm_ups = Some(warm_ups);
    it.distance_km = Some(distance);
    it.minutes = Some((distance * 2).min(65_535));
    let compression = it.fuel == "D";
    let mut has = |share: u32, bit: u8| if random.in_thousand(share) { bit } else { 0 };
    let supported: u8 = match (compression, it.model_year) {
        (true, ..2007) => 0b1000_0000,
        (true, _) => 0b1110_1011,
        (false, year) => {
            0b0110_0001
                | has(if year < 2000 { 300 } else { FITTED_EVAPORATIVE }, 0b0000_0100)
                | has(FITTED_EGR, 0b1000_0000)
                | has(FITTED_SECONDARY_AIR, 0b0000_1000)
        }
    };
    let incomplete: u8 = if cleared {
        INCOMPLETE.iter().map(|(bit, _, share)| has(*share, *bit)).fold(0, |bits, bit| bits | bit)
    } else {
        // Without clearing, mostly one monitor lags alone.
        let first = alone(random, age);
        first | if random.in_thousand(30) { alone(random, 30) } else { 0 }
    };
    let lamp = faulty && !random.in_thousand(60);
    if faulty || random.in_thousand(3) {
        it.stored = codes(random, 3);
    }
    let count = u8::try_from(it.stored.split_whitespace().count()).unwrap_or(0);
    let continuous_incomplete: u8 = if cleared && random.in_thousand(100) { 0b0101_0000 } else { 0 };
    let b = 0b0000_0111 | if compression { 0b0000_1000 } else { 0 } | continuous_incomplete;
    it.pid_01 = Some([count | if lamp { 0x80 } else { 0 }, b, supported, incomplete & supported]);
    it.lamp_running = if lamp && !random.in_thousand(20) { "Y" } else { "N" };
    let none = || "none".to_owned();
    it.pending = if random.in_thousand(40) { codes(random, 2) } else { none() };
    it.permanent = match it.model_year {
        ..2010 => "not fitted".to_owned(),
        _ if lamp => it.stored.clone(),
        _ if cleared && random.in_thousand(250) => codes(random, 1),
        _ => none(),
    };
    for list in [&mut it.stored, &mut it.permanent] {
        if list.is_empty() {
            *list = none();
        }
    }
}

/// The one monitor that lags, if any.
fn alone(random: &mut Random, age: u32) -> u8 {
    let drawn = random.below(10_000);
    let mut so_far = 0;
    for (bit, share, _) in INCOMPLETE {
        so_far += aged(share, age);
        if drawn < so_far {
            return bit;
        }
    }
    0
}

fn codes(random: &mut Random, most: u32) -> String {
    let count = random.between(1, most);
    let start = random.below(14);
    let all: Vec<&str> =
        (0..count).filter_map(|at| CODES.get(usize::try_from((start + at * 5) % 14).unwrap_or(0)).copied()).collect();
    all.join(" ")
}
