//! Diagnostic messages to a snapshot: candump text, plain lines, tables, traces or packet captures in, facts with
//! their bytes out.
//!
//! [`decode`] reads bytes that a vehicle really sent, joins the answers of several ECUs by the
//! rules of obd-data.md section 1.9, adds what a person saw or knows ([`Options`]) and gives a
//! snapshot document, the provenance of each fact and flags on the quality of the data.
//!
//! It does not rule on anything, asks no vehicle anything, reads no file and no clock, and never
//! fills a gap: what was not answered stays not known. Silence is not zero.
//!
//! ```
//! use wherefore::internals::decode::{Options, decode};
//!
//! let decoded = decode(b"7E8 41 01 00 07 E5 00\n", &Options::default())?;
//! assert_eq!(decoded.document["monitors"]["catalyst"], "complete");
//! assert_eq!(decoded.document["lamp"]["commanded"], false);
//! // Codes were not asked for, so they are not known.
//! assert!(decoded.document.get("codes").is_none());
//! # Ok::<(), wherefore::internals::decode::DecodeError>(())
//! ```

mod aggregate;
mod asked;
mod candump;
mod clock;
mod codes;
mod collect;
mod columns;
mod counters;
mod ecu;
mod error;
mod facts;
mod form;
mod hex;
mod identity;
mod info;
mod isotp;
mod j1939;
mod legacy;
mod line;
mod monitors;
mod options;
mod packets;
mod quality;
mod services;
mod table;
mod trace;
mod uds;
pub mod vin;

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use aggregate::Vehicle;
use collect::Collected;
use facts::Facts;
use form::Form;

pub use codes::{CodeList, CodeSource};
pub use collect::RefusedLines;
pub use ecu::{
    EcuAnswers, EcuId, HeavyDutyReadiness, LampCommand, OtherResponder, Quantity, ReadinessGroup, Reading, VinAnswer,
};
pub use error::DecodeError;
pub use form::Unread;
pub use line::LineProblem;
pub use monitors::{MonitorStatus, MonitorTable, Monitors};
pub use options::{BulbCheck, Communication, Options, RunningLamp};
pub use quality::{Flag, LineNumbers};

/// How many line numbers of one flag the document shows; [`Decoded::flags`] has them all.
const LINES_SHOWN: usize = 100;

/// What was decoded.
#[derive(Debug, Clone, PartialEq)]
pub struct Decoded {
    /// The snapshot (`wherefore-snapshot/1`) with provenance under `from` and flags under
    /// `quality`.
    pub document: Value,
    /// All flags on the quality of the data, in the order in which they were raised.
    pub flags: Vec<Flag>,
    /// All lines that could not be read, by reason.
    pub refused: Vec<RefusedLines>,
    /// What each ECU answered.
    pub ecus: BTreeMap<EcuId, EcuAnswers>,
    /// Responders outside the ids of on-board diagnostics: listed, not joined.
    pub others: Vec<OtherResponder>,
}

/// Decodes diagnostic messages to a snapshot.
///
/// `input` is candump text (log or console form) or plain lines: an ECU id and a payload, service
/// byte first (`7E8 41 01 00 07 E5 00`), a legacy frame from header to checksum
/// (`48 6B 10 41 01 00 07 E1 E1 A3`), or a J1939 id and its data; lines with columns around the
/// frame (time, channel, direction, id, length, bytes). Forms may be mixed. Empty lines and lines
/// that start with `#` are passed over. Or a whole file of one form: a table (CSV) with names in its
/// first line, a trace of the forms `ASC` and `TRC`, a packet capture of SocketCAN (pcap, pcapng),
/// where the number of a packet stands for that of a line.
///
/// # Errors
/// Only where nothing can be used: empty input, input that is not text, no line with a message,
/// or bytes in swapped order. Anything else is a flag.
pub fn decode(input: &[u8], options: &Options) -> Result<Decoded, DecodeError> {
    let form = form::recognise(input)?;
    let text = if form == Form::Packets { input } else { error::text(input)? };
    let mut all = Collected::read(text, &form)?;
    error::usable(&all, text)?;
    for (problem, lines) in &all.refused {
        all.flags.over("line-not-read", problem.explain(), lines);
    }
    let mut facts = Facts::default();
    let mut flags = std::mem::take(&mut all.flags);
    let vehicle = Vehicle::new(&all.ecus);
    identity::said(options, &mut facts);
    match form {
        Form::Packets => clock::of_packets(all.first_second, options, &mut facts, &mut flags),
        _ => clock::date(text, options, &mut facts, &mut flags),
    }
    identity::link(&vehicle, options, &all.requests, &mut facts, &mut flags);
    aggregate::monitors(&vehicle, &mut facts, &mut flags);
    aggregate::this_cycle(&vehicle, &mut facts);
    aggregate::lamp(&vehicle, &mut facts, &mut flags);
    aggregate::codes(&vehicle, &all.requests, &mut facts, &mut flags);
    counters::counters(&vehicle, &mut facts, &mut flags);
    counters::requirement(&vehicle, &mut facts, &mut flags);
    counters::fuel_in_use(&vehicle, &mut facts, &mut flags);
    counters::odometer(&vehicle, &mut facts, &mut flags);
    identity::vin(&vehicle, options, &all.requests, &mut facts, &mut flags);
    identity::calibrations(&vehicle, &mut facts);
    identity::ignition(options, &mut facts, &mut flags);
    aggregate::waiting(&vehicle, &mut flags);
    aggregate::old(&vehicle, &all.requests, &mut flags);

    let flags = flags.into_vec();
    let mut document: Map<String, Value> = facts.into_document();
    document.insert("quality".into(), Value::Array(flags.iter().map(flag_json).collect()));
    Ok(Decoded {
        document: Value::Object(document),
        flags,
        refused: all.refused.into_iter().map(|(problem, lines)| RefusedLines { problem, lines }).collect(),
        ecus: all.ecus,
        others: all.others.into_values().collect(),
    })
}

fn flag_json(flag: &Flag) -> Value {
    let lines: Vec<usize> = flag.lines.iter().take(LINES_SHOWN).collect();
    let count = flag.lines.count();
    let message = if count > LINES_SHOWN {
        format!("{} (the first {LINES_SHOWN} of {count} lines are listed)", flag.message)
    } else {
        flag.message.clone()
    };
    json!({"flag": flag.slug, "message": message, "lines": lines})
}
