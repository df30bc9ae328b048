//! `wherefore decode`: diagnostic messages to a snapshot.

use super::at_lines;
use crate::cli::args::{Answers, Bulb, Decode, Running};
use crate::cli::{Exit, files, print};
use crate::decode::{BulbCheck, Communication, Options, RunningLamp, decode};
use crate::document::answer::iso;
use crate::document::{self, Node};
use crate::model::{Fact, alias};

/// Largest capture, in bytes (256 MiB).
const MAX_BYTES: u64 = 256 << 20;

pub(crate) fn run(args: &Decode) -> Exit {
    let bytes = match files::read(&args.file, MAX_BYTES) {
        Ok(bytes) => bytes,
        Err(message) => {
            print::error(&message);
            return Exit::Unusable;
        }
    };
    let name = files::shown(&args.file);
    let decoded = match decode(&bytes, &options(args)) {
        Ok(decoded) => decoded,
        Err(error) => {
            print::error(&format!("{name}: {error}"));
            return Exit::Unusable;
        }
    };
    // Reading the document checks what a person said against the vocabulary, and puts the keys in order.
    let document = match document::read_tree(&Node::from(&decoded.document)) {
        Ok(document) => document,
        Err(faults) => {
            for fault in faults {
                print::error(&fault.to_string());
            }
            return Exit::Unusable;
        }
    };
    // In a pipe the notes travel with the snapshot, and whoever rules on it tells them: once is enough.
    if !print::is_piped() {
        for flag in &decoded.flags {
            print::message(&format!("note: {}{} [{}]", at_lines(flag.lines.iter()), flag.message, flag.slug));
        }
    }
    let text = serde_json::to_string_pretty(&document::write(&document)).unwrap_or_default() + "\n";
    print::data(&text);
    Exit::Good
}

/// The word that a short form of the trade stands for, or what was typed.
fn word(fact: Fact, typed: Option<&String>) -> Option<String> {
    typed.map(|typed| alias::word(fact, typed).map_or_else(|| typed.clone(), str::to_owned))
}

fn options(args: &Decode) -> Options {
    Options {
        model_year: args.model_year,
        fuel: word(Fact::Fuel, args.fuel.as_ref()),
        gross_weight_lb: args.weight_lb,
        class: word(Fact::Class, args.class.as_ref()),
        vin: args.vin.clone(),
        date: args.date.as_ref().map(|date| iso(date).unwrap_or_else(|| date.clone())),
        visit_kind: args.visit.clone(),
        area: args.area.clone(),
        odometer_km: args.odometer_km,
        lamp_bulb: args.lamp_bulb.map(|bulb| match bulb {
            Bulb::Lit => BulbCheck::Ok,
            Bulb::Dark => BulbCheck::Dark,
        }),
        lamp_running: args.lamp_running.map(|lamp| match lamp {
            Running::Lit => RunningLamp::Lit,
            Running::Dark => RunningLamp::Dark,
            Running::Flashing => RunningLamp::Flashing,
        }),
        connector: word(Fact::Connector, args.connector.as_ref()),
        communication: args.communication.map(|answers| match answers {
            Answers::Yes => Communication::Yes,
            Answers::No => Communication::No,
            Answers::UnsupportedProtocol => Communication::UnsupportedProtocol,
        }),
    }
}
