//! From the answers of several ECUs to the facts of one vehicle: monitors, lamp, codes.
//!
//! The rules are those of obd-data.md section 1.9: supported if any ECU supports, complete if all
//! that support are, lamp if any commands it, a conflict is not known. `counters` has the
//! numbers, `identity` the VIN and what else describes the vehicle.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::json;

use super::asked::Requests;
use super::codes::CodeList;
use super::ecu::{EcuAnswers, EcuId, LampCommand, Reading};
use super::facts::{Facts, Origin};
use super::monitors::{MonitorTable, Monitors};
use super::quality::Flags;
use crate::model::MonitorState;

/// The ECUs of on-board diagnostics, and which of them control the engine.
pub(super) struct Vehicle<'a> {
    pub ecus: BTreeMap<EcuId, &'a EcuAnswers>,
    /// Engine controllers: those that support a monitor besides comprehensive components.
    pub engine: BTreeSet<EcuId>,
    /// Whether any ECU gave its monitor status, so that the engine controllers can be told.
    pub status_known: bool,
}

impl<'a> Vehicle<'a> {
    pub(super) fn new(ecus: &'a BTreeMap<EcuId, EcuAnswers>) -> Self {
        let ecus: BTreeMap<EcuId, &EcuAnswers> =
            ecus.iter().filter(|(id, _)| id.is_obd()).map(|(id, e)| (*id, e)).collect();
        let engine = ecus.iter().filter(|(_, e)| e.is_engine() == Some(true)).map(|(id, _)| *id).collect();
        let status_known = ecus.values().any(|e| e.is_engine().is_some());
        Self { ecus, engine, status_known }
    }
}

/// One ECU's monitors since clearing, whatever message carries them.
fn since_clear(ecu: &EcuAnswers) -> Option<(Monitors, Reading<()>)> {
    let plain = |bytes: &Vec<u8>, line| Reading { value: (), bytes: bytes.clone(), line };
    match (&ecu.monitor_status, &ecu.heavy_duty) {
        (Some(r), _) => Some((r.value.monitors, plain(&r.bytes, r.line))),
        (None, Some(r)) if r.value.is_obd() => Some((r.value.monitors, plain(&r.bytes, r.line))),
        (None, _) => None,
    }
}

/// Sets the monitors, the ignition and this driving cycle.
pub(super) fn monitors(vehicle: &Vehicle<'_>, facts: &mut Facts, flags: &mut Flags) {
    let mut parts: Vec<(EcuId, Monitors, Origin)> = Vec::new();
    for (id, ecu) in &vehicle.ecus {
        if let Some((monitors, reading)) = since_clear(ecu) {
            odd_bits(*id, monitors, ecu, reading.line, flags);
            parts.push((*id, monitors, Origin::of(*id, &reading)));
        }
    }
    if vehicle.engine.is_empty() {
        if vehicle.status_known {
            flags.over_lines(
                "no-engine-controller",
                "no engine controller answered: every answer on monitor status supports nothing \
                 besides comprehensive components. The monitors stay not known; this is no pass",
                parts.iter().map(|(_, _, origin)| origin.line()),
            );
        }
        return;
    }
    let tables: BTreeSet<MonitorTable> =
        parts.iter().filter(|(id, _, _)| vehicle.engine.contains(id)).map(|(_, monitors, _)| monitors.table).collect();
    let engine_origins: Vec<Origin> =
        parts.iter().filter(|(id, _, _)| vehicle.engine.contains(id)).map(|(_, _, origin)| origin.clone()).collect();
    let mut only = tables.iter();
    let (Some(table), None) = (only.next(), only.next()) else {
        flags.over_lines(
            "ignition-conflict",
            "engine controllers use different tables of monitors; the ignition type and the \
             monitors stay not known",
            engine_origins.iter().map(Origin::line),
        );
        return;
    };
    match table {
        MonitorTable::Spark => facts.set("vehicle.ignition", "spark", &engine_origins),
        MonitorTable::Compression => facts.set("vehicle.ignition", "compression", &engine_origins),
        MonitorTable::HeavyDuty => {}
    }
    for name in table.names() {
        if let Some((word, used)) = joined(name, parts.iter().map(|(_, m, origin)| (*m, origin)), "unsupported") {
            let origins = if used.is_empty() { &engine_origins } else { &used };
            facts.set(&format!("monitors.{name}"), word, origins);
        }
    }
}

/// What several controllers say of a monitor together, and those that decide it; `None` where one that does not say
/// (*not available*) could change it. `none` is the word where no controller supports it.
fn joined<'o>(
    name: &str,
    parts: impl Iterator<Item = (Monitors, &'o Origin)>,
    none: &'static str,
) -> Option<(&'static str, Vec<Origin>)> {
    let (mut supporting, mut incomplete, mut is_open) = (Vec::new(), false, false);
    for (monitors, origin) in parts {
        match monitors.state(name) {
            Some(MonitorState::Unsupported) => continue,
            Some(MonitorState::Complete) => {}
            Some(MonitorState::Incomplete) => incomplete = true,
            None => {
                is_open |= monitors.not_available().any(|other| other == name);
                continue;
            }
        }
        supporting.push(origin.clone());
    }
    match (incomplete, is_open, supporting.is_empty()) {
        (true, _, _) => Some(("incomplete", supporting)),
        (false, true, _) => None,
        (false, false, false) => Some(("complete", supporting)),
        (false, false, true) => Some((none, supporting)),
    }
}

/// Flags on bits that should not be as they are.
fn odd_bits(id: EcuId, monitors: Monitors, ecu: &EcuAnswers, line: usize, flags: &mut Flags) {
    for name in monitors.incomplete_unsupported() {
        flags.at(
            "incomplete-but-unsupported",
            format!("{id} reports {name} as incomplete although it does not support it; taken as unsupported"),
            line,
        );
    }
    let reserved_b7 = ecu.monitor_status.as_ref().is_some_and(|r| r.value.reserved_b7);
    if reserved_b7 || monitors.reserved_set() {
        flags.at("reserved-bit-set", format!("{id} sets a reserved bit of its monitor status; it is not used"), line);
    }
    let bit_4 =
        monitors.table == MonitorTable::Spark && monitors.state("air-conditioning") != Some(MonitorState::Unsupported);
    if bit_4 {
        flags.at(
            "spark-bit-4",
            format!(
                "{id} supports the monitor of bit 4: air-conditioning refrigerant in the editions \
                 read, perhaps the gasoline particulate filter on newer vehicles"
            ),
            line,
        );
    }
}

/// Sets what this driving cycle has done so far: advice only, never a readiness result.
pub(super) fn this_cycle(vehicle: &Vehicle<'_>, facts: &mut Facts) {
    let parts: Vec<(EcuId, &Reading<Monitors>)> =
        vehicle.ecus.iter().filter_map(|(id, ecu)| ecu.this_cycle.as_ref().map(|r| (*id, r))).collect();
    let engine: Vec<&(EcuId, &Reading<Monitors>)> =
        parts.iter().filter(|(id, r)| vehicle.engine.contains(id) || r.value.beyond_components()).collect();
    let tables: BTreeSet<MonitorTable> = engine.iter().map(|(_, r)| r.value.table).collect();
    let mut only = tables.iter();
    let (Some(table), None) = (only.next(), only.next()) else {
        return;
    };
    let origins: Vec<Origin> = engine.iter().map(|(id, r)| Origin::of(*id, r)).collect();
    let all: Vec<(Monitors, Origin)> = parts.iter().map(|(id, r)| (r.value, Origin::of(*id, r))).collect();
    for name in table.names() {
        if let Some((word, used)) = joined(name, all.iter().map(|(m, origin)| (*m, origin)), "disabled") {
            facts.set(&format!("this_cycle.{name}"), word, if used.is_empty() { &origins } else { &used });
        }
    }
}

/// Sets the lamp command: on if any ECU commands it, off only if an engine controller is among
/// those that say so.
pub(super) fn lamp(vehicle: &Vehicle<'_>, facts: &mut Facts, flags: &mut Flags) {
    let mut on: Vec<Origin> = Vec::new();
    let mut off: Vec<Origin> = Vec::new();
    let mut unclear = false;
    for (id, ecu) in &vehicle.ecus {
        if let Some(status) = &ecu.monitor_status {
            let side = if status.value.lamp { &mut on } else { &mut off };
            side.push(Origin::of(*id, status));
        }
        if let Some(command) = &ecu.lamp_command {
            match command.value {
                LampCommand::On => on.push(Origin::of(*id, command)),
                LampCommand::Off => off.push(Origin::of(*id, command)),
                // A controller that takes no part in OBD commands no lamp: a brake controller says *not available*.
                LampCommand::NotAvailable => unclear |= ecu.heavy_duty.as_ref().is_some_and(|r| r.value.is_obd()),
                LampCommand::Error => unclear |= ecu.heavy_duty.as_ref().is_none_or(|r| r.value.is_obd()),
            }
        }
    }
    let engine_spoke = !vehicle.engine.is_empty()
        && vehicle
            .engine
            .iter()
            .all(|id| vehicle.ecus.get(id).is_some_and(|e| e.monitor_status.is_some() || e.lamp_command.is_some()));
    let unread = without_status(vehicle, flags);
    if !on.is_empty() {
        facts.set("lamp.commanded", true, &on);
    } else if engine_spoke && !unclear && !unread {
        facts.set("lamp.commanded", false, &off);
    } else if !off.is_empty() {
        flags.over_lines(
            "lamp-not-known",
            "no controller that answered commands the lamp on, but not every controller that \
             matters answered; the lamp command stays not known",
            off.iter().map(Origin::line),
        );
    }
}

/// Whether an ECU that is known to be there gave no monitor status while another did. In 6 of 287
/// real records the lamp is commanded by a secondary ECU alone (obd-data.md section 1.9), so *off*
/// is then not known.
fn without_status(vehicle: &Vehicle<'_>, flags: &mut Flags) -> bool {
    let mut any = false;
    for (id, ecu) in &vehicle.ecus {
        let silent = ecu.speaks_classic && ecu.monitor_status.is_none() && ecu.supports(0x01) != Some(false);
        let takes_part = ecu.heavy_duty.as_ref().filter(|r| r.value.is_obd() && ecu.lamp_command.is_none());
        if silent && vehicle.status_known {
            any = true;
            flags.over_lines(
                "controller-without-status",
                format!(
                    "{id} answered, but not on its monitor status (PID 01): if it commands the \
                     lamp on, this input does not show it"
                ),
                [ecu.line()],
            );
        } else if let Some(dm5) = takes_part {
            any = true;
            flags.at(
                "controller-without-status",
                format!(
                    "{id} takes part in on-board diagnostics by its DM5 and gave neither DM1 nor DM12: if it commands \
                     the lamp on, this input does not show it"
                ),
                dm5.line,
            );
        }
    }
    any
}

/// Which list of codes, and how it is asked for.
struct Service {
    path: &'static str,
    number: u8,
    get: fn(&EcuAnswers) -> Option<&CodeList>,
    /// Whether PID $01 announces how many there are.
    counted: bool,
}

const SERVICES: [Service; 3] = [
    Service { path: "codes.stored", number: 0x03, get: |e| e.stored.as_ref(), counted: true },
    Service { path: "codes.pending", number: 0x07, get: |e| e.pending.as_ref(), counted: false },
    Service { path: "codes.permanent", number: 0x0A, get: |e| e.permanent.as_ref(), counted: false },
];

/// Sets the three lists of codes.
pub(super) fn codes(vehicle: &Vehicle<'_>, requests: &Requests, facts: &mut Facts, flags: &mut Flags) {
    for service in &SERVICES {
        let lists: Vec<(EcuId, &CodeList)> =
            vehicle.ecus.iter().filter_map(|(id, ecu)| (service.get)(ecu).map(|list| (*id, list))).collect();
        if lists.is_empty() {
            let line = requests.asked.get(&(service.number, None));
            let refused =
                vehicle.ecus.values().any(|e| e.refusals.keys().any(|(s, code)| *s == service.number && *code != 0x78));
            if let (Some(line), false) = (line, refused) {
                flags.at(
                    "silence",
                    format!(
                        "service {:02X} was asked for and nobody answered: the codes are not known, \
                         which is not the same as none",
                        service.number
                    ),
                    *line,
                );
            }
            if service.counted {
                announced_without_list(vehicle, flags);
            }
            continue;
        }
        let mut whole = true;
        for (id, ecu) in &vehicle.ecus {
            whole &= part_is_whole(service, *id, ecu, vehicle.engine.contains(id), flags);
        }
        let told = lists.iter().flat_map(|(id, list)| list.codes.iter().map(move |code| (id, code)));
        let still = |(id, _): &(&EcuId, &String)| vehicle.ecus.get(id).copied();
        let codes: BTreeSet<&String> = told
            .filter(|it| !service.counted || still(it).is_none_or(|ecu| is_still_stored(ecu, it.1)))
            .map(|(_, code)| code)
            .collect();
        let origins: Vec<Origin> = lists
            .iter()
            .flat_map(|(id, list)| {
                list.sources.iter().map(|source| Origin::Answer {
                    ecu: *id,
                    bytes: source.bytes.clone(),
                    line: source.line,
                })
            })
            .collect();
        if whole {
            facts.set(service.path, json!(codes), &origins);
            continue;
        }
        flags.over_lines(
            "code-list-partial",
            format!("{} is known in part only: there may be more codes than those read", service.path),
            origins.iter().map(Origin::line),
        );
        if !codes.is_empty() {
            facts.set(service.path, json!({ "at_least": codes }), &origins);
        }
    }
}

/// Whether a code of a list is one still, by what came after the list (DM1).
fn is_still_stored(ecu: &EcuAnswers, code: &String) -> bool {
    let later = ecu.active.as_ref().filter(|active| ecu.doubt.is_some() && active.whole);
    later.is_none_or(|active| active.codes.contains(code))
}

/// How many codes an ECU announces by PID $01 or DM5.
struct Announced {
    count: usize,
    line: usize,
    what: &'static str,
}

fn announced(ecu: &EcuAnswers) -> Option<Announced> {
    if let Some(status) = &ecu.monitor_status {
        let count = usize::from(status.value.code_count);
        return Some(Announced { count, line: status.line, what: "stored" });
    }
    let dm5 = ecu.heavy_duty.as_ref().filter(|reading| reading.value.is_obd())?;
    let count = usize::from(dm5.value.active_codes?);
    Some(Announced { count, line: dm5.line, what: "active" })
}

/// Whether DM1 accounts for the number that DM5 announces, so that DM12 may well be shorter: it holds the codes of
/// emission-related faults alone.
fn accounted_for(ecu: &EcuAnswers, stored: &CodeList, count: usize) -> bool {
    ecu.monitor_status.is_none()
        && ecu.active.as_ref().is_some_and(|active| {
            active.whole && active.codes.len() == count && stored.codes.iter().all(|code| active.codes.contains(code))
        })
}

/// Whether what one ECU gave for a service is all it has, compared with what else it said.
fn part_is_whole(service: &Service, id: EcuId, ecu: &EcuAnswers, engine: bool, flags: &mut Flags) -> bool {
    let announced = announced(ecu).filter(|_| service.counted);
    let list = (service.get)(ecu);
    if let (Some(list), Some(doubt), true) = (list, ecu.doubt, service.counted) {
        flags.over_lines(
            "code-list-outdated",
            format!("{id}: {} after its stored codes were read, so there may be others now; ask again", doubt.what),
            [list.line(), doubt.line],
        );
        return false;
    }
    match (list, announced) {
        (Some(list), Some(Announced { count, line, what })) => {
            let agrees = list.codes.len() == count || accounted_for(ecu, list, count);
            if list.whole && !agrees {
                flags.over_lines(
                    "code-count-mismatch",
                    format!(
                        "{id} announces {count} {what} codes and gave {}; ask again until they agree",
                        list.codes.len()
                    ),
                    [line, list.line()],
                );
            }
            // A full legacy message cannot show that none follows; the announced number can.
            agrees && (list.whole || matches!(id, EcuId::Legacy(_)))
        }
        (Some(list), None) => list.whole,
        (None, Some(Announced { count: 0, .. })) => true,
        (None, Some(Announced { count, line, what })) => {
            flags.at(
                "code-count-mismatch",
                format!("{id} announces {count} {what} codes and gave no list; ask again"),
                line,
            );
            false
        }
        (None, None) if engine => {
            flags.over_lines(
                "engine-controller-silent",
                format!(
                    "{id}, an engine controller, gave no answer to service {:02X}, although another \
                     ECU did",
                    service.number
                ),
                [ecu.line()],
            );
            false
        }
        (None, None) => true,
    }
}

/// No controller gave a list of stored codes, but PID $01 or DM5 announces some.
fn announced_without_list(vehicle: &Vehicle<'_>, flags: &mut Flags) {
    for (id, ecu) in &vehicle.ecus {
        if let Some(Announced { count, line, what }) = announced(ecu).filter(|it| it.count > 0) {
            let ask = if matches!(id, EcuId::J1939(_)) { "DM12" } else { "service 03" };
            flags.at(
                "code-count-mismatch",
                format!("{id} announces {count} {what} codes and gave no list; ask for {ask}"),
                line,
            );
        }
    }
}

/// Flags answers that a controller stopped giving: it was asked again later and said nothing. They are told, and may be
/// old.
pub(super) fn old(vehicle: &Vehicle<'_>, requests: &Requests, flags: &mut Flags) {
    for (id, ecu) in &vehicle.ecus {
        for (topic, line) in ecu.topics(*id) {
            let Some(asked) = requests.last_for(topic, *id).filter(|asked| *asked > line) else { continue };
            flags.over_lines(
                "answer-is-old",
                format!(
                    "{id} gave no answer when it was last asked for {topic}; its earlier answer stands, and may be old"
                ),
                [line, asked],
            );
        }
    }
}

/// Flags ECUs that only ever said *answer pending*: that is no answer (obd-data.md section 1.8).
pub(super) fn waiting(vehicle: &Vehicle<'_>, flags: &mut Flags) {
    for (id, ecu) in &vehicle.ecus {
        for ((service, code), line) in &ecu.refusals {
            if *code == 0x78 && !ecu.services.contains(service) {
                flags.at(
                    "answer-pending",
                    format!("{id} said that its answer to service {service:02X} is pending, and none came"),
                    *line,
                );
            }
        }
    }
}
