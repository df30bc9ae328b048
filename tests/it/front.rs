//! The front door gives what the modules behind it give, and refuses with everything there is to say.

use wherefore::internals::catalog::{BuiltIn, Catalog};
use wherefore::internals::document;
use wherefore::internals::record::{self, Record};
use wherefore::{
    Class, Connector, Date, Error, Fuel, Ignition, Monitor, MonitorState, Program, Programs, Purpose, Request, Ruling,
    Seen, Snapshot, TroubleCode, VehicleClass, VisitKind,
};

const DAY: Date = Date::constant(2026, 11, 28);

fn car() -> Snapshot {
    let mut car = Snapshot::builder()
        .visit_date(DAY)
        .visit(VisitKind::Initial)
        .purpose(Purpose::Renewal)
        .model_year(2016)
        .fuel(Fuel::Gasoline)
        .ignition(Ignition::Spark)
        .class(VehicleClass::LightDuty)
        .gross_weight_lb(4400)
        .hybrid(false)
        .plug_in(false)
        .connector(Connector::Intact)
        .lamp_commanded(false)
        .lamp_lit_key_on(true)
        .lamp_lit_running(false)
        .lamp_flashing(false)
        .stored_codes([])
        .pending_codes([])
        .permanent_codes([])
        .warm_ups_since_clearing(40)
        .km_since_clearing(1200);
    for monitor in [Monitor::Misfire, Monitor::FuelSystem, Monitor::Components, Monitor::OxygenSensor, Monitor::EgrVvt]
    {
        car = car.monitor(monitor, MonitorState::Complete);
    }
    for monitor in [Monitor::HeatedCatalyst, Monitor::SecondaryAir, Monitor::AirConditioning] {
        car = car.monitor(monitor, MonitorState::Unsupported);
    }
    car.monitor(Monitor::Catalyst, MonitorState::Incomplete)
        .monitor(Monitor::Evaporative, MonitorState::Incomplete)
        .build()
}

#[test]
fn rulings_are_those_of_the_modules_behind() {
    let programs = Programs::built_in();
    let built_in = BuiltIn;
    let catalog = Catalog::for_rulings(vec![&built_in]);
    let text = car().to_json();
    let document = document::read(text.as_bytes()).unwrap();
    let ids = programs.ids();
    assert!(ids.len() > 40, "{ids:?}");
    for id in ids {
        let entry = catalog.find(&id).unwrap();
        let Some(behind) = entry.program.as_deref() else { continue };
        let wanted = Record::of(behind, &entry.texts, &document, &record::Request::default());
        let got = programs.get(&id).unwrap().judge(&car());
        match (wanted, got) {
            (Ok(wanted), Ok(got)) => assert_eq!(got.to_json(), record::json_line(&wanted).trim_end(), "{id}"),
            (Err(reason), Err(error)) => assert_eq!(error.to_string(), reason),
            (wanted, got) => panic!("{id}: {wanted:?} and {got:?}"),
        }
    }
}

#[test]
fn a_snapshot_built_in_code_is_the_document_read() {
    let text = r#"{"format":"wherefore-snapshot/1","vehicle":{"model_year":2009,"fuel":"diesel","gross_weight_kg":4500},
        "visit":{"date":"2026-11-28","area":"Harris"},"lamp":{"commanded":true},"codes":{"stored":["P0420"]},
        "monitors":{"particulate-filter":"incomplete"},"declared":{"tampering":true}}"#;
    let built = Snapshot::builder()
        .model_year(2009)
        .fuel(Fuel::Diesel)
        .gross_weight_kg(4500)
        .visit_date(DAY)
        .area("Harris")
        .lamp_commanded(true)
        .stored_codes(TroubleCode::parse("P0420"))
        .monitor(Monitor::ParticulateFilter, MonitorState::Incomplete)
        .declared("tampering", true)
        .build();
    assert_eq!(Snapshot::from_json(text.as_bytes()).unwrap(), built);
    assert_eq!(Snapshot::from_json(built.to_json().as_bytes()).unwrap(), built);
    assert_eq!(serde_json::to_string(&built).unwrap(), built.to_json());
}

#[test]
fn messages_and_what_was_seen_make_a_snapshot() {
    // Service $01 PID $01 of the digest of vehicle data, section 1.2: catalyst complete, nothing commanded.
    let seen =
        Seen::new().model_year(2012).fuel(Fuel::Gasoline).visit_date(DAY).area("Harris").connector(Connector::Intact);
    let snapshot = Snapshot::from_messages(b"7E8 41 01 00 07 E5 00\n7E8 43 00\n", &seen).unwrap();
    let ruling = Programs::built_in().get("us-model").unwrap().judge(&snapshot).unwrap();
    assert!(ruling.possible().count() > 1);
    assert!(ruling.to_json().contains("\"wherefore-ruling/1\""));
    let nothing = Snapshot::from_messages(b"", &Seen::new());
    assert!(matches!(nothing, Err(Error::Messages { .. })), "{nothing:?}");
}

#[test]
fn what_is_refused_says_everything() {
    let programs = Programs::built_in();
    let missing = programs.get("tx").unwrap_err();
    assert!(
        matches!(missing, Error::NoSuchProgram { .. }) && missing.to_string().contains("did you mean `us-tx`?"),
        "{missing}"
    );
    let faults =
        Snapshot::from_json(br#"{"format":"wherefore-snapshot/1","lamp":{"comanded":true},"codes":3}"#).unwrap_err();
    let Error::Snapshot { faults } = faults else { panic!("{faults:?}") };
    assert!(faults.len() >= 2, "{faults:?}");
    let broken =
        Programs::from_text("program my-place \"x\"\ncovers where nothing known\noutcomes pass,, fail\n").unwrap_err();
    let Error::ProgramText { diagnostics } = broken else { panic!("{broken:?}") };
    assert!(diagnostics.len() >= 2, "{diagnostics:?}");
    let undated = programs.get("us-il").unwrap().judge(&Snapshot::builder().model_year(2016).build()).unwrap_err();
    assert!(undated.to_string().contains("date"), "{undated}");
    let request = Request::new().as_of(DAY);
    assert!(programs.get("us-il").unwrap().judge_with(&Snapshot::builder().model_year(2016).build(), &request).is_ok());
}

#[test]
fn a_program_of_ones_own_stands_before_the_built_in_one() {
    let text = "program us-il \"One's own\"\n  authority \"A\"\n  language 1\n  standing draft\nsource r \"r\" law, read\n\
                in force from 2000-01-01\n  per r\noutcomes pass, fail\nage is test year less model year\n  per r\n\
                covers where every vehicle\n  per r\nclause lamp on lamp\n  fail where lamp commanded on\n  \"Lit.\"\n  per r\n";
    let programs = Programs::from_texts([("own.wherefore".to_owned(), text.to_owned())]);
    assert_eq!(programs.get("us-il").unwrap().title(), "One's own");
    let lit = Snapshot::builder().visit_date(DAY).lamp_commanded(true).build();
    let ruling = programs.get("us-il").unwrap().judge_with(&lit, &Request::new().with_proof()).unwrap();
    assert_eq!((ruling.verdict().name(), ruling.verdict().class()), ("fail", Class::Fail));
    let reasons: Vec<_> = ruling.reasons().collect();
    assert_eq!(reasons.len(), 1);
    assert_eq!((reasons[0].clause(), reasons[0].message(), reasons[0].outcome()), ("lamp", "Lit.", "fail"));
    assert_eq!(reasons[0].citations().collect::<Vec<_>>(), ["r"]);
    assert!(ruling.to_json().contains("\"certificate\""));
    assert!(ruling.to_string().contains("us-il"));
    assert!(Programs::from_text(text).is_ok());
}

#[test]
fn results_are_owned_and_cross_threads() {
    fn crosses<T: Send + Sync + 'static>() {}
    crosses::<Programs>();
    crosses::<Program>();
    crosses::<Snapshot>();
    crosses::<Ruling>();
    crosses::<Error>();
    let programs = Programs::built_in();
    let there = programs.clone();
    let ruling = std::thread::spawn(move || there.get("us-tx").unwrap().judge(&car()).unwrap()).join().unwrap();
    assert_eq!(ruling, programs.get("us-tx").unwrap().judge(&car()).unwrap());
}

/// A row and the ruling of the same snapshot: one verdict, or the same possible ones, and every reason in the same order.
#[test]
fn rows_say_what_rulings_say() {
    let programs = Programs::built_in();
    let built_in = BuiltIn;
    let catalog = Catalog::for_rulings(vec![&built_in]);
    let (mut reasons, mut settled) = (0, 0);
    for id in programs.ids() {
        let Ok(program) = programs.get(&id) else { continue };
        let engine = program.row_engine(DAY).unwrap();
        // A line that stands under each reading of an open question is a reason of the row, and none of the ruling.
        let behind = catalog.find(&id).unwrap();
        let questions = &behind.program.as_ref().unwrap().questions;
        let is_open = questions.iter().any(|question| question.taken.is_none());
        let mut row = engine.row();
        for lit in [false, true] {
            let mut snapshot = serde_json::from_str::<serde_json::Value>(&car().to_json()).unwrap();
            snapshot["lamp"]["commanded"] = lit.into();
            let snapshot = Snapshot::from_json(snapshot.to_string().as_bytes()).unwrap();
            let whole = program.judge(&snapshot).unwrap();
            row.fill(&snapshot).unwrap();
            let found = engine.judge(&row).unwrap();
            let exact: Vec<&str> = engine.exact(&row).unwrap().iter().map(|verdict| verdict.name()).collect();
            let possible: Vec<&str> = whole.possible().map(|verdict| verdict.name()).collect();
            assert_eq!(exact, possible, "{id}");
            if let Some(verdict) = found.verdict() {
                assert_eq!(verdict, whole.verdict(), "{id}");
                settled += 1;
            }
            let told: Vec<(&str, &str)> = found.reasons().map(|reason| (reason.clause(), reason.outcome())).collect();
            let all: Vec<_> = whole.reasons().map(|reason| (reason.clause(), reason.outcome())).collect();
            if !is_open && found.verdict().is_some() && !told.is_empty() {
                assert_eq!(told, all, "{id}");
            }
            reasons += told.len();
        }
    }
    assert!(settled > 40 && reasons > 30, "{settled} settled, {reasons} reasons");
}

/// Setters of a row are the builder's, fact by fact.
#[test]
fn a_row_is_set_as_a_snapshot_is_built() {
    let program = Programs::built_in().get("us-ca").unwrap();
    let engine = program.row_engine(DAY).unwrap();
    let mut by_hand = engine.row();
    by_hand.visit(VisitKind::Initial);
    by_hand.purpose(Purpose::Renewal);
    by_hand.model_year(2016).unwrap();
    by_hand.fuel(Fuel::Gasoline);
    by_hand.ignition(Ignition::Spark);
    by_hand.class(VehicleClass::LightDuty);
    by_hand.gross_weight_lb(4400).unwrap();
    by_hand.hybrid(false);
    by_hand.plug_in(false);
    by_hand.connector(Connector::Intact);
    by_hand.lamp_commanded(false);
    by_hand.lamp_lit_key_on(true);
    by_hand.lamp_lit_running(false);
    by_hand.lamp_flashing(false);
    by_hand.stored_codes([]);
    by_hand.pending_codes([]);
    by_hand.permanent_codes([]);
    by_hand.warm_ups_since_clearing(40);
    by_hand.km_since_clearing(1200);
    for monitor in [Monitor::Misfire, Monitor::FuelSystem, Monitor::Components, Monitor::OxygenSensor, Monitor::EgrVvt]
    {
        by_hand.monitor(monitor, MonitorState::Complete);
    }
    for monitor in [Monitor::HeatedCatalyst, Monitor::SecondaryAir, Monitor::AirConditioning] {
        by_hand.monitor(monitor, MonitorState::Unsupported);
    }
    for monitor in [Monitor::Catalyst, Monitor::Evaporative] {
        by_hand.monitor(monitor, MonitorState::Incomplete);
    }
    let mut filled = engine.row();
    filled.fill(&car()).unwrap();
    assert_eq!(format!("{by_hand:?}"), format!("{filled:?}"));
    assert!(by_hand.model_year(1850).is_err());
    // What is cleared is not known.
    by_hand.clear();
    assert_eq!(format!("{by_hand:?}"), format!("{:?}", engine.row()));
    assert!(engine.judge(&by_hand).unwrap().possible().count() > 1);
    assert!(engine.judge(&program.row_engine(DAY).unwrap().row()).is_err());
}
