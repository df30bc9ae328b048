//! What the parts of a line are, and which of them is being written.

use super::complete::Cursor;
use super::document::Document;
use lsp_types::{ParameterInformation, ParameterLabel, Position, SignatureHelp, SignatureInformation};

/// A line: the keyword it begins with, then its parts, each with the words that it begins with.
type Form = (&'static str, &'static [&'static str]);

const ITEMS: &[Form] = &[
    ("program", &["ID", "\"TITLE\""]),
    ("source", &["ID", "\"TITLE\"", "KIND", ", SEEN DATE", ", at \"ADDRESS\""]),
    ("clause", &["ID", "on TOPIC"]),
    ("case", &["\"TITLE\"", "on DATE"]),
    ("covers", &["where CONDITION"]),
    ("leaves out", &["where CONDITION", ": OUTCOME", "\"WHY\""]),
    ("exempts", &["where CONDITION", "\"WHY\""]),
    ("sends to", &["OUTCOME", "where CONDITION", "\"WHY\""]),
    ("due", &["every N years", "where CONDITION", "\"WHY\""]),
    ("excuses", &["MONITORS", "where CONDITION"]),
    ("finding", &["ID", "where CONDITION"]),
    ("code group", &["ID", ": CODES", "; text not seen on CODES"]),
    ("text silent on", &["TOPICS"]),
    ("no rule applied on", &["TOPICS", ", text not seen"]),
    ("question", &["ID", "\"QUESTION\""]),
    ("option", &["ID", "\"WHAT IS CHOSEN\"", ": VALUES"]),
    ("presumes", &["FACT is VALUE", "where not known", "and CONDITION"]),
    ("outcome", &["OUTCOME", "becomes OUTCOME", "where CONDITION"]),
    ("consequence", &["KIND", "after OUTCOME", "by CLAUSE", "where CONDITION", "\"WORDS\""]),
    ("note", &["after OUTCOME", "by CLAUSE", "where CONDITION", "\"WORDS\""]),
    ("not expressible here", &["\"WORDS\"", "could turn OUTCOMES", "into OUTCOMES", "where CONDITION"]),
    ("change", &["ID", "adopted", ", not in this file", "\"WORDS\""]),
    ("acknowledges", &["FINDING", "of SUBJECT", "\"REASON\""]),
    ("fact", &["ID", ": TYPE"]),
];

const LINES: &[Form] = &[
    ("requires", &["CONDITION", ", or else OUTCOME"]),
    ("per", &["SOURCE", "\"LOCATOR\"", ", SEEN", "from DATE", "through DATE"]),
    ("in force from", &["DATE", "through DATE"]),
    ("only if", &["QUESTION", "is read as READING"]),
    ("gives way to", &["CLAUSE"]),
    ("expect", &["OUTCOME", "or OUTCOME", "by CLAUSE", "per SOURCE"]),
    ("reading", &["ID", "\"WORDS\""]),
    ("could turn", &["OUTCOMES", "into OUTCOMES", "where CONDITION"]),
    ("takes", &["N", "through N minutes"]),
];

const LINE: Form = ("", &["OUTCOME", "where CONDITION"]);
const LIMIT_ROW: Form = ("", &["CONDITION", ": at most N incomplete", ", only MONITORS"]);
const TABLE_ROW: Form = ("", &["CONDITION", ": excuses MONITORS", "; codes CODES"]);

/// The form of the line at a place.
pub(super) fn signature(doc: &Document, position: Position) -> Option<SignatureHelp> {
    let byte = doc.lines.byte(&doc.text, position);
    let line = doc.lines.line_of(byte);
    let before = doc.text.get(doc.lines.start(&doc.text, line)..byte)?;
    let text = before.trim_start();
    let is_item = text.len() == before.len();
    let is_bullet = text.starts_with('-');
    let text = text.trim_start_matches(['-', ' ']);
    if text.starts_with('#') || text.is_empty() {
        return None;
    }
    let item = Cursor::new(doc, line, before).item();
    let starts = |form: &&Form| text.strip_prefix(form.0).is_some_and(|rest| rest.starts_with(' '));
    let found = if is_item { ITEMS.iter().find(starts) } else { LINES.iter().find(starts) };
    let form = match (found, item, is_item, is_bullet) {
        (Some(form), ..) => form,
        (None, "limit", false, true) => &LIMIT_ROW,
        (None, "table", false, true) => &TABLE_ROW,
        (None, "clause", false, _) if text.contains(' ') => &LINE,
        _ => return None,
    };
    Some(help(form, text.strip_prefix(form.0).unwrap_or(text)))
}

fn help((keyword, parts): &Form, written: &str) -> SignatureHelp {
    let label = [*keyword].into_iter().filter(|word| !word.is_empty()).chain(parts.iter().copied());
    let label = label.collect::<Vec<_>>().join(" ").replace(" ,", ",").replace(" :", ":").replace(" ;", ";");
    // The part that is being written is the last one of which the first word stands there.
    let mut active = 0;
    let mut rest = written;
    for (at, part) in parts.iter().enumerate().skip(1) {
        let first = part.split(' ').next().unwrap_or("");
        let mark = if first.starts_with('"') { "\"" } else { first };
        let is_name = mark.chars().all(|mark| mark.is_ascii_uppercase());
        let found = match is_name {
            true => rest.trim_start().find(' ').map(|at| at + rest.len() - rest.trim_start().len()),
            false => rest.find(mark).map(|at| at + mark.len()),
        };
        if let Some(end) = found {
            active = at;
            rest = rest.get(end..).unwrap_or("");
        }
    }
    let shown = |part: &str| part.trim_start_matches([',', ':', ';', ' ']).to_owned();
    let parameters = parts
        .iter()
        .map(|part| ParameterInformation { label: ParameterLabel::Simple(shown(part)), documentation: None });
    SignatureHelp {
        signatures: vec![SignatureInformation {
            label,
            documentation: None,
            parameters: Some(parameters.collect()),
            active_parameter: Some(super::place::number(active)),
        }],
        active_signature: Some(0),
        active_parameter: Some(super::place::number(active)),
    }
}
