//! Facts of the vocabulary: by their key, its last part, or their name in program files.

use super::{Explained, Kind, Known};
use crate::document::allowed;
use crate::model::table::FACTS;
use crate::model::{Fact, spec};

pub(super) const KIND: Kind = Kind { word: "fact", names, explain };

fn names() -> Vec<String> {
    FACTS.iter().map(|row| row.key.to_owned()).collect()
}

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
    Some(Explained {
        name: spec.key.to_owned(),
        kind: KIND.word,
        what: format!("{}.", spec.about),
        more: vec![
            ("question", spec.question.to_owned()),
            ("values", allowed(spec.fact)),
            ("told by", spec.observer.word().to_owned()),
        ],
        before: None,
        after: None,
        practice: false,
    })
}
