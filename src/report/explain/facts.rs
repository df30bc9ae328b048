//! Facts of the vocabulary: by their key, its last part, or their name in program files.

use super::{Explained, Kind, Known};
use crate::document::allowed;
use crate::model::table::FACTS;
use crate::model::{Fact, spec};
use crate::report::facts::in_programs;

pub(super) const KIND: Kind = Kind { word: "fact", names, explain };

fn names() -> Vec<String> {
    FACTS.iter().map(|row| row.key.to_owned()).collect()
}

/// The names of facts in program files.
pub(super) fn spoken() -> impl Iterator<Item = &'static str> {
    FACTS.iter().map(|row| row.name)
}

/// What a writer has to know of a fact's words.
const NOTES: [(Fact, &str); 3] = [
    (
        Fact::Communication,
        "`none` is a vehicle that does not answer at all, `unsupported-protocol` one that answers in a protocol that the \
         equipment does not know. A law that says *does not communicate* often means both: `communication is none or \
         unsupported-protocol`.",
    ),
    (
        Fact::Connector,
        "of a law's words, *tampered with* or *altered* is `tampered`, *damaged*, *does not work* or *without power* is \
         `inoperable`, *cannot be reached* is `inaccessible`.",
    ),
    (
        Fact::Visit,
        "a `retest` follows a test that the vehicle failed or that turned it away; whether it failed is told by `earlier \
         failure code`, and how often it was turned away by `earlier incomplete visits`.",
    ),
];

/// What the trade calls a fact, where that is another name.
const TRADE: [(&str, Fact); 8] = [
    ("mil", Fact::LampCommanded),
    ("malfunction lamp", Fact::LampCommanded),
    ("dlc", Fact::Connector),
    ("gvwr", Fact::GrossWeight),
    ("koeo", Fact::LampLitKeyOn),
    ("bulb check", Fact::LampLitKeyOn),
    ("vin", Fact::VinInData),
    ("warm-ups", Fact::WarmUps),
];

fn explain(name: &str, _: Known<'_>) -> Option<Explained> {
    let trade = || TRADE.iter().find(|(known, _)| *known == name).map(|(_, fact)| *fact);
    let last = |key: &str| key.rsplit('.').next() == Some(name);
    let row = FACTS.iter().find(|row| row.key == name || row.name == name);
    let row = row.or_else(|| {
        let mut found = FACTS.iter().filter(|row| last(row.key));
        found.next().filter(|_| found.next().is_none())
    });
    let spec = match row {
        Some(row) => *row,
        None => spec(trade()?),
    };
    let note = NOTES.iter().find(|(fact, _)| *fact == spec.fact).map(|(_, note)| ("note", (*note).to_owned()));
    let more = [
        ("question", spec.question.to_owned()),
        ("in programs", in_programs(&spec)),
        ("in snapshots", format!("{}: {}", spec.key, allowed(spec.fact))),
        ("told by", spec.observer.word().to_owned()),
    ];
    Some(Explained {
        name: spec.key.to_owned(),
        kind: KIND.word,
        what: format!("{}.", spec.about),
        more: more.into_iter().chain(note).collect(),
        before: None,
        after: None,
        practice: false,
    })
}
