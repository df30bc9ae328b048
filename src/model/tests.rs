//! Tests of the vocabulary: exact units, code patterns, the table itself, and what the exclusions narrow.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests may stop at the first wrong thing")]

use super::facts::{ABSENT, Possible};
use super::table::{FACTS, all_facts, key_of};
use super::*;
use rstest::rstest;
use std::collections::BTreeSet;

/// Design, section 3: 200 miles is 321.8688 km; international yard and pound agreement of 1959 for the factors.
#[rstest]
#[case::km_321_is_below_200_miles(321, 200, std::cmp::Ordering::Less)]
#[case::km_322_is_above_200_miles(322, 200, std::cmp::Ordering::Greater)]
#[case::km_25146_is_15625_miles(25_146, 15_625, std::cmp::Ordering::Equal)]
fn distances_compare_exactly(#[case] km: i64, #[case] miles: i64, #[case] order: std::cmp::Ordering) {
    assert_eq!(Unit::Kilometre.to_base(km).unwrap().cmp(&Unit::Mile.to_base(miles).unwrap()), order);
}

/// 0.45359237 kg a pound, exactly: 4536 kg lies between 10,000 lb (4535.9237 kg) and 10,001 lb.
#[test]
fn weights_compare_exactly() {
    let reading = Unit::Kilogram.to_base(4536).unwrap();
    assert!(reading > Unit::Pound.to_base(10_000).unwrap());
    assert!(reading < Unit::Pound.to_base(10_001).unwrap());
}

#[rstest]
#[case::whole(Unit::Kilometre, 45_000_000, "45 km")]
#[case::exact_decimals(Unit::Kilometre, 321_868_800, "321.8688 km")]
#[case::below_one(Unit::Mile, -804_672, "-0.5 miles")]
#[case::plain(Unit::One, 12, "12")]
fn amounts_show_exactly(#[case] unit: Unit, #[case] base: i64, #[case] shown: &str) {
    assert_eq!(unit.show(base), shown);
}

/// SAE J2012 layout as in the digest of vehicle data, section 1.6 (`01 43`, `3F FF`, `41 23`, `8A 7F`, `C1 00`, `D0 16`).
#[rstest]
#[case(0x0143, "P0143")]
#[case(0x3FFF, "P3FFF")]
#[case(0x4123, "C0123")]
#[case(0x8A7F, "B0A7F")]
#[case(0xC100, "U0100")]
#[case(0xD016, "U1016")]
fn codes_spell_both_ways(#[case] bytes: u16, #[case] text: &str) {
    assert_eq!(TroubleCode::obd(bytes).to_string(), text);
    assert_eq!(TroubleCode::parse(text), Some(TroubleCode::obd(bytes)));
}

#[rstest]
#[case::too_short("P042")]
#[case::fourth_system("X0420")]
#[case::digit_over_three("P4420")]
#[case::not_hexadecimal("P0G20")]
#[case::no_such_failure_type("P0420-1")]
#[case::spn_out_of_range("SPN 524287 FMI 1")]
#[case::empty("")]
fn what_is_no_code_is_refused(#[case] text: &str) {
    assert_eq!(TroubleCode::parse(text), None);
}

/// Encodings page, 1.3: P0420 through P0439 read as hexadecimal has 26 codes, read as decimal 20.
#[rstest]
#[case::digits_only(true, 20)]
#[case::with_letters(false, 26)]
fn a_range_counts_as_it_says(#[case] digits_only: bool, #[case] count: usize) {
    let range = CodeRange { first: 0x0420, last: 0x0439, digits_only };
    assert_eq!((0..=u16::MAX).filter(|code| range.contains(*code)).count(), count);
}

#[test]
fn a_code_of_an_unread_band_is_neither_in_nor_out() {
    let range = |first, last| CodeRange { first, last, digits_only: false };
    let group = CodeGroup { ranges: vec![range(0x0420, 0x0420)], unread: vec![range(0x0421, 0x0439)] };
    assert_eq!(group.contains(TroubleCode::obd(0x0420)), Some(true));
    assert_eq!(group.contains(TroubleCode::obd(0x0430)), None);
    assert_eq!(group.contains(TroubleCode::obd(0x0440)), Some(false));
    assert_eq!(group.contains(TroubleCode::J1939 { spn: 1076, fmi: 5 }), Some(false));
}

#[test]
fn names_and_keys_are_one_each_and_documented() {
    let names: BTreeSet<&str> = FACTS.iter().map(|row| row.name).collect();
    let keys: BTreeSet<String> = all_facts().map(key_of).collect();
    assert_eq!(names.len(), FACTS.len());
    assert_eq!(keys.len(), all_facts().count());
    for row in FACTS {
        assert!(!row.about.is_empty() && row.question.ends_with('?'), "{} lacks words", row.name);
        if let Some(sound) = row.sound {
            assert!(row.fact.word_bit(sound).is_some(), "{}: no word {sound}", row.name);
        }
    }
}

/// Design, section 6: monitors, codes and the lamp command have no sound value.
#[test]
fn what_must_have_no_sound_value_has_none() {
    for fact in all_facts() {
        let bare = matches!(fact, Fact::Monitor(_) | Fact::StoredCodes | Fact::PendingCodes | Fact::PermanentCodes)
            || fact == Fact::LampCommanded;
        assert!(!bare || spec(fact).sound.is_none(), "{} must have no sound value", spec(fact).name);
    }
}

#[test]
fn days_count_from_1970_both_ways() {
    for (date, day) in [(Date::constant(1970, 1, 1), 0), (Date::constant(2000, 3, 1), 11_017)] {
        assert_eq!(day_number(date), day);
        assert_eq!(date_of(day), Some(date));
    }
}

#[test]
fn a_spark_engine_has_no_monitor_of_the_compression_table() {
    let mut snapshot = Snapshot::default();
    snapshot.set_word(Fact::Ignition, "spark");
    let facts = Facts::of(&snapshot).unwrap();
    let unsupported = Possible::Words(MonitorState::Unsupported.bit());
    assert_eq!(facts.get(Fact::Monitor(Monitor::BoostPressure)), &unsupported);
    assert_eq!(facts.get(Fact::Monitor(Monitor::Catalyst)), &Possible::Words(0b111));
}

#[test]
fn one_supported_monitor_tells_ignition_protocol_and_the_rest() {
    let mut snapshot = Snapshot::default();
    snapshot.set_word(Fact::Monitor(Monitor::Catalyst), "complete");
    let facts = Facts::of(&snapshot).unwrap();
    assert_eq!(facts.get(Fact::Ignition), &Possible::Words(0b01));
    assert_eq!(facts.get(Fact::Monitor(Monitor::ParticulateFilter)), &Possible::Words(0b001));
    assert_eq!(facts.get(Fact::Monitor(Monitor::HdCatalyst)), &Possible::Words(0b001));
    let Possible::Words(fuels) = facts.get(Fact::Fuel) else { panic!("fuel is a word") };
    assert_eq!(fuels & Fact::Fuel.word_bit("electric").unwrap(), 0);
}

// Light vehicles are not on J1939 (40 CFR 86.1806-05(h) has it for heavy-duty alone, from memory), whatever their fuel.
#[test]
fn a_light_vehicle_has_no_monitor_of_j1939() {
    for class in ["light-duty", "light-truck"] {
        let mut snapshot = Snapshot::default();
        snapshot.set_word(Fact::Class, class);
        let facts = Facts::of(&snapshot).unwrap();
        assert_eq!(facts.get(Fact::Protocol), &Possible::Words(0b101), "{class}");
        for monitor in Monitor::all().filter(|monitor| monitor.is_j1939()) {
            assert_eq!(facts.get(Fact::Monitor(monitor)), &Possible::Words(0b001), "{class} {monitor:?}");
        }
        snapshot.set_word(Fact::Protocol, "j1939");
        assert!(Facts::of(&snapshot).is_err(), "{class}");
    }
}

// 13 CCR 1971.1 demands them of diesel engines in (e), and (f) for gasoline has none of them (from memory).
#[test]
fn a_gasoline_engine_has_no_diesel_monitor_of_either_protocol() {
    let mut snapshot = Snapshot::default();
    snapshot.set_word(Fact::Fuel, "gasoline");
    let facts = Facts::of(&snapshot).unwrap();
    let diesel = ["hd-nox-catalyst", "hd-nmhc-catalyst", "hd-particulate-filter", "hd-boost-pressure"];
    for monitor in Monitor::all() {
        let never = monitor.is_compression_only() || diesel.contains(&monitor.name());
        let expected = if never { 0b001 } else { 0b111 };
        assert_eq!(facts.get(Fact::Monitor(monitor)), &Possible::Words(expected), "{monitor:?}");
    }
}

#[test]
fn readings_that_cannot_be_together_are_a_contradiction() {
    let mut snapshot = Snapshot::default();
    snapshot.set_word(Fact::Ignition, "compression");
    snapshot.set_word(Fact::Monitor(Monitor::Catalyst), "incomplete");
    let contradiction = Facts::of(&snapshot).unwrap_err();
    assert!(contradiction.to_string().contains("monitors.catalyst"), "{contradiction}");
}

#[test]
fn not_on_vehicle_is_not_zero() {
    let mut snapshot = Snapshot::default();
    snapshot.readings.insert(Fact::WarmUps, Reading::NotOnVehicle);
    snapshot.readings.insert(Fact::LampLitKeyOn, Reading::NotOnVehicle);
    let facts = Facts::of(&snapshot).unwrap();
    let Possible::Number(span) = facts.get(Fact::WarmUps) else { panic!("warm-ups are a number") };
    assert!(span.has_no_value() && span.may_be_absent);
    assert_eq!(facts.get(Fact::LampLitKeyOn), &Possible::Words(ABSENT));
}

/// Facts are kept by place: the table's rows stand in that order, the monitors after them.
#[test]
fn every_fact_stands_at_its_place() {
    let places: Vec<usize> = all_facts().map(Fact::place).collect();
    assert_eq!(places, (0..FACTS.len() + 32).collect::<Vec<_>>());
    assert!(all_facts().all(|fact| spec(fact).fact == fact));
}

/// A vehicle that does not answer: nothing that only an answer tells, whatever is not known; papers and looks stay open.
/// Source: services $01 to $0A of SAE J1979 and the messages of J1939-73 are answers; common practice.
#[test]
fn a_silent_vehicle_has_no_readings() {
    let mut silent = Snapshot::default();
    silent.set_word(Fact::Communication, "none");
    let facts = Facts::of(&silent).unwrap();
    let asked: BTreeSet<Fact> = all_facts().filter(|fact| exclusion::needs_an_answer(*fact).is_some()).collect();
    let reader: BTreeSet<Fact> = all_facts().filter(|fact| spec(*fact).observer == Observer::Reader).collect();
    let also_seen = [Fact::Communication, Fact::FuelInUse, Fact::Ignition, Fact::Protocol];
    assert_eq!(reader.difference(&asked).copied().collect::<Vec<_>>(), {
        let mut left = also_seen.to_vec();
        left.sort();
        left
    });
    for fact in &asked {
        let constraint = exclusion::needs_an_answer(*fact).unwrap();
        assert_eq!(facts::meets(constraint, facts.get(*fact)), (false, false), "{fact:?}");
    }
    for fact in reader.difference(&asked).filter(|fact| **fact != Fact::Communication) {
        assert_eq!(facts.get(*fact), facts::whole(*fact), "{fact:?}");
    }
}

/// Each reading beside silence is a contradiction that names both; leaving them unread mends it.
#[test]
fn a_reading_of_a_silent_vehicle_is_a_contradiction() {
    let answering = |fact: Fact| {
        let mut car = Snapshot::default();
        car.set_word(Fact::Communication, "none");
        match spec(fact).kind {
            FactType::YesNo { .. } => car.set_word(fact, "yes"),
            FactType::Words(_) => car.set_word(fact, "complete"),
            FactType::Number { .. } => car.set(fact, Value::Number(0)),
            _ => {
                car.set(fact, Value::Codes(CodeList { codes: [TroubleCode::obd(0x0301)].into(), may_hold_more: false }))
            }
        }
        car
    };
    let mut tried = 0;
    // That a VIN matches contradicts first that none was read.
    let named = |fact: Fact| if fact == Fact::VinMatches { Fact::VinInData } else { fact };
    for fact in all_facts().filter(|fact| exclusion::needs_an_answer(*fact).is_some()) {
        let mut car = answering(fact);
        let told = Facts::of(&car).unwrap_err();
        assert_eq!((told.first, told.second), (Fact::Communication, named(fact)));
        assert!(car.is_silent());
        car.leave_unread(|_| true);
        assert!(Facts::of(&car).is_ok() && car.is_silent(), "{fact:?}");
        tried += 1;
    }
    assert!(tried > 30, "{tried}");
}

/// By the list of exclusions, each looked at again and again until none takes anything away: what is left, and which two
/// readings contradict each other, is the same where only rules of facts that changed are looked at. Nothing follows of a
/// vehicle of which nothing is known.
#[test]
fn rules_of_facts_that_did_not_change_need_no_second_look() {
    fn by_list(facts: &mut Facts) -> Result<(), (Fact, Fact)> {
        loop {
            let before = facts.clone();
            for rule in exclusions() {
                let (one, other) = (rule.first.fact(), rule.second.fact());
                let (first, second) =
                    (facts::meets(rule.first, facts.get(one)), facts::meets(rule.second, facts.get(other)));
                match (first, second) {
                    ((true, true), (true, true)) => return Err((one, other)),
                    ((true, true), (true, false)) => facts.put(other, facts::without(rule.second, facts.get(other))),
                    ((true, false), (true, true)) => facts.put(one, facts::without(rule.first, facts.get(one))),
                    _ => {}
                }
            }
            if *facts == before {
                return Ok(());
            }
        }
    }
    let seed = std::cell::Cell::new(5_u64);
    let drawn = |below: usize| {
        seed.set(seed.get().wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407));
        usize::try_from(seed.get() >> 33).unwrap() % below
    };
    let all: Vec<Fact> = all_facts().collect();
    let draw = |facts: &mut Facts, fact: Fact| {
        // What was ruled out may be put back.
        let now = if drawn(2) == 0 { facts.get(fact) } else { facts::whole(fact) };
        let possible = match now.clone() {
            Possible::Words(mask) => {
                let left = (0..64).map(|at| 1u64 << at).filter(|bit| mask & bit != 0 && drawn(3) == 0).sum::<u64>();
                Possible::Words(if left == 0 { mask & mask.wrapping_neg() } else { left })
            }
            Possible::Number(_) => Possible::Number(facts::Span { most: 3, least: 0, may_be_absent: drawn(2) == 0 }),
            Possible::Codes { .. } => Possible::Codes {
                list: Some(CodeList { codes: [TroubleCode::obd(0x0301)].into(), may_hold_more: false }),
                may_be_absent: drawn(4) == 0,
                may_be_present: true,
            },
            Possible::Monitors { perhaps, .. } => Possible::Monitors { surely: MonitorSet::EMPTY, perhaps },
            text @ Possible::Text(_) => text,
        };
        facts.put(fact, possible);
    };
    let mut unknown = Facts::unknown();
    assert_eq!((by_list(&mut unknown), &unknown), (Ok(()), &Facts::unknown()));
    let (mut possible, mut narrowed, mut contradicted) = (0, 0, 0);
    for _ in 0..3_000 {
        let mut facts = Facts::unknown();
        for _ in 0..3 {
            let put: Vec<Fact> = (0..4).map(|_| *all.get(drawn(all.len())).unwrap()).collect();
            put.iter().for_each(|fact| draw(&mut facts, *fact));
            let (mut expected, mut anew, before) = (facts.clone(), Facts::unknown(), facts.clone());
            all.iter().for_each(|fact| anew.put(*fact, facts.get(*fact).clone()));
            let by_list = by_list(&mut expected);
            let named = |found: Result<(), facts::Contradiction>| found.map_err(|why| (why.first, why.second));
            assert_eq!(named(anew.narrow()), by_list, "{before:?}");
            assert_eq!(named(facts.narrow()), by_list, "{put:?} of {before:?}");
            if by_list.is_err() {
                contradicted += 1;
                break;
            }
            assert_eq!((&anew, &facts), (&expected, &expected), "{put:?} of {before:?}");
            possible += 1;
            narrowed += usize::from(facts != before);
        }
    }
    assert!(possible > 2_000 && narrowed > 500 && contradicted > 100, "{possible} {narrowed} {contradicted}");
}
