//! Records of vehicles that did not answer, with reader's columns that the file fills all the same: left unread, counted.

use super::{exit, folder, run, text};
use rstest::rstest;

const MAPPING: &str = "format = \"wherefore-mapping/1\"\n[columns]\nid = {holds = \"record-id\"}\nd = \"visit.date\"\n\
    y = \"vehicle.model_year\"\nfuel = {fact = \"vehicle.fuel\", words = {G = \"gasoline\"}}\n\
    answers = {fact = \"communication\", words = {Y = \"established\", N = \"none\"}}\n\
    lamp = {fact = \"lamp.commanded\", words = {Y = \"yes\", N = \"no\"}}\n\
    cat = {fact = \"monitors.catalyst\", words = {R = \"complete\", N = \"incomplete\", U = \"unsupported\"}}\n\
    km = \"since_clear.distance_km\"\ncodes = \"codes.stored\"\nstatus = {holds = \"pid-01\"}\n\
    [constants]\n\"vehicle.gross_weight_lb\" = 4500\n\"connector\" = \"intact\"\n\"lamp.lit_key_on_engine_off\" = true\n";
const HEADER: &str = "id,d,y,fuel,answers,lamp,cat,km,codes,status\n";

fn audited(records: &str) -> (i32, serde_json::Value, String) {
    let folder = folder("silent");
    let (file, mapping, out) = (folder.join("a.csv"), folder.join("m.toml"), folder.join("out.csv"));
    std::fs::write(&file, HEADER.to_owned() + records).unwrap();
    std::fs::write(&mapping, MAPPING).unwrap();
    let mut args = vec!["--mapping", mapping.to_str().unwrap(), "--program", "us-de", "--format", "json"];
    args.extend(["--out", out.to_str().unwrap(), file.to_str().unwrap()]);
    let output = run(&args);
    let summary = serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{}", text(&output.stderr)));
    (exit(&output), summary, std::fs::read_to_string(&out).unwrap())
}

/// The outcomes of a record, without its place.
fn outcome(out: &str, id: &str) -> String {
    let line = out.lines().find(|line| line.split(',').any(|field| field == id)).unwrap_or_else(|| panic!("{out}"));
    line.split(',').skip_while(|field| *field != id).skip(1).collect::<Vec<_>>().join(",")
}

/// What a file writes of a vehicle that did not answer changes nothing; a vehicle that answered is read.
#[rstest]
#[case::all_defaults("N,U,0,,00000000", 1)]
#[case::a_lamp("Y,,,,", 1)]
#[case::a_monitor(",N,,,", 1)]
#[case::a_distance(",,1200,,", 1)]
#[case::a_code(",,,P0301,", 1)]
#[case::bytes(",,,,8107E504", 1)]
#[case::nothing_that_a_reader_tells("N,U,,,", 0)]
#[case::nothing(",,,,", 0)]
fn reader_columns_of_a_silent_vehicle_are_left_unread(#[case] columns: &str, #[case] counted: u64) {
    let records = format!(
        "plain,2026-03-02,2014,G,N,,,,,\ntried,2026-03-02,2014,G,N,{columns}\nheard,2026-03-02,2014,G,Y,Y,,,P0301,\n"
    );
    let (code, summary, out) = audited(&records);
    assert_eq!((code, &summary["judged"], &summary["set_aside"]), (0, &3.into(), &0.into()), "{summary:#}");
    assert_eq!(summary["silent_with_readings"], counted, "{summary:#}");
    assert_eq!(outcome(&out, "tried"), outcome(&out, "plain"), "{out}");
    assert!(outcome(&out, "heard").contains("lamp"), "{out}");
    assert!(!outcome(&out, "tried").contains("lamp"), "{out}");
}
