//! What people leave out or say in words of their own: the end of a row, a value of several words.

use super::grammar::Rule;
use super::slips::told;
use super::stop::Stop;
use super::words::{self, is_name_character};
use crate::diagnostic::Diagnostic;
use crate::model::table::FACTS;
use crate::model::{FactType, Monitor};
use crate::source::Span;

/// Words that go on behind the values of a fact.
const BEHIND: [&str; 4] = ["and", "or", "where", "not"];

/// `- make is "Brand" and model year 1996`: a row that ends before it says what for.
pub(super) fn row(stop: &Stop<'_>) -> Option<Diagnostic> {
    let is_row = stop.found().is_empty() && stop.expects(Rule::colon);
    let ends = |message: &str, help: &str| Diagnostic::error("syntax/ends-early", stop.span(), message).help(help);
    if is_row && stop.head.starts_with("table ") {
        let help = "end the row with `: excuses MONITOR`, `: codes CODE` or both; vehicles that a text only names are a \
                    `finding` with `any of` and a bullet for each";
        return Some(ends("a row of a table must excuse monitors or give codes", help));
    }
    (is_row && stop.head.starts_with("limit")).then(|| {
        ends(
            "a row of a limit must say what it allows",
            "end the row with `: at most 1 incomplete`, `: none incomplete` or `: number not seen`",
        )
    })
}

/// `at most 1 only evaporative`: without its comma what the law restricts would be taken out with the word.
pub(super) fn only(stop: &Stop<'_>) -> Option<Diagnostic> {
    let before = stop.before();
    let is_only =
        stop.found() == "only" && stop.expects(Rule::comma) && before.ends_with(|it: char| it.is_ascii_digit());
    is_only.then(|| {
        let end = stop.previous_span().end;
        let error = Diagnostic::error("syntax/other-words", stop.span(), "a comma is missing before `only`");
        error.help("write `at most 1, only MONITOR, …`").fix(Span { start: end, end }, ",")
    })
}

/// Whether a word is the first of a test: behind `or` it is no value of the fact before.
fn begins_a_test(word: &str) -> bool {
    let first = |text: &str| text.split(' ').next() == Some(word);
    let of_facts = FACTS
        .iter()
        .any(|row| first(row.name) || matches!(row.kind, FactType::YesNo { yes, no } if first(yes) || first(no)));
    of_facts || ["any", "every", "no", "age", "at", "too"].contains(&word) || Monitor::named(word).is_some()
}

/// `connector is out of reach`: a value in words of one's own, where the fact has its words.
pub(super) fn value(stop: &Stop<'_>) -> Option<Diagnostic> {
    let found = stop.found();
    if !found.starts_with(char::is_alphabetic) || BEHIND.contains(&found) || stop.begins_line() {
        return None;
    }
    let before = stop.before();
    let is = before.rfind(" is ")?;
    let subject = before.get(..is)?;
    let row = FACTS.iter().filter(|row| {
        let rest = subject.strip_suffix(row.name);
        rest.is_some_and(|rest| !rest.ends_with(is_name_character))
    });
    // `fuel in use` ends as no other name does; the longest is the one that is meant.
    let row = row.max_by_key(|row| row.name.len())?;
    let FactType::Words(words) = row.kind else { return None };
    let values = before.get(is + " is ".len()..)?;
    let is_list = values.chars().all(|mark| is_name_character(mark) || mark == ' ' || mark == ',');
    let last = values.rsplit([',', ' ']).next().unwrap_or("");
    if !is_list || last.is_empty() || words.contains(&last) || BEHIND.contains(&last) || begins_a_test(last) {
        return None;
    }
    // The value goes on to the next that is listed, or to what joins another test.
    let line = stop.after().lines().next().unwrap_or("");
    let end = line.find([',', ';', ':', '"']).unwrap_or(line.len());
    let end = [" or ", " and "].iter().filter_map(|word| line.find(word)).chain([end]).min()?;
    let length = line.get(..end)?.trim_end().len();
    let span = stop.previous_span().to(stop.span_of(length));
    let said = format!("{last} {}", line.get(..length)?);
    let error = Diagnostic::error("syntax/other-words", span, format!("`{said}` is no word of `{}`", row.name));
    let joined = said.split_whitespace().collect::<Vec<_>>().join("-");
    Some(match words.contains(&joined.as_str()) {
        true => error.help(format!("did you mean `{joined}`?")),
        false => error.help(format!("its words: {}", words.join(", "))),
    })
}

/// `every vehicle: unknown`
pub(super) fn not_seen(stop: &Stop<'_>) -> Option<Diagnostic> {
    let said = ["not seen", "not known", "unread", "unseen", "unknown", "number not known", "number unknown"];
    let said = said.iter().find(|said| words::begins_with(stop.after(), said))?;
    let (where_so, written) = if stop.expects(Rule::allows_unread) {
        ("where the law has a number that was not seen", "number not seen")
    } else if stop.expects(Rule::kw_text_not_seen_on) || stop.expects(Rule::codes_unread) {
        ("where the law has codes and their text was not seen", "text not seen on")
    } else if stop.expects(Rule::kw_text_not_seen) {
        ("where no rule is applied since its text was not seen", "text not seen")
    } else {
        return None;
    };
    Some(told(stop, said.len(), format!("{where_so}, write `{written}`"), Some(written.to_owned())))
}

/// `no rule applied on lamp`: without its reason it could mean that the text is silent.
pub(super) fn reason(stop: &Stop<'_>) -> Option<Diagnostic> {
    let is_of_topics = words::begins_with(stop.piece, "no rule applied on") && stop.expects(Rule::comma);
    let found = stop.found();
    if !is_of_topics || !words::TOPICS.contains(&stop.previous()) || ["and", "or"].contains(&found) {
        return None;
    }
    let end = stop.previous_span().end;
    if words::begins_with(stop.after(), "text not seen") {
        let error = Diagnostic::error("syntax/other-words", stop.span(), "a comma is missing before `text not seen`");
        return Some(error.help("write `no rule applied on TOPIC, text not seen`").fix(Span { start: end, end }, ","));
    }
    let span = stop.previous_span();
    let error = Diagnostic::error("syntax/ends-early", span, "`no rule applied on` must say why no rule is applied");
    Some(
        error.help(
            "end the topics with `, text not seen`; where the text was read and has no rule, write `text silent on`",
        ),
    )
}

/// `at most 1 monitor`
pub(super) fn incomplete(stop: &Stop<'_>) -> Option<Diagnostic> {
    let said = ["not ready", "unready", "monitors", "monitor"];
    let said = said.iter().find(|said| words::begins_with(stop.after(), said))?;
    let is_row = stop.expects(Rule::kw_incomplete) && stop.previous().bytes().all(|byte| byte.is_ascii_digit());
    is_row.then(|| {
        let help = format!("a row says how many may be incomplete: write `{} incomplete`", stop.previous());
        told(stop, said.len(), help, Some("incomplete".to_owned()))
    })
}

/// What is written in place of `unless` where no test stands before.
pub(super) const WHERE_NOT: &str =
    "say when, not when not: `where not TEST`, or for several `where none of` and a bullet for each";

/// `unless fuel is diesel`
pub(super) fn unless(stop: &Stop<'_>) -> Option<Diagnostic> {
    let help = if stop.expects(Rule::kw_where) {
        WHERE_NOT
    } else {
        "say when, not when not: `and not TEST`, or for several end with `none of` and give each a bullet"
    };
    (stop.found() == "unless").then(|| told(stop, "unless".len(), help.to_owned(), None))
}

/// `not both of …`, `not all of …` in one line, `not (… and …)`
pub(super) fn not_both(stop: &Stop<'_>) -> Option<Diagnostic> {
    let is_joined = |text: &str| ["both", "all of", "(", "any of"].iter().any(|it| text.starts_with(it));
    let before = stop.before();
    // A group within a group, and values of one fact, have messages of their own.
    let outside = before.strip_suffix("not all of").unwrap_or(before);
    if ["any of", "all of", "none of"].iter().any(|join| outside.contains(join)) || before.ends_with("is not") {
        return None;
    }
    let rest = before.strip_suffix("not both").or_else(|| before.strip_suffix("not all"));
    let is_half_read = stop.found() == "of" && rest.is_some();
    let is_inline = before.ends_with("not all of") && !stop.begins_line() && !stop.found().is_empty();
    if !(is_half_read || is_inline || before.ends_with("not") && is_joined(stop.after())) {
        return None;
    }
    let help = "end the line with `not all of` (not every one holds) or `none of` (not one holds), and give each test a bullet \
                on a line of its own below";
    let line = stop.after().lines().next().map_or(0, str::len);
    Some(told(stop, line, help.to_owned(), None))
}

/// `any supported monitor is incomplete`
pub(super) fn supported(stop: &Stop<'_>) -> Option<Diagnostic> {
    let is_monitor = stop.after().split_whitespace().nth(1).is_some_and(|word| word.starts_with("monitor"));
    let help = "which monitors count is said by `counts supported monitors`: write `counted` here in place of `supported` \
                (a state of all is `complete wherever supported`), or name them: `at least 1 of catalyst, evaporative is incomplete`";
    (stop.found() == "supported" && is_monitor && !stop.expects(Rule::kw_incomplete))
        .then(|| told(stop, "supported".len(), help.to_owned(), None))
}
