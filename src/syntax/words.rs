//! The keywords of program files with an example each: for suggestions in messages, for completions in an editor, for a
//! fuzzer's dictionary. A test compares them with the grammar.

/// A keyword and an example of its use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Keyword {
    /// The keyword as a file has it.
    pub word: &'static str,
    /// An example, as a file has it; of one line.
    pub example: &'static str,
}

const fn word(word: &'static str, example: &'static str) -> Keyword {
    Keyword { word, example }
}

/// Words that begin an item, at the left margin.
pub const ITEMS: &[Keyword] = &[
    word("program", r#"program us-example "Example inspection program""#),
    word("source", r#"source r1 "1 EX 2.3" law, read 2026-11-25"#),
    word("in force", "in force from 2002-01-01"),
    word("outcomes", r#"outcomes pass, tailpipe (other-test) "tailpipe test", reject, fail"#),
    word("age", "age is test year less model year plus 1"),
    word("areas", r#"areas of "Texas""#),
    word("covers", "covers where model year 1996 or later"),
    word("leaves out", r#"leaves out where age at most 3: not-subject "too new""#),
    word("exempts", r#"exempts where class is motorcycle "motorcycles are exempt""#),
    word("sends to", r#"sends to tailpipe where gross weight above 14000 lb "too heavy""#),
    word("period", "period fail-list from 2013-07-01 through 2015-05-03"),
    word("change", r#"change readiness-2025 adopted, not in this file "All counted monitors must be complete.""#),
    word("due", r#"due where model year is even "even model years in even years""#),
    word("counts", "counts supported monitors that are not continuous"),
    word("excuses", "excuses each monitor incomplete earlier where visit is retest"),
    word("limit", "limit diesel"),
    word("clause", "clause lamp on lamp"),
    word("finding", "finding tried-again where earlier incomplete visits at least 1"),
    word("code group", "code group catalyst-codes: P0420 through P0439 digits only, P04Fx"),
    word("text silent on", "text silent on pending-codes, permanent-codes"),
    word("no rule applied on", "no rule applied on communication, text not seen"),
    word("adopts", "adopts us-model as amended"),
    word("question", r#"question doubt "Which reading of (d)?""#),
    word("option", r#"option allowance "Does the program take the allowance?": not-taken, taken"#),
    word("table", "table special-vehicles"),
    word("presumes", "presumes special-use is no where not known"),
    word("fact", "fact special-use: yes or no"),
    word("result", "result tailpipe-result: passed, failed"),
    word("outcome", "outcome fail becomes pass where tailpipe-result is passed"),
    word("consequence", r#"consequence extension after fail by readiness alone "30 days more""#),
    word("note", r#"note after fail "It may be driven home.""#),
    word("not expressible here", r#"not expressible here "drawn at random" could turn pass into fail"#),
    word("advice on", "advice on catalyst, oxygen-sensor"),
    word("ordinary", "ordinary sound car; model year 2010; gross weight 4500 lb"),
    word("case", r#"case "1998 sedan, three incomplete, first visit" on 2005-06-01"#),
    word("acknowledges", r#"acknowledges analysis/never-decides of readiness "kept by the law""#),
    word("replaces", "replaces clause lamp on lamp"),
];

/// Words that begin a property, on an indented line.
pub const PROPERTIES: &[Keyword] = &[
    word("per", r#"per r1 "(c)(2)", secondary"#),
    word("in force from", "in force from 2012-07-01"),
    word("in force through", "in force through 2019-12-31"),
    word("in force during", "in force during fail-list"),
    word("from", "from 2012-07-01"),
    word("through", "through 2019-12-31"),
    word("published", "published 2011-08-10"),
    word("draft", "draft of readiness-2025"),
    word("reviewed", r#"reviewed 2026-11-25 against "the texts themselves""#),
    word("could turn", "could turn pass into fail where hybrid"),
    word("every other clause", "every other clause gives way to lamp"),
    word("only if", "only if doubt is read as lenient"),
    word("authority", r#"authority "Example authority""#),
    word("language", "language 1"),
    word("standing", "standing checked"),
    word("adopted only", "adopted only"),
    word("concerns", "concerns fuel is gasoline"),
    word("where", "where not plug-in"),
    word("requires", "requires accepted, or else tailpipe"),
    word("gives way to", "gives way to any fail"),
    word("taken", r#"taken strict "the text is plain""#),
    word("left open", r#"left open "two texts disagree""#),
    word("chosen", "chosen taken"),
    word("with", "with allowance not-taken"),
    word("strikes", "strikes clause bulb"),
    word("their", "their reject is our fail"),
    word("rows from", r#"rows from "special-vehicles.csv""#),
    word("observed by", "observed by papers"),
    word("asks", r#"asks "Is it registered for special use?""#),
    word("takes", "takes 10 through 30 minutes"),
    word("first", r#"first "engine fully warm""#),
    word("caution", r#"caution "Obey traffic law.""#),
    word("on", "on 2005-06-01"),
    word("known on", "known on 2005-06-01"),
    word("take", "take doubt strict"),
    word("facts", "facts model year 1998; otherwise ordinary"),
    word("expect", r#"expect pass or fail by readiness per r1 "(c)(1)""#),
    word("brings", "brings no extension"),
    word("is due", "is due"),
    word("follows from", r#"follows from r1 "(c)(1)""#),
];

/// Keywords of older files, which are read and no longer written: each with its first words today.
pub const OLDER: &[(&str, &str)] = &[
    ("unread on", "no rule applied on"),
    ("text not seen on", "no rule applied on"),
    ("silent on", "text silent on"),
    ("consequence record", "note"),
    ("under", "only if"),
    ("in", "in force during"),
    ("taken none", "left open"),
];

/// What a clause may be about.
pub const TOPICS: &[&str] = &[
    "connector",
    "communication",
    "identity",
    "bulb-check",
    "lamp",
    "stored-codes",
    "pending-codes",
    "permanent-codes",
    "since-clearing",
    "readiness",
    "readiness-at-retest",
    "other",
];
/// Kinds of text that lines rest on.
pub const SOURCE_KINDS: &[&str] = &["law", "guidance", "notice", "data", "practice", "memory"];
/// How a text may have been seen.
pub const SEEN: &[&str] =
    &["read", "read in part", "read on a copy", "by absence", "inferred", "secondary", "from memory"];
/// Classes that an outcome of the ladder may have.
pub const CLASSES: &[&str] = &["pass", "conditional", "other-test", "reject", "fail"];
/// Kinds of consequence.
pub const CONSEQUENCE_KINDS: &[&str] = &["extension", "waiver", "free-retest", "further-test", "record"];
/// What a file may say of its own standing.
pub const STANDINGS: &[&str] = &["draft", "digest-checked", "checked", "withdrawn"];
/// How current a text may be, where it is not the one in force.
pub const CURRENCIES: &[&str] = &["older text", "proposed text", "superseded"];
/// How far an announced change may have come.
pub const CHANGES: &[&str] = &["adopted", "reported", "proposed"];
/// Who can tell a fact.
pub const OBSERVERS: &[&str] = &["reader", "look", "papers", "visit"];
/// Units, as files have them in the plural.
pub const UNITS: &[&str] = &["lb", "kg", "km", "miles", "minutes", "hours", "days"];

/// Words of the trade, in lower case, and what program files say for them.
pub const TRADE: &[(&str, &str)] = &[
    ("mil is on", "lamp commanded on"),
    ("mil is off", "lamp not commanded on"),
    ("mil commanded on", "lamp commanded on"),
    ("mil on", "lamp commanded on"),
    ("mil off", "lamp not commanded on"),
    ("mil", "lamp commanded on"),
    ("cel on", "lamp commanded on"),
    ("cel", "lamp commanded on"),
    ("check engine light on", "lamp commanded on"),
    ("check engine light", "lamp commanded on"),
    ("check-engine", "lamp commanded on"),
    ("lamp is on", "lamp commanded on"),
    ("lamp is off", "lamp not commanded on"),
    ("lamp on", "lamp commanded on"),
    ("lamp off", "lamp not commanded on"),
    ("dtcs", "any stored code"),
    ("dtc", "any stored code"),
    ("gvwr", "gross weight"),
    ("gvw", "gross weight"),
    ("weight", "gross weight"),
    ("dlc", "connector"),
    ("obd port", "connector"),
    ("my", "model year"),
    ("year", "model year"),
    ("mileage", "odometer"),
    ("miles", "odometer"),
    ("county", "area"),
    ("hev", "hybrid"),
    ("phev", "plug-in"),
    ("bev", "fuel is electric"),
    ("gas", "gasoline"),
    ("petrol", "gasoline"),
    ("cng", "natural-gas"),
    ("lng", "natural-gas"),
    ("lpg", "propane"),
    ("ev", "electric"),
    ("evap", "evaporative"),
    ("cat", "catalyst"),
    ("catalytic converter", "catalyst"),
    ("o2", "oxygen-sensor"),
    ("o2-sensor", "oxygen-sensor"),
    ("o2s", "oxygen-sensor"),
    ("oxygen sensor", "oxygen-sensor"),
    ("htr", "oxygen-sensor-heater"),
    ("o2-heater", "oxygen-sensor-heater"),
    ("egr", "egr-vvt"),
    ("vvt", "egr-vvt"),
    ("air", "secondary-air"),
    ("ac", "air-conditioning"),
    ("ccm", "components"),
    ("comprehensive", "components"),
    ("fuel system", "fuel-system"),
    ("heated catalyst", "heated-catalyst"),
    ("not ready", "incomplete"),
    ("not-ready", "incomplete"),
    ("ready", "supported and complete"),
    ("incomplete monitors", "counted monitors are incomplete"),
    ("not complete", "incomplete"),
    ("not supported", "unsupported"),
    ("n/a", "unsupported"),
    ("passenger car", "light-duty"),
    ("ldv", "light-duty"),
    ("ldt", "light-truck"),
    ("mdpv", "medium-duty-passenger"),
    ("hdv", "heavy-duty"),
    ("motorcycles", "motorcycle"),
    ("reinspection", "retest"),
    ("first", "initial"),
    ("mil-lamp", "lamp"),
    ("readiness-monitors", "readiness"),
    ("monitors", "readiness"),
    ("bulb", "bulb-check"),
    ("koeo", "bulb-check"),
    ("codes", "stored-codes"),
    ("vin", "identity"),
];

/// A thing of a file, such as the subject of a warning, with the keyword of today that it begins with.
#[must_use]
pub fn of_today(thing: &str) -> String {
    let rest = |older: &str| thing.strip_prefix(older).filter(|rest| rest.starts_with(' '));
    let found = OLDER.iter().find_map(|(older, today)| Some(format!("{today}{}", rest(older)?)));
    found.unwrap_or_else(|| thing.to_owned())
}

/// Whether a text is a code of five places.
pub(super) fn is_code(text: &str) -> bool {
    text.len() == 5
        && text.starts_with(['P', 'B', 'C', 'U'])
        && text.chars().skip(1).all(|mark| mark.is_ascii_hexdigit())
}

/// What a program file says for codes joined by a hyphen, `P0420-P0439` or `P0420-39`.
#[must_use]
pub fn code_range(text: &str) -> Option<String> {
    let large = text.to_ascii_uppercase();
    let (first, last) = large.split_once('-').filter(|(first, last)| is_code(first) && !last.is_empty())?;
    // The end of a code stands for the whole.
    let kept = if is_code(last) { "" } else { first.get(..first.len().checked_sub(last.len())?)? };
    let last = format!("{kept}{last}");
    is_code(&last).then(|| format!("{first} through {last} digits only"))
}

/// What a program file says for a word of the trade that a text begins with: the length of what is said, and what is
/// written for it.
#[must_use]
pub fn trade(text: &str) -> Option<(usize, &'static str)> {
    let lower = text.lines().next().unwrap_or("").to_ascii_lowercase();
    let ends = |rest: &str| !rest.starts_with(is_name_character);
    let said = TRADE.iter().filter(|(said, _)| lower.strip_prefix(said).is_some_and(ends));
    said.max_by_key(|(said, _)| said.len()).map(|(said, written)| (said.len(), *written))
}

/// Whether a text begins with a keyword, the words of which may stand apart by any space.
pub(super) fn begins_with(text: &str, keyword: &str) -> bool {
    let mut rest = text;
    for (at, part) in keyword.split(' ').enumerate() {
        if at > 0 {
            let trimmed = rest.trim_start();
            if trimmed.len() == rest.len() {
                return false;
            }
            rest = trimmed;
        }
        match rest.strip_prefix(part) {
            Some(after) if !after.starts_with(is_name_character) => rest = after,
            _ => return false,
        }
    }
    true
}

/// Whether a character can stand in a word.
pub(super) fn is_name_character(character: char) -> bool {
    character.is_ascii_alphanumeric() || character == '-' || character == '_'
}
