//! Numbers of monitors and messages as parts of a sentence.

use crate::model::Monitor;

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
