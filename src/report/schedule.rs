//! A plan in days, backwards from a visit: nights of standing cold, days of ordinary driving, warm-ups, distance, permanent
//! codes. All figures are common practice of the trade and no maker's procedure; they are told as such.

use crate::analysis::next::{Action, End, Plan};
use crate::model::facts::Possible;
use crate::model::{Date, Fact, Monitor, Unit};
use crate::program::Given;
use crate::record::plan_form;
use crate::wording::plan::Told;
use crate::wording::plan::wants_a_night;
use crate::wording::wrap::{joined, wrapped};
use serde::Serialize;

/// Days from bringing a vehicle to a repair until it can be driven on. Practice.
const REPAIR_DAYS: i64 = 2;
/// Warm-ups in a day of ordinary use: a cold start in the morning and one in the evening. Practice.
const WARM_UPS_A_DAY: i64 = 2;
/// Kilometres in a day of ordinary use. Practice.
const KM_A_DAY: i64 = 50;
/// Minutes of running in a day of ordinary use. Practice.
const MINUTES_A_DAY: i64 = 60;
/// Minutes of driving for monitors in one day. Practice.
const DRIVE_A_DAY: i64 = 90;
/// Days that a permanent code may take to be erased after its monitor has run. Practice.
const PERMANENT_DAYS: i64 = 3;
/// Days in hand, for weather, and for a monitor that does not complete at once. Practice.
const IN_HAND: i64 = 2;

/// A plan in days.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Schedule {
    /// What takes days, each with how many.
    pub parts: Vec<(String, i64)>,
    /// All days together, those in hand included.
    pub days: i64,
    /// The day to begin.
    pub begin: Date,
    /// The day to look again with a reader: the last of the driving.
    pub look_again: Date,
    /// The day of the visit.
    pub visit: Date,
}

fn days(amount: i64, a_day: i64) -> i64 {
    amount.saturating_add(a_day - 1).div_euclid(a_day).max(1)
}

/// How many base units of a number since clearing are still missing.
fn missing(given: &Given, fact: Fact, wanted: i64) -> i64 {
    match given.facts.get(fact) {
        Possible::Number(span) => wanted.saturating_sub(span.least).max(0),
        _ => wanted,
    }
}

fn has_permanent(given: &Given) -> bool {
    matches!(given.facts.get(Fact::PermanentCodes), Possible::Codes { list: Some(list), .. } if !list.codes.is_empty())
}

/// The days of a plan; `None` where there is nothing to do or no plan for all, or a date is out of range.
#[must_use]
pub fn schedule(told: &Told<'_>, visit: Date) -> Option<Schedule> {
    let branch = told.prospect.next.only()?;
    let plan: &Plan = match &branch.end {
        End::Plans(plans) => plans.first()?,
        End::FindOut { least: Some(plan), .. } => plan,
        _ => return None,
    };
    let mut parts: Vec<(String, i64)> = Vec::new();
    let repairs = plan.steps.iter().filter(|step| step.is_repair()).count();
    if repairs > 0 {
        parts.push(("the repair".to_owned(), REPAIR_DAYS));
    }
    let driven: Vec<Monitor> = match (told.prospect.is_unread, plan.driven()) {
        (true, driven) if !driven.is_empty() => told.prospect.usual.clone(),
        (_, driven) => driven,
    };
    let nights: Vec<String> = driven.iter().filter(|it| wants_a_night(**it)).map(|it| it.spoken()).collect();
    if !nights.is_empty() {
        parts.push((format!("a night of standing cold first ({})", joined(&nights, "and")), 1));
    }
    if !driven.is_empty() {
        let minutes: i64 = driven
            .iter()
            .filter_map(|it| crate::ruling::minutes(&told.prospect.advice, *it))
            .map(|(_, most)| most)
            .sum();
        parts.push((format!("driving, up to {minutes} minutes in all"), days(minutes, DRIVE_A_DAY)));
    }
    for step in &plan.steps {
        let Action::DriveUntil(fact, wanted) = step else { continue };
        let lacks = missing(&branch.given, *fact, *wanted);
        match fact {
            Fact::WarmUps => parts.push((format!("{lacks} warm-ups (cold starts)"), days(lacks, WARM_UPS_A_DAY))),
            Fact::DistanceSinceClear => {
                let km = lacks.div_euclid(Unit::Kilometre.scale().max(1));
                parts.push((format!("{km} km of ordinary driving"), days(km, KM_A_DAY)));
            }
            _ => {
                let minutes = lacks.div_euclid(Unit::Minute.scale().max(1));
                parts.push((format!("{minutes} minutes of running"), days(minutes, MINUTES_A_DAY)));
            }
        }
    }
    if has_permanent(&branch.given) {
        parts.push(("permanent codes, which the vehicle erases by itself after the repair".to_owned(), PERMANENT_DAYS));
    }
    parts.push(("in hand, for weather and for what does not complete at once".to_owned(), IN_HAND));
    let days: i64 = parts.iter().map(|(_, days)| *days).sum();
    let back = |many: i64| visit.checked_sub(jiff::Span::new().try_days(many).ok()?).ok();
    Some(Schedule { days, begin: back(days)?, look_again: back(IN_HAND)?, visit, parts })
}

/// The days backwards from a visit in sentences.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Days {
    /// When to begin, that it is too late for that, or that there is nothing to plan.
    pub lead: String,
    /// What takes days.
    pub parts: Vec<String>,
    /// When to look again, what the days rest on.
    pub after: Vec<String>,
}

/// That a visit would be before the day on which the vehicle was read, where it is.
#[must_use]
pub fn too_early(visit: Date, read_on: Option<Date>) -> Option<String> {
    let read_on = read_on.filter(|read_on| visit < *read_on)?;
    Some(format!("a visit on {visit} is before the day of the snapshot, {read_on}: give a day on or after it"))
}

/// The days backwards from a visit in sentences; `read_on` is the day of the snapshot, where it says one.
#[must_use]
pub fn in_words(told: &Told<'_>, visit: Date, read_on: Option<Date>) -> Days {
    let Some(Schedule { parts, days, begin, look_again, visit }) = schedule(told, visit) else {
        let lead = match told.prospect.next.only().map(|branch| &branch.end) {
            Some(End::Already | End::NotAsked | End::OtherTest) => {
                "No repair and no drive is planned, so there is no day to begin."
            }
            Some(End::Nothing) => "No repair and no drive leads to it, so there is no day to begin.",
            _ => "No day to begin can be told: that turns on what is not known yet.",
        };
        return Days { lead: lead.to_owned(), parts: Vec::new(), after: Vec::new() };
    };
    let part = |(what, many): &(String, i64)| format!("{many} {}: {what}", if *many == 1 { "day" } else { "days" });
    let lead = match read_on.filter(|read_on| begin < *read_on) {
        Some(read_on) => format!(
            "Too short for a visit on {visit}: this usually takes {days} days, and the vehicle was read on {read_on}. Begin at once, \
             or take a later visit if the law lets you."
        ),
        None => format!("For a visit on {visit}: begin on {begin}, {days} days before."),
    };
    let look = format!("Look again with a scan tool on {look_again}; go only if it is done.");
    let rests_on = "Days are the practice of the trade with no published source; the owner's manual tells how this vehicle does it.";
    Days { lead, parts: parts.iter().map(part).collect(), after: [look, rests_on.to_owned()].into_iter().collect() }
}

impl Days {
    /// As text of eighty columns.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = wrapped("", Some(2), &self.lead);
        self.parts.iter().for_each(|line| out.push_str(&wrapped("  - ", None, line)));
        self.after.iter().for_each(|line| out.push_str(&wrapped("  ", Some(2), line)));
        out
    }
}

/// The answer of `next` as JSON, with the days backwards from a visit.
#[must_use]
pub fn answer(told: &Told<'_>, by: Date) -> serde_json::Value {
    let mut value = plan_form::json(told);
    if let Some(object) = value.as_object_mut() {
        let days = schedule(told, by).map_or(serde_json::Value::Null, |days| json(&days));
        object.insert("schedule".to_owned(), days);
    }
    value
}

/// A plan in days as JSON.
#[must_use]
pub fn json(schedule: &Schedule) -> serde_json::Value {
    let parts = schedule.parts.iter().map(|(what, days)| serde_json::json!({"what": what, "days": days}));
    serde_json::json!({
        "visit": schedule.visit.to_string(), "begin": schedule.begin.to_string(),
        "look_again": schedule.look_again.to_string(), "days": schedule.days,
        "parts": parts.collect::<Vec<_>>(), "rests_on": "practice",
    })
}
