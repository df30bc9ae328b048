//! Words of the trade that reports and people use and that no other kind of name has.

use super::{Explained, Kind, Known};

pub(super) const KIND: Kind = Kind { word: "word", names, explain };

/// A word, other ways to say it, what it is, what a person does with it. Common practice of the trade, but where a text is
/// named.
type Word = (&'static str, &'static [&'static str], &'static str, &'static str);

const WORDS: [Word; 9] = [
    (
        "monitor",
        &["monitors", "readiness monitor", "self-check", "self check"],
        "a self-check that the vehicle's own computer runs while it is driven, each of one part of the emission control; it is \
         complete once it has run to its end since codes were cleared, and incomplete (not ready) until then",
        "`wherefore explain catalyst` and the other names tell what each needs to run",
    ),
    (
        "reject",
        &["rejected", "rejection", "turned away"],
        "the vehicle is sent away without a result: neither a pass nor a fail, since the test could not be made or does not \
         count",
        "see to what was named and return; what becomes of the fee and of the date that it is due is the program's",
    ),
    (
        "scan-tool",
        &["scan tool", "reader", "code reader", "scanner"],
        "what is plugged into the diagnostic connector (DLC) and shows lamp, codes and monitors (SAE J1978 describes one)",
        "read the vehicle before the visit; what this program calls read on the vehicle is read with it",
    ),
    (
        "dynamometer",
        &["dynamometer test", "im240", "im 240", "rollers"],
        "a test of what leaves the tailpipe, driven with the wheels on rollers; IM240 lasts 240 seconds",
        "go with a warm engine and sound tires; the station drives",
    ),
    (
        "tailpipe",
        &["tailpipe test", "exhaust test", "idle test", "two-speed idle"],
        "a test of what leaves the tailpipe, with a probe in it; at idle, or driven",
        "go with a warm engine",
    ),
    (
        "koeo",
        &["key on engine off", "key on"],
        "key on, engine off: the lamps light before the engine is started, and a lamp that can warn is among them",
        "look before cranking",
    ),
    (
        "gross-weight",
        &["gvwr", "gross vehicle weight rating"],
        "the most that the vehicle may weigh loaded, as its maker rates it (GVWR); not what it weighs empty",
        "it stands on the label at the driver's door",
    ),
    (
        "warm-up",
        &["warm-ups", "warmup", "warmups", "warm-up cycle"],
        "a start with the engine cold and a drive until it is warm; the vehicle counts them since codes were cleared",
        "a cold start in the morning and one in the evening make two a day",
    ),
    (
        "retest",
        &["repeat test", "second visit"],
        "a test that follows one that the vehicle did not pass; some programs ask more of it, of the monitor that watches what was \
         repaired first of all",
        "bring the paper of the test before",
    ),
];

fn names() -> Vec<String> {
    WORDS.iter().map(|(word, ..)| (*word).to_owned()).collect()
}

fn explain(name: &str, _: Known<'_>) -> Option<Explained> {
    let (word, _, what, to_do) = WORDS.iter().find(|(word, others, ..)| *word == name || others.contains(&name))?;
    Some(Explained::of_practice(KIND, word, what, &[("to do", to_do)]))
}
