//! Numbers of monitors, facts and messages as parts of a sentence.

use crate::model::{Fact, FactSpec, FactType, Monitor, spec};
use crate::program::FactRef;

/// `2 monitors incomplete (catalyst, evaporative); 1 is allowed`, of a count over its limit.
pub(super) fn monitors_over(what: &str, value: &str, limit: &str) -> Option<String> {
    let (number, names) = value.split_once(' ').unwrap_or((value, ""));
    let count: i64 = number.parse().ok()?;
    let many = if count == 1 { "monitor" } else { "monitors" };
    let names = if names.is_empty() { String::new() } else { format!(" {}", spoken(names)) };
    let is = |most: &str| match most {
        "0" => "none is allowed".to_owned(),
        "1" => "1 is allowed".to_owned(),
        most => format!("{most} are allowed"),
    };
    if let Some(others) = what.strip_prefix("incomplete counted monitors other than ") {
        return Some(format!("{count} {many} incomplete{names}; only {others} may be"));
    }
    match (what, limit.strip_prefix("at most "), limit.strip_prefix("at least ")) {
        ("incomplete counted monitors" | "counted monitors that are incomplete", Some(most), _) => {
            Some(format!("{count} {many} incomplete{names}; {}", is(most)))
        }
        ("complete counted monitors" | "counted monitors that are complete", _, Some(least)) => {
            Some(format!("{count} {many} complete{names}; at least {least} must be"))
        }
        _ => None,
    }
}

/// Names of monitors parted by `, `, in brackets or not, as a person would say them.
pub(super) fn spoken(names: &str) -> String {
    let one = |name: &str| {
        let bare = name.trim_matches(['(', ')']);
        Monitor::named(bare).map_or_else(|| name.to_owned(), |monitor| name.replace(bare, &monitor.spoken()))
    };
    names.split(", ").map(one).collect::<Vec<_>>().join(", ")
}

/// The first sentence, to go on from a colon.
pub(super) fn first_sentence(message: &str) -> String {
    let end = message.find(". ").unwrap_or(message.len());
    let text = message.get(..end).unwrap_or(message).trim_end_matches('.');
    let mut letters = text.chars();
    let Some(first) = letters.next() else { return String::new() };
    // A name or a word of capitals keeps its capital.
    let next_is_small = letters.clone().next().is_none_or(|next| next.is_lowercase() || next == ' ');
    if next_is_small { first.to_lowercase().chain(letters).collect() } else { text.to_owned() }
}

/// A fact with its value as a clause of a sentence.
pub(super) fn clause(fact: &FactRef<usize>, phrase: &str) -> String {
    let FactRef::Known(known) = fact else {
        let has_article = phrase.starts_with("the ");
        return if has_article { phrase.to_owned() } else { format!("the {phrase}") };
    };
    if let Some(rest) = phrase.strip_prefix("malfunction lamp ") {
        // The bulb check is made before cranking: a lamp that stays on is not what is wanted.
        return match rest {
            "lit with the key on" => "the malfunction lamp comes on with the key on (engine off)".to_owned(),
            "dark with the engine running" => "the malfunction lamp goes out with the engine running".to_owned(),
            _ => format!("the malfunction lamp is {rest}"),
        };
    }
    match (known, phrase) {
        (Fact::Connector, _) => {
            format!("the diagnostic {}", phrase.replacen("connector", "connector under the dashboard", 1))
        }
        (Fact::Hybrid | Fact::PlugIn, _) => match phrase.strip_prefix("not ") {
            Some(rest) => format!("it is not a {rest}"),
            None => format!("it is a {phrase}"),
        },
        (Fact::Visit, "visit is initial") => "this is not a retest".to_owned(),
        (Fact::Visit, "visit is retest") => "this is a retest".to_owned(),
        (Fact::EarlierCodes, "no code at the inspection before") => {
            "there was no code at the inspection before".to_owned()
        }
        (Fact::VinInData, _) => format!("the {}", phrase.replacen("VIN ", "VIN is ", 1)),
        (Fact::Communication, "communication is established") => "it answers on its connector".to_owned(),
        (_, _) if phrase.starts_with("no ") => format!("there is {phrase}"),
        (_, _) => {
            let FactSpec { name, kind, .. } = spec(*known);
            let is_number = matches!(kind, FactType::Number { .. } | FactType::Date);
            match phrase.strip_prefix(name).filter(|_| is_number) {
                Some(value) => format!("the {name} is{value}"),
                None => format!("the {phrase}"),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{FactRef, clause};
    use crate::model::Fact;
    use rstest::rstest;

    // Read aloud behind "if" and "that".
    #[rstest]
    #[case(Fact::Connector, "connector is intact", "the diagnostic connector under the dashboard is intact")]
    #[case(
        Fact::LampLitKeyOn,
        "malfunction lamp lit with the key on",
        "the malfunction lamp comes on with the key on (engine off)"
    )]
    #[case(Fact::LampCommanded, "malfunction lamp not commanded on", "the malfunction lamp is not commanded on")]
    #[case(Fact::Hybrid, "not hybrid", "it is not a hybrid")]
    #[case(Fact::PlugIn, "plug-in", "it is a plug-in")]
    #[case(Fact::Visit, "visit is initial", "this is not a retest")]
    #[case(Fact::PendingCodes, "no pending code", "there is no pending code")]
    #[case(Fact::EarlierCodes, "no code at the inspection before", "there was no code at the inspection before")]
    #[case(Fact::GrossWeight, "gross weight at most 8500 lb", "the gross weight is at most 8500 lb")]
    #[case(Fact::ModelYear, "model year 2004", "the model year is 2004")]
    #[case(Fact::HoursSincePrevious, "time since the previous test 48 h", "the time since the previous test is 48 h")]
    #[case(Fact::VinMatches, "VIN matches", "the VIN matches")]
    #[case(Fact::VinInData, "VIN in the data", "the VIN is in the data")]
    #[case(Fact::Communication, "communication is established", "it answers on its connector")]
    #[case(Fact::Purpose, "purpose is renewal", "the purpose is renewal")]
    fn a_fact_is_a_clause(#[case] fact: Fact, #[case] phrase: &str, #[case] wanted: &str) {
        assert_eq!(clause(&FactRef::Known(fact), phrase), wanted);
    }

    #[rstest]
    #[case("exhaust is sound", "the exhaust is sound")]
    #[case("the answer to \"Is it registered?\" is no", "the answer to \"Is it registered?\" is no")]
    fn so_is_a_declared_one(#[case] phrase: &str, #[case] wanted: &str) {
        assert_eq!(clause(&FactRef::Declared(0), phrase), wanted);
    }
}
