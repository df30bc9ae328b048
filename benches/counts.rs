//! Work in instructions: each piece of work by name, done once in a function that a profiler switches on and off. Times on
//! shared machines lie; instructions of one compiler do not. `benches/counts.sh` runs it and compares with what is kept.
#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark prints, and stops at the first wrong thing")]
#![allow(missing_docs, reason = "a benchmark has no readers of its documentation")]

use std::hint::black_box;
use wherefore::internals::bulk::{Documents, Engine, Options, Room};
use wherefore::internals::decode::{Options as Reading, decode};
use wherefore::internals::diagram::Compiled;
use wherefore::internals::document;
use wherefore::internals::program::{Given, Selection, select};
use wherefore::internals::{check, evaluate, source::Source, syntax};
use wherefore::{Date, Monitor, MonitorState, Programs, Snapshot};

const DAY: Date = Date::constant(2026, 11, 28);
const VAN: &str = include_str!("../examples/larkspur/van-7.json");
const TEXT: &str = include_str!("../policies/us/us-il.wherefore");
const CAPTURE: &[u8] = include_bytes!("../tests/decode/obdb/capture.log");

/// What is counted: what happens between the beginning and the end of this function.
#[inline(never)]
fn counted<T>(work: impl FnOnce() -> T) -> T {
    black_box(work())
}

/// The pieces of work.
const NAMES: [&str; 13] = [
    "parse",
    "check",
    "select",
    "document",
    "decode",
    "bound",
    "ruling",
    "ruling-again",
    "proof",
    "diagram",
    "row-known",
    "row-partly",
    "text-to-verdict",
];

fn main() {
    let Some(name) = std::env::args().nth(1).filter(|name| !name.starts_with('-')) else {
        println!("{}", NAMES.join("\n"));
        return;
    };
    let programs = Programs::built_in();
    let van = Snapshot::from_json(VAN.as_bytes()).unwrap();
    let source = Source::new("us-il", TEXT);
    let behind = || check::check(&syntax::parse(&source).file, &()).program.unwrap();
    let flat = || select(&behind(), &Selection::on(DAY)).unwrap();
    match name.as_str() {
        "parse" => assert!(counted(|| syntax::parse(&source)).diagnostics.is_empty()),
        "check" => {
            let parsed = syntax::parse(&source);
            assert!(counted(|| check::check(&parsed.file, &())).program.is_some());
        }
        "select" => {
            let program = behind();
            assert!(counted(|| select(&program, &Selection::on(DAY))).is_ok());
        }
        "document" => assert!(counted(|| document::read(VAN.as_bytes())).is_ok()),
        "decode" => assert!(counted(|| decode(CAPTURE, &Reading::default())).is_ok()),
        "bound" => {
            let (flat, snapshot) = (flat(), document::read(VAN.as_bytes()).unwrap().snapshot);
            let given = Given::of(&flat, &snapshot).unwrap();
            assert!(!counted(|| evaluate::verdict(&flat, &given)).is_empty());
        }
        "ruling" => {
            let program = programs.get("us-il").unwrap();
            assert!(counted(|| program.judge(&van)).is_ok());
        }
        // What is made of a program for its first ruling is there.
        "ruling-again" => {
            let program = programs.get("us-il").unwrap();
            assert!(program.judge(&van).is_ok());
            assert!(counted(|| program.judge(&van)).is_ok());
        }
        "proof" => {
            let program = programs.get("us-il").unwrap();
            let request = wherefore::Request::new().with_proof();
            assert!(counted(|| program.judge_with(&van, &request)).is_ok());
        }
        "diagram" => {
            let flat = flat();
            assert!(counted(|| Compiled::whole(&flat)).is_ok());
        }
        "row-known" | "row-partly" => {
            let engine = programs.get("us-md").unwrap().row_engine(DAY).unwrap();
            let mut row = engine.row();
            row.fill(&van).unwrap();
            if name == "row-partly" {
                row.clear();
                row.model_year(2016).unwrap();
                row.monitor(Monitor::Catalyst, MonitorState::Incomplete);
            }
            // What is made once is made before.
            assert!(engine.judge(&row).is_ok());
            assert!(counted(|| engine.judge(&row).map(|found| found.is_exact())).is_ok());
        }
        "text-to-verdict" => {
            let documents = Documents::new(Engine::new(&behind(), Options::default()).unwrap());
            let mut room = Room::default();
            assert!(documents.judge(VAN, &mut room).is_ok());
            assert!(counted(|| documents.judge(VAN, &mut room).is_ok()));
        }
        other => assert!(NAMES.contains(&other), "{other} is none of {}", NAMES.join(", ")),
    }
}
