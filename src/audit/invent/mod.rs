//! Invented records, for tests, measurements and the tour: seeded, so that the same seed gives the same file, with planted
//! errors in the recorded results whose number is known. Every record says of itself that it is invented. The place is
//! an invented county around the motor pool of Larkspur Rural Mail; there are no plates, no VINs and no people in it.
//!
//! What a record says is drawn first for a vehicle with every fact known. The program judges that vehicle, and
//! its class is the recorded result. Then a share of the records loses a field or two, as real ones do; in others, of
//! which nothing was lost and which the program decides, a wrong result is planted.

mod random;
mod vehicle;

use crate::model::Date;
use random::Random;
use vehicle::Visit;

/// The first and the last day on which the invented county tested.
pub const DAYS: (Date, Date) = vehicle::DAYS;

/// The mapping file of invented records.
pub const MAPPING: &str = include_str!("../../../examples/larkspur/invented.toml");

/// The word that every invented record carries.
pub const MARK: &str = "invented";

/// The columns, in their order.
pub const COLUMNS: [&str; 26] = [
    "record",
    "origin",
    "test_date",
    "model_year",
    "fuel",
    "class",
    "gross_weight_lb",
    "hybrid",
    "visit",
    "earlier_incomplete_visits",
    "earlier_incomplete",
    "earlier_failure_codes",
    "odometer_km",
    "connector",
    "answers",
    "lamp_key_on",
    "lamp_running",
    "pid_01",
    "stored",
    "pending",
    "permanent",
    "warm_ups",
    "distance_km",
    "minutes",
    "result",
    "planted",
];

/// In so many of a thousand records a field or two are missing.
const INCOMPLETE: u32 = 70;

/// Fields that a record may lose, with the shares in which they are lost.
const LOSABLE: [(u32, &str); 9] = [
    (20, "gross_weight_lb"),
    (15, "lamp_key_on"),
    (15, "connector"),
    (10, "stored"),
    (10, "pending"),
    (10, "permanent"),
    (10, "odometer_km"),
    (5, "pid_01"),
    (5, "fuel"),
];

/// One invented record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invented {
    /// Its fields, in the order of [`COLUMNS`]; an empty one is *not known*.
    pub fields: Vec<String>,
    /// Whether it lost fields: then no error is planted in it.
    pub is_complete: bool,
}

impl Invented {
    /// The field of a column.
    #[must_use]
    pub fn field(&self, column: &str) -> &str {
        let place = COLUMNS.iter().position(|known| *known == column);
        place.and_then(|place| self.fields.get(place)).map_or("", String::as_str)
    }

    /// Sets a field.
    pub fn set(&mut self, column: &str, text: &str) {
        let place = COLUMNS.iter().position(|known| *known == column);
        if let Some(field) = place.and_then(|place| self.fields.get_mut(place)) {
            text.clone_into(field);
        }
    }
}

/// The record of a number, complete and without a result.
#[must_use]
pub fn record(seed: u64, number: u64) -> Invented {
    let mut random = Random::of(seed, number);
    let visit = vehicle::visit(&mut random);
    let mut made = Invented { fields: fields(&visit, number), is_complete: true };
    made.is_complete = !random.in_thousand(INCOMPLETE);
    made
}

/// Takes away what an incomplete record has lost.
pub fn lose(record: &mut Invented, seed: u64, number: u64) {
    if record.is_complete {
        return;
    }
    let mut random = Random::of(seed ^ 0x10_57, number);
    for _ in 0..random.between(1, 2) {
        if let Some(column) = random.pick(&LOSABLE) {
            record.set(column, "");
        }
    }
}

/// Whether an error is planted in a record, `share` in ten thousand of those that can take one, and which wrong result of
/// a list it is.
#[must_use]
pub fn planted(seed: u64, number: u64, share: u32, choices: usize) -> Option<usize> {
    let mut random = Random::of(seed ^ 0x9_1A47, number);
    let is_planted = choices > 0 && random.below(10_000) < share;
    is_planted.then(|| usize::try_from(random.below(u32::try_from(choices).unwrap_or(1))).unwrap_or(0))
}

fn fields(visit: &Visit, number: u64) -> Vec<String> {
    let count = |number: Option<u32>| number.map_or(String::new(), |it| it.to_string());
    let pid = visit.pid_01.map_or(String::new(), |bytes| bytes.iter().map(|byte| format!("{byte:02X}")).collect());
    vec![
        format!("L{number:08}"),
        MARK.to_owned(),
        visit.test_date.clone(),
        visit.model_year.to_string(),
        visit.fuel.to_owned(),
        visit.class.to_owned(),
        visit.gross_weight_lb.to_string(),
        visit.hybrid.to_owned(),
        visit.visit.to_owned(),
        visit.earlier_incomplete_visits.to_string(),
        visit.earlier_incomplete.clone(),
        visit.earlier_failure_codes.clone(),
        visit.odometer_km.to_string(),
        visit.connector.to_owned(),
        visit.answers.to_owned(),
        visit.lamp_key_on.to_owned(),
        visit.lamp_running.to_owned(),
        pid,
        visit.stored.clone(),
        visit.pending.clone(),
        visit.permanent.clone(),
        count(visit.warm_ups),
        count(visit.distance_km),
        count(visit.minutes),
        String::new(),
        String::new(),
    ]
}
